"""One form of refusal; the factors into SI."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edmkit import units
from edmkit.checks import RangeWarning, Refusal, one_of, require


def told(*args, **kwargs):
    """Return the sentence of the refusal that `require` raises."""
    with pytest.raises(Refusal) as refusal:
        require(*args, **kwargs)
    return str(refusal.value)


# --- require ---
@pytest.mark.parametrize(
    "value, got",
    [
        (50, "5e+07 µs: times are seconds."),
        (math.nan, "nan µs: times are seconds."),
        (math.inf, "inf µs: times are seconds."),
        (-1e-6, "-1 µs: times are seconds."),
        ([1e-6, 2e-6, 30e-3], "30000 µs: times are seconds."),
        ("fast", "'fast': times are seconds."),
        ("1,5", "'1,5': write 1.5, with a point."),
        (None, "None: times are seconds."),
        (True, "True: times are seconds."),
        (b"1", "b'1': times are seconds."),
        ([1e-6, "fast"], "[1e-06, 'fast']: times are seconds."),
    ],
)
def test_the_sentence_names_parameter_limit_value_and_knob(value, got):
    sentence = told("on_time", value, 0.05, 20_000, "µs", 1e-6, "times are seconds")
    assert sentence == f"on_time must be 0.05 to 20000 µs, got {got}"


def test_the_sentence_without_unit_and_knob():
    assert told("vdi_class", 46, 0, 45) == "vdi_class must be 0 to 45, got 46."


def test_a_refusal_is_a_value_error_and_a_warning_is_a_warning():
    assert issubclass(Refusal, ValueError)
    with pytest.warns(RangeWarning, match="beyond"):
        warnings.warn("beyond the data", RangeWarning, stacklevel=1)


@given(value=st.floats(-1e3, 1e3), low=st.floats(-1e3, 0), high=st.floats(0, 1e3))
def test_what_is_inside_passes_unchanged_and_what_is_outside_does_not(value, low, high):
    if low <= value <= high:
        assert require("x", value, low, high) == value
    else:
        assert told("x", value, low, high).startswith("x must be ")


@pytest.mark.parametrize("value", [["50"], np.array(["50"]), np.True_, [True, False]])
def test_text_and_yes_or_no_are_no_numbers_in_a_list_either(value):
    told("x", value, 0, 100)


def test_both_limits_are_allowed():
    assert require("x", [1.0, 2.0], 1, 2).tolist() == [1, 2]


def test_one_bad_number_in_an_array_refuses_the_whole():
    assert told("x", np.array([[1.0, 2.0], [3.0, math.nan]]), 0, 5).endswith("got nan.")


def test_shapes_pass_through():
    for value, shape in ((1.5, ()), (np.ones(3), (3,)), ([[1, 2], [3, 4]], (2, 2)), ([], (0,))):
        checked = require("x", value, 0, 5)
        assert isinstance(checked, np.ndarray) and checked.dtype == float
        assert checked.shape == shape


# --- one_of ---
WORDS = ("electrode positive", "electrode negative")


def test_a_known_word_passes_unchanged():
    for word in WORDS:
        assert one_of("polarity", word, WORDS) is word


@pytest.mark.parametrize(
    "value, end",
    [
        ("electrode positve", "did you mean 'electrode positive'?"),
        ("Electrode Negative", "did you mean 'electrode negative'?"),
        ("xyz", "pick one."),
        (None, "pick one."),
        (["electrode positive"], None),
    ],
)
def test_an_unknown_word_is_told_the_nearest(value, end):
    with pytest.raises(Refusal) as refusal:
        one_of("polarity", value, WORDS, "pick one")
    sentence = str(refusal.value)
    assert sentence.startswith(f"polarity must be one of {WORDS[0]!r}, {WORDS[1]!r}, got {value!r}")
    assert end is None or sentence.endswith(end)


@given(word=st.text(max_size=20))
def test_any_other_text_is_refused(word):
    if word not in WORDS:
        with pytest.raises(Refusal, match="polarity must be one of"):
            one_of("polarity", word, WORDS)


def test_the_words_may_come_from_any_iterable():
    assert one_of("polarity", "a", (word for word in "abc")) == "a"


# --- units ---
def test_factors_by_definition():
    # SI prefixes; the inch is 25.4 mm by definition, the thou a thousandth of it; 0 °C is 273.15 K
    assert (units.us, units.ms, units.minute) == (1e-6, 1e-3, 60)
    assert (units.um, units.mm, units.inch, units.thou) == (1e-6, 1e-3, 0.0254, 25.4e-6)
    assert (units.mm2, units.cm2, units.mm3, units.um3) == (1e-6, 1e-4, 1e-9, 1e-18)
    assert units.mm3_per_min == 1e-9 / 60
    assert (units.mJ, units.kHz, units.kPa, units.uF, units.uH) == (1e-3, 1e3, 1e3, 1e-6, 1e-6)
    assert (units.percent, units.ZERO_CELSIUS) == (0.01, 273.15)


@pytest.mark.parametrize(
    "one, other",
    [
        (units.mm**2, units.mm2),
        (units.um**3, units.um3),
        (1000 * units.thou, units.inch),
        (100 * units.mm2, units.cm2),
        (60 * units.mm3_per_min, units.mm3),
    ],
)
def test_factors_agree_with_each_other(one, other):
    assert one == pytest.approx(other, rel=1e-12)
