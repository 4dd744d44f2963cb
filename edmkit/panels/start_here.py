"""The start page: which page answers what, is this a job for the eroder, the cautions."""

from html import escape
from pathlib import Path

import ipywidgets as widgets

from edmkit.panels.controls import Pick
from edmkit.panels.style import CSS
from edmkit.planning.facts import SOURCES
from edmkit.planning.safety import FIRST, SAFETY
from edmkit.planning.worth_eroding import FEATURES, SURFACES, WORKS, worth_eroding

# File, question, and what a person gets from it; only those in the folder are shown.
PAGES = (
    (
        "01_what_do_my_dials_mean",
        "What do my dials mean?",
        "A machine without papers: meters and the pitch of its buzz in, its machine file out.",
    ),
    (
        "02_which_settings",
        "Which settings?",
        "Switch positions and hole in; minutes, finish, size and wear out, with bands.",
    ),
    (
        "03_how_big_how_deep",
        "How big, how deep, how many?",
        "Drawing in; electrode, depth stop, passes, dressing, time and a burn card out.",
    ),
    (
        "04_why_does_it_arc",
        "Why does it arc?",
        "Flushing in; enough or not, what the meters say, which knob first, a burn as it goes.",
    ),
    (
        "05_what_did_the_burn_teach",
        "What did the burn teach?",
        "Your trial book: what it taught, does the machine drift, which trial next.",
    ),
    (
        "06_a_new_material",
        "A new material?",
        "Beside one you know: what differs, what your burns teach, which trials first, cautions.",
    ),
    (
        "07_what_one_spark_does",
        "What does one spark do?",
        "Its heat live, its crater, the damage below; relaxation circuits.",
    ),
    (
        "08_how_smooth_will_it_be",
        "How smooth will it be?",
        "Craters make the wall: Ra, Rz and how to measure them; which spark, how many passes.",
    ),
    (
        "90_how_far_to_trust_it",
        "How far to trust it?",
        "Every published burn beside what this kit would have said, the worst first.",
    ),
)
_QUESTIONS = (
    ("The work is", WORKS),
    ("To be made", FEATURES),
    ("Its surface", SURFACES),
)
_FOLDS = "repeat(auto-fit, minmax(min({}px, 100%), 1fr))"


def pages_in(folder):
    """Return the rows of `PAGES` whose notebook lies in a folder."""
    return [page for page in PAGES if (Path(folder) / f"{page[0]}.ipynb").is_file()]


def _facts(title, facts):
    """Return a titled list of facts with their source words as HTML."""
    lines = "".join(
        f'<li>{escape(fact.text)} <span class="edm-note">({escape(fact.source)})</span></li>'
        for fact in facts
    )
    return f'<h3>{escape(title)}</h3><ul class="edm-label">{lines}</ul>' if facts else ""


def _group(*parts):
    box = widgets.VBox(list(parts))
    box.add_class("edm-group")
    return box


def _side_by_side(parts, least):
    layout = {"grid_template_columns": _FOLDS.format(least), "grid_gap": "10px 14px"}
    return widgets.GridBox(list(parts), layout=layout)


def _page_list(pages):
    """Return the links to the other pages as HTML."""
    lines = "".join(
        f'<p class="edm-label"><a href="{name}.ipynb" target="_blank">'
        f'<span class="edm-value">{escape(title)}</span></a><br>{escape(line)} '
        f'<span class="edm-note">(file {name})</span></p>'
        for name, title, line in pages
    )
    none = "<p>No other page lies in this folder. Start edmkit once: it copies them here.</p>"
    return f"<h3>Which page answers what</h3>{lines or none}"


def _cautions():
    """Return the cautions, every group in sight."""
    first = widgets.HTML(f'<div class="edm-watch">{escape(FIRST)}</div>')
    groups = [_group(widgets.HTML(_facts(group.title, group.items))) for group in SAFETY]
    meant = "; ".join(f"{word}: {meaning}" for word, meaning in SOURCES.items())
    note = widgets.HTML(f'<div class="edm-note">In brackets, where it comes from. {meant}.</div>')
    return [first, _side_by_side(groups, 270), note]


class StartHere(widgets.VBox):
    """The panel of the start page; ``advice`` is what stands on it (an `Advice`)."""

    def __init__(self, folder="."):
        self.picks = [
            Pick(label, [(words, key) for key, words in answers.items()])
            for label, answers in _QUESTIONS
        ]
        self._verdict, self._why, self._then = (widgets.HTML() for _ in range(3))
        pages = _group(widgets.HTML(_page_list(pages_in(folder))))
        title = widgets.HTML("<h3>Is this a job for the eroder?</h3>")
        asked = _group(title, *self.picks, self._verdict)
        super().__init__(
            [
                widgets.HTML(CSS),
                _side_by_side([pages, asked, _group(self._why, self._then)], 400),
                widgets.HTML("<h2>Safety first</h2>"),
                *_cautions(),
            ]
        )
        self.add_class("edm-page")
        for pick in self.picks:
            pick.on_change(self.refresh)
        self.refresh()

    def answer(self, *answers):
        """Answer the three questions, as a person would; return the verdict."""
        for pick, answer in zip(self.picks, answers, strict=True):
            pick.value = answer
        return self.advice.verdict

    def refresh(self):
        """Show the advice to the three answers."""
        self.advice = advice = worth_eroding(*(pick.value for pick in self.picks))
        self._verdict.value = (
            '<div class="edm-tile" role="status" style="margin-top: 8px">'
            f'<div style="font-size: 22px; font-weight: 700">{escape(advice.verdict)}</div></div>'
        )
        self._why.value = _facts("Why", advice.reasons) + _facts(
            "What else would do it", advice.instead
        )
        self._then.value = _facts("If you erode it, afterwards", advice.afterwards)
