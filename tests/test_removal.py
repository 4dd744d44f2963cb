"""How fast metal goes: yield, rate, the handbook formula, the current an end bears."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses, refuses_microseconds
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.removal import (
    ELECTRODE_FACTOR,
    current_limit,
    melting_point_rate,
    melts_usefully,
    removal_rate,
    removal_yield,
)
from edmkit.units import cm2, inch, minute, mm, mm2, mm3, mm3_per_min, um3, us

TEXTBOOK = {row["id"]: row for row in read_rows("standard_textbook_examples.csv")}


def answer(example):
    """Return the first number of a textbook example's answer."""
    return float(TEXTBOOK[example]["answer"].split()[0])


# --- removal_yield ---
def test_yield_lies_in_the_published_spread():
    # spread of published rates against the heat model: 0.3-2 on 1 cm² and more with open
    # flushing (Yahya 2011, Juvkam-Wold 1967), 0.03-0.1 with tubes of 2 mm (Izwan 2016)
    assert 0.3 <= removal_yield(2 * cm2) <= 2
    assert 0.3 <= removal_yield(1 * cm2) <= 2
    tube = np.pi / 4 * (2.0**2 - 0.8**2) * mm2
    assert 0.03 <= removal_yield(tube) <= 0.1
    assert_allclose(removal_yield([0.05 * cm2, 2 * cm2]), [0.1, 0.7], rtol=1e-12)  # assumption


def test_yield_is_log_linear_between_its_ends():
    # assumption, exact by hand: halfway on the logarithm is the geometric mean, 0.2646
    assert_allclose(removal_yield(np.sqrt(0.05 * 2) * cm2), np.sqrt(0.1 * 0.7), rtol=1e-9)
    areas = np.geomspace(0.01, 1e5, 60) * mm2
    assert (np.diff(removal_yield(areas)) >= 0).all()
    assert_allclose(removal_yield([areas[0], areas[-1]]), [0.1, 0.7], rtol=1e-12)


def test_yield_keeps_shapes():
    keeps_shapes(removal_yield, engaged_area=20 * mm2)


def test_yield_refuses():
    refuses(removal_yield, {"engaged_area": 7 * mm2}, "engaged_area")
    with pytest.raises(Refusal, match=r"engaged_area must be .*: 7 mm² is 7e-6 m²"):
        removal_yield(700)


# --- removal_rate ---
RATE = {"melt_volume": 100_000 * um3, "sparks_per_second": 6000.0, "yield_share": 0.5}


def test_rate_by_hand():
    # 1e5 µm³ x 6000 sparks x 0.5 = 0.3 mm³/s = 18 mm³/min
    assert_allclose(removal_rate(**RATE), 18 * mm3_per_min, rtol=1e-12)


@pytest.mark.parametrize("name", RATE)
def test_rate_doubles_with_each_of_its_factors(name):
    doubled = removal_rate(**RATE | {name: 2 * RATE[name]})
    assert_allclose(doubled, 2 * removal_rate(**RATE), rtol=1e-12)
    assert removal_rate(**RATE | {name: 0}) == 0


def test_rate_keeps_shapes():
    keeps_shapes(removal_rate, **RATE)


@pytest.mark.parametrize("name", RATE)
def test_rate_refuses(name):
    refuses(removal_rate, RATE, name)


def test_rate_refuses_percent_and_cubic_micrometres():
    with pytest.raises(Refusal, match=r"yield_share must be .* got 50: 0\.1 to 0\.7 is usual"):
        removal_rate(**RATE | {"yield_share": 50})
    with pytest.raises(Refusal, match=r"melt_volume must be .* mm³.*: give cubic metres"):
        removal_rate(**RATE | {"melt_volume": 100_000})


# --- melting_point_rate ---
HANDBOOK = {"current": 20.0, "melting_point_celsius": 1500.0}


@pytest.mark.parametrize(
    "example, celsius, half_digit",
    [("G1", 3410, 5e-4), ("G2", 232, 5e-3), ("G3", 660, 5e-4), ("G4", 420, 5e-4)],
)
def test_handbook_rate_of_the_textbook(example, celsius, half_digit):
    # textbook examples G1 to G4: tungsten, tin, aluminium, zinc at 20 A [mm³/s]
    assert_allclose(melting_point_rate(20, celsius) / mm3, answer(example), atol=half_digit)


def test_handbook_rate_in_other_printed_forms():
    # textbook example K1: 4e4 I T^-1.23 mm³/min, with K2: 664 x 60 against 40000
    rate = melting_point_rate(**HANDBOOK)
    assert_allclose(rate / mm3_per_min, answer("K1") * answer("K2"), rtol=1e-3)
    # textbook example G7: 5.08 I T^-1.23 in³/min with °F, 0.8 % apart
    assert_allclose(melting_point_rate(20, 3410) * minute / inch**3, answer("G7"), rtol=0.01)
    # textbook example G6: 10 A, 7 mm plate, kerf 0.165 mm: feed 42.8 mm/min
    feed = melting_point_rate(10, 1500) * minute / (7 * mm * 0.165 * mm)
    assert_allclose(feed / mm, answer("G6"), atol=0.05)


