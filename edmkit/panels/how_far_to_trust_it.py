"""The page of evidence: every published figure beside the kit's own, worst first."""

from html import escape

import ipywidgets as widgets

from edmkit import evidence
from edmkit.panels.controls import Pick, framed, html, shown
from edmkit.panels.live import LiveFigure
from edmkit.panels.style import CSS
from edmkit.plots.evidence_plot import axes_of, evidence_figure, lines_of, traces_of
from edmkit.words import three, two

BURNS, SUMS = "every measured burn", "standards and textbook sums"
_FOLDS = "repeat(auto-fit, minmax(min(560px, 100%), 1fr))"
# By the unit or quantity that was missed: what too much and too little of it is called.
_WRONG = {
    "removal rate": ("too fast", "too slow"),
    "Ra": ("too rough", "too fine"),
    "best on-time": ("too long", "too short"),
    "electrode wear": ("too much", "too little"),
    "electrode lost per minute": ("too much", "too little"),
}
_STYLE = """<style>
.edm-page details > summary { cursor: pointer; font-size: 15px; padding: 4px 0; }
.edm-glance { font-size: 20px; line-height: 1.35; font-weight: 600; margin-bottom: 8px; }
.edm-page .edm-table th { text-align: left; padding: 2px 10px 2px 0; vertical-align: bottom;
  border-bottom: 2px solid #1a1a1a; font-weight: 600; }
.edm-page .edm-table td { vertical-align: top; }
.edm-plain { font-size: 14px; line-height: 1.4; margin: 4px 0; padding-left: 20px; }
</style>"""


# --- words -----------------------------------------------------------------------------------
def too(factor, quantity):
    """Return '3.1 times too fast' for predicted over published."""
    more, less = _WRONG.get(quantity, ("too high", "too low"))
    return f"{two(max(factor, 1 / factor))} times {more if factor > 1 else less}"


def glance(found):
    """Return how many of the measured burns lie inside their band, and which do not.

    Parameters
    ----------
    found : iterable of Check
        Usually `evidence.checks()`.
    """
    measured = evidence.burns(found)
    wrong = [check for check in evidence.worst_first(measured) if not check.inside]
    said = f"{len(measured) - len(wrong)} of {len(measured)} published burns lie inside the band."
    if wrong:
        works = {}
        for check in wrong:
            work = check.what.split(": ")[1].split(",")[0]
            works.setdefault(work, {})[check.quantity] = None
        names = "; ".join(f"{work} ({', '.join(missed)})" for work, missed in works.items())
        said += f" The {len(wrong)} that do not: {names}."
    return said


def _published(check):
    low, high = check.ends
    if low == high:
        return three(low)
    if high == float("inf"):
        return f"over {three(low)}"
    return f"{three(low)} to {three(high)}" if low else f"up to {three(high)}"


def _predicted(check):
    if check.spans:
        return f"{two(check.band[0])} to {two(check.band[1])}"
    if hasattr(check.predicted, "spread"):
        return f"<b>{three(check.likely)}</b> ({two(check.band[0])} to {two(check.band[1])})"
    return f"<b>{three(check.likely)}</b>"


def _verdict(check):
    if check.kind in ("standard", "textbook"):
        return (
            f"agrees within {two(100 * abs(check.factor - 1))} %" if check.inside else "<b>MISS</b>"
        )
    if check.inside:
        return "inside"
    return f"<b>MISS</b>: {escape(too(check.factor, check.quantity))}"


def _source(check):
    known = " Known when the kit's own level was set." if check.fitted else ""
    return f"{check.source}; {check.how_read}. {check.note}{known}"


def numbers(checks):
    """Return checks as an HTML table: published, predicted, verdict, source.

    Parameters
    ----------
    checks : iterable of Check
        In the order of the rows.
    """
    head = "".join(
        f"<th>{h}</th>" for h in ("What", "Published", "Predicted (band)", "Unit", "", "Source")
    )
    rows = "".join(
        f"<tr><td>{escape(': '.join(filter(None, (c.what, c.quantity))))}</td>"
        f"<td>{_published(c)}</td><td>{_predicted(c)}</td>"
        f"<td>{escape(c.unit)}</td><td>{_verdict(c)}</td>"
        f'<td class="edm-note">{escape(_source(c))}</td></tr>'
        for c in checks
    )
    return f'<table class="edm-table"><tr>{head}</tr>{rows}</table>'


def _fold(title, inside):
    return f"<details><summary>{escape(title)}</summary>{inside}</details>"


def checked(found):
    """Return by answer how many figures there are and how the burns do, as an HTML table."""
    head = "".join(
        f"<th>{h}</th>"
        for h in ("Answer", "Measured burns inside", "In the middle", "Band, either way",
                  "Other figures inside")
    )  # fmt: skip
    rows = ""
    for answer, name in evidence.ANSWERS.items():
        if answer == "sums":
            continue
        s = evidence.score(answer, found)
        quantity = next(c.quantity for c in found if c.answer == answer)
        cells = (
            f"{s.burns_inside} of {s.burns}" if s.burns else "<b>none measured</b>",
            too(s.factor, quantity) if s.burns else "",
            " to ".join(dict.fromkeys(f"×{two(b)}" for b in s.bands)) if s.burns else "",
            f"{s.others_inside} of {s.others}",
        )
        rows += f"<tr><td>{escape(name)}</td>{''.join(f'<td>{c}</td>' for c in cells)}</tr>"
    known = sum(check.fitted for check in evidence.burns(found))
    note = (f"The band is that of a shop that has burned no trial. A wide band is easily hit, and "
            f"{known} of the burns were known when the kit's own levels were set: inside does not "
            "mean proven. Other figures are trends, ranges and bands of the trade.")  # fmt: skip
    table = f'<table class="edm-table"><tr>{head}</tr>{rows}</table>'
    return f'{table}<div class="edm-note">{note}</div>'


