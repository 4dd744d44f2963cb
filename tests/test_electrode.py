"""Electrode sizes, corners, pips and readings against worked exercises and sums by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Refusal
from edmkit.planning.electrode import (
    corner_left_mm,
    gap_wanted,
    least_stock_mm,
    middle_electrode_wanted,
    pip,
    readings,
    size,
)

SQUARE = ek.Rectangle(8.0, 8.0)


# --- size ---
def test_the_square_with_two_electrodes():
    # worked exercise: rough gap 0.06, Rz 24 µm, stock half of Rz; finish gap 0.03
    rough = size(SQUARE, 0.06, roughness_Rz_mm=0.024, stock_mm=0.012)
    assert_allclose([rough.section.a, rough.section.b], 7.808)
    assert_allclose(size(SQUARE, 0.03).section.a, 7.940)


def test_the_square_with_one_electrode_and_an_orbit():
    # worked exercise: undersize 0.096, finish orbit 0.066, inside corner left 0.096
    one = size(SQUARE, 0.03, orbit_mm=0.066)
    assert_allclose([one.undersize_mm, one.section.a], [0.096, 7.808])
    assert_allclose(corner_left_mm(0.0, 0.03, 0.066), 0.096)
    assert_allclose(corner_left_mm(0.0, 0.03, 0.066, "square"), 0.03)


def test_rough_undersize_of_the_trade():
    # trade practice, from memory: 0.10 + 0.04 + 0.03 + 0.02 = 0.19 per side
    made = size(SQUARE, 0.10, roughness_Rz_mm=0.04, stock_mm=0.03, location_mm=0.02)
    assert_allclose(made.undersize_mm, 0.19)
    assert_allclose(sum(mm for _, mm in made.terms), made.undersize_mm)
    assert made.terms[0][0] == "side gap"


def test_the_sockets_rough_and_finish():
    # worked example: across flats 3.921 and 4.007
    hexagon = ek.RegularPolygon(6, 4.06)
    rough = size(hexagon, 0.0386, roughness_Rz_mm=0.0207, stock_mm=0.0103)
    assert_allclose(rough.section.across_flats, 3.921, atol=5e-4)
    assert_allclose(size(hexagon, 0.0265).section.across_flats, 4.007, atol=5e-4)


def test_the_keyway_electrode():
    # worked example: 4.947 wide at a gap of 26.5 µm, top 10.324 from the bore's centre
    made = size(ek.Keyway(5.0, 2.35, 16.0, 0.08), 0.0265).section
    assert_allclose(made.width, 4.947)
    assert_allclose(made.bore / 2 + made.top, 10.3235)


@given(gap=st.floats(0.001, 0.3), rough=st.floats(0, 0.1), stock=st.floats(0, 0.3))
def test_a_hole_comes_back_to_its_size(gap, rough, stock):
    made = size(SQUARE, gap, roughness_Rz_mm=rough, stock_mm=stock).section
    left = 8.0 - made.grown(gap).a
    assert_allclose(left, 2 * (rough + stock), atol=1e-9)


# --- least_stock_mm ---
def test_least_stock_is_half_of_rz_or_the_recast_layer():
    assert_allclose(least_stock_mm(0.024, 0.005), 0.012)  # vocational-school wiki: Z >= Rz / 2
    assert_allclose(least_stock_mm(0.024, 0.020), 0.020)
    assert least_stock_mm(0.0, 0.0) == 0


# --- middle_electrode_wanted ---
def test_the_rule_for_a_middle_electrode():
    assert middle_electrode_wanted(0.3, 0.07)  # trade page: 4.3
    assert not middle_electrode_wanted(0.19, 0.08)  # 2.4
    assert middle_electrode_wanted(0.4, 0.1)  # 4 itself


# --- gap_wanted ---
def test_the_gap_a_rod_needs():
    # worked example: rod 3.00 for 3.05 +0.06/0: 0.025 per side, up to 0.055
    both = gap_wanted(ek.Round(3.05), ek.Round(3.0), 0.02, 0.06)
    assert_allclose(both, [0.015, 0.025, 0.055])  # 3.03, 3.05 and 3.11, less 3.00, halved
    low, middle, high = gap_wanted(ek.Round(3.05), ek.Round(3.0), 0.0, 0.06)
    assert_allclose([low, middle, high], [0.025, 0.025, 0.055])
    # worked exercise: electrode 3.05, test hole 3.18: side gap 0.065
    assert_allclose(gap_wanted(ek.Round(3.18), ek.Round(3.05))[1], 0.065)


def test_a_tube_counts_by_its_outside():
    assert_allclose(gap_wanted(ek.Round(3.05), ek.Tube(3.0, 1.0))[1], 0.025)


def test_an_orbit_takes_its_part_of_the_gap():
    assert_allclose(gap_wanted(ek.Round(3.2), ek.Round(3.0), orbit_mm=0.06)[1], 0.04)


# --- corner_left_mm ---
def test_a_worn_corner_leaves_its_radius_and_the_gap():
    assert_allclose(corner_left_mm(0.05, 0.026), 0.076)  # worked example of the keyway
    assert_allclose(corner_left_mm(0.05, 0.026, worn_mm=0.2), 0.226)


# --- pip ---
def test_the_pip_of_a_bore():
    # worked exercise: bore 1.0, gap 0.035, depth 6: 0.93, 4.08 mm³, 13.5 % of the bore free
    made = pip(1.0, 0.035, 6.0)
    assert_allclose(made.diameter_mm, 0.93)
    assert_allclose(made.volume_mm3, 4.08, atol=0.005)
    assert_allclose(made.annulus_share, 0.135, atol=5e-4)
    assert made.height_mm == 6.0
    # by hand: 0.5 - 0.035 = 0.465, rounded up; 2 x 0.035, rounded down
    assert "orbit of 0.47 mm" in made.remedies[1] and "bore of 0.070 mm" in made.remedies[2]


def test_the_pip_of_the_sockets():
    made = pip(1.2, 0.0386, 3.90)  # worked example: 1.123, 3.86 mm³
    assert_allclose(made.diameter_mm, 1.123, atol=5e-4)
    assert_allclose(made.volume_mm3, 3.86, atol=0.005)


def test_the_free_ring_by_areas():
    made = pip(1.0, 0.05, 3.0, orbit_mm=0.1)
    free = 1 - (math.pi * made.diameter_mm**2 / 4) / (math.pi / 4)
    assert_allclose(made.annulus_share, free)


def test_what_leaves_no_pip():
    assert pip(0.0, 0.03, 5) is None and pip(0.06, 0.03, 5) is None
    assert pip(1.0, 0.035, 6.0, orbit_mm=0.47) is None
    assert pip(1.0, 0.03, 5, bore_offset_mm=0.48, rotating=True) is None
    # a point test: bore radius 0.5, 0.15 off, gap 0.03 leaves 0.32 when it turns
    assert_allclose(pip(1.0, 0.03, 5, bore_offset_mm=0.15, rotating=True).diameter_mm, 0.64)
    assert_allclose(pip(1.0, 0.03, 5, bore_offset_mm=0.15).diameter_mm, 0.94)


def test_a_slender_pip_is_snapped_and_a_stout_one_is_not():
    assert any("snap it off" in said for said in pip(0.5, 0.03, 6.0).remedies)
    assert any("too stout" in said for said in pip(3.0, 0.03, 2.0).remedies)


# --- readings ---
@pytest.mark.parametrize(
    "section, wanted",
    [
        (ek.Round(2.9988), [("diameter", 2.99)]),
        (ek.Tube(2.9988, 1.0), [("diameter", 2.99), ("bore", 1.0)]),
        (ek.Rectangle(7.808, 5.0), [("length", 7.80), ("width", 5.0)]),
        (ek.RegularPolygon(6, 4.007), [("across flats", 4.0)]),
        # a triangle around a circle of radius 1: flat to opposite corner is 1 + 2
        (ek.RegularPolygon(3, 2.0), [("flat to opposite corner", 3.0)]),
        (
            ek.Keyway(4.947, 2.3235, 16.0, 0.05),
            [("width", 4.94), ("top, from the bore's centre", 10.32)],
        ),
    ],
)
def test_what_a_micrometer_shows(section, wanted):
    shown = readings(section)
    assert [r.words for r in shown] == [words for words, _ in wanted]
    assert_allclose([r.mm for r in shown], [mm for _, mm in wanted], atol=1e-9)


def test_a_filed_insert_is_read_over_its_flats():
    one = readings(ek.InsertTube(6.0, 2.0, 2.0, 1, 0.3, 20.0))[-1]
    two = readings(ek.InsertTube(6.0, 2.0, 2.0, 2, 0.3, 20.0))[-1]
    assert_allclose([one.mm, two.mm], [1.7, 1.4])
    assert "flat to round" in one.words and "two flats" in two.words


def test_a_finer_micrometer_reads_finer():
    assert_allclose(readings(ek.Round(2.9988), 0.001)[0].mm, 2.998)


# --- refusals ---
@pytest.mark.parametrize(
    "make, said",
    [
        (
            lambda: size(ek.Round(0.2), 0.08, roughness_Rz_mm=0.03),
            r"eat the electrode up: 0.220 mm of 0.200 mm, most of it the side gap.*lower current",
        ),
        (lambda: size(SQUARE, -0.01), "gap_side_mm must be 0 to 50 mm"),
        (lambda: size(SQUARE, "0,03"), "write 0.03"),
        (lambda: gap_wanted(ek.Round(3.0), ek.Round(3.05)), "too large for the hole by 0.050 mm"),
        (lambda: gap_wanted(ek.Round(3.0), SQUARE), "must have the hole's shape"),
        (lambda: gap_wanted(SQUARE, SQUARE, -0.06), "size_minus_mm must be .*without its sign"),
        (lambda: corner_left_mm(0.0, 0.03, 0.05, "round"), "orbit must be one of"),
        (lambda: pip(-1, 0.03, 5), "bore_mm must be 0 to 100"),
        (lambda: readings(ek.Round(3.0), 0), "step_mm must be"),
        (lambda: middle_electrode_wanted(0.1, 0), "finish_undersize_mm must be"),
        (lambda: least_stock_mm(-1, 0), "roughness_Rz_mm must be"),
    ],
)
def test_refusals(make, said):
    with pytest.raises(Refusal, match=said):
        make()
