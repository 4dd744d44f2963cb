"""A relaxation circuit: a capacitor that charges through a resistor until the gap fires."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require

# Best mean power of a relaxation circuit, root of 2 ln(1/(1-x)) = x/(1-x); derived here.
BEST_BREAKDOWN_SHARE = 0.7153318629591616


def _voltage(name, value):
    return require(name, value, 1, 1000, "V", knob="give the voltage in volts")


def _share(name, value, low=0.0):
    return require(name, value, low, 0.999, knob="set a smaller gap")


def _circuit(resistance, capacitance, supply_voltage):
    return (
        require("resistance", resistance, 0.01, 1e6, "ohm", knob="change the resistor"),
        require("capacitance", capacitance, 1e-12, 1, "F", knob="10 µF is 1e-5 F"),
        _voltage("supply_voltage", supply_voltage),
    )


@dataclass(frozen=True)
class Charging:
    """A capacitor as it charges: its voltage, and the current through the resistor [V, A]."""

    voltage: float
    current: float


def charging(resistance, capacitance, supply_voltage, time):
    """Return the voltage and the current of a capacitor that charges through a resistor.

    Parameters
    ----------
    resistance, capacitance, supply_voltage, time : float or array, broadcast together
        Charging resistor [ohm], capacitor [F], supply [V], time since it was empty [s].

    Returns
    -------
    Charging
        u = V (1 - exp(-t/RC)) and (V - u)/R.

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Exact for an empty capacitor, a stiff supply and a gap that has not fired. A leaking or dirty
    gap holds the voltage lower.

    References
    ----------
    Circuit theory; derived here.
    """
    resistor, capacitor, supply = _circuit(resistance, capacitance, supply_voltage)
    since = require("time", time, 0, 1e6, "s", knob="times are seconds here: 1e-3 is 1 ms")
    left = np.exp(-since / (resistor * capacitor))
    return Charging(
        (-supply * np.expm1(-since / (resistor * capacitor)))[()], (supply * left / resistor)[()]
    )


def relative_power(breakdown_share):
    """Return the mean power of a relaxation circuit over the most it can give [-].

    Parameters
    ----------
    breakdown_share : float or array
        Voltage at which the gap fires over that of the supply [-].

    Raises
    ------
    Refusal
        If the share is outside 0.001 to 0.999.

    Notes
    -----
    x² / ln(1/(1-x)) over its value at 0.7153: 1 there, and 0.9 or more from 0.52 to 0.87. The
    time of the discharge itself is left out.

    References
    ----------
    Circuit theory; derived here.
    """
    share = _share("breakdown_share", breakdown_share, 0.001)
    best = _power(BEST_BREAKDOWN_SHARE)
    return (_power(share) / best)[()]


def _power(share):
    """Return the mean power in units of V²/(2R)."""
    return share**2 / -np.log1p(-share)


@dataclass(frozen=True)
class RelaxationSpark:
    """What one spark of a relaxation circuit is [J, s, A, W]."""

    energy: float
    charge_time: float
    duration: float
    peak_current: float
    power: float


def relaxation_spark(resistance, capacitance, supply_voltage, breakdown_voltage, inductance=1e-6):
    """Return the spark of a relaxation circuit: energy, times, current, mean power.

    Parameters
    ----------
    resistance, capacitance, supply_voltage, breakdown_voltage, inductance : float or array
        Charging resistor [ohm], capacitor [F], supply [V], voltage at which the gap fires [V],
        inductance of the discharge loop [H]; broadcast together.

    Returns
    -------
    RelaxationSpark
        E = C u²/2, RC ln(V/(V-u)), half period pi sqrt(LC), u sqrt(C/L), E / charge time.

    Raises
    ------
    Refusal
        If an input is outside its range or the gap fires above the supply.

    Notes
    -----
    No losses, no ringing past the half period, no recharge during it. Best power at u = 0.7153 V.

    References
    ----------
    Circuit theory; derived here. Checked against textbook examples.
    """
    resistor, capacitor, supply = _circuit(resistance, capacitance, supply_voltage)
    fires = _voltage("breakdown_voltage", breakdown_voltage)
    loop = require("inductance", inductance, 1e-10, 1, "H", knob="1 µH is 1e-6 H")
    share = _share("breakdown_voltage / supply_voltage", fires / supply)
    energy = capacitor * fires**2 / 2
    charging = -resistor * capacitor * np.log1p(-share)
    return RelaxationSpark(
        energy[()],
        charging[()],
        (np.pi * np.sqrt(loop * capacitor))[()],
        (fires * np.sqrt(capacitor / loop))[()],
        (energy / charging)[()],
    )
