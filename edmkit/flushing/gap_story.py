"""The gap of a hole as the simulation plays it: pulse by pulse, and a line that clogs."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal
from edmkit.flushing.gauge_free import warm
from edmkit.flushing.knobs import IN_TROUBLE, dirt_that_arcs, in_dirt
from edmkit.flushing.way import THROUGH, gap_of
from edmkit.flushing.window import CLEAN, ways_of
from edmkit.physics.clogging import clogging, shut_after
from edmkit.physics.pulse_by_pulse import DEBRIS_LIMIT, Conditions, State
from edmkit.physics.renewal import lift_renewal
from edmkit.settings import refuse_circuit
from edmkit.units import kPa, ml_per_min, mm, mm2, mm3, mm3_per_min

AS_IT_FLOWS, CLOGGED, STARVED = "as the flow is", "it clogs", "it starves"
_TOO_CLEAN = 0.2  # of the debris at which sparks starve, for the picture
LONGER = 1.15  # times as long as the line takes to shut, shown


def conditions_of(hole, flushed, bench, tale=AS_IT_FLOWS):
    """Return what the gap of a hole burns under and how it stands, for `simulate`.

    Parameters
    ----------
    hole : Hole
        At one setting of a pulse generator.
    flushed : Window
        Its flushing.
    bench : Bench
        Pressure, length of the bore, lift and temperature.
    tale : str
        `AS_IT_FLOWS`; `CLOGGED`: so little flow that one spark in four is an arc; `STARVED`.

    Returns
    -------
    tuple of Conditions and State

    Raises
    ------
    Refusal
        If the hole burns with a relaxation circuit.
    """
    refuse_circuit(hole.burn.settings, "the pulses of a gap")
    burn, point, gap = hole.burn, hole.burn.point, gap_of(hole)
    debris, timed = flushed.debris.likely, burn.settings.lift_burn_s
    flow = flushed.flow_ml_per_min.likely * (1 - flushed.lift_share) * ml_per_min
    if tale == CLOGGED:
        debris *= dirt_that_arcs(hole, bench, IN_TROUBLE)
    elif tale == STARVED:
        debris = CLEAN * _TOO_CLEAN
    content = gap.content_mm3 * mm3
    rate = float(burn.removal_rate_mm3_per_min.likely) * mm3_per_min
    sparks = float(point.frequency * point.speed_at_gap)
    lifts = lift_renewal(gap.area_mm2 * mm2, bench.lift_mm * mm, content)
    if tale != AS_IT_FLOWS:  # a flow that holds the debris where the tale wants it, and no lifts
        flow, timed = rate / (debris * DEBRIS_LIMIT), None
    conditions = Conditions(
        on_time=float(point.on_time),
        off_time=float(point.off_time),
        open_voltage=float(point.open_voltage),
        discharge_voltage=float(point.discharge_voltage),
        spark_current=float(point.spark_current),
        gap_default=float(point.gap_default),
        front_area=gap.area_mm2 * mm2,
        flow=flow,
        removal_per_spark=rate / sparks,
        current_ratio=float(point.current_ratio),
        servo_voltage=float(point.mean_voltage),
        fixed_period=bool(point.fixed_period),
        lift_burn=timed,
        lift_up=burn.settings.lift_up_s or 0.0,
        lift_renewal=float(-np.expm1(-lifts)),
        gap_volume=content,
    )
    return conditions, State(gap_ratio=float(point.gap_ratio), debris=float(debris))


@dataclass(frozen=True)
class ClogStory:
    """A line filling with soot and reversed: arrays over time [s], flow in ml/min, arcs [-].

    ``turned_s`` is when the flow was turned round.
    """

    time: np.ndarray
    open_share: np.ndarray
    flow_ml_per_min: np.ndarray
    arcs: np.ndarray
    turned_s: float


def clog_story(hole, flushed, bench, turn, shop=None):
    """Return how a line clogs while a hole burns, and what reversing the flow brings back.

    Parameters
    ----------
    hole : Hole
        With a way through the electrode.
    flushed : Window
        Its flushing.
    bench : Bench
        Pressure, length of the bore, lift and temperature.
    turn : float
        When the flow is turned round, as a share of the story, which is `LONGER` than the line
        takes to shut [-].
    shop : Shop or None
        What the shop has learned.

    Raises
    ------
    Refusal
        If nothing flows through the electrode, or the hole burns with a relaxation circuit.
    """
    refuse_circuit(hole.burn.settings, "the arcs of a clogging line")
    way, driving = ways_of(hole, flushed, bench)
    if not way or hole.burn.setup.flushing.kind not in THROUGH:
        raise Refusal("bore_mm must be above 0 mm for a line to clog, got 0 mm: give the "
                      "electrode a bore, and suction or pressure through it.")  # fmt: skip
    fluid = warm(hole.burn.setup.dielectric, bench.oil_C)
    rate = float(hole.burn.removal_rate_mm3_per_min.likely) * mm3_per_min
    whole = LONGER * float(shut_after(way[-1], rate))
    played = clogging(way[-1], way[:-1], driving * kPa, rate, fluid.viscosity, fluid.density,
                      turn * whole, whole)  # fmt: skip
    # After the turn nothing burns: what the reversed flow carries is soot torn off, no chips.
    debris = np.clip(rate / (played.flow + rate) / DEBRIS_LIMIT, 1e-6, 100.0)
    setup = hole.burn.setup
    dirty = replace(setup, flushing=replace(setup.flushing, debris=debris))
    states = predict(dirty, in_dirt(hole, debris), shop).point.states
    arcs = states.arcing / np.maximum(states.arcing + states.normal, 1e-12)
    return ClogStory(played.time, played.open_share, played.flow / ml_per_min, arcs, turn * whole)
