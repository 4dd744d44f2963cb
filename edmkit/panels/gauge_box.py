"""No gauge on the line: a clear tube or a cup and a watch say what drives the fluid."""

from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.gauge_free import DIRECTIONS, by_cup, by_height, by_pressure, cup, warm
from edmkit.flushing.two_cups import in_hole, place_of
from edmkit.panels.controls import Number, html, layout, refusal, say
from edmkit.words import Display

_EXPLAIN = (
    "Three ways, any of them will do. A clear tube on the line: how high the fluid stands above "
    "the tank. A cup, the electrode out of the hole: what runs into it while you time it. The "
    "same cup once more with the electrode in the hole: what the gap holds back."
)
_DISAGREE = 1.5  # times as much by the cup as by the tube; assumption
_AT_ODDS = (
    "The cup needs more than the tube shows. One reading is wrong, or the bore is wider or "
    "shorter than it stands here: measure again before you rely on either."
)


class GaugeBox(widgets.VBox):
    """Height in a tube, a cup out of the hole, a cup in the hole; what each says of the flow.

    ``page`` gives ``hole``, ``bench``, ``display`` and ``use_pressure(kPa)``; ``drive`` is what
    was found, None for nothing.
    """

    def __init__(self, page):
        self.page, self.drive, self.display = page, None, Display()
        self.height = Number("Fluid stands", "height_mm", None, 1, 20_000, "mm", "-")
        self.depth = Number("The end stands", "depth_mm", None, 0.01, 1000, "mm", "at depth")
        self.cups = {
            name: Number(word, name, None, low, high, unit, "-", stacked=True)
            for name, word, low, high, unit in (
                ("out_ml", "Cup", 0, 1e5, "ml"),
                ("out_s", "filled in", 0.6, 60_000, "s"),
                ("in_ml", "Cup", 0, 1e5, "ml"),
                ("in_s", "filled in", 0.6, 60_000, "s"),
            )
        }
        self.said = html()
        self.use = widgets.Button(
            description="Take this pressure for the page", layout=layout(width="auto"),
            disabled=True,
        )  # fmt: skip
        cells = [say("Out of the hole", "edm-label"), *list(self.cups.values())[:2],
                 say("In the hole", "edm-label"), *list(self.cups.values())[2:]]  # fmt: skip
        grid = widgets.GridBox(
            cells, layout={"grid_template_columns": "118px 140px 140px", "grid_gap": "4px 12px"}
        )
        wrong = [cup.message for cup in self.cups.values()]
        super().__init__(
            [say(_EXPLAIN), self.height, grid, self.depth, *wrong, self.said, self.use]
        )
        for entry in (self.height, self.depth, *self.cups.values()):
            entry.on_change(self.redraw)
        self.use.on_click(lambda _: page.use_pressure(self.drive.pressure_kPa))

    def show_in(self, display):
        """Show the height in mm or in inches."""
        for entry, ends in ((self.height, (1, 20_000)), (self.depth, (0.01, 1000))):
            value = entry.value
            shown = None if value is None else display.length(self.display.length_mm(value))
            entry.show_as(shown, display.length_unit, *(display.length(end) for end in ends))
        self.display = display

    def redraw(self):
        """Say what the readings mean for the hole on the page."""
        if not self.page.answered or any(
            entry.wrong for entry in (self.height, self.depth, *self.cups.values())
        ):
            return
        self.drive, said, trouble = None, [], ""
        try:
            said = self._sentences()
        except Refusal as fault:
            trouble = refusal(str(fault))
        lines = "".join(f'<div class="edm-label">{escape(text)}</div>' for text in said)
        self.said.value = lines + trouble
        self.use.disabled = self.drive is None

    def _flow(self, name):
        """Return the flow of a cup, None where it was not filled [ml/min]."""
        full, seconds = self.cups[f"{name}_ml"].value, self.cups[f"{name}_s"].value
        return None if full is None or seconds is None else cup(full, seconds / 60)

    def _sentences(self):
        hole, bench = self.page.hole, self.page.bench
        kind = hole.burn.setup.flushing.kind
        direction = kind if kind in DIRECTIONS else "pressure"
        fluid = warm(hole.burn.setup.dielectric, bench.oil_C)
        said, out, inside = [], self._flow("out"), self._flow("in")
        if inside is not None and out is None:
            raise Refusal("out_ml must be given with in_ml: fill a cup out of the hole first.")
        if out is not None:
            self._needs_bore(hole)
            self.drive = by_cup(out, fluid, hole.bore_mm, bench.electrode_mm, direction)
            said.append(self.drive.sentence)
        if self.height.value is not None:
            height = self.display.length_mm(self.height.value)
            least, self.drive = self.drive, by_height(height, fluid, direction, self.display)
            said.append(self.drive.sentence)
            if least and least.pressure_kPa > _DISAGREE * self.drive.pressure_kPa:
                said.append(_AT_ODDS)
        if self.drive is None:
            given = hole.burn.setup.flushing.pressure_kPa
            return [by_pressure(given, fluid, direction).sentence] if given else []
        if inside is not None:
            place = place_of(hole, hole.bore_mm)
            if self.depth.value is not None:
                depth = min(self.display.length_mm(self.depth.value), place.depth_mm)
                place = replace(place, depth_mm=depth)
            found = in_hole(self.drive, out, inside, place, fluid, self.display)
            said.append(found.sentence)
        return said

    @staticmethod
    def _needs_bore(hole):
        if not hole.bore_mm:
            raise Refusal(
                "bore_mm must be above 0 mm for a cup filled through the electrode, got 0 mm: "
                "give the electrode's bore with the hole."
            )
