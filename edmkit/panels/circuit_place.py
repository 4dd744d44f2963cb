"""Where the controls of a relaxation circuit stand on a page: made when first wanted."""

import ipywidgets as widgets

from edmkit.panels.charging_box import caution
from edmkit.panels.circuit_controls import FIRST, CircuitControls
from edmkit.panels.controls import html, shown
from edmkit.settings import Relaxation

OFFERED = "a relaxation circuit: resistor and capacitor"


class CircuitPlace(widgets.VBox):
    """The controls of a circuit with their caution; ``in_use`` says whether the page burns so."""

    def __init__(self, callback):
        self.controls, self.in_use = None, False
        self._callback, self._caution = callback, html()
        super().__init__()

    def use(self, yes, parts=None):
        """Show the controls or take them away; ``parts`` are what they stand at, by name."""
        self.in_use = yes
        shown(self, yes)
        if not yes:
            return
        if self.controls is None:
            self.controls = CircuitControls(FIRST)
            self.controls.on_change(self._changed)
            self.children = (self.controls, self._caution)
        if parts is not None:
            self.controls.take(Relaxation(**parts))
        self._say()

    def _changed(self):
        self._say()
        self._callback()

    def _say(self):
        self._caution.value = caution(self.controls.circuit)

    @property
    def values(self):
        """The parts by name, None where the page burns with a pulse generator."""
        return self.controls.values if self.in_use else None

    @property
    def wrong(self):
        """Whether a number of the circuit in use is not one."""
        return self.in_use and self.controls.wrong

    @property
    def words(self):
        """The circuit in a line."""
        c = self.controls
        return ", ".join(row.text for row in (c.resistance, c.capacitance, c.supply))
