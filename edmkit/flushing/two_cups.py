"""One cup filled with the electrode out of its hole, one with it in: what holds the flow back."""

from dataclasses import dataclass
from math import hypot, pi, sqrt

import numpy as np

from edmkit.checks import require
from edmkit.estimate import Estimate
from edmkit.flushing.gauge_free import CUP_SPREAD
from edmkit.physics.flow import pressure_drop
from edmkit.physics.passage import annulus, radial_gap
from edmkit.units import kPa, ml_per_min, mm, um
from edmkit.words import Display, three

RULE = 0.3  # what meters the flow has the rest at 0.3 of its own resistance at most; assumption
NEXT_TO_NOTHING = 0.02  # of the flow with the electrode out of the hole; assumption
LEAST_LEFT = 0.05  # of the drop, for a gap in front to follow from what is left; assumption
_GAPS_UM = np.geomspace(0.5, 1000, 400)  # searched for the one that lets so much pass
PIP = "gap around the pip"
LEAST_PIP_MM = 0.01  # radius of a pip that still stands; assumption
_MILLIMETRES = Display()


def around_pip(bore_mm, gap_side_um, depth_mm):
    """Return the way past the core that a bore leaves, a tuple of one `Passage` or none.

    Parameters
    ----------
    bore_mm, depth_mm : float
        Bore, and how deep the hole is: so high stands the pip [mm].
    gap_side_um : float or array
        Gap to the side, around the pip as around the electrode [µm].
    """
    gap = np.asarray(gap_side_um) / 1000
    if np.any(bore_mm / 2 - gap < LEAST_PIP_MM):
        return ()
    inner = (bore_mm / 2 - gap) * mm
    return (annulus(bore_mm / 2 * mm, inner, depth_mm * mm, name=PIP),)


@dataclass(frozen=True)
class Place:
    """The electrode in its hole, as far as the flow knows it.

    ``side_spread`` is the doubt in the gap at the side, a standard deviation of the logarithm;
    ``gap_front_um`` what the setting lets expect in front, None where there is no setting;
    ``pip_stands``: the core that the bore leaves has not snapped off.
    """

    outer_mm: float
    bore_mm: float
    depth_mm: float
    gap_side_um: float
    side_spread: float = 0.2  # assumption
    gap_front_um: Estimate | None = None
    pip_stands: bool = True

    def __post_init__(self):
        widest = self.outer_mm - 0.01
        require("outer_mm", self.outer_mm, 0.1, 500, "mm", knob="the electrode's diameter")
        require("bore_mm", self.bore_mm, 0.05, widest, "mm", knob="it must leave a wall")
        require("depth_mm", self.depth_mm, 0.01, 1000, "mm", knob="how deep the end stands now")
        knob = "a gap of 0 lets no fluid by: open it with the servo"
        require("gap_side_um", self.gap_side_um, 1, 2000, "µm", knob=knob)
        if self.gap_front_um is not None:
            require("gap_front_um", self.gap_front_um.likely, 1, 500, "µm", knob=knob)

    @property
    def pip(self):
        """The way between the bore and the pip that stands in it, () where the gap eats it."""
        if not self.pip_stands:
            return ()
        return around_pip(self.bore_mm, self.gap_side_um, self.depth_mm)

    @property
    def side(self):
        """The way between the electrode and the wall of its hole, a `Passage`."""
        inner = self.outer_mm * mm / 2
        return annulus(inner + self.gap_side_um * um, inner, self.depth_mm * mm)

    def front(self, gap_um):
        """Return the way in front of the end, a `Passage`."""
        return radial_gap(gap_um * um, self.bore_mm * mm / 2, self.outer_mm * mm / 2)


def place_of(hole, bore_mm):
    """Return the electrode of a hole at its full depth, with a bore, as a `Place`.

    Parameters
    ----------
    hole : Hole
        At one setting.
    bore_mm : float
        Bore through the electrode [mm].

    Notes
    -----
    An electrode that is not round counts as the round of the same area.
    """
    side, shape = hole.burn.gap_side_um, hole.electrode
    outer = getattr(shape, "d", 2 * sqrt(shape.area_mm2 / pi))
    return Place(float(outer), float(bore_mm), float(hole.feature.depth_mm), float(side.likely),
                 float(side.spread), hole.burn.gap_front_um)  # fmt: skip


@dataclass(frozen=True)
class InHole:
    """What two cups say: one with the electrode out of its hole, one with it in.

    ``hole_share`` is the hole's part of the whole resistance; ``gap_front_um`` the gap in front
    that this flow needs, None where it does not follow; ``state`` is 'before the hole', 'both',
    'the gap', 'narrow' or 'blocked'.
    """

    hole_share: float
    hole_kPa: float
    gap_front_um: Estimate | None
    state: str
    sentence: str


