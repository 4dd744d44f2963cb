"""The first trials in a new material, and what burns in another one tell of it."""

import dataclasses
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.knowledge import SPREADS
from edmkit.trials.carried import carried
from edmkit.trials.first_trials import FOUR, first_trials
from edmkit.trials.learn import learn

OLD = ek.read_machine("data_demo/old_manual_sinker.toml")
SETTINGS = ek.Settings(4.0, 45.0, 25.0, 100.0)


def setup(work="D2", machine=OLD, area=7.0, polarity="electrode positive"):
    return ek.Setup(
        work=ek.work_material(work), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity=polarity, engaged_area_mm2=area,
        machine=machine,
    )  # fmt: skip


def burned(work, count, times=1.0, start=0):
    """Return burns of the old machine that took a multiple of the untrained minutes."""
    rate = ek.predict(setup(work), SETTINGS).removal_rate_mm3_per_min.likely
    return [
        ek.Trial(
            id=f"{start + n:032d}", machine=OLD.name, machine_file=OLD, work=work,
            electrode="copper", polarity="electrode positive", peak_current_A=4.0, on_time_us=45.0,
            off_time_us=25.0, open_voltage_V=100.0, engaged_area_mm2=7.0, section_mm2=7.0,
            volume_mm3=7.0,
            minutes=ek.Measured(7.0 / rate * times * (0.9 + 0.2 * (n % 2)), "watch"),
        )
        for n in range(count)
    ]  # fmt: skip


# --- carried ---
def test_the_machine_s_level_carries_over_and_the_metal_s_own_does_not():
    shop = learn(burned("52100", 10, times=4.0))
    row = carried(setup("52100"), setup("D2"), SETTINGS, shop)[0]
    untrained = ek.predict(setup("D2"), SETTINGS).removal_rate_mm3_per_min
    assert row.before == untrained
    assert_allclose(row.new.likely, untrained.likely / 4, rtol=0.2)  # slow there, slow here
    assert row.known.spread < row.new.spread < row.before.spread
    # what is left at least: the metal's own level, stated before any trial, on both sides
    assert row.new.spread > SPREADS["removal_rate"].steel * 0.8
    more = learn([*burned("52100", 10, 4.0), *burned("D2", 3, 4.0, start=50)])
    own = carried(setup("52100"), setup("D2"), SETTINGS, more)[0]
    assert own.new.spread < 0.6 * row.new.spread


def test_new_over_known_leaves_the_machine_out():
    for shop in (None, learn(burned("52100", 5, 3.0))):
        for row in carried(setup("52100"), setup("D2"), SETTINGS, shop):
            one, other = row.known, row.new
            assert_allclose(row.ratio.likely, other.likely / one.likely)
    untrained = carried(setup("52100"), setup("D2"), SETTINGS)
    for row in untrained:
        assert row.ratio.spread < row.new.spread
        steel = SPREADS[row.quantity].steel
        assert_allclose(row.ratio.spread, math.sqrt(2) * steel, rtol=0.02)  # two steels' own


def test_the_same_material_is_its_own_ratio_of_one():
    for row in carried(setup("52100"), setup("52100"), SETTINGS):
        assert row.ratio.likely == 1 and row.ratio.spread == 0


def test_a_pair_without_a_wear_figure_has_no_ratio():
    at = setup("Ti64", polarity="electrode negative")
    rows = {row.quantity: row for row in carried(setup("52100"), at, SETTINGS)}
    assert math.isnan(rows["relative_wear"].ratio.likely)
    assert rows["removal_rate"].ratio.likely > 0


