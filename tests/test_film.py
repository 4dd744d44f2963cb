"""A film of one spark: closed forms frame by frame, the solver itself, energy, refusals."""

import numpy as np
import pytest
from contract import NOT_NUMBERS, refuses
from numpy.testing import assert_allclose, assert_array_equal

from edmkit.checks import Refusal
from edmkit.physics.conduction import gaussian, melting_constant
from edmkit.physics.film import film, filming
from edmkit.physics.heat import Grid, grid, solve

# A hot-work steel at 10 A and 100 µs, worked by hand in test_heat
LATENT, BOILING = 272e3 / 650 / 1430, (3134 - 300) / 1430
REHARDENED, TEMPERED = (1050 - 300) / 1430, (473 - 300) / 1430
SPARK = {"fourier": 0.06364, "flux_number": 6.0332, "latent": LATENT, "boiling": BOILING}
LEVELS = (REHARDENED, TEMPERED)


def shot(cells=16, **changed):
    """Return the film of that spark, or of another."""
    numbers = {"isotherms": LEVELS} | SPARK | changed
    return film(grid(numbers["fourier"], cells), **numbers)


@pytest.fixture(scope="module")
def steel():
    return shot()


# --- filming ---
def test_filming_tells_how_far_it_is_and_stops_when_it_is_left():
    *shares, last = filming(grid(0.06364, 16), **SPARK)
    assert len(shares) > 5 and np.all(np.diff(shares) > 0)
    assert 0 < shares[0] < 0.1 and 0.5 < shares[-1] <= 1
    assert_array_equal(last.theta, shot(isotherms=()).theta)
    left = filming(grid(0.06364, 16), **SPARK)
    next(left)
    left.close()
    assert list(left) == []


@pytest.mark.parametrize("growth", [0.0, 0.44])
@pytest.mark.parametrize("fourier", [0.03, 0.4])
def test_each_frame_of_plain_conduction_is_the_closed_form(growth, fourier):
    # Carslaw and Jaeger (1959), ch. 10, as in `conduction`: the source of each moment is one that
    # ends there, its radius s = share^growth. Bound: 1 % of the hottest cell of that frame, from
    # the fourth part of the pulse on (a younger source is a few cells wide)
    found = shot(24, fourier=fourier, flux_number=1.0, latent=0, boiling=np.inf, isotherms=(),
                 growth=growth, cooling=0, frames=8)  # fmt: skip
    assert_allclose(found.times[-1], fourier, rtol=1e-9)
    assert_allclose(found.times, fourier * np.arange(1, 9) / 8, rtol=0.02)
    for time, theta in list(zip(found.times, found.theta, strict=True))[1:]:
        size = (time / fourier) ** growth
        r, z = found.r / size, found.z[:, None] / size
        exact = gaussian(r, z, time / size**2, growth) / size
        assert np.abs(theta - exact).max() < 0.01 * exact.max()


def test_the_front_of_each_frame_is_neumanns():
    # Carslaw and Jaeger (1959), ch. 11: a slab whose surface is held at boiling
    column = Grid(np.arange(0, 4, 0.025), np.array([0, 0.1, 0.2]))
    found = film(column, 0.25, 1e4, LATENT, BOILING, frames=12, growth=0, cooling=0)
    exact = 2 * melting_constant((BOILING - 1) / LATENT, 1 / LATENT) * np.sqrt(found.times)
    assert_allclose(found.melt_volume / (np.pi * 0.2**2), exact, rtol=0.06)
    assert_allclose(np.mean(found.melt_depth / exact), 1, atol=0.02)


# --- film ---
@pytest.mark.parametrize("frames", [6, 48, 200])
def test_the_film_ends_where_the_solver_does_whatever_its_frames(frames):
    numbers = (grid(0.06364, 16), 0.06364, 6.0332, LATENT, BOILING, LEVELS)
    found = film(*numbers, frames=frames)
    pool = solve(*numbers[:2], [numbers[2]], *numbers[3:])
    for name in pool.__dataclass_fields__:
        assert_array_equal(getattr(found.pool, name), getattr(pool, name))
    assert_array_equal(found.isotherm_depth[-1], pool.isotherm_depth[:, 0])
    assert_array_equal(found.isotherm_radius[-1], pool.isotherm_radius[:, 0])
    assert (found.melted_depth[-1], found.melted_radius[-1]) == (pool.depth[0], pool.radius[0])
    assert found.energy_in[-1] == pool.energy_in[0]


def test_energy_is_kept_in_each_frame(steel):
    assert_allclose(steel.energy_stored + steel.energy_vapour, steel.energy_in, rtol=1e-10)
    # by hand: even power, pi q over the pulse, nothing after
    share = np.minimum(steel.times / 0.06364, 1)
    assert_allclose(steel.energy_in, np.pi * 6.0332 * 0.06364 * share, rtol=1e-9)
    assert (np.diff(steel.energy_vapour) >= 0).all() and steel.energy_vapour[-1] > 0
    free = shot(boiling=np.inf)
    assert (free.energy_vapour == 0).all()


