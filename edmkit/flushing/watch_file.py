"""The readings of a running burn in the user's folder: past a dead kernel, past a power cut.

One line of JSON a record, each with a check sum, added and never changed. A line that was torn by
a power cut is left out and said; the next record goes below it.
"""

import json
import os
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from zlib import crc32

from edmkit.checks import Refusal
from edmkit.home import home

FILE, LAST = "running_burn.jsonl", "last_burn.jsonl"
_FIRST = "start"


class WatchFile:
    """The one burn that runs; ``start`` is its first record, ``records`` those that follow.

    Both are read anew by `look`; ``start`` is None while nothing runs.
    """

    def __init__(self, folder=None):
        self.path = Path(folder or home()) / FILE
        self.start, self.records = None, ()
        self._lost, self._put_aside = 0, ""
        self.look()

    @property
    def running(self):
        """Whether a burn runs."""
        return self.start is not None

    @property
    def complaint(self):
        """The sentence to show when something could not be read, else empty."""
        if not self._lost:
            return self._put_aside
        readings = "1 reading was" if self._lost == 1 else f"{self._lost} readings were"
        return f"{readings} cut short or damaged in {self.path} and left out: read the dial again."

    def look(self):
        """Read the file as it is now; another page may have written."""
        self.start, self.records, self._lost = None, (), 0
        try:
            lines = self.path.read_bytes().split(b"\n")
        except FileNotFoundError:
            return
        except OSError as fault:
            self.set_aside(fault)
            return
        found = [_record(line) for line in lines if line]
        records = [record for record in found if record is not None]
        if not records or not isinstance(records[0].get(_FIRST), dict):
            self.set_aside("its beginning is damaged")
            return
        self.start, self.records = records[0][_FIRST], tuple(records[1:])
        self._lost = len(found) - len(records)

    def set_aside(self, fault):
        """Put a file that cannot be used under another name, and say so.

        Parameters
        ----------
        fault : Exception or str
            What is wrong with it.
        """
        aside = self.path.with_name(f"running_burn-{time.strftime('%Y%m%d-%H%M%S')}.broken")
        try:
            self.path.replace(aside)
            kept = f"it was set aside as {aside}"
        except OSError:
            kept = "it could not be set aside"
        self.start, self.records, self._lost = None, (), 0
        self._put_aside = (
            f"The running burn in {self.path} could not be read ({fault}); {kept}. "
            "Start again from a new touch."
        )

    def begin(self, start):
        """Begin a burn; refused while another runs.

        Parameters
        ----------
        start : dict
            Plain values that the burn is to be followed with.
        """
        self.look()
        if self.running:
            raise Refusal("a burn is running already: end it before the next one starts.")
        draft = self.path.with_suffix(f".{os.getpid()}.new")
        with self._said():
            self.path.parent.mkdir(parents=True, exist_ok=True)
            _write(draft, "wb", _line({_FIRST: start}))
            draft.replace(self.path)  # another page never sees half a beginning
        self._put_aside = ""
        self.look()

    def add(self, record):
        """Add a record to the running burn.

        Parameters
        ----------
        record : dict
            Plain values.
        """
        self.look()
        if not self.running:
            raise Refusal("no burn is running: another page may have ended it. Start one first.")
        with self._said():
            # A line of its own, whatever was torn before it.
            _write(self.path, "ab", b"\n" + _line(record))
        self.look()

    def finish(self):
        """End the running burn; its readings stay in the folder until the next one ends."""
        with self._said(), suppress(FileNotFoundError):
            self.path.replace(self.path.with_name(LAST))
        self.look()

    @contextmanager
    def _said(self):
        """Say what the disk refuses."""
        try:
            yield
        except OSError as fault:
            raise Refusal(
                f"it could not be kept in {self.path.parent} ({fault}): make room or give it "
                "back its rights, then try again."
            ) from None


def _write(path, mode, line):
    """Write a line through to the disk."""
    with open(path, mode) as file:
        file.write(line)
        file.flush()
        os.fsync(file.fileno())


def _line(record):
    """Return a record as a line with its check sum."""
    text = json.dumps(record, separators=(",", ":")).encode()
    return f"{crc32(text):08x} ".encode() + text + b"\n"


def _record(line):
    """Return the record of a line, None where the line was torn or changed."""
    told, _, text = line.partition(b" ")
    if told != f"{crc32(text):08x}".encode():
        return None
    try:
        record = json.loads(text)
    except ValueError:
        return None
    return record if isinstance(record, dict) else None
