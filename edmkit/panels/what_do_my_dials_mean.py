"""Page 01: a machine without papers; from its meters and its buzz to the machine file."""

from html import escape
from pathlib import Path

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.dials.answer import answer_of, dials_of, solved_of
from edmkit.dials.asked import what_to_press
from edmkit.dials.drift import by_day
from edmkit.dials.practice import PRACTICE, PRACTICE_ADDS, blank_survey
from edmkit.dials.survey import LOAD, SWITCH_WORDS, Survey
from edmkit.dials.survey_file import load_survey, path_of, save_survey, surveyed
from edmkit.panels.controls import Pick, framed, html, layout, refusal, say, shown, toggle
from edmkit.panels.dial_pitch import PitchStep
from edmkit.panels.dial_readings import DriveStep, KindStep, TapsStep, TimesStep
from edmkit.panels.dial_steps import WRAPPED, MachineStep, RestStep, ShortStep, Step
from edmkit.panels.live import LiveFigure
from edmkit.panels.machine_outcome import MachineOutcome
from edmkit.panels.memory import Memory
from edmkit.panels.own_book import Fold
from edmkit.panels.style import CSS
from edmkit.plots.dials_plot import (
    change_dials_plot,
    change_residuals,
    dials_plot_figure,
    residuals_figure,
)

PRACTICE_MACHINES = {machine.name: machine for machine in (PRACTICE, PRACTICE_ADDS)}
_INVENTED = (
    '<div class="edm-note" style="max-width: 420px">An invented machine to practise on: it answers '
    "like a real one, a worn switch and all. Yours: give it a name and begin.</div>"
)
_RELAXATION = (
    "A relaxation circuit has no on-time and off-time: steps 2 to 9 are for switched pulses. "
    "Step 1 says what its capacitors store."
)


def _since_when(session):
    """Return the words for a session and its first day, as the survey writes it."""
    words, told = session
    return f"since {words}", min(x.day for x in (*told.readings, *told.tones))


class PapersStep(Step):
    """The machine file, the sheet to hang up, what measuring gained, what has drifted."""

    number, title = 9, "The machine file, and the page to hang up"

    def parts(self):
        """Return the widgets of the step."""
        self.outcome = MachineOutcome(self.page)
        self.since = Pick("Readings that count", [("all", "")], stacked=True)
        self.since.on_change(self._since)
        return [self.since, self.outcome]

    def _since(self):
        if not self._busy:
            self.page.tell(self.page.survey.told(since=self.since.value))

    def follow(self):
        """Show what was gained; offer to count the latest readings only."""
        page = self.page
        sessions = by_day(page.survey)
        options = [("all of them", ""), *map(_since_when, sessions[1:])]
        now = page.survey.since if page.survey.since in [d for _, d in options] else ""
        self.quietly(lambda: self.since.offer(options, now))
        shown(self.since, len(options) > 1)
        earlier = dials_of(sessions[0][1]) if len(sessions) > 1 else None
        later = dials_of(sessions[-1][1]) if len(sessions) > 1 else None
        self.outcome.show(page.dials, earlier, later)


STEPS = (MachineStep, KindStep, ShortStep, TimesStep, PitchStep, TapsStep, DriveStep, RestStep,
         PapersStep)  # fmt: skip
_SHORT_TITLES = ("Switches", "On-time", "Short", "Times", "Pitch", "Current", "Drive", "Rest",
                 "Machine file")  # fmt: skip


