"""The book as a table, a filter, and a form to correct or withdraw a burn."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels.controls import Pick, html, label_of, layout, refusal
from edmkit.panels.measured_field import MeasuredField
from edmkit.panels.own_book import Fold
from edmkit.panels.record_burn import FIELDS
from edmkit.trials.columns import NORMAL, STATES
from edmkit.words import three

_MOST = 200  # lines shown
_SHOWN = 1e-5  # a field shows six digits: less than this is no change
_HEADS = ("Part", "What it taught", "When", "Current, on, off", "Minutes", "Depth", "Hole",
          "Off the end", "Ra", "Remark")  # fmt: skip


class BookTable(widgets.VBox):
    """Shows the burns of a page's book, newest first.

    ``page`` gives ``trials``, ``study``, ``display``, ``own`` and ``editable``, and is told by
    ``changed()``.
    """

    def __init__(self, page):
        self.page = page
        self.filter = widgets.Text(placeholder="show only: a part, a steel, a machine, a word",
                                   continuous_update=False, description="show only",
                                   style={"description_width": "0px"},
                                   layout={"width": "340px"})  # fmt: skip
        self.doubted = widgets.Checkbox(description="only doubted or set aside", indent=False,
                                        layout=layout(width="auto"))  # fmt: skip
        self.table = html()
        self.form = Fold("Correct or withdraw a burn", lambda: Correction(page))
        top = widgets.HBox([self.filter, self.doubted], layout={"flex_flow": "row wrap",
                                                                "grid_gap": "0 16px"})  # fmt: skip
        super().__init__([top, self.table, self.form])
        for control in (self.filter, self.doubted):
            control.observe(lambda _: self.show(), "value")

    def shown(self):
        """Return the burns that the filter lets through, newest first."""
        words = self.filter.value.strip().lower().split()
        told = self._told()
        found = []
        for trial in reversed(self.page.trials):
            text = " ".join(
                (trial.part, trial.job, trial.machine, trial.work, trial.electrode, trial.state,
                 trial.operator, trial.remark, trial.stage, trial.burned_at)
            ).lower()  # fmt: skip
            if all(word in text for word in words):
                odd = told[trial.id] or trial.state not in (NORMAL, "")
                if odd or not self.doubted.value:
                    found.append(trial)
        return found

    def _told(self):
        """Return by burn what is doubted of it, in words."""
        told = {trial.id: "" for trial in self.page.trials}
        for row in self.page.study.suspects:
            told[row.trial.id] = "; ".join(filter(None, [told[row.trial.id], row.suspect]))
        return told

    def show(self):
        """Draw the table anew."""
        burns, told = self.shown(), self._told()
        taught = set(self.page.study.shop.trials)
        head = "".join(f"<th>{escape(word)}</th>" for word in _HEADS)
        rows = "".join(self._row(t, told[t.id], t.id in taught) for t in burns[:_MOST])
        count = f"{len(burns)} of {len(self.page.trials)} burns"
        more = f", the latest {_MOST} shown" if len(burns) > _MOST else ""
        self.table.value = (
            f'<div class="edm-note">{count}{more}</div><div class="edm-scroll">'
            f'<table class="edm-table edm-book"><tr>{head}</tr>{rows}</table></div>'
        )
        if self.form.content is not None:
            self.form.content.follow()

    def _row(self, trial, doubt, taught):
        display = self.page.display
        said, css = "yes" if taught else "nothing measured", ""
        if trial.state not in (NORMAL, ""):
            said, css = f"set aside: {trial.state}", "edm-aside"
        elif doubt:
            said, css = f"\N{BLACK DIAMOND} doubted: {doubt}", "edm-doubted"
        lengths = [_length(getattr(trial, name), display)
                   for name in ("depth_mm", "hole_size_mm", "end_wear_mm")]  # fmt: skip
        cells = (
            trial.part or f"burn {trial.burn}", said, trial.burned_at[:10], _dialled(trial),
            _number(trial.minutes), *lengths, _number(trial.roughness_Ra_um), trial.remark,
        )  # fmt: skip
        return f'<tr class="{css}">{"".join(f"<td>{escape(c)}</td>" for c in cells)}</tr>'


def _dialled(trial):
    if trial.dialled:
        return trial.dialled
    if trial.is_circuit:
        values = (trial.resistance_ohm, trial.capacitance_uF, trial.supply_V)
        units = ("ohm", "µF", "V")
    else:
        values = (trial.peak_current_A, trial.on_time_us, trial.off_time_us)
        units = ("A", "µs", "µs")
    if None in values:
        return ""
    return ", ".join(f"{value:g} {unit}" for value, unit in zip(values, units, strict=True))


def _number(measured):
    if measured is None:
        return ""
    ends = (measured.value,) if measured.to is None else (measured.value, measured.to)
    return " to ".join(three(end) for end in ends)


def _length(measured, display):
    """Return a size as it was measured, to the micrometre or a tenth of a thou."""
    if measured is None:
        return ""
    ends = (measured.value,) if measured.to is None else (measured.value, measured.to)
    places = 4 if display.inches else 3
    shown = (f"{display.length(end):.{places}f}".rstrip("0").rstrip(".") for end in ends)
    mark = " (planned)" if measured.how == "as planned" else ""
    return " to ".join(shown) + mark


class Correction(widgets.VBox):
    """A form that corrects one burn of the person's own book, or withdraws it."""

    def __init__(self, page):
        self.page, self._filling, self._filled = page, False, None
        self.which = Pick("Which burn", [("none yet", "")], stacked=True)
        self.fields = {name: MeasuredField(name, label) for name, label in FIELDS.items()}
        self.part, self.remark = (
            widgets.Text(description=word, style={"description_width": "0px"},
                         layout=layout(width="100%", margin="0"))
            for word in ("Part", "Remark")
        )  # fmt: skip
        self.state = Pick("State that lasts", list(STATES), NORMAL, stacked=True)
        self.save = widgets.Button(description="Save the correction", layout=layout(width="auto"))
        self.withdraw = widgets.Button(
            description="Withdraw this burn", layout=layout(width="auto")
        )
        self.said = html()
        texts = [widgets.VBox([label_of(t.description), t]) for t in (self.part, self.remark)]
        columns = {"grid_template_columns": "repeat(auto-fill, minmax(168px, 1fr))",
                   "grid_gap": "4px 12px"}  # fmt: skip
        grid = widgets.GridBox([*self.fields.values(), self.state, *texts], layout=columns)
        note = html('<div class="edm-note">The old numbers stay in the book, hidden; a withdrawal '
                    "asks for its reason in the remark.</div>")  # fmt: skip
        buttons = widgets.HBox([self.save, self.withdraw])
        super().__init__([self.which, grid, note, buttons, self.said])
        self.which.on_change(self._fill)
        self.save.on_click(lambda _: self._save())
        self.withdraw.on_click(lambda _: self._withdraw())
        self.follow()

    def follow(self):
        """Offer the burns of the book as they stand."""
        offered = [(_named(trial), trial.id) for trial in reversed(self.page.trials)]
        kept = self.which.value
        self._filling = True
        self.which._drop.options = offered or [("none yet", "")]
        if kept in [identity for _, identity in offered]:
            self.which.value = kept
        self._filling = False
        usable = self.page.editable and bool(offered)
        self.save.disabled = self.withdraw.disabled = not usable
        if not self.page.editable:
            self.said.value = (
                '<div class="edm-note">This log is invented: nothing to correct.</div>'
            )
        self._fill()

    def _burn(self):
        return next((t for t in self.page.trials if t.id == self.which.value), None)

    def _fill(self):
        burn = self._burn()
        shown = burn and (burn.id, self.page.display)
        if self._filling or burn is None or shown == self._filled:
            return  # what is typed stays while the same burn is on show
        self._filled = shown
        for name, field in self.fields.items():
            field.show_in(self.page.display)
            field.take(getattr(burn, name))
        self.part.value, self.remark.value, self.state.value = burn.part, burn.remark, burn.state

    def _save(self):
        changes = {"part": self.part.value, "remark": self.remark.value, "state": self.state.value}
        try:
            if any(field.wrong for field in self.fields.values()):
                raise Refusal("a number marked 'Check this' must be put right first.")
            burn = self._burn()
            for name, field in self.fields.items():
                value = field.value
                if not _same(value, getattr(burn, name)):
                    changes[name] = value
            corrected = self.page.own.correct(burn, changes)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self._done("Corrected: the old numbers stay in the book, hidden.")
        self.which.value = corrected.id

    def _withdraw(self):
        why = self.remark.value.strip()
        burn = self._burn()
        try:
            if not why:
                raise Refusal("type the reason into the remark first.")
            self.page.own.withdraw(burn, why)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self._done(f"Withdrawn: {_named(burn)}. It stays in the book, hidden, with its reason.")

    def _done(self, words):
        self.page.changed()
        self.said.value = f'<div class="edm-pinned">{escape(words)}</div>'


def _named(trial):
    """Return what a burn is called in the list."""
    taken = f"{_number(trial.minutes)} min" if trial.minutes else ""
    words = (trial.part or f"burn {trial.burn}", trial.burned_at[:16].replace("T", " "), taken)
    return ", ".join(word for word in words if word)


def _same(one, other):
    """Return whether two measured values are the same but for the digits a field shows."""
    if one is None or other is None:
        return one is other
    close = abs(one.value - other.value) <= _SHOWN * max(abs(other.value), 1.0)
    ends = (one.to or 0.0, other.to or 0.0)
    return one.how == other.how and close and abs(ends[0] - ends[1]) <= _SHOWN * max(ends[1], 1.0)
