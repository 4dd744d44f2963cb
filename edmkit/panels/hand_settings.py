"""Switch positions set by hand, pass by pass, in place of those that the kit picks."""

import ipywidgets as widgets

from edmkit.panels.controls import Stepped, shown, toggle
from edmkit.panels.job import SWITCHES, nearest
from edmkit.panels.plan_group import Tick
from edmkit.panels.switch_controls import switch_texts

_WORDS = dict(zip(SWITCHES, ("Peak current", "On-time", "Off-time", "Open voltage"), strict=True))


def _choices(switch):
    """Return (text, number) for each choice of a switch."""
    return [(text, number) for number, text in enumerate(switch_texts(switch))]


class HandSettings(widgets.VBox):
    """A tick, and below it the switches of one pass at a time.

    ``values`` are ``hand`` of a `PlanJob`. Until it is ticked the kit's positions stand here.
    """

    def __init__(self, switches, job):
        self.switches, self._callbacks, self._filling = switches, [], False
        self._places, self._pass = [], 0
        self.tick = Tick("Set the switches by hand", job.hand is not None)
        self.rows, self._which, self._box = {}, widgets.VBox(), widgets.VBox()
        super().__init__([self.tick, self._box])
        self.add_class("edm-group")
        self.tick.on_change(self._ticked)
        self.take(job)

    def use(self, switches):
        """Offer another machine's positions; what was set by hand goes."""
        self.switches = switches
        self._filling = True
        self.tick.value, self._places, self._pass = False, [], 0
        self._filling = False
        self._show()

    def take(self, job):
        """Set the positions to those of a job."""
        self._filling = True
        self.tick.value = job.hand is not None
        self._filling = False
        self._places = [dict(positions) for positions in job.hand or ()]
        self._pass = 0
        self._show()

    def follow(self, settings):
        """Stand on what is planned: one `Settings` for each pass.

        Parameters
        ----------
        settings : sequence of Settings
            First pass to last.
        """
        planned = [nearest(self.switches, {n: getattr(s, n) for n in SWITCHES}) for s in settings]
        known = self._places if self.tick.value else []
        places = [*known, *planned[len(known) :]]
        if places != self._places or not self.tick.value:
            self._places = places
            self._pass = min(self._pass, max(len(places) - 1, 0))
            self._show()

    def _show(self):
        shown(self._box, self.tick.value and bool(self._places))
        if not self.tick.value or not self._places:
            return
        if not self.rows:
            self._build()
        self._offer_passes()
        for name, row in self.rows.items():
            options = _choices(self.switches[name])
            row.offer(options, self._places[self._pass].get(name, len(options) // 2))
            shown(row, len(options) > 1)

    def _build(self):
        """Make the rows when they are first wanted: most people let the kit pick."""
        for name in SWITCHES:
            self.rows[name] = Stepped(_WORDS[name], _choices(self.switches[name]))
            self.rows[name].on_change(lambda name=name: self._moved(name))
        self._box.children = (self._which, *self.rows.values())

    def _offer_passes(self):
        count, buttons = len(self._places), self._which.children
        if buttons and len(buttons[0].options) == count:
            buttons[0].value = self._pass
            return
        options = [(f"Pass {i + 1}", i) for i in range(count)]
        buttons = toggle(options, "90px", self._pass)
        buttons.observe(self._pass_chosen, "value")
        self._which.children = (buttons,)

    def _pass_chosen(self, change):
        self._pass = change.new
        self._show()

    def _moved(self, name):
        self._places[self._pass] = {**self._places[self._pass], name: self.rows[name].value}
        self._call()

    def _ticked(self):
        if not self._filling:
            self._show()
            self._call()

    def _call(self):
        for callback in self._callbacks:
            callback()

    @property
    def values(self):
        """Positions for each pass as a field of a job, None where the kit picks."""
        by_hand = self.tick.value and self._places
        return {"hand": tuple(self._places) if by_hand else None}

    def on_change(self, callback):
        """Call back when a position was set or the choice handed back to the kit."""
        self._callbacks.append(callback)
