"""The ways a fluid takes through an electrode and its gap: what each lets through, slowly flowing.

Flow in each is conductance times pressure over viscosity; `flow` adds what speed costs.
"""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require
from edmkit.units import kPa, mm, mm2, um

ENTRY_AND_EXIT = 1 / 0.6**2  # speed heads at sharp edges: an orifice passes 0.6 of the ideal flow
TERMS = np.arange(1, 40, 2)  # of the slot's series; the rest is below 1e-8 of the flow
LEAST = 1e-4  # mm: a way narrower than 0.1 µm is closed
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(40)


@dataclass(frozen=True)
class Passage:
    """One stretch of the fluid's way.

    ``name`` as a toolmaker says it; ``conductance`` [m³], laminar flow is conductance x pressure
    / viscosity; ``area`` of the narrowest cross-section [m²]; ``hydraulic_diameter`` and
    ``length`` [m]; ``losses``: speed heads lost at entry and exit [-]; ``inertia``: the laminar
    form holds while this times the Reynolds number stays below 1 [-], 0 where it always does.
    """

    name: str
    conductance: float
    area: float
    hydraulic_diameter: float
    length: float
    losses: float = ENTRY_AND_EXIT
    inertia: float = 0.0


def _size(name, value, low=0.01, high=1000.0, knob="1 mm is 1e-3 m"):
    """Return a length of a passage that is seen with the eye [m]."""
    return require(name, value, low, high, "mm", mm, knob)


def slot(width, height, length, name="slot"):
    """Return the conductance [m³] and sizes of a straight slot, a `Passage`.

    Parameters
    ----------
    width, height, length : float or array, broadcast together
        Sides of its cross-section, whichever is the longer [m]; length along the flow [m].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If a size is outside its range.

    Notes
    -----
    Exact for fully developed laminar flow.

    References
    ----------
    Boussinesq's series, as in White, Viscous Fluid Flow, 3-48 (from memory).
    """
    one, other = _size("width", width, LEAST), _size("height", height, LEAST)
    along = _size("length", length)
    wide, narrow = np.maximum(one, other), np.minimum(one, other)
    odd = np.tanh(TERMS * np.pi * (wide / narrow)[..., None] / 2) / TERMS**5.0
    share = 1 - 192 / np.pi**5 * narrow / wide * odd.sum(-1)
    conductance = wide * narrow**3 / (12 * along) * share
    across = 2 * wide * narrow / (wide + narrow)
    return Passage(name, conductance[()], (wide * narrow)[()], across[()], along[()])


def annulus(outer_radius, inner_radius, length, eccentricity=0.0, name="side gap"):
    """Return the conductance [m³] and sizes of the ring around an electrode, a `Passage`.

    Parameters
    ----------
    outer_radius, inner_radius, length : float or array, broadcast together
        Of the hole and of the electrode in it [m], length along the flow [m].
    eccentricity : float or array
        Offset over gap: 0 in the middle, 1 touching [-].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If a size is outside its range or the electrode does not go into the hole.

    Notes
    -----
    Exact for laminar flow when centred. Off centre x(1 + 1.5 e²), exact for a thin ring; at a
    gap of a tenth of the radius it is 1 % off, whatever the offset.
    """
    outer, inner = _size("outer_radius", outer_radius), _size("inner_radius", inner_radius)
    along = _size("length", length)
    off = require("eccentricity", eccentricity, 0, 1, knob="offset over gap, 1 where they touch")
    knob = "the hole must be larger than the electrode in it"
    gap = _size("outer_radius less inner_radius", outer - inner, LEAST, knob=knob)
    # Written over the logarithm of the ratio: the textbook's difference loses all digits when thin.
    ratio = np.log1p(gap / inner)
    centred = 0.5 * np.pi * (outer * inner) ** 2 * np.sinh(ratio) * _ring(ratio)
    conductance = centred / along * (1 + 1.5 * off**2)
    area = np.pi * gap * (outer + inner)
    return Passage(name, conductance[()], area[()], (2 * gap)[()], along[()])


def _ring(ratio):
    """Return cosh x - sinh x / x, also where x is small."""
    square = ratio**2
    small = square / 3 * (1 + square / 10 * (1 + square / 28 * (1 + square / 54)))
    return np.where(ratio < 0.5, small, np.cosh(ratio) - np.sinh(ratio) / ratio)


def bore(radius, length, name="bore"):
    """Return the conductance [m³] and sizes of a round bore or tube, a `Passage`.

    Parameters
    ----------
    radius, length : float or array, broadcast together
        Of the bore [m].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If a size is outside its range.

    Notes
    -----
    Exact for fully developed laminar flow, Reynolds number below 2000.

    References
    ----------
    Hagen and Poiseuille, as in any book on flow.
    """
    half, along = _size("radius", radius), _size("length", length)
    conductance = np.pi * half**4 / (8 * along)
    return Passage(name, conductance[()], (np.pi * half**2)[()], (2 * half)[()], along[()])


