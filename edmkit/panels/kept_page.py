"""What every page with answers has: memory, trial book, units, and one place for what is wrong."""

import ipywidgets as widgets

from edmkit.panels.controls import html, refusal, toggle
from edmkit.panels.memory import Memory
from edmkit.panels.own_book import OwnBook
from edmkit.words import Display


class KeptPage(widgets.VBox):
    """A page that remembers what a person set, unless ``memory`` is None.

    ``message`` says why there is no answer. Without memory there is no trial book either, unless
    one is given. A page turns its lengths in ``_show_lengths`` and answers in ``refresh``; what it
    answers stands in ``_reply``.
    """

    def _take_up(self, memory, book):
        """Take memory, book and units up again; return what was remembered."""
        self.memory = Memory() if memory == "remember" else memory
        self.own = OwnBook(None if memory is None and book == "own" else book)
        kept = self.memory.values if self.memory else {}
        self.message, self._trouble, self._quiet = "", "", False
        self.display = Display(inches=kept.get("inches") is True)
        self.units = toggle([("mm, µm", False), ("inch, thou", True)], "100px", self.display.inches)
        self.units.observe(lambda change: self._show_in(change["new"]), "value")
        self._message = html()
        return kept

    def _show_in(self, inches):
        self.display = Display(bool(inches))
        self._show_lengths()
        self.refresh()

    def _show_lengths(self):
        """Show every length that is typed in the unit in use."""

    def _refuse(self, text):
        """Say why there is no answer; without a reason, what else is wrong."""
        self.message = text
        kept = self.memory.complaint if self.memory else ""
        self._message.value = refusal(text or self._trouble or self.own.complaint or kept)
        (self._reply.add_class if text else self._reply.remove_class)("edm-waiting")
