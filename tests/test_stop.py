"""The depth stop as a sum of terms, the chance that it comes right, and the sums around it."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.stats import lognorm, norm

import edmkit as ek
from edmkit import Estimate, Refusal
from edmkit.planning.bench_sums import centre_error_mm, electrodes_for, shortfall_mm
from edmkit.planning.chance import Chance, chances
from edmkit.planning.stop import FRONT, SAG, WEAR, Touch, depth_stop
from edmkit.words import Display

EXACT = {"resolution_mm": 0.001, "switch_repeat_mm": 0.0}
ROD = ek.Round(3.0)


def burn(front_um=26.5, side_um=26.5, front_spread=0.0, side_spread=0.0):
    """Return a burn of which only the gaps are known."""
    return SimpleNamespace(
        gap_front_um=Estimate(front_um, front_spread), gap_side_um=Estimate(side_um, side_spread)
    )


def domed(**changed):
    """Return the hole of the domed roller: its depth counts at the hole's centre."""
    given_ = {"offset_mm": 4.0, "depth_from": "hole centre", **changed}
    return ek.Feature(ek.Round(3.05), ek.Ball(60.0), 5.0, **given_)


def stop(feature=None, gaps=None, worn=None, **rest):
    worn = worn or Estimate(0.5, 0.0)
    return depth_stop(feature or domed(), gaps or burn(), worn, **{**EXACT, **rest})


def flat(depth=8.0, **rest):
    return ek.Feature(ek.Round(4.1), ek.Flat(), depth, **rest)


# --- outside values ---
def test_a_round_hole_by_hand():
    # worked exercise: rod 4.0 in a hole 4.1 x 8, wear 12 %, front gap 0.05, contact
    worn = 0.12 * 4.1**2 / 4.0**2 * 8
    made = stop(flat(), burn(50), Estimate(worn, 0.0))
    assert_allclose(made.exact_mm, 8.9586, atol=5e-5)


def test_the_trade_sum_of_a_stop():
    # trade practice, from memory: travel = depth - front gap + end wear, 12.00 - 0.05 + 0.12
    assert_allclose(stop(flat(12.0), burn(50), Estimate(0.12, 0.0)).exact_mm, 12.07)


def test_the_domed_roller_touched_in_place_and_on_the_crown():
    # worked example: sag 0.1043 at the inner edge of the rod, 0.2679 at the hole's centre
    in_place = stop(section=ROD)
    assert_allclose(in_place.exact_mm, 5.637, atol=5e-4)
    assert_allclose(stop(section=ROD, touch=Touch(place="crown")).exact_mm, 5.742, atol=7e-4)
    # 5.00 set from the place touched: 0.164 too shallow, gap and wear left aside
    assert in_place.trap.name == SAG
    assert_allclose(in_place.trap.value_mm, 0.164, atol=5e-4)
    assert "0.164 mm too shallow" in in_place.trap_sentence()
    assert "0.00644 in" in in_place.trap_sentence(Display(inches=True))


def test_a_datum_face_and_a_feeler_are_added():
    # by hand: the datum stands 2 mm above the crown, a 0.05 feeler between
    plain = stop(section=ROD, touch=Touch(place="crown")).exact_mm
    touch = Touch("feeler", "datum face", feeler_mm=0.05, datum_above_crown_mm=2.0)
    assert_allclose(stop(section=ROD, touch=touch).exact_mm, plain + 2.05)


def test_first_sparks_at_the_same_setting_cancel_the_front_gap():
    gaps = burn(front_spread=0.4)
    sparked = stop(gaps=gaps, touch=Touch("first spark", repeat_mm=0.0))
    no_gap = stop(gaps=burn(0.0), touch=Touch(repeat_mm=0.0))
    assert_allclose(sparked.exact_mm, no_gap.exact_mm)
    assert_allclose(sparked.spread_mm, 0.0, atol=1e-12)
    assert sparked.term(FRONT).spread_mm > 0


def test_first_sparks_repeat_no_better_than_a_touch():
    # by hand: both gaps and their doubts cancel; repeat 0.009 and a wear of 0.5 known to 1 % stay
    gaps, worn = burn(front_spread=0.4), Estimate(0.5, 0.01)
    sparked = stop(gaps=gaps, worn=worn, touch=Touch("first spark", repeat_mm=0.009))
    assert_allclose(sparked.spread_mm, math.hypot(0.009, 0.005))
    assert sparked.rules.name == "touch-off repeat"  # and not the gap, whose larger 0.0106 cancels
    found = chances(sparked, gaps, worn, depth_tolerance_mm=(0.02, 0.02),
                    size_tolerance_mm=(1, 1))  # fmt: skip
    sigma = math.hypot(0.009, 0.005)
    assert_allclose(found.depth, norm.cdf(0.02 / sigma) - norm.cdf(-0.02 / sigma), atol=0.02)


