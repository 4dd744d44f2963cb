"""Page 07: what one spark leaves, its film, its curves, both of its sides, its circuit."""

import random
import re
import warnings
from html import unescape

import numpy as np
import pytest

import edmkit as ek
from edmkit.panels.memory import Memory
from edmkit.panels.spark_controls import CIRCUIT, GENERATOR
from edmkit.panels.what_one_spark_does import WhatOneSparkDoes
from edmkit.physics.finish import depth_left
from edmkit.plots.crater_section import MELTED


@pytest.fixture
def page():
    return WhatOneSparkDoes(memory=None)


def text(widget):
    """Return what a person reads of an HTML widget."""
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]+>", " ", widget.value)))


# --- what it leaves ---
def test_the_tiles_are_the_burn_s_own_numbers(page):
    burn, said = page.burn, text(page._tiles)
    assert f"Crater, across {2 * burn.crater_radius_um.likely:.3g} µm" in said
    low, high = (2 * end for end in (burn.crater_radius_um.low, burn.crater_radius_um.high))
    assert f"{float(f'{low:.2g}'):g} to {float(f'{high:.2g}'):g} µm" in said
    assert f"Melted, deep {burn.crater_depth_um.likely:.3g} µm" in said
    assert f"Hardened again, to {burn.rehardened_um.likely:.3g} µm" in said
    assert f"softened to {burn.tempered_um.likely:.3g} µm" in said
    assert f"White layer, all sparks {burn.recast_um.likely:.3g} µm" in said
    assert "Energy of one spark 25 mJ 25 V × 10 A × 100 µs" in said


def test_a_metal_that_heat_does_not_change_says_so(page):
    page.controls.work.value = "304"  # austenitic: no hardening, no temper
    assert "neither hardens again nor softens" in text(page._tiles)
    page.controls.work.value = "BeCu"  # age hardened: it softens
    deep = depth_left(page.spark.crater.tempered_depth, page.spark.crater) * 1e6
    assert f"Softened, to {deep:.3g} µm" in text(page._tiles)


def test_the_share_of_heat_moves_this_page_only(page):
    assert "30 %, assumed" in text(page.share._shown)
    before, rough = page.spark.crater, text(page._tiles)
    layer = re.search("all sparks ([0-9.]+)", rough)[1]
    page.share.value = 0.5
    assert page.spark.energy_share == 0.5
    # from memory: the layer goes with Ra, and Ra with the root of depth and cube root of volume
    now = page.spark.crater
    more = np.sqrt(now.depth / before.depth * np.cbrt(now.volume / before.volume))
    thicker = re.search("all sparks ([0-9.]+)", text(page._tiles))[1]
    assert float(thicker) == pytest.approx(float(layer) * more, rel=0.01)
    assert page.spark.crater.volume > 1.2 * before.volume
    assert page.burn.point.crater.volume == before.volume
    assert text(page._tiles) != rough
    page.share.value = 0.0
    assert page.spark.crater == before and text(page._tiles) == rough


def test_negative_polarity_gives_the_work_less(page):
    page.controls.polarity.value = "electrode negative"
    assert "20 %, assumed" in text(page.share._shown)


# --- the pictures ---
def test_the_film_is_of_the_page_s_spark(page):
    assert page.film.solved == page.spark  # without a browser it is solved at once
    page.controls.on_time.step(-2)
    assert page.film.solved == page.spark
    assert page.film.film.on_time == pytest.approx(page.settings.on_time_us * 1e-6)


def test_only_the_picture_in_sight_is_drawn(page):
    assert page.crater.figure is None and page.curves.figure is None and page.both.figure is None
    for tab, box in page._boxes.items():
        page.tab.value = tab
        assert [b.layout.display is None for b in page._boxes.values()].count(True) == 1
        assert box.layout.display is None and box.figure is not None


