"""How far the spark jumps, in front and at the side."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import work_material
from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.gap import debris_diameter, gap_front, gap_side
from edmkit.tables import crater
from edmkit.units import inch, mm, um, um3, us

STEEL = work_material("52100")
ROWS = read_rows("standard_gap_undersize.csv")


def side_um(amps, microseconds, volts):
    """Return the side gap on bearing steel under a positive copper electrode [µm]."""
    spark = crater(np.asarray(amps), np.asarray(microseconds) * us, 25, 0.30, STEEL)
    return gap_side(gap_front(volts), spark.volume) / um


# --- gap_front ---
FRONT = {"open_voltage": 100.0, "breakdown_strength": 5e6}


def test_front_gap_is_in_the_published_range():
    # abstract on gaps in kerosene: 5-50 µm between electrode and work at breakdown
    row = next(row for row in ROWS if row["item"] == "working gap")
    fronts = gap_front(np.array([40, 60, 100, 150, 200])) / mm
    assert (fronts >= float(row["low"])).all() and (fronts <= float(row["high"])).all()


def test_front_gap_by_hand():
    # 100 V at 5 V/µm (assumption) jump 20 µm; at 10 V/µm half of it
    assert_allclose(gap_front([100, 150]) / um, [20, 30], rtol=1e-12)
    assert_allclose(gap_front(100, 10e6) / um, 10, rtol=1e-12)


@given(volts=st.floats(20, 400))
def test_front_gap_doubles_with_voltage_and_halves_with_strength(volts):
    assert_allclose(gap_front(2 * volts), 2 * gap_front(volts), rtol=1e-12)
    assert_allclose(gap_front(volts, 4e6), 2 * gap_front(volts, 8e6), rtol=1e-12)


def test_front_gap_keeps_shapes():
    keeps_shapes(gap_front, **FRONT)


@pytest.mark.parametrize("name", FRONT)
def test_front_gap_refuses(name):
    refuses(gap_front, FRONT, name)


def test_front_gap_refuses_kilovolts_per_millimetre():
    with pytest.raises(Refusal, match=r"breakdown_strength must be .*, got 5 V/m: 5e6"):
        gap_front(100, 5)


# --- debris_diameter ---
def test_debris_ball_by_hand():
    # 0.55 (assumption) of a melt of 1000 µm³: a ball of 550 µm³ is 10.165 µm across
    assert_allclose(debris_diameter(1000 * um3) / um, 10.165, rtol=1e-4)


@given(cubic_micrometres=st.floats(1, 1e7))
def test_debris_ball_holds_what_left(cubic_micrometres):
    across = debris_diameter(cubic_micrometres * um3) / um
    assert_allclose(np.pi / 6 * across**3 / cubic_micrometres, 0.55, rtol=1e-9)
    assert_allclose(debris_diameter(8 * cubic_micrometres * um3) / um, 2 * across, rtol=1e-9)


def test_debris_keeps_shapes():
    keeps_shapes(debris_diameter, crater_volume=1000 * um3)


def test_debris_refuses():
    refuses(debris_diameter, {"crater_volume": 1000 * um3}, "crater_volume")
    with pytest.raises(Refusal, match="give cubic metres"):
        debris_diameter(1000)


# --- gap_side ---
SIDE = {"front": 20 * um, "crater_volume": 100_000 * um3}


@pytest.mark.parametrize(
    "amps, microseconds, volts, expected",
    [  # prototype of the heat model with the same law, on a steel melting 50 K higher
        (3, 10, 100, 31),
        (10, 100, 100, 61),
        (50, 400, 100, 136),
        (2, 20, 150, 41),
    ],
)
def test_side_gap_of_solved_craters(amps, microseconds, volts, expected):
    assert_allclose(side_um(amps, microseconds, volts), expected, rtol=0.05)


def test_side_gap_of_small_sparks():
    # common practice, no source: at about 2 A and 10-40 µs, copper on hardened steel, the side
    # gap is 25-50 µm
    gaps = side_um([[1.5], [2], [2.5]], [10, 20, 30, 40], 120)
    assert (gaps >= 25).all() and (gaps <= 50).all()
    assert side_um(2, 10, 100) >= 25


def test_side_gap_is_in_the_published_ranges():
    # trade page: the cavity is 0.005-1.0 mm larger than the electrode
    row = next(row for row in ROWS if row["item"].startswith("enlargement"))
    gaps = side_um(np.geomspace(0.5, 60, 9), np.geomspace(2, 800, 9)[:, None], 100) * um / mm
    assert (gaps >= float(row["low"])).all() and (2 * gaps <= float(row["high"])).all()
    # from memory: roughing at 10-30 A leaves 0.06-0.15 mm per side; the band is x1.8 either way
    row = next(row for row in ROWS if row["stage"] == "roughing 10-30 A")
    for amps, on in ((10, 100), (20, 150), (30, 200)):
        gap = side_um(amps, on, 120) * um / mm
        assert float(row["low"]) <= gap <= float(row["high"])
    # trade page: 0.001-0.003 in in fine work
    row = next(row for row in ROWS if row["stage"] == "carbide, fine work")
    fine = side_um(1.5, 10, 100) * um / inch
    assert float(row["low"]) <= fine <= float(row["high"])


def test_side_gap_by_hand():
    # 20 µm in front and 0.8 (assumption) of a ball of 10.165 µm
    assert_allclose(gap_side(20 * um, 1000 * um3) / um, 28.13, atol=0.005)


@given(volume=st.floats(1, 1e7), front=st.floats(5, 100))
def test_side_gap_is_the_front_gap_and_a_share_of_the_debris(volume, front):
    side = gap_side(front * um, volume * um3)
    assert side > front * um
    assert side < gap_side(front * um, 2 * volume * um3)
    assert_allclose(gap_side(front * um, 0), front * um, rtol=1e-12)
    extra = (side - front * um) / debris_diameter(volume * um3)
    assert 0.4 <= extra <= 1.6  # assumption


def test_side_gap_keeps_shapes():
    keeps_shapes(gap_side, **SIDE)


@pytest.mark.parametrize("name", SIDE)
def test_side_gap_refuses(name):
    refuses(gap_side, SIDE, name)


def test_side_gap_refuses_micrometres():
    with pytest.raises(Refusal, match=r"front must be .* µm: 30 µm is 30e-6 m"):
        gap_side(30, 1e-13)
