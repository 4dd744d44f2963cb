"""Which trial next, and two ways compared: two questions to the book."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Number, Pick, html, refusal, unwarned
from edmkit.settings import refuse_circuit
from edmkit.trials.columns import BY_NAME
from edmkit.trials.compare import WAYS, compare, ways_in
from edmkit.trials.suggest import suggest_trial
from edmkit.words import three, two

QUESTIONS = {
    "Minutes": "removal_rate",
    "Finish": "roughness_Ra",
    "Wear": "relative_wear",
    "Side gap": "gap_side",
}
_SWITCHES = (("current", "peak_current_A"), ("on", "on_time_us"), ("off", "off_time_us"))


class NextTrial(widgets.VBox):
    """Says which trial teaches most; ``page`` gives ``trials``, ``study`` and ``last_setup()``."""

    def __init__(self, page):
        self.page = page
        self.question = Pick("What shall it teach?", list(QUESTIONS), stacked=True)
        self.about = Pick("Asked for", ["the setting of the last burn", "every setting alike"],
                          stacked=True)  # fmt: skip
        self.most = Number("Minutes at most", "minutes at most", 30.0, 0.5, 10_000, "min",
                           stacked=True)  # fmt: skip
        self.depth = Number("Trial depth", "trial depth", 1.0, 0.05, 50, "mm", stacked=True)
        self.said = html()
        top = widgets.HBox([self.question, self.about, self.most, self.depth],
                           layout={"flex_flow": "row wrap", "grid_gap": "0 14px"})  # fmt: skip
        super().__init__([top, self.most.message, self.depth.message, self.said])
        for control in (self.question, self.about, self.most, self.depth):
            control.on_change(self.show)
        self.show()

    def show(self):
        """Answer what is asked."""
        try:
            if self.most.wrong or self.depth.wrong:
                raise Refusal("the answer waits until the number marked 'Check this' is right.")
            self.said.value = self._words()
        except Refusal as fault:
            self.said.value = refusal(str(fault))

    def _words(self):
        setup, settings = self.page.last_setup()
        refuse_circuit(settings, "the next trial at the switches")
        asked = settings if self.about.value.startswith("the setting") else None
        with unwarned():
            made = suggest_trial(
                setup, self.page.study.shop, QUESTIONS[self.question.value], settings=asked,
                max_minutes=self.most.value, depth_mm=self.depth.value,
            )  # fmt: skip
        dials = "".join(
            f'<div class="edm-tile"><div class="edm-title">{word[0].upper()}{word[1:]}</div>'
            f'<div class="edm-big">{escape(made.labels[name])}</div></div>'
            for word, name in _SWITCHES
        )
        minutes = (
            f'<div class="edm-tile"><div class="edm-title">It takes</div><div class="edm-big">'
            f'{three(made.minutes.likely)} <small>min</small></div><div class="edm-band">'
            f"{two(made.minutes.low)} to {two(made.minutes.high)} min</div></div>"
        )
        where = f"{setup.work.name}, {setup.electrode.name}, {setup.polarity}"
        return (
            f'<div class="edm-tiles edm-four">{dials}{minutes}</div>'
            f'<div class="edm-label">{escape(made.why)}</div>'
            f'<div class="edm-note">{escape(where)}, an end of {setup.engaged_area_mm2:.3g} mm². '
            "Burn it on scrap, measure, record it.</div>"
        )


class TwoWays(widgets.VBox):
    """Compares two ways of burning in the log; ``page`` gives ``trials``."""

    def __init__(self, page):
        self.page, self._filling = page, False
        columns = [(BY_NAME[name].words, name) for name in WAYS]
        self.column = Pick("What differs?", columns, stacked=True)
        self.one = Pick("This", [("-", "")], stacked=True)
        self.other = Pick("Against that", [("-", "")], stacked=True)
        self.quantity = Pick("In what?", list(QUESTIONS), stacked=True)
        self.said = html()
        top = widgets.HBox([self.column, self.one, self.other, self.quantity],
                           layout={"flex_flow": "row wrap", "grid_gap": "0 14px"})  # fmt: skip
        super().__init__([top, self.said])
        self.column.on_change(self.follow)
        for pick in (self.one, self.other, self.quantity):
            pick.on_change(self.show)
        self.column.value = next(
            (name for name in WAYS if len(ways_in(page.trials, name)) > 1), WAYS[0]
        )
        self.follow()

    def follow(self):
        """Offer the ways that the log holds."""
        ways = [(way, way) for way in ways_in(self.page.trials, self.column.value)]
        self._filling = True
        for place, pick in enumerate((self.one, self.other)):
            kept = pick.value
            pick._drop.options = ways or [("-", "")]
            if kept in dict(ways):
                pick.value = kept
            elif len(ways) > place:
                pick.value = ways[place][1]
        self._filling = False
        self.show()

    def show(self):
        """Compare what is picked."""
        if self._filling:
            return
        asked = self.column.value, self.one.value, self.other.value
        if len(ways_in(self.page.trials, asked[0])) < 2:
            words = BY_NAME[asked[0]].words
            self.said.value = (
                f'<div class="edm-note">This log holds one kind of {escape(words)} at most: pick '
                "something else that differs.</div>"
            )
            return
        try:
            found = compare(self.page.trials, *asked, QUESTIONS[self.quantity.value])
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        verdict = "Real" if found.real else "Could be luck"
        self.said.value = (
            f'<div class="edm-tile edm-first"><div class="edm-big">{verdict}</div></div>'
            f'<div class="edm-label">{escape(found.sentence)}</div>'
            f'<div class="edm-note">{found.burns[0]} burns against {found.burns[1]}, each held '
            "against what the physics says of its own settings. Real: nine in ten lie on one "
            "side.</div>"
        )
