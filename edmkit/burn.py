"""Predict a burn: every answer with its band."""

import warnings
from dataclasses import dataclass, fields
from functools import cached_property
from operator import attrgetter

import numpy as np

from edmkit import cautions
from edmkit.checks import RangeWarning, Refusal, require
from edmkit.estimate import Change, ClassEstimate, Estimate
from edmkit.likely import DIALS, likely
from edmkit.physics import finish
from edmkit.physics.crater import CURRENTS, ON_TIMES
from edmkit.physics.wear import end_wear
from edmkit.settings import Relaxation
from edmkit.shop import Shop, operating_point
from edmkit.units import kHz, mJ, mm2, mm3, mm3_per_min, percent, um, um3, us

# Standard deviations of the logarithm of what a shop cannot teach yet, untrained. Assumptions
# from the spread of published figures; no measured crater stands behind them.
UNTAUGHT = {
    "recast": 0.45,
    "heat_affected": 0.35,
    "crater_radius": 0.20,
    "crater_depth": 0.25,
    "crater_volume": 0.40,
    "average_current": 0.10,
    "mean_voltage": 0.25,  # assumption: the wait before a spark is known to a factor of two
}
_DIAL_SCALE = 0.3  # amps of a plate against true amps, until a meter reading; assumption
_STEP = 0.01  # of the logarithm, to feel how an answer follows a dial


