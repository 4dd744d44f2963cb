"""How long a hundred thousand pulses take, in seconds and over the plain form of the test."""

import statistics
import sys
import time
from pathlib import Path

from edmkit.physics.pulse_by_pulse import simulate

sys.path.insert(0, str(Path(__file__).parents[1]))
from test_pulse_by_pulse import CASES, plain_shares

PULSES, ROUNDS, GOAL = 100_000, 5, 0.2


def seconds(work):
    """Return what a piece of work takes on the clock [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main():
    """Print the time and the ratio for each case, the two forms in turn."""
    for name, case in CASES.items():
        fast, plain = [], []
        for seed in range(ROUNDS):
            fast.append(seconds(lambda case=case, seed=seed: simulate(case, PULSES, seed)))
            plain.append(seconds(lambda case=case, seed=seed: plain_shares(case, PULSES, seed)))
        took, slow = statistics.median(fast), statistics.median(plain)
        print(f"{name}: {took:.3f} s (goal {GOAL} s), {took / slow:.2f} of the plain form")


if __name__ == "__main__":
    main()
