"""A machine as its owner knows it, and the file that describes it."""

from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from edmkit.checks import Refusal, one_of
from edmkit.settings import FLUSHING_KINDS, KNOBS, LIMITS, Settings
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER, Position, Switch, fill_in
from edmkit.toml_file import (
    collect,
    flag,
    number,
    read_toml,
    read_toml_text,
    span,
    table,
    text,
    word,
    words,
)

MOST_ADDING = 8  # switches that add; 255 sums


@dataclass(frozen=True)
class Lift:
    """Ranges of the lift timer: seconds of burning, seconds up."""

    burn_s: tuple[float, float]
    up_s: tuple[float, float]


@dataclass(frozen=True)
class Servo:
    """The servo knob as its owner numbers it."""

    lowest: float
    highest: float


@dataclass(frozen=True)
class Resolution:
    """The smallest step of the depth dial and of the depth stop."""

    dial_mm: float
    stop_mm: float


@dataclass(frozen=True)
class FlushingMeans:
    """What the machine can flush with; None where a limit is not known."""

    kinds: tuple[str, ...] = FLUSHING_KINDS
    suction_kPa_max: float | None = None
    pressure_kPa_max: float | None = None


@dataclass(frozen=True)
class Machine:
    """A machine, as ``read_machine`` finds it in a machine file; names are the file's own keys.

    ``on_time_counts`` says whether the on-time starts at breakdown or lies in a fixed period;
    ``plate_current`` whether the amps of the positions are short-circuit or spark amps.
    ``lift`` and ``servo`` are None where there is none. A driving voltage is the lower one that
    drives the current where a higher one ignites; a caution current is the shop's own rule.
    """

    name: str
    peak_current_A: Switch
    on_time_us: Switch
    off_time_us: Switch
    open_voltage_V: Switch
    on_time_counts: str
    plate_current: str
    polarity_switch: bool
    resolution: Resolution
    note: str = ""
    driving_voltage_V: float | None = None
    current_rise_A_per_us: float = 10.0  # assumption
    current_caution_A_per_cm2: float | None = None
    ammeter_max_A: float | None = None
    voltmeter_max_V: float | None = None
    lift: Lift | None = None
    servo: Servo | None = None
    flushing: FlushingMeans = FlushingMeans()
    path: Path | None = None

    def settings(self, peak_current, on_time, off_time, open_voltage=None, **rest):
        """Return the Settings of these switch positions, named by what is engraved.

        Parameters
        ----------
        peak_current, on_time, off_time : str or sequence of str
            Labels; of switches that add, several ("1 + 3").
        open_voltage : str, optional
            May be left out where there is one voltage.
        **rest
            Other fields of ``Settings``, such as ``gap_front_um``.

        Raises
        ------
        Refusal
            If a switch has no such position.
        """
        if open_voltage is None and len(self.open_voltage_V.positions) == 1:
            open_voltage = self.open_voltage_V.positions[0].label
        labels = (peak_current, on_time, off_time, open_voltage)
        values = {
            name: getattr(self, name).position(x).value
            for name, x in zip(LADDER, labels, strict=True)
        }
        return Settings(**values, **rest)

    def grid(self):
        """Return every setting of the machine as one open mesh of Settings.

        Axes: peak current, on-time, off-time and, where there are several, open voltage.
        """
        axes = [getattr(self, name).values for name in LADDER]
        mesh = np.ix_(*axes[: len(self.grid_shape)])
        voltage = mesh[3] if len(mesh) == 4 else float(axes[3][0])
        return Settings(*mesh[:3], open_voltage_V=voltage)

    @property
    def grid_shape(self):
        """The number of choices along each axis of ``grid``."""
        counts = tuple(len(getattr(self, name).choices) for name in LADDER)
        return counts[:3] if counts[3] == 1 else counts

    def spread(self, name, values):
        """Return the standard deviation of the logarithm of dialled values of a switch.

        Parameters
        ----------
        name : str
            The switch, such as "on_time_us".
        values : float or array
            Dialled values [unit of the name].

        Raises
        ------
        Refusal
            If the machine has no such switch or the switch no such value.
        """
        return self._of_each(name, values, lambda choice: choice.spread)

    def how_known(self, name, values):
        """Return whether dialled values are only guessed or unknown (array of bool).

        Parameters and refusals are those of ``spread``.
        """
        return self._of_each(name, values, lambda c: c.how_known in ("guessed", "unknown"))

    def unknown(self, name, values):
        """Return whether nobody knows what dialled values are worth (array of bool).

        Parameters and refusals are those of ``spread``.
        """
        return self._of_each(name, values, lambda c: c.how_known == "unknown")

    def _of_each(self, name, values, fact):
        switch = getattr(self, one_of("name", name, LADDER))
        facts = np.array([fact(choice) for choice in switch.choices])
        return facts[switch.index(values, self.name)]


def read_machine(path):
    """Return the machine that a machine file (TOML) describes.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    Refusal
        Listing every fault of the file: key, what it must be, what it was.
    """
    path = Path(path)
    return Machine(**read_toml(path, _machine), path=path)


def machine_from_text(text, name):
    """Return the machine that the text of a machine file describes.

    Parameters
    ----------
    text : str
        The text of the file, as `read_machine` takes it.
    name : str
        What to call it in a complaint.

    Raises
    ------
    Refusal
        Listing every fault of the text.
    """
    return Machine(**read_toml_text(text, _machine, name))


