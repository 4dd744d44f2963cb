"""Sums for the bench: a crown found by the dial, and fresh ends until a depth is reached."""

from math import log, sqrt

from edmkit.checks import Refusal, require


def centre_error_mm(radius_mm, difference_mm, distance_mm):
    """Return how far off its crown a ball or roller was taken for centred [mm].

    Parameters
    ----------
    radius_mm : float
        Of the ball or roller [mm].
    difference_mm : float
        Difference of height of two touches, one on each side of the supposed crown [mm].
    distance_mm : float
        Of each touch from it [mm].

    Raises
    ------
    Refusal
        If the touches lie beyond the radius, or no place fits the difference.

    Notes
    -----
    About R dz / (2 x); solved exactly here. The true crown lies towards the higher touch.
    """
    radius = float(require("radius_mm", radius_mm, 0.01, 1e5, "mm", knob="measure the part"))
    knob = "touch nearer to the crown"
    x = float(require("distance_mm", distance_mm, 1e-3, radius * 0.99, "mm", knob=knob))
    dz = float(require("difference_mm", difference_mm, -radius, radius, "mm"))

    def miss(e):
        return sqrt(radius**2 - (x - e) ** 2) - sqrt(radius**2 - (x + e) ** 2) - abs(dz)

    low, high = 0.0, radius - x
    if miss(high) < 0:
        raise Refusal(
            f"difference_mm must be less on a radius of {radius:g} mm touched {x:g} mm from the "
            f"crown, got {dz:g} mm: touch nearer to the crown, or look for a burr."
        )
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if miss(middle) < 0 else (low, middle)
    return (low + high) / 2 * (1 if dz >= 0 else -1)


def shortfall_mm(depth_mm, wear_share, electrodes):
    """Return how short a hole is after some fresh electrodes when no wear is allowed for [mm].

    Parameters
    ----------
    depth_mm : float
        Depth wanted [mm].
    wear_share : float
        Length worn off the end over the depth burned [-].
    electrodes : int
        Fresh electrodes, each run to the same stop.

    Notes
    -----
    H (theta / (1 + theta))^k: each fresh end burns what is left until end and floor meet.
    Derived here.
    """
    depth = require("depth_mm", depth_mm, 0, 1000, "mm")
    share = require("wear_share", wear_share, 0, 10, knob="15 % is 0.15")
    number = require("electrodes", electrodes, 0, 1000, knob="count them")
    return (depth * (share / (1 + share)) ** number)[()]


def electrodes_for(depth_mm, wear_share, tolerance_mm):
    """Return how many fresh electrodes bring the shortfall within a tolerance.

    Parameters
    ----------
    depth_mm, tolerance_mm : float
        Depth wanted, shortfall allowed [mm].
    wear_share : float
        Length worn off the end over the depth burned [-].
    """
    depth = float(require("depth_mm", depth_mm, 1e-3, 1000, "mm"))
    allowed = float(require("tolerance_mm", tolerance_mm, 1e-6, depth, "mm"))
    share = float(require("wear_share", wear_share, 0, 10, knob="15 % is 0.15"))
    if not share:
        return 1
    number = log(allowed / depth) / log(share / (1 + share))
    return max(1, int(-(-number // 1)))