def test_the_stored_heat_is_in_the_pictures():
    # the heat of a frame of plain conduction, summed from its picture by hand
    cell = grid(0.06364, 16)
    found = shot(latent=0, boiling=np.inf, isotherms=())
    volumes = np.diff(cell.z)[:, None] * np.pi * np.diff(cell.r**2)
    assert_allclose((found.theta * volumes).sum(axis=(1, 2)), found.energy_stored, rtol=1e-5)


def test_the_melt_grows_while_it_burns_and_is_frozen_in_the_end(steel):
    burning = steel.times <= 0.06364 * (1 + 1e-9)
    assert burning.sum() == 32 and len(steel.times) == 48
    young = steel.times < 0.4 * 0.06364
    assert (np.diff(steel.melt_depth[young]) > 0).all()
    assert (np.diff(steel.melt_volume[young]) > 0).all()
    for size in (steel.melt_depth, steel.melt_radius, steel.melt_volume):
        assert size[-1] == 0
    for so_far in (steel.melted_depth, *steel.isotherm_depth.T):
        assert (np.diff(so_far) >= 0).all()
    # carried up to the surface from two rows of cells: it may waver by a part of a cell
    assert (np.diff(steel.melted_radius) > -0.2 / (1.2 * 16)).all()
    assert (steel.melt_depth <= steel.melted_depth).all()
    assert (steel.melt_radius <= steel.melted_radius).all()
    rehardened, tempered = steel.isotherm_depth.T
    assert (steel.melted_depth <= rehardened).all() and (rehardened <= tempered).all()
    # softening goes on while it cools
    assert tempered[-1] > 1.1 * tempered[burning][-1]


def test_no_cell_is_hotter_than_boiling(steel):
    assert steel.theta.max() <= BOILING * (1 + 1e-6)
    assert steel.theta.max() > 0.9 * BOILING and steel.theta.min() > -1e-6
    assert shot(boiling=np.inf).theta.max() > 1.2 * BOILING


def test_the_source_grows_as_its_law_and_goes_out(steel):
    burning = steel.times <= 0.06364 * (1 + 1e-9)
    # Ikai and Hashiguchi (1995), R ~ t^0.44, from memory
    law = (steel.times[burning] / 0.06364) ** 0.44
    assert_allclose(steel.source_radius[burning], law, rtol=1e-12)
    assert (steel.source_radius[~burning] == 0).all()


def test_shapes(steel):
    depths, across = len(steel.z), len(steel.r)
    assert steel.theta.shape == (48, depths, across) and steel.theta.dtype == np.float32
    rows = set(steel.__dataclass_fields__) - {
        "z", "r", "theta", "isotherm_radius", "isotherm_depth", "pool"}  # fmt: skip
    for name in rows:
        assert getattr(steel, name).shape == (48,)
    assert steel.isotherm_radius.shape == steel.isotherm_depth.shape == (48, 2)
    assert shot(isotherms=()).isotherm_depth.shape == (48, 0)
    few = shot(frames=6)
    assert len(few.times) == 6 and (np.diff(few.times) > 0).all()
    cold = shot(flux_number=0.05)
    assert (cold.melted_depth == 0).all() and (cold.melt_volume == 0).all()


@pytest.mark.parametrize(
    "name", ["fourier", "flux_number", "latent", "boiling", "frames", "growth", "cooling"]
)
@pytest.mark.parametrize("runs", [film, filming])
def test_film_refuses(runs, name):
    small = grid(0.1, 4)
    good = SPARK | {"fourier": 0.1, "frames": 6, "growth": 0.44, "cooling": 0.1}
    bad = [value for value in NOT_NUMBERS if name != "boiling" or value != float("inf")]
    refuses(lambda **numbers: runs(small, **numbers), good, name, bad=bad)


@pytest.mark.parametrize("runs", [film, filming])
def test_film_refuses_many_sparks_and_isotherms_that_are_none(runs):
    with pytest.raises(Refusal, match="flux_number must be one number, got 2"):
        runs(grid(0.1, 4), **SPARK | {"flux_number": [1.0, 2.0]})
    for bad in NOT_NUMBERS:
        with pytest.raises(Refusal, match="isotherms must be "):
            runs(grid(0.1, 4), **SPARK, isotherms=(0.5, bad))
    with pytest.raises(Refusal, match="isotherms must lie inside the grid"):
        film(Grid(np.array([0, 0.1, 0.2]), np.array([0, 0.1, 0.2])), **SPARK, isotherms=(0.5,))
