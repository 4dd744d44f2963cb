"""How long craters take on a map, in seconds and over bowls superposed by Fourier transform."""

import statistics
import time

import numpy as np
from scipy.signal import fftconvolve

from edmkit.physics.crater_surface import Craters, Surface, erode
from edmkit.physics.surface_starts import flat_for
from edmkit.units import um

CRATERS, ROUNDS = Craters(60 * um, 12 * um), 5
CASES = ((512, 10_000, 0.3), (1024, 100_000, 2.5))  # pixels on a side, craters, goal [s]
FIRST_GOAL = 0.05


def seconds(work):
    """Return what a piece of work takes on the clock [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def superposed(pixels, sparks, seed):
    """Return bowls of twelve sizes at random places: fast, but no surface that settles."""
    random, total = np.random.default_rng(seed), np.zeros((pixels, pixels))
    for radius in CRATERS.radii / CRATERS.radius * 8:
        places = np.zeros((pixels, pixels))
        np.add.at(places, tuple(random.integers(pixels, size=(2, sparks // 12))), 1.0)
        x = np.arange(-int(radius), int(radius) + 1)
        bowl = np.minimum((x**2 + x[:, None] ** 2) / radius**2 - 1, 0.0)
        total += fftconvolve(places, bowl, mode="same")
    return total


def first_frame():
    """Make the map and its first 500 craters, as the page does."""
    erode(flat_for(CRATERS), CRATERS, 500, 1)


def main():
    """Print the times, each beside its goal, the two forms in turn."""
    for pixels, sparks, goal in CASES:
        start = Surface(np.zeros((pixels, pixels)), CRATERS.radius / 8)
        melted, added = [], []
        for seed in range(ROUNDS):
            melted.append(seconds(lambda a=start, s=seed, n=sparks: erode(a, CRATERS, n, s)))
            added.append(seconds(lambda n=pixels, s=seed, c=sparks: superposed(n, c, s)))
        took, plain = statistics.median(melted), statistics.median(added)
        print(
            f"{sparks} craters on {pixels} x {pixels}: {took:.3f} s (goal {goal} s), "
            f"{took / plain:.2f} of superposed bowls"
        )
    first = statistics.median(seconds(first_frame) for _ in range(ROUNDS))
    print(f"the first 500 craters: {first:.3f} s (goal {FIRST_GOAL} s)")


if __name__ == "__main__":
    main()
