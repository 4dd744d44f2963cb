"""The trial book when things go wrong: killed, full, locked, read-only, damaged, two pages."""

import dataclasses
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path

import pytest
from book_torture import killed, lost
from book_writer import numbered

import edmkit as ek
from edmkit.trials import book as book_module
from edmkit.trials import schema, store
from edmkit.trials.book import NotSaved, TuningNote


@pytest.fixture
def book(tmp_path):
    made = ek.TrialBook(tmp_path / "trials.sqlite", wait_s=0.2)
    made.add_all([numbered("a", n) for n in range(40)])
    return made


# --- killed ---
@pytest.mark.parametrize("part", range(3))
def test_sixty_kills_lose_nothing_acknowledged(tmp_path, part):
    # kill -9 with two writers at random moments: 20 kills here, 60 in all, 500 in the bench
    path = tmp_path / "trials.sqlite"
    pairs = killed(path, part, 20)
    gone, single, wrong, count = lost(path, pairs)
    assert (gone, single, wrong) == ([], [], []) and count >= 2 * len(pairs) > 0


# --- locked, two pages ---
def test_a_locked_book_names_the_wait_and_keeps_the_burn(book):
    trial = numbered("b", 1)
    with closing(sqlite3.connect(book.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotSaved, match=r"not saved: this burn.*waited 0\.2 s.*save it again"):
            book.add(trial)
        other.execute("ROLLBACK")
    book.add(trial)
    assert len(book.trials()) == 41


def test_two_pages_write_into_one_book(book):
    other = ek.TrialBook(book.path)
    for n in range(5):
        book.add(numbered("here", n))
        other.add(numbered("there", n))
    assert book.trials() == other.trials() and len(book.trials()) == 50


def test_two_writers_at_once_wait_for_each_other(tmp_path):
    # each reads before it writes: without taking the lock first, one would be refused at once
    path = tmp_path / "trials.sqlite"
    ek.TrialBook(path).add(numbered("first", 0))

    def write(name):
        book = ek.TrialBook(path)
        return [book.add(numbered(name, n)) for n in range(25)]

    with ThreadPoolExecutor(4) as pool:
        assert all(len(said) == 25 for said in pool.map(write, "abcd"))
    assert len(ek.TrialBook(path).trials()) == 101


# --- full, read-only ---
def test_a_full_disk_loses_nothing_and_says_so(book, monkeypatch):
    before, plain = book.trials(), store.sqlite3.connect

    def full(*args, **kwargs):
        connection = plain(*args, **kwargs)
        connection.execute("PRAGMA max_page_count = 1")  # no page more than there are
        return connection

    big = [dataclasses.replace(numbered("b", n), remark="x" * 1900) for n in range(50)]
    monkeypatch.setattr(store.sqlite3, "connect", full)
    with pytest.raises(NotSaved, match=r"these 50 burns.*disk is full"):
        book.add_all(big)
    monkeypatch.undo()
    assert book.trials() == before and ek.TrialBook(book.path).complaint == ""
    book.add_all(big)
    assert len(book.trials()) == 90


def test_a_backup_that_fails_does_not_keep_a_burn_from_being_saved(tmp_path):
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    book.add(numbered("a", 0))
    (tmp_path / "trials_backups").write_text("in the way")
    said = book.add(numbered("a", 1))
    assert "burn 2" in said and "No backup" in said


AS_NOBODY = """
import os, sys
import edmkit as ek
sys.path.insert(0, {tests!r})
from book_writer import numbered
from edmkit.trials.book import TrialBook
os.setegid(65534)
os.seteuid(65534)
book = TrialBook({path!r})
print(len(book.trials()), book.read_only, book.complaint)
try:
    book.add(numbered("b", 1))
except ek.Refusal as fault:
    print(fault)
"""


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs to drop rights")
def test_a_read_only_folder_is_read_and_said(book):
    shelf = Path("/tmp") / f"edmkit-read-only-{os.getpid()}"
    shelf.mkdir(mode=0o755)
    try:
        path = shelf / "trials.sqlite"
        shutil.copy(book.path, path)
        path.chmod(0o444)
        shelf.chmod(0o555)
        code = AS_NOBODY.format(path=str(path), tests=str(Path(__file__).parent))
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        first, second = done.stdout.splitlines()
        assert first.startswith("40 True") and "cannot be saved" in first
        assert second.startswith("not saved: this burn")
    finally:
        shelf.chmod(0o755)
        shutil.rmtree(shelf)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="needs to drop rights")
def test_a_book_one_may_not_open_is_not_called_damaged(book):
    shelf = Path("/tmp") / f"edmkit-closed-{os.getpid()}"
    shelf.mkdir(mode=0o755)
    try:
        path = shelf / "trials.sqlite"
        shutil.copy(book.path, path)
        path.chmod(0)
        look = AS_NOBODY.split("print")[0] + "print(book.damaged, book.complaint)"
        code = look.format(path=str(path), tests=str(Path(__file__).parent))
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        assert done.stdout.startswith("False") and "cannot be opened now" in done.stdout
    finally:
        shutil.rmtree(shelf)