@dataclass(frozen=True)
class Burn:
    """Every answer to a set-up and its settings, as `Estimate` of the settings' shape.

    Made by `predict`. An answer is worked out when it is first asked for.
    """

    setup: object
    settings: object
    shop: Shop

    # --- how an answer is put together -----------------------------------------------------
    @cached_property
    def point(self):
        """What the physics alone says."""
        return likely(self.setup, self.settings)

    @cached_property
    def shape(self):
        """Shape of every answer."""
        areas = np.shape(self.setup.engaged_area_mm2), np.shape(self.setup.rim_mm)
        shapes = getattr(self.settings, "shape", ()), *areas
        try:
            return np.broadcast_shapes(*shapes)
        except ValueError:
            raise Refusal(
                "the settings, engaged_area_mm2 and engaged_rim_mm must broadcast together, got "
                f"shapes {', '.join(map(str, shapes))}: give one area or one for each setting."
            ) from None

    def _refuse_misfits(self):
        """Refuse shapes that do not fit, and positions the machine has not got."""
        return self.shape, self._dial_spreads

    def _filled(self, value):
        value = np.asarray(value, dtype=float)
        return value[()] if value.shape == self.shape else np.broadcast_to(value, self.shape)

    def _estimate(self, value, spread=0.0, kind=Estimate):
        return kind(self._filled(value), self._filled(spread))

    def _follows(self, quantity):
        """Return d ln(quantity) / d ln(dial) for each dial whose value is in doubt."""
        value = attrgetter(quantity)
        here = value(self.point)
        return {dial: np.log(value(turned) / here) / _STEP for dial, turned in self._turned.items()}

    @cached_property
    def _turned(self):
        """The same point with each doubtful dial turned a little."""
        return {dial: self.point.turned(dial, np.exp(_STEP)) for dial in self._dial_spreads}

    @cached_property
    def _dial_spreads(self):
        """Spread of each dialled value of the machine; empty without a machine."""
        machine = self.setup.machine
        if machine is None or isinstance(self.settings, Relaxation):
            return {}
        return {dial: machine.spread(dial, getattr(self.settings, dial)) for dial in DIALS}

    @property
    def _current_measured(self):
        positions = self.setup.machine.peak_current_A.positions
        return all(position.how_known == "measured" for position in positions)

    def _widened(self, spread, quantity, learned_at=None):
        """Return a spread with the doubt of the dial values added.

        What was learned at a position holds its doubt already; elsewhere that of the nearest
        position it was learned at counts too. ``learned_at`` gives such values by dial.
        """
        if not self._dial_spreads:
            return spread
        extra, follows = 0.0, self._follows(quantity)
        for dial, doubt in self._dial_spreads.items():
            here = (follows[dial] * doubt) ** 2
            if learned_at and learned_at[dial]:
                nearest, same = _nearest(getattr(self.settings, dial), learned_at[dial])
                there = (follows[dial] * self.setup.machine.spread(dial, nearest)) ** 2
                here = np.where(same, 0.0, here + there)
            extra = extra + here
        return np.sqrt(spread**2 + extra)

    def _taught(self, quantity):
        """Return SI value and spread of a quantity the shop can teach."""
        if quantity not in self._taught_values:
            self._taught_values[quantity] = self._work_out(quantity)
        return self._taught_values[quantity]

    @cached_property
    def _taught_values(self):
        return {}  # filled by `_taught`; a dict of results keeps no reference to the burn

    def _work_out(self, quantity):
        shift, spread = self.shop.correction(quantity, self.setup, operating_point(self.point))
        value = getattr(self.point, quantity)
        if np.ndim(shift) or shift:
            value = value * np.exp(shift)
        return value, self._widened(spread, quantity, self.shop.learned_at(quantity, self.setup))

    # --- the answers -----------------------------------------------------------------------
    @cached_property
    def removal_rate_mm3_per_min(self):
        """Work removed per minute of burning."""
        value, spread = self._taught("removal_rate")
        return self._estimate(value / mm3_per_min, spread)

    @cached_property
    def roughness_Ra_um(self):
        """Arithmetic mean roughness."""
        value, spread = self._taught("roughness_Ra")
        return self._estimate(value / um, spread)

    @cached_property
    def roughness_Rz_um(self):
        """Mean height of the profile."""
        value, spread = self._taught("roughness_Ra")
        return self._estimate(finish.RZ_PER_RA * value / um, spread)

    @cached_property
    def roughness_Rt_um(self):
        """Height of the whole profile."""
        value, spread = self._taught("roughness_Ra")
        return self._estimate(finish.RT_PER_RA * value / um, spread)

    @cached_property
    def finish_class(self):
        """VDI 3400 class, not rounded."""
        value, spread = self._taught("roughness_Ra")
        return self._estimate(finish.vdi_class(value), spread, ClassEstimate)

    @cached_property
    def relative_wear_percent(self):
        """Electrode lost over work removed, by volume."""
        value, spread = self._taught("relative_wear")
        return self._estimate(value / percent, spread)

    @cached_property
    def gap_front_um(self):
        """Gap in front; known as set where the settings give it."""
        if getattr(self.settings, "gap_front_um", None) is not None:
            return self._estimate(self.point.gap_front / um)
        value, spread = self._taught("gap_front")
        return self._estimate(value / um, spread)

    @cached_property
    def gap_side_um(self):
        """Side gap per side: how much larger the hole is than the electrode."""
        value, spread = self._taught("gap_side")
        return self._estimate(value / um, spread)

    @cached_property
    def recast_um(self):
        """Mean thickness of the recast (white) layer."""
        if self.shop.knows("recast", self.setup):
            value, spread = self._taught("recast")
            return self._estimate(value / um, spread)
        value = self._taught("roughness_Ra")[0]
        spread = self._widened(UNTAUGHT["recast"], "roughness_Ra")
        return self._estimate(finish.recast_depth(value) / um, spread)

    def _heated(self, quantity):
        spread = self._widened(UNTAUGHT["heat_affected"], quantity)
        return self._estimate(getattr(self.point, quantity) / um, spread)

    @cached_property
    def rehardened_um(self):
        """Depth below the surface that hardened again; no figure where none does."""
        return self._heated("rehardened")

    @cached_property
    def tempered_um(self):
        """Depth below the surface that was softened; no figure where none can be."""
        return self._heated("tempered")

    @cached_property
    def heat_affected_um(self):
        """Depth below the surface that the heat changed: the deeper of the two."""
        return self._heated("heat_affected")

    @cached_property
    def crater_radius_um(self):
        """Melt radius of one spark."""
        spread = self._widened(UNTAUGHT["crater_radius"], "crater.radius")
        return self._estimate(self.point.crater.radius / um, spread)

    @cached_property
    def crater_depth_um(self):
        """Melt depth of one spark."""
        spread = self._widened(UNTAUGHT["crater_depth"], "crater.depth")
        return self._estimate(self.point.crater.depth / um, spread)

    @cached_property
    def crater_volume_um3(self):
        """Melt volume of one spark."""
        spread = self._widened(UNTAUGHT["crater_volume"], "crater.volume")
        return self._estimate(self.point.crater.volume / um3, spread)

    @cached_property
    def peak_current_A(self):
        """Current the spark reaches."""
        return self._estimate(self.point.spark_current, self._widened(0.0, "spark_current"))

    @cached_property
    def pulse_energy_mJ(self):
        """Energy of one spark."""
        return self._estimate(self.point.pulse_energy / mJ, self._widened(0.0, "pulse_energy"))

    @cached_property
    def duty_factor_percent(self):
        """Duty factor as dialled."""
        return self._estimate(self.point.duty_factor / percent, self._widened(0.0, "duty_factor"))

    @cached_property
    def frequency_kHz(self):
        """Sparks per second, thousands."""
        return self._estimate(self.point.frequency / kHz, self._widened(0.0, "frequency"))

    @cached_property
    def average_current_A(self):
        """What the ammeter should read."""
        spread = UNTAUGHT["average_current"]
        if self.setup.machine is not None and not self._current_measured:
            spread = np.hypot(spread, _DIAL_SCALE)
        return self._estimate(self.point.average_current, self._widened(spread, "average_current"))

    @cached_property
    def mean_voltage_V(self):
        """What the voltmeter should read."""
        given = getattr(self.settings, "servo_voltage_V", None) is not None
        spread = 0.0 if given else self._widened(UNTAUGHT["mean_voltage"], "mean_voltage")
        return self._estimate(self.point.mean_voltage, spread)

    @cached_property
    def current_density_A_per_cm2(self):
        """Mean current over the engaged area."""
        current = self.average_current_A
        area = np.asarray(self.setup.engaged_area_mm2) * mm2 / 1e-4
        return self._estimate(current.likely / area, current.spread)

    # --- what they mean for a hole ---------------------------------------------------------
    def minutes(self, volume_mm3):
        """Return the minutes on the clock, lifts included, to remove a volume [min].

        Parameters
        ----------
        volume_mm3 : float or array
            Work to remove [mm³].
        """
        volume = require("volume_mm3", volume_mm3, 0, 1e9, "mm³", knob="give the hole's volume")
        rate, share = self.removal_rate_mm3_per_min, getattr(self.settings, "burn_share", 1.0)
        return Estimate(volume / (rate.likely * share), rate.spread)

    def end_wear_mm(self, volume_mm3, section_mm2):
        """Return the length off the electrode's end, worn evenly, for a volume removed [mm].

        Parameters
        ----------
        volume_mm3, section_mm2 : float or array
            Work removed [mm³], section of the electrode [mm²].
        """
        volume = require("volume_mm3", volume_mm3, 0, 1e9, "mm³", knob="give the hole's volume")
        section = require("section_mm2", section_mm2, 1e-4, 1e6, "mm²", knob="give its section")
        wear = self.relative_wear_percent
        loss = end_wear(wear.likely * percent, volume * mm3, section * mm2)
        return Estimate(loss / 1e-3, wear.spread)

    def dial_step_um(self, area_mm2):
        """Return how far the dial moves in the burning time between two lifts [µm].

        Parameters
        ----------
        area_mm2 : float or array
            Area being cut [mm²].

        Raises
        ------
        Refusal
            If the settings have no lift timer.
        """
        burn_s = getattr(self.settings, "lift_burn_s", None)
        if burn_s is None:
            raise Refusal("lift_burn_s must be set to know the dial step: give the lift timer.")
        rate = self.removal_rate_mm3_per_min
        area = require("area_mm2", area_mm2, 1e-4, 1e6, "mm²", knob="give the area being cut")
        step = rate.likely / area * burn_s / 60 * 1e3
        return Estimate(step, rate.spread)

    # --- comparisons and cautions ----------------------------------------------------------
    def ratio(self, other):
        """Return this burn as a multiple of another one of the same shop.

        Parameters
        ----------
        other : Burn
            The burn to compare with: same machine and work.

        Returns
        -------
        Change
            Ratios this / other as `Estimate`; the shop's unknown level cancels, what is left is
            how the settings' effect is known, and the doubt of dial values they do not share.
            Two electrodes or polarities have something of their own, which does not cancel.

        Raises
        ------
        Refusal
            If machine, work material or what the shop has learned differ.
        """
        if self.shop != other.shop:
            raise Refusal(
                "two burns can be compared in one shop only, got two that have learned "
                "different things: predict both with the same shop."
            )
        if (self.setup.work, self.setup.machine) != (other.setup.work, other.setup.machine):
            raise Refusal(
                "two burns can be compared on one machine and one work material only, got "
                f"{self.setup.work.name} and {other.setup.work.name}: predict both alike."
            )
        return Change(*(self._ratio(f.name, other) for f in fields(Change)))

    def _ratio(self, quantity, other):
        mine, theirs = self._taught(quantity)[0], other._taught(quantity)[0]
        points = operating_point(self.point), operating_point(other.point)
        spread = self.shop.drift(quantity, self.setup, points[0], other.setup, points[1])
        here, there = self._follows(quantity), other._follows(quantity)
        for dial, doubt in self._dial_spreads.items():
            same = np.isclose(getattr(self.settings, dial), getattr(other.settings, dial))
            own, others = here[dial] * doubt, there[dial] * other._dial_spreads[dial]
            spread = np.sqrt(spread**2 + np.where(same, own - others, np.hypot(own, others)) ** 2)
        with np.errstate(divide="ignore", invalid="ignore"):
            value = np.asarray(mine / theirs, dtype=float)
        shape = np.broadcast_shapes(self.shape, other.shape)
        return Estimate(
            np.broadcast_to(value, shape)[()],
            np.broadcast_to(np.asarray(spread, dtype=float), shape)[()],
        )

    @cached_property
    def flags(self):
        """What to watch at each setting: name -> booleans of the broadcast shape."""
        raised = cautions.flags(self.point)
        return {name: np.broadcast_to(value, self.shape)[()] for name, value in raised.items()}

    @cached_property
    def warnings(self):
        """What to watch at one setting: sentences that name the knob to turn."""
        if self.shape != ():
            raise Refusal(
                f"warnings are sentences about one setting, got settings of shape {self.shape}: "
                "use flags."
            )
        return cautions.sentences(self.point)


