"""The switch positions of each pass: the kit's, until somebody moves a slider."""

import ipywidgets as widgets

from edmkit.panels.controls import html, layout, toggle
from edmkit.panels.stepped import Stepped
from edmkit.panels.switch_controls import switch_texts

DIALS = ("peak_current_A", "on_time_us", "off_time_us")
_WORDS = dict(zip(DIALS, ("Peak current", "On-time", "Off-time"), strict=True))


class PassSettings(widgets.VBox):
    """Sliders for the switches of one pass at a time.

    ``hand`` holds, for each pass, positions by switch, None where the kit decides.
    """

    def __init__(self, switches, job):
        self.hand = list(job.hand or ())
        self._callbacks, self._quiet, self._titles = [], False, []
        self.which = toggle(["1. Rough"], "128px")
        self._box = widgets.VBox([self.which])
        self.kit = widgets.Button(
            description="Let the kit decide this pass", layout=layout(width="auto")
        )
        self._who = html()
        self.rows = {}
        heading = html('<div class="edm-head">Switches of which pass?</div>')
        self._sliders = widgets.VBox([])
        super().__init__([heading, self._box, self._sliders, widgets.HBox([self.kit]), self._who])
        self.add_class("edm-group")
        self.use(switches)
        self.which.observe(lambda _: self._show(), "value")
        self.kit.on_click(lambda _: self._let_go())

    def use(self, switches):
        """Offer the positions of another machine's switches; the kit decides anew."""
        if self.rows:
            self.hand = []
        self.switches = switches
        for name in DIALS:
            options = [(text, n) for n, text in enumerate(switch_texts(switches[name]))]
            if name in self.rows:
                self.rows[name].offer(options, 0)
            else:
                self.rows[name] = Stepped(_WORDS[name], options, 0)
                self.rows[name].on_change(self._moved)
        self._sliders.children = tuple(self.rows.values())

    def show(self, titles, settings):
        """Show what each pass of a plan is set to; nobody is called back.

        Parameters
        ----------
        titles : sequence of str
            Of the passes.
        settings : sequence of Settings
            Theirs, in the same order.
        """
        self._settings = list(settings)
        if list(titles) != self._titles:
            self._titles = list(titles)
            place = min(self.place, len(self._titles) - 1)
            self._quiet = True
            self.which.tooltips = [""] * len(self._titles)
            self.which.options = self._titles
            self.which.index = place
            self._quiet = False
        self._show()

    @property
    def place(self):
        """Which pass the sliders set, from 0."""
        return self.which.index or 0

    def _show(self):
        if self._quiet or not self._titles:
            return
        settings = self._settings[self.place]
        for name, row in self.rows.items():
            choices = self.switches[name].values
            nearest = abs(choices / getattr(settings, name) - 1).argmin()
            row.set_quietly(int(nearest))
        mine = self._by_hand(self.place)
        words = "Set by hand." if mine else "The kit's choice: the fastest within the roughness."
        self._who.value = f'<div class="edm-note">{words}</div>'
        self.kit.disabled = not mine

    def _by_hand(self, place):
        return place < len(self.hand) and self.hand[place] is not None

    def _moved(self):
        self.hand += [None] * (self.place + 1 - len(self.hand))
        self.hand[self.place] = {name: row.value for name, row in self.rows.items()}
        self._changed()

    def _let_go(self):
        if self._by_hand(self.place):
            self.hand[self.place] = None
        self._changed()

    def _changed(self):
        for callback in self._callbacks:
            callback()

    def on_change(self, callback):
        """Call back when a slider was moved or a pass given back to the kit."""
        self._callbacks.append(callback)

    @property
    def values(self):
        """The positions as a field of a job."""
        return {"hand": tuple(self.hand) if any(h is not None for h in self.hand) else None}

    def take(self, job):
        """Set the passes to a job."""
        self.hand = list(job.hand or ())
