"""Longer or stronger, and both sides of a spark, as a page shows them."""

import re
from html import unescape

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.panels.controls import html
from edmkit.panels.memory import Memory
from edmkit.panels.spark_controls import CIRCUIT, SparkControls
from edmkit.panels.spark_curve_boxes import (
    SAME_ENERGY,
    SideBySideBox,
    SparkCurvesBox,
)
from edmkit.panels.spark_page import SparkPage


class Page(SparkPage):
    """A page with nothing but the two boxes."""

    def _arranged(self):
        self._reply = html()
        self.curves, self.both = SparkCurvesBox(self), SideBySideBox(self)
        return [self.controls, self.curves, self.both]

    def _show(self):
        self.curves.redraw()
        self.both.redraw()


@pytest.fixture
def page():
    return Page(memory=None)


def text(widget):
    return unescape(re.sub("<[^>]+>", " ", widget.value))


# --- against the on-time ---
def test_at_the_same_current_the_page_s_spark_lies_on_the_lines(page):
    shown = page.curves.shown
    on_us, radius, depth, volume = shown.now
    assert on_us == pytest.approx(100)
    for line, value in ((shown.radius, radius), (shown.depth, depth), (shown.volume, volume)):
        assert_allclose(np.interp(np.log(on_us), np.log(shown.on_time_us), line), value, rtol=0.02)
    assert_allclose(shown.amps, 10.0)


def test_at_the_same_energy_current_times_time_stays(page):
    page.curves.kept.value = SAME_ENERGY
    shown = page.curves.shown
    assert_allclose(25 * shown.amps * shown.on_time_us * 1e-6, 0.025, rtol=1e-9)
    assert shown.amps.min() >= 0.3 and shown.amps.max() <= 60
    assert 0 < shown.best < shown.volume.size - 1  # neither the shortest nor the longest
    assert "25 mJ melt most in" in text(page.curves.said)


def test_an_energy_beyond_the_tables_is_a_sentence(page):
    page.curves.kept.value = SAME_ENERGY
    page.controls.source.value = CIRCUIT
    page.controls.circuit.capacitance.value, page.controls.circuit.supply.value = 220, 200.0
    assert page.answered  # 2.3 J: 60 A would have to burn for 1.5 ms
    assert "beyond what the tables hold" in text(page.curves.said)
    assert page.curves.drawing.layout.display == "none"
    page.controls.circuit.capacitance.value = 1
    assert page.curves.drawing.layout.display is None


def test_figures_are_changed_in_place(page):
    figures = page.curves.figure, page.both.figure
    before = [np.array(f.data[n].y) for f, n in zip(figures, (2, 4), strict=True)]
    page.controls.current.value = 30
    assert (page.curves.figure, page.both.figure) == figures
    for figure, trace, then in zip(figures, (2, 4), before, strict=True):
        assert not np.array_equal(then, figure.data[trace].y)


def test_twice_the_time_is_rougher(page):
    said = text(page.curves.said)
    assert re.search(r"a wall 1\.[2-6] times as rough", said)


@pytest.mark.parametrize(("amps", "on_us"), [(60, 1000), (0.5, 2), (0.5, 1000)])
def test_the_ends_of_the_sliders_are_answered(page, amps, on_us):
    for kept in page.curves.kept.options:
        page.curves.kept.value = kept
        page.take_spark(amps, on_us)
        assert page.message == ""
        assert text(page.curves.said).strip() and text(page.both.said).strip()


# --- both sides ---
def test_long_pulses_spare_the_copper(page):
    shares = []
    for on_us in (5, 50, 500):
        page.controls.on_time.value = on_us
        _, work, tool = page.both.shown.now
        shares.append(tool / work)
    # resolidification and a growing spot: Patel et al. (1989), idea only
    assert shares[0] > 5 * shares[1] > 25 * shares[2]
    assert "So long pulses spare it." in text(page.both.said)


def test_a_strong_short_pulse_eats_the_electrode(page):
    page.take_spark(60, 3)
    _, work, tool = page.both.shown.now
    assert tool > work
    assert "melts more of the electrode than of the work" in text(page.both.said)
    assert "So long pulses spare it." not in text(page.both.said)


def test_an_electrode_without_a_table_is_said(page):
    page.controls.electrode.value = "graphite"
    assert page.tool_spark is None
    assert "Graphite, fine grain is not solved" in text(page.both.said)
    assert page.both.drawing.layout.display == "none"
    page.controls.electrode.value = "copper"
    assert page.both.drawing.layout.display is None


def test_the_wear_of_the_other_pages_is_said_beside_it(page):
    wear = page.burn.relative_wear_percent.likely
    assert f"the trade remembers: {wear:.2g} % at this spark" in text(page.both.note)
    page.controls.work.value = "Ti64"
    assert "for this pair there is none" in text(page.both.note)


def test_a_circuit_s_spark_is_drawn_too(page):
    page.controls.source.value = CIRCUIT
    assert page.spark.on_time == pytest.approx(np.pi * np.sqrt(1e-6 * 1e-6))
    assert page.both.shown.now[0] == pytest.approx(page.spark.on_time * 1e6)


# --- the controls ---
def test_controls_stand_again_where_they_stood():
    controls = SparkControls({"work": "D2", "electrode": "brass", "polarity": "electrode negative",
                              "peak_current_A": 6, "on_time_us": 40})  # fmt: skip
    assert controls.settings.off_time_us == controls.settings.on_time_us == 40  # half and half
    again = SparkControls(controls.values)
    assert again.values == controls.values
    assert again.settings == controls.settings
    assert again.polarity.value == "electrode negative"


def test_the_polarity_follows_the_pair():
    controls = SparkControls()
    controls.work.value = "WC-6Co"
    assert controls.polarity.value == "electrode negative"


def test_a_page_that_was_left_with_nonsense_starts_afresh(tmp_path):
    for broken in ({"work": "unobtainium"}, {"peak_current_A": "ten"}, 7, {"circuit": {"a": 1}}):
        memory = Memory(tmp_path)
        memory.keep(spark=broken)
        page = Page(memory=Memory(tmp_path))
        assert "could not be taken up again" in page._message.value
        assert page.answered


def test_a_first_opening_takes_the_metals_of_the_last_job(tmp_path):
    memory = Memory(tmp_path)
    memory.keep(job={"work": "H13", "electrode": "brass", "polarity": "electrode negative"})
    page = Page(memory=Memory(tmp_path))
    assert (page.spark.metal.key, page.setup.electrode.key) == ("H13", "brass")
    assert page.setup.polarity == "electrode negative"
    page.controls.on_time.value = 20
    assert Page(memory=Memory(tmp_path)).settings == page.settings


def test_a_first_opening_takes_the_circuit_of_the_last_job(tmp_path):
    parts = {"resistance_ohm": 47.0, "capacitance_uF": 10.0, "supply_V": 200.0}
    memory = Memory(tmp_path)
    memory.keep(job={"work": "H13", "electrode": "brass", "circuit": parts})
    assert Page(memory=Memory(tmp_path)).settings == ek.Relaxation(**parts)
