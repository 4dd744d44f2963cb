"""Limits, a chance, and a button that puts the fastest setting that meets them on the page."""

from dataclasses import replace

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.finder.bars import LIMITS, OTHER_LIFT, OTHER_LIFT_SAID, REASONS
from edmkit.finder.find import find_settings
from edmkit.panels import found_words
from edmkit.panels.controls import Number, html, label_of, layout, refusal, row, shown, toggle
from edmkit.panels.own_book import Fold

SURE = {"50 %": 0.5, "80 %": 0.8, "90 %": 0.9, "95 %": 0.95}
_LISTED = 6
_PAIRS = "repeat(auto-fit, minmax(min(250px, 100%), 1fr))"
_LABELS = {
    "max_Ra_um": "Ra at most",
    "max_class": "or class",
    "max_wear_percent": "Wear at most",
    "max_recast_um": "Recast at most",
    "min_gap_side_um": "Side gap from",
    "max_gap_side_um": "Side gap up to",
}
_FINE = ("max_recast_um", "min_gap_side_um", "max_gap_side_um")


class FindForMe(widgets.VBox):
    """The limits on the settings of ``page``, and the search for the fastest that meets them.

    ``page`` gives ``hole``, ``job``, ``message``, ``machine``, ``shop``, ``display`` and
    ``map_gap_um``, and is told by ``take_choice(choice)``. ``found`` is what was found last.
    """

    def __init__(self, page, every_hole):
        self.page, self._every_hole, self.found = page, every_hole, None
        self.fields = {name: _field(name) for name in _LABELS}
        self.chance = toggle(list(SURE), "70px", "80 %")
        self.meters = _tick("the readings must stay on the meters", True)
        self.search_button = widgets.Button(description="Find for me", layout=layout(width="auto"))
        self.search_button.add_class("edm-find")
        self.said, self.others, self._counts, self._ticks = html(), widgets.VBox(), html(), {}
        self.reasons = Fold("What is left out, and why?", self._reasons)
        self._callbacks = []
        limits = widgets.GridBox(
            list(self.fields.values()),
            layout={"grid_template_columns": _PAIRS, "grid_gap": "0 14px"},
        )
        sure = row(label_of("Each is met with"), self.chance, columns="130px 1fr")
        super().__init__([limits, sure, self.meters, self.search_button, self.said, self.others,
                          self.reasons])  # fmt: skip
        for field in self.fields.values():
            field.on_change(self._changed)
        for control in (self.chance, self.meters):
            control.observe(lambda _: self._changed(), "value")
        self.search_button.on_click(lambda _: self.search())

    # --- what is asked ----------------------------------------------------------------------
    @property
    def asked(self):
        """The limits that are typed, by name, in µm and percent; a wrong number is refused."""
        if any(field.wrong for field in self.fields.values()):
            raise Refusal("the limits wait until the number marked 'Check this' is put right.")
        return {
            name: None if field.value is None else field.value / self._scale(name)
            for name, field in self.fields.items()
        }

    @property
    def level(self):
        """The chance each limit is met with [-]."""
        return SURE[self.chance.value]

    @property
    def also(self):
        """Names of the reasons whose settings are taken in too."""
        return tuple(name for name, tick in self._ticks.items() if tick.value)

    def _scale(self, name):
        """Return what a µm is in the shown unit of a field."""
        display = self.page.display
        if name == "max_Ra_um":
            return display.rough(1.0)
        return display.fine(1.0) if name in _FINE else 1.0

    def show_in(self, display):
        """Show the limits in the units of a display; what is asked stays the same."""
        for name in ("max_Ra_um", *_FINE):
            field, (_, _, _, low, high, _) = self.fields[name], LIMITS[name]
            rough = name == "max_Ra_um"
            unit = display.rough_unit if rough else display.fine_unit
            if unit == field.unit:
                continue
            scale = display.rough(1.0) if rough else display.fine(1.0)
            um = None if field.value is None else field.value * low / field.limits[0]
            field.show_as(None if um is None else um * scale, unit, low * scale, high * scale)

    def on_change(self, callback):
        """Call back when a limit, the chance or a reason has changed."""
        self._callbacks.append(callback)

    def _changed(self):
        self.stale()
        for callback in self._callbacks:
            callback()

    def stale(self):
        """Forget what was found: something it hangs on has changed."""
        self.found, self.said.value, self.others.children = None, "", ()

    # --- what was found ---------------------------------------------------------------------
    def search(self):
        """Find the fastest setting that meets the limits, and put it on the page."""
        try:
            if self.page.hole is None or self.page.message:
                raise Refusal("there is nothing to find until the page has an answer.")
            found = self._search()
        except Refusal as fault:
            self.stale()
            self.said.value = refusal(str(fault))
            return
        self._show(found, found[0] if found else None)

    def _search(self):
        every, page = self._every_hole(), self.page
        volume, settings = every.volume_mm3, page.hole.burn.settings
        like = replace(settings, gap_front_um=page.map_gap_um, servo_voltage_V=None)
        return find_settings(
            every.burn.setup, page.shop, **self.asked, chance=self.level,
            within_meters=self.meters.value, also=self.also, like=like, most=_LISTED,
            hold=None if page.machine else {"open_voltage_V": settings.open_voltage_V},
            minutes_of=lambda burn: burn.minutes(volume),
        )  # fmt: skip

    def _show(self, found, choice):
        if choice is not None:
            self.page.take_choice(choice)
        self.found = found  # after the page has changed, which makes it stale
        if choice is None:
            self.said.value = found_words.in_the_way(found)
            others = [(found.nearest, "")]
        else:
            self.said.value = found_words.taken(found, choice)
            others = [(other, found_words.beside(other, found[0], found.limits))
                      for other in found if other is not choice]  # fmt: skip
        self.others.children = tuple(self._row(found, *other) for other in others)
        self._show_counts()

    def _row(self, found, choice, words):
        text = "Take" if words else "Show the nearest"
        button = widgets.Button(description=text, layout=layout(width="auto"),
                                tooltip=f"{text}: {found_words.dialled(choice)}")  # fmt: skip
        button.on_click(lambda _: self._taken(found, choice))
        return row(html(words), button, columns="1fr 74px") if words else button

    def _taken(self, found, choice):
        if found:
            self._show(found, choice)
        else:
            self.page.take_choice(choice)

    # --- what is left out -------------------------------------------------------------------
    def _reasons(self):
        """Return a tick for each reason, made when the fold is first opened."""
        said = {OTHER_LIFT: OTHER_LIFT_SAID} | {reason.name: reason.said for reason in REASONS}
        self._ticks = {
            name: _tick(f"take in those {words.split(':')[0]}") for name, words in said.items()
        }
        shown(self._ticks[OTHER_LIFT], self.page.job.lift_burn_s is not None)
        for tick in self._ticks.values():
            tick.observe(lambda _: self._changed(), "value")
        self._show_counts()
        return widgets.VBox([self._counts, *self._ticks.values()])

    def _show_counts(self):
        if self._ticks and self.page.hole is not None:
            try:
                self._counts.value = found_words.left_out(self.found or self._search())
            except Refusal:
                self._counts.value = ""  # said beside the number already


def _field(name):
    _, word, unit, low, high, _ = LIMITS[name]
    return Number(_LABELS[name], word, None, low, high, unit, "none")


def _tick(words, value=False):
    tick = widgets.Checkbox(value=value, description=words, indent=False,
                            layout=layout(width="auto"))  # fmt: skip
    tick.add_class("edm-tick")
    return tick
