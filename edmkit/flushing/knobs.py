"""One knob at a time against arcs: what each does to this burn, in the order of the trade."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.flushing.window import window
from edmkit.physics.states import debris_at_arcs

# What to do before any knob is turned. Common practice, no source.
FIRST = "Stop, lift, and clean both faces: an arc leaves a nub of carbon that draws the next one."
# Name: heading and reason, first things first. Common practice, no source; signs as in Kunieda et
# al. (2005), CIRP Ann. 54(2), 64-87, from memory.
ORDER = {
    "off_time_us": ("Longer off-time", "the gap clears before the next pulse"),
    "flow": ("More flow", "chips leave before they bridge the gap"),
    "lift_burn_s": ("Lift oftener", "each lift draws in clean fluid"),
    "peak_current_A": ("Lower current", "less debris, on an end that may be too small for it"),
    "gap_front_um": ("Raise the servo voltage", "a wider gap lets more fluid through"),
    "on_time_us": ("Shorter on-time", "smaller craters, smaller chips"),
}


IN_TROUBLE = 0.25  # of the sparks: a gap that arcs while somebody looks on; assumption
_DEBRIS = (1e-6, 100.0)


@dataclass(frozen=True)
class Turn:
    """One knob turned by one notch: arcs of the sparks [-], and minutes over those before."""

    heading: str
    to: str
    reason: str
    arcs: float
    minutes: float


def burning(hole, bench=None, shop=None, dirtier=1.0):
    """Return the burn of a hole with the debris that its flow leaves, and its window.

    Parameters
    ----------
    hole : Hole
        At one setting.
    bench : Bench or None
        Pressure, length of the bore, lift and temperature.
    shop : Shop or None
        What the shop has learned.
    dirtier : float
        Times the debris that follows from the flow.
    """
    flushed = window(hole, bench)
    setup = hole.burn.setup
    debris = float(np.clip(dirtier * flushed.debris.likely, *_DEBRIS))  # ends of the model
    dirty = replace(setup.flushing, debris=debris)
    return predict(replace(setup, flushing=dirty), hole.burn.settings, shop), flushed


def arcs_of(burn):
    """Return the share of arcs among the pulses that carry current through a spark or an arc [-].

    Parameters
    ----------
    burn : Burn
        At one setting of a pulse generator.
    """
    states = burn.point.states
    return float(states.arcing / np.maximum(states.arcing + states.normal, 1e-12))


def _minutes(hole, burn):
    rate = burn.removal_rate_mm3_per_min.likely * hole.burn.settings.burn_share
    return hole.volume_mm3 / float(rate)


def dirt_that_arcs(hole, bench=None, arcs=IN_TROUBLE):
    """Return how many times the debris of the flow makes so many sparks arcs [-].

    Parameters
    ----------
    hole : Hole
        At one setting.
    bench : Bench or None
        Pressure, length of the bore, lift and temperature.
    arcs : float
        Share of the sparks [-].
    """
    point = hole.burn.point
    wanted = debris_at_arcs(arcs, point.on_time, point.off_time, point.current_ratio)
    return float(wanted / window(hole, bench).debris.likely)


def turns(hole, changes, bench=None, shop=None, dirtier=1.0):
    """Return what one notch of each knob does, in the order of `ORDER`.

    Parameters
    ----------
    hole : Hole
        As it stands.
    changes : dict
        Name of `ORDER` -> words of the new position, hole at it, bench at it.
    bench : Bench or None
        As it stands.
    shop : Shop or None
        What the shop has learned.
    dirtier : float
        Times the debris that follows from each flow.

    Returns
    -------
    tuple of Turn
        Knobs without a change are left out.
    """
    now = _minutes(hole, burning(hole, bench, shop, dirtier)[0])
    made = []
    for name, (heading, reason) in ORDER.items():
        if name in changes:
            words, changed, at = changes[name]
            burn = burning(changed, at, shop, dirtier)[0]
            made.append(Turn(heading, words, reason, arcs_of(burn), _minutes(changed, burn) / now))
    return tuple(made)
