"""Where a gap clogs and where it starves, in flow: over the removal rate, over the off-time."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.flushing.window import MOST_ARCS, flow_for
from edmkit.physics.pulse_by_pulse import CLEAN
from edmkit.physics.states import debris_at_arcs
from edmkit.settings import refuse_circuit
from edmkit.units import ml_per_min, mm3_per_min


@dataclass(frozen=True)
class Edges:
    """Flows at which a gap clogs and starves, for each of some heights [ml/min]."""

    heights: np.ndarray
    clogs: np.ndarray
    starves: np.ndarray


def _edges(heights, removed, most):
    flows = [flow_for(removed, ends, 0.0) / ml_per_min for ends in (most, CLEAN)]
    return Edges(heights, *(np.broadcast_to(flow, np.shape(heights)) for flow in flows))


def edges_over_removal(shown, rates_mm3_per_min):
    """Return the edges of the range for removal rates.

    Parameters
    ----------
    shown : Window
        Whose upper end of debris counts.
    rates_mm3_per_min : array
        Removal rates while burning [mm³/min].
    """
    rates = np.asarray(rates_mm3_per_min, dtype=float)
    return _edges(rates, rates * mm3_per_min, shown.most)


def edges_over_off_time(hole, off_times_us, shop=None):
    """Return the edges of the range for off-times, all else as it is, the gap too.

    Parameters
    ----------
    hole : Hole
        At one setting.
    off_times_us : array
        Off-times [µs].
    shop : Shop or None
        What the shop has learned.

    Raises
    ------
    Refusal
        If the hole burns with a relaxation circuit.
    """
    refuse_circuit(hole.burn.settings, "edges over the off-time")
    times = np.asarray(off_times_us, dtype=float)
    gap = float(hole.burn.gap_front_um.likely)
    settings = replace(hole.burn.settings, off_time_us=times, servo_voltage_V=None,
                       gap_front_um=gap)  # fmt: skip
    burn = predict(hole.burn.setup, settings, shop)
    point = burn.point
    most = debris_at_arcs(MOST_ARCS, point.on_time, point.off_time, point.current_ratio)
    return _edges(times, burn.removal_rate_mm3_per_min.likely * mm3_per_min, most)
