"""The usual cautions at a spark-erosion machine, for the start page and the burn card."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import require
from edmkit.planning.facts import Fact

FIRST = (
    "These are reminders, not a safety case. Your machine's own manual, local codes and licensed "
    "practice come before anything said here."
)
FLUID_OVER_SPARK_MM = (30, 50)  # 30 university workshop rules; 40 to 80 trade, from memory
LEAST_LEVEL_MM = 40  # asked for unless the machine's manual says more: trade, from memory
LEAST_FLASH_C = 70  # a city's fire prevention ordinance, article 11-2
OLD_FLUIDS_FLASH_C = (54, 60)  # kerosene and white spirit; trade page (B30 in data/sources.csv)
GAS_WARNING_S = 30  # trade magazine page, May 2014
_CM2_MM_PER_LITRE = 1e4  # a litre is 1 cm² times so many mm; definition


@dataclass(frozen=True)
class Cautions:
    """A titled group of one-sentence cautions, each a `Fact`."""

    title: str
    items: tuple


SAFETY = (
    Cautions(
        "Before you press start",
        (
            Fact(  # 30 mm: university workshop rules; the larger figure from memory
                f"The fluid stands at least {FLUID_OVER_SPARK_MM[0]} to {FLUID_OVER_SPARK_MM[1]} "
                "mm over the spark, more at high current, and still does when the head lifts.",
                "written rule",
            ),
            Fact(
                "Push the float down, then turn the thermostat below the fluid's temperature: each "
                "must stop the machine.",
                "common practice",
            ),
            Fact(  # trade magazine page on a tank fire, May 2014
                "Gas can escape from under and inside the work: turn it, or raise it on blocks.",
                "published",
            ),
            Fact("Work and electrode are clamped fast.", "written rule"),  # fire ordinance
            Fact(  # fire ordinance: no open-spray working with flammable fluid
                "Never burn with oil only sprayed on the spark: the gap lies under the fluid.",
                "written rule",
            ),
        ),
    ),
    Cautions(
        "Fire",
        (
            Fact(  # fire ordinance; flash points from a trade page (B30)
                f"Use a fluid with a flash point of {LEAST_FLASH_C} °C or more: kerosene and "
                f"white spirit catch fire from {OLD_FLUIDS_FLASH_C[0]} to "
                f"{OLD_FLUIDS_FLASH_C[1]} °C.",
                "written rule",
            ),
            Fact("Never put petrol or thinner in the fluid.", "written rule"),  # workshop rules
            Fact("No naked flame and no smoking near the tank.", "written rule"),  # workshop rules
            Fact(  # trade magazine page, May 2014
                "A CO₂ extinguisher hangs at the machine; aim it so that it does not blow the "
                "burning oil out of the tank.",
                "published",
            ),
            Fact("Never water on burning oil.", "common practice"),
            Fact(  # trade magazine page, May 2014
                "Gas that floods by itself must warn at least "
                f"{GAS_WARNING_S} s before: then leave the room.",
                "published",
            ),
        ),
    ),
    Cautions(
        "Shock",
        (
            Fact(  # university workshop rules
                "Never touch the electrode or its holder while the generator is on.",
                "written rule",
            ),
            Fact("Switch off at the main switch before you clean.", "written rule"),  # same rules
            Fact(
                "Capacitors keep their charge after switching off: wait as the manual says, and "
                "measure before you reach in.",
                "from memory",
            ),
            Fact("The machine is earthed; stand on an insulating mat.", "written rule"),  # same
            Fact("Inside the generator: licensed electricians only.", "common practice"),
            Fact(
                "Keep clear if you wear a pacemaker or another implant, until your doctor agrees.",
                "from memory",
            ),
        ),
    ),
    Cautions(
        "Fumes and skin",
        (
            Fact(  # that the extraction is on: university workshop rules; what is in it: memory
                "Extraction on before the first spark: the bubbles carry hydrogen, acetylene, "
                "carbon monoxide and soot.",
                "from memory",
            ),
            Fact(  # trade page on water as a fluid
                "In water the spark makes hydrogen and oxygen, which explode: extraction on there "
                "too.",
                "published",
            ),
            Fact("Gloves on: the oil takes the fat out of your skin.", "from memory"),
            Fact(
                "Sludge and filters are oily metal: collect them as hazardous waste.",
                "from memory",
            ),
            Fact(
                "Beryllium copper and cobalt-bonded carbide are poisonous as dust, fume and "
                "sludge: find the safety sheet first.",
                "from memory",
            ),
        ),
    ),
    Cautions(
        "Never leave it alone",
        (
            Fact(  # fire ordinance; insurers' recommendation RC29 on unattended running
                "Stay at the machine unless fluid level, fluid temperature and fire protection "
                "each stop it by themselves.",
                "written rule",
            ),
            Fact(  # trade magazine page, May 2014
                "One published fire needed three things: work not fully covered, a part of the "
                "extinguisher taken off, nobody there.",
                "published",
            ),
            Fact(  # trade pages on arcs: yellow flash, burnt spot; order of action from memory
                "Yellow flash, a hiss, smoke from one spot: stop, lift, and clean both faces.",
                "published",
            ),
            Fact(  # the fire ordinance asks for a stop on it; what it does is from memory
                "Carbon that grows on one spot can carry the spark up to the surface and light "
                "the oil: stop and scrape it off.",
                "from memory",
            ),
        ),
    ),
)


@dataclass(frozen=True)
class Bath:
    """The fluid in the machine, as far as its level and warmth need it.

    Parameters
    ----------
    litres : float
        Fluid that shares the heat: tank and reservoir, where it is pumped round [L].
    tank_area_cm2 : float
        Surface of the fluid in the working tank [cm²].
    suction_l_per_min : float
        Drawn off through the electrode or the work, 0 where nothing is [L/min].
    returns : bool
        Whether that runs back into the working tank.
    """

    litres: float
    tank_area_cm2: float
    suction_l_per_min: float = 0.0
    returns: bool = True

    def __post_init__(self):
        require("litres", self.litres, 1, 1e5, "L", knob="tank and reservoir together")
        require("tank_area_cm2", self.tank_area_cm2, 10, 1e6, "cm²", knob="length times width")
        require("suction_l_per_min", self.suction_l_per_min, 0, 1000, "L/min",
                knob="fill a measuring jug for a minute")  # fmt: skip


def level_fall_mm(flow_l_per_min, minutes, tank_area_cm2, returns=True):
    """Return how far the fluid in the tank falls during a burn [mm].

    Parameters
    ----------
    flow_l_per_min : float or array
        Fluid drawn off [L/min].
    minutes : float or array
        Time it is drawn off for [min].
    tank_area_cm2 : float or array
        Surface of the fluid [cm²].
    returns : bool
        Whether it runs back into the tank: then nothing falls.

    Notes
    -----
    Flow x time / surface; derived here. Left out: what the head displaces, and what splashes.
    """
    flow = require("flow_l_per_min", flow_l_per_min, 0, 1000, "L/min")
    time = require("minutes", minutes, 0, 1e6, "min")
    area = require("tank_area_cm2", tank_area_cm2, 10, 1e6, "cm²")
    fall = _CM2_MM_PER_LITRE * flow * time / area
    return (np.zeros_like(fall) if returns else fall)[()]


def bath_warming_K(power_W, minutes, litres, fluid):
    """Return the most that the sparks can warm the fluid [K].

    Parameters
    ----------
    power_W : float or array
        Mean power of the sparks: mean current x mean voltage [W].
    minutes : float or array
        Time of burning [min].
    litres : float or array
        Fluid that shares the heat [L].
    fluid : Dielectric
        Its density and heat capacity at 20 °C.

    Notes
    -----
    An upper bound: all heat stays in the fluid, none leaves with the work, the air or a cooler.
    Derived here. The heat of a pump comes on top.
    """
    power = require("power_W", power_W, 0, 1e6, "W")
    time = require("minutes", minutes, 0, 1e6, "min")
    volume = require("litres", litres, 1, 1e5, "L") / 1000
    capacity = fluid.properties["heat_capacity"].value
    return (power * time * 60 / (volume * fluid.density * capacity))[()]
