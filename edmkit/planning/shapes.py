"""What is sunk into what: the hole's shape, the face it starts on, and how much is engaged.

All sizes are millimetres. ``Feature.depth_mm`` counts from the crown, the highest point of the
face, as a drawing does. The methods of ``Feature`` count depth from first contact of an unworn
flat end, as the dial does after touching off. The two differ by ``first_contact_mm``, which is
above 0 only for a tube on a ball so far.
"""

from dataclasses import dataclass, field
from math import pi, tan
from typing import ClassVar

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.planning.contact import Contact, ring_on_ball, ring_on_roller, sag

SMALLEST_MM = 0.05  # assumption: thinner electrodes are beyond a small shop
LARGEST_MM = 1000.0  # assumption: a small shop's machine sinks nothing larger
LARGEST_FACE_MM = 1e5  # assumption: a larger dome or roller is flat to a toolmaker
SHALLOWEST_MM = 0.001  # assumption: the finest step of a readout


def _number(name, value, low, high, unit="mm", knob=""):
    """Return one checked number as a float; a list is refused."""
    number = require(name, value, low, high, unit, knob=knob)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size} of them.")
    return float(number)


class _Sized:
    """Something frozen whose sizes are checked once, when it is made."""

    def _check(self, name, low, high, unit="mm", knob=""):
        object.__setattr__(self, name, _number(name, getattr(self, name), low, high, unit, knob))


class Shape(_Sized):
    """A section of the wanted hole, or of the electrode; sizes in mm.

    Every shape has ``area_mm2``, ``perimeter_mm`` (a bore's edge with it), ``smallest_width_mm``
    (the largest circle that fits inside) and ``shrunk(per_side_mm)``.
    """

    def into(self, face, depth_mm, offset_mm=0.0, turn_deg=0.0):
        """Return the Feature of this shape sunk into a face, depth from the crown [mm]."""
        return Feature(self, face, depth_mm, offset_mm, turn_deg)

    def _per_side(self, per_side_mm, width_mm):
        """Return the checked allowance per side, which must leave something of the width."""
        limit = max((width_mm - SMALLEST_MM) / 2, 0.0)
        knob = "a larger one leaves no electrode, make the gap or the allowance smaller"
        return _number("per_side_mm", per_side_mm, 0, limit, knob=knob)


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

    def shrunk(self, per_side_mm):
        """Return the electrode's round, smaller by ``per_side_mm`` per side [mm]."""
        return Round(self.d - 2 * self._per_side(per_side_mm, self.d))


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


@dataclass(frozen=True)
class RegularPolygon(Shape):
    """A polygon with equal sides and sharp corners: ``sides``, and ``across_flats`` [mm].

    With an odd number of sides, across flats is the circle that touches them all.
    """

    sides: int
    across_flats: float

    def __post_init__(self):
        sides = _number("sides", self.sides, 3, 100, "", "6 is a hexagon")
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


class Face(_Sized):
    """What a hole starts on.

    ``_limits`` of a shape: first contact below the crown, and from there the depth to full
    engagement and the greatest depth [mm]. ``_contact``: what is engaged at a depth from there.
    """


@dataclass(frozen=True)
class Flat(Face):
    """A flat face, square to the electrode."""

    def _limits(self, shape):
        return 0.0, 0.0, LARGEST_MM

    def _contact(self, shape, depth):
        even = np.ones_like(depth)
        area, rim, volume = shape.area_mm2, shape.perimeter_mm, shape.area_mm2 * depth
        return Contact((area * even)[()], (rim * even)[()], volume[()])


@dataclass(frozen=True)
class _Curved(Face):
    diameter: float

    def __post_init__(self):
        self._check("diameter", SMALLEST_MM, LARGEST_FACE_MM)

    def _edges(self, shape):
        """Return the sag at the shape's outer edge and at its bore [mm], if the pair works."""
        face, name = type(self).__name__, type(shape).__name__
        if not isinstance(shape, Round):
            raise Refusal(
                f"{name} into {face} does not work yet: Round and Tube go into Ball and Roller, "
                "every shape goes into Flat."
            )
        knob = f"choose a smaller {name} or a larger {face}"
        _number("d", shape.d, SMALLEST_MM, self.diameter, knob=knob)
        return sag(shape.d / 2, self.diameter / 2), sag(shape.bore / 2, self.diameter / 2)


