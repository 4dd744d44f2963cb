"""What a handful of burns says of a shop's constants: Bayesian fits with suspects.

Each row is a logarithm, ln(measured / predicted), as a sum of terms times their columns. The terms
are normal a priori, the noise and a stretch of the priors lie on a small grid, and each row may be
a slip. Rows may be points or intervals. Method derived here; checked against least squares and
scikit-learn in the tests.
"""

from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np

SUSPECT = 0.05  # how often a burn's figure is a slip, before anything is known; assumption
SLIP = 1.6  # standard deviation of a slip's logarithm; assumption
_NOISE_POINTS, _NOISE_SPREAD, _NOISE_CUT = 9, 0.45, 2.4  # grid of ln(noise); assumption
_STRETCH = ((1.0, 0.85), (2.0, 0.15))  # a shop whose dials are not what they say; assumption
WIDER = sum(share * factor**2 for factor, share in _STRETCH) ** 0.5  # what it does to a spread
_FEW = 12  # up to here every choice of two suspects is summed exactly
_FEW_AMID_INTERVALS = 5  # each choice then brings its intervals to rest anew
_ROUNDS, _SMALL, _AT_REST = 60, 1e-9, 1e-6
_END = 1.6448536269514722  # standard deviations to the 5 % and 95 % ends
_NARROW = 1.5  # an interval of this many noises or less counts as a point


@dataclass(frozen=True)
class _Design:
    """Rows of columns (n, k) with the products of each row's columns, each pair once."""

    x: np.ndarray

    @cached_property
    def corner(self):
        """Row and column of each pair in a (k, k) matrix."""
        return np.triu_indices(self.x.shape[1])

    @cached_property
    def pairs(self):
        """Products (n, pairs)."""
        return self.x[:, self.corner[0]] * self.x[:, self.corner[1]]

    def gathered(self, weights):
        """Return X' W X for a batch of row weights (b, n) -> (b, k, k)."""
        terms = self.x.shape[1]
        found = np.empty((len(weights), terms, terms))
        found[:, self.corner[0], self.corner[1]] = weights @ self.pairs
        found[:, self.corner[1], self.corner[0]] = found[:, self.corner[0], self.corner[1]]
        return found

    def variance(self, covariance):
        """Return x' C x of each row for a batch of covariances (b, n)."""
        twice = np.where(self.corner[0] == self.corner[1], 1.0, 2.0)
        return (covariance[:, self.corner[0], self.corner[1]] * twice) @ self.pairs.T


@dataclass(frozen=True)
class Rows:
    """What was measured: ``x`` columns (n, k), ``y`` (n,), and the measuring error's variance (n,).

    Where ``low`` and ``high`` (n,) are given and finite or infinite, the row says only that its
    logarithm lies between them, and its ``y`` is not used; NaN in ``low`` marks a point.
    """

    x: np.ndarray
    y: np.ndarray
    variance: np.ndarray
    low: np.ndarray
    high: np.ndarray

    @cached_property
    def design(self):
        """The columns with their products."""
        return _Design(self.x)


@dataclass(frozen=True)
class Prior:
    """Standard deviations of the terms (k,), which of them never stretch (k,), and the noise.

    ``sd`` is the whole of it, the stretch included.
    """

    sd: np.ndarray
    rigid: np.ndarray
    noise: float
    suspect: float = SUSPECT


@dataclass(frozen=True)
class Mixture:
    """Normals with weights (b,), means (b, k), covariances (b, k, k) and noise variances (b,)."""

    weight: np.ndarray
    mean: np.ndarray
    covariance: np.ndarray
    noise2: np.ndarray

    @cached_property
    def share(self):
        """The weights, summing to 1."""
        return self.weight / self.weight.sum()

    @property
    def moments(self):
        """Mean (k,) and covariance (k, k) of the terms."""
        middle = self.share @ self.mean
        off = self.mean - middle
        spread = np.tensordot(self.share, self.covariance, 1) + (off * self.share[:, None]).T @ off
        return middle, (spread + spread.T) / 2

    def _at(self, x, noisy):
        """Return middles and spreads (b,) of the figure at columns x (k,)."""
        variance = np.einsum("i,bij,j->b", x, self.covariance, x) + noisy * self.noise2
        return self.mean @ x, np.sqrt(variance)

    def _share_below(self, value, middle, spread):
        from scipy.special import ndtr

        return float(self.share @ ndtr((value - middle) / spread))

    def below(self, value, x, noisy=True):
        """Return the chance that the figure at columns x (k,), or its noiseless part, is lower."""
        return self._share_below(value, *self._at(x, noisy))

    def quantile(self, part, x, noisy=True):
        """Return the value that the figure at columns x (k,) is below with this chance."""
        middle, spread = self._at(x, noisy)
        low, high = (middle - 9 * spread).min(), (middle + 9 * spread).max()
        for _ in range(50):
            half = (low + high) / 2
            lower = self._share_below(half, middle, spread) < part
            low, high = (half, high) if lower else (low, half)
        return (low + high) / 2


