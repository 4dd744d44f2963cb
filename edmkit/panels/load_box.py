"""The resistor in place of the spark, sized; and whether the machine is a relaxation circuit."""

from html import escape

import ipywidgets as widgets

from edmkit.cautions import STAYS_CHARGED
from edmkit.checks import Refusal
from edmkit.dials.load_sizing import (
    NOT_PUT_TOGETHER,
    READING_S,
    STANDS,
    WHY,
    own_resistor,
    size_load,
)
from edmkit.dials.relaxation_signs import (
    NOT_THIS_FILE,
    RELAXATION,
    SIGNS,
    is_relaxation,
    relaxation_means,
)
from edmkit.panels.controls import Number, html, label_of, refusal, say, shown, toggle
from edmkit.words import three, two

_ROW = {"flex_flow": "row wrap", "grid_gap": "0 14px"}
_ASK = "Give the amps of the position, the duty and the open voltage."


def _fields(rows):
    """Return numbers to type, by name."""
    return {
        name: Number(label, label, value, low, high, unit, "-", stacked=True)
        for name, label, value, low, high, unit in rows
    }


def _watch(sentences):
    return "".join(f'<div class="edm-watch">{escape(line)}</div>' for line in sentences)


def _sums(advice, amps, duty):
    """Return the heat as a hand sum, and what the ammeter is going to show."""
    ohm, (least, most) = three(advice.ohm), advice.ammeter_A
    lines = (
        f"Across it: {three(amps)} A × {ohm} ohm = {three(advice.drop_V[1])} V, where the current "
        f"does not fall; {three(advice.drop_V[0])} V where a resistor in the machine limits it.",
        f"While the pulse is on: {three(amps)} A × {three(amps)} A × {ohm} ohm = "
        f"{three(advice.watts_on)} W.",
        f"On average: {three(advice.watts_on)} W × {three(100 * duty)} % = "
        f"{three(advice.watts_mean)} W. Ask for twice that; and full on for {READING_S} s must not "
        f"burn it, which takes {three(advice.watts_on / STANDS)} W.",
        f"The ammeter is going to show {two(least)} to {two(most)} A.",
    )
    body = "".join(f'<div class="edm-note">{escape(line)}</div>' for line in (WHY, *lines))
    return f"<details><summary>Why, and the heat by hand</summary>{body}</details>"


class LoadBox(widgets.VBox):
    """Amps, duty and open voltage in; the resistor to put between electrode and work out.

    ``advice`` is the last one, None where there is none; ``load_ohm`` the ohms in use: what the
    person typed, or the advice.
    """

    def __init__(self, on_change=None):
        self.advice, self._callback = None, on_change
        self.fields = _fields(
            (
                ("amps", "Amps, pressed", None, 0.05, 500, "A"),
                ("duty", "On of on + off", 50.0, 0.2, 100, "%"),
                ("volts", "Open voltage", None, 30, 400, "V"),
            )
        )
        self.in_use = Number("Resistor in use", "the resistor", None, 0.05, 1000, "ohm", "advised")
        self.answer, self.own = html(), html()
        wrong = [field.message for field in self.fields.values()]
        typed = widgets.HBox(list(self.fields.values()), layout=_ROW)
        super().__init__([typed, *wrong, self.answer, self.in_use, self.own])
        for field in (*self.fields.values(), self.in_use):
            field.on_change(self._changed)
        self.redraw()

    @property
    def load_ohm(self):
        """Ohms in use, None where neither typed nor advised."""
        if self.in_use.wrong:
            return None
        return self.in_use.value or (self.advice.ohm if self.advice else None)

    def follow(self, short_amps=None, duty=None, open_voltage_V=None):
        """Fill in what the page knows; None leaves what stands there."""
        values = (short_amps, None if duty is None else 100 * duty, open_voltage_V)
        for field, value in zip(self.fields.values(), values, strict=True):
            if value is not None:
                field.type(f"{value:.3g}")

    def _changed(self):
        self.redraw()
        if self._callback is not None:
            self._callback()

    def redraw(self):
        """Size the resistor anew."""
        amps, percent, volts = (field.value for field in self.fields.values())
        self.advice, self.own.value = None, ""
        if any(field.wrong for field in self.fields.values()):
            self.answer.value = ""
        elif None in (amps, percent, volts):
            self.answer.value = f'<div class="edm-note">{_ASK}</div>'
        else:
            self._advise(amps, percent / 100, volts)

    def _advise(self, amps, duty, volts):
        try:
            self.advice = size_load(amps, duty, volts)
        except Refusal as fault:
            self.answer.value = refusal(str(fault))
            return
        if not self.in_use.wrong and self.in_use.value is not None:
            said = own_resistor(self.in_use.value, amps, duty, volts)
            self.own.value = f'<div class="edm-label">{escape(said)}</div>'
        made = self.advice.pieces.sentence if self.advice.pieces else NOT_PUT_TOGETHER
        self.answer.value = (
            f'<div class="edm-big">{three(self.advice.ohm)} ohm, '
            f"{three(self.advice.watts_to_ask)} W</div>"
            f'<div class="edm-label">{escape(made[0].upper() + made[1:])}</div>'
            f"{_watch(self.advice.warnings)}{_sums(self.advice, amps, duty)}"
        )


