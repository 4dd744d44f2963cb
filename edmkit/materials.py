"""Find work materials, electrode materials and fluids by the names that people give them."""

import difflib
from functools import lru_cache

from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.own_folder import own_materials
from edmkit.substances import (
    ROOM_TEMPERATURE,
    SI,
    Dielectric,
    Material,
    folded,
    shipped_dielectrics,
    shipped_materials,
)

__all__ = ["ROOM_TEMPERATURE", "Dielectric", "Material", "folded"]


@lru_cache(16)
def _names(offered):
    """Return every folded name of these substances, the first that has it before later ones."""
    known = {}
    for substance in offered:
        designations = getattr(substance, "designation", "").split(" / ")
        for alias in (substance.key, substance.name, *filter(None, designations)):
            known.setdefault(folded(alias), substance)
    return known


def _find(what, name, offered):
    """Return the substance a person means by its key, name or designation, or refuse."""
    known = _names(tuple(offered))
    typed = folded(str(name))
    if isinstance(name, str) and typed in known:
        return known[typed]
    near = difflib.get_close_matches(typed, known, 1, 0.6)
    hint = f": did you mean {known[near[0]].key!r}?" if near else "."
    words = ", ".join(repr(substance.key) for substance in offered)
    raise Refusal(f"{what} must be one of {words}, got {name!r}{hint}")


def _with_role(role):
    shipped = [m for m in shipped_materials().values() if role in m.roles]
    return [*shipped, *(own_materials().values() if role == "work" else ())]


def work_materials():
    """Return the keys of the work materials the kit knows, the user's own last, a tuple of str."""
    return tuple(material.key for material in _with_role("work"))


def electrode_materials():
    """Return the keys of the electrode materials the kit knows, a tuple of str."""
    return tuple(material.key for material in _with_role("electrode"))


def dielectrics():
    """Return the keys of the fluids the kit offers, a tuple of str."""
    return tuple(key for key, fluid in shipped_dielectrics().items() if fluid.kind != "reference")


def work_material(name):
    """Return a work material by its key, name or designation.

    Parameters
    ----------
    name : str
        Such as ``"52100"``, ``"100Cr6"`` or ``"1.3505"``; capitals and spaces do not count.

    Raises
    ------
    Refusal
        If the kit does not know it; the message names the nearest.
    """
    return _find("work material", name, _with_role("work"))


def electrode_material(name):
    """Return an electrode material by its key, name or designation.

    Parameters
    ----------
    name : str
        Such as ``"copper"`` or ``"CuW"``; capitals and spaces do not count.

    Raises
    ------
    Refusal
        If the kit does not know it; the message names the nearest.
    """
    return _find("electrode material", name, _with_role("electrode"))


def dielectric(name):
    """Return a working fluid by its key or name.

    Parameters
    ----------
    name : str
        One of `dielectrics`; capitals and spaces do not count.

    Raises
    ------
    Refusal
        If the kit does not know it; the message names the nearest.
    """
    return _find("dielectric", name, [shipped_dielectrics()[key] for key in dielectrics()])


def reference_fluids():
    """Return the pure fluids that only serve checks, a dict key -> `Dielectric`."""
    return {key: fluid for key, fluid in shipped_dielectrics().items() if fluid.kind == "reference"}


def reference_elements():
    """Return the pure elements that only serve checks, a dict symbol -> property -> number [SI]."""
    return {
        row["element"]: {
            SI[head][0]: float(text) * SI[head][1] + SI[head][2]
            for head, text in row.items()
            if head in SI and text
        }
        for row in read_rows("reference_elements.csv")
    }