def test_a_batch_that_is_not_touched_off_again():
    # worked exercise: 0.50 per hole, tolerance 0.05: none after the first is right
    first, second = stop(), stop(not_touched_for=1)
    assert_allclose(second.exact_mm - first.exact_mm, 0.5)
    doubtful = stop(worn=Estimate(0.5, 0.1), not_touched_for=3)
    assert_allclose(doubtful.spread_mm, math.hypot(4 * 0.05, 0.005))  # four holes, one cause


def test_shortfall_without_an_allowance_for_wear():
    # worked exercise: wear 0.15 of the depth, 6 mm: 0.783, 0.102, 0.0133
    assert_allclose(shortfall_mm(6, 0.15, [1, 2, 3]), [0.783, 0.102, 0.0133], rtol=4e-3)
    assert electrodes_for(6, 0.15, 0.05) == 3
    assert electrodes_for(6, 0.15, 0.103) == 2
    assert electrodes_for(6, 0.0, 0.05) == 1


def test_shortfall_is_what_wearing_ends_leave():
    # independently: the stop is run down in small steps; each step wears the end by its share
    share, wanted, floor = 0.15, 6.0, 0.0
    for _ in range(2):
        end, position = 0.0, 0.0  # of a fresh electrode: length gone, and where its end stands
        while position < wanted:
            position += 1e-4
            if position - end > floor:
                cut = position - end - floor
                floor += cut / (1 + share)
                end += cut * share / (1 + share)
    assert_allclose(wanted - floor, shortfall_mm(6, 0.15, 2), rtol=2e-3)


def test_centring_with_the_dial():
    # rule of the bench: e = R dz / (2 x), good for small differences
    assert_allclose(centre_error_mm(8.0, 0.01, 2.0), 8 * 0.01 / (2 * 2), rtol=0.06)
    assert_allclose(centre_error_mm(30.0, 0.002, 3.0), 30 * 0.002 / 6, rtol=0.01)
    # exactly, by Pythagoras: crown off by 0.1, radius 8, touches at 1.9 and 2.1 from it
    dz = math.sqrt(64 - 1.9**2) - math.sqrt(64 - 2.1**2)
    assert_allclose(centre_error_mm(8.0, dz, 2.0), 0.1, rtol=1e-9)
    assert_allclose(centre_error_mm(8.0, -dz, 2.0), -0.1, rtol=1e-9)


# --- properties ---
@given(gap=st.floats(0, 100), worn=st.floats(0, 3))
def test_gap_and_wear_pull_opposite_ways(gap, worn):
    base = stop(flat(), burn(gap), Estimate(worn, 0.0)).exact_mm
    assert stop(flat(), burn(gap + 10), Estimate(worn, 0.0)).exact_mm < base
    assert stop(flat(), burn(gap), Estimate(worn + 0.1, 0.0)).exact_mm > base


def test_the_terms_add_up_and_are_named():
    made = stop(dressed_mm=0.3, not_touched_for=2, floor_stock_mm=0.05, cut="spark out")
    assert_allclose(sum(t.value_mm for t in made.terms), made.exact_mm)
    assert len({t.name for t in made.terms}) == len(made.terms)
    assert all(t.why.endswith(".") for t in made.terms)
    assert_allclose(made.exact_mm, stop(cut="spark out").exact_mm + 0.3 + 2 * 0.5 - 0.05)
    assert "pull apart" in made.opposed_sentence()


def test_sparking_out_goes_deeper():
    assert stop(cut="spark out").exact_mm < stop().exact_mm


def test_a_flat_has_no_sag_and_its_trap_is_the_wear():
    made = stop(flat(), burn(50), Estimate(0.3, 0.0))
    assert made.term(SAG).value_mm == 0
    assert made.trap.name == WEAR
    assert stop(flat(), burn(5), Estimate(0.001, 0.0)).trap is None


