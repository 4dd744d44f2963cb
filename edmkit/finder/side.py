"""Every setting of a machine at one polarity, and what it does."""

from dataclasses import dataclass, replace
from functools import cached_property
from math import prod

import numpy as np

from edmkit.estimate import core
from edmkit.finder.bars import REASONS
from edmkit.finder.front import non_dominated
from edmkit.finder.grid import DIALS, LIFT


def reasons_for(also, as_set):
    """Return why settings are left out.

    Parameters
    ----------
    also : sequence of str
        Names of reasons that do not count.
    as_set : bool
        Whether the polarity is the one that is set: it then needs no reason.
    """
    given = {*also, "unusual polarity"} if as_set else set(also)
    return tuple(reason for reason in REASONS if reason.name not in given)


@dataclass(frozen=True)
class Side:
    """Every setting at one polarity, as one mesh."""

    burn: object
    limits: tuple
    chance: float
    reasons: tuple
    minutes_of: object

    @cached_property
    def bars(self):
        """Excess over each reason and limit, by name; above 0 is out."""
        found = {r.name: np.asarray(r.excess(self.burn)) for r in self.reasons}
        return found | {m.name: m.excess(self.burn, self.chance) for m in self.limits}

    def inside(self, without=()):
        """Return which settings pass every bar but some, as large as it need be."""
        passed = [bar <= 1e-9 for name, bar in self.bars.items() if name not in without]
        return np.logical_and.reduce(np.broadcast_arrays(np.ones(1, bool), *passed))

    @property
    def reason(self):
        """Number of the first reason that leaves each setting out, -1 where none does."""
        first = np.full((1,) * len(self.burn.shape), -1)
        for number, reason in enumerate(self.reasons):
            first = np.where((first < 0) & (self.bars[reason.name] > 1e-9), number, first)
        return first

    @cached_property
    def minutes(self):
        """What the settings are ranked by, of the mesh's shape [min]."""
        return np.broadcast_to(self.minutes_of(self.burn).likely, self.burn.shape)

    @property
    def front(self):
        """Which settings no other beats in minutes, roughness and wear, limits or not."""
        allowed = self.inside([limit.name for limit in self.limits])
        minutes = np.where(allowed, self.minutes, np.nan)
        wear = core(self.burn.relative_wear_percent.likely)
        wear = np.zeros(()) if np.isnan(wear).all() else wear
        return non_dominated(minutes, core(self.burn.roughness_Ra_um.likely), wear)

    def counted(self):
        """Return how many settings each reason leaves out, and how many are left to the limits."""
        size = prod(self.burn.shape)
        free, counts = np.ones((1,) * len(self.burn.shape), dtype=bool), {}
        for reason in self.reasons:
            out = free & (self.bars[reason.name] > 1e-9)
            counts[reason.name] = int(out.sum()) * (size // out.size)
            free = free & ~out
        return counts, int(free.sum()) * (size // free.size)

    def setting(self, place):
        """Return set-up and settings at a place of the mesh."""
        given = self.burn.settings
        found = {
            name: float(np.broadcast_to(value, self.burn.shape)[place])
            for name in (*DIALS, *LIFT)
            if (value := getattr(given, name)) is not None
        }
        return self.burn.setup, replace(given, **found)


def columns(sides, places, of, names):
    """Return some columns at places counted through all sides: (names, places).

    Parameters
    ----------
    sides : sequence of Side
        One after the other.
    places : array of int
        Flat places.
    of : callable
        Side and name -> array that broadcasts to the side's shape.
    names : sequence of str
        One a column.
    """
    starts = np.cumsum([0, *(prod(side.burn.shape) for side in sides)])
    which = np.searchsorted(starts, places, side="right") - 1
    found = np.empty((len(names), len(places)))
    for number, side in enumerate(sides):
        mine = which == number
        spots = np.unravel_index(places[mine] - starts[number], side.burn.shape)
        for row, name in zip(found, names, strict=True):
            row[mine] = np.broadcast_to(of(side, name), side.burn.shape)[spots]
    return found
