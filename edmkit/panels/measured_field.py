"""A measured number on a page: what it is, how it was measured, a second end where it has one."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Number, layout, shown
from edmkit.physics.finish import class_roughness, vdi_class
from edmkit.trials.columns import BY_NAME
from edmkit.trials.measured import KINDS, Measured
from edmkit.units import um

PLATE, UNSEEN = "comparator plate", "no wear I can see"
_CLASSES = (0.0, 60.0)
_HALF_PLATE = 1.5  # plates stand three classes apart: a match lies half of that either side


class MeasuredField(widgets.VBox):
    """A number, the way of measuring and, for pins and plates, a second end.

    ``value`` is what a `Trial` takes, None where nothing is typed. Plates are typed as VDI 3400
    classes; one plate alone means that it matches.
    """

    def __init__(self, column, label):
        self.column, self._callbacks = BY_NAME[column], []
        self._mm, self._factor = self.column.unit == "mm", 1.0
        how = self.column.how
        self.how = widgets.Dropdown(
            options=how,
            description=f"how {label} was measured",
            style={"description_width": "0px"},
            layout=layout(width="100%", margin="0"),
        )
        low, high = self.column.low, self.column.high
        self.first = Number(label, label, None, low, high, self.column.unit, "-", stacked=True)
        self.second = Number("to", "to", None, low, high, self.column.unit, "-", stacked=True)
        numbers = widgets.HBox([self.first, self.second], layout=layout(grid_gap="6px"))
        super().__init__([numbers, self.how, self.first.message, self.second.message])
        self.how.observe(lambda _: self._kind_changed(), "value")
        for entry in (self.first, self.second):
            entry.on_change(self._changed)
        shown(self.second, False)

    def on_change(self, callback):
        """Call back when the number, its end or the way of measuring has changed."""
        self._callbacks.append(callback)

    def _changed(self):
        for callback in self._callbacks:
            callback()

    def _kind_changed(self):
        kind = self.how.value
        shown(self.second, KINDS[kind].two_ends and kind != UNSEEN)
        words = {PLATE: ("smoother plate", "rougher plate"), "pin go and no-go": ("goes", "no-go")}
        first, second = words.get(kind, (self.column.words, "to"))
        self.first.rename(first[0].upper() + first[1:])
        self.second.rename(second)
        self._show_unit()
        self._changed()

    def _show_unit(self):
        """Give both fields the unit and the limits of the kind, and empty them."""
        low, high, unit = self.column.low, self.column.high, self.column.unit
        if self.how.value == PLATE:
            low, high, unit = *_CLASSES, "class"
        elif self._mm:
            low, high, unit = low / self._factor, high / self._factor, self._unit
        for entry in (self.first, self.second):
            entry.show_as(None, unit, low, high)

    def show_in(self, display):
        """Show lengths in mm or in inches; what was typed stays the same length."""
        if not self._mm:
            return
        kept = [v and v * self._factor for v in (self.first.value, self.second.value)]
        self._factor, self._unit = display.length_mm(1.0), display.length_unit
        low, high = (v / self._factor for v in (self.column.low, self.column.high))
        for entry, value in zip((self.first, self.second), kept, strict=True):
            entry.show_as(value and value / self._factor, self._unit, low, high)

    _unit = "mm"

    @property
    def wrong(self):
        """Whether what is typed is not a number."""
        return self.first.wrong or (self.second.wrong and self.second.layout.display != "none")

    @property
    def value(self):
        """The `Measured` value, None where nothing is typed."""
        kind, first, second = self.how.value, self.first.value, self.second.value
        if kind == UNSEEN:
            return Measured(0.0, kind)
        if first is None:
            return None
        if kind == PLATE:
            return Measured(*self._plates(first, second))
        if KINDS[kind].two_ends and second is None:
            raise Refusal(f"{self.column.words} needs two ends, {self.first.name.lower()} and "
                          f"{self.second.name}, got one: type the other.")  # fmt: skip
        factor = self._factor if self._mm else 1.0
        ends = () if not KINDS[kind].two_ends else (second * factor,)
        return Measured(first * factor, kind, *ends)

    @staticmethod
    def _plates(first, second):
        """Return Ra of two plates [µm] and the kind between them, as `Measured` takes them."""
        if second is None:
            first, second = first - _HALF_PLATE, first + _HALF_PLATE
        low, high = (float(class_roughness(c)) / um for c in (first, second))
        return low, PLATE, high

    def take(self, measured):
        """Show a measured value, or nothing.

        Parameters
        ----------
        measured : Measured or None
            What a `Trial` holds.
        """
        self.clear()
        if measured is None:
            return
        self.how.value = measured.how
        factor = self._factor if self._mm else 1.0
        ends = [measured.value / factor, None if measured.to is None else measured.to / factor]
        if measured.how == PLATE:
            ends = [float(vdi_class(end * um)) for end in ends]
        if measured.how != UNSEEN:
            self.first.value, self.second.value = ends

    def clear(self):
        """Empty the numbers; the way of measuring stays."""
        for entry in (self.first, self.second):
            entry.value = None
        if self.how.value == UNSEEN:
            self.how.value = self.column.how[0]
