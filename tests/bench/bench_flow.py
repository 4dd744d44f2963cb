"""How long the flow through a way takes, and a bore that fills: each beside its goal.

.venv/bin/python tests/bench/bench_flow.py

Times are the best of several, and as a ratio to one call of `pressure_drop` on the same shape:
the ratio holds on another machine.
"""

import time
import warnings

import numpy as np

from edmkit.physics.clogging import clogging
from edmkit.physics.flow import Beside, flow_through, pressure_drop
from edmkit.physics.passage import annulus, bore, opening, radial_gap, segments
from edmkit.units import kPa, mm, mm2, mm3_per_min, um

OIL = {"viscosity": 2.8e-3, "density": 796.0}


def best(call, times):
    """Return the shortest of several runs [ms]."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        taken.append(time.perf_counter() - start)
    return min(taken) * 1e3


def way(gap):
    """Return bore, flats, front gap and side gap."""
    front = radial_gap(gap, 0.5 * mm, 1.5 * mm)
    side = annulus(1.535 * mm, 1.5 * mm, 5 * mm)
    return bore(0.5 * mm, 40 * mm), segments(0.5 * mm, 0.35 * mm, 5 * mm, 2), front, side


def main():
    """Print each time, its ratio and its goal."""
    warnings.simplefilter("ignore")
    push = np.geomspace(1, 500, 60) * kPa
    many = way(np.geomspace(3, 300, 60)[:, None] * um)
    one = way(30 * um)
    jet = (*one[:2], Beside((one[2:], opening(1 * mm2))))
    flows = np.full((60, 60), 1e-7)
    single = best(lambda: pressure_drop(one[0], 1e-7, **OIL), 200)
    grid = best(lambda: pressure_drop(one[0], flows, **OIL), 50)
    filling = (20 * kPa, 2 * mm3_per_min, *OIL.values(), 7200.0, 7500.0)
    rows = (
        ("four parts", lambda: flow_through(one, 20 * kPa, **OIL), single, 3),
        ("four parts, two beside a jet", lambda: flow_through(jet, 20 * kPa, **OIL), single, 3),
        ("four parts, 60 x 60", lambda: flow_through(many, push, **OIL), grid, 100),
        ("a bore that fills", lambda: clogging(one[0], one[1:], *filling), single, 20),
    )
    for name, call, unit, goal in rows:
        taken = best(call, 30)
        missed = "" if taken < goal else "  MISSED"
        print(f"{name:30} {taken:7.2f} ms   x{taken / unit:5.1f}   goal {goal} ms{missed}")


if __name__ == "__main__":
    main()
