"""Positions that are not to be trusted: worn, unlike their plate, or out of order."""

from itertools import pairwise

import numpy as np

from edmkit.dials.known import Fault
from edmkit.dials.survey import SWITCH_WORDS, SWITCHES
from edmkit.settings import LIMITS
from edmkit.switches import HOW_KNOWN_SPREAD

FAR = 2.6  # spreads: about one in a hundred
ALIKE = 0.05  # two positions this near to each other by logarithm do the same; assumption


def faults_of(solved, switches):
    """Return the positions not to be trusted, a tuple of `Fault`.

    Parameters
    ----------
    solved : Solved
        The readings.
    switches : dict
        Name -> `Switch`, what they say.
    """
    return (*_worn(solved), *_unlike_plate(solved, switches), *_out_of_order(solved, switches))


def _worn(solved):
    found = []
    for name in SWITCHES:
        for label in solved.model.survey.labels(name):
            spread = solved.worn.get(solved.model.place(name, label))
            if spread:
                why = (
                    f"its own readings scatter by about {100 * spread:.0f} %: a worn or dirty "
                    "contact. Clean it, or do without it."
                )
                found.append(Fault(name, label, why))
    return found


def _unlike_plate(solved, switches):
    found = []
    for plate in solved.model.survey.plates:
        switch, unit = switches[plate.switch], LIMITS[plate.switch][2]
        position = next(p for p in switch.positions if p.label == plate.label)
        spread = np.hypot(position.spread, HOW_KNOWN_SPREAD[plate.how_known])
        if position.how_known == "measured" and abs(np.log(position.value / plate.value)) > (
            FAR * spread
        ):
            found.append(Fault(plate.switch, plate.label, f"it reads {position.value:.3g} {unit} "
                               f"where its plate says {plate.value:.3g} {unit}."))  # fmt: skip
    return found


def _out_of_order(solved, switches):
    """Return positions that come out the other way round than their neighbours, or the same."""
    found = []
    for name in ("peak_current_A", "on_time_us", "off_time_us"):
        known = [p for p in switches[name].positions if p.how_known == "measured"]
        if switches[name].adds or len(known) < 3:
            continue
        steps = np.diff(np.log([p.value for p in known]))
        way = np.sign(np.median(steps)) or 1.0
        for (before, after), step in zip(pairwise(known), way * steps, strict=True):
            spread = _apart(solved, name, before.label, after.label)
            word = f"{SWITCH_WORDS[name]} {before.label}"
            if step < -FAR * spread:
                found.append(Fault(name, after.label, f"it is out of order beside {word}."))
            elif abs(step) < ALIKE and FAR * spread < 3 * ALIKE:
                found.append(Fault(name, after.label, f"it does the same as {word}."))
    return found


def _apart(solved, name, before, after):
    """Return the spread of the ratio of two positions: what they share cancels out."""
    row = np.zeros(solved.model.size)
    row[solved.model.place(name, before)], row[solved.model.place(name, after)] = -1.0, 1.0
    return float(solved.spread(row))
