"""What to watch at a setting: each caution raised by a scenario, and its knob named."""

import math
import re
import warnings

import numpy as np
import pytest
from test_burn import AREAS, BURNING, PERIOD, RADIUS, SETTINGS, SPARK, machine, old_settings, setup

import edmkit as ek
from edmkit import tables
from edmkit.units import us

# name: what raises it, and a word of the sentence that names the knob
LOW, TAP = "lower current position", "52 A of its 55 A are reached: lengthen the on-time"
CAUTIONS = {
    "over_current_limit": ({}, (3.5, 50, 25), f"{LOW} or a longer off-time"),
    "far_over_current_limit": ({}, (8, 50, 25), f"Take a {LOW}"),
    "no_useful_cutting": ({}, (0.5, 800, 25), "Shorten the on-time or raise the current"),
    "pulse_too_short": ({"area": 900.0}, (55, 5.2, 25), TAP),
    "unusual_polarity": ({"polarity": "electrode negative"}, (3, 50, 25), "Switch to electrode"),
    "no_wear_figure": ({"work": "6061"}, (3, 50, 25), "There is no wear .* burn a trial"),
    "low_flash_point": (
        {"dielectric": "kerosene"},
        (3, 50, 25),
        "from about 5[0-9] °C.* Change to a fluid",
    ),
    "blocked_flushing": (
        {"flushing": ek.Flushing("suction", "blocked")},
        (3, 50, 25),
        "reverse the flow",
    ),
    "not_hydrocarbon": ({"dielectric": "water_di"}, (3, 50, 25), "burn a trial first"),
    "toxic_work": ({"work": "BeCu"}, (3, 50, 25), "extraction on"),
    "smaller_than_one_spark": ({"area": 0.0015}, (3, 50, 25), "lower the current or shorten"),
    "extrapolated": ({}, (0.25, 5, 25), "direction, not the figure"),
    "finish_out_of_range": ({"area": 2000.0}, (100, 900, 900), "against a comparator"),
    "doubtful_dial": ({"machine": True}, ("3", "5", "4"), "measure the position"),
    "fires_too_low": ({}, ek.Relaxation(100, 1, 60, breakdown_V=20), "20 V, and .* 25 V: it goes"),
}


def cautious(name):
    """Return the burn that raises a caution."""
    changed, dialled, _ = CAUTIONS[name]
    if changed.get("machine"):
        return ek.predict(setup(20.0, machine=machine()), old_settings(*dialled))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        settings = ek.Settings(*dialled) if isinstance(dialled, tuple) else dialled
        return ek.predict(setup(**changed), settings)


def test_the_ordinary_burn_raises_nothing():
    assert SPARK.warnings == ()
    assert set(SPARK.flags) == set(CAUTIONS)  # a new caution needs a scenario here
    assert not any(SPARK.flags.values())
    old = ek.predict(setup(20.0, machine=machine()), old_settings("3", "6", "4"))
    assert old.warnings == ()


@pytest.mark.parametrize("name", CAUTIONS)
def test_each_caution_is_raised_and_names_its_knob(name):
    burn, knob = cautious(name), CAUTIONS[name][2]
    assert burn.flags[name]
    said = [sentence for sentence in burn.warnings if re.search(knob, sentence)]
    assert len(said) == 1, burn.warnings
    assert said[0].endswith((".", "!")) and said[0][0].isupper()


def test_the_cost_of_the_unusual_polarity_is_said_where_there_is_a_figure():
    # negative on steel: not under 12 % (vocational text), and 0.2 % of floor (memory)
    assert "It costs about 12.2 % of electrode." in cautious("unusual_polarity").warnings[0]
    for sentence in cautious("toxic_work").warnings:
        assert "costs" not in sentence and "no figure" not in sentence


def test_the_current_limit_is_said_once_and_first():
    burn = cautious("far_over_current_limit")
    assert burn.flags["over_current_limit"] and burn.flags["far_over_current_limit"]
    assert sum("mean current" in sentence for sentence in burn.warnings) == 1
    assert "more than twice" in burn.warnings[0]


