"""A number from the shop with how it was measured, and how far that may be out."""

from dataclasses import dataclass
from math import hypot

from edmkit.checks import Refusal, one_of, require

UNSEEN_MM = 0.02  # wear that a caliper no longer shows; assumption


@dataclass(frozen=True)
class Kind:
    """A way of measuring: standard deviation in mm and as a share of the value.

    A kind that gives two ends says only that the value lies between them.
    """

    mm: float = 0.0
    share: float = 0.0
    two_ends: bool = False


# Standard deviations as a careful person in a small shop gets them. Assumptions, all of them.
KINDS = {
    "caliper": Kind(mm=0.02),
    "micrometer": Kind(mm=0.003),
    "dial": Kind(mm=0.01),
    "pin go and no-go": Kind(two_ends=True),
    "comparator plate": Kind(two_ends=True),
    "no wear I can see": Kind(two_ends=True),
    "stylus": Kind(share=0.05),
    "microscope": Kind(share=0.10),
    "meter": Kind(share=0.03),
    "watch": Kind(share=0.02),
    "memory": Kind(mm=0.02, share=0.20),
    "as planned": Kind(mm=0.02, share=0.02),
}
LENGTH_KINDS = ("micrometer", "caliper", "dial", "pin go and no-go", "as planned", "memory")


@dataclass(frozen=True)
class Measured:
    """A measured value in the unit of its field, and how it was measured.

    ``to`` is the upper end where the kind gives two ends, such as a pin that goes and one that
    does not; it is None for all others.
    """

    value: float
    how: str
    to: float | None = None

    def __post_init__(self):
        one_of("how", self.how, KINDS)
        object.__setattr__(self, "value", _number("value", self.value))
        if self.how == "no wear I can see" and self.to is None:
            object.__setattr__(self, "to", UNSEEN_MM)
        if KINDS[self.how].two_ends != (self.to is not None):
            needs = "two ends" if KINDS[self.how].two_ends else "one value"
            raise Refusal(
                f"{self.how} gives {needs}, got {self.value:g}"
                f"{'' if self.to is None else f' to {self.to:g}'}: type both ends or pick "
                "another way of measuring."
            )
        if self.to is not None:
            object.__setattr__(self, "to", _number("to", self.to))
            if not self.to > self.value:
                raise Refusal(
                    f"the upper end must lie above the lower, got {self.value:g} to "
                    f"{self.to:g}: swap them."
                )

    @property
    def middle(self):
        """The value, or the middle between two ends."""
        return self.value if self.to is None else (self.value + self.to) / 2

    @property
    def error(self):
        """Standard deviation in the value's unit; of two ends, that of anything between them."""
        kind = KINDS[self.how]
        if self.to is not None:
            return (self.to - self.value) / 12**0.5
        return hypot(kind.mm, kind.share * self.value)


def _number(name, value):
    return float(require(name, value, -1e6, 1e6, knob="type one number"))
