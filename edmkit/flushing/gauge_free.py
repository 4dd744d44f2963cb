"""Suction and flow without a gauge: a cup and a watch, or a clear tube and a rule."""

from dataclasses import dataclass
from math import hypot, log

from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import BAND
from edmkit.physics import fluid as fluids
from edmkit.physics.flow import pressure_drop
from edmkit.physics.passage import bore
from edmkit.units import ZERO_CELSIUS, kPa, ml_per_min, mm
from edmkit.words import Display, three

DIRECTIONS = ("suction", "pressure")
MOST_KPA = 1000.0
CUP_SPREAD = 0.1  # of a cup with lines held against a watch; assumption
TUBE_SPREAD = 0.05  # of a height read off a moving column; assumption
_MILLIMETRES = Display()


@dataclass(frozen=True)
class Warm:
    """A working fluid at its temperature, SI: what flow, height and suction follow from.

    ``spread`` is the doubt in its viscosity, a standard deviation of the logarithm.
    """

    name: str
    viscosity: float
    density: float
    suction_limit: float
    spread: float


def warm(dielectric, temperature_C=20.0):
    """Return a working fluid at a temperature, as a `Warm`.

    Parameters
    ----------
    dielectric : Dielectric
        From ``ek.dielectric``.
    temperature_C : float
        Of the fluid in the tank [°C].

    Notes
    -----
    Vapour pressure at 40 °C, on the safe side: the gap is warmer than the tank.
    """
    knob = "a thermometer in the tank shows it"
    celsius = float(require("temperature_C", temperature_C, 5, 60, "°C", knob=knob))
    kelvin, thin = celsius + ZERO_CELSIUS, dielectric.properties["kinematic_viscosity_20"]
    density = float(fluids.density_at(dielectric.density, kelvin))
    kinematic = fluids.kinematic_viscosity(
        dielectric.kinematic_viscosity_20, dielectric.kinematic_viscosity_40, kelvin
    )
    limit = float(fluids.suction_limit(dielectric.vapour_pressure_40))
    spread = log(thin.high / thin.low) / (2 * BAND)
    return Warm(dielectric.name, float(kinematic) * density, density, limit, spread)


@dataclass(frozen=True)
class Drive:
    """What drives the fluid, however it was found; ``at_least``: the true one may be more.

    ``spread`` is the doubt of the measuring, a standard deviation of the logarithm.
    """

    pressure_kPa: float
    direction: str
    at_least: bool
    spread: float
    sentence: str


def by_pressure(pressure_kPa, fluid, direction="suction"):
    """Return the drive that a gauge shows, as a `Drive`.

    Parameters
    ----------
    pressure_kPa : float
        Suction or pressure, without sign [kPa].
    fluid : Warm
        From `warm`.
    direction : str
        'suction' or 'pressure'.

    Raises
    ------
    Refusal
        If it is more than the fluid stands under suction.
    """
    shown = _checked(pressure_kPa, fluid, direction, "pressure_kPa")
    height = float(fluids.standing_height(shown * kPa, fluid.density))
    said = f"{three(shown)} kPa of {direction}, as much as {three(height)} m of this fluid weigh."
    return Drive(shown, direction, False, TUBE_SPREAD, said)


def by_height(height_mm, fluid, direction="suction", display=_MILLIMETRES):
    """Return the drive at which fluid stands so high in a clear tube, as a `Drive`.

    Parameters
    ----------
    height_mm : float
        Of the fluid in the tube over the level in the tank [mm].
    fluid : Warm
        From `warm`.
    direction : str
        'suction' or 'pressure'.
    display : Display
        Millimetres or inches.

    Raises
    ------
    Refusal
        If it is more than the fluid stands under suction.

    Notes
    -----
    Density times g times height: exact while nothing flows through the tube.
    """
    knob = "measure from the level in the tank up to the top of the column"
    height = float(require("height_mm", height_mm, 1, 20_000, "mm", knob=knob))
    found = float(fluids.pressure_of(height * mm, fluid.density)) / kPa
    shown = _checked(found, fluid, direction, "height_mm", height)
    high = display.size_text(height, 1.0)
    said = f"{high} of fluid standing in the tube: {three(shown)} kPa of {direction}."
    return Drive(shown, direction, False, TUBE_SPREAD, said)


def by_cup(flow_ml_per_min, fluid, bore_mm, length_mm, direction="suction"):
    """Return the least drive that fills a cup so fast, the electrode out of the hole, as a `Drive`.

    Parameters
    ----------
    flow_ml_per_min : float
        From `cup` [ml/min].
    fluid : Warm
        From `warm`.
    bore_mm, length_mm : float
        Bore through the electrode and its length [mm].
    direction : str
        'suction' or 'pressure'.

    Raises
    ------
    Refusal
        If it is more than the fluid stands under suction: then a number is wrong.

    Notes
    -----
    What the bore alone takes; hose and holder take some too, so the true drive is more.
    """
    knob = "fill a cup and time it"
    flow = float(require("flow_ml_per_min", flow_ml_per_min, 1e-3, 1e5, "ml/min", knob=knob))
    way = _bore(bore_mm, length_mm)
    found = float(pressure_drop(way, flow * ml_per_min, fluid.viscosity, fluid.density)) / kPa
    shown = _checked(found, fluid, direction, "flow_ml_per_min", flow)
    said = (
        f"{three(flow)} ml/min through the bore takes at least {three(shown)} kPa: the resistance "
        "of hose and holder comes on top, so the true figure is more."
    )
    return Drive(shown, direction, True, hypot(CUP_SPREAD, fluid.spread), said)


def _bore(bore_mm, length_mm):
    wide = require("bore_mm", bore_mm, 0.05, 100, "mm", knob="measure it with a drill shank")
    long = require("length_mm", length_mm, 0.1, 1000, "mm", knob="length of the bore")
    return bore(wide * mm / 2, long * mm)


def _checked(pressure_kPa, fluid, direction, name, given=None):
    """Return a pressure that the fluid stands; a refusal names the number that was measured."""
    one_of("direction", direction, DIRECTIONS)
    limit = fluid.suction_limit / kPa if direction == "suction" else MOST_KPA
    if given is not None and pressure_kPa > limit:
        why = "gas would come out of it" if direction == "suction" else "no shop line has more"
        raise Refusal(
            f"{name} must mean at most {limit:.3g} kPa of {direction}, got {given:g}, which is "
            f"{pressure_kPa:.3g} kPa: {why}. Measure again, or change the number."
        )
    knob = "more suction draws gas out of this fluid: open the valve less"
    knob = knob if direction == "suction" else "give kilopascals: 100 kPa is 1 bar"
    return float(require(name, pressure_kPa, 1e-3, limit, "kPa", knob=knob))


def cup(millilitres, minutes):
    """Return the flow that fills a cup in a time [ml/min].

    Parameters
    ----------
    millilitres, minutes : float
        What is in the cup [ml] after so long [min].

    Raises
    ------
    Refusal
        If either is not a number above 0.
    """
    full = require("millilitres", millilitres, 0, 1e5, "ml", knob="read the lines of the cup")
    time = require("minutes", minutes, 0.01, 1000, "min", knob="time it by a watch")
    return float(full / time)
