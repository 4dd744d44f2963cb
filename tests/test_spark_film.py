"""The film of a spark in SI: beside the tables, beside a finer solve, and by hand."""

from dataclasses import replace
from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import tables
from edmkit.checks import Refusal
from edmkit.physics import heat
from edmkit.spark import Spark
from edmkit.spark_film import cells_for, filming
from edmkit.units import um, us

STEEL = ek.work_material("52100")


def shot(metal=STEEL, amps=10.0, on_us=100.0, share=0.30):
    spark = Spark(metal, amps, on_us * us, 25.0, share)
    *shares, found = filming(spark)
    assert max(shares) <= 1
    return spark, found


@pytest.fixture(scope="module")
def steel():
    return shot()


def test_the_film_ends_near_the_table():
    # the table's own errors (bench_tables): median 1.5 %, 95 of 100 within 6 %, over 1 to 30 A and
    # 5 to 500 µs; the film's cells add their own
    random, off = np.random.default_rng(1989), []
    for key in ("52100", "H13", "WC-6Co", "6061"):
        for amps, on_us in np.exp(random.uniform(*np.log([[1, 5], [30, 500]]), (3, 2))):
            spark, found = shot(ek.work_material(key), amps, on_us)
            for size in ("radius", "depth", "volume", "rehardened_depth", "tempered_depth"):
                off.append(getattr(found.crater, size) / getattr(spark.crater, size) - 1)
    off = np.abs(np.array(off)[np.isfinite(off)])
    assert off.size > 40
    assert np.median(off) < 0.015 and np.percentile(off, 95) < 0.06


def test_the_film_ends_near_a_solve_on_finer_cells(steel):
    spark, found = steel
    known, fourier = tables.numbers(STEEL), float(spark.fourier_number)
    pool = heat.solve(heat.grid(fourier, 36), fourier, [float(spark.flux_number)],
                      known["latent"], known["boiling"])  # fmt: skip
    length = spark.source_radius
    assert_allclose(found.crater.depth, pool.depth[0] * length, rtol=0.02)
    assert_allclose(found.crater.volume, pool.volume[0] * length**3, rtol=0.02)


def test_a_film_is_in_metres_seconds_and_kelvin(steel):
    _, found = steel
    assert_allclose(found.times[31], 100e-6, rtol=1e-6)  # the pulse has two frames in three
    assert_allclose(found.times[-1], 300e-6, rtol=1e-6)  # two pulses of cooling
    # Ikai and Hashiguchi (1995), from memory: 95.418 µm at 10 A and 100 µs
    assert_allclose(found.source_radius[31] / um, 95.418, rtol=1e-4)
    assert found.source_radius[-1] == 0
    assert 293 < found.temperature.min() < 294
    assert 0.9 * STEEL.boiling_point < found.temperature.max() <= STEEL.boiling_point
    assert found.temperature.shape == (48, found.z.size, found.r.size)


def test_the_stored_heat_is_what_the_metal_took_in():
    # energy by hand: density x heat capacity x rise over the picture, where nothing melts
    spark, found = shot(amps=0.3, on_us=1000.0, share=0.05)
    assert (found.melt_volume == 0).all() and found.crater.volume == 0 and not found.resolved
    cell = heat.grid(float(spark.fourier_number), found.cells)
    height, area = np.diff(cell.z), pi * np.diff(cell.r**2)
    rise = found.temperature[-1] - 293.15
    heat_in = STEEL.density * STEEL.heat_capacity * np.einsum("zr,z,r", rise, height, area)
    assert_allclose(heat_in * spark.source_radius**3, 0.05 * spark.energy, rtol=2e-3)


def test_lines_that_a_metal_does_not_have_are_no_figure(steel):
    carbide = shot(ek.work_material("WC-6Co"))[1]
    assert np.isnan(carbide.rehardened_depth).all() and np.isnan(carbide.crater.tempered_depth)
    found = steel[1]
    assert found.resolved
    lines = found.crater.depth, found.crater.rehardened_depth, found.crater.tempered_depth
    assert lines[0] < lines[1] < lines[2]
    assert found.rehardened_depth[-1] == lines[1] and found.tempered_depth[-1] == lines[2]
    # each line lies where the picture was as hot: the hottest ever on the axis, between the cells
    axis = found.temperature[:, :, 0].max(axis=0)
    for limit, depth in ((1050.0, lines[1]), (STEEL.temper_limit, lines[2])):
        assert_allclose(np.interp(depth, found.z, axis), limit, rtol=0.03)


def test_copper_that_hardly_melts_says_that_its_cells_are_too_coarse():
    copper = ek.electrode_material("copper")
    spark, found = shot(copper, 3.9, 230.0, 0.12)
    assert not found.resolved and spark.crater.depth < 2 * found.z[1]
    # by hand: more than the middle of the second cell twice over, both ways
    for depth, radius, seen in ((2.1, 2.1, True), (1.9, 2.1, False), (2.1, 1.9, False)):
        made = replace(found, melted_depth=np.array([depth * found.z[1]]),
                       melted_radius=np.array([radius * found.r[1]]))  # fmt: skip
        assert made.resolved is seen


@pytest.mark.parametrize(("fourier", "cells"), [(0.01, 24), (1.2, 24), (4.8, 12), (100.0, 12)])
def test_fewer_cells_where_heat_runs_far(fourier, cells):
    # steps go as cells² x Fourier number there: half the cells for four times the number
    assert cells_for(fourier) == cells


def test_zinc_boils_off_brass_as_in_its_table():
    brass = next(m for m in map(ek.electrode_material, ek.electrode_materials())
                 if m.family == "brass")  # fmt: skip
    found = shot(brass, 20.0, 20.0, 0.3)[1]
    assert found.boiling_point == pytest.approx(1600, abs=0.1)  # tables: assumption
    assert found.temperature.max() <= 1600.1


def test_a_spark_out_of_range_is_refused_at_once():
    with pytest.raises(Refusal, match="energy_share"):
        filming(Spark(STEEL, 10.0, 100 * us, 25.0, 3.0))
    with pytest.raises(Refusal, match="fourier must be "):
        filming(Spark(ek.electrode_material("copper"), 0.001, 0.02, 25.0, 0.12))
