"""How smooth the burn leaves the work, and how deep the heat went."""

import numpy as np

from edmkit.checks import require
from edmkit.units import mm3, um

RA_FACTOR = 0.145  # fitted to five published and remembered anchors, scatter x1.39
RZ_PER_RA = 5.5  # 4.5-7 on spark-eroded steel, rising with the section length; from memory
RT_PER_RA = 8.0  # 4-7.5 in a web table, 8 with a longer evaluation length; from memory
RECAST_PER_RA = 2.5  # white layer 2-5 x Ra, 5-127 µm at all energies; trade text and memory
EJECTED_SHARE = 0.55  # of this crater, 0.3-0.8; volume balance of a crater-by-crater surface
# Nominal Ra of the N grades, µm: ISO 1302 as reprinted in a surface-quality table.
N_GRADE_RA = np.array([0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.3, 12.5, 25, 50]) * um
# Upper Ra of each row [µm] and its section length [mm]: ISO 21920-3 as reprinted, secondary.
_CUT_OFF = ((0.02, 0.08), (0.1, 0.25), (2.0, 0.8), (10.0, 2.5), (80.0, 8.0))
_PLATES = (12, 45, 3)  # comparator plates: first, last, step; common practice, no source


def _ra(roughness_Ra):
    return require("roughness_Ra", roughness_Ra, 0.001, 80, "µm", um, "3.2 µm is 3.2e-6 m")


def roughness_Ra(crater_depth, crater_volume):
    """Return the arithmetic mean roughness that craters of this size leave [m].

    Parameters
    ----------
    crater_depth, crater_volume : float or array, broadcast together
        Melt depth [m] and melt volume [m³] of one spark.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Ra = 0.145 sqrt(d V^(1/3)). Expect x1.6 untrained, x1.25 after three trials. Not above about
    15 µm nor below 0.4 µm.

    References
    ----------
    Derived here; anchors in the tests.
    """
    depth = require("crater_depth", crater_depth, 0, 5000, "µm", um, "give metres")
    volume = require("crater_volume", crater_volume, 0, 1000, "mm³", mm3, "give cubic metres")
    return (RA_FACTOR * np.sqrt(depth * np.cbrt(volume)))[()]


def vdi_class(roughness_Ra):
    """Return the VDI 3400 class of a roughness, not rounded [-].

    Parameters
    ----------
    roughness_Ra : float or array
        Arithmetic mean roughness [m].

    Raises
    ------
    Refusal
        If the roughness is outside 0.001 to 80 µm.

    Notes
    -----
    K = 20 log10(10 Ra in µm). Classes run from 0 to 45; round to the nearest.

    References
    ----------
    VDI 3400, formula as printed by a trade journal (2024); the guideline itself was not seen.

    Examples
    --------
    >>> print(round(float(vdi_class(3.2 * um)), 1))
    30.1
    """
    return (20 * np.log10(10 * _ra(roughness_Ra) / um))[()]


def class_roughness(vdi_class):
    """Return the roughness Ra of a VDI 3400 class [m].

    Parameters
    ----------
    vdi_class : float or array
        Class, 0 to 45 [-].

    Raises
    ------
    Refusal
        If the class is outside 0 to 45.

    Notes
    -----
    Ra = 0.1 µm x 10^(K/20); printed tables round it by up to 3 %.

    References
    ----------
    VDI 3400, formula as printed by a trade journal (2024).
    """
    return (0.1 * um * 10 ** (require("vdi_class", vdi_class, 0, 45, knob="0 to 45") / 20))[()]


def comparator_plate(roughness_Ra):
    """Return the class of the comparator plate to hold against a surface [-].

    Parameters
    ----------
    roughness_Ra : float or array
        Arithmetic mean roughness [m].

    Raises
    ------
    Refusal
        If the roughness is outside 0.001 to 80 µm.

    Notes
    -----
    The nearest of 12, 15, ... 45; the ends of the set for anything beyond them.

    References
    ----------
    Common practice, no source.
    """
    first, last, step = _PLATES
    nearest = first + step * np.round((vdi_class(roughness_Ra) - first) / step)
    return np.clip(nearest, first, last).astype(int)[()]


