"""The crater as drawn: turned about its middle it holds the melt, and words keep off each other."""

from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edmkit as ek
from edmkit.panels.spark_pictures import CraterPicture
from edmkit.physics.crater import Crater, source_radius
from edmkit.plots.crater_section import (
    CRATER,
    DOTS,
    ELECTRODE,
    HARDENED,
    LABELS,
    LEADERS,
    MELTED,
    SOFTENED,
    SOURCE,
    SURFACE,
    change_crater_section,
    crater_section,
    crater_section_figure,
)
from edmkit.words import Display

UM = 1e-6
THOU = 1 / 25.4
NONE = float("nan")
LETTER = 6.6  # pixels a letter of 13 px takes on average, measured on screenshots
pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")


def burn(current=2.5, on=50.0, off=25.0, work="52100", **more):
    setup = ek.Setup(
        ek.work_material(work),
        ek.electrode_material("copper"),
        ek.dielectric("edm_oil"),
        "electrode positive",
        7.0,
    )
    return ek.predict(setup, ek.Settings(current, on, off, **more))


def fake(radius, depth, fill=0.6, hardened=(NONE, NONE), softened=(NONE, NONE), gap=20.0):
    """Return a burn with a crater of these sizes [µm] that fills a share of its cylinder."""
    volume = fill * np.pi * radius**2 * depth * UM**3
    sizes = (size * UM for size in (*hardened, *softened))
    point = SimpleNamespace(
        crater=Crater(radius * UM, depth * UM, volume, *sizes),
        spark_current=2.5, discharge_duration=50 * UM,
    )  # fmt: skip
    one = SimpleNamespace(likely=gap, low=gap, high=gap)
    return SimpleNamespace(shape=(), point=point, gap_front_um=one, recast_um=one)


def turned(trace):
    """Return the volume of a drawn hollow turned about its middle, by the trapezoid rule."""
    x, z = np.asarray(trace.x), np.asarray(trace.y)
    right = x >= -1e-9
    return np.trapezoid(-2 * np.pi * x[right] * z[right], x[right])


# --- the drawn shape -------------------------------------------------------------------------
@given(st.floats(0.5, 900), st.floats(0.05, 0.9), st.floats(0.3, 0.94))
def test_the_drawn_melt_holds_the_volume(radius, flat, fill):
    made = fake(radius, flat * radius, fill)
    section = crater_section(made)
    drawn = turned(SimpleNamespace(**dict(zip("xy", section.melted.line, strict=True))))
    assert drawn * UM**3 == pytest.approx(made.point.crater.volume, rel=0.01)
    assert section.undrawn_share == 0
    left = turned(SimpleNamespace(**dict(zip("xy", section.crater.line, strict=True))))
    assert left / drawn == pytest.approx(0.55)  # thrown out, a volume balance: physics.finish


@pytest.mark.parametrize("case", [(2.5, 50), (20, 400), (0.5, 5), (10, 1000)])
@pytest.mark.parametrize("work", ["52100", "H13", "WC-6Co", "6061"])
def test_the_figure_holds_the_melt_of_a_burn(case, work):
    made = burn(*case, work=work)
    figure = crater_section_figure(crater_section(made))
    drawn, missing = turned(figure.data[MELTED]), crater_section(made).undrawn_share
    assert drawn == pytest.approx(made.crater_volume_um3.likely * (1 - missing), rel=0.01)
    assert missing < 0.1
    x, z = figure.data[MELTED].x, figure.data[MELTED].y
    assert max(x) == pytest.approx(made.crater_radius_um.likely)
    assert min(z) == pytest.approx(-made.crater_depth_um.likely)


def test_a_parabola_by_hand():
    """V = pi r² d / 2 is a paraboloid: three quarters of the depth at half the radius."""
    bowl = crater_section(fake(20.0, 8.0, 0.5)).melted
    assert bowl.steepness == pytest.approx(2)
    assert bowl.below([0, 10, 20]) == pytest.approx([8, 6, 0])


def test_a_pool_too_full_for_its_shape_says_so():
    section = crater_section(fake(2.0, 1.0, 1.0))
    drawn = turned(SimpleNamespace(**dict(zip("xy", section.melted.line, strict=True))))
    assert section.undrawn_share == pytest.approx(0.05)
    assert drawn == pytest.approx(0.95 * 4 * np.pi, rel=0.02)
    assert "5 % too small" in caption(fake(2.0, 1.0, 1.0))


