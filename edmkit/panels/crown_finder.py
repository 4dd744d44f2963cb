"""Is the electrode over the crown: two touches and the dial say how far it is off."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Number, html, refusal, say
from edmkit.planning.bench_sums import centre_error_mm
from edmkit.words import Display, three

_LENGTHS = {
    "distance": ("Each side of the middle", 2.0, (0.01, 1000)),
    "difference": ("The dial differs by", 0.01, (-100, 100)),
}


class CrownFinder(widgets.VBox):
    """Two touches at equal distances each side of where the crown is thought to be."""

    def __init__(self):
        self.display, self._diameter = Display(), None
        explain = say(
            "On a ball, dome or roller: touch at the same distance on each side of the middle, "
            "and type how much the two readings differ."
        )
        self.lengths = {
            name: Number(word, word, value, *limits, "mm")
            for name, (word, value, limits) in _LENGTHS.items()
        }
        self.answer = html()
        super().__init__([explain, *self.lengths.values(), self.answer])
        for entry in self.lengths.values():
            entry.on_change(self._show)

    def for_diameter(self, diameter_mm):
        """Follow the face on the page.

        Parameters
        ----------
        diameter_mm : float or None
            Of its ball, dome or roller; None where the face is flat [mm].
        """
        if diameter_mm != self._diameter:
            self._diameter = diameter_mm
            self._show()

    def show_in(self, display):
        """Show the lengths in mm or in inches."""
        for name, entry in self.lengths.items():
            mm = self.display.length_mm(entry.value)
            low, high = (display.length(v) for v in _LENGTHS[name][2])
            entry.show_as(display.length(mm), display.length_unit, low, high)
        self.display = display
        self._show()

    def _show(self):
        if self._diameter is None:
            self.answer.value = '<div class="edm-note">This face is flat: it has no crown.</div>'
            return
        size = {n: self.display.length_mm(e.value) for n, e in self.lengths.items()}
        try:
            off = centre_error_mm(self._diameter / 2, size["difference"], size["distance"])
        except Refusal as fault:
            self.answer.value = refusal(str(fault))
            return
        fine = self.display.fine(abs(off) * 1000)
        self.answer.value = (
            f'<div class="edm-label">Off by <b>{three(fine)} {self.display.fine_unit}</b>: move '
            "the electrode that far towards the side where the face stood higher.</div>"
        )
