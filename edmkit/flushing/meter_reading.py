"""Reading the meters: which mixes of pulses explain what voltmeter, ammeter and dial show.

Two needles and a dial cannot tell four kinds of pulse apart for sure: every mix that fits is
kept, and where they disagree the answer is that it cannot be told.
"""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, one_of, require
from edmkit.flushing.meter_words import (
    ARCING,
    HEALTHY,
    OPEN,
    SHORTING,
    UNSURE,
    check_first,
    knobs_for,
    why,
)
from edmkit.physics import states
from edmkit.settings import Relaxation
from edmkit.words import three

FEEDING, STILL, BACK, HUNTING = "feeding", "standing still", "pulling back", "hunting"
DIALS = (FEEDING, STILL, BACK, HUNTING)
KINDS = ("spark", "arc", "short", "stay open")
_OF_READING, _OF_SCALE = 0.03, 0.01  # error of a panel meter, assumption
_OF_BURNING = 0.1  # doubt in the voltage of the burning gap, assumption
_STEPS = 20  # shares are tried in steps of 1/20
_WAITS = np.geomspace(1 / 8, 16, 29)  # mean waits that are tried, over the usual one
_LATE = 3.0  # a wait so many times the usual one says that the gap is too wide, assumption
_WAIT_DOUBT = 0.7  # of the logarithm of the mean wait, before a reading; assumption
_RARE = 10.0  # failing pulses are rarer by exp(-10 share), before a reading; assumption
_MOST = 0.7  # of the pulses good: healthy; assumption
# Weight of the mixes that must agree on a word; calling an arc healthy costs most. Assumptions.
_SURE = {HEALTHY: 0.85, ARCING: 0.6, SHORTING: 0.6, OPEN: 0.7}
# Some generators hold the voltage until the gap fires: waits so many times the longest are tried
# too, where half the pulses or more stay open.
_HELD = 2.0 ** np.arange(10)
_TWO_SIDED = 1.645  # standard deviations from the middle to the end of a band


@dataclass(frozen=True)
class Reading:
    """What the meters say.

    ``verdict`` is ``healthy``, ``arcing``, ``shorting``, ``open`` or ``cannot tell``; ``shares``
    gives lowest, likely and highest share of each kind of pulse, ``chances`` that of each word.
    ``check`` comes first, then the first of ``knobs``, one at a time.
    """

    voltmeter_V: float | None
    ammeter_A: float | None
    dial: str | None
    verdict: str
    shares: dict
    chances: dict
    why: str
    check: str
    knobs: tuple


@dataclass(frozen=True)
class _Mixes:
    """Every mix that is tried: shares by kind, mean wait over the usual one, what meters show."""

    shares: np.ndarray
    late: np.ndarray
    volts: np.ndarray
    amps: np.ndarray

    def where(self, fits):
        """Return the mixes that fit."""
        return _Mixes(self.shares[:, fits], self.late[fits], self.volts[fits], self.amps[fits])

    @property
    def weights(self):
        """How likely each is beside the others, before a reading."""
        doubt = (np.log(self.late) / _WAIT_DOUBT) ** 2 / 2
        weight = np.exp(-_RARE * (1 - self.shares[0]) - doubt)
        return weight / weight.sum()

    @property
    def words(self):
        """The number of each mix's word: healthy, arcing, shorting, open."""
        spark, arc, short, idle = self.shares
        late = np.where(self.late > _LATE, spark, 0.0)
        return np.where(spark - late >= _MOST, 0, 1 + np.argmax([arc, short, idle + late], axis=0))


def _mixes(point):
    """Return every mix of kinds and waits, and what both meters show of each."""
    times = point.on_time, point.off_time
    usual = states.pulse_states(1.0, states.DEBRIS["fair"], *times, 1.0, point.fixed_period)
    late, held = _WAITS, _HELD[: 1 if point.fixed_period else None]
    if point.fixed_period:
        late = late[late * usual.ignition_delay < point.on_time]
    shares = _simplex()
    tried = np.broadcast_to(
        (held == 1) | (shares[3] >= 0.5)[:, None, None], (shares.shape[1], late.size, held.size)
    )
    mix, wait, longest = np.nonzero(tried)
    shares, late, longest = shares[:, mix], late[wait], usual.longest_wait * held[longest]
    spark, arc, short, idle = shares
    waits = late * usual.ignition_delay
    made = states.States(idle, spark, arc, short, waits, longest, point.fixed_period)
    volts = states.mean_voltage(made, *times, point.open_voltage, point.discharge_voltage)
    return _Mixes(shares, late, volts, states.mean_current(made, *times, point.spark_current))


def _simplex():
    """Return every split of the pulses into spark, arc, short and open, in steps."""
    counts = np.indices((_STEPS + 1,) * 3).reshape(3, -1)
    counts = counts[:, counts.sum(axis=0) <= _STEPS]
    return np.vstack([counts, _STEPS - counts.sum(axis=0)]) / _STEPS


