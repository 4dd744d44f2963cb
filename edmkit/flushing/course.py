"""What a running burn is held against, and the readings of dial and clock as they were taken.

The dial counts the head's travel from touch. The hole is that deep, less what has gone off the
electrode's end, plus the gap in front: the electrode touched the metal, then burned a gap away.
"""

from dataclasses import asdict, dataclass

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.estimate import Estimate
from edmkit.units import percent

_NODES = 201  # depths of the table
_PAST = 1.5  # the table goes on to this multiple of the depth, on the last area: assumption
LONGEST_MIN, DEEPEST_MM = 100_000.0, 1000.0


@dataclass(frozen=True)
class Reading:
    """One look at the dial: minutes on the clock since touch, and what was read.

    ``dial_mm`` is the dial. With ``strokes`` only the step per lift was read: ``travel_mm`` is how
    far the dial moved over that many strokes. ``touched`` is a new touch on the floor, the dial
    then at ``dial_mm``; what the clock ran since the reading before was not burning.
    """

    minutes: float
    dial_mm: float | None = None
    travel_mm: float | None = None
    strokes: float | None = None
    touched: bool = False

    def __post_init__(self):
        knob = "check the clock"
        require("minutes", self.minutes, 0, LONGEST_MIN, "min", knob=knob)
        if (self.dial_mm is None) == (self.travel_mm is None):
            raise Refusal("a reading must be the dial or its step per lift: give one of them.")
        if self.touched and self.dial_mm is None:
            raise Refusal("a new touch must say what the dial shows: give the dial.")
        if self.dial_mm is not None:
            require("dial", self.dial_mm, -DEEPEST_MM, DEEPEST_MM, "mm", knob="read the dial again")
        else:
            knob = "count lifts for a minute"
            require("travel", self.travel_mm, 0, DEEPEST_MM, "mm", knob="read the dial again")
            require("strokes", self.strokes, 1, 10_000, knob=knob)


@dataclass(frozen=True)
class Course:
    """A hole as it should burn; lengths from first touch.

    ``depths_mm`` and ``volumes_mm3`` are the work gone against depth, ``reach_mm`` the depth to
    reach. ``rate`` is that while burning [mm³/min], ``burn_share`` the share of the clock that
    burns, ``stroke_s`` the time from lift to lift, None without a lift timer. ``wear`` is that by
    volume [-], ``gap_mm`` the gap in front.
    """

    depths_mm: tuple
    volumes_mm3: tuple
    reach_mm: float
    section_mm2: float
    rate: Estimate
    wear: Estimate
    gap_mm: Estimate
    burn_share: float = 1.0
    stroke_s: float | None = None

    @property
    def _dials(self):
        """Dial at each depth of the table [mm]."""
        end = self.wear.likely * np.asarray(self.volumes_mm3) / self.section_mm2
        return np.asarray(self.depths_mm) + end - self.gap_mm.likely

    def travel_to(self, depth_mm, from_mm=0.0):
        """Return the travel to a depth after a touch on the floor [mm].

        Parameters
        ----------
        depth_mm, from_mm : float
            Depth to go to, and of the floor at the touch [mm].
        """
        floor, there = np.interp([from_mm, depth_mm], self.depths_mm, self._dials)
        return float(there - floor) - self.gap_mm.likely

    @property
    def stop_mm(self):
        """Dial at which the depth is reached, from the first touch [mm]."""
        return self.travel_to(self.reach_mm)

    @property
    def volume_mm3(self):
        """Work to remove [mm³]."""
        return float(self.volume_at(self.reach_mm))

    @property
    def end_mm(self):
        """Depth at which the course ends, past that to reach [mm]."""
        return self.depths_mm[-1]

    def depth_at(self, travel_mm, from_mm=0.0):
        """Return the depth after a travel from a touch on the floor at a depth [mm].

        Parameters
        ----------
        travel_mm : float or array
            Travel of the head from that touch [mm].
        from_mm : float
            Depth of the floor at the touch [mm].
        """
        dials = self._dials
        floor = np.interp(from_mm, self.depths_mm, dials) + self.gap_mm.likely
        return np.interp(np.asarray(travel_mm) + floor, dials, self.depths_mm)[()]

    def volume_at(self, depth_mm):
        """Return the work gone at a depth [mm³].

        Parameters
        ----------
        depth_mm : float or array
            Depth from first touch [mm].
        """
        return np.interp(depth_mm, self.depths_mm, self.volumes_mm3)[()]

    def area_at(self, depth_mm):
        """Return the work gone per millimetre of the dial at a depth [mm²].

        Parameters
        ----------
        depth_mm : float or array
            Depth from first touch [mm].
        """
        middles = (np.asarray(self.depths_mm)[1:] + np.asarray(self.depths_mm)[:-1]) / 2
        area = np.interp(depth_mm, middles, np.diff(self.volumes_mm3) / np.diff(self.depths_mm))
        return (area / (1 + self.wear.likely * area / self.section_mm2))[()]

    def kept(self):
        """Return the course as plain values for a file."""
        return asdict(self)

    @classmethod
    def from_kept(cls, kept):
        """Return a course from the plain values of a file.

        Parameters
        ----------
        kept : dict
            As `kept` gave it; faulty values raise what Python raises.
        """
        estimates = {name: Estimate(**kept[name]) for name in ("rate", "wear", "gap_mm")}
        tables = {name: tuple(map(float, kept[name])) for name in ("depths_mm", "volumes_mm3")}
        return cls(**{**kept, **estimates, **tables})


def course_of(hole):
    """Return the course of a hole.

    Parameters
    ----------
    hole : Hole
        One hole at one setting, from `planning.hole.sink`.

    Notes
    -----
    Touched off by contact. Where wear has no figure it is left out.
    """
    feature, burn, settings = hole.feature, hole.burn, hole.burn.settings
    reach = float(feature.reach_mm())
    depths = reach * np.linspace(0, 1, _NODES) ** 2  # close together where a curved face begins
    whole = feature.removed_volume_mm3(depths)
    volumes = whole * (hole.volume_mm3 / whole[-1])  # without what a bore leaves standing
    last = (volumes[-1] - volumes[-2]) / (depths[-1] - depths[-2])
    beyond = reach * (_PAST - 1)
    wear, gap = burn.relative_wear_percent, burn.gap_front_um
    known = not np.isnan(wear.likely)
    lift = settings.lift_burn_s
    return Course(
        (*depths.tolist(), reach + beyond),
        (*volumes.tolist(), float(volumes[-1] + last * beyond)),
        reach,
        float(hole.section_mm2),
        _plain(burn.removal_rate_mm3_per_min),
        _plain(wear, percent) if known else Estimate(0.0, 0.0),
        _plain(gap, 1e-3),
        float(settings.burn_share),
        None if lift is None else float(lift + settings.lift_up_s),
    )


def _plain(estimate, factor=1.0):
    """Return an estimate in plain numbers, as a file holds them."""
    return Estimate(float(estimate.likely) * factor, float(estimate.spread))
