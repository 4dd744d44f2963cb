"""The page of the trial book without a browser: controls answer, wrong entries are said."""

import dataclasses
import html
import re
from pathlib import Path

import numpy as np
import pytest

import edmkit as ek
from edmkit.panels.memory import Memory
from edmkit.panels.next_trial import QUESTIONS
from edmkit.panels.own_book import OwnBook
from edmkit.panels.what_did_the_burn_teach import OWN, WhatDidTheBurnTeach
from edmkit.plots.learned_plot import (
    drift_axes,
    drift_traces,
    expected_axes,
    expected_figure,
    expected_traces,
)
from edmkit.trials.beside import beside, constants
from edmkit.trials.csv_read import read_csv
from edmkit.trials.learn import study
from edmkit.trials.measured import Measured

DATA = Path(__file__).parents[1] / "data_demo"
ANSWERS = {"machine": "", "work": "52100", "electrode": "copper", "polarity": "electrode positive"}
EVIL = '<img src=x onerror="alert(1)">'


def text(widget):
    """Return what a widget shows, without its tags."""
    return html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value)))


def log(name="hex_sockets"):
    """Return the burns of an invented log."""
    return read_csv(DATA / f"{name}_log.csv").trials


@pytest.fixture
def page(tmp_path):
    """Return the page with a book of its own that holds the log of the rollers."""
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    book.add_all(log("domed_rollers"))
    return WhatDidTheBurnTeach(memory=None, folder=tmp_path, book=book)


@pytest.fixture
def empty(tmp_path):
    """Return the page as on the first day."""
    return WhatDidTheBurnTeach(memory=None, folder=tmp_path)


# --- which book ---
def test_the_first_day_shows_an_invented_log_and_says_so(empty):
    assert empty.source.value != OWN and len(empty.trials) > 5
    assert "Invented" in text(empty._where) and not empty.editable
    empty.source.value = OWN
    assert empty.trials == () and "Nothing yet" in text(empty._constants)


def test_a_demo_is_never_written_into_the_book(page):
    for name in page.demos:
        page.source.value = name
        assert len(page.trials) in (9, 12, 18)
    page.source.value = OWN
    assert len(page.own.book.trials(history=True)) == 12


def test_one_s_own_book_is_shown_with_its_place(page):
    assert page.source.value == OWN and page.editable
    assert str(page.own.book.path) in text(page._where) and "12 burns" in text(page._where)


def test_another_page_s_burn_is_there_when_the_page_looks_again(page):
    ek.TrialBook(page.own.book.path).add(log()[0])
    page.changed()
    assert len(page.trials) == 13


# --- what it taught ---
def test_the_constants_stand_beside_what_was_known_before(page):
    said = text(page._constants)
    rate = next(c for c in constants(page.study) if c.quantity == "removal_rate")
    assert f"It burns {rate.now.likely:.3g} times as fast" in said
    assert "from 12 burns; before any trial 0.16 to 6.4" in said
    assert 0.17 < rate.now.likely < 0.22  # the stated shop: five times slower


def test_the_slopes_are_one_fold_away(page):
    assert page.slopes.content is None
    page.slopes.selected_index = 0
    assert "with the on-time" in text(page.slopes.content)


@pytest.mark.parametrize("name", QUESTIONS)
def test_the_plots_follow_the_question(page, name):
    page.quantity.value = name
    made = beside(page.study, page.trials, QUESTIONS[name])
    marks = [trace for trace in page.expected.data if trace.mode == "markers"]
    assert sum(len(trace.x) for trace in marks) == len(made) == 12
    for one in made:
        assert one.kind == "doubted" or 0.5 < one.residual < 2
        assert one.after.spread < 0.6 * one.before.spread
    assert page.expected.layout.yaxis.title.text


def test_the_traces_hold_the_bands_and_the_marks():
    trials = log()
    made = beside(study(trials), trials, "removal_rate")
    before, after, usual, doubted, aside = expected_traces(made, "mm³/min", 2.0)
    assert len(before[0]) == len(after[0]) == 3 * len(made)
    assert before[1][:2] == [2.0 * float(made[0].before.low), 2.0 * float(made[0].before.high)]
    assert [len(kind[0]) for kind in (usual, doubted, aside)] == [16, 1, 1]
    number = doubted[0][0]
    assert made[number - 1].trial.part == "pin 7" and "times slower" in doubted[2][0]
    assert "flushing blocked" in aside[2][0]
    ends = 10 ** np.array(expected_axes(made, "rate", 2.0)["yaxis"]["range"])
    seen = [2 * v.measured.value for v in made]
    assert ends[0] < min(seen) and ends[1] > max(seen)


