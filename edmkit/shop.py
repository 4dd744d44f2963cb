"""What this shop has learned: how its burns differ from what the physics says, and how surely."""

from dataclasses import dataclass, field

import numpy as np

from edmkit.checks import Refusal, require
from edmkit.knowledge import QUANTITIES, SPREADS, Learned, Lesson, Place, logs, teach, untrained
from edmkit.likely import DIALS, likely
from edmkit.units import minute, mm2, mm3


@dataclass(frozen=True)
class Shop:
    """A shop's own constants; ``Shop()`` is an untrained one with the wide prior.

    ``learned`` holds a `Learned` for each quantity that was taught; ``trials`` the ids of the
    burns it was learned from; ``tried`` the dial values used, by machine's name and dial. What
    was learned on one machine and work tells less of another work, hardly anything of another
    machine.
    """

    learned: dict = field(default_factory=dict)
    trials: tuple = ()
    tried: dict = field(default_factory=dict)

    def known(self, quantity, setup):
        """Return the `Knowledge` of a quantity for a set-up."""
        place = Place.of(setup)
        if not self.knows(quantity, setup):
            return untrained(quantity, place.is_steel)
        return self.learned[quantity].at(place)

    def knows(self, quantity, setup):
        """Return whether this machine's own constants hold this quantity, learned or by hand."""
        mine = self.learned.get(quantity)
        return mine is not None and mine.knows_machine(Place.of(setup))

    def learned_at(self, quantity, setup):
        """Return the dial values a quantity was learned at, by dial; None where it was not.

        Values that the machine file no longer has are left out.
        """
        machine = setup.machine
        if machine is None or machine.name not in self.tried or not self.knows(quantity, setup):
            return None
        return {
            dial: tuple(v for v in values if np.isclose(getattr(machine, dial).values, v).any())
            for dial, values in self.tried[machine.name].items()
        }

    def correction(self, quantity, setup, point):
        """Return shift and spread of ln(measured / predicted) for a quantity at a point [-]."""
        return self.known(quantity, setup).correction(point)

    def drift(self, quantity, setup, point, other_setup, other_point):
        """Return the spread of the logarithm of a ratio between two points of one shop [-].

        The level cancels, save what another electrode or polarity has of its own.
        """
        place, other = Place.of(setup), Place.of(other_setup)
        mine = self._own(quantity, place)
        steps = [a - b for a, b in zip(logs(point), logs(other_point), strict=True)]
        slopes = mine.at(place).variance([0.0, *steps])
        return np.sqrt(slopes + mine.difference(place, other))

    def over_settings(self, quantity, setup):
        """Return the `Knowledge` with level and slopes apart, of an untrained shop too."""
        place = Place.of(setup)
        return self._own(quantity, place).at(place)

    def _own(self, quantity, place):
        mine = self.learned.get(quantity)
        known = mine is not None and mine.knows_machine(place)
        return mine if known else _NOTHING[quantity]

    @classmethod
    def from_constants(cls, setup, spread=0.2, **factors):
        """Return a shop whose constants are given by hand.

        Parameters
        ----------
        setup : Setup
            The machine, work material, electrode and polarity they hold for.
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
        terms, learned = Place.of(setup).level_terms, {}
        for quantity, factor in factors.items():
            if quantity not in SPREADS:
                raise Refusal(
                    f"a constant must be one of {', '.join(QUANTITIES)}, got {quantity!r}."
                )
            value = require(quantity, factor, 1e-3, 1e3, knob="1 means as predicted")
            mean = (float(np.log(value)), *(0.0,) * (len(terms) - 1))
            covariance = np.zeros((len(terms), len(terms)))
            covariance[0, 0] = float(spread) ** 2
            rows = tuple(map(tuple, covariance.tolist()))
            noise = SPREADS[quantity].noise
            learned[quantity] = Learned(quantity, terms, mean, rows, noise, flat=True)
        return cls(learned)

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
        The size counts twice in the volume. One hole could be a slip of memory: that is in the
        band.
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
        doubt = minutes_spread**2 + (2 * size_spread) ** 2 + depth_spread**2
        at = tuple(float(v) for v in logs(operating_point(point)))
        lesson = Lesson("remembered", Place.of(setup), at, log_ratio, float(doubt))
        learned, _ = teach("removal_rate", [lesson])
        return cls({"removal_rate": learned}, tried=tried_by([(setup, positions)]))


_NOTHING = {quantity: Learned(quantity, (), (), (), s.noise) for quantity, s in SPREADS.items()}


def tried_by(burns):
    """Return the dial values that were used: machine's name -> dial -> values.

    Parameters
    ----------
    burns : iterable of (Setup, Settings)
        Without a machine no dial is in doubt, and nothing is noted.
    """
    found = {}
    for setup, settings in burns:
        if setup.machine is None or not hasattr(settings, DIALS[0]):
            continue
        dials = found.setdefault(setup.machine.name, {dial: set() for dial in DIALS})
        for dial in DIALS:
            dials[dial].add(float(getattr(settings, dial)))
    return {
        name: {dial: tuple(sorted(values)) for dial, values in dials.items()}
        for name, dials in found.items()
    }


def operating_point(point):
    """Return current [A], on-time [s] and area [m²]: what a shop's knowledge is a function of.

    Parameters
    ----------
    point : Likely
        The set-up and its settings.
    """
    area = np.asarray(point.setup.engaged_area_mm2) * mm2
    return point.spark_current, point.discharge_duration, area[()]
