"""Readings in, amps and microseconds out: against hand sums, scipy and invented machines."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit

from edmkit.checks import Refusal
from edmkit.dials.answer import dials_of, solved_of
from edmkit.dials.asked import (
    ask_load,
    ask_tap,
    ask_times,
    ask_volts,
    good_pair,
    times_known,
    usual_current,
)
from edmkit.dials.fit import _counting
from edmkit.dials.kind import kind_of
from edmkit.dials.next_reading import enough, next_pair, pair_for_pitch, time_spreads
from edmkit.dials.practice import (
    COUNTS,
    DRIVES,
    blank_survey,
    pitch_Hz,
    random_machine,
    read,
    spark_amps,
)
from edmkit.dials.survey import DOUBTED, LOAD, SHORT, VOLTS, Plate, Reading, Survey, Tone

TIMES = ("on_time_us", "off_time_us")
# 8 A short; 10 and 30 µs on, 10 and 30 µs off: duties 1/2, 1/4, 3/4, 1/2. Hand sums.
BY_HAND = {("1", "1"): 4.0, ("1", "2"): 2.0, ("2", "1"): 6.0, ("2", "2"): 4.0}


def two_by_two(amps=BY_HAND, hertz=50_000.0, factor=1.0):
    """Return a survey of two on-times and two off-times at one current."""
    survey = Survey("by hand", ("1",), ("1", "2"), ("1", "2"))
    for pair, value in amps.items():
        survey = survey.with_reading(Reading(SHORT, factor * value, ("1",), *pair, "fixed"))
    return survey.with_tone(Tone(hertz, 0.003, "1", "1")) if hertz else survey


def values(switch):
    """Return the values of a switch's positions."""
    return [p.value for p in switch.positions]


# --- outside values -----------------------------------------------------------------------------
def test_a_hand_sum_comes_back():
    """10 and 30 µs from four readings and one pitch: 1/(10 + 10 µs) = 50 kHz."""
    survey = two_by_two()
    dials = dials_of(survey.told(readings=survey.readings * 3))
    assert values(dials.on_time_us) == pytest.approx([10, 30], rel=2e-3)
    assert values(dials.off_time_us) == pytest.approx([10, 30], rel=2e-3)
    assert values(dials.peak_current_A) == pytest.approx([8], rel=2e-3)
    assert dials.factor_known and not dials.faults and not dials.notes
    assert [p.how_known for p in dials.on_time_us.positions] == ["measured"] * 2


def test_scipy_finds_the_same_times_and_spreads():
    """curve_fit of scipy on plain numbers of a noisy table: the same minimum, the same errors."""
    rng = np.random.default_rng(3)
    on, off, amps = np.array([5, 12, 40, 90.0]), np.array([8, 20, 60.0]), 10.0
    i, j = (part.ravel() for part in np.indices((4, 3)))
    shown = np.log(amps * on[i] / (on[i] + off[j])) + rng.normal(0, 0.03, 12)

    def plain(_, *x):
        on, off = np.exp(x[1:5]), np.exp(np.append(x[5:], np.log(8)))
        return x[0] + np.log(on[i] / (on[i] + off[(j + 2) % 3]))

    start = [2.0, *np.log(on), *np.log(off[1:])]
    found, covariance = curve_fit(plain, np.zeros(12), shown, start, 0.03 * np.ones(12),
                                  absolute_sigma=True)  # fmt: skip
    survey = Survey("s", ("1",), tuple("1234"), tuple("123"))
    for a, b, value in zip(i, j, shown, strict=True):
        pair = (str(a + 1), str(b + 1))
        survey = survey.with_reading(Reading(SHORT, float(np.exp(value)), ("1",), *pair, "fixed"))
    solved = solved_of(survey)
    places = [0, *(solved.model.place("on_time_us", x) for x in "1234")]
    base = solved.x[solved.model.place("off_time_us", "1")] - np.log(8)
    theirs = np.exp(found[:5])
    assert np.exp(solved.x[places[0]]) == pytest.approx(theirs[0], rel=1e-3)
    assert np.exp(solved.x[places[1:]] - base) == pytest.approx(theirs[1:], rel=2e-3)
    row = np.zeros(solved.model.size)
    row[places[1]], row[places[4]] = 1, -1
    ours = np.sqrt(row @ solved.covariance @ row) / solved.noise
    mine = np.array([0, 1, 0, 0, -1, 0, 0.0])
    assert ours == pytest.approx(np.sqrt(mine @ covariance @ mine) / 0.03, rel=0.02)


