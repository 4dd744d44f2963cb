"""Page 05: the trial book, what it taught, whether the machine drifts, which trial next."""

from html import escape
from pathlib import Path

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.panels import learned_words
from edmkit.panels.book_files import BookFiles
from edmkit.panels.book_table import BookTable
from edmkit.panels.controls import Pick, html, refusal, row, shown, toggle
from edmkit.panels.live import LiveFigure
from edmkit.panels.machines import load, machine_files
from edmkit.panels.memory import Memory
from edmkit.panels.next_trial import QUESTIONS, NextTrial, TwoWays
from edmkit.panels.own_book import Fold, OwnBook
from edmkit.panels.style import BOOK_CSS, CSS
from edmkit.plots.learned_plot import (
    drift_axes,
    drift_figure,
    drift_traces,
    expected_axes,
    expected_figure,
    expected_traces,
)
from edmkit.trials.beside import beside, constants
from edmkit.trials.columns import STATES
from edmkit.trials.csv_read import read_csv
from edmkit.trials.learn import MORE_LESS, study
from edmkit.trials.watch import scores
from edmkit.words import Display, two

OWN = "own"
_FOLDS = "repeat(auto-fit, minmax(min(400px, 100%), 1fr))"
_NOTES = 60  # of the tuning log that are shown
_LOOK_BACK, _FAR = 6, 2.5  # burns looked back on for drift, deviations that are told


def demo_logs(folder="."):
    """Return the invented logs that can be shown: name -> path.

    Parameters
    ----------
    folder : str or Path
        The page's folder.
    """
    package = Path(__file__).resolve().parents[1]
    here = Path(folder).resolve()
    places = (here / "data_demo", here.parent / "data_demo", package / "data_demo",
              package.parent / "data_demo")  # fmt: skip
    found = {}
    for place in places:
        for path in sorted(place.glob("*_log.csv")):
            found.setdefault(path.stem.removesuffix("_log").replace("_", " "), path)
    return found


