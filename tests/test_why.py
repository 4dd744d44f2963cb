"""The working on the page: questions, units, origins; nothing worked out that nobody looks at."""

import html
import re

import pytest

from edmkit.panels import why
from edmkit.panels.memory import Memory
from edmkit.panels.which_settings import WhichSettings
from edmkit.panels.why import QUESTIONS, step_html, written
from edmkit.working import sources, steps
from edmkit.working.formula import Given, Step


@pytest.fixture
def page(tmp_path):
    return WhichSettings(memory=None, folder=tmp_path)


@pytest.fixture
def opened(page):
    page._why_fold.selected_index = 0
    return page


def text(markup):
    """Return what a person reads of HTML."""
    bare = re.sub(r"<style>.*?</style>", "", markup, flags=re.S)
    bare = bare.replace("<sup>", "^").replace("<br>", " ").replace("<div", " <div")
    return html.unescape(re.sub("[ \n]+", " ", re.sub("<[^>]+>", "", bare)))


def said(page, answer):
    """Return the text under one question."""
    page.why.fold.selected_index = list(QUESTIONS).index(answer)
    return text(page.why._texts[answer].value)


# --- only worked out while in sight ----------------------------------------------------------
def test_nothing_is_built_or_worked_out_before_it_is_unfolded(page, monkeypatch):
    counted = []
    monkeypatch.setattr(why, "steps", lambda *a: counted.append(a) or steps(*a))
    page.switch_controls.rows["on_time_us"].step(1)
    assert counted == [] and page.why.children == ()
    page._why_fold.selected_index = 0
    assert len(counted) == 1 and page.why.children
    page.switch_controls.rows["on_time_us"].step(1)
    assert len(counted) == 2
    page.why.fold.selected_index = None
    page.switch_controls.rows["on_time_us"].step(1)
    assert len(counted) == 2
    page.why.fold.selected_index = 1
    page._why_fold.selected_index = None
    page.switch_controls.rows["on_time_us"].step(1)
    assert len(counted) == 3


def test_only_the_open_question_is_written(opened):
    written_out = [bool(opened.why._texts[answer].value) for answer in QUESTIONS]
    assert written_out == [True] + [False] * (len(QUESTIONS) - 1)


# --- what it says ----------------------------------------------------------------------------
def test_the_first_question_is_why_these_minutes(opened):
    assert opened.why.fold.titles[opened.why.fold.selected_index] == "Why these minutes?"
    assert all(title.endswith("?") for title in opened.why.fold.titles)


def test_every_step_stands_under_a_question(opened):
    working = steps(opened.hole.burn, opened.hole)
    assert {step.answer for step in working} == set(QUESTIONS)
    shown = " ".join(said(opened, answer) for answer in QUESTIONS)
    for step in working:
        assert step.name[1:] in shown


def test_a_formula_stands_with_symbols_numbers_and_result(opened):
    (step,) = [s for s in steps(opened.hole.burn, opened.hole) if s.symbol == "Ra"]
    line = said(opened, sources.FINISH)
    assert f"Ra = {step.in_symbols.replace('_', '')} = {step.in_numbers} = {step.result}" in line
    for symbol, part in step.inputs.items():
        if not part.constant:
            assert f"{symbol.replace('_', '')} {part.words}: {part.text}" in line


def test_the_minutes_are_those_of_the_tile(opened):
    (step,) = [s for s in steps(opened.hole.burn, opened.hole) if s.symbol == "t_h"]
    assert step.value == opened.hole.minutes.likely
    assert step.result in said(opened, sources.MINUTES)


def test_the_working_follows_the_switches(opened):
    before = said(opened, sources.SPARK)
    opened.switch_controls.rows["peak_current_A"].step(1)
    assert said(opened, sources.SPARK) != before
    (step,) = [s for s in steps(opened.hole.burn) if s.name == "spark current"]
    assert step.result in said(opened, sources.SPARK)


