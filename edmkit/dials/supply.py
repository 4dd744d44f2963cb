"""What drives the current: told by how much it falls when a resistor takes a spark's voltage."""

import numpy as np

from edmkit.dials.known import Supply
from edmkit.dials.survey import LOAD, SHORT
from edmkit.estimate import Estimate

SPARK_V = 25.0  # across a burning spark, copper on steel: edmkit/data/materials.csv
REGULATED, TWO = 0.5, 1.4  # droop below, above which it is not one voltage and a resistor
RESISTOR = 0.05  # what a resistor's print may be off by; trade tolerance, common practice
CLEAR = 1.3  # spreads that the droop must lie from a border; assumption


def cuts_back(solved):
    """Return whether more flows through a resistor than in a short, so that a short is cut back.

    Parameters
    ----------
    solved : Solved
        The readings.
    """
    droop, spread = _droop(solved)
    both = {SHORT, LOAD} <= {r.what for r in solved.model.readings}
    return bool(both and droop + 2 * spread < -0.1)


def supply_of(solved):
    """Return what drives the current, a `Supply`.

    Parameters
    ----------
    solved : Solved
        The readings; without one through a resistor nothing tells.
    """
    model, what = solved.model, {r.what for r in solved.model.readings}
    if LOAD not in what:
        return Supply("", "no reading through a resistor yet.")
    if model.loads_only:
        why = "the amps were read at about a spark's voltage: they are the spark's own."
        return Supply("", why, amps="spark")
    droop, spread = _droop(solved)
    if min(abs(droop - REGULATED), abs(droop - TWO)) < CLEAR * spread:
        return Supply("", "the readings through the resistor do not tell yet: repeat them, or take "
                      "a larger resistor.")  # fmt: skip
    falls = f"through the resistor flows {_share(solved):.0f} % of what flows in a short"
    if droop < REGULATED:
        return Supply("regulated", f"{falls}: the machine holds its amps.", amps="spark")
    driving = Estimate(model.volts / droop, spread / droop)
    if droop > TWO:
        return Supply("two voltages", f"{falls}: less than the open voltage of "
                      f"{model.volts:.0f} V would drive.", driving)  # fmt: skip
    return Supply("resistor-limited", f"{falls}: as a resistor behind {model.volts:.0f} V lets "
                  "through.", driving)  # fmt: skip


def _droop(solved):
    """Return open over driving voltage, and its spread as a plain number."""
    row = np.zeros(solved.model.size)
    row[-1] = 1.0
    droop = float(solved.x[-1])
    return droop, float(np.hypot(solved.spread(row), RESISTOR * droop))


def _share(solved):
    """Return what flows through the resistor in percent of a short, the middle of the readings."""
    model, x = solved.model, solved.x
    shares = []
    for reading in model.readings:
        if reading.what == LOAD:
            amps = sum(np.exp(x[model.place("peak_current_A", c)]) for c in reading.current)
            shares.append(1 / (1 + reading.load_ohm * amps / model.volts * x[-1]))
    return 100 * float(np.median(shares))
