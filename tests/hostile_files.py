"""Hostile CSV files made from a seed: each with what is true in it, line by line."""

import random

GOOD = (
    ("part", "current (A)", "on-time (µs)", "off-time (µs)", "minutes", "depth (mm)",
     "hole (mm)", "electrode size (mm)", "section (mm²)", "remark"),
    *((f"pin {n}", "3.0", "50", "25", f"{20 + n * 0.5:g}", "5.01", f"{3.05 + n / 1000:.3f}", "3.00",
       "7.07", "") for n in range(8)),
)  # fmt: skip
ANSWERS = {"machine": "", "work": "52100", "electrode": "copper", "polarity": "electrode positive"}
_EVIL = (
    "=cmd|' /C calc'!A0", "@SUM(A1)", "-1+1", "+1", "\t=1", "'=1", "\uff1d1", "\u202egnp.exe",
    "<img src=x onerror=1>", "\N{PILE OF POO}", 'a"b', "a;b,c", "$x$", "line\nbreak", "nan", "' q",
)  # fmt: skip
# Digits of other scripts too: Arabic-Indic twelve, full-width three.
_BAD_NUMBERS = (
    "nan", "inf", "-inf", "1e999", "1.234,5", "1,234.5", "3 A", "\u0661\u0662", "\uff13", "0x1F",
    "1_000", "--3", "3..4..5", "", " ", "3e", "1e308", "-3", "NaN", "\u066b5", "1/2", "=3",
)  # fmt: skip
_NUMERIC = range(1, 9)


def _joined(rows, delimiter=",", end="\r\n"):
    def cell(text):
        odd = any(sign in text for sign in (delimiter, '"', "\n", "\r"))
        return '"' + text.replace('"', '""') + '"' if odd else text

    return end.join(delimiter.join(map(cell, row)) for row in rows) + end


def _copy():
    return [list(row) for row in GOOD]


def _bad_number(chance, rows):
    row, column = chance.randrange(1, len(rows)), chance.choice(_NUMERIC)
    rows[row][column] = chance.choice(_BAD_NUMBERS)
    return {(row, column)}


def _slip(chance, rows):
    row, column = chance.randrange(1, len(rows)), chance.choice((1, 2, 3, 4, 5, 6, 7))
    factor = chance.choice((1000, 0.001, 25.4, 1 / 25.4))
    rows[row][column] = f"{float(rows[row][column]) * factor:.6g}"
    return {(row, column)}


def _evil_text(chance, rows):
    rows[chance.randrange(1, len(rows))][chance.choice((0, 9))] = chance.choice(_EVIL)
    return set()


def _shifted(chance, rows):
    row = rows[chance.randrange(1, len(rows))]
    if chance.random() < 0.5:
        del row[chance.randrange(len(row))]
    else:
        row.insert(chance.randrange(len(row)), "7")
    return "all"


def _no_unit(chance, rows):
    column = chance.choice((1, 2, 3, 5, 6, 7))
    rows[0][column] = rows[0][column].split(" (")[0]
    return "all"


def _other_unit(chance, rows):
    column, unit, factor = chance.choice(((2, "ms", 1e-3), (6, "in", 1 / 25.4), (4, "h", 1 / 60)))
    rows[0][column] = {2: "on-time (ms)", 6: "hole (in)", 4: "minutes (h)"}[column]
    for row in rows[1:]:
        row[column] = f"{float(row[column]) * factor:.12g}"
    assert unit
    return set()


_HURTS = (_bad_number, _bad_number, _slip, _slip, _evil_text, _shifted, _no_unit, _other_unit)


def hostile(seed):
    """Return the bytes of a file, and the cells (row, column) whose value is not the true one.

    'all' instead says that the file as a whole may not be taken.
    """
    chance, rows = random.Random(seed), _copy()
    hurt = set()
    for _ in range(chance.choice((0, 1, 1, 2))):
        try:
            done = chance.choice(_HURTS)(chance, rows)
        except (ValueError, IndexError):  # hurt already, so that this one finds no number
            continue
        hurt = "all" if "all" in (done, hurt) else hurt | done
    delimiter = chance.choice((",", ",", ";", "\t"))
    if chance.random() < 0.25 and delimiter != ",":
        rows = [rows[0], *([c.replace(".", ",") if n in _NUMERIC else c for n, c in enumerate(row)]
                           for row in rows[1:])]  # fmt: skip
    text = _joined(rows, delimiter, chance.choice(("\r\n", "\n", "\r")))
    encoding = chance.choice(("utf-8", "utf-8-sig", "utf-16", "cp1252"))
    data = text.encode(encoding, "replace")
    if chance.random() < 0.1:  # cut off, or noise
        hurt = "all"
        place = chance.randrange(len(data))
        data = data[:place] if chance.random() < 0.5 else data[:place] + chance.randbytes(9)
    return data, hurt


TRUE = {
    column: [float(row[column]) for row in GOOD[1:]] for column in (1, 2, 3, 4, 5, 6, 7, 8)
}  # fmt: skip
NAMES = {1: "peak_current_A", 2: "on_time_us", 3: "off_time_us", 4: "minutes", 5: "depth_mm",
         6: "hole_size_mm", 7: "electrode_size_mm", 8: "section_mm2"}  # fmt: skip


def wrong_in_silence(preview):
    """Return the numbers of a preview that are wrong and carry no doubt at their line."""
    doubted = {doubt.line for doubt in preview.doubts}
    found = []
    for trial, line in zip(preview.trials, preview.lines, strict=True):
        if not trial.part.startswith("pin ") or not trial.part[4:].isascii():
            continue
        place = trial.part[4:]
        if not place.isdigit() or int(place) >= len(GOOD) - 1:
            continue
        for column, name in NAMES.items():
            value = getattr(trial, name)
            value = getattr(value, "value", value)
            true = TRUE[column][int(place)]
            if value is not None and abs(value - true) > 1e-6 * true and line not in doubted:
                found.append((line, name, value, true))
    return found
