"""How the hole is flushed: kind, pressure, and what else the flow depends on."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.way import Bench
from edmkit.panels.controls import Number, html
from edmkit.words import Display

_LENGTHS = {"electrode_mm": ("Length of the bore", 1, 1000), "lift_mm": ("Lifts by", 0.01, 500)}


def kept_bench(memory):
    """Return the bench of last time, the usual one where none was kept."""
    kept = memory.values.get("flushing_bench") if memory else None
    try:
        return Bench(**kept)
    except (Refusal, TypeError):
        return Bench()


class BenchControls(widgets.VBox):
    """Kind and pressure of the flushing, length of the bore, height of a lift, temperature.

    ``setup`` is the page's `SetupControls`: kind and pressure move here from there. ``bench`` is
    what stands here; it keeps its own numbers under ``flushing_bench`` of the memory.
    """

    def __init__(self, setup, memory=None):
        self.setup, self.memory, self.display = setup, memory, Display()
        start = kept_bench(memory)
        self.lengths = {
            name: Number(word, word, getattr(start, name), low, high, "mm")
            for name, (word, low, high) in _LENGTHS.items()
        }
        self.oil = Number("Fluid in the tank", "oil_C", start.oil_C, 5, 60, "°C")
        self.said = html()
        moved = (setup.flushing, setup.pressure)
        setup.children = [part for part in setup.children if part not in moved]
        super().__init__([*moved, *self.lengths.values(), self.oil, self.said])

    @property
    def bench(self):
        """What stands here, as a `Bench`; the pressure is that of the set-up."""
        sizes = {name: self.display.length_mm(entry.value) for name, entry in self.lengths.items()}
        return Bench(oil_C=self.oil.value, **sizes)

    @property
    def wrong(self):
        """Whether a number is not one."""
        return any(entry.wrong for entry in (*self.lengths.values(), self.oil))

    def keep(self):
        """Remember the numbers for the next opening."""
        if self.memory:
            bench = self.bench
            names = (*_LENGTHS, "oil_C")
            self.memory.keep(flushing_bench={name: getattr(bench, name) for name in names})

    def show_in(self, display):
        """Show the lengths in mm or in inches; they stay the same."""
        sizes, self.display = {n: getattr(self.bench, n) for n in _LENGTHS}, display
        for name, entry in self.lengths.items():
            ends = (display.length(end) for end in _LENGTHS[name][1:])
            entry.show_as(display.length(sizes[name]), display.length_unit, *ends)

    def on_change(self, callback):
        """Call back when a number has changed."""
        for entry in (*self.lengths.values(), self.oil):
            entry.on_change(callback)
