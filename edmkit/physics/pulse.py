"""What one electrical pulse delivers, and how many there are."""

import numpy as np

from edmkit.checks import require
from edmkit.units import us


def _time(name, value, low=0.05):
    return require(name, value, low, 20_000, "µs", us, "times are seconds here: 50 * us")


def _current(name, value):
    return require(name, value, 1e-3, 2000, "A", knob="give the current in amps")


def _voltage(name, value, low=1):
    return require(name, value, low, 1000, "V", knob="give the voltage in volts")


def pulse_energy(discharge_voltage, peak_current, discharge_duration):
    """Return the energy of one rectangular discharge [J].

    Parameters
    ----------
    discharge_voltage, peak_current, discharge_duration : float or array, broadcast together
        Voltage across the burning gap [V], current while it burns [A], burning time [s].

    Raises
    ------
    Refusal
        If an input is outside what a spark can be.

    Notes
    -----
    Exact for a rectangular pulse. No current flows during the ignition delay: leave it out.

    References
    ----------
    Definition.

    Examples
    --------
    >>> print(round(float(pulse_energy(25, 10, 100 * us)), 6))
    0.025
    """
    voltage = _voltage("discharge_voltage", discharge_voltage)
    current = _current("peak_current", peak_current)
    return (voltage * current * _time("discharge_duration", discharge_duration))[()]


def duty_factor(on_time, off_time):
    """Return the duty factor on / (on + off) of a pulse generator [-].

    Parameters
    ----------
    on_time, off_time : float or array, broadcast together
        Pulse on-time and off-time [s].

    Raises
    ------
    Refusal
        If a time is outside 0.05 to 20000 µs.

    Notes
    -----
    The share that is dialled; the ignition delay makes the true share smaller.

    References
    ----------
    Definition.
    """
    on, off = _time("on_time", on_time), _time("off_time", off_time)
    return (on / (on + off))[()]


def pulse_frequency(on_time, off_time, ignition_delay=0.0):
    """Return the number of sparks per second where on-time starts at breakdown [1/s].

    Parameters
    ----------
    on_time, off_time, ignition_delay : float or array, broadcast together
        Pulse on-time, off-time and mean wait for the breakdown [s].

    Raises
    ------
    Refusal
        If a time is outside its range.

    Notes
    -----
    1 / (delay + on + off), every pulse a spark; `physics.states` counts those that are not.

    References
    ----------
    Definition.
    """
    on, off = _time("on_time", on_time), _time("off_time", off_time)
    delay = _time("ignition_delay", ignition_delay, 0)
    return (1 / (delay + on + off))[()]


def reached_current(peak_current, on_time, current_rise):
    """Return the current a pulse reaches before it ends [A].

    Parameters
    ----------
    peak_current, on_time, current_rise : float or array, broadcast together
        Current of the tap [A], pulse on-time [s], how fast the current climbs [A/s].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    A straight climb: a pulse shorter than tap / rise never reaches its tap. The rise is a
    property of the machine (leads and inductance); 10 A/µs is an assumption.

    References
    ----------
    Derived here.
    """
    current = _current("peak_current", peak_current)
    rise = require("current_rise", current_rise, 1e3, 1e10, "A/s", knob="10 A/µs is 1e7 A/s")
    return np.minimum(current, rise * _time("on_time", on_time))[()]


def spark_current(short_circuit_current, supply_voltage, discharge_voltage):
    """Return the current of the spark where a resistor limits it [A].

    Parameters
    ----------
    short_circuit_current, supply_voltage, discharge_voltage : float or array, broadcast together
        Current with the electrode pressed on the work [A], voltage behind the resistor [V],
        voltage across the burning gap [V].

    Raises
    ------
    Refusal
        If an input is outside its range, or the supply is not above the discharge voltage.

    Notes
    -----
    short-circuit amps x (U_0 - U_e) / U_0. On a machine that ignites with a high voltage and
    drives the current from a lower one, the lower one counts.

    References
    ----------
    Ohm's law; derived here.
    """
    supply = _voltage("supply_voltage", supply_voltage)
    burning = _voltage("discharge_voltage", discharge_voltage)
    share = 1 - burning / supply
    require("share of the short-circuit current", share, 1e-3, 1, knob="raise the supply voltage")
    return (_current("short_circuit_current", short_circuit_current) * share)[()]
