"""How hard a metal is to erode, from its handbook numbers alone."""

from edmkit.checks import require
from edmkit.units import ZERO_CELSIUS

_SCALE = 1e14  # J²/(m⁴ s); brings the usual metals to 1 to 50


def erosion_index(conductivity, density, heat_capacity, melting_point):
    """Return the index of resistance to erosion by sparks [1e14 J²/(m⁴ s)].

    Parameters
    ----------
    conductivity, density : float or array, broadcast together
        Heat conductivity [W/(m K)] and density [kg/m³], both at room temperature.
    heat_capacity, melting_point : float or array, broadcast together
        Heat capacity at room temperature [J/(kg K)], melting temperature [K].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    C = lambda rho c T², with T in °C: the higher, the harder to erode. It ranks, it does not
    predict. Copper-tungsten and aluminium break it: it knows nothing of a binder that melts out
    of its skeleton, and it puts aluminium level with hardened steel. Left out: heat of melting,
    boiling, chemistry, flushing.

    References
    ----------
    Palatnik's index; Reynaerts et al. (1997) print lambda c T²: both from memory, unverified.
    """
    carries = require("conductivity", conductivity, 0.1, 2500, "W/(m K)", knob="21 for D2")
    mass = require("density", density, 500, 23_000, "kg/m³", knob="7.8 g/cm³ is 7800")
    heat = require("heat_capacity", heat_capacity, 50, 4000, "J/(kg K)", knob="470 for steel")
    kelvin = require("melting_point", melting_point, 300, 4500, "K", knob="add 273.15 to °C")
    return (carries * mass * heat * (kelvin - ZERO_CELSIUS) ** 2 / _SCALE)[()]