def test_a_frequency_is_one_over_the_period():
    """20 µs of on and off at 50 kHz; at half the pitch every time is twice as long. Definition."""
    slow = dials_of(two_by_two(hertz=25_000.0))
    assert values(slow.on_time_us) == pytest.approx([20, 60], rel=2e-3)


def test_one_plate_value_stands_in_for_the_pitch():
    """On-time 2 is 30 µs by its plate: then all are known, and to no better than the plate."""
    survey = two_by_two(hertz=None).with_plate(Plate("on_time_us", "2", 30.0))
    dials = dials_of(survey)
    assert dials.factor_known
    assert values(dials.off_time_us) == pytest.approx([10, 30], rel=0.02)
    assert all(p.spread > 0.1 for p in dials.off_time_us.positions)


def test_the_plates_of_one_machine_may_err_together():
    """16 plates of 10 % average to 2.5 % if they err apart; what they share stays, 5 % assumed."""
    machine, survey = surveyed(2, 64)
    survey = survey.told(tones=())
    for switch in TIMES:
        for label, value in getattr(machine, switch).items():
            survey = survey.with_plate(Plate(switch, label, value))
    dials = dials_of(survey)
    spreads = [p.spread for name in TIMES for p in dials.switch(name).positions]
    assert min(spreads) > 0.05 and np.median(spreads) < 0.08


# --- properties ---------------------------------------------------------------------------------
@settings(max_examples=15, deadline=None)
@given(st.floats(0.1, 10.0), st.floats(0.3, 3.0))
def test_amps_and_times_scale_apart(amps, slower):
    """More amps throughout changes the amps alone; a lower pitch changes the times alone."""
    dials = dials_of(two_by_two(factor=amps, hertz=50_000.0 / slower))
    assert values(dials.peak_current_A) == pytest.approx([8 * amps], rel=5e-3)
    assert values(dials.on_time_us) == pytest.approx([10 * slower, 30 * slower], rel=5e-3)


def test_the_order_of_the_readings_is_no_matter():
    """Least squares have no order."""
    survey = two_by_two()
    turned = survey.told(readings=survey.readings[::-1])
    assert values(dials_of(turned).on_time_us) == pytest.approx(values(dials_of(survey).on_time_us))


def test_without_pitch_or_plate_times_stay_unknown_and_wide():
    """Four readings tell the times to one another only."""
    dials = dials_of(two_by_two(hertz=None))
    on = dials.on_time_us.positions
    assert not dials.factor_known
    assert [p.how_known for p in on] == ["unknown"] * 2 and min(p.spread for p in on) > 0.6
    assert on[1].value / on[0].value == pytest.approx(3, rel=5e-3)


def test_positions_left_out_are_filled_in_and_unknown():
    """A position that nobody read lies between its neighbours, with the spread of the unknown."""
    survey = replace(two_by_two(), on_time_us=("1", "x", "2"))
    middle = dials_of(survey).on_time_us.positions[1]
    assert middle.filled and middle.how_known == "unknown" and middle.spread == 0.70
    assert middle.value == pytest.approx(np.sqrt(10 * 30), rel=5e-3)


def test_nothing_read_is_nothing_known():
    """A machine whose switches are named and no more: every position unknown, no fault."""
    dials = dials_of(Survey("new", tuple("1234"), tuple("1234"), tuple("1234")))
    assert {p.how_known for s in dials.switches for p in s.positions} == {"unknown"}
    assert not dials.faults and dials.kind.word == dials.supply.word == ""


def test_more_readings_narrow_and_never_widen_the_shape():
    """Each pair read again takes doubt away."""
    survey = two_by_two()
    before = time_spreads(solved_of(survey))
    again = survey.told(readings=survey.readings * 4)
    assert np.all(time_spreads(solved_of(again)) < before)


