"""Page 03: from the drawing of a hole to electrode, depth stop, passes, batch and burn card."""

from dataclasses import replace
from html import escape
from pathlib import Path

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels import answers, plan_answers
from edmkit.panels.card_maker import CardMaker
from edmkit.panels.controls import Pick, html, layout, row, shown, unwarned
from edmkit.panels.crown_finder import CrownFinder
from edmkit.panels.job import Job, nearest
from edmkit.panels.kept_page import KeptPage
from edmkit.panels.machines import ANY, load, machine_files, switches
from edmkit.panels.own_book import Fold
from edmkit.panels.plan_demos import DEMOS
from edmkit.panels.plan_inputs import PlanInputs
from edmkit.panels.plan_job import PlanJob
from edmkit.panels.plan_pictures import PlanPictures
from edmkit.panels.record_burn import RecordBurn
from edmkit.panels.style import CSS, PLAN_CSS
from edmkit.planning.plan import plan
from edmkit.shop import Shop
from edmkit.trials.from_hole import of_pass

_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"


class HowBigHowDeep(KeptPage):
    """The page's panel; everything a person sets is remembered, unless ``memory`` is None.

    ``plan`` is what stands on the page, ``message`` why there is none. Without memory there is no
    trial book either, unless one is given.
    """

    def __init__(self, memory="remember", folder=".", book="own"):
        kept = self._take_up(memory, book)
        self.folder, self.demos = Path(folder), tuple(DEMOS)
        self.plan, self._demo = None, None
        self.files = machine_files(folder)
        self._first_machine(kept)
        job = self._first_job(kept)
        self._build(job)
        if self.display.inches:
            self._show_lengths()
        self._listen()
        self.refresh()

    # --- starting ---------------------------------------------------------------------------
    def _first_machine(self, kept):
        paths = [path for _, path in self.files] + [ANY]
        path = kept.get("machine", paths[0])
        self._load(path if path in paths else paths[0])

    def _load(self, path):
        """Take a machine file; a faulty one is said and the machine in use stays."""
        try:
            self.machine = load(path)
        except Refusal as fault:
            self._trouble = str(fault)
            if not hasattr(self, "machine"):
                self.machine, self.path, self.switches = None, ANY, switches(None)
            return False
        self.path, self.switches = path, switches(self.machine)
        return True

    def _first_job(self, kept):
        """Return the remembered job, or the first of the demo jobs."""
        try:
            if "plan" in kept:
                self._demo = kept.get("plan_demo")
                return PlanJob.from_kept(kept["plan"], self.switches)
        except (Refusal, TypeError, ValueError, KeyError, AttributeError) as fault:
            self._trouble = f"The last job could not be taken up again: {fault}"
        self._demo = self.demos[-1]
        return self._ready(self._demo)

    def _ready(self, name):
        """Return a demo job on the switches of the machine in use."""
        return DEMOS[name].job(self.switches)

    def _build(self, job):
        self.inputs = PlanInputs(job, self.switches, self.machine)
        offered = [*self.files, ("no machine file: any value", ANY)]
        self.machine_pick = Pick("Machine", offered, self.path)
        self.crown = CrownFinder()
        self.pictures = PlanPictures()
        (self._lesson, self._tiles, self._why, self._watch, self._blocks, self._stop,
         self._batch_said, self._setup_line, self._taught) = (html() for _ in range(9))  # fmt: skip
        self.leave = widgets.Button(
            description="Leave the demo: plan with my own shop", layout={"width": "auto"}
        )
        self.card = CardMaker(self, self.inputs.gate)
        super().__init__(self._arranged())
        self.add_class("edm-page")

    def _arranged(self):
        fold, inputs = widgets.Accordion, self.inputs
        demos = widgets.HBox(
            [self._demo_button(name) for name in self.demos],
            layout={"flex_flow": "row wrap", "grid_gap": "0 12px"},
        )
        seldom = fold([widgets.VBox([self.machine_pick, inputs.setup])],
                      titles=("Machine, work, electrode, polarity, fluid",))  # fmt: skip
        self.record = Fold("What did it give? Record a burn of this pass",
                           lambda: RecordBurn(self, self.own, self.memory))  # fmt: skip
        batch = fold([inputs.batch], titles=("How many, in what order?",))
        self._crown_fold = fold([self.crown], titles=("Is it over the crown?",))
        for folded in (seldom, batch, self._crown_fold):
            folded.selected_index = None
        reply = widgets.VBox(
            [self._message, self._tiles, self._taught, self._why, self._watch, self.record]
        )
        reply.add_class("edm-group")
        self._reply = reply
        asked = widgets.VBox(
            [seldom, self._setup_line, inputs.hole, inputs.depth, self._crown_fold, batch]
        )
        stop = widgets.VBox([html("<h3>Why that stop?</h3>"), self._stop, self.pictures.stop])
        said = widgets.VBox([html("<h3>How does the batch run?</h3>"), self._batch_said,
                             self.pictures.drift])  # fmt: skip
        for box in (stop, said):
            box.add_class("edm-group")
        answers_ = widgets.VBox([reply, inputs.hand, inputs.passes])
        grid = {"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        top = widgets.GridBox([asked, answers_, self.pictures], layout=grid)
        below = widgets.GridBox([stop, said, self.card], layout=grid)
        first = row(demos, self.units, columns="1fr 215px")
        lesson = row(self._lesson, self.leave, columns="1fr auto")
        return [html(CSS + PLAN_CSS), first, lesson, top, self._blocks, below]

    def _demo_button(self, name):
        button = widgets.Button(
            description=name, tooltip=DEMOS[name].lesson, layout=layout(width="auto")
        )
        button.on_click(lambda _, name=name: self.load(name))
        return button

    def _listen(self):
        self.inputs.on_change(self._typed)
        self.machine_pick.on_change(self._machine_changed)
        self.leave.on_click(lambda _: self._leave_demo())

    # --- what is asked ----------------------------------------------------------------------
    @property
    def job(self):
        """What stands on the controls."""
        return self.inputs.job

    @property
    def setup(self):
        """The set-up of the job."""
        return self.job.setup(self.machine)

    def shop(self, setup):
        """Return what is known of the shop: the demo's own, or what its trial book taught."""
        if self._demo in DEMOS:
            demo = DEMOS[self._demo]
            return Shop.from_constants(setup, spread=demo.spread, **demo.factors)
        return self.own.shop

    def burning(self):
        """Return the pass in view as a burn to be filled in."""
        if self._demo in DEMOS:
            raise Refusal("this is an invented job: leave the demo to record burns of your own.")
        if self.message or self.plan is None:
            raise Refusal("there is no burn to record until there is a plan.")
        planned = self.plan.passes[self.inputs.hand.place]
        return of_pass(planned, self.plan.touch, _engraved(planned))

    def known(self):
        """Return how surely the minutes of the pass in view are known."""
        passes = self.plan.passes if self.plan else ()
        place = self.inputs.hand.place
        return float(passes[place].minutes.spread) if place < len(passes) else None

    def learned(self):
        """Plan anew with what was learned."""
        self.refresh()

    def load(self, name):
        """Set every control to a demo job."""
        self._demo = name
        self.take(self._ready(name))

    def _leave_demo(self):
        """Keep the hole, but plan it with what this shop knows."""
        self._demo = None
        self.take(replace(self.job, name="", hand=None))

    def take(self, job):
        """Set every control to a job."""
        self._quiet = True
        self.inputs.take(job)
        self._quiet = False
        self.refresh()

    def _typed(self):
        if not self._quiet:
            self.refresh()

    def _machine_changed(self):
        job, old = self.job, self.switches
        wishes = {n: s.values[job.positions.get(n, len(s.choices) // 2)] for n, s in old.items()}
        if self._load(self.machine_pick.value):
            self._quiet = True
            self.inputs.for_machine(self.machine, self.switches)
            self.take(replace(job, positions=nearest(self.switches, wishes), hand=None))
        self.machine_pick.note(self._trouble, "edm-refusal")

    def _show_lengths(self):
        self._quiet = True
        record = () if self.record.content is None else (self.record.content,)
        for group in (self.inputs, self.crown, *record):
            group.show_in(self.display)
        self._quiet = False

    # --- what is answered -------------------------------------------------------------------
    def _planned(self, job, shop, stages=None):
        setup = job.setup(self.machine)
        change = (lambda proposed: job.stages(proposed, self.switches)) if job.by_hand else None
        with unwarned():  # the page says it in a sentence
            return plan(
                job.feature(), setup, stages, shop=shop, change=change,
                like=Job.settings(job, self.switches), touch=job.touch(), batch=job.batch(),
                tolerance=job.tolerance(), part=job.part(), **job.asked(),
            )  # fmt: skip

    def refresh(self):
        """Plan what stands on the controls, and show it."""
        if self._quiet:
            return
        self.own.look(self.machine)
        try:
            if self.inputs.wrong:
                raise Refusal("the answers wait until the number marked 'Check this' is put right.")
            job = self.job
            self.plan = self._planned(job, self.shop(job.setup(self.machine)))
        except Refusal as fault:
            return self._refuse(str(fault))
        self._refuse("")
        self._show(job)
        if self.memory:
            kept = job.kept(self.switches)
            self.memory.keep(plan=kept, plan_demo=self._demo, machine=self.path,
                             inches=self.display.inches)  # fmt: skip

    def _refuse(self, text):
        super()._refuse(text)
        (self.add_class if text else self.remove_class)("edm-waiting")

    def _show(self, job):
        planned, display = self.plan, self.display
        machine = self.machine.name if self.machine else "No machine file"
        self._setup_line.value = (
            f'<div class="edm-note">{escape(machine)}. {escape(self.inputs.setup.summary)}.</div>'
        )
        demo = DEMOS.get(self._demo)
        lesson = (
            f"<b>{escape(self._demo)}</b>, an invented job in an invented shop, whose gap, wear "
            f"and speed are used here. {escape(demo.lesson)}"
            if demo
            else ""
        )
        self._taught.value = "" if demo else self.own.words(planned.passes[0].burn)
        if self.record.content is not None:
            self.record.content.follow()
        shown(self.leave, demo is not None)
        self._lesson.value = f'<div class="edm-pinned">{lesson}</div>' if lesson else ""
        self._tiles.value = plan_answers.tiles(planned, display)
        self._why.value = f'<div class="edm-label">{escape(planned.why)}</div>'
        self._watch.value = answers.warnings(planned.warnings(display))
        self._blocks.value = plan_answers.blocks(planned, display)
        self._stop.value = plan_answers.stop_table(planned.passes[-1].stop, display)
        self._batch_said.value = plan_answers.batch_words(planned, display)
        names = plan_answers.titles(planned)
        self.inputs.hand.show(names, [p.settings for p in planned.passes])
        self.pictures.show(planned, self.inputs.hand.place, display)
        across = getattr(planned.feature.face, "diameter", None)
        shown(self._crown_fold, across is not None)
        self.crown.for_diameter(across)
        self.card.follow(planned, job.gate().bath)


def _engraved(planned):
    """Return the positions of a pass in a line."""
    words = zip(("current", "on", "off"), planned.labels.values(), strict=False)
    return ", ".join(f"{word} {label}" for word, label in words)
