"""How long one move of a switch takes in Python, against drawing the same figure anew."""

import statistics
import time
import warnings

from edmkit.checks import RangeWarning
from edmkit.panels.pictures import MAP
from edmkit.panels.which_settings import WhichSettings
from edmkit.plots.curves import curves_figure

MOVES = 60


def milliseconds(action):
    """Return how long an action takes."""
    start = time.perf_counter()
    action()
    return 1000 * (time.perf_counter() - start)


def moves(page):
    """Return the times of moves over all switches, there and back."""
    rows = list(page.switch_controls.rows.values())[:3]
    steps = [(rows[n % 3], 1 if n // 3 % 2 == 0 else -1) for n in range(MOVES)]
    return [milliseconds(lambda s=s, by=by: s.step(by)) for s, by in steps]


def main():
    """Print one line for each figure."""
    warnings.simplefilter("ignore", RangeWarning)
    page = WhichSettings(memory=None)
    moves(page)  # warm
    curves = moves(page)
    anew = [milliseconds(lambda: curves_figure(*page.pictures._curves())) for _ in range(20)]
    page.pictures.tab.value = MAP
    on_map = moves(page)
    median = statistics.median
    print(f"a move with curves: median {median(curves):.1f} ms, p95 {sorted(curves)[-4]:.1f} (10)")
    print(f"a move with the map: median {median(on_map):.1f} ms (10)")
    print(f"a new figure / a whole move: {median(anew) / median(curves):.1f}")


if __name__ == "__main__":
    main()
