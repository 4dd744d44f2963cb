"""What must be answered before the first spark, and the cautions that one job picks."""

from dataclasses import dataclass
from datetime import date

from edmkit.cautions import STAYS_CHARGED
from edmkit.checks import Refusal, require
from edmkit.planning.insert import InsertTube
from edmkit.planning.safety import (
    FLUID_OVER_SPARK_MM,
    LEAST_LEVEL_MM,
    Bath,
    bath_warming_K,
    level_fall_mm,
)
from edmkit.planning.shapes import Tube
from edmkit.settings import Relaxation
from edmkit.words import Display, three, two

MOST_CAUTIONS = 3  # more are not read; house rule
_WARM_K = 15.0  # warming that is worth a word; assumption
_THIN_WALL_MM = 1.0  # a wall that can get hot or bend; assumption
_MILLIMETRES = Display()

_STOPS = {
    "float_stops": "a float pushed down has not stopped it: test the float",
    "thermostat_stops": "a thermostat turned below the fluid's temperature has not stopped it: "
    "test the thermostat",
    "automatic_extinguisher": "no extinguisher goes off by itself: fit one",
}
_CHECKS = {
    "gas_leaves_part": "Gas must be able to leave from under and inside the part: turn it, or "
    "raise it on blocks.",
    "current_off_before_lowering": "The current goes off before the fluid is lowered, every time: "
    "say that it does.",
    "earth_checked": "The earth of the machine and the path from part to table must be checked: "
    "measure them and look at the clamps.",
}
_GAS_IN_BORE = (
    "Gas must be able to leave the hollow electrode: let suction or pressure carry it off, or "
    "drill a small hole at its upper end."
)


@dataclass(frozen=True)
class Gate:
    """What a man answered before the first spark; an answer left out counts as no.

    Parameters
    ----------
    day : str
        Date of the answers, such as '2025-03-14'.
    fluid : str
        Key of the fluid in the tank, as `dielectric` knows it.
    level_over_spark_mm : float or None
        Fluid above the highest point that sparks, measured [mm].
    attended : bool
        Whether somebody stays at the machine; if not, the three that follow must be yes.
    float_stops, thermostat_stops, automatic_extinguisher : bool
        Low level and warm fluid each stopped the machine when tried; fire is put out by itself.
    gas_leaves_part, gas_leaves_electrode : bool
        Gas cannot gather; the second only matters where an electrode is hollow.
    current_off_before_lowering, earth_checked : bool
        The current goes off before the fluid is lowered; the earth path was checked.
    bath : Bath or None
        For the level's fall and the warming in numbers.
    least_level_mm : float
        What the machine's manual asks for; at least the written workshop rule [mm].
    """

    day: str = ""
    fluid: str = ""
    level_over_spark_mm: float | None = None
    attended: bool = False
    float_stops: bool = False
    thermostat_stops: bool = False
    automatic_extinguisher: bool = False
    gas_leaves_part: bool = False
    gas_leaves_electrode: bool = False
    current_off_before_lowering: bool = False
    earth_checked: bool = False
    bath: Bath | None = None
    least_level_mm: float = LEAST_LEVEL_MM

    def __post_init__(self):
        if self.day:
            _require_day(self.day)
        require("least_level_mm", self.least_level_mm, FLUID_OVER_SPARK_MM[0], 1000, "mm",
                knob="take the figure of the machine's manual")  # fmt: skip
        if self.level_over_spark_mm is not None:
            require("level_over_spark_mm", self.level_over_spark_mm, 0, 2000, "mm",
                    knob="measure it with a rule")  # fmt: skip

    def missing(self, bored=False):
        """Return what is still wrong or unsaid, as sentences; empty where the gate is open.

        Parameters
        ----------
        bored : bool
            Whether an electrode is hollow.
        """
        said = [] if self.day else ["Say the day: the answers hold for one day."]
        if not self.fluid:
            said.append("Say which fluid is in the tank.")
        said += self._level()
        if self.attended is not True:
            stops = [words for name, words in _STOPS.items() if getattr(self, name) is not True]
            said += [f"Nobody stays at the machine, and {words}, or stay." for words in stops]
        said += [words for name, words in _CHECKS.items() if getattr(self, name) is not True]
        if bored and self.gas_leaves_electrode is not True:
            said.append(_GAS_IN_BORE)
        return tuple(said)

    def _level(self):
        if self.level_over_spark_mm is None:
            return ["Measure how high the fluid stands over the spark, and type it in mm."]
        if self.level_over_spark_mm < self.least_level_mm:
            return [
                f"The fluid stands {self.level_over_spark_mm:g} mm over the spark and "
                f"{self.least_level_mm:g} mm at least are wanted: fill up."
            ]
        return []

    def open(self, bored=False):
        """Return whether every answer is given and none is wrong.

        Parameters
        ----------
        bored : bool
            Whether an electrode is hollow.
        """
        return not self.missing(bored)

    def holds_for(self, day, fluid, level_over_spark_mm, attended):
        """Return whether the answers still hold: same day, fluid, height and attendance.

        Parameters
        ----------
        day, fluid : str
            As they are now.
        level_over_spark_mm : float
            As it is now [mm].
        attended : bool
            Whether somebody stays at the machine now.
        """
        now = (day, fluid, level_over_spark_mm, attended)
        return now == (self.day, self.fluid, self.level_over_spark_mm, self.attended)


