"""Where one spark removes most per microsecond: the vapour limit alone gives such an on-time.

The conditions of 1989 are those of DiBitonto et al., J. Appl. Phys. 66 (1989) 4095, and Patel et
al., 4104: current, on-time and the mean values of iron, all from memory. That the list is one of
best on-times is an inference.
"""

import numpy as np
import pytest

from edmkit.data import read_rows
from edmkit.physics.crater import source_radius
from edmkit.physics.heat import grid, solve
from edmkit.units import us

CONDUCTIVITY, DENSITY, CAPACITY = 56.1, 7545.0, 575.0  # iron, mean values; from memory
MELTS, BOILS, STARTS, FUSION = 1808.0, 3134.0, 298.0, 247e3
SHARE, VOLTS = 0.183, 25.0  # share into the cathode, from memory
SEARCHED = np.geomspace(1.6, 500, 24)


def per_microsecond(amps, on_us, boils=BOILS):
    """Return the melt volume over the on-time [m³/s]."""
    rise, radius = MELTS - STARTS, source_radius(amps, on_us * us)
    fourier = CONDUCTIVITY / (DENSITY * CAPACITY) * on_us * us / radius**2
    flux = SHARE * VOLTS * amps / (np.pi * radius * CONDUCTIVITY * rise)
    boiling = (boils - STARTS) / rise
    pool = solve(grid(fourier, 16), fourier, [flux], FUSION / CAPACITY / rise, boiling, cooling=0.3)
    return float(pool.volume[0]) * radius**3 / (on_us * us)


def best(amps, boils=BOILS):
    """Return the on-time that removes most at constant duty [µs]."""
    return SEARCHED[np.argmax([per_microsecond(amps, on, boils) for on in SEARCHED])]


@pytest.fixture(scope="module")
def listed():
    rows = read_rows("published_dibitonto_1989_conditions_only.csv")
    pairs = {float(row["current_A"]): float(row["on_us"]) for row in rows}
    return {amps: pairs[amps] for amps in (2.34, 5.3, 10.0, 20.0, 36.0)}


@pytest.fixture(scope="module")
def found(listed):
    return {amps: best(amps) for amps in listed}


def test_best_on_times_of_1989_up_to_20_A(listed, found):
    factors = np.array([found[amps] / listed[amps] for amps in listed if amps <= 20])
    assert len(factors) == 4
    assert np.all((factors > 1 / 2.5) & (factors < 2.5)), factors


def test_the_best_on_time_rises_with_the_current(listed, found):
    times = [found[amps] for amps in sorted(listed)]
    assert SEARCHED[0] < times[0]
    assert times[-1] < SEARCHED[-1]
    assert np.all(np.diff(times) > 0), times


def test_without_the_vapour_limit_there_is_no_best_on_time_to_speak_of(found):
    assert best(10.0, boils=60_000) < found[10.0] / 5
