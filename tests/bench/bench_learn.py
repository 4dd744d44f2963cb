"""1500 made-up shops: coverage and width of the bands, slips, a second steel; how long it takes.

.venv/bin/python tests/bench/bench_learn.py [shops]
"""

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from simulated_shops import FOUR, Shop, score, second_steel, slips_found

from edmkit.knowledge import teach

_GOALS = {"prior": "86-94", "level": "84-95", "slips": "84-95", "slopes": ">= 82, far 68 to 82"}


def _row(job):
    quantity, case, trials, count = job
    near, far = score(quantity, case, trials, count, 1)
    return job, near.coverage, far.coverage, near.width, far.width


def coverage(pool, count):
    """Print coverage and half-width of the next burn, near and far."""
    jobs = [(q, case, n, count) for q in FOUR for case in _GOALS for n in (1, 3, 5, 10, 30)]
    print("coverage near/far [%], half-band near/far as a factor")
    for (quantity, case, trials, _), *figures in pool.map(_row, jobs):
        near, far, width, wide = figures
        print(f"{quantity:14} {case:7} (goal {_GOALS[case]}) n={trials:2}: {near:.0f}/{far:.0f}  "
              f"x{np.exp(width):.2f}/x{np.exp(wide):.2f}", flush=True)  # fmt: skip


def others(count):
    """Print slips found and what a second steel starts with."""
    for quantity in FOUR:
        whole, started, tried = second_steel(quantity, count // 5, 2)
        print(f"{quantity:14} second steel: {started / whole:.2f} of untrained (goal 0.50 rate, "
              f"0.60 rest), after one on it {tried / whole:.2f} (goal 0.50)")  # fmt: skip
        for trials in (3, 10):
            marked, wrong = slips_found(quantity, trials, count, 3)
            print(f"{quantity:14} slips at n={trials}: {marked:.0f} % marked, {wrong:.1f} % wrong")


def timing():
    """Print how long learning one quantity takes, beside a plain least squares."""
    shop = Shop("removal_rate", np.random.default_rng(1))
    for count in (10, 100, 1000):
        lessons = shop.lessons(shop.walk(count))
        x = np.array([[1.0, *lesson.point] for lesson in lessons])
        y = np.array([lesson.value for lesson in lessons])
        mine, plain = [], []
        for _ in range(7):
            start = time.perf_counter()
            teach("removal_rate", lessons)
            middle = time.perf_counter()
            np.linalg.lstsq(x, y, rcond=None)
            mine.append(middle - start)
            plain.append(time.perf_counter() - middle)
        goal = {100: ", goal 15 ms", 1000: ", goal 40 ms"}.get(count, "")
        print(f"learning from {count}: {1e3 * np.median(mine):.1f} ms{goal}; "
              f"{np.median(mine) / np.median(plain):.0f} x numpy.linalg.lstsq")  # fmt: skip


if __name__ == "__main__":
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else 1500
    timing()
    with ProcessPoolExecutor(2) as workers:
        coverage(workers, shops)
    others(shops)
