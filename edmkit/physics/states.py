"""What the pulses do: spark well, stay open, arc or short; and what the voltmeter shows.

Every constant here is assumed: this part shows direction, not figures. It enters the removal
rate only as a ratio to the default gap with fair flushing.
"""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require
from edmkit.units import us

DELAY = 10 * us  # mean ignition delay at the default gap with fair flushing, assumption
LONGEST_WAIT = 200 * us  # after which a pulse counts as open, assumption
SHORT_AT, SHORT_POWER = 0.4, 4  # gap, as a share of the default, where half the pulses short
# Of the arcs' logistic; assumptions, chosen so that at half the current limit poor flushing costs
# a quarter of the sparks and a blocked flow nine in ten.
ARC = {"base": 0.0, "debris": 2.0, "rest": 1.5, "density": 1.0}
SHORTEST_REST, REST_SHARE = 5 * us, 0.15  # time the spark channel needs to clear, assumption
# Debris in the gap over the limiting concentration, by the flushing word; assumptions.
DEBRIS = {"good": 0.1, "fair": 0.5, "poor": 2.0, "blocked": 10.0}


@dataclass(frozen=True)
class States:
    """Shares of the pulses that stay open, spark, arc and short, and the mean wait for a spark.

    The four shares sum to 1 [-]; ``ignition_delay`` is the mean wait of a pulse that sparks [s];
    ``longest_wait`` is how long an open pulse holds the open voltage [s].
    """

    open: float
    normal: float
    arcing: float
    shorted: float
    ignition_delay: float
    longest_wait: float
    in_fixed_period: bool


def _time(name, value):
    return require(name, value, 0.05, 20_000, "µs", us, "times are seconds: 50 * us")


def _debris(value):
    return require("debris", value, 1e-6, 100, knob="0.5 is fair flushing")


def gap_that_holds(debris):
    """Return the gap, over its default, that a servo keeps in dirty fluid [-].

    Parameters
    ----------
    debris : float or array
        Debris in the gap over its limit [-].

    Raises
    ------
    Refusal
        If the debris is outside its range.

    Notes
    -----
    sqrt((1 + C) / 1.5): dirt bridges part of the gap, so the servo, which holds the mean voltage,
    opens it. 1 with fair flushing. An assumption.

    References
    ----------
    Sign as in Kunieda et al. (2005), CIRP Ann. 54(2), 64-87; from memory.
    """
    dirt = _debris(debris)
    return np.sqrt((1 + dirt) / (1 + DEBRIS["fair"]))[()]


def pulse_states(gap_ratio, debris, on_time, off_time, current_ratio=1.0, fixed_period=False):
    """Return what the pulses do at a gap, relative to the default one.

    Parameters
    ----------
    gap_ratio, debris, on_time, off_time, current_ratio : float or array, broadcast together
        Gap over its default, debris over its limit [-], times [s], mean current over limit [-].
    fixed_period : bool
        True where the on-time counts from the voltage, not from the breakdown.

    Returns
    -------
    States

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    With y = x / `gap_that_holds`: delay 10 µs y², open exp(-wait / delay), short
    1 / (1 + (y/0.4)^4), arcs a logistic of debris, rest and current density. All assumed; Laue's
    law of delay, from memory; signs as in Kunieda et al. (2005), CIRP Ann. 54(2), 64-87.
    """
    x = require("gap_ratio", gap_ratio, 0.01, 100, knob="1 is the default gap")
    clear, dirt = x / gap_that_holds(debris), np.asarray(debris)
    on, off = _time("on_time", on_time), _time("off_time", off_time)
    density = require("current_ratio", current_ratio, 1e-12, 1e9, knob="1 is at the limit")
    tau = DELAY * clear**2
    wait = on if fixed_period else LONGEST_WAIT
    stays_open = np.exp(-wait / tau)
    shorts = 1 / (1 + (clear / SHORT_AT) ** SHORT_POWER)
    arcs = 1 / (1 + np.exp(-(ARC["debris"] * np.log(dirt) + _lean(on, off, density))))
    if fixed_period:
        tau = tau - wait * stays_open / -np.expm1(-wait / tau)  # mean wait of those that spark
    closed = 1 - stays_open
    return States(
        stays_open[()],
        (closed * (1 - shorts) * (1 - arcs))[()],
        (closed * (1 - shorts) * arcs)[()],
        (closed * shorts)[()],
        tau[()],
        np.asarray(wait)[()],
        fixed_period,
    )


def _lean(on, off, density):
    """Return the arcs' logit but for the debris, at checked times [s] and a current ratio."""
    clearing = np.maximum(SHORTEST_REST, REST_SHARE * on)
    return ARC["base"] + ARC["density"] * np.log(density) + ARC["rest"] * np.log(clearing / off)


def debris_at_arcs(arcs, on_time, off_time, current_ratio=1.0):
    """Return the debris over its limit at which a share of the sparks are arcs [-].

    Parameters
    ----------
    arcs, on_time, off_time, current_ratio : float or array, broadcast together
        Share of arcs among the pulses that spark [-], times [s], mean current over limit [-].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    The arcs' logistic of `pulse_states` turned round; open and shorted pulses are not among the
    sparks. All assumed: it shows which way a knob moves the limit, not where it lies.

    References
    ----------
    Derived here.
    """
    share = require("arcs", arcs, 1e-6, 1 - 1e-6, knob="0.1 is one spark in ten")
    on, off = _time("on_time", on_time), _time("off_time", off_time)
    density = require("current_ratio", current_ratio, 1e-12, 1e9, knob="1 is at the limit")
    logit = np.log(share / (1 - share))
    return np.exp((logit - _lean(on, off, density)) / ARC["debris"])[()]


