"""What burns teach of one place and another: against the joint normal of all of them, by hand.

Two burns of one shop go together as far as they share machine, work, electrode and slopes. The
covariance of every pair is written out here from the assumed spreads; what some burns tell of
another is then the conditional normal of any textbook.
"""

import dataclasses
import functools
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from edmkit import regression
from edmkit.knowledge import (
    QUANTITIES,
    Knowledge,
    Learned,
    Lesson,
    Place,
    difference_of_ways,
    teach,
    untrained,
)

# Of ln(measured / predicted): whole, another steel, another metal, electrode, e-fold of current,
# on-time and area, burn to burn. Wholes from the spread of published levels, the rest assumptions.
ASSUMED = {
    "removal_rate": (1.15, 0.35, 0.80, 0.30, (0.20, 0.20, 0.30), 0.20),
    "roughness_Ra": (0.35, 0.12, 0.25, 0.10, (0.07, 0.08, 0.03), 0.11),
    "relative_wear": (0.60, 0.20, 0.50, 0.45, (0.15, 0.20, 0.10), 0.25),
    "gap_side": (0.35, 0.12, 0.25, 0.10, (0.10, 0.10, 0.05), 0.15),
    "gap_front": (0.40, 0.12, 0.25, 0.10, (0.10, 0.10, 0.05), 0.15),
    "recast": (0.45, 0.12, 0.25, 0.10, (0.07, 0.08, 0.03), 0.20),
}
COPPER, GRAPHITE = ("copper", "electrode positive"), ("graphite", "electrode positive")
HOME = Place("old", "52100", True, COPPER)
PLACES = {
    "home": HOME,
    "another steel": dataclasses.replace(HOME, work="H13"),
    "a metal that is no steel": dataclasses.replace(HOME, work="6061", is_steel=False),
    "another electrode": dataclasses.replace(HOME, tool=GRAPHITE),
    "another machine": dataclasses.replace(HOME, machine="new"),
    "all of it new": Place("new", "H13", True, GRAPHITE),
}
POINT = (0.9, -0.7, 1.1)


@pytest.fixture
def plain(monkeypatch):
    """Take one noise, no stretch and no slips: what is left is one joint normal."""
    monkeypatch.setattr(regression, "_NOISE_SPREAD", 0.0)
    monkeypatch.setattr(regression, "_STRETCH", ((1.0, 1.0),))
    monkeypatch.setattr(regression, "WIDER", 1.0)
    kept = functools.partial(regression.Prior, suspect=0.0)
    monkeypatch.setattr(regression, "Prior", kept)


def together(quantity, place, point, other, other_point):
    """Return the covariance of two burns' logarithms, burn to burn left out."""
    whole, steel, metal, tool, slopes, noise = ASSUMED[quantity]
    alike = place.machine == other.machine
    found = (whole**2 - noise**2 - steel**2 - tool**2) * alike + tool**2 * (
        place.tool == other.tool
    )
    if place.work == other.work:
        found += (steel if place.is_steel else metal) ** 2 * (0.64 + 0.36 * alike)
    for slope, x, z in zip(slopes, point, other_point, strict=True):
        found += slope**2 * x * z * (0.64 + 0.36 * alike)
    return found


def told(quantity, burns, place, point):
    """Return mean and variance that some burns leave at a place and point."""
    where = [(b.place, b.point) for b in burns]
    among = np.array([[together(quantity, *a, *b) for b in where] for a in where])
    among += np.diag([ASSUMED[quantity][-1] ** 2 + b.variance for b in burns])
    to = np.array([together(quantity, place, point, *b) for b in where])
    weights = np.linalg.solve(among, to)
    return (
        weights @ [b.value for b in burns],
        together(quantity, place, point, place, point) - weights @ to,
    )


def log_of(*names, seed=4):
    """Return invented burns at these places, everywhere over the settings."""
    random, found = np.random.default_rng(seed), []
    for n, name in enumerate(names):
        at, value, error = random.normal(size=3), random.normal(-0.8, 0.2), random.uniform(0, 0.04)
        found.append(Lesson(f"{n:03d}", PLACES[name], tuple(at), value, error))
    return found


# --- against the joint normal ---
LOGS = {
    "one burn": ("home",),
    "three of one kind": ("home",) * 3,
    "two steels": ("home", "home", "another steel"),
    "two machines and two electrodes": ("home", "another machine", "another electrode", "home"),
    "all": (*PLACES, *PLACES, "home", "home"),
}


@pytest.mark.parametrize("burned", LOGS.values(), ids=LOGS)
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_every_place_is_told_what_it_shares(plain, quantity, burned):
    burns = log_of(*burned)
    learned, slips = teach(quantity, burns)
    assert set(slips.values()) == {0.0}
    for place in PLACES.values():
        for point in ((0.0, 0.0, 0.0), POINT):
            mean, variance = told(quantity, burns, place, point)
            known = learned.at(place)
            columns = [1.0, *point]
            assert_allclose(np.dot(known.mean, columns), mean, atol=1e-7)
            assert_allclose(known.variance(columns), variance, rtol=1e-6)
            assert known.noise == pytest.approx(ASSUMED[quantity][-1])


