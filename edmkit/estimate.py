"""A likely value with its band, and what one setting is as a multiple of another."""

from dataclasses import dataclass

import numpy as np

BAND = 1.6449  # standard deviations from the middle to the 5 % and the 95 % end


def core(value):
    """Return a broadcast view without its repeats: a band over a mesh costs no more than that."""
    value = np.asarray(value)
    return value[tuple(slice(None if step else 1) for step in value.strides)]


@dataclass(frozen=True)
class Estimate:
    """A likely value and the standard deviation of its logarithm; likely 0 means none.

    ``low`` and ``high`` are its 5 % and 95 % ends. Not-a-number means there is no figure.
    """

    likely: float
    spread: float

    @property
    def low(self):
        """The value that one case in twenty lies below."""
        return self._end(-BAND)

    @property
    def high(self):
        """The value that one case in twenty lies above."""
        return self._end(BAND)

    def _end(self, deviations):
        ends = core(self.likely) * np.exp(deviations * core(self.spread))
        shape = np.broadcast_shapes(np.shape(self.likely), np.shape(self.spread))
        return np.broadcast_to(ends, shape)[()]

    def chance_below(self, limit):
        """Return the chance that the true value lies below a limit [-]."""
        from scipy.special import ndtr

        with np.errstate(divide="ignore", invalid="ignore"):
            away = np.log(np.asarray(limit, dtype=float) / self.likely) / self.spread
        sure = np.where(np.asarray(self.likely) < limit, 1.0, 0.0)
        none = np.isnan(np.asarray(self.likely, dtype=float))
        chance = np.where((np.asarray(self.spread) > 0) & (np.asarray(self.likely) > 0),
                          ndtr(away), sure)  # fmt: skip
        return np.where(none, np.nan, chance)[()]

    def chance_above(self, limit):
        """Return the chance that the true value lies above a limit [-]."""
        return 1 - self.chance_below(limit)


@dataclass(frozen=True)
class ClassEstimate(Estimate):
    """A VDI 3400 class, whose band follows that of Ra: `spread` is that of ln Ra."""

    @property
    def low(self):
        """The class that one case in twenty lies below."""
        return self.likely - BAND * self.spread * 20 / np.log(10)

    @property
    def high(self):
        """The class that one case in twenty lies above."""
        return self.likely + BAND * self.spread * 20 / np.log(10)

    def chance_below(self, limit):
        """Return the chance that the true class lies below a limit [-]."""
        ra = Estimate(10 ** (np.asarray(self.likely) / 20), self.spread)
        return ra.chance_below(10 ** (np.asarray(limit) / 20))


@dataclass(frozen=True)
class Change:
    """One setting as a multiple of another, each an `Estimate` without the shop's level."""

    removal_rate: Estimate
    roughness_Ra: Estimate
    relative_wear: Estimate
    gap_side: Estimate