# --- whole machines -----------------------------------------------------------------------------
def surveyed(seed, readings=64, noise=0.03, **machine):
    """Return an invented machine and its survey: the pairs asked for, then one pitch."""
    machine = random_machine(seed, COUNTS[seed % 2], meter_noise=noise, **machine)
    rng = np.random.default_rng(1000 + seed)
    tap = next(k for k in "675" if ("peak_current_A", k) not in machine.bad)
    survey = blank_survey(machine, ammeter_max_A=None)
    for _ in range(readings):
        asked = next_pair(solved_of(survey), (tap,))
        pair = (asked.on_time, asked.off_time)
        value = read(machine, SHORT, (tap,), *pair, rng=rng)
        survey = survey.with_reading(Reading(SHORT, value, (tap,), *pair, "fixed"))
    asked = pair_for_pitch(solved_of(survey))
    heard = pitch_Hz(machine, asked.on_time, asked.off_time) * np.exp(rng.normal(0, 0.003))
    return machine, survey.with_tone(Tone(heard, 0.004, asked.on_time, asked.off_time))


@pytest.fixture(scope="module")
def shops():
    """40 machines of 8 x 8 positions: 3 % noise, one position in ten worn, 64 readings."""
    made = [surveyed(seed, bad_share=0.10) for seed in range(40)]
    return [(machine, dials_of(survey)) for machine, survey in made]


def errors(machine, dials):
    """Return (switch, label, error by logarithm, spread, named as worn) of every time."""
    named = {(f.switch, f.label) for f in dials.faults if "scatter" in f.why}
    return [
        (name, p.label, np.log(p.value / getattr(machine, name)[p.label]), p.spread,
         (name, p.label) in named)
        for name in TIMES for p in dials.switch(name).positions
    ]  # fmt: skip


def good_ones(shops):
    """Return the rows of the sound positions, one array a machine."""
    return [np.array([row[2:4] for row in errors(m, d) if row[:2] not in m.bad]) for m, d in shops]


def test_times_come_out_within_three_percent_in_the_middle(shops):
    """The goal for 8 x 8 positions, 3 % noise, one pitch: median error under 3 %."""
    assert np.median([np.median(np.abs(rows[:, 0])) for rows in good_ones(shops)]) < 0.03


def test_nine_machines_of_ten_have_no_sound_time_off_by_15_percent(shops):
    """The goal; it counts whole machines by their worst sound position."""
    worst = np.array([np.abs(rows[:, 0]).max() for rows in good_ones(shops)])
    assert np.mean(worst < np.log(1.15)) >= 0.90


def test_worn_positions_are_named_and_sound_ones_are_not(shops):
    """Nine of ten worn positions by name; of the sound ones hardly any."""
    rows = [(row, row[:2] in m.bad) for m, d in shops for row in errors(m, d)]
    assert np.mean([row[4] for row, bad in rows if bad]) > 0.85
    assert np.mean([row[4] for row, bad in rows if not bad]) < 0.01


def test_the_stated_spreads_cover_nine_of_ten(shops):
    """The goal: 86 to 94 % of the sound positions lie inside their own 90 % band."""
    rows = np.concatenate(good_ones(shops))
    inside = np.abs(rows[:, 0]) < 1.6449 * rows[:, 1]
    assert 0.86 <= np.mean(inside) <= 0.94


@pytest.mark.parametrize("noise", [0.02, 0.05])
def test_the_noise_of_the_needle_is_found(noise):
    """2 and 5 %: the fit does not simply believe its own assumption of 3 %."""
    found = [dials_of(surveyed(seed, 48, noise)[1]).noise for seed in range(4)]
    assert np.mean(found) == pytest.approx(noise, rel=0.25)


def test_thirty_readings_do_for_a_sound_machine():
    """The sequence spends few readings: half the table, and all times within 15 %."""
    for seed in range(6):
        machine, survey = surveyed(seed, 30)
        assert max(abs(row[2]) for row in errors(machine, dials_of(survey))) < 0.2


def test_a_misread_needle_is_left_out_and_named():
    """One reading typed as 10 times too much: flagged, and the times stay."""
    machine, survey = surveyed(2, 40)
    pairs = [r.pair for r in survey.readings]
    wrong = next(r for r in survey.readings if pairs.count(r.pair) == 1)
    slipped = survey.without(wrong).with_reading(replace(wrong, value=10 * wrong.value))
    dials = dials_of(slipped)
    assert [r.reading.pair for r in dials.residuals if r.outlier] == [wrong.pair]
    assert all(abs(row[2]) < 3 * row[3] for row in errors(machine, dials))
    asked = next_pair(solved_of(slipped), wrong.current)
    assert (asked.on_time, asked.off_time) == wrong.pair and "again" in asked.why


