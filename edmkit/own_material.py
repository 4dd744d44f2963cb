"""A work material of the user's own: what its numbers may be, and its key."""

import inspect
import re
import unicodedata
import zlib

from edmkit import toml_file
from edmkit.checks import Refusal, one_of, require
from edmkit.substances import SI, Material, Value, folded, shipped_materials
from edmkit.units import ZERO_CELSIUS

# What a solid that a shop erodes may have, in the unit of its heading: from magnesium to osmium,
# from zinc to tungsten carbide. Assumption, wide on purpose: it catches slips of units.
LIMITS = {
    "density_kg_m3": (1500, 23000, "kg/m³", "7.8 g/cm³ is 7800"),
    "cp_mean_to_melt_J_kgK": (100, 2000, "J/(kg K)", "0.68 kJ/(kg K) is 680"),
    "k_high_W_mK": (3, 430, "W/(m K)", "give the heat conductivity near 1000 °C"),
    "melt_used_C": (400, 3500, "°C", "give the melting point in °C"),
    "T_boil_C": (800, 6500, "°C", "give the boiling point in °C; iron's is 2860"),
    "latent_fusion_kJ_kg": (30, 1000, "kJ/kg", "give the heat of melting; iron's is 247"),
    "k_room_W_mK": (3, 430, "W/(m K)", "give the heat conductivity at 20 °C"),
    "resistivity_uohm_cm": (1, 1000, "µΩ cm", "0.7 Ω mm²/m is 70"),
    "T_solidus_C": (300, 3500, "°C", "give where it begins to melt, in °C"),
    "T_liquidus_C": (400, 3500, "°C", "give where it is all molten, in °C"),
    "temper_limit_C": (80, 900, "°C", "give the temperature that softens a finished part"),
}
ASSUMED_SHARE = 0.10  # of a value either side where no range is given; assumption
_COLDEST_STEEL_C = 1100  # the iron-carbon eutectic is at 1147 °C; from memory
# Heat capacity at 20 °C over its mean to melting: 0.68 to 0.90 in the kit's own metals.
_ROOM_SHARE = (0.75, 0.65, 0.90)
_LONGEST = {"name": 60, "hardness": 60, "source": 400}
OWN = "own-"  # begins every key, so that no shipped material can ever have the same
ASSUMED = "; range assumed"


def families():
    """Return the families an own material may belong to, a tuple of str."""
    shipped = shipped_materials().values()
    return tuple(dict.fromkeys(m.family for m in shipped if "work" in m.roles))


def make_material(
    name,
    family,
    *,
    density_kg_m3,
    cp_mean_to_melt_J_kgK,
    k_high_W_mK,
    melt_used_C,
    T_boil_C,
    latent_fusion_kJ_kg,
    source,
    k_room_W_mK=None,
    resistivity_uohm_cm=None,
    T_solidus_C=None,
    T_liquidus_C=None,
    temper_limit_C=None,
    hardness="",
    ranges=None,
    toxic_elements=(),
):
    """Return a work material of the user's own.

    Parameters
    ----------
    name, family : str
        What the shop calls it; one of `families`.
    density_kg_m3, cp_mean_to_melt_J_kgK, k_high_W_mK, latent_fusion_kJ_kg : float
        Density, mean heat capacity up to melting, conductivity near 1000 °C, heat of melting.
    melt_used_C, T_boil_C, T_solidus_C, T_liquidus_C, temper_limit_C : float
        Melting point for craters, boiling, ends of melting, what softens a finished part [°C].
    k_room_W_mK, resistivity_uohm_cm : float
        Both at 20 °C.
    source, hardness : str
        Where the numbers come from, never empty; hardness in words.
    ranges : dict or None
        Heading -> (low, high), plausible ends; 10 % either side are assumed where none is given.
    toxic_elements : tuple of str
        What is in it that dust and sludge must not carry to people.

    Raises
    ------
    Refusal
        If a number is impossible, its range does not hold it, or the name is a shipped one's.
    """
    given = {heading: number for heading, number in locals().items() if heading in LIMITS}
    given = {heading: number for heading, number in given.items() if number is not None}
    one_of("family", family, families())
    name, source = (_plain(word, text) for word, text in (("name", name), ("source", source)))
    _not_shipped(name)
    ranges = ranges_of(ranges, given)
    values = [_value(heading, given[heading], ranges.get(heading), source) for heading in given]
    made = Material(
        key_of(name),
        name,
        "Your own figures: as good as their source.",
        (*values, _room_heat(dict(values)["heat_capacity"])),
        designation="",
        family=family,
        roles=("work",),
        hardness=_plain("hardness", hardness) if hardness else "",
        contains=tuple(_plain("toxic_elements", element) for element in toxic_elements),
    )
    return _possible(made)


_ASKED = inspect.signature(make_material).parameters
NEEDED = tuple(h for h in LIMITS if _ASKED[h].default is inspect.Parameter.empty)


