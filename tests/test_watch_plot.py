"""The plot of a running burn: right data, axes that stay, changed in place."""

import math

import numpy as np
import plotly.graph_objects as go
import pytest
from numpy.testing import assert_allclose

from edmkit.estimate import Estimate
from edmkit.flushing.burn_watch import watch
from edmkit.flushing.course import Course, Reading
from edmkit.plots.watch_plot import (
    PLAN,
    PLAN_BAND,
    READINGS,
    REST,
    STOP,
    change_watch,
    ranges,
    watch_figure,
    watch_plot,
)

# 7 mm² of flat face, 4 mm deep, 1 mm³ a minute to a factor of 2: 28 minutes
COURSE = Course((0.0, 4.0, 6.0), (0.0, 28.0, 42.0), 4.0, 7.0, Estimate(1.0, math.log(2) / 1.6449),
                Estimate(0.0, 0.0), Estimate(0.0, 0.0))  # fmt: skip


def seen(*dials, minutes=10.0):
    """Return the watch of readings that many minutes apart."""
    return watch(COURSE, [Reading(minutes * (n + 1), d) for n, d in enumerate(dials)])


def test_the_plan_and_its_band():
    shown = watch_plot(seen())
    minutes, depths = shown.traces[PLAN]
    assert_allclose(minutes, 7 * depths)
    assert depths[-1] == 4.0
    wide, deep = shown.traces[PLAN_BAND]
    half = len(wide) // 2
    assert_allclose(wide[:half], 3.5 * deep[:half], rtol=1e-4)
    assert_allclose(wide[half:], 14 * deep[half:], rtol=1e-4)
    assert_allclose(shown.traces[STOP][1], 4.0)


def test_readings_are_marks_and_the_rest_goes_on_from_the_last():
    now = seen(1.0, 2.0)
    shown = watch_plot(now)
    assert_allclose(shown.traces[READINGS][0], [0, 10, 20])
    assert_allclose(shown.traces[READINGS][1], [0, 1, 2])
    minutes, depths = shown.traces[REST]
    assert (minutes[0], depths[0]) == (20, 2) and depths[-1] == 4
    assert_allclose(minutes[-1], 20 + now.minutes_left.likely)
    assert_allclose(np.diff(minutes), np.diff(minutes)[0])  # a flat face: a straight line


def test_past_the_depth_nothing_is_left():
    minutes, depths = watch_plot(seen(2.0, 4.2)).traces[REST]
    assert_allclose(minutes, 20)
    assert_allclose(depths, 4.2)


def test_inches_only_change_the_depth():
    mm, inch = watch_plot(seen(1.0)), watch_plot(seen(1.0), 1 / 25.4, "in")
    for one, other in zip(mm.traces, inch.traces, strict=True):
        assert_allclose(other[0], one[0])
        assert_allclose(other[1] * 25.4, one[1])
    assert watch_figure(inch).layout.yaxis.title.text.endswith(", in")


@pytest.mark.parametrize("dials", [(), (0.1,), (1.0, 2.0), (2.0, 4.3)])
def test_readings_and_the_end_are_in_sight(dials):
    shown = watch_plot(seen(*dials, minutes=30.0))
    figure = watch_figure(shown)
    for number in (PLAN, REST, READINGS):
        for axis, values in zip(("xaxis", "yaxis"), shown.traces[number], strict=True):
            low, high = figure.layout[axis].range
            assert low <= values.min() and values.max() <= high * (1 + 1e-9)


def test_it_changes_in_place_and_the_axes_stay_until_they_must_grow():
    figure = go.Figure(watch_figure(watch_plot(seen())))
    traces, axes = figure.data, [figure.layout[name].range for name in ("xaxis", "yaxis")]
    change_watch(figure, after := watch_plot(seen(1.5, 2.8)))
    assert [figure.layout[name].range for name in ("xaxis", "yaxis")] == axes
    assert figure.data[READINGS] is traces[READINGS]
    for number, (x, y) in enumerate(after.traces):
        assert_allclose(figure.data[number].x, x)
        assert_allclose(figure.data[number].y, y)
    change_watch(figure, watch_plot(seen(0.2, 0.3, minutes=40.0)))
    grown = figure.layout.xaxis.range
    assert grown[1] > axes[0][1]
    less = watch_plot(seen(1.0, minutes=70.0))
    change_watch(figure, less)  # half the scale is enough now, and it still stays
    assert figure.layout.xaxis.range == grown
    assert watch_figure(less).layout.xaxis.range[1] < grown[1]
    assert ranges(after)["yaxis"]["range"][0] == 0


def test_each_line_differs_by_more_than_its_colour():
    looks = [
        (t.line.dash, t.line.width, t.mode, t.fill) for t in watch_figure(watch_plot(seen())).data
    ]
    assert len(set(looks)) == 5
