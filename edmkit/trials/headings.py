"""The headings of a file: which column is meant, in which unit, measured how."""

import re
from dataclasses import dataclass

from edmkit.checks import Refusal
from edmkit.trials.columns import BY_NAME, COLUMNS

# How many of the column's own unit one of these is.
_LENGTHS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "inch": 25.4, "inches": 25.4, '"': 25.4,
            "thou": 0.0254, "mil": 0.0254, "µm": 1e-3}  # fmt: skip
_UNITS = {
    "mm": _LENGTHS,
    "µm": {"µm": 1.0, "mm": 1000.0, "nm": 1e-3, "thou": 25.4, "µin": 0.0254, "in": 25_400.0},
    "µs": {"µs": 1.0, "ms": 1e3, "s": 1e6},
    "A": {"a": 1.0, "ma": 1e-3},
    "V": {"v": 1.0},
    "s": {"s": 1.0, "sec": 1.0, "ms": 1e-3, "min": 60.0},
    "min": {"min": 1.0, "minutes": 1.0, "s": 1 / 60, "sec": 1 / 60, "h": 60.0, "hours": 60.0},
    "h": {"h": 1.0, "hours": 1.0, "min": 1 / 60},
    "kPa": {"kpa": 1.0, "bar": 100.0, "mbar": 0.1, "psi": 6.894757},
    "mm²": {"mm²": 1.0, "mm2": 1.0, "cm2": 100.0, "cm²": 100.0, "in2": 645.16, "in²": 645.16},
    "mm³": {"mm³": 1.0, "mm3": 1.0, "cm3": 1000.0, "cm³": 1000.0},
    "HRC": {"hrc": 1.0},
    "ohm": {"ohm": 1.0, "ω": 1.0, "kohm": 1e3, "kω": 1e3, "k": 1e3},
    "µF": {"µf": 1.0, "uf": 1.0, "nf": 1e-3, "pf": 1e-6},
    "µH": {"µh": 1.0, "uh": 1.0, "nh": 1e-3, "mh": 1e3},
    "°C": {"°c": 1.0, "c": 1.0},
}
# Other words of the shop for a column.
_WORDS = {
    "peak_current_A": ("current", "tap", "peak amps"),
    "on_time_us": ("on time", "on"),
    "off_time_us": ("off time", "off"),
    "open_voltage_V": ("voltage",),
    "resistance_ohm": ("resistor", "resistance"),
    "capacitance_uF": ("capacitor", "capacitance", "capacitors"),
    "supply_V": ("supply", "supply voltage"),
    "inductance_uH": ("inductance", "leads"),
    "breakdown_V": ("fires at", "breakdown voltage"),
    "minutes": ("minutes", "time", "burn time", "net burn"),
    "hole_size_mm": ("hole", "hole size", "size got", "hole diameter", "diameter got"),
    "electrode_size_mm": ("electrode size", "electrode diameter"),
    "depth_mm": ("depth", "depth measured"),
    "length_before_mm": ("length before", "length in", "electrode length in"),
    "length_after_mm": ("length after", "length out", "electrode length out"),
    "end_wear_mm": ("end wear", "wear", "wear length", "electrode wear"),
    "roughness_Ra_um": ("ra", "roughness"),
    "roughness_Rz_um": ("rz",),
    "bore_mm": ("bore",),
    "stop_mm": ("stop", "stop set", "depth stop"),
    "section_mm2": ("section",),
    "remark": ("remarks", "note", "notes", "comment"),
    "work": ("steel", "material", "work"),
    "electrode": ("electrode metal",),
    "electrode_id": ("electrode no", "electrode id"),
    "burned_at": ("date", "when"),
    "part": ("part no", "workpiece"),
    "burn": ("burn no", "no"),
    "stage": ("stage", "rough finish"),
    "state": ("state",),
    "flushing": ("flush",),
}
ROUND = ("hole diameter", "diameter got", "electrode diameter")  # these say that it is round
_ALSO = ("id", "supersedes")
_PARTS = re.compile(r"\s*(.*?)\s*(?:[(\[]\s*([^)\]]*?)\s*[)\]])?\s*")


def plain(text):
    """Return a text for comparing: small letters, single spaces, one sign for micro.

    Parameters
    ----------
    text : str
        A heading or a unit.
    """
    text = text.replace("\N{GREEK SMALL LETTER MU}", "µ").strip().lower()
    return re.sub(r"[\s_\-]+", " ", text)


def _known():
    found = {}
    for column in COLUMNS:
        for words in (column.words, column.name, *_WORDS.get(column.name, ())):
            found.setdefault(plain(words), column.name)
    return found


_KNOWN = _known()
_EXACT = {c.name: c.name for c in COLUMNS} | {
    f"{c.name}_{end}": c.name for c in COLUMNS if c.how for end in ("to", "how")
}


@dataclass(frozen=True)
class Heading:
    """What a column of the file means: which column of the book, times what, measured how.

    ``part`` is 'to' or 'how' for the other end or the kind of a measured column. ``name`` is
    None for one that is not known.
    """

    text: str
    name: str | None
    part: str = ""
    factor: float = 1.0
    how: str = ""
    is_round: bool = False


def heading_of(text):
    """Return what a heading means.

    Parameters
    ----------
    text : str
        As it stands in the file: a name of the book, or words with the unit in brackets.

    Raises
    ------
    Refusal
        If a column of numbers has no unit, or one that does not fit.
    """
    said = text.strip()
    if said in _EXACT or said in _ALSO:
        part = said.rsplit("_", 1)[1] if said not in BY_NAME and said not in _ALSO else ""
        return Heading(text, _EXACT.get(said, said), part)
    words, inside = _PARTS.fullmatch(said.replace("\n", " ")).groups()
    name = _KNOWN.get(plain(words))
    if name is None:
        return Heading(text, None)
    column, is_round = BY_NAME[name], plain(words) in ROUND
    if column.low is None:
        return Heading(text, name)
    unit, _, how = (inside or "").partition(",")
    factor = _factor(text, column, unit)
    kind = next((k for k in column.how if plain(k) == plain(how)), "")
    if how and not kind:
        may = ", ".join(column.how) or "nothing"
        raise Refusal(f"{text!r} must say one of {may} after the unit.")
    return Heading(text, name, "", factor, kind, is_round)


def _factor(text, column, unit):
    """Return how many of the column's own unit one of the heading's is."""
    offered = _UNITS[column.unit]
    said = plain(unit).replace("um", "µm").replace("us", "µs") if unit else ""
    said = {"uin": "µin", "µmin": "µin"}.get(said, said)
    if not said:
        raise Refusal(
            f"the heading {text!r} must say its unit: write {text.strip()} ({column.unit})."
        )
    if said not in offered:
        raise Refusal(
            f"the heading {text!r} must be in one of {', '.join(offered)}, got {unit.strip()!r}."
        )
    return offered[said]
