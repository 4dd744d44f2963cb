"""Pulse by pulse: debris, flow, a servo and a lift timer play on what each next pulse does.

It teaches direction, not figures. The odds of a pulse are those of `states`; every constant
below is assumed, none was measured.
"""

from dataclasses import astuple, dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.physics.states import (
    ARC,
    DEBRIS,
    DELAY,
    LONGEST_WAIT,
    REST_SHARE,
    SHORT_AT,
    SHORT_POWER,
    SHORTEST_REST,
)
from edmkit.units import mm, mm2, mm3, ms, um, um3, us

NORMAL, ARCING, SHORTED, OPEN = range(4)
DEBRIS_LIMIT = 0.02  # share of the gap's volume that counts as debris of 1, assumption
# Debris, over its limit, below which a spark finds too little to start on: the wait grows as
# CLEAN / debris, ten times at most. The sign is a trade rule, from memory; the edge is an
# assumption: below what the usual flow leaves, 0.1 to 0.5 l a minute and cm² (from memory) at 5
# to 30 mm³ a minute and cm².
CLEAN, CLEANEST = 0.001, 0.0001
SERVO_TIME = 2 * ms  # over which the servo takes its mean of the voltage, assumption
SERVO_GAIN = 10 * mm  # per second, for a voltage that is off by the open voltage, assumption
SERVO_SPEED = 1 * mm  # per second: it moves no faster, assumption
CLOSEST, WIDEST = 0.05, 10.0  # ends of the electrode's travel, gap over its default, assumption
_E = float(np.e)

_TIME_KNOB = "times are seconds: 50 * us"
_LIMITS = {  # low, high, unit, factor, knob
    "on_time": (0.05, 20_000, "µs", us, _TIME_KNOB),
    "off_time": (0.05, 1e6, "µs", us, _TIME_KNOB),
    "open_voltage": (1, 1000, "V", 1.0, "give volts"),
    "discharge_voltage": (1, 1000, "V", 1.0, "give volts"),
    "spark_current": (1e-3, 2000, "A", 1.0, "give amps"),
    "gap_default": (1, 1000, "µm", um, "lengths are metres: 50 * um"),
    "front_area": (1e-4, 1e6, "mm²", mm2, "areas are square metres: 7 * mm2"),
    "flow": (0, 1e6, "mm³/s", mm3, "flow is m³/s: 5 * mm3"),
    "removal_per_spark": (0, 1e9, "µm³", um3, "volumes are m³: 500 * um3"),
    "current_ratio": (1e-12, 1e9, "", 1.0, "1 is at the limit"),
    "servo_voltage": (0, 1000, "V", 1.0, "give volts, or None for a gap that stays"),
    "lift_burn": (1e-3, 1e4, "s", 1.0, "give seconds, or None for no lift timer"),
    "lift_up": (0, 1e4, "s", 1.0, "give seconds"),
    "lift_renewal": (0, 1, "", 1.0, "1 renews all the fluid in the gap"),
    "longest_wait": (1, 1e9, "µs", us, _TIME_KNOB),
    "gap_volume": (1e-6, 1e9, "mm³", mm3, "1.9 mm³ is 1.9e-9 m³, or None for the gap in front"),
}


@dataclass(frozen=True)
class Conditions:
    """What a gap burns under, in SI; each one number.

    Times [s], voltages [V], ``spark_current`` [A], ``gap_default`` [m], ``front_area`` [m²],
    ``flow`` through the gap [m³/s], ``removal_per_spark`` [m³], ``current_ratio`` mean current
    over its limit [-], ``lift_renewal`` share of the fluid that a lift renews [-]. Without a
    ``servo_voltage`` the gap stays as it is; without ``lift_burn`` nothing lifts. Debris mixes in
    ``gap_volume`` [m³]: without it, in the gap in front.
    """

    on_time: float
    off_time: float
    open_voltage: float
    discharge_voltage: float
    spark_current: float
    gap_default: float
    front_area: float
    flow: float
    removal_per_spark: float
    current_ratio: float = 0.5
    servo_voltage: float | None = None
    fixed_period: bool = False
    lift_burn: float | None = None
    lift_up: float = 0.0
    lift_renewal: float = 1.0
    longest_wait: float = LONGEST_WAIT
    gap_volume: float | None = None

    @property
    def mixed_in(self):
        """Volume that the debris mixes in [m³]."""
        return self.gap_volume or self.front_area * self.gap_default

    @property
    def full(self):
        """Volume of debris that counts as 1: the limit's share of what it mixes in [m³]."""
        return DEBRIS_LIMIT * self.mixed_in

    @property
    def waits(self):
        """How long a pulse waits for a spark before it counts as open [s]."""
        return self.on_time if self.fixed_period else self.longest_wait


