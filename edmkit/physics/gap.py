"""How far the spark jumps: the gap in front and at the side."""

import numpy as np

from edmkit.checks import require
from edmkit.physics.finish import EJECTED_SHARE
from edmkit.units import mm3, um

STRENGTH = 5e6  # V/m, 5 V/µm (2-10): a used spark gap, assumption
DEBRIS_SHARE = 0.8  # of the debris diameter that widens the side gap (0.4-1.6), assumption


def gap_front(open_voltage, breakdown_strength=STRENGTH):
    """Return the working gap in front of the electrode that a voltage jumps [m].

    Parameters
    ----------
    open_voltage, breakdown_strength : float or array, broadcast together
        Voltage of the open gap [V], strength of the fluid in the gap [V/m].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    U_0 / E_b with 5 V/µm in hydrocarbon fluid. A start value that knows nothing of the pulse: on
    a manual machine the servo knob sets the gap. Expect x1.9.

    References
    ----------
    Assumption; range 5-50 µm from an abstract on gaps in kerosene.
    """
    voltage = require("open_voltage", open_voltage, 10, 1000, "V", knob="give volts")
    strength = require("breakdown_strength", breakdown_strength, 1e6, 1e8, "V/m", knob="5e6")
    return (voltage / strength)[()]


def debris_diameter(crater_volume):
    """Return the diameter of the ball that one spark throws out [m].

    Parameters
    ----------
    crater_volume : float or array
        Melt volume of one spark [m³].

    Raises
    ------
    Refusal
        If the volume is outside 0 to 1000 mm³.

    Notes
    -----
    One ball of 0.55 of the melt: an upper size, real debris is a spread of smaller ones.

    References
    ----------
    Derived here.
    """
    volume = require("crater_volume", crater_volume, 0, 1000, "mm³", mm3, "give cubic metres")
    return np.cbrt(6 * EJECTED_SHARE * volume / np.pi)[()]


def gap_side(front, crater_volume):
    """Return the side gap: the overcut per side [m].

    Parameters
    ----------
    front, crater_volume : float or array, broadcast together
        Gap in front [m], melt volume of one spark [m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Front gap plus 0.8 of the debris diameter: overcut follows the size of what is thrown out.
    Expect x1.8; no measured overcut checks it.

    References
    ----------
    Juvkam-Wold (1967), SM thesis, abstract, for debris size as the cause; factor assumed.
    """
    ahead = require("front", front, 0.1, 5000, "µm", um, "30 µm is 30e-6 m")
    return (ahead + DEBRIS_SHARE * debris_diameter(crater_volume))[()]
