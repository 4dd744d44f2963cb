"""Burns in from a CSV file: a preview first, every doubtful line named, nothing guessed."""

from collections import Counter
from dataclasses import dataclass, replace
from uuid import UUID, uuid5

from edmkit.checks import Refusal, one_of
from edmkit.trials import slips
from edmkit.trials.cells import decimal_of, unguarded
from edmkit.trials.columns import BY_NAME, NUMBERS, TEXTS
from edmkit.trials.csv_file import table_of, text_of
from edmkit.trials.derived import round_area_mm2
from edmkit.trials.headings import heading_of
from edmkit.trials.measured import Measured
from edmkit.trials.trial import Trial
from edmkit.trials.values import how_of, is_number, joined, measured_cell, scaled, text_kept

ASKED = ("machine", "work", "electrode", "polarity")  # what a shop's own file may lack
_SPACE = UUID("5d0f6e5c-7b44-4a2b-9d6e-0a4f4b1f8c11")  # so that a file read twice is one


@dataclass(frozen=True)
class Doubt:
    """Something about one cell: line in the file, heading, what stands there, a sentence."""

    line: int
    column: str
    text: str
    sentence: str


@dataclass(frozen=True)
class Preview:
    """What a file holds before anything is imported.

    ``faults`` must be put right in the file, ``doubts`` looked at and confirmed by line,
    ``missing`` are columns to be answered once for the whole file, ``said`` is how the file was
    understood. ``lines`` gives the line of each trial. With faults there are no trials.
    """

    trials: tuple
    lines: tuple
    faults: tuple
    doubts: tuple
    missing: tuple
    said: tuple


def read_csv(source, answers=None):
    """Return a preview of the burns of a CSV file.

    Parameters
    ----------
    source : str, Path or bytes
        The file, or what is in it.
    answers : dict or None
        What the whole file lacks: column -> value, such as the work material.

    Raises
    ------
    Refusal
        If it is no such file at all: too large, no text, no heading that is known.
    """
    text, said = text_of(source)
    comments, rows, delimiter = table_of(text)
    said += [f"{'comma semicolon tab'.split()[',;	'.index(delimiter)]} between the cells"]
    said += [line.lstrip("# ") for line in comments]
    reader = _Reader(rows[0][1], answers or {}, delimiter)
    for line, cells in rows[1:]:
        reader.take(line, cells)
    return reader.preview(tuple(said))


def trials_of(preview, confirmed=()):
    """Return the burns of a preview, all or none.

    Parameters
    ----------
    preview : Preview
        From `read_csv`.
    confirmed : sequence of int
        Lines of doubts that somebody has looked at.

    Raises
    ------
    Refusal
        If something is wrong, missing, or doubtful and not looked at.
    """
    if preview.faults:
        first = preview.faults[0]
        raise Refusal(
            f"nothing was imported: line {first.line}, {first.column}: {first.sentence} "
            f"({len(preview.faults)} such in the file)"
        )
    if preview.missing:
        raise Refusal(
            f"nothing was imported: the file does not say {', '.join(preview.missing)}: answer "
            "that once for the whole file."
        )
    open_ = sorted({doubt.line for doubt in preview.doubts} - set(confirmed))
    if open_:
        shown = ", ".join(map(str, open_[:12]))
        raise Refusal(f"nothing was imported: look at line {shown} first, and confirm it.")
    return preview.trials