def test_the_current_limits_stand_where_they_were_put():
    # 3 mm round: 1.9 A of mean current (0.2 A/mm of rim; assumption); pulses of 85 µs, 50 on
    limit, mean = 0.2 * 2 * math.sqrt(math.pi * 7), BURNING / PERIOD
    amps = np.array([0.97, 1.03, 1.94, 2.06]) * limit / mean
    flags = ek.predict(setup(), ek.Settings(amps, 50, 25)).flags
    assert flags["over_current_limit"].tolist() == [False, True, True, True]
    assert flags["far_over_current_limit"].tolist() == [False, False, False, True]


@pytest.mark.parametrize(
    "changed, factor",
    [
        ({"electrode": "graphite"}, 1.3),
        ({"electrode": "brass"}, 0.5),
        ({"flushing": ek.Flushing("side jet", deep_blind=True)}, 0.5),
        ({"engaged_rim_mm": 30.0}, 3.5 / 1.876),  # 50 A/cm² of 7 mm² is less than 0.2 A/mm
    ],
)
def test_what_else_the_end_bears(changed, factor):
    # graphite and brass from memory, deep blind holes and thin strips by assumption
    limit, mean = 0.2 * 2 * math.sqrt(math.pi * 7), BURNING / PERIOD
    amps = np.array([0.95, 1.05]) * factor * limit / mean
    flags = ek.predict(setup(**changed), ek.Settings(amps, 50, 25)).flags
    assert flags["over_current_limit"].tolist() == [False, True]


def test_the_shop_s_own_current_rule_goes_before_the_kit_s():
    # 3 A/cm² on 1 cm² is 3 A of mean current
    own = setup(100.0, machine=machine(current_caution_A_per_cm2=3.0))
    taps = [ek.predict(own, old_settings(tap, "6", "4")) for tap in ("5", "7")]  # 6.4 and 11 A
    assert [burn.average_current_A.likely > 3 for burn in taps] == [True, True]
    assert [bool(burn.flags["far_over_current_limit"]) for burn in taps] == [False, True]


def test_an_electrode_smaller_than_one_spark():
    crater_mm2 = math.pi * RADIUS**2 * 1e-6
    flags = ek.predict(setup(crater_mm2 * np.array([0.99, 1.01])), SETTINGS).flags
    assert flags["smaller_than_one_spark"].tolist() == [True, False]


def test_flags_have_the_shape_of_the_settings_and_warnings_are_for_one():
    burn = ek.predict(setup(AREAS), ek.Settings(3, [20.0, 50.0, 100.0], 25))
    assert all(flag.shape == (2, 3) and flag.dtype == bool for flag in burn.flags.values())
    with pytest.raises(
        ek.Refusal, match=r"about one setting, got settings of shape \(2, 3\): use flags"
    ):
        _ = burn.warnings


@pytest.mark.parametrize(
    "amps, on, outside",
    [(0.29, 50, True), (0.3, 50, False), (60, 50, False), (60.1, 50, True),
     (10, 1.9, True), (10, 2, False), (30, 1000, False), (30, 1001, True)],
)  # fmt: skip
def test_leaving_the_range_of_the_tables_warns(amps, on, outside):
    # the tables hold for 0.3-60 A and 2-1000 µs of burning
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        burn = ek.predict(setup(2000.0), ek.Settings(amps, on, 200))
    assert [w.category for w in caught] == [ek.RangeWarning] * outside
    assert bool(burn.flags["extrapolated"]) == outside
    assert not outside or (caught[0].filename == __file__ and "flags" in str(caught[0].message))


@pytest.mark.parametrize("amps", [0.5, 1.0, 3.0])
def test_no_useful_cutting_is_a_fifth_of_the_best_on_time(amps):
    # assumption: 20 %; the best is looked for here on ten times as many on-times
    metal, times = ek.work_material("52100"), np.geomspace(2, 1000, 160)
    rates = tables.crater(amps, times * us, 25, 0.30, metal).volume / times
    expected = rates < 0.2 * rates.max()
    said = ek.predict(setup(2000.0), ek.Settings(amps, times, 25)).flags["no_useful_cutting"]
    near = np.abs(rates / rates.max() / 0.2 - 1) < 0.05  # the search is 3 % off at most
    assert (said == expected)[~near].all()
    assert expected.any() == (amps < 3) and not expected.all()
