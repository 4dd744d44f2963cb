"""Roughness along a line by the standards' definitions: Gaussian mean line, Ra, Rz, Rt."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.units import mm, um

DEFAULT_SECTIONS = 5  # section lengths in the evaluation length; ISO 21920-3, from memory
RUN_UP = 1.0  # cut-offs before and after it together, half at each end; common practice
_ALPHA = np.sqrt(np.log(2) / np.pi)  # half of the wave at the cut-off passes: ISO 16610-21
_REACH = 1.0  # cut-offs of weight either side: 4e-7 of its peak is left there
_FEWEST = 10  # points in a cut-off: below that the weight is not drawn finely enough
_GOLDEN = (np.sqrt(5) - 1) / 2  # a slope whose multiples never come near a fraction
_MOST_POINTS = 2_000_000  # along all lines: 100 MB of work


@dataclass(frozen=True)
class ProfileParameters:
    """Roughness of one or many lines.

    ``Ra`` [m] over the evaluation length, ``Rz`` [m] the mean over its ``sections`` [-] of peak
    and valley, ``Rt`` [m] from the highest peak to the deepest valley of it all.
    """

    Ra: np.ndarray
    Rz: np.ndarray
    Rt: np.ndarray
    sections: int


@dataclass(frozen=True)
class StylusLine:
    """Heights that a stylus meets [m], (lines, points), and the spacing of its points [m]."""

    heights: np.ndarray
    spacing: float


def _one(name, value, low, high, knob):
    """Return one length, given in metres, its limits in mm."""
    number = require(name, value, low, high, "mm", mm, knob)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size}: give one at a time.")
    return float(number)


def _heights(heights, axes, what):
    """Return heights as an array of at least so many axes."""
    values = require("heights", heights, -100_000, 100_000, "µm", um, "give metres")
    if values.ndim < axes or not values.size:
        raise Refusal(f"heights must be {what}, got an array of shape {values.shape}.")
    return values


def _line(heights, spacing, cut_off):
    """Return heights, spacing and cut-off, checked, and the points in a cut-off."""
    along = _heights(heights, 1, "a line of points")
    step = _one("spacing", spacing, 1e-6, 1, "2 µm is 2e-6 m")
    length = _one("cut_off", cut_off, 0.001, 100, "0.8 mm is 0.8e-3 m")
    if length < _FEWEST * step:
        raise Refusal(
            f"cut_off must be at least {_FEWEST} times the spacing of {step / um:g} µm, got "
            f"{length / um:g} µm: take a longer cut-off or closer points."
        )
    return along, length / step


def _whole(name, value, high):
    """Return a whole number from 1 on."""
    number = require(name, value, 1, high, knob=f"a whole number, {high} at most")
    if number.ndim or number % 1:
        raise Refusal(f"{name} must be one whole number, 1 to {high}, got {value!r}.")
    return int(number)


def _long_enough(along, per_cut_off, sections, cut_off, knob):
    """Refuse a line that has no room for so many sections and the run-up."""
    cut_offs = sections + RUN_UP
    if along.shape[-1] < per_cut_off * cut_offs - 0.5 - 1e-6:  # half a point: the ends are rounded
        length = along.shape[-1] / per_cut_off * cut_off
        raise Refusal(
            f"heights must be a line at least {cut_offs * cut_off / mm:g} mm long, got "
            f"{length / mm:.4g} mm: {knob}."
        )


def _smooth(along, weight):
    """Return each point with its neighbours, weighted, nothing beyond the ends."""
    points = along.shape[-1]
    size = 1 << (points + weight.size - 2).bit_length()  # padded, so that no end meets the other
    both = np.fft.rfft(along, size) * np.fft.rfft(weight, size)
    half = weight.size // 2
    return np.fft.irfft(both, size)[..., half : half + points]


def _mean_line(along, per_cut_off):
    """Return the Gaussian mean line of a checked line."""
    reach = int(_REACH * per_cut_off)
    away = np.arange(-reach, reach + 1) / (_ALPHA * per_cut_off)
    weight = np.exp(-np.pi * away**2)
    return _smooth(along, weight) / _smooth(np.ones(along.shape[-1]), weight)


def _roughness(along, per_cut_off):
    """Return a checked line less its mean line and less its run-up."""
    ends = int(RUN_UP / 2 * per_cut_off)
    return (along - _mean_line(along, per_cut_off))[..., ends : along.shape[-1] - ends]


def gaussian_mean_line(heights, spacing, cut_off):
    """Return the mean line of a profile: what a Gaussian filter leaves of it [m].

    Parameters
    ----------
    heights : array (..., points)
        Heights along one or many lines, evenly spaced [m].
    spacing, cut_off : float
        Distance of the points and cut-off wavelength [m].

    Raises
    ------
    Refusal
        If an input is outside its range or the points lie too far apart for the cut-off.

    Notes
    -----
    Half of a wave as long as the cut-off passes. Where the weight hangs over an end it is made 1
    again by what is left of it, so the last half cut-off at each end is not to be used.

    References
    ----------
    ISO 16610-21, from memory: weight exp(-pi (x / (alpha cut-off))²), alpha = sqrt(ln 2 / pi).
    """
    return _mean_line(*_line(heights, spacing, cut_off))


def roughness_profile(heights, spacing, cut_off):
    """Return the heights above the mean line, less half a cut-off at each end [m].

    Parameters
    ----------
    heights : array (..., points)
        Heights along one or many lines, evenly spaced [m].
    spacing, cut_off : float
        Distance of the points and cut-off wavelength [m].

    Raises
    ------
    Refusal
        If an input is outside its range or the line is not longer than two cut-offs.

    Notes
    -----
    At the new ends 0.4 % of the weight still hangs over the old ones.

    References
    ----------
    ISO 16610-21, ISO 21920-2, from memory; standards not seen.
    """
    along, per_cut_off = _line(heights, spacing, cut_off)
    _long_enough(along, per_cut_off, 1, cut_off, "take a longer line or a shorter cut-off")
    return _roughness(along, per_cut_off)


def profile_parameters(heights, spacing, cut_off, sections=DEFAULT_SECTIONS):
    """Return Ra, Rz and Rt of one or many lines.

    Parameters
    ----------
    heights : array (..., points)
        Heights along the lines, evenly spaced [m].
    spacing, cut_off, sections : float, float, int
        Distance of the points, cut-off and section length [m]; 1 to 5, fewer to be said [-].

    Returns
    -------
    ProfileParameters

    Raises
    ------
    Refusal
        If the line is shorter than the sections and one cut-off, or an input out of range.

    Notes
    -----
    What a longer line has beyond that is left out, at its far end.

    References
    ----------
    ISO 21920-2, from memory.
    """
    along, per_cut_off = _line(heights, spacing, cut_off)
    count = _whole("sections", sections, DEFAULT_SECTIONS)
    _long_enough(along, per_cut_off, count, cut_off, "ask for fewer sections or a shorter cut-off")
    edges = np.round(np.arange(count + 1) * per_cut_off).astype(int)
    used = _roughness(along, per_cut_off)[..., : edges[-1]]
    peaks = np.maximum.reduceat(used, edges[:-1], axis=-1)
    valleys = np.minimum.reduceat(used, edges[:-1], axis=-1)
    return ProfileParameters(
        np.abs(used).mean(axis=-1)[()],
        (peaks - valleys).mean(axis=-1)[()],
        (peaks.max(axis=-1) - valleys.min(axis=-1))[()],
        count,
    )


def stylus_line(heights, pixel, length, lines=1):
    """Return parallel straight traverses over a map that repeats itself.

    Parameters
    ----------
    heights : array (rows, columns)
        Map whose opposite edges meet [m].
    pixel, length, lines : float, float, int
        Edge of a pixel, length of one traverse [m]; how many: stretches of one long line [-].

    Returns
    -------
    StylusLine

    Raises
    ------
    Refusal
        If an input is outside its range or the lines have more than two million points.

    Notes
    -----
    Six cut-offs are longer than a map, so it runs on over the opposite edge, oblique at the golden
    slope: no seam, never the same points again, but the same craters. Straight between four
    pixels, which takes a little off sharp peaks; no tip is drawn. Derived here.
    """
    surface = _heights(heights, 2, "a map of rows and columns")
    if surface.ndim != 2:
        raise Refusal(f"heights must be one map, got an array of shape {surface.shape}.")
    step = _one("pixel", pixel, 1e-6, 1, "2 µm is 2e-6 m")
    points = int(np.ceil(_one("length", length, 0.001, 1000, "4.8 mm is 4.8e-3 m") / step - 1e-9))
    count = _whole("lines", lines, 1000)
    if points * count > _MOST_POINTS:
        raise Refusal(
            f"length must be at most {_MOST_POINTS / count:.3g} pixels for {count} lines, got "
            f"{points}: take larger pixels, fewer lines or a shorter length."
        )
    along = np.arange(points * count) / np.hypot(1, _GOLDEN)
    met = _between_pixels(surface, along * _GOLDEN, along)
    return StylusLine(met.reshape(count, points), step)


def _between_pixels(surface, row, column):
    """Return heights at places in pixels, straight between the four around each."""
    rows, columns = surface.shape
    above, left = np.floor(row).astype(int), np.floor(column).astype(int)
    down, right = row - above, column - left
    above, left = above % rows, left % columns
    below, beyond = (above + 1) % rows, (left + 1) % columns
    upper = surface[above, left] * (1 - right) + surface[above, beyond] * right
    lower = surface[below, left] * (1 - right) + surface[below, beyond] * right
    return upper * (1 - down) + lower * down