# --- first_trials ---
@pytest.mark.parametrize("work, area", [("D2", 7.0), ("WC-6Co", 20.0), ("Ti64", 50.0)])
def test_the_first_is_gentle_and_none_is_burned_twice(work, area):
    polarity = "electrode negative" if work != "D2" else "electrode positive"
    at = setup(work, area=area, polarity=polarity)
    made = first_trials(at, settings=SETTINGS, max_minutes=1000)
    assert len(made) == 4
    dials = [(t.settings.peak_current_A, t.settings.on_time_us, t.settings.off_time_us)
             for t in made]  # fmt: skip
    assert len(set(dials)) == 4
    burns = [ek.predict(at, t.settings) for t in made]
    load = [float(b.point.average_current / b.point.current_limit) for b in burns]
    assert load[0] <= 0.5 and max(load) <= 1
    assert "Gentle" in made[0].why and "Gentle" not in made[1].why
    for trial, burn in zip(made, burns, strict=True):
        assert_allclose(trial.minutes.likely, burn.minutes(area).likely)
        assert not burn.flags["no_useful_cutting"]


def test_each_trial_narrows_what_is_asked_and_the_last_word_is_the_burn_s_own_noise():
    made = first_trials(setup(), settings=SETTINGS, count=5)
    before = {q: float(np.exp(1.645 * SPREADS[q].whole)) for q in FOUR}
    for trial in made:
        for quantity in FOUR:
            assert trial.after[quantity] < before[quantity]
            assert trial.after[quantity] > np.exp(1.645 * SPREADS[quantity].noise)
        before = trial.after


def test_what_is_promised_is_what_the_book_then_says():
    # Burned and measured with hardly any error, the first trial leaves what it promised, and a
    # little more for the chance that it is a slip.
    at = setup(machine=None)
    settings = ek.Settings(3.0, 50.0, 25.0, 100.0)
    first = first_trials(at, settings=settings)[0]
    burn = ek.predict(at, first.settings)
    rate = burn.removal_rate_mm3_per_min.likely
    trial = ek.Trial(
        id="1" * 32, work="D2", electrode="copper", polarity="electrode positive",
        peak_current_A=first.settings.peak_current_A, on_time_us=first.settings.on_time_us,
        off_time_us=first.settings.off_time_us, open_voltage_V=100.0, engaged_area_mm2=7.0,
        section_mm2=7.0, volume_mm3=7.0, minutes=ek.Measured(7.0 / rate, "watch"),
    )  # fmt: skip
    now = ek.predict(at, settings, learn([trial])).removal_rate_mm3_per_min
    assert first.after["removal_rate"] <= now.high / now.likely * 1.02
    assert now.high / now.likely < 1.6 * first.after["removal_rate"]


def test_what_the_shop_knows_is_not_asked_again():
    shop = learn(burned("52100", 10))
    with_shop = first_trials(setup(), shop, settings=SETTINGS)[0].after["removal_rate"]
    without = first_trials(setup(), settings=SETTINGS)[0].after["removal_rate"]
    assert with_shop < without


def test_refusals():
    faults = (({"count": 2}, "count must be 3 to 5"), ({"max_minutes": 0}, "max_minutes"),
              ({"depth_mm": -1}, "depth_mm"))  # fmt: skip
    for wrong, words in faults:
        with pytest.raises(ek.Refusal, match=words):
            first_trials(setup(), settings=SETTINGS, **wrong)
    with pytest.raises(ek.Refusal, match="max_minutes must be at least") as refused:
        first_trials(setup(), settings=SETTINGS, max_minutes=0.5)
    least = float(str(refused.value).split("at least ")[1].split(" ")[0])
    assert first_trials(setup(), settings=SETTINGS, max_minutes=least * 1.05)


def test_none_takes_longer_than_allowed():
    made = first_trials(setup(), settings=SETTINGS, max_minutes=1000)
    limit = sorted(float(t.minutes.likely) for t in made)[1]
    short = first_trials(setup(), settings=SETTINGS, max_minutes=limit)
    assert short and all(t.minutes.likely <= limit for t in short)


def test_results_are_frozen():
    made = first_trials(setup(), settings=SETTINGS)[0]
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.why = ""