def _miss(group):
    many = len(group.checks)
    if many > 1:
        memory = all(check.how_read == "from memory" for check in group.checks)
        read = " (list from memory)" if memory else ""
        return (f"<b>{escape(group.source)}</b>{read}: {escape(group.quantity)} predicted "
                f"{too(group.factor, group.quantity)} in the middle, {many} of {group.among} "
                "outside the band.")  # fmt: skip
    check = group.checks[0]
    if check.unit == "times":
        quantity = check.quantity.split(",")[0]
        return (f"<b>{escape(check.what)}</b>: {escape(quantity)} ×{_published(check)} published, "
                f"×{_predicted(check)} predicted.")  # fmt: skip
    return (f"<b>{escape(check.what)}</b>: {escape(check.quantity)} predicted "
            f"{too(check.factor, check.quantity)} ({_published(check)} {escape(check.unit)} "
            f"published, {_predicted(check)} predicted).")  # fmt: skip


def wrong(found):
    """Return where the kit misses, worst first, as an HTML list."""
    items = [_miss(group) for group in evidence.misses(found)]
    for group in evidence.leaning(found):
        items.append(
            f"<b>{escape(group.source)}</b>: {group.among} burns, all inside the wide band, all "
            f"predicted {too(group.factor, group.quantity)} in the middle."
        )
    return f'<ul class="edm-plain">{"".join(f"<li>{item}</li>" for item in items)}</ul>'


def unmeasured():
    """Return what no measurement checks, and what could not be compared, as HTML."""
    items = "".join(
        f"<li><b>{escape(what)}</b>: {escape(stands)}.</li>" for what, stands in evidence.UNMEASURED
    )
    left = evidence.uncompared()
    rows = "".join(
        f"<tr><td>{escape(u.what)}</td><td>{escape(u.published)}</td><td>{escape(u.why)}</td></tr>"
        for u in left
    )
    table = f'<table class="edm-table">{rows}</table>'
    fold = _fold(f"{len(left)} published figures that cannot be compared, and why", table)
    return f'<ul class="edm-plain">{items}</ul>{fold}'


# --- the panel -------------------------------------------------------------------------------
class HowFarToTrustIt(widgets.VBox):
    """The page's panel; ``checks`` is every check, ``showing`` those of the present choice."""

    def __init__(self):
        self.checks = evidence.checks()
        names = {answer: words for answer, words in evidence.ANSWERS.items() if answer != "sums"}
        offered = [(BURNS, BURNS), *((w, a) for a, w in names.items()), (SUMS, SUMS)]
        self._words = {choice: words for words, choice in offered}
        self.pick = Pick("Show", offered, BURNS)
        self.showing = self._chosen()
        self.figure = LiveFigure(evidence_figure(lines_of(self.showing)))
        self.picture = widgets.VBox([self.figure])
        self._line, self._numbers = html(), html()
        parts = [
            framed("Predicted beside published, worst on top", self.pick, self._line, self.picture),
            framed("Which answers were checked against a measured burn?",
                   html(checked(self.checks))),
            framed("Where is it wrong?", html(wrong(self.checks))),
            framed("What has nobody measured?", html(unmeasured())),
        ]  # fmt: skip
        halves = [
            widgets.VBox(half, layout={"grid_gap": "14px"}) for half in (parts[:2], parts[2:])
        ]
        layout = {"grid_template_columns": _FOLDS, "grid_gap": "10px 14px"}
        said = html(f'<div class="edm-glance" role="status">{escape(glance(self.checks))}</div>')
        columns = widgets.GridBox(halves, layout=layout)
        in_numbers = framed("The same in numbers, with sources", self._numbers)
        in_numbers.layout.margin = "14px 0 0"
        super().__init__([html(CSS + _STYLE), said, columns, in_numbers])
        self.add_class("edm-page")
        self.pick.on_change(self.refresh)
        self._say()

    @property
    def choices(self):
        """What may be picked."""
        return tuple(self._words)

    def _chosen(self):
        """Return the checks of the present choice, worst first."""
        choice = self.pick.value
        if choice == BURNS:
            return evidence.worst_first(evidence.burns(self.checks))
        if choice == SUMS:
            kinds = ("standard", "textbook")
            return evidence.worst_first(c for c in self.checks if c.kind in kinds)
        return evidence.worst_first(
            c for c in self.checks if c.answer == choice and c.kind != "standard"
        )

    def refresh(self):
        """Show the checks of the present choice."""
        self.showing = self._chosen()
        shown(self.picture, self.pick.value != SUMS)
        if self.pick.value != SUMS:
            lines = lines_of(self.showing)
            with self.figure.batch_update():
                for trace, (x, y, text) in zip(self.figure.data, traces_of(lines), strict=True):
                    trace.x, trace.y, trace.text, trace.showlegend = x, y, text, len(x) > 0
                self.figure.update_layout(axes_of(lines))
        self._say()

    def _say(self):
        inside = sum(check.inside for check in self.showing)
        kinds = dict.fromkeys(check.kind for check in self.showing)
        words = "; ".join(f"{evidence.KINDS[k]}" for k in kinds)
        self._line.value = (
            f'<div class="edm-note"><b>{inside} of {len(self.showing)}</b> inside. Here: '
            f"{escape(words)}.</div>"
        )
        title = f"{self._words[self.pick.value]}: {len(self.showing)} figures"
        self._numbers.value = _fold(title, numbers(self.showing))
