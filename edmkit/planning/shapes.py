"""Sections of holes and electrodes. All sizes are millimetres."""

from dataclasses import dataclass, field
from math import asin, cos, hypot, pi, sqrt, tan
from typing import ClassVar

import numpy as np

from edmkit.checks import Refusal
from edmkit.planning.edges import Arc, Line
from edmkit.planning.faces import LARGEST_MM, SMALLEST_MM, number
from edmkit.planning.feature import Shape, more_per_side


def _corners(points, radius):
    """Return a loop around corner points, counterclockwise, each with its own radius."""
    edges, count = [], len(points)
    for k, corner in enumerate(points):
        ahead, behind = points[(k + 1) % count] - corner, points[k - 1] - corner
        ahead, behind = ahead / abs(ahead), behind / abs(behind)
        centre = corner + radius[k] * (ahead + behind)  # square corners alone are rounded
        if radius[k]:
            edges.append(Arc(centre, radius[k], float(np.angle(-ahead)), pi / 2))
        end = points[(k + 1) % count] - radius[(k + 1) % count] * ahead
        start = corner + radius[k] * ahead
        if abs(end - start) > 1e-12:
            edges.append(Line(start, end))
    return tuple(edges)


def _in_corners(x, y, half_x, half_y, radius):
    """Return whether points lie in a rectangle with rounded corners about 0."""
    beyond_x = np.maximum(np.abs(x) - (half_x - radius), 0)
    beyond_y = np.maximum(np.abs(y) - (half_y - radius), 0)
    return np.hypot(beyond_x, beyond_y) <= radius


@dataclass(frozen=True)
class Round(Shape):
    """A round of diameter ``d`` [mm]."""

    d: float
    bore: ClassVar[float] = 0.0

    def __post_init__(self):
        self._check("d", SMALLEST_MM, LARGEST_MM)

    @property
    def area_mm2(self):
        """Return the area of the section, without the bore [mm²]."""
        return pi * (self.d - self.bore) * (self.d + self.bore) / 4

    @property
    def perimeter_mm(self):
        """Return the length of the edge, a bore's edge with it [mm]."""
        return pi * (self.d + self.bore)

    @property
    def smallest_width_mm(self):
        """Return the diameter [mm]."""
        return self.d

    @property
    def outer_radius_mm(self):
        """Return the radius [mm]."""
        return self.d / 2

    def shrunk(self, per_side_mm):
        """Return the electrode's round, smaller by ``per_side_mm`` per side [mm]."""
        return Round(self.d - 2 * self._per_side(per_side_mm, self.d))

    def grown(self, per_side_mm):
        """Return the round that it leaves with a gap of ``per_side_mm`` [mm]."""
        return Round(self.d + 2 * more_per_side(per_side_mm))

    @property
    def _ring(self):
        return self.d / 2, self.bore / 2

    def _loops(self):
        outer = (Arc(0j, self.d / 2),)
        return (outer, (Arc(0j, self.bore / 2),)) if self.bore else (outer,)

    def _holds(self, points):
        away = np.abs(points)
        return (away <= self.d / 2) & (away >= self.bore / 2)


@dataclass(frozen=True)
class Tube(Round):
    """A ring of diameter ``d`` around a ``bore`` [mm]; bore 0 is solid.

    As a cavity it leaves a core standing, and its area is the ring's.
    """

    bore: float = field()  # a bare name would inherit Round's 0 as its default

    def __post_init__(self):
        super().__post_init__()
        knob = f"the bore must leave a wall in the tube of {self.d:g} mm"
        self._check("bore", 0, self.d - SMALLEST_MM, knob=knob)

    @property
    def smallest_width_mm(self):
        """Return the wall [mm]."""
        return (self.d - self.bore) / 2

    def shrunk(self, per_side_mm):
        """Return the electrode's tube, ``d`` smaller by ``per_side_mm`` per side [mm].

        The bore stays: tubes are bought, and the toolmaker picks the bore as it comes.
        """
        return Tube(self.d - 2 * self._per_side(per_side_mm, self.d - self.bore), self.bore)

    def grown(self, per_side_mm):
        """Return what it leaves with a gap of ``per_side_mm``: a ring, or no core at all [mm]."""
        per_side = more_per_side(per_side_mm)
        core = self.bore - 2 * per_side
        return Tube(self.d + 2 * per_side, core) if core > 0 else Round(self.d + 2 * per_side)


