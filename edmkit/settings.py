"""What a person picks and dials: the set-up, the settings, the flushing."""

from dataclasses import dataclass, fields

import numpy as np

from edmkit.checks import Refusal, one_of, require

# Limits of what a die-sinking machine can be asked for; read by checks and by sliders alike.
# Upper ends: 0-500 A, 0-1000 us, 50-300 V (trade page on setting ranges), widened for old machines.
LIMITS = {
    "peak_current_A": (0.05, 500.0, "A"),
    "on_time_us": (0.1, 10_000.0, "µs"),
    "off_time_us": (0.1, 10_000.0, "µs"),
    "open_voltage_V": (30.0, 400.0, "V"),
    "gap_front_um": (1.0, 500.0, "µm"),
    "servo_voltage_V": (1.0, 400.0, "V"),
    "lift_burn_s": (0.05, 120.0, "s"),
    "lift_up_s": (0.0, 120.0, "s"),
}
KNOBS = {
    "peak_current_A": "give the peak current in amps",
    "on_time_us": "give the on-time in microseconds, not in seconds",
    "off_time_us": "give the off-time in microseconds, not in seconds",
    "open_voltage_V": "give the voltage of the open gap in volts",
    "gap_front_um": "give the working gap in micrometres",
    "servo_voltage_V": "give what the voltmeter shows while burning, in volts",
    "lift_burn_s": "give the seconds of burning between two lifts",
    "lift_up_s": "give the seconds the head is up",
}
POLARITIES = ("electrode positive", "electrode negative")
FLUSHING_KINDS = ("suction", "pressure", "side jet", "lift only")
FLUSHING_QUALITIES = ("good", "fair", "poor", "blocked")


def _number(name, value, limits=LIMITS, knobs=KNOBS):
    """Return a checked float, or a read-only float array."""
    low, high, unit = limits[name]
    array = require(name, value, low, high, unit, knob=knobs[name])
    if array.ndim == 0:
        return float(array)
    array = array.copy() if array is value else array
    array.flags.writeable = False
    return array


@dataclass(frozen=True)
class Settings:
    """What the operator dials; any number may be an array, all broadcast together.

    ``gap_front_um`` and ``servo_voltage_V`` are two ways to say one gap: giving both is refused,
    giving neither leaves the gap that follows from the open voltage. With a machine in the
    set-up, ``peak_current_A`` is the value of its current switch, as the machine file means it.
    """

    peak_current_A: float
    on_time_us: float
    off_time_us: float
    open_voltage_V: float = 120.0
    gap_front_um: float | None = None
    servo_voltage_V: float | None = None
    lift_burn_s: float | None = None
    lift_up_s: float | None = None

    def __post_init__(self):
        for field in fields(self):
            value = getattr(self, field.name)
            if value is not None or field.default is not None:
                object.__setattr__(self, field.name, _number(field.name, value))
        if self.gap_front_um is not None and self.servo_voltage_V is not None:
            gap, volts = np.asarray(self.gap_front_um).flat[0], np.asarray(self.servo_voltage_V)
            raise Refusal(
                "gap_front_um and servo_voltage_V say the same gap twice, got "
                f"{gap:g} µm and {volts.flat[0]:g} V: leave one of them out."
            )
        if (self.lift_burn_s is None) != (self.lift_up_s is None):
            raise Refusal(
                "lift_burn_s and lift_up_s belong together, got "
                f"{self.lift_burn_s} s and {self.lift_up_s} s: give both or neither."
            )
        try:
            object.__setattr__(self, "shape", np.broadcast_shapes(*map(np.shape, self.numbers)))
        except ValueError:
            shapes = ", ".join(str(np.shape(n)) for n in self.numbers)
            raise Refusal(f"the settings must broadcast together, got shapes {shapes}.") from None

    @property
    def numbers(self):
        """The values that are given, in the order of the fields."""
        return [v for f in fields(self) if (v := getattr(self, f.name)) is not None]

    @property
    def burn_share(self):
        """Share of the clock that is spent burning, 1 without a lift timer [-]."""
        if self.lift_burn_s is None:
            return 1.0
        return self.lift_burn_s / (self.lift_burn_s + self.lift_up_s)


RELAXATION_LIMITS = {
    "resistance_ohm": (0.1, 100_000.0, "ohm"),
    "capacitance_uF": (1e-6, 10_000.0, "µF"),
    "supply_V": (30.0, 400.0, "V"),
    "inductance_uH": (0.001, 1000.0, "µH"),
    "breakdown_V": (5.0, 400.0, "V"),
}


@dataclass(frozen=True)
class Relaxation:
    """A relaxation circuit: a capacitor charged through a resistor, dumped by each spark.

    ``breakdown_V`` is the voltage at which the gap fires; None takes the one of best mean power,
    0.715 of the supply. Goes wherever `Settings` goes; all scalars.
    """

    resistance_ohm: float
    capacitance_uF: float
    supply_V: float
    inductance_uH: float = 1.0
    breakdown_V: float | None = None

    # what it has not got, as `Settings` says it: no annotations, so they are no fields
    shape = ()
    burn_share = 1.0
    gap_front_um = servo_voltage_V = lift_burn_s = lift_up_s = None

    def __post_init__(self):
        for field in fields(self):
            value = getattr(self, field.name)
            if value is None and field.default is None:
                continue
            low, high, unit = RELAXATION_LIMITS[field.name]
            checked = require(field.name, value, low, high, unit, knob="give one number")
            if checked.ndim:
                raise Refusal(f"{field.name} must be one number, got {checked.size} of them.")
            object.__setattr__(self, field.name, float(checked))
        if self.breakdown_V is not None and self.breakdown_V >= self.supply_V:
            raise Refusal(
                f"breakdown_V must be below the supply of {self.supply_V:g} V, "
                f"got {self.breakdown_V:g} V: set a smaller gap."
            )


