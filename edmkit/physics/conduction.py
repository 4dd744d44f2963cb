"""Closed forms of heat conduction into a half-space: what the solver is checked against.

Lengths in radii R of the source at the end of the pulse, times as Fourier numbers alpha t / R²,
temperatures as theta = (T - T_0) / (T_m - T_0) per flux number P / (pi R k (T_m - T_0)), as in
`heat`. Without melting or boiling temperature goes with power, so one field serves every flux.
"""

import numpy as np

from edmkit.checks import require
from edmkit.units import um, us

_GAUSS = 4.5  # exponent of the flux and factor before it, so that the plane receives the power
_STEP = 1 / 32  # of the quadrature: errors below 1e-8 of the hottest point, seen by halving it
_NEWTON = 20  # steps to the radius of a point source, 6 are enough; each one doubles the digits


def _place(r, z, fourier):
    """Return depth, distance from the axis and the square root of the Fourier number."""
    off_axis = require("r", r, 0, 1e3, knob="give the distance from the axis in radii R")
    deep = require("z", z, 0, 1e3, knob="give the depth in radii R")
    time = require("fourier", fourier, 1e-6, 1e6, knob="0.006 to 1.2 are usual on steel")
    return off_axis, deep, np.sqrt(time)


def _nodes():
    """Return places in 0 to 1, the rest to 1 and weights that serve kinks at both ends."""
    # tanh-sinh rule of Takahasi and Mori (1974): places crowd towards the ends, where heat turns
    x = np.arange(-3.2, 3.2 + _STEP / 2, _STEP)
    place, rest = 1 / (1 + np.exp(-np.pi * np.sinh(x))), 1 / (1 + np.exp(np.pi * np.sinh(x)))
    return zip(place, rest, _STEP * np.pi * np.cosh(x) * place * rest, strict=True)


def _ierfc(x):
    """Return the integral of erfc from x to infinity."""
    from scipy.special import erfc

    return np.exp(-(x**2)) / np.sqrt(np.pi) - x * erfc(x)


def disc_axis(z, fourier):
    """Return the temperature below the centre of a disc of even flux, per flux number [-].

    Parameters
    ----------
    z, fourier : float or array, broadcast together
        Depth in disc radii [-]; Fourier number of the time since it was switched on [-].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact for constant properties and no melting.

    References
    ----------
    Carslaw and Jaeger (1959), Conduction of Heat in Solids, 2nd ed., ch. 10; from memory.
    """
    _, deep, root = _place(0, z, fourier)
    return (2 * root * (_ierfc(deep / 2 / root) - _ierfc(np.hypot(deep, 1) / 2 / root)))[()]


def disc(r, z, fourier):
    """Return the temperature anywhere under a disc of even flux, per flux number [-].

    Parameters
    ----------
    r, z, fourier : float or array, broadcast together
        Distance from the axis and depth in disc radii [-]; Fourier number of the time [-].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact but for the quadrature, good to 1e-8. A point sees the disc as wedges that end at the
    rim: an even wedge heats like the half-space less what begins beyond its rim, in ierfc. The
    usual integral over J0 and J1 gives the same and oscillates.

    References
    ----------
    Derived here from the sources of Carslaw and Jaeger (1959), 2nd ed., ch. 10.
    """
    off_axis, deep, root = _place(r, z, fourier)
    total = np.zeros(np.broadcast_shapes(off_axis.shape, deep.shape, root.shape))
    below = _ierfc(deep / 2 / root)
    for place, _, weight in _nodes():
        bend = 2 * np.sin(np.pi / 2 * place) ** 2  # 1 - cos of the angle round the rim
        square = (1 - off_axis) ** 2 + 2 * off_axis * bend  # of the distance to the rim
        turn = (1 - off_axis + off_axis * bend) / square  # of the line of sight, per angle
        total += weight * turn * (below - _ierfc(np.sqrt(deep**2 + square) / 2 / root))
    return (2 * root * total)[()]


def gaussian(r, z, fourier, growth=0.0):
    """Return the temperature under a Gaussian source at the end of its pulse, per flux number [-].

    Parameters
    ----------
    r, z, fourier, growth : float or array, broadcast together
        Distance from the axis and depth in final radii [-]; Fourier number of the pulse [-];
        exponent of the radius with time [-], 0 for a source that stands.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Flux 4.5 exp(-4.5 r²/s²)/s² with s = (time over pulse)^growth: even power. Exact but for the
    quadrature over the square root of the time since each bit of heat, good to 1e-8.

    References
    ----------
    Derived here from the sources of Carslaw and Jaeger (1959), 2nd ed., ch. 10.
    """
    off_axis, deep, root = _place(r, z, fourier)
    power = require("growth", growth, 0, 2, knob="0.44 is usual, 0 for a source that stands")
    shapes = (part.shape for part in (off_axis, deep, root, power))
    total = np.zeros(np.broadcast_shapes(*shapes))
    for place, rest, weight in _nodes():
        ago = 4 * (place * root) ** 2
        wide = ago + (rest * (1 + place)) ** (2 * power) / _GAUSS
        total += weight * np.exp(-(deep**2) / ago - off_axis**2 / wide) / wide
    return (2 / np.sqrt(np.pi) * root * total)[()]


