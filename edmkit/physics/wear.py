"""How much electrode a burn costs."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import one_of, require
from edmkit.settings import POLARITIES
from edmkit.units import us


@dataclass(frozen=True)
class WearLaw:
    """Relative wear against on-time and current for one pair, by volume [-].

    ``at_10us`` is the wear at 10 µs and 10 A; ``floor`` is what long pulses leave;
    ``at_least`` is the least that polarity allows.
    """

    at_10us: float
    exponent: float
    shift: float
    current_exponent: float
    floor: float
    at_least: float
    source: str


# Levels and slopes fitted to remembered bands; on-time slope from the melt of the electrode per
# spark, which stops growing after a few µs. (10 µs level, exponent, shift, current exponent, floor)
_MEMORY = "from memory, fitted to bands of the trade"
_POSITIVE_ON_STEEL = {
    "copper": (0.12, 0.85, 5 * us, 0.0, 0.002),  # 5-30 % finishing, 0.3-3 % roughing, memory
    "graphite": (0.20, 1.2, 8 * us, 0.2, 0.001),  # 10-40 % and 0.1-2 %, memory
    "CuW": (0.08, 0.85, 5 * us, 0.0, 0.002),  # memory
    "AgW": (0.08, 0.85, 5 * us, 0.0, 0.002),  # memory
    "tungsten": (0.06, 0.85, 5 * us, 0.0, 0.002),  # memory
    "brass": (0.60, 0.85, 5 * us, 0.0, 0.002),  # memory
    "1045": (0.60, 0.85, 5 * us, 0.0, 0.002),  # memory
}
_NEGATIVE_ON_CARBIDE = {"copper": 0.40, "CuW": 0.16}  # memory
_NEGATIVE_FACTOR, _NEGATIVE_LEAST = 1.5, 0.12  # graphite above 12 % at 25.4 A: vocational text


def wear_law(electrode, work_is_steel, work_family, polarity):
    """Return the wear law of a pair, or None where there is no figure.

    Parameters
    ----------
    electrode, work_family : str
        Key of the electrode material, family of the work material.
    work_is_steel : bool
        Steels and cast iron share one law.
    polarity : str
        'electrode positive' or 'electrode negative'.

    Returns
    -------
    WearLaw or None

    Raises
    ------
    Refusal
        If the polarity is neither.

    Notes
    -----
    With the electrode negative on steel: 1.5 x the law and never under 12 %, no gain from long
    pulses. Pairs without a figure need a trial of their own.
    """
    one_of("polarity", polarity, POLARITIES)
    if work_is_steel and electrode in _POSITIVE_ON_STEEL:
        level, slope, shift, current, floor = _POSITIVE_ON_STEEL[electrode]
        if polarity == "electrode positive":
            return WearLaw(level, slope, shift, current, floor, 0.0, _MEMORY)
        scaled = _NEGATIVE_FACTOR * level
        return WearLaw(scaled, slope, shift, current, floor, _NEGATIVE_LEAST + floor, _MEMORY)
    if "carbide" in work_family and polarity == "electrode negative":
        if electrode in _NEGATIVE_ON_CARBIDE:
            return WearLaw(_NEGATIVE_ON_CARBIDE[electrode], 0.0, 5 * us, 0.0, 0.0, 0.0, _MEMORY)
    return None


def relative_wear(law, on_time, current):
    """Return the volume of electrode lost per volume of work removed [-].

    Parameters
    ----------
    law : WearLaw or None
        The law of the pair; None gives not-a-number: no figure.
    on_time, current : float or array, broadcast together
        Burning time of the spark [s], its current [A].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    theta = theta_10 [(t + t_s)/(10 µs + t_s)]^-n (I/10 A)^-m + floor. Expect x2.7 either way
    until a burn was measured. Sources disagree on the sign of the current's effect.

    References
    ----------
    Trend with on-time: Patel et al. (1989), J. Appl. Phys. 66, 4104; levels from memory.
    """
    time = require("on_time", on_time, 0.01, 20_000, "µs", us, "times are seconds: 50 * us")
    amps = require("current", current, 1e-3, 2000, "A", knob="give amps")
    if law is None:
        return (time * amps * np.nan)[()]
    fall = law.exponent * np.log((time + law.shift) / (10 * us + law.shift))
    wear = law.at_10us * np.exp(-fall - law.current_exponent * np.log(amps / 10)) + law.floor
    return np.maximum(wear, law.at_least)[()]


def end_wear(wear, removed_volume, electrode_section):
    """Return the length lost at the electrode's end, worn evenly [m].

    Parameters
    ----------
    wear, removed_volume, electrode_section : float or array, broadcast together
        Relative wear by volume [-], work removed [m³], section of the electrode [m²].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Volume over section. Not-a-number, no figure, stays so. Corners lose 3-5 times as much and
    sides 0.1-0.3 times (from memory).

    References
    ----------
    Derived here.
    """
    no_figure = isinstance(wear, (float, np.ndarray)) and np.isnan(wear)
    known = np.where(no_figure, 0.0, wear) if np.any(no_figure) else wear
    share = require("wear", known, 0, 100, knob="4 % is 0.04")
    volume = require("removed_volume", removed_volume, 0, 1, "m³", knob="34 mm³ is 34e-9 m³")
    section = require("electrode_section", electrode_section, 1e-10, 10, "m²")
    return np.where(no_figure, np.nan, share * volume / section)[()]