def segments(bore_radius, distance, length, number=1, name="flats of the insert"):
    """Return the conductance [m³] and sizes of flats filed on a round insert, a `Passage`.

    Parameters
    ----------
    bore_radius, distance, length, number : float or array, broadcast together
        Radius of the bore, distance of the flats from its axis, length of the insert [m];
        how many flats [-].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If a size is outside its range or the flat lies outside the bore.

    Notes
    -----
    Segments of the bore. Opening cubed over the width, over 12: 16/35 of a rectangle as wide and
    deep when shallow. That narrow form is 2 % too much at a tenth of the radius deep, 7 % at three
    tenths, 32 % at a half circle; put right here to 0.5 %. The insert's play is left out.
    """
    radius, along = _size("bore_radius", bore_radius), _size("length", length)
    away = _size("distance", distance, low=0, knob="file the flat shallower, not past the middle")
    flats = require("number", number, 1, 12, knob="2 flats are usual")
    knob = "file the flat deeper"
    deep = _size("bore_radius less distance", radius - away, LEAST, knob=knob)
    half = np.sqrt(deep * (radius + away))
    across = half[..., None] * _NODES
    arc = np.sqrt(radius[..., None] ** 2 - across**2)
    opening = (half[..., None] ** 2 - across**2) / (arc + away[..., None])
    slender = deep / (2 * half)
    # derived here: fitted to solved sections from shallow to half a circle (tests/test_passage.py)
    narrow_form_off = 1 + 1.9 * slender**2 - 1.2 * slender**3
    conductance = flats * half * (opening**3 @ _WEIGHTS) / (12 * along * narrow_form_off)
    angle = np.arctan2(half, away)
    area = radius**2 * angle - away * half
    wetted = 2 * (radius * angle + half)
    return Passage(name, conductance[()], (flats * area)[()], (4 * area / wetted)[()], along[()])


def radial_gap(gap, inner_radius, outer_radius, name="gap in front"):
    """Return the conductance [m³] and sizes of the gap under a flat end, a `Passage`.

    Parameters
    ----------
    gap, inner_radius, outer_radius : float or array, broadcast together
        Width of the gap, radius of the hole, radius of the rim [m].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If a size is outside its range or the hole is as large as the end.

    Notes
    -----
    From the hole to the rim, either way. Exact for flow that creeps: Reynolds number x gap / inner
    radius below about 1. Beyond it the speed heads lost at the hole are a guess of the right
    size. A square or hexagonal end is taken as a round of the same area by its caller.
    """
    knob = "30 µm is 30e-6 m, and no fluid passes a closed gap"
    wide = require("gap", gap, 0.1, 10_000, "µm", um, knob)
    inner, outer = _size("inner_radius", inner_radius), _size("outer_radius", outer_radius)
    rim = _size("outer_radius less inner_radius", outer - inner, 0.001, knob="take a smaller bore")
    conductance = np.pi * wide**3 / (6 * np.log(outer / inner))
    area = 2 * np.pi * inner * wide
    return Passage(
        name,
        conductance[()],
        area[()],
        (2 * wide)[()],
        rim[()],
        inertia=(wide / inner)[()],
    )


def opening(area, name="opening"):
    """Return the conductance [m³] and sizes of a sharp hole in a thin wall, a `Passage`.

    Parameters
    ----------
    area : float or array
        Of the hole [m²].
    name : str
        What it is called.

    Raises
    ------
    Refusal
        If the area is outside 1e-4 to 10 000 mm².

    Notes
    -----
    A nozzle, a valve. At speed 0.6 of the ideal flow; creeping, a round hole's r³ / 3. Between
    them the two pressures are added (assumption). One that is not round passes more when creeping.

    References
    ----------
    Sampson (1891), Phil. Trans. A 182, 449, for the creeping flow; 0.6 from memory.
    """
    hole = require("area", area, 1e-4, 10_000, "mm²", mm2, "1 mm² is 1e-6 m²")
    radius = np.sqrt(hole / np.pi)
    return Passage(name, (radius**3 / 3)[()], hole[()], (2 * radius)[()], 0.0)


def laminar_flow(passage, pressure, viscosity):
    """Return the flow through a passage while it is slow [m³/s].

    Parameters
    ----------
    passage : Passage
        The way, as the functions above make it.
    pressure, viscosity : float or array, broadcast together
        Pressure along it [Pa], dynamic viscosity [Pa s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Without entry and exit losses, and below the Reynolds number where it turns turbulent: an
    upper bound; `edmkit.physics.flow.flow_through` takes both along.
    """
    drop = require("pressure", pressure, 0, 1000, "kPa", kPa, "30 kPa is 30e3 Pa")
    thick = require("viscosity", viscosity, 1e-4, 1, "Pa s", knob="2 mPa s is 2e-3 Pa s")
    return (passage.conductance * drop / thick)[()]
