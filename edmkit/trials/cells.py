"""One cell of a file: texts that must not become formulas, numbers that must not be guessed."""

import re
from math import isfinite

from edmkit.checks import Refusal

# What a spreadsheet may take for a formula, full-width forms too; OWASP ASVS 1.2.10.
_FORMULA = re.compile("^[\\s']*[=+\\-@\t\r\n\0\uff1d\uff0b\uff0d\uff20]")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_EITHER = re.compile(r"[+-]?[1-9][0-9]{0,2}[.,][0-9]{3}")  # 1,200 is 1.2 or 1200
_THOUSANDS = re.compile(r"[0-9]{1,3}(?:[., ][0-9]{3})+(?:[.,][0-9]+)?")


def guarded(text):
    """Return a text that no spreadsheet takes for a formula: an apostrophe before it if need be.

    Parameters
    ----------
    text : str
        Any text; numbers are not guarded, so that -5 stays a number.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text):
    """Return the text that `guarded` was given.

    Parameters
    ----------
    text : str
        As it stands in the file.
    """
    return text[1:] if text.startswith("'") and _FORMULA.match(text[1:]) else text


def decimal_of(cells, delimiter):
    """Return the decimal sign of a file, and the cells that may as well have thousands in them.

    Parameters
    ----------
    cells : iterable of str
        What stands in its columns of numbers.
    delimiter : str
        Between the cells; with commas there, a decimal sign can only be a point.
    """
    ends = [(cell, end.strip(" <")) for cell in cells for end in cell.split("..")]
    signed = [(c, e) for c, e in ends if _NUMBER.fullmatch(e) and ("." in e or "," in e)]
    if delimiter == ",":
        return ".", set()
    commas = sum("," in end for _, end in signed)
    either = all(_EITHER.fullmatch(end) for _, end in signed)
    return "," if 2 * commas > len(signed) else ".", {c for c, _ in signed} if either else set()


def number_of(text, decimal):
    """Return a number as it is written; refused where it is not plain what it is.

    Parameters
    ----------
    text : str
        A cell.
    decimal : str
        The decimal sign of the file, '.' or ','.

    Raises
    ------
    Refusal
        If it is not one finite number with that sign.
    """
    said, other = text.strip(), "," if decimal == "." else "."
    if not _NUMBER.fullmatch(said):
        if _THOUSANDS.fullmatch(said):
            raise Refusal(f"{text!r} has a sign between thousands: write it without.")
        raise Refusal(f"{text!r} is not a number: write digits only, the unit in the heading.")
    if other in said:
        raise Refusal(f"{text!r} has a decimal {other!r} where the file has {decimal!r}: use one.")
    number = float(said.replace(",", "."))
    if not isfinite(number):
        raise Refusal(f"{text!r} is not a number that can be.")
    return number
