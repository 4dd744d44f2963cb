"""Page 08: the surface, its roughness beside the predicted one, the finish wanted, the passes."""

import random
import re
import warnings
from html import unescape

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from edmkit.panels.how_smooth_will_it_be import HowSmoothWillItBe
from edmkit.panels.spark_controls import CIRCUIT
from edmkit.physics.crater_surface import crater_left, erode
from edmkit.physics.surface_starts import flat_for
from edmkit.plots.surface_map import MAP


@pytest.fixture
def page():
    return HowSmoothWillItBe(memory=None)


def text(widget):
    """Return what a person reads of an HTML widget."""
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]+>", " ", widget.value)))


def test_it_opens_with_a_settled_surface_of_its_own_spark(page):
    assert page.surface.settled
    left = crater_left(page.burn.point.crater)
    sparks = page.surface.surface.sparks
    alone = erode(flat_for(left), left, sparks, 1)
    assert_array_equal(page.surface.surface.heights, alone.heights)
    assert f"Ra predicted {page.burn.roughness_Ra_um.likely:.3g} µm" in text(page.roughness.answer)


def test_simulated_and_predicted_roughness_lie_beside_each_other(page):
    # the shape of a crater alone is worth 1.5: they agree within that or the page says so
    for amps, on_us in ((2, 20), (10, 100), (30, 300)):
        page.take_spark(amps, on_us)
        simulated = page.roughness.parameters.Ra.mean() * 1e6
        assert 1 / 1.5 < simulated / page.burn.roughness_Ra_um.likely < 1.5
        assert f"Ra simulated {simulated:.3g} µm" in text(page.roughness.answer)


def test_a_slider_keeps_the_sparks_and_moves_everything(page):
    sparks, before = page.surface.surface.sparks, np.array(page.surface.figure.data[MAP].z)
    said, figure = text(page.roughness.answer), page.surface.figure
    page.controls.current.step(3)
    assert page.surface.surface.sparks == sparks
    assert page.surface.figure is figure and not np.array_equal(before, figure.data[MAP].z)
    assert text(page.roughness.answer) != said


def test_steps_from_the_start(page):
    page.surface.again.click()
    assert page.surface.surface.sparks == 0
    for button, sparks in ((page.surface.one, 1), (page.surface.ten, 11),
                           (page.surface.thousand, 1011)):  # fmt: skip
        button.click()
        assert page.surface.surface.sparks == sparks
        assert "must be" not in text(page.roughness.answer)
    assert "has not settled" in text(page.roughness.said)
    page.surface.again.click()
    page.surface.ten.click()
    assert page.roughness.parameters.Ra.mean() < 0.1e-6  # class 0 of VDI 3400
    assert "VDI 3400 class finer than 0" in text(page.roughness.answer)
    page.surface.settle.click()
    assert "has not settled" not in text(page.roughness.said)
    assert "Settled" in text(page.surface.said)


def test_a_spark_from_the_finish_wanted_is_taken(page):
    page.folds[0].selected_index = 0
    box = page.folds[0].content
    spark = box.cells[-1].spark
    box.cells[-1].button.click()
    assert_allclose(page.settings.peak_current_A, spark.settings.peak_current_A, rtol=0.1)
    assert_allclose(page.settings.on_time_us, spark.settings.on_time_us, rtol=0.15)
    assert_allclose(page.burn.roughness_Ra_um.likely, 1.6, rtol=0.1)


def test_the_passes_follow_the_page(page):
    page.folds[1].selected_index = 0
    box = page.folds[1].content
    assert_allclose(box.before.Ra_um, page.burn.roughness_Ra_um.likely, rtol=0.02)
    page.take_spark(30, 300)
    assert_allclose(box.before.Ra_um, page.burn.roughness_Ra_um.likely, rtol=0.02)
    assert len(box.found.steps) >= 1
    page.folds[1].selected_index = None
    page.take_spark(10, 100)
    page.folds[1].selected_index = 0  # opened again: of the spark that stands there now
    assert_allclose(box.before.Ra_um, page.burn.roughness_Ra_um.likely, rtol=0.02)


