"""What a flow and the lifts do for a gap: debris carried off, renewal, the force apart."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.physics.renewal import debris_fraction, lift_force, lift_renewal, renewal_time
from edmkit.units import kPa, mm, mm2, mm3, mm3_per_min

ML_PER_MIN = 1e-6 / 60
OIL = {"viscosity": 2e-3, "density": 785.0}


# --- debris_fraction ---
def test_debris_fraction_of_the_reference_gap():
    # prototype: 10 mm³/min through the 50 µm gap: 1.64e-4
    assert_allclose(debris_fraction(10 * mm3_per_min, 1.016657e-6), 1.64e-4, atol=5e-7)


@given(metal=st.floats(0.01, 1000), flow=st.floats(1e-9, 1e-5))
def test_debris_fraction_is_between_nothing_and_all(metal, flow):
    share = debris_fraction(metal * mm3_per_min, flow)
    assert 0 < share < 1
    assert debris_fraction(metal * mm3_per_min, 2 * flow) < share
    # what leaves as debris is what was removed: share x everything that leaves
    assert_allclose(share * (flow / mm3_per_min + metal), metal, rtol=1e-9)


def test_debris_fraction_keeps_shapes():
    keeps_shapes(debris_fraction, removal_rate=10 * mm3_per_min, flow=1e-7)


@pytest.mark.parametrize("name", ["removal_rate", "flow"])
def test_debris_fraction_refuses(name):
    refuses(debris_fraction, {"removal_rate": 1e-10, "flow": 1e-7}, name)


def test_debris_fraction_refuses_no_flow():
    with pytest.raises(Refusal, match=r"flow must be .* with no flow nothing is carried off"):
        debris_fraction(1e-10, 0.0)


# --- renewal_time ---
def test_renewal_time_of_the_side_gap():
    # job sums done apart: 1.43 mm³ at 8.13 ml/min are renewed in 0.011 s
    assert_allclose(renewal_time(1.43 * mm3, 8.13 * ML_PER_MIN), 0.011, atol=0.0005)


@given(volume=st.floats(0.1, 100), flow=st.floats(1e-9, 1e-5))
def test_renewal_time_fills_the_volume(volume, flow):
    assert_allclose(renewal_time(volume * mm3, flow) * flow, volume * mm3, rtol=1e-12)


def test_renewal_time_keeps_shapes():
    keeps_shapes(renewal_time, volume=2 * mm3, flow=1e-7)


@pytest.mark.parametrize("name", ["volume", "flow"])
def test_renewal_time_refuses(name):
    refuses(renewal_time, {"volume": 2 * mm3, "flow": 1e-7}, name)


# --- lift_renewal ---
SOLID = {"area": 7.07 * mm2, "lift_height": 1 * mm}


def test_lift_renewal_of_the_exercise():
    # job sums done apart: Ø3.00 in Ø3.07 x 5, 0.03 in front, 1 mm: 7.07 over 1.89 mm³ = 3.7
    gap = np.pi / 4 * (3.07**2 * 5.03 - 3.0**2 * 5) * mm3
    assert_allclose(gap / mm3, 1.89, atol=0.005)
    assert_allclose(lift_renewal(np.pi / 4 * 9 * mm2, 1 * mm, gap), 3.7, atol=0.05)


@given(height=st.floats(0.1, 10))
def test_lift_renewal_goes_with_the_height(height):
    one = lift_renewal(7 * mm2, height * mm, 2 * mm3)
    assert_allclose(lift_renewal(7 * mm2, 2 * height * mm, 4 * mm3), one, rtol=1e-12)


def test_lift_renewal_keeps_shapes():
    keeps_shapes(lift_renewal, **SOLID, gap_volume=2 * mm3)


@pytest.mark.parametrize("name", [*SOLID, "gap_volume"])
def test_lift_renewal_refuses(name):
    refuses(lift_renewal, {**SOLID, "gap_volume": 2 * mm3}, name)


# --- lift_force ---
FORCE = {"pressure": 50 * kPa, "inner_radius": 1 * mm, "outer_radius": 5 * mm}


def test_lift_force_reference_value():
    # prototype of this kit, computed apart from it
    assert_allclose(lift_force(**FORCE), 1.171190, rtol=2e-6)


def test_lift_force_is_the_pressure_added_up():
    # hole in full, then the creeping flow's pressure, which falls with the logarithm
    radius = np.linspace(1, 5, 200_001) * mm
    pressure = 50 * kPa * np.log(5 * mm / radius) / np.log(5)
    ring = np.trapezoid(pressure * 2 * np.pi * radius, radius)
    assert_allclose(lift_force(**FORCE), ring + np.pi * mm**2 * 50 * kPa, rtol=1e-8)


@given(bore_share=st.floats(0.05, 0.95))
def test_lift_force_lies_between_hole_and_whole_end(bore_share):
    force = lift_force(50 * kPa, bore_share * 5 * mm, 5 * mm)
    whole = np.pi * (5 * mm) ** 2 * 50 * kPa
    assert bore_share**2 * whole < force < whole


def test_lift_force_keeps_shapes():
    keeps_shapes(lift_force, **FORCE)


@pytest.mark.parametrize("name", FORCE)
def test_lift_force_refuses(name):
    refuses(lift_force, FORCE, name)


def test_lift_force_refuses_a_hole_as_wide_as_the_end():
    with pytest.raises(Refusal, match=r"got 0 mm: take a smaller bore"):
        lift_force(1e4, mm, mm)
