"""What each switch of a machine offers, as one open mesh of settings."""

import numpy as np

from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE
from edmkit.settings import Relaxation, Settings, refuse_circuit
from edmkit.words import three

# Round steps of a generator without a machine file.
ANY = {
    "peak_current_A": (0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50),
    "on_time_us": (2, 3, 5, 8, 10, 15, 20, 30, 50, 75, 100, 150, 200, 300, 500, 800),
    "off_time_us": (2, 3, 5, 8, 10, 15, 20, 25, 50, 75, 100, 150, 200, 300, 500),
    "open_voltage_V": (60, 80, 100, 120, 150, 200),
}
DIALS = tuple(ANY)
LIFT = ("lift_burn_s", "lift_up_s")
# Steps of a lift timer, of which a machine's own range is taken.
SECONDS = (0.2, 0.3, 0.5, 0.8, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30)
USUAL_V = 100.0  # many old generators open at 80 to 120 V; common practice, no source
_UNITS = dict(zip(DIALS, ("A", "µs", "µs", "V"), strict=True))


def dials(setup):
    """Return what each switch offers: name -> array of values.

    Parameters
    ----------
    setup : Setup
        Its machine's switches, or round steps where it has none.
    """
    machine = setup.machine
    if machine is None:
        return {name: np.array(steps, float) for name, steps in ANY.items()}
    return {name: np.array(getattr(machine, name).values) for name in DIALS}


def lifts(setup):
    """Return the seconds of burning and of lifting that the timer offers, empty without one.

    Parameters
    ----------
    setup : Setup
        Its machine's timer; without a machine every step.
    """
    if setup.machine is None:
        return {name: np.array(SECONDS) for name in LIFT}
    timer = setup.machine.lift
    if timer is None:
        return dict.fromkeys(LIFT, np.array([]))
    spans = dict(zip(LIFT, (timer.burn_s, timer.up_s), strict=True))
    steps = np.array(SECONDS)
    return {n: steps[(steps >= low) & (steps <= high)] for n, (low, high) in spans.items()}


def nearest(values, wish):
    """Return the value nearest to a wish by ratio."""
    return float(values[np.argmin(np.abs(np.log(values / wish)))])


def mesh(setup, like=None, hold=None, all_lifts=False):
    """Return the machine's settings as one open mesh.

    Parameters
    ----------
    setup : Setup
        Whose machine's positions are taken.
    like : Settings or None
        Whose gap, servo voltage and lift are kept.
    hold : dict or None
        Dials that stay: name -> value.
    all_lifts : bool
        Whether the steps of the lift timer are two more axes.

    Raises
    ------
    Refusal
        If ``like`` is a relaxation circuit.
    """
    refuse_circuit(like, "a search of the switches")
    axes = dials(setup) | {name: np.array([float(v)]) for name, v in (hold or {}).items()}
    kept = {name: getattr(like, name, None) for name in ("gap_front_um", "servo_voltage_V", *LIFT)}
    if all_lifts:
        axes, kept = axes | lifts(setup), {n: v for n, v in kept.items() if n not in LIFT}
    return Settings(**dict(zip(axes, np.ix_(*axes.values()), strict=True)), **kept)


def labels(setup, settings):
    """Return what is engraved at each switch of a setting, the value where nothing is.

    Parameters
    ----------
    setup : Setup
        With its machine, or None.
    settings : Settings or Relaxation
        One setting; of a circuit its parts, and the voltage at which the gap fires.
    """
    if isinstance(settings, Relaxation):
        return _parts(settings)
    found = {}
    for name, unit in _UNITS.items():
        value, label = getattr(settings, name), ""
        if setup.machine is not None:
            switch = getattr(setup.machine, name)
            label = switch.choices[int(switch.index(value))].label
        found[name] = label or f"{value:g} {unit}"
    return found


def _parts(circuit):
    """Return the parts of a relaxation circuit, with their units."""
    fires = circuit.breakdown_V or BEST_BREAKDOWN_SHARE * circuit.supply_V
    return {
        "resistance_ohm": f"{three(circuit.resistance_ohm)} ohm",
        "capacitance_uF": f"{three(circuit.capacitance_uF)} µF",
        "supply_V": f"{three(circuit.supply_V)} V",
        "breakdown_V": f"{three(fires)} V",
    }
