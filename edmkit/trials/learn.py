"""What the burns of the book teach of this shop's constants; the only way trials flow back."""

from dataclasses import dataclass
from math import exp, log

import numpy as np

from edmkit.checks import Refusal
from edmkit.knowledge import QUANTITIES, Lesson, Place, logs, teach
from edmkit.likely import likely
from edmkit.shop import Shop, operating_point, tried_by
from edmkit.trials.columns import NORMAL
from edmkit.trials.derived import UNITS, Figure, derive
from edmkit.units import mm3_per_min, percent, um

_SI = dict(
    zip(QUANTITIES, (mm3_per_min, um, percent, um, um, um), strict=True)
)  # in the order of the quantities
_DOUBTED = 0.5  # a row with more than this chance to be a slip is shown as a suspect
MORE_LESS = {
    "removal_rate": ("faster", "slower"),
    "roughness_Ra": ("rougher", "smoother"),
    "relative_wear": ("more wear", "less wear"),
    "gap_side": ("wider in the side gap", "narrower in the side gap"),
    "gap_front": ("wider in the front gap", "narrower in the front gap"),
    "recast": ("thicker in the recast layer", "thinner in the recast layer"),
}


@dataclass(frozen=True)
class Row:
    """One figure of one burn beside what the physics alone says, both in the shop unit.

    ``slip`` is the chance that it is a slip; ``suspect`` says why it is doubted, empty where it
    is not. A suspect stays in the book and in the fit, where it counts little.
    """

    trial: object
    quantity: str
    measured: Figure
    predicted: float
    lesson: Lesson
    slip: float = 0.0
    suspect: str = ""

    @property
    def ratio(self):
        """Measured over predicted."""
        return self.measured.value / self.predicted

    @property
    def unit(self):
        """The unit of both."""
        return UNITS[self.quantity]


@dataclass(frozen=True)
class LeftOut:
    """A burn, or one quantity of it, that taught nothing, and why."""

    trial: object
    why: str
    quantity: str = ""


@dataclass(frozen=True)
class Study:
    """The shop that some burns make, their rows, and what was left out."""

    shop: Shop
    rows: tuple
    left_out: tuple

    def of(self, quantity):
        """Return the rows of one quantity, in the order of the book."""
        return tuple(row for row in self.rows if row.quantity == quantity)

    @property
    def suspects(self):
        """The rows that are doubted."""
        return tuple(row for row in self.rows if row.suspect)


def learn(trials, include=()):
    """Return the shop that has learned from some burns.

    Parameters
    ----------
    trials : sequence of Trial
        As `TrialBook.trials` gives them.
    include : sequence of str
        Lasting states that shall be learned from too, such as 'dirty fluid'; by default only
        burns that went as usual teach.

    Returns
    -------
    Shop
    """
    return study(trials, include).shop


def study(trials, include=()):
    """Return the shop that some burns make, with each figure beside its prediction.

    Parameters
    ----------
    trials : sequence of Trial
        In the order of the book; the order changes nothing but the rows' own.
    include : sequence of str
        Lasting states that shall be learned from too.

    Returns
    -------
    Study
    """
    rows, left_out = [], []
    for trial in trials:
        if trial.state not in (NORMAL, "", *include):
            left_out.append(LeftOut(trial, f"left out: {trial.state}"))
            continue
        found, lacking = rows_of(trial)
        rows += found
        left_out += lacking
    learned, judged = {}, []
    for quantity in QUANTITIES:
        mine = [row for row in rows if row.quantity == quantity]
        if mine:
            learned[quantity], slips = teach(quantity, [row.lesson for row in mine])
            judged += _judged(mine, learned[quantity], slips)
    place = {id(row.lesson): n for n, row in enumerate(rows)}
    judged.sort(key=lambda row: place[id(row.lesson)])
    taught = {row.trial.id: row.trial for row in rows}
    with_machine = [trial for trial in taught.values() if trial.machine_file is not None]
    tried = tried_by((trial.setup(), trial.settings()) for trial in with_machine)
    return Study(Shop(learned, tuple(taught), tried), tuple(judged), tuple(left_out))


def rows_of(trial, as_if=None):
    """Return the rows of one burn, not judged yet, and what is left out of it with the reason.

    Parameters
    ----------
    trial : Trial
        One burn.
    as_if : Trial or None
        Predict this burn instead: the same one burned another way.
    """
    told = as_if or trial
    if trial.machine and trial.machine_file is None:
        why = f"the file of the machine {trial.machine!r} is not at hand"
        return [], [LeftOut(trial, why)]
    try:
        setup = told.setup()
        point = likely(setup, told.settings())
        at = tuple(float(v) for v in logs(operating_point(point)))
    except Refusal as fault:
        return [], [LeftOut(trial, str(fault))]
    derived, rows = derive(trial), []
    left_out = [LeftOut(trial, why, q) for q, why in derived.missing.items()]
    for quantity, figure in derived.figures.items():
        try:
            predicted = float(getattr(point, quantity)) / _SI[quantity]
        except Refusal as fault:
            left_out.append(LeftOut(trial, str(fault), quantity))
            continue
        if not (predicted > 0 and np.isfinite(predicted)):
            why = "the physics has no figure for this pair and setting"
            left_out.append(LeftOut(trial, why, quantity))
            continue
        value = log(figure.value / predicted)
        low, high = (end - log(predicted) for end in figure.log_ends)
        lesson = Lesson(trial.id, Place.of(setup), at, value, figure.variance, low, high)
        rows.append(Row(trial, quantity, figure, predicted, lesson))
    return rows, left_out


def _judged(rows, learned, slips):
    """Return rows with their chance to be a slip, and the reason where they are doubted."""
    judged = []
    for row in rows:
        slip = slips[row.lesson.key]
        doubted = slip > _DOUBTED and len(rows) > 1
        reason = _reason(row, learned, len(rows)) if doubted else ""
        judged.append(
            Row(row.trial, row.quantity, row.measured, row.predicted, row.lesson, slip, reason)
        )
    return judged


def _reason(row, learned, count):
    """Return why a row is doubted, in words of the shop."""
    away = exp(abs(off := _residual(row, learned)))
    more, less = MORE_LESS[row.quantity]
    others = "the other burn" if count == 2 else "this shop's other burns"
    return f"{away:.2g} times {more if off > 0 else less} than {others}"


def _residual(row, learned):
    """Return ln(measured / what the shop expects) of a row."""
    known = learned.at(row.lesson.place)
    return row.lesson.value - sum(
        m * x for m, x in zip(known.mean, (1.0, *row.lesson.point), strict=True)
    )
