"""The trial book: what goes in comes out, nothing is doubled, nothing is changed."""

import dataclasses
import sqlite3
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import edmkit as ek
from edmkit.trials import store
from edmkit.trials.book import NotSaved, TuningNote
from edmkit.trials.columns import BY_NAME, COLUMNS, MEASURED, NUMBERS, TEXTS
from edmkit.trials.measured import KINDS, Measured

PLAIN = {"work": "52100", "electrode": "copper", "polarity": "electrode positive",
         "peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0}  # fmt: skip
DEMO = Path(__file__).parents[1] / "data_demo"


def burned(minutes=20.0, **columns):
    """Return a burn."""
    return ek.Trial(**{**PLAIN, "minutes": Measured(minutes, "watch"), **columns})


@pytest.fixture
def book(tmp_path):
    return ek.TrialBook(tmp_path / "shop" / "trials.sqlite")


# --- in and out ---
def test_nothing_is_made_before_something_is_written(book):
    assert book.trials() == () and book.complaint == "" and not book.path.parent.exists()
    assert book.notes() == () and book.backups() == () and book.mark() is None


def test_a_burn_comes_back_as_it_was(book):
    trial = burned(
        hole_size_mm=Measured(3.05, "pin go and no-go", 3.06),
        end_wear_mm=Measured(0, "no wear I can see"),
        remark="='Ö' \n\"x\"; 日本",
    )
    said = book.add(trial)
    assert "burn 1" in said and str(book.path) in said
    assert ek.TrialBook(book.path).trials() == (trial,)


def number(column):
    """Return any number that a column allows."""
    return st.floats(column.low, column.high, allow_nan=False)


def measured(column):
    """Return any measured value of a column."""

    def made(drawn):
        kind, low, high = drawn
        low, high = min(low, high), max(low, high)
        two = KINDS[kind].two_ends
        return Measured(low, kind, high) if two and high > low else (
            Measured(low, next((k for k in column.how if not KINDS[k].two_ends), kind))
            if any(not KINDS[k].two_ends for k in column.how) else None)  # fmt: skip

    return st.tuples(st.sampled_from(column.how), number(column), number(column)).map(made)


def any_trial():
    """Return burns with any of the columns filled."""
    plain = st.text(st.characters(exclude_characters="\0", exclude_categories=("Cs",)), max_size=20)
    fields = {}
    for column in COLUMNS:
        if column.name in TEXTS:
            fields[column.name] = st.sampled_from(column.choices) if column.choices else plain
        else:
            made = number(column) if column.name in NUMBERS else measured(column)
            fields[column.name] = st.none() | made
    return st.builds(ek.Trial, **fields)


@given(any_trial())
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_burn_comes_back_whole(tmp_path_factory, trial):
    book = ek.TrialBook(tmp_path_factory.mktemp("any") / "t.sqlite")
    book.add(trial)
    assert book.trials() == (trial,)


def test_saving_twice_keeps_one_burn(book):
    trial = burned()
    assert book.add(trial) == book.add(trial)
    assert len(book.trials(history=True)) == 1


def test_saving_again_uses_up_no_number(book):
    first = burned()
    for _ in range(4):
        book.add(first)
    assert "burn 2" in book.add(burned())


def test_a_minus_before_a_zero_leaves_the_book_sound(book):
    # SQLite keeps -0.0 as 0.0 (sqlite.org, floating point numbers)
    trial = burned(offset_mm=-0.0, wall_mm=Measured(-0.0, "caliper"))
    book.add(trial)
    again = ek.TrialBook(book.path)
    assert again.complaint == "" and again.trials() == (trial,)


def test_the_same_id_with_other_contents_is_refused(book):
    trial = burned()
    book.add(trial)
    with pytest.raises(NotSaved, match="other contents"):
        book.add(dataclasses.replace(trial, part="another"))
    assert book.trials() == (trial,)


def test_several_go_in_together_or_not_at_all(book):
    first, second = burned(part="1"), burned(part="2")
    clash = dataclasses.replace(first, part="else")
    with pytest.raises(NotSaved, match="these 3 burns"):
        book.add_all([first, second, clash])
    assert book.trials() == ()
    assert "2 burns" in book.add_all([first, second]) and len(book.trials()) == 2


# --- corrections ---
def test_a_correction_stands_in_the_place_of_the_burn(book):
    first, second = burned(part="1"), burned(part="2")
    book.add_all([first, second])
    better = book.correct(first.id, minutes=Measured(22.0, "watch"))
    assert [t.part for t in book.trials()] == ["1", "2"]
    assert book.trials()[0] == better and better.supersedes == first.id
    assert [t.minutes.value for t in book.trials(history=True)] == [20, 20, 22]


def test_a_burn_corrected_meanwhile_elsewhere_is_said(book):
    trial = burned()
    book.add(trial)
    here, there = ek.TrialBook(book.path), ek.TrialBook(book.path)
    here.correct(trial.id, part="here")
    with pytest.raises(NotSaved, match=r"corrected .* meanwhile"):
        there.correct(trial.id, part="there")
    with pytest.raises(NotSaved, match="corrected meanwhile"):
        there.add(trial.corrected(part="there"))  # as a page would that has not looked again
    assert [t.part for t in book.trials()] == ["here"]


def test_a_withdrawn_burn_is_hidden_and_kept(book):
    trial = burned()
    book.add(trial)
    book.withdraw(trial.id, "typed twice")
    assert book.trials() == () and "typed twice" in book.trials(history=True)[-1].remark


@pytest.mark.parametrize("statement", [
    "UPDATE trials SET part = 'x'", "DELETE FROM trials", "DELETE FROM notes"])  # fmt: skip
def test_rows_are_never_changed_by_anybody(book, statement):
    book.add(burned())
    book.note(TuningNote("servo", "up", "better"))
    with sqlite3.connect(book.path) as connection, pytest.raises(sqlite3.IntegrityError):
        connection.execute(statement)
    assert len(book.trials()) == 1


# --- limits in the database too ---
@pytest.mark.parametrize(
    "column, value",
    [("peak_current_A", 600.0), ("peak_current_A", "three"), ("minutes", -1.0),
     ("polarity", "plus"), ("minutes_how", "by eye"), ("hole_size_mm_to", 1.0),
     ("remark", "x" * 3000), ("withdrawn", 7)],
)  # fmt: skip
def test_the_database_enforces_the_limits(book, column, value):
    from edmkit.trials.schema import row_of

    book.add(burned())
    row = row_of(burned(hole_size_mm=Measured(3.05, "pin go and no-go", 3.06))) | {column: value}
    with pytest.raises(sqlite3.IntegrityError), store.writing(book.path, 1) as connection:
        store.insert(connection, "trials", row)
    assert len(book.trials(history=True)) == 1


# --- tuning log, machine files ---
def test_tuning_notes_come_back_in_order(book):
    notes = [
        TuningNote("servo", "up", "better", machine="old"),
        TuningNote("lift", "down", "worse"),
    ]
    for note in (*notes, notes[0]):
        book.note(note)
    assert book.notes() == tuple(notes)
    with pytest.raises(ek.Refusal, match="verdict must be one of"):
        TuningNote("servo", "up", "good")


def test_a_burn_brings_its_machine_along(book):
    machine = ek.read_machine(DEMO / "old_manual_sinker.toml")
    text = machine.path.read_text(encoding="utf-8")
    book.keep_machine(machine.name, text)
    book.keep_machine(machine.name, text)  # the same text is kept once
    trial = burned(machine=machine.name)
    book.add(trial)
    found = ek.TrialBook(book.path).trials()[0]
    assert dataclasses.replace(found.machine_file, path=machine.path) == machine
    book.keep_machine(machine.name, "no = machine")
    assert ek.TrialBook(book.path).trials()[0].machine_file is None
    with store.reading(book.path, 1) as connection:
        assert len(store.good_rows(connection, "machines")[0]) == 2


# --- where it lies ---
def test_the_place_follows_path_folder_and_environment(tmp_path, monkeypatch):
    assert ek.TrialBook(tmp_path).path == tmp_path / "trials.sqlite"
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    assert ek.TrialBook().path == tmp_path / "home" / "trials.sqlite"
    monkeypatch.setenv("EDMKIT_TRIALS", str(tmp_path / "mine.sqlite"))
    assert ek.TrialBook().path == tmp_path / "mine.sqlite"


def test_a_mark_changes_when_another_page_writes(book):
    book.add(burned())
    mark = book.mark()
    assert book.mark() == mark
    ek.TrialBook(book.path).add(burned())
    assert book.mark() != mark and len(book.trials()) == 2


# --- files ---
def test_a_log_goes_in_and_comes_out(book, tmp_path):
    said = book.import_csv(DEMO / "domed_rollers_log.csv")
    assert "12 burns" in said
    assert book.import_csv(DEMO / "domed_rollers_log.csv") == said  # the same file adds nothing
    assert len(book.trials(history=True)) == 12
    book.export_csv(tmp_path / "out.csv")
    other = ek.TrialBook(tmp_path / "other.sqlite")
    other.import_csv(tmp_path / "out.csv")
    assert other.trials() == book.trials()
    book.export_xlsx(tmp_path / "out.xlsx")
    assert (tmp_path / "out.xlsx").read_bytes()[:2] == b"PK"


def test_every_column_is_in_the_table(book):
    book.add(burned())
    with store.reading(book.path, 1) as connection:
        there = {row["name"] for row in connection.execute("PRAGMA table_info(trials)")}
    wanted = set(BY_NAME) | {f"{name}_{end}" for name in MEASURED for end in ("to", "how")}
    assert wanted | {"seq", "id", "supersedes", "withdrawn", "saved_at", "crc"} == there
