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
_ROUNDS = 8
_WORN_TRIED = np.geomspace(0.05, 1.0, 12)  # spreads of a worn contact that are tried


@dataclass(frozen=True)
class Solved:
    """The solved unknowns of a `Model`, their covariance, and what each reading misses by.

    ``missed`` is log(read / expected), ``spreads`` what it may miss by, ``counts`` whether it
    counts; ``worn`` gives the spread of a worn contact by its place; ``freedom`` is what the
    noise rests on, in readings.
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
    x, noise, worn = model.start, NEEDLE, {}
    weights = np.ones(len(model.readings))
    for _ in range(_ROUNDS):
        x, spreads, missed = _step(model, x, noise, worn, weights)
        weights = (HEAVY + 1) / (HEAVY + (missed / spreads) ** 2)
        noise = _middle_noise(model, missed, noise, worn)
        fresh = _one_more_worn(model, x, missed, noise, worn)
        if fresh == worn and _ > 2:
            break
        worn = fresh
    counts = np.abs(missed) < OUTLIER * spreads
    for _ in range(2):
        x, spreads, missed = _step(model, x, noise, worn, counts.astype(float))
        noise, freedom = _noise(model, x, missed, spreads, counts, noise, worn)
    x, spreads, missed = _step(model, x, noise, worn, counts.astype(float))
    counts = counts & (np.abs(missed) < OUTLIER * spreads)
    _, jacobian = _rows(model, x, spreads, counts.astype(float))
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    return Solved(model, x, covariance, noise, freedom, missed, spreads, counts, worn)


def _step(model, x, noise, worn, weights):
    """Return the solution at fixed weights, the spreads of the readings and what they miss by."""
    from scipy.optimize import least_squares

    spreads = _spreads(model, x, noise, worn)

    def missed(x):
        return _rows(model, x, spreads, weights)[0]

    def slopes(x):
        return -_rows(model, x, spreads, weights)[1]

    x = least_squares(missed, x, slopes, method="lm", xtol=1e-10, ftol=1e-10).x
    return x, _spreads(model, x, noise, worn), model.logs - model.expected(x)[0]


def _rows(model, x, spreads, weights):
    """Return what all rows miss by over their spreads, and their slopes over the spreads."""
    log, slopes = model.expected(x)
    parts = [(model.logs - log, spreads / np.sqrt(np.maximum(weights, 1e-12)), slopes)]
    parts += [model.tones(x), model.plates(x), model.priors(x)]
    missed, wide, slopes = (np.concatenate(part) for part in zip(*parts, strict=True))
    return missed / wide, slopes / wide[:, None]


def _spreads(model, x, noise, worn):
    """Return what each reading may miss by: the needle's error and that of worn contacts."""
    squares = model.row_spread(noise) ** 2
    if worn:
        slopes = model.expected(x)[1]
        for place, spread in worn.items():
            squares = squares + (slopes[:, place] * spread) ** 2
    return np.sqrt(squares)


def _free(model):
    """Return how many readings there are beyond what the unknowns they touch take up."""
    touched = np.abs(model.expected(model.start)[1][:, :-1]).sum(axis=0) > 0
    return max(len(model.readings) - int(touched.sum()), 0)


def _middle_noise(model, missed, noise, worn):
    """Return a noise that outliers do not pull: from the middle of what the readings miss by."""
    free = _free(model)
    if not free:
        return NEEDLE
    middle = np.median(np.abs(missed)) / 0.6745 * np.sqrt(len(missed) / max(free, 1))
    square = (SURE_OF_NEEDLE * NEEDLE**2 + free * middle**2) / (SURE_OF_NEEDLE + free)
    return float(np.sqrt(square))


def _noise(model, x, missed, spreads, counts, noise, worn):
    """Return the noise of one reading and how many readings it rests on."""
    touched = counts & (spreads < 2 * model.row_spread(noise))
    _, jacobian = _rows(model, x, spreads, counts.astype(float))
    inverse = np.linalg.inv(jacobian.T @ jacobian)
    used = jacobian[: len(missed)][touched]
    free = max(float(touched.sum() - np.einsum("ri,ij,rj->", used, inverse, used)), 0.0)
    scaled = noise**2 * float(np.sum((missed[touched] / spreads[touched]) ** 2))
    square = (SURE_OF_NEEDLE * NEEDLE**2 + scaled) / (SURE_OF_NEEDLE + free)
    return float(np.sqrt(square)), SURE_OF_NEEDLE + free


def _one_more_worn(model, x, missed, noise, worn):
    """Return the worn positions with one more, where its own readings scatter too much."""
    slopes = model.expected(x)[1]
    squares = _spreads(model, x, noise, worn) ** 2
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
