"""A hole somebody remembers: one number that narrows every band of this machine."""

from html import escape

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.estimate import BAND
from edmkit.panels.controls import Number, Pick, html, say
from edmkit.panels.job import Job
from edmkit.shop import Shop
from edmkit.words import two

# How surely a remembered time is known: standard deviation of the logarithm. Assumptions.
SURENESS = {"written down": 0.05, "remembered well": 0.2, "roughly": 0.4}


class Remembered(widgets.VBox):
    """Learns one hole from what stands on the controls and the minutes it took.

    ``shop`` is what was learned for the machine in use; None is an untrained shop.
    """

    def __init__(self, memory=None):
        self._memory = memory
        self._holes = dict(memory.values.get("remembered", {})) if memory else {}
        self._callbacks = []
        self.shop = None
        explain = say(
            "Set the switches and the hole as they were then, type how long it took on the "
            "clock, and press the button. Every band of this machine narrows."
        )
        self.minutes = Number("It took", "minutes", 20.0, 0.05, 10_000, "minutes")
        self.sure = Pick("The time is", list(SURENESS), "remembered well")
        self.use = widgets.Button(description="Learn from this hole")
        self.forget = widgets.Button(description="Forget it")
        for button in (self.use, self.forget):
            button.layout = widgets.Layout(width="auto")
        self.story = html()
        buttons = widgets.HBox([self.use, self.forget])
        super().__init__([explain, self.minutes, self.sure, buttons, self.story])
        self.use.on_click(lambda _: self._learn())
        self.forget.on_click(lambda _: self._drop())

    def on_change(self, callback):
        """Call back when the shop has learned or forgotten."""
        self._callbacks.append(callback)

    def follow(self, page):
        """Learn from the hole that stands on a page's controls (`job`, `machine`, `switches`)."""
        self._page = page

    def for_machine(self, machine, switches):
        """Recall what is remembered of this machine."""
        self._key = machine.name if machine else "no machine file"
        hole = self._holes.get(self._key)
        try:
            self._recall(hole, machine, switches)
        except (Refusal, KeyError, TypeError, ValueError) as fault:
            self.shop = None
            self._say(f"The hole remembered for this machine no longer fits: {escape(str(fault))}")

    def _recall(self, hole, machine, switches):
        if hole is None:
            self.shop = None
            return self._say("")
        job = Job.from_kept(hole["job"], switches)
        settings = job.settings(switches)
        there = job.hole(machine, switches)
        self.shop = Shop.from_remembered_hole(
            there.feature.shape,
            job.depth,
            there.feature.face,
            settings,
            hole["minutes"],
            setup=there.burn.setup,
            minutes_spread=SURENESS[hole["sure"]],
        )
        before = there.minutes.spread
        after = job.hole(machine, switches, self.shop).minutes.spread
        factors = [two(np.exp(BAND * s)) for s in (before, after)]
        self._say(
            f"Learned: {escape(hole['words'])} took {two(hole['minutes'])} minutes "
            f"({escape(hole['sure'])}). At that setting the minutes were known to a factor of "
            f"{factors[0]}; now to a factor of {factors[1]}.",
            learned=True,
        )

    def _say(self, text, learned=False):
        css = "edm-note" if learned or not text else "edm-refusal"
        self.story.value = f'<div class="{css}">{text}</div>' if text else ""

    def _learn(self):
        if self.minutes.wrong:
            return
        page = self._page
        try:
            job = page.job
            words = page.words
            hole = {"job": job.kept(page.switches), "words": words}
            hole |= {"minutes": self.minutes.value, "sure": self.sure.value}
            self._recall(hole, page.machine, page.switches)
        except Refusal as refusal:
            return self._say(escape(str(refusal)))
        self._holes[self._key] = hole
        self._changed()

    def _drop(self):
        self._holes.pop(self._key, None)
        self.shop = None
        self._say("")
        self._changed()

    def _changed(self):
        if self._memory:
            self._memory.keep(remembered=self._holes)
        for callback in self._callbacks:
            callback()
