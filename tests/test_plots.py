"""The figures carry the data they were given, keep their axes still, and know no widgets."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from edmkit.plots.curves import PER_PLOT, Curve, axis_changes, curves_figure, log_range
from edmkit.plots.style import ticks
from edmkit.plots.trade_map import (
    BEST,
    FRONT,
    POINTS,
    TradeMap,
    limit_lines,
    trade_map_figure,
)

TIMES = np.array([2.0, 20.0, 200.0])


def curve(title="Minutes", factor=1.0, pinned=None):
    likely = factor * np.array([300.0, 80.0, 40.0])
    return Curve(title, TIMES, likely / 5, likely, likely * 5, (20.0, likely[1]), pinned)


def points(count=200, seed=7):
    draw = np.random.default_rng(seed)
    wear = draw.uniform(0.5, 30, count)
    wear[:10] = np.nan
    return TradeMap(
        draw.lognormal(3, 1, count),
        draw.lognormal(0.5, 0.5, count),
        wear,
        draw.random(count) < 0.3,
        np.array([f"setting {i}" for i in range(count)], dtype=object),
        "µm",
        draw.random(count) < 0.1,
    )


def test_curves_carry_their_data():
    figure = curves_figure(curve(pinned=(2.0, 300.0)), curve("Ra", 0.01))
    low, high, likely, present, pinned = figure.data[:PER_PLOT]
    assert list(likely.y) == [300, 80, 40] and list(likely.x) == list(TIMES)
    assert list(low.y) == [60, 16, 8] and list(high.y) == [1500, 400, 200]
    assert high.fill == "tonexty"
    assert (present.x[0], present.y[0]) == (20, 80) and (pinned.x[0], pinned.y[0]) == (2, 300)
    assert len(figure.data[PER_PLOT + 4].x) == 0  # nothing pinned below
    assert [a.text for a in figure.layout.annotations] == ["Minutes", "Ra"]
    assert figure.layout.xaxis2.title.text == "on-time, µs"
    assert figure.layout.xaxis.type == figure.layout.yaxis.type == "log"


def test_an_axis_stays_while_the_data_stay_inside():
    span = log_range([10.0], [1000.0])
    assert span[0] <= 1 and span[1] >= 3
    assert log_range([12.0], [900.0], span) == span
    assert log_range([12.0], [9000.0], span) != span
    assert log_range([1.0], [900.0], span) != span
    assert log_range([100.0], [101.0], span) != span  # lost in a corner
    changed = axis_changes(curve(factor=100), 2, span)["yaxis2"]
    assert 10 ** changed["range"][0] <= 800 and 10 ** changed["range"][1] >= 150_000


@pytest.mark.parametrize("low, high", [(0.3, 40), (1, 9), (1e-3, 1e5)])
def test_ticks_lie_inside_and_are_few(low, high):
    values, texts = ticks(low, high)
    assert 2 <= len(values) <= 9 and len(values) == len(texts)
    assert min(values) >= low * 0.999 and max(values) <= high * 1.001


def test_each_point_of_the_map_is_in_one_group():
    made = points()
    assert np.sum(made.groups, axis=0).tolist() == [1] * made.minutes.size
    figure = trade_map_figure(made)
    seen = np.concatenate([t.customdata for t in figure.data[:POINTS]])
    assert sorted(seen) == list(range(made.minutes.size))
    names = [t.name for t in figure.data[:POINTS]]
    symbols = {t.marker.symbol for t in figure.data[:POINTS]}
    assert len(symbols) == POINTS and names[-1] == "left out"
    for trace, low, high in zip(figure.data[:3], (0, 5, 15), (5, 15, 99), strict=True):
        wear = made.wear_percent[trace.customdata]
        assert ((wear >= low) & (wear < high)).all() and wear.size


def test_the_front_leaves_out_what_is_left_out_and_what_is_beaten():
    made = points()
    x, y = made.front
    assert (np.diff(x) > 0).all() and (np.diff(y) < 0).all()
    allowed = ~made.left_out
    assert set(x) <= set(made.minutes[allowed])
    for minutes, rough in zip(made.minutes[allowed], made.roughness[allowed], strict=True):
        assert not ((minutes < x) & (rough < y)).any()
    assert list(trade_map_figure(made).data[FRONT].x) == list(x)


def test_axes_say_their_units_and_hold_every_point():
    made = points()
    figure = trade_map_figure(made)
    assert "minutes" in figure.layout.xaxis.title.text
    assert figure.layout.yaxis.title.text.endswith("µm")
    for axis, values in (
        (figure.layout.xaxis, made.minutes),
        (figure.layout.yaxis, made.roughness),
    ):
        assert 10 ** axis.range[0] <= values.min() and values.max() <= 10 ** axis.range[1]


def test_points_are_grouped_by_chance_where_there_is_one():
    plain = points()
    chance = np.linspace(0, 1, plain.minutes.size)
    made = replace(plain, chance=chance, level=0.8)
    assert np.sum(made.groups, axis=0).tolist() == [1] * chance.size
    for group, low, high in zip(made.groups, (0.8, 0.4, 0.0), (2, 0.8, 0.4), strict=False):
        assert (chance[group] >= low).all() and (chance[group] < high).all() and group.any()
    assert not (made.groups[0] & made.left_out).any()
    rings = trade_map_figure(made).data[BEST]
    assert list(rings.x) == list(made.minutes[made.best])


def test_a_limit_is_a_line():
    assert limit_lines(None) == []
    (level,) = limit_lines(2.0)
    assert (level["x0"], level["x1"], level["y0"], level["y1"]) == (0, 1, 2, 2)


def test_plots_know_no_widgets():
    rooms = "curves trade_map pulse_train crater_section scale"
    code = f"import sys; from edmkit.plots import {', '.join(rooms.split())}"
    code += "; print('ipywidgets' in sys.modules, 'plotly' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "False False"
