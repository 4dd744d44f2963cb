"""Two pictures of the spark: its pulses over time, and the crater it leaves, each with a note."""

import ipywidgets as widgets

from edmkit.panels.charging_box import ChargingBox
from edmkit.panels.controls import html, say, shown, toggle
from edmkit.panels.live import LiveFigure
from edmkit.physics.finish import EJECTED_SHARE
from edmkit.plots.crater_section import (
    change_crater_section,
    crater_section,
    crater_section_figure,
)
from edmkit.plots.pulse_train import change_pulse_train, of_100, pulse_train, pulse_train_figure
from edmkit.settings import Relaxation
from edmkit.units import us
from edmkit.words import three, two

SPARKS, KINDS = "spark after spark", "one of each kind"


def choice(options):
    """Return buttons for a choice within a picture, set off from those between pictures."""
    buttons = toggle(options, "172px")
    buttons.layout.margin = "12px 0 4px"
    return buttons


def _about_pulses(point):
    """Return what the picture of the pulses rests on."""
    states = point.states
    shares = (states.normal, states.arcing, states.shorted, states.open)
    spark, arc, short, idle = map(of_100, shares)
    text = (
        f"Of 100 pulses {spark} spark well, {arc} arc, {short} short, {idle} stay open. These "
        "shares and the wait are assumed: they show which way a knob works, not how far. Each "
        "wait is drawn as the mean one; the meters show the mean of all pulses."
    )
    if states.in_fixed_period:
        on_time = three(point.on_time / us)
        text += (
            " This machine counts the on-time from the voltage: waiting and burning share its "
            f"{on_time} µs."
        )
    return text


def _about_crater(section, recast, display):
    """Return what the picture of the crater rests on."""
    low, likely, high = (display.fine(v) for v in (recast.low, recast.likely, recast.high))
    text = (
        "One spark, heat model; no measured crater checks it. Depths count from the old surface. "
        f"{two(100 * EJECTED_SHARE)} % of the melt is taken to be thrown out; the filled part "
        "freezes again. After all sparks of the burn this white layer is likely "
        f"{three(likely)} {section.unit} thick ({two(low)} to {two(high)})."
    )
    if section.undrawn_share > 0:
        text += f" The pool is drawn {two(100 * section.undrawn_share)} % too small."
    return text


class PulsePicture(widgets.VBox):
    """Voltage and current over time; ``figure`` is made when it is first asked for.

    Of a relaxation circuit ``charging`` shows its capacitor.
    """

    def __init__(self, page):
        self.page, self.figure, self.charging = page, None, None
        self.kinds, self.drawing, self.note = choice([SPARKS, KINDS]), widgets.VBox(), html()
        super().__init__([self.kinds, self.drawing, self.note])
        self.kinds.observe(lambda _: self.redraw(fresh=True), "value")

    def redraw(self, fresh=False):
        """Draw the pulses of the page's setting; ``fresh`` fits the axes anew."""
        burn = self.page.hole.burn
        circuit = isinstance(burn.settings, Relaxation)
        for part in (self.kinds, self.drawing):
            shown(part, not circuit)
        if circuit:
            return self._redraw_circuit()
        if self.charging is not None:
            shown(self.charging, False)
        train = pulse_train(burn, self.kinds.value == KINDS)
        if self.figure is None:
            self.figure = LiveFigure(pulse_train_figure(train))
            self.drawing.children = (self.figure,)
        else:
            change_pulse_train(self.figure, train, fresh)
        self.note.value = say(_about_pulses(burn.point)).value

    def _redraw_circuit(self):
        """Draw how the capacitor charges and fires, in place of the pulses."""
        if self.charging is None:
            self.charging = ChargingBox(self.page, cautioned=False)
            self.children += (self.charging,)
        shown(self.charging, True)
        self.note.value = ""
        self.charging.redraw()


class CraterPicture(widgets.VBox):
    """The section of one crater; ``figure`` is made when it is first asked for."""

    def __init__(self, page):
        self.page, self.figure = page, None
        self.note, self.drawing = html(), widgets.VBox()
        super().__init__([self.drawing, self.note])

    def redraw(self):
        """Draw the crater of the page's setting, or say that there is none."""
        section = self._section()
        shown(self.drawing, bool(section.melted))
        if section.melted:
            self._draw(section)
            text = self._about(section)
        else:
            text = "Nothing melts at this setting, so there is no crater. Give more current."
        self.note.value = say(text).value

    def _section(self):
        display = self.page.display
        return crater_section(self.page.hole.burn, display.fine(1.0), display.fine_unit)

    def _about(self, section):
        return _about_crater(section, self.page.hole.burn.recast_um, self.page.display)

    def _draw(self, section):
        if self.figure is None:
            self.figure = LiveFigure(crater_section_figure(section))
            self.drawing.children = (self.figure,)
        else:
            change_crater_section(self.figure, section)
