"""How long predict takes for a million settings, over copying its nine answers; and its memory.

The mesh is what the kit asks for: every setting of a machine. The list of a million settings
that share nothing is the worst case.
"""

import statistics
import time
import tracemalloc

import numpy as np

import edmkit as ek

SIDE, ROUNDS, GOAL, GOAL_MB = 100, 9, 5.0, 200.0
RANGES = ((1, 60), (5, 500), (5, 500))  # A, µs, µs


def setup():
    """Return copper on hardened steel in oil."""
    pair = ek.work_material("52100"), ek.electrode_material("copper")
    return ek.Setup(*pair, ek.dielectric("edm_oil"), "electrode positive", 7.0)


def answers(settings):
    """Return removal, Ra and wear, each with both ends of its band: nine arrays."""
    burn = ek.predict(setup(), settings)
    made = burn.removal_rate_mm3_per_min, burn.roughness_Ra_um, burn.relative_wear_percent
    return [getattr(one, end) for one in made for end in ("likely", "low", "high")]


def seconds(work):
    """Return the median of what a piece of work takes of the processor [s]."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return statistics.median(times)


def peak_MB(work):
    """Return the most memory that a piece of work holds at once [MB]."""
    tracemalloc.start()
    kept = work()
    peak = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return peak if kept else 0.0


def main():
    """Print time and memory for a mesh and for a list of a million settings."""
    random = np.random.default_rng(5)
    mesh = ek.Settings(*np.ix_(*(np.geomspace(*ends, SIDE) for ends in RANGES)))
    loose = (np.exp(random.uniform(*np.log(ends), SIDE**3)) for ends in RANGES)
    cases = {"a mesh of a million settings": mesh, "a million loose settings": ek.Settings(*loose)}
    source = np.ones((9, SIDE**3))
    target = np.empty_like(source)
    copying = seconds(lambda: [np.copyto(t, s) for t, s in zip(target, source, strict=True)])
    for name, settings in cases.items():
        ratio = seconds(lambda s=settings: answers(s)) / copying
        print(f"predict / copyto, {name}: {ratio:.1f} (goal {GOAL:g})")
        peak = peak_MB(lambda s=settings: answers(s))
        print(f"peak memory, {name}: {peak:.0f} MB (goal {GOAL_MB:g} MB)")


if __name__ == "__main__":
    main()
