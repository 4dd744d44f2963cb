"""What a material or fluid is, and those that travel with the kit: numbers, ranges, sources."""

import re
import unicodedata
from dataclasses import dataclass, field
from functools import cache, lru_cache

from edmkit.data import read_rows
from edmkit.units import ZERO_CELSIUS

ROOM_TEMPERATURE = ZERO_CELSIUS + 20.0  # definition, ISO 1 reference temperature

# Heading in the tables -> (name here, factor and offset into SI).
SI = {
    "density_kg_m3": ("density", 1.0, 0.0),
    "cp_room_J_kgK": ("heat_capacity_room", 1.0, 0.0),
    "cp_mean_to_melt_J_kgK": ("heat_capacity", 1.0, 0.0),
    "k_room_W_mK": ("conductivity_room", 1.0, 0.0),
    "k_high_W_mK": ("conductivity", 1.0, 0.0),
    "T_solidus_C": ("solidus", 1.0, ZERO_CELSIUS),
    "T_liquidus_C": ("liquidus", 1.0, ZERO_CELSIUS),
    "melt_used_C": ("melting_point", 1.0, ZERO_CELSIUS),
    "T_boil_C": ("boiling_point", 1.0, ZERO_CELSIUS),
    "latent_fusion_kJ_kg": ("fusion_heat", 1e3, 0.0),
    "latent_vap_kJ_kg": ("vaporisation_heat", 1e3, 0.0),
    "resistivity_uohm_cm": ("resistivity", 1e-8, 0.0),
    "cte_1e-6_K": ("thermal_expansion", 1e-6, 0.0),
    "temper_limit_C": ("temper_limit", 1.0, ZERO_CELSIUS),
    "density_15C_kg_m3": ("density_15", 1.0, 0.0),
    "density_20C_kg_m3": ("density", 1.0, 0.0),
    "nu_20C_cSt": ("kinematic_viscosity_20", 1e-6, 0.0),
    "nu_40C_cSt": ("kinematic_viscosity_40", 1e-6, 0.0),
    "cp_20C_J_kgK": ("heat_capacity", 1.0, 0.0),
    "k_20C_W_mK": ("conductivity", 1.0, 0.0),
    "surface_tension_20C_mN_m": ("surface_tension", 1e-3, 0.0),
    "vapour_pressure_20C_Pa": ("vapour_pressure_20", 1.0, 0.0),
    "vapour_pressure_40C_Pa": ("vapour_pressure_40", 1.0, 0.0),
    "boil_initial_C": ("boiling_initial", 1.0, ZERO_CELSIUS),
    "boil_final_C": ("boiling_final", 1.0, ZERO_CELSIUS),
    "flash_C": ("flash_point", 1.0, ZERO_CELSIUS),
    "rel_permittivity": ("permittivity", 1.0, 0.0),
    "dielectric_strength_kV_mm": ("dielectric_strength", 1e6, 0.0),
    "electrical_resistivity_ohm_m": ("resistivity", 1.0, 0.0),
}


@dataclass(frozen=True)
class Value:
    """One number of a material [SI], its plausible range and where it comes from."""

    value: float
    low: float
    high: float
    source: str


def _number(name, text):
    """Return a read-only attribute that gives a property's value, None where it has none."""

    def read(self):
        found = self.properties.get(name)
        return None if found is None else found.value

    return property(read, doc=text)


@dataclass(frozen=True)
class _Substance:
    key: str
    name: str
    doubt: str = field(hash=False, repr=False)
    values: tuple = field(hash=False, repr=False)

    @property
    def properties(self):
        """Return every property of this substance as a dict, name -> `Value` [SI]."""
        return dict(self.values)

    density = _number("density", "Return the density at 20 °C [kg/m3].")