def _errors(burn, volts, amps):
    """Return what the meters may be off by, the doubt in the spark itself with it [V, A]."""
    point, machine = burn.point, burn.setup.machine
    scale_V = getattr(machine, "voltmeter_max_V", None) or point.open_voltage
    scale_A = getattr(machine, "ammeter_max_A", None) or point.spark_current
    burning = _OF_BURNING * point.discharge_voltage * point.duty_factor
    switch = np.expm1(_TWO_SIDED * burn.peak_current_A.spread) * (amps or 0.0)
    return (
        float(_OF_READING * (volts or 0.0) + _OF_SCALE * scale_V + burning),
        float(_OF_READING * (amps or 0.0) + _OF_SCALE * scale_A + switch),
    )


def _refuse_high(point, mixes, volts, amps, errors):
    """Refuse a reading that no gap can give."""
    times = "check the scale of the meter, then the on-time and off-time of this setting"
    if volts is not None and volts - errors[0] > mixes.volts.max():
        raise Refusal(
            f"voltmeter_V can be {three(mixes.volts.max())} V at most with "
            f"{three(point.open_voltage)} V of open voltage, got {three(volts)} V: check the "
            "scale of the voltmeter, then the open voltage of this setting."
        )
    if amps is not None and amps - errors[1] > mixes.amps.max():
        raise Refusal(
            f"ammeter_A can be {three(mixes.amps.max())} A at most, {three(point.spark_current)} A "
            f"for {100 * point.duty_factor:.0f} % of the time, got {three(amps)} A: {times}."
        )


def _fitting(point, mixes, volts, amps, errors):
    """Return the mixes that give both readings within the errors."""
    _refuse_high(point, mixes, volts, amps, errors)
    near = np.ones(mixes.volts.size, bool) if volts is None else (
        np.abs(mixes.volts - volts) <= errors[0]
    )  # fmt: skip
    both = near if amps is None else near & (np.abs(mixes.amps - amps) <= errors[1])
    if both.any():
        return mixes.where(both)
    low, high = np.min(mixes.amps[near]), np.max(mixes.amps[near])
    raise Refusal(
        f"ammeter_A can be {three(low)} to {three(high)} A while the voltmeter shows "
        f"{three(volts)} V, got {three(amps)} A: read both at the same moment, not in a lift; then "
        "check the open voltage and the peak current of this setting."
    )


def _dialled(mixes, dial):
    """Return which mixes go with what the dial does; assumptions."""
    spark, arc, short, _ = mixes.shares
    return {
        None: np.ones(spark.size, bool),
        FEEDING: spark >= 0.5,
        STILL: spark <= 0.5,
        BACK: (spark <= 0.5) & (arc + short >= 0.2),
        HUNTING: short >= 0.1,
    }[dial]


def _summed(mixes):
    """Return shares as lowest, likely and highest, and the chance of each word."""
    weights, step = mixes.weights, 1 / _STEPS  # what lies between two tries
    shares = {
        kind: (
            float(max(0.0, share.min() - step)),
            float(weights @ share),
            float(min(1.0, share.max() + step)),
        )
        for kind, share in zip(KINDS, mixes.shares, strict=True)
    }
    chances = np.bincount(mixes.words, weights, minlength=4)
    return shares, dict(zip(_SURE, chances.tolist(), strict=True))


def read_meters(burn, voltmeter_V=None, ammeter_A=None, dial=None):
    """Return what voltmeter, ammeter and dial say of the pulses, and what to do first.

    Parameters
    ----------
    burn : Burn
        The setting that burns, one, of a pulse generator.
    voltmeter_V, ammeter_A : float or None
        Readings while it burns; one of them may be missing.
    dial : str or None
        One of `DIALS`: feeding, standing still, pulling back, hunting.

    Returns
    -------
    Reading

    Raises
    ------
    Refusal
        If a reading is impossible at this setting, or there is none.

    Notes
    -----
    Tries shares in steps of 5 % with mean waits from an eighth to sixteen times the usual one.
    Meter errors, and how rare failing pulses are, are assumed. It shows which way to look.
    """
    if isinstance(burn.settings, Relaxation) or burn.shape != ():
        raise Refusal("settings must be one setting of a pulse generator to read the meters by.")
    if voltmeter_V is None and ammeter_A is None:
        raise Refusal("voltmeter_V and ammeter_A are both missing: type one of them.")
    volts = _typed("voltmeter_V", voltmeter_V, 1000, "V")
    amps = _typed("ammeter_A", ammeter_A, 2000, "A")
    if dial is not None:
        one_of("dial", dial, DIALS)
    found = _fitting(burn.point, _mixes(burn.point), volts, amps, _errors(burn, volts, amps))
    goes = _dialled(found, dial)
    shares, chances = _summed(found.where(goes) if goes.any() else found)
    verdict = _verdict(chances, dial) if goes.any() else UNSURE
    said = why(verdict, chances, dial, goes.any())
    knobs = knobs_for(verdict, burn)
    return Reading(
        volts, amps, dial, verdict, shares, chances, said, check_first(verdict, chances), knobs
    )


def _verdict(chances, dial):
    """Return the word that is sure enough; healthy only with a dial that feeds."""
    best = max(chances, key=chances.get)
    sure = chances[best] >= _SURE[best] and (best != HEALTHY or dial == FEEDING)
    return best if sure else UNSURE


def _typed(name, value, high, unit):
    knob = "type what the needle shows"
    return None if value is None else float(require(name, value, 0, high, unit, knob=knob))
