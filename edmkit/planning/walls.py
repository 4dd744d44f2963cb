"""What is left of the part around the hole, and whether it can get too warm."""

from dataclasses import dataclass
from math import exp, hypot, pi

import numpy as np

from edmkit.checks import Refusal, one_of, require
from edmkit.units import ZERO_CELSIUS
from edmkit.words import three

BLOCK, BALL, ALONG, ACROSS, TUBE = (
    "block", "ball", "pin along its axis", "pin across", "tube"
)  # fmt: skip
KINDS = (BLOCK, BALL, ALONG, ACROSS, TUBE)
BATH_C = 20.0
FILM = (50.0, 500.0)  # W/(m² K), a part in still to stirred oil; from memory
SPARKING_SHARE = (0.3, 1.0)  # of the clock beside the lifts, real to none lost; assumption
INTO_WORK_SHARE = (0.2, 0.5)  # of the power; assumption, textbooks differ


@dataclass(frozen=True)
class Part:
    """The part around a hole.

    ``diameter_mm`` of the ball, pin or tube; ``bore_mm`` of a tube; ``length_mm`` where it
    matters for warming; ``pitch_mm`` to a neighbour hole of the same size, None without one.
    """

    kind: str = BLOCK
    diameter_mm: float | None = None
    bore_mm: float = 0.0
    length_mm: float | None = None
    pitch_mm: float | None = None

    def __post_init__(self):
        one_of("part", self.kind, KINDS)
        if self.kind != BLOCK:
            if self.diameter_mm is None:
                raise Refusal(f"diameter_mm of the {self.kind} must be given: measure it.")
            require("diameter_mm", self.diameter_mm, 0.1, 10_000, "mm", knob="measure the part")
        for name in ("length_mm", "pitch_mm"):
            if getattr(self, name) is not None:
                require(name, getattr(self, name), 0.01, 10_000, "mm", knob="leave it empty")
        if self.kind == TUBE:
            most = self.diameter_mm - 0.02
            require("bore_mm", self.bore_mm, 0.01, most, "mm", knob="it must leave a wall")


@dataclass(frozen=True)
class Wall:
    """The smallest wall left: as drawn, and what is sound of it; ``where`` in words [mm]."""

    wall_mm: float
    sound_mm: float
    where: str

    @property
    def sentence(self):
        """What must be said; empty where the wall is sound."""
        if self.wall_mm <= 0:
            return f"No wall is left {self.where}: move the hole, or make it smaller or shallower."
        if self.sound_mm <= 0:
            return (
                f"Recast layer and location error go right through the wall {self.where}: take a "
                "finer last pass, or move the hole."
            )
        return ""


def _reach_across(shape, turn_deg):
    """Return how far a turned shape reaches across the axis of a pin [mm]."""
    x, y = np.concatenate(shape.outline_mm()).T
    turn = np.radians(turn_deg)
    return float(np.abs(x * np.sin(turn) + y * np.cos(turn)).max())


def smallest_wall(part, shape, floor_mm, offset_mm=0.0, location_mm=0.0, turn_deg=0.0):
    """Return the smallest wall between a blind hole and the part's other faces [mm].

    Parameters
    ----------
    part : Part
        The part.
    shape : Shape
        The finished hole [mm].
    floor_mm : float
        Depth of the flat floor below the crown [mm].
    offset_mm, location_mm : float
        Offset of the hole; how far it may sit off that, always taken off the wall [mm].
    turn_deg : float
        Turn of the shape: across a pin only its reach across the axis counts [degrees].

    Returns
    -------
    (float, str)
        The wall and where it is; None and '' where the part has no wall to speak of.

    Notes
    -----
    Ball and cross hole: R - hypot(c + e, H - R), the floor's rim against the far side; along a
    pin: R - c - e; tube: outer radius - H - bore radius. Derived here; exact for a flat floor.
    """
    reach, away = shape.outer_radius_mm, abs(offset_mm) + location_mm
    found = []
    if part.kind in (BALL, ACROSS):
        radius = part.diameter_mm / 2
        across = reach if part.kind == BALL else _reach_across(shape, turn_deg)
        rim = radius - hypot(across + away, floor_mm - radius)
        far = floor_mm > radius
        found.append((rim, "between the floor's rim and the far side"
                      if far else "beside the floor"))  # fmt: skip
    elif part.kind == ALONG:
        found.append((part.diameter_mm / 2 - reach - away, "beside the hole"))
    elif part.kind == TUBE:
        found.append(((part.diameter_mm - part.bore_mm) / 2 - floor_mm, "to the tube's bore"))
    if part.pitch_mm is not None:
        found.append((part.pitch_mm - 2 * reach - 2 * location_mm, "to the neighbour hole"))
    if not found:
        return None, ""
    return min(found)


