"""Which cut-off to measure a burned surface with, and what a flat too small for it does"""

import re

import numpy as np
import pytest

from edmkit.checks import Refusal
from edmkit.physics.areal import areal_parameters
from edmkit.physics.profile import profile_parameters, stylus_line
from edmkit.planning.cut_off_advice import _READS, ACCEPTANCE, cut_off_advice
from edmkit.units import um


def said(advice):
    """Return the sentences as one text, without the one about acceptance."""
    assert advice.sentences[-1] == ACCEPTANCE
    return " ".join(advice.sentences[:-1])


# --- the default ---
@pytest.mark.parametrize(
    ("Ra", "cut_off", "evaluation", "travel", "tip"),
    [
        # ISO 21920-3 rows as reprinted (secondary), tips from a trade text; travel: run-up of half
        # a cut-off at each end, common practice, no source
        (0.05, 0.25, 1.25, 1.5, "2"),
        (1.6, 0.8, 4, 4.8, "2 (5 if Rz is over 3)"),
        (2.0, 0.8, 4, 4.8, "2 (5 if Rz is over 3)"),
        (3.2, 2.5, 12.5, 15, "5 or 2"),
        (12.5, 8, 40, 48, "10, 5 or 2"),
    ],
)
def test_default_follows_the_standard(Ra, cut_off, evaluation, travel, tip):
    found = cut_off_advice(Ra, 40)
    assert (found.default_mm, found.evaluation_mm) == (cut_off, evaluation)
    assert found.travel_mm == pytest.approx(travel) and found.tip == tip
    assert (found.cut_off_mm, found.sections) == (cut_off, 5)
    assert (found.Ra_reads, found.Rz_reads) == (1, 1)
    assert f"cut-off of {cut_off:g} mm" in said(found) and f"{travel:g} mm of travel" in said(found)
    assert "flat" not in said(found)


# --- a flat of its own length ---
@pytest.mark.parametrize(
    ("flat", "cut_off", "sections"),
    [
        # by hand: sections and one cut-off of run-up must fit
        (15.0, 2.5, 5),
        (14.9, 2.5, 4),
        (5.0, 2.5, 1),
        (4.9, 0.8, 5),
        (4.7, 0.8, 4),
        (1.6, 0.8, 1),
        (1.5, None, 0),  # 0.25 mm is less than six radii of 45 µm
    ],
)
def test_a_flat_takes_fewer_sections_then_a_shorter_cut_off(flat, cut_off, sections):
    found = cut_off_advice(3.2, 45, flat)
    assert (found.cut_off_mm, found.sections) == (cut_off, sections)
    assert found.default_mm == 2.5 and found.plate == 30  # 3.2 µm is class 30, VDI 3400


def test_a_long_flat_takes_no_longer_cut_off():
    found = cut_off_advice(1.6, 30, 500)
    assert (found.cut_off_mm, found.sections) == (0.8, 5)


def test_smaller_craters_allow_a_shorter_cut_off():
    assert cut_off_advice(3.2, 40, 1.5).cut_off_mm == 0.25
    assert cut_off_advice(3.2, 45, 1.5).cut_off_mm is None
    assert np.isnan(cut_off_advice(3.2, 45, 1.5).Ra_reads)


def test_what_is_said_of_the_flat():
    assert "This flat is long enough" in said(cut_off_advice(3.2, 45, 15))
    few = said(cut_off_advice(3.2, 45, 8))
    assert "2 sections only" in few and "Write beside the result: cut-off 2.5 mm, 2 sections" in few
    assert "comparator plate of class 30" in few and "reads low" not in few
    short = said(cut_off_advice(3.2, 45, 3))
    assert "Write beside the result: cut-off 0.8 mm, 2 sections." in short
    assert "reads low: Ra about 7.9 % and Rz about 22 %" in short
    assert "no measured one" in short and "comparator plate" in short
    assert "1 section." in said(cut_off_advice(3.2, 45, 1.6))
    none = said(cut_off_advice(3.2, 45, 0.5))
    assert "too small for a stylus" in none and "Write beside" not in none
    assert "within 2 %" in said(cut_off_advice(2.5, 4.5, 3))  # 180 radii: as 560


def test_both_rules_of_acceptance_say_where_they_come_from():
    assert "70 % of the limit" in ACCEPTANCE and "secondary" in ACCEPTANCE
    assert "ISO 21920-3, from memory" in ACCEPTANCE


# --- what a shorter cut-off reads ---
def craters(seed, size=512, radius=8, layers=5):
    """Return a surface of craters by the melt rule, written out plainly."""
    random = np.random.default_rng(seed)
    heights = np.zeros((size, size))
    for _ in range(int(layers * size**2 / np.pi / radius**2)):
        places = random.integers(0, size, (10, 2))  # the highest of ten takes the spark
        row, column = places[heights[places[:, 0], places[:, 1]].argmax()]
        scale = np.exp(random.normal(0, 0.25))
        reach = int(np.ceil(radius * scale))
        away = np.arange(-reach, reach + 1)
        window = np.ix_((row + away) % size, (column + away) % size)
        share = (away[:, None] ** 2 + away**2) / (radius * scale) ** 2
        old = heights[window]
        bowl = old[share < 1].mean() - scale * (1 - share)
        heights[window] = np.where(share < 1, bowl, old)
    return heights * um


def test_the_loss_is_that_of_simulated_surfaces():
    # the melt rule written out above, read by the stylus: the table came from another seed
    surface, pixel, radius = craters(11), 2 * um, 16 * um
    Sa = areal_parameters(surface).Sa
    for over, share, ratio in _READS[[0, 2, 4, 5, 6]]:
        line = stylus_line(surface, pixel, 6 * over * radius, int(600 / over) + 2)
        found = profile_parameters(line.heights, pixel, over * radius)
        assert found.Ra.mean() / Sa == pytest.approx(share, abs=0.025)
        assert found.Rz.mean() / found.Ra.mean() == pytest.approx(ratio, rel=0.04)


def test_a_shorter_cut_off_never_reads_more():
    found = [cut_off_advice(3.2, radius, 3.0) for radius in (5, 10, 20, 40, 80, 130)]
    for name in ("Ra_reads", "Rz_reads"):
        values = [getattr(advice, name) for advice in found]
        assert values == sorted(values, reverse=True) and values[0] <= 1
    assert found[-1].Ra_reads < 0.8


@pytest.mark.parametrize(
    ("numbers", "name"),
    [
        ((0, 45, 3), "roughness_Ra_um"),
        ((90, 45, 3), "roughness_Ra_um"),
        ((3.2, float("nan"), 3), "crater_radius_um"),
        ((3.2, 45, 0), "flat_length_mm"),
        ((3.2, 45, "three"), "flat_length_mm"),
    ],
)
def test_refuses(numbers, name):
    with pytest.raises(Refusal, match=re.escape(f"{name} must be ")):
        cut_off_advice(*numbers)
