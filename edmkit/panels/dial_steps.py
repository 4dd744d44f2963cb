"""The steps of page 01 that tell what the machine is: switches, meters, shorts, the rest."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.dial_cautions import CAUTIONS
from edmkit.dials.relaxation_signs import RELAXATION
from edmkit.dials.survey import SWITCH_WORDS, SWITCHES, labels_from
from edmkit.panels.controls import Number, html, refusal, say, toggle
from edmkit.panels.dial_pictures import pressed_on_scrap
from edmkit.panels.load_box import RelaxationBox
from edmkit.panels.own_book import Fold
from edmkit.settings import FLUSHING_KINDS

WRAPPED = {"flex_flow": "row wrap", "grid_gap": "4px 18px", "align_items": "flex-start"}
HOLDS, FALLS, UNTRIED = "the needle stays", "the needle falls back", "not tried"
_SHORT = {UNTRIED: "", HOLDS: "holds", FALLS: "falls back"}


def mind(step):
    """Return what to mind at a step as a widget, all of it in sight."""
    group = CAUTIONS[step]
    lines = "".join(f"<li>{escape(fact.text)}</li>" for fact in group.items)
    return html(f'<div class="edm-watch"><b>Mind</b><ul style="margin: 2px 0; padding-left: 18px">'
                f"{lines}</ul></div>")  # fmt: skip


class Step(widgets.VBox):
    """One question of the page; ``page`` gives ``survey``, ``dials``, ``solved`` and ``tell``.

    ``follow()`` puts what is known onto the controls; ``told(page)`` is the answer in a few words,
    or nothing while there is none.
    """

    number, title = 0, ""

    def __init__(self, page):
        self.page, self._busy = page, False
        super().__init__(self.parts())

    def parts(self):
        """Return the widgets of the step."""
        raise NotImplementedError

    def follow(self):
        """Show what stands in the survey."""

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        return ""

    def quietly(self, change):
        """Run something that changes controls without taking it for an answer."""
        self._busy = True
        try:
            change()
        finally:
            self._busy = False


class MachineStep(Step):
    """Which switches the machine has, as engraved, and how far its meters go."""

    number, title = 1, "The machine and its switches"

    def parts(self):
        """Return the widgets of the step."""
        self.texts, self.wrong = {}, {}
        rows = []
        for switch in SWITCHES:
            field = widgets.Text(continuous_update=False, layout={"width": "260px"})
            field.observe(lambda _: self._typed(), "value")
            self.texts[switch], self.wrong[switch] = field, html()
            words = f"Positions of the {SWITCH_WORDS[switch]}, as engraved"
            rows += [say(words, "edm-label"), field, self.wrong[switch]]
        self.adds = toggle([("one at a time", False), ("several add up", True)], "150px")
        self.adds.observe(lambda _: self._typed(), "value")
        rows.insert(3, widgets.VBox([say("Current positions are on", "edm-label"), self.adds]))
        self.meters = {
            name: Number(words, words, None, low, high, unit, "-", stacked=True)
            for name, words, low, high, unit in (
                ("ammeter_max_A", "Ammeter ends at", 0.1, 1000, "A"),
                ("ammeter_step_A", "one step of it", 0.001, 50, "A"),
                ("voltmeter_max_V", "Voltmeter ends at", 10, 1000, "V"),
                ("voltmeter_step_V", "one step of it", 0.01, 50, "V"),
            )
        }
        for field in self.meters.values():
            field.on_change(self._typed)
        self.said = html()
        self.relaxation = Fold("No switch for on-time and off-time? It may be a relaxation circuit",
                               lambda: RelaxationBox(self._looked))  # fmt: skip
        meters = widgets.HBox([widgets.VBox([f, f.message]) for f in self.meters.values()],
                              layout=WRAPPED)  # fmt: skip
        hint = say("Write 1-8, or the signs themselves: A B C. One fixed voltage: leave it.")
        left = widgets.VBox([hint, *rows])
        right = widgets.VBox([say("The meters: the machine's own, or one of yours", "edm-label"),
                              meters, self.said, self.relaxation, mind(0), mind(1)])  # fmt: skip
        return [two_columns(left, right)]

    def _typed(self):
        """Take everything that stands there; what cannot be is said beside its field."""
        if self._busy:
            return
        answers, good = {"adds": self.adds.value}, True
        for switch, field in self.texts.items():
            try:
                answers[switch] = labels_from(field.value, switch)
                self.wrong[switch].value = ""
            except Refusal as fault:
                good, self.wrong[switch].value = False, refusal(str(fault))
        if any(field.wrong for field in self.meters.values()) or not good:
            return
        steps = {n: f.value or (0.0 if "step" in n else None) for n, f in self.meters.items()}
        try:
            survey = self.page.survey.told(**answers, **steps)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self.said.value = ""
        self.page.tell(survey)

    def _looked(self):
        """Take what the signs say of the circuit."""
        found = self.relaxation.content.verdict.word == RELAXATION
        self.page.tell(self.page.survey.told(circuit="relaxation" if found else ""))

    def follow(self):
        """Show what stands in the survey."""
        self.quietly(self._follow)

    def _follow(self):
        survey = self.page.survey
        for switch, field in self.texts.items():
            if not self.wrong[switch].value:
                field.value = in_short(survey.labels(switch))
        self.adds.value = survey.adds
        for name, field in self.meters.items():
            if not field.wrong:
                value = getattr(survey, name) or None
                field.show_as(value, field.unit, *field.limits)

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        s = page.survey
        if not (s.peak_current_A and s.on_time_us and s.off_time_us):
            return ""
        return f"{len(s.peak_current_A)} currents, {len(s.on_time_us)} x {len(s.off_time_us)} times"


def in_short(labels):
    """Return labels as a person types them: 1-8, or each with a space between."""
    numbers = [str(n) for n in range(int(labels[0]), int(labels[0]) + len(labels))] if (
        labels and labels[0].isdecimal()) else []  # fmt: skip
    if len(labels) > 2 and list(labels) == numbers:
        return f"{labels[0]}-{labels[-1]}"
    return " ".join(labels)


def two_columns(left, right):
    """Return two boxes beside each other, one below the other on a narrow page."""
    columns = {"grid_template_columns": "repeat(auto-fit, minmax(min(420px, 100%), 1fr))",
               "grid_gap": "10px 26px"}  # fmt: skip
    return widgets.GridBox([left, right], layout=columns)


class ShortStep(Step):
    """Whether the machine cuts back in a short."""

    number, title = 3, "Does a short make it cut back?"

    def parts(self):
        """Return the widgets of the step."""
        self.short = toggle(list(_SHORT), "180px")
        self.short.observe(lambda _: self._picked(), "value")
        self.then = html()
        ask = say("A middling current, longest on-time, shortest off-time. Press the electrode "
                  "firmly on scrap, switch on, and watch the ammeter for five seconds.",
                  "edm-label")  # fmt: skip
        left = widgets.VBox([ask, self.short, self.then, mind(3)])
        return [two_columns(left, html(pressed_on_scrap()))]

    def _picked(self):
        if not self._busy:
            self.page.tell(self.page.survey.told(short=_SHORT[self.short.value]))

    def follow(self):
        """Show what stands in the survey."""
        short = self.page.survey.short
        word = next(word for word, kept in _SHORT.items() if kept == short)
        self.quietly(lambda: setattr(self.short, "value", word))
        told = {
            "falls back": "Then a short shows less than a spark gets. All amps are read through a "
            "resistor between electrode and work, which takes a spark's voltage: step 7 sizes it.",
            "holds": "Good: amps are read with the electrode pressed on scrap.",
        }
        self.then.value = f'<div class="edm-note">{told.get(short, "")}</div>'

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        return {"holds": "no, it holds", "falls back": "yes: use a resistor"}.get(
            page.survey.short, ""
        )


_REST = (
    ("dial_mm", "Depth dial reads to", 1e-4, 1, "mm"),
    ("stop_mm", "Depth stop sets to", 1e-4, 1, "mm"),
)
_LIFT = (
    ("burn", "Lift: burns from", 0.05, 120, "s"),
    ("burn_to", "to", 0.05, 120, "s"),
    ("up", "is up from", 0.01, 120, "s"),
    ("up_to", "to", 0.01, 120, "s"),
)


class RestStep(Step):
    """Depth stop, flushing, lift: what the other pages ask of a machine."""

    number, title = 8, "Stops, flushing, lift"

    def parts(self):
        """Return the widgets of the step."""
        self.sizes = _numbers(_REST, empty=None)
        self.lift = _numbers(_LIFT, empty="none")
        self.kinds = {k: widgets.Checkbox(description=k, indent=False, value=True)
                      for k in FLUSHING_KINDS}  # fmt: skip
        self.polarity = toggle([("yes", True), ("no", False)], "80px")
        self.note = widgets.Text(continuous_update=False, layout={"width": "100%"})
        self.said = html()
        for field in (*self.sizes.values(), *self.lift.values()):
            field.on_change(self._typed)
        for box in (*self.kinds.values(), self.polarity, self.note):
            box.observe(lambda _: self._typed(), "value")
        lift = widgets.HBox([widgets.VBox([f, f.message]) for f in self.lift.values()],
                            layout=WRAPPED)  # fmt: skip
        sizes = widgets.HBox([widgets.VBox([f, f.message]) for f in self.sizes.values()],
                             layout=WRAPPED)  # fmt: skip
        left = widgets.VBox([sizes, say("A timed lift, if there is one", "edm-label"), lift,
                             self.said])  # fmt: skip
        right = widgets.VBox([say("It can flush by", "edm-label"), *self.kinds.values(),
                              say("A switch for the polarity", "edm-label"), self.polarity,
                              say("A note for the file", "edm-label"), self.note])  # fmt: skip
        return [two_columns(left, right)]

    def _typed(self):
        if self._busy or any(f.wrong for f in (*self.sizes.values(), *self.lift.values())):
            return
        ends = [f.value for f in self.lift.values()]
        kinds = tuple(kind for kind, box in self.kinds.items() if box.value)
        if not kinds:
            self.said.value = refusal("flushing must be one kind at least: tick lift only.")
            return
        if None in ends and any(end is not None for end in ends):
            self.said.value = refusal("the lift waits for all four numbers, or for none.")
            return
        if None not in ends and (ends[0] >= ends[1] or ends[2] >= ends[3]):
            self.said.value = refusal("the lift must go from a smaller to a larger number: swap.")
            return
        self.said.value = ""
        lift = {"lift_burn_s": None, "lift_up_s": None} if None in ends else {
            "lift_burn_s": tuple(ends[:2]), "lift_up_s": tuple(ends[2:])}  # fmt: skip
        sizes = {name: field.value for name, field in self.sizes.items()}
        self.page.tell(self.page.survey.told(
            **sizes, **lift, flushing=kinds, polarity_switch=self.polarity.value,
            note=self.note.value.strip(),
        ))  # fmt: skip

    def follow(self):
        """Show what stands in the survey."""
        self.quietly(self._follow)

    def _follow(self):
        survey = self.page.survey
        for name, field in self.sizes.items():
            if not field.wrong:
                field.show_as(getattr(survey, name), field.unit, *field.limits)
        ends = (*(survey.lift_burn_s or (None, None)), *(survey.lift_up_s or (None, None)))
        if not self.said.value:
            for field, end in zip(self.lift.values(), ends, strict=True):
                if not field.wrong:
                    field.show_as(end, field.unit, *field.limits)
            for kind, box in self.kinds.items():
                box.value = kind in survey.flushing
        self.polarity.value, self.note.value = survey.polarity_switch, survey.note

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        return f"stop to {page.survey.stop_mm:g} mm"


def _numbers(rows, empty):
    return {name: Number(words, words, low if empty is None else None, low, high, unit, empty,
                         stacked=True) for name, words, low, high, unit in rows}  # fmt: skip
