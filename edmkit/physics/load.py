"""A resistor in place of the spark, and a capacitor that keeps its charge."""

import numpy as np

from edmkit.checks import require

SPARK_DROP = 25.0  # V, across a burning gap in oil; common practice, no source


def _current(name, value):
    return require(name, value, 1e-3, 2000, "A", knob="give the current in amps")


def _voltage(name, value, low=1):
    return require(name, value, low, 1000, "V", knob="give the voltage in volts")


def _resistance(value):
    return require("resistance", value, 1e-3, 1e7, "ohm", knob="read the print on the resistor")


def _capacitance(value):
    return require("capacitance", value, 1e-12, 1, "F", knob="10 µF is 1e-5 F")


def _fall(voltage, safe_voltage):
    """Return ln(V/V_safe) of a capacitor that has to come down."""
    start = _voltage("voltage", voltage)
    end = _voltage("safe_voltage", safe_voltage)
    knob = "a capacitor below the safe voltage needs no resistor"
    return np.log(require("voltage / safe_voltage", start / end, 1 + 1e-9, 1000, knob=knob))


def load_resistance(spark_current, drop=SPARK_DROP):
    """Return the resistance that drops as much as a spark at its current [ohm].

    Parameters
    ----------
    spark_current, drop : float or array, broadcast together
        Current in the pulse [A], wanted voltage across the resistor [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    R = drop / current. A machine that cuts back on a short looks for a voltage near zero; 25 V
    looks to it like a spark. That is a trade fact, not a law: some look at more.

    References
    ----------
    Ohm's law.
    """
    return (_voltage("drop", drop) / _current("spark_current", spark_current))[()]


def load_current(short_circuit_current, resistance, driving_voltage):
    """Return the current through a resistor between electrode and work [A].

    Parameters
    ----------
    short_circuit_current, resistance, driving_voltage : float or array, broadcast together
        Current with the electrode pressed on the work [A], resistor between them [ohm], voltage
        that drives the current [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    c / (1 + R c / U): the machine is a voltage U behind an inner resistance U / c. A regulated
    machine holds c. Left out: the resistance of leads and contacts, a few hundredths of an ohm.

    References
    ----------
    Ohm's law; derived here.
    """
    short = _current("short_circuit_current", short_circuit_current)
    drives = _voltage("driving_voltage", driving_voltage)
    return (short / (1 + _resistance(resistance) * short / drives))[()]


def driving_voltage(short_circuit_current, load_current, resistance):
    """Return the voltage that drives the current, from two readings [V].

    Parameters
    ----------
    short_circuit_current, load_current, resistance : float or array, broadcast together
        Current with the electrode pressed on the work [A], through the resistor between them
        [A], that resistor [ohm]. Of two mean currents at one duty, divide the answer by the duty.

    Raises
    ------
    Refusal
        If the resistor does not lower the current: then the machine regulates it.

    Notes
    -----
    R c i / (c - i), the inverse of `load_current`. An error of the readings counts c / (c - i)
    fold: 3 % in each is a fifth where the resistor takes a fifth off the current.

    References
    ----------
    Ohm's law; derived here.
    """
    short = _current("short_circuit_current", short_circuit_current)
    loaded = _current("load_current", load_current)
    knob = "the current does not fall, so the machine regulates it; no voltage follows from that"
    share = require("load_current / short_circuit_current", loaded / short, 0, 0.9999, knob=knob)
    return (_resistance(resistance) * loaded / (1 - share))[()]


def mean_heat(current, resistance, duty):
    """Return the mean heat in a resistor that carries pulses [W].

    Parameters
    ----------
    current, resistance, duty : float or array, broadcast together
        Current while the pulse is on [A], resistor [ohm], share of the time it is on [-].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    I² R x duty, exact for rectangular pulses. The mean current squared would be too little.

    References
    ----------
    Joule's law.
    """
    share = require("duty", duty, 0, 1, knob="duty is a share, on / (on + off)")
    return (_current("current", current) ** 2 * _resistance(resistance) * share)[()]


def charge_energy(capacitance, voltage):
    """Return the energy that a capacitor stores [J].

    Parameters
    ----------
    capacitance, voltage : float or array, broadcast together
        Capacitor [F], voltage across it [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    C V² / 2, exact. Capacitors side by side add up.

    References
    ----------
    Circuit theory.
    """
    return (_capacitance(capacitance) * _voltage("voltage", voltage) ** 2 / 2)[()]


def discharge_time(capacitance, resistance, voltage, safe_voltage):
    """Return the time a capacitor needs to come down to a safe voltage [s].

    Parameters
    ----------
    capacitance, resistance, voltage, safe_voltage : float or array, broadcast together
        Capacitor [F], resistor across it [ohm], voltage at the start and at the end [V].

    Raises
    ------
    Refusal
        If an input is outside its range, or the capacitor is below the safe voltage already.

    Notes
    -----
    R C ln(V / V_safe), exact. Some of the charge comes back when the resistor is taken off.

    References
    ----------
    Circuit theory; derived here.
    """
    fall = _fall(voltage, safe_voltage)
    return (_resistance(resistance) * _capacitance(capacitance) * fall)[()]


def bleed_resistance(capacitance, voltage, safe_voltage, time):
    """Return the resistance that brings a capacitor down to a safe voltage in time [ohm].

    Parameters
    ----------
    capacitance, voltage, safe_voltage, time : float or array, broadcast together
        Capacitor [F], voltage at the start and at the end [V], time allowed [s].

    Raises
    ------
    Refusal
        If an input is outside its range, or the capacitor is below the safe voltage already.

    Notes
    -----
    t / (C ln(V / V_safe)), exact; a smaller resistor is faster and hotter.

    References
    ----------
    Circuit theory; derived here.
    """
    allowed = require("time", time, 1e-6, 1e5, "s", knob="some seconds")
    return (allowed / (_capacitance(capacitance) * _fall(voltage, safe_voltage)))[()]


def first_heat(voltage, resistance):
    """Return the heat in a resistor at the moment a charged capacitor is put on it [W].

    Parameters
    ----------
    voltage, resistance : float or array, broadcast together
        Voltage of the capacitor [V], resistor [ohm].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    V² / R, the highest there is: it falls from then on.

    References
    ----------
    Joule's law.
    """
    return (_voltage("voltage", voltage) ** 2 / _resistance(resistance))[()]
