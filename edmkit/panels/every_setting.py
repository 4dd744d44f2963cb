"""Every setting of the machine on a map, with the limits and the search for the best above it."""

from html import escape

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.finder.bars import least_chance, limits
from edmkit.finder.side import Side, reasons_for
from edmkit.panels.controls import html, say, shown, unwarned
from edmkit.panels.find_for_me import FindForMe
from edmkit.panels.job import SWITCHES
from edmkit.panels.live import LiveFigure
from edmkit.panels.switch_controls import switch_texts
from edmkit.plots.trade_map import (
    BEST,
    FRONT,
    PINNED,
    POINTS,
    PRESENT,
    TradeMap,
    axes_of,
    limit_lines,
    trade_map_figure,
)
from edmkit.settings import Relaxation
from edmkit.words import two

_NO_SWITCHES = (
    "A relaxation circuit has no switches to look through: its spark is set by the capacitor. "
    "'Against capacitor' shows what each size does."
)


class EverySetting(widgets.VBox):
    """The map of every setting; ``page`` is that of `FindForMe`, with more to read.

    It gives ``pinned``, ``job``, ``switches``, ``map_key`` too and is told by ``go_to(numbers)``
    where a click on the map leads.
    """

    def __init__(self, page):
        self.page, self.count = page, html()
        self.finder = FindForMe(page, self.every_hole)
        self.map, self._map_of, self._shape = None, None, ()
        self.switches_only = widgets.VBox([self.finder, self.count])
        self.said = html()
        super().__init__([self.said, self.switches_only])
        self.finder.on_change(self._limits_changed)

    def every_hole(self):
        """Return the page's hole at every setting of the machine."""
        page = self.page
        settings = page.job.every_setting(
            page.switches, page.map_gap_um, all_voltages=page.machine is not None
        )
        return page.job.hole(page.machine, page.switches, page.shop, settings)

    def redraw(self):
        """Bring the map up to date with the page; a circuit is answered in words."""
        circuit = isinstance(self.page.hole.burn.settings, Relaxation)
        self.said.value = say(_NO_SWITCHES).value if circuit else ""
        shown(self.switches_only, not circuit)
        if circuit:
            return
        if self.map is None or self.page.map_key != self._map_of:
            if self._map_of is not None and self.page.map_key != self._map_of:
                self.finder.stale()
            self.draw(self._points())
            self._map_of = self.page.map_key
        with self.map.batch_update():
            for trace, hole in ((PRESENT, self.page.hole), (PINNED, self.page.pinned)):
                marker = self.map.data[trace]
                if hole is None:
                    marker.x, marker.y = (), ()
                else:
                    ra = self.page.display.rough(float(hole.burn.roughness_Ra_um.likely))
                    marker.x, marker.y = (float(hole.minutes.likely),), (ra,)

    def _limits_changed(self):
        if self.map is not None:
            with unwarned():  # said on the page already
                self.draw(self._points())

    # --- the points -------------------------------------------------------------------------
    def _points(self):
        hole, finder = self.every_hole(), self.finder
        burn, rough = hole.burn, self.page.display.rough
        try:
            asked = limits(burn.setup, finder.asked, finder.meters.value)
        except Refusal:
            asked = ()  # said beside the number
        reasons = reasons_for(finder.also, as_set=True)
        side = Side(burn, asked, finder.level, reasons, lambda _: hole.minutes)
        self._shape = burn.shape
        typed = [limit for limit in asked if limit.name in finder.fields]
        chance = least_chance(asked, burn) if typed else None
        flat = [np.broadcast_to(values, burn.shape).ravel() for values in (
            hole.minutes.likely, rough(burn.roughness_Ra_um.likely),
            burn.relative_wear_percent.likely, side.reason)]  # fmt: skip
        if chance is not None:
            chance = np.broadcast_to(chance, burn.shape).ravel()
        return TradeMap(
            *flat[:3], flat[3] >= 0, self._labels(flat, chance, reasons),
            self.page.display.rough_unit, side.front.ravel(), chance, finder.level,
        )  # fmt: skip

    def _labels(self, flat, chance, reasons):
        """Return what the pointer shows at each setting."""
        parts = []
        for name, word in zip(SWITCHES, ("current", "on", "off", "open"), strict=True):
            texts = switch_texts(self.page.switches[name])
            parts.append([f"{word} {escape(text)}" for text in texts])
        if self._shape[3] != len(parts[3]):
            parts[3] = [""]
        unit = self.page.display.rough_unit
        why = [f"<br>left out: {reason.said}" for reason in reasons] + [""]
        texts = []
        for number, places in enumerate(np.ndindex(self._shape)):
            minutes, ra, wear, reason = (column[number] for column in flat)
            worn = "no wear figure" if wear != wear else f"wear {two(wear)} %"
            sure = "" if chance is None else f"<br>{two(100 * chance[number])} % sure of the limits"
            texts.append(
                "<br>".join(p[i] for p, i in zip(parts, places, strict=True) if p[i])
                + f"<br>{two(minutes)} min, Ra {two(ra)} {unit}, {worn}{sure}{why[int(reason)]}"
            )
        return np.array(texts, dtype=object)

    # --- the map ----------------------------------------------------------------------------
    def draw(self, points):
        """Draw the map of some points, or change it in place."""
        if self.map is None:
            self.map = LiveFigure(trade_map_figure(points))
            self.switches_only.children += (self.map,)
            for trace in self.map.data[:POINTS]:
                trace.on_click(self.clicked)
        else:
            with self.map.batch_update():
                for trace, change in zip(self.map.data, points.changes, strict=False):
                    trace.update(change)
                self.map.data[FRONT].x, self.map.data[FRONT].y = points.front
                best = self.map.data[BEST]
                best.x, best.y = points.minutes[points.best], points.roughness[points.best]
                self.map.update_layout(axes_of(points))
        self.map.layout.shapes = limit_lines(self._most_roughness())
        self.count.value = f'<div class="edm-note">{self._counted(points)}</div>'

    def _most_roughness(self):
        fields = self.finder.fields
        if fields["max_Ra_um"].value is not None:
            return fields["max_Ra_um"].value
        most = fields["max_class"].value  # definition of the class: 20 log10(10 Ra in µm)
        return None if most is None else self.page.display.rough(0.1 * 10 ** (most / 20))

    def _counted(self, points):
        name = escape(self.page.machine.name) if self.page.machine else "a generator without a file"
        text = f"<b>{points.minutes.size}</b> settings of {name}, each with its likely values; "
        text += f"{int(points.left_out.sum())} of them are left out (pale). "
        if points.chance is not None:
            meet = int((~points.left_out & (points.chance >= points.level - 1e-9)).sum())
            text += f"<b>{meet}</b> meet the limits with this chance. "
        return text + "Click a point to go there."

    def clicked(self, trace, points, _state):
        """Go to the setting of a point that was clicked."""
        if points.point_inds:
            flat = int(trace.customdata[points.point_inds[0]])
            self.page.go_to(np.unravel_index(flat, self._shape))

    def show_in(self, display):
        """Show the limits in other units."""
        self.finder.show_in(display)
