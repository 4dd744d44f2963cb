"""The crater of one spark: its groups, the reading of a table, limits, energy shares."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses, refuses_microseconds
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import tables, work_material
from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.crater import (
    CURRENTS,
    FIELDS,
    ON_TIMES,
    Table,
    crater,
    flux_number,
    fourier_number,
    longest_melting_time,
    share_into_electrode,
    share_into_work,
    source_radius,
)
from edmkit.units import um, us

STEEL = work_material("52100")
SPARK = {"current": 10.0, "on_time": 100 * us, "discharge_voltage": 25.0, "energy_share": 0.30}


# --- source_radius ---
SOURCE = {"current": 10.0, "on_time": 100 * us}


def test_source_radius_of_the_published_formula():
    # Ikai and Hashiguchi (1995), ISEM-XI, 163-170 (formula from memory), worked by hand
    radii = source_radius([2.34, 10, 25], np.array([5.6, 100, 400]) * us) / um
    assert_allclose(radii, [14.3746, 95.4180, 260.4059], rtol=1e-5)


def test_source_radius_has_the_published_exponents():
    # the same source as a row of the table of published exponents
    rows = read_rows("published_exponents.csv")
    row = next(row for row in rows if row["source"].startswith("Ikai"))
    base = source_radius(**SOURCE)
    assert_allclose(base, float(row["k"]) * 10**0.43 * 1e-4**0.44, rtol=1e-12)
    for name, exponent in (("current", "exponent_current"), ("on_time", "exponent_on_time")):
        doubled = source_radius(**SOURCE | {name: 2 * SOURCE[name]})
        assert_allclose(doubled / base, 2 ** float(row[exponent]), rtol=1e-12)


def test_source_radius_keeps_shapes():
    keeps_shapes(source_radius, **SOURCE)


@pytest.mark.parametrize("name", SOURCE)
def test_source_radius_refuses(name):
    refuses(source_radius, SOURCE, name)


def test_source_radius_refuses_microseconds():
    refuses_microseconds(source_radius, SOURCE, "on_time")


# --- flux_number ---
def flux(**numbers):
    return flux_number(**numbers, metal=STEEL)


def test_flux_number_by_hand():
    # prototype of the heat model: 10 A, 100 µs, share 0.30 into k 29 W/mK and a rise of 1430 K has
    # 6.0332; bearing steel here: k 28 and a rise of 1376 K, by hand 6.0332 x 29/28 x 1430/1376
    rise = STEEL.melting_point - 293.15
    assert_allclose(STEEL.conductivity, 28)
    assert_allclose(flux(**SPARK), 6.0332 * 29 / 28 * 1430 / rise, rtol=1e-4)


def test_flux_number_goes_with_power_and_falls_as_the_source_grows():
    base = flux(**SPARK)
    assert_allclose(flux(**SPARK | {"energy_share": 0.6}), 2 * base)
    assert_allclose(flux(**SPARK | {"discharge_voltage": 50.0}), 2 * base)
    assert_allclose(flux(**SPARK | {"current": 20.0}), 2**0.57 * base)
    assert_allclose(flux(**SPARK | {"on_time": 200 * us}), 2**-0.44 * base)


def test_flux_number_keeps_shapes():
    keeps_shapes(flux, **SPARK)


@pytest.mark.parametrize("name", SPARK)
def test_flux_number_refuses(name):
    refuses(flux, SPARK, name)


# --- fourier_number ---
def fourier(**numbers):
    return fourier_number(**numbers, metal=STEEL)


def test_fourier_number_by_hand():
    # 10 A, 100 µs: R 95.4180 µm (as above); prototype of the heat model: 0.06364 with a
    # diffusivity of 29 / (7700 x 650) m²/s
    expected = 0.06364 * STEEL.diffusivity / (29 / (7700 * 650))
    assert_allclose(fourier(**SOURCE), expected, rtol=1e-3)


def test_fourier_number_hardly_follows_the_time():
    base = fourier(**SOURCE)
    assert_allclose(fourier(**SOURCE | {"on_time": 200 * us}), 2**0.12 * base)
    assert_allclose(fourier(**SOURCE | {"current": 20.0}), 2**-0.86 * base)


def test_fourier_number_keeps_shapes():
    keeps_shapes(fourier, **SOURCE)


@pytest.mark.parametrize("name", SOURCE)
def test_fourier_number_refuses(name):
    refuses(fourier, SOURCE, name)


# --- longest_melting_time ---
FLUX = {"current": 1.0, "discharge_voltage": 25.0, "energy_share": 0.30, "thinnest": 0.3}


def in_time(**numbers):
    return longest_melting_time(**numbers, metal=STEEL)


def test_flux_number_is_the_thinnest_at_the_longest_melting_time():
    time = in_time(**FLUX)
    assert_allclose(flux_number(1, time, 25, 0.30, STEEL), 0.3, rtol=1e-9)
    # by hand: it falls as t^-0.44 from its value at 100 µs, and goes with the current as I^0.57
    at_100us = flux(**SPARK) / 10**0.57
    assert_allclose(time, 100 * us * (at_100us / 0.3) ** (1 / 0.44), rtol=1e-9)


def test_copper_stops_melting_long_before_steel():
    # prototype of the heat model: copper melt at a share of 0.08 stops growing within 2-20 µs
    copper = longest_melting_time(10, 25, 0.08, work_material("copper"), 0.65)
    steel = longest_melting_time(10, 25, 0.08, STEEL, 0.65)
    assert 0.2 * us < copper < 20 * us < steel


def test_longest_melting_time_keeps_shapes():
    keeps_shapes(in_time, **FLUX)


@pytest.mark.parametrize("name", FLUX)
def test_longest_melting_time_refuses(name):
    refuses(in_time, FLUX, name)


# --- crater ---
def plane(i, j):
    """Return table values that are straight in each logarithm, so reading between is exact."""
    shape = np.broadcast(i, j).shape
    steps = 0.01 * np.arange(1, 8)
    return 0.2 + (0.05 * i + 0.03 * j + 0.004 * i * j)[..., None] * steps + np.zeros((*shape, 7))


FLUXES, FOURIERS = np.geomspace(0.3, 100, 12), np.geomspace(0.005, 2, 9)
MADE = Table(FLUXES, FOURIERS, plane(np.log(FLUXES)[:, None], np.log(FOURIERS)))


def made(**numbers):
    return crater(**numbers, metal=STEEL, table=MADE)


@given(amps=st.floats(1, 50), on=st.floats(5, 900), share=st.floats(0.15, 0.3))
def test_crater_reads_a_table_straight_between_its_nodes(amps, on, share):
    spark = {"current": amps, "on_time": on * us}
    read = made(**spark, discharge_voltage=25, energy_share=share)
    q, fo = flux_number(amps, on * us, 25, share, STEEL), fourier_number(**spark, metal=STEEL)
    values = dict(zip(FIELDS, plane(np.log(q), np.log(fo)), strict=True))
    radius = source_radius(**spark)
    depth = np.sqrt(STEEL.diffusivity * on * us)
    assert_allclose(read.radius, values["radius"] * radius, rtol=1e-9)
    assert_allclose(read.depth, values["depth"] * depth, rtol=1e-9)
    assert_allclose(read.volume, values["volume"] ** 3 * radius**2 * depth, rtol=1e-9)
    assert_allclose(read.rehardened_radius, values["rehardened_radius"] * radius, rtol=1e-9)
    assert_allclose(read.tempered_depth, values["tempered_depth"] * depth, rtol=1e-9)


def test_crater_at_a_node_is_the_node():
    # the table's own row and column, not an average of neighbours
    assert_allclose(MADE.at(FLUXES[3], FOURIERS[5]), MADE.values[3, 5], rtol=1e-12)
    assert_allclose(MADE.at(FLUXES[-1], FOURIERS[-1]), MADE.values[-1, -1], rtol=1e-12)
    assert_allclose(MADE.at(1e9, 1e9), MADE.values[-1, -1], rtol=1e-12)


def test_a_pulse_too_long_for_its_current_melts_no_more():
    longest = longest_melting_time(0.5, 25, 0.20, STEEL, FLUXES[0])
    times = longest * np.array([0.99, 1, 2, 10])
    spark = made(current=0.5, on_time=times, discharge_voltage=25, energy_share=0.20)
    assert spark.volume[0] != spark.volume[1]
    assert_allclose(spark.volume[1:], spark.volume[1], rtol=1e-12)


def test_table_crater_grows_with_current_and_time():
    # log-regression of a prototype of the heat model, 3-50 A, 10-400 µs, share 0.183, growing
    # source with vapour limit: r I^0.475 t^0.312, d I^0.180 t^0.419, V I^1.159 t^1.015
    amps, on = np.geomspace(3, 50, 9)[:, None], np.geomspace(10, 400, 9)
    solved = tables.crater(amps, on * us, 25, 0.183, work_material("H13"))
    columns = [np.ones(81), np.log(amps + 0 * on).ravel(), np.log(on + 0 * amps).ravel()]
    for name, current, time in (
        ("radius", 0.475, 0.312),
        ("depth", 0.180, 0.419),
        ("volume", 1.159, 1.015),
    ):
        sizes = np.log(getattr(solved, name)).ravel()
        found = np.linalg.lstsq(np.array(columns).T, sizes, rcond=None)[0]
        assert_allclose(found[1:], [current, time], atol=0.02)


@given(amps=st.floats(*CURRENTS), on=st.floats(*ON_TIMES), share=st.floats(0.08, 0.30))
def test_melt_costs_less_than_the_spark_gives(amps, on, share):
    # energy bound by hand: V <= F E / [rho (c dT + L)]; a crater is shallower than it is wide;
    # heat at 1050 K goes deeper than the melt, and that of tempering deeper still
    spark = tables.crater(amps, on, 25, share, STEEL)
    assert spark.volume <= share * 25 * amps * on / STEEL.melt_enthalpy
    assert spark.depth <= spark.radius * 1.02 + 0.1 * um
    assert spark.depth < spark.rehardened_depth < spark.tempered_depth
    assert spark.radius < spark.rehardened_radius < spark.tempered_radius


def test_shape_of_the_crater_is_that_of_the_heat_model():
    # prototype of the heat model, usual settings: V/(pi r² d) 0.53-0.62, z_1050/d 1.8-1.95, d/r
    # 0.25-0.49; depths read between cells widen each a little
    amps, on = np.array([3.0, 3, 3, 10, 10, 25]), np.array([20, 100, 400, 100, 400, 400]) * us
    spark = tables.crater(amps, on, 25, 0.30, work_material("H13"))
    full = spark.volume / (np.pi * spark.radius**2 * spark.depth)
    assert ((full > 0.51) & (full < 0.64)).all()
    deeper = spark.rehardened_depth / spark.depth
    assert ((deeper > 1.7) & (deeper < 2.05)).all()
    assert ((spark.depth / spark.radius > 0.24) & (spark.depth / spark.radius < 0.51)).all()


def test_crater_keeps_shapes():
    keeps_shapes(made, **SPARK)


@pytest.mark.parametrize("name", SPARK)
def test_crater_refuses(name):
    refuses(made, SPARK, name)


def test_crater_refuses_microseconds_and_percent():
    refuses_microseconds(made, SPARK, "on_time")
    with pytest.raises(Refusal, match=r"energy_share must be .* got 30: 0\.30 is usual"):
        made(**SPARK | {"energy_share": 30})


def test_a_hair_of_a_current_melts_next_to_nothing_and_is_no_error():
    # in copper its heat is too thin from the first hundredth of a microsecond on
    thread = tables.crater(0.02, 100 * us, 25.0, 0.3, work_material("copper"))
    assert 0 <= thread.volume < 1e-21  # less than a thousandth of a µm³
    shorter = tables.crater(0.02, 50 * us, 25.0, 0.3, work_material("copper"))
    assert thread.volume == shorter.volume


# --- share_into_work ---
def test_share_is_above_the_published_one():
    # DiBitonto et al. (1989), J. Appl. Phys. 66, 4095: 0.183 into the cathode, without a vapour
    # limit (number from memory); with the limit 12-53 % of the heat leaves as vapour on top
    share = share_into_work("electrode positive", "bearing steel")
    assert 0.183 < share <= 0.183 / (1 - 0.53)
    assert (share, share_into_work("electrode negative", "bearing steel")) == (0.30, 0.20)


def test_share_falls_on_steel_with_the_electrode_negative():
    for family in ("bearing steel", "hot-work tool steel", "nickel alloy"):
        plus, minus = (share_into_work(f"electrode {p}", family) for p in ("positive", "negative"))
        assert 0.10 <= minus < plus
    for key in ("WC-6Co", "copper", "6061", "Ti64", "BeCu", "brass"):
        family = work_material(key).family
        shares = [share_into_work(f"electrode {p}", family) for p in ("positive", "negative")]
        assert shares[0] == shares[1], key


def test_share_is_one_plain_number():
    assert isinstance(share_into_work("electrode negative", "bearing steel"), float)


@pytest.mark.parametrize("polarity", ["positive", "electrode positve", "+", None, 1])
def test_share_refuses_an_unknown_polarity(polarity):
    with pytest.raises(Refusal, match="polarity must be one of 'electrode positive'"):
        share_into_work(polarity, "bearing steel")


# --- share_into_electrode ---
def test_share_into_the_electrode_is_raised_like_the_one_into_the_work():
    # Patel et al. (1989), J. Appl. Phys. 66, 4104: 0.08 into the anode; DiBitonto et al. (1989),
    # 4095: 0.183 into the cathode; both without a vapour limit, numbers from memory
    raised = share_into_work("electrode positive", "bearing steel") / 0.183
    shares = [share_into_electrode(f"electrode {sign}") for sign in ("positive", "negative")]
    assert_allclose(shares, [raised * 0.08, raised * 0.183], rtol=0.1)


@pytest.mark.parametrize("polarity", ["electrode positive", "electrode negative"])
def test_shares_leave_some_heat_for_the_fluid(polarity):
    shares = share_into_electrode(polarity), share_into_work(polarity, "bearing steel")
    assert 0.3 < sum(shares) < 1


def test_share_into_the_electrode_is_one_plain_number():
    assert isinstance(share_into_electrode("electrode negative"), float)


@pytest.mark.parametrize("polarity", ["positive", "", None, 1])
def test_share_into_the_electrode_refuses_an_unknown_polarity(polarity):
    with pytest.raises(Refusal, match="polarity must be one of 'electrode positive'"):
        share_into_electrode(polarity)
