"""Do the numbers of a material fit each other? Sentences for a person, never a refusal."""

from edmkit.substances import ROOM_TEMPERATURE
from edmkit.units import ZERO_CELSIUS
from edmkit.words import three

LORENZ = 2.44e-8  # W ohm/K2, free electrons; Ashcroft and Mermin, Solid State Physics, from memory
# Windows around the kit's own metals; their ends are held there by the tests.
CONDUCTION = (0.85, 2.8)  # conductivity over what the electrons alone carry: 0.88 to 2.52
BY_LATTICE = ("graphite", "cast iron")  # carbon's lattice carries the heat, whatever the current
VOLUME_HEAT = (1.8e6, 6.0e6)  # J/(m3 K), mean to melting; 3R a mole is 1.8 to 3.7 at 20 °C
STEEL_DENSITY = (7200.0, 8300.0)  # kg/m3
# J/(kg K), heat over temperature of melting: 7 to 10 J/(mol K) for 55.8 g/mol (Richard's rule)
STEEL_MELTING = (125.0, 180.0)


def doubts(material):
    """Return what in a material's numbers does not fit together, a tuple of sentences.

    Parameters
    ----------
    material : Material
        Shipped or own.

    Notes
    -----
    Free electrons carry heat and current (Wiedemann and Franz), a mole of metal takes 3R per
    kelvin (Dulong and Petit), metals melt with about the same entropy (Richard). A slip of a unit
    or of a line in a data sheet shows; a wrong number that looks right does not.
    """
    checks = (_conduction, _volume_heat, _order, _steel_density, _steel_melting)
    return tuple(sentence for check in checks if (sentence := check(material)))


def _outside(value, window):
    return not window[0] <= value <= window[1]


def _conduction(material):
    known = material.properties
    if material.family in BY_LATTICE or not {"conductivity_room", "resistivity"} <= set(known):
        return ""
    conducts, resists = known["conductivity_room"].value, known["resistivity"].value
    carried = LORENZ * ROOM_TEMPERATURE / resists
    if not _outside(conducts / carried, CONDUCTION):
        return ""
    low, high = (three(share * carried) for share in CONDUCTION)
    return (
        f"Conductivity {three(conducts)} W/(m K) and resistivity {three(resists * 1e8)} µΩ cm do "
        f"not belong to one metal: with this resistivity it conducts {low} to {high} W/(m K). "
        "Check both."
    )


def _volume_heat(material):
    heat = material.density * material.heat_capacity
    if not _outside(heat, VOLUME_HEAT):
        return ""
    low, high = (three(end / material.density) for end in VOLUME_HEAT)
    return (
        f"Heat capacity {three(material.heat_capacity)} J/(kg K) does not fit the density "
        f"{three(material.density)} kg/m³: metals so dense take {low} to {high} J/(kg K) on "
        "average up to melting. Check both."
    )


def _order(material):
    known = material.properties
    names = ("solidus", "melting_point", "liquidus", "boiling_point")
    points = [known[name].value for name in names if name in known]
    if points == sorted(points):
        return ""
    shown = ", ".join(f"{three(point - ZERO_CELSIUS)} °C" for point in points)
    return (
        "A metal begins to melt, then its melting point for craters comes, then all is molten, "
        f"then it boils: {shown} do not rise. Check these temperatures."
    )


def _steel_density(material):
    if not material.is_steel or not _outside(material.density, STEEL_DENSITY):
        return ""
    return (
        f"Density {three(material.density)} kg/m³ is not a steel's: they have "
        f"{three(STEEL_DENSITY[0])} to {three(STEEL_DENSITY[1])}. Check it, or the family."
    )


def _steel_melting(material):
    melt = material.melting_point
    if not material.is_steel or not _outside(material.fusion_heat / melt, STEEL_MELTING):
        return ""
    low, high = (three(share * melt / 1e3) for share in STEEL_MELTING)
    return (
        f"Heat of melting {three(material.fusion_heat / 1e3)} kJ/kg is not a steel's: one that "
        f"melts at {three(melt - ZERO_CELSIUS)} °C takes {low} to {high} kJ/kg. Check it."
    )
