"""Where the book lies, how it is opened, what is said when that fails; dated backups."""

import sqlite3
from contextlib import closing, contextmanager, suppress
from datetime import date, datetime
from glob import escape
from os import environ
from pathlib import Path
from urllib.parse import quote

from edmkit.checks import Refusal
from edmkit.home import home
from edmkit.trials.schema import (
    APPLICATION,
    TABLES,
    VERSION,
    check_sum,
    declared,
    statements,
    summed,
)

# What SQLite and the disk may raise; a damaged file even breaks the text of its own complaint.
TROUBLE = (sqlite3.Error, OSError, UnicodeError)
FILE, KEPT = "trials.sqlite", 10  # backups kept


class NotSaved(Refusal):
    """Something was not saved; the sentence says what, where, and what to do."""


def place_of(path=None):
    """Return the path of the book.

    Parameters
    ----------
    path : str, Path or None
        A file, or a folder to keep `FILE` in; None is EDMKIT_TRIALS, else the user's own folder.
    """
    if path is None and environ.get("EDMKIT_TRIALS"):
        path = environ["EDMKIT_TRIALS"]
    path = home() / FILE if path is None else Path(path)
    return path / FILE if path.is_dir() else path


def now():
    """Return the time with its offset; for people, never for the order of the book."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def _address(path, mode):
    how = "mode=ro&immutable=1" if mode == "immutable" else f"mode={mode}"
    return f"file:{quote(str(path.resolve()))}?{how}"


def _modes(path):
    """Return the ways to open a file for reading, best first."""
    beside = [path.with_name(path.name + end) for end in ("-journal", "-wal")]
    # Read in place only where nobody can be in the middle of writing.
    return ("rw", "ro", *(() if any(p.exists() for p in beside) else ("immutable",)))


@contextmanager
def reading(path, wait_s):
    """Open the book for reading; yields a connection.

    Parameters
    ----------
    path : Path
        The file.
    wait_s : float
        How long to wait for another writer [s].
    """
    fault = None
    for mode in _modes(path):
        with closing(sqlite3.connect(_address(path, mode), uri=True, timeout=wait_s,
                                     isolation_level=None)) as connection:  # fmt: skip
            try:
                connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            except sqlite3.OperationalError as error:
                fault = error
                if "locked" in str(error):
                    break
                continue
            connection.row_factory = sqlite3.Row
            yield connection
            return
    raise fault


@contextmanager
def writing(path, wait_s):
    """Open the book and a transaction that is kept as a whole or not at all.

    Parameters
    ----------
    path : Path
        The file; made with its folder if it is not there.
    wait_s : float
        How long to wait for another writer [s].
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    with closing(sqlite3.connect(path, timeout=wait_s, isolation_level=None)) as connection:
        connection.row_factory = sqlite3.Row
        # Not the write-ahead log: it fails on network drives and in read-only folders.
        connection.execute("PRAGMA journal_mode = DELETE")
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("BEGIN IMMEDIATE")
        try:
            _bring_up_to_date(connection)
            yield connection
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def header(connection):
    """Return application, version and whether there is any table."""
    application = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    return application, version, bool(tables)


def _bring_up_to_date(connection):
    """Make the tables of a new book, or add what an older version has not got."""
    application, version, filled = header(connection)
    if not filled:
        for statement in statements():
            connection.execute(statement)
        return
    if application != APPLICATION:
        raise NotSaved("the file is not a trial book: nothing was written into it.")
    if version > VERSION:
        raise NotSaved("the book was written by a newer version of the kit: nothing was saved.")
    if version < VERSION:
        there = {row["name"] for row in connection.execute("PRAGMA table_info(trials)")}
        for name, sql in declared().items():
            if name not in there:
                connection.execute(f"ALTER TABLE trials ADD COLUMN {sql}")
        connection.execute(f"PRAGMA user_version = {VERSION}")


def insert(connection, table, row):
    """Write a row with its time and check sum; a row whose id is there already is left as it is.

    Parameters
    ----------
    connection : sqlite3.Connection
        In a transaction.
    table : str
        One of the tables of the book.
    row : dict
        Column -> value.
    """
    # A row that is there is looked for first: the database would use up a number on it.
    ask = f"SELECT 1 FROM {table} WHERE id = ?"
    if "id" in row and connection.execute(ask, (row["id"],)).fetchone():
        return
    insert_as_it_was(connection, table, {**row, "saved_at": now()})


