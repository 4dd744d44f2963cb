"""The roughness of the simulated surface beside the predicted one, and how to measure it."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.answers import band, tile
from edmkit.panels.controls import Number, framed, html, refusal, say
from edmkit.physics.areal import areal_parameters, level
from edmkit.physics.finish import comparator_plate, cut_off, vdi_class
from edmkit.physics.profile import (
    DEFAULT_SECTIONS,
    RUN_UP,
    profile_parameters,
    stylus_line,
)
from edmkit.planning.cut_off_advice import cut_off_advice
from edmkit.units import mm, um
from edmkit.words import Display, three, two

LINES = 5  # that a stylus is drawn, side by side
_SMOOTHEST, _ROUGHEST = 0.001, 80.0  # Ra that has a class [µm]
_SAME, _SHAPE = 1.1, 1.5  # times: not worth a word; what the shape of a crater alone is worth
_ROWS = ("Rz", "Rt", "VDI 3400 class", "hold against plate", "Sa", "Sq", "Sz")
_FLAT_MM = (0.01, 2000)
_NOTHING = "Too few craters yet for a stylus: let it spark on."
_NOT_YET = "It has not settled: with more sparks these figures still change."
_LOWEST_CLASS = 0.1  # Ra of class 0 [µm]
_NO_PREDICTION = (
    "No roughness is predicted here: at this setting nothing melts, or it is rougher than 80 µm."
)
_HOW = (
    "Sa, Sq and Sz are the same kind of figure over the whole patch, all wavelengths in; a drawing "
    "that asks for Ra or Rz does not mean them."
)


def _agreement(simulated, predicted):
    """Return whether the two roughnesses agree, and why not, as a sentence."""
    times = max(simulated / predicted, predicted / simulated)
    word = "rougher" if simulated > predicted else "smoother"
    if times < _SAME:
        return ("The two agree. That checks the sums, not the steel: no measured map stands behind "
                "the simulation.")  # fmt: skip
    if times < _SHAPE:
        return (
            f"The simulation is {two(times)} times {word}. The shape it gives a crater is alone "
            f"worth {_SHAPE:g} times, and no measured map checks it: go by the prediction."
        )
    return (
        f"The simulation is {two(times)} times {word}: more than the shape of a crater explains, "
        "so the patch still shows the surface it began with, or has too few craters. Go by the "
        "prediction."
    )


class RoughnessBox(widgets.VBox):
    """Ra, Rz and Rt by stylus and Sa, Sq, Sz of a map that was shown, beside what is predicted.

    ``page`` gives ``burn``, ``display`` and ``answered``. ``parameters`` and ``areal`` are of the
    map and ``cut_off`` is what they were read with [m], None where there are none; ``advice`` says
    how to measure.
    """

    def __init__(self, page):
        self.page, self._map, self._settled, self._display = page, None, True, Display()
        self.parameters = self.areal = self.cut_off = self.advice = None
        self.answer, self.said, self.how = html(), html(), html()
        label = "Flat length to measure on"
        self.flat = Number(label, label, None, *_FLAT_MM, "mm", "any", stacked=True)
        measure = framed("How to measure it", self.flat, self.flat.message, self.how)
        super().__init__([self.answer, self.said, say(_HOW), measure])
        self.flat.on_change(self._advise)

    def show(self, heights, pixel, settled=True):
        """Take another map.

        Parameters
        ----------
        heights : array (rows, columns)
            Heights of a map whose opposite edges meet [m].
        pixel : float
            Edge of a pixel [m].
        settled : bool
            Whether more sparks leave its roughness as it is.
        """
        self._map, self._settled = (heights, pixel), settled
        self.redraw()

    def forget(self):
        """Let go of the map: it is not of this spark."""
        self._map = None
        self.redraw()

    def redraw(self):
        """Work it out anew, from the page and the map."""
        if not self.page.answered:
            return
        self._follow_unit()
        self.parameters = self.areal = self.cut_off = None
        try:
            self._show(self._measure())
        except Refusal as fault:  # of the burn itself: without it there is nothing to show
            self.answer.value, self.said.value = refusal(str(fault)), ""
        self._advise()

    def _follow_unit(self):
        """Ask for the flat in the page's unit; what was typed stays the same length."""
        display, old, typed = self.page.display, self._display, self.flat.value
        if display != old:
            self._display = display
            kept = None if typed is None else display.length(old.length_mm(typed))
            ends = (display.length(end) for end in _FLAT_MM)
            self.flat.show_as(kept, display.length_unit, *ends)

    @property
    def predicted(self):
        """Predicted roughness Ra [µm], None where there is none."""
        likely = self.page.burn.roughness_Ra_um.likely
        return float(likely) if _SMOOTHEST <= likely <= _ROUGHEST else None

    def _measure(self):
        """Measure the map; return what stands in the way, nothing where it is measured."""
        if self._map is None:
            return _NOTHING
        predicted = self.predicted
        try:
            self._read(*self._map, predicted)
        except Refusal as fault:
            return str(fault)
        return "" if self.parameters else _NOTHING

    def _read(self, heights, pixel, predicted):
        """Read a map as a stylus does; a flat one is left."""
        areal = areal_parameters(level(heights))
        if areal.Sa < _SMOOTHEST * um:
            return
        length = cut_off(predicted * um if predicted else areal.Sa)
        line = stylus_line(heights, pixel, (DEFAULT_SECTIONS + RUN_UP) * length, LINES)
        read = profile_parameters(line.heights, line.spacing, length)
        if read.Ra.min() < _SMOOTHEST * um:
            return
        vdi_class(read.Ra)  # refused here where it has no class
        self.parameters, self.areal, self.cut_off = read, areal, length

    def _show(self, trouble):
        """Show the figures of the map beside the predicted ones, or what stands in the way."""
        burn, display = self.page.burn, self.page.display
        ours = {} if trouble else _simulated(self.parameters, self.areal, display)
        theirs = _predicted(burn, display) if self.predicted else {}
        tiles = [
            tile(title, *figures["Ra"])
            for title, figures in (("Ra simulated", ours), ("Ra predicted", theirs))
            if figures
        ]
        if trouble:
            tiles.append(_note(trouble) if trouble == _NOTHING else refusal(trouble))
        self.answer.value = f'<div class="edm-tiles">{"".join(tiles)}</div>{_table(ours, theirs)}'
        self.said.value = "".join(_note(line) for line in self._sentences())

    def _sentences(self):
        """Return what to say about the figures."""
        lines = [] if self.predicted else [_NO_PREDICTION]
        if self.parameters is None:
            return lines
        if not self._settled:
            lines.append(_NOT_YET)
        elif self.predicted:
            lines.append(_agreement(self.parameters.Ra.mean() / um, self.predicted))
        read = (
            f"The simulated surface is read as a stylus would: {LINES} lines side by side, "
            f"{DEFAULT_SECTIONS} sections of {self.cut_off / mm:g} mm each. The range below Ra is "
            "that of the lines."
        )
        return [*lines, read]

    def _advise(self):
        """Say how to measure the roughness predicted, on the flat that was given."""
        self.advice, self.how.value = None, ""
        if not self.page.answered or self.flat.wrong:
            return
        flat, burn = self.flat.value, self.page.burn
        length = None if flat is None else self._display.length_mm(flat)
        try:
            if not self.predicted:
                return
            radius = float(burn.crater_radius_um.likely)
            self.advice = cut_off_advice(self.predicted, radius, length)
        except Refusal as fault:
            self.how.value = refusal(str(fault))
            return
        lines = "".join(f"<li>{escape(line)}</li>" for line in self.advice.sentences)
        self.how.value = f'<ul class="edm-note">{lines}</ul>'


