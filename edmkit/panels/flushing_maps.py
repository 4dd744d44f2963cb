"""Two maps of the range between clogging and starving: over removal rate, over off-time."""

from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.flushing.edges import edges_over_off_time, edges_over_removal
from edmkit.flushing.window import window
from edmkit.panels.controls import say, toggle, unwarned
from edmkit.panels.live import LiveFigure
from edmkit.plots.flushing_map import FlushingMap, change_flushing_map, flushing_map_figure
from edmkit.words import three

REMOVAL, OFF_TIME = "against removal rate", "against off-time"
_FAR = 30.0  # times the present removal rate, either way
_NOTE = (
    "Diamond: the present setting, with the bands of what is known of it. Between the lines the "
    "gap stays alive. Left of the full line one spark in ten is an arc; right of the broken line "
    "the fluid is so clean that sparks find nothing to start on. Both lines are assumed, not "
    "measured: they show which way a knob moves you."
)


class FlushingMaps(widgets.VBox):
    """Draws the map in sight of the two.

    ``page`` gives ``hole``, ``window``, ``bench``, ``shop``, ``switches``, ``machine`` and
    ``display``.
    """

    def __init__(self, page):
        self.page, self.figure = page, None
        self.kind = toggle([REMOVAL, OFF_TIME], "190px")
        self.drawing = widgets.VBox()
        super().__init__([self.kind, self.drawing, say(_NOTE)])
        self.kind.observe(lambda _: self.redraw(fresh=True), "value")

    def redraw(self, fresh=False):
        """Draw the map for what stands on the page; ``fresh`` fits the axes anew."""
        if not self.page.answered:
            return
        with unwarned():  # said beside the flow
            shown = self._removal() if self.kind.value == REMOVAL else self._off_time()
        if self.figure is None:
            self.figure = LiveFigure(flushing_map_figure(shown))
            self.drawing.children = (self.figure,)
        else:
            change_flushing_map(self.figure, shown, fresh)

    @property
    def _flow(self):
        """The present flow, likely and both ends; a still gap stands at a hundredth of an ml."""
        flow = self.page.window.flow_ml_per_min
        return tuple(max(float(v), 1e-2) for v in (flow.likely, flow.low, flow.high))

    def _removal(self):
        display = self.page.display
        rate = self.page.hole.burn.removal_rate_mm3_per_min
        present = tuple(float(v) for v in (rate.likely, rate.low, rate.high))
        heights = present[0] * np.geomspace(1 / _FAR, _FAR, 40)
        edges = edges_over_removal(self.page.window, heights)
        return FlushingMap(
            f"removal rate, {display.rate_unit}",
            display.rate(heights),
            edges.clogs,
            edges.starves,
            (self._flow, tuple(display.rate(v) for v in present)),
            self._strongest(),
        )

    def _off_time(self):
        page = self.page
        now = float(page.hole.burn.settings.off_time_us)
        times = np.unique(np.append(page.switches["off_time_us"].values, now))
        if times.size < 2:
            times = now * np.array([0.5, 1.0, 2.0])
        edges = edges_over_off_time(page.hole, times, page.shop)
        return FlushingMap("off-time, µs", times, edges.clogs, edges.starves,
                           (self._flow, (now, now, now)), self._strongest())  # fmt: skip

    def _strongest(self):
        """Return the flow at the strongest drive there is, with its words, or None."""
        shown = self.page.window
        most = shown.strongest_kPa
        if not shown.pressures_kPa or not np.isfinite(most):
            return None
        flow = window(self.page.hole, replace(self.page.bench, pressure_kPa=float(most)))
        whose = "the machine's most" if most == shown.machine_kPa else "what the fluid stands"
        return float(flow.flow_ml_per_min.likely), f"{three(most)} kPa, {whose}"
