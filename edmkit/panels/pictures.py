"""The pictures of a page: against on-time, every setting, the pulses, one crater."""

import warnings
from dataclasses import replace
from html import escape

import ipywidgets as widgets
import numpy as np

from edmkit.burn import predict
from edmkit.checks import RangeWarning
from edmkit.panels.controls import Number, html, row, shown, toggle
from edmkit.panels.job import SWITCHES
from edmkit.panels.live import LiveFigure
from edmkit.panels.spark_pictures import CraterPicture, PulsePicture, choice
from edmkit.panels.switch_controls import switch_texts
from edmkit.plots.curves import PER_PLOT, Curve, axis_changes, curves_figure
from edmkit.plots.trade_map import (
    FRONT,
    PINNED,
    POINTS,
    PRESENT,
    TradeMap,
    axes_of,
    limit_lines,
    trade_map_figure,
)
from edmkit.words import two

CURVES, MAP, PULSES, CRATER = "Against on-time", "Every setting", "The pulses", "One crater"
PAIRS = {
    "minutes and finish": ("minutes", "roughness"),
    "hole and electrode": ("overcut", "wear"),
}
# What asks too much of this end, or does not cut: left out of the front, drawn pale.
_TOO_MUCH = ("over_current_limit", "no_useful_cutting", "smaller_than_one_spark")


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
        self.count = html()
        self.most_minutes = Number("Minutes at most", "minutes", None, 0.01, 1e6, "min", "none")
        self.most_roughness = Number("Ra at most", "roughness Ra", None, 0.01, 100, "µm", "none")
        limits = row(self.most_minutes, self.most_roughness, columns="1fr 1fr")
        # A plot taken out of the page still answers and then fails: both stay, one is hidden.
        self.pulses, self.crater = PulsePicture(page), CraterPicture(page)
        self._boxes = {
            CURVES: widgets.VBox([self.pair]),
            MAP: widgets.VBox([limits, self.count]),
            PULSES: self.pulses,
            CRATER: self.crater,
        }
        self._redraws = {
            CURVES: self._redraw_curves,
            MAP: self._redraw_map,
            PULSES: self.pulses.redraw,
            CRATER: self.crater.redraw,
        }
        self.figure, self.map, self._map_of = None, None, None
        super().__init__([self.tab, *self._boxes.values()])
        for name in (MAP, PULSES, CRATER):
            shown(self._boxes[name], False)
        self.add_class("edm-group")
        self.tab.observe(lambda _: self._show_tab(), "value")
        self.pair.observe(lambda _: self.redraw(), "value")
        for limit in (self.most_minutes, self.most_roughness):
            limit.on_change(self._limits_changed)

    def _show_tab(self):
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        self.redraw()

    def redraw(self):
        """Bring the picture in sight up to date with the page, once that has an answer."""
        if self.page.hole is None:
            return
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RangeWarning)  # said on the page already
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

    # --- every setting ---------------------------------------------------------------------
    def _redraw_map(self):
        page = self.page
        key = page.map_key
        if self.map is None or key != self._map_of:
            self._draw_map(self._points())
            self._map_of = key
        with self.map.batch_update():
            for trace, hole in ((PRESENT, page.hole), (PINNED, page.pinned)):
                marker = self.map.data[trace]
                if hole is None:
                    marker.x, marker.y = (), ()
                else:
                    ra = page.display.rough(float(hole.burn.roughness_Ra_um.likely))
                    marker.x, marker.y = (float(hole.minutes.likely),), (ra,)

    def _points(self):
        page = self.page
        settings = page.job.every_setting(
            page.switches, page.map_gap_um, all_voltages=page.machine is not None
        )
        hole = page.job.hole(page.machine, page.switches, page.shop, settings)
        burn = hole.burn
        flags = np.any([burn.flags[name] for name in _TOO_MUCH], axis=0)
        columns = (hole.minutes.likely, page.display.rough(burn.roughness_Ra_um.likely),
                   burn.relative_wear_percent.likely, flags)  # fmt: skip
        self._shape = burn.shape
        flat = [np.ravel(c) for c in columns]
        return TradeMap(*flat, self._labels(flat), page.display.rough_unit)

    def _labels(self, columns):
        """Return what the pointer shows at each setting."""
        parts = []
        for name, word in zip(SWITCHES, ("current", "on", "off", "open"), strict=True):
            texts = switch_texts(self.page.switches[name])
            parts.append([f"{word} {escape(text)}" for text in texts])
        if self._shape[3] != len(parts[3]):
            parts[3] = [""]
        unit = self.page.display.rough_unit
        texts = []
        for number, places in enumerate(np.ndindex(self._shape)):
            minutes, ra, wear, too_much = (c[number] for c in columns)
            worn = "no wear figure" if wear != wear else f"wear {two(wear)} %"
            texts.append(
                "<br>".join(p[i] for p, i in zip(parts, places, strict=True) if p[i])
                + f"<br>{two(minutes)} min, Ra {two(ra)} {unit}, {worn}"
                + ("<br>asks too much of this end" if too_much else "")
            )
        return np.array(texts, dtype=object)

    def _draw_map(self, points):
        self._shown = points
        if self.map is None:
            self.map = LiveFigure(trade_map_figure(points))
            self._boxes[MAP].children += (self.map,)
            for trace in self.map.data[:POINTS]:
                trace.on_click(self._clicked)
        else:
            with self.map.batch_update():
                for trace, (x, y, index) in zip(self.map.data, points.traces, strict=False):
                    trace.x, trace.y, trace.customdata = x, y, index
                    trace.text, trace.showlegend = points.labels[index], len(index) > 0
                self.map.data[FRONT].x, self.map.data[FRONT].y = points.front
                self.map.update_layout(axes_of(points))
        self._limits_changed()

    def _limits_changed(self):
        if self.map is None:
            return
        minutes, rough = self.most_minutes.value, self.most_roughness.value
        points = self._shown
        inside = ~points.asks_too_much
        for values, limit in ((points.minutes, minutes), (points.roughness, rough)):
            if limit is not None:
                inside = inside & (values <= limit)
        with self.map.batch_update():
            self.map.layout.shapes = limit_lines(minutes, rough)
        name = escape(self.page.machine.name) if self.page.machine else "a generator without a file"
        text = f"<b>{points.minutes.size}</b> settings of {name}, each with its likely values. "
        pale = int(points.asks_too_much.sum())
        text += f"{pale} of them ask more of this end than it bears (pale). "
        if minutes is not None or rough is not None:
            text += f"<b>{int(inside.sum())}</b> meet the limits. "
        self.count.value = f'<div class="edm-note">{text}Click a point to go there.</div>'

    def _clicked(self, trace, points, _state):
        if points.point_inds:
            flat = int(trace.customdata[points.point_inds[0]])
            self.page.go_to(np.unravel_index(flat, self._shape))

    def show_in(self, display):
        """Show the limit of roughness in another unit."""
        entry = self.most_roughness
        value = None
        if entry.value is not None:
            um = entry.value * (25.4 / 1000 if entry.unit == "µin" else 1.0)
            value = display.rough(um)
        entry.show_as(value, display.rough_unit, display.rough(0.01), display.rough(100))
