"""Page 01 as a person uses it: named, read, left, taken up again, written."""

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from buzz_maker import Scene, make_buzz, wav_bytes

import edmkit as ek
from edmkit.dials.bands import before_and_after, unmeasured
from edmkit.dials.make_machine import machine_of
from edmkit.dials.next_reading import pair_for_pitch
from edmkit.dials.practice import PRACTICE, PRACTICE_ADDS, pitch_Hz, read
from edmkit.dials.survey import LOAD, SHORT, VOLTS, Reading, Survey
from edmkit.dials.survey_file import load_survey, path_of, save_survey, surveyed
from edmkit.panels.memory import Memory
from edmkit.panels.unseen import unseen
from edmkit.panels.what_do_my_dials_mean import STEPS, WhatDoMyDialsMean
from edmkit.panels.which_settings import WhichSettings

SWITCHES, ON_TIME, SHORTED, TIMES, PITCH, TAPS, DRIVE, REST, PAPERS = range(9)


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A user's folder of its own."""
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def page(home, tmp_path):
    """The page as a new user opens it."""
    with unseen():
        yield WhatDoMyDialsMean(Memory(home), tmp_path)


def turn(page, number):
    """Turn to a step and return it."""
    page.step.value = number
    return page.now


def practise(page, number, count):
    """Let the practice machine answer so many questions of a step."""
    step = turn(page, number)
    for _ in range(count):
        step.answer()


def whole(page):
    """Answer the whole page by the practice machine."""
    practise(page, ON_TIME, 4)
    turn(page, SHORTED).short.value = "the needle stays"
    practise(page, TIMES, 40)
    practise(page, PITCH, 2)
    practise(page, TAPS, 8)
    practise(page, DRIVE, 8)


def own_machine(page, name="Old one"):
    """Begin with a machine of one's own: three positions each, a meter to 20 A."""
    page.name.value = name
    page.new.click()
    step = turn(page, SWITCHES)
    for switch in ("peak_current_A", "on_time_us", "off_time_us"):
        step.texts[switch].value = "1-3"
    step.meters["ammeter_max_A"].type("20")
    return step


def take(step, value):
    """Type a reading into the field of a step."""
    step.grid.field.type(str(value))


# --- the practice machine -----------------------------------------------------------------------
def test_the_page_opens_on_an_invented_machine_that_says_so(page):
    """An apprentice can begin at once, and nobody takes it for a real one."""
    assert page.practice is PRACTICE and "invented" in page.survey.name
    assert page.invented.layout.display is None and "invented" in page.invented.value.lower()
    assert not surveyed()


def test_the_practice_machine_comes_out_as_it_is(page):
    """Half the readings, two pitches: every sound value within 15 %, the worn one named."""
    whole(page)
    dials = page.dials
    for name in ("on_time_us", "off_time_us", "peak_current_A"):
        for p in dials.switch(name).positions:
            if (name, p.label) not in PRACTICE.bad:
                truth = getattr(PRACTICE, name)[p.label]
                assert p.how_known == "measured"
                assert p.value == pytest.approx(truth, rel=0.15), (name, p.label)
    assert ("on_time_us", "6") in {(f.switch, f.label) for f in dials.faults}
    assert "On-time 6" in page.known.value
    assert dials.kind.word == "from breakdown" and dials.supply.word == "resistor-limited"
    for step in STEPS[:-1]:
        assert step.title in page.known.value and f"<b>{step.told(page)}</b>" in page.known.value


def test_adding_switches_in_a_fixed_period_work_too(page):
    """The second practice machine: four switches that add, two voltages."""
    page.pick.value = PRACTICE_ADDS.name
    practise(page, ON_TIME, 6)
    assert page.dials.kind.word == "in a fixed period"
    practise(page, TIMES, 30)
    practise(page, PITCH, 2)
    practise(page, TAPS, 4)
    dials = page.dials
    assert dials.peak_current_A.adds
    amps = {p.label: p.value for p in dials.peak_current_A.positions}
    assert amps == pytest.approx(dict(PRACTICE_ADDS.peak_current_A), rel=0.12)
    times = {p.label: p.value for p in dials.on_time_us.positions}
    assert times == pytest.approx(dict(PRACTICE_ADDS.on_time_us), rel=0.15)


def test_practice_is_not_kept_and_does_not_become_the_machine_of_the_other_pages(page, home):
    """What was invented is in no file but the one asked for."""
    whole(page)
    outcome = turn(page, PAPERS).outcome
    outcome.write.click()
    assert outcome.path.exists() and "machine" not in Memory(home).values
    assert not surveyed()


