"""The steps of page 01 at which a meter is read: how the on-time counts, times, taps, drive."""

from dataclasses import replace
from datetime import date
from html import escape

import ipywidgets as widgets

from edmkit.dials.asked import (
    ask_load,
    ask_tap,
    ask_times,
    ask_volts,
    good_pair,
    times_known,
    usual_current,
)
from edmkit.dials.practice import read
from edmkit.dials.survey import LOAD, SHORT, VOLTS
from edmkit.panels.controls import Pick, html, say, shown, toggle
from edmkit.panels.dial_pictures import (
    electrode_up,
    mean_of_pulses,
    pressed_on_scrap,
    resistor_between,
    two_kinds,
)
from edmkit.panels.dial_plates import PlatesBox
from edmkit.panels.dial_steps import Step, mind, two_columns
from edmkit.panels.load_box import LoadBox
from edmkit.panels.own_book import Fold
from edmkit.panels.readings_grid import ReadingsGrid

_COUNTS = {
    "the voltmeter tells": "",
    "from breakdown": "from breakdown",
    "in a fixed period": "in a fixed period",
}


class ReadingStep(Step):
    """A step at which readings are asked for one by one; ``grids`` by what is read.

    ``plates`` is the fold of what the plates say, None where the step has none.
    """

    rows, plates = "pairs", None

    def make_grids(self, *kinds):
        """Return the grids of these kinds of reading, the buttons below them."""
        self.grids = {what: ReadingsGrid(self._take, what, self.rows) for what in kinds}
        for grid in self.grids.values():
            grid.on_skip(lambda _: self.follow())
        self.undo, self.practise = (
            widgets.Button(description=words, layout={"width": "auto"})
            for words in ("Take the last reading out", "Let the practice machine answer")
        )
        self.undo.on_click(lambda _: self._undo())
        self.practise.on_click(lambda _: self.answer())
        return [*self.grids.values(), widgets.HBox([self.undo, self.practise])]

    @property
    def what(self):
        """What is read now."""
        return next(iter(self.grids))

    @property
    def grid(self):
        """The grid in use."""
        return self.grids[self.what]

    def ask(self):
        """Return the reading asked for, and why."""
        raise NotImplementedError

    def _take(self, value, asked):
        reading = replace(asked, value=value, day=date.today().isoformat())
        self.page.tell(self.page.survey.with_reading(reading))

    def _undo(self):
        own = [r for r in self.page.counting.readings if r.what == self.what]
        if own:
            self.page.tell(self.page.survey.without(own[-1]))

    def answer(self):
        """Take what the invented machine shows for the reading asked for."""
        machine, asked = self.page.practice, self.grid.asked
        if machine is None or asked is None:
            return
        value = read(machine, asked.what, asked.current, asked.on_time, asked.off_time,
                     asked.open_voltage, asked.load_ohm, self.page.dice)  # fmt: skip
        self.grid.field.type(f"{value:.3g}")
        if self.grid.field.complaint:  # too small for its meter
            self.grid.leave_out()

    def follow(self):
        """Show what was read, and ask for the next."""
        for what, grid in self.grids.items():
            shown(grid, what == self.what)
        own = [r for r in self.page.counting.readings if r.what == self.what]
        shown(self.undo, bool(own))
        shown(self.practise, self.page.practice is not None)
        if self.plates is not None and self.plates.content is not None:
            self.plates.content.follow()
        if not self.page.ready:
            return
        asked, why = self.ask()
        self.grid.show(self.page.counting, self.page.dials, asked, why)


class KindStep(ReadingStep):
    """How the on-time counts: the voltmeter with the electrode up."""

    number, title = 2, "How does the on-time count?"

    def parts(self):
        """Return the widgets of the step."""
        self.counts, self.found = toggle(list(_COUNTS), "160px"), html()
        self.counts.observe(lambda _: self._picked(), "value")
        left = widgets.VBox([self.found, *self.make_grids(VOLTS)])
        known = say("If you know it already", "edm-label")
        pictures = html(electrode_up()), html(two_kinds())
        self.plates = Fold("No voltmeter? What the plate says",
                           lambda: PlatesBox(self.page, ("open_voltage_V",)))  # fmt: skip
        right = widgets.VBox([*pictures, known, self.counts, self.plates, mind(2)])
        return [two_columns(left, right)]

    def _picked(self):
        if not self._busy:
            self.page.tell(self.page.survey.told(counts=_COUNTS[self.counts.value]))

    def ask(self):
        """Return the voltage asked for, and why."""
        return ask_volts(self.page.counting, self.grid.skipped)

    def follow(self):
        """Show what the voltmeter says."""
        counts = self.page.survey.counts
        word = next(word for word, kept in _COUNTS.items() if kept == counts)
        self.quietly(lambda: setattr(self.counts, "value", word))
        super().follow()
        self.found.value = found(self.told(self.page), self.page.dials and self.page.dials.kind.why)

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        return page.dials.kind.word if page.dials else ""


