"""What this shop has learned: how its burns differ from what the physics says, and how surely."""

from dataclasses import dataclass, field, replace

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.likely import likely
from edmkit.units import minute, mm2, mm3

# Standard deviations of the logarithm, measured over predicted. First the whole of an untrained
# shop, then how far it may drift per e-fold of current, on-time and area, then from burn to
# burn. From the spread of published levels and exponents; the rest assumed.
_PRIORS = {
    "removal_rate": (1.15, (0.20, 0.20, 0.30), 0.20),
    "roughness_Ra": (0.35, (0.07, 0.08, 0.03), 0.11),
    "relative_wear": (0.60, (0.15, 0.20, 0.10), 0.25),
    "gap_side": (0.35, (0.10, 0.10, 0.05), 0.15),
}
# Between two work materials of one shop: both steels, or not. Assumptions.
_MATERIAL = {
    "removal_rate": (0.35, 0.80),
    "roughness_Ra": (0.12, 0.25),
    "relative_wear": (0.20, 0.50),
    "gap_side": (0.12, 0.25),
}
QUANTITIES = tuple(_PRIORS)


def _direction(point, reference):
    """Return level, current, on-time and area columns of a point, stacked first."""
    if reference is None:
        return [1.0, 0.0, 0.0, 0.0]
    return [1.0, *(np.log(np.asarray(v) / r) for v, r in zip(point, reference, strict=True))]


@dataclass(frozen=True)
class Knowledge:
    """What is known of one quantity: ln(measured / predicted) as a plane over the settings.

    ``mean`` and ``covariance`` are of the level and of its slopes in ln current, ln on-time and
    ln area about ``reference`` (A, s, m²); ``noise`` is from burn to burn.
    """

    mean: tuple
    covariance: tuple
    noise: float
    reference: tuple | None = None

    def correction(self, point):
        """Return shift and spread of the logarithm at a point (current, on-time, area)."""
        columns = _direction(point, self.reference)
        shift = sum(m * x for m, x in zip(self.mean, columns, strict=True))
        return shift, np.sqrt(self._variance(columns) + self.noise**2)

    def _variance(self, columns):
        used = [i for i, x in enumerate(columns) if np.ndim(x) or x]
        return sum(self.covariance[i][j] * columns[i] * columns[j] for i in used for j in used)

    def drift(self, point, other):
        """Return the spread of the logarithm of the ratio between two points [-]."""
        pairs = zip(point, other, strict=True)
        columns = [0.0, *(np.log(np.asarray(a) / np.asarray(b)) for a, b in pairs)]
        return np.sqrt(self._variance(columns))

    def updated(self, point, log_ratio, spread):
        """Return the knowledge after one burn at a point: ln(measured / predicted), its spread."""
        reference = self.reference or tuple(float(v) for v in point)
        columns = np.array([float(x) for x in _direction(point, reference)])
        mean, covariance = np.array(self.mean), np.array(self.covariance)
        towards = covariance @ columns
        gain = towards / (columns @ towards + self.noise**2 + spread**2)
        mean = mean + gain * (log_ratio - columns @ mean)
        covariance = covariance - np.outer(gain, towards)
        rows = tuple(map(tuple, covariance.tolist()))
        return replace(self, mean=tuple(mean.tolist()), covariance=rows, reference=reference)


def untrained(quantity, is_steel=True):
    """Return what is known of a quantity before any trial of the shop.

    Parameters
    ----------
    quantity : str
        One of removal_rate, roughness_Ra, relative_wear, gap_side.
    is_steel : bool
        The levels were gathered on steels; other metals add their own doubt.

    Returns
    -------
    Knowledge
        Mean 0; the level takes what the slopes and the noise leave of the whole spread.
    """
    whole, slopes, noise = _PRIORS[quantity]
    within, between = _MATERIAL[quantity]
    level = whole**2 - noise**2
    level += 0.0 if is_steel else between**2 - within**2
    covariance = np.diag([level, *(s**2 for s in slopes)])
    return Knowledge((0.0,) * 4, tuple(map(tuple, covariance.tolist())), noise)


