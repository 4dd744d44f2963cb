"""A tube with a filed insert seen from above, and what its flats leave standing."""

from dataclasses import dataclass

import numpy as np

from edmkit.planning.drawing import end_view
from edmkit.planning.insert import InsertTube
from edmkit.words import Display

_MILLIMETRES = Display()


@dataclass(frozen=True)
class _Fins:
    """What the flats of an insert leave standing, seen from above."""

    tube: InsertTube
    gap: float

    def outline_mm(self):
        """Return a loop for each flat: a chord and the circle beyond it."""
        tube = self.tube
        inner, foot = tube.bore / 2 - self.gap, tube.insert / 2 - tube.flat_depth + self.gap
        half = np.arccos(foot / inner)
        loop = inner * np.exp(1j * np.linspace(-half, half, 41))
        turned = [loop * np.exp(2j * np.pi * n / tube.flats) for n in range(tube.flats)]
        return [np.column_stack([fin.real, fin.imag]) for fin in turned]


def insert_tube(shape, gap_side_mm, *, display=_MILLIMETRES, width=360, height=230):
    """Return a tube with a filed insert from above, and the fins it leaves, as SVG.

    Parameters
    ----------
    shape : InsertTube
        The electrode.
    gap_side_mm : float
        Gap to the side [mm].
    display : Display
        Millimetres or inches.
    width, height : float
        Of the picture [pixels].
    """
    left = shape.standing(gap_side_mm, 0.0)
    shapes = [("the hole", shape.grown(gap_side_mm), "cavity"),
              ("the electrode", shape, "electrode")]  # fmt: skip
    if left.fins:
        thick = display.size_text(left.thickness_mm, 0.01)
        words = f"left under each flat, {thick} thick"
        shapes.append((words, _Fins(shape, gap_side_mm), "standing"))
    return end_view(shapes, width, height)
