"""The controls of a relaxation circuit: resistor, capacitor, supply, where the gap fires."""

from dataclasses import asdict

import ipywidgets as widgets
import numpy as np

from edmkit.panels.controls import Number, html
from edmkit.panels.stepped import Stepped
from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE
from edmkit.settings import Relaxation
from edmkit.words import three

_OHM = (1, 2, 5, 10, 15, 22, 33, 47, 68, 100, 150, 220, 330, 470, 680, 1000, 2200, 4700)
CAPACITORS_UF = (0.001, 0.0022, 0.0047, 0.01, 0.022, 0.047, 0.1, 0.22, 0.47, 1, 2.2, 4.7, 10, 22,
                 47, 100, 220, 470)  # fmt: skip
_VOLTS = tuple(range(60, 310, 10))
_BEST = 0.0  # a slider cannot hold None
_SHARES = (0.3, 0.4, 0.5, 0.6, _BEST, 0.8, 0.9, 0.95)
FIRST = Relaxation(100.0, 1.0, 110.0)  # what stands there at a first opening; invented


def _nearest(choices, value):
    return min(choices, key=lambda choice: abs(np.log(choice / value)))


class CircuitControls(widgets.VBox):
    """What a relaxation circuit is made of; ``circuit`` is it as a `Relaxation`."""

    def __init__(self, circuit=FIRST):
        self.resistance = Stepped("Resistor", [(f"{v:g} ohm", v) for v in _OHM])
        self.capacitance = Stepped("Capacitor", [(f"{v:g} µF", v) for v in CAPACITORS_UF])
        self.supply = Stepped("Supply", [(f"{v} V", float(v)) for v in _VOLTS])
        shares = [(f"{100 * s:g} %" if s else "for most power", s) for s in _SHARES]
        self.fires = Stepped("Gap fires at", shares, _BEST, tip="the voltage, of the supply's")
        self.inductance = Number("Leads", "the inductance of the leads", 1.0, 0.001, 1000, "µH")
        heading = html('<div class="edm-head">What is in the circuit?</div>')
        self.rows = (self.resistance, self.capacitance, self.supply, self.fires)
        super().__init__([heading, *self.rows, self.inductance])
        self.add_class("edm-group")
        self.take(circuit)
        self.fires.on_change(self._show_volts)
        self.supply.on_change(self._show_volts)

    def take(self, circuit):
        """Stand at the choices nearest to a circuit; nobody is called back."""
        self.resistance.set_quietly(_nearest(_OHM, circuit.resistance_ohm))
        self.capacitance.set_quietly(_nearest(CAPACITORS_UF, circuit.capacitance_uF))
        self.supply.set_quietly(float(_nearest(_VOLTS, circuit.supply_V)))
        fires = circuit.breakdown_V
        share = _BEST if fires is None else _nearest([s for s in _SHARES if s],
                                                     fires / circuit.supply_V)  # fmt: skip
        self.fires.set_quietly(share)
        self.inductance.show_as(circuit.inductance_uH, "µH", 0.001, 1000)
        self._show_volts()

    def _show_volts(self):
        volts = self.supply.value * (self.fires.value or BEST_BREAKDOWN_SHARE)
        self.fires.show(f"{three(volts)} V, {self.fires.text}")

    @property
    def wrong(self):
        """Whether what is typed is not a number."""
        return self.inductance.wrong

    @property
    def circuit(self):
        """What stands there."""
        share = self.fires.value
        return Relaxation(
            self.resistance.value,
            self.capacitance.value,
            self.supply.value,
            self.inductance.value,
            share * self.supply.value if share else None,
        )

    @property
    def values(self):
        """What stands there as plain values, to remember."""
        return asdict(self.circuit)

    def on_change(self, callback):
        """Call back when anything has changed."""
        for control in (*self.rows, self.inductance):
            control.on_change(callback)
