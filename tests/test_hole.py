"""One hole at one setting: volumes, wear, minutes and first touch against sums by hand."""

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.planning.hole import sink

SETTINGS = ek.Settings(3, 50, 25, lift_burn_s=4, lift_up_s=1)


def setup(**changed):
    """Return copper on hardened bearing steel in oil."""
    given = {
        "work": ek.work_material("52100"),
        "electrode": ek.electrode_material("copper"),
        "dielectric": ek.dielectric("edm_oil"),
        "polarity": "electrode positive",
        "engaged_area_mm2": 7.0,
    }
    return ek.Setup(**{**given, **changed})


def hole(shape=None, face=None, depth=5.0, settings=SETTINGS, **rest):
    return sink(shape or ek.Round(3.05), face or ek.Flat(), depth, setup(), settings, **rest)


def test_a_round_hole_by_hand():
    made = hole()
    gap = made.burn.gap_side_um.likely / 1000
    volume = math.pi * 3.05**2 / 4 * 5
    section = math.pi * (3.05 - 2 * gap) ** 2 / 4
    assert_allclose(made.volume_mm3, volume, rtol=1e-9)
    assert_allclose(made.electrode.d, 3.05 - 2 * gap, rtol=1e-9)
    assert_allclose(made.section_mm2, section, rtol=1e-9)
    rate = made.burn.removal_rate_mm3_per_min.likely
    assert_allclose(made.minutes.likely, volume / rate * 1.25, rtol=1e-9)  # 4 s burning, 1 s up
    wear = made.burn.relative_wear_percent.likely / 100
    assert_allclose(made.end_wear_mm.likely, wear * volume / section, rtol=1e-9)
    step = rate / section * 4 / 60 * 1000
    assert_allclose(made.dial_step_um.likely, step, rtol=1e-9)


def test_the_end_that_burns_is_the_electrode_s():
    made = hole()
    assert_allclose(made.burn.setup.engaged_area_mm2, made.section_mm2, rtol=1e-9)
    assert_allclose(made.burn.setup.engaged_rim_mm, math.pi * made.electrode.d, rtol=1e-9)


@pytest.mark.parametrize("shape", [ek.Round(4.06), ek.RegularPolygon(6, 4.06)])
def test_a_bore_leaves_a_pip_a_gap_smaller_all_round(shape):
    # exercise 11 of the job: pip diameter = bore - 2 side gaps
    solid, bored = hole(shape, depth=4.0), hole(shape, depth=4.0, bore_mm=1.2)
    gap = bored.burn.gap_side_um.likely / 1000
    pip = math.pi * (1.2 - 2 * gap) ** 2 / 4 * 4
    assert_allclose(solid.volume_mm3 - bored.volume_mm3, pip, rtol=1e-6)
    assert_allclose(solid.section_mm2 - bored.section_mm2, math.pi * 1.2**2 / 4, rtol=1e-6)


def test_a_bore_smaller_than_two_gaps_leaves_no_pip():
    assert_allclose(hole(bore_mm=0.05).volume_mm3, hole().volume_mm3, rtol=1e-12)


def test_on_a_ball_less_metal_is_in_the_way():
    # by hand: the cap of a 12 mm ball under a 3.05 mm cylinder, crown to rim
    sag = 6 - math.sqrt(36 - 1.525**2)
    cap = math.pi * sag**2 * (18 - sag) / 3
    volume = cap + math.pi * 1.525**2 * (5 - sag)
    assert_allclose(hole(face=ek.Ball(12)).volume_mm3, volume, rtol=1e-9)


def test_the_patch_on_a_ball_bears_the_current_where_the_limit_says():
    # by hand: near touch the patch of a 12 mm ball has the area 2 pi R t - pi t², a circle; the
    # kit's limit there is the smaller of 0.2 A per mm of rim and 0.5 A per mm² of area
    made = hole(face=ek.Ball(12))
    current = made.burn.average_current_A.likely

    def bears(depth):
        area = math.pi * (12 * depth - depth**2)
        rim = 2 * math.sqrt(math.pi * area)
        return min(max(0.07 * area, 0.2 * rim), 0.5 * area)

    depths = np.linspace(1e-4, 0.2, 20_000)
    by_hand = depths[np.argmax([bears(t) >= current for t in depths])]
    assert_allclose(made.bears_from_mm, by_hand, atol=2e-3)
    assert "start on a low current" in made.warnings()[-1]


def test_on_a_flat_the_whole_end_bears_from_the_start_or_nowhere():
    assert hole().bears_from_mm == 0
    assert hole(settings=ek.Settings(12, 100, 25)).bears_from_mm is None
    assert hole(settings=ek.Settings(12, 100, 25)).warnings()[0].startswith("The mean current")


@pytest.mark.parametrize(
    "shape, depth, bore, deep",
    [
        (ek.Round(3), 8.9, 0.0, False),
        (ek.Round(3), 9.1, 0.0, True),
        (ek.Round(3), 9.1, 1.0, False),
        (ek.Rectangle(12, 1), 3.1, 0.0, True),
    ],
)
def test_a_deep_hole_without_a_bore_bears_half(shape, depth, bore, deep):
    made = hole(shape, depth=depth, bore_mm=bore)
    assert made.burn.setup.flushing.deep_blind is deep


def test_an_array_of_settings_gives_arrays():
    made = hole(settings=ek.Settings(3, np.array([20.0, 50.0, 100.0]), 25))
    assert made.minutes.likely.shape == (3,) and made.end_wear_mm.likely.shape == (3,)
    assert made.dial_step_um is None


def test_half_the_time_is_twice_the_speed():
    slow, fast = hole(), hole(settings=ek.Settings(3, 50, 25))
    assert_allclose(fast.speed_over(slow).likely, 1.25, rtol=1e-9)  # no lift against 4 s and 1 s
    assert_allclose(slow.speed_over(fast).likely, 0.8, rtol=1e-9)
    deep = hole(depth=10.0, settings=ek.Settings(3, 50, 25))
    assert_allclose(deep.speed_over(fast).likely, 0.5, rtol=1e-9)


@pytest.mark.parametrize(
    "given, words",
    [
        ({"bore_mm": 3.0}, "bore must be 0 to 2.85 mm, got 3 mm"),
        ({"bore_mm": "1,2"}, "write 1.2"),
        ({"depth": -1.0}, "depth_mm must be"),
        ({"depth": float("nan")}, "depth_mm must be"),
        ({"shape": ek.Round(0.08)}, "make the gap or the allowance smaller"),
        ({"shape": ek.Rectangle(4, 3), "face": ek.Ball(4)}, "diameter must be 5 to"),
    ],
)
def test_what_cannot_be_sunk_is_refused_with_the_knob(given, words):
    with pytest.raises(ek.Refusal, match=words):
        hole(**given)
