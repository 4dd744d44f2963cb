"""The meter readings of a machine without papers, typed in one at a time, and their table."""

from dataclasses import replace

import numpy as np
import pytest
from dials_kit import known_dials

from edmkit.dials.practice import PRACTICE, PRACTICE_ADDS, blank_survey
from edmkit.dials.survey import LOAD, SHORT, VOLTS, Reading
from edmkit.panels import readings_grid
from edmkit.panels.readings_grid import ReadingsGrid
from edmkit.panels.readings_table import pairs_table, taps_table

NAN = float("nan")
NOW = "\N{BLACK RIGHT-POINTING TRIANGLE}"


def asked(on="5", off="3", current=("8",), what=SHORT, volts="fixed", **more):
    """Return a reading that is asked for."""
    return Reading(what, NAN, current, on, off, volts, **more)


class Page:
    """A page that asks for the pairs of a list, one after the other."""

    def __init__(self, *pairs, machine=PRACTICE, what=SHORT, rows="pairs"):
        self.survey, self.left, self.taken = blank_survey(machine), list(pairs), []
        self.grid = ReadingsGrid(self.take, what, rows)
        self.grid.on_skip(lambda one: self.go_on())
        self.go_on()

    def go_on(self):
        one = self.left.pop(0) if self.left else None
        self.grid.show(self.survey, None, one, "It tells most.")

    def take(self, value, one):
        self.survey = self.survey.with_reading(replace(one, value=value))
        self.taken.append((value, *one.pair))
        self.go_on()


@pytest.fixture(autouse=True)
def patient(monkeypatch):
    """Let a test press a button right after it typed, as nobody can."""
    monkeypatch.setattr(readings_grid, "PATIENCE_S", 0)


# --- taking ---
def test_it_says_where_the_switches_are_to_stand_and_what_to_do():
    grid = Page(asked()).grid
    assert "On-time 5, off-time 3, current 8" in grid.question.value
    assert "scrap" in grid.question.value and "It tells most." in grid.why.value
    assert "open voltage" not in grid.question.value  # it has one only
    adds = asked("1", "2", ("1", "3"), volts="low")
    assert (
        "current 1 + 3, open voltage low" in Page(adds, machine=PRACTICE_ADDS).grid.question.value
    )


def test_a_resistor_is_named_with_its_ohms():
    grid = Page(asked(what=LOAD, load_ohm=4.7), what=LOAD).grid
    assert "4.7 ohm between electrode and work" in grid.question.value


def test_enter_takes_the_number_once_and_asks_for_the_next():
    page = Page(asked(), asked("6", "3"))
    page.grid.field.type("12.5")
    assert page.taken == [(12.5, "5", "3")]
    assert page.grid.field.value is None and page.grid.field._text.value == ""
    assert "On-time 6" in page.grid.question.value
    assert "Taken: 12.5 A at on-time 5, off-time 3, current 8." in page.grid.note.value
    page.grid.field.type("")  # a blur of the empty field
    assert len(page.taken) == 1


def test_the_field_is_empty_even_where_the_page_asks_the_same_again():
    taken = []
    grid = ReadingsGrid(lambda value, one: taken.append(value), SHORT)
    grid.show(blank_survey(PRACTICE), None, asked())
    grid.field.type("12")
    grid.field.type("12")
    assert taken == [12.0, 12.0] and grid.field._text.value == ""


def test_the_same_number_twice_is_two_readings():
    page = Page(asked(), asked("6", "3"))
    for _ in range(2):
        page.grid.field.type("12")
    assert page.taken == [(12.0, "5", "3"), (12.0, "6", "3")]


@pytest.mark.parametrize(("text", "value"), [("3,5", 3.5), ("12,75", 12.75), (" 4.25 ", 4.25)])
def test_a_comma_may_stand_for_the_point(text, value):
    page = Page(asked())
    page.grid.field.type(text)
    assert page.taken == [(value, "5", "3")]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("99", "the ammeter ends there"),  # its range is 30 A
        ("0.1", "near its stop a needle says nothing"),
        ("0", "near its stop"),
        ("-3", "must be 0 to"),
        ("abc", "must be 0 to"),
        ("1,250", "with a point"),  # may be a thousand and more
        ("nan", "must be 0 to"),
    ],
)
def test_what_no_meter_can_show_is_said_beside_the_field_and_stays(text, words):
    page = Page(asked(), asked("6", "3"))
    page.grid.field.type(text)
    assert words in page.grid.field.message.value
    assert page.grid.field._text.value == text and page.taken == []
    page.grid.field.type("12")
    assert page.taken == [(12.0, "5", "3")] and page.grid.field.message.value == ""


