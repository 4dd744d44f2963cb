"""The suction electrode: an insert with filed flats in the bore, and what the filing costs."""

from dataclasses import dataclass, replace
from math import floor
from warnings import catch_warnings, simplefilter

import numpy as np

from edmkit.checks import RangeWarning, Refusal, one_of, require
from edmkit.estimate import BAND
from edmkit.flushing.gauge_free import DIRECTIONS, MOST_KPA
from edmkit.flushing.two_cups import RULE, Place
from edmkit.physics.flow import flow_through
from edmkit.physics.passage import segments
from edmkit.planning.electrode import readings
from edmkit.planning.faces import SMALLEST_MM
from edmkit.planning.insert import MOST_PLAY_MM, InsertTube
from edmkit.units import kPa, ml_per_min, mm
from edmkit.words import three, two

MOST_FLATS = 4
HOLDS = 1.0  # of its own diameters, what an insert needs to hold in its bore; assumption


@dataclass(frozen=True)
class Suction:
    """A bored electrode with an insert in its bore, in the hole it burns, and what draws the fluid.

    Parameters
    ----------
    place : Place
        The electrode at the depth of the finished hole, its gap in front with it.
    insert_mm : float
        Diameter of the insert: it goes into the bore and holds there [mm].
    flat_length_mm : float
        Length of the flats, from the insert's end to the open bore [mm].
    cut_mm : float
        Length that goes from one dressing to the next, end wear and cutting back together [mm].
    pressure_kPa : float
        Of the suction or pressure [kPa].
    fluid : Warm
        From `gauge_free.warm`.
    direction : str
        'suction' or 'pressure'.
    """

    place: Place
    insert_mm: float
    flat_length_mm: float
    cut_mm: float
    pressure_kPa: float
    fluid: object
    direction: str = "suction"

    def __post_init__(self):
        one_of("direction", self.direction, DIRECTIONS)
        pulls = self.direction == "suction"
        limit = self.fluid.suction_limit / kPa if pulls else MOST_KPA
        knob = "gas comes out of this fluid: draw less" if pulls else "100 kPa is 1 bar"
        require("pressure_kPa", self.pressure_kPa, 0.01, limit, "kPa", knob=knob)
        if self.place.gap_front_um is None:
            raise Refusal("gap_front_um must be given, got None: the setting's gap says it.")
        bore = self.place.bore_mm
        knob = "it goes into the bore and holds there"
        low = max(bore - MOST_PLAY_MM, SMALLEST_MM)
        require("insert_mm", self.insert_mm, low, bore, "mm", knob=knob)
        knob = "a shorter insert falls out of its bore"
        require("flat_length_mm", self.flat_length_mm, self.least_mm, 500, "mm", knob=knob)
        knob = "what one dressing takes off, and the wear before it"
        require("cut_mm", self.cut_mm, 0.001, self.flat_length_mm, "mm", knob=knob)

    @property
    def least_mm(self):
        """Shortest insert that still holds in its bore [mm]."""
        return HOLDS * self.insert_mm

    @property
    def dressings(self):
        """How many dressings the flats last for."""
        return floor((self.flat_length_mm - self.least_mm) / self.cut_mm + 1e-9)

    @property
    def left_mm(self):
        """Length of the insert after the last of them [mm]."""
        return self.flat_length_mm - self.dressings * self.cut_mm

    def tube(self, flats, depth_mm):
        """Return the electrode with so many flats filed so deep, as an `InsertTube`."""
        place = self.place
        return InsertTube(
            place.outer_mm, place.bore_mm, self.insert_mm, flats, depth_mm, self.flat_length_mm
        )

    @property
    def no_fin_mm(self):
        """Deepest filing whose fin the gap eats whole; negative where the play alone leaves one."""
        play = (self.place.bore_mm - self.insert_mm) / 2
        return 2 * self.place.gap_side_um / 1000 - play

    def fin_mm(self, depth_mm):
        """Return how thick a fin is under flats of a depth, float or array, 0 for none [mm]."""
        return np.maximum(np.asarray(depth_mm) - self.no_fin_mm, 0.0)[()]

    def flow(self, flats, depth_mm, wider=1.0):
        """Return the flow [ml/min] and the flats' drop over the gap's [-].

        Depths, or how many times as wide both gaps are, may be arrays. The play between insert and
        bore is left out beside the flats, the line above them too.
        """
        place, length = self.place, self.flat_length_mm * mm
        from_axis = self.insert_mm / 2 - np.asarray(depth_mm, float)
        filed = segments(place.bore_mm * mm / 2, from_axis * mm, length, flats)
        side = replace(place, gap_side_um=place.gap_side_um * wider).side
        way = (side, place.front(place.gap_front_um.likely * wider), filed)
        run = flow_through(way, self.pressure_kPa * kPa, self.fluid.viscosity, self.fluid.density)
        return run.rate / ml_per_min, run.drops[2] / (run.drops[0] + run.drops[1])

    def dressings_said(self, display):
        """Return how long the flats last and what is left of the insert then, in mm or inches."""
        if not self.dressings:
            return "These flats are too short for a dressing: the insert would not hold after it."
        times = "1 dressing" if self.dressings == 1 else f"{self.dressings} dressings"
        left = display.size_text(self.left_mm, 0.1)
        return f"The flats last for {times}; {left} of insert is left then: fit a new one."


