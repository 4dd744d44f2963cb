"""Is this a job for the eroder: three answers in, advice in plain words out."""

from dataclasses import dataclass

from edmkit.checks import one_of
from edmkit.planning.facts import Fact

DRILL_FROM_MM = 2  # least drill for hard steel; common practice, no source
DRILL_DIAMETERS = 4  # 3 to 5 diameters deep; common practice, no source
HARD_FROM_HRC = 45  # where ordinary cutters give up; common practice, no source
TEMPER_BELOW_K = 28  # 50 F below the last temper; trade page (S32 in data/sources.csv)
LAYER_UM = (5, 127)  # white layer over all spark energies; trade page (S30)
STONE_OFF_UM = (10, 30)  # after a low-current finish burn; trade page (S31)

# The three questions: short word -> the words on screen.
WORKS = {
    "hardened steel": f"hardened steel, about {HARD_FROM_HRC} HRC and up",
    "soft steel": "soft steel",
    "cemented carbide": "cemented carbide",
    "no conductor": "something that does not conduct electricity",
}
FEATURES = {
    "corners or deep": "inside corners, a slot, or something thin or deep",
    "round hole": f"round hole, {DRILL_FROM_MM} mm and up, up to about {DRILL_DIAMETERS} "
    "diameters deep",
    "right through": "goes right through, free from both sides",
}
SURFACES = {
    "nothing special": "nothing special",
    "seals or slides": "something seals or slides on it",
    "loaded again and again": "loaded again and again (fatigue)",
}


@dataclass(frozen=True)
class Advice:
    """A verdict in one sentence, and the `Fact` s behind it.

    ``instead``: what else would do it. ``afterwards``: what must follow if it is eroded.
    """

    verdict: str
    reasons: tuple
    instead: tuple
    afterwards: tuple


_YES = "Yes, a job for the eroder"
_CONDITION = {
    "nothing special": ".",
    "seals or slides": ", with a finish burn and a stone or lap to follow.",
    "loaded again and again": ", if you can take off all of the layer the spark leaves.",
}
_NO = "No: the spark needs a work that conducts electricity."
_PERHAPS = {
    ("soft steel", "corners or deep"): "it can be cut now, before the steel is hardened",
    ("soft steel", "right through"): "it can be cut now, or wire-cut from a start hole",
    ("hardened steel", "round hole"): "a solid-carbide drill can do it",
    ("hardened steel", "right through"): "it can be wire-cut from a start hole",
    ("cemented carbide", "right through"): "it can be wire-cut from a start hole",
}

_BY_WORK = {
    # textbook knowledge, from memory
    "hardened steel": Fact(
        "The spark melts the steel, so hardness does not slow it; hardness stops the cutters.",
        "from memory",
    ),
    "soft steel": Fact(
        "The spark is no faster in soft steel, and a cutter is much faster.", "common practice"
    ),
    # polarity and wear from memory (data/standard_polarity.csv, data/standard_wear_ratio.csv)
    "cemented carbide": Fact(
        "Cemented carbide can be eroded, but it costs much electrode and it cracks easily: short "
        "on-times, electrode negative, copper-tungsten if you have it.",
        "from memory",
    ),
    "no conductor": Fact(
        "The current must pass through the work. Glass and most ceramics do not let it.",
        "from memory",
    ),
}
_BY_FEATURE = {
    "round hole": Fact(
        f"A round hole from {DRILL_FROM_MM} mm up and not above {DRILL_DIAMETERS} diameters deep "
        "can be drilled, in minutes.",
        "common practice",
    ),
    "corners or deep": Fact(
        "A turning cutter leaves its own radius in every inside corner and bends when it is thin; "
        "an electrode leaves little more than the gap and is hardly pushed.",
        "common practice",
    ),
    "right through": Fact(
        "With both sides free a wire can pass: straight walls, sharp corners, and no electrode to "
        "make.",
        "common practice",
    ),
}
# White layer: trade page (S30)
_LAYER = Fact(
    f"The spark leaves a hard white layer, {LAYER_UM[0]} to {LAYER_UM[1]} µm by the energy of the "
    "spark, often cracked and in tension. A crack under load can start there.",
    "published",
)
_CARBIDE_DRILL = (
    Fact(
        "Solid-carbide drill or mill for hard steel, if the part is stiff. On a curved face cut a "
        "flat first. A drill that breaks in the hole may cost you the part.",
        "common practice",
    ),
    Fact("Jig grinding, for a round bore to a close size.", "common practice"),
    Fact(
        "Anneal, machine and harden again, where scale, growth and a last grind can be borne.",
        "common practice",
    ),
)
_WIRE = Fact(
    "Wire erosion from a start hole, sent out if you have no such machine. Small round start "
    "holes can be eroded with a tube.",
    "common practice",
)
_SEND_OUT = Fact(
    "Send it out, if it is one part and your machine is not set up.", "common practice"
)
_CUT_NOW = Fact(
    "Drill, mill, shape or broach it now and harden afterwards; allow for distortion.",
    "common practice",
)
_EASE = Fact(
    "Ask whether the drawing can bear a corner radius or a relief hole.", "common practice"
)
_DIAMOND = Fact("Grinding with diamond, where a wheel can reach.", "from memory")
_INSTEAD = {
    ("hardened steel", "round hole"): _CARBIDE_DRILL,
    ("hardened steel", "corners or deep"): (_EASE, _SEND_OUT),
    ("hardened steel", "right through"): (_WIRE, *_CARBIDE_DRILL[1:]),
    ("soft steel", "round hole"): (_CUT_NOW,),
    ("soft steel", "corners or deep"): (_CUT_NOW, _EASE),
    ("soft steel", "right through"): (_CUT_NOW, _WIRE),
    ("cemented carbide", "round hole"): (_DIAMOND, _SEND_OUT),
    ("cemented carbide", "corners or deep"): (_DIAMOND, _SEND_OUT),
    ("cemented carbide", "right through"): (_WIRE, _DIAMOND),
}
_FOR_NO_CONDUCTOR = (
    _DIAMOND,
    Fact("Drilling with ultrasound, or a laser: send it out.", "from memory"),
)

