"""What the dials of a machine turned out to mean: the answer of `edmkit.dials.fit`."""

from dataclasses import dataclass

from edmkit.dials.survey import Reading, Survey
from edmkit.estimate import Estimate
from edmkit.switches import Switch


@dataclass(frozen=True)
class Kind:
    """How the on-time counts: "from breakdown", "in a fixed period", or "" ; and why."""

    word: str
    why: str


@dataclass(frozen=True)
class Supply:
    """What drives the current: "resistor-limited", "regulated", "two voltages" or ""; and why.

    ``driving_voltage_V`` is an `Estimate`, None where nothing tells. ``amps`` says what the amps
    of the positions mean: "short circuit" or "spark".
    """

    word: str
    why: str
    driving_voltage_V: Estimate | None = None
    amps: str = "short circuit"


@dataclass(frozen=True)
class Residual:
    """One reading beside what all the others make of it; ``off`` is the logarithm of the ratio."""

    reading: Reading
    expected: float
    off: float
    outlier: bool


@dataclass(frozen=True)
class Fault:
    """A position that is not to be trusted, and why, in words."""

    switch: str
    label: str
    why: str


@dataclass(frozen=True)
class Dials:
    """Every switch with values, spreads and how each is known; ``noise`` is of one reading.

    ``factor_known`` says whether the times hold in microseconds or only to one another; ``notes``
    are sentences on the readings as a whole.
    """

    survey: Survey
    kind: Kind
    supply: Supply
    peak_current_A: Switch
    on_time_us: Switch
    off_time_us: Switch
    open_voltage_V: Switch
    factor_known: bool
    noise: float
    residuals: tuple[Residual, ...] = ()
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()

    def switch(self, name):
        """Return a switch by its name."""
        return getattr(self, name)

    @property
    def switches(self):
        """The four switches."""
        return self.peak_current_A, self.on_time_us, self.off_time_us, self.open_voltage_V
