"""The questions before the first spark, and the button that makes the burn card."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import html, layout, refusal, toggle

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
        super().__init__([gate, widgets.HBox([self.make, self.paper]), self.said])
        self.make.on_click(lambda _: self._make())

    def forget(self):
        """Take back what was said of a card: the plan has changed."""
        if self.said.value:
            self.said.value = ""

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
