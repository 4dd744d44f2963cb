"""Hostile CSV files made from a seed: each with what is true in it, row by row."""

import random

GOOD = (
    ("part", "current (A)", "on-time (µs)", "off-time (µs)", "minutes", "depth (mm)",
     "hole (mm)", "electrode size (mm)", "section (mm²)", "remark"),
    *((f"pin {n}", "3.0", "50", "25", f"{20 + n * 0.5:g}", "5.01", f"{3.05 + n / 1000:.3f}", "3.00",
       "7.07", "") for n in range(8)),
)  # fmt: skip
ANSWERS = {"machine": "", "work": "52100", "electrode": "copper", "polarity": "electrode positive"}
NAMES = {1: "peak_current_A", 2: "on_time_us", 3: "off_time_us", 4: "minutes", 5: "depth_mm",
         6: "hole_size_mm", 7: "electrode_size_mm", 8: "section_mm2"}  # fmt: skip
_EVIL = (
    "=cmd|' /C calc'!A0", "@SUM(A1)", "-1+1", "+1", "\t=1", "'=1", "\uff1d1", "\u202egnp.exe",
    "<img src=x onerror=1>", "\N{PILE OF POO}", 'a"b', "a;b,c", "$x$", "line\nbreak", "nan", "' q",
    "1\0", '"', '""', "\rpin", "#", "\ufeff",
)  # fmt: skip
# Digits of other scripts too: Arabic-Indic twelve, full-width three.
_BAD_NUMBERS = (
    "nan", "inf", "-inf", "1e999", "1.234,5", "1,234.5", "3 A", "\u0661\u0662", "\uff13", "0x1F",
    "1_000", "--3", "3..4..5", "", " ", "3e", "1e308", "-3", "NaN", "\u066b5", "1/2", "=3", "1 200",
    "1\u00a0200", "\u22123", "3\0", "1e-300", "0", "+", ".", "3..", "<3", "none", "5±1",
)  # fmt: skip
_NUMERIC = range(1, 9)


def _cell(text, delimiter):
    odd = any(sign in text for sign in (delimiter, '"', "\n", "\r"))
    return '"' + text.replace('"', '""') + '"' if odd else text


class _File:
    """A good file about to be hurt: its rows, and for each the numbers that are meant."""

    def __init__(self, chance):
        self.chance = chance
        self.rows = [list(row) for row in GOOD]
        self.truth = [{name: float(row[n]) for n, name in NAMES.items()} for row in GOOD[1:]]
        self.stray, self.cut = False, False

    def _place(self):
        return self.chance.randrange(1, len(self.rows)), self.chance.choice(_NUMERIC)

    def bad_number(self):
        row, column = self._place()
        self.rows[row][column] = self.chance.choice(_BAD_NUMBERS)

    def slip(self):
        row, column = self._place()
        factor = self.chance.choice((1000, 0.001, 25.4, 1 / 25.4))
        self.rows[row][column] = f"{float(self.rows[row][column]) * factor:.6g}"

    def thousands(self):
        column, value = self.chance.choice(((2, 1200), (3, 1000)))
        for row, true in zip(self.rows[1:], self.truth, strict=True):
            row[column], true[NAMES[column]] = f"{value // 1000}T{value % 1000:03}", float(value)

    def evil_text(self):
        row, _ = self._place()
        self.rows[row][self.chance.choice((0, 9))] = self.chance.choice(_EVIL)

    def shifted(self):
        row = self.rows[self._place()[0]]
        if self.chance.random() < 0.5:
            del row[self.chance.randrange(len(row))]
        else:
            row.insert(self.chance.randrange(len(row)), "7")

    def swapped(self):
        """Swap two whole columns: no harm at all."""
        one, other = self.chance.sample(range(len(GOOD[0])), 2)
        for row in self.rows:
            row[one], row[other] = row[other], row[one]

    def no_unit(self):
        column = self.chance.choice((1, 2, 3, 5, 6, 7))
        self.rows[0][column] = self.rows[0][column].split(" (")[0]

    def other_unit(self):
        head, per = self.chance.choice(
            (("on-time (ms)", 1e-3), ("hole (in)", 1 / 25.4), ("minutes (h)", 1 / 60))
        )
        column = [h.split(" (")[0] for h in self.rows[0]].index(head.split(" (")[0])
        cells = [f"{float(row[column]) * per:.12g}" for row in self.rows[1:]]
        for row, cell in zip(self.rows, [head, *cells], strict=True):
            row[column] = cell

    def doubled(self):
        row, _ = self._place()
        self.rows.insert(row, list(self.rows[row]))
        self.truth.insert(row - 1, dict(self.truth[row - 1]))

    def stray_quote(self):
        self.stray = True

    def data(self):
        chance = self.chance
        delimiter, end = chance.choice(",,;\t"), chance.choice(("\r\n", "\n", "\r"))
        comma = delimiter != "," and chance.random() < 0.4
        rows = [self.rows[0], *([self._number(cell, comma) for cell in row]
                                for row in self.rows[1:])]  # fmt: skip
        lines = [delimiter.join(_cell(cell, delimiter) for cell in row) for row in rows]
        if self.stray:  # an opening quote that nobody closes
            n = chance.randrange(1, len(lines))
            place = lines[n].rfind(delimiter) + 1 if chance.random() < 0.7 else 0
            lines[n] = lines[n][:place] + '"' + lines[n][place:]
        encoding = chance.choice(("utf-8", "utf-8-sig", "utf-16", "cp1252"))
        data = (end.join(lines) + end).encode(encoding, "replace")
        if chance.random() < 0.1:  # cut off, or cut off and noise
            self.cut, place = True, chance.randrange(len(data))
            data = data[:place] + chance.randbytes(chance.choice((0, 9)))
        return data

    @staticmethod
    def _number(cell, comma):
        if cell[:1].isdigit() and "T" in cell:
            return cell.replace("T", "." if comma else ",")
        return cell.replace(".", ",") if comma and cell.replace(".", "").isdigit() else cell


_HURTS = ("bad_number", "bad_number", "slip", "slip", "thousands", "evil_text", "shifted",
          "swapped", "no_unit", "other_unit", "doubled", "stray_quote")  # fmt: skip


def hostile(seed):
    """Return the bytes of a file, the numbers meant in each of its rows, and whether it is cut."""
    file = _File(random.Random(seed))
    for _ in range(file.chance.choice((0, 1, 1, 2, 3))):
        try:
            getattr(file, file.chance.choice(_HURTS))()
        except (ValueError, IndexError):  # hurt already, so that this one finds no number
            continue
    data = file.data()
    return data, file.truth, file.cut


def wrong_in_silence(preview, truth, cut=False):
    """Return what a preview has that nobody meant: rows lost, numbers without a doubt."""
    if not preview.trials:
        return []
    found = []
    if len(preview.trials) != len(truth) and not cut:
        found.append(("rows", len(preview.trials), len(truth)))
    doubted = {doubt.line for doubt in preview.doubts}
    for trial, line, meant in zip(preview.trials, preview.lines, truth, strict=False):
        for name, true in meant.items():
            value = getattr(trial, name)
            value = getattr(value, "value", value)
            if value is not None and abs(value - true) > 1e-6 * true and line not in doubted:
                found.append((line, name, value, true))
    return found
