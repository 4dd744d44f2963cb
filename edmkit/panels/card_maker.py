"""The questions before the first spark, and the button that makes the burn card."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import html, layout, refusal, toggle
from edmkit.planning.gate import time_text, warming_at_most_K
from edmkit.planning.safety import level_fall_mm
from edmkit.words import three

CARD = "burn_card.html"


class CardMaker(widgets.VBox):
    """Makes the card of a page's plan, as a file in the page's folder.

    ``page`` gives ``plan``, ``message``, ``job``, ``display`` and ``folder``.
    """

    def __init__(self, page, gate):
        self.page, self.gate = page, gate
        self.make = widgets.Button(description="Make the burn card", layout=layout(width="auto"))
        self.paper = toggle(["A4", "Letter"], "80px")
        self.said = html()
        self.bath = html()
        buttons = widgets.HBox([self.make, self.paper])
        super().__init__([gate, self.bath, buttons, self.said])
        self.make.on_click(lambda _: self._make())

    def follow(self, plan, bath):
        """Say what the longest burn does to the bath; what was said of a card is old now.

        Parameters
        ----------
        plan : Plan
            What stands on the page.
        bath : Bath or None
            The fluid, as far as it is known.
        """
        self.said.value = ""
        self.bath.value = "" if bath is None else self._bath_words(plan, bath)

    def _bath_words(self, plan, bath):
        longest = float(plan.schedule.longest_burn.high)
        fall = level_fall_mm(bath.suction_l_per_min, longest, bath.tank_area_cm2, bath.returns)
        falls = self.page.display.size_text(float(fall), 1.0)
        warms = three(warming_at_most_K(plan, bath))
        return (
            f'<div class="edm-label">The longest burn may take {escape(time_text(longest))}: the '
            f"fluid then falls by {escape(falls)} and warms by {warms} °C at most.</div>"
        )

    def _make(self):
        """Write the card beside the page, or say what is missing."""
        page = self.page
        if page.message or page.plan is None:
            self.said.value = refusal("the card waits until there is a plan.")
            return
        job, path = page.job, page.folder / CARD
        try:
            text = page.plan.card_html(job.gate(), page.display, self.paper.value, name=job.name)
            path.write_text(text, encoding="utf-8")
        except (Refusal, OSError) as fault:
            self.said.value = refusal(str(fault))
            return
        self.said.value = (
            f'<div class="edm-label"><a href="../../files/{CARD}" target="_blank">Open the card'
            f"</a> and print it with Ctrl-P. It is the file {escape(str(path.resolve()))}.</div>"
        )
