"""The cautions of reading dials: every step has them, and each is said where it bites."""

import pytest

from edmkit.dials import dial_cautions as c
from edmkit.dials.dial_cautions import CAUTIONS
from edmkit.planning.facts import SOURCES

PRESSED = (c.CUTS_BACK, c.TIMES, c.PITCH, c.TAPS)  # steps with the electrode pressed on scrap
AMMETER = (c.TIMES, c.TAPS, c.DRIVE)


def said(step):
    """Return all that a step says, as one text."""
    return " ".join(fact.text for fact in CAUTIONS[step].items)


def test_every_step_of_the_page_has_its_cautions():
    assert list(CAUTIONS) == list(range(10))
    assert len({group.title for group in CAUTIONS.values()}) == 10
    for group in CAUTIONS.values():
        texts = [fact.text for fact in group.items]
        assert texts and len(set(texts)) == len(texts)
        assert {fact.source for fact in group.items} <= set(SOURCES)
        assert all(len(text) <= 190 and text.endswith(".") for text in texts)


@pytest.mark.parametrize(
    ("step", "words"),
    [
        # what the owner asks to be said, and where it is needed; the facts: common practice
        (c.BEFORE, ("manual", "wiring diagram", "300 V", "One hand", "no rings", "electrician")),
        (c.BEFORE, ("capacitors keep it after switching off",)),
        (c.KIND, ("insulated clamps", "generator off", "largest range", "d.c.")),
        (c.PITCH, ("dry beside the tank", "not in the fumes")),
        (c.TAPS, ("smallest current",)),
        (c.DRIVE, ("on a brick", "generator off", "bare ends carry the open voltage")),
        *((step, ("before you switch on", "over the contact", "10 seconds")) for step in PRESSED),
        *((step, ("never across",)) for step in AMMETER),
        *((step, ("mean", "effective value")) for step in (c.KIND, c.TIMES)),
    ],
)
def test_a_caution_is_said_where_it_is_needed(step, words):
    for word in words:
        assert word in said(step)


def test_the_manual_comes_before_all_else():
    assert "manual" in CAUTIONS[c.BEFORE].items[0].text
