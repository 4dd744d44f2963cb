"""The burn cards of the three demo jobs, as Chromium prints them."""

import re
from datetime import date

import browser_kit
import pytest
from test_plan import SETTINGS, demo, planned

from edmkit.panels.plan_demos import DEMOS
from edmkit.planning.card import PAPERS
from edmkit.planning.gate import Gate
from edmkit.planning.stages import Stage
from edmkit.words import Display


@pytest.fixture(scope="module")
def chromium():
    browser_kit.need_chromium()
    with browser_kit.browser() as chromium:
        yield chromium


@pytest.fixture(scope="module")
def plans():
    """Return the plan of each demo job by name."""
    return {name: demo(name) for name in DEMOS}


def gate(**answers):
    """Return a gate with everything answered for today."""
    given = {"level_over_spark_mm": 60.0, "attended": True, "gas_leaves_part": True,
             "gas_leaves_electrode": True, "current_off_before_lowering": True,
             "earth_checked": True}  # fmt: skip
    return Gate(day=date.today().isoformat(), fluid="edm_oil", **{**given, **answers})


@pytest.mark.parametrize("inches", [False, True], ids=["mm", "inch"])
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", DEMOS)
def test_each_demo_is_one_page(chromium, plans, name, paper, inches):
    context = chromium.new_context(offline=True)
    page = context.new_page()
    page.emulate_media(media="print")
    page.set_content(plans[name].card_html(gate(), Display(inches), paper, name=name))
    printed = page.pdf(prefer_css_page_size=True)
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    context.close()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    assert wide <= 0


@pytest.mark.parametrize("name", DEMOS)
def test_the_card_carries_what_is_set(plans, name):
    text = plans[name].card_html(gate(), name=name)
    words = re.sub(r"<[^>]+>", " ", text)
    for made in plans[name].passes:
        assert f"{made.stop.set_mm:.2f} mm" in words
        for reading in made.readings:
            assert f"{reading.mm:.2f}" in words
        for step in made.ramp.steps[1:]:
            assert f"{step.depth_mm:.2f}" in words
    assert "Ohms, part to table" in words and "manual" in words
    assert 1 <= text.count("<li>") <= 3 + text.count("<ol")  # three cautions at most


def test_a_bored_rod_alone_is_drawn_with_its_pip():
    made = planned(stages=(Stage("rough", SETTINGS, bore_mm=1.0),))
    assert 'data-part="pip"' in made.card_html(gate())
