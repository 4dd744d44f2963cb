"""A machine's switches: positions, what they are worth, how well that is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.settings import LIMITS

# Standard deviation of the logarithm of a dialled value; all four are assumptions: a metered
# value, a printed one, one told from experience, and one read off the neighbouring positions.
HOW_KNOWN_SPREAD = {"measured": 0.03, "plate": 0.10, "guessed": 0.35, "unknown": 0.70}

# The switches, each with the first and last value taken where fewer than two positions are known
# [unit of the name]; assumptions.
LADDER = {
    "peak_current_A": (1.0, 20.0),
    "on_time_us": (2.0, 500.0),
    "off_time_us": (2.0, 500.0),
    "open_voltage_V": (80.0, 150.0),
}

SAME = 1e-9  # relative: two values this close are one position


@dataclass(frozen=True)
class Position:
    """One position of a switch: what is engraved, what it is worth, how well that is known."""

    label: str
    value: float
    how_known: str
    spread: float
    filled: bool = False


def _sum(group):
    """Return what several positions of an adding switch come to; independent errors."""
    if len(group) == 1:
        return group[0]
    total = sum(position.value for position in group)
    error = sum((position.value * position.spread) ** 2 for position in group) ** 0.5
    return Position(
        label=" + ".join(position.label for position in group),
        value=total,
        how_known=max((p.how_known for p in group), key=list(HOW_KNOWN_SPREAD).index),
        spread=error / total,
        filled=any(position.filled for position in group),
    )


@dataclass(frozen=True)
class Switch:
    """A switch; ``name`` is the field of ``Settings`` it sets, and so carries the unit.

    A switch that ``adds`` has positions that may be on together; their values then add up.
    """

    name: str
    positions: tuple[Position, ...]
    adds: bool = False

    @cached_property
    def choices(self):
        """Everything that can be dialled: positions as engraved, or sums in rising order.

        Of several sums that come to the same value the one with the fewest switches is kept.
        """
        if not self.adds:
            return self.positions
        sizes = range(1, len(self.positions) + 1)
        sums = [_sum(group) for size in sizes for group in combinations(self.positions, size)]
        kept = []
        for choice in sorted(sums, key=lambda c: round(c.value, 9)):  # stable: fewest stay first
            if not kept or choice.value > kept[-1].value * (1 + SAME):
                kept.append(choice)
        return tuple(kept)

    @cached_property
    def values(self):
        """The values of ``choices`` as an array, in the unit of ``name``."""
        values = np.array([choice.value for choice in self.choices])
        values.setflags(write=False)
        return values

    def position(self, label):
        """Return the position with this label, or the sum of several ("1 + 3", or a sequence).

        Raises
        ------
        Refusal
            If the switch has no such position, or several are named and they do not add.
        """
        labels = [label] if isinstance(label, str) else label
        if self.adds and isinstance(label, str):
            labels = [part.strip() for part in label.split("+")]
        by_label = {position.label: position for position in self.positions}
        known = isinstance(labels, Sequence) and all(
            isinstance(x, str) and x in by_label for x in labels
        )
        allowed = range(1, len(self.positions) + 1 if self.adds else 2)
        if not known or len(labels) not in allowed or len(set(labels)) < len(labels):
            raise Refusal(f"{self.name} must be one of {self.shown()}, got {label!r}.")
        return _sum([position for position in self.positions if position.label in labels])

    def nearest(self, value):
        """Return the choice whose value is nearest by ratio to ``value`` (in the switch's unit).

        Raises
        ------
        Refusal
            If ``value`` is not a number in the range of such a switch.
        """
        value = float(require(self.name, value, *LIMITS[self.name]))
        return self.choices[int(np.argmin(np.abs(np.log(self.values / value))))]

    def index(self, values, owner="the switch"):
        """Return where in ``choices`` each of ``values`` stands (array in, array out).

        Two positions of equal value cannot be told apart: the less well known one is named.

        Raises
        ------
        Refusal
            If the switch has not got a value; the message lists what it has.
        """
        order, have = self._table
        wanted = np.asarray(values)
        if wanted.dtype.kind not in "iuf":
            raise Refusal(f"{self.name} must be numbers from {self.shown()}, got {values!r}.")
        at = np.minimum(np.searchsorted(have, wanted * (1 - SAME)), len(have) - 1)
        found = np.abs(have[at] - wanted) <= 2 * SAME * have[at]  # False for NaN too
        if not found.all():
            stray = wanted[~found].flat[0]
            raise Refusal(
                f"{self.name} must be one of the positions of {owner}: "
                f"{self.shown()}, got {stray:g}."
            )
        return order[at][()]

    def shown(self):
        """Return the positions as a person reads them: 1 (1.5 A), 2 (3 A)."""
        unit = LIMITS[self.name][2]
        listed = ", ".join(f"{p.label} ({p.value:.3g} {unit})" for p in self.positions)
        return listed + (" or several of them with a + between" if self.adds else "")

    @cached_property
    def _table(self):
        order = np.lexsort(([-choice.spread for choice in self.choices], self.values))
        return order, self.values[order]


def fill_in(values, first, last):
    """Return the values of a switch's positions with the unknown ones filled in.

    Parameters
    ----------
    values : array
        In the order of the positions; NaN where unknown [any unit].
    first, last : float
        What the ends are taken for where fewer than two values are known [same unit].

    Notes
    -----
    Between known positions a straight line in the logarithm over the position number; outside
    them the factor of the nearest known step. An assumption: switches are made in even ratios.
    """
    values = np.asarray(values, dtype=float)
    known = dict(enumerate(np.log(values)))
    known = {place: log for place, log in known.items() if not np.isnan(log)}
    if len(values) == 1:
        return values if known else np.array([np.sqrt(first * last)])
    if len(known) < 2:
        known = {0: np.log(first), len(values) - 1: np.log(last)} | known
    x, y = np.array(sorted(known.items())).T
    steps = np.diff(y) / np.diff(x)
    places = np.arange(len(values))
    below, above = np.minimum(places - x[0], 0), np.maximum(places - x[-1], 0)
    filled = np.interp(places, x, y) + steps[0] * below + steps[-1] * above
    return np.where(np.isnan(values), np.exp(filled), values)
