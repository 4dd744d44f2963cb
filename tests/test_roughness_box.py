"""The roughness of the simulated surface beside the predicted one, and how to measure it."""

import re
from html import unescape
from types import SimpleNamespace

import numpy as np
import pytest

import edmkit as ek
from edmkit.panels.roughness_box import RoughnessBox
from edmkit.units import um
from edmkit.words import Display

PIXEL = 4 * um


def read(widget):
    """Return what a person reads."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value))).strip()


def page_of(amps=8.0, on_time_us=50.0, inches=False):
    """Return a page at one setting on the kit's demo metals."""
    setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 7.0)  # fmt: skip
    burn = ek.predict(setup, ek.Settings(amps, on_time_us, on_time_us))
    return SimpleNamespace(burn=burn, display=Display(inches), answered=True)


def bowls(Ra_um, size=256):
    """Return a map that repeats, an egg box of this Ra along any long line."""
    place = 2 * np.pi * np.arange(size) / 32
    box = np.sin(place)[:, None] * np.sin(place)
    return box * Ra_um * um / np.abs(box).mean()


def shown_box(times=1.0, page=None):
    """Return a box that shows a map so many times as rough as the page's burn."""
    page = page or page_of()
    box = RoughnessBox(page)
    box.show(bowls(times * page.burn.roughness_Ra_um.likely), PIXEL)
    return box


# --- the figures ---
def test_without_a_map_only_the_prediction_stands_there():
    box = RoughnessBox(page_of())
    box.redraw()
    assert "Ra predicted" in read(box.answer) and "Too few craters yet" in read(box.answer)
    assert "Ra simulated" not in read(box.answer) and "Sa" not in read(box.answer)
    assert box.parameters is None and box.areal is None
    box.show(np.zeros((64, 64)), PIXEL)  # before the first spark
    assert "Too few craters yet" in read(box.answer) and box.parameters is None


def test_a_map_is_read_by_a_stylus_beside_the_prediction():
    box = shown_box()
    burn = box.page.burn
    predicted = burn.roughness_Ra_um.likely
    # by hand: sin x sin y is (2 / pi)² high on average and 2 from top to bottom
    assert box.areal.Sa / um == pytest.approx(predicted, rel=1e-3)
    assert box.areal.Sz / box.areal.Sa == pytest.approx(np.pi**2 / 2, rel=0.01)
    assert box.parameters.Ra.mean() / um == pytest.approx(predicted, rel=0.05)
    assert box.parameters.Ra.shape == (5,) and box.parameters.sections == 5
    text = read(box.answer)
    assert f"{predicted:.2f}" in text and "5 lines: " in text
    assert "Rz " in text and "VDI 3400 class" in text and "hold against plate" in text
    assert "Sq" in text and "5 sections of 2.5 mm each" in read(box.said)  # over 2 µm


def test_predicted_and_simulated_stand_in_their_own_columns():
    box = shown_box(3.0)
    rows = re.findall(r"<tr>(.*?)</tr>", box.answer.value)
    cells = {row[0]: row[1:] for row in (re.findall(r"<td>(.*?)</td>", row) for row in rows)}
    assert cells[""] == ["simulated", "predicted"]
    assert float(cells["Rt"][0].split()[0]) == pytest.approx(
        box.parameters.Rt.mean() / um, rel=0.01
    )
    likely = box.page.burn.roughness_Rz_um
    assert cells["Rz"][1].startswith(f"{likely.likely:.3g} µm, {likely.low:.2g} to ")
    # three times as rough is 20 log10(3) = 9.5 classes by the guideline's formula
    classes = [float(cell) for cell in cells["VDI 3400 class"]]
    assert classes[0] - classes[1] == pytest.approx(9.5, abs=0.5)
    assert cells["Sa"][1] == ""


@pytest.mark.parametrize(
    ("times", "words"),
    [
        (1.02, "The two agree. That checks the sums, not the steel"),
        (1.3, "times rougher. The shape it gives a crater is alone worth 1.5 times"),
        (0.75, "times smoother. The shape"),
        (2.5, "more than the shape of a crater explains"),
        (0.3, "smoother: more than the shape"),
    ],
)
def test_says_when_the_two_disagree(times, words):
    assert words in read(shown_box(times).said)


def test_what_cannot_be_measured_is_said():
    box = RoughnessBox(page_of())
    box.show(bowls(3.0)[:32, :32], 400 * um)
    assert "at least 10 times the spacing" in read(box.answer) and box.parameters is None
    assert "Ra predicted" in read(box.answer)


def test_nothing_is_predicted_where_nothing_melts():
    box = shown_box()
    box.page.burn = SimpleNamespace(roughness_Ra_um=ek.Estimate(0.0, 0.3))
    box.redraw()
    assert "nothing melts" in read(box.said) and "Ra predicted" not in read(box.answer)
    assert "Ra simulated" in read(box.answer) and box.advice is None


class Refused:
    """A burn that refuses whatever it is asked."""

    @property
    def roughness_Ra_um(self):
        """Refused."""
        raise ek.Refusal("peak_current must be 0.1 to 100 A, got 0 A.")


def test_a_burn_that_refuses_is_answered():
    box = shown_box()
    box.page.burn = Refused()
    box.redraw()
    assert "peak_current must be" in read(box.answer) and box.parameters is None
    assert "peak_current must be" in read(box.how) and box.advice is None


def test_a_map_too_rough_for_a_class_is_answered():
    box = RoughnessBox(page_of())
    box.show(bowls(150.0), PIXEL)
    assert "roughness_Ra must be" in read(box.answer) and box.parameters is None
    assert "Ra predicted" in read(box.answer)


def test_an_unanswered_page_leaves_it():
    box = RoughnessBox(SimpleNamespace(answered=False))
    box.redraw()
    box.flat.type("3")
    assert box.answer.value == "" and box.advice is None


def test_inches_are_followed():
    box = shown_box()
    box.flat.type("25.4")
    box.page.display = Display(inches=True)
    box.redraw()
    assert box.flat.value == pytest.approx(1.0) and box.flat.unit == "in"
    assert "µin" in read(box.answer) and "µm" not in read(box.answer)
    box.flat.type("0.3")  # 7.62 mm: two sections of 2.5 mm and the run-up, by hand
    assert (box.advice.cut_off_mm, box.advice.sections) == (2.5, 2)


# --- how to measure it ---
def test_the_flat_is_asked_and_answered():
    box = shown_box(page=page_of(20, 200))
    assert box.advice.default_mm == 2.5 and "2.5 mm" in read(box.how)
    assert "flat" not in read(box.how)
    box.flat.type("8")
    assert box.advice.sections == 2 and "cut-off 2.5 mm, 2 sections" in read(box.how)
    box.flat.type("wide")
    assert box.advice is None and box.how.value == ""
    assert "Flat length to measure on must be" in box.flat.complaint
    box.flat.type("")
    assert box.advice.sections == 5
