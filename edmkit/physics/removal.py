"""How fast metal goes, how much of the melt leaves, and how much current an end bears."""

import numpy as np

from edmkit.checks import require
from edmkit.units import cm2, mm, mm3, percent, us

# Yield of the melt: published levels spread 40-fold; large open cuts 0.3-2, a study with 2 mm
# tubes 0.03-0.1. Assumption: 0.7 from 2 cm² up, 0.1 from 0.05 cm² down, log-linear between.
YIELD_SMALL, YIELD_LARGE = 0.1, 0.7
AREA_SMALL, AREA_LARGE = 0.05 * cm2, 2.0 * cm2
# Current an end bears, from memory and assumption; published and shop figures differ 10-fold.
PER_AREA, PER_RIM, STRIP = 7.0 / cm2, 0.2 / mm, 50.0 / cm2  # A/m², A/m, A/m²
ELECTRODE_FACTOR = {"graphite": 1.3, "brass": 0.5}  # from memory
USEFUL_SHARE = 20 * percent  # of the best on-time at the same current; assumption


def _area(engaged_area):
    return require("engaged_area", engaged_area, 1e-10, 10, "m²", knob="7 mm² is 7e-6 m²")


def removal_yield(engaged_area):
    """Return the share of the molten metal that leaves, before any trial of the shop [-].

    Parameters
    ----------
    engaged_area : float or array
        Area of the electrode's end that faces the work [m²].

    Raises
    ------
    Refusal
        If the area is outside 1e-10 to 10 m².

    Notes
    -----
    0.1 on 5 mm² and less, 0.7 on 2 cm² and more, between them a straight line over the
    logarithm of the area. Assumption from the spread of published rates: good to a factor of 7
    either way. Above 1 it would only mean that more of the spark's energy enters the work.
    """
    span = np.log(_area(engaged_area) / AREA_SMALL) / np.log(AREA_LARGE / AREA_SMALL)
    return (YIELD_SMALL * (YIELD_LARGE / YIELD_SMALL) ** np.clip(span, 0, 1))[()]


def removal_rate(melt_volume, sparks_per_second, yield_share):
    """Return the rate at which work metal is removed [m³/s].

    Parameters
    ----------
    melt_volume, sparks_per_second, yield_share : float or array, broadcast together
        Melt of one spark [m³], sparks per second [1/s], share of the melt that leaves [-].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Within one machine it follows the settings closely; between machines the level differs by a
    factor of 40: the yield is what a shop's own trials teach.

    References
    ----------
    Definition of the yield.
    """
    melt = require("melt_volume", melt_volume, 0, 1000, "mm³", mm3, "give cubic metres")
    rate = require("sparks_per_second", sparks_per_second, 0, 1e8, "1/s", knob="give 1/s")
    share = require("yield_share", yield_share, 0, 10, knob="0.1 to 0.7 is usual")
    return (melt * rate * share)[()]


def melting_point_rate(current, melting_point_celsius):
    """Return the handbook removal rate from current and melting point alone [m³/s].

    Parameters
    ----------
    current, melting_point_celsius : float or array, broadcast together
        Current [A], melting point of the work [°C].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    R = 664 I / T^1.23 mm³/s. An upper envelope of a roughing generator: no on-time, no area, no
    flushing; for sanity checks only.

    References
    ----------
    Weller (1984), as reprinted by Izwan et al. (2016), Procedia Manuf. 5, 658, eq. 2.
    """
    amps = require("current", current, 0, 2000, "A", knob="give amps")
    celsius = require("melting_point_celsius", melting_point_celsius, 100, 4000, "°C")
    return (664 * amps / celsius**1.23 * mm3)[()]


def current_limit(engaged_area, engaged_rim, electrode_factor=1.0, deep_blind=False):
    """Return the mean current above which an end of this size is at risk [A].

    Parameters
    ----------
    engaged_area, engaged_rim, electrode_factor : float or array, broadcast together
        Area that faces the work [m²], length of its edge [m], 1 for copper, 1.3 for graphite,
        0.5 for brass [-].
    deep_blind : bool
        A deep blind hole without flow through the electrode: half.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    min(max(7 A/cm² x area, 0.2 A/mm x rim), 50 A/cm² x area): debris and gas leave over the rim,
    that is what fails on a small end; the last term keeps a thin strip from being promised much.
    From memory and assumption; shops differ 10-fold. It warns, it never refuses.
    """
    area = _area(engaged_area)
    rim = require("engaged_rim", engaged_rim, 1e-5, 1000, "m", knob="9 mm is 9e-3 m")
    factor = require("electrode_factor", electrode_factor, 0.1, 3, knob="1 for copper")
    bears = np.minimum(np.maximum(PER_AREA * area, PER_RIM * rim), STRIP * area)
    return (factor * bears * (0.5 if deep_blind else 1.0))[()]


def melts_usefully(melt_volume, on_time, best_melt_per_second):
    """Return whether an on-time melts a fifth or more of what the best one does [True/False].

    Parameters
    ----------
    melt_volume, on_time, best_melt_per_second : float or array, broadcast together
        Melt of one spark [m³], its burning time [s], melt per burning second at the best
        on-time of the same current [m³/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Compared per second of burning, so that the off-time does not count. The limit of 20 % is an
    assumption.
    """
    melt = require("melt_volume", melt_volume, 0, 1000, "mm³", mm3, "give cubic metres")
    time = require("on_time", on_time, 0.01, 20_000, "µs", us, "times are seconds: 50 * us")
    best = require("best_melt_per_second", best_melt_per_second, 0, 1, "m³/s", knob="give m³/s")
    return melt / time >= USEFUL_SHARE * best
