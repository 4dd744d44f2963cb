"""Meter readings typed in one at a time, beside a table of all that were taken."""

import re
import time
from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.survey import LOAD, SHORT, VOLTS
from edmkit.panels.controls import Number, Pick, html, layout, say, shown
from edmkit.panels.readings_table import pairs_table, taps_table
from edmkit.settings import LIMITS

# A click on a button first takes what was typed, and the two may arrive in either order: within
# this time of each other the second of them was not meant for the pair it finds.
PATIENCE_S = 0.5
_HOW = {
    SHORT: ("Press the electrode on scrap.", "The ammeter shows"),
    VOLTS: ("Electrode up, clear of the work.", "The voltmeter shows"),
    LOAD: ("Electrode up; {ohm:g} ohm between electrode and work.", "The ammeter shows"),
}
_PICKS = {"on_time": ("on_time_us", "On-time"), "off_time": ("off_time_us", "Off-time"),
          "current": ("peak_current_A", "Current"),
          "open_voltage": ("open_voltage_V", "Open voltage")}  # fmt: skip
_APART = {"grid_gap": "6px 14px", "flex_flow": "row wrap"}
_CHOSEN = "Chosen by you."
_COMMA = re.compile(r"\d*,\d{1,2}")  # with three digits after it, it may part thousands


class _Shown(Number):
    """A number as a meter shows it; a comma may stand for the point."""

    def _read(self, text):
        return super()._read(text.replace(",", ".") if _COMMA.fullmatch(text) else text)

    def empty(self):
        """Show nothing; nobody is called back."""
        self.show_as(None, self.unit, *self.limits)

    def focus(self):
        """Put the writing mark into the field."""
        self._text.focus()


def _note(text):
    return f'<div class="edm-note">{escape(text)}</div>' if text else ""


def _labels(survey, field, reading):
    """Return what may be picked for a field of a reading: (shown, value) pairs."""
    labels = survey.labels(_PICKS[field][0])
    if field != "current":
        return [(label, label) for label in labels]
    several = [reading.current] if len(reading.current) > 1 else []
    return [(" + ".join(group), group) for group in [*((label,) for label in labels), *several]]


def _where(survey, reading):
    """Return where the switches are to stand, in words."""
    parts = [f"on-time {reading.on_time}", f"off-time {reading.off_time}"]
    parts += [f"current {' + '.join(reading.current)}"] if reading.current else []
    parts += [f"open voltage {reading.open_voltage}"] if len(survey.open_voltage_V) > 1 else []
    return ", ".join(parts)


