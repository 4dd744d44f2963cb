"""A bore or the flats of an insert filling with soot, and what reversing the flow brings back.

Every constant here is assumed: this part shows direction, not figures.
"""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.physics.flow import flow_through
from edmkit.units import kPa, mm3_per_min

STICKS = 0.1  # of the debris that passes a clean bore, assumption; more as it narrows
NARROWEST = 0.05  # of the width stays: a bridge of grains still seeps, assumption
HOLDS = 1.0  # Pa, shear that soot stands from behind, assumption
TEARS = 0.02  # of the width a second, at twice that shear, assumption
_WIDTHS, _POINTS = 400, 200  # of the table of flows; in time, before and after reversing


@dataclass(frozen=True)
class Clogging:
    """What a filling bore shows through time: four arrays of one length.

    ``time`` [s]; ``open_share`` of its clean cross-section [-]; ``flow``, either way [m³/s];
    ``debris``, its share of the fluid that leaves by the bore [-].
    """

    time: np.ndarray
    open_share: np.ndarray
    flow: np.ndarray
    debris: np.ndarray


def _one(name, value, *limits):
    number = require(name, value, *limits)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size}: play them one by one.")
    return float(number)


def _narrowed(passage, width):
    """Return a passage that soot has narrowed all round to a share of its width."""
    return replace(
        passage,
        conductance=passage.conductance * width**4,
        area=passage.area * width**2,
        hydraulic_diameter=passage.hydraulic_diameter * width,
    )


def shut_after(passage, debris_rate):
    """Return the time in which soot shuts a bore or flats [s].

    Parameters
    ----------
    passage : Passage
        The bore or the flats that fill.
    debris_rate : float
        Metal removed [m³/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    No figure behind it is measured: it tells a wide bore from a narrow one, not the minutes.
    """
    knob = "with nothing removed nothing clogs: 10 mm³/min is 1.7e-10 m³/s"
    rate = require("debris_rate", debris_rate, 1e-6, 1e4, "mm³/min", mm3_per_min, knob)
    return (passage.area * passage.length / (2 * STICKS * rate))[()]


def _filled(time, passage, debris_rate):
    """Return the width left after a time with the flow as it should be, a share of the clean one.

    A share STICKS / width² of the debris stays on the wall, so width⁴ falls evenly.
    """
    shut = shut_after(passage, debris_rate) if debris_rate else np.inf
    return np.maximum(1 - time / shut, NARROWEST**4) ** 0.25


def _torn(time, first, widths, shear):
    """Return the width a time after reversing, from the shear at each width."""
    speed = TEARS * (shear / HOLDS - 1)
    stays = np.flatnonzero((widths >= first) & (speed <= 1e-6))
    last = widths[stays[0]] if stays.size else widths[-1]
    path = np.append(first, widths[(widths > first) & (widths < last)])
    slowness = 1 / np.interp(path, widths, np.maximum(speed, 1e-6))
    passed = np.append(0.0, np.cumsum(np.diff(path) * (slowness[1:] + slowness[:-1]) / 2))
    return np.interp(time, passed, path)


def clogging(passage, rest_of_way, pressure, debris_rate, viscosity, density, reverse_at, duration):
    """Return open share [-] and flow [m³/s] of a bore filling with soot, a `Clogging`.

    Parameters
    ----------
    passage, rest_of_way : Passage, tuple
        The bore or the flats that fill; the other parts of the way, as for `flow_through`.
    pressure, debris_rate, viscosity, density : float
        Pressure over the whole way [Pa], metal removed [m³/s], dynamic viscosity [Pa s],
        density [kg/m³].
    reverse_at, duration : float
        When the flow is turned round and burning stops, and the end [s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    No figure here is measured. The flow stands while another part meters it, then collapses with
    the width's fourth power. The electrode is lifted while the flow is reversed, so that the plug
    has all the pressure; the flow given is then what passes once it is back in its hole.
    """
    push = _one("pressure", pressure, 1e-3, 1000, "kPa", kPa, "20 kPa is 20e3 Pa")
    knob = "10 mm³/min is 1.7e-10 m³/s"
    rate = _one("debris_rate", debris_rate, 0, 1e4, "mm³/min", mm3_per_min, knob)
    end = _one("duration", duration, 1, 1e6, "s", 1.0, "an hour is 3600 s")
    turn = min(_one("reverse_at", reverse_at, 0, 1e9, "s", 1.0, "minutes x 60"), end)
    if not passage.length > 0:
        raise Refusal("passage must have a length for soot to stick to: give a bore or flats.")
    widths = np.geomspace(NARROWEST, 1, _WIDTHS)
    parts = _narrowed(passage, widths), *rest_of_way
    table = flow_through(parts, push, viscosity, density)
    lifted = flow_through(parts[:1], push, viscosity, density)
    shear = lifted.drops[0] * parts[0].hydraulic_diameter / (4 * passage.length)
    before, after = np.linspace(0, turn, _POINTS), np.linspace(turn, end, _POINTS * (turn < end))
    after = np.append(turn, after[1:])
    filled = _filled(before, passage, rate)
    cleared = _torn(after - turn, filled[-1], widths, shear)
    width = np.append(filled, cleared[1:])
    time = np.append(before, after[1:])
    flow = np.interp(width, widths, table.rate)
    torn = passage.area * passage.length * np.diff(cleared**2) / np.diff(after)
    solid = np.append(np.full(_POINTS, rate), torn)
    return Clogging(time, width**2, flow, solid / (flow + solid))
