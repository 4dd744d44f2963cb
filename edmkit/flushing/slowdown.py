"""Has a burn slowed down? Its readings held against a fall of the rate at each of them.

The rate is the volume gone per minute of burning, so an end that engages more and more does not
slow it. Each interval scatters by itself, and an error of the dial moves its two neighbours
against each other: so whole covariances are compared. Burns that scatter more are given room.
"""

from dataclasses import dataclass

import numpy as np

# What is looked for, as multiples of the rate before; nearer to 1 is not worth a stop. Assumption.
FALLS = (0.6, 0.3)
# Standard deviation of the logarithm of the rate from interval to interval, and how often it is
# so before any reading: assumption.
SCATTERS = ((0.10, 0.75), (0.20, 0.20), (0.40, 0.05))
BAR = 3.2  # logarithm of the odds that raises a word; set by the burns of tests/test_burn_watch.py


@dataclass(frozen=True)
class Slowdown:
    """A fall of the rate: from which interval on, to which multiple, the logarithm of its odds."""

    interval: np.ndarray
    multiple: np.ndarray
    odds: np.ndarray

    @property
    def found(self):
        """Whether it is worth a word."""
        return self.odds > BAR


@dataclass(frozen=True)
class Fit:
    """A rate, its variance and its scatter for each of the `SCATTERS`, weighed by ``weights``."""

    rates: np.ndarray
    variances: np.ndarray
    logs: np.ndarray

    @property
    def likelihood(self):
        """Logarithm of the likelihood of the steps, whatever their scatter."""
        return np.logaddexp.reduce(self.logs, -1)

    @property
    def weights(self):
        """Chance of each scatter."""
        return np.exp(self.logs - self.likelihood[..., None])

    @property
    def rate(self):
        """Rate while burning [mm³/min]."""
        return np.sum(self.weights * self.rates, -1)

    @property
    def error(self):
        """Standard deviation of the rate [mm³/min]."""
        apart = self.variances + (self.rates - self.rate[..., None]) ** 2
        return np.sqrt(np.sum(self.weights * apart, -1))

    @property
    def scatter(self):
        """Standard deviation of the logarithm of the rate from interval to interval."""
        return np.sum(self.weights * np.array([size for size, _ in SCATTERS]), -1)


def fit_rate(steps_mm3, pattern_min, noise, least):
    """Return the rate that best explains the steps of a burn.

    Parameters
    ----------
    steps_mm3, pattern_min : (..., n) array
        Work gone in each interval [mm³]; its minutes of burning, times the multiple of the rate
        that held there [min].
    noise : (..., n, n) array
        Covariance of the steps through the dial [mm⁶].
    least : float
        Rate whose scatter counts even where the dial does not move [mm³/min].
    """
    sizes, often = np.array(SCATTERS).T
    steps, pattern = (np.asarray(a, dtype=float)[..., None, :] for a in (steps_mm3, pattern_min))
    eye = np.eye(steps.shape[-1])
    best = np.sum(steps, -1) / np.sum(pattern, -1)
    for _ in range(3):  # the scatter is a share of the rate that is sought
        scatter = (sizes * np.maximum(best, least))[..., None] * pattern
        cov = np.asarray(noise)[..., None, :, :] + (scatter**2)[..., None] * eye
        both = np.stack(np.broadcast_arrays(pattern, steps), -1)
        inner = np.swapaxes(both, -1, -2) @ np.linalg.solve(cov, both)
        best = inner[..., 0, 1] / inner[..., 0, 0]
    misfit = inner[..., 1, 1] - best * inner[..., 0, 1]
    logs = np.log(often) - (misfit + np.linalg.slogdet(cov)[1]) / 2
    return Fit(best, 1 / inner[..., 0, 0], logs)


def slowdown(steps_mm3, steps_min, noise, least):
    """Return the likeliest fall of the rate in a burn so far; several burns at once.

    Parameters
    ----------
    steps_mm3, steps_min : (..., n) array
        Work gone in each of two intervals or more [mm³], its minutes of burning [min].
    noise : (..., n, n) array
        Covariance of the steps through the dial [mm⁶].
    least : float
        As for `fit_rate` [mm³/min].

    Notes
    -----
    A fall to one of `FALLS` at each reading is held against none. Where intervals scatter by 0.1
    and the dial by 0.01 mm, at most 5 healthy burns of 12 readings in 100 raise a word, and three
    readings 0.1 mm or more apart find a fall to 0.6 after six of them in 95 of 100: simulated.
    """
    steps, minutes = np.asarray(steps_mm3), np.asarray(steps_min)
    count = steps.shape[-1]
    after = np.arange(count) >= np.arange(1, count)[:, None]
    even = fit_rate(steps, minutes, noise, least).likelihood
    falls = np.where(after[:, None], np.array(FALLS)[:, None], 1.0)  # interval, fall, each step
    wide, dial = steps[..., None, None, :], np.asarray(noise)[..., None, None, :, :]
    fell = fit_rate(wide, minutes[..., None, None, :] * falls, dial, least).likelihood
    odds = np.logaddexp.reduce(fell, -1) - np.log(len(FALLS)) - even[..., None]
    first = np.argmax(odds, -1)
    return Slowdown(first + 1, _multiple(steps, minutes, after[first]), np.max(odds, -1))


def _multiple(steps, minutes, after):
    """Return the rate of the intervals after, as a multiple of that before [-]."""
    now, then = (np.sum(steps * on, -1) / np.sum(minutes * on, -1) for on in (after, ~after))
    return np.maximum(now, 0) / np.where(then > 0, then, np.inf)
