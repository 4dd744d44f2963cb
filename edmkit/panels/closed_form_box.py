"""The solver held against a closed form, for those who ask."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import html, refusal, say, shown
from edmkit.panels.live import LiveFigure
from edmkit.plots.closed_form_plot import ClosedFormPlot, change_closed_form, closed_form_figure
from edmkit.spark_film import closed_form
from edmkit.words import two

_NOTE = (
    "The same spark with melting and boiling switched off: metal that only conducts heat, however "
    "hot it gets, so no degrees are given. For that case there is an exact formula "
    "(Carslaw and Jaeger 1959). With melting and boiling there is none."
)


class ClosedFormBox(widgets.VBox):
    """Two curves, each by the solver and by the formula.

    ``page`` gives ``spark``, ``display`` and ``answered``.
    """

    def __init__(self, page):
        self.page, self.figure = page, None
        self.said, self.drawing = html(), widgets.VBox()
        super().__init__([self.said, self.drawing, say(_NOTE)])

    def redraw(self):
        """Solve the page's spark anew."""
        if not self.page.answered:
            return
        try:
            found = closed_form(self.page.spark)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            shown(self.drawing, False)
            return
        shown(self.drawing, True)
        display = self.page.display
        plot = ClosedFormPlot(found, display.fine(1.0), display.fine_unit)
        if self.figure is None:
            self.figure = LiveFigure(closed_form_figure(plot))
            self.drawing.children = (self.figure,)
        else:
            change_closed_form(self.figure, plot)
        self.said.value = (
            '<div class="edm-band">At the end of the pulse the largest difference is '
            f"{two(100 * found.largest)} % of the hottest point.</div>"
        )