# --- its rows -------------------------------------------------------------------------------
class _Reader:
    """Takes the rows of one file and gathers burns, faults and doubts."""

    def __init__(self, headings, answers, delimiter):
        for name in answers:
            one_of("answers", name, (*TEXTS, *NUMBERS))
        self.answers = {n: text_kept(n, v) if n in TEXTS else v for n, v in answers.items()}
        Trial(**self.answers)  # refuses what cannot be, once and not for every line
        self.delimiter = delimiter
        self.faults, self.headings = [], []
        for cell in headings:
            self._take_heading(cell)
        named = Counter((h.name, h.part) for h in self.headings if h.name)
        for (name, part), count in named.items():
            if count > 1:
                self._fault(1, name, "", f"the column {name}{part and ' '}{part} is there twice.")
        self.names = {h.name for h in self.headings if not h.part}
        self.rows = []

    def _take_heading(self, cell):
        try:
            self.headings.append(heading_of(cell))
        except Refusal as fault:
            self._fault(1, cell, cell, str(fault))
            self.headings.append(heading_of(""))

    def _fault(self, line, column, text, sentence):
        self.faults.append(Doubt(line, column, text[:80], sentence))

    def take(self, line, cells):
        """Take a row with its line number."""
        if len(cells) != len(self.headings):
            hint = ""
            if self.delimiter == "," and any(map(str.strip, cells[len(self.headings) :])):
                hint = " A decimal comma in a file with commas between the cells does that."
            self._fault(line, "", "", f"it has {len(cells)} cells where the headings are "
                        f"{len(self.headings)}.{hint}")  # fmt: skip
            return
        self.rows.append((line, cells))

    def preview(self, said):
        """Return the preview of everything taken."""
        decimal, either = self._decimal()
        trials, lines = [], []
        for line, cells in self.rows:
            before = len(self.faults)
            trial = self._trial(line, cells, decimal)
            if trial is not None and len(self.faults) == before:
                trials.append(trial)
                lines.append(line)
        missing = tuple(n for n in ASKED if n not in self.names and n not in self.answers)
        said = (*said, *self._understood(decimal))
        self._name_twins(trials, lines)
        if self.faults:
            return Preview((), (), tuple(self.faults), (), missing, said)
        trials = _numbered(trials)
        doubts = [Doubt(lines[n], column, text, sentence)
                  for n, column, text, sentence in slips.doubts(trials)]  # fmt: skip
        doubts += [*self._thousands(either), *self._empty(trials, lines)]
        doubts.sort(key=lambda doubt: doubt.line)
        return Preview(tuple(trials), tuple(lines), (), tuple(doubts), missing, said)

    def _name_twins(self, trials, lines):
        """Name burns that have the id of another one in the file."""
        first = {}
        for trial, line in zip(trials, lines, strict=True):
            if trial.id and first.setdefault(trial.id, trial) != trial:
                self._fault(line, "id", trial.id, "another burn of this file has the same id.")

    def _thousands(self, either):
        return [
            Doubt(line, heading.text, cell, f"{cell.strip()!r} was read with a decimal sign: is "
                  "it not one between thousands?")
            for line, cells in self.rows
            for heading, cell in zip(self.headings, cells, strict=True)
            if is_number(heading) and cell in either
        ]  # fmt: skip

    def _empty(self, trials, lines):
        return [
            Doubt(line, name, "", f"no {BY_NAME[name].words}: without it the burn teaches nothing.")
            for trial, line in zip(trials, lines, strict=True)
            for name in ("work", "electrode", "polarity")
            if name in self.names and not getattr(trial, name)
        ]

    def _decimal(self):
        """Return the decimal sign of the file; two signs become faults when they are read."""
        cells = (
            cell
            for _, row in self.rows
            for heading, cell in zip(self.headings, row, strict=True)
            if is_number(heading)
        )
        return decimal_of(cells, self.delimiter)

    def _understood(self, decimal):
        told = [f"decimal {'comma' if decimal == ',' else 'point'}"]
        for place, heading in enumerate(self.headings):
            if heading.name is None and self._holds(place) and not self.faults:
                called = heading.text.strip() or "without a heading"
                told.append(f"the column {called!r} is not known: kept as a remark")
            elif heading.factor != 1:
                unit = BY_NAME[heading.name].unit
                told.append(f"{heading.text.strip()!r} was turned into {unit}")
        if self._round():
            told.append("holes taken as round: areas from the electrode, work from the hole, less "
                        "the bore")  # fmt: skip
        hows = sorted({f"{h.text.strip()} by {how_of(h)}" for h in self.headings
                       if h.name in BY_NAME and BY_NAME[h.name].how and not h.part
                       and not h.how and not self._says_how(h.name)})  # fmt: skip
        return [*told, *(["taken as measured: " + "; ".join(hows)] if hows else [])]

    def _holds(self, place):
        return any(cells[place].strip() for _, cells in self.rows)

    def _says_how(self, name):
        return any(h.name == name and h.part == "how" for h in self.headings)

    # --- one burn ---------------------------------------------------------------------------
    def _trial(self, line, cells, decimal):
        given, seen, remarks = dict(self.answers), {}, []
        for heading, cell in zip(self.headings, cells, strict=True):
            text = unguarded(cell)
            if heading.name is None:
                if text.strip():
                    remarks.append(f"{heading.text.strip() or 'no heading'}: {text.strip()}")
                continue
            if text == "" or (heading.name not in TEXTS and not text.strip()):
                continue
            try:
                self._take_cell(heading, text, decimal, given, seen)
            except Refusal as fault:
                self._fault(line, heading.text, cell, str(fault))
        return self._made(line, given, seen, remarks)

    def _take_cell(self, heading, text, decimal, given, seen):
        name = heading.name
        if name in ("id", "supersedes") or name in TEXTS:
            given[name] = text_kept(name, text)
        elif heading.part == "how":
            seen[name] = joined(name, seen.get(name, {}), {"how": text.strip()})
        elif not BY_NAME[name].how:
            given[name] = scaled(text, decimal, heading.factor)
        else:
            seen[name] = joined(name, seen.get(name, {}), measured_cell(heading, text, decimal))

    def _made(self, line, given, seen, remarks):
        """Return the burn of one row, None if it cannot be."""
        if remarks:
            given["remark"] = "; ".join(filter(None, [given.get("remark", ""), *remarks]))
        try:
            for name, parts in seen.items():
                if "value" not in parts:
                    raise Refusal(f"{name} says how it was measured, but not what.")
                how = parts.get("how") or how_of(self._heading(name), parts)
                given[name] = Measured(parts["value"], how, parts.get("to"))
            trial = Trial(**{"id": "", **given})  # one without an id gets it in the end
        except Refusal as fault:
            self._fault(line, "", "", str(fault))
            return None
        return self._rounded(trial)

    def _round(self):
        own = {"engaged_area_mm2", "section_mm2", "volume_mm3"} & self.names
        return not own and any(h.is_round for h in self.headings)

    def _heading(self, name):
        return next(h for h in self.headings if h.name == name)

    def _rounded(self, trial):
        """Fill in areas and work where the headings say that the hole is round."""
        if not self._round():
            return trial
        hole, tool, bore = trial.hole_size_mm, trial.electrode_size_mm, trial.bore_mm or 0.0
        filled = {"shape": trial.shape or "Round"}
        if tool is not None:
            area = round_area_mm2(tool.middle, bore)
            filled |= {"engaged_area_mm2": area, "section_mm2": area}
        if hole is not None and trial.depth_mm is not None:
            filled["volume_mm3"] = round_area_mm2(hole.middle, bore) * trial.depth_mm.middle
        return replace(trial, **filled)


def _numbered(trials):
    """Return burns whose names follow from their contents, so that a file read twice adds none."""
    counted, named = Counter(), []
    for trial in trials:
        if trial.id:
            named.append(trial)
            continue
        contents = repr(trial)
        counted[contents] += 1
        named.append(replace(trial, id=uuid5(_SPACE, f"{contents}#{counted[contents]}").hex))
    return named