def _burning(states, on_time):
    on = _time("on_time", on_time)
    return on - states.ignition_delay if states.in_fixed_period else on


def _durations(states, on_time, off_time):
    """Return the time from pulse to pulse for a normal, a failed and an open pulse [s]."""
    on, off = _time("on_time", on_time), _time("off_time", off_time)
    period = on + off
    if states.in_fixed_period:
        return period, period, period
    return states.ignition_delay + period, period, states.longest_wait + off


def mean_period(states, on_time, off_time):
    """Return the mean time from pulse to pulse [s].

    Parameters
    ----------
    states : States
        From `pulse_states`.
    on_time, off_time : float or array, broadcast together
        Pulse on-time and off-time [s].

    Raises
    ------
    Refusal
        If a time is outside its range.

    Notes
    -----
    Book-keeping over the four states, exact for them.
    """
    normal, failed, waiting = _durations(states, on_time, off_time)
    return (
        states.normal * normal + (states.arcing + states.shorted) * failed + states.open * waiting
    )


def discharge_duration(states, on_time):
    """Return the mean burning time of a pulse that sparks [s].

    Parameters
    ----------
    states : States
        From `pulse_states`.
    on_time : float or array
        Pulse on-time [s].

    Raises
    ------
    Refusal
        If a time is outside its range.

    Notes
    -----
    The on-time itself where it counts from the breakdown; less the wait in a fixed period.
    """
    return _burning(states, on_time)[()]


def sparks_per_second(states, on_time, off_time):
    """Return the number of good sparks per second [1/s].

    Parameters
    ----------
    states : States
        From `pulse_states`.
    on_time, off_time : float or array, broadcast together
        Pulse on-time and off-time [s].

    Raises
    ------
    Refusal
        If a time is outside its range.

    Notes
    -----
    Arcs and shorts count as pulses that remove nothing.
    """
    return states.normal / mean_period(states, on_time, off_time)


def mean_voltage(states, on_time, off_time, open_voltage, discharge_voltage):
    """Return the mean voltage over the gap, what a voltmeter shows [V].

    Parameters
    ----------
    states : States
        From `pulse_states`.
    on_time, off_time, open_voltage, discharge_voltage : float or array, broadcast together
        Pulse on-time and off-time [s], voltage of the open and of the burning gap [V].

    Raises
    ------
    Refusal
        If a time or voltage is outside its range.

    Notes
    -----
    Exact book-keeping over the states; a short counts as 0 V, an arc as a discharge, the
    off-time as 0 V.

    References
    ----------
    Derived here.
    """
    idle = require("open_voltage", open_voltage, 1, 1000, "V", knob="give volts")
    lit = require("discharge_voltage", discharge_voltage, 1, 1000, "V", knob="give volts")
    volt_seconds = (
        states.normal * (idle * states.ignition_delay + lit * _burning(states, on_time))
        + states.arcing * lit * _time("on_time", on_time)
        + states.open * idle * states.longest_wait
    )
    return volt_seconds / mean_period(states, on_time, off_time)


def mean_current(states, on_time, off_time, spark_current):
    """Return the mean current through the gap, what an ammeter shows [A].

    Parameters
    ----------
    states : States
        From `pulse_states`.
    on_time, off_time, spark_current : float or array, broadcast together
        Pulse on-time and off-time [s], current of the spark [A].

    Raises
    ------
    Refusal
        If a time or the current is outside its range.

    Notes
    -----
    Arcs and shorts carry the spark's current too.

    References
    ----------
    Derived here.
    """
    amps = require("spark_current", spark_current, 1e-3, 2000, "A", knob="give amps")
    failed = (states.arcing + states.shorted) * _time("on_time", on_time)
    seconds = states.normal * _burning(states, on_time) + failed
    return amps * seconds / mean_period(states, on_time, off_time)


def gap_ratio_at(voltage, voltage_at, lowest=0.05, highest=10.0):
    """Return the gap, over its default, at which the mean voltage has a value [-].

    Parameters
    ----------
    voltage : float or array
        Mean voltage wanted [V].
    voltage_at : callable
        Gives the mean voltage [V] for an array of gap ratios [-]; must rise with the gap.
    lowest, highest : float
        Ends of the search [-].

    Raises
    ------
    Refusal
        If no gap between the ends has that voltage.

    Notes
    -----
    50 halvings on the logarithm of the ratio; exact to 1e-12.
    """
    bottom, top = np.max(voltage_at(lowest)), np.min(voltage_at(highest))
    knob = "turn the gap, not the voltage"
    wanted = require("servo_voltage_V", voltage, bottom, top, "V", knob=knob)
    low, high = np.full(wanted.shape, np.log(lowest)), np.full(wanted.shape, np.log(highest))
    for _ in range(50):
        middle = (low + high) / 2
        above = voltage_at(np.exp(middle)) > wanted
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return np.exp((low + high) / 2)[()]
