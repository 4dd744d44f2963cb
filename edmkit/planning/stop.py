"""The depth stop as a sum of named, signed terms, each with its doubt."""

from dataclasses import dataclass
from math import hypot

from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import BAND
from edmkit.planning.faces import Flat
from edmkit.words import Display

KINDS = ("contact", "first spark", "feeler")
PLACES = ("in place", "crown", "datum face")
CUTS = ("at once", "spark out")
_SPARK_OUT = (0.3, 0.3)  # of the front gap: how much deeper sparking out goes, and its doubt;
#                          assumption, no measurement was found
_FEELER_MM = 0.005  # how well a feeler is felt, a standard deviation; common practice, no source
_CLEAR_MM = 0.3  # beyond gap and wear, for a chamfer or burr on the far side; assumption
_TRAP_MM = 0.02  # a forgotten difference of height from here on is a trap; assumption
_FINE_MM = 0.001  # to which the terms are shown
_MILLIMETRES = Display()
DRAWING, SAG, FRONT, WEAR, TOUCH, OUT = (
    "drawing depth", "touched place to datum", "gap in front", "end wear", "touch-off",
    "clear of the far side",
)  # fmt: skip


@dataclass(frozen=True)
class Touch:
    """How and where the end is touched off.

    Parameters
    ----------
    kind : str
        'contact' (buzzer or lamp), 'first spark' (at the setting of the burn), or 'feeler'.
    place : str
        'in place' over the hole, on the 'crown' beside it, or on a 'datum face'.
    feeler_mm, datum_above_crown_mm : float
        Thickness of the feeler; how far the datum face stands above the crown [mm].
    repeat_mm : float
        How well a touch repeats, a standard deviation [mm].
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
        require("datum_above_crown_mm", self.datum_above_crown_mm, -1000, 1000, "mm",
                knob="measure it from the crown, below it is negative")  # fmt: skip
        require("repeat_mm", self.repeat_mm, 0, 1, "mm", knob="touch five times and look")
        if self.kind == "feeler" and not self.feeler_mm:
            raise Refusal("feeler_mm must be above 0 mm, got 0 mm: give the feeler's thickness.")


@dataclass(frozen=True)
class Term:
    """One signed term of the stop and its standard deviation [mm].

    Terms of one ``cause`` are wrong together: their doubts add up with their ``pull``, +1 where
    more of the cause asks for more stop, -1 for less, 0 where the term stands alone.
    """

    name: str
    value_mm: float
    spread_mm: float
    why: str
    cause: str
    pull: int = 1


@dataclass(frozen=True)
class Stop:
    """What to set, term by term, counted from the touch-off reading [mm].

    ``trap`` is the term that costs most when it is forgotten and easily is, or None.
    """

    terms: tuple
    resolution_mm: float
    trap: Term | None
    through: bool = False

    def term(self, name):
        """Return a term by name, None where it is not among them."""
        return next((term for term in self.terms if term.name == name), None)

    @property
    def exact_mm(self):
        """The sum of the terms."""
        return sum(term.value_mm for term in self.terms)

    @property
    def set_mm(self):
        """The sum to the resolution of the stop."""
        return round(self.exact_mm / self.resolution_mm) * self.resolution_mm

    @property
    def dial_mm(self):
        """What a dial that was zeroed at the touch-off shows when the stop trips."""
        return self.set_mm

    @property
    def spread_mm(self):
        """Standard deviation of the depth: within a cause terms add up, causes as squares."""
        return hypot(*self._causes.values())

    @property
    def _causes(self):
        """The doubt of each cause, its terms taken together [mm]."""
        causes = {}
        for term in self.terms:
            causes[term.cause] = causes.get(term.cause, 0.0) + term.pull * term.spread_mm
        return causes

    @property
    def holds_mm(self):
        """Half of the tolerance that nine depths in ten keep, by root-sum-square.

        Good where the doubts are small; `chances` draws the skewed ones.
        """
        return BAND * self.spread_mm

    @property
    def rules(self):
        """The term whose doubt rules: the largest of the cause that does."""
        causes = self._causes
        ruling = max(causes, key=lambda cause: abs(causes[cause]))
        return max((t for t in self.terms if t.cause == ruling), key=lambda t: t.spread_mm)

    def trap_sentence(self, display=_MILLIMETRES):
        """Return what happens to him who forgets the trap term; empty without one."""
        if self.trap is None:
            return ""
        off = display.size_text(abs(self.trap.value_mm), _FINE_MM)
        way = "shallow" if self.trap.value_mm > 0 else "deep"
        return f"Forget '{self.trap.name}' and the hole is {off} too {way}."

    def opposed_sentence(self, display=_MILLIMETRES):
        """Return how gap and wear pull against each other."""
        gap, wear = self.term(FRONT), self.term(WEAR)
        if gap is None or wear is None:
            return ""
        less, more = (display.size_text(abs(t.value_mm), _FINE_MM) for t in (gap, wear))
        return f"The gap takes {less} from the stop, the wear adds {more}: they pull apart."


def depth_stop(feature, burn, end_wear_mm, *, section=None, touch=None, resolution_mm=0.01,
               switch_repeat_mm=0.005, cut=CUTS[0], dressed_mm=0.0, not_touched_for=0,
               floor_stock_mm=0.0):  # fmt: skip
    """Return the depth stop of one pass.

    Parameters
    ----------
    feature : Feature
        The hole on the drawing.
    burn : Burn
        Its front gap counts.
    end_wear_mm : Estimate
        Length worn off the end in this burn [mm].
    section : Shape or None
        The electrode's section: where it touches first; None: the cavity's.
    touch : Touch or None
        How and where the end is touched off.
    resolution_mm, switch_repeat_mm : float
        Step of the stop; how well its switch repeats, a standard deviation [mm].
    cut : str
        'at once' or 'spark out': what happens when the stop trips.
    dressed_mm, floor_stock_mm : float
        Cut off the end since the touch-off; left on the floor for the next pass [mm].
    not_touched_for : int
        Holes burned since the touch-off.

    Notes
    -----
    Z = H + g0 - g + wear, H from the place touched to the wanted floor. Derived here; each term
    says why it is there.
    """
    touch = Touch() if touch is None else touch
    one_of("cut", cut, CUTS)
    _require(resolution_mm, switch_repeat_mm, dressed_mm, not_touched_for, floor_stock_mm)
    wear = float(end_wear_mm.likely)
    if wear != wear:
        raise Refusal(
            "the end wear must be known for a depth stop, got no figure for this electrode, work "
            "and polarity: burn a trial and type its wear in, or change the polarity."
        )
    gap = float(burn.gap_front_um.likely) / 1000
    doubt = gap * float(burn.gap_front_um.spread)
    worn = wear * float(end_wear_mm.spread)
    terms = [
        _drawing(feature), _sag(feature, section, touch), *_touch_terms(touch, gap, doubt),
        *_floor(feature, gap, doubt, cut),
        Term(WEAR, wear, worn, "The end gets shorter while it burns.", "wear"),
    ]  # fmt: skip
    if dressed_mm:
        why = "So much was cut off the end."
        terms.append(Term("dressed since the touch-off", dressed_mm, 0.0, why, "dressing"))
    if not_touched_for:
        n, why = not_touched_for, "Earlier holes wore the end, and nobody touched off again."
        terms.append(Term("worn since the touch-off", n * wear, n * worn, why, "wear"))
    if floor_stock_mm:
        why = "The next pass takes the rough floor off."
        terms.append(Term("left for the next pass", -floor_stock_mm, 0.0, why, "stock"))
    why = "It does not always trip at one place."
    terms.append(Term("stop switch", 0.0, switch_repeat_mm, why, "switch"))
    return Stop(tuple(terms), resolution_mm, _trap(terms), bool(feature.through))


def _require(resolution_mm, switch_repeat_mm, dressed_mm, not_touched_for, floor_stock_mm):
    require("resolution_mm", resolution_mm, 1e-4, 1, "mm", knob="0.01 is a common stop")
    require("switch_repeat_mm", switch_repeat_mm, 0, 1, "mm", knob="trip it five times and look")
    require("dressed_mm", dressed_mm, 0, 100, "mm", knob="measure the electrode before and after")
    require("not_touched_for", not_touched_for, 0, 10_000, knob="count the holes")
    require("floor_stock_mm", floor_stock_mm, 0, 10, "mm", knob="0 where no pass follows")


def _drawing(feature):
    if feature.through:
        return Term(DRAWING, feature.depth_mm, 0.0, "The thickness of the part.", "drawing")
    place = {"crown": "the crown", "hole centre": "the face at the hole's centre"}
    where = place.get(feature.depth_from, "where the end touches first")
    if isinstance(feature.face, Flat):
        where = "the face"
    return Term(DRAWING, feature.depth_mm, 0.0, f"It counts from {where}.", "drawing")


def _sag(feature, section, touch):
    """Return the height between the place touched and the drawing's datum."""
    if touch.place == "datum face":
        height = -touch.datum_above_crown_mm
    else:
        height = feature.sag_mm("first touch" if touch.place == "in place" else "crown", section)
    sag = feature.sag_mm(feature.depth_from) - height
    beside = "the face" if isinstance(feature.face, Flat) else "the crown"
    where = {"in place": "where the end first touches the face over the hole",
             "crown": f"{beside} beside the hole", "datum face": "the datum face"}  # fmt: skip
    why = f"From {where[touch.place]} to the place the drawing's depth counts from."
    return Term(SAG, sag, 0.0, why, "sag")