# --- damaged ---
def test_damage_is_noticed_or_has_changed_nothing(tmp_path, book):
    # 64 random bytes over a book, 100 times: either it is said, or every burn reads as before
    clean, chance, noticed = book.path.read_bytes(), random.Random(5), 0
    before = book.trials()
    path = tmp_path / "damaged.sqlite"
    for _ in range(100):
        data = bytearray(clean)
        place = chance.randrange(len(data) - 64)
        data[place : place + 64] = chance.randbytes(64)
        path.write_bytes(bytes(data))
        hurt = ek.TrialBook(path, wait_s=0.2)
        if hurt.damaged or hurt.complaint:
            noticed += 1
            assert str(path) in hurt.complaint
            known = {trial.id: trial for trial in before}
            assert all(known.get(t.id) == t for t in hurt.trials())  # nothing wrong is given out
            with pytest.raises(NotSaved, match="not saved: this burn"):
                hurt.add(numbered("b", 1))
        else:
            assert hurt.trials() == before
    assert noticed > 30  # the rest fell on free space or on the text of the tables


def test_a_changed_number_is_found_by_its_check_sum(book):
    with closing(sqlite3.connect(book.path)) as other:
        other.execute("DROP TRIGGER trials_update")
        other.execute("UPDATE trials SET minutes = 99 WHERE burn = '7'")
        other.commit()
    hurt = ek.TrialBook(book.path)
    assert hurt.damaged and "1 of its trials were changed" in hurt.complaint
    assert len(hurt.trials()) == 39 and "7" not in {t.burn for t in hurt.trials()}


def test_a_zero_that_vanishes_is_noticed(tmp_path):
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    book.add(dataclasses.replace(numbered("a", 1), low_until_mm=0.0))
    with closing(sqlite3.connect(book.path)) as other:
        other.execute("DROP TRIGGER trials_update")
        other.execute("UPDATE trials SET low_until_mm = NULL")
        other.commit()
    assert ek.TrialBook(book.path).damaged


def test_a_backup_is_offered_and_taken(book, tmp_path):
    book.add(numbered("b", 1))  # the first write into a book that is there makes the day's backup
    (backup,) = book.backups()
    assert backup.parent.name == "trials_backups" and len(ek.TrialBook(backup).trials()) == 40
    book.path.write_bytes(book.path.read_bytes()[:5000])
    hurt = ek.TrialBook(book.path)
    assert hurt.damaged and str(backup) in hurt.complaint
    said = hurt.restore()
    assert "40 burns" in said and not hurt.damaged and len(hurt.trials()) == 40
    aside = list(tmp_path.glob("trials.damaged-*"))
    assert len(aside) == 1 and str(aside[0]) in said
    hurt.add(numbered("b", 2))


def test_without_a_sound_backup_nothing_is_changed(tmp_path):
    path = tmp_path / "trials.sqlite"
    path.write_bytes(b"SQLite format 3\0" + bytes(range(256)) * 40)
    hurt = ek.TrialBook(path)
    assert hurt.damaged and "No sound backup" in hurt.complaint and hurt.trials() == ()
    with pytest.raises(NotSaved, match="no sound backup"):
        hurt.restore()
    assert path.exists()


def without_page(book):
    """Destroy the middle of the burns of a book."""
    data = bytearray(book.path.read_bytes())
    place = data.index(b"a 20")
    data[place - 40 : place + 40] = bytes(80)
    book.path.write_bytes(bytes(data))


def test_what_came_after_the_backup_is_taken_from_the_damaged_file(book):
    for n in range(3):
        book.add(numbered("late", n))
    book.note(TuningNote("servo", "up", "better"))
    before, notes = book.trials(), book.notes()
    without_page(book)
    hurt = ek.TrialBook(book.path)
    assert hurt.damaged and len(hurt.trials()) >= 35  # those beyond the hole are read too
    said = hurt.restore()
    assert "43 burns. None is lost" in said and hurt.trials() == before and hurt.notes() == notes
    assert ek.TrialBook(book.path).complaint == ""


def test_without_a_backup_what_can_be_read_is_kept_and_the_rest_counted(book):
    before = book.trials()
    without_page(book)
    assert book.backups() == ()
    hurt = ek.TrialBook(book.path)
    said, kept = hurt.restore(), hurt.trials()
    assert f"{40 - len(kept)} written since could not be read" in said and 35 <= len(kept) < 40
    assert set(kept) <= set(before) and not hurt.damaged


def test_damage_while_the_book_is_open_is_noticed(book):
    without_page(book)
    assert len(book.trials()) < 40 and book.damaged and str(book.path) in book.complaint
    with pytest.raises(NotSaved, match="damaged"):
        book.add(numbered("b", 1))


def test_a_book_that_is_gone_is_said(book):
    book.add(numbered("b", 1))
    book.path.unlink()
    gone = ek.TrialBook(book.path)
    assert "is gone" in gone.complaint and gone.trials() == ()
    assert "40 burns" in gone.restore() and len(gone.trials()) == 40


