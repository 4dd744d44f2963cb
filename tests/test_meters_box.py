"""The box that reads the meters: words for typed readings, a sentence for nonsense; flat scales."""

import re
from html import unescape
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from test_meter_reading import burn, meters

from edmkit.panels.flat_scales import flat_scale
from edmkit.panels.meters_box import MetersBox

pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def box():
    return MetersBox(SimpleNamespace(hole=SimpleNamespace(burn=burn()), answered=True))


def said(box):
    """Return what a person reads in the answer."""
    return unescape(re.sub("[ \n]+", " ", re.sub("<[^>]+>", " ", box.answer.value)))


def type_in(box, volts, amps, dial=None):
    box.fields["voltmeter_V"].type(volts)
    box.fields["ammeter_A"].type(amps)
    box.dial.value = dial
    return said(box)


def test_an_empty_box_says_what_to_type(box):
    assert "Type what the voltmeter and the ammeter show" in said(box)
    assert box.scales.value.count("no reading") >= 2


@pytest.mark.parametrize(
    ("mix", "wait", "dial", "words"),
    [
        ((0.95, 0.02, 0.02, 0.01), 10.0, "feeding", ("Healthy", "Go on", "Nothing more to read")),
        ((0.1, 0.9, 0.0, 0.0), 8.0, "standing still", ("Arcing", "clean both faces", "off-time")),
        ((0.05, 0.05, 0.9, 0.0), 8.0, "pulling back", ("Shorting", "chip bridge", "one knob")),
        ((0.3, 0.0, 0.0, 0.7), 20.0, "standing still", ("Open", "lower the servo voltage")),
        (
            (0.95, 0.0, 0.0, 0.05),
            60.0,
            "feeding",
            ("Cannot tell", "Find out which", "if the dial then feeds faster"),
        ),
    ],
)
def test_typed_readings_give_words(box, mix, wait, dial, words):
    volts, amps = meters(burn(), *mix, wait)
    text = type_in(box, f"{volts:.1f}", f"{amps:.2f}", dial)
    for word in words:
        assert word in text
    assert "Of 100 pulses" in text and "  to " not in text


def test_nonsense_is_answered_in_a_sentence(box):
    assert "Voltmeter can be 120 V at most" in type_in(box, "140", "0.1")
    assert "Ammeter can be 2 A at most" in type_in(box, "30", "3.5")
    assert "while the voltmeter shows 118 V" in type_in(box, "118", "1.5")
    assert type_in(box, "30", "two") == ""
    assert "Ammeter must be 0 to 2000 A" in box.fields["ammeter_A"].message.value
    assert "Healthy" in type_in(box, "30", "1.7", "feeding")


def test_the_answer_follows_the_setting_of_the_page(box):
    first = type_in(box, "30", "1.7", "feeding")
    box.page.hole = SimpleNamespace(burn=burn(current=6.0))
    box.redraw()
    assert said(box) != first and "Ammeter can be" in said(box)
    box.page.answered = False
    box.redraw()
    assert said(box) == ""


def pointer(picture):
    """Return the x of the pointer's tip, None without one."""
    found = ElementTree.fromstring(picture).findall(f"{SVG}path[@data-part='pointer']")
    return float(found[0].get("d")[1:].split(",")[0]) if found else None


def test_the_pointer_stands_at_its_value():
    ends = [pointer(flat_scale("Volts", value, 150.0, "V")) for value in (0.0, 75.0, 150.0)]
    assert ends[1] == pytest.approx((ends[0] + ends[2]) / 2, abs=0.1) and ends[0] < ends[2]
    assert pointer(flat_scale("Volts", None, 150.0, "V")) is None


def test_a_scale_says_in_words_what_it_shows():
    made = ElementTree.fromstring(flat_scale("Volts <V>", 31.26, 150.0, "V", [(40.0, "expected")]))
    assert made.get("role") == "img"
    assert made.get("aria-label") == "Volts <V>: 31.3 V; expected: 40 V"
    words = [part.text for part in made.iter(f"{SVG}text")]
    assert {"31.3 V", "expected", "0", "150"} <= set(words)
    beyond = flat_scale("Volts", 200.0, 150.0, "V")
    assert "200 V, beyond the scale" in beyond
    assert pointer(beyond) == pointer(flat_scale("Volts", 150.0, 150.0, "V"))
