"""The fit behind what a shop learns: least squares, scikit-learn, and sums on a grid."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import regression
from edmkit.regression import Mixture, Prior, Rows, fit

NAN = math.nan


def rows(x, y, variance=0.0, low=NAN, high=NAN):
    """Return rows from plain lists."""
    x, y = np.atleast_2d(np.asarray(x, float)), np.asarray(y, float)
    full = [np.broadcast_to(np.asarray(v, float), y.shape) for v in (variance, low, high)]
    return Rows(x, y, *full)


def level(noise=0.2, suspect=0.05, sd=1.1):
    """Return the prior of a level alone."""
    return Prior(np.array([sd]), np.array([True]), noise, suspect)


@pytest.fixture
def one_noise(monkeypatch):
    """Take one noise and no stretch, so that what is left is a plain linear model."""
    monkeypatch.setattr(regression, "_NOISE_SPREAD", 0.0)
    monkeypatch.setattr(regression, "_STRETCH", ((1.0, 1.0),))
    monkeypatch.setattr(regression, "WIDER", 1.0)


def plane(n, seed=3):
    """Return columns of level and slopes, and figures about a plane."""
    random = np.random.default_rng(seed)
    x = np.column_stack([np.ones(n), random.normal(size=(n, 3))])
    return x, x @ [-1.5, 0.2, -0.1, 0.3] + 0.2 * random.normal(size=n)


# --- against others ---
@pytest.mark.parametrize("n", [8, 40])
def test_a_flat_prior_is_least_squares(one_noise, n):
    # ordinary least squares: numpy.linalg.lstsq, covariance noise² (X'X)^-1 (any textbook)
    x, y = plane(n)
    found = fit(rows(x, y), Prior(np.full(4, 1e7), np.full(4, True), 0.2, 0.0))
    assert_allclose(found.mean, np.linalg.lstsq(x, y, rcond=None)[0], atol=1e-8)
    assert_allclose(found.covariance, 0.04 * np.linalg.inv(x.T @ x), atol=1e-8)


def test_it_is_bayesian_ridge_where_they_coincide(one_noise):
    # scikit-learn's BayesianRidge at its own noise and prior precision
    from sklearn.linear_model import BayesianRidge

    x, y = plane(30)
    ridge = BayesianRidge(fit_intercept=False, max_iter=500, tol=1e-12).fit(x, y)
    prior = Prior(np.full(4, ridge.lambda_**-0.5), np.full(4, True), ridge.alpha_**-0.5, 0.0)
    found = fit(rows(x, y), prior)
    assert_allclose(found.mean, ridge.coef_, atol=1e-8)
    assert_allclose(found.covariance, ridge.sigma_, atol=1e-8)


def test_the_textbook_plane_with_measuring_errors(one_noise):
    # precision S^-1 + X' diag(1 / variances) X (any textbook)
    x, y = plane(9)
    errors, sd = np.linspace(0.01, 0.3, 9), np.array([1.0, 0.2, 0.2, 0.3])
    found = fit(rows(x, y, errors), Prior(sd, np.full(4, True), 0.2, 0.0))
    weights = 1 / (0.04 + errors)
    cover = np.linalg.inv(np.diag(sd**-2.0) + x.T * weights @ x)
    assert_allclose(found.covariance, cover, atol=1e-12)
    assert_allclose(found.mean, cover @ (x.T @ (weights * y)), atol=1e-12)


def on_a_grid(figures, prior_sd=1.1, noise=0.2, ends=(), at=None, error=0.0, noisy=True):
    """Return 5 and 95 % of the next figure for a level alone, summed over level and noise.

    ``ends`` are intervals of this measuring error; without ``noisy`` it is the level itself. With
    ``at`` return instead what share lies below each of these.
    """
    from scipy.stats import norm

    place, total = np.linspace(-9, 9, 7201), np.zeros(7201)
    for step in np.linspace(-2.4, 2.4, 9):
        sigma = noise * math.exp(0.45 * step)
        like = norm.pdf(place, 0, prior_sd) * math.exp(-(step**2) / 2)
        for value in figures:
            slipped = norm.pdf(value, place, math.hypot(sigma, 1.6))
            like = like * (0.95 * norm.pdf(value, place, sigma) + 0.05 * slipped)
        for low, high in ends:
            wide = math.hypot(sigma, error)
            like = like * (norm.cdf((high - place) / wide) - norm.cdf((low - place) / wide))
        spread = np.exp(-((place - place[3600]) ** 2) / 2 / sigma**2)
        total += np.convolve(like, spread / spread.sum(), mode="same") if noisy else like
    rising = np.cumsum(total) / total.sum()
    if at is not None:
        return np.interp(at, place, rising)
    return [float(np.interp(part, rising, place)) for part in (0.05, 0.95)]


def ends_of(found):
    """Return 5 and 95 % of the next figure of a fitted level."""
    spread = 1.6449 * math.sqrt(found.covariance[0, 0] + found.noise**2)
    return [found.mean[0] - spread, found.mean[0] + spread]


@pytest.mark.parametrize(
    "figures", [[0.3], [-1.6], [0.0, 1.8], [-1.5, -1.6, -1.4], [-1.5, -1.6, 0.4]]
)
def test_few_burns_are_summed_exactly_slips_and_all(figures):
    # at most two slips are summed here, every number of them there
    found = fit(rows(np.ones((len(figures), 1)), figures), level())
    assert_allclose(ends_of(found), on_a_grid(figures), atol=0.03)


@pytest.mark.parametrize(
    "figures", [[0.3], [-1.5, -1.6, -1.4], [0.0] * 8 + [0.5], [0.3, 0.1, -0.2, 0.4, 0.0]]
)
def test_the_level_itself_is_never_known_better_than_the_burns_tell(figures):
    # the half-width of the level, its noise left out; one slip in a row makes the true one lopsided
    found = fit(rows(np.ones((len(figures), 1)), figures), level())
    low, high = on_a_grid(figures, noisy=False)
    half = 1.6449 * math.sqrt(found.covariance[0, 0])
    assert_allclose(half, (high - low) / 2, rtol=0.12)


def test_two_burns_that_differ_six_fold_leave_both_open():
    low, high = ends_of(fit(rows(np.ones((2, 1)), [0.0, math.log(6)]), level()))
    assert low < 0 and high > math.log(6) * 0.9


@pytest.mark.parametrize(
    "low, high", [(-np.inf, -1.0), (-0.5, 0.8), (1.0, np.inf), (2.5, 4.0), (-1.0, -0.9)]
)
def test_intervals_are_the_integral_between_their_ends(low, high):
    # what a bound leaves is lopsided, so not end by end: nine in ten lie between the two ends
    found = fit(rows([[1.0]], [NAN], 0.0, low, high), level(suspect=0.0))
    below = on_a_grid([], ends=[(low, high)], at=ends_of(found))
    assert 0.885 < below[1] - below[0] < 0.915 and 0.02 < below[0] < 0.08


@pytest.mark.parametrize("middle, width", [(-0.9, 0.2), (-0.9, 0.28), (1.4, 0.05)])
def test_a_narrow_interval_lies_about_its_middle(middle, width):
    low, high = middle - width / 2, middle + width / 2
    found = fit(rows([[1.0]], [NAN], 0.0, low, high), level(suspect=0.0))
    assert_allclose(ends_of(found), on_a_grid([], ends=[(low, high)]), atol=0.015)


def test_the_ends_of_an_interval_have_their_own_error():
    found = fit(rows([[1.0]], [NAN], 0.64, -1.0, np.inf), level(suspect=0.0))
    below = on_a_grid([], ends=[(-1.0, np.inf)], error=0.8, at=ends_of(found))
    assert_allclose(below, [0.05, 0.95], atol=0.012)
    sharp = on_a_grid([], ends=[(-1.0, np.inf)], at=ends_of(found))
    assert abs(sharp[0] - 0.05) > 0.03  # so an error left out would be seen


def test_an_interval_among_many_burns_tells_of_the_noise_too(monkeypatch):
    # burns close together, and one that is known to lie far off: the burns must scatter more
    figures = [0.02, -0.03, 0.01, 0.0, -0.01, 0.03, -0.02, 0.01]
    made = rows(np.ones((9, 1)), [*figures, NAN], 0.0, [NAN] * 8 + [0.5], [NAN] * 8 + [np.inf])
    prior = level(suspect=1e-9)
    iterated = fit(made, prior)
    monkeypatch.setattr(regression, "_FEW_AMID_INTERVALS", 12)
    assert_allclose(iterated.noise, fit(made, prior).noise, rtol=0.01)
    assert iterated.noise > 1.15 * fit(rows(np.ones((8, 1)), figures), prior).noise


def test_an_interval_and_a_point_add_up():
    made = rows([[1.0], [1.0]], [-1.2, NAN], 0.0, [NAN, -np.inf], [NAN, -1.4])
    found = fit(made, level(suspect=0.0))
    # the point without slips: both ends of the interval a hair from it
    together = on_a_grid([], ends=[(-1.2005, -1.1995), (-np.inf, -1.4)])
    assert_allclose(ends_of(found), together, atol=0.03)


def test_the_two_ways_agree_where_one_takes_over(monkeypatch):
    x, y = plane(12)
    prior = Prior(np.array([1.1, 0.2, 0.2, 0.3]), np.array([True, False, False, False]), 0.2)
    exact = fit(rows(x, y), prior)
    monkeypatch.setattr(regression, "_FEW", 5)
    iterated = fit(rows(x, y), prior)
    assert_allclose(exact.mean, iterated.mean, atol=0.02)
    assert_allclose(np.diag(exact.covariance), np.diag(iterated.covariance), rtol=0.2)
    assert_allclose(exact.noise, iterated.noise, rtol=0.03)


# --- slips ---
@pytest.mark.parametrize("n", [5, 12, 13, 60])
def test_a_slip_is_found_and_counts_little(n):
    x, y = plane(n)
    prior = Prior(np.array([1.1, 0.2, 0.2, 0.3]), np.array([True, False, False, False]), 0.2)
    without = fit(rows(x[1:], y[1:]), prior)
    y[0] += 2.0
    found = fit(rows(x, y), prior)
    assert found.suspicion[0] > 0.6 and found.suspicion[1:].max() < 0.5
    assert abs(found.mean[0] - without.mean[0]) < 0.1


def test_a_slip_among_intervals_is_the_right_row():
    # the second and the last row are intervals
    figures, low = [0.0, NAN, 0.1, 2.6, -0.1, NAN], [NAN, -2.0, NAN, NAN, NAN, -2.0]
    found = fit(rows(np.ones((6, 1)), figures, 0.0, low, [NAN, 2.0, NAN, NAN, NAN, 2.0]), level())
    assert found.suspicion.argmax() == 3 and found.suspicion[3] > 0.9
    assert found.suspicion[[1, 5]].tolist() == [0, 0]


@pytest.mark.parametrize("noisy", [True, False])
def test_the_ends_of_a_mixture_are_those_of_its_sum(noisy):
    # two normals of weights 1 and 3, their distribution functions added
    from scipy.stats import norm

    made = Mixture(np.array([1.0, 3.0]), np.array([[0.0], [1.0]]),
                   np.array([[[0.04]], [[0.25]]]), np.array([0.09, 0.01]))  # fmt: skip
    spreads = (0.13**0.5, 0.26**0.5) if noisy else (0.2, 0.5)
    for part in (0.05, 0.5, 0.95):
        end = made.quantile(part, np.ones(1), noisy)
        below = (norm.cdf(end, 0, spreads[0]) + 3 * norm.cdf(end, 1, spreads[1])) / 4
        assert_allclose(below, part, atol=1e-9)
        assert_allclose(made.below(end, np.ones(1), noisy), part, atol=1e-9)


@pytest.mark.parametrize("figures", [[0.3], [-1.6, -1.5], [0.0, 1.8], [-2.0, 1.9]])
def test_the_chance_of_a_slip_is_by_bayes(one_noise, figures):
    # each choice of slips by its prior odds times the density of a joint normal (any textbook)
    from scipy.stats import multivariate_normal

    weights = {}
    for choice in itertools.product((0, 1), repeat=len(figures)):
        cover = 1.1**2 + np.diag([0.04 + 1.6**2 * slip for slip in choice])
        density = multivariate_normal.pdf(figures, np.zeros(len(figures)), cover)
        weights[choice] = density * np.prod([0.05 if slip else 0.95 for slip in choice])
    by_hand = np.sum([np.array(c) * w for c, w in weights.items()], axis=0) / sum(weights.values())
    found = fit(rows(np.ones((len(figures), 1)), figures), level())
    assert_allclose(found.suspicion, by_hand, rtol=1e-6)


@pytest.mark.parametrize("slip", [0.0, 0.6, 2.0])
def test_many_burns_come_to_rest_where_their_own_chances_put_them(one_noise, slip):
    # variational Bayes for a mixture of two noises (Bishop 2006, ch. 10, from memory): a row's odds
    # of being a slip come from its expected squared residual, the plane's own doubt included
    x, y = plane(20)
    y[0] += slip
    sd = np.array([1.1, 0.2, 0.2, 0.3])
    found = fit(rows(x, y), Prior(sd, np.array([True, False, False, False]), 0.2))
    chance = found.suspicion
    weights = (1 - chance) / 0.04 + chance / (0.04 + 1.6**2)
    cover = np.linalg.inv(np.diag(sd**-2.0) + x.T * weights @ x)
    mean = cover @ (x.T @ (weights * y))
    assert_allclose(found.mean, mean, atol=1e-7)
    assert_allclose(found.covariance, cover, atol=1e-7)
    squared = (y - x @ mean) ** 2 + np.diag(x @ cover @ x.T)
    good = 0.95 * 0.04**-0.5 * np.exp(-squared / 2 / 0.04)
    bad = 0.05 * 2.6**-0.5 * np.exp(-squared / 2 / 2.6)
    assert_allclose(chance, bad / (good + bad), rtol=1e-5)


# --- properties ---
@given(st.lists(st.floats(-6, 6), min_size=1, max_size=16), st.floats(0, 2))
@settings(max_examples=60, deadline=None)
def test_it_is_never_without_an_answer(figures, error):
    found = fit(rows(np.ones((len(figures), 1)), figures, error), level())
    assert np.isfinite(found.mean).all() and found.covariance[0, 0] > 0 and found.noise > 0
    assert ((found.suspicion >= 0) & (found.suspicion <= 1)).all()


@given(st.floats(-3, 3), st.floats(0.02, 1.5))
@settings(max_examples=30, deadline=None)
def test_a_coarser_measurement_never_tells_more(figure, error):
    sharp, coarse = (fit(rows([[1.0]], [figure], e), level(suspect=0.0)) for e in (0.0, error))
    assert coarse.covariance[0, 0] >= sharp.covariance[0, 0] * (1 - 1e-9)


def test_a_wider_interval_tells_less():
    point, narrow, wide = (
        fit(rows([[1.0]], [-0.86], 0.0, *ends), level(suspect=0.0)).covariance[0, 0]
        for ends in ((NAN, NAN), (-1.0, -0.72), (-1.5, -0.22))
    )
    assert point < narrow * 0.97 and narrow < wide


def test_the_order_of_the_rows_changes_nothing_to_speak_of():
    x, y = plane(40)
    prior = Prior(np.array([1.1, 0.2, 0.2, 0.3]), np.array([True, False, False, False]), 0.2)
    there, back = fit(rows(x, y), prior), fit(rows(x[::-1], y[::-1]), prior)
    assert_allclose(there.mean, back.mean, atol=1e-9)
    assert_allclose(there.suspicion, back.suspicion[::-1], atol=1e-6)


def test_no_rows_give_the_prior_back():
    prior = Prior(np.array([1.1, 0.3]), np.array([True, False]), 0.2)
    found = fit(rows(np.zeros((0, 2)), np.zeros(0)), prior)
    assert_allclose(found.mean, 0, atol=1e-12)
    assert_allclose(np.diag(found.covariance), [1.1**2, 0.3**2], rtol=1e-9)  # stretch included
