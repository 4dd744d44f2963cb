"""The fastest setting of the machine for one end, within limits on roughness and gap."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal, require
from edmkit.settings import Settings
from edmkit.words import three

# Round steps of a generator without a machine file.
ANY = {
    "peak_current_A": (0.5, 0.75, 1, 1.5, 2, 3, 4, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50),
    "on_time_us": (2, 3, 5, 8, 10, 15, 20, 30, 50, 75, 100, 150, 200, 300, 500, 800),
    "off_time_us": (2, 3, 5, 8, 10, 15, 20, 25, 50, 75, 100, 150, 200, 300, 500),
    "open_voltage_V": (60, 80, 100, 120, 150, 200),
}
DIALS = tuple(ANY)
_UNITS = dict(zip(DIALS, ("A", "µs", "µs", "V"), strict=True))
DUTY = (0.3, 0.75)  # semi-finish and finish, from memory; a longer off-time is always there
_USUAL_V = 100.0  # many old generators open at 80 to 120 V; common practice, no source
_BARS = ("no_useful_cutting", "smaller_than_one_spark", "extrapolated")


@dataclass(frozen=True)
class Choice:
    """One setting, what it does, and what is engraved at each switch."""

    settings: Settings
    burn: object
    labels: dict


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


def labels(setup, settings):
    """Return what is engraved at each switch of a setting, the value where nothing is.

    Parameters
    ----------
    setup : Setup
        With its machine, or None.
    settings : Settings
        One setting.
    """
    found = {}
    for name, unit in _UNITS.items():
        value, label = getattr(settings, name), ""
        if setup.machine is not None:
            switch = getattr(setup.machine, name)
            label = switch.choices[int(switch.index(value))].label
        found[name] = label or f"{value:g} {unit}"
    return found


def fastest(setup, shop=None, *, max_Ra_um=None, gap_side_um=None, like=None):
    """Return the fastest setting of a machine for one end.

    Parameters
    ----------
    setup : Setup
        With area and rim of the end.
    shop : Shop or None
        What the shop has learned.
    max_Ra_um : float or None
        Likely roughness allowed [µm].
    gap_side_um : pair of float or None
        The likely side gap must lie between these [µm].
    like : Settings or None
        Whose open voltage, gap and lift timers are kept.

    Returns
    -------
    Choice

    Raises
    ------
    Refusal
        If no setting meets a limit: which, by how much, and the nearest.

    Notes
    -----
    Duty 0.3 to 0.75. Left out: no useful cutting, an end smaller than a crater, and what leaves
    the crater tables. An end that bears no setting takes the one with the least mean current
    over its limit: it is warned, not refused.
    """
    mesh = _mesh(setup, like)
    burn = predict(setup, mesh, shop)
    allowed = _duty(mesh) & ~np.any([burn.flags[name] for name in _BARS], axis=0)
    if not allowed.any():
        allowed = np.broadcast_to(_duty(mesh), burn.shape)
    allowed = _within(burn, allowed, max_Ra_um, gap_side_um)
    over = np.broadcast_to(burn.point.average_current / burn.point.current_limit, burn.shape)
    rate = burn.removal_rate_mm3_per_min.likely
    borne = allowed & (over <= 1)
    score = np.where(borne, rate, -np.inf) if borne.any() else np.where(allowed, -over, -np.inf)
    place = np.unravel_index(int(np.argmax(score)), burn.shape)
    found = {name: float(np.broadcast_to(getattr(mesh, name), burn.shape)[place]) for name in DIALS}
    settings = replace(mesh, **found)
    return Choice(settings, predict(setup, settings, shop), labels(setup, settings))


def _mesh(setup, like):
    """Return every setting of the machine at one open voltage as an open mesh."""
    offered = dials(setup)
    volts, wish = offered["open_voltage_V"], _USUAL_V if like is None else like.open_voltage_V
    nearest = volts[np.argmin(np.abs(np.log(volts / wish)))]
    offered["open_voltage_V"] = np.array([wish if setup.machine is None else nearest])
    kept = {} if like is None else {
        name: getattr(like, name)
        for name in ("gap_front_um", "servo_voltage_V", "lift_burn_s", "lift_up_s")
    }  # fmt: skip
    return Settings(*np.ix_(*(offered[name] for name in DIALS)), **kept)


def _duty(mesh):
    duty = mesh.on_time_us / (mesh.on_time_us + mesh.off_time_us)
    inside = (duty >= DUTY[0]) & (duty <= DUTY[1])
    return inside if inside.any() else np.ones_like(inside)


def _within(burn, allowed, max_Ra_um, gap_side_um):
    """Return which settings meet the limits, or refuse with the nearest that would."""
    allowed = np.broadcast_to(allowed, burn.shape)
    if max_Ra_um is not None:
        limit = float(require("max_Ra_um", max_Ra_um, 0.05, 50, "µm", knob="3.2 is common"))
        rough = burn.roughness_Ra_um.likely
        if not (allowed & (rough <= limit)).any():
            best = rough[allowed].min()
            raise Refusal(
                f"max_Ra_um must be at least {three(best)} µm on this machine and end, got "
                f"{limit:g} µm: the smoothest setting leaves that much."
            )
        allowed = allowed & (rough <= limit)
    if gap_side_um is not None:
        gap, (low, high) = burn.gap_side_um.likely, gap_side_um
        inside = allowed & (gap >= low) & (gap <= high)
        if not inside.any():
            middle = (low + high) / 2
            nearest = gap[allowed][np.argmin(np.abs(gap[allowed] - middle))]
            raise Refusal(
                f"gap_side_um must be between {three(low)} and {three(high)} µm for this "
                f"electrode, and the nearest setting gives {three(nearest)} µm: take an electrode "
                f"{three(2 * abs(nearest - middle))} µm "
                f"{'smaller' if nearest > middle else 'larger'} in diameter."
            )
        allowed = inside
    return allowed
