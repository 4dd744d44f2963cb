"""Page 07: one spark, its heat, its crater and what it changes below; relaxation circuits."""

from dataclasses import replace

import ipywidgets as widgets

from edmkit.panels import spark_answers
from edmkit.panels.charging_box import ChargingBox
from edmkit.panels.closed_form_box import ClosedFormBox
from edmkit.panels.controls import framed, html, row, say, shown, toggle, unwarned
from edmkit.panels.film_box import FilmBox
from edmkit.panels.own_book import Fold
from edmkit.panels.spark_curve_boxes import SideBySideBox, SparkCurvesBox
from edmkit.panels.spark_page import CAUTION, SparkPage
from edmkit.panels.spark_pictures import CraterPicture
from edmkit.panels.stepped import Stepped
from edmkit.panels.style import CSS
from edmkit.plots.crater_section import section_of

_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"
_FILM, _CRATER, _CURVES, _BOTH = "The heat", "The crater", "Against on-time", "Both sides"
_AS_ASSUMED = 0.0  # a slider cannot hold None
_SHARES = (_AS_ASSUMED, 0.05, 0.08, 0.1, 0.12, 0.15, 0.18, 0.2, 0.25, 0.3, 0.35, 0.4, 0.5, 0.6)
_SHARE_NOTE = (
    "How much of the spark's energy goes into the work: nobody knows it within a factor of 1.5. "
    "Move it to see what hangs on it; the other pages keep the assumed share."
)


class SparkCrater(CraterPicture):
    """The section of the page's spark, at once, from the table."""

    def _section(self):
        page, spark = self.page, self.page.spark
        per_um, unit = page.display.fine(1.0), page.display.fine_unit
        gap = float(page.burn.gap_front_um.likely)
        return section_of(spark.crater, spark.source_radius, gap, per_um, unit)

    def _about(self, section):
        return spark_answers.about_crater(section)


class WhatOneSparkDoes(SparkPage):
    """The page's panel."""

    def _arranged(self):
        assumed = ("as assumed", _AS_ASSUMED)
        choices = [(f"{100 * s:.0f} %", s) if s else assumed for s in _SHARES]
        self.share = Stepped("Into the work", choices, _AS_ASSUMED)
        self.share.on_change(self.refresh)
        shares = framed("How much heat goes into it?", self.share, say(_SHARE_NOTE))
        self._tiles = html()
        self._reply = framed(
            "What does one spark leave?", self._message, self._tiles, self._doubted
        )
        self.film, self.crater = FilmBox(self), SparkCrater(self)
        self.curves, self.both = SparkCurvesBox(self), SideBySideBox(self)
        self._boxes = {_FILM: self.film, _CRATER: self.crater, _CURVES: self.curves,
                       _BOTH: self.both}  # fmt: skip
        self.tab = toggle(list(self._boxes), "150px")
        self.tab.observe(lambda _: self._show_tab(), "value")
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        pictures = framed("What happens?", self.tab, *self._boxes.values())
        self.charging = ChargingBox(self)
        self._charging_frame = framed("How does the capacitor charge?", self.charging)
        asked = widgets.VBox([self.controls, shares])
        columns = [asked, widgets.VBox([self._reply, self._charging_frame]), pictures]
        grid = widgets.GridBox(
            columns, layout={"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        )
        self.closed = Fold("Is the solver right? Check it", lambda: ClosedFormBox(self))
        self.closed.observe(lambda _: self._show_closed(), "selected_index")
        top = row(html(), self.units, columns="1fr 215px")
        return [html(CSS), top, grid, self.closed, say(CAUTION)]

    def _changed(self, spark):
        share = self.share.value
        return replace(spark, energy_share=share) if share else spark

    def _show(self):
        assumed = float(self.burn.point.energy_share)
        if not self.share.value:
            self.share.show(f"{100 * assumed:.0f} %, assumed")
        self._tiles.value = spark_answers.tiles(self)
        shown(self._charging_frame, self.controls.is_circuit)
        self._show_tab()
        if self.controls.is_circuit:
            self.charging.redraw()
        self._show_closed()

    def _show_closed(self):
        """Check the solver for the spark on the page, if the check is in sight."""
        if self.closed.selected_index is not None:
            self.closed.content.redraw()

    def _show_tab(self):
        if not self.answered:
            return
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        with unwarned():
            self._boxes[self.tab.value].redraw()
