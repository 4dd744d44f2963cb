"""Which current the end bears at each depth, where to step up, and the minutes it costs."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.finder.grid import ANY
from edmkit.physics import removal
from edmkit.settings import Relaxation
from edmkit.switches import Switch
from edmkit.units import mm, mm2
from edmkit.words import Display, three

_DEPTHS = 200  # at which the end is looked at
_WORTH_MM = 0.05  # about a working gap: no step up for less; assumption
_MILLIMETRES = Display()


@dataclass(frozen=True)
class Step:
    """From ``depth_mm`` below first touch the current switch may stand at ``label``."""

    depth_mm: float
    label: str
    peak_current_A: float
    minutes: float
    mean_A: float


@dataclass(frozen=True)
class Ramp:
    """The steps of the current over the depth of one pass, deepest last.

    ``allowed_A`` is the mean current that the end bears at ``depths_mm`` below first touch;
    ``mean_A`` what the chosen setting gives; ``borne`` whether the whole end bears it.
    ``extra_minutes``: what the lower steps cost on the clock. A relaxation circuit has one step;
    ``is_circuit`` says that it is one.
    """

    steps: tuple
    extra_minutes: float
    depths_mm: np.ndarray
    areas_mm2: np.ndarray
    volumes_mm3: np.ndarray
    allowed_A: np.ndarray
    mean_A: float
    borne: bool
    ring: bool
    resolution_mm: float
    is_circuit: bool = False

    @property
    def _cost(self):
        if self.extra_minutes < 1:
            return "less than a minute"
        return f"about {three(self.extra_minutes)} minutes"

    @property
    def _least(self):
        if self.is_circuit:
            return "Take a far larger resistor"
        return "Take the lowest current position, a long off-time and quick short lifts"

    @property
    def borne_from_mm(self):
        """Depth below first touch from which the end bears the setting, all the way down [mm]."""
        held = np.minimum.accumulate(self.allowed_A[::-1])[::-1] >= self.mean_A
        place = int(np.argmax(held))
        return float(self.depths_mm[place]) if place else 0.0

    def sentence(self, display=_MILLIMETRES):
        """Return what a man must know of it; empty where nothing need be said."""
        if not self.borne:
            return (
                f"The area decides, not the switch: an end of {three(self.areas_mm2[-1])} mm² "
                f"bears a mean current of about {three(self.allowed_A[-1])} A, and this setting "
                f"gives about {three(self.mean_A)} A. {self._least}, and expect hours; or burn "
                "solid stock instead of a thin skim, where the area is larger."
            )
        where = "cuts a thin ring" if self.ring else "touches on a small patch"
        if self.is_circuit and self.borne_from_mm > _WORTH_MM:
            from_mm = display.size_text(self.borne_from_mm, self.resolution_mm)
            return (
                f"The end first {where}: start with a larger resistor and put this one in "
                f"{from_mm} below first touch. What that costs is not in the minutes."
            )
        if len(self.steps) == 1:
            return ""
        rises = ", then ".join(
            f"{step.label} from {display.size_text(step.depth_mm, self.resolution_mm)}"
            for step in self.steps[1:]
        )
        return (
            f"The end first {where}: start at current position {self.steps[0].label}; {rises} "
            f"below first touch. That costs {self._cost}."
        )


def currents(setup):
    """Return the choices of the current switch as (label, value) pairs, lowest first.

    Parameters
    ----------
    setup : Setup
        Its machine's switch, or round steps where it has none.
    """
    if setup.machine is None:
        return [(f"{amps:g} A", float(amps)) for amps in ANY["peak_current_A"]]
    switch: Switch = setup.machine.peak_current_A
    choices = sorted(switch.choices, key=lambda choice: choice.value)
    return [(choice.label, choice.value) for choice in choices]


def ramp(feature, electrode, setup, settings, shop=None, *, bore_area_mm2=0.0, floor_mm=None,
         resolution_mm=0.01):  # fmt: skip
    """Return the ramp of the current for one pass.

    Parameters
    ----------
    feature : Feature
        What this pass cuts; its ``cut_away`` is what was there before.
    electrode : Shape
        Section of the electrode [mm].
    setup : Setup
        With area and rim of the whole engaged end.
    settings : Settings or Relaxation
        One setting: the one to reach.
    shop : Shop or None
        What the shop has learned.
    bore_area_mm2 : float
        Area that a bore takes from a shape that does not know it [mm²].
    floor_mm : float or None
        Depth from first contact where the whole end meets the floor that an earlier pass left,
        None where there is no such floor [mm].
    resolution_mm : float
        Step of the dial [mm].

    Returns
    -------
    Ramp

    Notes
    -----
    The limit is `physics.removal.current_limit`: it steers, it never refuses. Steps only go up:
    a position is offered where the end bears it from there to the floor. The rate of each step
    is that of the whole end.
    """
    reach = feature.reach_mm(electrode)
    depths = reach * np.linspace(0, 1, _DEPTHS + 1)[1:] ** 2
    areas = np.maximum(feature.engaged_area_mm2(depths, electrode) - bore_area_mm2, 1e-4)
    rims = np.maximum(feature.engaged_rim_mm(depths, electrode), 0.01)
    volumes = feature.removed_volume_mm3(depths, electrode)
    if floor_mm is not None and floor_mm < reach:
        depths, areas, rims, volumes = _with_floor(setup, floor_mm, depths, areas, rims, volumes)
    limits = _limits(setup, areas, rims)
    offered, burn = _offered(setup, settings, shop)
    amps = np.array([value for _, value in offered])
    means = np.broadcast_to(burn.point.average_current, amps.shape)
    held = np.minimum.accumulate(limits[::-1])[::-1]  # borne from here to the floor
    place = np.searchsorted(np.maximum.accumulate(means), held, side="right") - 1
    chosen = len(amps) - 1
    borne = bool(means[chosen] <= limits[-1])
    share = getattr(settings, "burn_share", 1.0)
    rates = np.broadcast_to(burn.removal_rate_mm3_per_min.likely, amps.shape) * share
    steps = _steps(depths, np.clip(place, 0, chosen) if borne else np.full(len(depths), chosen),
                   offered, volumes, rates, means)  # fmt: skip
    whole = volumes[-1] / rates[chosen] if rates[chosen] > 0 else np.nan
    extra = sum(step.minutes for step in steps) - whole
    return Ramp(steps, float(extra), depths, areas, volumes, limits, float(means[chosen]), borne,
                feature.cut_away is not None, resolution_mm,
                isinstance(settings, Relaxation))  # fmt: skip


def _offered(setup, settings, shop):
    """Return the currents up to the setting's as (label, value) pairs, and their burn.

    Of a relaxation circuit nobody knows which resistors there are: it has the one it is given.
    """
    if isinstance(settings, Relaxation):
        burn = predict(setup, settings, shop)
        return [("as set", float(burn.point.spark_current))], burn
    offered = [(label, amps) for label, amps in currents(setup)
               if amps <= settings.peak_current_A * (1 + 1e-9)]  # fmt: skip
    if not offered:
        offered = [(f"{settings.peak_current_A:g} A", settings.peak_current_A)]
    amps = np.array([value for _, value in offered])
    return offered, predict(setup, replace(settings, peak_current_A=amps), shop)


def _with_floor(setup, floor_mm, depths, areas, rims, volumes):
    """Return the profile with the whole end engaged from the floor on."""
    at = np.searchsorted(depths, floor_mm)
    areas, rims, volumes = (
        np.insert(v, at, np.interp(floor_mm, depths, v)) for v in (areas, rims, volumes)
    )
    depths = np.insert(depths, at, floor_mm)
    below = depths >= floor_mm
    area = float(setup.engaged_area_mm2)
    return (depths, np.where(below, area, areas), np.where(below, float(setup.rim_mm), rims),
            np.where(below, volumes[at] + area * (depths - floor_mm), volumes))  # fmt: skip


def _limits(setup, areas, rims):
    """Return the mean current borne at each area and rim [A]."""
    machine = setup.machine
    if machine is not None and machine.current_caution_A_per_cm2:
        return machine.current_caution_A_per_cm2 * areas / 100
    factor = removal.ELECTRODE_FACTOR.get(setup.electrode.key, 1.0)
    deep = setup.flushing.deep_blind
    return removal.current_limit(areas * mm2, rims * mm, factor, deep)


def _steps(depths, places, offered, volumes, rates, means):
    """Return the steps up, each worth a touch of the switch: closer ones are put off."""
    first = np.searchsorted(depths, _WORTH_MM)
    starts = [0]
    if places[min(first, len(places) - 1)] == places[-1]:
        places = np.full_like(places, places[-1])  # borne as good as from the start
    while True:
        last = starts[-1]
        worth = (depths >= (depths[last] if last else 0.0) + _WORTH_MM) & (places > places[last])
        if not worth.any():
            break
        starts.append(int(np.argmax(worth)))
    steps = []
    for begin, end in zip(starts, [*starts[1:], len(depths)], strict=True):
        place = places[begin]
        gone = volumes[min(end, len(depths) - 1)] - (volumes[begin] if begin else 0.0)
        taken = gone / rates[place] if rates[place] > 0 else np.nan
        label, amps = offered[place]
        from_mm = float(depths[begin]) if begin else 0.0
        steps.append(Step(from_mm, label, float(amps), float(taken), float(means[place])))
    return tuple(steps)
