"""What the pages remember between openings: machine, last job, units."""

import json
import os
from pathlib import Path

from edmkit.home import home

FILE = "last_job.json"


class Memory:
    """A small file of plain values; a broken one is set aside and said, never fatal.

    ``complaint`` is the sentence to show when something could not be read or kept.
    """

    def __init__(self, folder=None):
        self.path = Path(folder or home()) / FILE
        self.complaint = ""
        self.values = self._read()

    def _read(self):
        try:
            values = json.loads(self.path.read_text(encoding="utf-8"))
            if not isinstance(values, dict):
                raise ValueError("not a list of values")
            return values
        except FileNotFoundError:
            return {}
        except (OSError, ValueError) as fault:
            aside = self.path.with_suffix(".broken")
            try:
                self.path.replace(aside)
                kept = f"it was set aside as {aside}"
            except OSError:
                kept = "it could not be set aside"
            self.complaint = (
                f"What was remembered in {self.path} could not be read ({fault}); {kept}. "
                "The page starts afresh."
            )
            return {}

    def keep(self, **values):
        """Remember these values; a full or read-only disk is said in ``complaint``."""
        self.values = {**self.values, **values}
        draft = self.path.with_suffix(f".{os.getpid()}.new")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            draft.write_text(json.dumps(self.values, indent=1), encoding="utf-8")
            draft.replace(self.path)
            self.complaint = ""
        except OSError as fault:
            self.complaint = (
                f"The settings of this page could not be kept in {self.path.parent} ({fault}): "
                "the next opening will not know them."
            )
