"""Before a burn is learned: whether it is what this shop expects."""

from dataclasses import dataclass
from math import exp

import numpy as np

from edmkit.trials.columns import NORMAL
from edmkit.trials.learn import MORE_LESS, rows_of, study
from edmkit.words import two

_ONCE, _TWICE = 2.5, 1.6  # deviations that one burn, and two in a row on one side, may be off
_LATEST = 12  # burns looked back on: each asks for what was known before it
_MEMORY = 150  # burns before it that count: what is long past says little of a drift; assumption


@dataclass(frozen=True)
class Score:
    """How far a figure lay from what the burns before it led to expect.

    ``z`` counts standard deviations, ``ratio`` is measured over expected.
    """

    trial_id: str
    quantity: str
    z: float
    ratio: float


def scores(trials, last=_LATEST, include=()):
    """Return how far the latest burns lay from what the burns before each led to expect.

    Parameters
    ----------
    trials : sequence of Trial
        In the order of the book.
    last : int
        How many burns to look back on; each is held against up to 150 before it.
    include : sequence of str
        Lasting states that are learned from too.
    """
    trials, found = list(trials), []
    for place in range(max(len(trials) - last, 1), len(trials)):
        if trials[place].state in (NORMAL, "", *include):
            before = trials[max(place - _MEMORY, 0) : place]
            found += _scored(study(before, include).shop, trials[place])
    return tuple(found)


def warn(trials, trial, shop=None, latest=None):
    """Return what to check before a burn is saved and learned: sentences, none if all is usual.

    Parameters
    ----------
    trials : sequence of Trial
        The book as it stands.
    trial : Trial
        The new burn.
    shop : Shop or None
        What the book has taught, where it is at hand.
    latest : sequence of Score or None
        How far the latest burn of the book lay, where it is at hand.
    """
    said = []
    before = {s.quantity: s.z for s in (scores(trials, 1) if latest is None else latest)}
    for score in _scored(shop or study(trials).shop, trial):
        said += _sentence(score, before.get(score.quantity, 0.0))
    return tuple(said)


def _scored(shop, trial):
    found, (rows, _) = [], rows_of(trial)
    for row in rows:
        place, lesson = row.lesson.place, row.lesson
        learned = shop.learned.get(row.quantity)
        if learned is None or not learned.knows_machine(place):
            continue
        known = learned.at(place)
        columns = [1.0, *lesson.point]
        expected = float(np.dot(known.mean, columns))
        seen = lesson.value
        if row.measured.is_interval:
            seen = min(max(expected, lesson.low), lesson.high)
        spread = (known.variance(columns) + known.noise**2 + lesson.variance) ** 0.5
        off = seen - expected
        found.append(Score(trial.id, row.quantity, off / spread, exp(off)))
    return found


def _sentence(score, before):
    """Return a sentence where a figure is unusual, or the second in a row that leans one way."""
    z = score.z
    twice = min(abs(z), abs(before)) > _TWICE and z * before > 0
    if abs(z) <= _ONCE and not twice:
        return []
    away, words = max(score.ratio, 1 / score.ratio), MORE_LESS[score.quantity][z < 0]
    start = f"This burn is {two(away)} times {words} than your others lead to expect"
    if twice:
        start = f"The second burn in a row that is {words} than expected, now {two(away)} times"
    return [
        f"{start}. Check the number first. Is the flushing blocked, the fluid dirty, the steel "
        "another batch? Then name the state that lasts: such burns stay out of what is learned."
    ]