def refuse_circuit(settings, what):
    """Refuse a relaxation circuit where only a pulse generator has an answer.

    Parameters
    ----------
    settings : Settings, Relaxation or None
        What was given.
    what : str
        What it is asked for: 'the pulses of a gap'.

    Raises
    ------
    Refusal
        If it is a relaxation circuit.
    """
    if isinstance(settings, Relaxation):
        raise Refusal(
            f"settings must be Settings for {what}, got a relaxation circuit: it has no switches "
            "for current and times."
        )


@dataclass(frozen=True)
class Flushing:
    """How fluid reaches the gap: the kind, how well it does, and what is known of it.

    ``quality`` is a judgement at the machine: good, fair, poor or blocked. ``deep_blind`` says
    that the hole is deep and nothing flows through it: the current limit is halved then.
    ``debris`` is the debris in the gap over its limit where it was worked out from the flow; it
    then takes the place of the quality. It may be an array.
    """

    kind: str
    quality: str = "fair"
    pressure_kPa: float | None = None
    bore_mm: float | None = None
    deep_blind: bool = False
    debris: float | None = None

    def __post_init__(self):
        one_of("flushing", self.kind, FLUSHING_KINDS)
        one_of("flushing quality", self.quality, FLUSHING_QUALITIES)
        if self.pressure_kPa is not None:
            require("pressure_kPa", self.pressure_kPa, 0.1, 1000, "kPa", knob="give kilopascals")
        if self.bore_mm is not None:
            require("bore_mm", self.bore_mm, 0.05, 100, "mm", knob="give the bore in millimetres")
        if self.debris is not None:
            require("debris", self.debris, 1e-6, 100, knob="0.5 is fair flushing")


@dataclass(frozen=True)
class UsualPolarity:
    """The polarity a pair of metals is usually burned with, and why."""

    polarity: str
    reason: str
    source: str


def usual_polarity(work, electrode):
    """Return the usual polarity for a work material and an electrode, with reason and source.

    Parameters
    ----------
    work, electrode : Material
        From ``work_material`` and ``electrode_material``.

    Returns
    -------
    UsualPolarity

    Notes
    -----
    Named by the sign of the electrode; books disagree on what 'normal' polarity means.
    """
    metal = work.name.split(",")[0]
    if work.is_steel:
        graphite = electrode.family == "graphite"
        return UsualPolarity(
            "electrode positive",
            f"On steel, {electrode.name.split(',')[0].lower()} wears least as the positive "
            "electrode, with pulses of 20 µs and more.",
            "vocational text on wear against on-time" if graphite else "from memory, unverified",
        )
    sign = "positive" if work.family in ("aluminium alloy", "nickel superalloy") else "negative"
    return UsualPolarity(
        f"electrode {sign}",
        f"{metal} is usually burned with the electrode {sign}.",
        "from memory, unverified",
    )


_SETUP_LIMITS = {
    "engaged_area_mm2": (1e-4, 1e6, "mm²"),
    "engaged_rim_mm": (0.01, 1e5, "mm"),
}
_SETUP_KNOBS = {
    "engaged_area_mm2": "give the area of the electrode that faces the work, in mm²",
    "engaged_rim_mm": "give the length of its edge, in mm",
}


@dataclass(frozen=True)
class Setup:
    """The work, the electrode, the fluid and how they stand to each other.

    ``engaged_area_mm2`` is the area of the electrode's end that faces the work, and
    ``engaged_rim_mm`` the length of its edge; None takes the rim of a circle of that area.
    ``machine`` is the only place of the machine; None is a pulse generator whose on-time counts
    from breakdown and which can be set to any value.
    """

    work: object
    electrode: object
    dielectric: object
    polarity: str
    engaged_area_mm2: float
    engaged_rim_mm: float | None = None
    flushing: object = "suction"
    machine: object = None

    def __post_init__(self):
        one_of("polarity", self.polarity, POLARITIES)
        for name, maker in (
            ("work", "work_material('52100')"),
            ("electrode", "electrode_material('copper')"),
            ("dielectric", "dielectric('edm_oil')"),
        ):
            if not hasattr(getattr(self, name), "key"):
                raise Refusal(
                    f"{name} must be a material, got {getattr(self, name)!r}: write ek.{maker}."
                )
        for name, roles in (("work", self.work.roles), ("electrode", self.electrode.roles)):
            if name not in roles:
                raise Refusal(
                    f"{name} must be a material that serves as {name}, got "
                    f"{getattr(self, name).name!r}: pick another."
                )
        if not isinstance(self.flushing, Flushing):
            object.__setattr__(self, "flushing", Flushing(self.flushing))
        if self.machine is not None and not hasattr(self.machine, "on_time_counts"):
            raise Refusal(
                f"machine must be a machine or None, got {self.machine!r}: write "
                "ek.read_machine(path)."
            )
        for name in _SETUP_LIMITS:
            if name == "engaged_area_mm2" or self.engaged_rim_mm is not None:
                value = _number(name, getattr(self, name), _SETUP_LIMITS, _SETUP_KNOBS)
                object.__setattr__(self, name, value)

    @property
    def rim_mm(self):
        """The length of the engaged edge; a circle's where none is given [mm]."""
        if self.engaged_rim_mm is not None:
            return self.engaged_rim_mm
        return 2 * np.sqrt(np.pi * np.asarray(self.engaged_area_mm2))[()]
