"""The box of the relaxation circuit: its numbers, its caution, and a sentence for the rest."""

import re
from html import unescape
from types import SimpleNamespace

import pytest
from test_relaxation_plot import DRILLING, SETUP

import edmkit as ek
from edmkit.burn import Burn
from edmkit.cautions import STAYS_CHARGED
from edmkit.panels.charging_box import ChargingBox
from edmkit.panels.controls import unwarned
from edmkit.plots.relaxation_plot import NOW


def said(widget):
    """Return what a person reads."""
    return unescape(re.sub("[ \n]+", " ", re.sub("<[^>]+>", " ", widget.value)))


def page_of(settings):
    with unwarned():
        return SimpleNamespace(
            settings=settings, burn=ek.predict(SETUP, settings), answered=True, setup=SETUP
        )


def box_of(settings):
    box = ChargingBox(page_of(settings))
    box.redraw()
    return box


def test_the_numbers_of_the_drilling_example():
    # textbook examples GM1 to GM3: 0.1125 J, 0.693 ms, 162 W without the 9.9 µs of the spark
    text = said(box_of(DRILLING).said)
    for words in (
        "fires at 150 V",
        "energy of one spark 112 mJ",
        "time to charge 693 µs",
        "sparks a second 1\u202f420",  # 1 / (693.1 + 9.9 µs)
        "mean power of the sparks 160 W",  # 0.1125 J x 1422
        "heat in the resistor 267 W",  # C u V x 1422 - 160: more than the sparks get
        "mean current from the supply 2.13 A",  # 10 µF x 150 V x 1422
        "at the first moment 4 A",  # 200 V / 50 ohm
        "peak current of the spark 474 A",  # 150 V / sqrt(1 µH / 10 µF)
        "the spark burns for 9.93 µs",  # pi sqrt(1 µH x 10 µF)
    ):
        assert words in text


def test_the_mark_follows_and_the_figure_stays():
    box = box_of(DRILLING)
    figure = box.figure
    assert figure.data[NOW].x == (75.0,)
    box.page = page_of(ek.Relaxation(50, 10, 200, breakdown_V=100))
    box.redraw()
    # textbook example R9: half of the supply has 88.6 % of the most power
    assert box.figure is figure and figure.data[NOW].x == (50.0,)
    assert "Firing at 100 V gives 88.6 % of the most power, which is at 143 V" in said(box.note)


def test_at_the_best_voltage_it_says_so():
    # textbook example R6: 0.71533 of the supply
    text = said(box_of(ek.Relaxation(50, 10, 200)).note)
    assert "It gives the most power: the gap fires at 143 V, 71.5 % of the supply." in text


def test_the_caution_is_in_sight_even_without_an_answer():
    box = box_of(DRILLING)
    assert STAYS_CHARGED in said(box.caution) and "Left in it: 0.2 J" in said(box.caution)
    page = SimpleNamespace(settings=DRILLING, answered=False)
    waiting = ChargingBox(page)
    waiting.redraw()
    assert STAYS_CHARGED in said(waiting.caution) and waiting.figure is None


def test_a_spark_that_is_not_short_is_said():
    assert "of the time to charge" not in said(box_of(DRILLING).note)
    # 1 ohm and 10 µF charge to a third in 4.05 µs, 5 µH ring for 22.2 µs
    text = said(box_of(ek.Relaxation(1, 10, 60, 5, 20)).note)
    assert "The spark takes 550 % of the time to charge" in text


def test_without_a_circuit_it_says_what_to_choose():
    box = box_of(ek.Settings(3, 50, 25))
    assert "Choose the relaxation circuit" in said(box.said)
    assert box.figure is None and box.caution.value == ""
    box.page = page_of(DRILLING)
    box.redraw()
    assert box.figure is not None and box.drawing.layout.display is None
    box.page = page_of(ek.Settings(3, 50, 25))
    box.redraw()
    assert box.drawing.layout.display == "none" and box.note.value == ""


@pytest.mark.parametrize(
    "circuit",
    [
        ek.Relaxation(0.1, 1e-3, 30),
        ek.Relaxation(100_000, 1000, 400, 1000, 399),
        ek.Relaxation(100_000, 1e-3, 400, breakdown_V=20),
    ],
)
def test_odd_circuits_are_drawn_too(circuit):
    box = box_of(circuit)
    assert "fires at" in said(box.said) and box.drawing.layout.display is None


def test_a_firing_voltage_that_cannot_be_reached_is_said():
    page = page_of(DRILLING)
    box = ChargingBox(page)
    box.redraw()
    page.settings = ek.Relaxation(50, 10, 200, breakdown_V=199.9)
    page.burn = Burn(SETUP, page.settings, ek.Shop())
    box.redraw()
    assert "must be 0 to 0.999" in said(box.said) and box.drawing.layout.display == "none"
    assert STAYS_CHARGED in said(box.caution)
