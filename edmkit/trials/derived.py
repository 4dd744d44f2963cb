"""What follows from the measured columns of a burn, each figure with its error."""

from dataclasses import dataclass
from math import hypot, inf, isfinite, log, nan, pi

from edmkit.physics.finish import RZ_PER_RA
from edmkit.trials.measured import KINDS

_WIDE = 0.35  # an error above this share of the value is taken as an interval, not as a spread
_NINE_IN_TEN = 1.645
_RZ_PER_RA_SPREAD = 0.15  # of the logarithm; Rz over Ra is 4.5 to 7
_AREA_FOR_HOLE = 0.05  # the hole is larger than the electrode by its gap; assumption
QUANTITIES = ("removal_rate", "roughness_Ra", "relative_wear", "gap_side", "gap_front", "recast")
UNITS = dict(zip(QUANTITIES, ("mm³/min", "µm", "%", "µm", "µm", "µm"), strict=True))


@dataclass(frozen=True)
class Figure:
    """A positive number in its shop unit: likely value and variance of its logarithm.

    Where only ends are known, ``low`` and ``high`` give them (0 and infinity are open ends), and
    ``value`` is the middle, to be shown.
    """

    value: float
    variance: float = 0.0
    low: float = nan
    high: float = nan

    @property
    def is_interval(self):
        """Whether only two ends are known."""
        return self.low == self.low

    @property
    def log_ends(self):
        """Logarithms of the ends, NaN where the figure is a value."""
        ends = []
        for end in (self.low, self.high):
            ends.append(-inf if end == 0 else log(end) if isfinite(end) else end)
        return tuple(ends)


@dataclass(frozen=True)
class Derived:
    """Figures by quantity, and for each one that is missing a sentence why."""

    figures: dict
    missing: dict
    volume_mm3: float | None
    end_wear_mm: float | None


class _Lacking(Exception):
    """What is missing; the text says what to fill in."""


def derive(trial):
    """Return what follows from the measured columns of a burn.

    Parameters
    ----------
    trial : Trial
        One burn.

    Returns
    -------
    Derived
        Removal rate per minute of burning [mm³/min], roughness Ra [µm], relative wear [%], side
        gap per side, gap in front and recast layer [µm], as far as they can be had.

    Notes
    -----
    Errors of the ways of measuring add as squares. A difference that its error swamps becomes an
    interval, so that it is not taken for more than it is.
    """
    figures, missing = {}, {}
    for quantity, work_out in _WAYS.items():
        try:
            figures[quantity] = work_out(trial)
        except _Lacking as lack:
            missing[quantity] = str(lack)
    return Derived(figures, missing, _or_none(_volume, trial), _or_none(_loss, trial))


def _or_none(work_out, trial):
    try:
        return work_out(trial)[0]
    except _Lacking:
        return None


def _figure(value, error, what):
    """Return a figure of a difference with a normal error in its own unit."""
    if value > 0 and error <= _WIDE * value:
        return Figure(value, (error / value) ** 2)
    high = value + _NINE_IN_TEN * error
    if not high > 0:
        raise _Lacking(what)
    return Figure(max(value, high / 2), 0.0, max(value - _NINE_IN_TEN * error, 0.0), high)


def _needed(trial, *names):
    for name in names:
        if getattr(trial, name) is None:
            raise _Lacking(f"{name} is not filled in")
    return [getattr(trial, name) for name in names]


def _burn_share(trial):
    if trial.lift_burn_s is None or trial.lift_up_s is None:
        return 1.0
    return trial.lift_burn_s / (trial.lift_burn_s + trial.lift_up_s)


def _volume(trial):
    """Return the work removed [mm³] and the spread of its logarithm."""
    spread = 0.0
    if trial.depth_mm is not None:
        spread = trial.depth_mm.error / max(trial.depth_mm.middle, 1e-9)
    if trial.volume_mm3 is not None:
        return trial.volume_mm3, spread
    area = trial.engaged_area_mm2 or trial.section_mm2
    if area is None or trial.depth_mm is None:
        raise _Lacking("the work removed is not known: fill in the depth, and the area or volume")
    return area * trial.depth_mm.middle, hypot(spread, _AREA_FOR_HOLE)