def test_the_crater_is_drawn_from_the_table_at_once(page):
    page.tab.value = "The crater"
    figure = page.crater.figure
    deep = -min(y for y in figure.data[MELTED].y if y is not None)
    assert deep == pytest.approx(page.spark.crater.depth * 1e6)
    page.controls.current.step(3)
    assert page.crater.figure is figure
    assert -min(figure.data[MELTED].y) == pytest.approx(page.spark.crater.depth * 1e6)


def test_the_check_of_the_solver_is_drawn_when_asked(page):
    assert page.closed.content is None
    page.closed.selected_index = 0
    first = np.array(page.closed.content.figure.data[0].x)
    page.controls.current.step(4)
    assert not np.array_equal(first, page.closed.content.figure.data[0].x)
    page.closed.selected_index = None
    kept = np.array(page.closed.content.figure.data[0].x)
    page.controls.current.step(-4)
    np.testing.assert_array_equal(kept, page.closed.content.figure.data[0].x)
    page.closed.selected_index = 0  # opened again: of the spark that stands there now
    np.testing.assert_allclose(first, page.closed.content.figure.data[0].x)


# --- a circuit ---
def test_a_circuit_is_charged_and_fires(page):
    assert page._charging_frame.layout.display == "none"
    page.controls.source.value = CIRCUIT
    assert page._charging_frame.layout.display is None
    assert "stay charged" in text(page.charging.caution)
    assert "fires at 78.7 V" in text(page.charging.said)  # 0.715 of 110 V
    assert "3.1 mJ" in text(page._tiles)
    page.controls.circuit.supply.value = 60.0
    page.controls.circuit.fires.value = 0.3
    assert "goes out at once" in text(page._doubted)  # 18 V, and a spark burns at 25
    page.controls.source.value = GENERATOR
    assert page._charging_frame.layout.display == "none" and page.doubts == ()


# --- as a person uses it ---
def test_it_opens_as_it_was_left(tmp_path):
    page = WhatOneSparkDoes(memory=Memory(tmp_path), book=None)
    page.controls.source.value = CIRCUIT
    page.controls.circuit.capacitance.value = 10
    page.controls.work.value = "D2"
    page.units.value = True
    again = WhatOneSparkDoes(memory=Memory(tmp_path), book=None)
    assert again.settings == page.settings == ek.Relaxation(100, 10, 110)
    assert again.spark == page.spark and "thou" in text(again._tiles)


def test_nothing_a_person_presses_breaks_the_page():
    chance = random.Random(7)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        page = WhatOneSparkDoes(memory=None)
        controls, circuit = page.controls, page.controls.circuit
        steps = [
            lambda: controls.current.step(chance.choice((-5, -1, 1, 5))),
            lambda: controls.on_time.step(chance.choice((-9, -1, 1, 9))),
            lambda: setattr(controls.work, "value", chance.choice(controls.work._drop.options)[1]),
            lambda: setattr(controls.electrode, "value",
                            chance.choice(controls.electrode._drop.options)[1]),
            lambda: setattr(controls.polarity, "value",
                            chance.choice(controls.polarity._drop.options)[1]),
            lambda: setattr(controls.source, "value", chance.choice(controls.source.options)),
            lambda: chance.choice(circuit.rows).step(chance.choice((-4, 4))),
            lambda: circuit.inductance.type(chance.choice(("1", "0.02", "900", "x"))),
            lambda: page.share.step(chance.choice((-3, 3))),
            lambda: setattr(page.tab, "value", chance.choice(page.tab.options[1:])),
            lambda: setattr(page.film.where, "value", chance.choice(page.film.where.options)),
            lambda: setattr(page.curves.kept, "value", chance.choice(page.curves.kept.options)),
            lambda: setattr(page.units, "value", not page.units.value),
        ]  # fmt: skip
        page.tab.value = page.tab.options[1]  # the film has a test of its own
        for _ in range(150):
            chance.choice(steps)()
            assert "Traceback" not in page._message.value