def insert_as_it_was(connection, table, row):
    """Write a row under the next number, its time as given.

    Parameters
    ----------
    connection : sqlite3.Connection
        In a transaction.
    table : str
        One of the tables of the book.
    row : dict
        Column -> value.
    """
    covered = summed(row)
    told = {name: row[name] for name in covered}
    told["crc"] = check_sum(covered, told.values())
    marks = ", ".join(f":{name}" for name in told)
    connection.execute(f"INSERT INTO {table} ({', '.join(told)}) VALUES ({marks})", told)


def good_rows(connection, table):
    """Return the rows of a table whose check sum is right, and how many are not.

    Parameters
    ----------
    connection : sqlite3.Connection
        Open for reading.
    table : str
        One of the tables of the book.
    """
    names, rows = _checked(connection, table)
    good = [dict(zip(names, row, strict=True)) for row, sound in rows if sound]
    return good, len(rows) - len(good)


def _checked(connection, table):
    """Return the names of the columns, and each row with whether its check sum is right."""
    every = [row["name"] for row in connection.execute(f"PRAGMA table_info({table})")]
    if not every:  # a book that nothing was written into yet
        return [], []
    names = summed(every)
    cursor = connection.cursor()
    cursor.row_factory = None
    found = cursor.execute(f"SELECT {', '.join(names)}, crc, seq FROM {table} ORDER BY seq")
    rows = [(row, check_sum(names, row[:-2]) == row[-2]) for row in found]
    return [*names, "crc", "seq"], rows


def faults(path, wait_s):
    """Return what is wrong with a book's file: sentences, none if it is sound.

    Parameters
    ----------
    path : Path
        The file.
    wait_s : float
        How long to wait for a writer [s].
    """
    try:
        with reading(path, wait_s) as connection:
            application, _, filled = header(connection)
            if filled and application != APPLICATION:
                return []  # somebody else's file is not ours to judge
            said = [row[0] for row in connection.execute("PRAGMA integrity_check(5)")]
            found = [] if said == ["ok"] else [f"the file itself is damaged ({said[0]})"]
            for table in TABLES:
                bad = sum(not sound for _, sound in _checked(connection, table)[1])
                if bad:
                    found.append(f"{bad} of its {table} were changed or damaged from outside")
            return found
    except (sqlite3.DatabaseError, UnicodeError) as error:
        if any(word in str(error) for word in ("locked", "unable to open", "readonly")):
            raise  # nothing is known of the file yet
        return [f"the file cannot be read as a book ({error})"]


# --- backups ----------------------------------------------------------------------------------
def backups(path):
    """Return the backups of a book, newest first.

    Parameters
    ----------
    path : Path
        The book.
    """
    folder = path.with_name("trials_backups")
    dated = f"{escape(path.stem)}-[0-9][0-9][0-9][0-9]-*.sqlite"  # not another book's
    # A book only grows: the last number tells the newest, whatever the clock said.
    return tuple(sorted(folder.glob(dated), key=lambda p: (_last_number(p), p.stem), reverse=True))


def _last_number(path):
    with suppress(*TROUBLE), reading(path, 0.0) as connection:
        return connection.execute("SELECT max(seq) FROM trials").fetchone()[0] or 0
    return 0


def back_up(path, wait_s, again=False):
    """Copy the book, once a day, by SQLite's own backup; the oldest copies go.

    Parameters
    ----------
    path : Path
        The book.
    wait_s : float
        How long to wait for a writer [s].
    again : bool
        Copy even where today's copy is there, under a name of its own.
    """
    folder = path.with_name("trials_backups")
    target = folder / f"{path.stem}-{date.today().isoformat()}.sqlite"
    if not path.exists() or (target.exists() and not again):
        return
    folder.mkdir(exist_ok=True)
    if target.exists():
        target = folder / f"{path.stem}-{datetime.now():%Y-%m-%d-%H%M%S}.sqlite"
    copy_book(path, target, wait_s)
    for old in [made for made in backups(path) if made != target][KEPT - 1 :]:
        old.unlink()


def copy_book(source, target, wait_s):
    """Copy a book by SQLite's own backup: whole, even while another page writes.

    Parameters
    ----------
    source, target : Path
        From and to.
    wait_s : float
        How long to wait for a writer [s].
    """
    draft = target.with_suffix(".part")
    draft.unlink(missing_ok=True)
    with reading(source, wait_s) as old, closing(sqlite3.connect(draft)) as new:
        old.backup(new)
    draft.replace(target)
