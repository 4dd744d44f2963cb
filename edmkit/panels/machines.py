"""The machine files that a page can offer, and a generator that can be set to anything."""

from pathlib import Path

from edmkit.finder.grid import ANY as ANY_STEPS
from edmkit.machine import read_machine
from edmkit.machine_text import machines_folder
from edmkit.switches import Position, Switch

ANY = ""  # stands for 'no machine file'
CIRCUIT = "circuit"  # stands for a relaxation circuit, which no machine file holds


def machine_files(folder="."):
    """Return machine files as (name, path): the user's own, the page's folder, the demo ones."""
    here = Path(folder).resolve()
    package = Path(__file__).resolve().parents[1]
    places = [machines_folder(), here, here / "machines", here / "data_demo",
              here.parent / "data_demo", package / "data_demo",
              package.parent / "data_demo"]  # fmt: skip
    found = {}
    for place in places:
        for path in sorted(place.glob("*.toml")):
            if path.name != "pyproject.toml":
                found.setdefault(path.name, path)
    return [(path.stem.replace("_", " "), str(path)) for path in found.values()]


def switches(machine):
    """Return the four switches of a machine, or of a generator without a file."""
    if machine is not None:
        return {name: getattr(machine, name) for name in ANY_STEPS}
    return {
        name: Switch(name, tuple(Position("", float(v), "measured", 0.0) for v in steps))
        for name, steps in ANY_STEPS.items()
    }


def load(path):
    """Return the machine of a file, None for a generator without one and for a circuit."""
    return None if path in (ANY, CIRCUIT) else read_machine(path)
