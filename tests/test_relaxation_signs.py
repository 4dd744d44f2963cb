"""Is it a relaxation circuit? Signs that agree, that quarrel, that are missing; what it stores."""

from itertools import product

import pytest
from numpy.testing import assert_allclose
from test_pulse import answer

from edmkit.checks import Refusal
from edmkit.dials.relaxation_signs import (
    AT_ITS_GAP,
    PULSES,
    RELAXATION,
    SIGNS,
    UNSURE,
    is_relaxation,
    relaxation_means,
)

# What each kind shows, common practice, no source; that a relaxation circuit is silent on a
# short, because its supply then drives a steady current, is circuit theory.
CIRCUIT = {"times": False, "capacitors": True, "buzz": False, "stays": True, "resistor": True}
GENERATOR = {name: not said for name, said in CIRCUIT.items()}


@pytest.mark.parametrize(("all_signs", "word"), [(CIRCUIT, RELAXATION), (GENERATOR, PULSES)])
def test_the_plain_kinds_are_told(all_signs, word):
    found = is_relaxation(all_signs)
    assert found.word == word and found.ask == ""
    for wrong in all_signs:  # one wrong answer never turns the verdict into the other kind
        turned = is_relaxation(all_signs | {wrong: not all_signs[wrong]}).word
        assert turned in (word, UNSURE)


def test_nothing_looked_at_asks_the_easiest_first():
    found = is_relaxation(dict.fromkeys(SIGNS))
    assert (found.word, found.ask) == (UNSURE, SIGNS["times"].ask)
    assert found.why == "Nothing looked at yet."


def test_a_generator_with_capacitors_at_the_gap_is_asked_for_its_buzz():
    both = {"times": True, "capacitors": True}
    found = is_relaxation(both)
    assert (found.word, found.ask) == (UNSURE, SIGNS["buzz"].ask)
    assert "switches for the times" in found.why and "capacitors" in found.why
    found = is_relaxation(both | {"buzz": True})
    assert found.word == PULSES and found.why.endswith(AT_ITS_GAP)


def test_what_every_set_of_answers_gives():
    seen = set()
    for said in product([None, True, False], repeat=len(SIGNS)):
        answers = dict(zip(SIGNS, said, strict=True))
        found = is_relaxation(answers)
        seen.add(found.word)
        assert found.why.strip() and bool(found.ask) == (found.word == UNSURE)
        asked = [name for name in SIGNS if answers[name] is None]
        assert found.word != UNSURE or not asked or found.ask == SIGNS[asked[0]].ask
        if found.word == RELAXATION:  # never against both of the strong signs
            assert not (answers["times"] and answers["buzz"])
    assert seen == {RELAXATION, PULSES, UNSURE}


@pytest.mark.parametrize(
    ("wrong", "words"),
    [({"buz": True}, "did you mean 'buzz'"), ({"buzz": "yes"}, "buzz must be True, False or None")],
)
def test_an_answer_that_is_none_is_refused(wrong, words):
    with pytest.raises(Refusal, match=words):
        is_relaxation(wrong)


# --- relaxation_means ---
def test_the_lamps_and_capacitors_of_the_exercise():
    # exercise, circuit theory by hand: 47 ohm, 10 µF, 110 V at best power: fires at 78.7 V,
    # 31.0 mJ, every 1.2564 RC, 1.69 kHz, 52 W; the capacitor at the whole supply: 0.0605 J
    means = relaxation_means(47, 10, 110)
    assert_allclose(means.energy_mJ, 31.0, atol=0.05)
    assert_allclose(means.sparks_per_s, 1690, atol=5)
    assert_allclose(means.power_W, 52.4, atol=0.05)
    assert_allclose(means.bleed.joules, 0.0605)
    # published optimum of the power: 0.2036 V² / R
    assert_allclose(means.power_W, 0.2036 * 110**2 / 47, rtol=1e-3)
    assert "79 V: 31 mJ a spark" in means.sentence


def test_the_textbook_spark_of_half_a_joule():
    # textbook example R4: 100 V and 195.1 µF store 0.5 J at 71.6 V, the books' best
    assert_allclose(relaxation_means(100, answer("R4"), 100).energy_mJ, 500, rtol=2e-3)


def test_a_supply_beyond_reason_is_refused():
    with pytest.raises(Refusal, match="voltage_V must be 1 to 1000 V"):
        relaxation_means(47, 10, 5000)
