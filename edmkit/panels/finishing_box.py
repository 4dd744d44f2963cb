"""Finishing in steps: passes as blocks side by side, each with what it takes."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Number, html, refusal, say, unwarned
from edmkit.panels.finish_wanted_box import RoughNumber, plain, switches
from edmkit.panels.plan_answers import clock
from edmkit.planning.electrode import MIDDLE_RATIO
from edmkit.planning.finishing import finishing_steps
from edmkit.planning.finishing_drawing import depth_shown_um, pass_section
from edmkit.settings import Settings
from edmkit.words import three, two

_LEGEND = (
    "Black: the surface before. Orange, dashed: how deep its white layer may reach. Blue: the "
    "surface the pass leaves. Heights to scale, the same in all blocks."
)
_TAKE_CARE = (
    "How fast small sparks remove is the least known figure of the kit: trust the comparison "
    "more than the minutes, and time the first pass.",
    "Thin passes in a deep hole: little debris is made but the gap is small, so the fluid must "
    "still reach the floor (common practice, no source).",
)


class FinishingBox(widgets.VBox):
    """From one Ra to another: how many passes, the stock of each, how long.

    ``page`` gives ``burn``, ``setup``, ``settings``, ``shop``, ``display`` and ``answered``;
    ``found`` is the last answer, None where there is none. What nobody has typed over follows
    the page.
    """

    def __init__(self, page):
        self.page, self.found, self._own = page, None, set()
        self.before = RoughNumber("Ra now", 6.3)
        self.after = RoughNumber("Ra wanted", 0.8)
        self.area = Number("Area", "the area", 100.0, 0.01, 1e6, "mm²")
        self.change = Number("Each change", "each change", 10.0, 0, 600, "min")
        self.answer, self.care = html(), html()
        fields = (self.before, self.after, self.area, self.change)
        typed = widgets.GridBox(list(fields), layout={
            "grid_template_columns": "repeat(auto-fit, minmax(min(290px, 100%), 1fr))",
            "grid_gap": "2px 14px"})  # fmt: skip
        super().__init__([typed, self.answer, say(_LEGEND), self.care])
        for field in fields:
            field.on_change(lambda field=field: self._typed(field))

    def _typed(self, field):
        self._own.add(field)
        self.redraw()

    def redraw(self):
        """Work the passes out anew."""
        if not self.page.answered:
            return
        self._follow()
        self.found, trouble = None, ""
        if any(f.wrong for f in (self.before, self.after, self.area, self.change)):
            trouble = "the answer waits until the number marked 'Check this' is right."
        else:
            try:
                self.found = self._find()
            except Refusal as fault:
                trouble = plain(fault)
        self.answer.value = refusal(trouble) if trouble else self._headline() + self._blocks()
        self.care.value = self._care_words() if self.found else ""

    def _follow(self):
        """Take roughness and area of the page where nobody has typed his own."""
        page, now = self.page, None
        rough = float(page.burn.roughness_Ra_um.likely)
        if self.before not in self._own and 0.05 <= rough <= 50:
            now = float(f"{rough:.2g}")
        self.before.show_in(page.display, now)
        self.after.show_in(page.display)
        if self.area not in self._own:
            self.area.show_as(float(page.setup.engaged_area_mm2), "mm²", 0.01, 1e6)

    def _find(self):
        page = self.page
        like = page.settings if isinstance(page.settings, Settings) else None
        with unwarned():  # said below
            return finishing_steps(
                page.setup, self.before.Ra_um, self.after.Ra_um, self.area.value, page.shop,
                change_min=self.change.value, like=like,
            )  # fmt: skip

    def _rough(self, Ra_um):
        display = self.page.display
        return f"{three(display.rough(Ra_um))} {display.rough_unit}"

    def _headline(self):
        found = self.found
        count = len(found.steps)
        least, most = found.best_between
        clock_words = f"On the clock, changes with it: {_between(*found.minutes_between)}."
        lines = [f"{clock_words} {_others(found)}".strip()]
        if count > 1:
            over = found.over_one
            lines.append(
                f"The sparks of one pass straight down burn {two(over.likely)} times as long "
                f"({two(over.low)} to {two(over.high)})."
            )
        if least != most:
            lines.append(
                f"If the sparks are as fast as they may be, {_passes(least)} {_is(least)} "
                f"quickest; if they are as slow, {_passes(most)}."
            )
        fine, name = self.page.display.fine, self.page.display.fine_unit
        lines.append(
            f"Leave {three(fine(found.stock_um))} {name} per side for all of it, and beside that "
            "what the electrode may sit off its place."
        )
        body = "".join(f'<div class="edm-label">{escape(line)}</div>' for line in lines)
        return (
            f'<div class="edm-tile edm-first"><div class="edm-big">{_passes(count).capitalize()}, '
            f"{escape(_time(found.minutes))}</div></div>{body}"
        )

    def _blocks(self):
        steps = self.found.steps
        deepest = depth_shown_um(steps)
        made = "".join(self._block(n, step, deepest) for n, step in enumerate(steps, 1))
        return f'<div class="edm-blocks">{made}</div>'

    def _block(self, number, step, deepest):
        display, burn = self.page.display, step.burn
        fine, unit = display.fine, display.fine_unit
        relief, below = (three(fine(depth)) for depth in (step.relief_um, step.below_um))
        time, time_unit, between = clock(step.minutes)
        amps, on, off = switches(burn.setup, step.settings)
        lines = (
            f"Switches: current {amps}, on {on}, off {off}",
            f"One spark {three(burn.pulse_energy_mJ.likely)} mJ{_wear(burn)}. It takes the relief "
            f"of {relief} {unit} and {below} {unit} below it for the white layer.",
            f"{two(step.layers)} layers of sparks; after {two(step.layers_needed)} the old surface "
            "is forgotten.",
        )
        body = "".join(f'<div class="edm-note">{escape(line)}</div>' for line in lines)
        name = f"{number}. Ra {self._rough(step.before_Ra_um)} to {self._rough(_after(step))}"
        return (
            f'<section class="edm-block"><h3>{escape(name)}</h3><div class="edm-block-top">'
            f"{pass_section(step, deepest, display)}<div>"
            f'<div class="edm-big">{escape(time)} <small>{escape(time_unit)}</small></div>'
            f'<div class="edm-band">{escape(between)}</div></div></div>{body}</section>'
        )

    def _care_words(self):
        found, display = self.found, self.page.display
        layer, fine = found.recast_left_um, display.fine
        said = [
            f"The last pass leaves a white layer of its own, about {two(fine(layer.likely))} "
            f"{display.fine_unit} ({two(fine(layer.low))} to {two(fine(layer.high))}). A finer "
            "spark thins it and does not take it off: stone or polish it away where the part is "
            "loaded again and again (trade text).",
            *_TAKE_CARE,
        ]
        if found.undersizes:
            said.append(_middle_words(found.undersizes, display))
        if not found.within_limits:
            said.append("These sparks ask more current of this end than it bears, or arc: take a "
                        "longer off-time and watch the meters.")  # fmt: skip
        if found.steps[-1].burn.flags["finish_out_of_range"]:
            said.append("Extrapolated: the roughness law was fitted from 0.4 to 15 µm. Hold the "
                        "first burn against a comparator.")  # fmt: skip
        return '<ul class="edm-watch">' + "".join(f"<li>{escape(s)}</li>" for s in said) + "</ul>"


def _after(step):
    return float(step.burn.roughness_Ra_um.likely)


def _passes(count):
    words = ("one", "two", "three", "four", "five", "six")
    return f"{words[count - 1]} pass{'es' if count > 1 else ''}"


def _wear(burn):
    """Return how much of the electrode goes, where there is a figure."""
    wear = burn.relative_wear_percent.likely
    return f", wear {two(wear)} %" if wear == wear else ""


def _middle_words(undersizes, display):
    """Return the trade's check on the number of electrodes."""
    sizes = (undersizes.rough_mm, undersizes.finish_mm)
    rough, last = (display.size_text(mm, 0.001) for mm in sizes)
    word = "a" if undersizes.middle_wanted else "no"
    return (
        f"Beside it, the trade's rule: the roughing electrode is {rough} small per side, the "
        f"finishing one {last}, {two(sizes[0] / sizes[1])} to 1; {word} middle electrode belongs "
        f"between them (from {MIDDLE_RATIO:g} to 1 on, a trade page)."
    )


def _is(count):
    return "is" if count == 1 else "are"


def _time(minutes, digits=three):
    """Return minutes, or hours from four on."""
    return f"{digits(minutes)} min" if minutes < 240 else f"{digits(minutes / 60)} h"


def _between(low, high):
    return f"{_time(low, two)} to {_time(high, two)}"


def _others(found):
    """Return what the neighbouring numbers of passes would take."""
    count, minutes = len(found.steps), found.by_passes
    near = [n for n in sorted({1, count - 1, count + 1}) if 0 < n <= len(minutes) and n != count]
    said = ", ".join(f"{_passes(n)} {_time(minutes[n - 1])}" for n in near)
    return f"{said[:1].upper()}{said[1:]}." if said else ""
