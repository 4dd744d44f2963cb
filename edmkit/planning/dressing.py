"""How often to dress the end, what that uses up, and how a batch runs."""

from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import BAND, Estimate
from edmkit.words import Display, three

ORDERS = ("part by part", "rough all, then finish all")
CORNER_PER_WEAR = 1.0  # of the end wear, 0.2 to 5 in trade notes: from memory, until measured
_FACE_TAPER_MM = 0.05  # cut off with the worn corner until the end is flat again; assumption
_STEP_MM = 0.01
_MILLIMETRES = Display()


@dataclass(frozen=True)
class Batch:
    """How many, in what order, and what each hole costs beside the burning.

    Parameters
    ----------
    parts, holes : int
        Parts in the batch, holes in each.
    order : str
        'part by part', or 'rough all, then finish all'.
    touch_again : bool
        Whether each hole is touched off anew; else the stop of the first one stays.
    relocate_mm : float
        How well a part comes back to its place, a standard deviation [mm].
    load_min, drain_min, dress_min : float
        To set a part; to drain, look and fill; to dress an end and touch off again [min].
    corner_max_mm : float or None
        Largest radius the edge may wear to before it is dressed; None: the drawing does not mind.
    usable_mm : float
        Length of the electrode that may be used up [mm].
    corner_per_wear : float
        Radius worn on the edge over the length worn off the end [-].
    """

    parts: int = 1
    holes: int = 1
    order: str = ORDERS[0]
    touch_again: bool = True
    relocate_mm: float = 0.01
    load_min: float = 5.0
    drain_min: float = 5.0
    dress_min: float = 5.0
    corner_max_mm: float | None = None
    usable_mm: float = 25.0
    corner_per_wear: float = CORNER_PER_WEAR

    def __post_init__(self):
        for name in ("parts", "holes"):
            number = float(require(name, getattr(self, name), 1, 10_000, knob="count them"))
            if number != int(number):
                raise Refusal(f"{name} must be a whole number, got {number:g}: count them.")
            object.__setattr__(self, name, int(number))
        one_of("order", self.order, ORDERS)
        for name, high, unit in (("relocate_mm", 10, "mm"), ("load_min", 600, "min"),
                                 ("drain_min", 600, "min"), ("dress_min", 600, "min")):  # fmt: skip
            require(name, getattr(self, name), 0, high, unit, knob="0 leaves it out")
        require("usable_mm", self.usable_mm, 0.1, 1000, "mm", knob="measure below the holder")
        require("corner_per_wear", self.corner_per_wear, 0, 20, knob="1 where it is not known")
        if self.corner_max_mm is not None:
            require("corner_max_mm", self.corner_max_mm, 0.001, 100, "mm", knob="leave it empty")

    @property
    def count(self):
        """Holes in the whole batch."""
        return self.parts * self.holes


@dataclass(frozen=True)
class Dressing:
    """When an end must be dressed and what the batch uses up.

    ``after`` is holes from one dressing to the next, None where the batch needs none between;
    ``cut_mm`` comes off at a dressing; ``length_mm`` is used by the batch, ``electrodes`` needed.
    ``corner_mm`` is the radius on the edge just before a dressing, ``per_hole_mm`` its growth.
    """

    after: int | None
    dressings: int
    cut_mm: float
    length_mm: float
    electrodes: int
    corner_mm: float
    per_hole_mm: float

    def sentence(self, display=_MILLIMETRES, step_mm=0.01):
        """Return when to dress, in a sentence."""
        if self.after is None:
            return "No dressing within this batch."
        return (
            f"Dress after every {'hole' if self.after == 1 else f'{self.after} holes'}: cut back "
            f"{display.size_text(self.cut_mm, step_mm)} and touch off again."
        )


def dressing(batch, end_wear_mm, edge_mm=0.0, holes=None, corner_mm=None):
    """Return the dressing that keeps an end within its corner radius.

    Parameters
    ----------
    batch : Batch
        The batch.
    end_wear_mm : float
        Length worn off the end by one hole [mm].
    edge_mm : float
        Radius that a thin side cut adds to the edge with each hole [mm].
    holes : int or None
        Holes to burn with this kind of electrode; None: all of the batch.
    corner_mm : float or None
        Largest radius of this pass; None: the batch's own [mm].

    Returns
    -------
    Dressing

    Raises
    ------
    Refusal
        If one dressing and its holes need more length than an electrode has.

    Notes
    -----
    The radius grows evenly from a sharp end: N = floor(r_max / growth), at least 1; a dressing
    cuts off r_max and the taper of the end. Derived here. A batch whose end may wear to any
    radius is never dressed.
    """
    count = batch.count if holes is None else holes
    growth = batch.corner_per_wear * end_wear_mm + edge_mm
    limit = batch.corner_max_mm if corner_mm is None else corner_mm
    if limit is None or not growth > 0 or growth * count <= limit:
        length = count * end_wear_mm
        if end_wear_mm > batch.usable_mm:
            _too_short(batch, end_wear_mm)
        each = floor(batch.usable_mm / end_wear_mm) if end_wear_mm > 0 else count
        return Dressing(None, 0, 0.0, length, ceil(count / each), growth * count, growth)
    after = max(1, floor(limit / growth * (1 + 1e-9)))
    corner = after * growth
    cut = max(limit, corner) + _FACE_TAPER_MM
    used = after * end_wear_mm + cut
    if used > batch.usable_mm:
        _too_short(batch, used)
    each = after * floor(batch.usable_mm / used * (1 + 1e-9))  # holes from one electrode
    rounds = ceil(count / after)
    return Dressing(after, rounds - 1, cut, rounds * used - cut, ceil(count / each), corner, growth)