_WASH = Fact("Wash the carbon and sludge out of the hole before you measure it.", "from memory")
_STONE = Fact(  # trade page (S31); a low figure, after a finish burn only
    f"Finish at low current, then stone or lap {STONE_OFF_UM[0]} to {STONE_OFF_UM[1]} µm off the "
    "bearing face. Leave that much stock.",
    "published",
)
_ALL_OFF = Fact(  # trade page (S32)
    "Grind, stone or lap all of the white layer off. Finer burns make it thinner but do not "
    "remove it.",
    "published",
)
_TEMPER = Fact(  # trade page (S32)
    f"Then temper again, about {TEMPER_BELOW_K} °C below the last temper. If you do not know the "
    "last temper, ask whoever hardened the part.",
    "published",
)
_CASE = Fact(
    "Case-hardened part: see that the case is thicker than the white layer and the lapping "
    "together.",
    "common practice",
)
_DIAMOND_LAP = Fact(
    "Lap with diamond until no crack is left; carbide cannot be tempered.", "from memory"
)
_BEFORE_HARDENING = Fact(
    "Take the white layer off before the part is hardened: its cracks can run.", "from memory"
)
_AFTERWARDS = {
    ("hardened steel", "nothing special"): (),
    ("hardened steel", "seals or slides"): (_STONE, _CASE),
    ("hardened steel", "loaded again and again"): (_ALL_OFF, _TEMPER, _CASE),
    ("soft steel", "nothing special"): (_BEFORE_HARDENING,),
    ("soft steel", "seals or slides"): (_STONE, _BEFORE_HARDENING),
    ("soft steel", "loaded again and again"): (_ALL_OFF, _BEFORE_HARDENING),
    ("cemented carbide", "nothing special"): (),
    ("cemented carbide", "seals or slides"): (_DIAMOND_LAP,),
    ("cemented carbide", "loaded again and again"): (_DIAMOND_LAP,),
}


def _verdict(work, feature, surface):
    """Return the verdict in one sentence."""
    if (work, feature) == ("soft steel", "round hole"):
        return "No: drill it, before the steel is hardened."
    if (work, feature) in _PERHAPS:
        return f"Perhaps: first see whether {_PERHAPS[work, feature]}."
    return _YES + _CONDITION[surface]


def worth_eroding(work, feature, surface):
    """Return whether a feature is a job for the eroder, as an `Advice` [words].

    Parameters
    ----------
    work, feature, surface : str
        One key each of `WORKS`, `FEATURES`, `SURFACES` [words].

    Raises
    ------
    Refusal
        If a word is not one of these.

    Notes
    -----
    Rules of the trade, not a calculation: each `Fact` carries its source word. Left out are
    price, delivery, and how well the shop is set up for either way.
    """
    one_of("work", work, WORKS, "say what the work is")
    one_of("feature", feature, FEATURES, "say what is to be made")
    one_of("surface", surface, SURFACES, "say what the surface must bear")
    if work == "no conductor":
        return Advice(_NO, (_BY_WORK[work],), _FOR_NO_CONDUCTOR, ())
    reasons = (_BY_WORK[work], _BY_FEATURE[feature])
    if surface == "loaded again and again":
        reasons += (_LAYER,)
    verdict = _verdict(work, feature, surface)
    follow = () if verdict.startswith("No") else (*_AFTERWARDS[work, surface], _WASH)
    return Advice(verdict, reasons, _INSTEAD[work, feature], follow)