def _touch_terms(touch, gap, doubt):
    if touch.kind == "feeler":
        spread = hypot(touch.repeat_mm, _FEELER_MM)
        return [Term(TOUCH, touch.feeler_mm, spread, "The feeler stood between.", "touch")]
    if touch.kind == "first spark":
        why = "It sparked a gap before it touched: this gap and the next cancel."
        again = "The first spark does not come at one height each time."
        return [Term(TOUCH, gap, doubt, why, "gap"),
                Term("touch-off repeat", 0.0, touch.repeat_mm, again, "touch")]  # fmt: skip
    return [Term(TOUCH, 0.0, touch.repeat_mm, "Metal on metal.", "touch")]


def _floor(feature, gap, doubt, cut):
    """Return what the spark does beyond the end: the front gap, and sparking out."""
    if feature.through:
        why = "The worn end must come out by the gap and a little more on the far side."
        return [Term(OUT, gap + _CLEAR_MM, 0.0, why, "out")]
    terms = [Term(FRONT, -gap, doubt, "The spark reaches this far ahead of the end.", "gap", -1)]
    if cut == "spark out":
        (share, spread), why = _SPARK_OUT, "The floor goes on until the sparks stop."
        terms.append(Term("sparking out", -share * gap, spread * gap, why, "sparking out", -1))
    return terms


def _trap(terms):
    """Return the term easily forgotten that costs most: a sag before all others."""
    sag = terms[1]
    if abs(sag.value_mm) >= _TRAP_MM:
        return sag
    others = [term for term in terms[2:] if abs(term.value_mm) >= _TRAP_MM]
    return max(others, key=lambda term: abs(term.value_mm), default=None)