class RelaxationBox(widgets.VBox):
    """Is it a relaxation circuit? Signs to answer; for one, what its capacitors do.

    ``verdict`` is of `is_relaxation`; ``means`` of `relaxation_means`, None without numbers.
    """

    def __init__(self, on_change=None):
        self._callback, self.means = on_change, None
        options = (("not looked at", None), ("yes", True), ("no", False))
        self.signs = {name: toggle(options, "130px", None) for name in SIGNS}
        self.said, self.answer = html(), html()
        self.fields = _fields(
            (
                ("resistance", "Resistor", None, 0.1, 100_000, "ohm"),
                ("capacitance", "Capacitors", None, 0.001, 100_000, "µF"),
                ("supply", "Supply", None, 2, 1000, "V"),
            )
        )
        rows = [part for name, buttons in self.signs.items()
                for part in (label_of(SIGNS[name].ask), buttons)]  # fmt: skip
        wrong = [field.message for field in self.fields.values()]
        typed = widgets.HBox(list(self.fields.values()), layout=_ROW)
        told = [say(NOT_THIS_FILE), html(_watch([STAYS_CHARGED]))]
        self.circuit = widgets.VBox([*told, typed, *wrong, self.answer])
        super().__init__([*rows, self.said, self.circuit])
        for buttons in self.signs.values():
            buttons.observe(lambda _: self._changed(), "value")
        for field in self.fields.values():
            field.on_change(self._changed)
        self.redraw()

    def _changed(self):
        self.redraw()
        if self._callback is not None:
            self._callback()

    @property
    def verdict(self):
        """What the signs say."""
        return is_relaxation({name: buttons.value for name, buttons in self.signs.items()})

    def redraw(self):
        """Say what the signs mean, and of a relaxation circuit what it stores."""
        found = self.verdict
        word = found.word[0].upper() + found.word[1:]
        ask = f'<div class="edm-label"><b>{escape(found.ask)}</b></div>' if found.ask else ""
        self.said.value = (
            f'<div class="edm-big">{escape(word)}</div>'
            f'<div class="edm-label">{escape(found.why)}</div>{ask}'
        )
        shown(self.circuit, found.word == RELAXATION)
        self._describe()

    def _describe(self):
        values = [field.value for field in self.fields.values()]
        self.means, self.answer.value = None, ""
        if None in values or any(field.wrong for field in self.fields.values()):
            return
        try:
            self.means = relaxation_means(*values)
        except Refusal as fault:
            self.answer.value = refusal(str(fault))
            return
        bleed = self.means.bleed
        self.answer.value = (
            f'<div class="edm-label">{escape(self.means.sentence)}</div>'
            f"{_watch((f'Left in the capacitors: {bleed.danger}', bleed.take))}"
        )
