"""What a flow and the lifts do for a gap: carry debris off, renew it, push its two sides apart."""

import numpy as np

from edmkit.checks import require
from edmkit.units import kPa, mm, mm2, mm3, mm3_per_min


def _flow(flow):
    knob = "with no flow nothing is carried off: 6 ml/min is 1e-7 m³/s"
    return require("flow", flow, 1e-12, 10, "l/s", 1e-3, knob)


def debris_fraction(removal_rate, flow):
    """Return the share of debris in the fluid that leaves the gap, by volume [-].

    Parameters
    ----------
    removal_rate, flow : float or array, broadcast together
        Metal removed [m³/s], fluid that passes [m³/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact where all metal leaves with the fluid and at the same speed; soot and gas come on top.
    The fluid at the far end of a gap is as dirty as this, on the way in it is cleaner.
    """
    metal = require(
        "removal_rate", removal_rate, 0, 1e4, "mm³/min", mm3_per_min, "10 mm³/min is 1.7e-10 m³/s"
    )
    return (metal / (_flow(flow) + metal))[()]


def renewal_time(volume, flow):
    """Return the time in which a flow fills a volume once [s].

    Parameters
    ----------
    volume, flow : float or array, broadcast together
        Content of the gap [m³], fluid that passes [m³/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Definition. Corners that the flow passes by are renewed far more slowly.
    """
    return (_volume("volume", volume) / _flow(flow))[()]


def _volume(name, volume, least=0.0):
    return require(name, volume, least, 1e6, "mm³", mm3, "1.9 mm³ is 1.9e-9 m³")


def _swept(area, lift_height):
    end = require("area", area, 1e-4, 1e6, "mm²", mm2, "7 mm² is 7e-6 m²")
    return end * require("lift_height", lift_height, 0, 500, "mm", mm, "1 mm is 1e-3 m")


def lift_renewal(area, lift_height, gap_volume):
    """Return how often a lift draws in what the gap holds [-].

    Parameters
    ----------
    area, lift_height, gap_volume : float or array, broadcast together
        Area of the electrode's end [m²], height of the lift [m], content of the gap [m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Swept volume over the gap's content. It renews only while the fluid around the work is clean,
    and a lift lower than the gap's own length of way to the rim mostly moves the same fluid.
    """
    return (_swept(area, lift_height) / _volume("gap_volume", gap_volume, 1e-9))[()]


def lift_force(pressure, inner_radius, outer_radius):
    """Return the force that a flushing pressure pushes work and electrode apart with [N].

    Parameters
    ----------
    pressure, inner_radius, outer_radius : float or array, broadcast together
        Pressure at the hole over that at the rim [Pa], radius of the hole, of the rim [m].

    Raises
    ------
    Refusal
        If an input is outside its range or the hole is as large as the end.

    Notes
    -----
    Exact for creeping flow; the hole itself counts in full. With suction the same force pulls them
    together. The whole pressure must fall in the front gap: an upper bound where a bore or flats
    hold a share.
    """
    push = require("pressure", pressure, 0, 1000, "kPa", kPa, "30 kPa is 30e3 Pa")
    inner = require("inner_radius", inner_radius, 0.01, 1000, "mm", mm, "1 mm is 1e-3 m")
    outer = require("outer_radius", outer_radius, 0.01, 1000, "mm", mm, "1 mm is 1e-3 m")
    name = "outer_radius less inner_radius"
    require(name, outer - inner, 0.001, 1000, "mm", mm, "take a smaller bore")
    return (np.pi * push * (outer**2 - inner**2) / (2 * np.log(outer / inner)))[()]