class WhatDidTheBurnTeach(widgets.VBox):
    """The page's panel.

    ``trials`` are the burns on show, ``study`` what they teach; ``own`` is the person's book.
    """

    def __init__(self, memory="remember", folder=".", book=OWN):
        self.memory = Memory() if memory == "remember" else memory
        self.own = OwnBook(None if memory is None and book == OWN else book)
        self.folder, self.demos = Path(folder), demo_logs(folder)
        kept = self.memory.values if self.memory else {}
        self.display = Display(inches=kept.get("inches") is True)
        self.trials, self.study, self._burns = (), study(()), ()
        self.own.look(self._machine(kept))
        self._build()
        self._listen()
        self.source.value = OWN if self.own.trials or not self.demos else next(iter(self.demos))
        self.changed()

    def _machine(self, kept):
        """Return the machine that the other pages use, if its file is there."""
        paths = [path for _, path in machine_files(self.folder)]
        try:
            return load(kept["machine"]) if kept.get("machine") in paths else None
        except Refusal:
            return None

    def _build(self):
        offered = [("My own book", OWN)]
        offered += [(f"{name} (invented)", name) for name in self.demos]
        self.source = Pick("Which book?", offered, OWN)
        self.units = toggle([("mm, µm", False), ("inch, thou", True)], "100px",
                            self.display.inches)  # fmt: skip
        self.quantity = toggle(list(QUESTIONS), "92px")
        self.include = widgets.Checkbox(
            description="learn from burns in a lasting state too", indent=False,
            layout={"width": "auto"},
        )  # fmt: skip
        self.backup = widgets.Button(description="Take the backup", layout={"width": "auto"})
        self._where, self._message, self._constants, self._drift = (html() for _ in range(4))
        self._slopes, self._tuned = html(), html()
        self.expected = LiveFigure(expected_figure((), "", ""))
        self.drift = LiveFigure(drift_figure((), 0.2))
        self.table = BookTable(self)
        self.slopes = Fold("How do they follow the settings?", lambda: self._slopes)
        self.next = Fold("Which trial next?", lambda: NextTrial(self))
        self.ways = Fold("Two ways compared: real, or luck?", lambda: TwoWays(self))
        self.tuned = Fold("What was turned, and how did it go?", lambda: self._tuned)
        self.files = Fold("Into and out of the book", lambda: BookFiles(self))
        super().__init__(self._arranged())
        self.add_class("edm-page")

    def _arranged(self):
        group = {
            "Which burns?": [self.table],
            "What are this shop's constants?": [self._constants, self.slopes],
            "What does a burn do, and how surely?": [self.quantity, self.expected],
            "Does the machine drift?": [self.drift, self._drift],
        }
        boxes = {}
        for title, parts in group.items():
            boxes[title] = widgets.VBox([html(f"<h3>{escape(title)}</h3>"), *parts])
            boxes[title].add_class("edm-group")
        book, known, expected, drift = boxes.values()
        layout = {"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        top = row(self.source, self.units, columns="minmax(0, 1fr) 215px")
        return [html(CSS + BOOK_CSS), top, self._where, self._message, self.backup,
                widgets.GridBox([known, expected, drift], layout=layout), self.include, book,
                self.next, self.ways, self.tuned, self.files]  # fmt: skip

    def _listen(self):
        self.source.on_change(self.changed)
        self.units.observe(lambda change: self._show_in(change["new"]), "value")
        self.quantity.observe(lambda _: self._draw(), "value")
        self.include.observe(lambda _: self.changed(), "value")
        self.backup.on_click(lambda _: self._restore())

    # --- what is shown ----------------------------------------------------------------------
    @property
    def editable(self):
        """Whether the burns on show are the person's own."""
        return self.source.value == OWN

    def last_setup(self):
        """Return set-up and settings of the latest burn that taught something."""
        for trial in reversed(self.trials):
            if trial.id in self.study.shop.trials:
                return trial.setup(), trial.settings()
        raise Refusal("a trial must be in the book first: record one on 'Which settings?'.")

    def _show_in(self, inches):
        self.display = Display(inches)
        if self.memory:
            self.memory.keep(inches=bool(inches))
        self._show()

    def changed(self):
        """Read the book on show again, learn, and show it."""
        include = STATES[1:] if self.include.value else ()
        if self.editable:
            self.own.look(self.own.machine)
            self.trials = self.own.trials
        else:
            self.trials = read_csv(self.demos[self.source.value], {"machine": ""}).trials
        self.study = study(self.trials, include)
        self._late = [s for s in scores(self.trials, _LOOK_BACK, include) if abs(s.z) > _FAR]
        self._show()

    def _show(self):
        self._where.value = self._place_words()
        complaint = self.own.complaint if self.editable else ""
        self._message.value = refusal(complaint)
        shown(self.backup, bool(self.editable and self.own.damaged))
        made = constants(self.study)
        self._constants.value = learned_words.tiles(made) if made else _note(
            "Nothing yet: record a burn on 'Which settings?' or 'How big, how deep, how many?', "
            "or import your log below."
        )  # fmt: skip
        self._slopes.value = learned_words.slopes(made)
        self._drift.value = self._drift_words()
        self._tuned.value = self._tuned_words()
        self.table.show()
        self._draw()
        for fold in (self.next, self.ways):
            if fold.content is not None:
                (fold.content.follow if fold is self.ways else fold.content.show)()

    def _place_words(self):
        count = f"{len(self.trials)} burns" if len(self.trials) != 1 else "1 burn"
        if self.editable:
            where = self.own.book.path if self.own.book else "nowhere: this page keeps no book"
            return _note(f"{count}, kept in {where}.")
        said = read_csv(self.demos[self.source.value], {"machine": ""}).said
        lesson = next((text for text in said if text.startswith("Invented")), "")
        return f'<div class="edm-pinned">{escape(f"{count}. {lesson}")}</div>'

    def _tuned_words(self):
        notes = self.own.notes()[:_NOTES] if self.editable else ()
        if not notes:
            return _note("Nothing noted yet: tap it on 'Which settings?' while you tune.")
        rows = "".join(
            "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in (
                note.at[:16].replace("T", " "), note.machine, f"{note.knob} {note.way}",
                note.verdict, note.remark)) + "</tr>"
            for note in notes
        )  # fmt: skip
        return f'<table class="edm-table">{rows}</table>'

    def _drift_words(self):
        if len(self.trials) < 2:
            return _note("It takes two burns to see a drift.")
        parts = {trial.id: trial.part or "a burn" for trial in self.trials}
        lines = [
            f"{parts[s.trial_id]}: {two(max(s.ratio, 1 / s.ratio))} times "
            f"{MORE_LESS[s.quantity][s.z < 0]} than the burns before it led to expect."
            for s in self._late
        ]
        if not lines:
            return _note(f"The latest {min(_LOOK_BACK, len(self.trials) - 1)} burns came out as "
                         "those before them led to expect.")  # fmt: skip
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        return f'<ul class="edm-watch">{items}</ul>'

    def _draw(self):
        """Redraw both plots in place."""
        quantity = QUESTIONS[self.quantity.value]
        title, unit, scale = _scale(quantity, self.display)
        self._burns = beside(self.study, self.trials, quantity)
        learned = self.study.shop.learned.get(quantity)
        noise = learned.noise if learned else 0.2
        _redraw(self.expected, expected_traces(self._burns, unit, scale),
                expected_axes(self._burns, title, scale))  # fmt: skip
        _redraw(self.drift, drift_traces(self._burns), drift_axes(self._burns, noise))

    def _restore(self):
        try:
            said = self.own.restore()
        except Refusal as fault:
            said = str(fault)
        self.changed()
        self._where.value = f'<div class="edm-pinned">{escape(said)}</div>'


def _note(text):
    return f'<div class="edm-note">{escape(text)}</div>'


def _scale(quantity, display):
    """Return title, unit and factor of a quantity as it is shown."""
    if quantity == "removal_rate":
        return (f"removal rate, {display.rate_unit}", display.rate_unit, display.rate(1.0))
    if quantity == "roughness_Ra":
        return f"roughness Ra, {display.rough_unit}", display.rough_unit, display.rough(1.0)
    if quantity == "relative_wear":
        return "wear by volume, %", "%", 1.0
    return f"side gap per side, {display.fine_unit}", display.fine_unit, display.fine(1.0)


def _redraw(figure, traces, axes):
    """Change a figure in place."""
    with figure.batch_update():
        for trace, (x, y, text) in zip(figure.data, traces, strict=True):
            trace.x, trace.y = x, y
            if text is not None:
                trace.text = text
        figure.update_layout(axes)
