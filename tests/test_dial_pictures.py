"""The pictures of page 01: readable, labelled, and wired as their words say."""

import re
from itertools import pairwise

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_drawing import SVG, check_words, parsed, part, words

from edmkit.panels.dial_pictures import PICTURES

MACHINES = ("electrode up", "pressed", "phone", "resistor")


def lines(tree, colour="#1a1a1a"):
    """Return every open line of a colour as points."""
    found = [e for e in tree.iter(f"{SVG}path") if e.get("stroke") == colour]
    return [
        np.array(re.findall(r"([-\d.]+),([-\d.]+)", e.get("d")), float)
        for e in found
        if e.get("data-part") is None
    ]


def edges(tree, name):
    """Return left, right, top and bottom of a part."""
    x, y = np.array(part(tree, name)).T
    return x.min(), x.max(), y.min(), y.max()


def touches(tree, line, name):
    """Return whether an end of a line lies on the outline of a part."""
    left, right, top, bottom = edges(tree, name)
    inside = [left <= x <= right and top <= y <= bottom for x, y in (line[0], line[-1])]
    return any(inside)


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_whole_and_readable(name):
    drawn = PICTURES[name]()
    tree = parsed(drawn)
    assert float(tree.get("font-size")) >= 13 and 280 <= float(tree.get("width")) <= 340
    assert len(tree.get("aria-label")) > 20
    check_words(tree)
    points = np.array(re.findall(r"[ML](-?[\d.]+),(-?[\d.]+)", drawn), float)
    assert points.min() >= 0
    assert (points.max(axis=0) <= [float(tree.get("width")), float(tree.get("height"))]).all()


def test_no_two_parts_of_a_page_share_an_id():
    ids = re.findall(r' id="([^"]+)"', "".join(draw() for draw in PICTURES.values()))
    assert len(ids) == len(set(ids))
    labels = [parsed(draw()).get("aria-label") for draw in PICTURES.values()]
    assert len(labels) == len(set(labels))


@pytest.mark.parametrize("name", MACHINES)
def test_the_electrode_is_down_only_where_it_is_pressed(name):
    tree = parsed(PICTURES[name]())
    gap = edges(tree, "work")[2] - edges(tree, "electrode")[3]
    pressed = "pressed" in [word.text for word in words(tree)]
    assert pressed == (name in ("pressed", "phone"))
    assert gap == 0 if pressed else gap > 30


@pytest.mark.parametrize(
    ("name", "colour", "joined"),
    [
        ("electrode up", "#0072b2", ({"electrode", "meter"}, {"meter", "work"})),
        ("resistor", "#d55e00", ({"electrode", "resistor"}, {"resistor", "work"})),
    ],
)
def test_what_is_read_lies_between_electrode_and_work(name, colour, joined):
    tree = parsed(PICTURES[name]())
    parts = {"electrode", "work", *(set.union(*joined) - {"electrode", "work"})}
    found = [{p for p in parts if touches(tree, line, p)} for line in lines(tree, colour)]
    assert sorted(map(sorted, found)) == sorted(map(sorted, joined))


@pytest.mark.parametrize("name", ["pressed", "resistor"])
def test_the_ammeter_lies_in_the_lead_and_never_across(name):
    tree = parsed(PICTURES[name]())
    at = [line for line in lines(tree) if touches(tree, line, "meter")]
    ends = [{p for p in ("generator", "head", "work") if touches(tree, line, p)} for line in at]
    assert ends == [{"generator"}, {"head"}]


@pytest.mark.parametrize("name", ["two kinds", "mean"])
def test_the_mean_is_drawn_at_the_height_of_the_mean(name):
    tree = parsed(PICTURES[name]())
    dashed = next(e for e in tree.iter(f"{SVG}path") if e.get("stroke-dasharray"))
    (_, mean), _ = re.findall(r"([-\d.]+),([-\d.]+)", dashed.get("d"))
    train = max(lines(tree), key=len)
    floor, top = train[:, 1].max(), train[:, 1].min()
    steps = [(x, y1 - y) for (x, y), (x1, y1) in pairwise(train) if x == x1]
    rises, falls = [x for x, y in steps if y < 0], [x for x, y in steps if y > 0]
    share = (falls[0] - rises[0]) / (rises[1] - rises[0])
    assert_allclose(float(mean), floor - (floor - top) * share, atol=0.5)
