"""Drift: what changed is found, what did not is not, and a common factor is told apart.

The machines are those of `edmkit.dials.practice`, whose meters know nothing of the fit.
"""

from dataclasses import replace

import numpy as np
import pytest
from measured_kit import VALUES, readings, some_dials

from edmkit.checks import Refusal
from edmkit.dials.answer import dials_of
from edmkit.dials.drift import by_day, drift, drift_lines
from edmkit.dials.practice import blank_survey, pitch_Hz, random_machine, read
from edmkit.dials.survey import SHORT, VOLTS, Plate, Reading, Tone

FIRST, SECOND = "2026-05-03", "2026-11-20"


def measured(machine, rng=None, day=SECOND, tone=True, taps=None, **told):
    """Return the dials of a machine read at every pair and every tap; without rng exactly."""
    survey = blank_survey(machine, **told)

    def take(what, current, on, off):
        nonlocal survey
        shown = read(machine, what, current, on, off, rng=rng)
        if what == VOLTS or shown > 0.02 * machine.ammeter_max_A:
            survey = survey.with_reading(Reading(what, shown, current, on, off, "fixed", day=day))

    for on in survey.on_time_us:
        for off in survey.off_time_us:
            take(SHORT, ("5",), on, off)
    for tap in survey.peak_current_A:
        take(SHORT, (tap,), "6", "3")
    take(VOLTS, (), "8", "1")
    take(VOLTS, (), "1", "8")
    if tone:
        wrong = 1.0 if rng is None else np.exp(rng.normal(0, 0.005))
        survey = survey.with_tone(
            Tone(pitch_Hz(machine, "5", "5") * wrong, 0.005, "5", "5", day=day)
        )
    return dials_of(survey)


def with_change(machine, switch, factors):
    """Return the machine with true values turned by factors, by label."""
    worth = {k: v * factors.get(k, 1.0) for k, v in getattr(machine, switch).items()}
    return replace(machine, **{switch: worth})


def slower(machine, factor):
    """Return the machine with all times longer."""
    labels = dict.fromkeys("12345678", factor)
    return with_change(with_change(machine, "on_time_us", labels), "off_time_us", labels)


def changes(drifts):
    return {(d.switch, d.label) for d in drifts if d.changed}


# --- chance -----------------------------------------------------------------------------------
def test_a_machine_that_has_not_changed_is_seldom_said_to_have():
    """3 % of noise; 5 % of 40 is 2, and more than 5 comes by chance in 1 of 70 such tests."""
    alarms = 0
    for seed in range(40):
        rng, machine = np.random.default_rng(seed), random_machine(seed)
        before, after = measured(machine, rng, FIRST), measured(machine, rng)
        alarms += bool(changes(drift(before, after)))
    assert alarms <= 5


@pytest.mark.parametrize(("noise", "factor"), [(0.02, 1.15), (0.03, 1.25), (0.02, 0.85)])
def test_a_change_is_found_and_named(noise, factor):
    found, others = 0, 0
    for seed in range(15):
        rng, machine = np.random.default_rng(seed), random_machine(seed, meter_noise=noise)
        before = measured(machine, rng, FIRST)
        after = changes(
            drift(before, measured(with_change(machine, "on_time_us", {"4": factor}), rng))
        )
        found += ("on_time_us", "4") in after
        others += len(after - {("on_time_us", "4")})
    assert found >= 13 and others <= 3


def test_all_times_together_are_told_from_single_ones():
    found, ratios = 0, []
    for seed in range(15):
        rng, machine = np.random.default_rng(seed), random_machine(seed)
        drifts = drift(measured(machine, rng, FIRST), measured(slower(machine, 1.12), rng))
        found += changes(drifts) == {("on_time_us", "")}
        ratios += [d.ratio for d in drifts if d.label == ""]
    assert found >= 13 and np.mean(ratios) == pytest.approx(1.12, abs=0.01)


# --- exact readings: what comes out is what was put in ----------------------------------------
MACHINE = random_machine(3)


@pytest.mark.parametrize(
    ("switch", "label", "factor", "words"),
    [("on_time_us", "4", 1.3, "On-time 4 is 30 % longer than on 3 May 2026: more than"),
     ("off_time_us", "6", 0.7, "Off-time 6 is 30 % shorter than on 3 May 2026: more than"),
     ("peak_current_A", "7", 0.75, "Current 7 is 25 % lower than on 3 May 2026: more than"),
     ("open_voltage_V", "fixed", 1.4, "Open voltage fixed is 40 % higher than on 3 May 2026")],
)  # fmt: skip
def test_one_change_comes_out_by_itself(switch, label, factor, words):
    other = with_change(MACHINE, switch, {label: factor})
    if switch == "open_voltage_V":  # the same amps from more volts
        other = replace(other, drive="regulated")
    drifts = drift(measured(MACHINE, day=FIRST), measured(other))
    assert changes(drifts) == {(switch, label)}
    (one,) = [d for d in drifts if d.changed]
    assert one.ratio == pytest.approx(factor, rel=0.01)
    assert one.words.startswith(words)


def test_two_changes_at_once_are_both_found():
    other = with_change(MACHINE, "on_time_us", {"4": 1.3})
    other = with_change(other, "off_time_us", {"6": 0.7})
    drifts = drift(measured(MACHINE, day=FIRST), measured(other))
    assert changes(drifts) == {("on_time_us", "4"), ("off_time_us", "6")}


