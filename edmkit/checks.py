"""One form of refusal: which number, what it may be, what it was, which knob to turn."""

import difflib

import numpy as np


class Refusal(ValueError):
    """An input that cannot be used; the text is a sentence a person can act on."""


class RangeWarning(UserWarning):
    """A result lies outside the range its data cover."""


def _shown(value):
    """Return a number as a person writes it, text in quotes."""
    number = isinstance(value, (int, float, np.number)) and not isinstance(value, bool)
    return f"{value:g}" if number else repr(value)


def require(name, value, low, high, unit="", factor=1.0, knob=""):
    """Return ``value`` as a float array after checking that it lies in [low, high].

    Parameters
    ----------
    name : str
        The parameter's own name, as its caller knows it.
    value : float or array
        What was given, in the caller's unit times ``factor``.
    low, high : float
        Limits in ``unit``, both allowed.
    unit : str
        Unit shown to the person.
    factor : float
        Turns ``unit`` into the unit of ``value``.
    knob : str
        What to change, added to the message.

    Raises
    ------
    Refusal
        If a value is outside, not a number at all, or NaN.
    """
    limits = f"{name} must be {low:g} to {high:g}{' ' if unit else ''}{unit}"
    advice = f": {knob}." if knob else "."
    try:
        given = np.asarray(value)
        if given.dtype.kind not in "iuf":  # text, booleans, None, ragged lists
            raise TypeError
        numbers = given.astype(float, copy=False)
    except (TypeError, ValueError, OverflowError):
        comma = isinstance(value, str) and value.count(",") == 1
        hint = f": write {value.replace(',', '.')}, with a point." if comma else advice
        raise Refusal(f"{limits}, got {_shown(value)}{hint}") from None
    # No array is made where all is well; NaN fails both comparisons.
    ends = (numbers.min(), numbers.max()) if numbers.size else (low * factor, high * factor)
    if not (ends[0] >= low * factor and ends[1] <= high * factor):
        inside = (numbers >= low * factor) & (numbers <= high * factor)
        worst = numbers[~inside].flat[0] / factor
        raise Refusal(f"{limits}, got {worst:g}{' ' if unit else ''}{unit}{advice}")
    return numbers


def one_of(name, value, allowed, knob=""):
    """Return ``value`` after checking that it is one of the allowed words.

    Raises
    ------
    Refusal
        If it is not; the message lists the words and names the nearest.
    """
    allowed = list(allowed)
    if isinstance(value, str) and value in allowed:
        return value
    words = ", ".join(repr(word) for word in allowed)
    near = difflib.get_close_matches(str(value).lower(), [w.lower() for w in allowed], 1, 0.5)
    nearest = next((w for w in allowed if near and w.lower() == near[0]), None)
    hint = f": did you mean {nearest!r}?" if nearest else (f": {knob}." if knob else ".")
    raise Refusal(f"{name} must be one of {words}, got {value!r}{hint}")
