"""How long the areal parameters take, beside another library's in the same run.

.venv/bin/python tests/bench/bench_areal.py

The two take turns, so that a busy machine slows both; the ratio of the medians is the figure.
"""

import time
from statistics import median

import numpy as np
from surfalize import Surface

from edmkit.physics.areal import areal_parameters, level
from edmkit.units import um


def taken(call):
    """Return how long one call takes [ms]."""
    start = time.perf_counter()
    call()
    return (time.perf_counter() - start) * 1e3


def main():
    """Print each time, its ratio and its goal."""
    for size in (512, 1024):
        heights = np.random.default_rng(1).normal(0, um, (size, size))
        pairs = (
            (
                "levelled",
                10,
                lambda h=heights: areal_parameters(level(h)),
                lambda h=heights: Surface(h, 1, 1).level().height_parameters(),
            ),
            (
                "as it is",
                1,
                lambda h=heights: areal_parameters(h),
                lambda h=heights: Surface(h, 1, 1).height_parameters(),
            ),
        )
        for name, goal, ours, theirs in pairs:
            times = [(taken(ours), taken(theirs)) for _ in range(21)]
            mine, other = (median(column) for column in zip(*times, strict=True))
            missed = "" if other / mine >= goal else "  MISSED"
            print(f"{size:5} {name}  {mine:7.2f} ms  {other:8.2f} ms  x{other / mine:5.1f}"
                  f"   goal x{goal}{missed}")  # fmt: skip


if __name__ == "__main__":
    main()
