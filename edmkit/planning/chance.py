"""How likely depth and size come right: every doubt drawn together."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require

SAMPLES = 4000
_SEED = 20  # any: the same page shows the same chance
_MOST_SHARED = 0.99


@dataclass(frozen=True)
class Chance:
    """The chances that depth, size, and both lie within the drawing's tolerance [-]."""

    depth: float
    size: float
    both: float


def _skewed(likely, spread, z):
    """Return how far a log-normal quantity lies off its likely value at standard normals z."""
    return likely * (np.exp(spread * z) - 1)


def shared_share(burn):
    """Return how much of the side gap's doubt is that of the front gap [-].

    Parameters
    ----------
    burn : Burn
        At one setting.

    Notes
    -----
    The side gap is the front gap and what the debris adds: the front's part of it, as a
    correlation of the logarithms. Assumption.
    """
    front, side = float(burn.gap_front_um.likely), float(burn.gap_side_um.likely)
    return min(front / side, _MOST_SHARED) if side > 0 else 0.0


def chances(stop, burn, end_wear_mm, *, depth_tolerance_mm, size_tolerance_mm, size_off_mm=0.0,
            size_error_mm=0.004, seed=_SEED, samples=SAMPLES):  # fmt: skip
    """Return the chances that depth and size come right.

    Parameters
    ----------
    stop : Stop
        The depth stop, set to its resolution.
    burn : Burn
        Front and side gap.
    end_wear_mm : Estimate
        Length worn off the end [mm].
    depth_tolerance_mm, size_tolerance_mm : pair of float
        Minus and plus of the drawing, both without sign [mm].
    size_off_mm : float
        Likely size of the hole over the drawing's [mm].
    size_error_mm : float
        Of the electrode and its runout, a standard deviation on size [mm].
    seed, samples : int
        Of the draw.

    Notes
    -----
    Wear and gaps are log-normal, touch and switch normal; front and side gap share their common
    cause (`shared_share`). The rounding of the stop is an error like any other. A through hole
    has no depth to miss.
    """
    require("samples", samples, 100, 1_000_000, knob="4000 is good to about a point")
    for name, pair in (("depth_tolerance_mm", depth_tolerance_mm),
                       ("size_tolerance_mm", size_tolerance_mm)):  # fmt: skip
        require(name, pair, 0, 100, "mm", knob="type it without its sign")
    require("size_error_mm", size_error_mm, 0, 1, "mm")
    z = np.random.default_rng(seed).standard_normal((5, samples))
    share = shared_share(burn)
    side_z = share * z[0] + np.sqrt(1 - share**2) * z[1]
    deeper = _deeper(stop, burn, end_wear_mm, z)
    side = float(burn.gap_side_um.likely) / 1000
    larger = (size_off_mm + 2 * _skewed(side, float(burn.gap_side_um.spread), side_z)
              + size_error_mm * z[4])  # fmt: skip
    right = _inside(deeper, depth_tolerance_mm) | stop.through
    fits = _inside(larger, size_tolerance_mm)
    return Chance(float(right.mean()), float(fits.mean()), float((right & fits).mean()))


def _deeper(stop, burn, end_wear_mm, z):
    """Return how much deeper than wanted each drawn hole is [mm]."""
    gap, wear = (sum(t.value_mm for t in stop.terms if t.cause == c) for c in ("gap", "wear"))
    rest = sum(t.spread_mm**2 for t in stop.terms if t.cause not in ("gap", "wear"))
    rounding = stop.set_mm - stop.exact_mm
    return (rounding - _skewed(gap, float(burn.gap_front_um.spread), z[0])
            - _skewed(wear, float(end_wear_mm.spread), z[2]) + np.sqrt(rest) * z[3])  # fmt: skip


def _inside(off_mm, tolerance_mm):
    minus, plus = tolerance_mm
    return (off_mm >= -minus) & (off_mm <= plus)