def test_two_readings_that_fight_are_no_measurement():
    """A position read twice, half as much again apart: nobody knows which, so it stays unknown."""
    machine, survey = surveyed(2, 40)
    cut = survey.told(readings=tuple(r for r in survey.readings if r.on_time != "3"))
    for off, slip in (("3", 1.0), ("4", 1.5)):
        value = slip * read(machine, SHORT, ("6",), "3", off)
        cut = cut.with_reading(Reading(SHORT, value, ("6",), "3", off, "fixed"))
    assert dials_of(cut).on_time_us.positions[2].how_known == "unknown"


def test_a_coarse_meter_widens_what_its_small_readings_say():
    """Steps of 0.5 A: 2 A is known to 0.5/sqrt(12)/2 = 7 % at best. Rounding, textbook."""
    fine = two_by_two().told(readings=two_by_two().readings * 3)
    coarse = fine.told(ammeter_step_A=0.5)
    for before, after in zip(dials_of(fine).on_time_us.positions,
                             dials_of(coarse).on_time_us.positions, strict=True):  # fmt: skip
        assert after.spread > 1.3 * before.spread


def test_what_was_left_out_comes_back_where_the_rest_cannot_tell():
    """Far off what the rest foretells: out, if the rest foretells it well, and in, if it cannot."""
    survey = two_by_two()
    solved = solved_of(survey)
    x = solved.x.copy()
    x[solved.model.place("off_time_us", "2")] += 1.0
    lone = np.array([r.pair != ("1", "2") for r in survey.readings] + [True])
    for widths, back in ((9.0, True), (1e-6, False)):
        doubt = np.diag([widths] * solved.model.size)
        assert _counting(solved.model, x, solved.noise, {}, lone, doubt)[1] == back


def test_the_voltmeter_waits_until_the_kind_is_clear():
    """80 and 100 V tell neither kind: the open voltage stays unknown, and the page says so."""
    survey = two_by_two()
    for pair, volts in ((("1", "2"), 80.0), (("2", "1"), 100.0)):
        survey = survey.with_reading(Reading(VOLTS, volts, (), *pair, "fixed"))
    dials = dials_of(survey)
    assert dials.kind.word == "" and "wait" in dials.notes[0]
    assert dials.open_voltage_V.positions[0].how_known == "unknown"
    assert len(dials.residuals) == 4


def test_a_worn_current_position_is_seen_in_the_noise():
    """All readings through a worn tap scatter: the page says so instead of believing them."""
    machine = random_machine(1, bad_share=0.0)
    machine = replace(machine, bad=frozenset({("peak_current_A", "6")}))
    rng, survey = np.random.default_rng(0), blank_survey(machine, ammeter_max_A=None)
    for on in machine.on_time_us:
        for off in list(machine.off_time_us)[::2]:
            value = read(machine, SHORT, ("6",), on, off, rng=rng)
            survey = survey.with_reading(Reading(SHORT, value, ("6",), on, off, "fixed"))
    dials = dials_of(survey)
    assert dials.noise > 0.15 and "poor contact" in dials.notes[0]
    assert not any(f.switch == "peak_current_A" for f in dials.faults)  # it was the only one read


def test_an_effective_value_meter_is_recognised():
    """Readings of amps x sqrt(duty), as an a.c. range shows (definition of the effective value)."""
    machine = random_machine(4)
    rng, survey = np.random.default_rng(0), blank_survey(machine, ammeter_max_A=None)
    amps = machine.peak_current_A["6"]
    for on, t_on in machine.on_time_us.items():
        for off, t_off in machine.off_time_us.items():
            value = amps * np.sqrt(t_on / (t_on + t_off)) * np.exp(rng.normal(0, 0.02))
            survey = survey.with_reading(Reading(SHORT, value, ("6",), on, off, "fixed"))
    assert any("effective" in note for note in dials_of(survey).notes)


def test_a_pitch_an_octave_off_is_said():
    """Two pitches, one of them twice what it should be."""
    machine, survey = surveyed(2, 40)
    for on, off, slip in (("7", "7", 1.0), ("6", "7", 1.0), ("5", "8", 2.0)):
        survey = survey.with_tone(Tone(slip * pitch_Hz(machine, on, off), 0.004, on, off))
    notes = dials_of(survey).notes
    assert len(notes) == 1 and "on-time 5, off-time 8" in notes[0] and "octave" in notes[0]


