"""The working fluid: viscosity and density against temperature, standing height, suction."""

import chemicals
import numpy as np
import pytest
from chemicals.dippr import EQ101, EQ105
from chemicals.viscosity import PPDS9, mu_data_Perrys_8E_2_313, mu_data_VDI_PPDS_7
from chemicals.volume import rho_data_Perry_8E_105_l
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import dielectric, dielectrics
from edmkit.checks import Refusal
from edmkit.physics.fluid import (
    density_at,
    kinematic_viscosity,
    pressure_of,
    standing_height,
    suction_limit,
)
from edmkit.substances import shipped_dielectrics
from edmkit.units import ZERO_CELSIUS, kPa

CST = 1e-6
PURE = {"dodecane": ("112-40-3", 170.33), "tetradecane": ("629-59-4", 198.39)}
CELSIUS = np.array([15, 20, 25, 30, 40, 50, 60])
KELVIN = ZERO_CELSIUS + CELSIUS


def package_density(name):
    """Return the density of a pure fluid from the package `chemicals` [kg/m³]."""
    number, grams = PURE[name]
    row = rho_data_Perry_8E_105_l.loc[number]
    return np.array([EQ105(t, *row[["C1", "C2", "C3", "C4"]]) for t in KELVIN]) * grams / 1000


def package_viscosities(name):
    """Return two correlations of the dynamic viscosity from `chemicals` [Pa s]."""
    number = PURE[name][0]
    one, two = mu_data_Perrys_8E_2_313.loc[number], mu_data_VDI_PPDS_7.loc[number]
    yield np.array([EQ101(t, *one[["C1", "C2", "C3", "C4", "C5"]]) for t in KELVIN])
    yield np.array([PPDS9(t, *two[["A", "B", "C", "D", "E"]]) for t in KELVIN])


# --- kinematic_viscosity ---
NU = {"nu_20": 3.5 * CST, "nu_40": 2.4 * CST, "temperature": 300.0}


@pytest.mark.parametrize("name", PURE)
def test_viscosity_against_a_general_package(name):
    # two correlations of `chemicals`, for the line's law: both ends given, between and beyond
    for mu in package_viscosities(name):
        nu = mu / package_density(name)
        assert_allclose(kinematic_viscosity(nu[1], nu[4], KELVIN), nu, rtol=0.015)
    # and the kit's own table against them; they differ by 1.3 % among themselves
    fluid = shipped_dielectrics()[name]
    ours = kinematic_viscosity(fluid.kinematic_viscosity_20, fluid.kinematic_viscosity_40, KELVIN)
    for mu in package_viscosities(name):
        assert_allclose(ours, mu / package_density(name), rtol=0.025)


def test_viscosity_of_water():
    # `chemicals`, IAPWS 2008, at 60 °C: 0.466 mPa s over 983.2 kg/m³; the law is for oils
    true = chemicals.viscosity.mu_IAPWS(333.15, 983.2) / 983.2
    water = dielectric("water_di")
    ours = kinematic_viscosity(water.kinematic_viscosity_20, water.kinematic_viscosity_40, 333.15)
    assert_allclose(ours / true, 1.05, atol=0.01)


@given(cold=st.floats(1.2, 50), thinner=st.floats(0.4, 0.95), celsius=st.floats(0, 69))
def test_viscosity_meets_both_points_and_falls(cold, thinner, celsius):
    warm = max(cold * thinner, 0.45)
    ends = kinematic_viscosity(cold * CST, warm * CST, ZERO_CELSIUS + np.array([20.0, 40.0]))
    assert_allclose(ends / CST, [cold, warm], rtol=1e-9)
    here, warmer = kinematic_viscosity(
        cold * CST, warm * CST, ZERO_CELSIUS + np.array([celsius, celsius + 1])
    )
    assert 0 < warmer < here


def test_viscosity_keeps_shapes():
    keeps_shapes(kinematic_viscosity, **NU)


@pytest.mark.parametrize("name", NU)
def test_viscosity_refuses(name):
    refuses(kinematic_viscosity, NU, name)


def test_viscosity_refuses_celsius_centistokes_and_swapped_points():
    with pytest.raises(Refusal, match=r"temperature must be .* 25 °C is 298.15 K"):
        kinematic_viscosity(3.5 * CST, 2.4 * CST, 25)
    with pytest.raises(Refusal, match=r"nu_20 must be .* mm²/s, got 3.5e"):
        kinematic_viscosity(3.5, 2.4, 300)
    with pytest.raises(Refusal, match=r"nu_40 must be less than nu_20: .* Swap"):
        kinematic_viscosity(2.4 * CST, 3.5 * CST, 300)


# --- density_at ---
RHO = {"density_20": 796.0, "temperature": 300.0}