def test_the_drift_is_measured_over_expected():
    trials = log()
    made = beside(study(trials), trials, "removal_rate")
    usual, doubted, _ = drift_traces(made)
    assert doubted[1][0] < 0.5 and 0.5 < min(usual[1]) < 1 < max(usual[1]) < 2
    band = drift_axes(made, 0.2)["shapes"][0]
    assert (band["y0"], band["y1"]) == pytest.approx((np.exp(-0.329), np.exp(0.329)), rel=1e-3)


def test_hovers_are_escaped():
    trials = [t.corrected(part=EVIL) for t in log()]
    made = beside(study(trials), trials, "removal_rate")
    figure = expected_figure(made, "rate", "mm³/min")
    assert EVIL not in str(figure) and "&lt;img" in str(figure)


def test_no_burns_draw_empty_plots(empty):
    empty.source.value = OWN
    assert all(len(trace.x) == 0 for trace in empty.expected.data)


def test_a_lasting_state_is_learned_from_when_asked(empty):
    empty.source.value = "hex sockets"
    before = len(empty.study.of("removal_rate"))
    empty.include.value = True
    assert len(empty.study.of("removal_rate")) == before + 1


def test_a_drift_is_told_in_words(empty):
    empty.source.value = "hex sockets"
    assert "pin 7: 3" in text(empty._drift) and "slower" in text(empty._drift)


# --- the table ---
def test_the_table_shows_the_newest_first_and_marks_what_is_doubted(empty):
    empty.source.value = "hex sockets"
    said = text(empty.table.table)
    assert said.index("pin 9") < said.index("pin 1 ")
    assert "doubted: 2.9 times slower than this shop's other burns" in said
    assert "set aside: flushing blocked" in said


def test_the_filter_lets_through_what_is_asked(empty):
    empty.source.value = "hex sockets"
    empty.table.filter.value = "pin 7"
    assert {t.part for t in empty.table.shown()} == {"pin 7"}
    empty.table.filter.value = ""
    empty.table.doubted.value = True
    assert {(t.part, t.stage) for t in empty.table.shown()} == {
        ("pin 7", "rough"),
        ("pin 8", "rough"),
    }
    empty.table.filter.value = "nothing like it"
    assert empty.table.shown() == [] and "0 of 18 burns" in text(empty.table.table)


def test_everything_in_the_table_is_escaped(page):
    page.own.book.add(dataclasses.replace(log()[0], part=EVIL, remark=EVIL, dialled=EVIL))
    page.changed()
    page.table.form.selected_index = 0
    assert "<img" not in page.table.table.value and "&lt;img" in page.table.table.value


def test_inches_are_shown(page):
    page.units.value = True
    hole = page.trials[-1].hole_size_mm.value / 25.4
    assert f"{hole:.4f}".rstrip("0") in text(page.table.table)


# --- corrections ---
def opened(page, number=4):
    """Open the form at one burn of the book."""
    page.table.form.selected_index = 0
    form = page.table.form.content
    form.which.value = page.trials[number].id
    return form


def test_a_burn_is_corrected_and_the_constants_follow(page):
    form = opened(page)
    assert form.fields["minutes"].first.value == pytest.approx(page.trials[4].minutes.value)
    assert page.study.suspects
    form.fields["minutes"].first.type("235")
    form.state.value = "as usual"
    form.save.click()
    assert "Corrected" in text(form.said)
    assert page.trials[4].minutes.value == 235 and not page.study.suspects
    assert len(page.own.book.trials(history=True)) == 13
    assert page.trials[4].hole_size_mm == log("domed_rollers")[4].hole_size_mm  # untouched


def test_what_is_not_touched_keeps_every_digit(page):
    fine = Measured(3.0512345678, "micrometer")
    page.own.book.add(dataclasses.replace(page.trials[0], id="f" * 32, hole_size_mm=fine))
    page.changed()
    form = opened(page, 12)
    form.part.value = "renamed"
    form.save.click()
    assert page.trials[12].part == "renamed" and page.trials[12].hole_size_mm == fine


def test_the_corrected_burn_stays_in_the_form(page):
    form = opened(page)
    form.fields["minutes"].first.type("235")
    form.save.click()
    assert form.which.value == page.trials[4].id and form.part.value == page.trials[4].part
    assert form.fields["minutes"].first.value == 235


