"""What a surface may be before sparks strike it, and how soon they wipe it out."""

from dataclasses import replace

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from numpy.testing import assert_allclose, assert_array_equal

from edmkit.checks import Refusal
from edmkit.physics.crater_surface import Craters, Surface, erode
from edmkit.physics.surface_starts import flat_for, ground, layers_to_settle, roughened
from edmkit.units import um

CRATERS = Craters(60 * um, 12 * um)
FLAT = flat_for(CRATERS)
NOT_WHOLE = (1.5, "ten", None, -1, True)


def after_layers(surface, craters, covered, seed=0):
    return erode(surface, craters, int(covered * craters.per_layer(surface)), seed)


# --- flat_for ---
@pytest.mark.parametrize("radius_um", [5, 60, 400])
def test_the_map_holds_enough_craters(radius_um):
    craters = replace(CRATERS, radius=radius_um * um)
    flat = flat_for(craters)
    assert flat.heights.shape == (512, 512) and flat.heights.any() == False  # noqa: E712
    assert_allclose(craters.radius / flat.pixel, 8)
    # by hand: 512² / (pi x 8²) = 1303.8
    assert_allclose(craters.per_layer(flat), 1303.8, rtol=1e-4)
    assert_allclose(flat.area, (64 * radius_um * um) ** 2)
    assert flat.sparks == 0 and flat.removed == 0


def test_the_map_is_refused_for_craters_that_cannot_be():
    for name in ("radius", "depth"):
        refuses(
            lambda **n: flat_for(Craters(**n)),
            {"radius": 60 * um, "depth": 12 * um},
            name,
        )


# --- ground ---
def test_a_ground_surface_is_as_rough_as_asked_and_has_its_pitch():
    start = ground(FLAT, 0.8 * um, 60 * um, seed=1)
    assert_allclose(start.Sa, 0.8 * um, rtol=1e-12)
    assert_allclose(start.heights.mean(), 0, atol=1e-18)
    profile = start.heights[0]
    # crossings of the mean line, Rice's formula (1945, from memory): of a spectrum exp(-2 (f p)²)
    # 2 sqrt(mean f²) = 1/p a metre
    crossings = np.count_nonzero(np.diff(np.sign(profile)))
    assert_allclose(crossings, profile.size * start.pixel / (60 * um), rtol=0.35)


def test_ridges_run_along_one_side_and_follow_the_seed():
    start = ground(FLAT, 0.8 * um, 60 * um, seed=1)
    assert_array_equal(start.heights, np.tile(start.heights[0], (512, 1)))
    assert_array_equal(start.heights, ground(FLAT, 0.8 * um, 60 * um, seed=1).heights)
    assert np.abs(start.heights - ground(FLAT, 0.8 * um, 60 * um, seed=2).heights).max() > um


def test_ground_twice_as_rough_is_the_same_twice_as_high():
    one, two = (ground(FLAT, height * um, 60 * um).heights for height in (0.4, 0.8))
    assert_allclose(two, 2 * one)


@pytest.mark.parametrize("name", ["roughness_Sa", "pitch"])
def test_ground_refuses(name):
    numbers = {"like": FLAT, "roughness_Sa": 0.8 * um, "pitch": 60 * um}
    refuses(ground, numbers, name)
    with pytest.raises(Refusal, match="pitch must be 2 to 128 pixels, got 1 pixels"):
        ground(FLAT, 0.8 * um, FLAT.pixel)
    refuses(ground, numbers | {"seed": 0}, "seed", bad=NOT_WHOLE)


# --- roughened ---
def test_an_eroded_start_is_as_rough_as_its_own_craters_leave():
    wider = replace(CRATERS, radius=150 * um, depth=30 * um)
    starts = [roughened(FLAT, wider, seed) for seed in range(6)]
    # 0.38 to 0.41 of the depth; only 209 craters fit, so that one map scatters by 3 %
    assert_allclose(np.mean([start.Sa for start in starts]) / wider.depth, 0.394, rtol=0.04)
    for start in starts:
        assert start.sparks == 0 and start.removed == 0
        assert_allclose(start.heights.mean(), 0, atol=1e-16)


def test_an_eroded_start_has_places_of_its_own():
    start, same = roughened(FLAT, CRATERS, 5), after_layers(FLAT, CRATERS, 5, 5)
    assert abs(np.corrcoef(start.heights.ravel(), same.heights.ravel())[0, 1]) < 0.1
    assert_array_equal(start.heights, roughened(FLAT, CRATERS, 5).heights)
    assert start.heights.shape == FLAT.heights.shape and start.pixel == FLAT.pixel


def test_roughened_refuses():
    with pytest.raises(Refusal, match=r"radius must be 4 to .* pixels, got 0\.8 pixels: flat_for"):
        roughened(FLAT, replace(CRATERS, radius=6 * um))
    refuses(
        lambda seed: roughened(Surface(np.zeros((128, 128)), CRATERS.radius / 8), CRATERS, seed),
        {"seed": 1},
        "seed",
        bad=NOT_WHOLE,
    )


# --- layers_to_settle ---
def test_layers_to_settle_by_hand():
    # simulated elsewhere: 2.5 times larger craters had gone after 4 layers, 5 times after 8
    assert_allclose(layers_to_settle(2.5 * um, 1.0 * um), 4.5)
    assert_allclose(layers_to_settle(5 * um, 1 * um), 8.0)
    assert layers_to_settle(0.0, 1 * um) == 2


@pytest.mark.parametrize("factor", [2.5, 5.0])
def test_after_that_many_layers_the_old_surface_has_gone(factor):
    before = replace(CRATERS, radius=factor * CRATERS.radius, depth=factor * CRATERS.depth)
    ends = []
    for seed in range(3):
        start = roughened(FLAT, before, seed)
        covered = layers_to_settle(start.Sa, 0.394 * CRATERS.depth)
        ends.append(after_layers(start, CRATERS, covered, seed).Sa / CRATERS.depth)
        third = after_layers(start, CRATERS, covered / 3, seed).Sa / CRATERS.depth
        assert third > 1.15 * 0.394  # sooner it has not
    assert_allclose(np.mean(ends), 0.394, rtol=0.06)


def test_layers_to_settle_keeps_shapes_and_refuses():
    numbers = {"old_Sa": 8 * um, "new_Sa": 2 * um}
    keeps_shapes(layers_to_settle, **numbers)
    for name in numbers:
        refuses(layers_to_settle, numbers, name)
    with pytest.raises(Refusal, match="new_Sa must be"):
        layers_to_settle(8 * um, 0.0)
