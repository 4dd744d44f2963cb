"""What slot, ring, bore, flats, front gap and opening let through while the flow is slow."""

from functools import partial

import fluids
import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.physics.passage import (
    annulus,
    bore,
    laminar_flow,
    opening,
    radial_gap,
    segments,
    slot,
)
from edmkit.units import kPa, mm, mm2, um

OIL = {"pressure": 50 * kPa, "viscosity": 2e-3}  # of the reference values below
ML_PER_MIN = 1e-6 / 60


def conductance(way):
    """Return a function that gives only the conductance of a passage."""
    return lambda **numbers: way(**numbers).conductance


def wall_factor(passage):
    """Return Darcy's friction factor times the Reynolds number, from the conductance."""
    across = 2 * passage.hydraulic_diameter**2 * passage.area
    return across / (passage.conductance * passage.length)


# --- slot ---
SLOT = {"width": 6 * mm, "height": 0.2 * mm, "length": 20 * mm}


def test_slot_reference_values():
    # prototype of this kit, computed apart from it; parallel plates give 5.000e-6
    assert_allclose(laminar_flow(slot(**SLOT), **OIL), 4.894959e-6, rtol=1e-6)
    # factor of a square duct: 0.421731
    square = slot(mm, mm, mm).conductance
    assert_allclose(square * 12 / mm**3, 0.421731, rtol=2e-6)


@pytest.mark.parametrize("share", [0.05, 0.2, 0.5, 0.8, 1.0])
def test_slot_against_the_published_friction(share):
    # Shah and London (1978), Laminar Flow Forced Convection in Ducts, polynomial for rectangles
    terms = (1, -1.3553, 1.9467, -1.7012, 0.9564, -0.2537)
    published = 96 * np.polynomial.polynomial.polyval(share, terms)
    assert_allclose(wall_factor(slot(2 * mm, share * 2 * mm, 9 * mm)), published, rtol=1e-3)


@given(wide=st.floats(0.5, 20), flat=st.floats(0.01, 1))
def test_slot_does_not_care_which_side_is_named_first(wide, flat):
    one = slot(wide * mm, wide * flat * mm, 5 * mm)
    other = slot(wide * flat * mm, wide * mm, 5 * mm)
    assert_allclose(one.conductance, other.conductance, rtol=1e-12)
    assert one.conductance < wide * mm * (wide * flat * mm) ** 3 / (60 * mm)  # plates


def test_slot_sizes():
    one = slot(**SLOT)
    # hydraulic diameter 4 A / U by hand: 4 x 1.2 mm² over 12.4 mm
    assert_allclose([one.area / mm2, one.hydraulic_diameter / mm], [1.2, 4.8 / 12.4], rtol=1e-12)
    assert_allclose(one.losses, 1 / 0.36, rtol=1e-12)


def test_slot_keeps_shapes():
    keeps_shapes(conductance(slot), **SLOT)


@pytest.mark.parametrize("name", SLOT)
def test_slot_refuses(name):
    refuses(slot, SLOT, name)


# --- annulus ---
RING = {"outer_radius": 2 * mm, "inner_radius": 1.9 * mm, "length": 20 * mm, "eccentricity": 0.5}


def off_centre(outer, inner, offset, terms=80):
    """Return the exact conductance x length of an eccentric ring.

    Piercy, Hooper and Winny (1933), as in White, Viscous Fluid Flow, 3-51 (from memory).
    """
    far = (outer**2 - inner**2 + offset**2) / (2 * offset)
    root = np.sqrt(far**2 - outer**2)
    alpha = 0.5 * np.log((far + root) / (far - root))
    beta = 0.5 * np.log((far - offset + root) / (far - offset - root))
    n = np.arange(1, terms)
    series = (n * np.exp(-n * (beta + alpha)) / np.sinh(n * (beta - alpha))).sum()
    middle = 4 * offset**2 * root**2 / (beta - alpha)
    whole = outer**4 - inner**4 - middle - 8 * offset**2 * root**2 * series
    return np.pi / 8 * whole