def test_what_is_typed_stays_while_the_book_is_looked_at(page):
    form = opened(page)
    form.fields["minutes"].first.type("235")
    page.table.filter.value = "hole b"
    page.include.value = True
    assert form.fields["minutes"].first.value == 235
    form.which.value = page.trials[5].id
    assert form.fields["minutes"].first.value == page.trials[5].minutes.value


def test_a_burn_is_withdrawn_with_a_reason(page):
    form = opened(page)
    form.remark.value = ""
    form.withdraw.click()
    assert "type the reason" in text(form.said) and len(page.trials) == 12
    form.remark.value = "timer stuck"
    form.withdraw.click()
    assert len(page.trials) == 11 and not page.study.suspects
    assert "Withdrawn: roller 3, hole a" in text(form.said)


def test_a_wrong_number_is_said_and_nothing_is_saved(page):
    form = opened(page)
    form.fields["minutes"].first.type("soon")
    form.save.click()
    assert "put right first" in text(form.said)
    assert len(page.own.book.trials(history=True)) == 12


def test_a_burn_corrected_elsewhere_meanwhile_is_said(page):
    form = opened(page)
    ek.TrialBook(page.own.book.path).correct(page.trials[4].id, part="there")
    form.fields["minutes"].first.type("235")
    form.save.click()
    assert "meanwhile" in text(form.said)


def test_a_demo_cannot_be_corrected(empty):
    empty.table.form.selected_index = 0
    form = empty.table.form.content
    assert form.save.disabled and form.withdraw.disabled and "invented" in text(form.said)


# --- next trial, two ways ---
def test_the_next_trial_is_answered_at_once(page):
    page.next.selected_index = 0
    panel = page.next.content
    assert re.search(r"It takes [0-9.]+ min", text(panel.said))
    panel.most.type("0.6")
    assert "max_minutes must be at least" in text(panel.said)
    panel.most.type("soon")
    assert "waits" in text(panel.said)
    panel.most.type("60")
    panel.question.value = "Wear"
    assert "wear" in text(panel.said)


def test_without_a_burn_the_next_trial_says_what_to_do(empty):
    empty.source.value = OWN
    empty.next.selected_index = 0
    assert "record one" in text(empty.next.content.said)


def test_two_ways_are_compared_in_words(empty):
    empty.source.value = "gear keyways"
    empty.ways.selected_index = 0
    panel = empty.ways.content
    assert panel.column.value == "flushing"
    assert "Could be luck" in text(panel.said) and "6 burns against 3" in text(panel.said)
    panel.column.value = "electrode"
    assert "holds one kind of electrode" in text(panel.said)
    empty.source.value = "hex sockets"
    panel.column.value = "state"
    assert "Real" in text(panel.said) and "slower" in text(panel.said)


def test_what_was_turned_is_listed(page):
    from edmkit.trials.book import TuningNote

    page.tuned.selected_index = 0
    assert "Nothing noted yet" in text(page.tuned.content)
    page.own.book.note(TuningNote("servo", "up", "better", remark=EVIL))
    page.own.book.note(TuningNote("lift", "down", "worse"))
    page.changed()
    said = text(page.tuned.content)
    assert said.index("lift down") < said.index("servo up") and "<img" not in page._tuned.value


# --- in and out ---
def files(page):
    """Open the fold of files."""
    page.files.selected_index = 0
    return page.files.content


def test_a_log_comes_in_after_its_questions_are_answered(page):
    panel = files(page)
    panel.read_in(b"part,current (A),on-time (us),off-time (us),minutes,section (mm2),depth (mm)\n"
                  b"p1,3,50,25,200,7,5\np2,3,50,25,210,7,5\n")  # fmt: skip
    assert "2 burns can be read" in text(panel.told)
    assert all(pick.layout.display is None for pick in panel.asked.values())
    panel.take.click()
    assert "does not say machine, work, electrode, polarity" in text(panel.said)
    answers = {"machine": "", "work": "D2", "electrode": "copper", "polarity": "electrode positive"}
    for name, value in answers.items():
        panel.asked[name].value = value
    panel.take.click()
    assert "2 burns" in text(panel.said) and len(page.trials) == 14
    assert page.trials[-1].work == "D2"