@dataclass(frozen=True)
class State:
    """How things stand between two pulses.

    ``gap_ratio`` gap over its default [-], ``debris`` over its limit [-], ``seen_voltage`` mean
    that the servo reads, None for the voltage it holds [V], ``time`` since the start [s],
    ``burned`` time since the last lift [s].
    """

    gap_ratio: float = 1.0
    debris: float = DEBRIS["fair"]
    seen_voltage: float | None = None
    time: float = 0.0
    burned: float = 0.0


@dataclass(frozen=True)
class Pulses:
    """Pulses one by one, and what the meters make of them.

    Arrays, one value a pulse: ``kind`` (`NORMAL`, `ARCING`, `SHORTED`, `OPEN`), ``delay`` before
    the spark, the whole wait of an open pulse [s], ``start`` [s], ``gap_ratio`` and ``debris`` as
    the pulse begins [-]. ``washed_out`` is the debris that left [m³]; ``begin`` and ``end`` how
    things stood before and after: hand ``end`` on as ``start`` to go on.
    """

    conditions: Conditions
    kind: np.ndarray
    delay: np.ndarray
    start: np.ndarray
    gap_ratio: np.ndarray
    debris: np.ndarray
    washed_out: float
    begin: State
    end: State

    @property
    def shares(self):
        """Shares of normal, arcing, shorted and open pulses, which sum to 1 [-]."""
        return np.bincount(self.kind, minlength=4) / self.kind.size

    @property
    def burning(self):
        """Time for which each pulse carries current [s]."""
        left = self.conditions.on_time - (self.delay if self.conditions.fixed_period else 0.0)
        return np.where(self.kind == OPEN, 0.0, left)

    @property
    def period(self):
        """Time from each pulse to the next, a lift between them left out [s]."""
        return self.delay + self.burning + self.conditions.off_time

    @property
    def mean_voltage(self):
        """Mean voltage over the gap while pulses run, what a voltmeter shows [V]."""
        lit = self.conditions.discharge_voltage * np.where(self.kind == SHORTED, 0.0, self.burning)
        idle = self.conditions.open_voltage * self.delay
        return np.sum(idle + lit) / np.sum(self.period)

    @property
    def mean_current(self):
        """Mean current while pulses run, what an ammeter shows [A]."""
        return self.conditions.spark_current * np.sum(self.burning) / np.sum(self.period)

    @property
    def made(self):
        """Debris that the good sparks made [m³]."""
        return self.conditions.removal_per_spark * np.count_nonzero(self.kind == NORMAL)

    @property
    def removal_rate(self):
        """Work removed over the time that pulses run [m³/s]."""
        return self.made / np.sum(self.period)

    @property
    def travel(self):
        """How far the electrode has moved towards the work as each pulse begins [m]."""
        eaten = self.conditions.removal_per_spark / self.conditions.front_area
        before = np.cumsum(self.kind == NORMAL) - (self.kind == NORMAL)
        opened = (self.gap_ratio - self.begin.gap_ratio) * self.conditions.gap_default
        return (0.0 if self.conditions.servo_voltage is None else eaten) * before - opened

    @property
    def feed(self):
        """Mean speed of the electrode towards the work, lifts left out [m/s]."""
        if self.conditions.servo_voltage is None:
            return 0.0
        opened = (self.end.gap_ratio - self.begin.gap_ratio) * self.conditions.gap_default
        return self.removal_rate / self.conditions.front_area - opened / np.sum(self.period)


def simulate(conditions, pulses=1000, seed=0, start=None):
    """Return the pulses that follow one another in a gap, drawn by lot.

    Parameters
    ----------
    conditions : Conditions
        What the gap burns under, SI.
    pulses, seed : int
        How many pulses; the same seed draws the same pulses.
    start : State or None
        None starts from the default gap with fair flushing.

    Returns
    -------
    Pulses

    Raises
    ------
    Refusal
        If a condition is outside its range.

    Notes
    -----
    Odds as in `states.pulse_states` at the gap and debris of the moment; below `CLEAN` the wait
    grows. Debris is mixed evenly in the default gap. The servo moves the electrode by the error
    of its mean voltage. Teaches direction: no constant of it was measured.
    """
    _check(conditions, pulses, seed)
    state = _started(conditions, State() if start is None else start)
    random = np.random.default_rng(seed)
    waits = random.standard_exponential(pulses).tolist()  # lists: the loop reads them faster
    columns, washed_out, end = _run(conditions, state, waits, random.random(pulses).tolist())
    return Pulses(conditions, *map(np.array, columns), washed_out, state, end)


