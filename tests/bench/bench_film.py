"""How long one live solve takes over the practical range, and one frame of its film in Python."""

import statistics
import time

import numpy as np

import edmkit as ek
from edmkit.plots.spark_field import change_spark_field, spark_field_figure
from edmkit.plots.spark_steps import SparkField
from edmkit.spark import Spark
from edmkit.spark_film import filming
from edmkit.units import um, us

AMPS, TIMES, SEED, POINTS = (0.5, 60.0), (2 * us, 1000 * us), 1989, 12
METALS = {"52100": 0.30, "H13": 0.30, "304": 0.30, "WC-6Co": 0.30, "6061": 0.30, "copper": 0.12}
GOAL_S, GOAL_FRAME_MS, VOLTS, GAP = 0.15, 100, 25.0, 30 * um


def seconds(work):
    """Return what a piece of work takes on the clock [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main():
    """Print the median and the slowest solve of each metal and of all; then the frames."""
    random, every, slices = np.random.default_rng(SEED), [], []
    for key, share in METALS.items():
        took = []
        amps, times = (np.exp(random.uniform(*np.log(ends), POINTS)) for ends in (AMPS, TIMES))
        for current, on_time in zip(amps, times, strict=True):
            run = filming(Spark(ek.work_material(key), current, on_time, VOLTS, share))
            steps = [(time.perf_counter(), step) for step in run]
            film = steps[-1][1]
            slices += list(np.diff([when for when, _ in steps]))
            again = filming(Spark(ek.work_material(key), current, on_time, VOLTS, share))
            took.append(seconds(lambda again=again: list(again)))
        every += took
        print(f"{key:7} median {statistics.median(took):.3f} s, slowest {max(took):.3f} s")
    print(f"all     median {statistics.median(every):.3f} s (goal {GOAL_S} s)")
    print(f"slices between which a page can breathe: {1e3 * np.percentile(slices, 95):.1f} ms p95")
    shown = SparkField(film, GAP)
    first = seconds(lambda: spark_field_figure(shown))
    figure = spark_field_figure(shown)
    frames = [1e3 * seconds(lambda n=n: change_spark_field(figure, shown, n))
              for n in range(len(film.times))]  # fmt: skip
    p95 = np.percentile(frames, 95)
    print(f"first picture {first:.2f} s; a frame {p95:.1f} ms p95 in Python, the browser comes on "
          f"top (goal together {GOAL_FRAME_MS} ms)")  # fmt: skip


if __name__ == "__main__":
    main()
