"""500 kills of two writers; what a durable row and the opening of 10 000 rows cost.

.venv/bin/python tests/bench/bench_book.py [kills]
"""

import os
import sqlite3
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_torture import killed, lost
from book_writer import numbered

import edmkit as ek


def timed(work):
    """Return the seconds that something takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _raw(file):
    file.write(b"x" * 900)
    file.flush()
    os.fsync(file.fileno())


def costs(folder):
    """Print the cost of a durable row and of opening a long book, each beside its floor."""
    book = ek.TrialBook(folder / "row.sqlite")
    book.add(numbered("a", 0))
    floor, mine = [], []
    with open(folder / "raw", "ab") as raw:
        for n in range(1, 40):
            mine.append(timed(lambda n=n: book.add(numbered("a", n))))
            floor.append(
                timed(lambda: (raw.write(b"x" * 900), raw.flush(), os.fsync(raw.fileno())))
            )
    print(f"a durable burn {1e3 * np.median(mine):.1f} ms, "
          f"{np.median(mine) / np.median(floor):.0f} x a raw append and fsync")  # fmt: skip
    long = ek.TrialBook(folder / "long.sqlite")
    long.add_all([numbered("a", n) for n in range(10_000)])
    opened = [timed(lambda: ek.TrialBook(long.path)) for _ in range(5)]
    with closing(sqlite3.connect(long.path)) as plain:
        read = [timed(lambda: plain.execute("SELECT * FROM trials").fetchall()) for _ in range(5)]
    print(f"10 000 burns open in {np.median(opened):.2f} s (goal 0.3), "
          f"{np.median(opened) / np.median(read):.1f} x reading them")  # fmt: skip


def main(kills=500):
    """Kill and count."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        costs(folder)
        sums = [0, 0, 0, 0]
        for part in range(kills // 20):
            path = folder / f"torture{part}.sqlite"
            pairs = killed(path, part, 20)
            gone, single, wrong, count = lost(path, pairs)
            for n, value in enumerate((2 * len(pairs), len(gone), len(single) + len(wrong), count)):
                sums[n] += value
        print(f"{kills} kills: {sums[0]} burns acknowledged, {sums[1]} lost, {sums[2]} halved or "
              f"wrong, {sums[3] - sums[0]} there though not acknowledged")  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