class WhatDoMyDialsMean(widgets.VBox):
    """The page's panel: one question at a time, every answer kept at once.

    ``survey`` is everything told, ``counting`` what of it counts, ``dials`` what the switches mean
    (None before the switches are named), ``practice`` the invented machine on show, if one is.
    """

    def __init__(self, memory="remember", folder="."):
        self.memory = Memory() if memory == "remember" else memory
        self.folder, self.practice = Path(folder), None
        self.dice = np.random.default_rng(1)
        self.survey, self.solved, self.dials = Survey(""), None, None
        self._steps = {}
        self._build()
        name = self.memory.values.get("surveyed") if self.memory else None
        self.begin(name if name in self._kept() else PRACTICE.name)

    # --- building ---------------------------------------------------------------------------
    def _build(self):
        self.pick = Pick("Machine", [(PRACTICE.name, PRACTICE.name)], stacked=True)
        self.name = widgets.Text(placeholder="what you call it", continuous_update=False)
        self.new = widgets.Button(description="Begin with my machine", layout=layout(width="auto"))
        self.said, self.head, self.known = html(), html(), html()
        named = widgets.VBox([say("Your own machine", "edm-label"),
                              widgets.HBox([self.name, self.new])])  # fmt: skip
        self.invented = widgets.HTML(_INVENTED)
        top = widgets.HBox([self.pick, named, self.invented], layout=WRAPPED)
        words = [f"{n} {title}" for n, title in enumerate(_SHORT_TITLES, 1)]
        self.step = toggle(list(zip(words, range(len(STEPS)), strict=True)), "138px")
        self.next = widgets.Button(description="Next question", layout={"width": "260px"})
        self.next.add_class("edm-find")
        self.question = widgets.VBox([])
        self.question.add_class("edm-group")
        self.figure, self.drawing = None, widgets.VBox([])
        self.residuals = Fold("Every reading beside what the others make of it", self._residuals)
        super().__init__([
            html(CSS), top, self.said, self.step, self.head, self.question, self.next,
            framed("What is known so far", self.known, self.drawing, self.residuals),
        ])  # fmt: skip
        self.add_class("edm-page")
        self._busy = False
        self.pick.on_change(lambda: None if self._busy else self.begin(self.pick.value))
        self.new.on_click(lambda _: self.begin_new(self.name.value))
        self.step.observe(lambda _: self._turn(), "value")
        self.next.on_click(lambda _: self._next())

    def _kept(self):
        return (*PRACTICE_MACHINES, *surveyed())

    def _offer(self):
        self._busy = True
        names = list(dict.fromkeys([*self._kept(), self.survey.name]))
        self.pick.offer([(name, name) for name in names], self.survey.name)
        self._busy = False

    # --- which machine ----------------------------------------------------------------------
    def begin(self, name):
        """Take up a machine where it was left, or an invented one afresh.

        Parameters
        ----------
        name : str
            What it is called.
        """
        self.said.value = ""
        if name in PRACTICE_MACHINES:
            self.practice = PRACTICE_MACHINES[name]
            self.dice = np.random.default_rng(1)
            survey = blank_survey(self.practice)
        else:
            try:
                survey = load_survey(name)
            except Refusal as fault:
                self.said.value = refusal(str(fault))
                self._offer()
                return
            self.practice = None
        self._show(survey)

    def begin_new(self, name):
        """Begin with a machine of the person's own; one of that name is taken up again.

        Parameters
        ----------
        name : str
            What it is to be called.
        """
        name = name.strip()
        try:
            path_of(name)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        if name in self._kept():
            self.begin(name)
            return
        self.practice = None
        self._show(Survey(name))
        self.tell(self.survey)

    def _show(self, survey):
        self.survey = survey
        self._steps = {}
        self._work_out()
        self._offer()
        first = 0 if not self.ready or self.practice else self.step.value
        if self.step.value != first:
            self.step.value = first  # turns the page
        else:
            self._turn()
        if self.memory:
            self.memory.keep(surveyed=survey.name)

    # --- answers ----------------------------------------------------------------------------
    @property
    def counting(self):
        """What of the survey counts."""
        return self.survey.counting

    @property
    def ready(self):
        """Whether the switches are named, so that meters can be read."""
        s = self.survey
        return bool(s.peak_current_A and s.on_time_us and s.off_time_us and s.open_voltage_V)

    @property
    def load_ohm(self):
        """The resistor in use: by step 7, else that of the last reading, else None."""
        step = self._steps.get(STEPS.index(DriveStep))
        used = [r.load_ohm for r in self.counting.readings if r.what == LOAD]
        return (step and step.load.load_ohm) or (used[-1] if used else None)

    @property
    def pressing(self):
        """How amps are read: in a short, or through a resistor where a short cuts back."""
        return what_to_press(self.solved.model.survey if self.solved else self.survey)

    def tell(self, survey):
        """Take an answer: keep it, work out what it means, show it.

        Parameters
        ----------
        survey : Survey
            With the answer in it.
        """
        self.survey = survey
        self.said.value = ""
        if self.practice is None:
            try:
                save_survey(survey)
            except Refusal as fault:
                self.said.value = refusal(f"{fault} The answer stands on this page only.")
        self._work_out()
        self.refresh()

    def _work_out(self):
        self.solved = self.dials = None
        if self.ready:
            self.solved = solved_of(self.survey)
            self.dials = answer_of(self.solved)

    # --- showing ----------------------------------------------------------------------------
    def _turn(self):
        number = self.step.value
        if number not in self._steps:
            self._steps[number] = STEPS[number](self)
        step = self._steps[number]
        self.head.value = f"<h2>{step.number}. {escape(step.title)}</h2>"
        self.question.children = [step]
        shown(self.invented, self.practice is not None)
        shown(self.next, number < len(STEPS) - 1)
        self.refresh()

    def _next(self):
        self.step.value = min(self.step.value + 1, len(STEPS) - 1)

    @property
    def now(self):
        """The step in sight."""
        return self._steps[self.step.value]

    def refresh(self):
        """Show what is known on the step in sight and below it."""
        self.now.follow()
        self.known.value = self._words()
        if self.dials is not None:
            self._draw()
        for part in (self.drawing, self.residuals):
            shown(part, self.dials is not None)

    def _words(self):
        if self.survey.circuit == "relaxation":
            return f'<div class="edm-watch">{_RELAXATION}</div>'
        if self.dials is None:
            return ('<div class="edm-label">Say at step 1 which positions the switches have: then '
                    "this fills up.</div>")  # fmt: skip
        kept = ""
        if self.practice is None:
            kept = f'<div class="edm-note">Kept in {escape(str(path_of(self.survey.name)))}.</div>'
        bad = "".join(
            f'<div class="edm-watch">{SWITCH_WORDS[f.switch].capitalize()} {escape(f.label)}: '
            f"{escape(f.why)}</div>" for f in self.dials.faults
        )  # fmt: skip
        notes = "".join(f'<div class="edm-watch">{escape(note)}</div>' for note in self.dials.notes)
        return f"{self._answers()}{bad}{notes}{kept}"

    def _answers(self):
        """Return what each question has been answered with, as HTML."""
        rows = "".join(
            f"<tr><td>{step.number}. {escape(step.title)}</td>"
            f"<td><b>{escape(step.told(self) or '-')}</b></td></tr>" for step in STEPS[:-1]
        )  # fmt: skip
        return f'<table class="edm-table">{rows}</table>'

    def _draw(self):
        if self.figure is None:
            self.figure = LiveFigure(dials_plot_figure(self.dials))
            self.drawing.children = [self.figure]
        else:
            change_dials_plot(self.figure, self.dials)
        if self.residuals.content is not None:
            change_residuals(self.residuals.content, self.dials)

    def _residuals(self):
        return LiveFigure(residuals_figure(self.dials))
