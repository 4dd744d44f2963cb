"""Numbers as a person reads them, and the front of a map."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edmkit.finder import non_dominated
from edmkit.words import Display, stepped, three, two


@pytest.mark.parametrize(
    "number, shown",
    [
        (0.123456, "0.123"),
        (1.2349, "1.23"),
        (12.35, "12.3"),
        (99.96, "100"),
        (1234.5, "1\N{NARROW NO-BREAK SPACE}230"),
        (0, "0"),
        (-2.5, "-2.5"),
        (0.00999, "0.00999"),
        (math.nan, "no figure"),
    ],
)
def test_three_digits(number, shown):
    assert three(number) == shown


def test_two_digits():
    assert [two(v) for v in (0.1234, 15.6, 634, math.nan)] == ["0.12", "16", "630", "no figure"]


@given(st.floats(1e-6, 1e8))
def test_no_more_than_three_digits_and_within_half_of_the_third(number):
    said = three(number).replace("\N{NARROW NO-BREAK SPACE}", "")
    assert len(said.replace(".", "").strip("0")) <= 3
    assert abs(float(said) / number - 1) < 0.0051


@pytest.mark.parametrize(
    "value, step, shown",
    [(0.2359, 0.01, "0.24"), (0.2359, 0.002, "0.236"), (5.637, 0.005, "5.635"), (7, 1, "7")],
)
def test_a_size_is_rounded_to_the_dial(value, step, shown):
    assert stepped(value, step) == shown


def test_an_inch_is_25_4_mm_exactly():
    inch, metric = Display(inches=True), Display()
    assert inch.length(25.4) == pytest.approx(1, rel=1e-15)
    assert inch.length_mm(1) == pytest.approx(25.4, rel=1e-15)
    assert inch.fine(25.4) == pytest.approx(1, rel=1e-15)  # µm in a thou
    assert inch.rough(3.2) == pytest.approx(3.2 / 0.0254, rel=1e-12)  # µin
    assert inch.rate(25.4**3 / 60) == pytest.approx(1, rel=1e-12)  # in³/h
    assert (metric.length(2), metric.fine(3), metric.rough(4), metric.rate(5)) == (2, 3, 4, 5)
    assert metric.size_text(2.9864, 0.01) == "2.99 mm"
    assert inch.size_text(2.9864, 0.01) == "0.1176 in"


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=40))
def test_the_front_is_that_of_a_double_loop(points):
    first, second = (np.array(column, dtype=float) for column in zip(*points, strict=True))
    front = non_dominated(first, second)
    kept = {p for p, on in zip(points, front, strict=True) if on}
    beaten = {p for p in points for q in points if q[0] <= p[0] and q[1] <= p[1] and q != p}
    assert kept == set(points) - beaten


def test_what_has_no_figure_is_not_on_the_front():
    first, second = np.array([1.0, np.nan, 2.0, 3.0]), np.array([3.0, 0.0, np.nan, 1.0])
    assert non_dominated(first, second).tolist() == [True, False, False, True]
