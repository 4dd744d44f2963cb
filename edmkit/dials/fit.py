"""Least squares in logarithms: from the readings of a survey to what every position is worth."""

from dataclasses import dataclass

import numpy as np

from edmkit.dials.model import Model
from edmkit.dials.survey import NEEDLE

HEAVY = 3.0  # degrees of freedom of the heavy tails with which the first rounds weigh
OUTLIER = 3.5  # spreads off: such a reading does not count
SURE_OF_NEEDLE = 4.0  # readings' worth of belief in `NEEDLE`; assumption
WORN_GAIN = 6.0  # gain of log-likelihood from which a position is called worn; assumption
LEAST_WORN = 4  # readings before a position can be called worn
UNHEARD = 1e-4  # weight of the pitches in the first round; assumption
_ROUNDS = 8
_WORN_TRIED = np.geomspace(0.05, 1.0, 12)  # spreads of a worn contact that are tried


@dataclass(frozen=True)
class Solved:
    """The solved unknowns of a `Model`, their covariance, and what each reading misses by.

    ``missed`` is log(read / expected), ``spreads`` what it may miss by, ``counts`` whether it
    counts; ``worn`` gives the spread of a worn contact by its place; ``freedom`` is what the
    noise rests on, in readings; ``pitches`` whether each pitch counts.
    """

    model: Model
    x: np.ndarray
    covariance: np.ndarray
    noise: float
    freedom: float
    missed: np.ndarray
    spreads: np.ndarray
    counts: np.ndarray
    worn: dict
    pitches: np.ndarray

    def spread(self, weights):
        """Return the spread of a weighted sum of the unknowns, widened for few readings.

        Parameters
        ----------
        weights : array
            One for each unknown, or a matrix of such rows.
        """
        from scipy.stats import t

        plain = np.sqrt(np.einsum("...i,ij,...j->...", weights, self.covariance, weights))
        return plain * t.ppf(0.95, self.freedom) / 1.6449


def solve(model):
    """Return the unknowns that fit a model's readings best, a `Solved`.

    Parameters
    ----------
    model : Model
        The readings, and what they depend on.

    Notes
    -----
    Heavy tails first, so that a misread needle pulls little; then positions whose own readings
    scatter more than the needle are given a spread of their own; then what still lies more than
    `OUTLIER` spreads off is left out, and plain least squares gives value and covariance.
    """
    count, noise, worn = len(model.readings), NEEDLE, {}
    x, weights = model.start, np.full(count + len(model.survey.tones), UNHEARD)
    weights[:count] = 1.0  # the readings first: a pitch an octave off must not bend them
    for step in range(_ROUNDS):
        x, missed, spreads = _step(model, x, noise, worn, weights)
        weights = (HEAVY + 1) / (HEAVY + (missed / spreads) ** 2)
        noise = _middle_noise(model, missed[:count])
        fresh = _one_more_worn(model, x, noise, worn)
        if fresh == worn and step > 2:
            break
        worn = fresh
    counts = np.abs(missed) < OUTLIER * spreads
    for _ in range(3):
        x, missed, spreads = _step(model, x, noise, worn, counts)
        noise, freedom = _noise(model, x, counts, noise, worn)
        jacobian = _rows(model, x, noise, worn, counts)[1]
        covariance = np.linalg.inv(jacobian.T @ jacobian)
        counts = _counting(model, x, noise, worn, counts, covariance)
    return Solved(model, x, covariance, noise, freedom, missed[:count], spreads[:count],
                  counts[:count], worn, counts[count:])  # fmt: skip


def _counting(model, x, noise, worn, counts, covariance):
    """Return what counts: one left out comes back where the rest cannot speak against it."""
    missed, spreads, slopes = _told(model, x, noise, worn)
    foretold = np.einsum("ri,ij,rj->r", slopes, covariance, slopes)
    return np.abs(missed) < OUTLIER * np.sqrt(spreads**2 + np.where(counts, 0.0, foretold))