class Ball(_Curved):
    """A ball or dome of this ``diameter`` [mm], entered at its crown."""

    def _limits(self, shape):
        outer, bore = self._edges(shape)  # metal first touches at the bore's edge
        return bore, outer - bore, min(self.diameter - outer - bore, LARGEST_MM)

    def _contact(self, shape, depth):
        return ring_on_ball(depth, shape.d / 2, shape.bore / 2, self.diameter / 2)


class Roller(_Curved):
    """A roller or solid pin of this ``diameter`` [mm], entered square to its axis."""

    def _limits(self, shape):
        outer, _ = self._edges(shape)  # a tube's ring crosses the crown line: touches at 0
        return 0.0, outer, min(self.diameter - outer, LARGEST_MM)

    def _contact(self, shape, depth):
        return ring_on_roller(depth, shape.d / 2, shape.bore / 2, self.diameter / 2)


def _kind(name, value, wanted, examples):
    if not isinstance(value, wanted):
        raise Refusal(f"{name} must be {examples} or the like, got {value!r}.")


@dataclass(frozen=True)
class Feature(_Sized):
    """A wanted hole: a shape sunk into a face.

    Parameters
    ----------
    shape : Round, Tube, Rectangle or RegularPolygon
        Section of the finished cavity [mm].
    face : Flat, Ball or Roller
        What it is sunk into [mm].
    depth_mm : float
        Depth on the drawing, from the crown of the face [mm].
    offset_mm, turn_deg : float
        Offset across the axis [mm] and turn [degrees]; on a curved face only 0 works yet.

    Notes
    -----
    Exact for a flat unworn end, front gap not added. The methods' depth counts from first
    contact of the section asked about: ``hole.removed_volume_mm3(hole.depth_mm -
    hole.first_contact_mm())`` is the whole hole. A section is an electrode's shape; without
    one the cavity itself is meant.
    """

    shape: Shape
    face: Face
    depth_mm: float
    offset_mm: float = 0.0
    turn_deg: float = 0.0

    def __post_init__(self):
        _kind("shape", self.shape, Shape, "Round(3.05), Tube(3.0, 1.0)")
        _kind("face", self.face, Face, "Flat(), Ball(12.0), Roller(16.0)")
        contact, _, deepest = self.face._limits(self.shape)
        knob = "it counts from the crown and must touch metal, but not come out on the far side"
        self._check("depth_mm", contact + SHALLOWEST_MM, contact + deepest, knob=knob)
        flat = isinstance(self.face, Flat)
        knob = "" if flat else "off the centre of a Ball or Roller does not work yet"
        reach, turn = (LARGEST_MM, 360) if flat else (0, 0)
        self._check("offset_mm", -reach, reach, knob=knob)
        self._check("turn_deg", -turn, turn, "degrees", knob)

    def engaged_area_mm2(self, depth_mm, section=None):
        """Return the area of the end that sparks at a depth from first contact [mm²]."""
        return self._contact(depth_mm, section).area

    def engaged_rim_mm(self, depth_mm, section=None):
        """Return the edge over which debris leaves at a depth from first contact [mm].

        It is the whole edge of the patch in contact, a bore's edge with it.
        """
        return self._contact(depth_mm, section).rim

    def removed_volume_mm3(self, depth_mm, section=None):
        """Return the metal removed down to a depth from first contact [mm³]."""
        return self._contact(depth_mm, section).volume

    def first_contact_mm(self, section=None):
        """Return how far below the crown metal first touches [mm]; a tube on a ball: its bore."""
        return float(self.face._limits(self._section(section))[0])

    def full_engagement_mm(self, section=None):
        """Return the depth from first contact at which the whole end is engaged [mm]."""
        return float(self.face._limits(self._section(section))[1])

    def _section(self, section):
        """Return the shape asked about; an electrode must not be larger than the cavity."""
        if section is None:
            return self.shape
        _kind("section", section, Shape, "Round(3.0), Tube(3.0, 1.0)")
        knob = "the electrode must not be larger than the hole"
        require("section area", section.area_mm2, 0, self.shape.area_mm2, "mm²", knob=knob)
        return section

    def _contact(self, depth_mm, section):
        shape = self._section(section)
        knob = "count it from first contact to where the end comes out on the far side"
        deepest = self.face._limits(shape)[2]
        return self.face._contact(shape, require("depth_mm", depth_mm, 0, deepest, "mm", knob=knob))
