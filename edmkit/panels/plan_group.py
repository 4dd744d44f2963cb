"""A group of controls under a question: its numbers, picks and ticks are fields of a job."""

from typing import ClassVar

import ipywidgets as widgets

from edmkit.panels.controls import Number, Pick, html, layout, shown
from edmkit.words import Display

_COLUMNS = "repeat(auto-fill, minmax(106px, 1fr))"


class Tick(widgets.Checkbox):
    """A sentence that is true or not."""

    def __init__(self, sentence, value):
        own = widgets.Layout(width="100%", margin="0")  # it is hidden by itself
        super().__init__(value, description=sentence, indent=False, layout=own)
        self.add_class("edm-tick")

    def on_change(self, callback):
        """Call back when it was ticked or cleared."""
        self.observe(lambda _: callback(), "value")


class Group(widgets.VBox):
    """Controls under a question; ``values`` are the fields of a job, lengths in mm.

    A kind of group says what it holds, by field: ``NUMBERS`` (label, low, high, unit, what an
    empty field says or None), ``PICKS`` (label, options) and ``TICKS`` (sentence). Numbers of mm
    and of µm (roughness) follow the units of the page.
    """

    QUESTION = ""
    NUMBERS: ClassVar = {}
    PICKS: ClassVar = {}
    TICKS: ClassVar = {}
    ROWS = ()  # names, as they stand on the page; ticks stand below
    WIDE = ()  # picks with long words: two columns wide

    def __init__(self, job):
        self.display, self.hole, self._complaints = Display(), None, html()
        self.limits = {name: (low, high) for name, (_, low, high, _, _) in self.NUMBERS.items()}
        self.numbers = {
            name: Number(label, label, getattr(job, name), low, high, unit, empty, stacked=True)
            for name, (label, low, high, unit, empty) in self.NUMBERS.items()
        }
        self.picks = {
            name: Pick(label, options, getattr(job, name), stacked=True)
            for name, (label, options) in self.PICKS.items()
        }
        self.ticks = {name: Tick(said, getattr(job, name)) for name, said in self.TICKS.items()}
        self.controls = {**self.numbers, **self.picks, **self.ticks}
        super().__init__(self._arranged())
        self.add_class("edm-group")
        self.on_change(self._changed)
        self.arrange()

    def _arranged(self):
        for name in self.WIDE:  # grid_column is lost in the browser beside an empty grid_area
            self.controls[name].layout = widgets.Layout(grid_area="auto / span 2")
        heading = html(f'<div class="edm-head">{self.QUESTION}</div>')
        rows = [self._row([self.controls[name] for name in names]) for names in self.ROWS]
        return [heading, *rows, self._complaints, *self.ticks.values()]

    @staticmethod
    def _row(controls):
        return widgets.GridBox(
            controls,
            layout=layout(grid_template_columns=_COLUMNS, grid_gap="4px 8px",
                          align_items="flex-end", margin="0 0 6px"),
        )  # fmt: skip

    def _changed(self):
        self.arrange()
        self._complain()

    def _complain(self):
        self._complaints.value = "".join(number.complaint for number in self.numbers.values())

    def for_hole(self, hole):
        """Follow the hole on the page.

        Parameters
        ----------
        hole : Group
            The group of the hole.
        """
        self.hole = hole
        self.arrange()

    def arrange(self):
        """Show what applies and hide the rest."""

    def show_only(self, **wanted):
        """Show or hide controls by name; a wrong number goes back to the last good one."""
        for name, yes in wanted.items():
            control = self.controls[name]
            shown(control, yes)
            if not yes and name in self.numbers and control.wrong:
                control.show_as(control.value, control.unit, *control.limits)

    @property
    def wrong(self):
        """Whether a number is not one."""
        return any(number.wrong for number in self.numbers.values())

    @property
    def values(self):
        """What stands on the controls, as fields of a job."""
        found = {name: control.value for name, control in self.controls.items()}
        for name in self.numbers:
            if found[name] is not None:
                found[name] = found[name] / self._factor(name)[0]
        return found

    def take(self, job):
        """Set the controls to a job."""
        for name, control in {**self.picks, **self.ticks}.items():
            control.value = getattr(job, name)
        self.fill(**{name: getattr(job, name) for name in self.numbers})
        self.arrange()

    def show_in(self, display):
        """Show lengths in mm or in inches; they stay the same."""
        values, self.display = self.values, display
        self.fill(**{name: values[name] for name in self.numbers})

    def fill(self, **values):
        """Put numbers into the fields, in mm; nobody is called back."""
        for name, value in values.items():
            factor, unit = self._factor(name)
            low, high = (limit * factor for limit in self.limits[name])
            self.numbers[name].show_as(None if value is None else value * factor, unit, low, high)
        self._complain()

    def _factor(self, name):
        """Return how many of the shown unit are one of the field's unit, and the shown unit."""
        unit, display = self.NUMBERS[name][3], self.display
        if unit == "mm":
            return display.length(1.0), display.length_unit
        if unit == "µm":
            return display.rough(1.0), display.rough_unit
        return 1.0, unit

    def on_change(self, callback):
        """Call back when anything has changed."""
        for control in self.controls.values():
            control.on_change(callback)