# --- a machine of one's own ---------------------------------------------------------------------
def test_every_answer_is_kept_at_once(page, home):
    """Each answer lies in the file before the next question."""
    own_machine(page)
    assert load_survey("Old one").on_time_us == ("1", "2", "3")
    step = turn(page, TIMES)
    asked = step.grid.asked
    take(step, 4.0)
    kept = load_survey("Old one").readings
    assert [(r.value, r.pair) for r in kept] == [(4.0, asked.pair)]
    turn(page, SHORTED).short.value = "the needle falls back"
    assert load_survey("Old one").short == "falls back"


def test_it_is_taken_up_where_it_was_left(page, home, tmp_path):
    """A new opening begins with the machine of last time and its readings."""
    own_machine(page)
    take(turn(page, TIMES), 4.0)
    again = WhatDoMyDialsMean(Memory(home), tmp_path)
    assert again.survey == page.survey and again.practice is None
    assert again.pick.value == "Old one"


def test_the_name_of_a_machine_already_begun_takes_it_up(page):
    """Nobody overwrites half an hour of readings by typing a name again."""
    own_machine(page)
    take(turn(page, TIMES), 4.0)
    page.pick.value = PRACTICE.name
    page.name.value = "Old one"
    page.new.click()
    assert len(page.survey.readings) == 1


def test_a_new_machine_asks_for_its_switches_first(page):
    """Before the switches are named no step falls over, and the page says what it waits for."""
    page.name.value = "New"
    page.new.click()
    assert page.step.value == SWITCHES and not page.ready
    for number in range(9):
        turn(page, number)
    assert "step 1" in page.known.value


@pytest.mark.parametrize("name", ["", "   ", "???"])
def test_a_machine_needs_a_name(page, name):
    """Said beside the field; the machine on show stays."""
    page.name.value = name
    page.new.click()
    assert "letters or digits" in page.said.value and page.practice is PRACTICE


@pytest.mark.parametrize(
    ("text", "said"),
    [("1 1 2", "must differ"), ("", "1 to 24"), ("1-40", "1 to 24"), ("a+b c", "no +")],
)
def test_labels_that_cannot_be_are_said_and_stay(page, text, said):
    """The text stays in its field for the person to mend; what was told before holds."""
    step = own_machine(page)
    step.texts["on_time_us"].value = text
    assert said in step.wrong["on_time_us"].value
    assert step.texts["on_time_us"].value == text
    assert page.survey.on_time_us == ("1", "2", "3")


def test_a_position_that_was_read_cannot_vanish(page):
    """Taking a position away under its readings is refused in words."""
    step = own_machine(page)
    take(turn(page, TIMES), 4.0)
    step = turn(page, SWITCHES)
    step.texts["on_time_us"].value = "1-2"
    assert "does not go with that" in step.said.value and len(page.survey.readings) == 1


def test_a_reading_the_meter_cannot_show_is_refused_and_stays_typed(page):
    """Above the range, below the needle's stop, no number: a sentence, nothing taken."""
    own_machine(page)
    step = turn(page, TIMES)
    for text, said in (("25", "the ammeter ends there"), ("0.1", "says nothing"), ("x", "number")):
        take(step, text)
        assert said in step.grid.field.complaint
    assert not page.survey.readings


def test_a_slip_can_be_taken_out_again(page):
    """The last reading of the step, and no other."""
    own_machine(page)
    take(turn(page, ON_TIME), 100.0)
    step = turn(page, TIMES)
    take(step, 4.0)
    take(step, 3.0)
    step.undo.click()
    assert [r.value for r in page.survey.readings] == [100.0, 4.0]


def test_skipped_pairs_are_not_asked_again(page):
    """The next pair asked for is another one."""
    own_machine(page)
    step = turn(page, TIMES)
    first = step.grid.asked
    step.grid.leave_out()
    assert step.grid.asked.pair != first.pair


def test_a_full_disk_is_said_and_the_answer_stands(page, monkeypatch):
    """Nothing is lost in silence: the sentence says that the answer is on the page only."""
    own_machine(page)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("edmkit.home.os.replace", full)
    take(turn(page, TIMES), 4.0)
    assert "No space left" in page.said.value and "on this page only" in page.said.value
    assert len(page.survey.readings) == 1


def test_a_broken_file_is_set_aside_and_said(page, home):
    """Another machine stays on show; the broken file lies beside under another name."""
    own_machine(page)
    path = path_of("Old one")
    kept = json.loads(path.read_text())
    page.pick.value = PRACTICE.name
    path.write_text(json.dumps({**kept, "readings": "many"}))
    page.begin("Old one")
    assert "set aside" in page.said.value and page.practice is PRACTICE
    assert [p.name for p in path.parent.glob("*.broken")] == ["old_one.1.broken"]


def test_a_machine_that_cuts_back_is_read_through_a_resistor(page):
    """After 'the needle falls back' the times wait for a resistor, then ask for it."""
    own_machine(page)
    turn(page, SHORTED).short.value = "the needle falls back"
    assert "step 7" in turn(page, TIMES).grid.why.value
    turn(page, DRIVE).load.in_use.type("3")
    asked = turn(page, TIMES).grid.asked
    assert asked.what == LOAD and asked.load_ohm == 3.0
    assert "resistor" in turn(page, PITCH).asked.value