def test_a_common_factor_and_a_position_of_its_own_come_out_apart():
    other = with_change(slower(MACHINE, 1.5), "on_time_us", {"4": 1.3})
    found = {d.label: d for d in drift(measured(MACHINE, day=FIRST), measured(other)) if d.changed}
    assert set(found) == {"", "4"}
    assert found[""].ratio == pytest.approx(1.5, rel=0.02)
    assert found["4"].ratio == pytest.approx(1.3, rel=0.02)
    assert found[""].words.startswith("All times are 50 % longer than on 3 May 2026")


def test_swapping_the_two_times_turns_every_ratio_over():
    rng = np.random.default_rng(5)
    a, b = measured(MACHINE, rng), measured(MACHINE, rng)
    there = {(d.switch, d.label): d.ratio for d in drift(a, b)}
    back = {(d.switch, d.label): d.ratio for d in drift(b, a)}
    assert there.keys() == back.keys()
    for key, ratio in there.items():
        assert ratio * back[key] == pytest.approx(1.0, rel=1e-3)


def test_the_same_again_has_not_changed():
    drifts = drift(measured(MACHINE, day=FIRST), measured(MACHINE))
    assert not changes(drifts)
    assert [d.ratio for d in drifts] == pytest.approx([1.0] * len(drifts), abs=1e-3)
    (line,) = drift_lines(drifts)
    assert line.startswith(
        f"{sum(d.label != '' for d in drifts)} positions were read again, none has changed"
    )
    assert "would not show" in line


# --- what is not compared ---------------------------------------------------------------------
def test_without_a_pitch_both_times_a_common_factor_is_not_compared():
    before = measured(MACHINE, day=FIRST)
    other = with_change(slower(MACHINE, 2.3), "off_time_us", {"3": 1.4})
    drifts = drift(before, measured(other, tone=False))
    assert changes(drifts) == {("off_time_us", "3")}
    assert not [d for d in drifts if d.label == ""]


def test_plates_that_stand_on_the_machine_both_times_do_not_hide_a_change():
    """A pitch heard to 3 %, and a plate at every time: they would halve what is seen."""
    plates = tuple(Plate(switch, label, value) for switch in ("on_time_us", "off_time_us")
                   for label, value in getattr(MACHINE, switch).items())  # fmt: skip

    def heard(machine, day):
        dials = measured(machine, day=day, plates=plates)
        (tone,) = dials.survey.tones
        return dials_of(dials.survey.told(tones=(replace(tone, spread=0.03),)))

    drifts = drift(heard(MACHINE, FIRST), heard(slower(MACHINE, 1.3), SECOND))
    (shared,) = [d for d in drifts if d.label == ""]
    assert shared.changed and shared.ratio == pytest.approx(1.3, rel=0.01)


def without(machine, label):
    return replace(machine, on_time_us={k: v for k, v in machine.on_time_us.items() if k != label})


def test_positions_that_came_or_went_are_said():
    whole, fewer = MACHINE, without(MACHINE, "7")
    went = drift(measured(whole, day=FIRST), measured(fewer))
    assert "On-time 7 was there on 3 May 2026 and is gone." in drift_lines(went)
    came = drift(measured(fewer, day=FIRST), measured(whole))
    assert "On-time 7 was not there on 3 May 2026." in drift_lines(came)
    assert changes(went) == changes(came) == {("on_time_us", "7")}


def test_a_position_that_was_not_read_again_is_not_compared():
    later = measured(MACHINE)
    kept = tuple(r for r in later.survey.readings if r.on_time != "3")
    later = dials_of(later.survey.told(readings=kept))
    compared = {(d.switch, d.label) for d in drift(measured(MACHINE, day=FIRST), later)}
    assert ("on_time_us", "3") not in compared and ("on_time_us", "4") in compared


def test_nothing_read_is_nothing_compared():
    bare = dials_of(blank_survey(MACHINE))
    assert drift(bare, bare) == () and drift_lines(()) == ()


# --- sessions ---------------------------------------------------------------------------------
def dated(*days):
    survey = some_dials().survey
    return survey.told(readings=tuple(Reading(SHORT, 2.0, ("1",), "1", "1", "1", day=d)
                                      for d in days), tones=())  # fmt: skip


def test_readings_fall_into_sessions_by_day():
    survey = dated("2026-05-05", "2026-05-03", "2026-05-08", "2026-11-30")
    survey = survey.told(tones=(Tone(2e3, 0.01, "1", "1", day="2026-12-01"),))
    sessions = by_day(survey)
    assert [day for day, _ in sessions] == ["3 May 2026", "8 May 2026", "30 November 2026"]
    assert [len(s.readings) for _, s in sessions] == [2, 1, 1]
    assert [len(s.tones) for _, s in sessions] == [0, 0, 1]


def test_nothing_is_lost_between_sessions():
    survey = some_dials().survey
    both = survey.told(readings=(*survey.readings, *readings(VALUES_LABELS, "2027-01-01")))
    parts = [reading for _, s in by_day(both) for reading in s.readings]
    assert sorted(map(repr, parts)) == sorted(map(repr, both.readings))


VALUES_LABELS = {n: tuple(str(i) for i in range(1, len(v) + 1)) for n, v in VALUES.items()}


def test_no_readings_are_no_session():
    assert by_day(dated()) == ()


def test_a_day_that_is_none_is_refused():
    with pytest.raises(Refusal, match="day must be written as 2026-05-03"):
        by_day(dated("3.5.2026"))