@dataclass(frozen=True)
class Material(_Substance):
    """A work or electrode material; two are equal when all their numbers are.

    Notes
    -----
    The numbers are single effective means for crater models: `heat_capacity` from room to
    melting, `conductivity` hot. `properties` has the ranges, the sources and the room values.
    `doubt` says which values to distrust, `contains` what its dust and sludge must not carry to
    people, where the user said so. Boiling and vaporisation of a steel are iron's.
    """

    designation: str = field(hash=False)
    family: str = field(hash=False)
    roles: tuple = field(hash=False)
    hardness: str = field(hash=False)
    contains: tuple = field(hash=False, default=())

    heat_capacity = _number("heat_capacity", "Return the mean heat capacity to melting [J/(kg K)].")
    conductivity = _number("conductivity", "Return the thermal conductivity when hot [W/(m K)].")
    melting_point = _number("melting_point", "Return the melting temperature for craters [K].")
    boiling_point = _number("boiling_point", "Return the boiling temperature at 1 bar [K].")
    fusion_heat = _number("fusion_heat", "Return the heat of melting [J/kg].")
    vaporisation_heat = _number("vaporisation_heat", "Return the heat of boiling off [J/kg].")
    temper_limit = _number(
        "temper_limit", "Return the temperature that softens a finished part [K], or None."
    )

    @property
    def diffusivity(self):
        """Return the thermal diffusivity when hot [m2/s]."""
        return self.conductivity / (self.density * self.heat_capacity)

    @property
    def melt_enthalpy(self):
        """Return the heat that melts a volume from 20 °C [J/m3].

        Notes
        -----
        Graphite turns to vapour without melting: its heat of sublimation is not in here.
        """
        rise = self.melting_point - ROOM_TEMPERATURE
        return self.density * (self.heat_capacity * rise + self.fusion_heat)

    @property
    def is_steel(self):
        """Return whether it is a steel or cast iron."""
        return "steel" in self.family or "stainless" in self.family or self.family == "cast iron"

    @property
    def discharge_voltage(self):
        """Return the voltage across the burning gap with this as the electrode [V]."""
        # from memory, unverified: 20 to 30 V with copper, 25 to 40 V with graphite
        return 30.0 if self.family == "graphite" else 25.0


@dataclass(frozen=True)
class Dielectric(_Substance):
    """A working fluid: typical figures, its own data sheet goes before them."""

    kind: str = field(hash=False)

    flash_point = _number("flash_point", "Return the flash point [K], None if it has none.")
    kinematic_viscosity_20 = _number(
        "kinematic_viscosity_20", "Return the kinematic viscosity at 20 °C [m2/s]."
    )
    kinematic_viscosity_40 = _number(
        "kinematic_viscosity_40", "Return the kinematic viscosity at 40 °C [m2/s]."
    )
    vapour_pressure_20 = _number("vapour_pressure_20", "Return the vapour pressure at 20 °C [Pa].")
    vapour_pressure_40 = _number("vapour_pressure_40", "Return the vapour pressure at 40 °C [Pa].")

    @property
    def is_hydrocarbon(self):
        """Return whether it can leave carbon on the electrode."""
        return self.kind != "water"


def _value(row):
    factor, offset = SI.get(row["property"], ("hardness", 1.0, 0.0))[1:]
    numbers = (float(row[part]) * factor + offset for part in ("value", "low", "high"))
    return Value(*numbers, row["source"])


def _hardness(rows):
    """Return the hardness in words: ``"62 HRC (58 to 65)"``."""
    row = next(row for row in rows if row["property"].startswith("hardness_"))
    scale = row["property"].removeprefix("hardness_")
    return f"{row['value']} {scale} ({row['low']} to {row['high']})"


def _substances(name):
    """Return each row of a table with its rows and `Value`s in the table of numbers beside it."""
    numbers = read_rows(f"{name}_values.csv")
    for row in read_rows(f"{name}s.csv"):
        own = [number for number in numbers if number["key"] == row["key"]]
        values = ((SI.get(n["property"], ("hardness",))[0], _value(n)) for n in own)
        yield row, own, tuple(values)


@cache
def shipped_materials():
    """Return the materials that travel with the kit, a dict key -> `Material`."""
    return {
        row["key"]: Material(
            row["key"],
            row["name"],
            row["doubt"],
            values,
            designation=row["designation"],
            family=row["family"],
            roles=tuple(row["role"].split(";")),
            hardness=_hardness(own),
        )
        for row, own, values in _substances("material")
    }


@cache
def shipped_dielectrics():
    """Return the fluids that travel with the kit, a dict key -> `Dielectric`."""
    return {
        row["key"]: Dielectric(row["key"], row["name"], row["doubt"], values, kind=row["kind"])
        for row, _, values in _substances("dielectric")
    }


@lru_cache(4096)
def folded(text):
    """Return a name without capitals, spaces and signs, as people type it differently."""
    plain = unicodedata.normalize("NFKD", text).lower()
    return re.sub(r"[^\w.]|_", "", plain).removeprefix("aisi")
