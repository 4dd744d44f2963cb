"""Is the flushing enough: the flow a hole gets, its debris, and the range between two evils.

Too little flow and debris bridges the gap: arcs. Too much and the sparks starve. Both edges are
assumed; which way a knob moves them is not.
"""

from dataclasses import dataclass
from warnings import catch_warnings, simplefilter

import numpy as np

from edmkit.checks import RangeWarning, Refusal, require
from edmkit.estimate import BAND, Estimate
from edmkit.finder.bars import ARCS
from edmkit.flushing.gauge_free import warm
from edmkit.flushing.way import JET_SHARE, THROUGH, Bench, USUAL_kPa, gap_of
from edmkit.physics.flow import flow_through, pressure_drop
from edmkit.physics.pulse_by_pulse import CLEAN, DEBRIS_LIMIT
from edmkit.physics.renewal import debris_fraction, lift_force, lift_renewal, renewal_time
from edmkit.physics.states import debris_at_arcs
from edmkit.settings import Relaxation
from edmkit.units import kPa, ml_per_min, mm, mm2, mm3, mm3_per_min, us

MOST_ARCS = ARCS  # of the sparks: more is clogging
ENOUGH, LITTLE, MUCH = "enough", "too little", "too much"
_ARCS_US = (0.05, 20_000)  # times that `physics.states` knows
_MG = 1e-3  # mg of a mm³ at 1 kg/m³
_NEVER = 1e-6  # of the limit: less debris than this is none


@dataclass(frozen=True)
class Window:
    """The flushing of one hole at one setting.

    ``flow_ml_per_min`` is what passes the gap, lifts with it, ``lift_share`` what they bring of it;
    ``debris`` is over its limit [-]; ``least`` and ``most`` are where sparks starve and where one
    in ten is an arc. ``pressure_kPa`` is what drives it (None: lifts only), ``pressures_kPa`` the
    range that keeps the debris between both, ``stands_kPa`` the suction the fluid stands,
    ``machine_kPa`` the most that the machine file names. ``meter`` is what holds most of the
    pressure, ``shares`` what each part holds; ``force_N`` pushes work and electrode apart, or
    pulls them together under suction. ``lift_burn_s_most`` is how long it may burn between lifts.
    """

    kind: str
    pressure_kPa: float | None
    flow_ml_per_min: Estimate
    lift_share: float
    debris: Estimate
    least: float
    most: float
    pressures_kPa: tuple
    stands_kPa: float
    machine_kPa: float | None
    meter: str
    shares: dict
    renewal_s: float
    content_mm3: float
    force_N: float
    lift_burn_s_most: float

    @property
    def chances(self):
        """Chances that it is too little, enough and too much [-]."""
        little, much = self.debris.chance_above(self.most), self.debris.chance_below(self.least)
        return {LITTLE: float(little), ENOUGH: float(1 - little - much), MUCH: float(much)}

    @property
    def strongest_kPa(self):
        """The strongest drive there is, by the machine file and by the fluid; infinite unknown."""
        fluid = self.stands_kPa if self.kind == "suction" else np.inf
        return min(self.machine_kPa or np.inf, fluid)

    @property
    def metal_share(self):
        """Share of metal in the fluid that leaves the gap, by volume, likely [-]."""
        return self.debris.likely * DEBRIS_LIMIT

    @property
    def word(self):
        """``enough``, ``too little`` or ``too much``, for the likely debris."""
        if self.debris.likely > self.most:
            return LITTLE
        return MUCH if self.debris.likely < self.least else ENOUGH


def _drives(hole, bench, stands):
    """Return the pressure given, the route it takes (none: lifts only) and what drives it [kPa]."""
    kind = hole.burn.setup.flushing.kind
    given = bench.pressure_kPa or hole.burn.setup.flushing.pressure_kPa or USUAL_kPa.get(kind)
    if kind == "suction" and given > stands:
        raise Refusal(
            f"pressure_kPa must be 0.1 to {stands:.3g} kPa of suction, got {given:g} kPa: the "
            "fluid gives off gas there and the line runs dry. Take less suction."
        )
    if kind in THROUGH and hole.bore_mm:
        return given, "through", given
    if kind == "side jet":
        return given, "across", given * JET_SHARE
    return None, "", 0.0


def _machine_kPa(setup):
    """Return the strongest drive of a kind that the machine file names, None without one."""
    if setup.machine is None or setup.flushing.kind not in USUAL_kPa:
        return None
    means = setup.machine.flushing
    suction = setup.flushing.kind == "suction"
    return means.suction_kPa_max if suction else means.pressure_kPa_max


def ways_of(hole, flushed, bench):
    """Return the way through the gap of a hole, () where there is none, and what drives it [kPa].

    Parameters
    ----------
    hole : Hole
        At one setting.
    flushed : Window
        Its flushing.
    bench : Bench
        Pressure, length of the bore, lift and temperature.
    """
    _, route, driving = _drives(hole, bench, flushed.stands_kPa)
    return (_way(gap_of(hole), route, bench) if route else ()), driving


def _lifted(gap, settings, bench):
    """Return the mean flow that lifts bring, over a burning stretch [m³/s]."""
    if settings.lift_burn_s is None:
        return 0.0
    content = gap.content_mm3 * mm3
    times = lift_renewal(gap.area_mm2 * mm2, bench.lift_mm * mm, content)
    # what is left of the old fluid after a lift falls as when a tank is stirred: assumption
    return content * -np.expm1(-times) / settings.lift_burn_s


def _way(gap, route, bench):
    return gap.through(bench.electrode_mm) if route == "through" else gap.across()


def _needed(way, flow, fluid, share):
    """Return the pressure that drives a flow along a way [kPa]."""
    drops = [pressure_drop(part, flow, fluid.viscosity, fluid.density) for part in way]
    return float(sum(drops) / share / kPa)