def test_a_lone_pitch_in_doubt_is_remembered():
    """All times hang on one doubtful recording: said until a second pair is heard."""
    doubted = Tone(50_000.0, 0.003, "1", "1", DOUBTED)
    survey = two_by_two(hertz=None).with_tone(doubted)
    assert "in doubt" in dials_of(survey).notes[0]
    assert not dials_of(survey.with_tone(Tone(25_000.0, 0.003, "1", "2"))).notes
    with pytest.raises(Refusal, match="how it was counted"):
        survey.with_tone(replace(doubted, source="heard"))


# --- how the on-time counts ---------------------------------------------------------------------
@pytest.mark.parametrize("counts", COUNTS)
def test_the_voltmeter_tells_how_the_on_time_counts(counts):
    """Full voltage whatever the times, or voltage x duty: from the four readings asked for."""
    for seed in range(20):
        machine = random_machine(seed, counts)
        rng, survey = np.random.default_rng(seed), blank_survey(machine, voltmeter_max_V=None)
        while True:
            asked, _ = ask_volts(survey)
            if asked is None:
                break
            value = read(machine, VOLTS, (), *asked.pair, asked.open_voltage, rng=rng)
            survey = survey.with_reading(replace(asked, value=value))
        assert len(survey.readings) == 4
        assert kind_of(survey).word == counts


def test_pairs_of_one_duty_cannot_tell():
    """The same duty twice reads the same on either generator."""
    survey = Survey("s", ("1",), tuple("123"), tuple("123"))
    for pair in (("1", "1"), ("2", "2"), ("3", "3")):
        survey = survey.with_reading(Reading(VOLTS, 60.0, (), *pair, "fixed"))
    assert kind_of(survey).word == ""


def test_the_person_is_believed_and_contradicted():
    """What a person says holds, and the voltmeter's no is said."""
    survey = Survey("s", ("1",), tuple("123"), tuple("123"), counts="from breakdown")
    for pair, volts in ((("3", "1"), 90.0), (("1", "3"), 20.0)):
        survey = survey.with_reading(Reading(VOLTS, volts, (), *pair, "fixed"))
    kind = kind_of(survey)
    assert kind.word == "from breakdown" and "against" in kind.why


def test_a_fixed_period_gives_its_open_voltage():
    """The meter never shows the open voltage there: it comes out of voltage x duty."""
    machine = random_machine(1, "in a fixed period")
    rng, survey = np.random.default_rng(0), blank_survey(machine, voltmeter_max_V=None)
    for on in machine.on_time_us:
        for off in machine.off_time_us:
            value = read(machine, VOLTS, (), on, off, rng=rng)
            survey = survey.with_reading(Reading(VOLTS, value, (), on, off, "fixed"))
    found = dials_of(survey).open_voltage_V.positions[0]
    assert found.how_known == "measured"
    assert found.value == pytest.approx(machine.open_voltage_V["fixed"], rel=0.05)


# --- taps and what drives the current -----------------------------------------------------------
def with_taps(seed, drive, loads=2, noise=0.03, **machine):
    """Return a machine and its survey with volts, times, taps, and a resistor at three taps."""
    machine, survey = surveyed(seed, 36, noise, drive=drive, **machine)
    rng = np.random.default_rng(seed)
    volts = read(machine, VOLTS, (), "8", "1", rng=rng)
    survey = survey.told(counts=machine.counts).with_reading(
        Reading(VOLTS, volts, (), "8", "1", "fixed")
    )
    pair = good_pair(dials_of(survey))
    for tap in machine.peak_current_A:
        value = read(machine, SHORT, (tap,), *pair, rng=rng)
        survey = survey.with_reading(Reading(SHORT, value, (tap,), *pair, "fixed"))
    for tap in "678" * loads:
        ohm = 30 / machine.peak_current_A[tap]
        value = read(machine, LOAD, (tap,), *pair, "fixed", ohm, rng)
        survey = survey.with_reading(Reading(LOAD, value, (tap,), *pair, "fixed", ohm))
    return machine, survey


@pytest.mark.parametrize("drive", DRIVES)
def test_a_resistor_tells_what_drives_the_current(drive):
    """Resistor-limited, regulated, two voltages: never a wrong word, mostly the right one."""
    words = [dials_of(with_taps(seed, drive)[1]).supply.word for seed in range(12)]
    wrong = set(words) - {drive, ""}
    assert sum(word == drive for word in words) >= 9
    assert sum(word in wrong for word in words) <= 1