def in_hole(drive, out_ml_per_min, in_ml_per_min, place, fluid, display=_MILLIMETRES):
    """Return what a cup filled with the electrode in its hole says beside one without.

    Parameters
    ----------
    drive : Drive
        The same for both cups.
    out_ml_per_min, in_ml_per_min : float
        Flow with the electrode out of the hole and in it, from `cup` [ml/min].
    place : Place
        The electrode in its hole.
    fluid : Warm
        From `warm`.
    display : Display
        Millimetres or inches.

    Raises
    ------
    Refusal
        If more flows in the hole than out of it.

    Notes
    -----
    At one drive the hole takes 1 - in/out of it, where the flow before the hole is laminar. What
    the side gap leaves of that stands over the gap in front, whose cube goes with the flow.
    Derived here.
    """
    knob = "the electrode out of the hole, the same valve"
    out = float(require("out_ml_per_min", out_ml_per_min, 1e-3, 1e5, "ml/min", knob=knob))
    knob = "no more passes in the hole than out of it: measure both again at one setting"
    inside = float(require("in_ml_per_min", in_ml_per_min, 0, out, "ml/min", knob=knob))
    share = 1 - inside / out
    kilopascals = drive.pressure_kPa * share
    held = _beside(inside, place, fluid) / (drive.pressure_kPa * kPa)
    gap = _front(drive, share, held, inside, place, fluid) if inside else None
    # what the side gap alone would hold back and more: whatever passes, it is not blocked
    passes_well = inside > 0 and share - held <= LEAST_LEFT
    state = _state(share, gap, place.gap_front_um, passes_well)
    said = _STATES[state].format(held=_percent(share), passes=_percent(inside / out))
    if state not in ("blocked", "before the hole"):
        said += _gap_words(gap, place.gap_front_um, drive, display)
    return InHole(share, kilopascals, gap, state, said)


_STATES = {
    "blocked": "Next to nothing passes, {passes} of the open flow: the bore is blocked or the gap "
    "is closed. Stop, lift, and reverse the flow.",
    "before the hole": "The hole holds back only {held} of the flow: it is metered before the "
    "hole, by the bore, the flats or the line. Look there first.",
    "both": "The hole holds back {held} of the flow: the gap and what lies before it meter it "
    "together.",
    "the gap": "The hole holds back {held} of the flow: the gap meters it, as it should.",
    "narrow": "The hole holds back {held} of the flow, more than this setting's gap would: the "
    "gap is nearly closed, or chips fill it.",
}


def _state(share, gap, expected, passes_well):
    """Return what the two cups say, in a word."""
    narrow = expected is not None and gap is not None and gap.high < expected.low
    as_expected = expected is not None and gap is not None and not narrow
    if share >= 1 - NEXT_TO_NOTHING and not (as_expected or passes_well):
        return "blocked"
    if narrow:
        return "narrow"
    if share <= RULE / (1 + RULE):
        return "before the hole"
    return "the gap" if share >= 1 / (1 + RULE) else "both"


def _percent(share):
    return f"{three(100 * share)} %" if share >= 0.001 or not share else "less than 0.1 %"


def _gap_words(gap, expected, drive, display):
    if gap is None:
        return " The gap in front does not follow: the gaps beside it may hold back as much."
    most = ", at most: the drive may be more than the bore shows" if drive.at_least else ""
    said = f" That needs {_micrometres(gap, display)} in front{most}."
    if expected is not None:
        said += f" This setting lets expect {_micrometres(expected, display)}."
    return said


def _micrometres(gap, display):
    low, high, likely = (three(display.fine(g)) for g in (gap.low, gap.high, gap.likely))
    return f"about {likely} {display.fine_unit} ({low} to {high})"


def _beside(flow_ml_per_min, place, fluid):
    """Return what the ways beside the gap in front hold back at a flow [Pa]."""
    flow, parts = flow_ml_per_min * ml_per_min, (place.side, *place.pip)
    return sum(float(pressure_drop(p, flow, fluid.viscosity, fluid.density)) for p in parts)


def _front(drive, share, side, in_ml_per_min, place, fluid):
    """Return the gap in front [µm] as an Estimate, None where the side gap takes it all.

    With f the front's part of the whole drop and s the side's, d ln g is a third of
    (d ln(flow viscosity) - d ln(drive) + 3 s d ln(side gap)) / f, derived here.
    """
    flow, whole = in_ml_per_min * ml_per_min, drive.pressure_kPa * kPa
    left = (share - side) * whole
    if left <= LEAST_LEFT * whole:
        return None
    drops = pressure_drop(place.front(_GAPS_UM), flow, fluid.viscosity, fluid.density)
    if not drops[-1] < left < drops[0]:
        return None
    gap = np.exp(np.interp(-np.log(left), -np.log(drops), np.log(_GAPS_UM)))
    front = left / whole
    own = hypot(CUP_SPREAD, fluid.spread)
    spread = hypot(own, drive.spread, 3 * side * place.side_spread) / (3 * front)
    return Estimate(float(gap), spread)
