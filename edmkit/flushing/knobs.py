"""One knob at a time against arcs: what each does to this burn, in the order of the trade."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.flushing.knob_order import ARCS, Knob
from edmkit.flushing.window import window
from edmkit.physics.states import debris_at_arcs, gap_that_holds
from edmkit.settings import LIMITS, refuse_circuit

# What to do before any knob is turned. Common practice, no source.
FIRST = "Stop, lift, and clean both faces: an arc leaves a nub of carbon that draws the next one."
IN_TROUBLE = 0.25  # of the sparks: a gap that arcs while somebody looks on; assumption
_DEBRIS = (1e-6, 100.0)


@dataclass(frozen=True)
class Turn:
    """One knob turned by one notch: arcs of the sparks [-], and minutes over those before."""

    knob: Knob
    to: str
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
    return predict(replace(setup, flushing=dirty), in_dirt(hole, debris), shop), flushed


def in_dirt(hole, debris):
    """Return the settings of a hole with the gap that a servo, set by its voltage, keeps in dirt.

    Parameters
    ----------
    hole : Hole
        At one setting.
    debris : float or array
        Debris over its limit [-].

    Notes
    -----
    Ends at the ends of what a gap may be dialled to: beyond them no servo follows.
    """
    settings, point = hole.burn.settings, hole.burn.point
    if settings.servo_voltage_V is None:
        return settings
    opens = gap_that_holds(debris) / gap_that_holds(point.debris)
    gap = np.clip(opens * float(hole.burn.gap_front_um.likely), *LIMITS["gap_front_um"][:2])
    return replace(settings, servo_voltage_V=None, gap_front_um=gap)


def arcs_of(burn):
    """Return the share of arcs among the pulses that carry current through a spark or an arc [-].

    Parameters
    ----------
    burn : Burn
        At one setting of a pulse generator.

    Raises
    ------
    Refusal
        If it is one of a relaxation circuit.
    """
    refuse_circuit(burn.settings, "the share of arcs")
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
    """Return what one notch of each knob does, in the order of `ARCS`.

    Parameters
    ----------
    hole : Hole
        As it stands.
    changes : dict
        Name of a knob of `ARCS` -> words of the new position, hole at it, bench at it.
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
    for knob in ARCS:
        if knob.name in changes:
            words, changed, at = changes[knob.name]
            burn = burning(changed, at, shop, dirtier)[0]
            made.append(Turn(knob, words, arcs_of(burn), _minutes(changed, burn) / now))
    return tuple(made)
