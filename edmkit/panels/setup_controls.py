"""What seldom changes: work, electrode, polarity, fluid, flushing."""

import ipywidgets as widgets

from edmkit.materials import (
    dielectric,
    dielectrics,
    electrode_material,
    electrode_materials,
    work_material,
    work_materials,
)
from edmkit.panels.controls import Number, Pick
from edmkit.settings import FLUSHING_KINDS, FLUSHING_QUALITIES, POLARITIES, usual_polarity


def _named(keys, find):
    return [(find(key).name, key) for key in keys]


class SetupControls(widgets.VBox):
    """The set-up; ``values`` are the fields of `Job`. Polarity follows the pair until changed."""

    def __init__(self, job):
        self.work = Pick("Work", _named(work_materials(), work_material), job.work)
        tools = _named(electrode_materials(), electrode_material)
        self.electrode = Pick("Electrode", tools, job.electrode)
        self.polarity = Pick("Polarity", [(p.capitalize(), p) for p in POLARITIES])
        self.fluid = Pick("Fluid", _named(dielectrics(), dielectric), job.fluid)
        self.flushing = Pick("Flushing", FLUSHING_KINDS, job.flushing)
        self.quality = Pick("It flushes", FLUSHING_QUALITIES, job.quality)
        self.pressure = Number("Its pressure", "pressure_kPa", job.pressure_kPa, 0.1, 1000, "kPa",
                               "usual")  # fmt: skip
        self.picks = {
            name: getattr(self, name)
            for name in ("work", "electrode", "polarity", "fluid", "flushing", "quality")
        }
        super().__init__([*self.picks.values(), self.pressure])
        for pick in (self.work, self.electrode):
            pick.on_change(self._preset)
        self.take(job)

    def _preset(self):
        """Take the usual polarity of the pair, and say why."""
        work, tool = work_material(self.work.value), electrode_material(self.electrode.value)
        usual = usual_polarity(work, tool)
        self.polarity.value = usual.polarity
        self.polarity.note(f"Usual here: {usual.polarity}. {usual.reason} ({usual.source})")

    def take(self, job):
        """Set the controls to a job."""
        for name, pick in self.picks.items():
            if name != "polarity":
                pick.value = getattr(job, name)
        self.pressure.value = job.pressure_kPa
        self._preset()
        if job.polarity is not None:
            self.polarity.value = job.polarity

    @property
    def values(self):
        """The set-up as fields of a `Job`."""
        picked = {name: pick.value for name, pick in self.picks.items()}
        return {**picked, "pressure_kPa": self.pressure.value}

    @property
    def wrong(self):
        """Whether the pressure is not a number."""
        return self.pressure.wrong

    @property
    def summary(self):
        """The set-up in one line."""
        work, tool = work_material(self.work.value), electrode_material(self.electrode.value)
        return f"{work.name}; {tool.name.lower()}, {self.polarity.value}"

    def on_change(self, callback):
        """Call back when anything has changed."""
        for pick in self.picks.values():
            pick.on_change(callback)
        self.pressure.on_change(callback)
