"""Suction and flow without a gauge: a cup and a watch, a tube and a rule, two cups."""

from dataclasses import replace
from math import log, pi

import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Refusal
from edmkit.estimate import Estimate
from edmkit.flushing.gauge_free import Warm, by_cup, by_height, by_pressure, cup, warm
from edmkit.flushing.two_cups import Place, in_hole, place_of
from edmkit.planning.hole import sink
from edmkit.words import Display

OIL = warm(ek.dielectric("edm_oil"))
THIN = Warm("2 mm²/s oil", 1.58e-3, 790.0, 80e3, 0.1)
OPEN_SIDE = Place(3.0, 1.0, 5.0, 2000.0)  # the side holds back next to nothing


# --- warm ---
def test_a_fluid_at_20_is_what_its_sheet_says():
    """2.786 mPa s = 3.5 mm²/s x 796 kg/m³, by hand."""
    assert_allclose([OIL.viscosity, OIL.density], [2.786e-3, 796.0], rtol=1e-6)


def test_warm_oil_is_thinner_and_its_doubt_is_the_sheet_range():
    assert warm(ek.dielectric("edm_oil"), 40).viscosity < 0.8 * OIL.viscosity
    assert_allclose(OIL.spread, log(4.5 / 2.5) / 2 / 1.6449, rtol=1e-6)


def test_a_tank_on_fire_is_refused():
    with pytest.raises(Refusal, match="temperature_C must be 5 to 60 °C, got 80 °C: a thermometer"):
        warm(ek.dielectric("edm_oil"), 80)


# --- by_height, by_pressure ---
@pytest.mark.parametrize("fluid", ["edm_oil", "edm_oil_light", "kerosene"])
def test_a_metre_of_oil_is_about_7_7_kPa(fluid):
    """785 kg/m³ x 9.81 m/s² x 1 m = 7.7 kPa, by hand."""
    found = by_height(1000, warm(ek.dielectric(fluid)))
    assert_allclose(found.pressure_kPa, 7.7, rtol=0.03)
    assert not found.at_least and "1000 mm" in found.sentence


def test_height_and_pressure_are_one_thing():
    half = by_height(500, OIL)
    assert_allclose(by_height(1000, OIL).pressure_kPa, 2 * half.pressure_kPa)
    assert "as much as 0.5 m of this fluid" in by_pressure(half.pressure_kPa, OIL).sentence
    assert "39.37 in" in by_height(1000, OIL, display=Display(inches=True)).sentence


@pytest.mark.parametrize(
    "make, said",
    [
        (lambda: by_pressure(90, OIL), "pressure_kPa must be .* to 80 kPa, got 90 kPa: more suct"),
        (
            lambda: by_height(12_000, OIL),
            "height_mm must mean at most 80 kPa of suct.*, got 12000",
        ),
        (lambda: by_height(0, OIL), "height_mm must be 1 to 20000 mm, got 0 mm: measure from"),
        (lambda: by_pressure(2000, OIL, "pressure"), "1000 kPa, got 2000 kPa: .* 100 kPa is 1 bar"),
        (lambda: by_pressure(20, OIL, "sucking"), "direction must be one of 'suction', 'pressure'"),
        (lambda: by_cup(0, OIL, 1, 60), "flow_ml_per_min must be .* fill a cup and time it"),
        (lambda: by_cup(2000, OIL, 1, 60), "flow_ml_per_min must mean at most 80 kPa"),
        (lambda: cup(-1, 2), "millilitres must be 0 to 100000 ml, got -1 ml"),
        (lambda: cup(50, 0), "minutes must be 0.01 to 1000 min, got 0 min"),
    ],
)
def test_what_cannot_be_is_refused_with_the_number_to_change(make, said):
    with pytest.raises(Refusal, match=said):
        make()


def test_pressure_may_be_more_than_any_suction():
    assert by_pressure(200, OIL, "pressure").pressure_kPa == 200


# --- cup, by_cup ---
def test_fifty_millilitres_in_two_minutes():
    """Hagen-Poiseuille by hand: 8 mu L Q / (pi r⁴) = 2838 Pa for 25 ml/min, 60 mm of 1 mm bore;
    one sharp entry and exit, 2.78 speed heads of 112 Pa, add 311 Pa."""
    assert cup(50, 2) == 25.0
    found = by_cup(25.0, OIL, 1.0, 60.0)
    assert_allclose(found.pressure_kPa, 2.838 + 0.311, rtol=0.005)
    assert found.at_least and "at least 3.15 kPa" in found.sentence


