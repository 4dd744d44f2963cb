"""The main page: switch positions and hole in; minutes, finish, size, wear out, with bands."""

from dataclasses import asdict, replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels import answers
from edmkit.panels.controls import Pick, html, refusal, row, toggle
from edmkit.panels.hole_controls import HoleControls
from edmkit.panels.job import FIRST_JOBS, SWITCHES, Job, nearest, picture
from edmkit.panels.machines import ANY, load, machine_files, switches
from edmkit.panels.memory import Memory
from edmkit.panels.own_book import Fold, OwnBook
from edmkit.panels.pictures import MAP, Pictures
from edmkit.panels.record_burn import RecordBurn
from edmkit.panels.setup_controls import SetupControls
from edmkit.panels.style import CSS
from edmkit.panels.switch_controls import SwitchControls
from edmkit.panels.why import Why
from edmkit.trials.from_hole import of_hole
from edmkit.words import Display, three

FIRST = next(iter(FIRST_JOBS))
_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"


class WhichSettings(widgets.VBox):
    """The page's panel; everything a person sets is remembered, unless ``memory`` is None.

    ``hole`` is what stands on the page (a `Hole`), ``message`` why there is no answer. Without
    memory there is no trial book either, unless one is given.
    """

    def __init__(self, memory="remember", folder=".", book="own"):
        self.memory = Memory() if memory == "remember" else memory
        self.own = OwnBook(None if memory is None and book == "own" else book)
        kept = self.memory.values if self.memory else {}
        self.hole, self.pinned, self.message = None, None, ""
        self.display = Display(inches=kept.get("inches") is True)
        self.files = machine_files(folder)
        self.machine, self.switches, self.path = None, switches(None), ANY
        job = self._first_job(kept) if self._first_machine(kept) else self._ready(FIRST)
        self._build(job)
        if self.display.inches:
            self.hole_controls.show_in(self.display)
            self.pictures.show_in(self.display)
        self._listen()
        self.refresh()

    # --- starting ---------------------------------------------------------------------------
    def _load(self, path):
        """Take a machine file; a faulty one is said and the machine in use stays."""
        self._trouble = ""
        try:
            self.machine = load(path)
        except Refusal as fault:
            self._trouble = str(fault)
            return False
        self.path, self.switches = path, switches(self.machine)
        return True

    def _first_machine(self, kept):
        """Take the machine of last time, else the first; return whether it is that of last time."""
        paths = [path for _, path in self.files] + [ANY]
        path = kept.get("machine", paths[0])
        self.first_opening = True
        if path in paths:
            return self._load(path)
        self._load(paths[0])
        self._trouble = f"The machine file of last time is gone: {path}. Pick your machine again."
        return False

    def _first_job(self, kept):
        """Return the remembered job, or the first of the three."""
        self.first_opening = "job" not in kept
        if not self.first_opening:
            try:
                job = Job.from_kept(kept["job"], self.switches)
                job.hole(self.machine, self.switches)
                return job
            except (Refusal, TypeError, ValueError, KeyError, AttributeError) as fault:
                self.first_opening = True
                self._trouble = f"The last job could not be taken up again: {fault}"
        return self._ready(FIRST)

    def _ready(self, name):
        _, sizes, wishes = FIRST_JOBS[name]
        volts = {"open_voltage_V": 100.0}
        lift = {"lift_burn_s": 4.0, "lift_up_s": 1.0}
        return Job(**sizes, **lift, positions=nearest(self.switches, {**wishes, **volts}))

    def _build(self, job):
        self.hole_controls = HoleControls(job)
        self.switch_controls = SwitchControls(self.switches, self.machine, job)
        self.setup_controls = SetupControls(job)
        offered = [*self.files, ("no machine file: any value", ANY)]
        self.machine_pick = Pick("Machine", offered, self.path if self.machine else ANY)
        units = [("mm, µm", False), ("inch, thou", True)]
        self.units = toggle(units, "100px", self.display.inches)
        self.pictures = Pictures(self)
        self.pin = widgets.Button(
            description="Pin this setting to compare", layout={"width": "auto"}
        )
        self.unpin = widgets.Button(description="Take the pin out", layout={"width": "auto"})
        self._answers, self._more, self._watch, self._taught = (html() for _ in range(4))
        self._against_pin, self._message, self._setup_line = (html() for _ in range(3))
        self.jobs = self._job_buttons()
        super().__init__(self._arranged())
        self.add_class("edm-page")

    def _job_buttons(self):
        boxes = []
        for name, (words, *_) in FIRST_JOBS.items():
            button = widgets.Button(description=name, tooltip=words, layout={"width": "190px"})
            button.on_click(lambda _, name=name: self.take(self._ready(name)))
            drawing = html(picture(name))
            words = html(f'<div class="edm-note">{escape(words)}</div>')
            boxes.append(widgets.HBox([drawing, widgets.VBox([button, words])]))
        return widgets.HBox(boxes, layout={"flex_flow": "row wrap", "grid_gap": "0 30px"})

    def _arranged(self):
        fold = widgets.Accordion
        jobs = fold([self.jobs], titles=("Start from a job",))
        jobs.selected_index = 0 if self.first_opening else None
        voltage = self.switch_controls.rows["open_voltage_V"]
        seldom = widgets.VBox([self.machine_pick, voltage, self.setup_controls])
        setup = fold([seldom], titles=("Machine, work, electrode, polarity, fluid",))
        self.record = Fold(
            "Record this burn, or one you remember", lambda: RecordBurn(self, self.own, self.memory)
        )
        more = fold([self._more], titles=("More about this burn",))
        self.why = Why()
        working = fold([self.why], titles=("Why? The working",))
        self._more_fold, self._why_fold = more, working
        for folded in (setup, more, working):
            folded.selected_index = None
        pins = widgets.HBox([self.pin, self.unpin], layout={"margin": "8px 0 0"})
        reply = widgets.VBox(
            [self._message, self._answers, self._taught, self._watch, self.record, pins,
             self._against_pin, more, working]
        )  # fmt: skip
        reply.add_class("edm-group")
        self._reply = reply
        self.find = widgets.Button(
            description="Find for me: say the limits", layout={"width": "auto"}
        )
        self.find.add_class("edm-find")
        asked = [setup, self._setup_line, self.switch_controls, self.find, self.hole_controls]
        columns = [widgets.VBox(asked), reply, self.pictures]
        grid = widgets.GridBox(
            columns, layout={"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        )
        return [html(CSS), row(jobs, self.units, columns="1fr 215px"), grid]

    def _listen(self):
        self._quiet = False
        for controls in (self.hole_controls, self.switch_controls, self.setup_controls):
            controls.on_change(self.refresh)
        self.machine_pick.on_change(self._machine_changed)
        self.units.observe(lambda change: self._show_in(change["new"]), "value")
        for folded in (self._more_fold, self._why_fold):
            folded.observe(lambda _: self._show_more(), "selected_index")
        self.find.on_click(lambda _: self.pictures.show(MAP))
        self.pin.on_click(lambda _: self._pin(self.hole))
        self.unpin.on_click(lambda _: self._pin(None))

    # --- what is asked ----------------------------------------------------------------------
    @property
    def job(self):
        """What stands on the controls."""
        controls = (self.hole_controls, self.switch_controls, self.setup_controls)
        return Job(**{name: v for c in controls for name, v in c.values.items()})

    @property
    def shop(self):
        """What this shop has learned, None for an untrained one."""
        return self.own.shop

    @property
    def words(self):
        """The setting and the hole in a line."""
        rows = self.switch_controls.rows
        parts = [f"{word} {rows[name].text}" for name, word in
                 zip(SWITCHES[:3], ("current", "on", "off"), strict=True)]  # fmt: skip
        return ", ".join(parts)

    def take(self, job):
        """Set every control to a job."""
        self._quiet = True
        self.hole_controls.take(job)
        self.setup_controls.take(job)
        self.switch_controls.use(self.switches, self.machine, job)
        self._quiet = False
        self.refresh()

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

    def _machine_changed(self):
        wishes = {n: self.switches[n].values[r.value] for n, r in self.switch_controls.rows.items()}
        job = self.job
        if self._load(self.machine_pick.value):
            self.pinned = None
            self.take(replace(job, positions=nearest(self.switches, wishes)))
        self.machine_pick.note(self._trouble, "edm-refusal")

    def _show_in(self, inches):
        self.display = Display(inches)
        self.hole_controls.show_in(self.display)
        self.pictures.show_in(self.display)
        if self.record.content is not None:
            self.record.content.show_in(self.display)
        self.refresh()

    def _pin(self, hole):
        self.pinned, self._pinned_words, self._pinned_job = hole, self.words, self.job
        self.refresh()

    def burning(self):
        """Return the hole on the page as a burn to be filled in."""
        if self.message or self.hole is None:
            raise Refusal("there is no burn to record until the page has an answer.")
        return of_hole(self.hole, self.words)

    def known(self):
        """Return how surely the minutes are known: the standard deviation of their logarithm."""
        return None if self.hole is None else float(self.hole.minutes.spread)

    def learned(self):
        """Work everything out anew with what was learned, the pinned setting too."""
        if self.pinned is not None:
            self.pinned = self._pinned_job.hole(self.machine, self.switches, self.shop)
        self.refresh()

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
    def refresh(self):
        """Work out the answers to what stands on the controls, and show them."""
        if self._quiet:
            return
        self.own.look(self.machine)
        try:
            if self.hole_controls.wrong or self.switch_controls.voltmeter.wrong:
                raise Refusal("the answers wait until the number marked 'Check this' is put right.")
            self.hole = self.job.hole(self.machine, self.switches, self.shop)
        except Refusal as fault:
            return self._refuse(str(fault))
        self._refuse("")
        self._show()
        if self.memory:
            job = self.job.kept(self.switches)
            self.memory.keep(job=job, machine=self.path, inches=self.display.inches)

    def _refuse(self, text):
        self.message = text
        kept = self.memory.complaint if self.memory else ""
        trouble = text or self._trouble or self.own.complaint or kept
        self._message.value = refusal(trouble)
        (self._reply.add_class if text else self._reply.remove_class)("edm-waiting")

    def _show(self):
        hole, burn = self.hole, self.hole.burn
        self.switch_controls.show_gap(hole, self.display)
        self._show_spark_current(burn)
        machine = self.machine.name if self.machine else "No machine file"
        line = escape(f"{machine}. {self.setup_controls.summary}.")
        self._setup_line.value = f'<div class="edm-note">{line}</div>'
        self._answers.value = answers.tiles(hole, self.display)
        self._taught.value = self.own.words(self.hole.burn)
        if self.record.content is not None:
            self.record.content.follow()
        self._show_more()
        self._watch.value = answers.warnings(hole.warnings(self.display))
        self._against_pin.value = self._comparison()
        self.unpin.disabled = self.pinned is None
        self.pictures.redraw()

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
