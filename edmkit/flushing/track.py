"""Readings of dial and clock, one after another: how deep, how much gone, how surely."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, require

_FLICKER = 2.0  # the dial may show this many of its errors less than before: assumption
_LARGEST = (1e-4, 1.0)  # error of a dial [mm]


@dataclass(frozen=True)
class Track:
    """How a burn went; the start is the first of its points.

    ``burned_min`` are minutes on the clock, stops left out, ``depths_mm`` from first touch.
    ``steps_mm3`` is the work gone in each interval, ``steps_min`` its minutes of burning alone
    and ``noise`` the covariance of the steps through the dial [mm⁶]. ``dial_mm`` is the dial at
    the end, ``stop_mm`` that at the depth to reach; ``lost_min`` what the clock ran while nothing
    burned.
    """

    burned_min: np.ndarray
    depths_mm: np.ndarray
    steps_mm3: np.ndarray
    steps_min: np.ndarray
    noise: np.ndarray
    dial_mm: float
    stop_mm: float
    lost_min: float


def track(course, readings, dial_error_mm=0.01):
    """Return how a burn went.

    Parameters
    ----------
    course : Course
        What it is held against.
    readings : sequence of Reading
        In the order they were taken, the start left out.
    dial_error_mm : float
        Standard deviation of one reading of the dial [mm].

    Raises
    ------
    Refusal
        If dial or clock go backwards, the dial runs far past the stop, a step per lift is read
        without a lift timer, or dial and steps are mixed.
    """
    error = float(require("dial error", dial_error_mm, *_LARGEST, "mm", knob="0.01 mm is usual"))
    walk = _Walk(course, error)
    for reading in readings:
        walk.take(reading)
    return walk.track()


class _Walk:
    """Goes through readings; ``sources`` holds what one error of each reading does to each step."""

    def __init__(self, course, error):
        self.course, self.error = course, error
        gap = course.gap_mm
        self.touch_error = float(np.hypot(error, gap.likely * gap.spread))
        self.clock = self.lost = self.base = 0.0
        self.burned, self.depths, self.steps, self.sources = [0.0], [0.0], [], []
        self._touch(0.0)

    def _touch(self, dial):
        self.zero = self.dial = dial
        self.by_step = None
        self.base, self.before, self.number = self.depths[-1], self.touch_error, -1

    def take(self, reading):
        """Go on to the next reading."""
        passed = reading.minutes - self.clock
        if passed < 0 or (passed == 0 and not reading.touched):
            raise Refusal(
                f"minutes must be more than {self.clock:.4g}, the reading before, got "
                f"{reading.minutes:.4g}: check the clock."
            )
        self.clock = reading.minutes
        if reading.touched:
            self.lost += passed
            self._touch(reading.dial_mm)
        else:
            self._same_kind(reading.travel_mm is not None)
            if self.by_step:
                self._stepped(reading, passed)
            else:
                self._dialled(reading.dial_mm, passed)

    def _same_kind(self, by_step):
        if self.by_step not in (None, by_step):
            kind = "its step per lift" if self.by_step else "the dial"
            raise Refusal(
                f"readings since a touch must be of one kind, so far {kind}: go on with it, or "
                "touch again."
            )
        self.by_step = by_step

    def _dialled(self, dial, passed):
        depth = self._reached(dial)
        area = self.course.area_at
        self._go_on(dial, depth, passed, {self.number: -self.before * area(self.depths[-1]),
                                          len(self.steps): self.error * area(depth)})  # fmt: skip
        self.before, self.number = self.error, len(self.steps) - 1

    def _stepped(self, reading, passed):
        if self.course.stroke_s is None:
            raise Refusal(
                "the step per lift needs the lift timer: set it, or read the dial instead."
            )
        lifts = passed * 60 / self.course.stroke_s / reading.strokes
        dial = self.dial + reading.travel_mm * lifts
        depth = self._reached(dial)
        slip = 2**0.5 * self.error * lifts * self.course.area_at(depth)
        self._go_on(dial, depth, passed, {len(self.steps): slip})

    def _reached(self, dial):
        if dial < self.dial - _FLICKER * self.error:
            raise Refusal(
                f"dial must be {self.dial:.4g} mm or more, the reading before, got {dial:.4g} mm: "
                "check the number, or enter a new touch if the head was drawn back."
            )
        end = self._dial_at(self.course.end_mm)
        if dial > end:
            raise Refusal(
                f"dial must be {end:.4g} mm or less, far past the stop, got {dial:.4g} mm: check "
                "the number, or start a burn of the deeper hole."
            )
        return float(self.course.depth_at(dial - self.zero, self.base))

    def _dial_at(self, depth):
        return self.zero + self.course.travel_to(depth, self.base)

    def _go_on(self, dial, depth, passed, source):
        volume = self.course.volume_at
        self.steps.append((volume(depth) - volume(self.depths[-1]), passed))
        self.sources.append(source)
        self.burned.append(self.burned[-1] + passed)
        self.depths.append(depth)
        self.dial = dial

    def track(self):
        """Return the readings as a `Track`."""
        count = len(self.steps)
        effect = np.zeros((count, 2 * count + 1))
        touches = {}
        for row, source in enumerate(self.sources):
            for number, size in source.items():
                column = number if number >= 0 else count + touches.setdefault(row, len(touches))
                effect[row, column] += size
        volumes, minutes = np.array(self.steps, dtype=float).reshape(-1, 2).T
        return Track(
            np.array(self.burned), np.array(self.depths), volumes,
            minutes * self.course.burn_share, effect @ effect.T, float(self.dial),
            self._dial_at(self.course.reach_mm), self.lost,
        )  # fmt: skip