def gaussian_centre(fourier):
    """Return the temperature at the centre of a standing Gaussian source, per flux number [-].

    Parameters
    ----------
    fourier : float or array
        Fourier number of the time since it was switched on [-].

    Raises
    ------
    Refusal
        If it is outside its range.

    Notes
    -----
    Exact; the arctan form.

    References
    ----------
    Carslaw and Jaeger (1959), Conduction of Heat in Solids, 2nd ed., ch. 10; from memory.
    """
    root = _place(0, 0, fourier)[2]
    return (np.sqrt(_GAUSS / np.pi) * np.arctan(2 * np.sqrt(_GAUSS) * root))[()]


def _metal(power, time, conductivity, diffusivity):
    """Return the checked numbers of a point source [SI]."""
    return (
        require("power", power, 1e-3, 1e6, "W"),
        require("time", time, 0.01, 20_000, "µs", us, "times are seconds: 50 * us"),
        require("conductivity", conductivity, 0.1, 3000, "W/mK"),
        require("diffusivity", diffusivity, 1e-8, 1e-2, "m²/s", knob="k / (rho c), steel 6e-6"),
    )


def point_source(power, distance, time, conductivity, diffusivity):
    """Return the temperature rise round a point source on a half-space [K].

    Parameters
    ----------
    power, distance, time, conductivity, diffusivity : float or array, broadcast together
        Power [W], distance from the point [m], time since it was switched on [s], thermal
        conductivity [W/mK] and diffusivity [m²/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact for a point, constant properties and no melting. Near the point it has no limit.

    References
    ----------
    Carslaw and Jaeger (1959), ch. 10; as a spark: DiBitonto et al. (1989), J. Appl. Phys. 66,
    4095; both from memory.
    """
    from scipy.special import erfc

    watts, seconds, k, alpha = _metal(power, time, conductivity, diffusivity)
    away = require("distance", distance, 1e-3, 1e6, "µm", um, "10 µm is 10e-6 m")
    return (watts / (2 * np.pi * k * away) * erfc(away / np.sqrt(4 * alpha * seconds)))[()]


def point_source_radius(power, rise, time, conductivity, diffusivity):
    """Return how far from a point source a half-space reaches a temperature rise [m].

    Parameters
    ----------
    power, rise, time, conductivity, diffusivity : float or array, broadcast together
        Power [W], temperature rise [K], time since it was switched on [s], thermal conductivity
        [W/mK] and diffusivity [m²/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    The inverse of `point_source` by Newton's rule. As a crater, a half ball: give it the rise
    to melting plus fusion heat over heat capacity.

    References
    ----------
    DiBitonto et al. (1989), J. Appl. Phys. 66, 4095, for the idea; from memory.
    """
    from scipy.special import erfc

    watts, seconds, k, alpha = _metal(power, time, conductivity, diffusivity)
    hot = require("rise", rise, 1e-2, 1e5, "K")
    reach = np.sqrt(4 * alpha * seconds)
    level = 2 * np.pi * k * reach * hot / watts  # erfc(x) = level x
    # from right of the root, where the logarithms bend one way, no step goes too far
    x = np.minimum(1 / level, np.sqrt(np.maximum(1, -np.log(level))))
    for _ in range(_NEWTON):
        steep = 1 + 2 * x / np.sqrt(np.pi) * np.exp(-(x**2)) / erfc(x)
        x = x * np.exp(np.log(erfc(x) / (level * x)) / steep)
    return (reach * x)[()]


def melting_constant(superheat, subcooling):
    """Return the similarity constant of the front where a half-space melts from its surface [-].

    Parameters
    ----------
    superheat, subcooling : float or array, broadcast together
        Surface above the melting point, and start below it, both times heat capacity over fusion
        heat [-]; subcooling 0: all of it at the melting point from the start.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    The front stands at 2 x constant x sqrt(alpha t). Exact for a surface temperature held from
    the start and one conductivity and heat capacity for solid and melt.

    References
    ----------
    Neumann's solution, Carslaw and Jaeger (1959), 2nd ed., ch. 11; from memory.
    """
    from scipy.optimize import brentq
    from scipy.special import erf, erfcx

    above = require("superheat", superheat, 1e-6, 1e4, knob="1 is usual on steel")
    below = require("subcooling", subcooling, 0, 1e4, knob="3 is usual on steel")

    def balance(x, s, u):
        return s * np.exp(-x * x) / erf(x) - u / erfcx(x) - np.sqrt(np.pi) * x

    def root(s, u):
        return brentq(balance, 1e-12, 10.0, args=(s, u), xtol=1e-15, rtol=1e-14)

    return np.vectorize(root, otypes=[float])(above, below)[()]


def melting_front(superheat, subcooling, time, diffusivity):
    """Return how deep a half-space has melted from its surface [m].

    Parameters
    ----------
    superheat, subcooling, time, diffusivity : float or array, broadcast together
        As in `melting_constant` [-]; time since the surface was heated [s], diffusivity [m²/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    2 x constant x sqrt(alpha t), with the constant of `melting_constant`.

    References
    ----------
    Neumann's solution, Carslaw and Jaeger (1959), 2nd ed., ch. 11; from memory.
    """
    _, seconds, _, alpha = _metal(1, time, 1, diffusivity)
    return (2 * melting_constant(superheat, subcooling) * np.sqrt(alpha * seconds))[()]
