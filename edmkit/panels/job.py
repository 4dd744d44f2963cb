"""What stands on the controls as plain values: it can be remembered, and turned into a hole."""

from dataclasses import asdict, dataclass, field, fields

import numpy as np

from edmkit.checks import Refusal, one_of
from edmkit.materials import dielectric, electrode_material, work_material
from edmkit.panels.controls import unwarned
from edmkit.planning.faces import Ball, Flat, Roller
from edmkit.planning.hole import sink
from edmkit.planning.shapes import Rectangle, RegularPolygon, Round
from edmkit.settings import Flushing, Relaxation, Settings, Setup, usual_polarity

SWITCHES = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
SHAPES = ("Round", "Rectangle or slot", "Regular polygon")
FACES = ("Flat", "Ball or dome", "Roller or pin")


def _engraved(choice):
    """Return the label of a choice, or its value where nothing is engraved."""
    return choice.label or choice.value


@dataclass(frozen=True)
class Job:
    """Everything on the controls; sizes in mm. ``positions`` are numbers of choices by switch.

    ``circuit`` holds the parts of a relaxation circuit, which then burns in the switches' place.
    """

    work: str = "52100"
    electrode: str = "copper"
    polarity: str | None = None
    fluid: str = "edm_oil"
    flushing: str = "suction"
    quality: str = "fair"
    pressure_kPa: float | None = None
    shape: str = "Round"
    size: float = 3.05
    second: float = 3.0
    corner: float = 0.0
    sides: float = 6
    bore: float = 0.0
    depth: float = 5.0
    face: str = "Flat"
    face_diameter: float = 12.0
    positions: dict = field(default_factory=dict)
    lift_burn_s: float | None = None
    lift_up_s: float | None = None
    gap_front_um: float | None = None
    servo_voltage_V: float | None = None
    circuit: dict | None = None

    def __post_init__(self):
        one_of("shape", self.shape, SHAPES)
        one_of("face", self.face, FACES)

    @classmethod
    def from_kept(cls, kept, switches):
        """Return a job from what `kept` gave; unknown names are left out.

        Positions are found by what is engraved, so that a machine file may change.
        """
        known = {f.name for f in fields(cls)}
        values = {name: v for name, v in dict(kept).items() if name in known}
        places = dict(values.get("positions", {}))
        for name, engraved in places.items():
            found = [_engraved(choice) for choice in switches[name].choices]
            if engraved not in found:
                shown = switches[name].shown()
                raise Refusal(f"{name} must be one of {shown}, got {engraved!r}.")
            places[name] = found.index(engraved)
        return cls(**{**values, "positions": places})

    def kept(self, switches):
        """Return the job as plain values, to remember; positions by what is engraved."""
        places = {
            name: _engraved(switches[name].choices[number])
            for name, number in self.positions.items()
            if self.circuit is None
        }
        return {**asdict(self), "positions": places}

    def cavity(self):
        """Return the shape of the hole."""
        if self.shape == "Round":
            return Round(self.size)
        if self.shape == "Regular polygon":
            return RegularPolygon(self.sides, self.size)
        return Rectangle(self.size, self.second, self.corner)

    def surface(self):
        """Return the face the hole starts on."""
        if self.face == "Flat":
            return Flat()
        return (Ball if self.face == "Ball or dome" else Roller)(self.face_diameter)

    def setup(self, machine):
        """Return the set-up, the area of the electrode's end that of the hole."""
        work, tool = work_material(self.work), electrode_material(self.electrode)
        return Setup(
            work=work,
            electrode=tool,
            dielectric=dielectric(self.fluid),
            polarity=self.polarity or usual_polarity(work, tool).polarity,
            engaged_area_mm2=self.cavity().area_mm2,
            flushing=Flushing(self.flushing, self.quality, self.pressure_kPa),
            machine=machine,
        )

    def settings(self, switches):
        """Return the settings of the positions, or the relaxation circuit."""
        if self.circuit is not None:
            return _circuit_of(self.circuit)
        dialled = {name: self._dialled(name, switches[name]) for name in SWITCHES}
        return Settings(**dialled, **self._gap_and_lift())

    def _dialled(self, name, switch):
        number = self.positions.get(name, len(switch.choices) // 2)
        if not 0 <= number < len(switch.choices):
            raise Refusal(f"{name} must be one of {switch.shown()}, got choice {number + 1}.")
        return switch.choices[number].value

    def _gap_and_lift(self):
        names = ("gap_front_um", "servo_voltage_V", "lift_burn_s", "lift_up_s")
        return {name: getattr(self, name) for name in names}

    def every_setting(self, switches, gap_front_um=None, all_voltages=True):
        """Return settings that hold every combination of positions, as an open mesh.

        Parameters
        ----------
        switches : dict
            The four switches by name.
        gap_front_um : float or None
            One gap for all of them; None lets it follow the voltage [µm].
        all_voltages : bool
            False keeps to the present open voltage.
        """
        axes = [switches[name].values for name in SWITCHES]
        if not all_voltages:
            axes[3] = np.array([self._dialled("open_voltage_V", switches["open_voltage_V"])])
        lift = (self.lift_burn_s, self.lift_up_s)
        return Settings(*np.ix_(*axes), gap_front_um, None, *lift)

    def hole(self, machine, switches, shop=None, settings=None):
        """Return what this hole takes at the present positions, or at other settings."""
        shape, face, setup = self.cavity(), self.surface(), self.setup(machine)
        with unwarned():  # the page says it in a sentence
            settings = settings or self.settings(switches)
            return sink(shape, face, self.depth, setup, settings, shop, self.bore)


def _circuit_of(parts):
    """Return a relaxation circuit from what was remembered of it."""
    try:
        return Relaxation(**parts)
    except TypeError:
        raise Refusal("the circuit must have a resistor, a capacitor and a supply.") from None


def nearest(switches, wishes):
    """Return the numbers of the choices nearest to wished values, by switch."""
    return {
        name: int(np.argmin(np.abs(np.log(switches[name].values / wish))))
        for name, wish in wishes.items()
    }


# The three jobs of a first opening: words, sizes in mm, wishes for the switches. Invented.
FIRST_JOBS = {
    "Round hole": (
        "Ø 3.05 mm, 5 mm deep",
        {"shape": "Round", "size": 3.05, "depth": 5.0, "flushing": "lift only"},
        {"peak_current_A": 2.5, "on_time_us": 50.0, "off_time_us": 25.0},
    ),
    "Pocket with corners": (
        "hexagon 4.06 mm, 4 mm deep",
        {"shape": "Regular polygon", "size": 4.06, "depth": 4.0, "bore": 1.2},
        {"peak_current_A": 4.0, "on_time_us": 50.0, "off_time_us": 25.0},
    ),
    "Slot": (
        "12 × 3 mm, 3 mm deep",
        {
            "shape": "Rectangle or slot",
            "size": 12.0,
            "second": 3.0,
            "corner": 0.2,
            "depth": 3.0,
            "flushing": "side jet",
        },
        {"peak_current_A": 6.0, "on_time_us": 80.0, "off_time_us": 50.0},
    ),
}
_BLOCK = (
    '<path d="M6 44 h108 v42 h-108 z" fill="#d9d9d9" stroke="#1a1a1a"/>'
    '<path d="M6 44 l22 -18 h108 l-22 18 z" fill="#efefef" stroke="#1a1a1a"/>'
    '<path d="M114 44 l22 -18 v42 l-22 18 z" fill="#c4c4c4" stroke="#1a1a1a"/>'
)
_OPENINGS = {
    "Round hole": '<ellipse cx="71" cy="35" rx="15" ry="5.5" fill="#1a1a1a"/>',
    "Pocket with corners": '<path d="M53 35 l9 -6 h18 l9 6 l-9 6 h-18 z" fill="#1a1a1a"/>',
    "Slot": '<path d="M36 38 l8 -6 h63 l-8 6 z" fill="#1a1a1a"/>',
}


def picture(job):
    """Return a small drawing of one of the first jobs as SVG."""
    return (
        f'<svg viewBox="0 0 142 92" width="92" height="60" role="img" aria-label="{job}">'
        f"{_BLOCK}{_OPENINGS[job]}</svg>"
    )