def _nearest(values, tried):
    """Return the tried value nearest to each value, and whether it is that value."""
    values, tried = np.asarray(values, dtype=float), np.asarray(tried)
    place = np.argmin(np.abs(np.log(values[..., None] / tried)), axis=-1)
    return tried[place], np.isclose(tried[place], values)


def predict(setup, settings, shop=None):
    """Return what a burn will do: removal, finish, gap, wear and more, each with its band.

    Parameters
    ----------
    setup : Setup
        Work, electrode, fluid, polarity, engaged area, flushing, machine.
    settings : Settings or Relaxation
        What is dialled; numbers may be arrays, all broadcast together.
    shop : Shop or None
        What this shop has learned; None is an untrained shop with the wide prior.

    Returns
    -------
    Burn

    Raises
    ------
    Refusal
        If an input is outside its range or the machine has no such position.

    Warns
    -----
    RangeWarning
        Where the settings leave the range of the crater tables (0.3-60 A, 2-1000 µs of burning).

    Notes
    -----
    Untrained bands are wide on purpose: published removal rates differ 40-fold between machines.
    """
    burn = Burn(setup, settings, Shop() if shop is None else shop)
    burn._refuse_misfits()
    outside = cautions.extrapolated(burn.point)
    if np.any(outside):
        warnings.warn(
            "removal, finish and gap are extrapolated: current and on-time leave the "
            f"{CURRENTS[0]:g} to {CURRENTS[1]:g} A and {ON_TIMES[0] / us:g} to "
            f"{ON_TIMES[1] / us:g} µs of the crater tables (see Burn.flags['extrapolated']).",
            RangeWarning,
            stacklevel=2,
        )
    return burn
