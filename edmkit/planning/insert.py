"""A tube with a filed insert: what it lets through, what it leaves standing. All sizes are mm.

A flat filed on a round insert opens a segment between the flat and the bore: the way for the
fluid. What lies under it is not burned, so a fin grows up into it.
"""

from dataclasses import dataclass
from math import acos, cos, pi, sqrt

import numpy as np

from edmkit.checks import Refusal
from edmkit.planning.edges import Arc, Line
from edmkit.planning.faces import LARGEST_MM, SMALLEST_MM, number
from edmkit.planning.feature import Shape, more_per_side
from edmkit.planning.shapes import Round
from edmkit.words import Display, three, two

LEAST_WAY_MM = 0.05  # debris jams in a narrower opening; assumption
MOST_PLAY_MM = 0.1  # a looser insert does not hold in its bore; assumption
SLENDER = 10.0  # a fin higher than this many thicknesses breaks at a touch; assumption
_MILLIMETRES = Display()


@dataclass(frozen=True)
class Standing:
    """The fins that an insert's flats leave in the hole, one to a flat.

    ``width_mm`` and ``thickness_mm`` are of one fin, ``height_mm`` is the depth burned so far;
    all 0 where the gap eats them. ``snaps_off``: so slender that it breaks by itself or at the
    first lift.
    """

    fins: int
    width_mm: float
    thickness_mm: float
    height_mm: float
    snaps_off: bool

    @property
    def sentence(self):
        """What stands there and what to do about it, in mm."""
        return self.said(_MILLIMETRES)

    def said(self, display):
        """Return what stands there and what to do about it, in mm or inches."""
        if not self.fins:
            return "No fin stands under the flats: the gap burns it away."
        one = "A fin stands" if self.fins == 1 else f"{self.fins} fins stand"
        thick, high = two(display.length(self.thickness_mm)), three(display.length(self.height_mm))
        size = f"{thick} {display.length_unit} thick and {high} {display.length_unit} high"
        if self.snaps_off:
            return f"{one} under the flats, {size}: thin enough to snap off. Wash the chips out."
        return (
            f"{one} under the flats, {size}: too sturdy to snap off. Turn the insert between "
            "passes, or burn the fins away with a solid end."
        )


def segment_area(radius, distance):
    """Return the area of a circle beyond a chord at a distance from its centre [mm²]."""
    return radius**2 * acos(distance / radius) - distance * sqrt(radius**2 - distance**2)


def deepest_flat_mm(insert_mm, flats):
    """Return how deep so many flats can be filed on an insert before they meet [mm]."""
    half = insert_mm / 2
    meet = half * (1 - cos(pi / flats)) if flats > 1 else half
    return min(meet, half - SMALLEST_MM / 2)


def fins(flats, bore_radius, distance, gap_side_mm, depth_mm):
    """Return what stands under flats at a distance from the centre, as a `Standing` [mm]."""
    inner, foot = bore_radius - gap_side_mm, distance + gap_side_mm
    thickness = inner - foot
    if thickness <= 0:
        return Standing(0, 0.0, 0.0, 0.0, False)
    width = 2 * sqrt(inner**2 - foot**2)
    return Standing(flats, width, thickness, depth_mm, depth_mm > SLENDER * thickness)


