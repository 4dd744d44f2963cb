"""One work material beside another: what differs, what that means, which rules of thumb fail."""

from dataclasses import dataclass, replace
from math import hypot

from edmkit.likely import likely
from edmkit.physics.erosion import erosion_index
from edmkit.physics.removal import melting_point_rate
from edmkit.settings import usual_polarity
from edmkit.substances import ROOM_TEMPERATURE, Value
from edmkit.units import ZERO_CELSIUS, mm2, mm3
from edmkit.words import three, two

ALIKE = 1.1  # a ratio within 10 % either way means little beside the ranges; assumption


@dataclass(frozen=True)
class Beside:
    """One property of two materials: `Value`s in `unit`, new over known, and what follows."""

    name: str
    unit: str
    known: Value
    new: Value
    ratio: float
    meaning: str


def _heat_to_melt(density, heat_capacity, melting_point, fusion_heat):
    heat = heat_capacity * (melting_point - ROOM_TEMPERATURE) + fusion_heat
    return density * heat * mm3


def _diffusivity(conductivity, density, heat_capacity):
    return conductivity / (density * heat_capacity) / mm2


# Name, unit, formula in that unit, the properties it needs in order; what more and less of it
# mean, with {times} for how many times and {apart} for the difference. Of a short, hard spark a
# good conductor does not melt less: the surface of a poor one boils instead.
_ROWS = (
    (
        "melting point", "°C", lambda kelvin: kelvin - ZERO_CELSIUS, ("melting_point",),
        "Melts {apart} °C higher: the same spark melts less.",
        "Melts {apart} °C lower: the same spark melts more.",
    ),
    (
        "heat conductivity, hot", "W/(m K)", lambda carries: carries, ("conductivity",),
        "Carries heat away {times} times as fast: a long spark of little current melts less, so "
        "shorter on-times lose less.",
        "Carries heat away {times} times as slowly: a long spark of little current still melts "
        "well, so longer on-times are borne.",
    ),
    (
        "heat to melt", "J/mm³", _heat_to_melt,
        ("density", "heat_capacity", "melting_point", "fusion_heat"),
        "Each mm³ takes {times} times the heat, which by itself makes it slower.",
        "Each mm³ takes {times} times less heat, which by itself makes it faster.",
    ),
    (
        "diffusivity", "mm²/s", _diffusivity, ("conductivity", "density", "heat_capacity"),
        "In the same on-time the heat runs {root} times as deep.",
        "In the same on-time the heat stays {root} times as shallow.",
    ),
    (
        "erosion index", "-", erosion_index,
        ("conductivity_room", "density", "heat_capacity_room", "melting_point"),
        "By the index it is the harder one to erode.",
        "By the index it is the easier one to erode.",
    ),
)  # fmt: skip
_HOT = " Made of hot figures: one of the two has no others."


def _combined(formula, values):
    """Return a formula's value with the ends of its range, its inputs wrong independently."""
    numbers = [value.value for value in values]
    likely_one, below, above = formula(*numbers), 0.0, 0.0
    for place, value in enumerate(values):
        ends = [
            formula(*numbers[:place], end, *numbers[place + 1 :]) - likely_one
            for end in (value.low, value.high)
        ]
        below, above = hypot(below, min(ends)), hypot(above, max(ends))
    sources = dict.fromkeys(value.source for value in values)
    return Value(float(likely_one), likely_one - below, likely_one + above, "; ".join(sources))


def _needs(properties, materials):
    """Return the properties of a row, all hot where one of the materials has no room figure."""
    known = set.intersection(*(set(material.properties) for material in materials))
    if known.issuperset(properties):
        return properties
    return tuple(name.removesuffix("_room") for name in properties)


def _figure(material, formula, needs):
    return _combined(formula, [material.properties[name] for name in needs])


def _meaning(known, new, ratio, more, less):
    """Return what a ratio means, and whether the ranges leave it open."""
    if max(ratio, 1 / ratio) <= ALIKE:
        return "Much alike."
    times = max(ratio, 1 / ratio)
    words = {"times": two(times), "root": two(times**0.5)}
    said = (more if ratio > 1 else less).format(**words, apart=three(abs(new.value - known.value)))
    open_ = known.low <= new.high and new.low <= known.high
    return f"{said} The ranges overlap: it may be the other way." if open_ else said


