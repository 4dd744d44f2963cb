"""The fastest setting of the machine for one end of a plan: the finder's, or the nearest to it."""

from dataclasses import replace

import numpy as np

from edmkit.checks import Refusal
from edmkit.finder.find import find_settings
from edmkit.finder.grid import USUAL_V, dials, nearest
from edmkit.settings import refuse_circuit
from edmkit.words import three

# What is taken in, step by step, where nothing is left: a plan warns rather than refuses.
_STEPS = ((), ("unknown dial",), ("unknown dial", "duty", "arcs"))
_EVERY = (*_STEPS[-1], "current", "outside the craters", "no useful cutting",
          "smaller than a spark")  # fmt: skip


def fastest(setup, shop=None, *, max_Ra_um=None, gap_side_um=None, like=None):
    """Return the fastest setting of a machine for one end.

    Parameters
    ----------
    setup : Setup
        With area and rim of the end; its polarity is kept.
    shop : Shop or None
        What the shop has learned.
    max_Ra_um : float or None
        Likely roughness allowed [µm].
    gap_side_um : pair of float or None
        The likely side gap must lie between these [µm].
    like : Settings or None
        Whose open voltage, gap and lift timers are kept.

    Returns
    -------
    Choice

    Raises
    ------
    Refusal
        If no setting meets a limit: which, by how much, and the nearest; if ``like`` is a circuit.

    Notes
    -----
    What the finder leaves out is taken in only where nothing else is left. An end that bears no
    setting takes the one with the least mean current over its limit: it is warned, not refused.
    """
    refuse_circuit(like, "a search of the switches")
    low, high = gap_side_um or (None, None)
    asked = {"max_Ra_um": max_Ra_um, "min_gap_side_um": low, "max_gap_side_um": high}
    kept = {"like": like, "hold": _held(setup, like), "most": 1}
    for also in _STEPS:
        found = find_settings(setup, shop, **asked, **kept, also=also)
        if found:
            return found[0]
    for also in ((*_STEPS[-1], "current"), _EVERY):
        found = find_settings(setup, shop, **asked, **kept, also=also, minutes_of=_load)
        if found:
            return replace(found[0], minutes=found[0].burn.minutes(setup.engaged_area_mm2))
    raise Refusal(_why(found, gap_side_um))


def _held(setup, like):
    """Return the open voltage that stays, and the polarity."""
    wish = USUAL_V if like is None else float(like.open_voltage_V)
    volts = wish if setup.machine is None else nearest(dials(setup)["open_voltage_V"], wish)
    return {"open_voltage_V": volts, "polarity": setup.polarity}


def _load(burn):
    """Return the mean current over what the end bears: to rank those that are too much for it."""
    return replace(burn.average_current_A, likely=np.broadcast_to(
        burn.point.average_current / burn.point.current_limit, burn.shape)[()])  # fmt: skip


def _why(found, gap_side_um):
    """Return what nothing on the machine meets, by how much, and the nearest that would do."""
    short = {shortfall.name: shortfall for shortfall in found.shortfalls}
    limits = {limit.name: limit.value for limit in found.limits}
    if "max_Ra_um" in short or gap_side_um is None:
        best = short["max_Ra_um"].would_do
        return (
            f"max_Ra_um must be at least {three(best)} µm on this machine and end, got "
            f"{limits['max_Ra_um']:g} µm: the smoothest setting leaves that much."
        )
    low, high = gap_side_um
    gap, middle = found.nearest.burn.gap_side_um.likely, (low + high) / 2
    return (
        f"gap_side_um must be between {three(low)} and {three(high)} µm for this electrode, and "
        f"the nearest setting gives {three(gap)} µm: take an electrode "
        f"{three(2 * abs(gap - middle))} µm {'smaller' if gap > middle else 'larger'} in diameter."
    )
