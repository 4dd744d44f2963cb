"""1500 made-up shops: coverage and width of the bands, slips, another steel; how long it takes.

.venv/bin/python tests/bench/bench_learn.py [shops]

Each figure stands beside its goal; one that misses it is marked. A coverage from 1500 shops is
good to 0.8 points (one standard error).
"""

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from simulated_shops import FOUR, OTHER, SECOND, Shop, elsewhere, score, slips_found

from edmkit.knowledge import teach

_COVERAGE = {"prior": (86, 94), "level": (84, 95), "slips": (84, 95)}
_SLOPES = {3: (82, 68), 30: (82, 82)}  # least coverage near and far, all slopes two deviations out
_TRIED = dict(zip(FOUR, (1.6, 1.3, 1.75, 1.4), strict=True))  # half-band after five trials
_ANYWHERE = dict(zip(FOUR, (2.3, 1.4, 2.2, 1.6), strict=True))
_MARKED = {
    ("removal_rate", 3): 70,
    ("removal_rate", 10): 90,
    ("roughness_Ra", 10): 95,
}  # % of slips


def _beside(value, least=None, most=None, form=".0f"):
    """Return a figure, with its goal where it misses it."""
    fails = (least is not None and value < least) or (most is not None and value > most)
    goal = "-".join(f"{end:g}" for end in (least, most) if end is not None)
    return f"{value:{form}}" + (f" [MISSES {goal}]" if fails else "")


def _row(job):
    return job, score(*job, 1)


def coverage(pool, count):
    """Print coverage and half-width of the next burn near and far."""
    some = [("prior", n) for n in (1, 3, 5, 10, 30)]
    some += [(case, n) for case in ("level", "slips", "slopes") for n in (3, 10, 30)]
    jobs = [(quantity, *one, count) for quantity in FOUR for one in some]
    print("coverage near/far/tried or one tap away [%]; half-band as a factor, the same")
    for (quantity, case, trials, _), found in pool.map(_row, jobs):
        least = [(end, None) for end in _SLOPES.get(trials, ())] if case == "slopes" else []
        both = [_COVERAGE[case]] * 2 if case in _COVERAGE and trials >= 3 else []
        ends = [*least, *both, (), (), ()]
        shares = [_beside(s.coverage, *e, form=".1f") for s, e in zip(found, ends, strict=False)]
        narrow = case == "prior" and trials == 5
        most = (None, _ANYWHERE[quantity], _TRIED[quantity]) if narrow else (None,) * 3
        widths = [
            _beside(np.exp(s.width), None, m, ".2f") for s, m in zip(found, most, strict=True)
        ]
        print(f"{quantity:14} {case:7} n={trials:2}: {' / '.join(shares)}   x {' / '.join(widths)}",
              flush=True)  # fmt: skip


def _else(job):
    return job, elsewhere(*job, 2)


def others(pool, count):
    """Print what another steel and another machine start with, after ten burns at home."""
    jobs = [(q, place, n, count) for q in FOUR for place in (OTHER, SECOND) for n in (0, 1, 3)]
    for (quantity, place, there, _), found in pool.map(_else, jobs):
        steel = place == OTHER
        most = (0.5 if there or quantity == "removal_rate" else 0.6) if steel else None
        width = _beside(found.width, None, most if there < 2 else None, ".2f")
        print(f"{quantity:14} another {'steel' if steel else 'machine'}, {there} burns there: "
              f"{width} of untrained, {found.coverage:.0f} % inside")  # fmt: skip


def _slips(job):
    return job, slips_found(*job, 3)


def slips(pool, count):
    """Print how many of the slips are marked, and how many good figures are."""
    jobs = [(quantity, n, count) for quantity in FOUR for n in (3, 5, 10)]
    for (quantity, trials, _), (marked, wrong) in pool.map(_slips, jobs):
        share = _beside(marked, _MARKED.get((quantity, trials)))
        print(f"{quantity:14} slips at n={trials}: {share} % marked, "
              f"{_beside(wrong, None, 1, '.2f')} % of the good ones")  # fmt: skip


def _seconds(work):
    took = []
    for _ in range(9):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return float(np.median(took))


def timing():
    """Print how long learning one quantity takes, beside least squares and scikit-learn."""
    from sklearn.linear_model import BayesianRidge

    shop = Shop("removal_rate", np.random.default_rng(1))
    for count, goal in ((10, None), (100, 15), (1000, 40)):
        lessons = shop.lessons(shop.walk(count))
        x = np.array([[1.0, *lesson.point] for lesson in lessons])
        y = np.array([lesson.value for lesson in lessons])
        mine = _seconds(lambda lessons=lessons: teach("removal_rate", lessons))
        plain = _seconds(lambda x=x, y=y: np.linalg.lstsq(x, y, rcond=None))
        ridge = _seconds(lambda x=x, y=y: BayesianRidge(fit_intercept=False).fit(x, y))
        taken = _beside(1e3 * mine, None, goal, ".1f")
        beside = f"{mine / plain:.0f} x numpy.linalg.lstsq, {mine / ridge:.0f} x BayesianRidge"
        print(f"learning from {count}: {taken} ms; {beside}")


if __name__ == "__main__":
    shops = int(sys.argv[1]) if len(sys.argv) > 1 else 1500
    timing()
    with ProcessPoolExecutor(2) as workers:
        coverage(workers, shops)
        others(workers, shops // 5)
        slips(workers, shops)