def wall_left(part, shape, floor_mm, offset_mm=0.0, *, location_mm=0.0, recast_mm=0.0, lap_mm=0.0,
              turn_deg=0.0):  # fmt: skip
    """Return the smallest wall and what is sound of it, None where there is none to speak of.

    Parameters
    ----------
    part, shape, floor_mm, offset_mm, turn_deg
        As for `smallest_wall`.
    location_mm, recast_mm, lap_mm : float
        Location error and runout; recast layer that one place in twenty exceeds, on both faces
        of the wall's worst case; what will be lapped off [mm].
    """
    wall, where = smallest_wall(part, shape, floor_mm, offset_mm, 0.0, turn_deg)
    if wall is None:
        return None
    worst, _ = smallest_wall(part, shape, floor_mm, offset_mm, location_mm, turn_deg)
    return Wall(wall, worst - 2 * recast_mm - lap_mm, where)


@dataclass(frozen=True)
class Warming:
    """How warm a part may get in a burn [K above the bath], and what it bears.

    ``low_K`` is the lowest plausible figure, ``high_K`` the highest; ``room_K`` the room up to
    the temper, None where the metal has none. ``sentence`` is empty unless even the lowest
    passes it.
    """

    low_K: float
    high_K: float
    room_K: float | None
    sentence: str


def adiabatic_K(power_W, seconds, mass_g, heat_capacity):
    """Return how much a part warms when no heat leaves it [K].

    Parameters
    ----------
    power_W, seconds, mass_g, heat_capacity : float
        Heat into the part [W], time [s], its mass [g], its heat capacity [J/(kg K)].
    """
    power = require("power_W", power_W, 0, 1e5, "W", knob="volts x mean amps x share")
    time = require("seconds", seconds, 0, 1e7, "s", knob="minutes x 60")
    mass = require("mass_g", mass_g, 1e-3, 1e7, "g", knob="weigh the part")
    heat = require("heat_capacity", heat_capacity, 50, 5000, "J/(kg K)", knob="steel: 460")
    return float(power * time / (mass / 1000 * heat))


def warming(power_W, minutes, mass_g, surface_mm2, metal, burn_share=1.0):
    """Return how warm a part may get, from the lowest to the highest plausible figure.

    Parameters
    ----------
    power_W : float
        Discharge voltage times mean current while sparking [W].
    minutes, mass_g, surface_mm2 : float
        On the clock [min]; the part's mass [g] and wetted surface [mm²].
    metal : Material
        The work.
    burn_share : float
        Share of the clock beside the lifts [-].

    Returns
    -------
    Warming

    Notes
    -----
    One lump, cooled by the bath: dT = P/(hA) (1 - exp(-t hA/(m c))). Lowest: 0.3 of the time
    sparking, 0.2 of the power into the work, h = 500 W/(m² K); highest: all of the time, 0.5,
    h = 50. Shares and h from memory and assumption; a thin wall warms more than the lump.
    """
    area = float(require("surface_mm2", surface_mm2, 1, 1e9, "mm²")) * 1e-6
    share = float(require("burn_share", burn_share, 0.01, 1))
    heat = metal.properties["heat_capacity_room"].value
    seconds = minutes * 60
    ends = []
    for sparking, into, film in zip(SPARKING_SHARE, INTO_WORK_SHARE, reversed(FILM), strict=True):
        heated = power_W * sparking * into * share
        per_K = film * area
        lag = mass_g / 1000 * heat / per_K
        adiabatic_K(heated, seconds, mass_g, heat)  # the same refusals
        ends.append(heated / per_K * (1 - exp(-seconds / lag)))
    room = None if metal.temper_limit is None else metal.temper_limit - ZERO_CELSIUS - BATH_C
    return Warming(ends[0], ends[1], room, _warm_words(*ends, room))


def _warm_words(low, high, room):
    if room is None or low <= room:
        return ""
    return (
        f"The part may warm by {three(low)} K or more, up to {three(high)} K, and it softens from "
        f"{three(room + BATH_C)} °C: pause the burn, or flush it well from outside (estimated, "
        "not measured)."
    )


def lump(part, density):
    """Return mass [g] and wetted surface [mm²] of a part, None where its size is not known.

    Parameters
    ----------
    part : Part
        The part.
    density : float
        Of the work [kg/m³].
    """
    d = part.diameter_mm
    if part.kind == BALL:
        return pi * d**3 / 6 * density * 1e-6, pi * d**2
    if part.kind == BLOCK or part.length_mm is None:
        return None
    bore = part.bore_mm if part.kind == TUBE else 0.0
    section = pi * (d**2 - bore**2) / 4
    surface = pi * (d + bore) * part.length_mm + 2 * section
    return section * part.length_mm * density * 1e-6, surface