def _too_short(batch, needed):
    raise Refusal(
        f"usable_mm must be at least {needed:.2f} mm, got {batch.usable_mm:g} mm: one hole and its "
        "dressing use that much; take a longer electrode, a setting with less wear, or allow a "
        "larger corner radius."
    )


@dataclass(frozen=True)
class Schedule:
    """What the whole batch takes.

    ``minutes`` is the clock from the first part to the last; ``lift_share`` the share of the
    burning time that goes into lifts; ``longest_burn`` the longest single burn; ``drift_mm`` how
    far hole n is short when it is not touched off again; ``location_mm`` what each part's place
    adds to its doubt, a standard deviation [mm]; ``changes`` of electrode in this order and
    ``other_changes`` in the other.
    """

    minutes: Estimate
    minutes_per_part: Estimate
    burning: Estimate
    lift_share: float
    longest_burn: Estimate
    dressings: int
    dressings_saved: int
    electrodes: int
    drift_mm: np.ndarray
    location_mm: float
    batch: Batch
    changes: int
    other_changes: int

    def sentences(self, display=_MILLIMETRES):
        """Return how the batch runs in this order and in the other."""
        batch, said = self.batch, []
        if self.changes and batch.count > 1:
            other = ORDERS[1] if batch.order == ORDERS[0] else ORDERS[0]
            said.append(
                f"In this order electrodes are changed {self.changes} times "
                f"({three(self.changes * batch.dress_min)} min); {other}, {self.other_changes} "
                "times."
            )
        if batch.parts > 1:
            off = f"{three(display.fine(BAND * self.location_mm * 1000))} {display.fine_unit}"
            said.append(f"Each part comes back to its place to ±{off}.")
        if batch.count > 1 and not batch.touch_again:
            second, last = (display.size_text(-self.drift_mm[n], _STEP_MM) for n in (1, -1))
            said.append(
                f"Without touching off again hole 2 is {second} too shallow and hole "
                f"{batch.count} {last}: touch off each hole."
            )
        return tuple(said)


def together(estimates):
    """Return the sum of durations that share the shop's level: their ends add up.

    Parameters
    ----------
    estimates : list of Estimate
        Scalars [min].
    """
    whole = sum(float(e.likely) for e in estimates)
    if not whole > 0:
        return Estimate(whole, 0.0)
    spread = sum(float(e.likely) * float(e.spread) for e in estimates) / whole
    return Estimate(whole, spread)


def schedule(batch, passes):
    """Return what a batch takes in its order, beside the other order.

    Parameters
    ----------
    batch : Batch
        How many, in what order.
    passes : list of (minutes Estimate, end wear [mm], Dressing, burn share)
        One for each pass of a hole.

    Returns
    -------
    Schedule

    Notes
    -----
    Part by part, each hole changes electrodes, and a finishing end must be sharp for each corner
    it finishes. Rough all, then finish all: each kind of electrode is set once, parts are set
    once more for each pass, and each setting adds its re-location error.
    """
    burns = [minutes for minutes, _, _, _ in passes]
    per_hole = together(burns)
    burning = Estimate(per_hole.likely * batch.count, per_hole.spread)
    all_first = batch.order == ORDERS[1] and len(passes) > 1
    settings = batch.parts * (len(passes) if all_first else 1)
    both = (batch.count * len(passes), len(passes)) if len(passes) > 1 else (0, 0)
    changes, others = both[::-1] if all_first else both
    needed = sum(d.dressings for _, _, d, _ in passes)
    beside = (settings * (batch.load_min + batch.drain_min)
              + (changes + needed) * batch.dress_min)  # fmt: skip
    minutes = _with(burning, beside)
    part = Estimate(minutes.likely / batch.parts, minutes.spread)
    lifting = sum(float(m.likely) * (1 - share) for m, _, _, share in passes)
    saved = batch.count * len(passes) - len(passes) if all_first else 0
    worn = passes[-1][1]
    numbers = np.arange(batch.count)
    relocations = len(passes) - 1 if all_first else 0
    location = batch.relocate_mm * np.sqrt(1 + relocations)
    longest = max(burns, key=lambda m: float(m.likely))
    drift = -worn * numbers
    return Schedule(minutes, part, burning, lifting / float(per_hole.likely) if burns else 0.0,
                    longest, needed, saved, sum(d.electrodes for _, _, d, _ in passes), drift,
                    float(location), batch, changes, others)  # fmt: skip


def _with(burning, beside):
    """Return burning time and time beside it; only the burning is in doubt."""
    whole = float(burning.likely) + beside
    spread = float(burning.spread) * float(burning.likely) / whole if whole > 0 else 0.0
    return Estimate(whole, spread)
