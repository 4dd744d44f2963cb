"""A surface made of craters, spark by spark: where the gap is smallest, a spark melts the relief.

Two things make it settle. A spark picks the smallest gap of a few places, and its pool forgets the
relief it melts. Bowls that are only taken off one another never settle, wherever they are put.
"""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.physics.finish import EJECTED_SHARE
from edmkit.units import mm3, um

BLOCK = 500  # sparks drawn at a time
SPREAD = 0.25  # of the logarithm of a crater's radius, assumption
CANDIDATES = 10  # places of which the highest is hit; the more, the stronger the gap chooses
RIM_REACH = 1.4  # how far a rim lies out, over the crater's radius, assumption
# Middles of 12 equal shares of the normal distribution (its table), for the sizes of craters.
_UPPER = np.array([0.104633, 0.318639, 0.548522, 0.812218, 1.150349, 1.731664])
_SIZES = np.concatenate([-_UPPER[::-1], _UPPER])
FEWEST = 4  # pixels to a crater's radius: with 4 to 24 Sa moves by less than 3 %
_SETTLED = 0.394  # Sa over the depth of the craters left, from the same surfaces


@dataclass(frozen=True, eq=False)
class Surface:
    """Heights of a square that repeats on all sides.

    ``heights`` (n, n), read only [m], ``pixel`` [m]; ``sparks`` since the start and the volume
    ``removed`` by them [m³]. Any map of heights may be a start.
    """

    heights: np.ndarray
    pixel: float
    sparks: int = 0
    removed: float = 0.0

    def __post_init__(self):
        """Keep a copy of the map that nobody can change."""
        limit = ("heights", self.heights, -1e5, 1e5, "µm", um, "give metres, without holes")
        heights = require(*limit).copy()
        if heights.ndim != 2 or heights.shape[0] != heights.shape[1]:
            raise Refusal(f"heights must be a square map, got {heights.shape}: cut it square.")
        heights.flags.writeable = False
        object.__setattr__(self, "heights", heights)
        _whole("size", len(heights), 16, 2048)
        _number("pixel", self.pixel, 1e-3, 1000, "µm", um, "give metres")

    @property
    def area(self):
        """Area of the map [m²]."""
        return self.heights.size * self.pixel**2

    @property
    def Sa(self):
        """Mean distance of all heights from their mean, nothing filtered [m]."""
        return float(np.mean(np.abs(self.heights - self.heights.mean())))


@dataclass(frozen=True)
class Craters:
    """The craters that sparks of one setting leave.

    ``radius`` and ``depth`` of the median one [m], ``spread`` of the logarithm of their size,
    ``rim_share`` of the bowl's volume that stays as a rim around it [-]; a spark hits the highest
    of ``candidates`` places.
    """

    radius: float
    depth: float
    spread: float = SPREAD
    rim_share: float = 0.0
    candidates: int = CANDIDATES

    @property
    def radii(self):
        """Radii of the twelve sizes, of which one is as likely as another [m]."""
        return self.radius * np.exp(self.spread * _SIZES)

    @property
    def volumes(self):
        """What a spark of each size takes off the surface [m³]: its bowl less its rim."""
        bowl = np.pi / 2 * self.radii**2 * self.depth * np.exp(self.spread * _SIZES)
        return (1 - self.rim_share) * bowl

    def check(self):
        """Refuse craters that cannot be."""
        _number("radius", self.radius, 0.05, 20_000, "µm", um, "give metres")
        _number("depth", self.depth, 1e-3, 5000, "µm", um, "give metres")
        _number("spread", self.spread, 0, 0.4, knob="0.25 is usual")
        _number("rim_share", self.rim_share, 0, 0.9, knob="0 leaves no rim")
        _whole("candidates", self.candidates, 1, 1000)

    @property
    def settled_Sa(self):
        """Where Sa settles [m]; for the usual spread and candidates, without a rim."""
        return _SETTLED * self.depth

    def per_layer(self, surface):
        """Return how many craters cover the area of a surface once."""
        return surface.area / (np.pi * self.radius**2)

    def layers(self, surface):
        """Return how often sparks have covered a surface [-]."""
        return surface.sparks / self.per_layer(surface)


def _number(name, value, *limits, **knob):
    number = require(name, value, *limits, **knob)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size}: take one setting.")
    return float(number)


def _whole(name, value, low, high):
    _number(name, value, low, high, knob="give a whole number")
    if not isinstance(value, (int, np.integer)):
        raise Refusal(f"{name} must be a whole number, got {value:g}.")