def flow_for(rate, debris, lifts):
    """Return the flow that leaves so much debris, besides what the lifts bring [m³/s]."""
    fraction = debris * DEBRIS_LIMIT
    return np.maximum(rate * (1 - fraction) / fraction - lifts, 0.0)


def window(hole, bench=None):
    """Return how the gap of a hole is flushed, and the range that keeps it alive.

    Parameters
    ----------
    hole : Hole
        At one setting, its set-up's flushing the kind and pressure.
    bench : Bench or None
        Pressure, length of the bore, lift and temperature; None takes the usual ones.

    Returns
    -------
    Window

    Raises
    ------
    Refusal
        If a size of the gap or the pressure is outside its range, or the fluid does not stand
        the suction.

    Notes
    -----
    The hole is taken at depth, the end concentric. The gap is known to a factor, and flow goes
    with its cube: most of the band comes from there. Gas bubbles and the room that debris takes
    are left out.
    """
    bench = bench or Bench()
    burn, point, gap = hole.burn, hole.burn.point, gap_of(hole)
    fluid = warm(burn.setup.dielectric, bench.oil_C)
    stands = fluid.suction_limit / kPa
    given, route, driving = _drives(hole, bench, stands)
    flow = _through(gap, route, bench, driving, fluid)
    lifts = _lifted(gap, burn.settings, bench)
    likely = (float(flow.rate) if flow else 0.0) + lifts
    doubt = _doubt(hole, route, bench, driving, fluid) if likely > 0 else 0.0
    rate, level = burn.removal_rate_mm3_per_min, float(burn.removal_rate_mm3_per_min.spread)
    removed = float(rate.likely) * mm3_per_min
    held = debris_fraction(removed, likely) if likely > 0 else 1.0
    debris = max(float(held) / DEBRIS_LIMIT, _NEVER)
    most = float(debris_at_arcs(MOST_ARCS, *_times(burn), point.current_ratio))
    return Window(
        burn.setup.flushing.kind,
        given,
        Estimate(likely / ml_per_min, doubt),
        lifts / likely if likely > 0 else 0.0,
        Estimate(debris, float(np.hypot(level, doubt))),
        CLEAN,
        most,
        _pressures(gap, route, bench, fluid, removed, lifts, (most, CLEAN)),
        stands,
        _machine_kPa(burn.setup),
        str(flow.meter) if flow else "",
        dict(zip(flow.names, map(float, flow.shares), strict=True)) if flow else {},
        float(renewal_time(gap.content_mm3 * mm3, likely)) if likely > 0 else np.inf,
        gap.content_mm3,
        _force(gap, flow, route),
        _longest_burn(gap, bench, removed, most, flow),
    )


def _times(burn):
    """Return how long a spark burns and how long the gap rests: a circuit's while it charges."""
    times = burn.point.on_time, burn.point.off_time
    if isinstance(burn.settings, Relaxation):
        knob = "nothing is known of arcs beyond; take another capacitor or resistor"
        for word, time in zip(("burning time of the spark", "time to charge"), times, strict=True):
            require(word, time, *_ARCS_US, "µs", us, knob)
    return times


def _through(gap, route, bench, driving, fluid):
    """Return the flow through the gap, None where no way leads through it."""
    if not route:
        return None
    return flow_through(_way(gap, route, bench), driving * kPa, fluid.viscosity, fluid.density)


def _doubt(hole, route, bench, driving, fluid):
    """Return the spread of the flow that follows from the spread of the gap."""
    ends = np.exp(BAND * float(hole.burn.gap_front_um.spread) * np.array([-1.0, 1.0]))
    gap = gap_of(hole, ends)
    with catch_warnings():
        simplefilter("ignore", RangeWarning)  # the likely gap is asked about, not its far end
        flow = _through(gap, route, bench, driving, fluid)
    low, high = (flow.rate if flow else 0.0) + _lifted(gap, hole.burn.settings, bench)
    return float(np.log(high / low) / (2 * BAND))


def _pressures(gap, route, bench, fluid, removed, lift, ends):
    """Return the pressures that leave debris at its two ends [kPa]; empty without a way."""
    if not route:
        return ()
    share = 1.0 if route == "through" else JET_SHARE
    way = _way(gap, route, bench)
    return tuple(_needed(way, flow_for(removed, end, lift), fluid, share) for end in ends)


def _force(gap, flow, route):
    """Return the force that the fluid puts on the end [N]; 0 without a way through the bore."""
    if route != "through":
        return 0.0
    beside, front = flow.drops[:2]
    pushed = lift_force(front, gap.bore_mm / 2 * mm, gap.end_radius_mm * mm)
    return float(pushed + beside * gap.area_mm2 * mm2)


def _longest_burn(gap, bench, removed, most, flow):
    """Return how long it may burn between lifts before debris passes its upper end [s]."""
    needed = float(flow_for(removed, most, flow.rate if flow else 0.0))
    times = lift_renewal(gap.area_mm2 * mm2, bench.lift_mm * mm, gap.content_mm3 * mm3)
    return float(gap.content_mm3 * mm3 * -np.expm1(-times) / needed) if needed > 0 else np.inf


def metal_mg(hole):
    """Return the metal that one hole leaves in the fluid: of the work and of the electrode [mg].

    Parameters
    ----------
    hole : Hole
        At one setting.

    Notes
    -----
    Volume times density; not-a-number for an electrode without a figure for its wear. Soot comes
    on top.
    """
    setup = hole.burn.setup
    worn = float(hole.end_wear_mm.likely) * hole.section_mm2
    volumes = ((hole.volume_mm3, setup.work), (worn, setup.electrode))
    return tuple(volume * metal.density * _MG for volume, metal in volumes)
