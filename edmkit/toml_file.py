"""Read a TOML file written by hand, and tell all its faults at once.

A check takes a key and its value and returns the value, or raises a Refusal of one or more lines.
A schema is a dictionary: key -> check, or key -> (check,) where the key may be absent.
"""

import re
import tomllib
from difflib import get_close_matches

from edmkit.checks import Refusal, one_of, require


class _Nothing:
    def __repr__(self):
        return "nothing"


_NOTHING = _Nothing()  # stands for a missing key, so that its own check says what it must be


def read_toml(path, check):
    """Return what ``check(path, table)`` makes of the file's top-level table.

    Raises
    ------
    Refusal
        Listing every fault of the file, one a line.
    """
    return _all_faults(path, check, lambda: _text_of(path))


def read_toml_text(text, check, name):
    """Return what ``check`` makes of the text of a file that is called ``name``.

    Raises
    ------
    Refusal
        Listing every fault of the text, one a line.
    """
    return _all_faults(name, check, lambda: text)


def _all_faults(name, check, text):
    try:
        return check("", _parsed(text()))
    except Refusal as refusal:
        faults = str(refusal).split("\n")
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        raise Refusal("\n- ".join([f"{name} has {count}:", *faults])) from None


def _text_of(path):
    """Return a file's text; not being readable is one fault."""
    try:
        return path.read_bytes().decode("utf-8-sig")  # some editors put a mark in front
    except OSError as error:
        reason = "this is a folder: name the file in it" if path.is_dir() else error.strerror
        raise Refusal(f"the file cannot be read: {reason}.") from None
    except ValueError:
        raise Refusal("the file must be plain text: save it as UTF-8.") from None


def _parsed(text):
    """Return a text's top-level table; not being TOML is one fault."""
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # TOML, thousands of digits or of brackets
        raise Refusal(f"the file must be valid TOML: {_where(text, str(error))}.") from None


def _where(text, error):
    """Return the parser's complaint with the line it is about."""
    number = re.search(r"line (\d+)", error)
    if not number:
        return error
    line = text.split("\n")[int(number[1]) - 1].strip()
    hint = "; write a number with a point: 1.5, not 1,5" if re.search(r"\d,\d", line) else ""
    return f"{error}: {line}{hint}"


def table(schema, make=dict, what="a table"):
    """Return a check for a table with these keys; ``make`` gets the values as keywords."""

    def check(key, value):
        if not isinstance(value, dict):
            raise Refusal(f"{key} must be {what}, got {value!r}.")
        return make(**_checked(schema, value, key + "." if key else ""))

    return check


def _checked(schema, values, prefix):
    """Return the checked values of a table; all its faults become one Refusal."""
    attempts = [(_stranger(schema), key, value) for key, value in values.items()]
    attempts = [attempt for attempt in attempts if attempt[1] not in schema]
    for key, entry in schema.items():
        optional = isinstance(entry, tuple)
        if key in values or not optional:
            check = entry[0] if optional else entry
            attempts.append((check, key, values.get(key, _NOTHING)))
    results = collect((check, prefix + key, value) for check, key, value in attempts)
    return dict(zip((key for _, key, _ in attempts), results, strict=True))


def collect(attempts):
    """Return the results of checks (check, key, value); all refusals are raised as one."""
    results, faults = [], []
    for check, key, value in attempts:
        try:
            results.append(check(key, value))
        except Refusal as refusal:
            faults.append(str(refusal))
    if faults:
        raise Refusal("\n".join(faults))
    return results


def _stranger(schema):
    def check(key, _):
        near = get_close_matches(key.rpartition(".")[2], schema, 1, 0.5)
        hint = f"did you mean {near[0]!r}?" if near else f"the keys are {', '.join(schema)}."
        raise Refusal(f"{key} is not a key that belongs here: {hint}")

    return check


def number(low, high, unit="", knob=""):
    """Return a check for one number in [low, high]."""

    def check(key, value):
        if isinstance(value, list):
            raise Refusal(f"{key} must be one number, got {value!r}.")
        advice = "write the number without quotes" if isinstance(value, str) else knob
        return float(require(key, value, low, high, unit, knob=advice))

    return check


def span(low, high, unit=""):
    """Return a check for a range written [lowest, highest] within [low, high]."""

    def check(key, value):
        if not isinstance(value, list) or len(value) != 2:
            raise Refusal(f"{key} must be [lowest, highest], got {value!r}.")
        ends = collect((number(low, high, unit), f"{key}[{i}]", value[i]) for i in (0, 1))
        if ends[0] >= ends[1]:
            raise Refusal(f"{key} must be [lowest, highest], got {value!r}: swap them.")
        return tuple(ends)

    return check


def word(*allowed):
    """Return a check for one of these words."""
    return lambda key, value: one_of(key, value, allowed)


def words(*allowed):
    """Return a check for a list of these words."""

    def check(key, value):
        if not isinstance(value, list) or not value:
            raise Refusal(f"{key} must be a list of words such as {allowed[0]!r}, got {value!r}.")
        return tuple(collect((word(*allowed), f"{key}[{i}]", v) for i, v in enumerate(value)))

    return check


def text(key, value):
    """Check a text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise Refusal(f'{key} must be text in quotes, such as "1", got {value!r}.')
    return value


def flag(key, value):
    """Check a yes or no."""
    if not isinstance(value, bool):
        raise Refusal(f"{key} must be true or false, without quotes, got {value!r}.")
    return value