def test_every_line_goes_through_its_radius_and_depth():
    figure = crater_section_figure(
        crater_section(fake(20, 8, hardened=(25, 15), softened=(33, 30)))
    )
    for trace, radius, depth in ((MELTED, 20, 8), (CRATER, 20, 0.55 * 8), (HARDENED, 25, 15),
                                 (SOFTENED, 33, 30)):  # fmt: skip
        x, z = np.asarray(figure.data[trace].x), np.asarray(figure.data[trace].y)
        assert x[0] == -radius and x[-1] == pytest.approx(radius)
        assert z[0] == pytest.approx(0) and z.min() == -depth
    reach = source_radius(2.5, 50e-6) / UM
    assert list(figure.data[SOURCE].x) == pytest.approx([-reach, reach])
    assert list(figure.data[SURFACE].x)[1:4] == [-20, None, 20]
    dashes = [figure.data[t].line.dash for t in (MELTED, HARDENED, SOFTENED)]
    assert len(set(dashes)) == 3  # a cue besides colour


def test_lines_do_not_cross_in_any_steel():
    for on in (5.0, 50.0, 500.0):
        made = crater_section(burn(3.0, on))
        x = np.linspace(-0.999, 0.999, 41) * made.melted.radius
        depths = [bowl.below(x) for bowl in made.bowls.values()]
        assert len(depths) == 4 and np.all(np.diff(depths, axis=0) < 0)


# --- words -----------------------------------------------------------------------------------
def said(figure):
    return list(figure.data[LABELS].text)


def test_words_say_the_depths_and_leave_out_what_is_not_there():
    figure = crater_section_figure(crater_section(fake(20, 8, softened=(33, 30))))
    assert said(figure)[:3] == ["crater, 4.4 µm deep", "melted, to 8 µm", "softened, to 30 µm"]
    assert len(figure.data[HARDENED].x) == 0 and len(figure.data[SOFTENED].x) == 61
    change_crater_section(figure, crater_section(burn(work="WC-6Co")))
    assert not [w for w in said(figure) if "hardened" in w or "softened" in w]
    assert len(figure.data[SOFTENED].x) == 0
    assert "spark's heat, radius 38.8 µm" in said(figure)
    assert "gap 24 µm, electrode above" in said(figure)


SIZES = {
    "usual": lambda: crater_section(burn()),
    "tiny": lambda: crater_section(burn(0.3, 2, 2)),
    "tiny in thou": lambda: crater_section(burn(0.3, 2, 2), THOU, "thou"),
    "huge": lambda: crater_section(burn(60, 1000, 500, work="H13"), THOU, "thou"),
    "long and weak": lambda: crater_section(burn(0.4, 1000, 100, work="D2")),
    "two metals without lines": lambda: crater_section(burn(work="WC-6Co")),
    "lines close together": lambda: crater_section(
        fake(30, 9, hardened=(30.5, 9.2), softened=(31, 9.4))
    ),
}


@pytest.mark.parametrize("size", SIZES)
def test_words_neither_meet_each_other_nor_the_edge_nor_a_leader(size):
    figure = crater_section_figure(SIZES[size]())
    layout, words = figure.layout, figure.data[LABELS]
    per_px = np.diff(layout.yaxis.range)[0] / (layout.height - layout.margin.t - layout.margin.b)
    heights = np.array(words.y) / per_px
    assert np.min(np.diff(np.sort(heights))) > 17  # rows of 13 px letters
    ends = np.array(words.x) / per_px + np.array([len(t) * LETTER for t in words.text])
    assert ends.max() < layout.xaxis.range[1] / per_px + layout.margin.r
    assert heights.min() > layout.yaxis.range[0] / per_px + 8
    assert heights.max() < layout.yaxis.range[1] / per_px - 8
    deepest = min(min(figure.data[t].y, default=0) for t in (SOFTENED, HARDENED, MELTED))
    below = [(x, y) for x, y in zip(words.x, words.y, strict=True) if y < 0]
    assert max(y for _, y in below) / per_px < deepest / per_px - 8
    for (x, y), (other_x, other_y) in zip(below[1:], below, strict=False):
        assert x < other_x and y < other_y  # further left and lower: leaders stay clear


@pytest.mark.parametrize("size", SIZES)
def test_the_scale_is_the_same_both_ways(size):
    layout = crater_section_figure(SIZES[size]()).layout
    across = np.ptp(layout.xaxis.range) / (layout.width - layout.margin.l - layout.margin.r)
    down = np.ptp(layout.yaxis.range) / (layout.height - layout.margin.t - layout.margin.b)
    assert across == pytest.approx(down, rel=1e-9)
    assert layout.xaxis.dtick == layout.yaxis.dtick


