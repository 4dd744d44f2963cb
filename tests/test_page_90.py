"""The page of evidence without a browser: what it shows is what the tests check."""

import json
import re
from html import unescape

import ipywidgets as widgets
import numpy as np
import pytest

from edmkit import evidence
from edmkit.estimate import Estimate
from edmkit.evidence.check import Check
from edmkit.jupyter import shipped
from edmkit.panels import how_far_to_trust_it as panel
from edmkit.plots.evidence_plot import lines_of

NAME = "90_how_far_to_trust_it.ipynb"
NARROW = "\N{NARROW NO-BREAK SPACE}"


@pytest.fixture(scope="module")
def fresh():
    return panel.HowFarToTrustIt()


@pytest.fixture
def page(fresh):
    yield fresh
    fresh.pick.value = panel.BURNS


def everything(widget):
    """Return a widget and all that it holds."""
    inside = [part for child in getattr(widget, "children", ()) for part in everything(child)]
    return [widget, *inside]


def plain(text):
    text = re.sub(r"<style>.*?</style>", " ", text, flags=re.S)
    return re.sub(r"[ \n]+", " ", unescape(re.sub("<[^>]+>", " ", text))).strip()


def shown(page, folded=True):
    """Return the words on the page; ``folded`` False leaves out what must be opened."""
    text = " ".join(w.value for w in everything(page) if isinstance(w, widgets.HTML))
    return plain(text if folded else re.sub(r"<details>.*?</details>", " ", text, flags=re.S))


def rows(table):
    """Return the cells of an HTML table, its heading left out."""
    lines = re.findall(r"<tr>(.*?)</tr>", table, re.S)
    cells = [[plain(c) for c in re.findall(r"<td.*?>(.*?)</td>", line, re.S)] for line in lines]
    return [line for line in cells if line]


def invented(**more):
    given = {
        "answer": "removal", "kind": "burn", "quantity": "removal rate", "unit": "mm³/min",
        "what": "<img src=x>: steel", "source": "<b>", "how_read": "read", "published": 4.0,
        "predicted": Estimate(10.0, 0.1),
    } | more  # fmt: skip
    return Check(**given)


# --- the page against the tests --------------------------------------------------------------
def test_the_page_shows_the_checks_of_the_tests(page):
    assert page.checks == evidence.checks()
    named = {(c.what, c.quantity, c.published, c.source) for c in page.checks}
    seen = set()
    for choice in page.choices:
        page.pick.value = choice
        listed = rows(page._numbers.value)
        assert len(listed) == len(page.showing)
        for check, line in zip(page.showing, listed, strict=True):
            assert line[0] == ": ".join(filter(None, (check.what, check.quantity)))
            assert line[3] == check.unit and check.source in line[5] and check.how_read in line[5]
            seen.add((check.what, check.quantity, check.published, check.source))
    assert seen == named


def test_the_verdict_follows_from_the_numbers_shown(page):
    # recomputed from the rounded texts: published against the ends of the band
    page.pick.value = panel.BURNS
    for _, published, predicted, _, verdict, _ in rows(page._numbers.value):
        value = float(published.replace(NARROW, ""))
        ends = re.findall(r"[\d.]+", predicted.replace(NARROW, ""))
        likely, low, high = (float(number) for number in ends)
        if not (0.95 < value / low < 1.05 or 0.95 < value / high < 1.05):  # rounded to two digits
            assert ("MISS" in verdict) == (not low <= value <= high)
        if "MISS" in verdict:
            times = float(re.search(r"([\d.]+) times", verdict).group(1))
            assert times == pytest.approx(max(likely / value, value / likely), rel=0.06)
            assert any(word in verdict for word in ("slow", "little", "fine")) == (likely < value)


def test_the_glance_counts_and_names_the_misses(page):
    said = panel.glance(page.checks)
    assert plain(said) in shown(page, folded=False)
    measured = [check for check in page.checks if check.kind == "burn"]
    wrong = [c for c in measured if not c.predicted.low <= c.published <= c.predicted.high]
    assert said.startswith(f"{len(measured) - len(wrong)} of {len(measured)} published burns")
    assert f"The {len(wrong)} that do not:" in said
    for check in wrong:
        assert check.what.split(": ")[1].split(",")[0] in said and check.quantity in said


def test_no_miss_no_list():
    good = invented(published=10.0)
    assert panel.glance([good]) == "1 of 1 published burns lie inside the band."
    assert "<li>" not in panel.wrong([good])


def test_every_miss_stands_in_sight(page):
    text = shown(page, folded=False)
    for check in page.checks:
        if check.kind in ("burn", "trend") and not check.inside:
            assert check.what.split(":")[0] in text and check.quantity.split(",")[0] in text
    for source in ("Elias 2025", "aluminium", "brass", "DiBitonto 1989", "NiTi"):
        assert source in text
    for what, stands in evidence.UNMEASURED:
        assert what in text and stands in text
    for left in evidence.uncompared():
        assert left.what in shown(page) and left.why in shown(page)


