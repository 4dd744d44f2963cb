"""The pictures of a page: against on-time, every setting, the pulses, one crater."""

from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.burn import predict
from edmkit.panels.controls import shown, toggle, unwarned
from edmkit.panels.every_setting import EverySetting
from edmkit.panels.live import LiveFigure
from edmkit.panels.spark_pictures import CraterPicture, PulsePicture, choice
from edmkit.plots.curves import PER_PLOT, Curve, axis_changes, curves_figure

CURVES, MAP, PULSES, CRATER = "Against on-time", "Every setting", "The pulses", "One crater"
PAIRS = {
    "minutes and finish": ("minutes", "roughness"),
    "hole and electrode": ("overcut", "wear"),
}


def _answers(hole, burn, display):
    """Return title, estimate and scale of each answer of a hole, for any settings of it."""
    rough, fine, size = display.rough_unit, display.fine_unit, display.length_unit
    return {
        "minutes": ("Minutes for this hole", burn.minutes(hole.volume_mm3), float),
        "roughness": (f"Roughness Ra, {rough}", burn.roughness_Ra_um, display.rough(1.0)),
        "overcut": (f"Hole over electrode, {fine} on diameter", burn.gap_side_um,
                    2 * display.fine(1.0)),
        "wear": (f"Off the electrode's end per hole, {size}",
                 burn.end_wear_mm(hole.volume_mm3, hole.section_mm2), display.length(1.0)),
    }  # fmt: skip


def _scaled(estimate, factor):
    factor = 1.0 if factor is float else factor
    return [np.asarray(v) * factor for v in (estimate.low, estimate.likely, estimate.high)]


class Pictures(widgets.VBox):
    """Draws what a page shows; only the picture in sight is kept up to date.

    ``page`` gives ``hole``, ``pinned``, ``job``, ``machine``, ``switches``, ``shop``,
    ``display`` and is told by ``go_to(numbers)`` where a click on the map leads.
    """

    def __init__(self, page):
        self.page = page
        self.tab = toggle([CURVES, MAP, PULSES, CRATER], "172px")
        self.pair = choice(list(PAIRS))
        # A plot taken out of the page still answers and then fails: both stay, one is hidden.
        self.every = EverySetting(page)
        self.pulses, self.crater = PulsePicture(page), CraterPicture(page)
        self._boxes = {
            CURVES: widgets.VBox([self.pair]),
            MAP: self.every,
            PULSES: self.pulses,
            CRATER: self.crater,
        }
        self._redraws = {
            CURVES: self._redraw_curves,
            MAP: self.every.redraw,
            PULSES: self.pulses.redraw,
            CRATER: self.crater.redraw,
        }
        self.figure = None
        super().__init__([self.tab, *self._boxes.values()])
        for name in (MAP, PULSES, CRATER):
            shown(self._boxes[name], False)
        self.add_class("edm-group")
        self.tab.observe(lambda _: self._show_tab(), "value")
        self.pair.observe(lambda _: self.redraw(), "value")

    def show(self, tab):
        """Bring a picture into sight."""
        self.tab.value = tab

    def _show_tab(self):
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        self.redraw()

    def redraw(self):
        """Bring the picture in sight up to date with the page, once that has an answer."""
        if self.page.hole is None:
            return
        with unwarned():  # said on the page already
            self._redraws[self.tab.value]()

    # --- answers against on-time -----------------------------------------------------------
    def _redraw_curves(self):
        if self.figure is None:
            self.figure = LiveFigure(curves_figure(*self._curves()))
            self._boxes[CURVES].children += (self.figure,)
        else:
            self._change(self._curves())

    def _curves(self):
        page, hole = self.page, self.page.hole
        times = np.sort(page.switches["on_time_us"].values)
        settings = replace(hole.burn.settings, on_time_us=times)
        along = _answers(hole, predict(hole.burn.setup, settings, page.shop), page.display)
        here = _answers(hole, hole.burn, page.display)
        pinned = page.pinned and _answers(page.pinned, page.pinned.burn, page.display)
        return [self._curve(n, times, along, here, pinned) for n in PAIRS[self.pair.value]]

    def _curve(self, name, times, along, here, pinned):
        title, estimate, factor = along[name]
        low, likely, high = _scaled(estimate, factor)
        now = self.page.hole.burn.settings.on_time_us
        present = (now, _scaled(here[name][1], factor)[1])
        mark = None
        if pinned:
            then = self.page.pinned.burn.settings.on_time_us
            mark = (then, _scaled(pinned[name][1], factor)[1])
        return Curve(title, times, low, likely, high, present, mark)

    def _change(self, curves):
        figure = self.figure
        with figure.batch_update():
            for number, curve in enumerate(curves):
                for trace, (x, y) in enumerate(curve.traces):
                    target = figure.data[number * PER_PLOT + trace]
                    target.x, target.y = x, y
                axis = figure.layout["yaxis" if number == 0 else "yaxis2"]
                same = figure.layout.annotations[number].text == curve.title
                changes = axis_changes(curve, 1, axis.range if same else None)["yaxis"]
                if tuple(changes["range"]) != tuple(axis.range):
                    axis.update(changes)
                figure.layout.annotations[number].text = curve.title

    def show_in(self, display):
        """Show the limits in other units."""
        self.every.show_in(display)
