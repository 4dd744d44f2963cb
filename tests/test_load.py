"""A resistor in place of the spark and a capacitor that empties: Ohm, Joule, decay."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from test_pulse import answer

from edmkit.checks import Refusal
from edmkit.physics.load import (
    bleed_resistance,
    charge_energy,
    discharge_time,
    driving_voltage,
    first_heat,
    load_current,
    load_resistance,
    mean_heat,
)
from edmkit.units import uF

AMPS, OHMS, VOLTS = st.floats(0.1, 100), st.floats(0.1, 100), st.floats(30, 300)

# --- load_resistance ---
SPARK = {"spark_current": 10.0, "drop": 25.0}


def test_resistor_that_drops_as_much_as_a_spark():
    # Ohm's law by hand: 25 V at 1, 10 and 50 A
    assert_allclose(load_resistance([1, 10, 50]), [25, 2.5, 0.5], rtol=1e-12)


@given(amps=AMPS, drop=st.floats(5, 50))
def test_drop_comes_back_as_amps_times_ohms(amps, drop):
    assert_allclose(load_resistance(amps, drop) * amps, drop, rtol=1e-12)


def test_load_resistance_keeps_shapes():
    keeps_shapes(load_resistance, **SPARK)


@pytest.mark.parametrize("name", SPARK)
def test_load_resistance_refuses(name):
    refuses(load_resistance, SPARK, name)


# --- load_current ---
LOADED = {"short_circuit_current": 10.0, "resistance": 2.5, "driving_voltage": 100.0}


def test_current_through_a_load_of_a_textbook_source():
    # circuit theory, a source with an inner resistance: 100 V behind 10 ohm (10 A short) give
    # 100 / (10 + 2.5) = 8 A through 2.5 ohm; 60 V behind 6 ohm give 60 / 8.5 = 7.06 A
    assert_allclose(load_current(10, 2.5, [100, 60]), [8, 7.0588], atol=5e-5)


@given(short=AMPS, ohm=OHMS, volts=VOLTS)
def test_source_shares_its_voltage_between_inner_and_outer_resistance(short, ohm, volts):
    amps = load_current(short, ohm, volts)
    assert 0 < amps < short
    assert_allclose(amps * (volts / short + ohm), volts, rtol=1e-12)
    # a load as large as the inner resistance halves the current
    assert_allclose(load_current(short, volts / short, volts), short / 2, rtol=1e-12)


def test_load_current_keeps_shapes():
    keeps_shapes(load_current, **LOADED)


@pytest.mark.parametrize("name", LOADED)
def test_load_current_refuses(name):
    refuses(load_current, LOADED, name)


# --- driving_voltage ---
READ = {"short_circuit_current": 10.0, "load_current": 8.0, "resistance": 2.5}


def test_driving_voltage_of_the_textbook_source():
    # circuit theory by hand: 10 A short and 8 A through 2.5 ohm: 20 V stand across the load, the
    # missing 2 A are a fifth of the source, so it has 100 V; half the current: twice the drop
    assert_allclose(driving_voltage(10, [8, 5], 2.5), [100, 25], rtol=1e-12)


@given(short=AMPS, ohm=OHMS, volts=VOLTS)
def test_driving_voltage_undoes_the_load(short, ohm, volts):
    if ohm * short < 1e-3 * volts:
        return
    found = driving_voltage(short, load_current(short, ohm, volts), ohm)
    assert_allclose(found, volts, rtol=1e-9)


def test_means_at_one_duty_give_the_voltage_times_the_duty():
    assert_allclose(driving_voltage(10 * 0.6, 8 * 0.6, 2.5) / 0.6, 100, rtol=1e-12)


def test_an_error_of_the_readings_grows_as_the_notes_say():
    # a fifth taken off: 1 % in the load reading is 5 %, 1 % in the short reading is 4 %
    assert_allclose(driving_voltage(10, 8 * 1.0001, 2.5) / 100 - 1, 5e-4, rtol=0.01)
    assert_allclose(driving_voltage(10 * 1.0001, 8, 2.5) / 100 - 1, -4e-4, rtol=0.01)


def test_driving_voltage_keeps_shapes():
    keeps_shapes(driving_voltage, **READ)


@pytest.mark.parametrize("name", READ)
def test_driving_voltage_refuses(name):
    refuses(driving_voltage, READ, name)


@pytest.mark.parametrize("loaded", [10.0, 10.4])
def test_a_current_that_does_not_fall_is_regulated(loaded):
    with pytest.raises(Refusal, match="does not fall, so the machine regulates it"):
        driving_voltage(10, loaded, 2.5)


# --- mean_heat ---
HEAT = {"current": 10.0, "resistance": 2.7, "duty": 0.5}


def test_heat_by_hand():
    # Joule's law by hand: 10 x 10 x 2.7 = 270 W while on, 135 W at half the time
    assert_allclose(mean_heat(10, 2.7, [1, 0.5]), [270, 135], rtol=1e-12)


@given(amps=AMPS, ohm=OHMS, on=st.integers(1, 99))
def test_heat_is_the_mean_over_the_pulses(amps, ohm, on):
    current = np.where(np.arange(100) < on, amps, 0.0)  # a pulse of 100 equal steps
    watts = mean_heat(amps, ohm, on / 100)
    assert_allclose(watts, np.mean(current**2 * ohm), rtol=1e-12)
    assert watts > current.mean() ** 2 * ohm  # what the ammeter's mean would give


def test_mean_heat_keeps_shapes():
    keeps_shapes(mean_heat, **HEAT)


@pytest.mark.parametrize("name", HEAT)
def test_mean_heat_refuses(name):
    refuses(mean_heat, HEAT, name)


def test_mean_heat_refuses_a_duty_over_one():
    with pytest.raises(Refusal, match=r"duty must be 0 to 1, got 1\.2: duty is a share"):
        mean_heat(10, 2.7, 1.2)


# --- charge_energy ---
CHARGE = {"capacitance": 100 * uF, "voltage": 80.0}


def test_charge_of_the_textbook_capacitors():
    # textbook examples R1 (80 V, 100 µF), GM1 (150 V, 10 µF) and R4 (0.5 J at 71.6 V)
    assert_allclose(charge_energy(100 * uF, 80), answer("R1"), rtol=1e-12)
    assert_allclose(charge_energy(10 * uF, 150), answer("GM1"), rtol=1e-9)
    assert_allclose(charge_energy(answer("R4") * uF, 71.6), 0.5, rtol=1e-3)


@given(size=st.floats(0.01, 1e4), volts=st.floats(1, 1000))
def test_charge_is_the_work_of_filling_it(size, volts):
    steps = np.linspace(0, volts, 1001)
    work = np.trapezoid(steps, size * uF * steps)  # voltage over charge
    assert_allclose(charge_energy(size * uF, volts), work, rtol=1e-9)
    halves = charge_energy(size * uF / 2, volts)
    assert_allclose(charge_energy(size * uF, volts), 2 * halves, rtol=1e-12)


def test_charge_energy_keeps_shapes():
    keeps_shapes(charge_energy, **CHARGE)


@pytest.mark.parametrize("name", CHARGE)
def test_charge_energy_refuses(name):
    refuses(charge_energy, CHARGE, name)


def test_charge_energy_refuses_microfarads():
    with pytest.raises(Refusal, match=r"capacitance must be .* got 10 F: 10 µF is 1e-5 F"):
        charge_energy(10, 80)


# --- discharge_time ---
FALL = {"capacitance": 100 * uF, "resistance": 10e3, "voltage": 300.0, "safe_voltage": 60.0}


def test_discharge_by_hand():
    # circuit theory: 10 kohm x 100 µF = 1 s; to a half 0.693 of it, to a fifth 1.609
    assert_allclose(discharge_time(100 * uF, 10e3, [120, 300], 60), [0.6931, 1.6094], atol=5e-5)


def test_discharge_against_the_equation_stepped_through():
    volts, step, elapsed = 300.0, 1e-5, 0.0
    while volts > 60:
        volts -= step * volts / (10e3 * 100 * uF)  # dV/dt = -V / RC
        elapsed += step
    assert_allclose(discharge_time(**FALL), elapsed, rtol=1e-4)


@given(start=st.floats(200, 1000), between=st.floats(80, 190))
def test_discharge_in_two_stretches_takes_as_long_as_in_one(start, between):
    whole = discharge_time(10 * uF, 1e3, start, 50)
    parts = discharge_time(10 * uF, 1e3, [start, between], [between, 50])
    assert_allclose(parts.sum(), whole, rtol=1e-12)


def test_discharge_time_keeps_shapes():
    keeps_shapes(discharge_time, **FALL)


@pytest.mark.parametrize("name", FALL)
def test_discharge_time_refuses(name):
    refuses(discharge_time, FALL, name)


@pytest.mark.parametrize("volts", [40.0, 50.0])
def test_a_safe_capacitor_needs_no_resistor(volts):
    with pytest.raises(Refusal, match="needs no resistor"):
        discharge_time(100 * uF, 10e3, volts, 50)


# --- bleed_resistance ---
BLEED = {"capacitance": 100 * uF, "voltage": 300.0, "safe_voltage": 50.0, "time": 5.0}


def test_bleed_resistor_by_hand():
    # circuit theory: 5 s / (100 µF x ln 6) = 5 / 1.7918e-4 = 27.9 kohm
    assert_allclose(bleed_resistance(**BLEED) / 1e3, 27.905, atol=5e-3)


@given(size=st.floats(1, 1e4), volts=st.floats(60, 500), seconds=st.floats(0.5, 60))
def test_bleed_resistor_leaves_the_safe_voltage(size, volts, seconds):
    ohm = bleed_resistance(size * uF, volts, 50, seconds)
    assert_allclose(volts * np.exp(-seconds / (ohm * size * uF)), 50, rtol=1e-9)


def test_bleed_resistance_keeps_shapes():
    keeps_shapes(bleed_resistance, **BLEED)


@pytest.mark.parametrize("name", BLEED)
def test_bleed_resistance_refuses(name):
    refuses(bleed_resistance, BLEED, name)


# --- first_heat ---
TOUCH = {"voltage": 300.0, "resistance": 900.0}


def test_first_heat_by_hand():
    # Joule's law by hand: 300 x 300 / 900; and a heater of 1 kW on 230 V has 52.9 ohm
    assert_allclose(first_heat([300, 230], [900, 52.9]), [100, 1000], rtol=1e-12)


@given(size=st.floats(1, 1e4), volts=st.floats(60, 500), ohm=st.floats(10, 1e4))
def test_first_heat_dying_away_is_the_charge(size, volts, ohm):
    # heat falls with e to the minus 2 t / RC: its sum is the first heat times RC / 2
    sums = first_heat(volts, ohm) * ohm * size * uF / 2
    assert_allclose(sums, charge_energy(size * uF, volts), rtol=1e-12)


def test_first_heat_keeps_shapes():
    keeps_shapes(first_heat, **TOUCH)


@pytest.mark.parametrize("name", TOUCH)
def test_first_heat_refuses(name):
    refuses(first_heat, TOUCH, name)
