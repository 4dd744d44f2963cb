"""The end of page 01: what measuring gained, the machine file, the sheet for the machine."""

from contextlib import suppress
from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.bands import JOB, before_and_after, job_positions, unmeasured
from edmkit.dials.drift import drift, drift_lines
from edmkit.dials.make_machine import doubts, machine_of
from edmkit.dials.summary import summary_html
from edmkit.dials.survey import SWITCH_WORDS
from edmkit.machine_text import save_machine
from edmkit.panels.controls import html, layout, refusal, toggle, unwarned
from edmkit.panels.job import Job, nearest
from edmkit.panels.machines import load, switches
from edmkit.panels.memory import Memory
from edmkit.planning.gate import time_text
from edmkit.words import two

SHEET = "machine_sheet.html"
_HEADS = ("", "Before: plates alone", "Now: as measured", "High end over low end")


class MachineOutcome(widgets.VBox):
    """Shows what measuring gained and what is still in doubt; writes machine file and sheet.

    ``page`` gives ``folder`` (where its notebook lies), ``memory`` (a `Memory` or None) and
    ``practice`` (the invented machine on show, or None).
    ``machine`` is the machine as measured, None where there is none; ``path`` its file once
    written.
    """

    def __init__(self, page):
        self.page, self.dials, self.machine, self.path = page, None, None, None
        self.write, self.make = (
            widgets.Button(description=words, layout=layout(width="auto"))
            for words in ("Write the machine file", "Make the page to hang up")
        )
        self.paper = toggle(["A4", "Letter"], "80px")
        self.bands, self.doubts, self.drift, self.said, self.hung = (html() for _ in range(5))
        sheet = widgets.HBox([self.make, self.paper])
        super().__init__([self.bands, self.doubts, self.drift, self.write, self.said, sheet,
                          self.hung])  # fmt: skip
        self.write.on_click(lambda _: self._write())
        self.make.on_click(lambda _: self._make())

    def show(self, dials, earlier=None, later=None):
        """Show what the dials turned out to mean; what was said of files is old now.

        Parameters
        ----------
        dials : Dials or None
            From the fit; None where nothing is measured.
        earlier : Dials or None
            From the readings of the first time, to say what changed since.
        later : Dials or None
            From the readings of the last time alone; None takes ``dials``.
        """
        self.dials, self.machine, self.path = dials, None, None
        for part in (self.bands, self.doubts, self.drift, self.said, self.hung):
            part.value = ""
        if dials is None:
            return
        try:
            self.machine = machine_of(dials)
            with unwarned():
                rows = before_and_after(unmeasured(dials), self.machine)
        except Refusal as fault:
            self.bands.value = refusal(str(fault))
            return
        self.bands.value = _table(rows, job_positions(self.machine))
        self.doubts.value = _list("Not known yet", doubts(dials))
        if earlier is not None:
            self.drift.value = _list(
                "Since the last time", drift_lines(drift(earlier, later or dials))
            )

    def _write(self):
        """Write the machine file, and let the other pages open with it."""
        if self.machine is None:
            self.said.value = refusal("the machine file waits until the dials are known.")
            return
        try:
            self.path = save_machine(self.machine)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        said = f"The machine file is {self.path}. An older one stays beside it."
        if self.page.practice is not None:
            said += " It is invented: pick it on the other pages if you want to play with it."
        elif self.page.memory is not None:
            opens = _opens_with(self.page.memory, self.machine, str(self.path))
            said += (
                " The other pages open with it; one that is open lists it from its next answer on."
                if opens
                else ""
            )
        self.said.value = f'<div class="edm-label">{escape(said)}</div>'
        if self.page.memory is not None:
            self.said.value += refusal(self.page.memory.complaint)

    def _make(self):
        """Write the sheet beside the page."""
        if self.machine is None:
            self.hung.value = refusal("the page to hang up waits until the dials are known.")
            return
        path = self.page.folder / SHEET
        machine = replace(self.machine, path=self.path)
        try:
            path.write_text(summary_html(self.dials, machine, self.paper.value), encoding="utf-8")
        except OSError as fault:
            self.hung.value = refusal(f"{path} was not written: {fault.strerror}.")
            return
        self.hung.value = (
            f'<div class="edm-label"><a href="../../files/{SHEET}" target="_blank">Open the page'
            f"</a> and print it with Ctrl-P. It is the file {escape(str(path.resolve()))}.</div>"
        )


def _opens_with(memory, machine, path):
    """Let pages open with a machine, the last job on its positions of nearest value."""
    memory.values = kept = Memory(memory.path.parent).values  # another page may have kept since
    now, job = switches(machine), None
    with suppress(Refusal, TypeError, ValueError, KeyError, AttributeError):
        before = switches(load(kept["machine"]))
        last = Job.from_kept(kept["job"], before)
        wishes = {name: before[name].values[at] for name, at in last.positions.items()}
        job = replace(last, positions=nearest(now, wishes), circuit=None).kept(now)
    kept.pop("job", None)  # positions of another machine
    memory.keep(machine=path, **({"job": job} if job else {}))
    return not memory.complaint


def _table(rows, positions):
    """Return the bands before and after as HTML."""
    at = ", ".join(f"{SWITCH_WORDS[name]} {label}" for name, label in positions.items())
    heads = "".join(f"<td><b>{words}</b></td>" for words in _HEADS)
    body = "".join(
        f"<tr><td>{row.words}</td><td>{_band(row, row.before)}</td><td>{_band(row, row.after)}"
        f"</td><td>{two(row.factor_before)} times before, {two(row.factor_after)} now</td></tr>"
        for row in rows
    )
    return (
        f'<div class="edm-label">For {JOB}, at {escape(at)}:</div>'
        f'<table class="edm-table"><tr>{heads}</tr>{body}</table>'
        '<div class="edm-note">What is left is the doubt of the physics and of this shop: your '
        "own burns narrow it on page 05.</div>"
    )


def _band(row, estimate):
    if row.unit == "min":
        ends = (time_text(float(end)) for end in (estimate.low, estimate.high))
        return f"{time_text(float(estimate.likely))} ({' to '.join(ends)})"
    ends = f"{two(estimate.low)} to {two(estimate.high)}"
    return f"{two(estimate.likely)} {row.unit} ({ends})"


def _list(title, sentences):
    if not sentences:
        return ""
    points = "".join(f"<li>{escape(sentence)}</li>" for sentence in sentences)
    return f'<div class="edm-pinned"><b>{title}</b><ul>{points}</ul></div>'