@pytest.mark.parametrize("name", PURE)
def test_density_against_a_general_package(name):
    # `chemicals`, correlation of Perry's handbook
    package = package_density(name)
    assert_allclose(density_at(package[1], KELVIN), package, rtol=2e-3)


def test_density_of_the_shipped_fluids():
    # the tables' own 15 °C values; water apart
    for fluid in map(dielectric, dielectrics()):
        if fluid.is_hydrocarbon:
            cold = fluid.properties["density_15"].value
            assert_allclose(density_at(fluid.density, 288.15), cold, rtol=1e-3)


@given(rho=st.floats(600, 1500), celsius=st.floats(0, 69))
def test_density_falls_with_temperature(rho, celsius):
    assert density_at(rho, 274.15 + celsius) < density_at(rho, 273.15 + celsius)
    assert_allclose(density_at(rho, 293.15), rho, rtol=1e-12)


def test_density_keeps_shapes():
    keeps_shapes(density_at, **RHO)


@pytest.mark.parametrize("name", RHO)
def test_density_refuses(name):
    refuses(density_at, RHO, name)


# --- standing_height ---
def test_standing_height_by_hand():
    # a physical atmosphere holds 10.33 m of water at 1000 kg/m³, a school figure
    assert_allclose(standing_height(101_325, 1000), 10.332, atol=0.001)
    # 1 m of oil is about 7.7 kPa: 785 kg/m³ x 9.81 m/s²
    assert_allclose(standing_height(7.7 * kPa, 785), 1.0, rtol=5e-3)


@given(push=st.floats(1, 1e5), rho=st.floats(600, 1500))
def test_standing_height_and_pressure_are_each_others_inverse(push, rho):
    high = standing_height(push, rho)
    assert_allclose(pressure_of(high, rho), push, rtol=1e-12)
    assert_allclose(standing_height(push, 1.2 * rho), high / 1.2, rtol=1e-12)


def test_standing_height_keeps_shapes():
    keeps_shapes(standing_height, pressure=20 * kPa, density=796.0)


@pytest.mark.parametrize("name", ["pressure", "density"])
def test_standing_height_refuses(name):
    refuses(standing_height, {"pressure": 20 * kPa, "density": 796.0}, name)


# --- pressure_of ---
def test_pressure_of_a_metre_of_oil():
    # about 7.7 kPa, by hand: 785 x 9.80665
    assert_allclose(pressure_of(1.0, 785) / kPa, 7.698, atol=0.001)


def test_pressure_of_keeps_shapes():
    keeps_shapes(pressure_of, height=0.3, density=796.0)


@pytest.mark.parametrize("name", ["height", "density"])
def test_pressure_of_refuses(name):
    refuses(pressure_of, {"height": 0.3, "density": 796.0}, name)


def test_pressure_of_refuses_millimetres():
    with pytest.raises(Refusal, match=r"height must be 0 to 100 m, got 250 m: 250 mm is 0.25 m"):
        pressure_of(250, 796)


# --- suction_limit ---
def test_suction_limit_by_hand():
    # oils: gas comes out first, at 80 kPa (assumption)
    assert_allclose(suction_limit([1.2, 300]) / kPa, 80, rtol=1e-12)
    # water at 60 °C boils at 19.9 kPa (steam tables): 101.325 - 19.9 - 10 kPa of margin
    assert_allclose(suction_limit(19.9 * kPa) / kPa, 71.4, atol=0.05)
    # at 2000 m the air has 79.5 kPa (ISO 2533 standard atmosphere): oil there stands 69.5
    assert_allclose(suction_limit(1.2, 79.5 * kPa) / kPa, 69.5, atol=0.01)


def test_every_shipped_fluid_stands_the_usable_suction():
    # from memory: 10 to 35 kPa are usable
    for fluid in map(dielectric, dielectrics()):
        for vapour in (fluid.vapour_pressure_20, fluid.vapour_pressure_40):
            assert 35 * kPa < suction_limit(vapour) <= 80 * kPa


@given(vapour=st.floats(0, 5e4), air=st.floats(6e4, 1.1e5))
def test_suction_limit_leaves_the_fluid_above_its_vapour_pressure(vapour, air):
    assert air - suction_limit(vapour, air) >= vapour + 9.99 * kPa


def test_suction_limit_keeps_shapes():
    keeps_shapes(suction_limit, vapour_pressure=30 * kPa, atmosphere=90 * kPa)


@pytest.mark.parametrize("name", ["vapour_pressure", "atmosphere"])
def test_suction_limit_refuses(name):
    refuses(suction_limit, {"vapour_pressure": 1 * kPa, "atmosphere": 101 * kPa}, name)
