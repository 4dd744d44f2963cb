"""The working of a hole's answers on the page: one question after another, folded."""

import re
from html import escape

import ipywidgets as widgets

from edmkit.panels.answers import band
from edmkit.panels.controls import html
from edmkit.words import three
from edmkit.working import sources, steps
from edmkit.working.formula import WORKED_OUT, digits

QUESTIONS = {
    sources.MINUTES: "Why these minutes?",
    sources.FINISH: "Why this finish?",
    sources.SIDE: "Why is the hole this much larger than the electrode?",
    sources.WEAR: "Why does the electrode lose this much?",
    sources.METERS: "Why should the meters read this?",
    sources.HEAT: "Why does the heat go this deep into the part?",
    sources.SPARK: "What does one spark do?",
    sources.PULSES: "What becomes of the pulses?",
}
_CSS = """<style>
.edm-why { border-top: 1px solid #e3e3e3; padding: 5px 0 6px; }
.edm-formula { font-size: 15px; line-height: 1.5; overflow-wrap: anywhere; }
.edm-why ul { margin: 2px 0 0; padding-left: 18px; }
</style>"""
_INTRO = (
    "Each step gives the formula, then the same with the numbers of this setting, then what comes "
    "out. Four digits stand here so that it can be worked out again by hand; no "
    "answer is known that well."
)
_LETTERS = " Letters with a number, such as B3, stand in the kit's list of sources for materials."
_INCHES = " The working is in mm and µm whatever the page shows: 1 thou is 25.4 µm."


def written(text):
    """Return a formula as HTML: powers raised, indices lowered; everything else escaped."""
    raised = re.sub(r"\^(−?[\w.]+)", r"<sup>\1</sup>", escape(text))
    return re.sub(r"_(\w+)", r"<sub>\1</sub>", raised)


def _with_symbols(step):
    """Return what the symbols of a step stand for, with their numbers."""
    named = {s: given for s, given in step.inputs.items() if not given.constant}
    return "; ".join(f"{written(s)} {escape(g.words)}: {written(g.text)}" for s, g in named.items())


def _origin(given, answer):
    """Return where a number comes from; a result by the question it stands under."""
    under = given.source.removeprefix(WORKED_OUT)
    if under == given.source:
        return given.source
    return "worked out above" if under == answer else f"worked out under '{QUESTIONS[under]}'"


def _origins(step):
    """Return where the formula and each of its numbers come from, as a list."""
    lines = [f"the formula: {written(step.source)}"]
    for symbol, given in step.inputs.items():
        value, origin = written(given.text), escape(_origin(given, step.answer))
        number = value if given.constant else f"{written(symbol)} = {value}"
        lines.append(f"{number}, {escape(given.words)}: {origin}")
    return "<ul>" + "".join(f"<li>{line}</li>" for line in lines) + "</ul>"


def step_html(step, with_origins):
    """Return one step of a working as HTML.

    Parameters
    ----------
    step : Step
        From `edmkit.working.steps`.
    with_origins : bool
        Whether to say where each number comes from.
    """
    value, result = digits(step.value), f"<b>{written(step.result)}</b>"
    parts = [written(p) for p in (step.in_symbols, step.in_numbers) if p and p != value]
    formula = f"{written(step.symbol)} = {'<br>= '.join(parts)}{' = ' if parts else ''}{result}"
    below = _origins(step) if with_origins else _with_symbols(step)
    if not step.inputs and not with_origins:
        below = escape(step.source)
    name = escape(step.name[0].upper() + step.name[1:])
    return (
        f'<div class="edm-why"><b>{name}</b><div class="edm-formula">{formula}</div>'
        f'<div class="edm-note">{below}</div></div>'
    )


def _headline(answer, hole, display):
    """Return the answer as the page shows it, in the page's units."""
    burn, fine, unit = hole.burn, display.fine, display.fine_unit
    shown = {
        sources.MINUTES: ("time", hole.minutes, "min", float),
        sources.FINISH: ("Ra", burn.roughness_Ra_um, display.rough_unit, display.rough),
        sources.SIDE: ("per side", burn.gap_side_um, unit, fine),
        sources.WEAR: ("off the end", hole.end_wear_mm, display.length_unit, display.length),
        sources.METERS: ("voltmeter", burn.mean_voltage_V, "V", float),
        sources.HEAT: ("recast layer", burn.recast_um, unit, fine),
    }
    if answer not in shown:
        return ""
    words, estimate, unit, scale = shown[answer]
    if not estimate.likely == estimate.likely:
        return ""
    likely = f"{three(scale(estimate.likely))} {unit}"
    line = f"On the page: {words} {likely}, {band(estimate, unit, scale)}."
    return f'<div class="edm-note">{escape(line)}</div>'


class Why(widgets.VBox):
    """The working, one fold per question; nothing is built or worked out before `show`."""

    def __init__(self):
        super().__init__()
        self._asked = None

    def show(self, hole, display):
        """Work out and show the question that is unfolded."""
        if self._asked is None:
            self._build()
        self._asked = hole, display
        self._show()

    def _build(self):
        self._intro = html()
        self.origins = widgets.ToggleButton(
            description="Where each number comes from", layout={"width": "auto"}
        )
        self._texts = {answer: html() for answer in QUESTIONS}
        self.fold = widgets.Accordion(
            list(self._texts.values()), titles=tuple(QUESTIONS.values()), selected_index=0
        )
        self.children = [self._intro, self.origins, self.fold]
        self.origins.observe(lambda _: self._show(), "value")
        self.fold.observe(lambda _: self._show(), "selected_index")

    def _show(self):
        hole, display = self._asked
        more = (_LETTERS if self.origins.value else "") + (_INCHES if display.inches else "")
        self._intro.value = f'{_CSS}<div class="edm-note">{_INTRO}{more}</div>'
        if self.fold.selected_index is None:
            return
        answer = list(QUESTIONS)[self.fold.selected_index]
        shown = [step for step in steps(hole.burn, hole) if step.answer == answer]
        lines = "".join(step_html(step, self.origins.value) for step in shown)
        self._texts[answer].value = _headline(answer, hole, display) + lines
