"""Page 08: a wall made crater by crater; its roughness by the standards; steps to a finish."""

import ipywidgets as widgets

from edmkit.panels.controls import framed, html, row, say, unwarned
from edmkit.panels.finish_wanted_box import FinishWantedBox
from edmkit.panels.finishing_box import FinishingBox
from edmkit.panels.own_book import Fold
from edmkit.panels.roughness_box import RoughnessBox
from edmkit.panels.spark_page import CAUTION, SparkPage
from edmkit.panels.style import CSS, PLAN_CSS
from edmkit.panels.surface_box import SurfaceBox

_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"


class HowSmoothWillItBe(SparkPage):
    """The page's panel; it opens with a surface that has settled."""

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.surface.settle_at_once()
        self._measured()
        self.surface.on_new(self._measured)

    def _arranged(self):
        self.roughness = RoughnessBox(self)
        self.surface = SurfaceBox(self)
        self._reply = framed("How rough is the wall?", self._message, self.roughness, self._doubted)
        before = framed("What was there before?", self.surface.asked)
        pictures = framed("What do the craters leave?", self.surface)
        grid = widgets.GridBox(
            [widgets.VBox([self.controls, before]), pictures, self._reply],
            layout={"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"},
        )
        self.folds = [
            Fold("A finish is wanted: which spark?", lambda: FinishWantedBox(self)),
            Fold("From this finish to that: how many passes?", lambda: FinishingBox(self)),
        ]
        for fold in self.folds:
            fold.observe(lambda _: self._show_folds(), "selected_index")
        top = row(html(), self.units, columns="1fr 215px")
        return [html(CSS + PLAN_CSS), top, grid, *self.folds, say(CAUTION)]

    def _measured(self):
        surface = self.surface.surface
        if surface is not None and self.answered:
            self.roughness.show(surface.heights, surface.pixel, self.surface.settled)

    def _show(self):
        with unwarned():
            before = self.surface.surface
            self.surface.redraw()
            if self.surface.surface is None:
                self.roughness.forget()
            elif self.surface.surface is before:  # a new one has told it already
                self.roughness.redraw()
        self._show_folds()

    def _show_folds(self):
        """Answer what is asked in the folds that are open."""
        with unwarned():
            for fold in self.folds:
                if fold.selected_index is not None:
                    fold.content.redraw()
