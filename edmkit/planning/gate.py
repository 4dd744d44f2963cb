"""What must be answered before the first spark, once a job and a day."""

from dataclasses import dataclass
from datetime import date

from edmkit.checks import Refusal, require
from edmkit.planning.safety import FLUID_OVER_SPARK_MM, LEAST_LEVEL_MM
from edmkit.words import three, two

_CM2_PER_LITRE_MM = 1e4  # a litre lowers 1 cm² by so many mm; definition


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
    return (0.0 if returns else _CM2_PER_LITRE_MM * flow * time / area)[()] if not returns else 0.0


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