def test_two_voltages_come_out_in_volts():
    """The voltage that drives the current, from short and resistor: R I_s I_R / (I_s - I_R)."""
    for seed in range(6):
        machine, survey = with_taps(seed, "two voltages", loads=4)
        found = dials_of(survey).supply.driving_voltage_V
        assert found.likely == pytest.approx(machine.driving_voltage_V, rel=0.25)
        assert found.spread > 0.05  # a resistor is no better than its print


def test_taps_come_out_in_amps():
    """Short amps of every tap within what a meter and its duty allow."""
    machine, survey = with_taps(3, "resistor-limited")
    for p in dials_of(survey).peak_current_A.positions:
        assert p.how_known == "measured"
        assert np.log(p.value / machine.peak_current_A[p.label]) == pytest.approx(
            0, abs=3 * p.spread
        )


def test_switches_that_add_are_told_apart_from_their_sums():
    """1, 2 and 4 A read only in twos: three sums give three switches. Arithmetic."""
    survey = Survey("s", ("a", "b", "c"), ("1", "2"), ("1", "2"), adds=True)
    for pair, amps in BY_HAND.items():
        survey = survey.with_reading(Reading(SHORT, amps * 3 / 8, ("a", "b"), *pair, "fixed"))
    for on, amps in ((("a", "c"), 5.0), (("b", "c"), 6.0)):
        survey = survey.with_reading(Reading(SHORT, amps / 2, on, "1", "1", "fixed"))
    switch = dials_of(survey).peak_current_A
    assert switch.adds and values(switch) == pytest.approx([1, 2, 4], rel=0.03)


def test_a_machine_that_cuts_back_is_caught_and_read_through_the_resistor():
    """A short cut to 40 %: more flows through the resistor, so the shorts are left out, said."""
    _, survey = with_taps(5, "resistor-limited", short_share=0.4)
    dials = dials_of(survey)
    assert "left out" in dials.notes[0] and dials.supply.amps == "spark"


def test_through_a_resistor_alone_the_amps_are_those_of_a_spark():
    """Short protection: all readings through 25 V of resistor; spark amps within a few percent."""
    machine = random_machine(7, "from breakdown", short_share=0.3)
    rng = np.random.default_rng(7)
    survey = blank_survey(machine, short="falls back", ammeter_max_A=None)
    truth = spark_amps(machine, ("6",))
    ohm = 25 / truth
    for on in machine.on_time_us:
        for off in machine.off_time_us:
            value = read(machine, LOAD, ("6",), on, off, "fixed", ohm, rng)
            survey = survey.with_reading(Reading(LOAD, value, ("6",), on, off, "fixed", ohm))
    dials = dials_of(survey)
    found = dials.peak_current_A.positions[5]
    assert dials.supply.amps == "spark" and found.value == pytest.approx(truth, rel=0.08)


def test_a_resistor_that_gets_too_few_volts_measures_no_tap():
    """Few amps, few volts: the machine may cut back as in a short, so the tap stays unknown."""
    machine = random_machine(7, "from breakdown", short_share=0.3)
    rng = np.random.default_rng(7)
    survey = blank_survey(machine, short="falls back", ammeter_max_A=None)
    ohm = 25 / spark_amps(machine, ("6",))
    for tap, pairs in (("6", 8), ("3", 2)):
        for on in list(machine.on_time_us)[-pairs:]:
            for off in machine.off_time_us:
                value = read(machine, LOAD, (tap,), on, off, "fixed", ohm, rng)
                survey = survey.with_reading(Reading(LOAD, value, (tap,), on, off, "fixed", ohm))
    dials = dials_of(survey)
    known = {p.label: p.how_known for p in dials.peak_current_A.positions}
    assert known["6"] == "measured" and known["3"] == "unknown"
    assert "16 readings through the resistor had less than 15 V" in dials.notes[0]


def test_a_tap_unlike_its_plate_and_one_out_of_order_are_named():
    """Plates of 1, 2, 4, 8 A; the third gives 1.5 A."""
    survey = Survey("s", tuple("1234"), ("1", "2"), ("1", "2"))
    for pair, amps in BY_HAND.items():
        survey = survey.with_reading(Reading(SHORT, amps, ("4",), *pair, "fixed"))
    for tap, amps, plate in (("1", 1, 1), ("2", 2, 2), ("3", 1.5, 4), ("4", 8, 8)):
        for _ in range(3):
            survey = survey.with_reading(Reading(SHORT, amps / 2, (tap,), "1", "1", "fixed"))
        survey = survey.with_plate(Plate("peak_current_A", tap, plate))
    whys = [f.why for f in dials_of(survey).faults if f.label == "3"]
    assert any("plate says 4 A" in why for why in whys)
    assert any("out of order beside current 2" in why for why in whys)
    assert {f.label for f in dials_of(survey).faults} == {"3"}


