"""150 made-up shops: the bands hold, and are as narrow as the trials allow.

The goals are those of a prototype of this regression on 1500 shops, with room for the chance of
150 (a coverage of 90 % is good to 2.4 points); tests/bench/bench_learn.py runs all 1500.
"""

import numpy as np
import pytest
from simulated_shops import FOUR, score, second_steel, slips_found

COUNT, ROOM = 150, 2.4


@pytest.mark.parametrize("quantity", FOUR)
@pytest.mark.parametrize(
    "case, low, high", [("prior", 86, 94), ("level", 84, 95), ("slips", 84, 95)]
)
def test_nine_burns_in_ten_lie_in_the_band(quantity, case, low, high):
    for trials in (3, 10):
        for where in score(quantity, case, trials, COUNT, 7):
            assert low - 2 * ROOM <= where.coverage <= high + 2 * ROOM


@pytest.mark.parametrize("quantity, factor", list(zip(FOUR, (1.6, 1.3, 1.75, 1.4), strict=True)))
def test_five_trials_bring_the_band_near_them_down(quantity, factor):
    near, far = score(quantity, "prior", 5, COUNT, 8)
    assert np.exp(near.width) <= factor
    anywhere = {"removal_rate": 2.3, "roughness_Ra": 1.4, "relative_wear": 2.2, "gap_side": 1.6}
    assert np.exp(far.width) <= anywhere[quantity]


@pytest.mark.parametrize("quantity", FOUR)
def test_slopes_far_from_the_usual_are_still_mostly_inside(quantity):
    for trials, near_least, far_least in ((3, 82, 68), (30, 82, 82)):
        near, far = score(quantity, "slopes", trials, COUNT, 9)
        assert near.coverage >= near_least - 2 * ROOM
        assert far.coverage >= far_least - 3 * ROOM


@pytest.mark.parametrize("quantity, most", list(zip(FOUR, (0.95, 0.37, 0.69, 0.42), strict=True)))
def test_a_second_steel_starts_with_what_the_first_has_taught(quantity, most):
    # half-widths of the prototype after ten trials on the first steel. Over the untrained band the
    # rate comes to half; wear and gap to two thirds, as their untrained bands are narrower here.
    whole, started, tried = second_steel(quantity, 60, 10)
    assert started <= 1.03 * most and started / whole <= 0.70
    assert tried / whole <= (0.62 if quantity == "relative_wear" else 0.55)
    assert tried < started


@pytest.mark.parametrize("quantity, trials, least", [
    ("removal_rate", 3, 70), ("removal_rate", 10, 90), ("roughness_Ra", 10, 95)])  # fmt: skip
def test_slips_are_marked_and_good_figures_are_not(quantity, trials, least):
    marked, wrong = slips_found(quantity, trials, 400 if trials == 3 else COUNT, 11)
    assert marked >= least - 8 and wrong <= 1.5
