"""Reading the meters: type what voltmeter, ammeter and dial show, and get the word for it."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.meter_reading import DIALS, read_meters
from edmkit.flushing.meter_words import UNSURE, ask_next
from edmkit.panels.controls import Number, Pick, html, refusal
from edmkit.panels.flat_scales import flat_scale
from edmkit.plots.scale import steady
from edmkit.words import three

_FIELDS = {"voltmeter_V": ("Voltmeter", 1000, "V"), "ammeter_A": ("Ammeter", 2000, "A")}
_NONE = "not looked at"
_ASK = "Type what the voltmeter and the ammeter show while it burns, not in a lift."


def _hundred(share):
    """Return a share as pulses in a hundred, in fives: finer it is not known."""
    return f"{5 * round(20 * share):d}"


def _table(shares):
    """Return the shares of the kinds as rows of a table."""
    rows = "".join(
        f"<tr><td>{kind}</td><td><b>{_hundred(likely)}</b></td>"
        f"<td>{_hundred(low)} to {_hundred(high)}</td></tr>"
        for kind, (low, likely, high) in shares.items()
    )
    head = "<tr><td>Of 100 pulses</td><td>likely</td><td>it may be</td></tr>"
    return f'<table class="edm-table">{head}{rows}</table>'


def _answer(reading):
    """Return a reading as HTML: the word, what to do, then what it rests on."""
    knob, later, asks = "", "", ask_next(reading)
    if reading.knobs:
        first, *rest = (knob.do[0].lower() + knob.do[1:] for knob in reading.knobs)
        knob = f"Then one knob: {first}, so that {reading.knobs[0].reason}."
        later = f"If that is not enough, one at a time: {'; '.join(rest)}." if rest else ""
    elif reading.verdict == UNSURE:
        knob, asks = asks, ""
    notes = "".join(f'<div class="edm-note">{escape(line)}</div>' for line in (later, asks) if line)
    word = reading.verdict[0].upper() + reading.verdict[1:]
    return (
        f'<div class="edm-big">{escape(word)}</div><div class="edm-label">{escape(reading.why)}'
        f'</div><div class="edm-label"><b>{escape(reading.check)}</b> {escape(knob)}</div>'
        f"{_table(reading.shares)}{notes}"
    )


class MetersBox(widgets.VBox):
    """Two meters and the dial, and what they say of the pulses.

    ``page`` gives ``hole`` and whether it is ``answered``.
    """

    def __init__(self, page):
        self.page = page
        self.fields = {
            name: Number(label, label, None, 0, high, unit, empty="not read", stacked=True)
            for name, (label, high, unit) in _FIELDS.items()
        }
        options = [(_NONE, ""), *((dial, dial) for dial in DIALS)]
        self.dial = Pick("The dial is", options, stacked=True)
        self.scales, self.answer = html(), html()
        fields = widgets.HBox([*self.fields.values(), self.dial],
                              layout={"flex_flow": "row wrap", "grid_gap": "0 14px"})  # fmt: skip
        wrong = [field.message for field in self.fields.values()]
        super().__init__([fields, *wrong, self.scales, self.answer])
        for control in (*self.fields.values(), self.dial):
            control.on_change(self.redraw)
        self.redraw()

    def redraw(self):
        """Read the meters anew at the page's setting."""
        if not self.page.answered:
            self.scales.value = self.answer.value = ""
            return
        typed = {name: field.value for name, field in self.fields.items()}
        if any(field.wrong for field in self.fields.values()):
            self.answer.value = ""
            return
        self.scales.value = self._scales(typed)
        self.answer.value = self._answer(typed)

    def _scales(self, typed):
        """Return both meters as flat scales, with what is expected here."""
        burn = self.page.hole.burn
        tops = {"voltmeter_V": burn.point.open_voltage, "ammeter_A": burn.point.spark_current}
        likely = {"voltmeter_V": burn.mean_voltage_V, "ammeter_A": burn.average_current_A}
        drawn = "".join(
            flat_scale(f"{label}, {unit}", typed[name], steady(float(tops[name])), unit,
                       [(float(likely[name].likely), f"expected {three(likely[name].likely)}")])
            for name, (label, _, unit) in _FIELDS.items()
        )  # fmt: skip
        return f'<div style="display:flex;flex-wrap:wrap;gap:4px 18px">{drawn}</div>'

    def _answer(self, typed):
        if all(value is None for value in typed.values()):
            return f'<div class="edm-note">{_ASK}</div>'
        try:
            return _answer(read_meters(self.page.hole.burn, **typed, dial=self.dial.value or None))
        except Refusal as wrong:
            said = str(wrong)
            for name, (label, _, _) in _FIELDS.items():
                said = said.replace(name, label)
            return refusal(said)