def beside(known, new):
    """Return a new work material's properties beside those of one the shop knows.

    Parameters
    ----------
    known, new : Material
        From ``work_material``.

    Returns
    -------
    tuple of Beside

    Notes
    -----
    Ranges of figures made of several properties: each property to its ends alone, the steps
    added as for independent errors. The index is made of room figures, or of hot ones for both
    where one of the two has no others; diffusivity is for hot metal.
    """
    rows = []
    for name, unit, formula, properties, more, less in _ROWS:
        needs = _needs(properties, (known, new))
        pair = [_figure(material, formula, needs) for material in (known, new)]
        ratio = pair[1].value / pair[0].value
        meaning = _meaning(*pair, ratio, more, less)
        if needs != properties:
            meaning += _HOT
        if formula is erosion_index:
            fails = dict.fromkeys(text for m in (known, new) if (text := index_fails(m)))
            meaning = " ".join((meaning, *fails))
        rows.append(Beside(name, unit, *pair, ratio, meaning))
    return tuple(rows)


# By family; the first two as the ranking of the kit's own materials shows them.
_INDEX_FAILS = {
    "refractory composite": "The index fails for copper-tungsten and silver-tungsten: it sees the "
    "tungsten skeleton, and the softer metal melts out of it first.",
    "aluminium alloy": "The index fails for aluminium: it puts it level with hardened steel, and "
    "aluminium goes faster.",
    "titanium alloy": "The index fails for titanium: it calls it the easiest, and shops report it "
    "slow (from memory, unverified).",
}
_RANKS_ONLY = " Use the index to rank, never to predict."


def index_fails(material):
    """Return where the erosion index is known to fail for a material, one sentence or none."""
    said = _INDEX_FAILS.get(material.family)
    return said + _RANKS_ONLY if said else ""


# Removal over that of steel, low and high: Izwan et al. (2016), copper tube, 13 to 35 A; read.
MEASURED_OVER_STEEL = {"aluminium alloy": (1.0, 1.6), "brass": (3.3, 4.0)}
# The same study, brass over aluminium, means of the burns at each of four settings; Fig. 4a.
MEASURED_BRASS_OVER_ALUMINIUM = (2.0, 3.9)


def _melting_rule(material, current=1.0):
    return melting_point_rate(current, material.melting_point - ZERO_CELSIUS)


def rule_fails(known, new):
    """Return where the textbook's melting-point rule is wrong for a pair, or an empty text.

    Parameters
    ----------
    known, new : Material
        Work materials; the rule is known to fail between aluminium, brass and others.

    Returns
    -------
    str
        With what the rule says of this pair, what was measured, the source, and that the kit's
        own craters miss it too.
    """
    families = [material.family for material in (known, new)]
    measured = [family for family in MEASURED_OVER_STEEL if family in families]
    if not measured or families[0] == families[1]:
        return ""
    first, second = (new, known) if new.family == measured[-1] else (known, new)
    if len(measured) == 2:
        low, high, found = *MEASURED_BRASS_OVER_ALUMINIUM, "brass against aluminium"
    else:
        low, high = MEASURED_OVER_STEEL[measured[0]]
        found = f"{first.family.split()[0]} against steel"
    says = _melting_rule(first) / _melting_rule(second)
    return (
        f"By the melting-point rule {_short(first)} goes {two(says)} times as fast as "
        f"{_short(second)}; a study of four metals measured {low:g} to {high:g} times for {found} "
        "(Izwan et al. 2016). This kit's craters miss it too: trust your own trial."
    )


_MODEL_FAILS = {
    "titanium alloy": "This kit's craters make titanium a little faster than steel; shops report "
    "it slow (from memory, unverified): expect more minutes until your own trial says otherwise.",
}


def model_fails(material):
    """Return where this kit's own craters are thought to fail for a material, a sentence or none.

    Parameters
    ----------
    material : Material
        A work material.
    """
    return _MODEL_FAILS.get(material.family, "")


def _short(material):
    return material.name.split(",")[0]


@dataclass(frozen=True)
class Rankings:
    """Keys of materials by removal, slowest first: three ways to put them in order."""

    rule: tuple
    index: tuple
    model: tuple


def rankings(materials, setup, settings):
    """Return the order of removal by the melting-point rule, the erosion index and the craters.

    Parameters
    ----------
    materials : sequence of Material
        Work materials.
    setup : Setup
        Electrode, fluid, area and machine; its work and polarity are exchanged, the polarity for
        the usual one of each material.
    settings : Settings
        One setting.

    Returns
    -------
    Rankings

    Notes
    -----
    A high index means slow; it is made of hot figures where one of them has no others.
    The rule knows the melting point alone, the craters no chemistry: see `rule_fails`.
    """
    _, _, index, properties, *_ = _ROWS[-1]
    needs = _needs(properties, materials)
    orders = (
        {m.key: _melting_rule(m) for m in materials},
        {m.key: -_figure(m, index, needs).value for m in materials},
        {m.key: _rate(m, setup, settings) for m in materials},
    )
    return Rankings(*(tuple(sorted(order, key=order.get)) for order in orders))


def _rate(material, setup, settings):
    usual = usual_polarity(material, setup.electrode).polarity
    return float(likely(replace(setup, work=material, polarity=usual), settings).removal_rate)