def _check(conditions, pulses, seed):
    for name, value, low, high in (("pulses", pulses, 1, 1e7), ("seed", seed, 0, 2**63)):
        require(name, value, low, high, knob="give a whole number")
        if not isinstance(value, (int, np.integer)):
            raise Refusal(f"{name} must be a whole number, got {value:g}.")
    for name, (low, high, unit, factor, knob) in _LIMITS.items():
        value = getattr(conditions, name)
        if value is not None or name not in ("servo_voltage", "lift_burn", "gap_volume"):
            require(name, value, low, high, unit, factor, knob)


def _started(conditions, state):
    """Return the state with the servo's mean at the voltage it holds, where none is given."""
    gap = float(require("gap_ratio", state.gap_ratio, CLOSEST, WIDEST, knob="1 is the default gap"))
    dirt = float(require("debris", state.debris, 0, 1000, knob="0.5 is fair flushing"))
    seen = conditions.servo_voltage if state.seen_voltage is None else state.seen_voltage
    return State(gap, dirt, float(seen or 0.0), float(state.time), float(state.burned))


def _arc_odds(conditions):
    """Return what debris to the power of its weight must reach for one arc in two [-]."""
    rest = np.maximum(SHORTEST_REST, REST_SHARE * conditions.on_time) / conditions.off_time
    density = conditions.current_ratio
    return float(np.exp(-ARC["base"]) * density ** -ARC["density"] * rest ** -ARC["rest"])


def _servo(conditions):
    """Return the voltage held [V], gap speed for a volt too much and the fastest [1/s].

    The last is what a good spark opens the gap by [-]. All are zero without a servo.
    """
    c = conditions
    if c.servo_voltage is None:
        return 0.0, 0.0, 0.0, 0.0
    gain, fastest = SERVO_GAIN / c.open_voltage / c.gap_default, SERVO_SPEED / c.gap_default
    opens = c.removal_per_spark / c.front_area / c.gap_default
    return c.servo_voltage, gain, fastest, opens


def _run(c, state, waits, lots):
    """Return the columns, the debris washed out and the last state; one loop, for speed."""
    on, off, idle, lit, longest = (
        c.on_time, c.off_time, c.open_voltage, c.discharge_voltage, c.waits
    )  # fmt: skip
    fixed, odds, (held, gain, fastest, opens) = c.fixed_period, _arc_odds(c), _servo(c)
    chip, wash = c.removal_per_spark / c.full, -c.flow / c.mixed_in
    lift_after = float("inf") if c.lift_burn is None else c.lift_burn
    hold, half, steep, weight = 1 + DEBRIS["fair"], SHORT_AT**2, SHORT_POWER / 2, ARC["debris"]
    gap, dirt, seen, now, burned = astuple(state)
    columns, washed, e, delay_at_1 = tuple([] for _ in range(5)), 0.0, _E, DELAY
    note_kind, note_delay, note_start, note_gap, note_dirt = (column.append for column in columns)
    for drawn, lot in zip(waits, lots, strict=True):
        clear = gap * gap * hold / (1 + dirt)  # the square of the gap over `gap_that_holds`
        delay = delay_at_1 * clear * drawn
        if dirt < CLEAN:
            delay *= CLEAN / (dirt if dirt > CLEANEST else CLEANEST)
        short = 1 / (1 + (clear / half) ** steep)
        lean, made, opened = dirt**weight, 0.0, 0.0
        if delay > longest:
            kind, delay, burns, volts = OPEN, longest, 0.0, idle * longest
        elif lot < short:
            kind, delay, burns, volts = SHORTED, 0.0, on, 0.0
        elif lot < short + (1 - short) * lean / (lean + odds):
            kind, delay, burns, volts = ARCING, 0.0, on, lit * on
        else:
            burns = on - delay if fixed else on
            kind, volts, made, opened = NORMAL, idle * delay + lit * burns, chip, opens
        note_kind(kind), note_delay(delay), note_start(now), note_gap(gap), note_dirt(dirt)
        lasts = delay + burns + off
        gone = dirt * (1 - e ** (wash * lasts))
        seen = (seen * SERVO_TIME + volts) / (SERVO_TIME + lasts)
        speed = gain * (seen - held)
        speed = fastest if speed > fastest else -fastest if speed < -fastest else speed
        gap += opened - speed * lasts
        gap = CLOSEST if gap < CLOSEST else WIDEST if gap > WIDEST else gap
        dirt, now, burned = dirt - gone + made, now + lasts, burned + lasts
        if burned >= lift_after:
            gone, now, burned = gone + dirt * c.lift_renewal, now + c.lift_up, 0.0
            dirt *= 1 - c.lift_renewal
        washed += gone
    return columns, washed * c.full, State(gap, dirt, seen, now, burned)
