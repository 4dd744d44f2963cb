"""Record a burn where it was planned: filled in already, two numbers typed, saved, learned from."""

from dataclasses import replace
from datetime import datetime
from html import escape

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.estimate import BAND
from edmkit.panels.clock import Clock
from edmkit.panels.controls import Pick, html, label_of, layout, refusal
from edmkit.panels.measured_field import MeasuredField
from edmkit.panels.tuning_log import TuningLog
from edmkit.trials.columns import STATES
from edmkit.trials.learn import rows_of
from edmkit.trials.trial import new_id
from edmkit.words import three, two

FIELDS = {
    "minutes": "Minutes",
    "depth_mm": "Depth got",
    "hole_size_mm": "Hole came out",
    "electrode_size_mm": "Electrode measured",
    "end_wear_mm": "Off the electrode's length",
    "roughness_Ra_um": "Roughness Ra",
}
_SAID = {
    "removal_rate": "rate while burning",
    "roughness_Ra": "Ra",
    "relative_wear": "wear by volume",
    "gap_side": "side gap",
    "gap_front": "front gap",
    "recast": "recast layer",
}
_TEXTS = {"part": "Part", "operator": "Operator", "remark": "Remark"}
_LAST = 8  # burns of this run that are listed


class RecordBurn(widgets.VBox):
    """Fills in a burn that stands on a page, saves it in the book and shows what it taught.

    ``page`` gives ``burning()`` (a `Burning`, or a Refusal), ``display``, ``machine`` and
    ``known()``: how surely its minutes are known, and is told by ``learned()``.
    """

    def __init__(self, page, own, memory=None):
        self.page, self.own, self._id = page, own, new_id()
        self._unsaved = True
        self.fields = {name: MeasuredField(name, label) for name, label in FIELDS.items()}
        self.texts = {
            name: widgets.Text(description=label, style={"description_width": "0px"},
                               layout=layout(width="100%", margin="0"), continuous_update=False)
            for name, label in _TEXTS.items()
        }  # fmt: skip
        self.state = Pick("State that lasts", list(STATES), STATES[0], stacked=True)
        self.clock, self.tuning = Clock(memory), TuningLog(page, own)
        self.save = widgets.Button(description="Save this burn", layout=layout(width="auto"))
        self.derived, self.watch, self.said, self.run = (html() for _ in range(4))
        self._saved = []
        super().__init__(self._arranged())
        self.clock.on_stop(lambda minutes: self._take_minutes(minutes))
        for field in self.fields.values():
            field.on_change(self.follow)
        self.state.on_change(self.follow)
        self.save.on_click(lambda _: self._save())
        self.show_in(page.display)
        self.follow()

    def _arranged(self):
        explain = html(
            '<div class="edm-note">Settings, electrode and hole are taken as they stand on this '
            "page. Type what you have; what stays empty teaches nothing. A burn from memory "
            "counts too: say so beside its minutes.</div>"
        )
        columns = {"grid_template_columns": "repeat(auto-fill, minmax(168px, 1fr))",
                   "grid_gap": "4px 12px"}  # fmt: skip
        texts = [widgets.VBox([label_of(text.description), text]) for text in self.texts.values()]
        fields = widgets.GridBox([*self.fields.values(), self.state, *texts], layout=columns)
        return [explain, self.clock, fields, self.derived, self.watch, self.save, self.said,
                self.run, self.tuning]  # fmt: skip

    def show_in(self, display):
        """Show the lengths in mm or in inches."""
        for field in self.fields.values():
            field.show_in(display)

    def _take_minutes(self, minutes):
        self.fields["minutes"].how.value = "watch"
        self.fields["minutes"].first.value = round(minutes, 2)

    # --- what is recorded -------------------------------------------------------------------
    @property
    def results(self):
        """What was typed, by column; a wrong number is refused."""
        if any(field.wrong for field in self.fields.values()):
            raise Refusal("a number marked 'Check this' must be put right before this is saved.")
        found = {name: field.value for name, field in self.fields.items()}
        found = {name: value for name, value in found.items() if value is not None}
        if not found:
            raise Refusal("nothing is typed yet: fill in the minutes, or what you measured.")
        return found

    def trial(self):
        """Return the burn as it would be saved."""
        texts = {name: text.value.strip() for name, text in self.texts.items()}
        burned = self.page.burning().measured(**self.results, **texts, state=self.state.value)
        when = datetime.now().astimezone().isoformat(timespec="seconds")
        return replace(burned, id=self._id, burned_at=when)

    def follow(self):
        """Show what follows from what is typed, and what looks unusual."""
        self.said.value = ""
        try:
            trial = self.trial()
        except Refusal:
            self.derived.value = self.watch.value = ""
            return
        self.derived.value = _derived(trial)
        unusual = self.own.unusual(trial) if trial.state == STATES[0] else ()
        self.watch.value = "".join(
            f'<div class="edm-watch">{escape(text)}</div>' for text in unusual
        )

    # --- saved ------------------------------------------------------------------------------
    def _save(self):
        try:
            before, trial = self.page.known(), self.trial()
            where = self.own.save(trial)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self._id = new_id()  # only now: saving again after a failure keeps one burn
        self.page.learned()
        self._show_saved(trial, where, before, self.page.known())
        self._next(trial)

    def _show_saved(self, trial, where, before, after):
        lines = [where]
        if trial.state != STATES[0]:
            lines.append(f"It does not teach: {trial.state}.")
        elif before is not None and after is not None:
            factors = [two(np.exp(BAND * spread)) for spread in (before, after)]
            lines.append(
                f"The minutes on this page were known to a factor of {factors[0]}, now to "
                f"{factors[1]}."
            )
        self.said.value = f'<div class="edm-pinned">{escape(" ".join(lines))}</div>'
        self._saved = [*self._saved, trial][-_LAST:]
        rows = "".join(
            f"<tr><td>{escape(t.part or 'no part named')}</td><td>{_one_line(t, self.page.display)}"
            "</td></tr>"
            for t in reversed(self._saved)
        )
        self.run.value = f'<table class="edm-table">{rows}</table>'

    def _next(self, trial):
        """Make ready for the next part: everything as before, the results empty."""
        kept = self.said.value
        for field in self.fields.values():
            field.clear()
        self.texts["remark"].value = ""
        self.texts["part"].value = _counted(trial.part)
        self.clock.clear()
        self.said.value = kept


