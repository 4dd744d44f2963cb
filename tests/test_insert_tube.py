"""A tube with a filed insert: what the fluid has, and what stands under the flats."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import quad

from edmkit import Flat, InsertTube, Keyway, Refusal, Round

SIZES = {"d": 4.0, "bore": 3.0, "insert": 3.0, "flats": 2, "flat_depth": 0.4, "length": 20.0}


def tube(**other):
    return InsertTube(**SIZES | other)


# --- Outside values ---


def test_a_half_round_insert_by_hand():
    # one flat to the middle (less 0.05): nearly half the bore is open, pi 1.5²/2 = 3.534 less
    # a strip 0.05 x 3.0
    half = tube(flats=1, flat_depth=1.45)
    assert_allclose(half.open_area_mm2, math.pi * 1.5**2 / 2 - 0.15, rtol=1e-3)
    assert_allclose(half.area_mm2, math.pi * 4 - half.open_area_mm2)


def test_four_flats_make_a_square():
    # flats that just do not meet leave the square inside the circle, side 3.0/sqrt(2) = 2.1213
    square = tube(flats=4, flat_depth=1.5 * (1 - math.sqrt(0.5)) - 1e-9)
    assert_allclose(square.open_area_mm2, math.pi * 1.5**2 - 4.5, rtol=1e-6)
    # the segments' edge: the square's four sides and the whole bore
    assert_allclose(square.perimeter_mm, math.pi * (4 + 3) + 4 * 2.1213, rtol=1e-4)


@pytest.mark.parametrize("flats, depth", [(1, 0.05), (2, 0.4), (3, 0.7), (1, 1.4)])
def test_area_against_adaptive_integration(flats, depth):
    one, foot = tube(flats=flats, flat_depth=depth), 1.5 - depth
    half = math.sqrt(1.5**2 - foot**2)

    over = quad(lambda x: math.sqrt(1.5**2 - x * x) - foot, -half, half)[0]
    assert_allclose(one.open_area_mm2, flats * over, rtol=1e-6)


def test_fins_by_hand():
    # flat 1.1 from the axis, bore radius 1.5, gap 0.05: from 1.15 to 1.45, so 0.30 thick and
    # 2 sqrt(1.45² - 1.15²) = 2 sqrt(0.78) = 1.7664 wide
    fins = tube().standing(0.05, 2.0)
    assert fins.fins == 2 and fins.height_mm == 2.0
    assert_allclose([fins.thickness_mm, fins.width_mm], [0.30, 1.7664], atol=5e-5)


# --- Properties ---


@pytest.mark.parametrize("gap", [0.0, 0.05, 0.15])
def test_fins_are_what_lies_further_than_the_gap_from_the_electrode(gap):
    """Counted points under one flat whose distance from flat and bore is above the gap."""
    steps = (np.arange(3000) + 0.5) / 1500 - 1
    x, y = 1.5 * steps[:, None], 1.5 * steps
    free = (x > 1.1 + gap) & (np.hypot(x, y) < 1.5 - gap)
    fins = tube(flats=1).standing(gap, 1.0)
    reached = [np.ptp(values[free]) for values in np.broadcast_arrays(x, y)]
    assert_allclose([fins.thickness_mm, fins.width_mm], reached, atol=0.01)  # a grid of 0.001


def test_the_gap_eats_a_thin_fin():
    fins = tube(flat_depth=0.1).standing(0.05, 5.0)
    assert (fins.fins, fins.width_mm, fins.thickness_mm, fins.height_mm) == (0, 0, 0, 0)
    assert not fins.snaps_off and "burns it away" in fins.sentence
    assert tube(flat_depth=0.11).standing(0.05, 5.0).fins == 2


def test_a_slender_fin_snaps_off():
    thin, sturdy = tube().standing(0.05, 3.1), tube().standing(0.05, 2.9)  # ten times 0.30 is 3.0
    assert thin.snaps_off and "2 fins stand" in thin.sentence and "snap off" in thin.sentence
    assert not sturdy.snaps_off and "too sturdy" in sturdy.sentence
    assert "A fin stands" in tube(flats=1).standing(0.05, 3.1).sentence


def test_play_around_the_insert_is_open_too():
    # pi/4 (3.00² - 2.95²) = 0.2337 all around; the flat is 0.025 nearer to the axis
    loose = tube(insert=2.95)
    segment = tube(d=3.9, bore=2.95, insert=2.95).open_area_mm2
    assert_allclose(loose.open_area_mm2, segment + 0.2337, atol=5e-5)
    assert_allclose(loose.standing(0.05, 1.0).thickness_mm, 0.325)


def test_deeper_flats_open_more_and_stand_thicker():
    made = [tube(flat_depth=depth) for depth in (0.1, 0.3, 0.6, 1.2)]
    assert np.all(np.diff([one.open_area_mm2 for one in made]) > 0)
    assert np.all(np.diff([one.standing(0.02, 1.0).thickness_mm for one in made]) > 0)


def test_it_goes_into_a_round_hole_and_shrinks_outside_only():
    hole = Round(4.1).into(Flat(), 6.0)
    assert hole.engaged_area_mm2(1.0, tube()) == tube().area_mm2
    assert tube().shrunk(0.05) == tube(d=3.9)
    assert tube() == InsertTube(4, 3, 3, 2, 0.4, 20)


# --- Refusals ---


@pytest.mark.parametrize(
    "other, text",
    [
        ({"insert": 3.01}, "insert must be 2.9 to 3 mm, got 3.01 mm: it must go into the bore"),
        ({"insert": 2.8}, "insert must be 2.9 to 3 mm, got 2.8 mm: .* hold there"),
        ({"bore": 4.0}, "bore must be 0.1 to 3.95 mm, got 4 mm"),
        ({"flats": 0}, "flats must be 1 to 12, got 0: with none there is no way for the fluid"),
        ({"flats": 2.5}, "flats must be a whole number, got 2.5"),
        ({"flat_depth": 0.02}, "flat_depth must be 0.05 .*file them deeper or fit fewer"),
        ({"flat_depth": 1.49}, "flat_depth must be 0.05 to 1.475 mm, got 1.49 mm"),
        # four flats meet at the square: 1.5 (1 - cos 45°) = 0.4393
        (
            {"flats": 4, "flat_depth": 0.5},
            "flat_depth must be 0.05 to 0.43934 mm, .* must not meet",
        ),
        # twelve flats of a bore of 1.0 meet before they are deep enough: 0.5 (1 - cos 15°) = 0.017
        ({"bore": 1.0, "insert": 1.0, "flats": 12, "flat_depth": 0.02}, "flats must .*fit fewer"),
        ({"length": 0.0}, "length must be 0.05"),
        ({"flat_depth": "0,4"}, "write 0.4"),
        ({"d": float("nan")}, "d must be 0.05"),
    ],
)
def test_what_cannot_be_made_is_refused(other, text):
    with pytest.raises(Refusal, match=text):
        tube(**other)


@pytest.mark.parametrize("bad", [-0.1, math.nan, "wide", [0.1, 0.2]])
def test_bad_gaps_and_depths_are_refused(bad):
    with pytest.raises(Refusal, match="gap_side_mm must be"):
        tube().standing(bad, 2.0)
    with pytest.raises(Refusal, match="depth_mm must be"):
        tube().standing(0.05, bad)


@pytest.mark.parametrize("bad", [-1.0, math.nan, "5,0", None, [1.0, 2.0]])
@pytest.mark.parametrize("name", ["width", "top", "bore", "corner_radius"])
def test_bad_keyways_are_refused(name, bad):
    sizes = {"width": 5.0, "top": 2.35, "bore": 16.0, "corner_radius": 0.1}
    with pytest.raises(Refusal, match=f"^{name} must be"):
        Keyway(**sizes | {name: bad})
