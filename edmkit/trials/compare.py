"""Two ways of burning, compared in the shop's own log: real, or luck."""

from dataclasses import dataclass, replace
from math import exp

from edmkit.checks import Refusal, one_of
from edmkit.estimate import BAND, Estimate
from edmkit.knowledge import QUANTITIES, difference_of_ways
from edmkit.trials.columns import BY_NAME, NORMAL, TEXTS
from edmkit.trials.learn import MORE_LESS, rows_of
from edmkit.words import two

# What a person may have done in two ways; the machine and the work change what is predicted.
WAYS = ("flushing", "flushing_quality", "fluid", "electrode", "polarity", "electrode_id",
        "operator", "job", "state")  # fmt: skip


_ALIKE = 1.05  # ratios nearer to 1 are not worth a figure


@dataclass(frozen=True)
class Difference:
    """How the other way compares with the first at equal settings.

    ``ratio`` is other over one, its ends the 5 % and 95 % ends; ``chance`` that other is larger;
    ``burns`` how many of each were compared.
    """

    column: str
    quantity: str
    ratio: Estimate
    chance: float
    burns: tuple
    real: bool
    sentence: str


def compare(trials, column, one, other, quantity="removal_rate"):
    """Return the difference between two ways of burning in a log.

    Parameters
    ----------
    trials : sequence of Trial
        The log; burns in a lasting state count only where the states are compared.
    column : str
        What differs: one of `WAYS`.
    one, other : str
        The two values of that column.
    quantity : str
        What is compared, such as 'removal_rate'.

    Raises
    ------
    Refusal
        If one of the ways has no burn with that figure.

    Notes
    -----
    Each burn is held against what the physics says of its settings the first way, so that
    settings and sizes need not be alike. 'Real' means that the band of nine in ten leaves out 1.
    """
    one_of("column", column, WAYS)
    one_of("quantity", quantity, QUANTITIES)
    if one == other:
        raise Refusal(f"{column} must differ between the two ways, got {one!r} twice.")
    lessons, counts = [], {one: 0, other: 0}
    for trial in trials:
        way = getattr(trial, column)
        if way not in counts or (column != "state" and trial.state not in (NORMAL, "")):
            continue
        # measured as it was, predicted as if it had been burned the first way
        rows, _ = rows_of(trial, replace(trial, **{column: one}))
        for row in rows:
            if row.quantity == quantity:
                counts[way] += 1
                lessons.append(replace(row.lesson, other_way=way == other))
    for way, count in counts.items():
        if not count:
            raise Refusal(
                f"{BY_NAME[column].words} {way!r} must have a burn with {quantity} measured, got "
                "none: record one, or compare something else."
            )
    mixture, way = difference_of_ways(quantity, lessons)
    low, middle, high = (mixture.quantile(part, way, False) for part in (0.05, 0.5, 0.95))
    chance = 1 - mixture.below(0.0, way, False)
    ratio = Estimate(exp((low + high) / 2), (high - low) / (2 * BAND))
    real = low > 0 or high < 0
    burns = counts[one], counts[other]
    return Difference(
        column, quantity, ratio, chance, burns, real,
        _sentence(quantity, one, other, exp(middle), ratio, real),
    )  # fmt: skip


def _sentence(quantity, one, other, middle, ratio, real):
    """Return the difference in words, larger side first."""
    more, less = MORE_LESS[quantity]
    words = more if middle >= 1 else less
    turned = middle < 1 and max(middle, 1 / middle) >= _ALIKE
    ends = (1 / ratio.high, 1 / ratio.low) if turned else (ratio.low, ratio.high)
    verdict = "real" if real else "it could be luck"
    away = max(middle, 1 / middle)
    if away < _ALIKE:
        return f"{other}: much the same as {one}, {two(ends[0])} to {two(ends[1])} times {more}."
    return (
        f"{other}: {two(away)} times {words} than {one}, {two(ends[0])} to {two(ends[1])} times: "
        f"{verdict}."
    )


def ways_in(trials, column):
    """Return the values of a column that a log holds, commonest first.

    Parameters
    ----------
    trials : sequence of Trial
        The log.
    column : str
        One of the text columns.
    """
    one_of("column", column, TEXTS)
    found = {}
    for trial in trials:
        value = getattr(trial, column)
        if value:
            found[value] = found.get(value, 0) + 1
    return tuple(sorted(found, key=lambda value: -found[value]))