def test_doubtful_lines_are_named_and_must_be_looked_at(page):
    panel = files(page)
    panel.read_in(b"part,minutes,length in (mm),length out (mm)\np1,20,40,41\np2,20,40,39\n")
    for pick, value in zip(panel.asked.values(), ANSWERS.values(), strict=True):
        pick.value = value
    assert "line 2" in text(panel.told) and panel.looked.description.endswith("line 2")
    panel.take.click()
    assert "look at line 2 first" in text(panel.said) and len(page.trials) == 12
    panel.looked.value = True
    panel.take.click()
    assert len(page.trials) == 14


def test_another_answer_asks_for_another_look(page):
    panel = files(page)
    panel.read_in(b"part,minutes,length in (mm),length out (mm)\np1,20,40,41\np2,20,40,39\n")
    panel.looked.value = True
    panel.asked["work"].value = "D2"
    assert not panel.looked.value


def test_a_file_of_the_same_name_is_kept(page, tmp_path):
    (tmp_path / "trial_book.csv").write_text("edited by hand", encoding="utf-8")
    panel = files(page)
    for name in ("trial_book_2.csv", "trial_book_3.csv"):
        panel._export("CSV, 3.05")
        assert f'../../files/{name}"' in panel.sent.value
        assert read_csv(tmp_path / name).trials == page.trials
    assert (tmp_path / "trial_book.csv").read_text(encoding="utf-8") == "edited by hand"


def test_a_faulty_file_brings_nothing(page):
    panel = files(page)
    panel.read_in(f"part,minutes\n{EVIL},twenty\n".encode())
    assert "line 2" in text(panel.told) and "<img" not in panel.told.value
    assert panel.take.layout.display == "none"
    panel.read_in(b"PK\x03\x04")
    assert "save it as CSV" in text(panel.told)


@pytest.mark.parametrize("kind, name", [
    ("CSV, 3.05", "trial_book.csv"), ("CSV, 3,05", "trial_book_comma.csv"),
    ("Spreadsheet", "trial_book.xlsx")])  # fmt: skip
def test_the_book_goes_out_beside_the_page(page, tmp_path, kind, name):
    panel = files(page)
    panel._export(kind)
    assert (tmp_path / name).is_file() and name in panel.sent.value
    if name.endswith("csv"):
        assert read_csv(tmp_path / name).trials == page.trials


def test_an_empty_book_is_not_written(empty):
    empty.source.value = OWN
    panel = files(empty)
    panel._export("Spreadsheet")
    assert "nothing was written" in text(panel.sent)


# --- a damaged book ---
def test_a_damaged_book_is_said_and_its_backup_taken(page, tmp_path):
    page.own.book.add(log()[0])
    path = page.own.book.path
    path.write_bytes(path.read_bytes()[:6000])
    hurt = WhatDidTheBurnTeach(memory=None, folder=tmp_path, book=ek.TrialBook(path))
    hurt.source.value = OWN
    assert "damaged" in text(hurt._message) and hurt.backup.layout.display is None
    hurt.backup.click()
    assert len(hurt.trials) == 12 and "in place again" in text(hurt._where)
    assert hurt.backup.layout.display == "none" and hurt._message.value == ""


def test_the_units_are_remembered(tmp_path):
    memory = Memory(tmp_path)
    WhatDidTheBurnTeach(memory, tmp_path, None).units.value = True
    assert WhatDidTheBurnTeach(Memory(tmp_path), tmp_path, None).display.inches


def test_a_burn_of_a_machine_is_held_against_its_file(tmp_path):
    machine = ek.read_machine(DATA / "old_manual_sinker.toml")
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    book.keep_machine(machine.name, machine.path.read_text(encoding="utf-8"))
    dialled = machine.settings("3", "6", "4", "low")
    trial = dataclasses.replace(
        log("domed_rollers")[0],
        machine=machine.name, peak_current_A=dialled.peak_current_A, on_time_us=dialled.on_time_us,
        off_time_us=dialled.off_time_us, open_voltage_V=dialled.open_voltage_V,
        minutes=Measured(20.0, "watch"),
    )  # fmt: skip
    book.add(trial)
    page = WhatDidTheBurnTeach(None, tmp_path, ek.TrialBook(book.path))
    assert page.study.of("removal_rate") and not page.study.left_out[0].why.startswith("the file")
    # another page has the file open, corrected meanwhile: that is what counts
    doubled = dataclasses.replace(machine, plate_current="spark")
    own = OwnBook(book)
    predicted = []
    for current in (None, doubled):
        own.look(current)
        predicted.append(own.study.of("removal_rate")[0].predicted)
    assert predicted[1] > 1.2 * predicted[0]
