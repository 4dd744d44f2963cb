"""One figure from outside beside what the kit says of it, and how far apart the two are."""

from dataclasses import dataclass

import numpy as np

from edmkit.estimate import BAND, Estimate

ANSWERS = {
    "removal": "minutes (removal rate)",
    "finish": "finish",
    "wear": "electrode wear",
    "gap": "gap",
    "heat": "heat in the part",
    "on-time": "best on-time",
    "sums": "textbook sums",
}
KINDS = {
    "burn": "measured burns, their settings given",
    "trend": "what a change of settings does, or a range where the settings are not given",
    "trade": "bands of the trade, many from memory",
    "standard": "tables of standards, as reprinted",
    "textbook": "worked examples of textbooks and lectures",
}
HOW_READ = ("read", "read off a figure", "read second hand", "from memory",
            "common practice, no source", "computed here")  # fmt: skip


@dataclass(frozen=True)
class Check:
    """A published figure beside the kit's own.

    ``published`` is one value or (low, high), an open end 0 or infinite; ``predicted`` is an
    `Estimate`, or a number that must agree within ``tolerance`` (relative) or lie in the range.
    ``spans`` says that the band is the kit's whole range, where the settings are not given.
    ``fitted`` says that the kit's own level was set with this figure in view, so that agreement
    proves little. ``table`` is the kit's file the figure stands in, empty where there is none.
    """

    answer: str
    kind: str
    quantity: str
    what: str
    published: float | tuple
    unit: str
    predicted: Estimate | float
    source: str
    how_read: str
    table: str = ""
    note: str = ""
    tolerance: float = 0.0
    spans: bool = False
    fitted: bool = False

    @property
    def ends(self):
        """Low and high end of what is published; the same where it is one value."""
        both = self.published if isinstance(self.published, tuple) else (self.published,) * 2
        return float(both[0]), float(both[1])

    @property
    def likely(self):
        """The kit's likely value, or its number."""
        value = self.predicted
        return float(value.likely if isinstance(value, Estimate) else value)

    @property
    def band(self):
        """Low and high end that the kit allows the true value; equal for an exact number."""
        if isinstance(self.predicted, Estimate):
            return float(self.predicted.low), float(self.predicted.high)
        return self.likely * (1 - self.tolerance), self.likely * (1 + self.tolerance)

    @property
    def factor(self):
        """Predicted over published; from the nearest end of a range, and 1 inside it [-]."""
        low, high = self.ends
        made = min(max(low, self.band[0]), self.band[1]) if self.spans else self.likely
        return made / min(max(made, low), high)

    @property
    def off(self):
        """Distance from the published figure over the distance allowed: above 1 is a miss [-]."""
        low, high = self.ends
        if isinstance(self.predicted, Estimate):
            away = np.log(self.likely / min(max(self.likely, low), high))
            return float(abs(away) / (BAND * self.predicted.spread))
        if low == high:
            return abs(self.factor - 1) / self.tolerance
        if low == 0 or np.isinf(high):
            return self.likely / high if low == 0 else low / self.likely
        middle, half = np.log(low * high) / 2, np.log(high / low) / 2
        return abs(np.log(self.likely) - middle) / half

    @property
    def inside(self):
        """Whether the published figure lies where the kit says it may."""
        return bool(self.off <= 1 + 1e-9)


@dataclass(frozen=True)
class Uncompared:
    """A published figure that the kit cannot be held against, and why not."""

    what: str
    published: str
    why: str
    source: str
    table: str


def worst_first(checks):
    """Return checks in order of `Check.off`, the worst first.

    Parameters
    ----------
    checks : iterable of Check
        In any order; those that are equally far off keep it.
    """
    return tuple(sorted(checks, key=lambda check: -check.off))


def middle_factor(checks):
    """Return the geometric mean of predicted over published of some checks [-].

    Parameters
    ----------
    checks : iterable of Check
        At least one.
    """
    return float(np.exp(np.mean([np.log(check.factor) for check in checks])))
