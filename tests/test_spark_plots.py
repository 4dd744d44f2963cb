"""The plots of one spark: against its on-time, and both of its sides; right data, in place."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from edmkit.plots.crater_section import Bowl
from edmkit.plots.side_by_side import (
    NAMES,
    NOW_TOOL,
    NOW_WORK,
    SURFACES,
    TOOL_LINE,
    TOOL_POOL,
    WORDS,
    WORK_LINE,
    WORK_POOL,
    SideBySide,
    change_side_by_side,
    side_by_side_figure,
)
from edmkit.plots.spark_curves import (
    DEPTH,
    NOW_DEPTH,
    NOW_RADIUS,
    NOW_VOLUME,
    RADIUS,
    VOLUME,
    SparkCurves,
    change_spark_curves,
    spark_curves_figure,
)

TIMES = np.geomspace(2, 1000, 8)
POOL = Bowl(11.5, 5.6, 2.0)


def curves(factor=1.0, unit="µm", melts=slice(None)):
    sizes = np.zeros((3, 8))
    for row, power in zip(sizes, (0.3, 0.4, 1.0), strict=True):
        row[melts] = factor * TIMES[melts] ** power
    return SparkCurves(TIMES, np.full(8, 10.0), *sizes, (100.0, 4.0, 6.3, 100.0), unit)


def sides(tool=POOL, gap=20.0, tool_volume=None, unit="µm"):
    volume = np.full(8, 1150.0) if tool_volume is None else tool_volume
    now = (100.0, 129e3, volume[4])
    return SideBySide(Bowl(60.0, 19.0, 4.0), tool, gap, TIMES, 1290 * TIMES, volume, now,
                      ("Steel", "Copper"), unit)  # fmt: skip


# --- against the on-time ---
def test_lines_and_marks_are_the_numbers():
    shown = curves()
    figure = spark_curves_figure(shown)
    for trace, values in ((RADIUS, shown.radius), (DEPTH, shown.depth), (VOLUME, shown.volume)):
        assert_allclose(figure.data[trace].x, TIMES)
        assert_allclose(figure.data[trace].y, values)
    for trace, value in ((NOW_RADIUS, 4.0), (NOW_DEPTH, 6.3), (NOW_VOLUME, 100.0)):
        assert_allclose([figure.data[trace].x[0], figure.data[trace].y[0]], [100.0, value])
    assert shown.best == 7


def test_where_nothing_melts_there_is_no_line():
    shown = curves(melts=slice(3, 6))
    figure = spark_curves_figure(shown)
    assert_allclose(figure.data[VOLUME].x, TIMES[3:6])
    assert all(len(figure.data[trace].x) == 3 for trace in (RADIUS, DEPTH))


@pytest.mark.parametrize("factor", [1e-3, 1.0, 1e4])
def test_every_line_is_in_sight(factor):
    figure = spark_curves_figure(curves())
    change_spark_curves(figure, curves(factor))
    for trace, axis in ((RADIUS, "yaxis"), (DEPTH, "yaxis"), (VOLUME, "yaxis2")):
        low, high = figure.layout[axis].range
        values = np.log10(figure.data[trace].y)
        assert low <= values.min() and values.max() <= high


def test_axes_stay_while_they_hold_the_lines():
    figure = spark_curves_figure(curves())
    before = figure.layout.yaxis.range, figure.layout.yaxis2.range
    change_spark_curves(figure, curves(1.05))
    assert (figure.layout.yaxis.range, figure.layout.yaxis2.range) == before


def test_units_are_said():
    figure = spark_curves_figure(curves(unit="thou"))
    texts = [note.text for note in figure.layout.annotations]
    assert texts == ["Crater: radius (line), depth (dashes), thou", "Melted by one spark, thou³"]
    change_spark_curves(figure, curves())
    assert figure.layout.annotations[1].text == "Melted by one spark, µm³"
    assert "µs" in figure.layout.xaxis2.title.text


# --- both sides ---
def test_both_pools_stand_on_their_own_surfaces():
    figure = side_by_side_figure(sides())
    tool, work = figure.data[TOOL_POOL], figure.data[WORK_POOL]
    assert_allclose([min(work.y), max(work.y)], [-19, 0], atol=1e-9)
    assert_allclose([min(tool.y), max(tool.y)], [20, 25.6], atol=1e-9)
    assert_allclose([max(work.x), max(tool.x)], [60, 11.5])
    heights = [y for y in figure.data[SURFACES].y if y is not None]
    assert heights == [0, 0, 20, 20]
    assert figure.layout.shapes[0].y0 == 20


def test_the_drawing_has_one_scale_both_ways():
    figure = side_by_side_figure(sides())
    layout = figure.layout
    wide = layout.width - layout.margin.l - layout.margin.r
    high = (layout.height - layout.margin.t - layout.margin.b) * (
        layout.yaxis.domain[1] - layout.yaxis.domain[0]
    )
    per_pixel = [(r[1] - r[0]) / p for r, p in ((layout.xaxis.range, wide),
                                                (layout.yaxis.range, high))]  # fmt: skip
    assert_allclose(per_pixel[0], per_pixel[1], rtol=1e-9)


@pytest.mark.parametrize("gap", [2.0, 20.0, 400.0])
def test_gap_and_pools_are_in_sight(gap):
    figure = side_by_side_figure(sides())
    change_side_by_side(figure, sides(gap=gap))
    low, high = figure.layout.yaxis.range
    drawn = [*figure.data[TOOL_POOL].y, *figure.data[WORK_POOL].y]
    assert low < min(drawn) and max(drawn) < high
    assert figure.layout.xaxis.range[0] < min(figure.data[WORK_POOL].x)


def test_an_electrode_that_does_not_melt_has_no_pool_and_no_line():
    figure = side_by_side_figure(sides())
    change_side_by_side(figure, sides(tool=Bowl(0.0, 0.0, 2.0), tool_volume=np.zeros(8)))
    assert len(figure.data[TOOL_POOL].x) == len(figure.data[TOOL_LINE].x) == 0
    assert len(figure.data[NOW_TOOL].x) == 0 and len(figure.data[NOW_WORK].x) == 1
    assert figure.data[WORDS].text[0] == "Copper: nothing melts"
    assert list(figure.data[NAMES].text) == ["Steel"]


def test_words_and_lines_are_the_numbers():
    shown = sides(unit="thou")
    figure = side_by_side_figure(shown)
    assert figure.data[WORDS].text[1] == "Steel: melted 120 thou wide, 19 thou deep"
    assert_allclose(figure.data[WORK_LINE].y, shown.work_volume)
    assert figure.layout.annotations[0].text == "Melted by one spark, thou³"
    assert figure.layout.xaxis.title.text.startswith("thou")