def _note(text):
    """Return a line of text as HTML."""
    return f'<div class="edm-note">{escape(text)}</div>'


def _classes(Ra):
    """Return class and comparator plate of a roughness [m], as texts."""
    if Ra < _LOWEST_CLASS * um:
        return {"VDI 3400 class": ("finer than 0", "", "")}
    return {
        "VDI 3400 class": (three(vdi_class(Ra)), "", ""),
        "hold against plate": (f"{comparator_plate(Ra)}", "", ""),
    }


def _simulated(lines, areal, display):
    """Return the figures of a map by name, each value, unit and the words below."""
    rough, unit = display.rough, display.rough_unit
    low, high = (three(rough(end / um)) for end in (lines.Ra.min(), lines.Ra.max()))
    values = {name: getattr(lines, name).mean() for name in ("Ra", "Rz", "Rt")}
    values |= {name: getattr(areal, name) for name in ("Sa", "Sq", "Sz")}
    shown = {name: (three(rough(value / um)), unit, "") for name, value in values.items()}
    shown["Ra"] = (*shown["Ra"][:2], f"{LINES} lines: {low} to {high} {unit}")
    return shown | _classes(values["Ra"])


def _predicted(burn, display):
    """Return the figures of a burn by name, each value, unit and the words below."""
    rough, unit = display.rough, display.rough_unit
    found = {"Ra": burn.roughness_Ra_um, "Rz": burn.roughness_Rz_um, "Rt": burn.roughness_Rt_um}
    shown = {
        name: (three(rough(value.likely)), unit, band(value, unit, rough))
        for name, value in found.items()
    }
    return shown | _classes(float(burn.roughness_Ra_um.likely) * um)


def _table(ours, theirs):
    """Return the figures below Ra side by side as an HTML table, those nobody has left out."""
    names = [name for name in _ROWS if name in ours or name in theirs]
    rows = [("", "simulated", "predicted"), *((n, _cell(ours, n), _cell(theirs, n)) for n in names)]
    cells = ("".join(f"<td>{escape(cell)}</td>" for cell in line) for line in rows)
    body = "".join(f"<tr>{line}</tr>" for line in cells)
    return f'<table class="edm-table">{body}</table>' if names else ""


def _cell(figures, name):
    value, unit, below = figures.get(name, ("", "", ""))
    return f"{value} {unit}{', ' if below else ''}{below}".strip()
