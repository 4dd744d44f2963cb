"""Burns in from a file, with a preview and questions; out to a file beside the page."""

from html import escape
from pathlib import Path

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.machine import read_machine
from edmkit.materials import electrode_materials, work_materials
from edmkit.panels.controls import Pick, html, layout, refusal, shown
from edmkit.panels.machines import machine_files
from edmkit.settings import POLARITIES
from edmkit.trials.csv_read import read_csv, trials_of
from edmkit.trials.csv_write import write_csv
from edmkit.trials.sheet import write_xlsx

_ASK = ("pick one", None)  # nothing is taken for granted
_LISTED = 30  # faults and doubts shown
_OUT = {
    "CSV, 3.05": ("trial_book.csv", lambda burns, path: write_csv(burns, path)),
    "CSV, 3,05": ("trial_book_comma.csv", lambda burns, path: write_csv(burns, path, True)),
    "Spreadsheet": ("trial_book.xlsx", lambda burns, path: write_xlsx(burns, path)),
}


class BookFiles(widgets.VBox):
    """Imports into the person's own book and exports what the page shows.

    ``page`` gives ``own``, ``trials``, ``folder`` and is told by ``changed()``.
    """

    def __init__(self, page):
        self.page, self.preview, self._data = page, None, b""
        self.upload = widgets.FileUpload(accept=".csv,.txt", multiple=False,
                                         description="Pick a CSV file",
                                         layout=layout(width="auto"))  # fmt: skip
        machines = [_ASK, ("no machine file", "")]
        for name, path in machine_files(page.folder):
            try:
                machines.append((name, read_machine(path).name))
            except Refusal:
                continue  # a faulty file cannot be named here
        self._paths = dict(machine_files(page.folder))
        self.asked = {
            "machine": Pick("Machine", machines, stacked=True),
            "work": Pick("Work material", [_ASK, *_each(work_materials())], stacked=True),
            "electrode": Pick("Electrode", [_ASK, *_each(electrode_materials())], stacked=True),
            "polarity": Pick("Polarity", [_ASK, *_each(POLARITIES)], stacked=True),
        }
        # Layouts of their own: these two are hidden at times.
        self.looked = widgets.Checkbox(indent=False, layout={"width": "100%"})
        self.take = widgets.Button(description="Import into my own book", layout={"width": "auto"})
        self.told, self.said, self.sent = html(), html(), html()
        wrapped = {"flex_flow": "row wrap", "grid_gap": "0 12px"}
        self._questions = widgets.HBox(list(self.asked.values()), layout=wrapped)
        out = [widgets.Button(description=word, layout=layout(width="auto")) for word in _OUT]
        for button in out:
            button.on_click(lambda b: self._export(b.description))
        explain = html('<div class="edm-note">The first line names the columns with their units: '
                       "part, peak current (A), on-time (µs), off-time (µs), minutes (min), hole "
                       "(mm), electrode size (mm), depth (mm) ... Nothing is changed in silence: "
                       "what looks odd is named by line.</div>")  # fmt: skip
        super().__init__([
            html("<h3>Into the book</h3>"), explain, self.upload, self.told, self._questions,
            self.looked, self.take, self.said, html("<h3>Out of the book</h3>"),
            widgets.HBox(out, layout={"flex_flow": "row wrap"}), self.sent,
        ])  # fmt: skip
        self.upload.observe(lambda _: self._picked(), "value")
        for pick in self.asked.values():
            pick.on_change(self._read)
        self.take.on_click(lambda _: self._import())
        self._show()

    # --- in ---------------------------------------------------------------------------------
    def _picked(self):
        if not self.upload.value:
            return
        self.read_in(bytes(self.upload.value[0]["content"]))

    def read_in(self, data):
        """Read a file and show what it holds.

        Parameters
        ----------
        data : bytes
            What is in it.
        """
        self._data, self.said.value = data, ""
        self._missing = ()
        self._read()

    def _read(self):
        if not self._data:
            return
        self.looked.value = False  # another answer may bring other doubts
        try:
            first = read_csv(self._data)
            self._missing = first.missing
            given = {name: self.asked[name].value for name in first.missing}
            answers = {name: value for name, value in given.items() if value is not None}
            self.preview = read_csv(self._data, answers) if answers else first
            self.told.value = self._words()
        except Refusal as fault:
            self.preview, self._missing, self.told.value = None, (), refusal(str(fault))
        self._show()

    def _words(self):
        made = self.preview
        lines = [f'<div class="edm-label">{len(made.trials)} burns can be read.</div>']
        if made.faults:
            lines = ['<div class="edm-refusal">nothing can be imported until this is put right in '
                     "the file:</div>"]  # fmt: skip
        notes = "; ".join(made.said)
        lines.append(f'<div class="edm-note">{escape(notes)}.</div>')
        lines += [_listed(made.faults, "Faults"), _listed(made.doubts, "Look at these")]
        return "".join(lines)

    def _show(self):
        made, missing = self.preview, getattr(self, "_missing", ())
        for name, pick in self.asked.items():
            shown(pick, name in missing)
        doubts = made.doubts if made else ()
        shown(self.looked, bool(doubts))
        lines = sorted({doubt.line for doubt in doubts})
        self.looked.description = f"I have looked at line {', '.join(map(str, lines[:20]))}"
        shown(self.take, bool(made and made.trials))

    def _import(self):
        made = self.preview
        if made is None:
            return
        confirmed = [doubt.line for doubt in made.doubts] if self.looked.value else []
        try:
            burns = trials_of(made, confirmed)
            for path in self._paths.values():
                machine = read_machine(path)
                if machine.name in {burn.machine for burn in burns}:
                    self.page.own.keep_machine(machine)
            said = self.page.own.save_all(burns)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self._data, self.preview, self.told.value = b"", None, ""
        self._missing = ()
        self._show()
        self.said.value = f'<div class="edm-pinned">{escape(said)}</div>'
        self.page.changed()

    # --- out --------------------------------------------------------------------------------
    def _export(self, kind):
        name, write = _OUT[kind]
        path = _unused(Path(self.page.folder) / name)
        try:
            if not self.page.trials:
                raise Refusal("there is no burn in the book yet: nothing was written.")
            write(self.page.trials, path)
        except (Refusal, OSError) as fault:
            self.sent.value = refusal(f"not written: {fault}")
            return
        self.sent.value = (
            f'<div class="edm-label">{len(self.page.trials)} burns are in <a href="../../files/'
            f'{path.name}" download>{escape(str(path.resolve()))}</a>.</div>'
        )


def _each(words):
    """Return words as the options of a list, each standing for itself."""
    return [(word, word) for word in words]


def _unused(path):
    """Return a path, numbered where a file of that name is there: it may have been edited."""
    number, found = 1, path
    while found.exists():
        number += 1
        found = path.with_stem(f"{path.stem}_{number}")
    return found


def _listed(doubts, title):
    """Return faults or doubts as an HTML table, by line."""
    if not doubts:
        return ""
    rows = "".join(
        f"<tr><td>line {d.line}</td><td>{escape(d.column)}</td><td>{escape(d.text)}</td>"
        f"<td>{escape(d.sentence)}</td></tr>"
        for d in doubts[:_LISTED]
    )
    more = f'<div class="edm-note">... and {len(doubts) - _LISTED} more</div>'
    return (
        f'<div class="edm-label"><b>{title}</b></div><table class="edm-table">{rows}</table>'
        f"{more if len(doubts) > _LISTED else ''}"
    )