def test_plates_are_taken_and_can_be_taken_out(page):
    """One plate value turns ratios into microseconds."""
    own_machine(page)
    step = turn(page, PITCH)
    step.plates.selected_index = 0
    box = step.plates.content
    box.label.value = "3"
    box.value.type("100")
    assert page.dials.factor_known and page.survey.plates[0].label == "3"
    box.list.children[0].children[1].click()
    assert not page.survey.plates and not page.dials.factor_known


def test_a_relaxation_circuit_is_told_that_the_steps_are_not_for_it(page):
    """Recognised by its parts: no on-time, no off-time."""
    step = turn(page, SWITCHES)
    step.relaxation.selected_index = 0
    box = step.relaxation.content
    for name, buttons in box.signs.items():
        buttons.value = name != "times"
    if box.verdict.word == "relaxation circuit":
        assert "relaxation circuit" in page.known.value.lower()
    assert page.survey.circuit == ("relaxation" if "relaxation c" in box.verdict.word else "")


def test_the_rest_goes_into_the_machine_file(page):
    """Stop, flushing and lift; a half-told lift waits."""
    own_machine(page)
    step = turn(page, REST)
    step.sizes["stop_mm"].type("0.02")
    step.kinds["pressure"].value = False
    step.lift["burn"].type("1")
    assert "all four" in step.said.value
    for name, text in (("burn_to", "5"), ("up", "0.2"), ("up_to", "2")):
        step.lift[name].type(text)
    assert page.survey.lift_burn_s == (1.0, 5.0) and page.survey.lift_up_s == (0.2, 2.0)
    assert page.survey.stop_mm == 0.02 and "pressure" not in page.survey.flushing


# --- what it ends in ----------------------------------------------------------------------------
def by_hand(page):
    """Measure an own machine by the meters of the practice machine, as a person would."""
    page.name.value = "Hand"
    page.new.click()
    step = turn(page, SWITCHES)
    for switch in ("peak_current_A", "on_time_us", "off_time_us"):
        step.texts[switch].value = "1-8"
    dice = np.random.default_rng(3)
    for number, count in ((ON_TIME, 4), (TIMES, 36)):
        step = turn(page, number)
        for _ in range(count):
            a = step.grid.asked
            value = read(PRACTICE, a.what, a.current, *a.pair, rng=dice)
            take(step, f"{value:.3g}") if value > 0.3 else step.grid.leave_out()
    step = turn(page, PITCH)
    step._found(pitch_Hz(PRACTICE, step.on.value, step.off.value), 0.003, "typed")
    step = turn(page, TAPS)
    while step.grid.asked is not None:
        a = step.grid.asked
        value = read(PRACTICE, a.what, a.current, *a.pair, rng=dice)
        take(step, f"{value:.3g}") if value > 0.3 else step.grid.leave_out()


def test_it_ends_in_a_machine_file_that_page_02_opens_with(page, home, tmp_path):
    """Bands before and after on this page; the file is plain TOML; page 02 takes it at once."""
    by_hand(page)
    outcome = turn(page, PAPERS).outcome
    assert "Before" in outcome.bands.value and "times before" in outcome.bands.value
    outcome.write.click()
    told = tomllib.loads(outcome.path.read_text(encoding="utf-8"))
    assert told["on_time_us"]["positions"][3]["how_known"] == "measured"
    machine = ek.read_machine(outcome.path)
    assert machine.name == "Hand" and machine.on_time_counts == "from breakdown"
    second = WhichSettings(memory=Memory(home), folder=tmp_path, book=None)
    assert second.machine.name == "Hand"
    assert not second.message


def test_measured_bands_are_narrower_than_unmeasured_ones(page):
    """The point of the half hour: each band of the same job by the machine file, by predict."""
    by_hand(page)
    for row in before_and_after(unmeasured(page.dials), machine_of(page.dials)):
        assert row.factor_after < row.factor_before, row.words


def test_the_sheet_is_made_beside_the_page(page, tmp_path):
    """One page to hang up, with every engraved position."""
    by_hand(page)
    outcome = turn(page, PAPERS).outcome
    outcome.make.click()
    text = (tmp_path / "machine_sheet.html").read_text(encoding="utf-8")
    assert "Hand" in text and text.count("µs") >= 2 and "manual" in text


