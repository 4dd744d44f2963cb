"""What is sunk into what: the hole's shape, the face it starts on, and how much is engaged.

All sizes are millimetres. ``Feature.depth_mm`` counts as the drawing does, from the crown unless
it says otherwise. The methods of ``Feature`` count depth from first contact of an unworn flat
end, as the dial does after touching off; ``reach_mm`` is the drawing's depth counted so.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from edmkit.checks import Refusal, one_of, require
from edmkit.planning.edges import outline
from edmkit.planning.faces import (
    LARGEST_FACE_MM,
    LARGEST_MM,
    SHALLOWEST_MM,
    SMALLEST_MM,
    Curved,
    Face,
    Flat,
    Sized,
    number,
)
from edmkit.planning.patch import Patch

CROWN, CENTRE, FIRST, LAST = "crown", "hole centre", "first touch", "last touch"
DATUMS = (CROWN, CENTRE, FIRST)
_FITS = 1e-6  # of the section's area: what may lie outside the hole by rounding


class Shape(Sized):
    """A section of the wanted hole, or of the electrode; sizes in mm.

    Every shape has ``area_mm2``, ``perimeter_mm`` (a bore's edge with it), ``smallest_width_mm``
    (the largest circle that fits inside), ``outer_radius_mm`` (to the point furthest from the
    axis), ``shrunk(per_side_mm)`` (the electrode for it) and ``grown(per_side_mm)`` (the cavity
    it leaves). x runs along a roller's axis, y across.
    """

    needs_flat: ClassVar[bool] = False
    _ring: ClassVar = None  # outer and inner radius, where that is all there is

    def into(self, face, depth_mm, offset_mm=0.0, turn_deg=0.0, **more):
        """Return the Feature of this shape sunk into a face [mm]."""
        return Feature(self, face, depth_mm, offset_mm, turn_deg, **more)

    def outline_mm(self, points=120):
        """Return closed outlines, the outer one first, each as rows of x and y [mm].

        A whole circle gets ``points`` of them.
        """
        return [outline(loop, points) for loop in self._loops()]

    def _per_side(self, per_side_mm, width_mm):
        """Return the checked allowance per side, which must leave something of the width."""
        limit = max((width_mm - SMALLEST_MM) / 2, 0.0)
        knob = "a larger one leaves no electrode, make the gap or the allowance smaller"
        return number("per_side_mm", per_side_mm, 0, limit, knob=knob)


def more_per_side(per_side_mm):
    """Return the checked growth per side [mm]."""
    return number("per_side_mm", per_side_mm, 0, LARGEST_MM / 2, knob="it is the gap")


def _kind(name, value, wanted, examples):
    if not isinstance(value, wanted):
        raise Refusal(f"{name} must be {examples} or the like, got {value!r}.")


@dataclass(frozen=True)
class Feature(Sized):
    """A wanted hole: a shape sunk into a face.

    Parameters
    ----------
    shape : Round, Tube, Rectangle, RegularPolygon or Keyway
        Section of the finished cavity [mm].
    face : Flat, Ball, Roller or Bore
        What it is sunk into [mm].
    depth_mm : float
        Depth on the drawing; the part's thickness where the hole goes ``through`` [mm].
    offset_mm, turn_deg : float
        Of the hole's centre off the crown, across a roller's axis [mm]; its turn [degrees].
    depth_from : str
        Where the depth counts from: 'crown', 'hole centre', or 'first touch', the highest point
        of the face inside the hole.
    through : bool
        Right through, with no floor; from a Flat face.
    cut_away : Shape or None
        What is cut away already, over the whole depth, on the same axis [mm].

    Notes
    -----
    For a flat unworn end, front gap not added: a centred round on a ball or roller in closed
    form, the rest to 1e-6. Methods count depth from first contact of the section asked about:
    ``hole.removed_volume_mm3(hole.reach_mm())`` is the whole hole. A section is an electrode's
    shape; without one the cavity itself is meant.
    """

    shape: Shape
    face: Face
    depth_mm: float
    offset_mm: float = 0.0
    turn_deg: float = 0.0
    depth_from: str = CROWN
    through: bool = False
    cut_away: Shape | None = None

    def __post_init__(self):
        _kind("shape", self.shape, Shape, "Round(3.05), Tube(3.0, 1.0)")
        _kind("face", self.face, Face, "Flat(), Ball(12.0), Roller(16.0)")
        if self.cut_away is not None:
            _kind("cut_away", self.cut_away, Shape, "Round(3.0)")
        one_of("depth_from", self.depth_from, DATUMS)
        self._check("offset_mm", -LARGEST_MM, LARGEST_MM)
        self._check("turn_deg", -360, 360, "degrees")
        if isinstance(self.face, Curved):
            self._check_curved()
        first, last = self._patch().sags
        datum, deepest = self.sag_mm(self.depth_from), first + self.face._deepest(first, last)
        knob = "it must touch metal, but not come out on the far side"
        where = f"it counts from the {self.depth_from}: {knob}"
        self._check("depth_mm", first + SHALLOWEST_MM - datum, deepest - datum, knob=where)

    def _check_curved(self):
        """Refuse what does not go into a curved face, or lies beside it."""
        face, shape = type(self.face).__name__, type(self.shape).__name__
        if self.through:
            raise Refusal(f"through must be False on a {face}: it works from a Flat face only.")
        if self.shape.needs_flat:
            raise Refusal(f"face must be Flat() for a {shape}, got {self.face!r}.")
        knob = f"choose a smaller {shape} or a larger {face}"
        least = 2 * self._outermost(0.0)
        require("diameter", self.face.diameter, least, LARGEST_FACE_MM, "mm", knob=knob)
        if self._outermost(self.offset_mm) > self.face.radius * (1 + 1e-12):
            most = max(self.face.radius - self._across(), 0.0)
            knob = f"further out the {shape} lies beside the {face}"
            require("offset_mm", self.offset_mm, -most, most, "mm", knob=knob)

    def _across(self):
        """Return how far the shape reaches across the axis; on a ball, anywhere [mm]."""
        return self.shape.outer_radius_mm if self.face.around else self._outermost(0.0)

    def _outermost(self, offset_mm):
        return _placed(self.shape, None, self.face, offset_mm, self.turn_deg).outermost

    @property
    def floor_below_crown_mm(self):
        """How far the wanted floor lies below the crown [mm]."""
        return self.depth_mm + self.sag_mm(self.depth_from)

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
        """Return how far below the crown metal first touches [mm]; above it, below 0, in a Bore."""
        return self._patch(section).sags[0]

    def full_engagement_mm(self, section=None):
        """Return the depth from first contact at which the whole end is engaged [mm]."""
        first, last = self._patch(section).sags
        return last - first

    def sag_mm(self, place, section=None):
        """Return how far below the crown a place of the face lies [mm].

        ``place`` is 'crown', 'hole centre', 'first touch' or 'last touch'.
        """
        one_of("place", place, (*DATUMS, LAST))
        if place == CROWN:
            return 0.0
        if place == CENTRE:
            return float(self.face.sag(abs(self.offset_mm)))
        return self._patch(section).sags[0 if place == FIRST else 1]

    def reach_mm(self, section=None):
        """Return the travel from first contact to the wanted floor [mm]."""
        return self.floor_below_crown_mm - self.first_contact_mm(section)

    def _section(self, section):
        """Return the shape asked about; an electrode must fit inside the cavity."""
        if section is None or section == self.shape:
            return self.shape
        _kind("section", section, Shape, "Round(3.0), Tube(3.0, 1.0)")
        outside = _outside(section, self.shape)
        if outside > _FITS * section.area_mm2:
            raise Refusal(
                f"section must fit inside the hole, but {outside:.3g} mm² of it lies outside: "
                "the electrode must not be larger than the hole."
            )
        return section

    def _patch(self, section=None):
        """Return the patch of a section where metal is left."""
        shape = self._section(section)
        patch = _placed(shape, self.cut_away, self.face, self.offset_mm, self.turn_deg)
        if patch.levels is None:
            raise Refusal(
                f"cut_away must leave metal for {shape!r}, got {self.cut_away!r}: make it smaller."
            )
        return patch

    def _contact(self, depth_mm, section):
        patch = self._patch(section)
        knob = "count it from first contact to where the end comes out on the far side"
        deepest = self.face._deepest(*patch.sags)
        depth = require("depth_mm", depth_mm, 0, deepest, "mm", knob=knob)
        plain = self.cut_away is None and (isinstance(self.face, Flat) or self.offset_mm == 0)
        closed = self.face._closed(patch.section, depth) if plain else None
        return closed or patch.contact(depth)


@lru_cache(maxsize=256)
def _placed(shape, cut_away, face, offset_mm, turn_deg):
    """Return a section in its place on a face."""
    return Patch(shape, cut_away, face, np.exp(1j * np.radians(turn_deg)), 1j * offset_mm)


@lru_cache(maxsize=256)
def _outside(section, shape):
    """Return the area of a section that lies outside a shape on the same axis [mm²]."""
    return float(Patch(section, shape, Flat(), 1.0, 0.0).area)
