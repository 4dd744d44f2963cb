"""The boxes of page 01 for the resistor and for the relaxation circuit."""

import re
from html import unescape

import pytest

from edmkit.panels.load_box import LoadBox, RelaxationBox


def read(widget):
    """Return what a person reads."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value))).strip()


# --- the resistor ---
def test_an_empty_box_asks():
    box = LoadBox()
    assert read(box.answer).startswith("Give the amps")
    assert box.advice is None and box.load_ohm is None


def test_what_the_page_knows_is_filled_in_and_answered():
    told = []
    box = LoadBox(lambda: told.append(1))
    box.follow(short_amps=10, open_voltage_V=100)  # half the time on, until it is said
    text = read(box.answer)
    assert told and box.load_ohm == box.advice.ohm
    # Ohm and Joule by hand: three of 0.82 ohm, 10 x 10 x 2.46 = 246 W, half of it 123 W
    assert text.startswith("2.46 ohm, 250 W Three wire-wound resistors, 0.82 ohm, 100 W each")
    assert "10 A × 10 A × 2.46 ohm = 246 W" in text and "246 W × 50 % = 123 W" in text
    assert "burn skin" in text and "room heater" not in text
    assert "<details>" in box.answer.value.split("246 W")[0]  # the sums are folded away
    box.follow(duty=0.1)  # two of 1.2 ohm, 240 W, a tenth of it 24 W; full on takes 240 / 2.5 W
    assert "240 W × 10 % = 24 W" in read(box.answer) and "2.4 ohm, 96 W" in read(box.answer)
    assert box.fields["amps"].value == 10


def test_a_typed_resistor_stands_before_the_advice():
    box = LoadBox()
    box.follow(10, 0.5, 100)
    box.in_use.type("2.7")
    assert box.load_ohm == 2.7 and box.advice.ohm == 2.46
    # by hand: 100 V behind 10 ohm drive 7.87 A, 21 V; 10 A make 27 V and 135 W at half the time
    assert read(box.own) == "2.7 ohm: 21 to 27 V across it. It must carry 270 W."
    box.follow(short_amps=20)
    assert box.load_ohm == 2.7
    box.in_use.type("two")
    assert box.load_ohm is None and "Check" not in box.in_use.complaint and box.in_use.wrong
    box.in_use.type("")
    assert box.load_ohm == box.advice.ohm


@pytest.mark.parametrize(
    ("name", "typed", "words"),
    [
        ("amps", "ten", "Amps, pressed must be 0.05 to 500 A"),
        ("duty", "120", "On of on + off must be 0.2 to 100 %, got 120 %"),
        ("volts", "4", "Open voltage must be 30 to 400 V"),
    ],
)
def test_a_wrong_number_is_answered_and_leaves_no_advice(name, typed, words):
    box = LoadBox()
    box.follow(10, 0.5, 100)
    box.fields[name].type(typed)
    assert words in box.fields[name].complaint
    assert box.advice is None and box.answer.value == ""


def test_too_much_heat_is_said():
    box = LoadBox()
    box.follow(60, 0.9, 100)
    assert "No dozen resistors carry that" in read(box.answer)
    assert "room heater" in read(box.answer)


# --- the relaxation circuit ---
def test_signs_lead_to_a_verdict_and_then_to_the_capacitors():
    told = []
    box = RelaxationBox(lambda: told.append(box.verdict.word))
    assert read(box.said).startswith("Cannot tell Nothing looked at yet. Has it switches")
    assert box.circuit.layout.display == "none"
    box.signs["times"].value = False
    box.signs["capacitors"].value = True
    assert told[-1] == "relaxation circuit" and box.circuit.layout.display is None
    for field, typed in zip(box.fields.values(), ("47", "1000", "200"), strict=True):
        field.type(typed)
    # circuit theory by hand: 1000 µF at 200 V store 20 J
    assert "20 J: this can kill" in read(box.answer) and "stays on" in read(box.answer)
    box.fields["supply"].type("high")
    assert box.means is None and box.answer.value == ""


def test_a_pulse_generator_is_asked_no_capacitors():
    box = RelaxationBox()
    box.signs["times"].value = True
    assert read(box.said).startswith("Pulse generator")
    assert box.circuit.layout.display == "none"
