"""How long `import edmkit` takes, over `import numpy`: fresh processes, in turns."""

import statistics
import subprocess
import sys
import time

ROUNDS, GOAL = 15, 1.5


def seconds(statement):
    """Return how long a fresh process takes for a statement [s]."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", statement], check=True)
    return time.perf_counter() - start


def main():
    """Print the ratio of the medians."""
    taken = {statement: [] for statement in ("import numpy", "import edmkit")}
    for _ in range(ROUNDS):
        for statement, times in taken.items():
            times.append(seconds(statement))
    ours, theirs = (statistics.median(taken[s]) for s in ("import edmkit", "import numpy"))
    print(f"import edmkit / import numpy: {ours / theirs:.2f} (goal {GOAL})")


if __name__ == "__main__":
    main()
