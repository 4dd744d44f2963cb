"""What the physics alone says of a set-up and its settings: likely values, no shop, no bands."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from edmkit import tables
from edmkit.checks import Refusal, require
from edmkit.physics import crater, finish, gap, pulse, relaxation, removal, states, wear
from edmkit.settings import Relaxation, Settings
from edmkit.units import mm, mm2, uF, uH, um, us

_DEFAULT_RISE = 10 / us  # A/s, how fast the current climbs on an unknown machine: assumption
_ON_TIMES = np.geomspace(2, 1000, 16) * us  # searched for the best; it is flat, 3 % off at most
_SPARK_US, _SPARK_A = (0.05, 20_000), (1e-3, 2000)  # what the physics of a spark takes
DIALS = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")


@dataclass(frozen=True)
class Likely:
    """The operating point of a pulse generator in SI; each value is worked out when asked for.

    ``dial_factors`` scales the four `DIALS`: how a doubtful dial value is felt.
    Arrays keep the smallest shape that holds them, so a grid costs little.
    """

    setup: object
    settings: Settings
    dial_factors: tuple = (1.0, 1.0, 1.0, 1.0)

    def turned(self, dial, factor):
        """Return the same point with one dial's true value scaled by a factor."""
        pairs = zip(DIALS, self.dial_factors, strict=True)
        return replace(self, dial_factors=tuple(factor if n == dial else f for n, f in pairs))

    # --- what is dialled -------------------------------------------------------------------
    @cached_property
    def on_time(self):
        """On-time [s]."""
        return self.settings.on_time_us * (us * self.dial_factors[1])

    @cached_property
    def off_time(self):
        """Off-time [s]."""
        return self.settings.off_time_us * (us * self.dial_factors[2])

    @property
    def open_voltage(self):
        """Voltage of the open gap [V]."""
        return self.settings.open_voltage_V * self.dial_factors[3]

    @property
    def discharge_voltage(self):
        """Voltage of the burning gap [V]."""
        return self.setup.electrode.discharge_voltage

    @property
    def fixed_period(self):
        """Whether the on-time counts from the voltage instead of from the breakdown."""
        machine = self.setup.machine
        return machine is not None and machine.on_time_counts == "in a fixed period"

    @cached_property
    def tap_current(self):
        """Current of the spark if the pulse lasts long enough [A]."""
        dialled = self.settings.peak_current_A * self.dial_factors[0]
        machine = self.setup.machine
        if machine is None or machine.plate_current == "spark":
            return dialled
        supply = machine.driving_voltage_V or self.open_voltage
        return pulse.spark_current(dialled, supply, self.discharge_voltage)

    @cached_property
    def current_rise(self):
        """How fast the current climbs [A/s]."""
        machine = self.setup.machine
        return _DEFAULT_RISE if machine is None else machine.current_rise_A_per_us / us

    @cached_property
    def spark_current(self):
        """Current the spark reaches [A]."""
        return pulse.reached_current(self.tap_current, self.on_time, self.current_rise)

    # --- the gap and its states ------------------------------------------------------------
    @cached_property
    def gap_default(self):
        """Gap in front that follows from the open voltage [m]."""
        return gap.gap_front(self.open_voltage)

    @cached_property
    def debris(self):
        """Debris in the gap over its limit: worked out from the flow, or by the word [-]."""
        flushing = self.setup.flushing
        return states.DEBRIS[flushing.quality] if flushing.debris is None else flushing.debris

    @cached_property
    def gap_ratio(self):
        """Gap in front over its default [-]."""
        if self.settings.gap_front_um is not None:
            return self.settings.gap_front_um * um / self.gap_default
        if self.settings.servo_voltage_V is not None:
            return states.gap_ratio_at(self.settings.servo_voltage_V, self.mean_voltage_at)
        return states.gap_that_holds(self.debris)

    @cached_property
    def gap_front(self):
        """Gap in front [m]."""
        return self.gap_default * self.gap_ratio

    @cached_property
    def current_limit(self):
        """Mean current the electrode's end bears [A]."""
        setup, machine = self.setup, self.setup.machine
        factor = removal.ELECTRODE_FACTOR.get(setup.electrode.key, 1.0)
        area = np.asarray(setup.engaged_area_mm2) * mm2
        if machine is not None and machine.current_caution_A_per_cm2:
            return machine.current_caution_A_per_cm2 * 1e4 * area
        rim = np.asarray(setup.rim_mm) * mm
        return removal.current_limit(area, rim, factor, setup.flushing.deep_blind)

    @cached_property
    def current_ratio(self):
        """Mean current if every pulse sparked, over the limit [-]."""
        delay = self._default_timing.ignition_delay
        period = self.on_time + self.off_time + (0.0 if self.fixed_period else delay)
        duration = states.discharge_duration(self._default_timing, self.on_time)
        return self.spark_current * duration / period / self.current_limit

    def _states(self, gap_ratio, debris, density):
        return states.pulse_states(
            gap_ratio, debris, self.on_time, self.off_time, density, self.fixed_period
        )

    @cached_property
    def _default_timing(self):
        """States at the default gap, for their times only: most of what sets shares is left out."""
        on_time = self.on_time if self.fixed_period else 100 * us
        timing = (1.0, states.DEBRIS["fair"], on_time, 100 * us, 1.0, self.fixed_period)
        return states.pulse_states(*timing)

    @cached_property
    def states(self):
        """What the pulses do: shares and delay."""
        return self._states(self.gap_ratio, self.debris, self.current_ratio)

    def mean_voltage_at(self, gap_ratio):
        """Return the mean gap voltage at a gap, over its default [V]."""
        shares = self._states(gap_ratio, self.debris, self.current_ratio)
        volts = (self.open_voltage, self.discharge_voltage)
        return states.mean_voltage(shares, self.on_time, self.off_time, *volts)

    @cached_property
    def mean_voltage(self):
        """What the voltmeter shows [V]."""
        return self.mean_voltage_at(self.gap_ratio)

    @cached_property
    def average_current(self):
        """What the ammeter shows [A]."""
        return states.mean_current(self.states, self.on_time, self.off_time, self.spark_current)

    @cached_property
    def discharge_duration(self):
        """Burning time of a spark at the default gap [s]."""
        return states.discharge_duration(self._default_timing, self.on_time)

    @cached_property
    def frequency(self):
        """Sparks per second at the default gap with fair flushing [1/s]."""
        if self.fixed_period:
            return (1 - self._default_timing.open) / (self.on_time + self.off_time)
        delay = self._default_timing.ignition_delay
        return pulse.pulse_frequency(self.on_time, self.off_time, delay)

    @cached_property
    def speed_at_gap(self):
        """Sparks at this gap and flushing over those at the default gap, fair flushing [-]."""
        fair = states.DEBRIS["fair"]
        if np.ndim(self.gap_ratio) == np.ndim(self.debris) == 0 and (
            self.gap_ratio == 1 and self.debris == fair
        ):
            return 1.0
        here, default = (
            states.sparks_per_second(
                self._states(ratio, debris, self.current_ratio), self.on_time, self.off_time
            )
            for ratio, debris in ((self.gap_ratio, self.debris), (1.0, fair))
        )
        return here / default

    # --- what the sparks do ----------------------------------------------------------------
    @cached_property
    def energy_share(self):
        """Share of the spark's energy that enters the work [-]."""
        return crater.share_into_work(self.setup.polarity, self.setup.work.family)

    def crater_after(self, on_time):
        """Return the crater of a spark of this current's tap that burns for a time [s]."""
        reached = pulse.reached_current(self.tap_current, on_time, self.current_rise)
        return self._crater(reached, on_time)

    def _crater(self, current, on_time):
        heat = (self.discharge_voltage, self.energy_share, self.setup.work)
        return tables.crater(current, on_time, *heat)

    @cached_property
    def crater(self):
        """Crater of one spark [m, m, m³]."""
        return self._crater(self.spark_current, self.discharge_duration)

    @cached_property
    def removal_yield(self):
        """Share of the melt that leaves, before any trial [-]."""
        return removal.removal_yield(np.asarray(self.setup.engaged_area_mm2) * mm2)

    @cached_property
    def removal_rate(self):
        """Removal rate while burning [m³/s]."""
        share = self.removal_yield * self.speed_at_gap
        return removal.removal_rate(self.crater.volume, self.frequency, 1.0) * share

    @cached_property
    def melts_usefully(self):
        """Whether the on-time melts a fifth or more of the best one at the same tap."""
        rates = [self.crater_after(on_time).volume / on_time for on_time in _ON_TIMES]
        best = np.max(rates, axis=0)
        return removal.melts_usefully(self.crater.volume, self.discharge_duration, best)

    @cached_property
    def roughness_Ra(self):
        """Roughness Ra [m]."""
        return finish.roughness_Ra(self.crater.depth, self.crater.volume)

    @cached_property
    def recast(self):
        """Mean thickness of the recast layer [m]."""
        return finish.recast_depth(self.roughness_Ra)

    @cached_property
    def relative_wear(self):
        """Electrode lost over work removed, by volume [-]; not-a-number without a figure."""
        return wear.relative_wear(self.wear_law, self.discharge_duration, self.spark_current)

    @cached_property
    def wear_law(self):
        """The wear law of the pair, or None."""
        work = self.setup.work
        pair = (self.setup.electrode.key, work.is_steel, work.family, self.setup.polarity)
        return wear.wear_law(*pair)

    @cached_property
    def gap_side(self):
        """Side gap, per side [m]."""
        return gap.gap_side(self.gap_front, self.crater.volume)

    @cached_property
    def rehardened(self):
        """Depth below the new surface that hardened again [m]; not-a-number: it never does."""
        return finish.depth_left(self.crater.rehardened_depth, self.crater)

    @cached_property
    def tempered(self):
        """Depth below the new surface that was softened [m]; not-a-number: no such limit."""
        return finish.depth_left(self.crater.tempered_depth, self.crater)

    @cached_property
    def heat_affected(self):
        """The deeper of the two [m]; not-a-number where the metal has neither."""
        return np.fmax(self.rehardened, self.tempered)

    @cached_property
    def pulse_energy(self):
        """Energy of one spark [J]."""
        return pulse.pulse_energy(
            self.discharge_voltage, self.spark_current, self.discharge_duration
        )

    @cached_property
    def duty_factor(self):
        """Duty factor as dialled [-]."""
        return pulse.duty_factor(self.on_time, self.off_time)


