"""The gap in motion: its pulses one by one, and a line that clogs and is reversed."""

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.gap_story import (
    AS_IT_FLOWS,
    CLOGGED,
    STARVED,
    clog_story,
    conditions_of,
)
from edmkit.panels.controls import (
    html,
    label_of,
    layout,
    refusal,
    row,
    say,
    shown,
    toggle,
    unwarned,
)
from edmkit.panels.flat_scales import flat_scale
from edmkit.panels.live import LiveFigure
from edmkit.physics.pulse_by_pulse import simulate
from edmkit.plots.clog_plot import ClogPlot, change_clog_plot, clog_plot_figure
from edmkit.plots.live_pulses import change_live_pulses, live_pulses_figure
from edmkit.plots.scale import steady
from edmkit.units import um
from edmkit.words import three, two

_PULSES, _SETTLES = 1000, 2000
_STEPS, _TURNED = 200, 190  # of the slider through the story, and where the flow is turned
_ASSUMED = (
    "A simulation that shows which way things go, not how far: none of the constants behind the "
    "waits, arcs and shorts was measured."
)
_CLOG_NOTE = (
    "The flow stands for long, while the gap meters it, then falls off within minutes: look at the "
    "return before that. Reversed, a blocked line clears (common practice, no source); stop the "
    "sparks meanwhile. How fast soot settles is assumed: the shape is right, the minutes are not."
)


class LivePulses(widgets.VBox):
    """The last pulses of the simulated gap, the meters, debris and feed.

    ``page`` gives ``hole``, ``window``, ``bench`` and ``display``; ``pulses`` is what was played.
    """

    def __init__(self, page):
        self.page, self.figure, self.pulses, self._seed = page, None, None, 0
        self.tale = toggle([AS_IT_FLOWS, CLOGGED, STARVED], "140px")
        self.more = widgets.Button(
            description=f"The next {_PULSES} pulses", layout=layout(width="auto")
        )
        self.drawing, self.scales, self.said = widgets.VBox(), html(), html()
        super().__init__([self.tale, self.more, self.scales, self.said, self.drawing,
                          say(_ASSUMED)])  # fmt: skip
        self.tale.observe(lambda _: self.redraw(fresh=True), "value")
        self.more.on_click(lambda _: self._go_on())

    def redraw(self, fresh=False):
        """Play the gap of the page anew; ``fresh`` fits the axes anew."""
        if not self.page.answered:
            return
        self._seed = 0
        page = self.page
        with unwarned():  # said beside the flow
            conditions, start = conditions_of(page.hole, page.window, page.bench, self.tale.value)
        self._play(conditions, simulate(conditions, _SETTLES, 0, start).end, fresh)

    def _go_on(self):
        if not self.page.answered:
            return
        self._seed += 1
        self._play(self.pulses.conditions, self.pulses.end, False)

    def _play(self, conditions, start, fresh):
        self.pulses = simulate(conditions, _PULSES, self._seed, start)
        if self.figure is None:
            self.figure = LiveFigure(live_pulses_figure(self.pulses))
            self.drawing.children = (self.figure,)
        else:
            change_live_pulses(self.figure, self.pulses, fresh)
        self._show_meters()

    def _show_meters(self):
        p, c = self.pulses, self.pulses.conditions
        volts = flat_scale("Voltmeter", p.mean_voltage, steady(c.open_voltage), "V")
        amps = flat_scale("Ammeter", p.mean_current, steady(c.spark_current), "A")
        flex = "display:flex;flex-wrap:wrap;gap:4px 18px"
        self.scales.value = f'<div style="{flex}">{volts}{amps}</div>'
        names = ("spark well", "arc", "short", "stay open")
        counts = ", ".join(f"{100 * s:.0f} {n}" for s, n in zip(p.shares, names, strict=True))
        display, most = self.page.display, self.page.window.most
        eaten = p.removal_rate / c.front_area * 60 / um
        self.said.value = (
            f'<div class="edm-band">Of 100 pulses {counts}. The head follows at '
            f"{two(display.fine(eaten))} {display.fine_unit} a minute. Debris stands at "
            f"{two(p.end.debris)} times its limit; this gap clogs at {two(most)}.</div>"
        )


class ClogLine(widgets.VBox):
    """A line that fills while it burns, played through time, and reversed when asked.

    ``page`` as for `LivePulses`, with ``shop``.
    """

    def __init__(self, page):
        self.page, self.figure, self.shown = page, None, None
        self.now = widgets.IntSlider(0, 0, _STEPS, readout=False, layout=layout(width="100%"))
        self.play = widgets.Play(value=0, min=0, max=_STEPS, interval=100)
        wide = layout(width="100%")
        self.turn = widgets.IntSlider(_TURNED, 10, _STEPS, readout=False, layout=wide)
        self.said, self.drawing = html(), widgets.VBox()
        widgets.jslink((self.play, "value"), (self.now, "value"))
        lines = [row(label_of("Time"), self.now, self.play, columns="118px 1fr 140px"),
                 row(label_of("Reverse the flow at"), self.turn, columns="118px 1fr")]  # fmt: skip
        super().__init__([*lines, self.said, self.drawing, say(_CLOG_NOTE)])
        self.now.observe(lambda _: self._move(), "value")
        self.turn.observe(lambda _: self.redraw(), "value")

    def redraw(self):
        """Play the line of the page's hole; a hole without one is answered in words."""
        page = self.page
        if not page.answered:
            return
        try:
            with unwarned():
                turn = self.turn.value / _STEPS
                story = clog_story(page.hole, page.window, page.bench, turn, page.shop)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            shown(self.drawing, False)
            return
        shown(self.drawing, True)
        times = story.time / 60, story.turned_s / 60
        self.shown = ClogPlot(times[0], story.flow_ml_per_min, 100 * story.arcs, times[1])
        if self.figure is None:
            self.figure = LiveFigure(clog_plot_figure(self.shown))
            self.drawing.children = (self.figure,)
        self._move(fresh=True)

    def _move(self, fresh=False):
        if self.figure is None:
            return
        minutes = self.now.value / _STEPS * float(self.shown.minutes[-1])
        change_clog_plot(self.figure, self.shown, minutes, fresh)
        flow, arcs = self.shown.at(minutes)
        after = minutes > self.shown.turned_min
        turned = "The flow is reversed, nothing burns: a" if after else "A"
        would = "would arc" if after else "arc"
        self.said.value = (
            f'<div class="edm-band">{turned}fter {three(minutes)} minutes {two(flow)} ml a minute '
            f"pass; {two(arcs) if arcs >= 0.1 else 'hardly any'} of 100 sparks {would}.</div>"
        )