def test_showing_the_same_pair_again_leaves_a_refused_text():
    page = Page(asked())
    page.grid.field.type("99")
    page.grid.show(page.survey, None, asked(), "It still tells most.")
    assert page.grid.field._text.value == "99"
    page.grid.show(page.survey, None, asked("6"), "Now another.")
    assert page.grid.field._text.value == "" and page.grid.field.message.value == ""


def test_when_enough_is_read_nothing_is_asked():
    page = Page(asked())
    page.grid.field.type("12")
    assert "No more readings" in page.grid.question.value
    assert page.grid.field.layout.display == page.grid.skip.layout.display == "none"


# --- another pair ---
def test_another_pair_may_be_picked():
    page = Page(asked(), asked("1", "1"))
    page.grid.picks["on_time"].value = "7"
    page.grid.picks["off_time"].value = "2"
    page.grid.picks["current"].value = ("6",)
    assert "On-time 7, off-time 2, current 6" in page.grid.question.value
    page.grid.field.type("7.5")
    assert page.taken == [(7.5, "7", "2")] and page.survey.readings[0].current == ("6",)


def test_hiding_the_field_hides_nothing_else():
    other, page = Page(asked()), Page()
    assert page.grid.field.layout.display == "none"
    seen = (page.grid.question, page.grid.table, other.grid.field, other.grid.skip)
    assert [one.layout.display for one in seen] == [None] * 4


def test_a_pair_may_be_picked_when_enough_is_read():
    page = Page(asked())
    page.grid.field.type("12")
    page.grid.picks["on_time"].value = "7"
    assert page.grid.field.layout.display is None
    page.grid.field.type("13")
    assert page.taken[-1] == (13.0, "7", "3")


def test_only_switches_with_a_choice_are_offered():
    picks = Page(asked()).grid.picks
    assert picks["open_voltage"].layout.display == "none"
    picks = Page(asked("1", "2", (), VOLTS, "low"), machine=PRACTICE_ADDS, what=VOLTS).grid.picks
    assert picks["current"].layout.display == "none" and picks["open_voltage"].value == "low"


def test_added_switches_can_be_picked_again():
    picks = Page(asked("1", "2", ("1", "3"), volts="low"), machine=PRACTICE_ADDS).grid.picks
    assert picks["current"].value == ("1", "3")


# --- skipped, again ---
def test_skipping_asks_for_the_next_and_is_remembered():
    page = Page(asked(), asked("6", "3"))
    page.grid.skip.click()
    assert [one.pair for one in page.grid.skipped] == [("5", "3")]
    assert "On-time 6" in page.grid.question.value and "skipped" in page.grid.table.value
    page.grid.picks["on_time"].value = "5"
    page.grid.field.type("12")
    assert page.grid.skipped == () and page.taken == [(12.0, "5", "3")]


def test_the_last_one_can_be_read_again():
    page = Page(asked(), asked("6", "3"))
    assert page.grid.again.layout.display == "none"
    page.grid.field.type("12")
    page.grid.again.click()
    assert "On-time 5" in page.grid.question.value
    page.grid.field.type("13")
    assert page.taken == [(12.0, "5", "3"), (13.0, "5", "3")]
    assert "13 <small>\N{MULTIPLICATION SIGN}2" in page.grid.table.value


def test_a_click_that_took_a_number_does_not_skip_the_next(monkeypatch):
    monkeypatch.setattr(readings_grid, "PATIENCE_S", 60)
    page = Page(asked(), asked("6", "3"))
    page.grid.field.type("12")  # the browser sends it as the field is left, then the click
    page.grid.skip.click()
    page.grid.again.click()
    assert page.grid.skipped == () and "On-time 6" in page.grid.question.value


def test_a_number_that_comes_after_the_click_is_not_taken_for_the_next(monkeypatch):
    monkeypatch.setattr(readings_grid, "PATIENCE_S", 60)
    page = Page(asked(), asked("6", "3"))
    page.grid.skip.click()
    page.grid.field.type("12")
    assert page.taken == [] and "12 A came with the press" in page.grid.note.value


