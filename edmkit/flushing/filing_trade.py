"""What filing a suction electrode's flats deeper gives and what it costs: flow against fin."""

from dataclasses import dataclass
from math import ceil, floor
from warnings import catch_warnings, simplefilter

import numpy as np

from edmkit.checks import RangeWarning, Refusal, require
from edmkit.flushing.suction_electrode import MOST_FLATS, Filing, Suction, filing
from edmkit.flushing.two_cups import RULE
from edmkit.planning.electrode import MICROMETER_MM
from edmkit.planning.insert import LEAST_WAY_MM, SLENDER, deepest_flat_mm
from edmkit.words import two

_DEPTHS = 49  # filing depths of the trade
_PREFERRED = (2, 3, 4, 1)  # two draw from both sides: common practice, no source


@dataclass(frozen=True)
class Line:
    """The trade for one number of flats: arrays over the filing depth.

    ``no_fin_mm`` is the deepest filing that leaves no fin, ``easy_mm`` the shallowest that lets
    the gap meter the flow; None where there is none.
    """

    flats: int
    depths_mm: np.ndarray
    fin_mm: np.ndarray
    share: np.ndarray
    flow_ml_per_min: np.ndarray
    no_fin_mm: float | None
    easy_mm: float | None

    def ends(self, display):
        """Return the two ends of the trade in a sentence each, in mm or inches."""
        if self.no_fin_mm is None:
            no_fin = f"Even flats {display.size_text(LEAST_WAY_MM, 0.01)} deep leave a fin."
        else:
            held = np.exp(np.interp(self.no_fin_mm, self.depths_mm, np.log(self.share)))
            most = display.size_text(_down(self.no_fin_mm), 0.01)
            no_fin = (
                f"No fin up to {most} off each flat: such flats hold back {two(held)} times what "
                "the gap does."
            )
        if self.easy_mm is None:
            return no_fin, "At no depth do they hold back less than the gap should."
        easy = display.size_text(self.easy_mm, 0.01)
        return no_fin, f"The gap meters the flow from {easy} on."


@dataclass(frozen=True)
class Trade:
    """No fin or low resistance: both can seldom be had; ``advice`` is the recommended `Filing`.

    ``snaps_mm`` is the thickness below which a fin of this hole's depth snaps off by itself;
    ``reason`` says in a sentence why this filing.
    """

    suction: Suction
    lines: tuple
    snaps_mm: float
    advice: Filing
    reason: str


def trade(suction, flats=None):
    """Return fin, resistance and flow over the filing depth, for 1 to 4 flats, as a `Trade`.

    Parameters
    ----------
    suction : Suction
        The electrode in its hole.
    flats : int or None
        The number to advise a depth for; None leaves the number open.

    Raises
    ------
    Refusal
        If the insert is too small for any flats.

    Notes
    -----
    Advice: flats at 0.3 of the gap's resistance, no deeper; of the numbers whose fin snaps off
    then, the first of 2, 3, 4 and 1. Where none does, the first that lets the gap meter the flow.
    """
    if flats is not None:
        require("flats", flats, 1, MOST_FLATS, knob=f"{MOST_FLATS} at most keep their corners")
    lines = tuple(_line(suction, number) for number in range(1, MOST_FLATS + 1))
    snaps = suction.place.depth_mm / SLENDER
    chosen = _chosen([lines[n - 1] for n in ([flats] if flats else _PREFERRED)], suction, snaps)
    depth = chosen.easy_mm or float(chosen.depths_mm[-1])
    advice = filing(suction, chosen.flats, depth)
    return Trade(suction, lines, snaps, advice, _reason(advice, chosen))


def _line(suction, flats):
    deepest = deepest_flat_mm(suction.insert_mm, flats)
    if deepest <= LEAST_WAY_MM:
        raise Refusal(
            f"insert_mm must leave room for {flats} flats {LEAST_WAY_MM:g} mm deep, got "
            f"{suction.insert_mm:g} mm: take a wider bore."
        )
    depths = np.geomspace(LEAST_WAY_MM, deepest, _DEPTHS)
    depths[-1] = deepest
    with catch_warnings():  # the filing that is chosen says it for itself
        simplefilter("ignore", RangeWarning)
        flow, share = suction.flow(flats, depths)
    fin, gone = suction.fin_mm(depths), suction.no_fin_mm
    no_fin = min(gone, deepest) if gone >= LEAST_WAY_MM else None
    return Line(flats, depths, fin, share, flow, no_fin, _easy(depths, share))


def _easy(depths, share):
    """Return the shallowest filing that lets the gap meter the flow, rounded up [mm], or None.

    The share falls about as a power of the depth: a chord in logarithms lies on it, or above.
    """
    if share[-1] > RULE:
        return None
    met = np.interp(-np.log(RULE), -np.log(share), np.log(depths))
    up = ceil(np.exp(met) / MICROMETER_MM - 1e-6) * MICROMETER_MM
    return min(up, float(depths[-1]))


def _down(mm):
    return floor(mm / MICROMETER_MM + 1e-6) * MICROMETER_MM


def _chosen(lines, suction, snaps_mm):
    easy = [line for line in lines if line.easy_mm is not None]
    snapping = [line for line in easy if suction.fin_mm(line.easy_mm) < snaps_mm]
    return (snapping or easy or sorted(lines, key=lambda line: line.share[-1]))[0]


def _reason(advice, line):
    """Return why this filing, in a sentence."""
    if line.easy_mm is None:
        return (
            f"Even flats that nearly meet hold back {two(advice.share)} of what the gap does: "
            "shorten the flats, or take a wider bore."
        )
    first = "As shallow as lets the gap meter the flow"
    if not advice.fin.fins:
        return f"{first}; no fin is left either."
    if advice.fin.snaps_off:
        return f"{first}; its fin still snaps off."
    return f"{first}; its fin stands all the same: no depth lets both be had here."
