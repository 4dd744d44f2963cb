"""The sheet to hang at the machine: one page, readable, with nothing lost and nothing made up."""

import html as pages
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import browser_kit
import numpy as np
import pytest
from measured_kit import some_dials

from edmkit.checks import Refusal
from edmkit.dials.make_machine import doubts, machine_of
from edmkit.dials.summary import summary_html

MANY = {
    name: [None if i in (3, 9) else float(v) for i, v in enumerate(np.geomspace(low, high, 24))]
    for name, low, high in (("peak_current_A", 0.5, 60), ("on_time_us", 1, 2400),
                            ("off_time_us", 1.2, 3000))
}  # fmt: skip
CASES = {
    "usual": some_dials(),
    "tiny": some_dials(peak_current_A=[3.0], on_time_us=[20.0], off_time_us=[20.0],
                       open_voltage_V=[110.0]),
    "adding, two voltages": some_dials(supply="two voltages", driving=82.3, adds=True),
    "24 of each": some_dials(
        **MANY, spread=0.06, kind="", supply="", factor_known=False,
        faults=[("peak_current_A", "3", "its readings lie 18 % below the others"),
                ("on_time_us", "8", "its readings scatter by 30 %"),
                ("off_time_us", "18", "its readings scatter by 30 %")],
        told={"note": "The print beside the time switches is partly worn off. Moved once."},
    ),
    "16 of each": some_dials(**{n: v[:16] for n, v in MANY.items()}, kind="", supply="regulated"),
}  # fmt: skip


def sheet(dials, paper="A4", **changed):
    return summary_html(dials, replace(machine_of(dials), **changed), paper)


def seen(html):
    """Return the words of a sheet without its markup."""
    body = re.sub(r"<(style|title).*?</\1>", " ", html, flags=re.S)
    return pages.unescape(" ".join(re.sub(r"<[^>]+>", " ", body).split()))


@pytest.fixture(scope="module")
def show():
    """Return a function that shows a sheet as it is printed, with nothing else at hand."""
    browser_kit.need_chromium()
    with browser_kit.browser() as chromium:
        context = chromium.new_context(offline=True)

        def opened(html):
            page = context.new_page()
            page.emulate_media(media="print")
            page.set_content(html)
            return page

        yield opened


# Cells whose words leave their box or the sheet, and cells that lie over one another.
STICKS_OUT = """() => {
    const sheet = document.querySelector('.sheet').getBoundingClientRect(), out = [];
    for (const box of document.querySelectorAll('td, th, dd, li, .voltage > *, h1')) {
        const around = box.getBoundingClientRect(), words = document.createRange();
        words.selectNodeContents(box);
        const inner = words.getBoundingClientRect();
        if (inner.right > around.right + 1 || inner.bottom > around.bottom + 2
            || around.right > sheet.right + 1) out.push(box.textContent);
    }
    return out;
}"""
SMALLEST = """() => Math.min(...[...document.querySelectorAll('.sheet *')].filter(
    e => e.textContent.trim()).map(e => parseFloat(getComputedStyle(e).fontSize))) * 0.75"""


# --- one page ---------------------------------------------------------------------------------
@pytest.mark.parametrize("paper, points", [("A4", (595, 842)), ("Letter", (612, 792))])
@pytest.mark.parametrize("case", CASES)
def test_one_page_exactly(show, case, paper, points):
    """Sizes in points: ISO 216 A4 is 210 x 297 mm, Letter 8.5 x 11 in."""
    page = show(sheet(CASES[case], paper))
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", printed)
    assert tuple(float(side) for side in box.groups()) == pytest.approx(points, abs=1)
    assert page.evaluate(STICKS_OUT) == []
    assert page.evaluate(SMALLEST) >= 8.9  # points; the burn card's own least
    page.close()


def test_long_labels_break_and_leave_nothing_out(show):
    dials = some_dials()
    positions = tuple(replace(p, label=f"fine finishing {p.label}")
                      for p in dials.on_time_us.positions)  # fmt: skip
    dials = replace(dials, on_time_us=replace(dials.on_time_us, positions=positions))
    page = show(sheet(dials))
    assert page.evaluate(STICKS_OUT) == []
    page.close()