def _machine(key, value):
    """Check the whole file; the driving voltage is held against the open voltages last."""
    found = table(_MACHINE)(key, value)
    driving, lowest = found.get("driving_voltage_V"), found["open_voltage_V"].values.min()
    if driving is not None and driving > lowest:
        raise Refusal(
            f"driving_voltage_V must be at most the lowest open voltage, {lowest:g} V, "
            f"got {driving:g} V: leave it out where one voltage does both."
        )
    return found


def _switch(key, value):
    """Check the table of one switch."""
    schema = {"positions": partial(_positions, key), "switches": (word("one at a time", "add"),)}
    make = partial(_made_switch, key)
    return table(schema, make, "a table with a list of positions")(key, value)


def _positions(name, key, value):
    """Check the list of positions; they are counted from 1, as a person counts them."""
    if not isinstance(value, list) or not value:
        raise Refusal(f"{key} must be a list of positions, got {value!r}.")
    labels = [entry.get("label") for entry in value if isinstance(entry, dict)]
    attempts = [
        (partial(_position, name, labels), f"{key}[{i}]", v) for i, v in enumerate(value, 1)
    ]
    return collect(attempts)


def _position(name, labels, key, value):
    """Check one position; the value may be absent only where nobody knows it."""
    entry = value if isinstance(value, dict) else {}
    label, worth = entry.get("label"), entry.get("value")

    def own_label(key, value):
        if labels.count(text(key, value)) > 1:
            raise Refusal(f"{key} must differ from every other label, got {value!r} again.")
        return value

    low, high, unit = LIMITS[name]
    seconds = unit == "µs" and isinstance(worth, float) and low <= 1e6 * worth <= high
    advice = f"in microseconds that is {1e6 * worth:g}" if seconds else KNOBS[name]
    advice = advice if "value" in entry else 'write how_known = "unknown" if nobody knows it'
    number_of = number(low, high, unit, f"{advice} (position {label!r})")
    schema = {
        "label": own_label,
        "value": (number_of,) if entry.get("how_known") == "unknown" else number_of,
        "how_known": word(*HOW_KNOWN_SPREAD),
        "spread": (number(0.001, 2),),
    }
    return table(schema, dict, 'a position: { label = "1", value = 2.0, how_known = "plate" }')(
        key, value
    )


def _made_switch(name, positions, switches="one at a time"):
    """Return the switch, its unknown values filled in."""
    adds = switches == "add"
    if adds and (len(positions) > MOST_ADDING or any("+" in p["label"] for p in positions)):
        raise Refusal(
            f"{name}.positions must be at most {MOST_ADDING} labels without a + where switches "
            f"add, got {', '.join(p['label'] for p in positions)}."
        )
    values = fill_in([p.get("value", np.nan) for p in positions], *LADDER[name])
    knob = "this was filled in from its neighbours: write a value you guess instead"
    keys = [f"{name}.positions[{i}].value" for i in range(1, len(values) + 1)]
    values = collect(zip([number(*LIMITS[name], knob)] * len(keys), keys, values, strict=True))
    return Switch(name, tuple(map(_made_position, positions, values)), adds)


def _made_position(entry, value):
    spread = entry.get("spread", HOW_KNOWN_SPREAD[entry["how_known"]])
    return Position(entry["label"], value, entry["how_known"], spread, "value" not in entry)


_LIFT = {
    "burn_s": span(*LIMITS["lift_burn_s"]),
    "up_s": span(*LIMITS["lift_up_s"]),
}
_RESOLUTION = {"dial_mm": number(1e-4, 1, "mm"), "stop_mm": number(1e-4, 1, "mm")}
_FLUSHING = {
    "kinds": words(*FLUSHING_KINDS),
    "suction_kPa_max": (number(1, 100, "kPa"),),
    "pressure_kPa_max": (number(1, 1000, "kPa"),),
}


def _servo(key, value):
    """Check the ends of the servo knob, in whatever numbers its owner gives it."""
    end = number(-1000, 1000)
    found = table({"lowest": end, "highest": end}, Servo)(key, value)
    if found.lowest >= found.highest:
        raise Refusal(f"{key}.lowest must be below highest, got {found.lowest:g}: swap them.")
    return found


# The widest a file may say; all assumptions unless a source stands beside them.
_MACHINE = {
    "name": text,
    "note": (text,),
    "on_time_counts": word("from breakdown", "in a fixed period"),
    "plate_current": word("short circuit", "spark"),
    "polarity_switch": flag,
    "driving_voltage_V": (number(35, 400, "V"),),  # above the 30 V of a spark from graphite
    "current_rise_A_per_us": (number(0.01, 10_000, "A/µs"),),
    "current_caution_A_per_cm2": (number(0.1, 100, "A/cm²"),),
    "ammeter_max_A": (number(0.1, 1000, "A"),),
    "voltmeter_max_V": (number(10, 1000, "V"),),
    **dict.fromkeys(LADDER, _switch),
    "resolution": table(_RESOLUTION, Resolution, "a table with dial_mm and stop_mm"),
    "lift": (table(_LIFT, Lift, "a table with burn_s and up_s"),),
    "servo": (_servo,),
    "flushing": (table(_FLUSHING, FlushingMeans, "a table with kinds"),),
}