def _loss(trial):
    """Return what came off the electrode's length [mm], its error and its ends, if it has any."""
    worn = trial.end_wear_mm
    if worn is not None:
        ends = (worn.value, worn.to) if worn.to is not None else (nan, nan)
        return worn.middle, worn.error, ends
    before, after = trial.length_before_mm, trial.length_after_mm
    if before is None or after is None:
        raise _Lacking("what came off the electrode is not filled in")
    return before.value - after.value, hypot(before.error, after.error), (nan, nan)


def _removal_rate(trial):
    (minutes,) = _needed(trial, "minutes")
    volume, spread = _volume(trial)
    taken = minutes.error / minutes.middle
    rate = volume / (minutes.middle * _burn_share(trial))
    return Figure(rate, spread**2 + taken**2)


def _relative_wear(trial):
    volume, spread = _volume(trial)
    loss, error, (low, high) = _loss(trial)
    section = trial.section_mm2 or trial.engaged_area_mm2
    if section is None:
        raise _Lacking("the electrode's section is not filled in")
    per_mm = 100 * section / volume
    if low == low:
        return Figure(loss * per_mm, spread**2, low * per_mm, high * per_mm)
    figure = _figure(loss, error, "the electrode is longer after the burn than before: check both")
    ends = figure.low * per_mm, figure.high * per_mm
    return Figure(figure.value * per_mm, figure.variance + spread**2, *ends)


def _gap_side(trial):
    hole, tool = _needed(trial, "hole_size_mm", "electrode_size_mm")
    moved, um = trial.orbit_mm or 0.0, 1000.0
    swamped = "the hole came out smaller than the electrode: check both sizes"
    if hole.to is None:
        gap = (hole.value - tool.middle) / 2 - moved
        return _figure(um * gap, um * hypot(hole.error, tool.error) / 2, swamped)
    low, high = ((end - tool.middle) / 2 - moved for end in (hole.value, hole.to))
    spare = _NINE_IN_TEN * tool.error / 2
    if not high + spare > 0:
        raise _Lacking(swamped)
    ends = max(um * (low - spare), 0.0), um * (high + spare)
    return Figure(sum(ends) / 2, 0.0, *ends)


def _gap_front(trial):
    if trial.face not in ("", "Flat") or not trial.touch.startswith("contact"):
        raise _Lacking("it follows only from a flat face touched off by contact")
    depth, stop = _needed(trial, "depth_mm", "stop_mm")
    loss, error, (low, high) = _loss(trial)
    if low == low:
        error = (high - low) / 12**0.5
    gap, error = depth.middle - stop + loss, hypot(depth.error, error)
    return _figure(1000 * gap, 1000 * error, "depth, stop and wear contradict each other")


def _roughness(trial):
    seen = trial.roughness_Ra_um
    if seen is not None and seen.to is not None:
        return Figure(seen.middle, 0.0, seen.value, seen.to)
    if seen is not None:
        return Figure(seen.value, KINDS[seen.how].share ** 2)
    (height,) = _needed(trial, "roughness_Rz_um")
    spread = hypot(KINDS[height.how].share, _RZ_PER_RA_SPREAD)
    return Figure(height.value / RZ_PER_RA, spread**2)


def _recast(trial):
    (seen,) = _needed(trial, "recast_um")
    return Figure(seen.value, KINDS[seen.how].share ** 2)


_WAYS = {
    "removal_rate": _removal_rate,
    "roughness_Ra": _roughness,
    "relative_wear": _relative_wear,
    "gap_side": _gap_side,
    "gap_front": _gap_front,
    "recast": _recast,
}


def round_area_mm2(size_mm, bore_mm=0.0):
    """Return the area of a round section with a bore [mm²].

    Parameters
    ----------
    size_mm, bore_mm : float
        Diameters [mm].
    """
    return pi * (size_mm**2 - bore_mm**2) / 4