# --- what it says -----------------------------------------------------------------------------
def test_every_position_with_value_and_band():
    """By hand: 12 A with a spread of 0.02 lies between 12 exp(-+0.0329), 11.6 and 12.4."""
    words = seen(sheet(some_dials()))
    assert "6 12 9.86 11.6 to 12.4" in words  # and 12 (140 - 25)/140 in a spark
    assert "5 52 50.3 to 53.7" in words and "Open voltage 1 100 V 96.8 to 103" in words


def test_spark_amps_stand_beside_short_ones_only_where_they_differ():
    assert "in a spark" in seen(sheet(some_dials()))
    regulated = seen(sheet(some_dials(supply="regulated")))
    assert "in a spark" not in regulated and "those of a spark" in regulated


def test_a_driving_voltage_gives_the_spark_amps():
    """By hand: 12 A x (80 - 25)/80 = 8.25 A."""
    words = seen(sheet(some_dials(supply="two voltages", driving=80.0)))
    assert "6 12 8.25 11.6 to 12.4" in words and "copper at 80 V" in words
    assert "The open voltage only starts the spark." in words


@pytest.mark.parametrize(
    ("kind", "words"),
    [("from breakdown", "starts when the spark does"),
     ("in a fixed period", "Waiting for the spark is part of the on-time")],
)  # fmt: skip
def test_how_the_on_time_counts(kind, words):
    assert words in seen(sheet(some_dials(kind=kind)))


def test_unknown_plate_and_faulty_positions_are_marked():
    dials = some_dials(off_time_us=[10.0, None, 40.0],
                       faults=[("on_time_us", "3", "it scatters")])  # fmt: skip
    first, *rest = dials.peak_current_A.positions
    plate = replace(first, how_known="plate", spread=0.1)
    dials = replace(dials, peak_current_A=replace(dials.peak_current_A, positions=(plate, *rest)))
    words = seen(sheet(dials))
    assert "2 20?" in words
    assert "1.27 to 1.77 plate" in words  # 1.5 exp(-+0.1645)
    assert "3 11 10.6 to 11.4 faulty" in words
    for doubt in doubts(dials):
        assert doubt in words


def test_how_it_was_measured_is_said():
    dials = some_dials()
    words = seen(sheet(dials, path=Path("/somewhere/bench.toml")))
    assert f"{len(dials.survey.readings)} readings of the meters, 2026-05-03" in words
    assert "2 kHz at on-time 1, off-time 1" in words and "bench.toml" in words
    assert date.today().isoformat() in words
    assert "no readings of the meters" in seen(sheet(some_dials(told={"readings": ()})))


def test_what_is_known_leaves_no_list_of_doubts():
    assert "Not known yet" not in seen(sheet(some_dials()))
    assert "Not known yet" in seen(sheet(some_dials(kind="")))


def test_the_makers_manual_comes_first_and_live_parts_with_the_highest_voltage():
    words = seen(sheet(some_dials()))
    assert words.index("manual") < words.index("up to 140 V")


def test_three_digits_at_most():
    dials = some_dials(on_time_us=[1.2345, 12.345, 123.45], told={"plates": ()})
    figures = re.findall(r"\d[\d.]*", re.search(r"On-time (.*?) Off-time", seen(sheet(dials)))[1])
    assert all(len(f.replace(".", "").lstrip("0")) <= 3 for f in figures) and len(figures) >= 12


# --- hostile ----------------------------------------------------------------------------------
def test_typed_words_are_text_and_never_markup():
    dials = some_dials(name="<b>x</b>", told={"note": "<script>alert(1)</script>"})
    html = sheet(dials)
    assert "<script>" not in html and "<b>x</b>" not in html
    assert "<script>alert(1)</script>" in seen(html)


def test_nothing_is_fetched():
    assert not re.search(r"https?://|src=|url\(", sheet(some_dials()))


def test_another_paper_is_refused():
    with pytest.raises(Refusal, match="paper must be one of"):
        sheet(some_dials(), "A5")
