"""Kills two writers of a book again and again, and looks what is left; for tests and bench."""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import edmkit as ek
from edmkit.trials import store

WRITER = Path(__file__).with_name("book_writer.py")


def started(path, names):
    """Return writers that have opened the book; they start side by side."""
    children = [
        subprocess.Popen(
            [sys.executable, str(WRITER), str(path), name], stdout=subprocess.PIPE, text=True
        )
        for name in names
    ]
    assert [child.stdout.readline() for child in children] == ["open\n"] * len(children)
    return children


def killed(path, seed, kills):
    """Kill two writers at random moments; return the ids that each had acknowledged, in pairs."""
    moments, pairs = random.Random(seed), []
    for round_ in range(kills // 2):
        writers = started(path, [f"{name}{round_}" for name in "ab"])
        for writer in writers:
            time.sleep(moments.uniform(0.01, 0.12))
            writer.send_signal(signal.SIGKILL)
        for writer in writers:
            said = writer.stdout.read().splitlines(keepends=True)
            pairs += [line.split() for line in said if line.endswith("\n")]
            writer.wait()
    return pairs


def lost(path, pairs):
    """Return what a book has lost or halved: ids acknowledged but gone, pairs of one, bad rows."""
    book = ek.TrialBook(path)
    assert book.complaint == ""
    there = {trial.id: trial for trial in book.trials()}
    gone = [name for pair in pairs for name in pair if name not in there]
    halves = {}
    for trial in there.values():
        halves.setdefault((trial.part, int(trial.burn) // 2), []).append(trial)
    single = [key for key, both in halves.items() if len(both) != 2]
    wrong = [t.id for t in there.values() if t.minutes.value != 1.0 + int(t.burn)]
    with store.reading(path, 10) as connection:
        sound = connection.execute("PRAGMA integrity_check").fetchone()[0]
    assert sound == "ok"
    return gone, single, wrong, len(there)
