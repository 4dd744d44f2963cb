"""What stands between a setting and the list: limits asked for, and what nobody would dial."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.estimate import Estimate, core
from edmkit.finder.grid import DIALS
from edmkit.units import us

# Duty factor by on-time: finish, semi-finish, rough; handbook ranges, from memory.
STAGES = (
    ("finish", 0.0, 20 * us, 0.15, 0.50),
    ("semi-finish", 20 * us, 100 * us, 0.40, 0.65),
    ("rough", 100 * us, np.inf, 0.60, 0.90),
)
_BAD_FLUSHING = (0.15, 0.50)  # from memory
ARCS = 0.10  # share of the pulses above which the end burns; assumption
_NEVER = np.inf  # nothing that can be turned brings it nearer


@dataclass(frozen=True)
class Limit:
    """A limit asked for, met with a chance: what it holds, its value, which side is right."""

    name: str
    answer: str
    word: str
    unit: str
    value: float
    above: bool = False

    def _of(self, burn):
        """Return the answer it holds, as large as it need be."""
        estimate = getattr(burn, self.answer)
        return Estimate(core(estimate.likely), core(estimate.spread))

    def chance(self, burn):
        """Return the chance that the next burn meets it [-]; 0 where there is no figure."""
        estimate = self._of(burn)
        side = estimate.chance_above if self.above else estimate.chance_below
        return np.nan_to_num(side(self.value), nan=0.0)

    def needed(self, burn, chance):
        """Return the limit that would be met with this chance; not-a-number without a figure."""
        from scipy.special import ndtri

        estimate = self._of(burn)
        side = -1.0 if self.above else 1.0
        return estimate.likely * np.exp(side * ndtri(chance) * estimate.spread)

    def excess(self, burn, chance):
        """Return by how much it is missed, as a logarithm; 0 or less where it is met."""
        with np.errstate(divide="ignore", invalid="ignore"):
            off = np.log(self.needed(burn, chance) / self.value) * (-1.0 if self.above else 1.0)
        return np.where(np.isnan(off), _NEVER, off)


# name -> (answer of a Burn, word, unit, least and most that may be asked, which side is right)
LIMITS = {
    "max_Ra_um": ("roughness_Ra_um", "roughness Ra", "µm", 0.05, 50, False),
    "max_class": ("roughness_Ra_um", "VDI 3400 class", "", 0, 50, False),
    "max_wear_percent": ("relative_wear_percent", "wear by volume", "%", 0.05, 500, False),
    "max_gap_side_um": ("gap_side_um", "side gap", "µm", 1, 1000, False),
    "min_gap_side_um": ("gap_side_um", "side gap", "µm", 1, 1000, True),
    "max_recast_um": ("recast_um", "recast layer", "µm", 0.5, 500, False),
}
_METERS = (
    ("ammeter_max_A", "average_current_A", "ammeter's reading", "A"),
    ("voltmeter_max_V", "mean_voltage_V", "voltmeter's reading", "V"),
)


def one_number(name, value, low, high, unit="", knob=""):
    """Return a number as `require` checks it; refuses several."""
    number = require(name, value, low, high, unit, knob=knob)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size} of them: {knob}.")
    return float(number)


def limits(setup, asked, within_meters):
    """Return the limits that were given, checked.

    Parameters
    ----------
    setup : Setup
        Whose machine has meters.
    asked : dict
        A key of `LIMITS` -> value, None where it was not given.
    within_meters : bool
        Whether the readings must stay on the meters.

    Raises
    ------
    Refusal
        If a limit is outside its range, or roughness and class are both given.
    """
    given = {name: value for name, value in asked.items() if value is not None}
    if {"max_Ra_um", "max_class"} <= set(given):
        raise Refusal(
            f"max_Ra_um and max_class say the finish twice, got {given['max_Ra_um']} µm and "
            f"class {given['max_class']}: leave one of them out."
        )
    numbers = {}
    for name, value in given.items():
        _, _, unit, least, most, _ = LIMITS[name]
        knob = "leave it out for no limit"
        numbers[name] = one_number(name, value, least, most, unit, knob)
    low, high = numbers.get("min_gap_side_um", 0), numbers.get("max_gap_side_um", np.inf)
    if low >= high:
        raise Refusal(
            f"min_gap_side_um must be below max_gap_side_um, {high:g} µm, got {low:g} µm: "
            "give them the other way round."
        )
    found = []
    for name, number in numbers.items():
        answer, word, unit, _, _, above = LIMITS[name]
        if name == "max_class":  # definition of the class: 20 log10(10 Ra in µm)
            word, unit, number = "roughness Ra", "µm", 0.1 * 10 ** (number / 20)
        found.append(Limit(name, answer, word, unit, number, above))
    if within_meters:
        for name, answer, word, unit in _METERS:
            end = getattr(setup.machine, name, None)
            if end is not None:
                found.append(Limit(name, answer, word, unit, float(end)))
    return tuple(found)


def least_chance(limits, burn):
    """Return the chance of the limit that is hardest to meet [-]; 1 without limits.

    Parameters
    ----------
    limits : sequence of Limit
        What is asked for.
    burn : Burn
        One setting, or many.
    """
    return np.min(np.broadcast_arrays(1.0, *(limit.chance(burn) for limit in limits)), axis=0)


@dataclass(frozen=True)
class Reason:
    """Why settings are left out unless asked for; ``excess`` of a burn is above 0 there."""

    name: str
    said: str
    excess: object


def _flag(name):
    return lambda burn: np.where(core(burn.flags[name]), _NEVER, 0.0)


def duty_band(on_time, quality):
    """Return the least and the most duty factor of a stage [-].

    Parameters
    ----------
    on_time : float or array
        On-time, which tells the stage [s]; at its ends both stages count.
    quality : str
        How well it flushes; where it does not, the duty of finishing holds.
    """
    on_time = np.asarray(on_time, dtype=float)
    if quality in ("poor", "blocked"):
        return np.full(on_time.shape, _BAD_FLUSHING[0]), np.full(on_time.shape, _BAD_FLUSHING[1])
    inside = [(on_time >= a * (1 - 1e-9)) & (on_time <= b * (1 + 1e-9)) for _, a, b, *_ in STAGES]
    low = np.select(inside, [stage[3] for stage in STAGES])
    high = np.select(inside[::-1], [stage[4] for stage in STAGES[::-1]])
    return low, high


def _duty(burn):
    point = burn.point
    low, high = duty_band(point.on_time, burn.setup.flushing.quality)
    return np.log(np.maximum(low / point.duty_factor, point.duty_factor / high))


def _current(burn):
    return np.log(burn.point.average_current / burn.point.current_limit)


def _arcs(burn):
    return np.log(np.maximum(burn.point.states.arcing, 1e-9) / ARCS)


def _unknown(burn):
    machine, settings = burn.setup.machine, burn.settings
    if machine is None:
        return np.zeros(())
    doubts = [machine.unknown(name, getattr(settings, name)) for name in DIALS]
    return np.where(np.logical_or.reduce(np.broadcast_arrays(*doubts)), _NEVER, 0.0)


# In the order in which a setting is counted: the first that holds.
REASONS = (
    Reason("unknown dial", "at a position whose value nobody knows", _unknown),
    Reason("unusual polarity", "with the polarity that is not usual for this pair",
           _flag("unusual_polarity")),
    Reason("outside the craters", "outside the craters the kit has solved",
           _flag("extrapolated")),
    Reason("no useful cutting", "cutting hardly anything: the current is too thin for the pulse",
           _flag("no_useful_cutting")),
    Reason("smaller than a spark", "with a spark wider than the end of the electrode",
           _flag("smaller_than_one_spark")),
    Reason("duty", "outside the duty factor of its stage", _duty),
    Reason("current", "asking more current of this end than it bears", _current),
    Reason("arcs", "arcing more than once in ten pulses", _arcs),
)  # fmt: skip
OTHER_LIFT = "other lift"  # told apart before any burn is worked out
OTHER_LIFT_SAID = "with another lift than the one set: what a lift clears is not in the physics"
NAMES = (OTHER_LIFT, *(reason.name for reason in REASONS))
