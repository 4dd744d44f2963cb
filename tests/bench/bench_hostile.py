"""300 hostile files: no crash, and no wrong number imported in silence.

.venv/bin/python tests/bench/bench_hostile.py [files]
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from hostile_files import ANSWERS, hostile, wrong_in_silence

import edmkit as ek
from edmkit.trials.csv_read import read_csv


def main(count=300):
    """Read them all and print what came of it."""
    refused, faulty, doubtful, clean, silent = 0, 0, 0, 0, []
    for seed in range(1000, 1000 + count):
        data, truth, cut = hostile(seed)
        try:
            preview = read_csv(data, ANSWERS)
        except ek.Refusal:
            refused += 1
            continue
        faulty += bool(preview.faults)
        doubtful += bool(preview.doubts)
        clean += bool(preview.trials and not preview.doubts)
        silent += [(seed, *found) for found in wrong_in_silence(preview, truth, cut)]
    print(f"{count} files: {refused} refused, {faulty} with faults, {doubtful} with doubts")
    print(f"{clean} taken as they stand; wrong numbers in silence: {len(silent)} (goal 0)")
    for one in silent[:10]:
        print("  ", *one)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