def test_one_click_says_where_each_number_comes_from(opened):
    line = said(opened, sources.SPARK)
    assert "Ikai and Hashiguchi" not in line
    opened.why.origins.value = True
    line = said(opened, sources.SPARK)
    for origin in (
        "Ikai and Hashiguchi (1995), ISEM-XI, 163-170; from memory",
        "no measured crater checks it",
        "switch position",
        "material file, Bearing steel 52100",
        "assumption",
    ):
        assert origin in line
    opened.switch_controls.rows["on_time_us"].step(1)
    assert "Ikai and Hashiguchi" in said(opened, sources.SPARK)


def test_headlines_stand_in_the_units_of_the_page(opened):
    side = opened.hole.burn.gap_side_um.likely
    assert f"per side {side:.3g} µm" in said(opened, sources.SIDE)
    assert "thou" not in text(opened.why._intro.value)
    opened.units.value = True
    assert f"per side {side / 25.4:.3g} thou" in said(opened, sources.SIDE)
    assert "1 thou is 25.4 µm" in text(opened.why._intro.value)


def test_a_pair_without_a_figure_says_what_to_do(opened):
    opened.setup_controls.work.value = "Ti64"
    opened.setup_controls.polarity.value = "electrode negative"
    assert "burn a trial and measure it" in said(opened, sources.WEAR)
    assert "nan" not in said(opened, sources.WEAR)


def test_what_was_learned_shows_as_the_shop_s_factor(opened):
    assert "no trial of this shop" in said(opened, sources.MINUTES)
    opened.record.selected_index = 0
    opened.record.content.fields["minutes"].first.type("30")
    opened.record.content.save.click()
    line = said(opened, sources.MINUTES)
    assert "no trial of this shop" not in line and "logarithm of the level" in line


def test_every_machine_and_every_material_has_a_working(opened):
    for _, path in (*opened.files, ("", "")):
        opened.machine_pick.value = path
        assert opened.message == "" and said(opened, sources.PULSES)
    for work in ("O1", "304", "WC-6Co", "alloy718"):
        opened.setup_controls.work.value = work
        assert opened.message == "" and said(opened, sources.HEAT)


# --- how it is written -----------------------------------------------------------------------
@pytest.mark.parametrize(
    ("formula", "markup"),
    [
        ("R^2", "R<sup>2</sup>"),
        ("(t / 10^6)^0.44", "(t / 10<sup>6</sup>)<sup>0.44</sup>"),
        ("2.133 × 10^−5", "2.133 × 10<sup>−5</sup>"),
        ("(t + t_s)^−0.85", "(t + t<sub>s</sub>)<sup>−0.85</sup>"),
        ("a < b & c", "a &lt; b &amp; c"),
    ],
)
def test_powers_are_raised_and_indices_lowered(formula, markup):
    assert written(formula) == markup


@pytest.mark.parametrize("with_origins", [False, True])
def test_what_others_wrote_is_shown_as_text(with_origins):
    bad = "<img src=x onerror=alert(1)>"
    part = Given(bad, 1.0, bad, bad)
    for expression in ("2*x", ""):
        inputs = {"x": part} if expression else {}
        step = Step("minutes", f"b{bad}", "y", expression, inputs, 2.0, bad, bad)
        shown = step_html(step, with_origins)
        assert "<img" not in shown and "&lt;img" in shown


def test_a_machine_s_label_is_shown_as_text(tmp_path):
    demo = next(p for name, p in WhichSettings(memory=None).files if "old" in name)
    lines = open(demo, encoding="utf-8").read()
    evil = lines.replace('label = "', 'label = "<b onclick=x>')
    (tmp_path / "mine.toml").write_text(evil, encoding="utf-8")
    page = WhichSettings(memory=Memory(tmp_path / "home"), folder=tmp_path)
    page._why_fold.selected_index = 0
    page.why.origins.value = True
    said(page, sources.SPARK)
    markup = page.why._texts[sources.SPARK].value
    assert "<b onclick" not in markup and "&lt;b onclick" in markup