def test_dots_lie_on_their_lines_and_leaders_reach_the_words():
    figure = crater_section_figure(crater_section(fake(20, 8, 0.5)))
    x, z = figure.data[DOTS].x, figure.data[DOTS].y
    assert z[:2] == pytest.approx([-4.4 * (1 - (v / 20) ** 2) * k for v, k in
                                   ((x[0], 1), (x[1], 1 / 0.55))])  # fmt: skip
    heads = np.array(figure.data[LEADERS].y, dtype=float)[1::3]
    assert list(heads) == list(figure.data[LABELS].y)


# --- above the surface -----------------------------------------------------------------------
def test_the_electrode_stands_a_gap_above_where_it_fits():
    figure = crater_section_figure(crater_section(fake(20, 8, gap=12.0)))
    assert list(figure.data[ELECTRODE].y)[:2] == [12, 12]
    assert min(figure.data[ELECTRODE].y) < figure.layout.yaxis.range[1]
    change_crater_section(figure, crater_section(fake(20, 8, gap=60.0)))
    assert len(figure.data[ELECTRODE].x) == 0
    assert "electrode 60 µm above" in said(figure)


# --- axes, units, refusals -------------------------------------------------------------------
def test_axes_stay_while_the_crater_stays_inside():
    figure = crater_section_figure(crater_section(burn()))
    before = [tuple(figure.layout[a].range) for a in ("xaxis", "yaxis")]
    change_crater_section(figure, crater_section(burn(1.5, 25.0)))
    assert (
        tuple(crater_section_figure(crater_section(burn(1.5, 25.0))).layout.xaxis.range)
        != (before[0])
    )  # drawn anew it would differ
    assert [tuple(figure.layout[a].range) for a in ("xaxis", "yaxis")] == before
    change_crater_section(figure, crater_section(burn(25.0, 400.0)))
    assert figure.layout.yaxis.range[1] > 2 * before[1][1]


def test_thou_are_a_254th_of_ten_micrometres():
    plain, thou = crater_section(burn()), crater_section(burn(), THOU, "thou")
    for name in ("melted", "hardened", "softened"):
        a, b = getattr(plain, name), getattr(thou, name)
        assert (a.radius / b.radius, a.depth / b.depth) == pytest.approx((25.4, 25.4))
    assert plain.gap / thou.gap == pytest.approx(25.4)
    assert plain.source_radius / thou.source_radius == pytest.approx(25.4)
    figure = crater_section_figure(plain)
    change_crater_section(figure, thou)
    assert figure.layout.xaxis.title.text.startswith("thou")
    assert figure.layout.yaxis.range[1] < 3
    assert all(" thou" in word for word in said(figure))


def test_where_nothing_melts_there_is_no_figure():
    section = crater_section(fake(0.0, 0.0))
    assert not section.melted and not section.crater
    with pytest.raises(ek.Refusal, match="crater depth must be above 0"):
        crater_section_figure(section)
    with pytest.raises(ek.Refusal, match="one setting"):
        crater_section(burn(on=np.array([10.0, 20.0])))


def picture(made, inches=False):
    return CraterPicture(SimpleNamespace(hole=SimpleNamespace(burn=made), display=Display(inches)))


def caption(made):
    shown = picture(made)
    shown.redraw()
    return shown.note.value


def test_the_picture_says_that_nothing_melts_and_comes_back():
    shown = picture(fake(0.0, 0.0))
    shown.redraw()
    assert shown.figure is None and shown.drawing.layout.display == "none"
    assert "Nothing melts" in shown.note.value
    shown.page.hole.burn = fake(20, 8)
    shown.redraw()
    kept = shown.figure
    assert shown.drawing.layout.display is None and "no measured crater" in shown.note.value
    shown.page.hole.burn = fake(0.0, 0.0)
    shown.redraw()
    assert shown.figure is kept and shown.drawing.children == (kept,)
    assert shown.drawing.layout.display == "none"


def test_the_picture_in_inches_says_thou():
    shown = picture(fake(20, 8, gap=12.7), inches=True)
    shown.redraw()
    assert "0.5 thou thick" in shown.note.value
    assert "gap 0.5 thou, electrode above" in said(shown.figure)
