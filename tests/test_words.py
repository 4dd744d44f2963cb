"""Numbers as a person reads them, and the front of a map."""

import math
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edmkit.checks import Refusal
from edmkit.finder.front import non_dominated
from edmkit.words import Display, read_length, stepped, three, two

MM, INCH = Display(), Display(inches=True)


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


# --- lengths as they are typed: an inch is 25.4 mm by definition ------------------------------
@pytest.mark.parametrize(
    "typed, mm",
    [
        ("3.05", 3.05),
        (" 3.05 ", 3.05),
        ("3.", 3.0),
        (".5", 0.5),
        ("-4", -4.0),
        ("\N{MINUS SIGN}4", -4.0),
        ("+0.06", 0.06),
        ("3.05 mm", 3.05),
        ("3.05mm", 3.05),
        ("0.1200 in", 3.048),
        ("0.1200 IN", 3.048),
        ("0.1200 inch", 3.048),
        ('0.1200"', 3.048),
        ("0.1200\N{DOUBLE PRIME}", 3.048),
        ("1/8 in", 3.175),
        ("3 1/2 in", 88.9),
        ("5 thou", 0.127),
        ("50 µm", 0.05),
        ("50 \N{GREEK SMALL LETTER MU}m", 0.05),
        ("50um", 0.05),
    ],
)
def test_a_length_with_its_unit_is_read_exactly_in_either_display(typed, mm):
    assert read_length(typed, MM) == mm
    if typed.strip()[-1].isdigit() or typed.endswith("."):
        assert read_length(typed, INCH) == float(Decimal(str(mm)) * Decimal("25.4"))
    else:
        assert read_length(typed, INCH) == mm


@pytest.mark.parametrize("typed, mm", [("3 1/2", 88.9), ("1/8", 3.175), ("0.1200", 3.048)])
def test_inches_may_be_a_fraction(typed, mm):
    assert read_length(typed, INCH) == mm


@pytest.mark.parametrize(
    "typed, advice",
    [
        ("3 1/2", r"write 3\.5, or 3 1/2 in for inches"),
        ("1/8", r"write 0\.125, or 1/8 in for inches"),
        ("3,05", r"write 3\.05, with a point"),
        ("3,05 mm", r"write 3\.05 mm, with a point"),
    ],
)
def test_what_could_be_meant_is_said_but_not_taken(typed, advice):
    with pytest.raises(Refusal, match=f"Depth must be so, got '{typed}': {advice}"):
        read_length(typed, MM, "Depth must be so")


@pytest.mark.parametrize("display", [MM, INCH])
@pytest.mark.parametrize(
    "typed",
    ["", " ", "1e3", "nan", "inf", "3.05.1", "3 05", "1 000", "1,234.5", "--", "-", ".", "- 4",
     "3-1/2", "3 5/4", "1/0", "/8", "3 1/2 1/4", "3.5 1/2", "3.05 cm", "3.05 mm mm", "3 mm 2",
     "0x10", "1_0", "(3)", "\N{VULGAR FRACTION ONE HALF}", "3\N{VULGAR FRACTION ONE HALF}",
     "\N{ARABIC-INDIC DIGIT THREE}", "9" * 400],
)  # fmt: skip
def test_anything_else_is_refused(typed, display):
    with pytest.raises(Refusal, match=r"a length must be a number of (mm|in), got"):
        read_length(typed, display)


@given(st.decimals(0, 999, places=4), st.sampled_from([("", MM), (" in", MM), ("", INCH)]))
def test_a_decimal_is_exact_in_both_units(number, shown):
    unit, display = shown
    factor = Decimal(1) if not unit and display is MM else Decimal("25.4")
    assert read_length(f"{number}{unit}", display) == float(number * factor)


@given(st.text("0123456789.,/ +-einmµ\"'", max_size=12))
def test_no_text_breaks_it_and_digits_are_never_lost(typed):
    try:
        value = read_length(typed, MM)
    except Refusal:
        return
    assert math.isfinite(value) and "," not in typed
    if set(typed.strip()) <= set("0123456789."):
        assert value == float(typed)