@dataclass(frozen=True)
class InsertTube(Shape):
    """An electrode: a tube ``d`` over ``bore`` with a round ``insert`` in it [mm].

    The insert has ``flats`` filed ``flat_depth`` deep, evenly around, for the fluid; ``length``
    is its own [mm].
    """

    d: float
    bore: float
    insert: float
    flats: int
    flat_depth: float
    length: float

    def __post_init__(self):
        self._check("d", SMALLEST_MM, LARGEST_MM)
        knob = f"the bore must leave a wall in the tube of {self.d:g} mm"
        self._check("bore", 2 * SMALLEST_MM, self.d - SMALLEST_MM, knob=knob)
        knob = "it must go into the bore, and hold there"
        self._check("insert", max(self.bore - MOST_PLAY_MM, SMALLEST_MM), self.bore, knob=knob)
        flats = number("flats", self.flats, 1, 12, "", "with none there is no way for the fluid")
        if flats != int(flats):
            raise Refusal(f"flats must be a whole number, got {flats:g}: 2 is usual.")
        object.__setattr__(self, "flats", int(flats))
        self._check("flat_depth", 0, LARGEST_MM)
        most = deepest_flat_mm(self.insert, self.flats)
        knob = (
            f"{self.flats} flats must leave a way for the fluid and must not meet: file them "
            "deeper or fit fewer if it is too little, shallower or fewer if too much"
        )
        self._check("flat_depth", LEAST_WAY_MM, most, knob=knob)
        self._check("length", SMALLEST_MM, LARGEST_MM)

    @property
    def _distance(self):
        """Return how far the flats lie from the axis."""
        return self.insert / 2 - self.flat_depth

    @property
    def area_mm2(self):
        """Return the area of tube and insert together [mm²]."""
        return pi * self.d**2 / 4 - self.open_area_mm2

    @property
    def open_area_mm2(self):
        """Return the area left for the fluid [mm²]."""
        play = pi * (self.bore - self.insert) * (self.bore + self.insert) / 4
        return play + self.flats * segment_area(self.insert / 2, self._distance)

    @property
    def perimeter_mm(self):
        """Return the length of the edge, bore and insert with it [mm]."""
        half = acos(2 * self._distance / self.insert)
        chords = self.flats * self.insert * np.sin(half)
        if self.insert == self.bore:  # they touch: only the segments have an edge
            return float(pi * self.d + chords + self.flats * self.bore * half)
        round_left = self.insert * (pi - self.flats * half)
        return float(pi * (self.d + self.bore) + round_left + chords)

    @property
    def smallest_width_mm(self):
        """Return the tube's wall, or the insert across its flats where that is more [mm]."""
        return max((self.d - self.bore) / 2, self.insert - 2 * self.flat_depth)

    @property
    def outer_radius_mm(self):
        """Return the tube's radius [mm]."""
        return self.d / 2

    def standing(self, gap_side_mm, depth_mm):
        """Return what stands under the flats at a depth, as a `Standing` [mm]."""
        gap = number("gap_side_mm", gap_side_mm, 0, LARGEST_MM / 2)
        depth = number("depth_mm", depth_mm, 0, LARGEST_MM)
        return fins(self.flats, self.bore / 2, self._distance, gap, depth)

    def shrunk(self, per_side_mm):
        """Return the electrode's tube, ``d`` smaller by ``per_side_mm`` per side [mm].

        Bore and insert stay as they are.
        """
        d = self.d - 2 * self._per_side(per_side_mm, self.d - self.bore)
        return InsertTube(d, self.bore, self.insert, self.flats, self.flat_depth, self.length)

    def grown(self, per_side_mm):
        """Return the round that it leaves with a gap of ``per_side_mm``, without fins [mm]."""
        return Round(self.d + 2 * more_per_side(per_side_mm))

    def _loops(self):
        half = acos(2 * self._distance / self.insert)
        middles = 2 * pi * np.arange(self.flats) / self.flats
        radius, bore = self.insert / 2, self.bore / 2
        if self.insert == self.bore:
            ways = [(_chord(radius, m - half, m + half), Arc(0j, bore, m + half, -2 * half))
                    for m in middles]  # fmt: skip
            return ((Arc(0j, self.d / 2),), *ways)
        left = 2 * pi / self.flats - 2 * half
        around = [
            edge
            for m in middles
            for edge in (_chord(radius, m - half, m + half), Arc(0j, radius, m + half, left))
        ]
        return ((Arc(0j, self.d / 2),), (Arc(0j, bore),), tuple(around))  # fmt: skip

    def _holds(self, points):
        away = np.abs(points)
        step = 2 * pi / self.flats
        angle = np.mod(np.angle(points) + step / 2, step) - step / 2
        filed = (away <= self.insert / 2) & (away * np.cos(angle) <= self._distance)
        return (away <= self.d / 2) & ((away >= self.bore / 2) | filed)


def _chord(radius, start, end):
    return Line(complex(radius * np.exp(1j * start)), complex(radius * np.exp(1j * end)))
