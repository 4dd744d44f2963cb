"""The pictures of what the dials mean: every position and reading in its place, in words too."""

from dataclasses import replace
from math import exp, log

import numpy as np
import plotly.graph_objects as go
import pytest
from dials_kit import known_dials, readings_of
from numpy.testing import assert_allclose

from edmkit.dials.practice import PRACTICE, PRACTICE_ADDS, random_machine
from edmkit.plots.dials_plot import (
    PER_PANE,
    SURE,
    UNSURE,
    change_dials_plot,
    change_residuals,
    dials_plot_figure,
    dials_traces,
    residual_traces,
    residuals_figure,
)

KNOWN = {"off_time_us": {"8": "unknown"}, "peak_current_A": {"3": "plate"}}
MEASURED, PLATE, UNKNOWN, FAULTY = range(2, 6)


def shown(**changes):
    """Return the demo machine as if found out, one position unknown, one from a plate."""
    return known_dials(PRACTICE, np.random.default_rng(5), known=KNOWN, **changes)


def labels(figure, trace):
    """Return the label at each point of a mark trace, off its axis."""
    axis = figure.layout["yaxis" + trace.yaxis[1:]]
    words = dict(zip(axis.tickvals, axis.ticktext, strict=True))
    return [words[y] for y in trace.y]


# --- positions ---
def test_each_position_stands_at_its_value_under_its_label():
    figure = dials_plot_figure(shown())
    times, taps = figure.data[MEASURED], figure.data[PER_PANE + MEASURED]
    drawn = dict(zip(labels(figure, times), times.x, strict=True))
    assert drawn["on 5"] == 45.0 and drawn["off 3"] == 12.0
    assert len(drawn) == 8 + 8 - 2  # without the unknown and the faulty one
    drawn = dict(zip(labels(figure, taps), taps.x, strict=True))
    assert drawn["4"] == 3.2 and len(drawn) == 7


def test_a_bar_holds_nine_cases_in_ten():
    x, _, _ = dials_traces(shown(), 0)[SURE]
    # 0.05 of a normal lies beyond 1.645 standard deviations: tables of the normal distribution
    assert_allclose(x[0], 3.0 * exp(-1.645 * 0.03), rtol=1e-4)
    assert_allclose(x[1], 3.0 * exp(1.645 * 0.03), rtol=1e-4)
    x, _, _ = dials_traces(shown(), 0)[UNSURE]
    assert x[1] / x[0] > 5 and len(x) == 3


def test_plate_unknown_and_faulty_differ_in_shape_and_in_words():
    figure = dials_plot_figure(shown())
    marks = figure.data[2:PER_PANE]
    assert len({trace.marker.symbol for trace in marks}) == len({t.name for t in marks}) == 4
    assert labels(figure, figure.data[UNKNOWN]) == ["off 8"]
    assert labels(figure, figure.data[FAULTY]) == ["on 6"]
    assert "do not agree" in figure.data[FAULTY].text[0]
    assert labels(figure, figure.data[PER_PANE + PLATE]) == ["3"]
    named = {trace.name for trace in figure.data if trace.showlegend and trace.mode == "markers"}
    assert named == {"measured", "from a plate or told", "not known yet", "not to be trusted"}
    one_each = [t.name for t in figure.data if t.showlegend and t.mode == "markers"]
    assert len(one_each) == len(set(one_each))


def test_a_position_not_measured_is_never_drawn_as_measured():
    changed = shown().survey.labels("on_time_us")
    ways = dict(zip(changed, ["plate", "unknown"] * 4, strict=True))
    figure = dials_plot_figure(known_dials(PRACTICE_ADDS, known={"on_time_us": ways}))
    assert [x for x in labels(figure, figure.data[MEASURED]) if x.startswith("on")] == []


@pytest.mark.parametrize("case", [{}, {"spread": 0.3}, {"factor_known": False}])
def test_every_bar_is_in_sight(case):
    dials = shown(**case)
    figure = dials_plot_figure(dials)
    for pane, axis in enumerate(("xaxis", "xaxis2")):
        low, high = (10**end for end in figure.layout[axis].range)
        for kind in (SURE, UNSURE):
            ends = [x for x in dials_traces(dials, pane)[kind][0] if x is not None]
            assert not ends or (low <= min(ends) and max(ends) <= high)


def test_times_without_a_pitch_are_said_to_be_so():
    assert "pitch is wanted" in dials_plot_figure(shown(factor_known=False)).layout.xaxis.title.text
    assert "pitch" not in dials_plot_figure(shown()).layout.xaxis.title.text