@dataclass(frozen=True)
class Fit:
    """Mean (k,) and covariance (k, k) of the terms, noise, each row's chance to be a slip.

    ``mixture`` is what they sum up.
    """

    mean: np.ndarray
    covariance: np.ndarray
    noise: float
    suspicion: np.ndarray
    mixture: Mixture


def fit(rows, prior):
    """Return what some rows say of the terms.

    Parameters
    ----------
    rows : Rows
        Any number of them, none included; sort them first if their order must not matter.
    prior : Prior
        What is known before.

    Returns
    -------
    Fit
        The mixture over the grid as one normal: its 5 % and 95 % ends amid the burns, the
        mixture's variance away from them.

    Notes
    -----
    Up to 12 points every pair of suspects is summed; beyond, each row's chance to be a slip is
    iterated. Intervals wider than the noise are taken by expectation propagation.
    """
    points, wide, place = _split(rows, prior.noise)
    noise, stretch, weight = _grid(prior)
    inverse = 1 / (prior.sd * np.where(prior.rigid, 1.0, stretch[:, None] / WIDER)) ** 2
    few = _FEW if not len(wide.y) else _FEW_AMID_INTERVALS
    exact = len(points.y) <= few or prior.suspect == 0
    solve = _every_pair if exact else _iterated
    mean, covariance, score, noise2, slips = solve(points, wide, noise, inverse, weight, prior)
    mixture = Mixture(np.exp(score - score.max()), mean, covariance, noise2)
    middle, spread = mixture.moments
    left = mixture.share @ noise2
    if len(rows.y):
        middle, spread, left = _narrowed(rows.x.mean(axis=0), middle, spread, left, mixture)
    suspicion = np.zeros(len(rows.y))
    suspicion[place] = np.minimum(mixture.share @ slips, 1.0)  # shares sum to 1 to rounding
    return Fit(middle, spread, float(np.sqrt(left)), suspicion, mixture)


def _narrowed(x, middle, spread, noise2, mixture):
    """Return mean, covariance and noise variance with the mixture's 5 % and 95 % ends amid burns.

    A slip of one in twenty widens the variance far more than these ends. Noise and covariance
    shrink by one factor, the latter only along what the burns tell; what they do not tell stays.
    """
    low, high = (mixture.quantile(end, x) for end in (0.05, 0.95))
    towards = spread @ x
    told = x @ towards
    moved = middle + towards / told * ((low + high) / 2 - x @ middle)
    kept = min(((high - low) / (2 * _END)) ** 2 / (told + noise2), 1.0)
    return moved, spread - np.outer(towards, towards) * ((1 - kept) / told), noise2 * kept


def _grid(prior):
    """Return noise, stretch and log weight of every grid point."""
    steps = np.linspace(-_NOISE_CUT, _NOISE_CUT, _NOISE_POINTS)
    noise = np.exp(np.log(prior.noise) + _NOISE_SPREAD * steps)
    stretch, share = np.array(_STRETCH).T
    weight = -(steps**2) / 2 + np.log(share)[:, None]
    size = len(stretch), len(noise)
    return (np.broadcast_to(noise, size).ravel(), np.repeat(stretch, len(noise)), weight.ravel())


def _split(rows, noise):
    """Return the points, the wide intervals, and which rows the points are."""
    between = ~np.isnan(rows.low)
    with np.errstate(invalid="ignore"):
        width = rows.high - rows.low
    narrow = between & (width <= _NARROW * noise)
    wide = between & ~narrow
    middle, spare = rows.y.astype(float), rows.variance.astype(float)
    middle[narrow] = (rows.low + rows.high)[narrow] / 2
    spare[narrow] = spare[narrow] + width[narrow] ** 2 / 12
    points, empty = ~wide, np.full(len(rows.y), np.nan)
    return (
        Rows(rows.x[points], middle[points], spare[points], empty[points], empty[points]),
        Rows(rows.x[wide], empty[wide], rows.variance[wide], rows.low[wide], rows.high[wide]),
        np.flatnonzero(points),
    )


@dataclass
class _Sites:
    """Normal stand-ins for the wide intervals: precision, shift and log scale, each (b, n)."""

    precision: np.ndarray
    shift: np.ndarray
    scale: np.ndarray

    @classmethod
    def none(cls, batch, wide):
        """Return stand-ins that say nothing yet."""
        return cls(*(np.zeros((batch, len(wide.y))) for _ in range(3)))


def _solved(points, wide, weights, inverse, sites):
    """Return mean, covariance, ln det of the precision and pull for row weights (b, n)."""
    precision = points.design.gathered(weights)
    pull = (weights * points.y) @ points.x
    if len(wide.y):
        precision += wide.design.gathered(sites.precision)
        pull += sites.shift @ wide.x
    diagonal = range(points.x.shape[1])
    precision[:, diagonal, diagonal] += inverse
    covariance = np.linalg.inv(precision)
    mean = (covariance @ pull[:, :, None])[:, :, 0]
    return mean, covariance, np.linalg.slogdet(precision)[1], pull


