"""What a surface may be before sparks strike it: flat, ground, or left by larger craters."""

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.physics.crater_surface import Surface, erode
from edmkit.units import um

USUAL = 8  # pixels to a crater's radius
_MAP = 512  # pixels on a side: with the usual radius 1304 craters fit, and Sa is good to 1 %
_LAYERS, _LAYERS_PER_SA, _LAYERS_FLAT = 1.0, 1.4, 2.0  # fitted to simulated surfaces, see notes
_SEEDS = 2**32
_BEFORE, _GRINDING = 2**31, 2**30  # so that one number draws other sparks before than after


def _one(name, value, low, high, unit, factor):
    number = require(name, value, low, high, unit, factor, "give metres")
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size}: give one.")
    return float(number)


def _other(seed, away):
    """Return a seed far from a given one, checked."""
    require("seed", seed, 0, _SEEDS - 1, knob="give a whole number")
    if not isinstance(seed, (int, np.integer)):
        raise Refusal(f"seed must be a whole number, got {seed:g}.")
    return (int(seed) + away) % _SEEDS


def flat_for(craters):
    """Return the flat map on which craters are simulated [m].

    Parameters
    ----------
    craters : Craters
        Radius of the median one [m].

    Raises
    ------
    Refusal
        If the craters cannot be.

    Notes
    -----
    8 pixels to the radius, 1304 craters to the map. Sa scatters by 0.4 over the root of that
    number: by 1 %.

    References
    ----------
    Derived here.
    """
    radius = _one("radius", craters.radius, 0.05, 20_000, "µm", um)
    craters.check()
    return Surface(np.zeros((_MAP, _MAP)), radius / USUAL)


def ground(like, roughness_Sa, pitch, seed=0):
    """Return a ground surface, to start from: ridges along one side [m].

    Parameters
    ----------
    like : Surface
        A map of the size wanted; its heights do not count.
    roughness_Sa, pitch : float
        Mean distance from the mean height, and width of a ridge [m].
    seed : int
        The same seed draws the same ridges.

    Raises
    ------
    Refusal
        If a number is outside its range; a pitch must be 2 pixels to a quarter of the map.

    Notes
    -----
    Random heights smoothed over the pitch, alike all along. A picture of grinding, no model of it.

    References
    ----------
    Assumption.
    """
    size, pixel = len(like.heights), like.pixel
    wanted = _one("roughness_Sa", roughness_Sa, 0.001, 100, "µm", um)
    ridge = _one("pitch", pitch, 2, size / 4, "pixels", pixel)
    random = np.random.default_rng(_other(seed, _GRINDING)).standard_normal(size)
    smooth = np.exp(-((np.fft.rfftfreq(size, pixel) * ridge) ** 2))
    smooth[0] = 0.0  # the mean height is 0
    profile = np.fft.irfft(np.fft.rfft(random) * smooth, size)
    profile *= wanted / np.mean(np.abs(profile))
    return Surface(np.tile(profile, (size, 1)), pixel)


def roughened(like, craters, seed=0):
    """Return a surface that other craters have left, to start from [m].

    Parameters
    ----------
    like : Surface
        A map of the size wanted; its heights do not count.
    craters : Craters
        Of the burn before.
    seed : int
        The same seed draws the same surface; not the places of a burn with that seed.

    Raises
    ------
    Refusal
        If a crater is less than 4 pixels in radius or wider than the map, or a number is outside
        its range.

    Notes
    -----
    Five layers of craters from a flat start, three more than it takes to settle. Sparks are
    counted from here on.

    References
    ----------
    Derived here.
    """
    start = Surface(np.zeros_like(like.heights), like.pixel)
    craters.check()
    sparks = int(5 * craters.per_layer(start))
    heights = erode(start, craters, sparks, _other(seed, _BEFORE)).heights
    return Surface(heights - heights.mean(), like.pixel)


def layers_to_settle(old_Sa, new_Sa):
    """Return how many layers of craters it takes to wipe out an old surface [-].

    Parameters
    ----------
    old_Sa, new_Sa : float or array, broadcast together
        Roughness before, and where it settles [m].

    Raises
    ------
    Refusal
        If a roughness is outside its range.

    Notes
    -----
    1 + 1.4 old/new, and 2 from a smooth start. Fitted to simulated surfaces up to five times as
    rough; ridges of grinding go sooner than this says.

    References
    ----------
    Derived here.
    """
    knob = "3.2 µm is 3.2e-6 m"
    old = require("old_Sa", old_Sa, 0, 1000, "µm", um, knob)
    new = require("new_Sa", new_Sa, 0.001, 1000, "µm", um, knob)
    return np.maximum(_LAYERS_FLAT, _LAYERS + _LAYERS_PER_SA * old / new)[()]
