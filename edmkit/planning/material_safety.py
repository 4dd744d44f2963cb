"""What a work material's chips, dust and sludge can do, in plain words."""

from edmkit.cautions import contents
from edmkit.own_material import is_own
from edmkit.planning.facts import Fact

_MEMORY = "from memory"


def _fire(metal):
    return (
        Fact(
            f"{metal} chips, dust and fine sludge burn, and water or CO₂ makes that fire worse.",
            _MEMORY,
        ),
        Fact("Put it out with a class D powder or with dry sand, and nothing else.", _MEMORY),
        Fact(
            "Keep the sludge wet under its fluid, in small amounts, and take it away often: dried, "
            "it can catch fire.",
            _MEMORY,
        ),
        Fact("Ask the fluid's safety sheet and the metal's whether they may go together.", _MEMORY),
    )


# Safety data sheets in general, from memory; no sentence is a limit of exposure.
_OF_METAL = {
    "magnesium": _fire("Magnesium"),
    "titanium": _fire("Titanium"),
    "beryllium": (
        Fact(
            "Beryllium in dust, fume and dried sludge may cause a chronic lung disease: extraction "
            "on, keep the sludge wet, never blow or brush it dry.",
            _MEMORY,
        ),
    ),
    "cobalt": (
        Fact(
            "Cobalt in the sludge may harm the lungs and make the skin allergic: gloves on, "
            "extraction on, keep the sludge wet.",
            _MEMORY,
        ),
    ),
    "nickel": (
        Fact(
            "Nickel in the sludge may make the skin allergic, and its dust harm the lungs: gloves "
            "on, keep the sludge wet.",
            _MEMORY,
        ),
    ),
    "chromium": (
        Fact("Chromium is in the sludge: gloves on when you clean the tank and filters.", _MEMORY),
    ),
    "lead": (
        Fact(
            "Free-cutting brass holds lead, a poison that builds up: gloves on, wash your hands "
            "before you eat.",
            _MEMORY,
        ),
    ),
    "zinc": (
        Fact(
            "Zinc boils off in the spark: its fume can bring fever some hours later. Extraction "
            "on.",
            _MEMORY,
        ),
    ),
    "aluminium": (
        Fact(
            "Fine aluminium sludge gives off hydrogen in water: extraction on, and never close "
            "its container tight.",
            _MEMORY,
        ),
        Fact("Dried, fine aluminium dust burns: never blow or brush the sludge dry.", _MEMORY),
    ),
}
_CAST_IRON = Fact(
    "Cast iron leaves graphite in the sludge: it conducts, so keep it out of the switchgear and "
    "change the filter early.",
    _MEMORY,
)
_UNKNOWN = Fact(
    "What is in this metal was not written down here: find its safety data sheet first.",
    "common practice",
)
_SLUDGE = Fact(
    "Sludge and filters are oily metal: collect them as hazardous waste, never down the drain.",
    _MEMORY,
)
_LAST = Fact(
    "The safety data sheets of the metal and the fluid, and your local codes, come before "
    "anything said here.",
    "common practice",
)


def material_cautions(work):
    """Return what to watch with a work material, the worst first, the data sheets last.

    Parameters
    ----------
    work : Material
        From ``work_material``, or an own material; what it ``contains`` counts where it says so.

    Returns
    -------
    tuple of Fact
        Never empty.

    Notes
    -----
    Reminders, not a safety case. Left out: what the spark makes of the metal, limits of exposure.
    """
    found = [fact for metal in contents(work) for fact in _OF_METAL[metal]]
    if work.family == "cast iron":
        found.append(_CAST_IRON)
    if is_own(work) and not work.contains:
        found.append(_UNKNOWN)
    return (*dict.fromkeys(found), _SLUDGE, _LAST)
