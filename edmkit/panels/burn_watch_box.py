"""The burn watch on a page: start at touch, read the dial now and then, hand over at the end."""

import time

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.burn_watch import watch
from edmkit.flushing.course import DEEPEST_MM, LONGEST_MIN, course_of
from edmkit.panels import watch_words
from edmkit.panels.controls import Number, html, label_of, layout, refusal, say, shown, toggle
from edmkit.panels.live import LiveFigure
from edmkit.panels.running_burn import RunningBurn
from edmkit.plots.watch_plot import change_watch, watch_figure, watch_plot

DIAL, STEP = "the dial", "the step per lift"
_AGAIN_S = 2.0  # Enter and the button beside it are one reading, not two
_EXPLAIN = (
    "Press the button when the first spark jumps, then type what the dial shows now and then. "
    "Readings stay if the page is closed or the power fails."
)


class BurnWatchBox(widgets.VBox):
    """Follows a burn from touch to depth, through its readings.

    ``page`` gives ``hole`` (a `Hole`, None where there is none), whether it is ``answered``,
    ``words`` of its positions,
    ``display`` and ``own`` (an `OwnBook` or None), is told by ``learned()`` that a burn was saved,
    and calls `redraw` when one of them has changed.
    """

    def __init__(self, page, folder=None, clock=time.time):
        self.page, self.burn, self._clock = page, RunningBurn(folder, clock), clock
        self._entered, self._display, self.figure = 0.0, None, None
        self._planned, self._plan = None, None
        self._build()
        super().__init__(self._arranged())
        self.add_class("edm-group")
        self.start.on_click(lambda _: self._try(self._begin))
        self.read.on_click(lambda _: self._pressed())
        self.touch.on_click(lambda _: self._try(self._touch))
        self.back.on_click(lambda _: self._try(self.burn.take_back))
        self.over.on_click(lambda _: self._end())
        self.kind.observe(lambda _: self._show_kind(), "value")
        for field in (self.dial, self.travel):
            field.on_change(lambda field=field: self._typed(field))
        self._show_kind()
        self.redraw()

    # --- built ------------------------------------------------------------------------------
    def _build(self):
        # Its own layout, not the shared one: it is hidden while a burn runs.
        self.start = widgets.Button(
            description="Touched off, burn starts", layout={"width": "auto"}
        )
        self.read, self.touch, self.back, self.over = (
            widgets.Button(description=words, layout=layout(width="auto"))
            for words in ("Read now", "Touched again, dial at 0", "Take back the last reading",
                          "Burn is over")
        )  # fmt: skip
        self.minutes = Number("Minutes", "minutes", None, 0, LONGEST_MIN, "min", "clock", True)
        self.dial = Number("Dial", "dial", None, -DEEPEST_MM, DEEPEST_MM, "mm", "-", True)
        self.strokes = Number("Over lifts", "lifts", 10, 1, 10_000, stacked=True)
        self.travel = Number("Dial moved", "dial moved", None, 0, DEEPEST_MM, "mm", "-", True)
        self.kind = toggle([DIAL, STEP], "140px", DIAL)
        names = ("tiles", "words", "followed", "said", "answer")
        self.said = {name: html() for name in names}

    def _arranged(self):
        said = self.said
        fields = [self.minutes, self.dial, self.strokes, self.travel]
        row = layout(flex_flow="row wrap", grid_gap="4px 12px", align_items="flex-end")
        self._entry = widgets.VBox([
            widgets.HBox([label_of("What is read"), self.kind], layout=row),
            widgets.HBox([*fields, self.read], layout=row),
            *(field.message for field in fields),
            widgets.HBox([self.touch, self.back, self.over], layout=row),
        ])  # fmt: skip
        self._plot = widgets.VBox()
        return [html('<div class="edm-head">Burn watch</div>'), say(_EXPLAIN), said["followed"],
                self.start, said["tiles"], said["words"], self._entry, said["answer"],
                said["said"], self._plot, html(watch_words.note())]  # fmt: skip

    def _show_kind(self):
        by_step = self.kind.value == STEP
        for field in (self.strokes, self.travel):
            shown(field, by_step)
        shown(self.dial, not by_step)

    # --- acts -------------------------------------------------------------------------------
    def _hole(self):
        if not self.page.answered:
            raise Refusal("there is no hole to burn yet: put the hole above right first.")
        return self.page.hole

    def _begin(self):
        self.burn.begin(self._hole(), self.page.words)

    def _try(self, act):
        """Do something and show what came of it; return whether it was done."""
        self.said["answer"].value = ""
        try:
            act()
            done = True
        except Refusal as fault:
            self.said["answer"].value, done = refusal(str(fault)), False
        self.redraw()
        return done

    @property
    def _field(self):
        return self.travel if self.kind.value == STEP else self.dial

    def _typed(self, field):
        """Take a number at Enter; one that is none is answered beside its field."""
        if field is self._field and not field.wrong and field.value is not None:
            self._read()

    def _pressed(self):
        if self._field.value is None and self._clock() - self._entered < _AGAIN_S:
            return
        if self._field.wrong or self._field.value is not None:
            self._read()
        else:
            self.said["answer"].value = refusal(f"type {self.kind.value} first.")

    def _read(self):
        if self._try(self._keep):
            self._entered = self._clock()
            for field in (self._field, self.minutes):
                field.show_as(None, field.unit, *field.limits)

    def _keep(self):
        wrong = [f for f in (self.minutes, self.strokes, self._field) if f.wrong]
        if wrong:
            raise Refusal(f"{wrong[0].name} is not a number yet: put it right, then read again.")
        value = self.page.display.length_mm(self._field.value)
        if self.kind.value == DIAL:
            self.burn.add(self.minutes.value, dial_mm=value)
        else:
            self.burn.add(self.minutes.value, travel_mm=value, strokes=self.strokes.value)

    def _touch(self):
        if self.minutes.wrong:
            raise Refusal("minutes is not a number yet: put it right first.")
        self.burn.add(self.minutes.value, dial_mm=0.0, touched=True)
        self.minutes.show_as(None, self.minutes.unit, *self.minutes.limits)

    def _end(self):
        """Hand the burn to the trial book, where there is one, and stop following it."""
        told = []
        if self._try(lambda: told.append(self._hand_over())):
            self.said["answer"].value = f'<div class="edm-pinned">{"".join(told)}</div>'
            self.page.learned()

    def _hand_over(self):
        self.burn.look()
        if not self.burn.running:
            raise Refusal("no burn is running: it was ended on another page.")
        where = "Its readings stay in this machine's last_burn file."
        if not self.burn.readings:
            where = "It had no reading: nothing is kept."
        elif self.page.own is not None:
            # Saved first: the trial keeps its name, so that a second try keeps one burn.
            where = self.page.own.save(self.burn.trial())
        self.burn.end()
        return f"The burn is over. {where}"

    # --- shown ------------------------------------------------------------------------------
    def redraw(self):
        """Show what the page and the readings say now."""
        self._show_units()
        running, hole = self.burn.running, self.page.hole
        self.said["said"].value = refusal(self.burn.complaint)
        shown(self._entry, running)
        shown(self.start, not running)
        self.start.disabled = hole is None
        texts = self._texts() if running else {"tiles": "", "words": "", "followed": ""}
        for name, text in texts.items():
            self.said[name].value = text
        seen = self.burn.watch
        if seen is None and hole is not None:
            if hole is not self._planned:
                self._planned, self._plan = hole, watch(course_of(hole), ())
            seen = self._plan
        shown(self._plot, seen is not None)
        if seen is not None:
            self._draw(seen)

    def _texts(self):
        display = self.page.display
        return {
            "tiles": watch_words.tiles(self.burn, display),
            "words": watch_words.warnings(self.burn, display),
            "followed": watch_words.followed(self.burn, display),
        }

    def _draw(self, seen):
        display = self.page.display
        plot = watch_plot(seen, display.length(1.0), display.length_unit)
        if self.figure is None:
            self.figure = LiveFigure(watch_figure(plot))
            self._plot.children = [self.figure]
        else:
            change_watch(self.figure, plot)

    def _show_units(self):
        display = self.page.display
        if display == self._display:
            return
        self._display = display
        for field, low in ((self.dial, -DEEPEST_MM), (self.travel, 0.0)):
            ends = (display.length(v) for v in (low, DEEPEST_MM))
            field.show_as(None, display.length_unit, *ends)