def test_a_narrower_bore_needs_more():
    wide, narrow = (by_cup(10.0, OIL, bore, 60.0).pressure_kPa for bore in (2.0, 1.0))
    assert 14 < narrow / wide < 16.1  # the fourth power, less at the entry


# --- in_hole ---
def test_the_gap_in_front_by_hand():
    """pi g³ dp / (6 mu ln(r2/r1)), g 30 µm, 3 kPa, radii 1.5 and 0.5: 1.466 ml/min by hand."""
    drive = by_pressure(4, THIN)
    found = in_hole(drive, 4 * 1.466, 1.466, OPEN_SIDE, THIN)  # the hole takes 3/4 of 4 kPa
    assert_allclose(found.hole_share, 0.75)
    assert_allclose(found.hole_kPa, 3.0)
    assert_allclose(found.gap_front_um.likely, 30.0, rtol=0.01)
    assert found.state == "both"


def test_half_the_gap_lets_an_eighth_pass():
    drive = by_pressure(2, THIN)
    wide, narrow = (in_hole(drive, 5 * q, q, OPEN_SIDE, THIN).gap_front_um for q in (0.8, 0.1))
    assert_allclose(wide.likely / narrow.likely, 2.0, rtol=0.01)


def test_quick_fluid_needs_a_wider_gap():
    """Its inertia takes some of the pressure: 14.66 ml/min at 30 kPa is more than 30 µm."""
    found = in_hole(by_pressure(40, THIN), 4 * 14.66, 14.66, OPEN_SIDE, THIN)
    assert 30.3 < found.gap_front_um.likely < 36


def test_the_side_gap_takes_its_part():
    """8.13 ml/min through a side gap of 30 µm, 5 mm deep, 50 kPa: derived and checked apart."""
    side = Place(3.0, 1.0, 5.0, 30.0, pip_stands=False)
    none_left = in_hole(by_pressure(50 / (1 - 8.13 / 200), THIN), 200, 8.13, side, THIN)
    assert none_left.gap_front_um is None and "does not follow" in none_left.sentence
    half = in_hole(by_pressure(50, THIN), 1e5, 4.06, side, THIN)  # 25 kPa left for the front
    by_hand = (4.06e-6 / 60 * 6 * 1.58e-3 * log(3) / (pi * 25e3)) ** (1 / 3) * 1e6
    assert_allclose(half.gap_front_um.likely, by_hand, rtol=0.02)  # its inertia: a little more


def test_a_pip_in_the_bore_holds_the_flow_back():
    # exercise of the trade, hand sum: a bore of 1.0 mm at a side gap of 35 µm leaves a pip of
    # 0.93 mm, and the ring around it is (2 b g - g²) / b² = 13.5 % of the bore
    place = Place(3.0, 1.0, 6.0, 35.0)
    (ring,) = place.pip
    assert_allclose(ring.area / (pi * 0.5e-3**2), 0.135, atol=5e-4)
    assert_allclose(ring.hydraulic_diameter, 70e-6, rtol=1e-9)
    # the ring is three times shorter around than the side gap: it holds back three times as much
    assert_allclose(place.side.conductance / ring.conductance, 3.04 / 0.965, rtol=0.01)
    drive = by_pressure(50, THIN)
    with_pip, snapped = (in_hole(drive, 1e5, 0.5, replace(place, pip_stands=stands), THIN)
                         for stands in (True, False))  # fmt: skip
    assert with_pip.gap_front_um.likely > snapped.gap_front_um.likely
    assert Place(3.0, 0.06, 6.0, 35.0).pip == ()  # the gap eats it


def test_more_than_the_setting_lets_expect_is_not_blocked():
    # 3 of 240 ml a minute is little, but more than a gap of 20 µm in front lets pass
    place = Place(3.0, 1.0, 5.0, 35.0, gap_front_um=Estimate(20.0, 0.4))
    drive = by_pressure(41, THIN)
    said = [in_hole(drive, 240, inside, place, THIN).state for inside in (0.0, 0.02, 1.0, 3.0)]
    assert said == ["blocked", "blocked", "the gap", "the gap"]


def test_the_band_widens_as_the_side_takes_more():
    drive, side = by_pressure(50, THIN), Place(3.0, 1.0, 5.0, 30.0, pip_stands=False)
    spreads = [in_hole(drive, 1e5, q, side, THIN).gap_front_um.spread for q in (1.0, 4.0, 6.0)]
    assert spreads == sorted(spreads) and spreads[-1] > 2 * spreads[0]
    free = in_hole(drive, 1e5, 1.0, OPEN_SIDE, THIN).gap_front_um.spread
    assert_allclose(free, (0.1**2 + 0.1**2 + 0.05**2) ** 0.5 / 3, rtol=0.01)  # a third of each