def test_what_is_set_stands_on_the_steps_of_the_stop():
    made = stop(resolution_mm=0.02)
    assert_allclose(made.set_mm / 0.02, round(made.set_mm / 0.02))
    assert abs(made.set_mm - made.exact_mm) <= 0.01
    assert made.dial_mm == made.set_mm


def test_a_through_hole_comes_out_by_wear_and_gap():
    made = stop(flat(20.0, through=True), burn(30), Estimate(1.9, 0.0))
    assert made.through
    assert made.exact_mm > 20 + 1.9 + 0.03


def test_what_rules_is_the_largest_doubt():
    made = stop(gaps=burn(front_spread=0.4), worn=Estimate(0.5, 0.2))
    assert made.rules.name == WEAR
    assert_allclose(made.spread_mm, math.hypot(0.5 * 0.2, 0.0265 * 0.4, 0.005))
    assert_allclose(made.holds_mm, 1.6449 * made.spread_mm)


# --- chances ---
def test_chances_equal_root_sum_square_where_doubts_are_small():
    gaps, worn = burn(front_spread=0.05, side_spread=0.04), Estimate(0.5, 0.03)
    touch = Touch(repeat_mm=0.006)
    made = stop(gaps=gaps, worn=worn, touch=touch, switch_repeat_mm=0.005)
    for limit in (0.01, 0.02, 0.03):
        found = chances(made, gaps, worn, depth_tolerance_mm=(limit, limit),
                        size_tolerance_mm=(0.005, 0.005), size_error_mm=0.003)  # fmt: skip
        sigma = math.sqrt(0.015**2 + (0.0265 * 0.05) ** 2 + 0.006**2 + 0.005**2)
        assert_allclose(found.depth, norm.cdf(limit / sigma) - norm.cdf(-limit / sigma), atol=0.02)
        size = math.hypot(2 * 0.0265 * 0.04, 0.003)
        assert_allclose(found.size, norm.cdf(0.005 / size) - norm.cdf(-0.005 / size), atol=0.02)
        assert max(0, found.depth + found.size - 1) <= found.both <= min(found.depth, found.size)


def test_skewed_doubts_are_drawn_as_they_are():
    # closed form: of log-normal doubts alone, one at a time, on the side of too deep
    quiet = {"touch": Touch(repeat_mm=0.0), "resolution_mm": 0.0001}
    wide = {"size_tolerance_mm": (1, 1)}
    worn = Estimate(0.5, 0.4)  # less wear than likely: too deep, by no more than all of it
    made = stop(flat(), burn(0.0), worn, **quiet)
    expected = lognorm(0.4).cdf(1.0) - lognorm(0.4).cdf(1 - 0.1 / 0.5)
    found = chances(made, burn(0.0), worn, depth_tolerance_mm=(0, 0.1), **wide).depth
    assert_allclose(found, expected, atol=0.02)
    made = stop(flat(), burn(0.0), worn, not_touched_for=1, **quiet)  # twice as much of it
    found = chances(made, burn(0.0), worn, depth_tolerance_mm=(0, 0.2), **wide).depth
    assert_allclose(found, expected, atol=0.02)
    gaps, none = burn(30, 30, 0.5), Estimate(0.0, 0.0)  # more gap than likely: too deep
    made = stop(flat(), gaps, none, **quiet)
    found = chances(made, gaps, none, depth_tolerance_mm=(0, 0.015), **wide).depth
    assert_allclose(found, lognorm(0.5).cdf(1.5) - lognorm(0.5).cdf(1.0), atol=0.02)


def test_an_end_that_does_not_wear():
    none = Estimate(0.0, 0.3)
    made = stop(worn=none, not_touched_for=2, switch_repeat_mm=0.005)
    found = chances(made, burn(), none, depth_tolerance_mm=(1, 1), size_tolerance_mm=(1, 1))
    assert found == Chance(1, 1, 1)


def test_front_and_side_gap_share_their_cause():
    # all of the doubt in a shared gap: depth is right exactly where size is, with fitting limits
    gaps = burn(30, 30, 0.3, 0.3)
    made = stop(gaps=gaps, worn=Estimate(1e-9, 0.0), touch=Touch(repeat_mm=0.0))
    found = chances(made, gaps, Estimate(1e-9, 0.0), depth_tolerance_mm=(1, 0.005),
                    size_tolerance_mm=(1, 0.010), size_error_mm=0.0)  # fmt: skip
    apart = chances(made, burn(3, 30, 0.3, 0.3), Estimate(1e-9, 0.0), depth_tolerance_mm=(1, 0.0),
                    size_tolerance_mm=(1, 0.0), size_error_mm=0.0)  # fmt: skip
    assert_allclose(found.both, found.depth, atol=0.05)
    assert apart.both < min(apart.depth, apart.size) - 0.1


