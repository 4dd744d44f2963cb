"""Practice machines: their meters against sums by hand, their noise against its statistics.

The formulas are the definitions of mean and duty and Ohm's law; 25 V across a spark and the drop
that a machine takes for a short are common practice, no source.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.dials.practice import (
    COUNTS,
    DRIVES,
    PRACTICE,
    PRACTICE_ADDS,
    PracticeMachine,
    blank_survey,
    pitch_Hz,
    random_machine,
    read,
    spark_amps,
)
from edmkit.dials.survey import LOAD, SHORT, SWITCHES, VOLTS, Reading

SIX = {"1": 2.0, "2": 6.0}


def machine(**changes):
    """Return a machine of round numbers: 30 and 90 µs on, 10 and 30 µs off, 100 V, 2 and 6 A."""
    fields = {
        "peak_current_A": SIX,
        "on_time_us": {"1": 30.0, "2": 90.0},
        "off_time_us": {"1": 10.0, "2": 30.0},
        "open_voltage_V": {"fixed": 100.0},
    }
    return PracticeMachine("round numbers (invented)", **{**fields, **changes})


# --- against sums by hand ---
def test_pressed_on_scrap_the_mean_is_short_amps_by_duty():
    assert read(machine(), SHORT, ("2",), "1", "1") == pytest.approx(4.5)  # 6 A, 30 of 40 µs
    assert read(machine(), SHORT, ("2",), "1", "2") == pytest.approx(3.0)  # 6 A, 30 of 60 µs
    assert read(machine(), SHORT, ("1",), "2", "2") == pytest.approx(1.5)  # 2 A, 90 of 120 µs


def test_the_mean_is_that_of_a_train_of_pulses_drawn_out():
    time = np.arange(0, 60 * 500) + 0.5  # µs: 500 periods of 30 on, 30 off
    current = np.where(time % 60 < 30, 6.0, 0.0)
    assert_allclose(read(machine(), SHORT, ("2",), "1", "2"), current.mean(), rtol=1e-12)
    rises = np.count_nonzero(np.diff(current) > 0) + 1
    assert_allclose(pitch_Hz(machine(), "1", "2"), rises / (60e-6 * 500), rtol=1e-12)


def test_the_pitch_is_pulses_in_a_second():
    assert pitch_Hz(machine(), "1", "1") == pytest.approx(25_000)  # every 40 µs
    assert pitch_Hz(machine(short_stretch=9.0), "1", "1") == pytest.approx(1e6 / 120)


def test_with_the_electrode_up_the_voltmeter_tells_how_the_on_time_counts():
    for on, off, share in (("1", "1", 3 / 4), ("1", "2", 1 / 2), ("2", "1", 9 / 10)):
        assert read(machine(), VOLTS, (), on, off) == pytest.approx(100)
        fixed = machine(counts="in a fixed period")
        assert read(fixed, VOLTS, (), on, off) == pytest.approx(100 * share)


@pytest.mark.parametrize(
    ("drive", "driving", "shown"),
    [
        # 100 V that drive 6 A on a short stand behind 16.67 ohm: with 5 more, 4.615 A
        ("resistor-limited", None, 100 / (100 / 6 + 5)),
        ("two voltages", 60.0, 60 / (60 / 6 + 5)),  # 60 V behind 10 ohm: 4 A
        ("regulated", None, 6.0),
    ],
)
def test_a_resistor_takes_its_part_of_the_driving_voltage(drive, driving, shown):
    made = machine(drive=drive, driving_voltage_V=driving)
    assert read(made, LOAD, ("2",), "1", "2", load_ohm=5.0) == pytest.approx(shown / 2)


@pytest.mark.parametrize(
    ("drive", "driving", "amps"),
    [("resistor-limited", None, 4.5), ("two voltages", 50.0, 3.0), ("regulated", None, 6.0)],
)
def test_a_spark_burns_at_25_volts(drive, driving, amps):
    made = machine(drive=drive, driving_voltage_V=driving)
    assert spark_amps(made, ("2",)) == pytest.approx(amps)


def test_a_resistor_that_drops_a_sparks_voltage_shows_the_sparks_amps():
    made = machine()
    amps = spark_amps(made, ("2",))
    shown = read(made, LOAD, ("2",), "1", "2", load_ohm=25 / amps)
    assert shown == pytest.approx(amps / 2)


def test_the_energy_that_the_supply_gives_is_what_resistors_and_spark_turn_into_heat():
    c, volts, spark = 6.0, 100.0, spark_amps(machine(), ("2",))
    inside = volts / c  # ohm, by the short
    assert volts * spark == pytest.approx(spark**2 * inside + 25 * spark)


def test_a_regulated_supply_ends_at_its_own_voltage():
    made = machine(drive="regulated")
    assert read(made, LOAD, ("2",), "1", "2", load_ohm=50.0) == pytest.approx(1.0)  # 2 A, not 6


# --- shorts ---
def test_a_machine_that_falls_back_does_so_on_a_short_and_not_on_a_large_resistor():
    made, honest = machine(short_share=0.25), machine()
    assert (made.short, honest.short) == ("falls back", "holds")
    assert read(made, SHORT, ("2",), "1", "2") == pytest.approx(0.75)
    for ohm, share in ((1.0, 0.25), (5.0, 1.0)):  # 5.7 V and 23 V across it
        there = (LOAD, ("2",), "1", "2", "fixed", ohm)
        assert read(made, *there) == pytest.approx(share * read(honest, *there))


def test_a_stretched_off_time_lowers_the_mean():
    made = machine(short_stretch=5.0)
    assert read(made, SHORT, ("2",), "1", "1") == pytest.approx(6 * 30 / 80)
    assert made.short == "falls back"


# --- switches that add, two open voltages ---
def test_switches_add():
    made = machine(adds=True)
    assert read(made, SHORT, ("1", "2"), "1", "2") == pytest.approx(4.0)


def test_a_higher_open_voltage_drives_more_through_the_same_resistors():
    made = machine(open_voltage_V={"low": 80.0, "high": 120.0})
    low, high = (read(made, SHORT, ("2",), "1", "2", volts) for volts in ("low", "high"))
    assert (low, high) == (pytest.approx(3.0), pytest.approx(4.5))
    assert spark_amps(made, ("2",), "high") == pytest.approx(9 * 95 / 120)


# --- noise ---
def test_readings_scatter_as_they_are_said_to():
    rng, made = np.random.default_rng(11), machine(meter_noise=0.04)
    off = np.log([read(made, SHORT, ("2",), "1", "2", rng=rng) / 3 for _ in range(4000)])
    assert abs(off.mean()) < 4 * 0.04 / np.sqrt(4000)
    assert_allclose(off.std(), 0.04, rtol=4 / np.sqrt(2 * 4000))


def test_a_worn_contact_scatters_more_and_only_where_it_is():
    rng = np.random.default_rng(12)
    made = machine(meter_noise=0.01, bad=frozenset({("on_time_us", "1"), ("peak_current_A", "1")}))

    def scatter(tap, on):
        return np.log([read(made, SHORT, (tap,), on, "2", rng=rng) for _ in range(1500)]).std()

    assert_allclose(scatter("2", "2"), 0.01, rtol=0.1)
    # of d ln(on / (on + off)), half of a change of on is left at half duty
    assert_allclose(scatter("2", "1"), 0.35 / 2, rtol=0.12)
    assert_allclose(scatter("1", "2"), 0.35, rtol=0.1)
    pitches = np.log([pitch_Hz(made, "1", "2", rng) for _ in range(1500)])
    assert_allclose(pitches.std(), 0.35 / 2, rtol=0.12)
    assert pitch_Hz(made, "1", "2") == pytest.approx(1e6 / 60)


def test_a_needle_is_read_to_half_a_division():
    rng, made = np.random.default_rng(13), machine(ammeter_step_A=0.25)
    shown = np.array([read(made, SHORT, ("2",), "1", "2", rng=rng) for _ in range(200)])
    assert_allclose(shown / 0.25, np.round(shown / 0.25), atol=1e-12)
    assert len(set(shown)) > 1 and abs(shown.mean() - 3) < 0.05


# --- made at random ---
@pytest.mark.parametrize("seed", range(20))
def test_a_random_machine_is_one_that_could_be(seed):
    made = random_machine(seed, bad_share=0.1)
    for name, low, high in (("on_time_us", 2, 500), ("off_time_us", 2, 500),
                            ("peak_current_A", 0.5, 20)):  # fmt: skip
        values = np.array(list(getattr(made, name).values()))
        steps = np.diff(np.log(values))
        assert len(values) == 8 and np.all(steps > 0)
        assert_allclose(values[[0, -1]], (low, high), rtol=0.17)
        assert 1.05 < steps.max() / steps.min() < 3.1  # uneven, as ladders are
    assert 80 <= made.open_voltage_V["fixed"] <= 150
    assert len(made.bad) == 2  # a tenth of 24
    assert "invented" in made.name


def test_a_seed_makes_the_same_machine_and_another_another():
    assert random_machine(4) == random_machine(4)
    assert random_machine(4).on_time_us != random_machine(5).on_time_us
    assert random_machine(4).on_time_us != random_machine(4).off_time_us


@pytest.mark.parametrize("drive", DRIVES)
@pytest.mark.parametrize("counts", COUNTS)
def test_every_kind_can_be_had(counts, drive):
    made = random_machine(1, counts, drive, short_share=0.3)
    assert (made.counts, made.drive, made.short) == (counts, drive, "falls back")
    assert (made.driven_by("fixed") < 75) == (drive == "two voltages")


# --- what a person is told of it ---
@pytest.mark.parametrize("made", [PRACTICE, PRACTICE_ADDS, random_machine(3)])
def test_a_blank_survey_takes_its_readings_and_gives_nothing_away(made):
    survey = blank_survey(made, note="first day")
    assert survey.note == "first day" and not survey.readings and not survey.plates
    assert survey.counts == survey.short == ""
    for name in SWITCHES:
        assert survey.labels(name) == tuple(getattr(made, name))
    on, off, volts = (survey.labels(name)[-1] for name in SWITCHES[1:])
    top = (survey.peak_current_A[-1],)
    for what, current in ((VOLTS, ()), (SHORT, top)):
        value = read(made, what, current, on, off, volts, rng=np.random.default_rng(1))
        survey = survey.with_reading(Reading(what, value, current, on, off, volts))
    assert len(survey.readings) == 2


def test_the_demo_machines_say_that_they_are_invented():
    assert "invented" in PRACTICE.name and "invented" in PRACTICE_ADDS.name
    assert len(PRACTICE.bad) == 1 and (PRACTICE.counts, PRACTICE.drive) == (COUNTS[0], DRIVES[0])
    assert PRACTICE_ADDS.adds and PRACTICE_ADDS.counts == COUNTS[1]


# --- refusals ---
@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ((SHORT, ("9",), "1", "1"), "peak_current_A must be one of '1', '2'"),
        ((SHORT, ("1",), "9", "1"), "on_time_us must be one of"),
        ((SHORT, ("1",), "1", "9"), "off_time_us must be one of"),
        ((SHORT, ("1",), "1", "1", "high"), "open_voltage must be one of 'fixed'"),
        ((SHORT, ("1", "2"), "1", "1"), "positions of the current that are on must be 1 to 1"),
        ((SHORT, (), "1", "1"), "positions of the current that are on"),
        (("ohms", ("1",), "1", "1"), "what must be one of"),
        ((LOAD, ("1",), "1", "1"), "load_ohm must be"),
    ],
)
def test_what_the_machine_has_not_got_is_refused(asked, words):
    with pytest.raises(Refusal) as refused:
        read(machine(), *asked)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"counts": "never"}, "counts must be one of"),
        ({"drive": "steam"}, "drive must be one of"),
        ({"short_share": 0.0}, "short_share must be"),
        ({"short_stretch": 0.5}, "short_stretch must be"),
        ({"meter_noise": -0.1}, "meter_noise must be"),
    ],
)
def test_a_machine_that_cannot_be_is_refused(wrong, words):
    with pytest.raises(Refusal, match=words):
        machine(**wrong)


def test_a_share_over_one_is_refused():
    with pytest.raises(Refusal, match="bad_share must be 0 to 1"):
        random_machine(1, bad_share=1.5)
