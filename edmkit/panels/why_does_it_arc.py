"""Page 04: flushing, what clogs and what starves, the pulses, the meters, a running burn."""

from html import escape
from warnings import catch_warnings, simplefilter

import ipywidgets as widgets

from edmkit.checks import RangeWarning
from edmkit.flushing.gauge_free import warm
from edmkit.flushing.knobs import arcs_of, burning, dirt_that_arcs, turns
from edmkit.panels import answers, flushing_answers
from edmkit.panels.bench_controls import BenchControls
from edmkit.panels.burn_watch_box import BurnWatchBox
from edmkit.panels.controls import framed, html, row, say, shown, toggle, unwarned
from edmkit.panels.flushing_maps import FlushingMaps
from edmkit.panels.gap_pictures import ClogLine, LivePulses
from edmkit.panels.gauge_box import GaugeBox
from edmkit.panels.hole_page import HolePage
from edmkit.panels.knob_changes import changes
from edmkit.panels.meters_box import MetersBox
from edmkit.panels.own_book import Fold
from edmkit.panels.running_burn import RunningBurn
from edmkit.panels.style import CSS
from edmkit.panels.suction_electrode_box import SuctionElectrodeBox

_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"
_ARCS_NOW, _AS_FLOWS = "it arcs, 1 in 4", "as the flow is"
_CAUTION = (
    "Fire and shock: an arc under a low bath lights the oil. Keep the spark well under the fluid, "
    "stay with the machine, do not touch the electrode while it burns, and stop before you look "
    "at nozzle or hose. The machine's manual and local rules come first."
)
_MAP, _NOW, _LINE = "Range of flow", "The pulses now", "Clogging line"


class WhyDoesItArc(HolePage):
    """The page's panel.

    ``window`` is the flushing of the hole, ``flushed`` its burn at the debris that this leaves,
    ``bench`` what is known of the flushing, ``doubts`` what lies outside the flow's range.
    """

    def _arranged(self):
        self.window, self.flushed, self.doubts = None, None, ()
        self.bench_controls = BenchControls(self.setup_controls, self.memory)
        self._flushing, self._moves, self._knobs = html(), html(), html()
        self.reckon = toggle([_ARCS_NOW, _AS_FLOWS], "172px")
        self.knob_fold = widgets.Accordion(
            [widgets.VBox([self.reckon, self._knobs])], titles=("Which knob first?",)
        )
        self._rests_on = html()
        self.rests_fold = widgets.Accordion([self._rests_on], titles=("What this rests on",))
        jobs, setup = self._asked_folds()
        self._reply = framed(
            "Is the flushing enough?",
            self._message,
            self._flushing,
            self._moves,
            self.rests_fold,
            self.knob_fold,
        )
        self.maps = FlushingMaps(self)
        asked = [framed("How is it flushed?", self.bench_controls), setup, self._setup_line,
                 self.switch_controls, self.hole_controls]  # fmt: skip
        self.meters = MetersBox(self)
        meters = framed("What do the meters say?", self.meters)
        columns = [widgets.VBox(asked), widgets.VBox([self._reply, meters]), self._pictures()]
        grid = widgets.GridBox(
            columns, layout={"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        )
        self.folds = self._folds()
        top = row(jobs, self.units, columns="1fr 215px")
        return [html(CSS + _CSS), top, grid, *self.folds, say(_CAUTION)]

    def _folds(self):
        """Return what is opened when it is asked for: a burn, the insert, no gauge."""
        makers = {
            "Watch a burn as it goes": lambda: BurnWatchBox(self),
            "A bored electrode with a filed insert: how deep, how many flats?":
                lambda: SuctionElectrodeBox(self),
            "No gauge on the line? A cup or a clear tube": lambda: GaugeBox(self),
        }  # fmt: skip
        return [Fold(title, make) for title, make in makers.items()]

    def _pictures(self):
        self.tab = toggle([_MAP, _NOW, _LINE], "146px")
        self._boxes = {_MAP: self.maps, _NOW: LivePulses(self), _LINE: ClogLine(self)}
        for name, box in self._boxes.items():
            shown(box, name == _MAP)
        return framed("Where between clogging and starving?", self.tab, *self._boxes.values())

    def _listen(self):
        super()._listen()
        self.bench_controls.on_change(self.refresh)
        self.reckon.observe(lambda _: self._show_knobs(), "value")
        self.rests_fold.observe(lambda _: self._show_rests_on(), "selected_index")
        self.knob_fold.observe(lambda _: self._show_knobs(), "selected_index")
        self.tab.observe(lambda _: self._show_tab(), "value")
        if self.memory and RunningBurn().running:  # the page was closed while something burned
            self.folds[0].selected_index = 0

    def _show_lengths(self):
        super()._show_lengths()
        self.bench_controls.show_in(self.display)
        for fold in self.folds:
            if fold.content is not None and hasattr(fold.content, "show_in"):
                fold.content.show_in(self.display)

    # --- what is answered -------------------------------------------------------------------
    @property
    def _wrong(self):
        return super()._wrong or self.bench_controls.wrong

    @property
    def bench(self):
        """What is known of the flushing besides the hole."""
        return self.bench_controls.bench

    def _work_out(self):
        with catch_warnings(record=True) as found:
            simplefilter("always", RangeWarning)
            self.flushed, self.window = burning(self.hole, self.bench, self.shop)
        outside = (str(w.message) for w in found if w.category is RangeWarning)
        self.doubts = tuple(dict.fromkeys(outside))

    def _show(self):
        self._flushing.value = flushing_answers.tiles(self.window)
        doubts = "".join(f'<div class="edm-note">{escape(text)}</div>' for text in self.doubts)
        watch = answers.warnings(self.hole.warnings(self.display))
        self._moves.value = flushing_answers.moves(self.window) + doubts + watch
        self._show_tab()  # the picture first: the table of knobs takes as long again
        self._show_knobs()
        self._show_rests_on()
        self.meters.redraw()
        for fold in self.folds:
            if fold.content is not None:
                fold.content.redraw()
        self.bench_controls.keep()

    def use_pressure(self, kPa):
        """Take a pressure that was found without a gauge.

        Parameters
        ----------
        kPa : float
            Suction or pressure [kPa].
        """
        self.setup_controls.pressure.value = round(kPa, 1)

    def _show_tab(self):
        if not self.answered:
            return
        for name, box in self._boxes.items():
            shown(box, name == self.tab.value)
        with unwarned():
            self._boxes[self.tab.value].redraw()

    def _show_rests_on(self):
        """Show what the flow was worked out from, if it is in sight."""
        if self.answered and self.rests_fold.selected_index is not None:
            fluid = warm(self.hole.burn.setup.dielectric, self.bench.oil_C)
            rests = flushing_answers.rests_on(self.window, self.hole, fluid, self.display)
            self._rests_on.value = rests

    def _show_knobs(self):
        """Show what one notch of each knob does, if it is in sight."""
        if not self.answered or self.knob_fold.selected_index is None:
            return
        with unwarned():
            arcing = self.reckon.value == _ARCS_NOW
            dirtier = dirt_that_arcs(self.hole, self.bench) if arcing else 1.0
            turned = turns(self.hole, changes(self), self.bench, self.shop, dirtier)
            now = burning(self.hole, self.bench, self.shop, dirtier)[0]
        self._knobs.value = flushing_answers.knob_table(turned, arcs_of(now))


_CSS = """<style>
.edm-knobs th { text-align: left; font-size: 13px; padding-right: 10px; vertical-align: bottom;
  border-bottom: 2px solid #1a1a1a; }
.edm-knobs td { vertical-align: top; }
</style>"""