def test_a_repetition_a_year_later_shows_drift(page):
    """The same readings with on-times 30 % longer: the later ones can be counted alone."""
    by_hand(page)
    early = page.survey
    old = tuple(replace(r, day="2025-11-02") for r in early.readings)
    tones = tuple(replace(t, day="2025-11-02") for t in early.tones)
    later = replace(PRACTICE, on_time_us={**PRACTICE.on_time_us, "4": 34.0}, bad=frozenset())
    dice = np.random.default_rng(8)
    new = tuple(
        replace(r, value=read(later, r.what, r.current, *r.pair, rng=dice))
        for r in early.readings if r.what in (SHORT, VOLTS)
    )  # fmt: skip
    page.tell(replace(early, readings=(*old, *new), tones=(*tones, *early.tones)))
    step = turn(page, PAPERS)
    assert "on-time 4" in step.outcome.drift.value.lower()
    day = step.since.value = step.since._drop.options[1][1]
    assert page.survey.since == day and len(page.counting.readings) == len(new)
    assert page.dials.on_time_us.positions[3].value == pytest.approx(34, rel=0.2)
    assert len(load_survey("Hand").readings) == len(old) + len(new)


def test_two_names_that_make_one_file_are_kept_apart(home):
    """'Old-one' and 'Old one' would be the same file: the second is told to differ."""
    save_survey(Survey("Old one"))
    with pytest.raises(ek.Refusal, match="differ more"):
        save_survey(Survey("Old-one"))


def test_a_recording_becomes_microseconds(page):
    """An invented buzz with mains hum in a WAV: picked, found, taken, and the times are true."""
    practise(page, TIMES, 30)
    step = turn(page, PITCH)
    truth = pitch_Hz(PRACTICE, step.on.value, step.off.value)
    heard = make_buzz(Scene(truth, seconds=4.0, hum_dB=0.0, seed=5))
    step.box.read_in(wav_bytes(heard), "buzz.wav")
    step.box.take.click()
    assert page.survey.tones[0].source == "recording"
    assert page.survey.tones[0].frequency_Hz == pytest.approx(truth, rel=0.01)
    assert page.dials.factor_known


def test_a_page_that_is_open_offers_the_new_machine(page, home, tmp_path):
    """Page 02 keeps its machine, and lists the new one from its next answer on."""
    second = WhichSettings(memory=None, folder=tmp_path)
    before = second.machine_pick.value
    by_hand(page)
    outcome = turn(page, PAPERS).outcome
    outcome.write.click()
    second.refresh()
    assert str(outcome.path) in dict(second.files).values()
    assert second.machine_pick.value == before
    second.machine_pick.value = str(outcome.path)
    assert second.machine.name == "Hand" and not second.message


def test_an_open_voltage_can_come_from_the_plate(page):
    """Without a voltmeter the plate's volts go into the file, as what they are."""
    own_machine(page)
    step = turn(page, ON_TIME)
    step.plates.selected_index = 0
    step.plates.content.value.type("120")
    position = page.dials.open_voltage_V.positions[0]
    assert (position.value, position.how_known) == (120.0, "plate")


def test_a_pitch_stays_with_the_pair_it_was_heard_at(page):
    """Readings taken meanwhile ask for another pair; the pitch on show keeps its own."""
    practise(page, TIMES, 3)
    step = turn(page, PITCH)
    heard_at = step.on.value, step.off.value
    step.box.typed.type("3.1")
    practise(page, TIMES, 30)
    now = pair_for_pitch(page.solved)
    assert (now.on_time, now.off_time) != heard_at
    step = turn(page, PITCH)
    assert (step.on.value, step.off.value) == heard_at
    step.box.take.click()
    assert [(t.on_time, t.off_time) for t in page.survey.tones] == [heard_at]
    assert not step.box.waiting  # a second press takes nothing
    assert (step.on.value, step.off.value) != heard_at


def test_a_pair_the_person_picks_is_kept_until_its_pitch_is_taken(page):
    """Another answer on the page does not turn the switches back."""
    practise(page, TIMES, 12)
    step = turn(page, PITCH)
    step.on.value, step.off.value = "7", "2"
    step.plates.selected_index = 0
    step.plates.content.value.type("50")
    assert (step.on.value, step.off.value) == ("7", "2")
    assert "On-time 7, off-time 2" in step.asked.value


def test_a_machine_found_to_cut_back_is_asked_about_through_the_resistor(page):
    """Nobody said so, but the readings do: from then on all amps are asked through it."""
    own_machine(page)
    survey = page.survey
    for amps, what, ohm in ((2.0, SHORT, None), (6.0, LOAD, 3.0)) * 4:
        at = (("2",), "3", "1", "fixed", ohm)
        survey = survey.with_reading(Reading(what, amps, *at))
    page.tell(survey)
    assert "left out" in page.known.value and page.survey.short == ""
    step = turn(page, TIMES)
    assert step.what == step.grid.asked.what == LOAD and step.grid.asked.load_ohm == 3.0
    assert turn(page, TAPS).grid.asked.what == LOAD
    assert "resistor" in turn(page, PITCH).asked.value
