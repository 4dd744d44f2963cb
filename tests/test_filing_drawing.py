"""The drawing of a filed insert: to scale, its number the micrometer's, and on the card."""

import re
from dataclasses import replace

import browser_kit
import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_card import LINES, POINT, SIZES, SMALLEST_PT, STICKS_OUT
from test_card_demos import gate
from test_drawing import SVG, check_words, parsed, part, words
from test_plan import SETTINGS, flat, planned

import edmkit as ek
from edmkit.planning.card import PAPERS
from edmkit.planning.filing_drawing import filing
from edmkit.planning.stages import Stage
from edmkit.words import Display

TWO = ek.InsertTube(3.0, 1.0, 1.0, 2, 0.15, 12.0)


def dimension(tree, place=0):
    """Return the two ends of a dimension line."""
    lines = [g for g in tree.iter(f"{SVG}g") if g.get("data-part") == "dimension"]
    found = re.findall(r"([-\d.]+),([-\d.]+)", next(lines[place].iter(f"{SVG}path")).get("d"))
    return np.array(found, float)


# --- filing ---
@pytest.mark.parametrize(
    "flats, depth, read",
    # by hand: 1.00 - 0.18; 1.00 - 2 x 0.15; 1.00 - 0.13; 1.00 - 2 x 0.12
    [(1, 0.18, 0.82), (2, 0.15, 0.70), (3, 0.13, 0.87), (4, 0.12, 0.76)],
)
@pytest.mark.parametrize("width", [90, 360])
def test_the_dimension_is_as_long_as_its_number(flats, depth, read, width):
    tree = parsed(filing(replace(TWO, flats=flats, flat_depth=depth), width=width))
    scale = np.ptp([x for x, _ in part(tree, "bore")]) / 1.0
    (x0, _), (x1, _) = dimension(tree)
    assert_allclose((x1 - x0) / scale, read, atol=0.01)
    assert f"{read:.2f} mm" in [word.text for word in words(tree)]
    # the line is where the metal is: from one side of the insert to the other
    insert = np.array(part(tree, "insert"))
    assert_allclose([insert[:, 0].min(), insert[:, 0].max()], [x0, x1], atol=0.02 * scale)


@pytest.mark.parametrize("display", [Display(), Display(inches=True)])
@pytest.mark.parametrize("tube", [TWO, ek.InsertTube(60.0, 40.0, 39.95, 3, 4.0, 250.0)])
@pytest.mark.parametrize("size", [(360, 200), (340, 170), (90, 112)])
def test_no_words_are_cut_off(tube, display, size):
    tree = parsed(filing(tube, display=display, width=size[0], height=size[1]))
    check_words(tree)
    drawn = [x for name in ("tube", "bore", "insert") for x in part(tree, name)]
    assert np.min(drawn) >= 0 and np.max(drawn) <= max(size)


def test_the_side_says_the_length_of_the_flats():
    said = [word.text for word in words(parsed(filing(TWO)))]
    assert "12.0 mm" in said and "over two flats: 2 flats, 0.15 mm deep" in said
    said = [word.text for word in words(parsed(filing(TWO, display=Display(inches=True))))]
    assert "0.0276 in" in said and "0.472 in" in said


def test_the_ways_of_the_fluid_stay_open():
    """Between a flat and the bore there is white: the insert's outline leaves them."""
    tree = parsed(filing(TWO))
    bore, insert = (np.array(part(tree, name)) for name in ("bore", "insert"))
    way = np.max(bore[:, 0]) - np.max(insert[:, 0])
    assert_allclose(way / np.ptp(bore[:, 0]), 0.15, atol=0.005)


# --- on the card ---
def with_insert(passes):
    """Return a plan whose first electrode is a tube with a filed insert."""
    tube = ek.InsertTube(5.9, 2.0, 2.0, 2, 0.3, 15.0)
    others = (Stage("finish", SETTINGS), Stage("square the floor", SETTINGS))
    return planned(flat(ek.Round(6.0), 8.0), [Stage("rough", SETTINGS, section=tube),
                                              *others[:passes - 1]])  # fmt: skip


@pytest.fixture(scope="module")
def chromium():
    browser_kit.need_chromium()
    with browser_kit.browser() as chromium:
        yield chromium


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("passes", [1, 2, 3])
@pytest.mark.parametrize("inches", [False, True])
def test_the_card_prints_the_pin_on_one_page(chromium, passes, paper, inches):
    context = chromium.new_context(offline=True)
    page = context.new_page()
    page.emulate_media(media="print")
    page.set_content(with_insert(passes).card_html(gate(), Display(inches), paper))
    assert len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True))) == 1
    assert page.evaluate(STICKS_OUT) == []
    assert page.locator('.make svg [data-part="insert"]').count() == 1
    assert all(size >= SMALLEST_PT * POINT - 0.01 for size, _, _ in page.evaluate(SIZES))
    assert set(page.evaluate(LINES)) <= {"none", "rgb(0, 0, 0)"}
    context.close()


def test_a_pass_without_a_pin_has_no_drawing_of_one():
    made = planned(stages=(Stage("rough", SETTINGS, bore_mm=1.0),))
    assert 'data-part="insert"' not in made.card_html(gate())
