"""The crater table of the user's own material, built behind a page's back on all cores.

A build is a process of its own, ``python -m edmkit.own_tables KEY``: it says how many rows are
done, keeps them in memory only and puts the whole table in its place at the end. So nothing is
left of one that was cancelled or killed, or whose page is gone.
"""

import os
import subprocess
import sys
from contextlib import suppress
from threading import Thread

from edmkit.checks import Refusal
from edmkit.own_folder import own_materials
from edmkit.tables import FOURIER_NODES, build, path_of, workers

ROWS = FOURIER_NODES
_PATIENCE = 5  # s that a process has to end when told to
_RUNNING = {}  # key -> Build, of this process


class Build:
    """A build that is under way; ask it, it never calls back.

    ``done`` rows of `ROWS`, ``finished`` once it has ended in whatever way, ``error`` a sentence,
    empty unless it failed.
    """

    def __init__(self, material):
        self.material, self.done, self.cancelled, self._said = material, 0, False, ""
        self._process = subprocess.Popen(
            [sys.executable, "-m", "edmkit.own_tables", material.key],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            encoding="utf-8",
            errors="replace",
            env=os.environ | {"PYTHONIOENCODING": "utf-8"},
            start_new_session=True,  # interrupting the page does not interrupt it
        )
        self._reader = Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self):
        for line in self._process.stdout:
            if line.strip().isdigit():
                self.done = int(line)
            elif line.strip():
                self._said = line.strip()

    @property
    def finished(self):
        """Whether it has ended: built, failed or cancelled."""
        return self._process.poll() is not None

    @property
    def error(self):
        """Why there is no table, a sentence; empty while it runs, when built, when cancelled."""
        if not self.finished or self.cancelled or self._process.returncode == 0:
            return ""
        self._reader.join(_PATIENCE)
        why = self._said or f"the building process ended with code {self._process.returncode}"
        return f"The table for {self.material.name} was not built: {why.rstrip('.')}."

    def wait(self, seconds=None):
        """Wait until it has ended; `subprocess.TimeoutExpired` if it takes longer."""
        self._process.wait(seconds)
        self._reader.join(_PATIENCE)

    def cancel(self):
        """End the build and its workers and leave nothing behind; one that has ended stays."""
        if self.finished:
            return
        self._process.terminate()  # its workers notice and end too
        try:
            self._process.wait(_PATIENCE)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self.cancelled = self._process.returncode != 0  # it may have been done a moment before
        self._reader.join(_PATIENCE)
        _sweep(self.material, self._process.pid)


def _sweep(material, pid="*"):
    """Delete the drafts of a material's table, of one process or of all."""
    path = path_of(material)
    for draft in path.parent.glob(f"{path.stem}.{pid}.part"):
        with suppress(OSError):
            draft.unlink()


def start_build(material):
    """Begin to build the table of an own material and return the `Build` at once.

    Parameters
    ----------
    material : Material
        One of `own_materials`, saved.

    Raises
    ------
    Refusal
        If it is not saved as it is, or its table is being built by this page already.
    """
    if own_materials().get(material.key) != material:
        raise Refusal(f"material must be saved before its table is built, got {material.name!r}.")
    running = _RUNNING.get(material.key)
    if running is not None and not running.finished:
        raise Refusal(
            f"the table for {material.name} is being built: wait for it, or cancel it first."
        )
    _sweep(material)
    _RUNNING[material.key] = Build(material)
    return _RUNNING[material.key]


def _saved(key, material=None):
    """Return the own material of a key, refused unless it is still there as it was."""
    found = own_materials().get(key)
    if found is None or found != (material or found):
        raise Refusal("the material was changed or removed meanwhile")
    return found


def _told(material, done):
    """Tell how many rows are done, and stop where nobody waits for this table any more."""
    _saved(material.key, material)
    try:
        sys.stdout.write(f"{done}\n")
        sys.stdout.flush()
    except OSError:  # the page is gone
        os._exit(1)


def main(arguments):
    """Build the table of the own material of this key; return the exit code."""
    (key,) = arguments
    try:
        material = _saved(key)
        with workers() as pool:
            build(material, pool.map, lambda done, _: _told(material, done))
    except Exception as fault:  # whatever it was, the page says it; nobody sees this process
        sys.stdout.write(f"{fault or type(fault).__name__}\n")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
