"""Burns out to a CSV file that opens in any spreadsheet and comes back whole."""

import csv
import io
from pathlib import Path

from edmkit.trials.cells import guarded
from edmkit.trials.columns import COLUMNS

ALWAYS = ("id", "machine", "work", "electrode", "polarity")  # without them a reader has to ask


def table_of(trials):
    """Return burns as a table: headings, then a row of texts and numbers for each burn.

    Parameters
    ----------
    trials : sequence of Trial
        Columns that no burn fills are left out.
    """
    names = ["id", "supersedes"]
    for column in COLUMNS:
        names += [column.name] + [f"{column.name}_to", f"{column.name}_how"] * bool(column.how)
    rows = [{name: _value(trial, name) for name in names} for trial in trials]
    kept = [n for n in names if n in ALWAYS or any(row[n] not in (None, "") for row in rows)]
    return [kept, *([row[name] for name in kept] for row in rows)]


def _value(trial, name):
    """Return what stands in a column: of a measured one the value, its other end or its kind."""
    if hasattr(trial, name):
        found = getattr(trial, name)
        return found.value if hasattr(found, "how") else found
    base, part = name.rsplit("_", 1)
    seen = getattr(trial, base)
    return None if seen is None else getattr(seen, part)


def csv_text(trials, decimal_comma=False):
    """Return burns as the text of a CSV file; texts that look like formulas are guarded.

    Parameters
    ----------
    trials : sequence of Trial
        The burns.
    decimal_comma : bool
        For spreadsheets that write 3,05: semicolons between the cells.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";" if decimal_comma else ",")
    for row in table_of(trials):
        writer.writerow([_cell(value, decimal_comma) for value in row])
    return out.getvalue()


def _cell(value, decimal_comma):
    if value is None:
        return ""
    if isinstance(value, float):
        return repr(value).replace(".", ",") if decimal_comma else repr(value)
    return guarded(value)


def write_csv(trials, path, decimal_comma=False):
    """Write burns to a CSV file.

    Parameters
    ----------
    trials : sequence of Trial
        The burns.
    path : str or Path
        The file.
    decimal_comma : bool
        For spreadsheets that write 3,05: semicolons between the cells.
    """
    text = csv_text(trials, decimal_comma)
    Path(path).write_text(text, encoding="utf-8-sig", newline="")  # the mark tells spreadsheets
