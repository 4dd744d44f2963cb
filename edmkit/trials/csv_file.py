"""A CSV file as text and rows: its encoding, its delimiter, the line numbers of its rows."""

import csv
import io
from pathlib import Path

from edmkit.checks import Refusal
from edmkit.trials.headings import heading_of

_LARGEST, _MOST = 20e6, 100_000  # bytes and rows


def text_of(source):
    """Return the text of a file and how it was understood.

    Parameters
    ----------
    source : str, Path or bytes
        The file, or what is in it.

    Raises
    ------
    Refusal
        If it is too large, no text, or not there.
    """
    try:
        data = source if isinstance(source, bytes) else Path(source).read_bytes()
    except OSError as error:
        raise Refusal(f"the file {source} cannot be read: {error.strerror}.") from None
    if len(data) > _LARGEST:
        raise Refusal(f"the file has {len(data) / 1e6:.0f} MB, at most 20 can be read: split it.")
    if data[:2] == b"PK":
        raise Refusal("this is a spreadsheet, not a CSV file: save it as CSV first.")
    for mark, name in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return _decoded(data, name), ["text in UTF-16"]
    try:
        return data.decode("utf-8-sig"), ["text in UTF-8"]
    except UnicodeDecodeError:
        return _decoded(data, "cp1252"), ["text in Windows-1252, as it is no UTF-8"]


def _decoded(data, name):
    try:
        return data.decode(name)
    except UnicodeDecodeError:
        raise Refusal("this is no text file: save the table as CSV in UTF-8.") from None


def table_of(text):
    """Return comments, rows with their line numbers (the headings first), and the delimiter.

    Parameters
    ----------
    text : str
        From `text_of`.

    Raises
    ------
    Refusal
        If no heading is known, or there are no burns.
    """
    if not text.strip():
        raise Refusal("the file is empty.")
    found = {d: _rows(text, d) for d in ",;\t"}
    known = {d: _known(rows[1][0][1]) if rows[1] else 0 for d, rows in found.items()}
    best = max(known, key=known.get)
    if not known[best]:
        raise Refusal(
            "no heading of this file is known: the first line must name the columns, such as "
            "'peak current (A)' and 'minutes (min)'."
        )
    comments, rows, trouble = found[best]
    if trouble:
        raise Refusal(trouble)
    if len(rows) < 2:
        raise Refusal("the file has headings but no burns.")
    if len(rows) > _MOST:
        raise Refusal(f"the file has more than {_MOST} lines: split it.")
    return comments, rows, best


def _rows(text, delimiter):
    """Return the comments at the top, rows with their line numbers, and what ended the reading.

    Blank rows are out. Strict, as an opening quote that nobody closed would swallow the lines
    after it.
    """
    lines = io.StringIO(text, newline="")
    comments, skipped = [], 0
    while True:
        place = lines.tell()
        line = lines.readline()
        if not line.lstrip().startswith("#"):
            break
        comments.append(line.strip().strip(f'"{delimiter}'))
        skipped += 1
    lines.seek(place)
    csv.field_size_limit(1_000_000)
    reader, rows, before = csv.reader(lines, delimiter=delimiter, strict=True), [], skipped
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((before + 1, cells))
            before = skipped + reader.line_num
    except csv.Error as error:
        trouble = f"line {before + 1} of the file cannot be read: {error}; look at its quotes."
        return comments, rows, trouble
    return comments, rows, ""


def _known(cells):
    """Return how many headings are known, good or with a faulty unit."""
    count = 0
    for cell in cells:
        try:
            count += heading_of(cell).name is not None
        except Refusal:
            count += 1
    return count
