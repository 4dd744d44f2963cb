"""The questions before the first spark: once a job and a day, again when something changes."""

from html import escape
from typing import ClassVar

from edmkit.panels.controls import html
from edmkit.panels.plan_group import Group
from edmkit.panels.plan_job import ANSWERS, PlanJob, today
from edmkit.planning.safety import FLUID_OVER_SPARK_MM

_ANEW = (
    "Asked again: the answers were for another day, job, fluid, height or attendance. Look, and "
    "tick what is true now. "
)


class GateGroup(Group):
    """The gate before the first spark; a change of what it rests on takes its answers back."""

    QUESTION = "Before the first spark"
    NUMBERS: ClassVar = {
        "level_over_spark": ("Fluid over spark", 0, 2000, "mm", "measure"),
        "least_level": ("Least, by manual", FLUID_OVER_SPARK_MM[0], 1000, "mm", None),
        "litres": ("Fluid in all", 1, 100_000, "L", "-"),
        "tank_area_cm2": ("Tank surface", 10, 1_000_000, "cm²", None),
        "suction_l_per_min": ("Suction draws", 0, 1000, "L/min", None),
    }
    TICKS: ClassVar = {
        "attended": "Somebody stays at the machine while it burns",
        "float_stops": "Float pushed down: the machine stopped",
        "thermostat_stops": "Thermostat turned down: the machine stopped",
        "automatic_extinguisher": "An extinguisher goes off by itself",
        "gas_leaves_part": "Gas can leave from under and inside the part",
        "gas_leaves_electrode": "Gas can leave the hollow electrode",
        "current_off_before_lowering": "The current goes off before the fluid is lowered",
        "earth_checked": "The earth is checked, and the path from part to table",
        "suction_returns": "What is drawn off runs back into the tank",
    }
    ROWS = (("level_over_spark", "least_level", "litres", "tank_area_cm2", "suction_l_per_min"),)

    def __init__(self, job):
        self._missing, self._settling, self._bored = html(), True, False
        super().__init__(job)
        self._adopt(job)
        self._settling = False
        self._settle()

    def _arranged(self):
        return [*super()._arranged(), self._missing]

    def arrange(self):
        """Ask only what this job needs, and take answers back that no longer hold."""
        left_alone, litres = not self.ticks["attended"].value, self.numbers["litres"].value
        drawn = litres is not None and self.numbers["suction_l_per_min"].value > 0
        self.show_only(
            float_stops=left_alone, thermostat_stops=left_alone,
            automatic_extinguisher=left_alone, gas_leaves_electrode=self._bored,
            tank_area_cm2=litres is not None, suction_l_per_min=litres is not None,
            suction_returns=drawn,
        )  # fmt: skip
        self._settle()

    def for_job(self, name, fluid, bored):
        """Follow the job on the page; another job, fluid or day asks again.

        Parameters
        ----------
        name, fluid : str
            Name of the job; key of the fluid.
        bored : bool
            Whether an electrode is hollow.
        """
        self._context, self._bored = (name, fluid), bored
        self.arrange()

    def take(self, job):
        """Set the answers to those of a job."""
        self._settling = True
        super().take(job)
        self._adopt(job)
        self._settling = False
        self.arrange()

    def _adopt(self, job):
        self._context, self._note = (job.name, job.fluid), ""
        self._since = (job.gate_day, *self._context) if job.gate_day else None
        self._answered_for, self._day = None, job.gate_day

    @property
    def values(self):
        """The answers as fields of a job, with their day."""
        return {**super().values, "gate_day": self._day}

    @property
    def missing(self):
        """What is still wrong or unsaid, as sentences."""
        return self._gate().missing(self._bored)

    def _gate(self):
        return PlanJob(**{**self.values, "fluid": self._context[1]}).gate()

    def _settle(self):
        """Take the answers back if what they were given for has changed; say what is missing."""
        if self._settling:
            return
        since, now = (today(), *self._context), self._circumstances()
        if self._since not in (None, since):
            self._take_back(*ANSWERS)
            self.fill(level_over_spark=None)
        elif self._answered_for not in (None, now):
            self._take_back(*(name for name in ANSWERS if name != "attended"))
        self._since, self._day, missing = since, today(), self.missing
        if not missing:
            self._answered_for, self._note = now, ""
        said = escape(self._note + _still(missing))
        self._missing.value = f'<div class="edm-label">{said}</div>'

    def _circumstances(self):
        """Height of the fluid and attendance: a change of either asks again."""
        height = super().values["level_over_spark"]
        return None if height is None else round(height, 3), self.ticks["attended"].value

    def _take_back(self, *names):
        self._settling, self._answered_for = True, None
        for name in names:
            if self.ticks[name].value:
                self._note, self.ticks[name].value = _ANEW, False
        self._settling = False


def _still(missing):
    """Return in a sentence what is missing: the first thing in full."""
    if not missing:
        return "Answered for today: the card can be printed."
    more = f" And {len(missing) - 1} more before the card can be printed." * (len(missing) > 1)
    return missing[0] + more