def _told(model, x, noise, worn):
    """Return what readings and pitches miss by, their spreads and their slopes."""
    log, slopes = model.expected(x)
    squares = model.row_spread(noise) ** 2
    for place, spread in worn.items():
        squares = squares + (slopes[:, place] * spread) ** 2
    parts = ((model.logs - log, np.sqrt(squares), slopes), model.tones(x))
    return tuple(np.concatenate(part) for part in zip(*parts, strict=True))


def _step(model, x, noise, worn, weights):
    """Return the solution at fixed weights, what was told misses by, and the spreads of that."""
    from scipy.optimize import least_squares

    def missed(x):
        return _rows(model, x, noise, worn, weights)[0]

    def slopes(x):
        return -_rows(model, x, noise, worn, weights)[1]

    x = least_squares(missed, x, slopes, method="lm", xtol=1e-10, ftol=1e-10).x
    return x, *_told(model, x, noise, worn)[:2]


def _rows(model, x, noise, worn, weights):
    """Return what all rows miss by over their spreads, and their slopes over the spreads."""
    missed, spreads, slopes = _told(model, x, noise, worn)
    told = missed, spreads / np.sqrt(np.maximum(weights, 1e-12)), slopes
    parts = (told, model.plates(x), model.priors(x))
    missed, wide, slopes = (np.concatenate(part) for part in zip(*parts, strict=True))
    return missed / wide, slopes / wide[:, None]


def _free(model):
    """Return how many readings there are beyond what the unknowns they touch take up."""
    touched = np.abs(model.expected(model.start)[1][:, :-1]).sum(axis=0) > 0
    return max(len(model.readings) - int(touched.sum()), 0)


def _middle_noise(model, missed):
    """Return a noise that outliers do not pull: from the middle of what the readings miss by."""
    free = _free(model)
    if not free:
        return NEEDLE
    middle = np.median(np.abs(missed)) / 0.6745 * np.sqrt(len(missed) / free)
    square = (SURE_OF_NEEDLE * NEEDLE**2 + free * middle**2) / (SURE_OF_NEEDLE + free)
    return float(np.sqrt(square))


def _noise(model, x, counts, noise, worn):
    """Return the noise of one reading and how many readings it rests on."""
    missed, spreads, _ = (part[: len(model.readings)] for part in _told(model, x, noise, worn))
    sound = counts[: len(missed)] & (spreads < 2 * model.row_spread(noise))
    jacobian = _rows(model, x, noise, worn, counts)[1]
    inverse = np.linalg.inv(jacobian.T @ jacobian)
    used = jacobian[: len(missed)][sound]
    free = max(float(sound.sum() - np.einsum("ri,ij,rj->", used, inverse, used)), 0.0)
    scaled = noise**2 * float(np.sum((missed[sound] / spreads[sound]) ** 2))
    square = (SURE_OF_NEEDLE * NEEDLE**2 + scaled) / (SURE_OF_NEEDLE + free)
    return float(np.sqrt(square)), SURE_OF_NEEDLE + free


def _one_more_worn(model, x, noise, worn):
    """Return the worn positions with one more, where its own readings scatter too much."""
    told = _told(model, x, noise, worn)
    missed, spreads, slopes = (part[: len(model.readings)] for part in told)
    squares = spreads**2
    gains = {}
    for place in range(model.size - 1):
        own = slopes[:, place]
        inside = np.abs(own) > 0.05
        if place in worn or inside.sum() < LEAST_WORN or inside.all():  # all: it is the needle
            continue
        gain, spread = _gain(missed[inside], own[inside], squares[inside])
        odd = np.abs(missed[inside]) > 2.5 * np.sqrt(squares[inside])
        if odd.sum() >= 2:
            gains[place] = (gain, spread)
    best = max(gains, key=lambda place: gains[place][0], default=None)
    if best is None or gains[best][0] < WORN_GAIN:
        return worn
    return {**worn, best: gains[best][1]}


def _gain(missed, slopes, squares):
    """Return the gain of log-likelihood by the best spread of a worn contact, and that spread."""
    wider = squares + (slopes * _WORN_TRIED[:, None]) ** 2
    gains = 0.5 * (np.log(squares / wider) + missed**2 * (1 / squares - 1 / wider)).sum(axis=1)
    best = int(np.argmax(gains))
    return float(gains[best]), float(_WORN_TRIED[best])
