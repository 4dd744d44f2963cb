"""The columns of the trial book: what each is called, its unit, its limits."""

from dataclasses import dataclass

from edmkit.settings import (
    FLUSHING_KINDS,
    FLUSHING_QUALITIES,
    LIMITS,
    POLARITIES,
    RELAXATION_LIMITS,
)
from edmkit.trials.measured import LENGTH_KINDS

NORMAL = "as usual"
STATES = (NORMAL, "flushing blocked", "dirty fluid", "new batch of work", "something else lasting")
STAGES = ("", "test", "rough", "finish", "square the floor", "pip")
LOST = ("", "arc", "blocked", "short", "dressing", "fluid level", "other")
ANSWERS = ("", "yes", "no")


@dataclass(frozen=True)
class Column:
    """One column. A column with ``low`` is a number; with ``how``, a measured one; else text."""

    name: str
    words: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple = ()
    how: tuple = ()


def _dialled(name, words):
    low, high, unit = LIMITS[name]
    return Column(name, words, unit, low, high)


def _part(name, words):
    low, high, unit = RELAXATION_LIMITS[name]
    return Column(name, words, unit, low, high)


def _mm(name, words, low=0.0, high=1000.0, how=()):
    return Column(name, words, "mm", low, high, how=how)


COLUMNS = (
    # which burn
    Column("burned_at", "date and time"),
    Column("operator", "operator"),
    Column("job", "job"),
    Column("part", "part"),
    Column("feature", "feature"),
    Column("burn", "burn"),
    Column("stage", "pass", choices=STAGES),
    Column("state", "state that lasts", choices=STATES),
    Column("remark", "remark"),
    # on what, with what
    Column("machine", "machine"),
    Column("work", "work material"),
    Column("hardness_HRC", "hardness", "HRC", 0.0, 75.0),
    Column("temper_C", "tempered at", "°C", 0.0, 800.0),
    Column("electrode", "electrode material"),
    Column("electrode_id", "electrode"),
    Column("polarity", "polarity", choices=POLARITIES),
    Column("fluid", "fluid"),
    Column("flushing", "flushing", choices=FLUSHING_KINDS),
    Column("flushing_quality", "how well it flushes", choices=FLUSHING_QUALITIES),
    Column("flushing_pressure_kPa", "pressure or suction", "kPa", 0.1, 1000.0),
    _mm("flow_reversed_at_mm", "flow reversed at depth"),
    Column("fluid_C", "fluid temperature", "°C", 0.0, 80.0),
    _mm("fluid_level_mm", "fluid above the work"),
    Column("filter_h", "hours on the filter", "h", 0.0, 100_000.0),
    # what was dialled
    _dialled("peak_current_A", "peak current"),
    _dialled("on_time_us", "on-time"),
    _dialled("off_time_us", "off-time"),
    _dialled("open_voltage_V", "open voltage"),
    _dialled("gap_front_um", "gap in front, set"),
    _dialled("servo_voltage_V", "servo voltage"),
    _dialled("lift_burn_s", "burning between lifts"),
    _dialled("lift_up_s", "head up"),
    _part("resistance_ohm", "charging resistor"),
    _part("capacitance_uF", "capacitor"),
    _part("supply_V", "supply of the circuit"),
    _part("inductance_uH", "inductance of the leads"),
    _part("breakdown_V", "voltage at which the gap fires"),
    Column("dialled", "positions as engraved"),
    Column("low_current_A", "low current at first", "A", *LIMITS["peak_current_A"][:2]),
    _mm("low_until_mm", "low current until depth"),
    # the hole and the electrode
    Column("shape", "shape"),
    Column("face", "face"),
    _mm("offset_mm", "offset", -1000.0),
    _mm("target_size_mm", "size wanted", 0.01),
    _mm("target_depth_mm", "depth wanted", 0.001),
    _mm("bore_mm", "bore through the electrode"),
    _mm("orbit_mm", "orbit, radius", 0.0, 100.0),
    Column("engaged_area_mm2", "engaged area", "mm²", 1e-4, 1e6),
    Column("engaged_rim_mm", "engaged rim", "mm", 0.01, 1e5),
    Column("section_mm2", "section of the electrode", "mm²", 1e-4, 1e6),
    Column("volume_mm3", "work removed", "mm³", 1e-6, 1e7),
    Column("touch", "touched off by and where"),
    _mm("stop_mm", "depth stop set, from touch", 0.001),
    # what was measured
    _mm("electrode_size_mm", "electrode measured", 0.01, how=LENGTH_KINDS),
    _mm("hole_size_mm", "hole came out", 0.01, how=LENGTH_KINDS),
    _mm("floor_size_mm", "hole at the floor", 0.01, how=LENGTH_KINDS),
    _mm("depth_mm", "depth got", 0.001,
        how=("dial", "micrometer", "caliper", "as planned", "memory")),
    _mm("length_before_mm", "electrode length before", 0.01, how=("micrometer", "caliper", "dial")),
    _mm("length_after_mm", "electrode length after", 0.01, how=("micrometer", "caliper", "dial")),
    _mm("end_wear_mm", "off the electrode's length", 0.0,
        how=("micrometer", "caliper", "dial", "no wear I can see", "memory")),
    Column("minutes", "minutes, lifts in and stops out", "min", 0.01, 100_000.0,
           how=("watch", "memory")),
    Column("roughness_Ra_um", "roughness Ra", "µm", 0.01, 100.0,
           how=("stylus", "comparator plate")),
    Column("roughness_Rz_um", "roughness Rz", "µm", 0.05, 1000.0, how=("stylus",)),
    Column("recast_um", "recast layer", "µm", 0.1, 1000.0, how=("microscope",)),
    Column("average_current_A", "ammeter", "A", 0.001, 500.0, how=("meter",)),
    Column("mean_voltage_V", "voltmeter", "V", 0.1, 400.0, how=("meter",)),
    _mm("corner_before_mm", "corner radius before", 0.0, 100.0, how=("microscope", "caliper")),
    _mm("corner_after_mm", "corner radius after", 0.0, 100.0, how=("microscope", "caliper")),
    _mm("pip_mm", "pip left", 0.0, 100.0, how=("micrometer", "caliper", "dial")),
    _mm("wall_mm", "wall left", 0.0, 1000.0, how=("micrometer", "caliper")),
    # the rest
    _mm("dressed_off_mm", "dressed off before", 0.0, 1000.0),
    Column("lost_min", "minutes lost", "min", 0.0, 100_000.0),
    Column("lost_reason", "lost through", choices=LOST),
    Column("pits", "pits", choices=ANSWERS),
    Column("passed", "passed", choices=ANSWERS),
)  # fmt: skip
BY_NAME = {column.name: column for column in COLUMNS}
MEASURED = tuple(column.name for column in COLUMNS if column.how)
NUMBERS = tuple(c.name for c in COLUMNS if c.low is not None and not c.how)
TEXTS = tuple(c.name for c in COLUMNS if c.low is None)
LONGEST = 2000  # letters of one text