@dataclass(frozen=True)
class Filing:
    """Flats filed to a depth, and what comes of it.

    ``reading`` is what a micrometer shows, in words and mm; ``share`` the resistance of the flats
    over that of the gap; ``fin`` the `Standing` at the depth of the finished hole; ``flow_ends``
    the 5 % and 95 % ends of the flow, both gaps wrong together.
    """

    tube: InsertTube
    reading: object
    fin: object
    flow_ml_per_min: float
    flow_ends: tuple
    share: float

    @property
    def gap_keeps(self):
        """The gap's part of the whole resistance [-]."""
        return 1 / (1 + self.share)

    @property
    def meter_sentence(self):
        """What meters the flow: the gap or the flats."""
        keeps = f"The gap keeps {three(100 * self.gap_keeps)} % of the resistance"
        if self.share <= RULE:
            return f"{keeps}: it meters the flow, as it should."
        return (
            f"{keeps}: the flats hold back {two(self.share)} of what the gap does, {RULE:g} at "
            "most would do, so the flow says little about the gap. File deeper, or more flats."
        )


def filing(suction, flats, depth_mm):
    """Return what flats filed to a depth let through and leave standing, as a `Filing`.

    Parameters
    ----------
    suction : Suction
        The electrode in its hole.
    flats : int
        How many, evenly around.
    depth_mm : float
        Filed off the round [mm].

    Raises
    ------
    Refusal
        If the flats meet, are deeper than the insert or too shallow for the fluid.

    Notes
    -----
    The flow comes to the rim of the bore evenly from all around; that it then gathers at the
    flats, which adds to the gap's resistance, is left out: most of all with one flat.
    """
    knob = f"{MOST_FLATS} at most keep their corners"
    require("flats", flats, 1, MOST_FLATS, knob=knob)
    tube = suction.tube(flats, depth_mm)
    fin = tube.standing(suction.place.gap_side_um / 1000, suction.place.depth_mm)
    spread = BAND * suction.place.gap_front_um.spread
    flow, share = suction.flow(tube.flats, depth_mm)
    with catch_warnings():  # what holds for the likely flow is said once
        simplefilter("ignore", RangeWarning)
        ends = suction.flow(tube.flats, depth_mm, np.exp([-spread, spread]))[0]
    return Filing(tube, readings(tube)[-1], fin, float(flow), tuple(map(float, ends)), float(share))
