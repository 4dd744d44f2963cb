"""What one electrical pulse delivers: energy, duty, frequency, current."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses, refuses_microseconds
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.pulse import (
    duty_factor,
    pulse_energy,
    pulse_frequency,
    reached_current,
    spark_current,
)
from edmkit.units import mJ, mm2, us

TEXTBOOK = {row["id"]: row for row in read_rows("standard_textbook_examples.csv")}


def answer(example):
    """Return the first number of a textbook example's answer."""
    return float(TEXTBOOK[example]["answer"].split()[0])


# --- pulse_energy ---
ENERGY = {"discharge_voltage": 25.0, "peak_current": 10.0, "discharge_duration": 100 * us}


def test_energy_of_the_textbook_pulse():
    # textbook example P1: 25 V, 10 A, 100 µs
    assert_allclose(pulse_energy(**ENERGY), answer("P1") * mJ, rtol=1e-12)


def test_energies_of_the_published_conditions():
    # DiBitonto et al. (1989), J. Appl. Phys. 66, 4095: end values 0.33 and 952 mJ
    assert_allclose(pulse_energy(25, [2.34, 68], [5.6 * us, 560 * us]) / mJ, [0.33, 952], rtol=0.01)


@pytest.mark.parametrize("name", ENERGY)
def test_energy_doubles_with_each_of_its_factors(name):
    doubled = pulse_energy(**ENERGY | {name: 2 * ENERGY[name]})
    assert_allclose(doubled, 2 * pulse_energy(**ENERGY), rtol=1e-12)


def test_energy_keeps_shapes():
    keeps_shapes(pulse_energy, **ENERGY)


@pytest.mark.parametrize("name", ENERGY)
def test_energy_refuses(name):
    refuses(pulse_energy, ENERGY, name)


def test_energy_refuses_microseconds():
    refuses_microseconds(pulse_energy, ENERGY, "discharge_duration")


# --- duty_factor ---
TIMES = {"on_time": 100 * us, "off_time": 50 * us}


def test_duty_factor_of_the_textbook_pulse():
    # textbook example P2: 20 A peak, 100 µs on, 50 µs off, 2 cm²: 13.33 A mean, 6.67 A/cm²
    mean = 20 * duty_factor(**TIMES)
    assert_allclose(mean, answer("P2"), atol=0.005)
    assert_allclose(mean / (200 * mm2) * 1e-4, 6.67, atol=0.005)
    # trade page: 100 µs on with 25 µs off is called 80 %
    assert_allclose(duty_factor(100 * us, 25 * us), 0.80, rtol=1e-12)


@given(on=st.floats(0.1, 1e4), off=st.floats(0.1, 1e4))
def test_duty_factor_and_its_opposite_make_one(on, off):
    share = duty_factor(on * us, off * us)
    assert 0 < share < 1
    assert_allclose(share + duty_factor(off * us, on * us), 1, rtol=1e-12)
    assert_allclose(duty_factor(1.5 * on * us, 1.5 * off * us), share, rtol=1e-12)


def test_duty_factor_keeps_shapes():
    keeps_shapes(duty_factor, **TIMES)


@pytest.mark.parametrize("name", TIMES)
def test_duty_factor_refuses(name):
    refuses(duty_factor, TIMES, name)
    refuses_microseconds(duty_factor, TIMES, name)


# --- pulse_frequency ---
PERIOD = {"on_time": 72.2 * us, "off_time": 38.9 * us, "ignition_delay": 10 * us}


def test_frequency_of_the_1967_thesis():
    # Juvkam-Wold (1967), SM thesis, abstract: 9 kHz at a duty of 65 %
    assert_allclose(pulse_frequency(72.2 * us, 38.9 * us), 9e3, rtol=0.001)


def test_frequency_falls_with_every_time():
    base = pulse_frequency(**PERIOD)
    for name in PERIOD:
        assert pulse_frequency(**PERIOD | {name: 2 * PERIOD[name]}) < base
    halved = pulse_frequency(**{name: 2 * time for name, time in PERIOD.items()})
    assert_allclose(halved, base / 2, rtol=1e-12)
    assert_allclose(1 / base, (72.2 + 38.9 + 10) * us, rtol=1e-12)


def test_frequency_keeps_shapes():
    keeps_shapes(pulse_frequency, **PERIOD)


@pytest.mark.parametrize("name", PERIOD)
def test_frequency_refuses(name):
    refuses(pulse_frequency, PERIOD, name)
    refuses_microseconds(pulse_frequency, PERIOD, name)


# --- reached_current ---
CLIMB = {"peak_current": 30.0, "on_time": 2 * us, "current_rise": 1e7}


def test_current_reached_by_a_short_pulse():
    # exact by hand: 2 µs at 10 A/µs is 20 A, 3 µs is the whole tap of 30 A
    assert_allclose(reached_current(30, [2 * us, 3 * us, 50 * us], 1e7), [20, 30, 30], rtol=1e-12)


@given(peak=st.floats(0.1, 100), on=st.floats(0.1, 1000), rise=st.floats(1e5, 1e9))
def test_current_never_exceeds_tap_nor_climb(peak, on, rise):
    reached = reached_current(peak, on * us, rise)
    assert reached <= peak and reached <= rise * on * us * (1 + 1e-12)
    assert reached == pytest.approx(peak) or reached == pytest.approx(rise * on * us)


def test_reached_current_keeps_shapes():
    keeps_shapes(reached_current, **CLIMB)


@pytest.mark.parametrize("name", CLIMB)
def test_reached_current_refuses(name):
    refuses(reached_current, CLIMB, name)


def test_reached_current_refuses_microseconds_and_amps_per_microsecond():
    refuses_microseconds(reached_current, CLIMB, "on_time")
    with pytest.raises(Refusal, match=r"current_rise must be .*: 10 A/µs is 1e7 A/s"):
        reached_current(30, 2 * us, 10)


# --- spark_current ---
RESISTOR = {
    "short_circuit_current": 10.0,
    "supply_voltage": 100.0,
    "discharge_voltage": 25.0,
}


def test_spark_current_behind_a_resistor():
    # Ohm's law by hand: 35/60, 75/100 and 125/150 of the short-circuit amps at 25 V
    shares = spark_current(1.0, [60, 100, 150], 25)
    assert_allclose(shares, [0.58, 0.75, 0.83], atol=0.005)


def test_first_charging_current_of_the_exam_paper():
    # textbook example R10: 250 ohm behind 75 V give 0.30 A; at 25 V two thirds of it are left
    assert_allclose(spark_current(answer("R10"), 75, 25), 50 / 250, rtol=1e-12)


def test_spark_current_is_the_short_circuit_current_of_a_stiff_supply():
    supplies = np.geomspace(30, 900, 40)
    amps = spark_current(10, supplies, 25)
    assert (np.diff(amps) > 0).all() and (amps < 10).all()
    assert_allclose(spark_current(20, supplies, 25), 2 * amps, rtol=1e-12)


def test_spark_current_keeps_shapes():
    keeps_shapes(spark_current, **RESISTOR)


@pytest.mark.parametrize("name", RESISTOR)
def test_spark_current_refuses(name):
    refuses(spark_current, RESISTOR, name)


def test_spark_current_refuses_a_supply_below_the_discharge():
    for supply in (25, 20):
        with pytest.raises(Refusal, match="raise the supply voltage"):
            spark_current(10, supply, 25)
