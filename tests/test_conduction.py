"""Closed forms of heat conduction: printed values, other integrals of the same sources, limits."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses, refuses_microseconds
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import dblquad, quad
from scipy.special import erf, erfc, i0e, j0, j1

from edmkit.physics.conduction import (
    disc,
    disc_axis,
    gaussian,
    gaussian_centre,
    melting_constant,
    melting_front,
    point_source,
    point_source_radius,
)
from edmkit.units import um, um3, us

PLACES = [(0, 0.1), (0.5, 0.2), (0.9, 0.1), (1.0, 0.05), (1.3, 0.3)]  # off the axis, deep [R]
TIMES = [0.02, 0.1, 0.5]  # Fourier numbers


def half_space(flux, z, fourier):
    """Return theta under an even flux everywhere: Carslaw and Jaeger (1959), ch. 2, memory."""
    x = z / (2 * np.sqrt(fourier))
    return 2 * flux * np.sqrt(fourier) * (np.exp(-x * x) / np.sqrt(np.pi) - x * erfc(x))


def by_points(flux, edge, r, z, fourier):
    """Return theta of a standing source as a sum of point sources, by quadrature.

    Carslaw and Jaeger (1959), ch. 10, memory: each point gives q dA / (2 pi d) erfc(d/2 sqrt Fo).
    """

    def ring(angle, out):
        away = np.sqrt(r * r + out * out - 2 * r * out * np.cos(angle) + z * z)
        return flux(out) * out * erfc(away / (2 * np.sqrt(fourier))) / (2 * np.pi * away)

    return 2 * dblquad(ring, 0, edge, 0, np.pi, epsabs=1e-9, epsrel=1e-9)[0]


def by_rings(r, z, fourier, growth):
    """Return theta of a growing Gaussian as a sum of instant rings over time, by quadrature.

    Carslaw and Jaeger (1959), ch. 10, memory: an instant ring on the surface gives
    exp(-(r² + r'² + z²)/4s) I0(r r'/2s) / (4 pi s)^1.5 x 2 for each unit of heat.
    """

    def ring(out, root):  # root of the time since the ring
        s = root * root
        size = (1 - s / fourier) ** growth
        if size < 1e-9:
            return 0.0
        out = out * size
        flux = 4.5 / size**2 * np.exp(-4.5 * (out / size) ** 2) * 2 * np.pi * out * size
        warm = np.exp(-((r - out) ** 2 + z * z) / (4 * s)) * i0e(r * out / (2 * s))
        return flux * 2 * warm / (4 * np.pi * s) ** 1.5 * 2 * root

    return dblquad(ring, 0, np.sqrt(fourier), 0, 2.6, epsabs=1e-7, epsrel=1e-7)[0]


# --- disc_axis ---
AXIS = {"z": 0.2, "fourier": 0.1}


def test_disc_axis_at_reference_values():
    # reference values computed for this source with another program, six digits
    assert_allclose(disc_axis([0.2, 0.1], [0.1, 1]), [0.188456, 0.634303], atol=6e-7)
    times = [0.05, 0.1, 0.5, 1, 5]
    centre = [0.252179, 0.352882, 0.631254, 0.729097, 0.874884]
    assert_allclose(disc_axis(0, times), centre, atol=6e-7)


def test_disc_axis_is_the_sum_of_its_points():
    for fourier in TIMES:
        points = by_points(lambda out: 1.0, 1, 0, 0.15, fourier)
        assert_allclose(disc_axis(0.15, fourier), points, rtol=1e-7)


def test_disc_axis_between_its_limits():
    # early: an even flux on all of the half-space, ch. 2; in the end sqrt(1 + z²) - z, ch. 10
    z = np.array([0, 0.05, 0.2])
    assert_allclose(disc_axis(z, 1e-3), half_space(1, z, 1e-3), rtol=1e-9)
    assert_allclose(disc_axis(z, 1e6), np.hypot(z, 1) - z, atol=6e-4)
    assert_allclose(disc_axis(0, 1e6), 1, atol=6e-4)


@given(z=st.floats(0, 3), fourier=st.floats(1e-3, 100))
def test_disc_axis_warms_with_time_and_cools_with_depth(z, fourier):
    here = disc_axis(z, fourier)
    assert 0 <= here < 1
    assert disc_axis(z, 1.5 * fourier) >= here >= disc_axis(z + 0.1, fourier)


def test_disc_axis_keeps_shapes():
    keeps_shapes(disc_axis, **AXIS)


@pytest.mark.parametrize("name", AXIS)
def test_disc_axis_refuses(name):
    refuses(disc_axis, AXIS, name)


# --- disc ---
ANYWHERE = {"r": 0.5, "z": 0.2, "fourier": 0.1}


def test_disc_at_reference_values():
    # reference values computed for this source with another program, six digits
    assert_allclose(
        disc([0, 0.5, 0.9], [0.2, 0.2, 0.1], [0.1, 0.1, 0.5]),
        [0.188456, 0.174967, 0.331866],
        atol=6e-7,
    )


@pytest.mark.parametrize("r, z", PLACES)
@pytest.mark.parametrize("fourier", TIMES)
def test_disc_is_the_integral_over_bessel_functions(r, z, fourier):
    # Carslaw and Jaeger (1959), ch. 10, memory; as a spark: Snoeys and Van Dijck, and Van Dijck
    # and Dutre (1974), J. Phys. D 7, 899, use from memory
    a, b = z / (2 * np.sqrt(fourier)), np.sqrt(fourier)

    def waves(x):
        pair = np.exp(-x * z) * erfc(a - x * b) - np.exp(x * z) * erfc(a + x * b)
        return j0(x * r) * j1(x) * pair / x / 2

    far = min(700 / z, 40 + 30 / z)  # the waves die as exp(-x z)
    assert_allclose(disc(r, z, fourier), quad(waves, 0, far, limit=2000)[0], atol=1e-7)


@pytest.mark.parametrize("r, z", [(0.5, 0.2), (1.3, 0.3)])
def test_disc_is_the_sum_of_its_points(r, z):
    points = by_points(lambda out: 1.0, 1, r, z, 0.1)
    assert_allclose(disc(r, z, 0.1), points, rtol=1e-6)


def test_disc_on_its_axis_is_the_form_for_the_axis():
    z = np.array([0, 1e-4, 0.1, 1, 3])[:, None]
    times = np.geomspace(1e-4, 1e3, 8)
    assert_allclose(disc(0, z, times), disc_axis(z, times), atol=1e-8)
    assert_allclose(disc(1e-9, z, times), disc_axis(z, times), atol=1e-8)


def test_disc_between_its_limits():
    # early: full inside, nothing outside, half on the rim; in the end 2/pi at the rim and, far
    # off, a point of its power: Carslaw and Jaeger (1959), ch. 10, memory
    full = half_space(1, 0, 1e-4)
    assert_allclose(disc([0.5, 1.5], 0, 1e-4), [full, 0], atol=1e-8)
    assert_allclose(disc(1, 0, 1e-4), full / 2, rtol=0.01)
    assert_allclose(disc(1, 0, 1e6), 2 / np.pi, atol=6e-4)
    assert_allclose(disc(24, 7, 1e6), 1 / (2 * 25), rtol=0.02)


@given(r=st.floats(0, 2), z=st.floats(0, 2), fourier=st.floats(1e-3, 100))
def test_disc_cools_outwards_downwards_and_warms_with_time(r, z, fourier):
    here = disc(r, z, fourier)
    assert -1e-8 <= here < 1
    assert disc(r + 0.1, z, fourier) <= here + 1e-8
    assert disc(r, z + 0.1, fourier) <= here + 1e-8
    assert disc(r, z, 1.5 * fourier) >= here - 1e-8


def test_disc_keeps_shapes():
    keeps_shapes(disc, **ANYWHERE)


@pytest.mark.parametrize("name", ANYWHERE)
def test_disc_refuses(name):
    refuses(disc, ANYWHERE, name)


# --- gaussian ---
GROWING = {"r": 0.5, "z": 0.2, "fourier": 0.1, "growth": 0.44}


def heat(r):
    """Return the flux of a standing source that holds its power: exponent 4.5, derived."""
    return 4.5 * np.exp(-4.5 * r**2)


def test_gaussian_at_reference_values():
    # reference values computed for this source with another program, six digits
    assert_allclose(gaussian(0, 0, [0.05, 0.1, 0.5], 0.44), [1.14705, 1.28980, 1.55555], atol=6e-6)
    assert_allclose(gaussian(0, 0, [0.1, 1]), [1.113377, 1.602933], atol=6e-7)


@pytest.mark.parametrize("r, z", PLACES)
def test_standing_gaussian_is_the_sum_of_its_points(r, z):
    points = by_points(heat, 2.6, r, z, 0.1)
    assert_allclose(gaussian(r, z, 0.1), points, atol=1e-6)


@pytest.mark.parametrize("r, z", [(0, 0.2), (0.5, 0.15), (1.0, 0.3)])
@pytest.mark.parametrize("fourier", [0.05, 0.3])
def test_growing_gaussian_is_the_sum_of_its_rings(r, z, fourier):
    rings = by_rings(r, z, fourier, 0.44)
    assert_allclose(gaussian(r, z, fourier, 0.44), rings, atol=2e-6)


@pytest.mark.parametrize("growth", [0.0, 0.44, 1.0])
def test_gaussian_holds_the_heat_it_was_given(growth):
    # theta over all of the half-space is the power pi times the time
    fourier = 0.3
    r, weights = np.polynomial.legendre.leggauss(40)
    r, weights = 3 * (r + 1), 3 * weights  # 0 to 6 R: 7 diffusion lengths and more
    z, down = r[:, None], weights[:, None]
    whole = (2 * np.pi * r * gaussian(r, z, fourier, growth) * weights * down).sum()
    assert_allclose(whole, np.pi * fourier, rtol=1e-5)


def test_gaussian_between_its_limits():
    # early: the flux above each place, Carslaw and Jaeger ch. 2; in the end the closed form
    # with exp(-x) I0(x), x = 4.5 r²/2, ch. 10, memory; far off a point of its power
    r = np.array([0, 0.3, 0.6])
    assert_allclose(gaussian(r, 0.01, 1e-4), half_space(heat(r), 0.01, 1e-4), rtol=3e-3)
    steady = np.sqrt(4.5 * np.pi) / 2 * i0e(4.5 * r**2 / 2)
    assert_allclose(gaussian(r, 0, 1e6), steady, atol=6e-4)
    assert_allclose(gaussian(24, 7, 1e6), 1 / (2 * 25), rtol=0.02)


@given(r=st.floats(0, 2), z=st.floats(0, 2), fourier=st.floats(1e-3, 10))
def test_gaussian_cools_outwards_and_downwards_and_growth_warms_the_middle(r, z, fourier):
    for growth in (0.0, 0.44):
        here = gaussian(r, z, fourier, growth)
        assert 0 <= gaussian(r + 0.1, z, fourier, growth) <= here + 1e-8
        assert gaussian(r, z + 0.1, fourier, growth) <= here + 1e-8
    assert gaussian(0, z, fourier, 0.44) >= gaussian(0, z, fourier) - 1e-8


def test_gaussian_keeps_shapes():
    keeps_shapes(gaussian, **GROWING)


@pytest.mark.parametrize("name", GROWING)
def test_gaussian_refuses(name):
    refuses(gaussian, GROWING, name)


# --- gaussian_centre ---
def test_gaussian_centre_at_reference_values():
    # reference values computed for this source with another program, seven digits
    times = [0.05, 0.1, 0.5, 1, 5]
    centre = [0.908476, 1.113377, 1.494892, 1.602933, 1.754279]
    assert_allclose(gaussian_centre(times), centre, atol=6e-7)


@given(fourier=st.floats(1e-4, 1e4))
def test_gaussian_centre_is_the_integral_over_time(fourier):
    assert_allclose(gaussian(0, 0, fourier), gaussian_centre(fourier), rtol=1e-8)
    assert gaussian_centre(fourier) < np.sqrt(4.5 * np.pi) / 2


def test_gaussian_centre_starts_as_a_half_space():
    assert_allclose(gaussian_centre(1e-5), half_space(4.5, 0, 1e-5), rtol=1e-4)


def test_gaussian_centre_keeps_shapes():
    keeps_shapes(gaussian_centre, fourier=0.1)


def test_gaussian_centre_refuses():
    refuses(gaussian_centre, {"fourier": 0.1}, "fourier")


# --- point_source ---
# Mean values of a hot-work steel: density 7700, 650 J/kgK, 29 W/mK, 1730 K, 272 kJ/kg; a spark
# of 10 A and 25 V for 100 µs that gives it 0.183 of its energy.
STEEL = {"conductivity": 29.0, "diffusivity": 29 / (7700 * 650)}
SPARK = {"power": 0.183 * 25 * 10, "time": 100 * us, **STEEL}
RISE = 1430 + 272e3 / 650  # K, to melting, with the heat of fusion
POINT = {**SPARK, "distance": 30 * um}


def test_point_source_by_hand():
    # 45.75/(2 pi 29 30e-6) = 8369.5 K times erfc(0.62316) = 0.37814, erf from tables
    assert_allclose(point_source(**POINT), 8369.5 * 0.37814, rtol=2e-4)


@pytest.mark.parametrize("distance", [10, 40, 90])
def test_point_source_is_the_sum_of_its_instants(distance):
    # instant point on a half-space: 2 Q/(rho c) exp(-d²/4 a s)/(4 pi a s)^1.5, ch. 10, memory
    a, d = STEEL["diffusivity"], distance * um

    def instant(s):
        return (
            2
            * SPARK["power"]
            / (7700 * 650)
            * np.exp(-d * d / (4 * a * s))
            / (4 * np.pi * a * s) ** 1.5
        )

    sum_of_all = quad(instant, 0, 100 * us, points=[1 * us, 10 * us], epsrel=1e-9, limit=200)[0]
    assert_allclose(point_source(**POINT | {"distance": d}), sum_of_all, rtol=1e-6)


@given(distance=st.floats(1, 200), time=st.floats(1, 1000))
def test_point_source_is_in_proportion_to_power_and_scales(distance, time):
    numbers = POINT | {"distance": distance * um, "time": time * us}
    here = point_source(**numbers)
    assert_allclose(point_source(**numbers | {"power": 2 * SPARK["power"]}), 2 * here, rtol=1e-12)
    # twice as far in four times the time: half as hot
    grown = point_source(**numbers | {"distance": 2 * distance * um, "time": 4 * time * us})
    assert_allclose(grown, here / 2, rtol=1e-9)
    assert here <= SPARK["power"] / (2 * np.pi * 29 * distance * um)  # the steady limit


def test_point_source_is_what_a_far_disc_looks_like():
    # a disc of 1 µm seen at 40 µm; alpha t / R² = 579
    fourier = STEEL["diffusivity"] * 100 * us / um**2
    theta = disc(32, 24, fourier) * SPARK["power"] / (np.pi * um * 29)
    assert_allclose(point_source(**POINT | {"distance": 40 * um}), theta, rtol=1e-3)


def test_point_source_keeps_shapes():
    keeps_shapes(point_source, **POINT)


@pytest.mark.parametrize("name", POINT)
def test_point_source_refuses(name):
    refuses(point_source, POINT, name)


def test_point_source_refuses_micrometres_and_microseconds():
    refuses_microseconds(point_source, POINT, "time")
    with pytest.raises(ValueError, match=r"distance must be .* 10 µm is 10e-6 m"):
        point_source(**POINT | {"distance": 30})


# --- point_source_radius ---
MELT = {**SPARK, "rise": RISE}


def test_point_source_radius_at_the_reference_spark():
    # reference values computed with another program: 37.2309 µm, half a ball of 108 086 µm³
    radius = point_source_radius(**MELT)
    assert_allclose(radius / um, 37.2309, atol=6e-5)
    assert_allclose(2 / 3 * np.pi * radius**3 / um3, 108_086, rtol=1e-5)


@given(
    power=st.floats(0.1, 1000),
    rise=st.floats(10, 5000),
    time=st.floats(1, 2000),
    k=st.floats(5, 400),
)
def test_point_source_radius_is_where_the_point_source_reaches_it(power, rise, time, k):
    numbers = {"power": power, "time": time * us, "conductivity": k, "diffusivity": k / 4e6}
    radius = point_source_radius(**numbers, rise=rise)
    reach = np.sqrt(4 * k / 4e6 * time * us)
    there = power / (2 * np.pi * k * radius) * erfc(radius / reach)
    assert_allclose(there, rise, rtol=1e-9)


@given(amps=st.floats(0.5, 100), time=st.floats(1, 2000), share=st.floats(0.05, 1))
def test_point_source_melts_no_more_than_its_energy_pays_for(amps, time, share):
    # energy bound by hand: F E / [rho (c dT + L)], 494 512 µm³ at 10 A, 100 µs and 0.183
    cost = 7700 * (650 * 1430 + 272e3)
    assert_allclose(0.183 * 25 * 10 * 1e-4 / cost / um3, 494_512, rtol=1e-5)
    radius = point_source_radius(share * 25 * amps, RISE, time * us, **STEEL)
    assert 2 / 3 * np.pi * radius**3 < share * 25 * amps * time * us / cost


def test_point_source_radius_in_the_end_and_at_the_start():
    # steady: P / (2 pi k rise), a spark of 1 mW; the front of a strong point runs ahead of
    # sqrt(4 a t) only by the root of a logarithm
    weak = MELT | {"power": 1e-3}
    assert_allclose(point_source_radius(**weak), 1e-3 / (2 * np.pi * 29 * RISE), rtol=1e-3)
    strong = point_source_radius(**MELT | {"power": 1e6}) / np.sqrt(
        4 * STEEL["diffusivity"] * 100 * us
    )
    assert 2 < strong < 3


def test_point_source_radius_keeps_shapes():
    keeps_shapes(point_source_radius, **MELT)


@pytest.mark.parametrize("name", MELT)
def test_point_source_radius_refuses(name):
    refuses(point_source_radius, MELT, name)


def test_point_source_radius_refuses_microseconds():
    refuses_microseconds(point_source_radius, MELT, "time")


# --- melting_constant ---
STEFAN = {"superheat": 1.0, "subcooling": 0.5}


def test_melting_constant_by_hand():
    # one phase: x exp(x²) erf(x) sqrt(pi) = superheat. x = 0.5 with erf(0.5) = 0.520500 of the
    # tables: 0.592297. Textbooks give 0.6201 for 1, from memory
    assert_allclose(melting_constant(0.592297, 0), 0.5, rtol=2e-6)
    assert_allclose(melting_constant(1, 0), 0.6201, atol=5e-5)
    # two phases at x = 0.5, superheat 1: exp(-1/4)/erf(1/2) = 1.496255, less sqrt(pi)/2 is
    # 0.610028, over exp(-1/4)/erfc(1/2) = 0.778801/0.479500 = 1.624194
    assert_allclose(melting_constant(1, 0.610028 / 1.624194), 0.5, rtol=2e-6)


def test_melting_constant_between_its_limits():
    # weak: the front eats what a straight profile brings, x = sqrt(superheat/2). No heat of
    # fusion: the isotherm of plain conduction, erfc(x) = 1/2 at 0.476936, tables
    weak = np.array([1e-6, 1e-4])
    assert_allclose(melting_constant(weak, 0), np.sqrt(weak / 2), rtol=1e-4)
    assert_allclose(melting_constant(5e3, 5e3), 0.476936, rtol=3e-4)


@given(superheat=st.floats(0.01, 20), subcooling=st.floats(0, 20))
def test_melting_front_spends_the_heat_that_came_in(superheat, subcooling):
    # temperatures over fusion heat: the melt's profile, the solid's beyond the front, by quad
    x = melting_constant(superheat, subcooling)
    melt = quad(lambda s: superheat * (1 - erf(s) / erf(x)), 0, x)[0]
    solid = quad(lambda s: subcooling * erfc(s) / erfc(x), x, x + 8)[0]
    spent = 2 * (x * (1 + subcooling) + melt + solid)
    came = 2 * superheat / (erf(x) * np.sqrt(np.pi))  # flux at the surface, over time
    assert_allclose(spent, came, rtol=1e-6)


@given(superheat=st.floats(0.01, 20), subcooling=st.floats(0, 20))
def test_melting_constant_rises_with_heat_and_falls_with_cold(superheat, subcooling):
    here = melting_constant(superheat, subcooling)
    assert melting_constant(1.1 * superheat, subcooling) > here
    assert melting_constant(superheat, subcooling + 0.1) < here


def test_melting_constant_keeps_shapes():
    keeps_shapes(melting_constant, **STEFAN)


@pytest.mark.parametrize("name", STEFAN)
def test_melting_constant_refuses(name):
    refuses(melting_constant, STEFAN, name)


# --- melting_front ---
FRONT = {**STEFAN, "time": 50 * us, "diffusivity": 6e-6}


def test_melting_front_by_hand():
    # x = 0.5 (see above): sqrt(6e-6 x 50e-6) = 17.3205 µm
    assert_allclose(melting_front(0.592297, 0, 50 * us, 6e-6) / um, 17.3205, rtol=1e-5)


@given(time=st.floats(0.1, 1000))
def test_melting_front_goes_with_the_root_of_time(time):
    first, later = (melting_front(1, 0.5, t * us, 6e-6) for t in (time, 9 * time))
    assert_allclose(later, 3 * first, rtol=1e-12)


def test_melting_front_keeps_shapes():
    keeps_shapes(melting_front, **FRONT)


@pytest.mark.parametrize("name", FRONT)
def test_melting_front_refuses(name):
    refuses(melting_front, FRONT, name)


def test_melting_front_refuses_microseconds():
    refuses_microseconds(melting_front, FRONT, "time")
