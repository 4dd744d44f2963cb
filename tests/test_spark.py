"""One spark as the solver and the tables ask for it."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import tables
from edmkit.checks import Refusal
from edmkit.spark import Spark, spark_on_work
from edmkit.units import um, us

STEEL = ek.work_material("52100")


def burn(settings):
    tool, oil = ek.electrode_material("copper"), ek.dielectric("edm_oil")
    return ek.predict(ek.Setup(STEEL, tool, oil, "electrode positive", 100.0), settings)


def test_numbers_of_a_spark_worked_by_hand():
    # Ikai and Hashiguchi (1995), ISEM-XI, 163-170, source radius; formula from memory
    spark = Spark(STEEL, 10.0, 100 * us, 25.0, 0.30)
    assert_allclose(spark.source_radius / um, 95.418, rtol=1e-4)
    assert_allclose(spark.energy, 0.025, rtol=1e-12)  # 25 V x 10 A x 100 us
    alpha = STEEL.conductivity / (STEEL.density * STEEL.heat_capacity)
    assert_allclose(spark.fourier_number, alpha * 1e-4 / 95.418e-6**2, rtol=1e-4)
    rise = STEEL.melting_point - 293.15
    by_hand = 0.30 * 250 / (np.pi * 95.418e-6 * STEEL.conductivity * rise)
    assert_allclose(spark.flux_number, by_hand, rtol=1e-4)


@pytest.mark.parametrize(
    "settings", [ek.Settings(10.0, 100.0, 50.0), ek.Relaxation(100.0, 1.0, 110.0)]
)
def test_the_spark_of_a_burn_leaves_the_burn_s_crater(settings):
    found = burn(settings)
    spark = spark_on_work(found)
    assert spark.metal is STEEL
    assert_allclose(spark.energy * 1e3, found.pulse_energy_mJ.likely, rtol=1e-12)
    assert_allclose(spark.crater.radius / um, found.crater_radius_um.likely, rtol=1e-12)


def test_a_metal_without_a_table_is_refused():
    graphite = ek.electrode_material("graphite")
    assert not tables.is_built(graphite)
    with pytest.raises(Refusal, match="no table of craters for Graphite"):
        _ = Spark(graphite, 10.0, 100 * us, 25.0, 0.12).crater