def test_a_circuit_leaves_a_surface_too(page):
    page.controls.source.value = CIRCUIT
    left = crater_left(page.burn.point.crater)
    assert_allclose(page.surface.craters.radius, left.radius)
    page.controls.circuit.capacitance.value = 100
    assert page.surface.craters.radius > left.radius
    page.controls.circuit.inductance.type("long")
    assert "put right" in text(page._message)
    page.controls.circuit.inductance.type("2")
    assert page.answered


def test_what_is_doubtful_is_said_and_nothing_else(page):
    assert page.doubts == ()
    page.take_spark(0.5, 1000)
    assert "No useful cutting" in text(page._doubted)
    page.take_spark(60, 1000)
    assert "0.4 to 15 µm" in text(page._doubted)
    assert "mean current" not in text(page._doubted)  # of an end, and there is none here
    page.controls.work.value = "WC-6Co"
    assert "cobalt" in text(page._doubted)


def test_a_spark_too_small_for_a_crater_is_a_sentence(page):
    page.controls.source.value = CIRCUIT
    circuit = page.controls.circuit
    circuit.capacitance.value, circuit.supply.value, circuit.fires.value = 0.001, 60.0, 0.3
    page.controls.work.value = "copper"
    circuit.inductance.type("100")
    assert page.answered and page.surface.surface is None
    assert "so small a spark leaves no crater" in text(page.surface.wrong)
    assert page.roughness.parameters is None and "simulated" not in text(page.roughness.answer)[:16]
    circuit.inductance.type("1000")  # leads of a kilometre: an answer in words still
    assert page.answered
    circuit.capacitance.value = 1
    circuit.inductance.type("1")
    assert page.surface.surface is not None and page.surface.wrong.value == ""


def test_inches(page):
    micro = page.burn.roughness_Ra_um.likely / 0.0254
    page.units.value = True
    assert f"{micro:.3g} µin" in text(page.roughness.answer)
    assert "in square" in text(page.surface.said)


def test_nothing_a_person_presses_breaks_the_page():
    chance = random.Random(8)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        page = HowSmoothWillItBe(memory=None)
        for fold in page.folds:
            fold.selected_index = 0
        controls, surface = page.controls, page.surface
        steps = [
            lambda: controls.current.step(chance.choice((-4, -1, 1, 4))),
            lambda: controls.on_time.step(chance.choice((-9, -1, 1, 9))),
            lambda: setattr(controls.work, "value", chance.choice(controls.work._drop.options)[1]),
            lambda: setattr(controls.electrode, "value",
                            chance.choice(controls.electrode._drop.options)[1]),
            lambda: setattr(controls.source, "value", chance.choice(controls.source.options)),
            lambda: controls.circuit.capacitance.step(chance.choice((-3, 2))),
            lambda: controls.circuit.supply.step(chance.choice((-5, 5))),
            lambda: chance.choice((surface.one, surface.thousand, surface.settle,
                                   surface.again)).click(),
            lambda: setattr(surface.start, "value", chance.choice(surface.start.options)),
            lambda: surface.seed.type(chance.choice(("2", "77", "x", "1.5"))),
            lambda: setattr(surface.view, "value", chance.choice(surface.view.options)),
            lambda: setattr(page.units, "value", not page.units.value),
            lambda: page.roughness.flat.type(chance.choice(("", "3", "0.2", "none"))),
            lambda: page.folds[0].content.wanted.type(chance.choice(("1.6", "0.2", "60", "?"))),
            lambda: page.folds[1].content.after.type(chance.choice(("0.8", "20", ""))),
        ]  # fmt: skip
        for _ in range(120):
            chance.choice(steps)()
            assert "Traceback" not in page._message.value