class ReadingsGrid(widgets.VBox):
    """One reading asked for at a time; Enter takes it. Any other pair may be picked.

    ``take(value, asked)`` is called with what was typed; a `Refusal` it raises is shown beside
    the field. ``what`` is read, see `edmkit.dials.survey.WHAT`; ``rows`` of the table are "pairs"
    of times or "taps" of the current. ``skipped`` holds what the person left out.
    """

    def __init__(self, take, what, rows="pairs"):
        self._take, self.what, self._taps = take, what, rows == "taps"
        self.survey, self.dials, self.asked, self._last, self._before = None, None, None, None, None
        self.skipped, self._callbacks, self._busy = (), [], False
        self._taken_at = self._pressed_at = -PATIENCE_S
        unit = "V" if what == VOLTS else "A"
        most = LIMITS["open_voltage_V" if what == VOLTS else "peak_current_A"][1]
        self.field = _Shown(_HOW[what][1], "the reading", None, 0, most, unit,
                            empty="", stacked=True)  # fmt: skip
        self.question, self.why, self.note, self.table = html(), html(), html(), html()
        self.skip, self.again = (
            widgets.Button(description=words, layout={"width": "auto"})  # each may be hidden
            for words in ("Skip this one", "Read the last one again")
        )
        self.picks = {field: Pick(word, [], stacked=True) for field, (_, word) in _PICKS.items()}
        self._asking = widgets.VBox([
            self.question, self.field, self.field.message, self.note, self.why,
            widgets.HBox([self.skip, self.again], layout=_APART),
        ])  # fmt: skip
        picks = widgets.HBox(list(self.picks.values()), layout=_APART)
        self._choose = widgets.VBox([say("Or take another one:"), picks])
        left = widgets.VBox([self._asking, self._choose], layout=layout(flex="1 1 320px"))
        self._right = widgets.VBox([self.table], layout=layout(flex="2 1 500px", min_width="0"))
        super().__init__([widgets.HBox([left, self._right],
                         layout=layout(flex_flow="row wrap", grid_gap="10px 24px"))])  # fmt: skip
        self.field.on_change(self._typed)
        self.skip.on_click(lambda _: self._skipped())
        self.again.on_click(lambda _: self._again())
        for pick in self.picks.values():
            pick.on_change(self._picked)

    def on_skip(self, callback):
        """Call back with what was skipped; the page then shows the next one."""
        self._callbacks.append(callback)

    def show(self, survey, dials, asked, why=""):
        """Show what was taken, and ask for a reading.

        Parameters
        ----------
        survey : Survey
            With the readings so far.
        dials : Dials or None
            What they come to; None before anything is known.
        asked : Reading or None
            Where the switches are to stand, its value not yet known; None where enough is read.
        why : str
            Why this one, or why no more.
        """
        self.survey, self.dials = survey, dials
        self._ask(asked, why)

    def _ask(self, asked, why):
        if asked is None or self.asked is None or not _same(asked, self.asked):
            self.field.empty()  # what was refused was typed for another pair
        self.asked, self._last = asked, asked or self._last
        self.question.value = self._question()
        self.why.value = _note(why)
        for part in (self.field, self.skip):
            shown(part, asked is not None)
        shown(self.again, self._before is not None)
        shown(self._choose, self._last is not None)
        self._set_picks()
        table = taps_table if self._taps else pairs_table
        self.table.value = table(self.survey, self.dials, self.what, asked, self.skipped)

    def _question(self):
        if self.asked is None:
            return '<div class="edm-value">No more readings are needed here.</div>'
        where = _where(self.survey, self.asked)
        how = _HOW[self.what][0].format(ohm=self.asked.load_ohm or 0)
        return (
            f'<div class="edm-big">{escape(where[0].upper() + where[1:])}</div>'
            f'<div class="edm-label">{how} Enter takes the number.</div>'
        )

    def _set_picks(self):
        if self._last is None:
            return
        self._busy = True
        for field, pick in self.picks.items():
            options = _labels(self.survey, field, self._last)
            value = getattr(self._last, field)
            seen = len(options) > 1 and value in [value for _, value in options]
            shown(pick, seen)
            if seen:
                pick.offer(options, value)
        self._busy = False

    def _picked(self):
        if self._busy:
            return
        changed = {f: p.value for f, p in self.picks.items() if p.layout.display != "none"}
        self._ask(replace(self._last, **changed), _CHOSEN)

    def _typed(self):
        value, asked = self.field.value, self.asked
        if self.field.wrong or value is None or asked is None:
            return
        if time.monotonic() - self._pressed_at < PATIENCE_S:
            self._say(f"{value:g} {self.field.unit} came with the press of a button and was not "
                      "taken: type it again where it belongs.")  # fmt: skip
            self.field.empty()
            return
        try:
            self._take(value, asked)
        except Refusal as wrong:
            self.field.complain(str(wrong))
            return
        finally:
            self._taken_at = time.monotonic()
        self._before = asked
        self.skipped = tuple(one for one in self.skipped if not _same(one, asked))
        self.field.empty()
        self._say(f"Taken: {value:g} {self.field.unit} at {_where(self.survey, asked)}.")
        shown(self.again, True)
        self.field.focus()

    def _say(self, text):
        self.note.value = _note(text)

    def _skipped(self):
        if self.asked is not None and self._pressed():
            self.leave_out()

    def leave_out(self):
        """Leave out the reading asked for; the page then asks for another."""
        asked = self.asked
        self.skipped = (*(one for one in self.skipped if not _same(one, asked)), asked)
        self._say(f"Skipped: {_where(self.survey, asked)}.")
        self.field.empty()
        for callback in self._callbacks:
            callback(asked)
        self.field.focus()

    def _pressed(self):
        """Return whether a press of a button counts; the note says what was taken if not."""
        now = time.monotonic()
        if now - self._taken_at < PATIENCE_S:
            return False
        self._pressed_at = now
        return True

    def _again(self):
        if not self._pressed():
            return
        self._say("")
        self._ask(self._before, "Read a second time: both readings count.")
        self.field.focus()


def _same(one, other):
    """Return whether two readings were taken with all switches alike."""
    return replace(one, value=0.0, day="") == replace(other, value=0.0, day="")
