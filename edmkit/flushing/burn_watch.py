"""A running burn: how far it is, how fast it goes, what is left, and a word when it slows."""

from dataclasses import dataclass

import numpy as np

from edmkit.estimate import Estimate
from edmkit.flushing.course import Course
from edmkit.flushing.knob_order import ARCS
from edmkit.flushing.slowdown import fit_rate, slowdown
from edmkit.flushing.track import Track, track
from edmkit.words import Display, two

_LEAST = 0.01  # of the expected rate: a dial that stands still is no surer than that; assumption
_LOOK_BACK = 40  # readings in which a fall is looked for: more would only take longer
_GRID = np.linspace(-6, 6, 2401)  # standard deviations of what was known before
_MILLIMETRES = Display()
# Common practice, no source.
ADVICE = (
    "Check the flushing first: lift, clean both faces, free the flow or reverse it. Then one at a "
    f"time: {'; '.join(knob.do.lower() for knob in ARCS)}."
)


@dataclass(frozen=True)
class Watch:
    """What readings of dial and clock say of a running burn.

    ``rate`` is that while burning now [mm³/min], ``minutes_left`` those on the clock to the stop.
    ``slowed_to`` is the rate as a multiple of that before ``slowed_at_mm`` deep, None while it
    holds.
    """

    course: Course
    track: Track
    rate: Estimate
    minutes_left: Estimate
    slowed_to: float | None = None
    slowed_at_mm: float | None = None

    @property
    def depth_mm(self):
        """Depth from first touch, wear of the end as predicted [mm]."""
        return float(self.track.depths_mm[-1])

    @property
    def volume_mm3(self):
        """Work gone [mm³]."""
        return float(self.course.volume_at(self.depth_mm))

    @property
    def minutes(self):
        """Minutes on the clock so far, stops left out [min]."""
        return float(self.track.burned_min[-1])

    @property
    def share_of_volume(self):
        """Share of the work that is gone [-]."""
        return self.volume_mm3 / self.course.volume_mm3

    @property
    def share_of_depth(self):
        """Share of the depth that is reached [-]."""
        return self.depth_mm / self.course.reach_mm

    @property
    def minutes_behind(self):
        """Minutes more than the plan takes for the work gone; below 0 it is ahead [min]."""
        return self.minutes - planned_minutes(self.course, self.volume_mm3)

    @property
    def past_mm(self):
        """How far the depth is past that to reach; below 0 it is short of it [mm]."""
        return self.depth_mm - self.course.reach_mm

    @property
    def reached(self):
        """Whether the depth is reached."""
        return self.past_mm >= -1e-9

    def slowed(self, display=_MILLIMETRES):
        """Return that the rate fell and since when, empty while it holds.

        Parameters
        ----------
        display : Display
            Millimetres or inches.
        """
        if self.slowed_to is None:
            return ""
        since = display.size_text(self.slowed_at_mm, 0.01)
        return f"Slower than the growing area explains: ×{two(self.slowed_to)} since {since} deep."

    def word(self, display=_MILLIMETRES):
        """Return what to do about a fall of the rate, empty while it holds.

        Parameters
        ----------
        display : Display
            Millimetres or inches.
        """
        said = self.slowed(display)
        return f"{said} {ADVICE}" if said else ""


def planned_minutes(course, volume_mm3):
    """Return the minutes on the clock that the plan takes for a volume [min].

    Parameters
    ----------
    course : Course
        What the burn is held against.
    volume_mm3 : float or array
        Work gone [mm³].
    """
    return volume_mm3 / (course.rate.likely * course.burn_share)


def watch(course, readings, dial_error_mm=0.01):
    """Return what the readings of a running burn say.

    Parameters
    ----------
    course : Course
        What it is held against.
    readings : sequence of Reading
        In the order they were taken, the start left out; none at first.
    dial_error_mm : float
        Standard deviation of one reading of the dial [mm].

    Returns
    -------
    Watch

    Raises
    ------
    Refusal
        As `track.track`.

    Notes
    -----
    The rate is what the physics and the shop say, narrowed by the readings; wear of the end is as
    predicted, its doubt is in the band of the rate. After a fall the readings before it count no
    more. What is left is reckoned at the present rate, to where the dial stops.
    """
    went = track(course, readings, dial_error_mm)
    least = _LEAST * course.rate.likely
    fall = _fall(went, least)
    rate, scatter = _rate_now(course, went, 0 if fall is None else fall[0], least)
    left = _left(course, went, rate, scatter, dial_error_mm)
    if fall is None:
        return Watch(course, went, rate, left)
    return Watch(course, went, rate, left, fall[1], float(went.depths_mm[fall[0]]))


def _fall(went, least):
    """Return from which interval on the rate fell, and to which multiple, or None."""
    if went.steps_min.size < 2:
        return None
    first = max(went.steps_min.size - _LOOK_BACK, 0)
    late = slice(first, None)
    fall = slowdown(went.steps_mm3[late], went.steps_min[late], went.noise[late, late], least)
    return (first + int(fall.interval), float(fall.multiple)) if fall.found else None


def _rate_now(course, went, first, least):
    """Return the rate from an interval on, with what was known before, and its scatter."""
    before = course.rate
    if not went.steps_min.size:
        return before, 0.0
    now = slice(first, None)
    fit = fit_rate(went.steps_mm3[now], went.steps_min[now], went.noise[now, now], least)
    logs = np.log(before.likely) + before.spread * _GRID
    rates = np.exp(logs)
    error = np.hypot(fit.error, rates * _wear_doubt(course, went))
    chance = -(_GRID**2) / 2 - ((fit.rate - rates) / error) ** 2 / 2 - np.log(error)
    weight = np.exp(chance - chance.max())
    middle = np.average(logs, weights=weight)
    spread = np.sqrt(np.average((logs - middle) ** 2, weights=weight))
    return Estimate(float(np.exp(middle)), float(spread)), float(fit.scatter)


def _wear_doubt(course, went):
    """Return how far wear unlike the predicted makes volumes wrong, as a share [-]."""
    depth = went.depths_mm[-1]
    worn = course.wear.likely * course.volume_at(depth) / course.section_mm2
    return course.wear.spread * worn / max(worn + depth, 1e-9)


def _left(course, went, rate, scatter, dial_error_mm):
    """Return the minutes on the clock from the last reading to the stop."""
    depth = went.depths_mm[-1]
    volume = max(course.volume_mm3 - float(course.volume_at(depth)), 0.0)
    likely = volume / (rate.likely * course.burn_share)
    if volume == 0:
        return Estimate(0.0, 0.0)
    dial = dial_error_mm * float(course.area_at(depth)) / volume
    step = went.steps_mm3.mean() if went.steps_mm3.size else volume
    ahead = scatter * float(np.sqrt(np.clip(step / volume, 0.0, 1.0)))
    return Estimate(float(likely), float(np.sqrt(rate.spread**2 + dial**2 + ahead**2)))
