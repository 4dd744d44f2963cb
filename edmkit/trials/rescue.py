"""A damaged book: what can still be read of it, a backup in its place, the file kept aside."""

import shutil
import sqlite3
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from edmkit.trials.schema import TABLES, check_sum, summed
from edmkit.trials.store import (
    TROUBLE,
    NotSaved,
    copy_book,
    good_rows,
    insert_as_it_was,
    reading,
    writing,
)

_SHORTEST = 50  # bytes; no row of the book is shorter: its times and names alone are longer


def sound_rows(path, table, wait_s):
    """Return the rows of a damaged book whose check sum is right, read one by one.

    Parameters
    ----------
    path : Path
        The book.
    table : str
        One of the tables of the book.
    wait_s : float
        How long to wait for a writer [s].
    """
    rows = []
    with suppress(*TROUBLE), reading(path, wait_s) as connection:
        every = [row["name"] for row in connection.execute(f"PRAGMA table_info({table})")]
        names = summed(every)
        ask = f"SELECT {', '.join(names)}, crc, seq FROM {table} WHERE seq = ?"
        # The highest number may itself be damaged; the size of the file bounds it.
        for seq in range(1, path.stat().st_size // _SHORTEST):
            with suppress(*TROUBLE):
                row = connection.execute(ask, (seq,)).fetchone()
                if row is not None and check_sum(names, row[:-2]) == row["crc"]:
                    rows.append(dict(row))
    return rows


@dataclass(frozen=True)
class Rescued:
    """Rows of burns from the backup and from the damaged file; where that lies now.

    ``lost`` is how many of the burns ever written are in neither, None where that is unknown.
    """

    backup: int
    added: int
    lost: int | None
    aside: Path


def take(path, backup, wait_s):
    """Put a backup and what can still be read in the place of a damaged book.

    Parameters
    ----------
    path : Path
        The book.
    backup : Path or None
        A sound copy; None starts from nothing.
    wait_s : float
        How long to wait for a writer [s].
    """
    draft = path.with_name(f"{path.name}.restored")
    draft.unlink(missing_ok=True)
    if backup is not None:
        copy_book(backup, draft, wait_s)
    with writing(draft, wait_s) as connection:
        counts = {table: _put_back(connection, path, table, wait_s) for table in TABLES}
    there, added = counts["trials"]
    if backup is None and not there + added:
        draft.unlink()
        raise NotSaved(
            f"there is no sound backup of {path} and no burn in it can be read: "
            "nothing was changed."
        )
    last = _ever_written(path, wait_s)
    lost = None if last is None else max(0, last - there - added)
    return Rescued(there, added, lost, _swapped(path, draft))


def _put_back(connection, path, table, wait_s):
    """Add what a damaged book has beyond its backup; return rows there were, rows added."""
    known = {_told(row) for row in good_rows(connection, table)[0]}
    added = 0
    for row in sound_rows(path, table, wait_s):
        # A burn that was corrected in two histories keeps the correction of the backup.
        with suppress(sqlite3.IntegrityError):
            if _told(row) not in known:
                insert_as_it_was(connection, table, row)
                added += 1
    return len(known), added


def _told(row):
    """Return what a row says, without its number and what is empty."""
    return tuple(sorted((n, v) for n, v in row.items() if n != "seq" and v is not None))


def _ever_written(path, wait_s):
    """Return how many rows of burns a damaged book has had, None where it cannot be told."""
    ask = "SELECT seq FROM sqlite_sequence WHERE name = 'trials'"
    with suppress(*TROUBLE), reading(path, wait_s) as connection:
        row = connection.execute(ask).fetchone()
        if row and isinstance(row[0], int) and row[0] <= path.stat().st_size // _SHORTEST:
            return row[0]
    return None


def _swapped(path, draft):
    """Put a file in the place of the book; return where the old one is kept."""
    aside = path.with_name(f"{path.stem}.damaged-{datetime.now():%Y%m%d-%H%M%S-%f}")
    if path.exists():
        shutil.copy2(path, aside)  # a copy, so that a book is there at every moment
    for end in ("-journal", "-wal", "-shm"):
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.replace(aside.with_name(aside.name + end))
    draft.replace(path)
    return aside