def test_how_many_were_measured_is_counted(page):
    text = panel.checked(page.checks)
    by_name = {line[0]: line for line in rows(text)}
    for answer, name in evidence.ANSWERS.items():
        if answer == "sums":
            continue
        mine = [check for check in page.checks if check.answer == answer]
        measured = [check for check in mine if check.kind == "burn"]
        inside = sum(check.inside for check in measured)
        counted = f"{inside} of {len(measured)}" if measured else "none measured"
        assert by_name[name][1] == counted
    known = sum(check.fitted for check in page.checks if check.kind == "burn")
    assert f"{known} of the burns were known" in text


@pytest.mark.parametrize(
    "factor, quantity, words",
    [
        (3.1, "removal rate", "3.1 times too fast"),
        (0.5, "removal rate", "2 times too slow"),
        (2, "Ra", "2 times too rough"),
        (0.25, "best on-time", "4 times too short"),
        (3, "side gap", "3 times too high"),
    ],
)
def test_a_miss_in_words(factor, quantity, words):
    assert panel.too(factor, quantity) == words


# --- the picture -----------------------------------------------------------------------------
@pytest.mark.parametrize("choice", [panel.BURNS, "removal", "finish", "wear", "gap", "heat",
                                    "on-time"])  # fmt: skip
def test_each_choice_is_drawn_worst_on_top(page, choice):
    page.pick.value = choice
    asked = [c for c in page.checks if c.kind != "standard" and (
        c.kind == "burn" if choice == panel.BURNS else c.answer == choice)]  # fmt: skip
    assert sorted(map(id, asked)) == sorted(map(id, page.showing))
    off = [check.off for check in page.showing]
    assert off == sorted(off, reverse=True) and page.picture.layout.display is None
    lines, figure = lines_of(page.showing), page.figure
    ticks = figure.layout.yaxis.ticktext
    assert len(ticks) == len(lines)
    assert [("MISS" in tick) for tick in ticks] == [not line.inside for line in lines]
    drawn = len(figure.data[2].x) + len(figure.data[3].x)
    assert drawn == len(page.showing)
    assert figure.layout.height > 20 * len(lines)
    inside = sum(check.inside for check in page.showing)
    assert f"{inside} of {len(page.showing)} inside" in plain(page._line.value)


def test_standards_and_sums_are_numbers_without_a_picture(page):
    page.pick.value = panel.SUMS
    assert page.picture.layout.display == "none"
    assert {check.kind for check in page.showing} == {"standard", "textbook"}
    assert "MISS" not in page._numbers.value and "agrees within" in page._numbers.value


# --- how it reads ----------------------------------------------------------------------------
def test_what_was_read_is_shown_as_text():
    table = panel.numbers([invented()])
    assert "<img" not in table and "&lt;img" in table and "<b>;" not in table
    assert "<img" not in panel.wrong([invented()])
    assert "<img" not in panel.wrong([invented() for _ in range(3)])
    assert "<img" not in panel.wrong([invented(unit="times")])


def test_an_open_end_and_a_range_in_words():
    texts = [rows(panel.numbers([invented(published=ends, predicted=10.0)]))[0][1]
             for ends in ((0, 12), (8, np.inf), (8, 12))]  # fmt: skip
    assert texts == ["up to 12", "over 8", "8 to 12"]
    span = invented(predicted=Estimate(10.0, np.log(2) / 1.6449), spans=True)
    assert rows(panel.numbers([span]))[0][2] == "5 to 20"


def test_three_digits_at_most(page):
    for choice in page.choices:
        page.pick.value = choice
        for line in rows(page._numbers.value):
            for number in re.findall(r"\d[\d.\u202f]*", f"{line[1]} {line[2]}"):
                assert len(number.replace(NARROW, "").replace(".", "").strip("0")) <= 3


def test_page_is_questions_and_short_enough(page):
    cells = json.loads((shipped("notebooks") / NAME).read_text(encoding="utf-8"))["cells"]
    texts = ["".join(c["source"]) for c in cells if c["cell_type"] == "markdown"]
    words = len(plain(" ".join(texts)).split())
    assert 250 < words < 450
    assert words + len(shown(page, folded=False).split()) < 1100
    headings = re.findall(r"<h3>(.*?)</h3>", " ".join(
        w.value for w in everything(page) if isinstance(w, widgets.HTML)))  # fmt: skip
    assert sum(heading.endswith("?") for heading in headings) == 3
    assert texts[0].startswith("# How far to trust it?")
