"""Every setting of a machine in a plain Python loop, one at a time; used by the finder's tests.

The bars are written down again here, from the trade's figures: duty factor of finishing (to 20 µs)
15-50 %, of semi-finishing (20-100 µs) 40-65 %, of roughing (from 100 µs) 60-90 %, where it flushes
badly 15-50 % (handbook ranges, from memory); more than one pulse in ten an arc (assumption).
"""

import itertools
import math
import tomllib
import warnings
from dataclasses import dataclass
from statistics import NormalDist

import edmkit as ek

DIALS = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
ANSWERS = ("roughness_Ra_um", "relative_wear_percent", "gap_side_um", "recast_um",
           "average_current_A", "mean_voltage_V")  # fmt: skip
# A limit -> its answer and whether more is right.
SIDES = {
    "max_Ra_um": ("roughness_Ra_um", False),
    "max_wear_percent": ("relative_wear_percent", False),
    "max_gap_side_um": ("gap_side_um", False),
    "min_gap_side_um": ("gap_side_um", True),
    "max_recast_um": ("recast_um", False),
    "ammeter_max_A": ("average_current_A", False),
    "voltmeter_max_V": ("mean_voltage_V", False),
}
NEVER = 50.0  # of a logarithm, where nothing that can be turned helps
REASONS = ("unknown dial", "unusual polarity", "outside the craters", "no useful cutting",
           "smaller than a spark", "duty", "current", "arcs")  # fmt: skip


@dataclass
class One:
    """One setting: minutes a millimetre deep, answers, why nobody dials it and by how much."""

    polarity: str
    dials: tuple
    minutes: float
    answers: dict
    reasons: dict

    def chance(self, limit, value):
        """Return the chance of a limit: a normal distribution of the logarithm."""
        answer, above = SIDES[limit]
        likely, spread = self.answers[answer]
        if math.isnan(likely):
            return 0.0
        if likely == 0 or spread == 0:
            return float(likely > value if above else likely < value)
        below = NormalDist().cdf(math.log(value / likely) / spread)
        return 1 - below if above else below

    def meets(self, limits, chance):
        """Return whether each limit is met with this chance at least."""
        return all(self.chance(name, value) >= chance - 1e-9 for name, value in limits.items())

    def excess(self, limit, value, chance):
        """Return by how much a limit is missed, 0 where it is met [logarithm]."""
        answer, above = SIDES[limit]
        likely, spread = self.answers[answer]
        if math.isnan(likely):
            return NEVER
        side = -1 if above else 1
        off = side * math.log(likely / value) + NormalDist().inv_cdf(chance) * spread
        return max(off, 0.0)

    def first_reason(self, also=()):
        """Return why it is left out, None where it is not."""
        return next((r for r in REASONS if r in self.reasons and r not in also), None)


def duty_excess(on_us, off_us, flushing_is_bad):
    """Return by how much the duty factor lies outside each stage of the on-time [logarithm]."""
    duty = on_us / (on_us + off_us)
    stages = [(0.15, 0.50)] if flushing_is_bad or on_us <= 20 else []
    if not flushing_is_bad:
        stages += [(0.40, 0.65)] * (20 <= on_us <= 100) + [(0.60, 0.90)] * (on_us >= 100)
    low, high = min(low for low, _ in stages), max(high for _, high in stages)
    return max(math.log(low / duty), math.log(duty / high))


def unknown_values(machine):
    """Return, by dial, the values that the machine's file says nobody knows."""
    file = tomllib.loads(machine.path.read_text()) if machine.path else {}
    return {dial: {round(getattr(machine, dial).position(entry["label"]).value, 9)
                   for entry in file[dial]["positions"] if entry["how_known"] == "unknown"}
            for dial in DIALS}  # fmt: skip


def _one(setup, dials, own_polarity, unknown, shop, lift):
    burn = ek.predict(setup, ek.Settings(*map(float, dials), **lift), shop)
    point, flags = burn.point, burn.flags
    usual = ek.usual_polarity(setup.work, setup.electrode).polarity
    bad = setup.flushing.quality in ("poor", "blocked")
    inside = 0.3 <= point.spark_current <= 60 and 2e-6 <= point.discharge_duration <= 1e-3
    never = {
        "unknown dial": any(round(v, 9) in unknown[d] for d, v in zip(DIALS, dials, strict=True)),
        "unusual polarity": setup.polarity not in (usual, own_polarity),
        "outside the craters": not inside,
        "no useful cutting": flags["no_useful_cutting"],
        "smaller than a spark": setup.engaged_area_mm2 * 1e-6 < math.pi * point.crater.radius**2,
    }
    reasons = {name: NEVER for name, raised in never.items() if raised}
    over = {
        "duty": duty_excess(dials[1], dials[2], bad),
        "current": math.log(point.average_current / point.current_limit),
        "arcs": math.log(max(point.states.arcing, 1e-9) / 0.10),
    }
    reasons |= {name: excess for name, excess in over.items() if excess > 1e-12}
    share = 1.0
    if lift:
        share = lift["lift_burn_s"] / (lift["lift_burn_s"] + lift["lift_up_s"])
    rate = float(burn.removal_rate_mm3_per_min.likely)
    minutes = float(setup.engaged_area_mm2) / (rate * share) if rate else math.inf
    answers = {name: (float(getattr(burn, name).likely), float(getattr(burn, name).spread))
               for name in ANSWERS}  # fmt: skip
    return One(setup.polarity, tuple(map(float, dials)), minutes, answers, reasons)


def every(setups, shop=None, **lift):
    """Return every setting of some set-ups of one machine, which differ in polarity only."""
    machine = setups[0].machine
    unknown = unknown_values(machine)
    offered = [[float(c.value) for c in getattr(machine, dial).choices] for dial in DIALS]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        return [_one(setup, dials, setups[0].polarity, unknown, shop, lift)
                for setup in setups for dials in itertools.product(*offered)]  # fmt: skip


def alike(mine, other, with_gap):
    """Return whether two settings are one to a person: within 5 % in every answer that is shown."""
    pairs = [(mine.minutes, other.minutes)]
    names = ANSWERS[:3] if with_gap else ANSWERS[:2]
    pairs += [(mine.answers[n][0], other.answers[n][0]) for n in names]
    return all(abs(math.log(a / b)) <= 0.05 for a, b in pairs if not math.isnan(a + b))
