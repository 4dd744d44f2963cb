"""A relaxation circuit: how its capacitor charges, what its spark is, where its power is best."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.relaxation import (
    BEST_BREAKDOWN_SHARE,
    charging,
    relative_power,
    relaxation_spark,
)
from edmkit.units import minute, ms, uF, uH, us

TEXTBOOK = {row["id"]: row for row in read_rows("standard_textbook_examples.csv")}


def answer(example):
    """Return the first number of a textbook example's answer."""
    return float(TEXTBOOK[example]["answer"].split()[0])


# --- charging ---
CHARGE = {"resistance": 50.0, "capacitance": 10 * uF, "supply_voltage": 200.0, "time": 0.4 * ms}


def test_charging_of_the_lecture_series():
    # textbook example R2: 100 µF behind 4.153 ohm stand at 70 V of 100 V after 500 µs
    assert_allclose(charging(answer("R2"), 100 * uF, 100, 500 * us).voltage, 70, rtol=1e-4)
    # textbook example R3: 10 ohm and 200 µF reach 0.716 of the supply in 2.518 ms
    reached = charging(10, 200 * uF, 100, answer("R3") * ms).voltage
    assert_allclose(reached, 71.6, rtol=1e-4)
    # textbook example GM2: 50 ohm and 10 µF reach 150 V of 200 V in 0.6931 ms
    assert_allclose(charging(50, 10 * uF, 200, answer("GM2") * ms).voltage, 150, rtol=1e-4)


def test_first_charging_current_of_the_exam_paper():
    # textbook example R10: 250 ohm behind 75 V
    assert_allclose(charging(250, 1 * uF, 75, 0).current, answer("R10"), rtol=1e-12)


def test_an_outside_root_finder_meets_the_charge_time():
    # scipy's brentq on the curve, against the logarithm of the spark
    found = brentq(lambda t: charging(50, 10 * uF, 200, t).voltage - 150, 0, 10 * ms, xtol=1e-12)
    assert_allclose(relaxation_spark(50, 10 * uF, 200, 150).charge_time, found, rtol=1e-7)


@given(share=st.floats(0.05, 0.98), farads=st.floats(1e-9, 1e-4), ohms=st.floats(1, 1000))
def test_charging_keeps_charge_and_energy(share, farads, ohms):
    supply, fires = 120.0, 120.0 * share
    spark = relaxation_spark(ohms, farads, supply, fires)
    end = spark.charge_time

    def through(power):  # scipy's quadrature of what flows, over the time of one charging
        def flows(part):
            now = charging(ohms, farads, supply, part * end)
            return now.current * power(now)

        return end * quad(flows, 0, 1)[0]

    charge = through(lambda now: 1.0)
    given_off, heat = through(lambda now: supply), through(lambda now: ohms * now.current)
    assert_allclose(charge, farads * fires, rtol=1e-7)  # all of it is on the capacitor
    assert_allclose(given_off, farads * fires * supply, rtol=1e-7)
    assert_allclose(given_off, spark.energy + heat, rtol=1e-7)
    assert_allclose(spark.power * end, spark.energy, rtol=1e-12)


def test_charging_obeys_its_resistor_at_every_moment():
    times = np.geomspace(1e-7, 1e-2, 50)
    now = charging(50, 10 * uF, 200, times)
    assert_allclose(now.voltage + 50 * now.current, 200, rtol=1e-12)
    assert (np.diff(now.voltage) > 0).all() and (np.diff(now.current) < 0).all()
    # early on it climbs straight, V t / RC: exact in the limit
    assert_allclose(charging(50, 10 * uF, 200, 1e-12).voltage, 200 * 1e-12 / 5e-4, rtol=1e-8)


def test_charging_keeps_shapes():
    keeps_shapes(charging, **CHARGE)


@pytest.mark.parametrize("name", CHARGE)
def test_charging_refuses(name):
    refuses(charging, CHARGE, name)


def test_charging_refuses_microseconds():
    with pytest.raises(Refusal, match="times are seconds here: 1e-3 is 1 ms"):
        charging(**CHARGE | {"time": 2e6})


# --- relative_power ---
@pytest.mark.parametrize("example", [name for name in TEXTBOOK if name.startswith("R9_")])
def test_relative_power_of_the_textbooks(example):
    # textbook examples R9: power over the best power
    share = float(example.removeprefix("R9_"))
    assert_allclose(relative_power(share), answer(example), atol=6e-5)


def test_relative_power_is_best_where_an_outside_search_finds_it():
    # scipy's bounded search on the power of whole sparks; brentq on the derivative's root
    watts = lambda x: -float(relaxation_spark(10, 1 * uF, 100, 100 * x).power)  # noqa: E731
    found = minimize_scalar(watts, bounds=(0.3, 0.95), method="bounded", options={"xatol": 1e-9})
    assert_allclose(found.x, BEST_BREAKDOWN_SHARE, atol=1e-6)
    root = brentq(lambda x: -2 * np.log1p(-x) - x / (1 - x), 0.5, 0.9, xtol=1e-15)
    assert_allclose(BEST_BREAKDOWN_SHARE, root, rtol=1e-14)
    assert_allclose(relative_power(root), 1, rtol=1e-14)


@given(share=st.floats(0.002, 0.998), ohms=st.floats(1, 1000), supply=st.floats(30, 300))
def test_relative_power_is_that_of_whole_sparks(share, ohms, supply):
    # whatever resistor and supply: 0.20363 V²/R is the most (textbook example R8)
    made = relaxation_spark(ohms, 1 * uF, supply, max(share * supply, 1))
    most = answer("R8") * supply**2 / ohms
    assert_allclose(relative_power(max(share, 1 / supply)), made.power / most, rtol=4e-5)
    assert 0 < relative_power(share) <= 1