def found(word, why):
    """Return what a step found out, large, and why."""
    if not why:
        return ""
    big = f'<div class="edm-big">{escape(word)}</div>' if word else ""
    return f'{big}<div class="edm-note">{escape(why[0].upper() + why[1:])}</div>'


class TimesStep(ReadingStep):
    """The times: the ammeter for on-time by off-time, electrode pressed on scrap."""

    number, title = 4, "What are the times to one another?"

    def parts(self):
        """Return the widgets of the step."""
        self.current = Pick("Read at current position", [("", "")], stacked=True)
        self.current.on_change(lambda: None if self._busy else self.follow())
        self.found = html()
        left = widgets.VBox([self.found, self.current,
                             *self.make_grids(SHORT, LOAD)])  # fmt: skip
        self.current.layout.width = "220px"
        right = widgets.VBox([html(pressed_on_scrap()), html(mean_of_pulses()), mind(4)])
        return [two_columns(left, right)]

    @property
    def what(self):
        """Pressed on scrap, or through a resistor where a short makes the machine cut back."""
        return self.page.pressing

    def ask(self):
        """Return the pair asked for, and why."""
        ohm = self.page.load_ohm
        if self.what == LOAD and ohm is None:
            return None, "say at step 7 which resistor you have"
        return ask_times(self.page.solved, (self.current.value,), self.grid.skipped, ohm)

    def follow(self):
        """Show what is known of the times, and ask for the next pair."""
        survey = self.page.counting
        if self.page.ready:
            labels = survey.peak_current_A
            now = self.current.value
            now = now if now in labels else usual_current(survey)[0]
            self.quietly(lambda: self.current.offer([(x, x) for x in labels], now))
            self.found.value = (
                f'<div class="edm-label">{escape(times_known(self.page.solved))}</div>'
            )
        super().follow()

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        count = sum(r.what in (SHORT, LOAD) for r in page.counting.readings)
        return f"{count} readings of the ammeter" if count else ""


class TapsStep(ReadingStep):
    """The current positions, each read once at a good pair of times."""

    number, title = 6, "What are the current positions worth?"
    rows = "taps"

    def parts(self):
        """Return the widgets of the step."""
        left = widgets.VBox(self.make_grids(SHORT, LOAD))
        self.plates = Fold("What the plates say",
                           lambda: PlatesBox(self.page, ("peak_current_A",)))  # fmt: skip
        return [two_columns(left, widgets.VBox([html(mean_of_pulses()), self.plates, mind(6)]))]

    @property
    def what(self):
        """Pressed on scrap, or through a resistor where a short makes the machine cut back."""
        return self.page.pressing

    def ask(self):
        """Return the position asked for, and why."""
        ohm = self.page.load_ohm
        if self.what == LOAD and ohm is None:
            return None, "say at step 7 which resistor you have"
        dials = self.page.dials
        return ask_tap(dials.survey, dials, self.grid.skipped, ohm)

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        dials = page.dials
        if dials is None:
            return ""
        known = sum(p.how_known == "measured" for p in dials.peak_current_A.positions)
        return f"{known} of {len(dials.peak_current_A.positions)} measured" if known else ""


class DriveStep(ReadingStep):
    """What drives the current: a resistor in the spark's place."""

    number, title = 7, "What drives the current?"
    rows = "taps"

    def parts(self):
        """Return the widgets of the step."""
        self.load = LoadBox(self._sized)
        self.found = html()
        left = widgets.VBox([self.found, *self.make_grids(LOAD)])
        right = widgets.VBox([html(resistor_between()), self.load, mind(7)])
        return [two_columns(left, right)]

    def _sized(self):
        if not self._busy:
            self.page.refresh()

    def ask(self):
        """Return the reading asked for, and why."""
        return ask_load(self.page.counting, self.page.dials, self.load.load_ohm, self.grid.skipped)

    def follow(self):
        """Size the resistor by what is known, ask for a reading through it."""
        if self.page.ready:
            self.quietly(self._size)
        super().follow()
        supply = self.page.dials and self.page.dials.supply
        self.found.value = found(supply.word, supply.why) if supply else ""

    def _size(self):
        """Fill in what the page knows, where nobody has typed anything."""
        dials = self.page.dials
        if any(field.value is not None for name, field in self.load.fields.items()
               if name != "duty"):  # fmt: skip
            return
        label = usual_current(self.page.counting)[0]
        tap = next(p for p in dials.peak_current_A.positions if p.label == label)
        volts = dials.open_voltage_V.positions[0]
        on, off = good_pair(dials)
        on, off = (next(p.value for p in switch.positions if p.label == label) for switch, label
                   in ((dials.on_time_us, on), (dials.off_time_us, off)))  # fmt: skip
        if tap.how_known == "measured" and volts.how_known == "measured":
            self.load.follow(tap.value, on / (on + off), volts.value)

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        return page.dials.supply.word if page.dials else ""
