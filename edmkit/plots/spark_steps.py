"""A spark's film cut into steps of temperature, to scale: what its picture is made of."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from edmkit.physics.crater import REHARDENS, START
from edmkit.plots.crater_section import section_of
from edmkit.spark_film import SparkFilm
from edmkit.units import ZERO_CELSIUS, um
from edmkit.words import three

TOP, BOTTOM = 0.5, -1.72  # of the picture, over the scale
_DEEPEST = 0.95  # a line may lie, over the scale
_NEARLY = 0.95  # of the rise to boiling
_JUST = 2e-3  # of the rise to melting, below it: what is melting counts as molten
_WARM, _HOT = 0.15, 0.5  # of the rise to melting, for metals without limits of their own


def celsius(kelvin):
    """Return a temperature as a person reads it."""
    return f"{three(kelvin - ZERO_CELSIUS)} °C"


@dataclass(frozen=True)
class SparkField:
    """A film to show: the gap above it [m], the shown unit, and what stands on the other side."""

    film: SparkFilm
    gap: float
    per_um: float = 1.0
    unit: str = "µm"
    other: str = "electrode"

    def shown(self, length):
        """Return a length in the shown unit, from metres."""
        return length / um * self.per_um

    @cached_property
    def limits(self):
        """Names and temperatures of the softening and the hardening, ``""`` where it has none."""
        film, metal = self.film, self.film.metal
        melts, rise = metal.melting_point, metal.melting_point - START
        low, high = ("softens", metal.temper_limit), ("hardens again", REHARDENS)
        if np.isnan(film.tempered_depth[-1]):
            low = ("", START + _WARM * rise)
        if np.isnan(film.rehardened_depth[-1]):
            high = ("", max(START + _HOT * rise, (low[1] + melts) / 2))
        return low, high

    @cached_property
    def levels(self):
        """Temperatures between the steps of colour [K] and words for what is hotter."""
        metal = self.film.metal
        boils = START + _NEARLY * (self.film.boiling_point - START)
        (low, cool), (high, warm) = self.limits
        names = (low or "warm", high or "hot", "molten", "nearly boiling")
        temperatures = (cool, warm, metal.melting_point, boils)
        words = [f"{name}, above {celsius(t)}"
                 for name, t in zip(names, temperatures, strict=True)]  # fmt: skip
        return (
            cool,
            warm,
            metal.melting_point - _JUST * (metal.melting_point - START),
            boils,
        ), words

    @cached_property
    def scale(self):
        """Half the width of the picture, in the shown unit."""
        film = self.film
        wide = [film.source_radius, film.melted_radius, film.tempered_radius]
        deep = [film.melted_depth, film.rehardened_depth, film.tempered_depth]
        widest, deepest = (max(np.nanmax(line, initial=0) for line in lines)
                           for lines in (wide, deep))  # fmt: skip
        return float(self.shown(max(1.05 * widest, deepest / _DEEPEST)))

    @cached_property
    def _picked(self):
        """Which cells are in the picture, down and out."""
        film = self.film
        down = int(np.searchsorted(self.shown(film.z), -BOTTOM * self.scale)) + 1
        out = int(np.searchsorted(self.shown(film.r), self.scale)) + 2
        # every other ring: a browser draws half as many in half the time, and they look the same
        return slice(down), slice(0, out, 2)

    @cached_property
    def places(self):
        """Places of the columns and rows of `steps`, in the shown unit, both rising."""
        down, out = self._picked
        r, z = self.shown(self.film.r[out]), self.shown(self.film.z[down])
        return np.concatenate([-r[::-1], r]), -np.concatenate([[0.0], z])[::-1]

    @cached_property
    def steps(self):
        """Temperatures as steps: frame x height x width, a level a whole number."""
        (down, out), film = self._picked, self.film
        field = film.temperature[:, down, out]
        # from the middles of the two top rows of cells up to the surface
        top = np.minimum(1.5 * field[:, :1] - 0.5 * field[:, 1:2], film.boiling_point)
        field = np.concatenate([top, field], axis=1)[:, ::-1]
        knots = (START, *self.levels[0], film.boiling_point)
        half = np.interp(field, knots, range(len(knots))).astype(np.float32)
        return np.concatenate([half[:, :, ::-1], half], axis=2)

    @cached_property
    def so_far(self):
        """The highest of the steps up to each frame."""
        return np.maximum.accumulate(self.steps, axis=0)

    def frozen(self, number):
        """Return whether the pulse is over and its melt solid again."""
        film = self.film
        over = film.times[number] > film.on_time * (1 + 1e-6)
        return bool(over and film.melt_volume[number] == 0 and film.crater.volume > 0)

    @property
    def bowls(self):
        """The melted bowl and the crater left in it."""
        section = section_of(self.film.crater, 0.0, 0.0, self.per_um, self.unit)
        return section.melted, section.crater
