"""The whole time of a feature that the finder ranks by, against the plan's own dressing."""

from math import pi

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.planning.dressing import dressing
from edmkit.planning.whole_time import minutes_of

HOLE = ek.Feature(ek.Round(3.05), ek.Flat(), 5.0)
SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")
SETTINGS = ek.Settings(3.0, 50.0, 25.0, lift_burn_s=4.0, lift_up_s=1.0)


def setup(machine=None, tool="copper"):
    return ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material(tool),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive",
        engaged_area_mm2=7.0, machine=machine,
    )  # fmt: skip


# --- minutes_of ---
def test_one_hole_is_its_burning_and_its_setting():
    burn = ek.predict(setup(), SETTINGS)
    found = minutes_of(HOLE)(burn)
    volume = pi / 4 * 3.05**2 * 5  # of a straight hole in a flat face
    burning = volume / burn.removal_rate_mm3_per_min.likely / 0.8  # 4 s of 5 s
    assert_allclose(found.likely, burning + 10)  # 5 min to load, 5 to drain
    assert_allclose(found.spread, burn.removal_rate_mm3_per_min.spread * burning / (burning + 10))


def test_setting_a_part_is_shared_by_its_holes():
    burn = ek.predict(setup(), SETTINGS)
    one, many = (minutes_of(HOLE, batch=b)(burn).likely
                 for b in (ek.Batch(), ek.Batch(parts=3, holes=4)))  # fmt: skip
    assert_allclose(one - many, 10 - 3 * 10 / 12)


def test_dressings_are_those_of_the_plan():
    batch = ek.Batch(parts=40, holes=2, corner_max_mm=0.4, usable_mm=25, corner_per_wear=1.0)
    burn = ek.predict(setup(), SETTINGS)
    volume = float(HOLE.removed_volume_mm3(5.0))
    wear = float(burn.end_wear_mm(volume, HOLE.shape.area_mm2).likely)
    made = dressing(batch, wear)
    assert made.dressings > 10
    bare = ek.Batch(parts=40, holes=2, usable_mm=25)
    more = minutes_of(HOLE, batch=batch)(burn).likely - minutes_of(HOLE, batch=bare)(burn).likely
    assert_allclose(more, made.dressings * 5 / 80)  # 5 min each, shared by 80 holes


def test_every_setting_at_once_is_each_alone():
    batch = ek.Batch(parts=10, corner_max_mm=0.2)
    on = np.array([10.0, 50.0, 200.0])
    whole = minutes_of(HOLE, ek.Round(2.97), batch)
    found = whole(ek.predict(setup(), ek.Settings(3.0, on, 25.0)))
    assert found.likely.shape == (3,)
    for number, one in enumerate(on):
        alone = whole(ek.predict(setup(), ek.Settings(3.0, float(one), 25.0)))
        assert_allclose((found.likely[number], found.spread[number]), (alone.likely, alone.spread))


def test_no_wear_figure_counts_no_dressing():
    at = setup(tool="graphite")
    titanium = ek.Setup(ek.work_material("Ti64"), at.electrode, at.dielectric,
                        "electrode negative", 7.0)  # fmt: skip
    burn = ek.predict(titanium, SETTINGS)
    assert np.isnan(burn.relative_wear_percent.likely)
    batch = ek.Batch(parts=10, corner_max_mm=0.01)
    bare = minutes_of(HOLE, batch=ek.Batch(parts=10))(burn)
    assert np.isfinite(bare.likely) and minutes_of(HOLE, batch=batch)(burn) == bare


def test_dressing_changes_what_is_fastest():
    # where each dressing costs half an hour, a setting that spares the electrode wins
    plain = ek.find_settings(setup(SMALL), like=SETTINGS, minutes_of=minutes_of(HOLE), chance=0.5)
    dear = ek.Batch(parts=20, corner_max_mm=0.05, dress_min=300)
    spared = ek.find_settings(setup(SMALL), like=SETTINGS, minutes_of=minutes_of(HOLE, batch=dear))
    wear = [f[0].burn.relative_wear_percent.likely for f in (plain, spared)]
    assert wear[1] <= wear[0] and spared[0].minutes.likely > plain[0].minutes.likely


def test_refusals():
    with pytest.raises(ek.Refusal, match="corner_max_mm"):
        minutes_of(HOLE, batch=ek.Batch(corner_max_mm=-1))