def _require_day(day):
    try:
        date.fromisoformat(day)
    except (TypeError, ValueError):
        raise Refusal(f"day must be a date such as 2025-03-14, got {day!r}.") from None


def is_bored(pass_):
    """Return whether gas can gather in the electrode of a pass.

    Parameters
    ----------
    pass_ : Pass
        One pass of a plan.
    """
    return bool(pass_.bore_mm) or isinstance(pass_.electrode, (Tube, InsertTube))


def time_text(minutes):
    """Return a time with two digits, in hours from four on.

    Parameters
    ----------
    minutes : float
        The time [min].
    """
    return f"{two(minutes)} min" if not minutes >= 240 else f"{two(minutes / 60)} h"


def warming_at_most_K(plan, bath):
    """Return the most that the hottest of the passes can warm the fluid [K].

    Parameters
    ----------
    plan : Plan
        Its passes; of each the high ends of current, voltage and minutes are taken.
    bath : Bath
        The fluid.
    """
    return max(
        bath_warming_K(
            float(p.burn.average_current_A.high) * float(p.burn.mean_voltage_V.high),
            float(p.minutes.high), bath.litres, plan.setup.dielectric,
        )
        for p in plan.passes
    )  # fmt: skip


def _is_circuit(p):
    return isinstance(p.settings, Relaxation)


def cautions_for(plan, gate, display=_MILLIMETRES):
    """Return the cautions that this job picks, the gravest first, three at most.

    Parameters
    ----------
    plan : Plan
        The job.
    gate : Gate
        What was answered.
    display : Display
        Millimetres or inches.
    """
    bath = () if gate.bath is None else (_falls(plan, gate, display), _warms(plan, gate))
    charged = any(map(_is_circuit, plan.passes))
    found = (
        STAYS_CHARGED if charged else "",
        *_of_materials(plan),
        *_of_fire(plan, gate),
        *bath,
        *_of_burning(plan, gate, display),
    )
    picked = tuple(words for words in found if words)[:MOST_CAUTIONS]
    return picked or ("Never touch the electrode or its holder while the generator is on.",)


def _of_materials(plan):
    flags = plan.passes[0].burn.flags
    if plan.setup.work.family == "titanium alloy":  # from memory
        yield ("Titanium chips and dry sludge burn, and water or CO₂ feeds that fire: keep the "
               "sludge under oil and have dry powder for metal fires at hand.")  # fmt: skip
    if flags["toxic_work"]:  # safety data, from memory
        yield ("Dust, fume and sludge of this work are poisonous: extraction on, gloves, and the "
               "safety sheet first.")  # fmt: skip
    if plan.setup.dielectric.kind == "water":  # trade page on water as a fluid
        yield "In water the spark makes hydrogen and oxygen, which explode: extraction on."


def _of_fire(plan, gate):
    if plan.passes[0].burn.flags["low_flash_point"]:  # a city's fire ordinance, article 11-2
        yield ("This fluid catches fire below 70 °C: change it, watch its temperature, and never "
               "leave the machine.")  # fmt: skip
    if gate.attended is not True:  # fire ordinance; insurers' recommendation RC29
        longest = time_text(float(plan.schedule.longest_burn.high))
        yield (f"Nobody stays: float, thermostat and extinguisher live and complete. The longest "
               f"burn may take {longest}.")  # fmt: skip


def _falls(plan, gate, display):
    """Return the caution of a level that falls too low in the longest burn, or nothing."""
    bath, longest = gate.bath, float(plan.schedule.longest_burn.high)
    rate = level_fall_mm(bath.suction_l_per_min, 1.0, bath.tank_area_cm2, bath.returns)
    spare = gate.level_over_spark_mm - gate.least_level_mm
    if rate * longest <= spare:
        return ""
    least = display.size_text(gate.least_level_mm, 1.0)
    return (
        f"Suction lowers the fluid {display.size_text(rate, 0.1)} a minute: after "
        f"{time_text(spare / rate)} only {least} stand over the spark. Top up before, or lead it "
        "back into the tank."
    )


def _warms(plan, gate):
    warming = warming_at_most_K(plan, gate.bath)
    if not warming > _WARM_K:
        return ""
    return (
        f"The sparks alone can warm the fluid by up to {three(warming)} °C in one burn: watch the "
        "thermometer and let it cool."
    )


def _of_burning(plan, gate, display):
    first = plan.passes[0].ramp
    if any(is_bored(p) for p in plan.passes):  # trade magazine page, May 2014; bore: from memory
        yield "Gas gathers in the hollow electrode and under the part: keep its way out open."
    if _is_circuit(plan.passes[0]):
        yield first.sentence(display)
    elif not first.borne:
        yield ("The area decides, not the switch: lowest current position, long off-time, quick "
               "short lifts.")  # fmt: skip
    if not first.ring and len(first.steps) > 1:
        rise = display.size_text(first.steps[1].depth_mm, first.resolution_mm)
        yield (f"The end first touches on a small patch: stay at current position "
               f"{first.steps[0].label} until {rise} below first touch.")  # fmt: skip
    yield plan.warming.sentence if plan.warming is not None else ""
    if plan.wall is not None and plan.wall.wall_mm < _THIN_WALL_MM:
        left = display.size_text(plan.wall.wall_mm, 0.01)
        thin = f"Only {left} of wall stay: low current near the end, fluid on the outside too."
        yield plan.wall.sentence or thin
    if gate.bath is None and plan.setup.flushing.kind == "suction":  # common practice
        yield "Suction can draw the level down: look at it again after five minutes."
