"""The questions before the first spark: each one counts, and when they are asked again."""

from types import SimpleNamespace

import card_kit as kit
import numpy as np
import pytest

import edmkit as ek
from edmkit.planning.gate import MOST_CAUTIONS, Gate, cautions_for
from edmkit.planning.safety import (
    FLUID_OVER_SPARK_MM,
    LEAST_LEVEL_MM,
    Bath,
    bath_warming_K,
    level_fall_mm,
)
from edmkit.words import Display

STOPS = ("float_stops", "thermostat_stops", "automatic_extinguisher")


# --- the gate ---
def test_a_gate_with_every_answer_is_open():
    assert kit.gate().missing() == ()
    assert kit.gate().open()


def test_a_gate_without_answers_asks_for_each():
    said = Gate().missing(bored=True)
    assert len(said) == 3 + len(STOPS) + 3 + 1  # day, fluid, level; stops; checks; bore
    assert len(set(said)) == len(said)
    assert not Gate().open(bored=False)


@pytest.mark.parametrize(
    "answer, wrong, word",
    [
        ("day", "", "day"),
        ("fluid", "", "fluid is in the tank"),
        ("level_over_spark_mm", None, "type it in mm"),
        ("level_over_spark_mm", 39.5, "39.5 mm over the spark and 40 mm"),
        ("gas_leaves_part", False, "blocks"),
        ("current_off_before_lowering", False, "before the fluid is lowered"),
        ("earth_checked", False, "part to table"),
        # a word is no yes
        ("gas_leaves_part", "no", "blocks"),
        ("earth_checked", 1, "part to table"),
    ],
)
def test_one_wrong_answer_is_named_alone(answer, wrong, word):
    (said,) = kit.gate(**{answer: wrong}).missing()
    assert word in said
    assert not kit.gate(**{answer: wrong}).open()


@pytest.mark.parametrize("left_out", STOPS)
def test_alone_the_machine_must_stop_by_itself(left_out):
    """All three: a city's fire ordinance, article 11-2, and insurers' recommendation RC29."""
    alone = {name: True for name in STOPS} | {"attended": False}
    assert kit.gate(**alone).open()
    (said,) = kit.gate(**alone | {left_out: False}).missing()
    assert "Nobody stays" in said and said.endswith("or stay.")
    assert kit.gate(**alone | {left_out: False, "attended": True}).open()


def test_gas_in_the_electrode_is_asked_where_it_is_hollow():
    assert "hollow" in kit.gate().missing(bored=True)[0]
    assert kit.gate(gas_leaves_electrode=True).open(bored=True)


def test_the_least_level_is_above_the_written_rule_and_the_manual_may_ask_more():
    """30 mm: university workshop rules; 40 to 80 mm: trade, from memory."""
    assert FLUID_OVER_SPARK_MM[0] == 30 and 40 <= LEAST_LEVEL_MM <= 80
    assert kit.gate(level_over_spark_mm=40).open()
    assert "60 mm" in kit.gate(least_level_mm=60).missing()[0]


@pytest.mark.parametrize(
    "answer, wrong",
    [
        ("level_over_spark_mm", True),  # a tick is no measurement
        ("level_over_spark_mm", "50"),
        ("level_over_spark_mm", -1),
        ("level_over_spark_mm", float("nan")),
        ("least_level_mm", 20),  # below the written rule
        ("day", "yesterday"),
        ("day", "2025-13-01"),
    ],
)
def test_an_answer_that_is_none_is_refused(answer, wrong):
    with pytest.raises(ek.Refusal, match=answer):
        kit.gate(**{answer: wrong})


@pytest.mark.parametrize(
    "place, other", [(0, "2025-03-15"), (1, "kerosene"), (2, 50), (3, False), (2, None)]
)
def test_answers_hold_until_day_fluid_height_or_attendance_change(place, other):
    gate = kit.gate(day="2025-03-14")
    now = ["2025-03-14", "edm_oil", 55, True]
    assert gate.holds_for(*now)
    now[place] = other
    assert not gate.holds_for(*now)


# --- level and warmth in numbers ---
def test_level_fall_by_hand():
    """A tank of 500 x 400 mm loses 1 L/min for 10 min: 10 L over 0.2 m² are 50 mm."""
    assert level_fall_mm(1, 10, 50 * 40, returns=False) == pytest.approx(50)


def test_level_fall_is_even_and_nothing_falls_that_returns():
    falls = level_fall_mm(np.array([0, 1, 2.0]), 30, 1000, returns=False)
    assert falls == pytest.approx([0, 300, 600])
    assert level_fall_mm(np.array([1, 2.0]), 30, 1000).tolist() == [0, 0]
    assert np.ndim(level_fall_mm(1, 30, 1000)) == 0


@pytest.mark.parametrize("wrong", [(-1, 1, 100), (1, -1, 100), (1, 1, 0)])
def test_level_fall_refuses(wrong):
    with pytest.raises(ek.Refusal):
        level_fall_mm(*wrong, returns=False)