def test_the_band_by_hand_and_by_a_small_step():
    """Half the drop at the side: sqrt(0.1² + 0.1² + 0.05² + (1.5 x 0.2)²) / 1.5 = 0.2236."""
    drive, side = by_pressure(50, THIN), Place(3.0, 1.0, 5.0, 30.0, pip_stands=False)
    gap = in_hole(drive, 1e5, 4.06, side, THIN).gap_front_um
    assert_allclose(gap.spread, 0.2236, rtol=0.01)
    wider = in_hole(drive, 1e5, 4.06, replace(side, gap_side_um=30.3), THIN).gap_front_um
    assert_allclose(log(wider.likely / gap.likely), -0.01, rtol=0.1)  # -(side / front) x 0.01


@pytest.mark.parametrize(
    "out, inside, state, said",
    [
        (10, 9.5, "before the hole", "bore, the flats or the line"),
        (10, 5, "both", "together"),
        (100, 5, "the gap", "as it should"),
        (1000, 5, "blocked", "Next to nothing"),
        (10, 0, "blocked", "reverse the flow"),
    ],
)
def test_each_state_is_said(out, inside, state, said):
    found = in_hole(by_pressure(30, THIN), out, inside, OPEN_SIDE, THIN)
    assert found.state == state and said in found.sentence


def test_a_gap_as_expected_is_not_called_blocked():
    """A fine gap passes a hundredth of an open bore, and that is as it should be."""
    fine = Place(3.0, 1.0, 5.0, 2000.0, gap_front_um=Estimate(14.0, 0.2))
    wide = Place(3.0, 1.0, 5.0, 2000.0, gap_front_um=Estimate(60.0, 0.1))
    drive = by_pressure(30, THIN)
    assert in_hole(drive, 200, 1.5, fine, THIN).state == "the gap"
    assert in_hole(drive, 200, 1.5, wide, THIN).state == "blocked"
    closing = in_hole(drive, 50, 1.5, wide, THIN)
    assert closing.state == "narrow" and "lets expect about 60 µm" in closing.sentence


def test_a_drive_from_the_bore_alone_gives_the_gap_at_most():
    drive = by_cup(40.0, THIN, 1.0, 60.0)
    found = in_hole(drive, 40.0, 2.0, OPEN_SIDE, THIN)
    assert "at most" in found.sentence
    more = in_hole(by_pressure(2 * drive.pressure_kPa, THIN), 40.0, 2.0, OPEN_SIDE, THIN)
    assert more.gap_front_um.likely < found.gap_front_um.likely


def test_more_in_the_hole_than_out_of_it_is_refused():
    with pytest.raises(Refusal, match=r"in_ml_per_min must be 0 to 10 ml/min, got 11 .* measure"):
        in_hole(by_pressure(30, THIN), 10, 11, OPEN_SIDE, THIN)


# --- place_of ---
def hole(shape):
    """Return a hole of a shape at one setting."""
    setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 7.0)  # fmt: skip
    return sink(shape, ek.Flat(), 6.0, setup, ek.Settings(3, 50, 25), bore_mm=1.0)


def test_the_place_is_that_of_the_hole():
    made = hole(ek.Round(3.05))
    place = place_of(made, 1.0)
    assert_allclose(place.outer_mm, 3.05 - 2 * made.burn.gap_side_um.likely / 1000)
    assert place.depth_mm == 6.0 and place.gap_front_um is made.burn.gap_front_um


def test_a_hexagon_counts_as_the_round_of_its_area():
    made = hole(ek.RegularPolygon(6, 4.06))
    assert_allclose(pi / 4 * place_of(made, 1.0).outer_mm ** 2, made.electrode.area_mm2)


@pytest.mark.parametrize(
    "wrong, said",
    [
        ({"gap_side_um": 0.0}, "gap_side_um must be 1 to 2000 µm, got 0 µm: a gap of 0 lets no"),
        ({"gap_front_um": Estimate(0.0, 0.2)}, "gap_front_um must be 1 to 500 µm, got 0 µm"),
        ({"bore_mm": 3.0}, "bore_mm must be 0.05 to 2.99 mm, got 3 mm: it must leave a wall"),
        ({"depth_mm": 0.0}, "depth_mm must be 0.01 to 1000 mm"),
    ],
)
def test_a_place_that_cannot_be_is_refused(wrong, said):
    sizes = {"outer_mm": 3.0, "bore_mm": 1.0, "depth_mm": 5.0, "gap_side_um": 35.0}
    with pytest.raises(Refusal, match=said):
        Place(**sizes | wrong)
