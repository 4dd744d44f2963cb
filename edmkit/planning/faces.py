"""What a hole starts on: a flat face, a ball, a roller, the wall of a bore. All sizes are mm.

The crown is a ball's or roller's highest point. A bore's is the deepest line of its wall, below
the middle of the tool; the wall rises to both sides of it, so its sag is below 0.
"""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.planning.contact import Contact, ring_on_ball, ring_on_roller, sag

SMALLEST_MM = 0.05  # assumption: thinner electrodes are beyond a small shop
LARGEST_MM = 1000.0  # assumption: a small shop's machine sinks nothing larger
LARGEST_FACE_MM = 1e5  # assumption: a larger dome or roller is flat to a toolmaker
SHALLOWEST_MM = 0.001  # assumption: the finest step of a readout


def number(name, value, low, high, unit="mm", knob=""):
    """Return one checked number as a float; a list is refused."""
    one = require(name, value, low, high, unit, knob=knob)
    if one.ndim:
        raise Refusal(f"{name} must be one number, got {one.size} of them.")
    return float(one)


class Sized:
    """Something frozen whose sizes are checked once, when it is made."""

    def _check(self, name, low, high, unit="mm", knob=""):
        object.__setattr__(self, name, number(name, getattr(self, name), low, high, unit, knob))


class Face(Sized):
    """What a hole starts on.

    ``level`` of points x + iy is their distance from the crown (``around``) or from the line of
    crowns, and the sag goes with it alone; ``rises`` where it grows with the distance.
    """

    around: ClassVar[bool] = False
    rises: ClassVar[bool] = True

    def level(self, points):
        """Return the distance of points x + iy from the crown, or from the line of crowns [mm]."""
        return np.abs(points if self.around else np.imag(points))


@dataclass(frozen=True)
class Flat(Face):
    """A flat face, square to the electrode."""

    def sag(self, level):
        """Return how far below the crown the face lies at a distance from it [mm]."""
        return np.zeros_like(level)

    def level_at(self, sag_mm):
        """Return the distance from the crown within which the face lies above a sag [mm]."""
        return np.full_like(sag_mm, LARGEST_FACE_MM)

    def _deepest(self, first, last):
        return LARGEST_MM

    def _closed(self, shape, depth):
        even = np.ones_like(depth)
        area, rim, volume = shape.area_mm2, shape.perimeter_mm, shape.area_mm2 * depth
        return Contact((area * even)[()], (rim * even)[()], volume[()])


@dataclass(frozen=True)
class Curved(Face):
    """A face of one ``diameter`` [mm]."""

    diameter: float

    def __post_init__(self):
        self._check("diameter", SMALLEST_MM, LARGEST_FACE_MM)

    @property
    def radius(self):
        """Half the diameter [mm]."""
        return self.diameter / 2

    def sag(self, level):
        """Return how far below the crown the face lies at a distance from it [mm]."""
        return sag(np.minimum(level, self.radius), self.radius)

    def level_at(self, sag_mm):
        """Return the distance from the crown within which the face lies above a sag [mm]."""
        sag_mm = np.clip(sag_mm, 0, self.radius)
        return np.sqrt(sag_mm * (self.diameter - sag_mm))

    def _deepest(self, first, last):
        return min(self.diameter - last - first, LARGEST_MM)

    def _closed(self, shape, depth):
        return None


class Ball(Curved):
    """A ball or dome of this ``diameter`` [mm]."""

    around: ClassVar[bool] = True

    def _closed(self, shape, depth):
        ring = shape._ring
        return ring and ring_on_ball(depth, *ring, self.radius)


class Roller(Curved):
    """A roller or solid pin of this ``diameter`` [mm], entered square to its axis."""

    def _closed(self, shape, depth):
        ring = shape._ring
        return ring and ring_on_roller(depth, *ring, self.radius)


class Bore(Curved):
    """The wall of a bore of this ``diameter`` [mm], entered square to its axis from inside."""

    rises: ClassVar[bool] = False

    def sag(self, level):
        """Return how far below the crown the face lies at a distance from it, below 0 [mm]."""
        return -super().sag(level)

    def level_at(self, sag_mm):
        """Return the distance from the crown outside which the face lies above a sag [mm]."""
        return super().level_at(np.negative(sag_mm))

    def _deepest(self, first, last):
        return LARGEST_MM
