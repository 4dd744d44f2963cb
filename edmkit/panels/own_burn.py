"""One burn of this shop, measured: it teaches gap, wear and minutes until the trial book does."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Number, html, layout, say
from edmkit.shop import Shop
from edmkit.words import Display, three

SPREAD = 0.15  # of one burn's gap, wear and minutes; assumption
_LENGTHS = {  # limits in mm
    "electrode": ("Electrode measured", (0.05, 1000)),
    "hole": ("Hole came out", (0.05, 1000)),
    "worn": ("Off its length", (0.001, 100)),
}


class OwnBurn(widgets.VBox):
    """Learns from one burn of a pass of the plan on the page.

    ``shop`` is what it taught, None when nothing was learned for this machine, work and
    electrode. Empty fields teach nothing.
    """

    def __init__(self, memory=None):
        self._memory, self._callbacks, self.display = memory, [], Display()
        kept = memory.values.get("own_burns", {}) if memory else {}
        self._factors = dict(kept) if isinstance(kept, dict) else {}
        explain = say(
            "Burn the first pass once on scrap of the same steel, measure, and type what you "
            "have. What you leave empty stays as the physics has it."
        )
        self.lengths = {
            name: Number(word, word, None, *limits, "mm", "-")
            for name, (word, limits) in _LENGTHS.items()
        }
        self.minutes = Number("It took", "minutes", None, 0.05, 10_000, "minutes", "-")
        self.learn = widgets.Button(description="Learn from this burn", layout=layout(width="auto"))
        self.forget = widgets.Button(description="Forget it", layout=layout(width="auto"))
        self.story = html()
        buttons = widgets.HBox([self.learn, self.forget])
        super().__init__([explain, *self.lengths.values(), self.minutes, buttons, self.story])
        self.learn.on_click(lambda _: self._take())
        self.forget.on_click(lambda _: self._drop())

    def on_change(self, callback):
        """Call back when something was learned or forgotten."""
        self._callbacks.append(callback)

    def follow(self, page):
        """Learn from the first pass of a page's plan as the physics has it (`untaught`)."""
        self._page = page

    def show_in(self, display):
        """Show the lengths in mm or in inches."""
        for name, entry in self.lengths.items():
            known = entry.value
            value = None if known is None else display.length(self.display.length_mm(known))
            low, high = (display.length(v) for v in _LENGTHS[name][1])
            entry.show_as(value, display.length_unit, low, high)
        self.display = display

    @staticmethod
    def key(setup):
        """Return what a lesson holds for: machine, work, electrode and polarity."""
        machine = setup.machine.name if setup.machine else "no machine file"
        return " / ".join((machine, setup.work.key, setup.electrode.key, setup.polarity))

    def shop(self, setup):
        """Return what was learned for a set-up, None if nothing was."""
        factors = self._factors.get(self.key(setup))
        self._tell(factors)
        if not factors:
            return None
        try:
            return Shop.from_constants(setup, spread=SPREAD, **factors)
        except (Refusal, TypeError) as fault:
            self._say(f"What was learned no longer fits: {fault}", "edm-refusal")
            return None

    def factors(self, pass_):
        """Return measured over predicted by quantity, from what is typed.

        Parameters
        ----------
        pass_ : Pass
            The first pass of the plan, as the physics alone has it.
        """
        found, larger = {}, 1.0
        size = {name: entry.value for name, entry in self.lengths.items()}
        mm = {n: None if v is None else self.display.length_mm(v) for n, v in size.items()}
        if (mm["electrode"] is None) != (mm["hole"] is None):
            raise Refusal("the gap needs two sizes, electrode and hole, got one: type the other.")
        if mm["hole"] is not None:
            gap = (mm["hole"] - mm["electrode"]) / 2
            if not gap > 0:
                raise Refusal(
                    f"the hole must be larger than the electrode, got {mm['hole']:.3f} and "
                    f"{mm['electrode']:.3f} mm: check the two sizes."
                )
            found["gap_side"] = gap * 1000 / float(pass_.burn.gap_side_um.likely)
            larger = pass_.electrode.grown(gap).area_mm2 / pass_.cavity.area_mm2
        if mm["worn"] is not None:  # more was removed where the gap is wider
            found["relative_wear"] = mm["worn"] / (float(pass_.end_wear_mm.likely) * larger)
        if self.minutes.value is not None:
            found["removal_rate"] = float(pass_.minutes.likely) * larger / self.minutes.value
        return {name: float(factor) for name, factor in found.items() if factor == factor}

    def _take(self):
        page = self._page
        if any(entry.wrong for entry in (*self.lengths.values(), self.minutes)):
            return
        try:
            pass_ = page.untaught()
            factors = self.factors(pass_)
            if not factors:
                raise Refusal("nothing is typed: fill in what you measured.")
            Shop.from_constants(pass_.setup, spread=SPREAD, **factors)
        except Refusal as fault:
            return self._say(str(fault), "edm-refusal")
        self._factors[self.key(pass_.setup)] = factors
        self._changed()

    def _drop(self):
        self._factors.pop(self.key(self._page.setup), None)
        self._changed()

    def _changed(self):
        if self._memory:
            self._memory.keep(own_burns=self._factors)
        for callback in self._callbacks:
            callback()

    def _tell(self, factors):
        words = {
            "gap_side": "the side gap",
            "relative_wear": "the wear",
            "removal_rate": "the speed",
        }
        said = [f"{words[n]} {three(f)} times" for n, f in (factors or {}).items() if n in words]
        self._say(f"Learned: {', '.join(said)} what the physics alone says." if said else "")

    def _say(self, text, css="edm-note"):
        self.story.value = f'<div class="{css}">{escape(text)}</div>' if text else ""
