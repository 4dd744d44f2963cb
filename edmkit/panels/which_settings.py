"""The main page: switch positions and hole in; minutes, finish, size, wear out, with bands."""

from dataclasses import asdict, replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.flushing.flushing_words import line
from edmkit.flushing.window import window
from edmkit.panels import answers
from edmkit.panels.bench_controls import kept_bench
from edmkit.panels.controls import html, refusal, row, shown, unwarned
from edmkit.panels.hole_page import HolePage
from edmkit.panels.job import SWITCHES, nearest
from edmkit.panels.own_book import Fold
from edmkit.panels.pictures import MAP, Pictures
from edmkit.panels.record_burn import RecordBurn
from edmkit.panels.style import CSS
from edmkit.panels.why import Why
from edmkit.words import three

_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"


class WhichSettings(HolePage):
    """The page's panel; ``pinned`` is the hole that the one on the page is compared with."""

    offers_circuit = True

    def _arranged(self):
        self.pinned = None
        self.pictures = Pictures(self)
        self.pin = widgets.Button(
            description="Pin this setting to compare", layout={"width": "auto"}
        )
        self.unpin = widgets.Button(description="Take the pin out", layout={"width": "auto"})
        self._answers, self._more, self._watch, self._taught = (html() for _ in range(4))
        self._against_pin, self._flushing = html(), html()
        jobs, setup = self._asked_folds()
        self.record = Fold(
            "Record this burn, or one you remember", lambda: RecordBurn(self, self.own, self.memory)
        )
        more = widgets.Accordion([self._more], titles=("More about this burn",))
        self.why = Why()
        working = widgets.Accordion([self.why], titles=("Why? The working",))
        self._more_fold, self._why_fold = more, working
        for folded in (more, working):
            folded.selected_index = None
        pins = widgets.HBox([self.pin, self.unpin], layout={"margin": "8px 0 0"})
        reply = widgets.VBox(
            [self._message, self._answers, self._taught, self._flushing, self._watch, self.record,
             pins, self._against_pin, more, working]
        )  # fmt: skip
        reply.add_class("edm-group")
        self._reply = reply
        self.find = widgets.Button(
            description="Find for me: say the limits", layout={"width": "auto"}
        )
        self.find.add_class("edm-find")
        asked = [setup, self._setup_line, self.switch_controls, self.circuit_place, self.find,
                 self.hole_controls]  # fmt: skip
        columns = [widgets.VBox(asked), reply, self.pictures]
        grid = widgets.GridBox(
            columns, layout={"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        )
        return [html(CSS), row(jobs, self.units, columns="1fr 215px"), grid]

    def _listen(self):
        super()._listen()
        for folded in (self._more_fold, self._why_fold):
            folded.observe(lambda _: self._show_more(), "selected_index")
        self.find.on_click(lambda _: self.pictures.show(MAP))
        self.pin.on_click(lambda _: self._pin(self.hole))
        self.unpin.on_click(lambda _: self._pin(None))

    # --- what is asked ----------------------------------------------------------------------
    def go_to(self, numbers):
        """Set the switches to the choices with these numbers."""
        self._quiet = True
        for name, number in zip(SWITCHES, numbers, strict=True):
            if name != "open_voltage_V" or self.machine is not None:
                self.switch_controls.rows[name].value = int(number)
        self._quiet = False
        self.refresh()

    def take_choice(self, choice):
        """Set switches, polarity and lift to a choice of the finder."""
        settings = choice.settings
        wishes = {name: getattr(settings, name) for name in SWITCHES}
        lift = {"lift_burn_s": settings.lift_burn_s, "lift_up_s": settings.lift_up_s}
        positions = nearest(self.switches, wishes)
        self.take(replace(self.job, positions=positions, polarity=choice.setup.polarity, **lift))

    def _other_machine(self):
        self.pinned = None

    def _show_lengths(self):
        super()._show_lengths()
        self.pictures.show_in(self.display)
        if self.record.content is not None:
            self.record.content.show_in(self.display)

    def _pin(self, hole):
        self.pinned, self._pinned_words, self._pinned_job = hole, self.words, self.job
        self.refresh()

    def learned(self):
        """Work everything out anew with what was learned, the pinned setting too."""
        if self.pinned is not None:
            self.pinned = self._pinned_job.hole(self.machine, self.switches, self.shop)
        self.refresh()

    @property
    def burn(self):
        """The burn of the hole on the page."""
        return self.hole.burn

    @property
    def settings(self):
        """What it burns with."""
        return self.burn.settings

    @property
    def map_gap_um(self):
        """The gap for every setting of the map: one that was set by hand, else its own [µm]."""
        given = self.job.gap_front_um or self.job.servo_voltage_V
        return float(self.hole.burn.gap_front_um.likely) if given else None

    @property
    def map_key(self):
        """What the map depends on; the positions of the switches are not among it."""
        job = replace(self.job, positions={}, gap_front_um=self.map_gap_um, servo_voltage_V=None)
        volts = None if self.machine else self.switch_controls.rows["open_voltage_V"].value
        return self.path, tuple(map(str, asdict(job).items())), self.shop, self.display, volts

    # --- what is answered -------------------------------------------------------------------
    def _show(self):
        shown(self.find, not self.circuit_place.in_use)  # it has no switches to look through
        hole, burn = self.hole, self.hole.burn
        self._show_spark_current(burn)
        self._answers.value = answers.tiles(hole, self.display)
        self._taught.value = self.own.words(self.hole.burn)
        if self.record.content is not None:
            self.record.content.follow()
        self._show_more()
        self._flushing.value = self._flushing_line()
        self._watch.value = answers.warnings(hole.warnings(self.display))
        self._against_pin.value = self._comparison()
        self.unpin.disabled = self.pinned is None
        self.pictures.redraw()

    def _flushing_line(self):
        """Return whether the flushing is enough, and which way to move; page 04 says the rest."""
        try:
            with unwarned():  # the flow's band is far wider
                flushed = window(self.hole, kept_bench(self.memory))
        except Refusal as fault:
            return refusal(str(fault))
        said = escape(line(flushed)).replace("Flushing:", "<b>Flushing:</b>", 1)
        return f'<div class="edm-note">{said}</div>'

    def _show_more(self):
        """Show the folded answers, if they are in sight and there are any."""
        if self.hole is None:
            return
        if self._more_fold.selected_index is not None:
            self._more.value = answers.details(self.hole, self.display)
        if self._why_fold.selected_index is not None:
            self.why.show(self.hole, self.display)

    def _show_spark_current(self, burn):
        """Say the true current where the switch gives something else."""
        if self.circuit_place.in_use:
            return
        stepped = self.switch_controls.rows["peak_current_A"]
        spark, dialled = float(burn.point.tap_current), burn.settings.peak_current_A
        other = abs(spark / dialled - 1) > 0.01
        text = f"Plate amps are with the gap shorted; the spark carries about {three(spark)} A."
        stepped.note.value = f'<div class="edm-note">{text}</div>' if other else ""

    def _comparison(self):
        if self.pinned is None:
            return ""
        try:
            speed = self.hole.speed_over(self.pinned)
            change = self.hole.burn.ratio(self.pinned.burn)
        except Refusal as fault:
            return f'<div class="edm-note">{escape(str(fault))}</div>'
        return answers.comparison(self._pinned_words, speed, change)