def crater_left(crater):
    """Return the craters that sparks leave, from what one spark melts.

    Parameters
    ----------
    crater : Crater
        Melt radius [m] and volume [m³] of one spark.

    Returns
    -------
    Craters
        Radius of the melt; a bowl as deep as holds what was thrown out [m].

    Raises
    ------
    Refusal
        If nothing melts, or the crater is of many settings.

    Notes
    -----
    Bowl pi r² d/2 = 0.55 V; the rest of the melt stays as the white layer. Without a rim.

    References
    ----------
    Derived here; the share as in `finish.EJECTED_SHARE`.
    """
    knob = "nothing melts, give more current"
    radius = _number("crater.radius", crater.radius, 0.05, 20_000, "µm", um, knob)
    volume = _number("crater.volume", crater.volume, 1e-12, 1000, "mm³", mm3, knob)
    return Craters(radius, 2 * EJECTED_SHARE * volume / (np.pi * radius**2))


def erode(surface, craters, sparks, seed=0):
    """Return the surface after so many more sparks [m].

    Parameters
    ----------
    surface : Surface
        As it is.
    craters : Craters
        What sparks leave.
    sparks, seed : int
        How many more; the same seed draws the same sparks, taken at once or in parts.

    Raises
    ------
    Refusal
        If a crater is less than 4 pixels in radius or wider than the map, or a number is outside
        its range.

    Notes
    -----
    A bowl replaces the relief within its radius, hung from the mean height there. Sa settles at
    0.39 of the crater's depth within two layers from flat; the bowl's shape alone is good for x1.5.

    References
    ----------
    Derived here.
    """
    _check(surface, craters, sparks, seed)
    heights, done, removed = surface.heights.copy(), surface.sparks, surface.removed
    stamps, volumes = _stamps(craters, surface.pixel), craters.volumes
    end = done + int(sparks)
    while done < end:
        block, first = divmod(done, BLOCK)
        last = min(BLOCK, first + end - done)
        random = np.random.default_rng((seed, block))
        # The whole block is drawn each time: what a spark is must not depend on where one stopped.
        places = random.integers(heights.size, size=(BLOCK, craters.candidates))[first:last]
        sizes = random.integers(len(_SIZES), size=BLOCK)[first:last]
        _strike(heights, places, sizes.tolist(), stamps)
        done, removed = done + last - first, removed + float(volumes[sizes].sum())
    return Surface(heights, surface.pixel, done, removed)


def _check(surface, craters, sparks, seed):
    craters.check()
    _whole("sparks", sparks, 0, 10_000_000)
    _whole("seed", seed, 0, 2**32 - 1)
    reach = np.exp(craters.spread * _SIZES[-1]) * (RIM_REACH if craters.rim_share else 1.0)
    widest = (len(surface.heights) - 1) / 2 / reach - 1
    knob = "flat_for gives a map that suits the crater"
    _number("radius", craters.radius, FEWEST, widest, "pixels", surface.pixel, knob=knob)


def _stamps(craters, pixel):
    """Return half-width, mask, averaging weights, bowl and rim of each size, on pixels."""
    stamps, ratios = [], craters.radii / craters.radius
    reach = RIM_REACH if craters.rim_share else 1.0
    for radius, ratio in zip(craters.radii / pixel, ratios, strict=True):
        half = int(np.ceil(reach * radius))
        x = np.arange(-half, half + 1)
        out = np.hypot(x, x[:, None]) / radius
        mask = out < 1
        bowl = np.where(mask, out**2 - 1, 0.0)
        # Scaled to the volume of the round bowl, so that the pixels neither add nor lose any.
        bowl *= np.pi / 2 * radius**2 * ratio * craters.depth / -bowl.sum()
        rim = None
        if craters.rim_share:
            ring = (out >= 1) & (out < RIM_REACH)
            rim = np.where(ring, np.sin(np.pi * (out - 1) / (RIM_REACH - 1)), 0.0)
            rim *= craters.rim_share * -bowl.sum() / rim.sum()
        stamps.append((half, mask, mask / mask.sum(), bowl, rim))
    return stamps


def _strike(heights, places, sizes, stamps):
    """Let sparks hit the map one after another, each the highest of its places."""
    size = len(heights)
    flat_view = heights.reshape(-1)
    for candidates, kind in zip(places, sizes, strict=True):
        half, mask, weights, bowl, rim = stamps[kind]
        y, x = divmod(int(candidates[flat_view[candidates].argmax()]), size)
        if half <= y < size - half and half <= x < size - half:
            pool = heights[y - half : y + half + 1, x - half : x + half + 1]
            _melt(pool, mask, weights, bowl, rim)
        else:  # over the edge: the map repeats
            around = np.arange(-half, half + 1)
            window = np.ix_((y + around) % size, (x + around) % size)
            pool = heights[window]
            _melt(pool, mask, weights, bowl, rim)
            heights[window] = pool


def _melt(pool, mask, weights, bowl, rim):
    """Put a bowl, hung from the mean height within it, in the place of the relief."""
    level = (pool * weights).sum()
    np.add(bowl, level, out=pool, where=mask)
    if rim is not None:
        pool += rim
