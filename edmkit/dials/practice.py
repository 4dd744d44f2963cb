"""Invented machines without papers, for practice and for checks: what their meters would show.

Written from the plain sums of a switched generator, apart from `edmkit.dials.fit`, so that the fit
can be held against it. Nothing here is of a real machine.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from edmkit.checks import one_of, require
from edmkit.dials.survey import LOAD, MOST, SHORT, VOLTS, WHAT, Survey

COUNTS = ("from breakdown", "in a fixed period")
DRIVES = ("resistor-limited", "regulated", "two voltages")
SPARK_V = 25.0  # across a burning spark in oil; common practice, no source
CUTS_BELOW_V = 15.0  # a drop this low is taken for a short; assumption
WORN = 0.35  # what a worn contact does, standard deviation of the logarithm; assumption
STEPS = (0.5, 1.5)  # steps of a ladder beside the even one, by logarithm; assumption


@dataclass(frozen=True)
class PracticeMachine:
    """An invented machine: what each engraved position is truly worth, and what its meters do.

    Current positions are amps on a dead short at the first open voltage. ``short_share`` is what
    is left of them when the machine sees a short, ``short_stretch`` what it then makes of the
    off-time; 1 and 1 for a machine that holds. ``bad`` names positions with a worn contact.
    """

    name: str
    peak_current_A: Mapping[str, float]
    on_time_us: Mapping[str, float]
    off_time_us: Mapping[str, float]
    open_voltage_V: Mapping[str, float]
    counts: str = "from breakdown"
    drive: str = "resistor-limited"
    driving_voltage_V: float | None = None  # None: the open voltage
    short_share: float = 1.0
    short_stretch: float = 1.0
    adds: bool = False
    meter_noise: float = 0.03  # standard deviation of the logarithm of one reading
    ammeter_step_A: float = 0.0  # half a division, to which the needle is read; 0 for none
    ammeter_max_A: float = 30.0
    voltmeter_max_V: float = 200.0
    bad: frozenset = field(default_factory=frozenset)  # of (name of the switch, label)

    def __post_init__(self):
        one_of("counts", self.counts, COUNTS)
        one_of("drive", self.drive, DRIVES)
        require("short_share", self.short_share, 0.01, 1)
        require("short_stretch", self.short_stretch, 1, 100)
        require("meter_noise", self.meter_noise, 0, 0.5)

    @property
    def short(self):
        """What a short does to it: "holds" or "falls back"."""
        return "holds" if self.short_share == self.short_stretch == 1 else "falls back"

    def driven_by(self, open_voltage):
        """Return the voltage that drives the current while a spark burns [V]."""
        return self.driving_voltage_V or self.open_voltage_V[open_voltage]


def _worn(machine, switch, label, rng):
    """Return what a position does to its value this time: 1, or anything where it is worn."""
    bad = rng is not None and (switch, label) in machine.bad
    return np.exp(rng.normal(0, WORN)) if bad else 1.0


def _times(machine, on_time, off_time, rng):
    """Return on-time and off-time as the switches make them this time [µs]."""
    names, labels = ("on_time_us", "off_time_us"), (on_time, off_time)
    for name, label in zip(names, labels, strict=True):
        one_of(name, label, tuple(getattr(machine, name)))
    return (getattr(machine, n)[x] * _worn(machine, n, x, rng)
            for n, x in zip(names, labels, strict=True))  # fmt: skip


def _short_amps(machine, current, open_voltage, rng):
    """Return the amps on a dead short as the switches make them this time [A]."""
    require("positions of the current that are on", len(current), 1, MOST if machine.adds else 1)
    for label in current:
        one_of("peak_current_A", label, tuple(machine.peak_current_A))
    amps = sum(machine.peak_current_A[x] * _worn(machine, "peak_current_A", x, rng)
               for x in current)  # fmt: skip
    first = next(iter(machine.open_voltage_V))
    if machine.drive == "regulated":
        return amps
    return amps * machine.driven_by(open_voltage) / machine.driven_by(first)  # same resistors


def spark_amps(machine, current, open_voltage="fixed"):
    """Return the true current of a burning spark [A].

    Parameters
    ----------
    machine : PracticeMachine
        The machine.
    current : sequence of str
        The current positions that are on.
    open_voltage : str
        Where the switch of the open voltage stands.
    """
    amps = _short_amps(machine, current, open_voltage, None)
    return amps if machine.drive == "regulated" else amps * (
        1 - SPARK_V / machine.driven_by(open_voltage)
    )  # fmt: skip


def _through(machine, amps, open_voltage, load_ohm):
    """Return the amps through a resistor between electrode and work, while the pulse lasts [A]."""
    if machine.drive == "regulated":  # holds its amps as far as its voltage reaches
        return min(amps, machine.open_voltage_V[open_voltage] / load_ohm)
    return amps / (1 + load_ohm * amps / machine.driven_by(open_voltage))


def read(machine, what, current, on_time, off_time, open_voltage="fixed", load_ohm=None, rng=None):
    """Return what the meter of a practice machine shows [V or A].

    Parameters
    ----------
    machine : PracticeMachine
        The machine.
    what : str
        One of `edmkit.dials.survey.WHAT`.
    current : sequence of str
        The current positions that are on; without effect on the voltmeter.
    on_time, off_time, open_voltage : str
        Where the switches stand.
    load_ohm : float
        The resistor of a reading through one [ohm].
    rng : numpy.random.Generator
        Draws the noise of the meter and what worn contacts do; without one the true mean is given.

    Raises
    ------
    Refusal
        If the machine has no such position, or a reading through a resistor names no resistor.
    """
    one_of("what", what, WHAT)
    one_of("open_voltage", open_voltage, tuple(machine.open_voltage_V))
    on, off = _times(machine, on_time, off_time, rng)
    noise = 1.0 if rng is None else np.exp(rng.normal(0, machine.meter_noise))
    if what == VOLTS:
        duty = 1.0 if machine.counts == "from breakdown" else on / (on + off)
        return float(machine.open_voltage_V[open_voltage] * duty * noise)
    load = 0.0 if what == SHORT else float(require("load_ohm", load_ohm, 1e-3, 1e6, "ohm"))
    amps = _short_amps(machine, current, open_voltage, rng)
    amps = _through(machine, amps, open_voltage, load) if what == LOAD else amps
    if amps * load < CUTS_BELOW_V:
        amps, off = amps * machine.short_share, off * machine.short_stretch
    shown, step = amps * on / (on + off) * noise, machine.ammeter_step_A
    return float(step * round(shown / step) if step and rng is not None else shown)


def pitch_Hz(machine, on_time, off_time, rng=None):
    """Return how often pulses come while the electrode is pressed on scrap [Hz].

    Parameters
    ----------
    machine : PracticeMachine
        The machine.
    on_time, off_time : str
        Where the switches stand.
    rng : numpy.random.Generator
        Draws what worn contacts do; without one the true pitch is given.

    Raises
    ------
    Refusal
        If the machine has no such position.
    """
    on, off = _times(machine, on_time, off_time, rng)
    return float(1e6 / (on + off * machine.short_stretch))


def blank_survey(machine, **told):
    """Return what a person tells of a practice machine at first: labels and meters, no values.

    Parameters
    ----------
    machine : PracticeMachine
        The machine.
    **told
        Further answers, by their names in `Survey`.
    """
    labels = {
        name: tuple(getattr(machine, name))
        for name in ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
    }
    names = ("ammeter_max_A", "ammeter_step_A", "voltmeter_max_V")
    meters = {name: getattr(machine, name) for name in names}
    first = Survey(machine.name, **labels, **meters, adds=machine.adds, circuit="switched")
    return first.told(**told)


def _ladder(rng, count, low, high):
    """Return positions 1, 2, ... in rising, uneven steps from about low to about high."""
    steps = np.insert(np.cumsum(rng.uniform(*STEPS, count - 1)), 0, 0)
    ends = np.log([low, high]) + rng.uniform(-0.15, 0.15, 2)
    values = np.exp(ends[0] + steps / steps[-1] * (ends[1] - ends[0]))
    return {str(n): float(value) for n, value in enumerate(values, 1)}


def random_machine(seed, counts="from breakdown", drive="resistor-limited", bad_share=0.0, **more):
    """Return an invented machine with 8 on-times, 8 off-times, 8 taps, in uneven steps.

    Parameters
    ----------
    seed : int
        The same seed makes the same machine.
    counts, drive : str
        One of `COUNTS`, one of `DRIVES`.
    bad_share : float
        Share of its positions with a worn contact [-]; the open voltage has none.
    **more
        Further fields of `PracticeMachine`.

    Raises
    ------
    Refusal
        If the share is not between 0 and 1.
    """
    rng = np.random.default_rng(seed)
    switches = {"peak_current_A": _ladder(rng, 8, 0.5, 20), "on_time_us": _ladder(rng, 8, 2, 500),
                "off_time_us": _ladder(rng, 8, 2, 500)}  # fmt: skip
    every = [(name, label) for name, ladder in switches.items() for label in ladder]
    require("bad_share", bad_share, 0, 1)
    worn = rng.choice(len(every), round(bad_share * len(every)), replace=False)
    fields = {
        "open_voltage_V": {"fixed": float(rng.uniform(80, 150))},
        "driving_voltage_V": float(rng.uniform(40, 70)) if drive == "two voltages" else None,
        "bad": frozenset(every[n] for n in worn),
    }
    name = f"Practice machine {seed} (invented)"
    return PracticeMachine(name, **switches, counts=counts, drive=drive, **{**fields, **more})


PRACTICE = PracticeMachine(
    "Practice machine (invented)",
    {"1": 0.6, "2": 1.1, "3": 2.0, "4": 3.2, "5": 5.5, "6": 8.0, "7": 12.5, "8": 18.0},
    {"1": 3.0, "2": 5.0, "3": 11.0, "4": 24.0, "5": 45.0, "6": 90.0, "7": 210.0, "8": 400.0},
    {"1": 4.0, "2": 7.0, "3": 12.0, "4": 30.0, "5": 50.0, "6": 110.0, "7": 180.0, "8": 350.0},
    {"fixed": 100.0},
    ammeter_step_A=0.1,
    bad=frozenset({("on_time_us", "6")}),
)
PRACTICE_ADDS = PracticeMachine(
    "Practice machine with adding switches (invented)",
    {"1": 0.8, "2": 1.5, "3": 3.0, "4": 6.4},
    {"1": 6.0, "2": 13.0, "3": 25.0, "4": 60.0, "5": 120.0, "6": 240.0},
    {"1": 5.0, "2": 12.0, "3": 28.0, "4": 50.0, "5": 105.0, "6": 200.0},
    {"low": 80.0, "high": 120.0},
    counts="in a fixed period",
    ammeter_step_A=0.1,
    adds=True,
)