@dataclass(frozen=True)
class Shop:
    """A shop's own constants; ``Shop()`` is an untrained one with the wide prior.

    What was learned holds for one machine and one work material; another material of the shop
    is known less well, another machine not at all.
    """

    knowledge: dict = field(default_factory=dict)
    work: object = None
    machine: object = None
    positions: object = None

    def _known(self, quantity, setup):
        """Return knowledge of a quantity and the extra variance of another material."""
        mine = self.knowledge.get(quantity)
        if mine is None or not self._same_machine(setup):
            return untrained(quantity, setup.work.is_steel), 0.0
        if self.work is None or self.work == setup.work:
            return mine, 0.0
        steels = self.work.is_steel and setup.work.is_steel
        return mine, _MATERIAL[quantity][0 if steels else 1] ** 2

    def _same_machine(self, setup):
        return (setup.machine and setup.machine.name) == self.machine

    def knows(self, quantity, setup):
        """Return whether this machine's own constants hold this quantity, learned or by hand."""
        return quantity in self.knowledge and self._same_machine(setup)

    def learned_at(self, quantity, setup):
        """Return the settings a quantity was learned at, None where it was not."""
        return self.positions if self.knows(quantity, setup) else None

    def correction(self, quantity, setup, point):
        """Return shift and spread of ln(measured / predicted) for a quantity at a point [-]."""
        known, extra = self._known(quantity, setup)
        shift, spread = known.correction(point)
        return shift, np.sqrt(spread**2 + extra) if extra else spread

    def drift(self, quantity, setup, point, other):
        """Return the spread of the logarithm of a ratio between two points of one shop [-]."""
        return self._known(quantity, setup)[0].drift(point, other)

    @classmethod
    def from_constants(cls, setup, spread=0.2, **factors):
        """Return a shop whose constants are given by hand.

        Parameters
        ----------
        setup : Setup
            The machine and the work material they hold for.
        spread : float
            How surely they are known: standard deviation of the logarithm [-].
        **factors : float
            Measured over predicted, by quantity: ``removal_rate=0.6``, ``relative_wear=1.5`` [-].

        Raises
        ------
        Refusal
            If a quantity is unknown, or a factor outside 0.001 to 1000.
        """
        require("spread", spread, 0, 3, knob="0.2 is known to about x1.4")
        knowledge = {}
        for quantity, factor in factors.items():
            if quantity not in _PRIORS:
                raise Refusal(
                    f"a constant must be one of {', '.join(QUANTITIES)}, got {quantity!r}."
                )
            value = require(quantity, factor, 1e-3, 1e3, knob="1 means as predicted")
            slopes = untrained(quantity).covariance[1:]
            rows = ((float(spread) ** 2, 0.0, 0.0, 0.0), *slopes)
            noise = _PRIORS[quantity][2]
            knowledge[quantity] = Knowledge((float(np.log(value)), 0.0, 0.0, 0.0), rows, noise)
        return cls(knowledge, setup.work, setup.machine and setup.machine.name)

    @classmethod
    def from_remembered_hole(
        cls,
        size,
        depth_mm,
        face,
        positions,
        minutes,
        *,
        setup,
        minutes_spread=0.2,
        size_spread=0.02,
        depth_spread=0.05,
    ):
        """Return a shop that knows its removal rate from one hole somebody remembers.

        Parameters
        ----------
        size, face : shape and face
            What was burned, and into what, as a `Feature` takes them.
        depth_mm, minutes : float
            How deep it went [mm], and how long it took on the clock, lifts included [min].
        positions : Settings
            What was dialled then; with a machine, from `Machine.settings`.
        setup : Setup
            Machine, work, electrode, fluid and area of that hole.
        minutes_spread, size_spread, depth_spread : float
            Doubt of the memory: standard deviations of the logarithm [-].

        Raises
        ------
        Refusal
            If a number is outside its range or the hole removes nothing.

        Notes
        -----
        One conjugate step on the level and slopes. The size counts twice in the volume.
        """
        taken = require("minutes", minutes, 0.05, 10_000, "min", knob="give minutes of the clock")
        doubts = {"minutes": minutes_spread, "size": size_spread, "depth": depth_spread}
        for name, value in doubts.items():
            require(f"{name}_spread", value, 0, 2, knob="0.2 is known to about x1.4")
        if not hasattr(size, "into"):
            raise Refusal(f"size must be a shape, got {size!r}: write ek.Round(3.0).")
        hole = size.into(face, depth_mm)
        volume = hole.removed_volume_mm3(hole.depth_mm - hole.first_contact_mm()) * mm3
        point = likely(setup, positions)
        burning = taken * minute * getattr(positions, "burn_share", 1.0)
        if np.ndim(point.removal_rate * burning):
            raise Refusal(
                "a remembered hole must be one hole, got arrays: give one number for each setting, "
                "for the area and for the minutes."
            )
        if not point.removal_rate > 0:
            raise Refusal("this hole removes nothing at these positions: check them.")
        log_ratio = float(np.log(volume / burning / point.removal_rate))
        doubt = float(np.sqrt(minutes_spread**2 + (2 * size_spread) ** 2 + depth_spread**2))
        learned = untrained("removal_rate", setup.work.is_steel).updated(
            operating_point(point), log_ratio, doubt
        )
        name = setup.machine and setup.machine.name
        return cls({"removal_rate": learned}, setup.work, name, positions)


def operating_point(point):
    """Return current [A], on-time [s] and area [m²]: what a shop's knowledge is a function of.

    Parameters
    ----------
    point : Likely
        The set-up and its settings.
    """
    area = np.asarray(point.setup.engaged_area_mm2) * mm2
    return point.spark_current, point.discharge_duration, area[()]