def test_best_rate_of_the_1967_thesis_is_twice_the_handbook_rate():
    # textbook example K3: Juvkam-Wold (1967), 360.5 mm³/min at 35 A
    best = float(read_rows("published_juvkamwold_1967_reverse_polarity.csv")[0]["mrr_mm3_min"])
    ratio = best * mm3_per_min / melting_point_rate(35, 1500)
    assert_allclose(ratio, answer("K3"), atol=0.01)


@given(amps=st.floats(0.1, 100), celsius=st.floats(200, 3500))
def test_handbook_rate_rises_with_current_and_falls_with_melting_point(amps, celsius):
    rate = melting_point_rate(amps, celsius)
    assert_allclose(melting_point_rate(2 * amps, celsius), 2 * rate, rtol=1e-12)
    assert melting_point_rate(amps, 1.1 * celsius) < rate
    assert melting_point_rate(0, celsius) == 0


def test_handbook_rate_keeps_shapes():
    keeps_shapes(melting_point_rate, **HANDBOOK)


@pytest.mark.parametrize("name", HANDBOOK)
def test_handbook_rate_refuses(name):
    refuses(melting_point_rate, HANDBOOK, name)


# --- current_limit ---
END = {"engaged_area": 7.07 * mm2, "engaged_rim": 9.42 * mm, "electrode_factor": 1.0}


def bears(area_mm2, rim_mm, *rest):
    return current_limit(np.asarray(area_mm2) * mm2, np.asarray(rim_mm) * mm, *rest)


def test_current_limits_of_known_ends():
    # common practice, no source; figures of the rule as laid down
    assert_allclose(bears(np.pi / 4 * 3**2, np.pi * 3), 1.9, atol=0.05)  # copper, 3 mm round
    assert_allclose(bears(np.pi / 4 * 20**2, np.pi * 20), 22, atol=0.05)  # copper, 20 mm round
    assert_allclose(bears(0.62, 5), 0.31, atol=0.005)  # a skim: 0.62 mm², rim 5 mm


def test_current_density_of_large_ends_is_in_the_roughing_band():
    # copper roughing 3-10 A/cm², graphite 5-10 A/cm²: from memory
    copper = bears(2000, 160) / 20
    assert 3 <= copper <= 10
    assert 5 <= copper * ELECTRODE_FACTOR["graphite"] <= 10
    assert 1 <= copper * ELECTRODE_FACTOR["brass"] <= 5  # brass 1-5 A/cm², from memory
    # from memory, by hand: 1.885 A for a copper end of 3 mm is 2.45 in graphite, 0.94 in brass
    factors = np.array([ELECTRODE_FACTOR["graphite"], ELECTRODE_FACTOR["brass"]])
    assert_allclose(bears(np.pi / 4 * 3**2, np.pi * 3, factors), [2.45, 0.94], atol=0.005)


@given(area=st.floats(0.01, 1e4), stretch=st.floats(1, 20))
def test_current_limit_rises_with_area_and_rim_and_is_halved_deep_down(area, stretch):
    rim = stretch * 2 * np.sqrt(np.pi * area)  # a circle has the shortest rim of its area
    limit = bears(area, rim)
    assert bears(2 * area, rim) >= limit and bears(area, 2 * rim) >= limit
    assert_allclose(bears(area, rim, 1.0, True), limit / 2, rtol=1e-12)
    assert_allclose(bears(area, rim, 1.3), 1.3 * limit, rtol=1e-12)
    assert limit <= 50 * area / 100 * (1 + 1e-12)  # 50 A/cm², whatever the rim


def test_current_limit_keeps_shapes():
    keeps_shapes(current_limit, **END)


@pytest.mark.parametrize("name", END)
def test_current_limit_refuses(name):
    refuses(current_limit, END, name)


def test_current_limit_refuses_square_millimetres():
    with pytest.raises(Refusal, match="7 mm² is 7e-6 m²"):
        current_limit(700, 9e-3)


# --- melts_usefully ---
USE = {"melt_volume": 1e-13, "on_time": 100 * us, "best_melt_per_second": 2e-9}


def test_a_fifth_of_the_best_is_the_limit():
    # assumption, exact by hand: the best melts 2 mm³/s; 40 µm³ per ns of burning is 0.4 mm³/s
    melts = melts_usefully(np.array([0.39, 0.41, 2.0]) * 1e-13, 100 * us, 2e-9)
    assert melts.tolist() == [False, True, True]


@given(volume=st.floats(1e-18, 1e-12), on=st.floats(0.5, 5000))
def test_the_best_itself_is_useful_and_long_thin_sparks_are_not(volume, on):
    best = volume / (on * us)
    assert melts_usefully(volume, on * us, best)
    assert not melts_usefully(volume, on * us, 5.1 * best)


def test_usefulness_keeps_shapes():
    assert np.ndim(melts_usefully(**USE)) == 0
    assert not isinstance(melts_usefully(**USE), np.ndarray)
    wide = melts_usefully(np.full((2, 1), 1e-13), np.full(3, 100 * us), 2e-9)
    assert wide.shape == (2, 3) and wide.dtype == bool


@pytest.mark.parametrize("name", USE)
def test_usefulness_refuses(name):
    refuses(melts_usefully, USE, name)


def test_usefulness_refuses_microseconds():
    refuses_microseconds(melts_usefully, USE, "on_time")