def test_two_positions_that_do_the_same_are_named():
    """Tap 3 gives what tap 2 gives: a switch that does not switch."""
    survey = Survey("s", tuple("1234"), ("1", "2"), ("1", "2"))
    for pair, amps in BY_HAND.items():
        survey = survey.with_reading(Reading(SHORT, amps, ("4",), *pair, "fixed"))
    for tap, amps in (("1", 1), ("2", 2), ("3", 2), ("4", 8)):
        for _ in range(6):
            survey = survey.with_reading(Reading(SHORT, amps / 2, (tap,), "1", "1", "fixed"))
    assert [(f.label, f.why) for f in dials_of(survey).faults] == [
        ("3", "it does the same as current 2.")
    ]


# --- what is asked for --------------------------------------------------------------------------
def test_the_first_readings_touch_every_position():
    """As few readings as there are unknowns: 8 + 8 positions and one current in 17, none missed."""
    machine, survey = surveyed(3, 17)
    assert {r.on_time for r in survey.readings} == set(machine.on_time_us)
    assert {r.off_time for r in survey.readings} == set(machine.off_time_us)
    assert len({r.pair for r in survey.readings}) == 17


def test_the_reading_asked_for_beats_any_other():
    """Greedy by definition: hardly a pair of the 64 takes more doubt away, by a fit with each."""
    _, survey = surveyed(6, 20)
    survey = survey.told(tones=())
    solved = solved_of(survey)
    asked = next_pair(solved, ("6",))
    model, left = solved.model, {}
    for on in survey.on_time_us:
        for off in survey.off_time_us:
            ratio = (
                solved.x[model.place("off_time_us", off)] - solved.x[model.place("on_time_us", on)]
            )
            amps = np.exp(solved.x[model.place("peak_current_A", "6")]) / (1 + np.exp(ratio))
            more = survey.with_reading(Reading(SHORT, float(amps), ("6",), on, off, "fixed"))
            left[on, off] = float(np.sum(time_spreads(solved_of(more)) ** 2))
    order = sorted(left, key=left.get)
    assert (asked.on_time, asked.off_time) in order[:6]


def test_the_pitch_is_asked_where_a_phone_hears_and_nothing_is_worn():
    """A recording ends near 20 kHz; a worn position would carry its own error to all."""
    for seed in range(6):
        machine, survey = surveyed(seed, 40, bad_share=0.1)
        asked = pair_for_pitch(solved_of(survey))
        assert 150 < pitch_Hz(machine, asked.on_time, asked.off_time) < 20_000
        faults = {(f.switch, f.label) for f in dials_of(survey).faults}
        assert not faults & {("on_time_us", asked.on_time), ("off_time_us", asked.off_time)}


def test_a_worn_position_is_not_heard_and_a_second_pair_is_another():
    """The pitch of a worn position would carry its error to all; a second pair shares nothing."""
    _, survey = surveyed(2, 40)
    solved = solved_of(survey.told(tones=()))
    first = pair_for_pitch(solved)
    worn = replace(solved, worn={solved.model.place("on_time_us", first.on_time): 0.3})
    assert pair_for_pitch(worn).on_time != first.on_time
    tone = Tone(5000.0, 0.01, first.on_time, first.off_time)
    second = pair_for_pitch(solved_of(survey.told(tones=(tone,))))
    assert second.on_time != first.on_time and second.off_time != first.off_time


def test_what_was_read_again_is_not_asked_for_for_ever():
    """The misread pair is asked for once more; after that the sequence goes on."""
    machine, survey = surveyed(2, 40)
    pairs = [r.pair for r in survey.readings]
    wrong = next(r for r in survey.readings if pairs.count(r.pair) == 1)
    slipped = survey.without(wrong).with_reading(replace(wrong, value=4 * wrong.value))
    assert "again" in next_pair(solved_of(slipped), wrong.current).why
    value = read(machine, SHORT, wrong.current, *wrong.pair)
    after = next_pair(solved_of(slipped.with_reading(replace(wrong, value=value))), wrong.current)
    assert "again" not in after.why


