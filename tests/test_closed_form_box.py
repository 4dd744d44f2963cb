"""The solver beside the closed form: drawn when asked, with what is switched off."""

import re
from html import unescape
from types import SimpleNamespace

import numpy as np
import pytest

import edmkit as ek
from edmkit.panels.closed_form_box import ClosedFormBox
from edmkit.plots.closed_form_plot import ClosedFormPlot, change_closed_form, closed_form_figure
from edmkit.spark import Spark
from edmkit.spark_film import closed_form
from edmkit.units import us
from edmkit.words import Display

STEEL = ek.work_material("52100")


def read(widget):
    """Return what a person reads."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value))).strip()


def drawn(page):
    box = ClosedFormBox(page)
    box.redraw()
    return box


def page_at(amps=10.0, on_us=100.0, share=0.30, answered=True):
    spark = Spark(STEEL, amps, on_us * us, 25.0, share)
    return SimpleNamespace(spark=spark, display=Display(False), answered=answered)


# --- the check itself ------------------------------------------------------------------------
@pytest.mark.parametrize("key", ["52100", "WC-6Co", "copper"])
@pytest.mark.parametrize(("amps", "on_us"), [(0.5, 100.0), (10.0, 100.0), (60.0, 5.0)])
def test_the_solver_is_near_the_closed_form(key, amps, on_us):
    # Carslaw and Jaeger (1959), ch. 10, see `conduction`; bound: 0.5 % of the hottest cell
    found = closed_form(Spark(ek.work_material(key), amps, on_us * us, 25.0, 0.30))
    assert 1e-6 < found.largest < 5e-3
    highest = found.down_exact.max() - 293.15
    off = [np.abs(found.down - found.down_exact).max(),
           np.abs(found.along - found.along_exact).max()]  # fmt: skip
    assert found.largest == pytest.approx(max(off) / highest, rel=1e-3)


def test_the_heat_of_the_closed_form_goes_with_the_power():
    # conduction is linear: twice the share, twice the rise, everywhere
    one, two = (closed_form(Spark(STEEL, 10.0, 100 * us, 25.0, s)) for s in (0.15, 0.30))
    for line in ("down", "down_exact", "along", "along_exact"):
        rises = getattr(one, line) - 293.15, getattr(two, line) - 293.15
        np.testing.assert_allclose(2 * rises[0], rises[1], rtol=1e-4, atol=0.05)


# --- the figure ------------------------------------------------------------------------------
def test_the_figure_shows_the_four_lines_in_shares_and_micrometres():
    found = closed_form(page_at().spark)
    figure = closed_form_figure(ClosedFormPlot(found))
    lines = ((found.depths, found.down_exact), (found.depths, found.down),
             (found.distances, found.along_exact), (found.distances, found.along))  # fmt: skip
    for trace, (places, heat) in zip(figure.data, lines, strict=True):
        np.testing.assert_allclose(trace.x, places * 1e6)
        share = (heat - 293.15) / (found.down_exact.max() - 293.15)  # of the hottest, from 20 °C
        np.testing.assert_allclose(trace.y, 100 * share)
    assert [trace.mode for trace in figure.data] == ["lines", "markers"] * 2
    change_closed_form(figure, ClosedFormPlot(found, 1 / 25.4, "thou"))
    np.testing.assert_allclose(figure.data[0].x, found.depths * 1e6 / 25.4)
    assert figure.layout.xaxis.title.text == "thou below the middle of the spark"
    assert figure.layout.yaxis.range[1] > max(figure.data[0].y) == pytest.approx(100)


# --- the box ---------------------------------------------------------------------------------
def test_it_says_how_near_they_are_and_what_is_switched_off():
    box = drawn(page_at())
    assert len(box.figure.data) == 4
    largest = 100 * closed_form(box.page.spark).largest
    said = re.search(r"the largest difference is ([\d.]+) % of the hottest point", read(box.said))
    assert float(said[1]) == pytest.approx(largest, rel=0.06)
    assert "melting and boiling switched off" in read(box.children[-1])


def test_an_open_check_follows_the_page_and_a_refusal_is_a_sentence():
    page = page_at()
    box = drawn(page)
    kept, before = box.figure, box.figure.data[0].x[-1]
    page.spark = page_at(30.0, 20.0).spark
    box.redraw()
    assert box.figure is kept and box.figure.data[0].x[-1] < 0.6 * before
    page.spark = page_at(share=3.0).spark
    box.redraw()
    assert "energy_share must be" in read(box.said) and box.drawing.layout.display == "none"
    page.spark = page_at().spark
    box.redraw()
    assert box.drawing.layout.display is None and box.drawing.children == (kept,)
    assert box.figure.data[0].x[-1] == pytest.approx(before)


def test_without_an_answer_nothing_is_solved():
    box = drawn(page_at(answered=False))
    assert box.figure is None and box.said.value == ""
