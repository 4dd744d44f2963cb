"""Each burn beside what was expected of it before any trial and now, for the pages."""

import warnings
from dataclasses import dataclass

import numpy as np

from edmkit.burn import predict
from edmkit.checks import RangeWarning
from edmkit.estimate import BAND, Estimate
from edmkit.knowledge import SPREADS, untrained
from edmkit.trials.derived import Figure
from edmkit.trials.learn import rows_of

ANSWERS = {
    "removal_rate": "removal_rate_mm3_per_min",
    "roughness_Ra": "roughness_Ra_um",
    "relative_wear": "relative_wear_percent",
    "gap_side": "gap_side_um",
    "gap_front": "gap_front_um",
    "recast": "recast_um",
}
LEARNED, SUSPECT, SET_ASIDE = "learned from", "doubted", "set aside"


@dataclass(frozen=True)
class Beside:
    """One figure of one burn: measured, expected before any trial, expected now.

    ``kind`` says whether it was learned from, is doubted or was set aside; ``why`` in words.
    """

    trial: object
    measured: Figure
    before: Estimate
    after: Estimate
    kind: str
    why: str

    @property
    def residual(self):
        """Measured over what the shop now expects."""
        return self.measured.value / float(self.after.likely)


@dataclass(frozen=True)
class Constant:
    """One of a shop's constants amid its burns: measured over predicted.

    ``now`` and ``before`` leave out how one burn differs from the next, which is ``noise``, the
    factor up or down that nine in ten burns lie within. ``burns`` is how many taught it.
    """

    quantity: str
    now: Estimate
    before: Estimate
    noise: float
    burns: int
    slopes: tuple


def beside(study, trials, quantity, most=60):
    """Return each burn's figure beside what was expected of it, in the order of the book.

    Parameters
    ----------
    study : Study
        What the burns teach.
    trials : sequence of Trial
        The book.
    quantity : str
        Which figure.
    most : int
        The latest so many.
    """
    rows = {row.trial.id: row for row in study.of(quantity)}
    found = []
    for trial in trials:
        row, kind, why = rows.get(trial.id), LEARNED, ""
        if row is None:
            spare = [r for r in rows_of(trial)[0] if r.quantity == quantity]
            row, kind, why = next(iter(spare), None), SET_ASIDE, trial.state
        elif row.suspect:
            kind, why = SUSPECT, row.suspect
        if row is not None:
            found.append((trial, row, kind, why))
    return tuple(_beside(study, quantity, *one) for one in found[-most:])


def _beside(study, quantity, trial, row, kind, why):
    setup, settings = trial.setup(), trial.settings()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # the page of settings says it
        before, after = (
            getattr(predict(setup, settings, shop), ANSWERS[quantity])
            for shop in (None, study.shop)
        )
    return Beside(trial, row.measured, before, after, kind, why)


def constants(study):
    """Return the constants of the shop where it burned last, in the order of the quantities.

    Parameters
    ----------
    study : Study
        What the burns teach.
    """
    found = []
    for quantity, learned in study.shop.learned.items():
        rows = study.of(quantity)
        place = rows[-1].lesson.place
        mine = [row for row in rows if row.lesson.place.machine == place.machine]
        middle = [1.0, *np.mean([row.lesson.point for row in mine], axis=0)]
        known, spreads = learned.at(place), SPREADS[quantity]
        now = Estimate(
            float(np.exp(np.dot(known.mean, middle))), float(np.sqrt(known.variance(middle)))
        )
        before = Estimate(1.0, float(np.sqrt(untrained(quantity, place.is_steel).variance([1.0]))))
        noise = float(np.exp(BAND * known.noise))
        found.append(Constant(quantity, now, before, noise, len(mine),
                              _slopes(known, spreads)))  # fmt: skip
    return tuple(found)


def _slopes(known, spreads):
    """Return how the factor follows current, on-time and area: exponent, spread, spread before."""
    return tuple(
        (known.mean[n], float(np.sqrt(known.covariance[n][n])), spreads.slopes[n - 1])
        for n in (1, 2, 3)
    )