def n_grade(roughness_Ra):
    """Return the ISO roughness grade N whose nominal Ra is nearest, 1 to 12 [-].

    Parameters
    ----------
    roughness_Ra : float or array
        Arithmetic mean roughness [m].

    Raises
    ------
    Refusal
        If the roughness is outside 0.001 to 80 µm.

    Notes
    -----
    Nearest on the logarithm; each grade doubles the one before.

    References
    ----------
    ISO 1302, nominal values as reprinted in a surface-quality table.
    """
    away = np.abs(np.log(_ra(roughness_Ra)[..., None] / N_GRADE_RA))
    return (np.argmin(away, axis=-1) + 1)[()]


def cut_off(roughness_Ra):
    """Return the cut-off, which is the section length, to measure a roughness with [m].

    Parameters
    ----------
    roughness_Ra : float or array
        Arithmetic mean roughness [m].

    Raises
    ------
    Refusal
        If the roughness is outside 0.001 to 80 µm.

    Notes
    -----
    For profiles without a period, as spark erosion leaves; five sections make the evaluation.

    References
    ----------
    ISO 21920-3, rows as reprinted; the standard itself was not seen.
    """
    upper, length = np.array(_CUT_OFF).T
    row = np.searchsorted(upper * um * (1 + 1e-9), _ra(roughness_Ra))
    return (length[row] * 1e-3)[()]


def recast_depth(roughness_Ra):
    """Return the likely mean thickness of the recast (white) layer [m].

    Parameters
    ----------
    roughness_Ra : float or array
        Arithmetic mean roughness [m].

    Raises
    ------
    Refusal
        If the roughness is outside 0.001 to 80 µm.

    Notes
    -----
    2.5 Ra, spread x2.1 either way. The layer is uneven: 2-3 times the mean in places. Allow the
    95 % value where it must come off. Not checked by any measured layer.

    References
    ----------
    Trade text (5-127 µm at all energies); ratio 2-5 from memory.
    """
    return (RECAST_PER_RA * _ra(roughness_Ra))[()]


def recast_depth_low(crater):
    """Return the low estimate of the recast layer: the melt of one spark that stays [m].

    Parameters
    ----------
    crater : Crater
        Melt radius [m] and volume [m³] of one spark.

    Raises
    ------
    Refusal
        If a size of the crater is outside its range.

    Notes
    -----
    (1 - 0.55) V / (pi r²): a third to a half of the layers that texts name, because neighbouring
    sparks melt again what one has left. 0 where nothing melts.

    References
    ----------
    Derived here.
    """
    return ((1 - EJECTED_SHARE) * _mean_depth(crater))[()]


def depth_left(depth, crater):
    """Return a depth below the old surface as one below the new surface [m].

    Parameters
    ----------
    depth : float or array
        Depth of an isotherm below the old surface [m]; not-a-number stays so.
    crater : Crater
        Melt radius [m] and volume [m³] of the spark.

    Raises
    ------
    Refusal
        If a size is outside its range.

    Notes
    -----
    Less what the spark threw out, 0.55 of the melt, spread over its own circle. Expect x1.8.

    References
    ----------
    Derived here.
    """
    none = np.isnan(depth)
    known = require("depth", np.where(none, 0.0, depth), 0, 20_000, "µm", um, "give metres")
    return np.where(none, np.nan, known - EJECTED_SHARE * _mean_depth(crater))[()]


def _mean_depth(crater):
    """Return the melt volume over the circle it was melted on [m]; 0 where nothing melts."""
    radius = require("crater.radius", crater.radius, 0, 20_000, "µm", um, "give metres")
    volume = require("crater.volume", crater.volume, 0, 1000, "mm³", mm3, "give cubic metres")
    area = np.pi * np.where(radius > 0, radius, np.inf) ** 2
    return volume / area
