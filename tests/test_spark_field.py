"""The picture of a spark's film: to scale, its steps where the film is as hot, its words."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import edmkit as ek
from edmkit.plots import spark_field as plot
from edmkit.plots.spark_field import change_spark_field, spark_field_figure
from edmkit.plots.spark_steps import SparkField
from edmkit.spark import Spark
from edmkit.spark_film import filming
from edmkit.units import um, us

LETTER = 6.6  # px of a letter at 12 px, from memory: wide for most of them
CASES = {
    "steel": ("52100", 10.0, 100.0, 0.30),
    "tiny": ("O1", 0.5, 2.0, 0.30),
    "huge": ("H13", 60.0, 1000.0, 0.30),
    "carbide": ("WC-6Co", 3.0, 50.0, 0.30),
    "hardly melts": ("copper", 4.0, 200.0, 0.12),
}


@cache
def shot(metal, amps, on_us, share):
    *_, film = filming(Spark(ek.work_material(metal), amps, on_us * us, 25.0, share))
    return film


@pytest.fixture(scope="module")
def fields():
    return {name: SparkField(shot(*case), 24 * um) for name, case in CASES.items()}


@pytest.fixture
def steel(fields):
    return fields["steel"]


PULSE_END, LAST = 31, 47


# --- the steps -------------------------------------------------------------------------------
def test_steps_are_the_temperatures_of_the_film(steel):
    film = steel.film
    limits, words = steel.levels
    assert limits[:2] == (film.metal.temper_limit, 1050.0)
    assert words[1] == "hardens again, above 777 °C"  # 1050 K less 273.15
    (x, y), steps = steel.places, steel.steps
    assert steps.shape == (len(film.times), len(y), len(x))
    assert (np.diff(x) > 0).all() and (np.diff(y) > 0).all() and y[-1] == 0
    assert (steps == steps[:, :, ::-1]).all()  # mirrored about the axis
    for number in (3, PULSE_END, LAST):
        for down, out in ((0, 0), (4, 2), (9, 12)):
            column, row = len(x) // 2 + out // 2, len(y) - 2 - down
            assert x[column] == pytest.approx(film.r[out] / um)
            assert y[row] == pytest.approx(-film.z[down] / um)
            hotter = sum(film.temperature[number, down, out] >= limit for limit in limits)
            assert np.floor(steps[number, row, column] + 1e-5) == pytest.approx(hotter, abs=1e-6)


def test_what_melts_counts_as_molten(steel):
    # the plateau at the melting point belongs to the melt, as in the solver
    film, middle = steel.film, len(steel.places[0]) // 2
    molten = steel.places[1][steel.steps[PULSE_END][:, middle] >= 3].min()
    assert -molten == pytest.approx(film.melt_depth[PULSE_END] / um, abs=film.z[1] / um)


def test_the_farthest_never_goes_back(steel):
    assert (np.diff(steel.so_far, axis=0) >= 0).all()
    assert (steel.so_far >= steel.steps).all()
    assert (steel.so_far[LAST] > steel.steps[LAST] + 1).any()  # it has cooled


def test_a_metal_without_limits_gets_steps_of_its_own(fields):
    limits, words = fields["carbide"].levels
    assert list(limits) == sorted(limits) and len(set(limits)) == 4
    assert [word.split(",")[0] for word in words] == ["warm", "hot", "molten", "nearly boiling"]


@pytest.mark.parametrize("key", ek.work_materials())
def test_steps_rise_in_every_metal(key):
    # a limit out of order would turn colours over; the film itself is not asked
    metal = ek.work_material(key)
    film = replace(shot("52100", 10.0, 100.0, 0.3), metal=metal, boiling_point=metal.boiling_point)
    bare = replace(film, tempered_depth=np.full(48, np.nan), rehardened_depth=np.full(48, np.nan))
    for made in (bare, film) if metal.temper_limit else (bare,):
        limits = SparkField(made, 24 * um).levels[0]
        if metal.is_steel or made is bare:
            assert np.all(np.diff((293.15, *limits, made.boiling_point)) > 0)


# --- the figure ------------------------------------------------------------------------------
@pytest.mark.parametrize("case", CASES)
def test_the_scale_is_the_same_both_ways_and_holds_the_lines(fields, case):
    shown = fields[case]
    layout = spark_field_figure(shown).layout
    across = np.ptp(layout.xaxis.range) / (layout.width - layout.margin.l - layout.margin.r)
    room = (layout.height - layout.margin.t - layout.margin.b) * np.ptp(layout.yaxis.domain)
    assert across == pytest.approx(np.ptp(layout.yaxis.range) / room, rel=1e-9)
    assert layout.yaxis.domain[0] > layout.yaxis2.domain[1] + 0.1
    crater = shown.film.crater
    deepest = np.nanmax([crater.depth, crater.rehardened_depth, crater.tempered_depth]) / um
    assert layout.yaxis.range[0] < -1.5 * deepest
    assert layout.xaxis.range[1] > shown.film.source_radius.max() / um
    assert shown.places[0][-1] >= layout.xaxis.range[1] > shown.places[0][-4]


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("number", [0, PULSE_END, LAST])
def test_words_stay_inside_and_apart_and_dots_lie_in_the_metal(fields, case, number):
    shown = fields[case]
    number = min(number, len(shown.film.times) - 1)
    figure = spark_field_figure(shown, number)
    layout = figure.layout
    per_px = np.ptp(layout.xaxis.range) / (layout.width - layout.margin.l - layout.margin.r)
    for trace in (plot.LABELS, plot.ABOVE):
        words = figure.data[trace]
        ends = np.array(words.x) / per_px + [LETTER * len(text) for text in words.text]
        assert ends.max() < layout.xaxis.range[1] / per_px + layout.margin.r
        assert np.abs(np.diff(words.y)).min() / per_px > 15
    dots = figure.data[plot.DOTS]
    assert all(-1.01 * shown.scale < y <= 0 for y in dots.y)
    assert len(dots.x) == sum(x is None for x in figure.data[plot.LEADERS].x)
    heads = figure.data[plot.SWATCHES]
    assert (np.diff(heads.x) > 0).all() and (np.diff(heads.y) > 0).all()  # leaders stay clear


def test_a_leader_begins_on_its_line(steel):
    figure = spark_field_figure(steel, PULSE_END)
    film = steel.film
    for place, limit in ((1, 1050.0), (0, film.metal.temper_limit)):
        x, y = figure.data[plot.DOTS].x[place], figure.data[plot.DOTS].y[place]
        column = np.abs(film.r - -x * um).argmin()
        there = np.interp(-y * um, film.z, film.temperature[PULSE_END, :, column])
        assert there == pytest.approx(limit, rel=0.06)


def test_the_spark_its_gap_and_what_stands_above(steel):
    figure = spark_field_figure(steel, PULSE_END)
    # Ikai and Hashiguchi (1995), from memory: 95.418 µm at 10 A and 100 µs
    assert list(figure.data[plot.SOURCE].x) == pytest.approx([-95.418, 95.418], rel=1e-4)
    assert list(figure.data[plot.OTHER].y)[:2] == pytest.approx([24, 24])
    assert figure.data[plot.ABOVE].text[1] == "electrode 24 µm above"
    assert figure.data[plot.ABOVE].text[0] == "spark's heat, to 95.4 µm from the middle"
    change_spark_field(figure, steel, PULSE_END + 2)
    assert len(figure.data[plot.SOURCE].x) == 0
    far = SparkField(steel.film, 200 * um, other="work")
    change_spark_field(figure, far, 0, fresh=True)
    assert len(figure.data[plot.OTHER].x) == 0
    assert figure.data[plot.ABOVE].text[1] == "work 200 µm above"


@pytest.mark.parametrize("share", [0.05, 0.12, 0.15, 0.17, 0.2, 0.25, 0.29, 0.4])
def test_words_above_stay_clear_of_the_line_of_the_gap(steel, share):
    shown = SparkField(steel.film, share * steel.scale * um)
    figure = spark_field_figure(shown)
    per_px = 2 * steel.scale / 264
    lower, upper = figure.data[plot.ABOVE].y
    lines = [0.0, *list(figure.data[plot.OTHER].y)[:1]]
    assert min(abs(y - line) for y in (lower, upper) for line in lines) / per_px > 8
    assert 16 * per_px < upper - lower and upper < figure.layout.yaxis.range[1] - 8 * per_px


def test_the_film_ends_with_the_crater_and_its_damage(steel):
    figure = spark_field_figure(steel, PULSE_END)
    assert not steel.frozen(PULSE_END) and len(figure.data[plot.CRATER].x) == 0
    assert figure.data[plot.LABELS].text == tuple(steel.levels[1])
    change_spark_field(figure, steel, LAST)
    crater = steel.film.crater
    # 55 % of the melt is thrown out: a volume balance, physics.finish
    assert min(figure.data[plot.CRATER].y) == pytest.approx(-0.55 * crater.depth / um)
    assert min(figure.data[plot.MELTED].y) == pytest.approx(-crater.depth / um)
    assert max(figure.data[plot.MELTED].x) == pytest.approx(crater.radius / um)
    softened, hardened, melted, left = figure.data[plot.LABELS].text
    assert softened == f"softened, to {crater.tempered_depth / um:.1f} µm"
    assert hardened.startswith("hardened again, to 33.") and melted.startswith("melted, to 18.")
    assert left.startswith("crater, 10.")
    change_spark_field(figure, steel, 5)
    assert len(figure.data[plot.CRATER].x) == 0


def test_carbide_says_how_hot_it_was(fields):
    figure = spark_field_figure(fields["carbide"], LAST)
    assert figure.data[plot.LABELS].text[0] == "was above 437 °C"


def test_the_times_below_and_their_mark(steel):
    figure = spark_field_figure(steel, 10)
    film = steel.film
    np.testing.assert_allclose(figure.data[plot.MELT].x, film.times * 1e6)
    np.testing.assert_allclose(figure.data[plot.MELT].y, film.melt_depth * 1e6)
    np.testing.assert_allclose(figure.data[plot.VAPOUR].y, 100 * film.vapour_share)
    assert figure.data[plot.NOW].x[0] == pytest.approx(film.times[10] * 1e6)
    assert figure.data[plot.VAPOUR].line.dash != figure.data[plot.MELT].line.dash


def test_axes_stay_through_a_film_and_change_with_another(fields, steel):
    figure = spark_field_figure(steel)
    before = figure.layout.to_plotly_json()
    for number in (5, PULSE_END, LAST):
        change_spark_field(figure, steel, number)
    assert figure.layout.to_plotly_json() == before
    change_spark_field(figure, fields["huge"], 0, fresh=True)
    assert figure.layout.xaxis.range[1] > 2 * before["xaxis"]["range"][1]
    np.testing.assert_array_equal(figure.data[plot.FIELD].z, fields["huge"].steps[0])


def test_thou_are_a_254th_of_ten_micrometres(steel):
    thou = SparkField(steel.film, 24 * um, 1 / 25.4, "thou")
    assert steel.scale / thou.scale == pytest.approx(25.4)
    figure = spark_field_figure(thou, LAST)
    assert figure.layout.xaxis.title.text == "thou, same scale both ways"
    assert figure.data[plot.LABELS].text[0].endswith(" thou")
    assert figure.data[plot.ABOVE].text[1] == "electrode 0.945 thou above"


def test_where_nothing_melts_there_is_still_a_picture():
    cold = SparkField(shot("52100", 0.3, 1000.0, 0.05), 24 * um)
    figure = spark_field_figure(cold, len(cold.film.times) - 1)
    assert len(figure.data[plot.CRATER].x) == 0 and max(figure.data[plot.MELT].y) == 0
    assert figure.layout.yaxis2.range[1] > 0
