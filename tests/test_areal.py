"""Sa, Sq, Sz, skewness and kurtosis of a map, and the plane taken out of it"""

import numpy as np
import pytest
from contract import NOT_NUMBERS
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from surfalize import Surface

from edmkit.checks import Refusal
from edmkit.physics.areal import areal_parameters, level
from edmkit.units import um

NAMES = ("Sa", "Sq", "Sz", "Ssk", "Sku")
ROUGH = np.random.default_rng(2).gamma(2, 1 * um, (190, 230))  # not symmetric: skewness 1.4
DOWN, RIGHT = np.mgrid[:190, :230]


def refuses_a_map(function):
    """Check that heights are refused by name unless they are one map."""
    function(ROUGH)
    for bad in (*NOT_NUMBERS, ROUGH[0], ROUGH[:1], ROUGH[None], np.empty((0, 3))):
        with pytest.raises(Refusal, match="heights must be "):
            function(bad)
    with pytest.raises(Refusal, match="got nan"):
        function(np.where(DOWN == 40, np.nan, ROUGH))


def theirs(heights, levelled):
    """Return the parameters of `surfalize`."""
    surface = Surface(heights / um, 1, 1)
    found = (surface.level() if levelled else surface).height_parameters()
    return [found[name] * (um if name in ("Sa", "Sq", "Sz") else 1) for name in NAMES]


# --- level ---
def test_level_against_least_squares():
    # numpy's own solver
    columns = np.stack([np.ones(ROUGH.size), DOWN.ravel(), RIGHT.ravel()], axis=1)
    plane = columns @ np.linalg.lstsq(columns, ROUGH.ravel(), rcond=None)[0]
    assert_allclose(level(ROUGH), ROUGH - plane.reshape(ROUGH.shape), atol=1e-10 * um)


@given(height=st.floats(-100, 100), down=st.floats(-2, 2), right=st.floats(-2, 2))
def test_level_takes_any_plane_away(height, down, right):
    plane = (height + down * DOWN + right * RIGHT) * um
    assert_allclose(level(plane), 0, atol=1e-10 * um)
    assert_allclose(level(ROUGH + plane), level(ROUGH), atol=1e-10 * um)


def test_level_leaves_its_input_and_its_shape():
    before = ROUGH.copy()
    flat = level(ROUGH)
    assert flat.shape == ROUGH.shape and (before == ROUGH).all()
    assert_allclose(flat.mean(), 0, atol=1e-12 * um)
    assert_allclose(level(ROUGH.T), flat.T, atol=1e-12 * um)


def test_level_refuses():
    refuses_a_map(level)


# --- areal_parameters ---
@pytest.mark.parametrize("tilt", [0.0, 0.05])
@pytest.mark.parametrize("levelled", [True, False])
def test_areal_parameters_against_another_library(tilt, levelled):
    # `surfalize`
    heights = ROUGH + (tilt * DOWN - 2 * tilt * RIGHT + 40) * um
    found = areal_parameters(level(heights) if levelled else heights)
    assert_allclose([getattr(found, name) for name in NAMES], theirs(heights, levelled), rtol=1e-9)


def test_areal_parameters_of_an_egg_box():
    # by hand: sin x sin y has Sa (2 / pi)², Sq 1/2, Sz 2, no skewness, kurtosis (3/8)² / (1/2)^4
    place = 2 * np.pi * (np.arange(200) + 0.5) / 200
    found = areal_parameters(3 * um * np.outer(np.sin(place), np.sin(place)))
    assert_allclose([found.Sa, found.Sq], [3 * um * 4 / np.pi**2, 1.5 * um], rtol=1e-4)
    assert_allclose([found.Sz, found.Sku], [6 * um, 2.25], rtol=1e-3)
    assert_allclose(found.Ssk, 0, atol=1e-12)


def test_areal_parameters_of_normal_heights():
    # textbook: Sa sqrt(2 / pi) of the deviation, skewness 0, kurtosis 3
    found = areal_parameters(np.random.default_rng(4).normal(0, 2 * um, (600, 600)))
    assert_allclose([found.Sa, found.Sq], [2 * um * np.sqrt(2 / np.pi), 2 * um], rtol=5e-3)
    assert_allclose([found.Ssk, found.Sku], [0, 3], atol=0.02)


def test_areal_parameters_turned_over():
    found, turned = areal_parameters(ROUGH), areal_parameters(7 * um - 3 * ROUGH)
    expected = [3 * found.Sa, 3 * found.Sq, 3 * found.Sz, -found.Ssk, found.Sku]
    assert_allclose([getattr(turned, name) for name in NAMES], expected, rtol=1e-9)
    assert found.Ssk > 1  # hills above a floor: positive by ISO 25178-2


def test_areal_parameters_are_scalars_and_none_on_a_flat_map():
    assert all(np.ndim(getattr(areal_parameters(ROUGH), name)) == 0 for name in NAMES)
    flat = areal_parameters(np.zeros((5, 5)))
    assert flat.Sa == flat.Sz == 0 and np.isnan(flat.Ssk) and np.isnan(flat.Sku)


def test_areal_parameters_refuse():
    refuses_a_map(areal_parameters)
