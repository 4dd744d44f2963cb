"""How long a plan, its card and a move on page 03 take, over one prediction in the same run."""

import statistics
import tempfile
import time
import warnings
from datetime import date

import edmkit as ek
from edmkit.checks import RangeWarning
from edmkit.panels.how_big_how_deep import HowBigHowDeep
from edmkit.panels.plan_demos import DEMOS

ROUNDS = 30
GOALS = {"a plan": 100, "a card": 500, "a move": 100}


def milliseconds(action):
    """Return how long an action takes."""
    start = time.perf_counter()
    action()
    return 1000 * (time.perf_counter() - start)


def line(name, what, times, one):
    """Print the median and the 95 % time beside the goal, and the ratio to one prediction."""
    median, late = statistics.median(times), sorted(times)[int(0.95 * len(times))]
    ratio = median / one
    print(f"{name}: {what} {median:.1f} ms, p95 {late:.1f} (goal {GOALS[what]}), {ratio:.0f} x")


def open_gate():
    """Return a gate with everything answered for today."""
    return ek.Gate(date.today().isoformat(), "edm_oil", 60.0, True, gas_leaves_part=True,
                   gas_leaves_electrode=True, current_off_before_lowering=True,
                   earth_checked=True)  # fmt: skip


def measure(page, name):
    """Print three lines for one demo job."""
    page.load(name)
    made, job, gate = page.plan.passes[0], page.job, open_gate()
    shop = page.shop(page.setup)
    ones = [milliseconds(lambda: ek.predict(made.setup, made.settings).removal_rate_mm3_per_min)
            for _ in range(ROUNDS)]  # fmt: skip
    one = statistics.median(ones)
    page.plan.card_html(gate, name=name)
    plans = [milliseconds(lambda: page._planned(job, shop)) for _ in range(ROUNDS)]
    cards = [milliseconds(lambda: page.plan.card_html(gate, name=name)) for _ in range(ROUNDS)]
    rows = list(page.inputs.hand.rows.values())
    steps = [(rows[n % 3], 1 if n // 3 % 2 == 0 else -1) for n in range(2 * ROUNDS)]
    moves = [milliseconds(lambda r=r, by=by: r.step(by)) for r, by in steps]
    for what, times in (("a plan", plans), ("a card", cards), ("a move", moves)):
        line(name, what, times, one)


def main():
    """Measure each demo job."""
    warnings.simplefilter("ignore", RangeWarning)
    page = HowBigHowDeep(memory=None, folder=tempfile.mkdtemp())
    for name in DEMOS:
        measure(page, name)


if __name__ == "__main__":
    main()
