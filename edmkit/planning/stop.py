"""The depth stop as a sum of named, signed terms, and the chance that depth and size come right."""

from dataclasses import dataclass
from math import hypot

import numpy as np

from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import BAND
from edmkit.words import three

KINDS = ("contact", "first spark", "feeler")
PLACES = ("in place", "crown", "datum face")
CUTS = ("at once", "spark out")
_SPARK_OUT_SHARE = 0.3  # of the front gap that sparking out adds to the depth; assumption
_FEELER_MM = 0.005  # how well a feeler is felt, a standard deviation; common practice, no source
_TRAP_MM = 0.02  # a forgotten sag from here on is worth a warning; assumption
SAMPLES = 4000


@dataclass(frozen=True)
class Touch:
    """How and where the end is touched off.

    ``kind``: 'contact', 'first spark' or 'feeler' of ``feeler_mm``. ``place``: 'in place' over the
    hole, on the 'crown' beside it, or on a 'datum face' that stands ``datum_above_crown_mm`` above
    the crown. ``repeat_mm``: how well a touch repeats, a standard deviation.
    """

    kind: str = KINDS[0]
    place: str = PLACES[0]
    feeler_mm: float = 0.0
    datum_above_crown_mm: float = 0.0
    repeat_mm: float = 0.005

    def __post_init__(self):
        one_of("touch-off kind", self.kind, KINDS)
        one_of("touch-off place", self.place, PLACES)
        require("feeler_mm", self.feeler_mm, 0, 10, "mm", knob="give its thickness")
        require("datum_above_crown_mm", self.datum_above_crown_mm, -1000, 1000, "mm")
        require("repeat_mm", self.repeat_mm, 0, 1, "mm", knob="touch five times and look")


@dataclass(frozen=True)
class Term:
    """One signed term of the stop and its standard deviation [mm]; ``cause`` names its doubt."""

    name: str
    value_mm: float
    spread_mm: float
    why: str
    cause: str


@dataclass(frozen=True)
class Stop:
    """What to set, term by term, counted from the touch-off reading [mm]."""

    terms: tuple
    resolution_mm: float
    trap: Term | None

    @property
    def exact_mm(self):
        """The sum of the terms."""
        return sum(term.value_mm for term in self.terms)

    @property
    def set_mm(self):
        """The sum to the stop's resolution."""
        return round(self.exact_mm / self.resolution_mm) * self.resolution_mm

    @property
    def dial_mm(self):
        """What a dial zeroed at the touch-off shows when the stop trips."""
        return self.set_mm

    @property
    def spread_mm(self):
        """Standard deviation of the depth: terms of one cause add up, causes as squares."""
        causes = {}
        for term in self.terms:
            causes[term.cause] = causes.get(term.cause, 0.0) + term.spread_mm * (
                -1 if term.value_mm < 0 else 1
            )
        return hypot(*causes.values()) if causes else 0.0

    @property
    def holds_mm(self):
        """Half of the tolerance that nine depths in ten keep."""
        return BAND * self.spread_mm

    @property
    def rules(self):
        """The term whose doubt rules."""
        return max(self.terms, key=lambda term: term.spread_mm)


def depth_stop(feature, burn, end_wear_mm, *, section=None, touch=None, resolution_mm=0.01,
               switch_repeat_mm=0.005, cut="at once", dressed_mm=0.0, not_touched_for=0,
               floor_stock_mm=0.0):  # fmt: skip
    """Return the depth stop of one pass."""
    touch = touch or Touch()
    one_of("cut", cut, CUTS)
    place = {"in place": "first touch", "crown": "crown"}.get(touch.place)
    front, spread = float(burn.gap_front_um.likely) / 1000, float(burn.gap_front_um.spread)
    worn = float(end_wear_mm.likely)
    if worn != worn:
        raise Refusal("there is no wear figure for this pair and polarity: burn a trial first.")
    height = feature.sag_mm(place, section) if place else -touch.datum_above_crown_mm
    sag = feature.sag_mm(feature.depth_from) - height
    terms = [
        Term("drawing depth", feature.depth_mm, 0.0, "What the drawing asks for.", "drawing"),
        Term("sag", sag, 0.0, "From the place touched down to where the depth counts from.", "sag"),
        Term("gap in front", -front, front * spread, "The spark reaches ahead of the end.", "gap"),
        Term("end wear", worn, worn * float(end_wear_mm.spread), "The end gets shorter.", "wear"),
        Term("touch-off", touch.feeler_mm if touch.kind == "feeler" else
             front if touch.kind == "first spark" else 0.0, touch.repeat_mm,
             "Where the reading was zeroed.", "touch"),
        Term("stop switch", 0.0, switch_repeat_mm, "How well it repeats.", "switch"),
    ]  # fmt: skip
    if floor_stock_mm:
        terms.append(Term("left for the next pass", -floor_stock_mm, 0.0, "On the floor.", "stock"))
    trap = terms[1] if abs(sag) > _TRAP_MM else None
    return Stop(tuple(terms), resolution_mm, trap)


@dataclass(frozen=True)
class Chance:
    """The chances of depth, of size, and of both."""

    depth: float
    size: float
    both: float


def chances(stop, burn, end_wear_mm, *, depth_tolerance_mm, size_tolerance_mm,
            size_error_mm=0.005, seed=1, samples=SAMPLES):  # fmt: skip
    """Return the chances."""
    rng = np.random.default_rng(seed)
    z = rng.standard_normal((4, samples))
    wear = float(end_wear_mm.likely) * (np.exp(end_wear_mm.spread * z[0]) - 1)
    front = float(burn.gap_front_um.likely) / 1000 * (np.exp(burn.gap_front_um.spread * z[1]) - 1)
    depth = front - wear + hypot(stop.terms[4].spread_mm, stop.terms[5].spread_mm) * z[2]
    side = float(burn.gap_side_um.likely) / 1000 * (np.exp(burn.gap_side_um.spread * z[1]) - 1)
    size = 2 * side + size_error_mm * z[3]
    d = (depth > -depth_tolerance_mm[0]) & (depth < depth_tolerance_mm[1])
    s = (size > -size_tolerance_mm[0]) & (size < size_tolerance_mm[1])
    return Chance(float(d.mean()), float(s.mean()), float((d & s).mean()))


_ = three
