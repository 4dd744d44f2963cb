"""What plates, books and memories say of a machine's positions, typed on page 01."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.survey import SWITCH_WORDS, SWITCHES, Plate
from edmkit.panels.controls import Number, Pick, html, layout, refusal, say
from edmkit.panels.dial_steps import WRAPPED
from edmkit.settings import LIMITS


class PlatesBox(widgets.VBox):
    """What plates, a book or a memory say: taken beside the readings, and held against them."""

    def __init__(self, page, switches=SWITCHES):
        self.page = page
        names = [(SWITCH_WORDS[s], s) for s in switches]
        self.switch = Pick("Switch", names, stacked=True)
        self.label = Pick("Position", [("", "")], stacked=True)
        self.known = Pick("It is", [("on a plate or in a book", "plate"), ("a guess", "guessed")],
                          stacked=True)  # fmt: skip
        self.value = Number("Worth", "the value", None, 0.05, 10_000, "", "-", stacked=True)
        self.said, self.list = html(), widgets.VBox()
        fields = [self.switch, self.label, self.known, self.value]
        super().__init__([widgets.HBox(fields, layout=WRAPPED), self.value.message, self.said,
                          self.list])  # fmt: skip
        self.switch.on_change(self.follow)
        self.value.on_change(self._typed)
        self.follow()

    def _typed(self):
        value = self.value.value
        if self.value.wrong or value is None:
            return
        plate = Plate(self.switch.value, self.label.value, value, self.known.value)
        try:
            survey = self.page.survey.with_plate(plate)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self.said.value = ""
        self.value.show_as(None, self.value.unit, *self.value.limits)
        self.page.tell(survey)

    def follow(self):
        """Offer the positions of the switch, list what was said."""
        survey, switch = self.page.survey, self.switch.value
        labels = survey.labels(switch) or ("",)
        now = self.label.value if self.label.value in labels else labels[0]
        self.label.offer([(x, x) for x in labels], now)
        low, high, unit = LIMITS[switch]
        if not self.value.wrong:
            self.value.show_as(None, unit, low, high)
        self.list.children = [
            taken_line(f"{SWITCH_WORDS[p.switch]} {p.label}: {p.value:g} {LIMITS[p.switch][2]}, "
                       f"{'a guess' if p.how_known == 'guessed' else 'plate'}",
                       lambda p=p: self.page.tell(self.page.survey.without(p)))
            for p in survey.plates
        ]  # fmt: skip


def taken_line(text, take_out):
    """Return a line of what was told, with a button that takes it out."""
    button = widgets.Button(description="Take out", layout=layout(width="90px"))
    button.on_click(lambda _: take_out())
    return widgets.HBox([say(text, "edm-label"), button], layout=layout(grid_gap="12px"))