@dataclass(frozen=True)
class LikelyRelaxation(Likely):
    """The operating point of a relaxation circuit: its spark stands for a pulse."""

    settings: Relaxation

    states = None  # no pulses that could stay open, arc or short

    @cached_property
    def spark(self):
        """Energy, times and power of one spark."""
        circuit = self.settings
        made = relaxation.relaxation_spark(
            circuit.resistance_ohm,
            self.capacitance,
            circuit.supply_V,
            self.open_voltage,
            circuit.inductance_uH * uH,
        )
        knob = "change the capacitor or the inductance of the leads"
        require("burning time of the spark", made.duration, *_SPARK_US, "µs", us, knob)
        return made

    @property
    def capacitance(self):
        """Capacitor [F]."""
        return self.settings.capacitance_uF * uF

    @property
    def open_voltage(self):
        """Voltage at which the gap fires, which sets the gap [V]."""
        return self.settings.breakdown_V or relaxation.BEST_BREAKDOWN_SHARE * self.settings.supply_V

    @property
    def on_time(self):
        """Burning time of the spark [s]."""
        return self.spark.duration

    @property
    def off_time(self):
        """Time to charge the capacitor [s]."""
        return self.spark.charge_time

    @cached_property
    def tap_current(self):
        """Current of a rectangular pulse with the spark's energy and time [A]."""
        amps = self.spark.energy / (self.discharge_voltage * self.spark.duration)
        knob = "change the capacitor, the supply or the inductance of the leads"
        return require("current of the spark", amps, *_SPARK_A, "A", knob=knob)[()]

    @property
    def spark_current(self):
        """Current that counts for the crater [A]."""
        return self.tap_current

    gap_ratio = 1.0
    speed_at_gap = 1.0

    def crater_after(self, on_time):
        """Return the crater of a pulse of the spark's current that burns for a time [s]."""
        return self._crater(self.spark_current, on_time)

    @property
    def discharge_duration(self):
        """Burning time of the spark [s]."""
        return self.spark.duration

    @cached_property
    def frequency(self):
        """Sparks per second [1/s]."""
        return 1 / (self.spark.charge_time + self.spark.duration)

    @property
    def pulse_energy(self):
        """Energy of one spark [J]."""
        return self.spark.energy

    @property
    def duty_factor(self):
        """Share of the time that a spark burns [-]."""
        return self.spark.duration * self.frequency

    @property
    def current_ratio(self):
        """Mean current over the limit [-]."""
        return self.average_current / self.current_limit

    @cached_property
    def mean_voltage(self):
        """Mean voltage of the charging capacitor [V]."""
        supply, fires = self.settings.supply_V, self.open_voltage
        return supply + fires / np.log1p(-fires / supply)

    @cached_property
    def average_current(self):
        """Mean current out of the supply, what charges the capacitor [A]."""
        return self.capacitance * self.open_voltage * self.frequency


def likely(setup, settings):
    """Return what the physics alone says of a set-up and its settings.

    Parameters
    ----------
    setup : Setup
        Work, electrode, fluid, polarity, area, machine.
    settings : Settings or Relaxation
        What is dialled; `Settings` may hold arrays.

    Returns
    -------
    Likely

    Raises
    ------
    Refusal
        If the machine has no such position, or the circuit does not go with the machine.
    """
    if isinstance(settings, Relaxation):
        if setup.machine is not None:
            raise Refusal(
                "settings must be Settings where the set-up has a machine, got a relaxation "
                "circuit: leave the machine out."
            )
        return LikelyRelaxation(setup, settings)
    if not isinstance(settings, Settings):
        raise Refusal(f"settings must be Settings or a Relaxation circuit, got {settings!r}.")
    return Likely(setup, settings)