def test_annulus_reference_values():
    ring = {**RING, "eccentricity": 0.0}
    # prototype of this kit, computed apart from it; the thin form gives 1.276272e-6
    assert_allclose(laminar_flow(annulus(**ring), **OIL), 1.276328e-6, rtol=1e-6)
    # job sums done apart: Ø3, 30 µm, 5 mm long, 0.5 bar, 2 cSt x 0.79: 8.13 ml/min, 15 µm 1.01
    for gap, flow in ((30 * um, 8.13), (15 * um, 1.01)):
        passed = laminar_flow(annulus(1.5 * mm + gap, 1.5 * mm, 5 * mm), 50 * kPa, 1.58e-3)
        assert_allclose(passed / ML_PER_MIN, flow, atol=0.006)


@pytest.mark.parametrize("inner, published", [(0.05, 86.27), (0.1, 89.37), (0.5, 95.25)])
def test_annulus_against_the_published_friction(inner, published):
    # Shah and London (1978), 4 f Re of concentric rings (from memory)
    ring = annulus(10 * mm, inner * 10 * mm, 50 * mm)
    assert_allclose(wall_factor(ring), published, rtol=1e-3)


@pytest.mark.parametrize("off", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("thin, close", [(0.01, 1e-3), (0.03, 3e-3), (0.1, 1e-2)])
def test_annulus_off_centre_against_the_exact_series(off, thin, close):
    outer = 2 * mm
    inner = outer * (1 - thin)
    exact = off_centre(outer, inner, off * (outer - inner), 4000)
    ours = annulus(outer, inner, mm, off).conductance * mm
    assert_allclose(ours, exact, rtol=close)


@given(off=st.floats(0, 1), gap=st.floats(1, 100))
def test_annulus_goes_with_the_gap_cubed_and_the_offset(off, gap):
    radius = 5 * mm
    centred = annulus(radius + gap * um, radius, mm)
    moved = annulus(radius + gap * um, radius, mm, off)
    assert_allclose(moved.conductance, (1 + 1.5 * off**2) * centred.conductance, rtol=1e-12)
    thin = np.pi * (2 * radius + gap * um) * (gap * um) ** 3 / (12 * mm)
    assert_allclose(centred.conductance, thin, rtol=1e-4)
    # halved gap, an eighth of the flow
    half = annulus(radius + gap / 2 * um, radius, mm)
    assert_allclose(half.conductance / centred.conductance, 1 / 8, rtol=0.02)


def test_annulus_is_smooth_where_its_two_forms_meet():
    # ln(outer / inner) = 0.5; the textbook form as it stands there
    inner, outer = mm, mm * np.exp(0.5 + np.array([-1e-6, 1e-6]))
    book = outer**4 - inner**4 - (outer**2 - inner**2) ** 2 / np.log(outer / inner)
    ours = annulus(outer, inner, mm).conductance * mm
    assert_allclose(ours, np.pi / 8 * book, rtol=1e-8)


def test_annulus_keeps_shapes():
    keeps_shapes(conductance(annulus), **RING)


@pytest.mark.parametrize("name", RING)
def test_annulus_refuses(name):
    refuses(annulus, RING, name)


def test_annulus_refuses_a_closed_gap():
    with pytest.raises(Refusal, match=r"inner_radius must be .* got 0 mm: the hole must be larger"):
        annulus(2 * mm, 2 * mm, mm)
    with pytest.raises(Refusal, match=r"eccentricity must be 0 to 1, got 1.5"):
        annulus(2 * mm, 1.9 * mm, mm, 1.5)


# --- bore ---
BORE = {"radius": 1 * mm, "length": 50 * mm}


def test_bore_reference_value():
    # prototype of this kit, computed apart from it (and not laminar: tests/test_flow.py)
    assert_allclose(laminar_flow(bore(**BORE), **OIL), 1.963495e-4, rtol=1e-6)


def test_bore_against_the_package_for_pipes():
    # `fluids`: Darcy's friction of slow flow in a pipe
    for number in (10, 500, 1900):
        package = fluids.friction.friction_laminar(number) * number
        assert_allclose(wall_factor(bore(**BORE)), package, rtol=1e-6)


@given(radius=st.floats(0.1, 5), length=st.floats(1, 200))
def test_bore_goes_with_the_fourth_power(radius, length):
    one, wide = bore(radius * mm, length * mm), bore(2 * radius * mm, length * mm)
    assert_allclose(wide.conductance, 16 * one.conductance, rtol=1e-12)
    half = bore(radius * mm, length / 2 * mm)
    assert_allclose(half.conductance, 2 * one.conductance, rtol=1e-12)


def test_bore_keeps_shapes():
    keeps_shapes(conductance(bore), **BORE)


@pytest.mark.parametrize("name", BORE)
def test_bore_refuses(name):
    refuses(bore, BORE, name)


# --- segments ---
FLATS = {"bore_radius": 1 * mm, "distance": 0.8 * mm, "length": 5 * mm, "number": 2}


def solved(distance, degree=24):
    """Return the conductance x length of a segment of the unit circle, from Poisson's equation.

    The circle's own profile plus a harmonic polynomial that makes it 0 on the whole edge, least
    squares; then the integral over the section.
    """
    half, middle = np.sqrt(1 - distance**2), (1 + distance) / 2
    angle = np.arctan2(half, distance)
    along = np.cos(np.linspace(0, np.pi, 400))
    edge = np.concatenate([np.exp(1j * angle * along), distance + 1j * half * along])

    def harmonic(z):
        return (((z[..., None] - middle) / half) ** np.arange(degree)).real

    weights = np.linalg.lstsq(harmonic(edge), (abs(edge) ** 2 - 1) / 4, rcond=None)[0]
    nodes, gauss = np.polynomial.legendre.leggauss(60)
    y = half * nodes[:, None]
    deep = np.sqrt(1 - y**2) - distance
    z = distance + deep * (nodes + 1) / 2 + 1j * y
    speed = (1 - abs(z) ** 2) / 4 + harmonic(z) @ weights
    return half * gauss @ (speed * deep / 2) @ gauss


def test_the_solver_of_this_file_knows_the_half_circle():
    # Shah and London (1978): 4 f Re of a half circle is 63.07 (from memory)
    half_circle = solved(0.0)
    across = 4 * (np.pi / 2) / (np.pi + 2)
    assert_allclose(2 * across**2 * np.pi / 2 / half_circle, 63.07, rtol=1e-3)


@pytest.mark.parametrize("distance", [0.999, 0.98, 0.9, 0.8, 0.7, 0.6, 0.5, 0.3, 0.1, 0.0])
def test_segments_against_the_solved_section(distance):
    ours = segments(mm, distance * mm, mm).conductance / mm**3
    assert_allclose(ours, solved(distance), rtol=5e-3)


def test_segments_are_sixteen_thirty_fifths_of_a_rectangle_when_shallow():
    # (1 - u²)³ over u from 0 to 1 is 16/35; derived here
    deep = 0.0005 * mm
    wide = 2 * np.sqrt(mm**2 - (mm - deep) ** 2)
    shallow = segments(mm, mm - deep, mm).conductance
    assert_allclose(shallow, 16 / 35 * wide * deep**3 / (12 * mm), rtol=2e-3)


def test_segments_area():
    # a half circle, and two of them make the bore
    both = segments(mm, 0.0, mm, 2)
    assert_allclose(both.area, np.pi * mm**2, rtol=1e-12)
    # 4 A / U of a half circle: 2 pi r / (pi + 2)
    assert_allclose(both.hydraulic_diameter, 2 * np.pi * mm / (np.pi + 2), rtol=1e-12)


@given(distance=st.floats(0, 0.95), deeper=st.floats(0.01, 0.04), number=st.integers(1, 6))
def test_segments_pass_more_when_deeper_and_by_the_number(distance, deeper, number):
    many = segments(mm, (distance + deeper) * mm, mm, number)
    one = segments(mm, (distance + deeper) * mm, mm)
    assert_allclose(many.conductance, number * one.conductance, rtol=1e-12)
    assert segments(mm, distance * mm, mm).conductance > one.conductance


def test_segments_keep_shapes():
    keeps_shapes(conductance(segments), **FLATS)


@pytest.mark.parametrize("name", FLATS)
def test_segments_refuse(name):
    refuses(segments, FLATS, name)


def test_segments_refuse_a_flat_past_the_middle_or_none():
    with pytest.raises(Refusal, match=r"distance must be .* file the flat shallower"):
        segments(mm, -0.1 * mm, mm)
    with pytest.raises(Refusal, match=r"bore_radius less distance .* file the flat deeper"):
        segments(mm, mm, mm)


# --- radial_gap ---
FRONT = {"gap": 50 * um, "inner_radius": 1 * mm, "outer_radius": 5 * mm}


def test_radial_gap_reference_values():
    # prototype of this kit, computed apart from it
    gaps = np.array([20, 50, 100]) * um
    flows = laminar_flow(radial_gap(**FRONT | {"gap": gaps}), **OIL)
    assert_allclose(flows, [6.506604e-8, 1.016657e-6, 8.133255e-6], rtol=1e-6)


def test_radial_gap_is_many_slots_in_series():
    # rings so narrow that each is a slot as wide as its rim is long; added up they are the gap
    rims = np.geomspace(1, 5, 2001) * mm
    middle, narrow = (rims[1:] + rims[:-1]) / 2, np.diff(rims)
    resistance = (12 * narrow / (2 * np.pi * middle * (50 * um) ** 3)).sum()
    assert_allclose(radial_gap(**FRONT).conductance, 1 / resistance, rtol=1e-6)


@given(gap=st.floats(1, 200))
def test_radial_gap_goes_with_the_gap_cubed(gap):
    # halved gap at equal pressure: an eighth
    one, half = (radial_gap(g * um, mm, 3 * mm) for g in (gap, gap / 2))
    assert_allclose(half.conductance / one.conductance, 1 / 8, rtol=1e-12)
    assert_allclose(one.inertia, gap * um / mm, rtol=1e-12)
    assert_allclose(one.area, 2 * np.pi * mm * gap * um, rtol=1e-12)
    assert_allclose(one.hydraulic_diameter, 2 * gap * um, rtol=1e-12)


def test_radial_gap_keeps_shapes():
    keeps_shapes(conductance(radial_gap), **FRONT)


@pytest.mark.parametrize("name", FRONT)
def test_radial_gap_refuses(name):
    refuses(radial_gap, FRONT, name)


def test_radial_gap_refuses_a_closed_gap_and_a_bore_as_wide_as_the_end():
    with pytest.raises(Refusal, match=r"gap must be .* got 0 µm: 30 µm is 30e-6 m, and no fluid"):
        radial_gap(0.0, mm, 2 * mm)
    with pytest.raises(Refusal, match=r"inner_radius must be .* got 0 mm: take a smaller bore"):
        radial_gap(20 * um, mm, mm)


# --- opening ---
def test_opening_creeping():
    # Sampson (1891): a round hole in a thin wall passes r³ dp / (3 mu)
    flow = laminar_flow(opening(np.pi * mm**2), 1.0, 1.0)
    assert_allclose(flow, mm**3 / 3, rtol=1e-12)


@given(area=st.floats(0.01, 100))
def test_opening_grows_with_the_cube_of_its_radius(area):
    one, four = opening(area * mm2), opening(4 * area * mm2)
    assert_allclose(four.conductance, 8 * one.conductance, rtol=1e-12)
    assert one.length == 0 and one.inertia == 0


def test_opening_keeps_shapes():
    keeps_shapes(conductance(opening), area=1 * mm2)


def test_opening_refuses():
    refuses(opening, {"area": 1 * mm2}, "area")
    with pytest.raises(Refusal, match=r"area must be .* 1 mm² is 1e-6 m²"):
        opening(1.0)


# --- laminar_flow ---
def test_laminar_flow_in_series_by_hand():
    # prototype: slot and 50 µm front gap in series pass 50.509 ml/min
    parts = slot(**SLOT), radial_gap(**FRONT)
    resistance = sum(1 / laminar_flow(part, **OIL) for part in parts)
    assert_allclose(1 / resistance / ML_PER_MIN, 50.509, atol=0.0005)


@given(push=st.floats(0.1, 100), thick=st.floats(0.5, 10))
def test_laminar_flow_goes_with_pressure_and_against_viscosity(push, thick):
    way = bore(**BORE)
    one = laminar_flow(way, push * kPa, thick * 1e-3)
    assert_allclose(laminar_flow(way, 2 * push * kPa, thick * 1e-3), 2 * one, rtol=1e-12)
    assert_allclose(laminar_flow(way, push * kPa, 2 * thick * 1e-3), one / 2, rtol=1e-12)


def test_laminar_flow_keeps_shapes():
    keeps_shapes(partial(laminar_flow, bore(**BORE)), **OIL)


@pytest.mark.parametrize("name", OIL)
def test_laminar_flow_refuses(name):
    refuses(partial(laminar_flow, bore(**BORE)), OIL, name)
