"""The trial book: 500 kills of two writers; how long a book opens and how long a burn takes.

.venv/bin/python tests/bench/bench_book.py [kills]
"""

import os
import sqlite3
import statistics
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from book_torture import killed, lost

import edmkit as ek

BURNS, ROUNDS, PER_BOOK = 10_000, 9, 20
NUMBERS = {
    "peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0, "open_voltage_V": 120.0,
    "gap_front_um": 40.0, "engaged_area_mm2": 7.1, "section_mm2": 7.1, "volume_mm3": 141.0,
    "target_size_mm": 3.06, "target_depth_mm": 20.0, "bore_mm": 1.0, "stop_mm": 20.1,
}  # fmt: skip
TEXTS = {
    "burned_at": "2026-03-02 09:30", "job": "rollers", "feature": "round hole", "stage": "test",
    "work": "52100", "electrode": "copper", "electrode_id": "3", "fluid": "edm_oil",
    "polarity": "electrode positive", "flushing": "suction", "flushing_quality": "good",
}  # fmt: skip
SEEN = {
    "electrode_size_mm": (3.0, "micrometer"), "hole_size_mm": (3.06, "pin go and no-go", 3.07),
    "depth_mm": (20.0, "dial"), "end_wear_mm": (1.2, "caliper"), "minutes": (31.0, "watch"),
}  # fmt: skip


def burn(number):
    """Return a burn with as many columns filled as a careful person fills."""
    seen = {name: ek.Measured(*told) for name, told in SEEN.items()}
    return ek.Trial(part=str(number), **NUMBERS, **TEXTS, **seen)


def seconds(action):
    """Return how long something takes [s]."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def kills(folder, count):
    """Print what is lost or halved after writers were killed, in books of 20 kills each."""
    told, bad = 0, 0
    for number in range(count // PER_BOOK):
        path = folder / f"killed{number}.sqlite"
        pairs = killed(path, number, PER_BOOK)
        gone, single, wrong, _ = lost(path, pairs)
        told, bad = told + 2 * len(pairs), bad + len(gone) + len(single) + len(wrong)
    print(f"{count} kills: {told} burns acknowledged, {bad} lost, halved or wrong (goal 0)")


def opening(folder):
    """Print how long a big book opens, beside a plain reading of the same rows."""
    path = folder / "big.sqlite"
    ek.TrialBook(path).add_all([burn(number) for number in range(BURNS)])

    def plain():
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("SELECT * FROM trials").fetchall()

    times = [(seconds(lambda: ek.TrialBook(path)), seconds(plain)) for _ in range(ROUNDS)]
    ours, raw = (statistics.median(column) for column in zip(*times, strict=True))
    print(f"{BURNS} burns open in {ours:.2f} s (goal 0.3): {ours / raw:.1f} x a plain reading")
    reading = seconds(ek.TrialBook(path).trials)
    print(f"all of them as trials: {reading:.2f} s")


def one_burn(folder):
    """Print how long one burn takes, beside an append with fsync of about the same bytes."""
    book = ek.TrialBook(folder / "small.sqlite")
    book.add(burn(0))
    book.add(burn(1))  # the day's backup
    line = b"x" * 600 + b"\n"

    def append():
        with open(folder / "raw.txt", "ab") as file:
            file.write(line)
            file.flush()
            os.fsync(file.fileno())

    burns = [burn(number) for number in range(20 * ROUNDS)]
    times = [(seconds(lambda b=b: book.add(b)), seconds(append)) for b in burns]
    ours, raw = (statistics.median(column) for column in zip(*times, strict=True))
    print(f"one burn saved in {1e3 * ours:.1f} ms: {ours / raw:.1f} x append and fsync (goal 8)")


if __name__ == "__main__":
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    # Beside this file, not in /tmp, which may lie in memory where nothing is durable.
    with tempfile.TemporaryDirectory(dir=Path(__file__).parent, prefix=".book") as made:
        opening(Path(made))
        one_burn(Path(made))
        kills(Path(made), wanted)
