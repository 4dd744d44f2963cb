"""The pictures of a page: against on-time, every setting, the pulses, one crater."""

from contextlib import suppress
from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal
from edmkit.estimate import Estimate
from edmkit.panels.circuit_controls import CAPACITORS_UF
from edmkit.panels.controls import shown, toggle, unwarned
from edmkit.panels.every_setting import EverySetting
from edmkit.panels.live import LiveFigure
from edmkit.panels.spark_pictures import CraterPicture, PulsePicture, choice
from edmkit.plots.curves import (
    CAPACITOR,
    LIKELY,
    ON_TIME,
    PER_PLOT,
    Curve,
    axis_changes,
    curves_figure,
    knob_axis,
)
from edmkit.settings import Relaxation

CURVES, MAP, PULSES, CRATER = "Against on-time", "Every setting", "The pulses", "One crater"
_TABS = (CURVES, MAP, PULSES, CRATER)
_CAPACITORS = "Against capacitor"
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


def _knob(hole):
    """Return where the knob of the curves stands, and what it is called."""
    settings = hole.burn.settings
    if isinstance(settings, Relaxation):
        return settings.capacitance_uF, CAPACITOR
    return settings.on_time_us, ON_TIME


def _along_capacitors(hole, shop, display):
    """Return capacitors and the answers at each; those that no spark can be of are left out."""
    sizes, found, setup = [], [], hole.burn.setup
    for size in CAPACITORS_UF:
        with suppress(Refusal):
            burn = predict(setup, replace(hole.burn.settings, capacitance_uF=size), shop)
            found.append(_answers(hole, burn, display))
            sizes.append(size)
    along = {}
    for name, (title, _, factor) in found[0].items():
        estimates = [answers[name][1] for answers in found]
        ends = (np.array([getattr(e, end) for e in estimates]) for end in ("likely", "spread"))
        along[name] = (title, Estimate(*ends), factor)
    return np.array(sizes), along


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
        self.tab, self._naming = toggle(_TABS, "172px"), False
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

    def _name_knob(self, circuit):
        """Call the first picture by the knob it is drawn against."""
        names = (
            ((_CAPACITORS, CURVES), *zip(_TABS[1:], _TABS[1:], strict=True)) if circuit else _TABS
        )
        if self.tab.options != names:
            kept, self._naming = self.tab.value, True  # new options go to the first picture
            self.tab.options = names
            self.tab.value, self._naming = kept, False

    def _show_tab(self):
        if self._naming:
            return
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        self.redraw()

    def redraw(self):
        """Bring the picture in sight up to date with the page, once that has an answer."""
        if self.page.hole is None:
            return
        self._name_knob(isinstance(self.page.hole.burn.settings, Relaxation))
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
        knob, along = self._along(hole)
        here = _answers(hole, hole.burn, page.display)
        pinned = page.pinned and _answers(page.pinned, page.pinned.burn, page.display)
        return [self._curve(n, knob, along, here, pinned) for n in PAIRS[self.pair.value]]

    def _along(self, hole):
        """Return the positions of the knob and the answers at each."""
        page, settings = self.page, hole.burn.settings
        if isinstance(settings, Relaxation):
            return _along_capacitors(hole, page.shop, page.display)
        times = np.sort(page.switches["on_time_us"].values)
        burn = predict(hole.burn.setup, replace(settings, on_time_us=times), page.shop)
        return times, _answers(hole, burn, page.display)

    def _curve(self, name, knob, along, here, pinned):
        title, estimate, factor = along[name]
        low, likely, high = _scaled(estimate, factor)
        now, axis = _knob(self.page.hole)
        present = (now, _scaled(here[name][1], factor)[1])
        mark = None
        if pinned and _knob(self.page.pinned)[1] == axis:
            mark = (_knob(self.page.pinned)[0], _scaled(pinned[name][1], factor)[1])
        return Curve(title, knob, low, likely, high, present, mark, axis)

    def _change(self, curves):
        figure, knob = self.figure, curves[0]
        with figure.batch_update():
            if tuple(knob_axis(knob)["range"]) != tuple(figure.layout.xaxis.range):
                figure.update_xaxes(**knob_axis(knob))
            if figure.layout.xaxis2.title.text != knob.axis:
                figure.layout.xaxis2.title.text = knob.axis
            for number, curve in enumerate(curves):
                for trace, (x, y) in enumerate(curve.traces):
                    target = figure.data[number * PER_PLOT + trace]
                    target.x, target.y = x, y
                figure.data[number * PER_PLOT + LIKELY].hovertemplate = curve.said
                axis = figure.layout["yaxis" if number == 0 else "yaxis2"]
                same = figure.layout.annotations[number].text == curve.title
                changes = axis_changes(curve, 1, axis.range if same else None)["yaxis"]
                if tuple(changes["range"]) != tuple(axis.range):
                    axis.update(changes)
                figure.layout.annotations[number].text = curve.title

    def show_in(self, display):
        """Show the limits in other units."""
        self.every.show_in(display)
