"""How to measure what was burned: which pin gauge, what it reads, the taper from two balls."""

from dataclasses import dataclass
from math import asin, degrees

from edmkit.checks import Refusal, require

# Tolerance of a pin of each class [mm], coarse to fine; trade page on pin gauges,
# class Y from memory.
PIN_CLASSES = {"ZZ": 0.005, "Z": 0.0025, "Y": 0.0018, "X": 0.001, "XX": 0.0005}
PIN_SHARE = 0.10  # of the part's tolerance that a gauge may take; same page (5 % by another)
_TOP_SHARE = 0.5  # of Rz that stands above the mean line; assumption


@dataclass(frozen=True)
class PinGauge:
    """The pins for a hole: ``go_mm`` must enter, ``no_go_mm`` must not; ``grade`` or finer."""

    go_mm: float
    no_go_mm: float
    grade: str
    tolerance_mm: float


def pin_gauge(size_mm, size_minus_mm, size_plus_mm):
    """Return the pins for a round hole and the class they need.

    Parameters
    ----------
    size_mm, size_minus_mm, size_plus_mm : float
        Size and tolerance of the drawing, both without sign [mm].

    Raises
    ------
    Refusal
        If no class of pin is fine enough.

    Notes
    -----
    A pin may be off by a tenth of the part's tolerance. A no-go pin does not see a hole that is
    out of round.
    """
    size = float(require("size_mm", size_mm, 0.05, 1000, "mm"))
    minus = float(require("size_minus_mm", size_minus_mm, 0, 10, "mm"))
    plus = float(require("size_plus_mm", size_plus_mm, 0, 10, "mm"))
    allowed = PIN_SHARE * (minus + plus)
    fit = [grade for grade, off in PIN_CLASSES.items() if off <= allowed * (1 + 1e-9)]
    if not fit:
        raise Refusal(
            f"the size tolerance must be at least {min(PIN_CLASSES.values()) / PIN_SHARE:g} mm for "
            f"a pin gauge, got {minus + plus:g} mm: measure the hole another way."
        )
    return PinGauge(size - minus, size + plus, fit[0], PIN_CLASSES[fit[0]])


def pin_reads_under_mm(roughness_Rz_mm):
    """Return how far under the mean size of a hole the largest pin goes in [mm].

    Parameters
    ----------
    roughness_Rz_mm : float or array
        Roughness Rz of the wall [mm].

    Notes
    -----
    Twice the peaks above the mean line, taken as half of Rz (assumption): a pin rides on the
    peaks.
    """
    return 2 * _TOP_SHARE * require("roughness_Rz_mm", roughness_Rz_mm, 0, 5, "mm")[()]


def two_ball_half_angle(small_mm, large_mm, small_below_mm, large_below_mm):
    """Return the half angle of a taper from two balls dropped into it [degrees].

    Parameters
    ----------
    small_mm, large_mm : float
        Diameters of the balls [mm].
    small_below_mm, large_below_mm : float
        Depth of each ball's top below the face, negative where it stands proud [mm].

    Raises
    ------
    Refusal
        If the balls are not in order or lie too close for a taper.

    Notes
    -----
    asin of the difference of radii over the distance of the centres. Exact.
    """
    small = float(require("small_mm", small_mm, 0.05, 1000, "mm"))
    large = float(require("large_mm", large_mm, small, 1000, "mm", knob="the larger lies above"))
    knob = "measure from the face"
    low = float(require("small_below_mm", small_below_mm, -1000, 1000, "mm", knob=knob))
    high = float(require("large_below_mm", large_below_mm, -1000, 1000, "mm", knob=knob))
    apart = (low + small / 2) - (high + large / 2)
    rise = (large - small) / 2
    if not apart > rise:
        raise Refusal(
            f"the balls' centres must be more than {rise:g} mm apart, got {apart:g} mm: check "
            "which ball is which."
        )
    return degrees(asin(rise / apart))
