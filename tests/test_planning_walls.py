"""What wall is left, and whether a part can get too warm, against worked values."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Refusal
from edmkit.planning.walls import (
    Part,
    adiabatic_K,
    lump,
    smallest_wall,
    wall_left,
    warming,
)

STEEL = ek.work_material("52100")


# --- smallest_wall ---
def test_a_hole_in_a_ball():
    # worked exercise and worked value: 2.6346 centred, 2.4355 with 0.4 off (points of the rim)
    ball = Part("ball", 12.0)
    assert_allclose(smallest_wall(ball, ek.Round(3.05), 9.0)[0], 2.6346, atol=5e-5)
    assert_allclose(smallest_wall(ball, ek.Round(3.05), 9.0, 0.4)[0], 2.4355, atol=5e-5)


def test_a_ball_by_points_on_the_rim():
    angle = np.linspace(0, 2 * np.pi, 100_001)
    x, y, z = 0.4 + 1.525 * np.cos(angle), 1.525 * np.sin(angle), 9.0 - 6.0
    left = 6.0 - np.sqrt(x**2 + y**2 + z**2).max()
    assert_allclose(smallest_wall(Part("ball", 12.0), ek.Round(3.05), 9.0, 0.4)[0], left, rtol=1e-8)


def test_a_socket_along_a_pin():
    # worked exercise: hexagon 4.06 in a pin of 10: 2.656, with 0.05 off 2.606
    pin = Part("pin along its axis", 10.0)
    hexagon = ek.RegularPolygon(6, 4.06)
    assert_allclose(smallest_wall(pin, hexagon, 4.0)[0], 2.656, atol=5e-4)
    assert_allclose(smallest_wall(pin, hexagon, 4.0, location_mm=0.05)[0], 2.606, atol=5e-4)


def test_two_holes_in_a_roller_end():
    # worked example: outer wall 2.475, web 4.95
    alone = Part("pin along its axis", 16.0)
    wall, where = smallest_wall(alone, ek.Round(3.05), 5.0, 4.0)
    assert_allclose(wall, 2.475)
    assert where == "beside the hole"
    block = Part("block", pitch_mm=8.0)
    assert_allclose(smallest_wall(block, ek.Round(3.05), 5.0)[0], 4.95)


def test_a_blind_cross_hole_and_a_tube():
    # by hand: pin of 10, hole 3 wide to 8 mm: 5 - sqrt(1.5² + 3²); tube 20/10, pocket 3: 2
    assert_allclose(smallest_wall(Part("pin across", 10.0), ek.Round(3.0), 8.0)[0],
                    5 - math.hypot(1.5, 3))  # fmt: skip
    assert_allclose(smallest_wall(Part("tube", 20.0, 10.0), ek.Round(3.0), 3.0)[0], 2.0)


def test_a_block_has_no_wall_to_speak_of():
    assert smallest_wall(Part(), ek.Round(3.0), 3.0) == (None, "")


def test_a_slot_along_a_pin_is_only_as_wide_as_across_it():
    # by hand: 12 along and 3 across, 7 deep in a pin of 10: 5 - hypot(1.5, 2); turned it is gone
    pin, slot = Part("pin across", 10.0), ek.Rectangle(12, 3)
    assert_allclose(smallest_wall(pin, slot, 7.0)[0], 5 - math.hypot(1.5, 2))
    assert smallest_wall(pin, slot, 7.0, turn_deg=90)[0] < 0


def test_a_hole_that_breaks_out_beside_a_ball_has_no_wall():
    # by hand: 1 deep the ball of 12 is sqrt(36 - 25) = 3.32 from its axis, the hole reaches 5.03
    assert smallest_wall(Part("ball", 12.0), ek.Round(3.05), 1.0, 3.5)[0] < 0


def test_corners_reach_further():
    # by hand: half diagonal of 3 x 2 with r 0.5: hypot(1, 0.5) + 0.5
    assert_allclose(ek.Rectangle(3, 2, 0.5).outer_radius_mm, math.hypot(1, 0.5) + 0.5)
    assert_allclose(ek.RegularPolygon(6, 4.06).outer_radius_mm, 4.688 / 2, atol=5e-4)
    assert ek.Round(3.05).outer_radius_mm == 1.525


@pytest.mark.parametrize("kind", ["ball", "pin along its axis", "pin across"])
def test_a_wider_or_less_central_hole_leaves_less(kind):
    part = Part(kind, 12.0)
    walls = [smallest_wall(part, ek.Round(d), 8.0)[0] for d in (2, 3, 4)]
    assert walls == sorted(walls, reverse=True)
    off = [smallest_wall(part, ek.Round(3.0), 8.0, e)[0] for e in (0, 0.2, -0.4)]
    assert off == sorted(off, reverse=True)


# --- wall_left ---
def test_what_is_sound_of_a_wall():
    made = wall_left(Part("pin along its axis", 10.0), ek.Round(3.0), 4.0, location_mm=0.05,
                     recast_mm=0.02, lap_mm=0.01)  # fmt: skip
    assert_allclose([made.wall_mm, made.sound_mm], [3.5, 3.5 - 0.05 - 0.04 - 0.01])
    assert made.sentence == ""


def test_a_wall_that_is_gone_is_said():
    gone = wall_left(Part("pin along its axis", 3.0), ek.Round(3.05), 4.0)
    assert "No wall is left" in gone.sentence
    thin = wall_left(Part("pin along its axis", 3.1), ek.Round(3.05), 4.0, recast_mm=0.02)
    assert thin.wall_mm > 0 and "Recast" in thin.sentence
    assert wall_left(Part(), ek.Round(3.0), 4.0) is None


# --- adiabatic_K ---
def test_the_pin_that_is_not_cooled():
    # worked exercise: 22.5 W for 60 s into 24.7 g at 0.46 J/gK: 119 K
    assert_allclose(adiabatic_K(22.5, 60, 24.7, 460), 119, atol=0.5)


# --- lump ---
def test_the_mass_of_a_pin():
    # worked exercise: pin 10 x 40 of 7850 kg/m³ is 24.7 g
    mass, surface = lump(Part("pin along its axis", 10.0, length_mm=40.0), 7850)
    assert_allclose(mass, 24.7, atol=0.05)
    assert_allclose(surface, math.pi * 10 * 40 + 2 * math.pi * 25)
    tube, _ = lump(Part("tube", 10.0, 6.0, 40.0), 7850)
    assert_allclose(tube, 24.66 * (1 - 0.36), rtol=1e-3)
    ball, area = lump(Part("ball", 12.0), 7850)
    assert_allclose([ball, area], [7.1, 452.4], rtol=2e-3)
    assert lump(Part(), 7850) is None and lump(Part("pin across", 10.0), 7850) is None


# --- warming ---
def test_warming_starts_adiabatic_and_ends_at_what_the_bath_takes():
    # by hand: highest 0.5 of 20 W, 50 W/(m² K) over 1000 mm²: 200 K at last
    short, long = (warming(20.0, minutes, 25.0, 1000.0, STEEL) for minutes in (0.01, 1e4))
    assert_allclose(long.high_K, 0.5 * 20 / (50 * 1e-3))
    assert_allclose(long.low_K, 0.3 * 0.2 * 20 / (500 * 1e-3))
    heat = STEEL.properties["heat_capacity_room"].value
    assert_allclose(short.high_K, adiabatic_K(10.0, 0.6, 25.0, heat), rtol=0.01)


def test_a_caution_only_where_even_the_lowest_passes_the_temper():
    mild = warming(20.0, 30, 25.0, 1000.0, STEEL)
    assert mild.high_K > mild.room_K > mild.low_K and mild.sentence == ""
    hot = warming(2000.0, 60, 25.0, 1000.0, STEEL)
    assert hot.low_K > hot.room_K and "not measured" in hot.sentence
    # the metal's own limit, 150 to 200 °C on bearing steel, counted from a bath of 20 °C
    assert 120 < hot.room_K < 190
    assert warming(2000.0, 60, 25.0, 1000.0, ek.work_material("WC-6Co")).sentence == ""


def test_lifting_cools():
    assert warming(20, 30, 25, 1000, STEEL, 0.5).high_K < warming(20, 30, 25, 1000, STEEL).high_K


# --- refusals ---
@pytest.mark.parametrize(
    "make, said",
    [
        (lambda: Part("cube"), "part must be one of"),
        (lambda: Part("ball"), "diameter_mm of the ball must be given"),
        (lambda: Part("ball", -3), "diameter_mm must be 0.1"),
        (lambda: Part("tube", 10.0, 10.0), "bore_mm must be .* leave a wall"),
        (lambda: Part("tube", 10.0), "bore_mm must be"),
        (lambda: Part("block", pitch_mm=0), "pitch_mm must be"),
        (lambda: adiabatic_K(10, 60, 0, 460), "mass_g must be .* weigh"),
        (lambda: warming(10, 60, 20, 0, STEEL), "surface_mm2 must be"),
        (lambda: warming(-1, 60, 20, 100, STEEL), "power_W must be"),
    ],
)
def test_refusals(make, said):
    with pytest.raises(Refusal, match=said):
        make()