def _counted(part):
    """Return the next part's name: its last number goes up by one."""
    head = part.rstrip("0123456789")
    number = part[len(head):]  # fmt: skip
    return f"{head}{int(number) + 1:0{len(number)}d}" if number else part


def _derived(trial):
    """Return what follows from a burn, beside what the physics alone says, as HTML."""
    rows, left_out = rows_of(trial)
    parts = []
    for row in rows:
        value = three(row.measured.value)
        if row.measured.is_interval:
            value = f"{three(row.measured.low)} to {three(row.measured.high)}"
        parts.append(
            f"{_SAID[row.quantity]} <b>{value}</b> {row.unit} ({two(row.ratio)} times the physics)"
        )
    told = "; ".join(parts)
    wrong = [f"No {_SAID[out.quantity]}: {out.why}." for out in left_out
             if out.quantity and "not filled in" not in out.why and "not known" not in out.why
             and "follows only" not in out.why]  # fmt: skip
    told = f'<div class="edm-label">That is: {told}.</div>' if told else ""
    return told + "".join(f'<div class="edm-note">{escape(text)}</div>' for text in wrong)


def _one_line(trial, display):
    """Return a saved burn in a line, escaped."""
    parts = []
    if trial.minutes is not None:
        parts.append(f"{three(trial.minutes.value)} min")
    for name in ("depth_mm", "hole_size_mm", "end_wear_mm"):
        value = getattr(trial, name)
        if value is not None and value.how != "as planned":
            size = three(display.length(value.middle))
            parts.append(f"{FIELDS[name].lower()} {size} {display.length_unit}")
    if trial.remark:
        parts.append(trial.remark)
    return escape(", ".join(parts))