@dataclass(frozen=True)
class Rectangle(Shape):
    """A rectangle ``a`` by ``b`` with a ``corner_radius`` [mm]; half the smaller side: a slot."""

    a: float
    b: float
    corner_radius: float = 0.0

    def __post_init__(self):
        self._check("a", SMALLEST_MM, LARGEST_MM)
        self._check("b", SMALLEST_MM, LARGEST_MM)
        knob = "at most half the smaller side"
        self._check("corner_radius", 0, self.smallest_width_mm / 2, knob=knob)

    @property
    def area_mm2(self):
        """Return the area of the section [mm²]."""
        return self.a * self.b - (4 - pi) * self.corner_radius**2

    @property
    def perimeter_mm(self):
        """Return the length of the edge [mm]."""
        return 2 * (self.a + self.b) - (8 - 2 * pi) * self.corner_radius

    @property
    def smallest_width_mm(self):
        """Return the smaller side [mm]."""
        return min(self.a, self.b)

    def shrunk(self, per_side_mm):
        """Return the electrode's rectangle, smaller by ``per_side_mm`` per side [mm]."""
        per_side = self._per_side(per_side_mm, self.smallest_width_mm)
        corner = max(self.corner_radius - per_side, 0.0)  # a sharp corner stays sharp
        return Rectangle(self.a - 2 * per_side, self.b - 2 * per_side, corner)

    @property
    def outer_radius_mm(self):
        """Return how far the corners reach from the axis [mm]."""
        r = self.corner_radius
        return hypot(self.a / 2 - r, self.b / 2 - r) + r

    def grown(self, per_side_mm):
        """Return the rectangle that it leaves with a gap of ``per_side_mm`` [mm].

        A sparking corner goes round: the radius grows by the gap.
        """
        g = more_per_side(per_side_mm)
        return Rectangle(self.a + 2 * g, self.b + 2 * g, self.corner_radius + g)

    def _loops(self):
        x, y = self.a / 2, self.b / 2
        points = (complex(x, -y), complex(x, y), complex(-x, y), complex(-x, -y))
        return (_corners(points, (self.corner_radius,) * 4),)

    def _holds(self, points):
        return _in_corners(points.real, points.imag, self.a / 2, self.b / 2, self.corner_radius)


@dataclass(frozen=True)
class RegularPolygon(Shape):
    """A polygon with equal sides and sharp corners: ``sides``, and ``across_flats`` [mm].

    Unturned, its lowest flat lies along a roller's axis. With an odd number of sides, across
    flats is the circle that touches them all.
    """

    sides: int
    across_flats: float

    def __post_init__(self):
        sides = number("sides", self.sides, 3, 100, "", "6 is a hexagon")
        if sides != int(sides):
            raise Refusal(f"sides must be a whole number, got {sides:g}: 6 is a hexagon.")
        object.__setattr__(self, "sides", int(sides))
        self._check("across_flats", SMALLEST_MM, LARGEST_MM)

    @property
    def area_mm2(self):
        """Return the area of the section [mm²]."""
        return self.across_flats * self.perimeter_mm / 4

    @property
    def perimeter_mm(self):
        """Return the length of the edge [mm]."""
        return self.sides * self.across_flats * tan(pi / self.sides)

    @property
    def smallest_width_mm(self):
        """Return the width across flats [mm]."""
        return self.across_flats

    def shrunk(self, per_side_mm):
        """Return the electrode's polygon, smaller by ``per_side_mm`` per side [mm]."""
        per_side = self._per_side(per_side_mm, self.across_flats)
        return RegularPolygon(self.sides, self.across_flats - 2 * per_side)

    @property
    def outer_radius_mm(self):
        """Return how far the corners reach from the axis [mm]."""
        return self.across_flats / 2 / cos(pi / self.sides)

    def grown(self, per_side_mm):
        """Return the polygon that it leaves with a gap of ``per_side_mm`` [mm].

        It keeps sharp corners; the real ones are round, their radius at least the gap.
        """
        return RegularPolygon(self.sides, self.across_flats + 2 * more_per_side(per_side_mm))

    def _loops(self):
        turns = np.exp(1j * (2 * pi * (np.arange(self.sides) + 0.5) / self.sides - pi / 2))
        points = tuple(complex(point) for point in self.outer_radius_mm * turns)
        return (_corners(points, (0.0,) * self.sides),)

    def _holds(self, points):
        step = 2 * pi / self.sides  # the lowest flat looks down, along -y
        angle = np.mod(np.angle(1j * points) + step / 2, step) - step / 2
        return np.abs(points) * np.cos(angle) <= self.across_flats / 2


