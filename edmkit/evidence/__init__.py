"""How far the kit can be trusted: every figure from outside beside the kit's own.

The page 90 and the tests are built from these functions, so they cannot drift apart.
"""

from dataclasses import dataclass
from itertools import groupby

import numpy as np

from edmkit.estimate import BAND
from edmkit.evidence.burns import elias, izwan, juvkam_wold, niti, yahya
from edmkit.evidence.check import ANSWERS, KINDS, Check, Uncompared, middle_factor, worst_first
from edmkit.evidence.tables import standards, textbook
from edmkit.evidence.trade import trade
from edmkit.evidence.transfer import transfer
from edmkit.evidence.trends import exponents, optimum_on_times, settings_not_given, uncompared

__all__ = ["ANSWERS", "FAMILIES", "KINDS", "UNMEASURED", "Check", "Group", "Score", "Uncompared",
           "burns", "checks", "elias", "exponents", "izwan", "juvkam_wold", "leaning",
           "middle_factor", "misses", "niti", "optimum_on_times", "score", "settings_not_given",
           "standards", "textbook", "trade", "transfer", "uncompared", "worst_first",
           "yahya"]  # fmt: skip

FAMILIES = (yahya, juvkam_wold, izwan, transfer, elias, niti, optimum_on_times, exponents,
            settings_not_given, trade, standards, textbook)  # fmt: skip
_LEANS = 2.0  # a group of burns that is all on one side by more than this is named

# What no measurement behind the kit checks, and what stands in its place.
UNMEASURED = (
    ("Radius and depth of a crater", "a solved heat problem and nothing else"),
    ("White layer", "2.5 times Ra, a rule of the trade"),
    ("Depth hardened again or softened", "how hot it gets in the solved heat problem"),
    ("Hole over electrode (overcut)", "bands of the trade and an assumption about debris"),
    ("Taper of the walls", "nothing: the kit gives no figure"),
    ("Share of arcs and shorts", "assumptions: they show direction, not figures"),
    ("How much current a small end bears, what flushing can do", "rules of the trade that differ "
     "tenfold among themselves"),
    ("Wear of copper on hardened steel", "bands of the trade: the burns here are of alloys or "
     "pairs the source does not fully name"),
)  # fmt: skip


def checks():
    """Return every check there is, computed now."""
    return tuple(check for family in FAMILIES for check in family())


def burns(found):
    """Return the checks that are measured burns with their settings."""
    return tuple(check for check in found if check.kind == "burn")


@dataclass(frozen=True)
class Score:
    """How an answer does: counts, and for the measured burns middle factor and bands [-].

    ``others`` are published trends, ranges and bands of the trade. ``bands`` are the narrowest and
    the widest, as factors either way. Not-a-number without burns.
    """

    burns: int
    burns_inside: int
    others: int
    others_inside: int
    factor: float
    bands: tuple


def score(answer, found):
    """Return how one answer does among some checks; standards and sums are left out.

    Parameters
    ----------
    answer : str
        A key of `ANSWERS`.
    found : iterable of Check
        Usually `checks()`.
    """
    mine = [check for check in found if check.answer == answer]
    measured = burns(mine)
    others = [check for check in mine if check.kind in ("trend", "trade")]
    factor = middle_factor(measured) if measured else np.nan
    spreads = [float(check.predicted.spread) for check in measured] or [np.nan]
    bands = float(np.exp(BAND * min(spreads))), float(np.exp(BAND * max(spreads)))
    inside = [sum(check.inside for check in group) for group in (measured, others)]
    return Score(len(measured), inside[0], len(others), inside[1], factor, bands)


@dataclass(frozen=True)
class Group:
    """Checks of one source and quantity; ``among`` is how many of them there are in all."""

    source: str
    quantity: str
    checks: tuple
    among: int

    @property
    def factor(self):
        """Predicted over published in the middle [-]."""
        return middle_factor(self.checks)


def _author(check):
    return check.what.split(":")[0]


def _grouped(found, key):
    return [(k, tuple(group)) for k, group in groupby(sorted(found, key=key), key=key)]


def misses(found):
    """Return the burns and trends outside their band, worst first; three and more as one group.

    Parameters
    ----------
    found : iterable of Check
        Usually `checks()`.
    """
    groups = []
    asked = [check for check in found if check.kind in ("burn", "trend")]
    for (author, quantity), mine in _grouped(asked, lambda c: (_author(c), c.quantity)):
        wrong = worst_first(check for check in mine if not check.inside)
        alike = len(wrong) > 2 and wrong[0].unit != "times"  # ratios of many kinds have no middle
        together = [wrong] if alike else [(check,) for check in wrong]
        groups += [Group(author, quantity, group, len(mine)) for group in together]
    return tuple(sorted(groups, key=lambda group: -group.checks[0].off))


def leaning(found):
    """Return groups of burns that lie inside their band, yet all on one side by more than twice.

    Parameters
    ----------
    found : iterable of Check
        Usually `checks()`.
    """
    groups = []
    for (start, quantity), mine in _grouped(
        burns(found), lambda c: (c.what.split(",")[0], c.quantity)
    ):
        sides = {check.factor > 1 for check in mine}
        one_sided = len(mine) > 1 and len(sides) == 1 and all(check.inside for check in mine)
        if one_sided and abs(np.log(middle_factor(mine))) > np.log(_LEANS):
            groups.append(Group(start, quantity, mine, len(mine)))
    return tuple(sorted(groups, key=lambda group: -abs(np.log(group.factor))))
