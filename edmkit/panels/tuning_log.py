"""A log of tuning, one tap a line: which knob, which way, better or worse."""

from datetime import datetime
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Pick, html, layout, refusal, toggle
from edmkit.trials.book import TuningNote

KNOBS = ("servo", "flushing", "off-time", "on-time", "current", "lift")
_VERDICTS = ("better", "same", "worse")


class TuningLog(widgets.VBox):
    """Writes a note into the book at each tap of a verdict.

    ``page`` gives ``machine`` and ``job_name``; ``own`` is the `OwnBook`.
    """

    def __init__(self, page, own):
        self.page, self.own = page, own
        self.knob = Pick("Knob", list(KNOBS), stacked=True)
        self.way = toggle(["up", "down"], "62px")
        self.verdicts = {
            word: widgets.Button(description=word, layout=layout(width="72px"))
            for word in _VERDICTS
        }
        self.said = html()
        heading = html('<div class="edm-label">Turning a knob while it burns? One tap a line: '
                       "which knob, which way, and how it went.</div>")  # fmt: skip
        taps = widgets.HBox([self.way, *self.verdicts.values()],
                            layout={"flex_flow": "row wrap"})  # fmt: skip
        super().__init__([heading, self.knob, taps, self.said])
        for word, button in self.verdicts.items():
            button.on_click(lambda _, word=word: self._tapped(word))

    def _tapped(self, verdict):
        machine = self.page.machine
        note = TuningNote(
            at=datetime.now().astimezone().isoformat(timespec="seconds"),
            machine=machine.name if machine else "",
            knob=self.knob.value,
            way=self.way.value,
            verdict=verdict,
        )
        try:
            if self.own.book is None:
                raise Refusal("this page keeps no book: the note was not saved.")
            self.own.book.note(note)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        text = f"Noted: {note.knob} {note.way}, {note.verdict}."
        self.said.value = f'<div class="edm-note">{escape(text)}</div>'