def test_what_the_stop_cannot_set_counts_as_an_error():
    # a stop of 1 mm steps is off by half a millimetre here and there: no depth comes right
    gaps, worn = burn(), Estimate(0.863, 0.0)  # 5.637 less 0.5 and 0.863 more is 6.0 exactly
    args = {"depth_tolerance_mm": (0.05, 0.05), "size_tolerance_mm": (1, 1)}
    whole = stop(gaps=gaps, worn=worn, section=ROD, resolution_mm=1.0)
    half = stop(gaps=gaps, worn=Estimate(0.463, 0.0), section=ROD, resolution_mm=1.0)
    assert chances(whole, gaps, worn, **args).depth > 0.99
    assert chances(half, gaps, Estimate(0.463, 0.0), **args).depth == 0


def test_the_same_page_shows_the_same_chance():
    args = {"depth_tolerance_mm": (0.05, 0.05), "size_tolerance_mm": (0, 0.06)}
    gaps, worn = burn(front_spread=0.4, side_spread=0.2), Estimate(0.5, 0.3)
    made = stop(gaps=gaps, worn=worn)
    assert chances(made, gaps, worn, **args) == chances(made, gaps, worn, **args)
    other = chances(made, gaps, worn, **args, seed=3)
    assert 0 < abs(other.depth - chances(made, gaps, worn, **args).depth) < 0.03


def test_a_wrong_likely_size_lowers_its_chance_and_leaves_the_depth():
    args = {"depth_tolerance_mm": (0.05, 0.05), "size_tolerance_mm": (0.02, 0.02)}
    gaps, worn = burn(front_spread=0.2, side_spread=0.2), Estimate(0.5, 0.1)
    made = stop(gaps=gaps, worn=worn)
    right, off = (chances(made, gaps, worn, **args, size_off_mm=v) for v in (0.0, 0.03))
    assert off.size < right.size - 0.2
    assert off.depth == right.depth


def test_a_through_hole_has_no_depth_to_miss():
    gaps, worn = burn(), Estimate(1.9, 0.5)
    made = stop(flat(20.0, through=True), gaps, worn)
    found = chances(made, gaps, worn, depth_tolerance_mm=(0, 0), size_tolerance_mm=(1, 1))
    assert found.depth == 1


# --- refusals ---
@pytest.mark.parametrize(
    "make, said",
    [
        (lambda: Touch("by eye"), "touch-off kind must be one of"),
        (lambda: Touch(place="corner"), "touch-off place must be one of"),
        (lambda: Touch("feeler"), "feeler_mm must be above 0 mm.*give the feeler's thickness"),
        (lambda: Touch(repeat_mm=-1), "repeat_mm must be 0 to 1 mm"),
        (lambda: stop(cut="later"), "cut must be one of"),
        (lambda: stop(worn=Estimate(math.nan, 0.1)), "end wear must be known.*burn a trial"),
        (lambda: stop(dressed_mm=-0.1), "dressed_mm must be 0 to 100 mm"),
        (lambda: stop(resolution_mm=0.0), "resolution_mm must be"),
        (lambda: centre_error_mm(8, 0.01, 9), "distance_mm must be .*nearer to the crown"),
        (lambda: centre_error_mm(8, 7, 1), "difference_mm must be less .*burr"),
        (lambda: shortfall_mm("6,0", 0.1, 1), "write 6.0"),
        (lambda: electrodes_for(6, 0.15, 7), "tolerance_mm must be"),
        (
            lambda: chances(stop(), burn(), Estimate(0.5, 0.1), depth_tolerance_mm=(-1, 1),
                            size_tolerance_mm=(1, 1)),
            "depth_tolerance_mm must be 0 to 100 mm.*without its sign",
        ),
    ],
)  # fmt: skip
def test_refusals(make, said):
    with pytest.raises(Refusal, match=said):
        make()


def test_arrays_of_electrodes():
    assert np.shape(shortfall_mm(6, 0.1, [[1, 2], [3, 4]])) == (2, 2)
    assert np.ndim(shortfall_mm(6, 0.1, 2)) == 0
