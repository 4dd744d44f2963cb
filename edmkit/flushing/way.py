"""The way of the fluid through the gap of one hole: past its side, under the end, up the bore."""

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.flushing.two_cups import around_pip
from edmkit.physics.passage import annulus, bore, radial_gap, slot
from edmkit.planning.shapes import Tube
from edmkit.units import mm, um

THROUGH = ("suction", "pressure")
# What is dialled where nobody knows the pressure [kPa]; from memory: suction 10 to 35, pressure
# 20 to 70 in roughing, started at 20 to 35.
USUAL_kPa = {"suction": 20.0, "pressure": 30.0, "side jet": 30.0}
JET_SHARE = 0.3  # of a nozzle's pressure that drives fluid down one side; assumption


@dataclass(frozen=True)
class Bench:
    """What a hole does not say and the flow depends on; ``pressure_kPa`` None takes the usual one.

    ``electrode_mm`` is the length of the bore, ``lift_mm`` how far the head lifts, ``oil_C`` the
    temperature of the fluid in the tank.
    """

    pressure_kPa: float | None = None
    electrode_mm: float = 30.0
    lift_mm: float = 1.0
    oil_C: float = 25.0

    def __post_init__(self):
        if self.pressure_kPa is not None:
            require("pressure_kPa", self.pressure_kPa, 0.1, 1000, "kPa", knob="give kilopascals")
        require("electrode_mm", self.electrode_mm, 1, 1000, "mm", knob="the length of its bore")
        require("lift_mm", self.lift_mm, 0.01, 500, "mm", knob="how far the head lifts")
        require("oil_C", self.oil_C, 5, 60, "°C", knob="measure the tank")


@dataclass(frozen=True)
class Gap:
    """The gap around an electrode's end in its hole; sizes in mm, gaps in µm (floats or arrays).

    ``area_mm2`` and ``rim_mm`` are of the end, ``bore_mm`` 0 where it is solid.
    """

    area_mm2: float
    rim_mm: float
    depth_mm: float
    front_um: float
    side_um: float
    bore_mm: float = 0.0

    @property
    def outer_mm(self):
        """Radius of a round end of the same rim [mm]."""
        return self.rim_mm / (2 * pi)

    @property
    def content_mm3(self):
        """Volume of the gap, in front and at the side [mm³]."""
        front, side = self.front_um / 1000, self.side_um / 1000
        beside = pi * ((self.outer_mm + side) ** 2 - self.outer_mm**2) * self.depth_mm
        ring = np.minimum(side, self.bore_mm / 2)  # around the pip, all the bore where none stands
        return self.area_mm2 * front + beside + pi * ring * (self.bore_mm - ring) * self.depth_mm

    def through(self, electrode_mm):
        """Return the way past the side, under the end, past the pip and up the bore.

        The core that the bore leaves stands in it as deep as the hole: a second, smaller side gap.

        Parameters
        ----------
        electrode_mm : float
            Length of the bore [mm].
        """
        if not self.bore_mm:
            raise Refusal(
                "bore_mm must be above 0 mm for suction or pressure through the electrode, got "
                "0 mm: bore the electrode, or flush by a side jet or by lifts."
            )
        hole = (self.outer_mm + self.side_um / 1000) * mm
        return (
            annulus(hole, self.outer_mm * mm, self.depth_mm * mm),
            radial_gap(self.front_um * um, self.bore_mm / 2 * mm, self.end_radius_mm * mm),
            *around_pip(self.bore_mm, self.side_um, self.depth_mm),
            bore(self.bore_mm / 2 * mm, electrode_mm * mm, "bore of the electrode"),
        )

    @property
    def end_radius_mm(self):
        """Radius of a round end of the same area, its bore with it [mm]."""
        return sqrt(self.area_mm2 / pi + self.bore_mm**2 / 4)

    def across(self):
        """Return the way of a side jet: down one half of the side, under the end, up the other."""
        half = pi * self.outer_mm * mm, self.side_um * um, self.depth_mm * mm
        wide = 2 * self.end_radius_mm * mm
        return (
            slot(*half, name="side gap, going down"),
            slot(wide, self.front_um * um, wide, name="gap in front"),
            slot(*half, name="side gap, coming up"),
        )


def gap_of(hole, scale=1.0):
    """Return the gap that a hole has when it is at depth, as a `Gap`.

    Parameters
    ----------
    hole : Hole
        At one setting.
    scale : float or array
        Times the likely gaps.
    """
    burn = hole.burn
    setup = burn.setup
    end = hole.electrode
    rim = end.perimeter_mm - (pi * end.bore if isinstance(end, Tube) else 0.0)
    return Gap(
        setup.engaged_area_mm2,
        rim,
        hole.feature.depth_mm,
        burn.gap_front_um.likely * scale,
        burn.gap_side_um.likely * scale,
        hole.bore_mm,
    )