def test_the_axis_says_which_amps_they_are():
    figure = go.Figure(dials_plot_figure(shown()))
    assert figure.layout.xaxis2.title.text == "current on a short, A"
    change_dials_plot(figure, replace(shown(), supply=replace(shown().supply, amps="spark")))
    assert figure.layout.xaxis2.title.text == "current of a spark, A"


def test_ranges_grow_and_else_stay():
    figure = go.Figure(dials_plot_figure(known_dials(PRACTICE, spread=0.6)))
    before = figure.layout.xaxis.range
    change_dials_plot(figure, known_dials(PRACTICE, spread=0.02))
    assert figure.layout.xaxis.range == before
    assert_allclose(figure.data[SURE].x[0], 3.0 * exp(-1.645 * 0.02), rtol=1e-4)
    change_dials_plot(figure, shown(spread=1.5))
    assert figure.layout.xaxis.range[0] < before[0] and figure.layout.xaxis.range[1] > before[1]


def test_another_machine_takes_the_place_of_the_first():
    figure = go.Figure(dials_plot_figure(shown()))
    change_dials_plot(figure, known_dials(PRACTICE_ADDS))
    assert len(figure.data[MEASURED].x) == 12 and len(figure.data[FAULTY].x) == 0
    assert not figure.data[FAULTY].showlegend
    assert list(figure.layout.yaxis2.ticktext) == ["1", "2", "3", "4"]


# --- readings ---
def off_by(factor, on="5", off="3"):
    """Return dials of true readings, of which one is off by a factor."""
    readings = readings_of(random_machine(2))
    at = next(n for n, r in enumerate(readings) if r.pair == (on, off))
    one = readings[at]
    readings[at] = type(one)(one.what, one.value * factor, one.current, *one.pair,
                             one.open_voltage, day=one.day)  # fmt: skip
    return known_dials(random_machine(2), readings=readings)


def test_a_reading_that_does_not_fit_is_named_in_words():
    fits, odd = residual_traces(off_by(1.4))
    assert_allclose(fits[1], 1.0)
    (x,), (y,), (label,), (hover,) = odd
    assert y == pytest.approx(1.4) and label == "off 3: 40 % high"
    assert 3.6 < x < 4.4  # over the fifth on-time
    assert "on 5, off 3" in hover
    assert residual_traces(off_by(1 / 1.4))[1][2] == ["off 3: 29 % low"]  # 1 - 1 / 1.4


def test_each_reading_has_its_own_place_over_its_on_time():
    dials = off_by(1.4)
    x = [place for trace in residual_traces(dials) for place in trace[0]]
    assert len(set(x)) == len(x) == len(dials.residuals)
    figure = residuals_figure(dials)
    assert list(figure.layout.xaxis.ticktext) == [str(n) for n in range(1, 9)]
    assert all(figure.layout.xaxis.range[0] < one < figure.layout.xaxis.range[1] for one in x)


def test_the_band_holds_nine_readings_in_ten():
    rng, inside = np.random.default_rng(8), []
    for seed in range(12):
        made = random_machine(seed)
        dials = known_dials(made, rng, readings=readings_of(made, rng))
        band = residuals_figure(dials).layout.shapes[0]
        inside += [band.y0 < exp(one.off) < band.y1 for one in dials.residuals]
    assert len(inside) > 400
    assert abs(np.mean(inside) - 0.9) < 4 * np.sqrt(0.09 / len(inside))


def test_few_readings_are_labelled_and_many_are_not():
    many = off_by(1.4)
    assert len(many.residuals) > 40 and set(residual_traces(many)[0][2]) == {""}
    few = known_dials(random_machine(2), readings=readings_of(random_machine(2))[::3])
    assert residual_traces(few)[0][2] == [
        off for _, off in sorted(one.reading.pair for one in few.residuals)
    ]


def test_the_range_of_readings_grows_and_never_hides_one():
    figure = go.Figure(residuals_figure(off_by(1.05)))
    narrow = figure.layout.yaxis.range
    change_residuals(figure, off_by(1 / 9))
    wide = figure.layout.yaxis.range
    assert wide[1] > log(9.0) / log(10) > narrow[1]
    change_residuals(figure, off_by(1.05))
    assert figure.layout.yaxis.range == wide
    assert len(figure.data[1].x) == 0


def test_no_readings_is_no_fault():
    figure = residuals_figure(known_dials(PRACTICE, readings=[]))
    assert [len(trace.x) for trace in figure.data] == [0, 0]
