"""What a person tells of a machine: read, kept, refused."""

import json
from dataclasses import asdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from edmkit.checks import Refusal
from edmkit.dials.survey import (
    SHORT,
    VOLTS,
    Plate,
    Reading,
    Survey,
    Tone,
    labels_from,
    survey_from,
)
from edmkit.dials.survey_file import load_survey, path_of, save_survey, surveyed

FULL = (
    Survey("Old one", ("1", "2"), ("a", "b"), ("x", "y"), ammeter_max_A=20.0, lift_burn_s=(1, 4))
    .with_reading(Reading(SHORT, 3.0, ("1",), "a", "y", "fixed"))
    .with_reading(Reading(VOLTS, 90.0, (), "b", "x", "fixed"))
    .with_tone(Tone(4000.0, 0.01, "a", "x", "meter"))
    .with_plate(Plate("peak_current_A", "2", 6.0))
)


@pytest.mark.parametrize(
    ("text", "labels"),
    [
        ("1-4", ("1", "2", "3", "4")),
        ("0 to 2", ("0", "1", "2")),
        (" A  B,C ;D", ("A", "B", "C", "D")),
        ("½ 1 2", ("½", "1", "2")),
        ("fixed", ("fixed",)),
    ],
)
def test_labels_as_a_person_types_them(text, labels):
    """First and last number, or each as engraved, with spaces, commas or semicolons between."""
    assert labels_from(text) == labels


@given(st.text(max_size=40))
def test_any_text_is_labels_or_a_sentence(text):
    """Nothing a person types brings anything but labels or a refusal."""
    try:
        labels = labels_from(text)
    except Refusal as fault:
        assert "positions of the on-time switch" in str(fault)
    else:
        assert 1 <= len(labels) == len(set(labels)) <= 24


def test_it_comes_back_from_json_as_it_was():
    """json of the standard library is the outside reader of the file."""
    assert survey_from(json.loads(json.dumps(asdict(FULL)))) == FULL


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
    max_leaves=8,
)


@settings(max_examples=200)
@given(st.sampled_from(sorted(asdict(FULL))), _JSON)
def test_a_damaged_file_is_a_survey_or_a_refusal(name, value):
    """Any field replaced by anything: never another error."""
    try:
        survey_from({**asdict(FULL), name: value})
    except Refusal:
        pass


def test_each_list_can_lose_one_and_keeps_the_rest():
    """Taking out a reading leaves the other, the pitch and the plate."""
    less = FULL.without(FULL.readings[0])
    assert less.readings == FULL.readings[1:]
    assert (less.tones, less.plates) == (FULL.tones, FULL.plates)
    assert not FULL.without(FULL.tones[0]).tones and not FULL.without(FULL.plates[0]).plates


def test_a_plate_takes_the_place_of_an_older_word():
    """One word for a position, the last one."""
    again = FULL.with_plate(Plate("peak_current_A", "2", 7.0, "guessed"))
    assert [(p.value, p.how_known) for p in again.plates] == [(7.0, "guessed")]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"on_time_us": ("b",)}, "on-time must be one of b, got a"),
        ({"ammeter_max_A": 2.0}, "0 to 2 A, got 3 A"),
        ({"peak_current_A": ("1",)}, "position of the current"),
        ({"off_time_us": ("y",)}, "off-time must be one of y, got x"),
    ],
)
def test_an_answer_that_readings_speak_against_is_refused(change, said):
    """Positions and ranges cannot shrink below what was read there."""
    with pytest.raises(Refusal, match=said):
        FULL.told(**change)


@pytest.mark.parametrize(
    ("max_A", "step_A", "least"), [(20.0, 0.0, 0.4), (20.0, 0.1, 0.3), (None, 0.0, 0.0)]
)
def test_the_smallest_reading_follows_the_meter(max_A, step_A, least):
    """2 % of the range of a needle, or three steps of what can be read: assumptions."""
    survey = Survey("s", ammeter_max_A=max_A, ammeter_step_A=step_A)
    assert survey.lowest(SHORT) == pytest.approx(least)


def test_only_readings_since_a_day_count():
    """The older ones are kept and do not count."""
    new = Reading(SHORT, 2.0, ("1",), "a", "x", "fixed", day="2099-01-01")
    survey = FULL.with_reading(new).told(since="2098-01-01")
    assert survey.counting.readings == (new,) and not survey.counting.tones
    assert len(survey.readings) == 3


def test_files_are_kept_listed_and_apart(tmp_path):
    """Each machine one file; the list shows the names; a strange file is not in the way."""
    save_survey(FULL, tmp_path)
    save_survey(FULL.told(name="New"), tmp_path)
    (tmp_path / "other.json").write_text("[1]")
    assert surveyed(tmp_path) == ("New", "Old one")
    assert load_survey("Old one", tmp_path) == FULL
    with pytest.raises(Refusal, match="differ more"):
        save_survey(FULL.told(name="old-one"), tmp_path)


def test_a_broken_file_is_set_aside_once_for_each_time(tmp_path):
    """Nothing is written over: the second broken file gets the next number."""
    for _ in range(2):
        path_of("x", tmp_path).write_text("{broken")
        with pytest.raises(Refusal, match="set aside as"):
            load_survey("x", tmp_path)
    assert {p.name for p in tmp_path.iterdir()} == {"x.1.broken", "x.2.broken"}
    with pytest.raises(Refusal, match="cannot be read"):
        load_survey("x", tmp_path)


def test_a_broken_file_is_not_written_over(tmp_path):
    """A machine begun anew under the name of a broken file sets that file aside first."""
    path_of("x", tmp_path).write_text("{broken")
    save_survey(FULL.told(name="x"), tmp_path)
    assert (tmp_path / "x.1.broken").read_text() == "{broken"
    assert load_survey("x", tmp_path).readings == FULL.readings
