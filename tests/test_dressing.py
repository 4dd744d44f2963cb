"""How often to dress, what a batch uses up, and how long it takes."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import Estimate, Refusal
from edmkit.planning.dressing import ORDERS, Batch, dressing, schedule, together
from edmkit.words import Display

ROLLERS = Batch(parts=40, holes=2, corner_max_mm=0.25, usable_mm=25, corner_per_wear=0.2)


def burn_list(batch, passes=2, worn=0.1):
    """Return made-up passes of 10 and 5 minutes, a fifth of it lifting."""
    made = dressing(batch, worn)
    return [(Estimate(10.0 / n, 0.3), worn, made, 0.8) for n in range(1, passes + 1)]


# --- dressing ---
def test_the_domed_rollers_by_hand():
    # worked by hand: 0.50 mm off the end and 0.10 mm on the edge per hole, 0.25 mm allowed
    made = dressing(ROLLERS, 0.5)
    assert made.after == 2  # 0.25 / 0.10
    assert_allclose(made.cut_mm, 0.30)  # 0.25 and 0.05 of taper
    assert_allclose(made.after * 0.5 + made.cut_mm, 1.30)  # of electrode from dressing to dressing
    assert made.electrodes == 3  # 25 / 1.30 = 19 dressings, 38 holes each, 80 holes
    assert made.dressings == 39
    assert_allclose(made.length_mm, 40 * 1.30 - 0.30)


def test_an_end_that_may_round_is_not_dressed():
    made = dressing(Batch(parts=10, usable_mm=25), 0.5)
    assert made.after is None and made.dressings == 0
    assert_allclose(made.length_mm, 5.0)
    assert "No dressing" in made.sentence()


def test_a_thin_side_cut_rounds_the_edge_too():
    batch = Batch(parts=10, corner_max_mm=0.2, corner_per_wear=1)
    assert dressing(batch, 0.05).after == 4
    assert dressing(batch, 0.05, edge_mm=0.05).after == 2


def test_no_wear_needs_one_electrode_and_no_dressing():
    made = dressing(Batch(parts=500, corner_max_mm=0.1), 0.0)
    assert (made.after, made.dressings, made.electrodes, made.length_mm) == (None, 0, 1, 0.0)


@given(
    wear=st.floats(0.001, 2), limit=st.floats(0.01, 1), count=st.integers(1, 200),
    usable=st.floats(5, 60),
)  # fmt: skip
def test_an_electrode_is_never_asked_for_more_than_it_has(wear, limit, count, usable):
    batch = Batch(parts=count, corner_max_mm=limit, usable_mm=usable, corner_per_wear=1)
    made = dressing(batch, wear)
    # independently: burn hole after hole, dress when the next would pass the limit
    corner, length, electrodes, dressings = 0.0, 0.0, 1, 0
    growth, each = wear, max(1, math.floor(limit / wear * (1 + 1e-9)))
    cut = max(limit, each * growth) + 0.05
    for _ in range(count):
        if corner + growth > limit * (1 + 1e-9) and corner:
            dressings += 1
            corner, length = 0.0, length + cut
            if length + each * wear + cut > usable * (1 + 1e-9):
                electrodes, length = electrodes + 1, 0.0
        corner, length = corner + growth, length + wear
    assert made.electrodes == electrodes
    assert made.dressings == dressings


def test_too_short_an_electrode_is_refused():
    with pytest.raises(Refusal, match=r"usable_mm must be at least 3.00 mm, got 1 mm.*longer"):
        dressing(Batch(usable_mm=1), 3.0)
    with pytest.raises(Refusal, match="usable_mm"):
        dressing(Batch(parts=5, usable_mm=1, corner_max_mm=0.9, corner_per_wear=1), 0.5)


def test_the_sentence_is_in_the_units_shown():
    made = dressing(ROLLERS, 0.5)
    assert "after every 2 holes" in made.sentence() and "0.30 mm" in made.sentence()
    assert "0.012 in" in made.sentence(Display(inches=True), 0.03)
    assert "every hole" in dressing(Batch(parts=9, corner_max_mm=0.1), 0.5).sentence()


# --- the batch ---
def test_durations_of_one_shop_add_up_at_their_ends():
    parts = [Estimate(10.0, 0.2), Estimate(30.0, 0.4)]
    whole = together(parts)
    assert_allclose(whole.likely, 40)
    assert whole.high < sum(p.high for p in parts) < whole.high * 1.02
    assert together([]).likely == 0


def test_part_by_part_by_hand():
    batch = Batch(parts=6, load_min=4, drain_min=3, dress_min=10)
    made = schedule(batch, burn_list(batch))
    # 6 x (10 + 5) burning, 6 x 7 loading and looking, 12 changes of electrode
    assert_allclose(made.minutes.likely, 90 + 42 + 120)
    assert_allclose(made.minutes_per_part.likely, made.minutes.likely / 6)
    # only the burning is in doubt: 90 minutes known to a spread of 0.3
    assert_allclose(made.minutes.likely * made.minutes.spread, 90 * 0.3)
    assert_allclose(made.longest_burn.likely, 10)
    assert_allclose(made.lift_share, 0.2)
    assert made.dressings_saved == 0


def test_dressings_take_their_time():
    batch = Batch(parts=6, load_min=0, drain_min=0, dress_min=10, corner_max_mm=0.1)
    made = schedule(batch, burn_list(batch, 1, 0.1))
    assert made.dressings == 5  # after each hole but the last
    assert_allclose(made.minutes.likely, 60 + 50)


def test_rough_all_first_saves_changes_and_costs_loading():
    each = dict(parts=6, load_min=4, drain_min=3, dress_min=10)
    first = schedule(Batch(**each), burn_list(Batch(**each)))
    batch = Batch(**each, order=ORDERS[1])
    later = schedule(batch, burn_list(batch))
    assert_allclose(later.minutes.likely, 90 + 84 + 20)  # parts set twice, two changes
    assert later.dressings_saved == 10
    assert later.location_mm > first.location_mm
    assert_allclose(later.location_mm, 0.01 * math.sqrt(2))
    said = [made.sentences()[0] for made in (first, later)]
    assert "changed 12 times" in said[0] and "then finish all, 2" in said[0]
    assert "changed 2 times" in said[1] and "part by part, 12" in said[1]
    # one place after the other: 10 µm twice, and nine times in ten
    assert "±23.3 µm" in later.sentences()[1] and "thou" in later.sentences(Display(True))[1]


def test_one_pass_is_the_same_in_both_orders():
    one = [schedule(Batch(parts=6, order=o), burn_list(Batch(), 1)).minutes for o in ORDERS]
    assert one[0] == one[1]


def test_drift_without_touching_off():
    # worked by hand: 0.50 mm per hole, tolerance 0.05: none after the first is right
    batch = Batch(parts=4, touch_again=False)
    made = schedule(batch, burn_list(batch, 1, 0.5))
    assert_allclose(made.drift_mm, [0, -0.5, -1.0, -1.5])
    assert "hole 2 is 0.50 mm too shallow" in made.sentences()[-1]
    assert "in too shallow" in made.sentences(Display(inches=True))[-1]


@pytest.mark.parametrize(
    "wrong, said",
    [
        ({"parts": 0}, "parts must be 1 to"),
        ({"holes": 2.5}, "holes must be a whole number, got 2.5"),
        ({"order": "any"}, "order must be one of"),
        ({"relocate_mm": -1}, "relocate_mm must be 0 to"),
        ({"usable_mm": "3,5"}, "write 3.5"),
        ({"corner_max_mm": 0}, "corner_max_mm must be"),
        ({"corner_per_wear": math.nan}, "corner_per_wear must be"),
    ],
)
def test_refusals(wrong, said):
    with pytest.raises(Refusal, match=said):
        Batch(**wrong)