def test_bath_warming_of_water():
    """1 kWh is 860 kcal (definition of the kilocalorie): 100 L of water warm by 8.6 K."""
    warmed = bath_warming_K(1000, 60, 100, ek.dielectric("water_di"))
    assert warmed == pytest.approx(8.6, rel=5e-3)


def test_bath_warming_follows_power_time_and_volume():
    oil = ek.dielectric("edm_oil")
    once = bath_warming_K(100, 60, 50, oil)
    assert once > bath_warming_K(100, 60, 50, ek.dielectric("water_di")) > 0
    assert bath_warming_K(200, 60, 50, oil) == pytest.approx(2 * once)
    assert bath_warming_K(100, 120, 50, oil) == pytest.approx(2 * once)
    assert bath_warming_K(100, 60, 100, oil) == pytest.approx(once / 2)
    assert bath_warming_K(np.array([1, 2]), 60, 50, oil).shape == (2,)
    with pytest.raises(ek.Refusal, match="litres"):
        bath_warming_K(100, 60, 0, oil)


@pytest.mark.parametrize(
    "wrong", [{"litres": 0}, {"tank_area_cm2": 1}, {"suction_l_per_min": -1}, {"litres": "60"}]
)
def test_a_bath_that_cannot_be_is_refused(wrong):
    with pytest.raises(ek.Refusal, match=next(iter(wrong))):
        Bath(**{"litres": 60, "tank_area_cm2": 2000} | wrong)


# --- the cautions that a job picks ---
def said(plan, **answers):
    """Return the cautions of a plan as one text."""
    return " ".join(cautions_for(plan, kit.gate(**answers)))


def curved():
    """Return a plan whose end first touches on a small patch."""
    steps = (kit.step(0, "1"), kit.step(0.41, "3"))
    return kit.plan((kit.one_pass(1, "rough", kit.setup(), steps=steps),))


def bored():
    """Return a plan with a hollow electrode."""
    return kit.plan((kit.one_pass(1, "rough", kit.setup(), bore=1.2),))


def wall(sentence=""):
    """Return a thin wall."""
    return SimpleNamespace(wall_mm=0.6, sound_mm=0.5, where="beside the hole", sentence=sentence)


DRAINS = Bath(60, 2000, 1.0, returns=False)  # 5 mm a minute: 15 mm to spare last 3 minutes


@pytest.mark.parametrize(
    "plan, answers, words",
    [
        (kit.plan(work="Ti64"), {}, "Titanium"),
        (kit.plan(work="BeCu"), {}, "poisonous"),
        (kit.plan(fluid="water_di"), {}, "explode"),
        (kit.plan(fluid="kerosene"), {}, "below 70 °C"),
        (kit.plan(), {"attended": False}, "Nobody stays"),
        (kit.plan(), {"bath": DRAINS}, "after 3 min only 40 mm stand over the spark"),
        (kit.plan(), {"bath": Bath(1, 2000)}, "can warm the fluid"),
        (bored(), {}, "hollow electrode"),
        (curved(), {}, "stay at current position 1 until 0.41 mm"),
        (kit.plan(wall=wall()), {}, "Only 0.60 mm of wall"),
        (kit.plan(wall=wall("No wall is left.")), {}, "No wall is left."),
        (kit.plan(warming=SimpleNamespace(sentence="It gets hot.")), {}, "It gets hot."),
        (kit.plan(), {"bath": None}, "Suction can draw the level down"),
    ],
)
def test_each_caution_comes_with_its_job_only(plan, answers, words):
    assert words in said(plan, **answers)
    assert words not in said(kit.plan())


def test_a_skim_that_no_position_suits():
    thin = kit.plan()
    thin.passes[0].ramp.borne = False
    assert "The area decides" in said(thin) and "The area decides" not in said(kit.plan())


def test_a_plain_job_still_has_a_caution():
    assert cautions_for(kit.plan(), kit.gate()) == (
        "Never touch the electrode or its holder while the generator is on.",
    )


def test_three_at_most_and_fire_first():
    busy = kit.plan(fluid="kerosene", work="Ti64", wall=wall(), passes=bored().passes)
    busy.passes[0].burn = ek.predict(kit.setup("Ti64", "kerosene"), kit.SETTINGS)
    found = cautions_for(busy, kit.gate(attended=False, bath=DRAINS))
    assert len(found) == MOST_CAUTIONS == 3
    assert [word in words for word, words in
            zip(("Titanium", "catches fire", "Nobody stays"), found, strict=True)
            ] == [True] * 3  # fmt: skip


def test_the_level_may_fall_as_far_as_the_answer_leaves_room():
    """0.1 L/min from 2000 cm² is 0.5 mm/min by hand: 18 min and its band stay within 40 mm."""
    slow = Bath(60, 2000, 0.1, returns=False)
    assert "only 40 mm" not in said(kit.plan(), bath=slow, level_over_spark_mm=80)
    assert "only 40 mm" in said(kit.plan(), bath=slow, level_over_spark_mm=45)
    assert "only 40 mm" not in said(kit.plan(), bath=Bath(60, 2000, 1.0, returns=True))


def test_inches_are_said_in_inches():
    found = cautions_for(curved(), kit.gate(), Display(inches=True))
    assert "0.016" in found[0] and " mm" not in found[0]