def _every_pair(points, wide, noise, inverse, weight, prior):
    """Sum over the grid and over every choice of at most two suspects; exact but for intervals."""
    count = len(points.y)
    most = 0 if prior.suspect == 0 else min(2, count)
    chosen = [c for size in range(most + 1) for c in combinations(range(count), size)]
    slips = np.zeros((len(chosen), count))
    for place, choice in enumerate(chosen):
        slips[place, list(choice)] = 1.0
    slips = np.repeat(slips, len(noise), axis=0)
    repeated = len(chosen)
    variance = np.tile(noise, repeated)[:, None] ** 2 + points.variance + SLIP**2 * slips
    inverse, score = np.tile(inverse, (repeated, 1)), np.tile(weight, repeated)
    if prior.suspect > 0:
        odds = np.log(prior.suspect) - np.log1p(-prior.suspect)
        score = score + odds * slips.sum(axis=1)
    noise2 = np.tile(noise**2, repeated)
    found = _with_sites(points, wide, 1 / variance, inverse, noise2)
    mean, covariance, logdet, pull, sites = found
    misfit = (points.y**2 / variance).sum(axis=1) - np.einsum("bi,bi->b", pull, mean)
    score = score - (misfit + np.log(variance).sum(axis=1) + logdet - np.log(inverse).sum(1)) / 2
    return mean, covariance, score + sites.scale.sum(axis=1), noise2, slips


def _iterated(points, wide, noise, inverse, weight, prior):
    """Iterate each row's chance to be a slip at every grid point; score by the bound."""
    plain = noise[:, None] ** 2 + points.variance
    slipped = plain + SLIP**2
    slips = np.full(plain.shape, prior.suspect)
    sites = _Sites.none(len(noise), wide)
    for _ in range(_ROUNDS):
        weights = (1 - slips) / plain + slips / slipped
        mean, covariance, logdet, _, sites = _with_sites(
            points, wide, weights, inverse, noise**2, sites
        )
        misfit = (points.y - mean @ points.x.T) ** 2 + points.design.variance(covariance)
        usual = np.log1p(-prior.suspect) - (np.log(plain) + misfit / plain) / 2
        slip = np.log(prior.suspect) - (np.log(slipped) + misfit / slipped) / 2
        new = 1 / (1 + np.exp(np.clip(usual - slip, -700, 700)))
        change, slips = np.abs(new - slips).max(), new
        if change < _SMALL:
            break
    bound = np.logaddexp(usual, slip).sum(axis=1)  # at the best slips, entropy included
    trace = np.einsum("bi,bii->b", inverse, covariance) + (mean**2 * inverse).sum(axis=1)
    score = weight + bound - (trace + logdet - np.log(inverse).sum(axis=1)) / 2
    if len(wide.y):
        at = mean @ wide.x.T
        second = at**2 + wide.design.variance(covariance)
        stand_in = sites.scale - sites.precision * second / 2 + sites.shift * at
        score = score + stand_in.sum(axis=1)
    return mean, covariance, score, noise**2, slips


def _with_sites(points, wide, weights, inverse, noise2, sites=None):
    """Solve, with the wide intervals' stand-ins brought to rest."""
    sites = sites or _Sites.none(len(weights), wide)
    found = _solved(points, wide, weights, inverse, sites)
    for _ in range(_ROUNDS if len(wide.y) else 0):
        mean, covariance = found[:2]
        moved = _refined(wide, mean, covariance, noise2, sites)
        change = np.abs(moved.precision - sites.precision).max()
        sites = moved
        found = _solved(points, wide, weights, inverse, sites)
        if change < _AT_REST:
            break
    return *found, sites


def _refined(wide, mean, covariance, noise2, sites):
    """Return better stand-ins: each matches the interval's first two moments (Minka 2001)."""
    from scipy.special import log_ndtr

    at, variance = mean @ wide.x.T, wide.design.variance(covariance)
    rest = 1 / (1 / variance - sites.precision)  # without this row's own stand-in
    middle = rest * (at / variance - sites.shift)
    spread = np.sqrt(rest + noise2[:, None] + wide.variance)
    low, high = (wide.low - middle) / spread, (wide.high - middle) / spread
    flip = low + high > 0  # keep to the tail where the differences are exact
    low, high = np.where(flip, -high, low), np.where(flip, -low, high)
    upper = log_ndtr(high)
    inside = upper + np.log(-np.expm1(np.minimum(log_ndtr(low) - upper, -1e-15)))
    dens = [np.exp(-np.minimum(z**2, 1400) / 2 - inside) / np.sqrt(2 * np.pi) for z in (low, high)]
    slope = np.where(flip, -1, 1) * (dens[0] - dens[1]) / spread
    ends = [np.where(np.isfinite(z), z, 0) * d for z, d in zip((low, high), dens, strict=True)]
    bend = slope**2 + (ends[1] - ends[0]) / spread**2
    precision = np.maximum(bend / (1 - rest * bend), 0)
    shift = (slope + middle * bend) / (1 - rest * bend)
    together = 1 / rest + precision
    scale = inside + np.log(rest * together) / 2
    scale += (middle**2 / rest - (middle / rest + shift) ** 2 / together) / 2
    return _Sites(precision, shift, scale)
