"""Numbers as a person at the machine reads them: three digits, a unit, mm or inch."""

from dataclasses import dataclass
from math import floor, isnan, log10

from edmkit.units import inch, mm, thou, um

_INCH_MM, _THOU_UM = inch / mm, thou / um


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
