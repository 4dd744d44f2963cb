"""What a page with one hole on it shares: machine, switches, hole, set-up, units, memory."""

from dataclasses import replace
from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.circuit_place import OFFERED, CircuitPlace
from edmkit.panels.controls import Pick, html, shown
from edmkit.panels.hole_controls import HoleControls
from edmkit.panels.job import FIRST_JOBS, SWITCHES, Job, nearest, picture
from edmkit.panels.kept_page import KeptPage
from edmkit.panels.machines import ANY, CIRCUIT, load, machine_files, switches
from edmkit.panels.setup_controls import SetupControls
from edmkit.panels.switch_controls import SwitchControls
from edmkit.trials.from_hole import of_hole

FIRST = next(iter(FIRST_JOBS))
_NO_CIRCUIT = (
    "the last job was burned with a relaxation circuit, which this page does not know: switches "
    "stand in its place."
)


class HolePage(KeptPage):
    """A page about one hole; everything a person sets is remembered, unless ``memory`` is None.

    ``hole`` is what stands on the page (a `Hole`), ``message`` why there is no answer. Without
    memory there is no trial book either, unless one is given. A page lays itself out in
    ``_arranged``, answers in ``_show``, and turns its lengths in ``_show_lengths``; one with
    ``offers_circuit`` places ``circuit_place`` beside the switches.
    """

    offers_circuit = False

    def __init__(self, memory="remember", folder=".", book="own"):
        kept, self.hole = self._take_up(memory, book), None
        self.folder, self.files = folder, machine_files(folder)
        self.machine, self.switches, self.path = None, switches(None), ANY
        job = self._first_job(kept) if self._first_machine(kept) else self._ready(FIRST)
        self._build(job)
        super().__init__(self._arranged())
        self.add_class("edm-page")
        if self.display.inches:
            self._show_lengths()
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
                return self._taken_up(Job.from_kept(kept["job"], self.switches))
            except (Refusal, TypeError, ValueError, KeyError, AttributeError) as fault:
                self.first_opening = True
                self._trouble = f"The last job could not be taken up again: {fault}"
        return self._ready(FIRST)

    def _taken_up(self, job):
        """Return the remembered job, on its circuit where this page offers one."""
        if job.circuit is None:
            job.hole(self.machine, self.switches)
        elif self.offers_circuit:
            job.hole(None, self.switches)
            self._load(CIRCUIT)
        else:
            job = replace(job, circuit=None)
            job.hole(self.machine, self.switches)
            self._trouble = _NO_CIRCUIT
        return job

    def _ready(self, name):
        _, sizes, wishes = FIRST_JOBS[name]
        volts = {"open_voltage_V": 100.0}
        lift = {"lift_burn_s": 4.0, "lift_up_s": 1.0}
        return Job(**sizes, **lift, positions=nearest(self.switches, {**wishes, **volts}))

    def _build(self, job):
        self.hole_controls = HoleControls(job)
        self.switch_controls = SwitchControls(self.switches, self.machine, job)
        self.setup_controls = SetupControls(job)
        self.circuit_place = CircuitPlace(self.refresh)
        self.machine_pick = Pick("Machine", self._offered, self.path)
        self._show_generator(job.circuit)
        self._setup_line = html()
        self.jobs = self._job_buttons()

    def _job_buttons(self):
        boxes = []
        for name, (words, *_) in FIRST_JOBS.items():
            button = widgets.Button(description=name, tooltip=words, layout={"width": "190px"})
            button.on_click(lambda _, name=name: self.take(self._ready(name)))
            drawing = html(picture(name))
            words = html(f'<div class="edm-note">{escape(words)}</div>')
            boxes.append(widgets.HBox([drawing, widgets.VBox([button, words])]))
        return widgets.HBox(boxes, layout={"flex_flow": "row wrap", "grid_gap": "0 30px"})

    def _asked_folds(self):
        """Return the folds of what seldom changes: a job to start from, the set-up."""
        jobs = widgets.Accordion([self.jobs], titles=("Start from a job",))
        jobs.selected_index = 0 if self.first_opening else None
        voltage = self.switch_controls.rows["open_voltage_V"]
        seldom = widgets.VBox([self.machine_pick, voltage, self.setup_controls])
        words = "Machine, work, electrode, polarity, fluid"
        setup = widgets.Accordion([seldom], titles=(words,))
        setup.selected_index = None
        return jobs, setup

    def _listen(self):
        for controls in (self.hole_controls, self.switch_controls, self.setup_controls):
            controls.on_change(self.refresh)
        self.machine_pick.on_change(self._machine_changed)

    # --- what is asked ----------------------------------------------------------------------
    @property
    def job(self):
        """What stands on the controls."""
        controls = (self.hole_controls, self.switch_controls, self.setup_controls)
        values = {name: v for c in controls for name, v in c.values.items()}
        return Job(**values, circuit=self.circuit_place.values)

    @property
    def shop(self):
        """What this shop has learned, None for an untrained one."""
        return self.own.shop

    @property
    def words(self):
        """The setting in a line."""
        if self.circuit_place.in_use:
            return self.circuit_place.words
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
        self._show_generator(job.circuit)
        self._quiet = False
        self.refresh()

    def _show_generator(self, parts=None):
        """Show the switches, or in their place the circuit, at these parts if there are any."""
        circuit, voltage = self.path == CIRCUIT, self.switch_controls.rows["open_voltage_V"]
        self.circuit_place.use(circuit, parts if circuit else None)
        shown(self.switch_controls, not circuit)
        shown(voltage, not circuit and voltage.size > 1)

    @property
    def _offered(self):
        """The machines to pick from."""
        circuit = [(OFFERED, CIRCUIT)] if self.offers_circuit else []
        return [*self.files, ("no machine file: any value", ANY), *circuit]

    def _look_for_machines(self):
        """Offer the machine files that lie there now: another page may have written one."""
        files = machine_files(self.folder)
        if files != self.files and self.path in [ANY, CIRCUIT, *(path for _, path in files)]:
            self.files, self._quiet = files, True
            self.machine_pick.offer(self._offered, self.path)
            self._quiet = False

    def _machine_changed(self):
        if self._quiet:
            return
        wishes = {n: self.switches[n].values[r.value] for n, r in self.switch_controls.rows.items()}
        job, before = self.job, self.machine
        if self._load(self.machine_pick.value):
            if self.machine is not before:
                self._other_machine()
            self.take(replace(job, positions=nearest(self.switches, wishes)))
        self.machine_pick.note(self._trouble, "edm-refusal")

    def _other_machine(self):
        """Forget what belonged to the machine before."""

    def _show_lengths(self):
        """Show every length that is typed in the unit in use."""
        self.hole_controls.show_in(self.display)

    # --- what is answered -------------------------------------------------------------------
    def refresh(self):
        """Work out the answers to what stands on the controls, and show them."""
        if self._quiet:
            return
        self.own.look(self.machine)
        try:
            if self._wrong:
                raise Refusal("the answers wait until the number marked 'Check this' is put right.")
            self.hole = self.job.hole(self.machine, self.switches, self.shop)
            self._work_out()
        except Refusal as fault:
            return self._refuse(str(fault))
        self._refuse("")
        circuit = self.circuit_place.in_use
        if not circuit:
            self.switch_controls.show_gap(self.hole, self.display)
        without = "A relaxation circuit" if circuit else "No machine file"
        machine = self.machine.name if self.machine else without
        line = escape(f"{machine}. {self.setup_controls.summary}.")
        self._setup_line.value = f'<div class="edm-note">{line}</div>'
        self._show()
        self._look_for_machines()
        if self.memory:
            # With a circuit the other pages keep the machine they had: it has no file.
            path = {} if circuit else {"machine": self.path}
            job = self.job.kept(self.switches)
            self.memory.keep(job=job, inches=self.display.inches, **path)

    @property
    def answered(self):
        """Whether an answer stands on the page."""
        return self.hole is not None and not self.message

    def _work_out(self):
        """Work out what else the page answers; what it refuses is said as the hole's refusals."""

    @property
    def _wrong(self):
        """Whether a number on the page is not one."""
        place = self.circuit_place
        generator = place if place.in_use else self.switch_controls.voltmeter
        controls = (self.hole_controls, generator, self.setup_controls)
        return any(control.wrong for control in controls)

    # --- a burn of this hole ----------------------------------------------------------------
    def burning(self):
        """Return the hole on the page as a burn to be filled in."""
        if self.message or self.hole is None:
            raise Refusal("there is no burn to record until the page has an answer.")
        return of_hole(self.hole, self.words)

    def learned(self):
        """Work everything out anew with what was learned."""
        self.refresh()

    def known(self):
        """Return how surely the minutes are known: the standard deviation of their logarithm."""
        return None if self.hole is None else float(self.hole.minutes.spread)
