"""Roughness of a height map by the standard's definitions: Sa, Sq, Sz, skewness, kurtosis."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.units import um

_BLOCK = 1 << 14  # heights at a time: they stay in the cache, and no copy of the map is made


@dataclass(frozen=True)
class ArealParameters:
    """Roughness of one map.

    ``Sa`` mean and ``Sq`` root mean square distance from the mean height [m], ``Sz`` from the
    highest to the deepest place [m]; ``Ssk`` skewness [-], negative where pits stand out;
    ``Sku`` kurtosis [-], 3 for heights that scatter normally. Both not-a-number on a flat map.
    """

    Sa: float
    Sq: float
    Sz: float
    Ssk: float
    Sku: float


def _map(heights):
    """Return a height map as an array of two axes."""
    values = require("heights", heights, -100_000, 100_000, "µm", um, "give metres")
    if values.ndim != 2 or min(values.shape) < 2:
        raise Refusal(f"heights must be one map of rows and columns, got shape {values.shape}.")
    return values


def _tilt(sums, across):
    """Return the height of the plane along one edge, less its mean: a least-squares line."""
    place = np.arange(sums.size) - (sums.size - 1) / 2
    return place * (place @ sums / (place @ place) / across)


def level(heights):
    """Return a height map less its least-squares plane [m].

    Parameters
    ----------
    heights : array (rows, columns)
        Heights on a grid of square or oblong pixels [m].

    Raises
    ------
    Refusal
        If it is not one map, or a height is out of range.

    Notes
    -----
    Exact: on a full grid both slopes come from the sums of rows and columns alone. The mean of
    the result is 0.

    References
    ----------
    Definition; derived here.
    """
    surface = _map(heights)
    rows, columns = surface.shape
    down, right = surface.sum(axis=1), surface.sum(axis=0)
    flat = surface - (_tilt(down, columns) + down.sum() / surface.size)[:, None]
    flat -= _tilt(right, rows)
    return flat


def areal_parameters(heights):
    """Return Sa, Sq, Sz, skewness and kurtosis of a map about its mean height.

    Parameters
    ----------
    heights : array (rows, columns)
        Heights on a grid [m], levelled before where the map is tilted.

    Returns
    -------
    ArealParameters

    Raises
    ------
    Refusal
        If it is not one map, or a height is out of range.

    Notes
    -----
    Over the whole map, without a filter.

    References
    ----------
    ISO 25178-2, from memory; checked against another library in the tests.
    """
    surface = _map(heights).ravel()
    mean, sums = surface.mean(), np.zeros(4)
    for part in np.array_split(surface, -(-surface.size // _BLOCK)):
        away = part - mean
        squares = away * away
        # einsum, not @: on a busy machine BLAS waits ten times as long for its second thread
        third, fourth = (np.einsum("i,i", squares, other) for other in (away, squares))
        sums += (np.abs(away, out=away).sum(), squares.sum(), third, fourth)
    Sa, variance, skew, kurt = sums / surface.size
    with np.errstate(invalid="ignore"):  # 0 / 0 on a flat map
        return ArealParameters(
            Sa, np.sqrt(variance), np.ptp(surface), skew / variance**1.5, kurt / variance**2
        )