# --- the tables ---
def rows_of(table):
    """Return the cells of each row of the body as text, markup and all."""
    body = table.split("<tbody>")[1].split("</tbody>")[0]
    return [row.split("</tr>")[0] for row in body.split("<tr>")[1:]]


def test_the_table_has_every_pair_and_marks_the_asked_one():
    page = Page(asked(), asked("6", "3"))
    page.grid.field.type("12.5")
    rows = rows_of(page.grid.table.value)
    assert len(rows) == 8 and all(row.count("<td") == 8 for row in rows)
    cells = rows[4].split("<td")[1:]
    assert "12.5" in cells[2] and "12.5" not in "".join(cells[:2] + cells[3:])
    assert NOW in rows[5] and NOW not in "".join(rows[:5] + rows[6:])
    assert "1 of 64 pairs read" in page.grid.table.value


def test_a_reading_that_does_not_fit_carries_a_mark_and_a_word():
    dials = known_dials(PRACTICE, np.random.default_rng(5))
    odd = [one.reading for one in dials.residuals if one.outlier]
    assert odd
    table = pairs_table(dials.survey, dials, SHORT, None, ())
    assert "".join(rows_of(table)).count("\N{BLACK DIAMOND}") == len(odd)
    assert "\N{BLACK DIAMOND} does not fit the others" in table


def test_readings_of_before_do_not_stand_in_the_table():
    survey = blank_survey(PRACTICE)
    for day, value in (("2020-01-01", 7.0), ("2024-01-01", 9.0)):
        survey = survey.with_reading(replace(asked(), value=value, day=day))
    later = pairs_table(survey.told(since="2023-01-01"), None, SHORT, None, ())
    assert "<td>9</td>" in later and "<td>7" not in later


def test_a_reading_at_another_current_says_so():
    survey = blank_survey(PRACTICE).with_reading(replace(asked(), value=5.0, current=("6",)))
    assert "5 <small>at 6</small>" in pairs_table(survey, None, SHORT, asked("1", "1"), ())


def test_the_table_of_taps_has_one_row_each_and_what_they_are_worth():
    dials = known_dials(PRACTICE, known={"peak_current_A": {"1": "unknown"}})
    table = taps_table(dials.survey, dials, SHORT, asked("8", "1", ("4",)), ())
    rows = rows_of(table)
    assert len(rows) == 8
    assert "not known yet" in rows[0]
    assert NOW in rows[3] and "<b>3.2</b>, 3.05 to 3.36" in rows[3]  # 3.2 exp(-+1.645 x 0.03)
    assert "(on 8, off 8)" in rows[7] and "1 of 8 read" in table


def test_a_tap_that_reads_wrong_is_not_given_as_worth_something():
    machine = replace(PRACTICE, bad=frozenset({("peak_current_A", "2")}))
    table = taps_table(blank_survey(machine), known_dials(machine), SHORT, None, ())
    assert "not to be trusted" in rows_of(table)[1] and "1.1" not in rows_of(table)[1]


def test_added_taps_get_a_row():
    one = asked("1", "1", ("1", "3"), volts="low")
    page = Page(one, machine=PRACTICE_ADDS, rows="taps")
    assert any("1 + 3" in row and NOW in row for row in rows_of(page.grid.table.value))
    page.grid.field.type("2")
    assert "1 of 5 read" in page.grid.table.value


def test_labels_are_only_text():
    machine = replace(PRACTICE, on_time_us={"<b>1": 3.0, "A&B": 5.0})
    page = Page(asked("<b>1"), asked("A&B"), machine=machine)
    assert "<b>1" not in page.grid.question.value + page.grid.table.value
    page.grid.field.type("12")
    assert "<b>1" not in page.grid.note.value and "on-time &lt;b&gt;1" in page.grid.note.value
    assert "A&amp;B" in page.grid.question.value


def test_dozens_of_readings_of_one_tap_are_counted_not_listed():
    survey = blank_survey(PRACTICE)
    for on in "12345678":
        survey = survey.with_reading(replace(asked(on, "1"), value=9.0))
    table = taps_table(survey, None, SHORT, None, ())
    assert "4 more, last" in table and "on 8, off 1" in table and "on 4, off 1" not in table