def test_a_clock_gone_back_keeps_the_newest_backup(book, monkeypatch):
    class Day(store.date):
        @classmethod
        def today(cls):
            return cls(1970, 1, 1) if late else cls(2026, 1, day)

    late = False
    monkeypatch.setattr(store, "date", Day)
    for day in range(1, 13):
        book.add(numbered("b", day))
    late = True
    book.add(numbered("late", 1))
    names = [path.stem for path in book.backups()]
    assert len(names) == 10 and names[0] == "trials-1970-01-01"


def test_a_neighbour_s_backups_are_let_alone(book, tmp_path):
    (tmp_path / "trials_backups").mkdir()
    other = tmp_path / "trials_backups" / "trials-old-2026-01-01.sqlite"
    other.write_bytes(b"")
    book.add(numbered("b", 1))
    assert other not in book.backups() and len(book.backups()) == 1


def test_ten_backups_are_kept(book, monkeypatch):
    class Day(store.date):
        @classmethod
        def today(cls):
            return cls(2026, 1, day)

    monkeypatch.setattr(store, "date", Day)
    for day in range(1, 15):
        book.add(numbered("b", day))
    names = [path.stem for path in book.backups()]
    assert len(names) == 10 and names[0] == "trials-2026-01-14"


# --- other files, other versions ---
@pytest.mark.parametrize("contents", [b"hello\n" * 1000, b""])
def test_a_file_that_is_no_book_is_left_alone(tmp_path, contents):
    path = tmp_path / "notes.txt"
    path.write_bytes(contents)
    book = ek.TrialBook(path)
    if contents:
        assert book.complaint and book.trials() == ()
        with pytest.raises(NotSaved):
            book.add(numbered("a", 1))
        assert path.read_bytes() == contents
    else:  # an empty file is as good as none
        book.add(numbered("a", 1))
        assert len(book.trials()) == 1


@pytest.mark.parametrize("table", ["people", "notes"])
def test_somebody_else_s_database_is_left_alone(tmp_path, table):
    path = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(path)) as other:
        other.execute(f"CREATE TABLE {table} (name TEXT)")
        other.commit()
    contents, book = path.read_bytes(), ek.TrialBook(path)
    assert "not a trial book" in book.complaint and book.trials() == ()
    with pytest.raises(NotSaved, match="not saved: this burn"):
        book.add(numbered("a", 1))
    assert path.read_bytes() == contents


def test_an_older_book_gets_the_new_columns_and_a_backup_first(tmp_path, monkeypatch):
    path = tmp_path / "trials.sqlite"
    older = {n: sql for n, sql in schema.declared().items() if not n.startswith(("orbit", "wall"))}
    with monkeypatch.context() as then:
        then.setattr(schema, "declared", lambda: older)
        then.setattr(schema, "VERSION", 0)
        statements = schema.statements()
    old = numbered("old", 1)
    row = {n: v for n, v in schema.row_of(old).items() if n in older or n in ("id", "withdrawn")}
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        store.insert(connection, "trials", row)
        connection.commit()
    book = ek.TrialBook(path)
    assert book.complaint == "" and book.trials() == (old,)
    store.back_up(path, 1)  # today's backup is there already: the older book gets one of its own
    new = dataclasses.replace(numbered("new", 2), orbit_mm=0.1)
    book.add(new)
    assert book.trials() == (old, new) and ek.TrialBook(path).complaint == ""
    assert [len(ek.TrialBook(backup).trials()) for backup in book.backups()] == [1, 1]
    with store.reading(path, 1) as connection:
        assert store.header(connection)[1] == schema.VERSION


def test_a_newer_book_is_read_and_not_written(book):
    with closing(sqlite3.connect(book.path)) as other:
        other.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    newer = ek.TrialBook(book.path)
    assert newer.read_only and "newer version" in newer.complaint and len(newer.trials()) == 40
    with pytest.raises(NotSaved, match=r"not saved: this burn.*newer version"):
        newer.add(numbered("b", 1))


def test_a_book_that_became_newer_meanwhile_is_not_written(book):
    with closing(sqlite3.connect(book.path)) as other:
        other.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    with pytest.raises(NotSaved, match="newer version"):
        book.add(numbered("b", 1))


def test_a_clock_set_back_changes_nothing(book, monkeypatch):
    monkeypatch.setattr(store, "now", lambda: "1999-01-01T00:00:00+00:00")
    book.add(numbered("later", 1))
    assert book.trials()[-1].part == "later" and ek.TrialBook(book.path).complaint == ""


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("x")
    book = ek.TrialBook(tmp_path / "file" / "trials.sqlite")
    with pytest.raises(NotSaved, match="not saved: this burn"):
        book.add(numbered("a", 1))


def test_every_fault_is_a_sentence():
    for text in ("database is locked", "database or disk is full", "attempt to write a readonly "
                 "database", "unable to open database file", "something else"):  # fmt: skip
        assert book_module._why(text, 10).endswith(".")
