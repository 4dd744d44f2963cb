"""The burn that runs, as the pages follow it: its hole, its readings, what goes into the book."""

import time
from dataclasses import asdict, fields, replace
from datetime import datetime

from edmkit.checks import Refusal
from edmkit.flushing.burn_watch import watch
from edmkit.flushing.course import Course, Reading, course_of
from edmkit.flushing.watch_file import WatchFile
from edmkit.trials.columns import MEASURED
from edmkit.trials.from_hole import of_hole
from edmkit.trials.measured import Measured
from edmkit.trials.trial import Trial

_DIAL_MM = 0.01  # a dial's smallest step where no machine says it
_BACK = "take_back"
_NOT_KEPT = {"machine_file", *MEASURED}
_SCRATCH = (0.01, 0.001)  # least minutes and depth that the book takes


class RunningBurn:
    """Follows one burn through its file; every act reads it anew, so two pages see the same.

    ``watch`` is what the readings say, None while nothing runs; ``started`` when the burn was
    started, in seconds of the clock on the wall.
    """

    def __init__(self, folder=None, clock=time.time):
        self.file, self._clock = WatchFile(folder), clock
        self._take()

    @property
    def running(self):
        """Whether a burn runs."""
        return self.watch is not None

    @property
    def complaint(self):
        """What is wrong with the file, else empty."""
        return self.file.complaint

    def look(self):
        """Read the file anew."""
        self.file.look()
        self._take()

    def _take(self):
        self.watch, self.readings = None, ()
        if not self.file.running:
            return
        try:
            start = self.file.start
            self.started, self._dial = float(start["started"]), float(start["dial_mm"])
            self.course = Course.from_kept(start["course"])
            self.plan, self.above_mm = Trial(**start["trial"]), float(start["above_mm"])
            self.readings = _readings(self.file.records)
            self.watch = watch(self.course, self.readings, self._dial)
        except (Refusal, KeyError, TypeError, ValueError, AttributeError) as fault:
            self.file.set_aside(fault)

    def begin(self, hole, dialled=""):
        """Begin to follow a burn.

        Parameters
        ----------
        hole : Hole
            One hole at one setting.
        dialled : str
            The positions as engraved.
        """
        burning, machine = of_hole(hole, dialled), hole.burn.setup.machine
        trial = {field.name: getattr(burning.trial, field.name) for field in fields(Trial)
                 if field.name not in _NOT_KEPT}  # fmt: skip
        course = course_of(hole)
        self.file.begin({
            "started": self._clock(),
            "dial_mm": machine.resolution.dial_mm if machine else _DIAL_MM,
            "course": course.kept(),
            "trial": trial,
            "above_mm": float(hole.feature.depth_mm) - course.reach_mm,
        })  # fmt: skip
        self._take()

    def minutes_now(self):
        """Return the minutes on the clock since the burn was started [min]."""
        return (self._clock() - self.started) / 60

    def add(self, minutes=None, **read):
        """Keep a reading; refused before anything is written where it can't be.

        Parameters
        ----------
        minutes : float or None
            On the clock since touch; None takes the clock now [min].
        **read : float or bool
            Of `Reading`: dial_mm, or travel_mm and strokes, or dial_mm and touched.
        """
        self.look()
        if not self.running:
            raise Refusal("no burn is running: touch off and start one first.")
        reading = Reading(self.minutes_now() if minutes is None else minutes, **read)
        watch(self.course, (*self.readings, reading), self._dial)
        self.file.add({name: value for name, value in asdict(reading).items() if value is not None})
        self._take()

    def take_back(self):
        """Take back the last reading."""
        self.look()
        if not self.readings:
            raise Refusal("no reading is left to take back.")
        self.file.add({_BACK: True})
        self._take()

    def trial(self):
        """Return the burn as it goes into the book, up to its last reading."""
        seen = self.watch
        if seen is None or seen.minutes < _SCRATCH[0] or seen.depth_mm < _SCRATCH[1]:
            raise Refusal(
                "the burn has no depth to hand over yet: read the dial once more, or take its "
                "readings back."
            )
        # Of the last reading, not of now: handing over twice hands over the same burn.
        ended = datetime.fromtimestamp(self.started + 60 * self.readings[-1].minutes)
        words = f"{seen.slowed()} Followed by dial and clock; end wear as predicted."
        return replace(
            self.plan,
            burned_at=ended.astimezone().isoformat(timespec="seconds"),
            minutes=Measured(seen.minutes, "watch"),
            depth_mm=Measured(seen.depth_mm + self.above_mm, "dial"),
            volume_mm3=seen.volume_mm3,
            lost_min=seen.track.lost_min or None,
            remark=words.strip(),
        )

    def end(self):
        """End the burn; its readings stay in the folder until the next one ends."""
        self.file.finish()
        self._take()


def _readings(records):
    """Return the readings of the records, those that were taken back left out."""
    found = []
    for record in records:
        if record.get(_BACK):
            found = found[:-1]
        else:
            found.append(Reading(**record))
    return tuple(found)
