"""The fluid itself: thin when warm, how high a pressure holds it, what suction it stands."""

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.units import ZERO_CELSIUS, kPa

GRAVITY = 9.80665  # m/s², standard gravity, by definition
EXPANSION = 0.70  # kg/(m³ K), n-dodecane 0.71 and n-tetradecane 0.68 near 30 °C
GAS_COMES_OUT = 80 * kPa  # suction at which dissolved air leaves oil in force, assumption
MARGIN = 10 * kPa  # left between the fluid's pressure and its boiling, assumption
ROOM, WARM = ZERO_CELSIUS + 20.0, ZERO_CELSIUS + 40.0
_CST = 1e-6  # m²/s


def _temperature(temperature):
    knob = "a temperature in kelvin: 25 °C is 298.15 K"
    return require("temperature", temperature, 273.15, 343.15, "K", knob=knob)


def _density(name, density):
    return require(name, density, 500, 2000, "kg/m³", knob="oil has about 800 kg/m³")


def _doubly_logged(nu):
    return np.log(np.log(nu / _CST + 0.7))


def kinematic_viscosity(nu_20, nu_40, temperature):
    """Return the kinematic viscosity of a fluid at a temperature [m²/s].

    Parameters
    ----------
    nu_20, nu_40, temperature : float or array, broadcast together
        Kinematic viscosity at 20 °C and at 40 °C [m²/s], temperature [K].

    Raises
    ------
    Refusal
        If an input is outside its range, or the fluid would be thicker when warm.

    Notes
    -----
    ln ln(nu + 0.7 mm²/s) straight over ln T. From 15 to 60 °C within 1.2 % of n-dodecane and
    n-tetradecane; water at 60 °C comes out 5 % thick.

    References
    ----------
    Walther's law, the form of ASTM D341, from memory.
    """
    knob = "2.4 cSt is 2.4e-6 m²/s, oils have 1 to 10 cSt"
    cold = require("nu_20", nu_20, 0.5, 1000, "mm²/s", _CST, knob)
    warm = require("nu_40", nu_40, 0.4, 1000, "mm²/s", _CST, knob)
    if not (warm < cold).all():
        raise Refusal("nu_40 must be less than nu_20: a fluid is thinner when warm. Swap the two.")
    kelvin = _temperature(temperature)
    part = np.log(kelvin / ROOM) / np.log(WARM / ROOM)
    level = (1 - part) * _doubly_logged(cold) + part * _doubly_logged(warm)
    return (_CST * (np.exp(np.exp(level)) - 0.7))[()]


def density_at(density_20, temperature):
    """Return the density of a fluid at a temperature [kg/m³].

    Parameters
    ----------
    density_20, temperature : float or array, broadcast together
        Density at 20 °C [kg/m³], temperature [K].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    0.70 kg/m³ less a kelvin, as hydrocarbons of 10 to 16 carbons: within 0.2 % from 15 to 60 °C.
    Water loses less: 1.5 % too little at 60 °C.
    """
    room = _density("density_20", density_20)
    return (room - EXPANSION * (_temperature(temperature) - ROOM))[()]


def standing_height(pressure, density):
    """Return how high a pressure or a suction holds a fluid up in a tube [m].

    Parameters
    ----------
    pressure, density : float or array, broadcast together
        Pressure over the air's, or suction under it [Pa]; density of the fluid [kg/m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact. 1 m of oil is about 7.7 kPa.
    """
    push = require("pressure", pressure, 0, 1000, "kPa", kPa, "30 kPa is 30e3 Pa")
    return (push / (_density("density", density) * GRAVITY))[()]


def pressure_of(height, density):
    """Return the pressure at the foot of a standing fluid [Pa].

    Parameters
    ----------
    height, density : float or array, broadcast together
        How high it stands [m], its density [kg/m³].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact; the inverse of `standing_height`.
    """
    high = require("height", height, 0, 100, "m", knob="250 mm is 0.25 m")
    return (high * _density("density", density) * GRAVITY)[()]


def suction_limit(vapour_pressure, atmosphere=101_325.0):
    """Return the strongest suction that a fluid stands [Pa].

    Parameters
    ----------
    vapour_pressure, atmosphere : float or array, broadcast together
        Vapour pressure of the fluid at its temperature, pressure of the air [Pa].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Air pressure less vapour pressure less 10 kPa, and never above 80 kPa, where dissolved air
    comes out in force: both assumed. Most oils are held by the 80 kPa; high ground and hot water
    by the first. Usable suction is far less, 10 to 35 kPa (from memory).
    """
    vapour = require("vapour_pressure", vapour_pressure, 0, 50, "kPa", kPa, "take a cooler fluid")
    air = require("atmosphere", atmosphere, 60, 110, "kPa", kPa, "101 kPa at sea level")
    return np.minimum(GAS_COMES_OUT, air - vapour - MARGIN)[()]