def _plain(what, text):
    """Return a text that is safe on a page and in a file, its white space folded."""
    said = " ".join(text.split()) if isinstance(text, str) else ""
    longest = _LONGEST.get(what, 60)
    if not said or len(said) > longest or not said.isprintable() or set(said) & set("<>"):
        shown = repr(text) if len(repr(text)) < 80 else f"{len(text)} characters"
        raise Refusal(
            f"{what} must be 1 to {longest} plain letters, digits and signs without < and >, "
            f"got {shown}."
        )
    return unicodedata.normalize("NFC", said)


def key_of(name):
    """Return the key of an own material of this name: small letters, digits and dashes."""
    spread = unicodedata.normalize("NFKD", name).lower()
    slug = re.sub("[^a-z0-9]+", "-", "".join(c for c in spread if not unicodedata.combining(c)))
    slug = slug.strip("-")
    lossy = len(slug) > 60 or any(c.isalnum() and not c.isascii() for c in spread)
    tail = f"-{zlib.crc32(name.encode()):08x}" if lossy else ""  # two such names stay two
    return f"{OWN}{slug[:60].strip('-')}{tail}".replace("--", "-")


def is_own(material):
    """Return whether it is one of the user's own materials."""
    return material.key.startswith(OWN)


def _not_shipped(name):
    typed = folded(name)
    if not typed:
        raise Refusal(f"name must hold a letter or a digit, got {name!r}.")
    for known in shipped_materials().values():
        aliases = (known.key, known.name, *known.designation.split(" / "))
        if typed in {folded(alias) for alias in aliases}:
            raise Refusal(
                f"name must be a new one, got {name!r}: the kit knows it as {known.name!r}; add "
                "the maker's or the batch's word to yours."
            )


def number_of(heading, number):
    """Return a number that is possible under this heading, to ten digits, or refuse it."""
    low, high, unit, knob = LIMITS[heading]
    number = number.tolist() if hasattr(number, "tolist") else number
    # so many digits come back the same from its file and from SI
    return float(f"{toml_file.number(low, high, unit, knob)(heading, number):.10g}")


def ends_assumed(number):
    """Return the range that is taken where none was given."""
    return tuple(float(f"{number * (1 + s * ASSUMED_SHARE):.10g}") for s in (-1, 1))


def ranges_of(ranges, given):
    """Return the ranges that were given, each of two finite numbers that hold the value."""
    ranges = dict(ranges or {})
    for heading, ends in ranges.items():
        one_of("ranges", heading, given, "give the value first")
        number = number_of(heading, given[heading])
        pair = tuple(ends) if isinstance(ends, (list, tuple)) else ()
        if len(pair) != 2:
            raise Refusal(f"ranges of {heading} must be (lowest, highest), got {ends!r}.")
        low, high = (float(f"{require(heading, e, -1e9, 1e9):.10g}") for e in pair)
        if not low <= number <= high:
            raise Refusal(
                f"ranges of {heading} must hold its value {number:g}, got {low:g} to {high:g}: "
                "give the lowest and the highest you believe."
            )
        ranges[heading] = low, high
    return ranges


def _value(heading, number, ends, source):
    """Return the name and `Value` [SI] of one number in the unit of its heading."""
    name, factor, offset = SI[heading]
    number = number_of(heading, number)
    assumed = ends_assumed(number)
    source = source if ends and ends != assumed else source + ASSUMED
    return name, Value(*(x * factor + offset for x in (number, *(ends or assumed))), source)


def _room_heat(mean):
    source = "assumed: 0.65 to 0.90 of the mean to melting, as in the kit's own metals"
    return "heat_capacity_room", Value(*(share * mean.value for share in _ROOM_SHARE), source)


def _possible(material):
    """Return a material whose temperatures can stand beside each other."""
    melt = material.melting_point - ZERO_CELSIUS
    boil, temper = material.boiling_point - ZERO_CELSIUS, material.temper_limit
    heat, ends = material.density * material.heat_capacity, (1, 8)  # lead 1.6, steel 5.5; wide
    both = "density_kg_m3 x cp_mean_to_melt_J_kgK"
    require(both, heat, *ends, "MJ/(m³ K)", 1e6, "a slip of a unit in one of them; check both")
    if boil - 20 < 1.02 * (melt - 20):  # closer, and the heat problem has no solution
        raise Refusal(
            f"T_boil_C must be well above melt_used_C, got {boil:g} °C and {melt:g} °C: swap them, "
            "or look them up again."
        )
    if temper is not None and temper >= material.melting_point:
        raise Refusal(
            f"temper_limit_C must be below melt_used_C, got {temper - ZERO_CELSIUS:g} °C and "
            f"{melt:g} °C: leave it empty for a metal that is not tempered."
        )
    if material.is_steel:
        knob = "a steel melts above that; choose another family"
        require("melt_used_C", melt, _COLDEST_STEEL_C, LIMITS["melt_used_C"][1], "°C", knob=knob)
    return material