@pytest.mark.parametrize("quantity", QUANTITIES)
def test_two_places_levels_differ_by_what_they_do_not_share(plain, quantity):
    burns = log_of("home", "another steel", "another electrode", "home", "another machine")
    learned, _ = teach(quantity, burns)
    usual = (0.0, 0.0, 0.0)
    for one in PLACES.values():
        for other in PLACES.values():
            # variance of a difference: of each, less twice what they have together
            where = [(b.place, b.point) for b in burns]
            among = np.array([[together(quantity, *a, *b) for b in where] for a in where])
            among += np.diag([ASSUMED[quantity][-1] ** 2 + b.variance for b in burns])
            apart = np.array(
                [
                    together(quantity, one, usual, *b) - together(quantity, other, usual, *b)
                    for b in where
                ]
            )
            before = together(quantity, one, usual, one, usual)
            before += together(quantity, other, usual, other, usual)
            before -= 2 * together(quantity, one, usual, other, usual)
            left = before - apart @ np.linalg.solve(among, apart)
            assert_allclose(learned.difference(one, other), left, atol=1e-8)


@pytest.mark.parametrize("is_steel", [True, False])
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_untrained_is_the_whole_at_every_setting(quantity, is_steel):
    whole, steel, metal, *_, noise = ASSUMED[quantity]
    known = untrained(quantity, is_steel)
    for point in ((5.0, 60e-6, 20e-6), (30.0, 4e-6, 400e-6)):
        shift, spread = known.correction(point)
        assert shift == 0
        more = 0 if is_steel else metal**2 - steel**2
        assert spread**2 == pytest.approx(whole**2 + more)
        assert known.noise == noise


def test_ways_that_differ_are_told_apart_as_the_joint_normal_tells_them(plain):
    # two ways differ by 0.7 of the logarithm or less; assumption
    burns = [
        dataclasses.replace(b, other_way=n % 2 == 1) for n, b in enumerate(log_of(*LOGS["all"]))
    ]
    mixture, columns = difference_of_ways("gap_side", burns)
    where, way = [(b.place, b.point) for b in burns], np.array([float(b.other_way) for b in burns])
    among = np.array([[together("gap_side", *a, *b) for b in where] for a in where])
    among += 0.49 * np.outer(way, way)
    among += np.diag([0.15**2 + b.variance for b in burns])
    weights = np.linalg.solve(among, 0.49 * way)
    mean, covariance = mixture.moments
    assert_allclose(columns @ mean, weights @ [b.value for b in burns], atol=1e-8)
    assert_allclose(columns @ covariance @ columns, 0.49 - 0.49 * weights @ way, rtol=1e-6)


# --- what is left where nothing was burned ---
def test_a_second_machine_starts_almost_where_the_first_one_did():
    # its level is its own; burns on the first machine leave it all but open (slips and noise as
    # they are): of the rate's 1.15, less than a twentieth is gained
    learned, _ = teach("removal_rate", log_of(*("home",) * 10))
    there = learned.at(PLACES["another machine"])
    spread = math.sqrt(there.variance([1.0, 0.0, 0.0, 0.0]) + there.noise**2)
    assert 0.95 * 1.15 < spread < 1.02 * 1.15
    assert not learned.knows_machine(PLACES["another machine"])
    assert learned.knows_machine(PLACES["another steel"])


def test_a_steel_the_shop_knows_from_its_first_machine_starts_narrower_on_the_second():
    burns = log_of(*("home", "another steel") * 3, *("another machine",) * 3)
    learned, _ = teach("removal_rate", burns)
    known, new = (
        learned.at(Place("new", work, True, COPPER)).variance([1.0, 0.0, 0.0, 0.0])
        for work in ("H13", "D2")
    )
    assert known < 0.9 * new


# --- shape and form ---
def test_it_takes_a_whole_grid_of_points():
    learned, _ = teach("removal_rate", log_of("home", "home"))
    amps, area = np.array([1.0, 5.0, 20.0])[:, None], np.array([7e-6, 20e-6])
    shift, spread = learned.at(HOME).correction((amps, 60e-6, area))
    assert shift.shape == spread.shape == (3, 2)
    one = learned.at(HOME).correction((20.0, 60e-6, 7e-6))
    assert_allclose((shift[2, 0], spread[2, 0]), one, rtol=1e-12)


def test_a_level_given_by_hand_holds_at_every_setting():
    known = Knowledge((0.4, 9.0), ((0.09, 0.0), (0.0, 9.0)), 0.2, flat=True)
    for point in ((5.0, 60e-6, 20e-6), (30.0, 4e-6, 400e-6)):
        shift, spread = known.correction(point)
        assert (shift, spread) == (0.4, pytest.approx(math.hypot(0.3, 0.2)))


def test_no_lessons_teach_nothing():
    learned, slips = teach("removal_rate", [])
    assert learned == Learned("removal_rate", (), (), (), learned.noise) and slips == {}
