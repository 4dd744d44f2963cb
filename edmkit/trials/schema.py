"""The tables of the trial book: made from the columns, checked by the database too."""

from zlib import crc32

from edmkit.trials.columns import COLUMNS, LONGEST, MEASURED, NUMBERS, TEXTS
from edmkit.trials.measured import Measured
from edmkit.trials.trial import Trial

VERSION = 2  # 1: no columns of a relaxation circuit
APPLICATION = 0x45444D4B  # says whose file it is, in SQLite's own header
_ID = ("id", "supersedes", "saved_at")
_NOTE = ("id", "at", "machine", "job", "knob", "way", "verdict", "remark", "saved_at")
_MACHINE = ("name", "text", "saved_at")


def _declared(column):
    """Return the SQL of one column of a trial, with its limits."""
    name, words = column.name, [c for c in column.choices if c]
    if column.low is None:
        allowed = ""
        if words:
            quoted = ", ".join("'" + word.replace("'", "''") + "'" for word in words)
            allowed = f" AND {name} IN ({quoted})"
        return [f"{name} TEXT CHECK ({name} IS NULL OR (length({name}) <= {LONGEST}{allowed}))"]
    number = "typeof({0}) = 'real' AND {0} BETWEEN {1!r} AND {2!r}"
    limits = (float(column.low), float(column.high))
    within = f"{name} REAL CHECK ({name} IS NULL OR ({number.format(name, *limits)}))"
    if not column.how:
        return [within]
    to, how = f"{name}_to", f"{name}_how"
    quoted = ", ".join("'" + word.replace("'", "''") + "'" for word in column.how)
    return [
        within,
        f"{to} REAL CHECK ({to} IS NULL OR ({number.format(to, *limits)} AND {to} > {name}))",
        f"{how} TEXT CHECK (({name} IS NULL) = ({how} IS NULL) AND ({how} IS NULL OR "
        f"{how} IN ({quoted})))",
    ]


def declared():
    """Return the SQL of every column of a trial: name -> declaration."""
    parts = [sql for column in COLUMNS for sql in _declared(column)]
    return {sql.split()[0]: sql for sql in parts}


def statements():
    """Return the SQL that makes an empty book."""
    trial = ", ".join(declared().values())
    made = [
        "CREATE TABLE trials (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, "
        "supersedes TEXT UNIQUE, withdrawn INTEGER NOT NULL CHECK (withdrawn IN (0, 1)), "
        f"saved_at TEXT NOT NULL, crc INTEGER NOT NULL, {trial})",
        "CREATE TABLE notes (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, "
        "at TEXT, machine TEXT, job TEXT, knob TEXT NOT NULL, way TEXT NOT NULL CHECK (way IN "
        "('up', 'down')), verdict TEXT NOT NULL CHECK (verdict IN ('better', 'worse', 'same')), "
        "remark TEXT, saved_at TEXT NOT NULL, crc INTEGER NOT NULL)",
        "CREATE TABLE machines (seq INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT NOT NULL, "
        "text TEXT NOT NULL, saved_at TEXT NOT NULL, crc INTEGER NOT NULL)",
    ]
    for table in TABLES:
        for verb in ("UPDATE", "DELETE"):
            made.append(
                f"CREATE TRIGGER {table}_{verb.lower()} BEFORE {verb} ON {table} BEGIN "
                "SELECT RAISE(ABORT, 'rows of the book are never changed'); END"
            )
    return [*made, f"PRAGMA application_id = {APPLICATION}", f"PRAGMA user_version = {VERSION}"]


TABLES = {
    "trials": ("id", "supersedes", "withdrawn", "saved_at", *declared()),
    "notes": _NOTE,
    "machines": _MACHINE,
}


_OUTSIDE = ("seq", "crc")  # given by the database; the sum itself


def summed(names):
    """Return the columns that a check sum covers, in its order.

    Parameters
    ----------
    names : sequence of str
        The columns of a table.
    """
    return sorted(name for name in names if name not in _OUTSIDE)


def check_sum(names, values):
    """Return the check sum of a row; empty values are left out.

    A later version's new columns are empty in old rows, so that their sums stay.

    Parameters
    ----------
    names, values : sequence
        As `summed` orders them.
    """
    told = [f"{n}={v!r}" for n, v in zip(names, values, strict=True) if v is not None]
    return crc32("\x1f".join(told).encode())


def row_of(trial):
    """Return a trial as a row of the table, empty texts as NULL, numbers as floats.

    Parameters
    ----------
    trial : Trial
        One burn.
    """
    row = {"id": trial.id, "supersedes": trial.supersedes, "withdrawn": int(trial.withdrawn)}
    row |= {name: getattr(trial, name) or None for name in TEXTS}
    row |= {name: getattr(trial, name) for name in NUMBERS}
    for name in MEASURED:
        seen = getattr(trial, name)
        value = (None, None, None) if seen is None else (seen.value, seen.to, seen.how)
        row |= dict(zip((name, f"{name}_to", f"{name}_how"), value, strict=True))
    # SQLite keeps -0.0 as 0.0 (its page on floating point); the check sum must know it so.
    return {name: value + 0.0 if isinstance(value, float) else value for name, value in row.items()}


def trial_of(row):
    """Return the trial of a row of the table.

    Parameters
    ----------
    row : dict
        Column -> value, as SQLite gives it.
    """
    given = {name: row.get(name) or "" for name in TEXTS}
    given |= {name: row.get(name) for name in NUMBERS}
    for name in MEASURED:
        if row.get(name) is not None:
            given[name] = Measured(row[name], row[f"{name}_how"], row.get(f"{name}_to"))
    return Trial(
        id=row["id"], supersedes=row["supersedes"], withdrawn=bool(row["withdrawn"]), **given
    )
