"""Numbers as a person at the machine reads them: three digits, a unit, mm or inch."""

import re
from dataclasses import dataclass
from fractions import Fraction
from math import floor, isnan, log10

from edmkit.checks import Refusal
from edmkit.units import inch, mm, thou, um

_INCH_MM, _THOU_UM = inch / mm, thou / um
_TYPED_MM = {  # what may stand after a typed length; an inch is 25.4 mm by definition
    "mm": Fraction(1),
    "thou": Fraction("0.0254"),
    **dict.fromkeys(("in", "inch", '"', "\N{DOUBLE PRIME}"), Fraction("25.4")),
    **dict.fromkeys(("µm", "\N{GREEK SMALL LETTER MU}m", "um"), Fraction("0.001")),
}
_TYPED = re.compile("([+\N{MINUS SIGN}-]?)([0-9., /]*[0-9.]) *([^0-9 ]*)")
_DECIMAL = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_FRACTION = re.compile(r"(?:([0-9]+) +)?([0-9]+) ?/ ?([0-9]+)")
_LONGEST = 24  # characters; nobody types a longer length


def three(value):
    """Return a number with three digits at most; ``no figure`` for not-a-number."""
    number = float(value)
    if isnan(number):
        return "no figure"
    rounded = float(f"{number:.3g}")
    if abs(rounded) >= 1000:
        return f"{rounded:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    if rounded == 0:
        return "0"
    places = max(0, 2 - floor(log10(abs(rounded))))
    text = f"{rounded:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def two(value):
    """Return a number with two digits at most: enough for the end of a wide band."""
    number = float(value)
    return three(number if isnan(number) else float(f"{number:.2g}"))


def stepped(value, step):
    """Return a number rounded to a step, with the decimals the step has."""
    places = max(0, -floor(log10(step) + 1e-9))
    return f"{round(float(value) / step) * step:.{places}f}"


@dataclass(frozen=True)
class Display:
    """How lengths are shown: millimetres and micrometres, or inches and thousandths."""

    inches: bool = False

    @property
    def length_unit(self):
        """Unit of sizes and depths."""
        return "in" if self.inches else "mm"

    @property
    def fine_unit(self):
        """Unit of gaps, roughness and layers."""
        return "thou" if self.inches else "µm"

    @property
    def rough_unit(self):
        """Unit of roughness."""
        return "µin" if self.inches else "µm"

    @property
    def rate_unit(self):
        """Unit of removal rates."""
        return "in³/h" if self.inches else "mm³/min"

    def length(self, value_mm):
        """Return a length in the shown unit, from mm."""
        return value_mm / _INCH_MM if self.inches else value_mm

    def length_mm(self, value):
        """Return a length in mm, from the shown unit."""
        return value * _INCH_MM if self.inches else value

    def fine(self, value_um):
        """Return a small length in the shown unit, from µm."""
        return value_um / _THOU_UM if self.inches else value_um

    def rough(self, value_um):
        """Return a roughness in the shown unit, from µm."""
        return value_um / _THOU_UM * 1000 if self.inches else value_um

    def rate(self, mm3_per_min):
        """Return a removal rate in the shown unit, from mm³/min."""
        return mm3_per_min * 60 / _INCH_MM**3 if self.inches else mm3_per_min

    def size_text(self, value_mm, step_mm):
        """Return a size to the machine's resolution, with its unit."""
        if self.inches:
            step = 10 ** floor(log10(step_mm / _INCH_MM) + 1e-9)
            return f"{stepped(value_mm / _INCH_MM, step)} in"
        return f"{stepped(value_mm, step_mm)} mm"


def read_length(text, display, wanted=""):
    """Return the length that somebody typed [mm]; refused where it is not plain what was meant.

    Parameters
    ----------
    text : str
        '3.05', '0.1200 in', '3 1/2 in': a unit after the number counts.
    display : Display
        The unit of a number that stands alone. Fractions may stand alone in inches only.
    wanted : str
        Begins the refusal: 'Depth must be 0.1 to 90 mm'.

    Raises
    ------
    Refusal
        If it is not one number with at most one unit.
    """
    said, unit = text.strip(), display.length_unit
    shown = f"{wanted or f'a length must be a number of {unit}'}, got {text!r}"
    found = _TYPED.fullmatch(said) if len(said) <= _LONGEST else None
    sign, digits, after = found.groups() if found else ("", "", "")
    factor = _TYPED_MM.get(after.lower() or unit)
    if factor and "," in digits and _exact(digits.replace(",", ".")) is not None:
        raise Refusal(f"{shown}: write {said.replace(',', '.')}, with a point.")
    number = _exact(digits)
    if factor is None or number is None:
        raise Refusal(f"{shown}: type one number, as 3.05 or 0.12 in.")
    if "/" in digits and not after and not display.inches:
        raise Refusal(f"{shown}: write {float(number):.6g}, or {said} in for inches.")
    value = float(number * factor)
    return 0.0 - value if sign in ("-", "\N{MINUS SIGN}") else value


def _exact(digits):
    """Return typed digits as an exact number, None where they are not one."""
    if _DECIMAL.fullmatch(digits):
        return Fraction(digits)
    found = _FRACTION.fullmatch(digits)
    if not found or int(found[3]) == 0:
        return None
    whole, part = int(found[1] or 0), Fraction(int(found[2]), int(found[3]))
    return None if found[1] and part >= 1 else whole + part  # 3 5/4: a slip of the finger
