"""One spark on one metal: the numbers that the heat solver and the crater tables ask for."""

from dataclasses import dataclass
from functools import cached_property

from edmkit import tables
from edmkit.physics import crater as formulas
from edmkit.physics import pulse


@dataclass(frozen=True)
class Spark:
    """One rectangular spark on one metal, in SI; each value is worked out when asked for.

    Parameters
    ----------
    metal : Material
        Work or electrode.
    current, on_time : float
        Current while it burns [A] and burning time [s].
    discharge_voltage, energy_share : float
        Voltage of the burning gap [V]; share of its energy that enters this metal [-].
    """

    metal: object
    current: float
    on_time: float
    discharge_voltage: float
    energy_share: float

    @cached_property
    def energy(self):
        """Energy of the whole spark, what goes elsewhere too [J]."""
        return pulse.pulse_energy(self.discharge_voltage, self.current, self.on_time)

    @cached_property
    def source_radius(self):
        """Radius of the heat source at the end of the pulse [m]."""
        return formulas.source_radius(self.current, self.on_time)

    @cached_property
    def fourier_number(self):
        """How far heat runs in the pulse, over the source [-]."""
        return formulas.fourier_number(self.current, self.on_time, self.metal)

    @cached_property
    def flux_number(self):
        """How hard it heats the metal [-]."""
        return formulas.flux_number(self.current, self.on_time, *self._heat)

    @property
    def _heat(self):
        return self.discharge_voltage, self.energy_share, self.metal

    @cached_property
    def crater(self):
        """What it melts, from the metal's table [m, m, m³]; refused where there is no table."""
        return tables.crater(self.current, self.on_time, *self._heat)


def spark_on_work(burn):
    """Return the spark of a burn on its work.

    Parameters
    ----------
    burn : Burn
        At one setting, a relaxation circuit's too.

    Returns
    -------
    Spark
    """
    point = burn.point
    return Spark(
        burn.setup.work,
        float(point.spark_current),
        float(point.discharge_duration),
        float(point.discharge_voltage),
        float(point.energy_share),
    )
