"""The controls of one spark: where it comes from, how strong, how long, on which metals."""

import ipywidgets as widgets

from edmkit.materials import (
    electrode_material,
    electrode_materials,
    work_material,
    work_materials,
)
from edmkit.panels.circuit_controls import FIRST, CircuitControls
from edmkit.panels.controls import Pick, html, shown, toggle
from edmkit.panels.stepped import Stepped
from edmkit.settings import POLARITIES, Relaxation, Settings, usual_polarity

GENERATOR, CIRCUIT = "Pulse generator", "Relaxation circuit"
_AMPS = (0.5, 0.8, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60)
_TIMES = (2, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60, 80, 100, 120, 160, 200, 250, 300,
          400, 500, 600, 800, 1000)  # fmt: skip
_VOLTS = 100.0  # open voltage: it sets the gap, not the crater
# What stands there at a first opening.
START = {"source": GENERATOR, "peak_current_A": 10, "on_time_us": 100, "work": "52100",
         "electrode": "copper", "polarity": None, "circuit": None}  # fmt: skip


def _named(keys, find):
    return [(find(key).name, key) for key in keys]


def _nearest(choices, wish):
    return min(choices, key=lambda choice: abs(choice - wish) / choice)


class SparkControls(widgets.VBox):
    """What makes the spark; ``values`` are plain, to remember. Polarity follows the pair."""

    def __init__(self, values=START):
        self.source = toggle([GENERATOR, CIRCUIT], "160px")
        self.current = Stepped("Peak current", [(f"{v:g} A", v) for v in _AMPS])
        self.on_time = Stepped("On-time", [(f"{v} µs", v) for v in _TIMES])
        heading = html('<div class="edm-head">Which spark?</div>')
        self.pulse = widgets.VBox([heading, self.current, self.on_time])
        self.pulse.add_class("edm-group")
        self.circuit = CircuitControls()
        self.work = Pick("Work", _named(work_materials(), work_material))
        self.electrode = Pick("Electrode", _named(electrode_materials(), electrode_material))
        self.polarity = Pick("Polarity", [(p.capitalize(), p) for p in POLARITIES])
        metals = widgets.VBox([self.work, self.electrode, self.polarity])
        metals.add_class("edm-group")
        super().__init__([self.source, self.pulse, self.circuit, metals])
        for pick in (self.work, self.electrode):
            pick.on_change(self._preset)
        self.source.observe(lambda _: self._arrange(), "value")
        self.take(values)

    def _preset(self):
        """Take the usual polarity of the pair, and say why."""
        pair = work_material(self.work.value), electrode_material(self.electrode.value)
        usual = usual_polarity(*pair)
        self.polarity.value = usual.polarity
        self.polarity.note(f"Usual here: {usual.polarity}. {usual.reason} ({usual.source})")

    def _arrange(self):
        shown(self.pulse, not self.is_circuit)
        shown(self.circuit, self.is_circuit)

    @property
    def is_circuit(self):
        """Whether the spark comes from a relaxation circuit."""
        return self.source.value == CIRCUIT

    def take(self, values):
        """Stand where these values say; the nearest choice where there is none."""
        values = {**START, **values}
        self.work.value, self.electrode.value = values["work"], values["electrode"]
        self._preset()
        if values["polarity"] is not None:
            self.polarity.value = values["polarity"]
        self.current.set_quietly(_nearest(_AMPS, values["peak_current_A"]))
        self.on_time.set_quietly(_nearest(_TIMES, values["on_time_us"]))
        for stepped in (self.current, self.on_time):
            stepped.show(stepped.text)
        self.circuit.take(Relaxation(**values["circuit"]) if values["circuit"] else FIRST)
        self.source.value = values["source"]
        self._arrange()

    @property
    def values(self):
        """What stands there, as plain values."""
        return {
            "source": self.source.value,
            "peak_current_A": self.current.value,
            "on_time_us": self.on_time.value,
            "work": self.work.value,
            "electrode": self.electrode.value,
            "polarity": self.polarity.value,
            "circuit": self.circuit.values,
        }

    @property
    def settings(self):
        """The spark as settings; half of the time is on-time."""
        if self.is_circuit:
            return self.circuit.circuit
        on_us = float(self.on_time.value)
        return Settings(float(self.current.value), on_us, on_us, _VOLTS)

    @property
    def wrong(self):
        """Whether a number that counts is not one."""
        return self.is_circuit and self.circuit.wrong

    def on_change(self, callback):
        """Call back when anything has changed."""
        for control in (self.current, self.on_time, self.circuit):
            control.on_change(callback)
        for pick in (self.work, self.electrode, self.polarity):
            pick.on_change(callback)
        self.source.observe(lambda _: callback(), "value")