@dataclass(frozen=True)
class Keyway(Shape):
    """A keyway above a round ``bore``: its ``width``, and its ``top`` above the bore line [mm].

    The top corners have a ``corner_radius``. Its axis is the bore's; it is burned along it, from
    the flat face.
    """

    width: float
    top: float
    bore: float
    corner_radius: float = 0.0
    needs_flat: ClassVar[bool] = True

    def __post_init__(self):
        self._check("bore", SMALLEST_MM, LARGEST_MM)
        self._check("width", SMALLEST_MM, self.bore, knob="it must be narrower than the bore")
        self._check("top", SMALLEST_MM, LARGEST_MM, knob="it counts from the bore line")
        most = min(self.width / 2, self._height - self._side)
        self._check("corner_radius", 0, most, knob="at most half the width, and the side's height")

    @property
    def _height(self):
        return self.bore / 2 + self.top

    @property
    def _side(self):
        """Return how high above the bore's centre the sides begin."""
        return sqrt(self.bore**2 - self.width**2) / 2

    @property
    def area_mm2(self):
        """Return the area of the section above the bore [mm²]."""
        half, radius = self.width / 2, self.bore / 2
        below = half * self._side + radius**2 * asin(half / radius)
        return self.width * self._height - below - (2 - pi / 2) * self.corner_radius**2

    @property
    def perimeter_mm(self):
        """Return the length of the edge, the bore's arc with it [mm]."""
        r = self.corner_radius
        straight = self.width - 2 * r + 2 * (self._height - r - self._side)
        return straight + pi * r + self.bore * asin(self.width / self.bore)

    @property
    def smallest_width_mm(self):
        """Return the width, or the top where that is smaller [mm]."""
        return min(self.width, self.top)

    @property
    def outer_radius_mm(self):
        """Return how far the top corners reach from the bore's axis [mm]."""
        r = self.corner_radius
        return hypot(self.width / 2 - r, self._height - r) + r

    def shrunk(self, per_side_mm):
        """Return the electrode's keyway, smaller by ``per_side_mm`` at both sides and top [mm]."""
        g = self._per_side(per_side_mm, min(self.width, 2 * self.top - SMALLEST_MM))
        corner = max(self.corner_radius - g, 0.0)
        return Keyway(self.width - 2 * g, self.top - g, self.bore, corner)

    def grown(self, per_side_mm):
        """Return the keyway that it leaves with a gap of ``per_side_mm`` [mm]."""
        g = more_per_side(per_side_mm)
        return Keyway(self.width + 2 * g, self.top + g, self.bore, self.corner_radius + g)

    def _loops(self):
        x, r, half_angle = self.width / 2, self.corner_radius, asin(self.width / self.bore)
        low, top = self._side, self._height
        points = (complex(x, low), complex(x, top), complex(-x, top), complex(-x, low))
        *sides, _ = _corners(points, (0.0, r, r, 0.0))
        return ((*sides, Arc(0j, self.bore / 2, pi / 2 + half_angle, -2 * half_angle)),)

    def _holds(self, points):
        above = (points.imag > 0) & (np.abs(points) >= self.bore / 2)
        y, half = points.imag, self._height
        return above & _in_corners(points.real, y, self.width / 2, half, self.corner_radius)