def test_taps_are_read_at_a_high_duty_that_is_well_known():
    """There the amps hang least on the times: d log(duty) = (1 - duty) d log(on/off). Calculus."""
    machine, survey = surveyed(2, 40)
    dials = dials_of(survey)
    asked, _ = ask_tap(survey, dials)
    on, off = machine.on_time_us[asked.on_time], machine.off_time_us[asked.off_time]
    assert on / (on + off) > 0.9
    load, _ = ask_load(survey, dials, 2.0)  # a resistor is to stay cool: a middling duty
    on, off = machine.on_time_us[load.on_time], machine.off_time_us[load.off_time]
    assert 0.2 < on / (on + off) < 0.85


def test_each_open_voltage_is_read_once():
    """Four ends at the first voltage, then every other voltage at one pair."""
    survey = Survey("s", ("1",), tuple("123"), tuple("123"), ("low", "middle", "high"))
    asked = []
    while (step := ask_volts(survey)[0]) is not None:
        asked.append((step.open_voltage, step.pair))
        survey = survey.with_reading(replace(step, value=100.0))
    assert [volts for volts, _ in asked] == ["low"] * 4 + ["middle", "high"]
    assert len({pair for volts, pair in asked if volts == "low"}) == 4


def test_what_is_asked_comes_to_an_end():
    """Volts, taps and loads end; times go on, and say when it is enough."""
    _, survey = surveyed(2, 40)
    dials, solved = dials_of(survey), solved_of(survey)
    assert enough(solved) and ask_times(solved, ("6",))[1].startswith("enough")
    assert "known to one another" in times_known(solved)
    assert usual_current(survey) == ("6",)
    taps = [ask_tap(survey, dials)[0]]
    while taps[-1] is not None:
        taps.append(ask_tap(survey, dials, tuple(taps))[0])
    assert [t.current for t in taps[:-1]] == [(x,) for x in "1234578"]
    assert ask_load(survey, dials, None) == (None, "say which resistor you have")
    assert ask_load(survey, dials, 2.5)[0].load_ohm == 2.5


# --- bad input ----------------------------------------------------------------------------------
FOUR = Survey("s", ("1", "2"), ("1", "2"), ("1", "2"), ammeter_max_A=10.0, voltmeter_max_V=150.0)


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading(SHORT, 12.0, ("1",), "1", "1", "fixed"), "the ammeter ends there"),
        (Reading(SHORT, 0.1, ("1",), "1", "1", "fixed"), "a needle says nothing"),
        (Reading(SHORT, -1.0, ("1",), "1", "1", "fixed"), "0 to 10 A"),
        (Reading(SHORT, float("nan"), ("1",), "1", "1", "fixed"), "the reading"),
        (Reading(VOLTS, 200.0, (), "1", "1", "fixed"), "the voltmeter ends there"),
        (Reading(SHORT, 1.0, ("1",), "", "1", "fixed"), "where the on-time switch stood"),
        (Reading(SHORT, 1.0, ("1",), "1", "9", "fixed"), "off-time must be one of 1, 2, got 9"),
        (Reading(SHORT, 1.0, (), "1", "1", "fixed"), "where the current switch stood"),
        (Reading(SHORT, 1.0, ("1", "2"), "1", "1", "fixed"), "must be one of"),
        (Reading(LOAD, 1.0, ("1",), "1", "1", "fixed"), "load_ohm"),
        (Reading("volts", 1.0, ("1",), "1", "1", "fixed"), "what is read"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(reading, said):
    """The sentence names what is wrong and what to do; what was read before stays."""
    with pytest.raises(Refusal, match=said):
        FOUR.with_reading(reading)


def test_a_duty_over_one_is_told_and_nothing_is_lost():
    """A reading higher than the same current at a higher duty cannot be: it is named."""
    machine, survey = surveyed(2, 40)
    pair = (survey.on_time_us[0], survey.off_time_us[-1])  # the lowest duty of all
    amps = machine.peak_current_A["6"]
    dials = dials_of(survey.with_reading(Reading(SHORT, 1.5 * amps, ("6",), *pair, "fixed")))
    assert [r.reading.value for r in dials.residuals if r.outlier] == [1.5 * amps]
    assert len(dials.residuals) == 41