def test_relative_power_falls_to_both_sides():
    powers = relative_power(np.linspace(0.01, 0.99, 99))
    assert (np.diff(powers[:71]) > 0).all() and (np.diff(powers[72:]) < 0).all()
    # exact: x²/ln(1/(1-x)) is x for a small x
    assert_allclose(relative_power(0.002) / relative_power(0.001), 2, rtol=1e-3)


def test_relative_power_keeps_shapes():
    keeps_shapes(relative_power, breakdown_share=0.6)


def test_relative_power_refuses():
    refuses(relative_power, {"breakdown_share": 0.7}, "breakdown_share")
    with pytest.raises(Refusal, match="set a smaller gap"):
        relative_power(1.0)


# --- relaxation_spark ---
CIRCUIT = {
    "resistance": 50.0,
    "capacitance": 10 * uF,
    "supply_voltage": 200.0,
    "breakdown_voltage": 150.0,
    "inductance": 1 * uH,
}


def test_relaxation_circuit_of_the_drilling_example():
    # textbook examples GM1 to GM3: 50 ohm, 10 µF, 200 V, fires at 150 V
    spark = relaxation_spark(**CIRCUIT)
    assert_allclose(spark.energy, answer("GM1"), rtol=1e-9)
    assert_allclose(spark.charge_time / ms, answer("GM2"), atol=5e-5)
    assert_allclose(spark.power, answer("GM3"), atol=0.05)


def test_removal_rate_of_the_drilling_example():
    # textbook examples GM4 and GM5: Q = 27.4 W^1.54 mm³/min, 500 mm³ in 300 min
    removal = 27.4 * (relaxation_spark(**CIRCUIT).power / 1e3) ** 1.54
    assert_allclose(removal, answer("GM4"), atol=0.0006)
    assert_allclose(500 / removal, answer("GM5"), atol=0.5)


def test_relaxation_energy_of_the_lecture_series():
    # textbook example R1: 100 µF at 80 V
    assert_allclose(relaxation_spark(10, 100 * uF, 100, 80).energy, answer("R1"), rtol=1e-9)


def test_relaxation_charge_times_of_the_lecture_series():
    # textbook example R2: 4.153 ohm charge 100 µF from 100 V to 70 V in 500 µs
    spark = relaxation_spark(answer("R2"), 100 * uF, 100, 70)
    assert_allclose(spark.charge_time, 500 * us, rtol=2e-4)
    # textbook example R3: 10 ohm, 200 µF, to 0.716 of the supply
    spark = relaxation_spark(10, 200 * uF, 100, 71.6)
    assert_allclose(spark.charge_time / ms, answer("R3"), atol=6e-4)


def test_relaxation_capacitor_for_half_a_joule():
    # textbook example R4: 195.1 µF at 71.6 V
    assert_allclose(relaxation_spark(10, answer("R4") * uF, 100, 71.6).energy, 0.5, rtol=3e-4)


def test_relaxation_best_breakdown():
    # textbook examples R6, R7, R8: share, charge time and power of the best breakdown
    assert_allclose(BEST_BREAKDOWN_SHARE, answer("R6"), atol=5e-6)
    best = relaxation_spark(1.0, 1.0, 100, 100 * BEST_BREAKDOWN_SHARE)
    assert_allclose(best.charge_time, answer("R7"), atol=6e-6)
    assert_allclose(best.power / 100**2, answer("R8"), atol=5e-6)


def test_relaxation_discharge_rings_as_a_loop_of_coil_and_capacitor():
    # exact: 1 µF and 1 µH have a half period of pi µs and a wave resistance of 1 ohm
    spark = relaxation_spark(50, 1 * uF, 200, 150, 1 * uH)
    assert_allclose(spark.duration, np.pi * us, rtol=1e-12)
    assert_allclose(spark.peak_current, 150, rtol=1e-12)


@given(share=st.floats(0.05, 0.99), supply=st.floats(50, 300), farads=st.floats(1e-9, 1e-3))
def test_relaxation_book_keeping(share, supply, farads):
    spark = relaxation_spark(20, farads, supply, share * supply)
    best = relaxation_spark(20, farads, supply, BEST_BREAKDOWN_SHARE * supply)
    assert spark.power <= best.power * (1 + 1e-12)
    # the resistor turns into heat at least half of what the supply gives: E < V q / 2
    assert spark.energy < farads * supply**2 * share / 2
    # the half wave of the discharge carries the charge twice: it turns the capacitor round
    carried = 2 / np.pi * spark.peak_current * spark.duration
    assert_allclose(carried, 2 * farads * share * supply, rtol=1e-9)


def test_relaxation_energy_grows_with_the_square_of_the_voltage():
    low, high = relaxation_spark(20, 1 * uF, 300, [50, 100]).energy
    assert_allclose(high, 4 * low, rtol=1e-12)
    assert minute > relaxation_spark(**CIRCUIT).charge_time > relaxation_spark(**CIRCUIT).duration


def test_relaxation_keeps_shapes():
    keeps_shapes(relaxation_spark, **CIRCUIT)


@pytest.mark.parametrize("name", CIRCUIT)
def test_relaxation_refuses(name):
    refuses(relaxation_spark, CIRCUIT, name, match=name)


def test_relaxation_refuses_microfarads_and_a_gap_that_never_fires():
    with pytest.raises(Refusal, match=r"capacitance must be .*: 10 µF is 1e-5 F"):
        relaxation_spark(**CIRCUIT | {"capacitance": 10})
    with pytest.raises(Refusal, match="set a smaller gap"):
        relaxation_spark(**CIRCUIT | {"breakdown_voltage": 200})
