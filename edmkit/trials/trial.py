"""One burn as it was written down."""

from dataclasses import dataclass, field, fields, replace
from uuid import uuid4

from edmkit.checks import Refusal, one_of, require
from edmkit.settings import Flushing, Relaxation, Settings, Setup
from edmkit.trials.columns import BY_NAME, LONGEST, MEASURED, NORMAL, NUMBERS, TEXTS
from edmkit.trials.measured import Measured

# Without these nothing can be predicted, so nothing can be learned.
NEEDED = ("work", "electrode", "polarity")
_PULSES = ("peak_current_A", "on_time_us", "off_time_us")
_CIRCUIT = ("resistance_ohm", "capacitance_uF", "supply_V")


def new_id():
    """Return a name for a burn that no other burn has."""
    return uuid4().hex


@dataclass(frozen=True)
class Trial:
    """One burn; units are in the names, texts may be empty, numbers and measured values None.

    ``id`` is made once, so that saving twice keeps one burn. ``supersedes`` is the id of the burn
    this one corrects; a withdrawn one takes it out of the book. ``machine`` is a machine's name,
    empty without a machine file; ``machine_file`` is the machine itself where it is at hand.
    ``peak_current_A`` is then the plate value, as in `Settings`.
    """

    id: str = field(default_factory=new_id)
    supersedes: str | None = None
    withdrawn: bool = False
    burned_at: str = ""
    operator: str = ""
    job: str = ""
    part: str = ""
    feature: str = ""
    burn: str = ""
    stage: str = ""
    state: str = NORMAL
    remark: str = ""
    machine: str = ""
    work: str = ""
    hardness_HRC: float | None = None
    temper_C: float | None = None
    electrode: str = ""
    electrode_id: str = ""
    polarity: str = ""
    fluid: str = ""
    flushing: str = ""
    flushing_quality: str = ""
    flushing_pressure_kPa: float | None = None
    flow_reversed_at_mm: float | None = None
    fluid_C: float | None = None
    fluid_level_mm: float | None = None
    filter_h: float | None = None
    peak_current_A: float | None = None
    on_time_us: float | None = None
    off_time_us: float | None = None
    open_voltage_V: float | None = None
    gap_front_um: float | None = None
    servo_voltage_V: float | None = None
    lift_burn_s: float | None = None
    lift_up_s: float | None = None
    resistance_ohm: float | None = None
    capacitance_uF: float | None = None
    supply_V: float | None = None
    inductance_uH: float | None = None
    breakdown_V: float | None = None
    dialled: str = ""
    low_current_A: float | None = None
    low_until_mm: float | None = None
    shape: str = ""
    face: str = ""
    offset_mm: float | None = None
    target_size_mm: float | None = None
    target_depth_mm: float | None = None
    bore_mm: float | None = None
    orbit_mm: float | None = None
    engaged_area_mm2: float | None = None
    engaged_rim_mm: float | None = None
    section_mm2: float | None = None
    volume_mm3: float | None = None
    touch: str = ""
    stop_mm: float | None = None
    electrode_size_mm: Measured | None = None
    hole_size_mm: Measured | None = None
    floor_size_mm: Measured | None = None
    depth_mm: Measured | None = None
    length_before_mm: Measured | None = None
    length_after_mm: Measured | None = None
    end_wear_mm: Measured | None = None
    minutes: Measured | None = None
    roughness_Ra_um: Measured | None = None
    roughness_Rz_um: Measured | None = None
    recast_um: Measured | None = None
    average_current_A: Measured | None = None
    mean_voltage_V: Measured | None = None
    corner_before_mm: Measured | None = None
    corner_after_mm: Measured | None = None
    pip_mm: Measured | None = None
    wall_mm: Measured | None = None
    dressed_off_mm: float | None = None
    lost_min: float | None = None
    lost_reason: str = ""
    pits: str = ""
    passed: str = ""
    machine_file: object = field(default=None, compare=False, repr=False)

    def __post_init__(self):
        for name in TEXTS:
            self._check_text(name)
        for name in NUMBERS:
            if (value := getattr(self, name)) is not None:
                object.__setattr__(self, name, _within(name, value))
        for name in MEASURED:
            if (value := getattr(self, name)) is not None:
                _check_measured(name, value)

    def _check_text(self, name):
        value, choices = getattr(self, name), BY_NAME[name].choices
        broken = not isinstance(value, str) or value.encode("utf-8", "replace").decode() != value
        if broken or len(value) > LONGEST or "\0" in value:
            raise Refusal(f"{name} must be a text of at most {LONGEST} letters, got {value!r:.60}.")
        if choices and value != "":
            one_of(name, value, [c for c in choices if c])

    def corrected(self, **changes):
        """Return a burn that supersedes this one, with some columns changed."""
        return replace(self, **changes, id=new_id(), supersedes=self.id)

    def as_before(self, **changes):
        """Return a new burn like this one with nothing measured yet.

        Parameters
        ----------
        **changes : value of a column
            What is different this time: the part, the minutes, the depth.
        """
        blank = dict.fromkeys(MEASURED) | {"lost_min": None, "lost_reason": "", "pits": ""}
        blank |= {"passed": "", "remark": "", "supersedes": None, "id": new_id(), "burned_at": ""}
        return replace(self, **{**blank, **changes})

    @property
    def missing(self):
        """Names of what is needed before anything can be learned from this burn."""
        dialled = _CIRCUIT if self.is_circuit else _PULSES
        return tuple(n for n in (*NEEDED, *dialled) if getattr(self, n) in ("", None))

    @property
    def is_circuit(self):
        """Whether it was burned with a relaxation circuit: one of its parts is filled in."""
        return any(getattr(self, name) is not None for name in _CIRCUIT)

    @property
    def two_generators(self):
        """A dial and a part of a circuit where both are filled in, else ()."""
        given = [n for n in (*_PULSES, *_CIRCUIT) if getattr(self, n) is not None]
        return (given[0], given[-1]) if self.is_circuit and given[0] in _PULSES else ()

    # --- as the kit predicts it -------------------------------------------------------------
    def setup(self):
        """Return the set-up of this burn; the electrode's own area where no engaged area is."""
        from edmkit.materials import dielectric, electrode_material, work_material

        area = self.engaged_area_mm2 or self.section_mm2
        if self.missing or area is None:
            lacking = ", ".join(self.missing or ("engaged_area_mm2",))
            raise Refusal(f"this burn can't be predicted: {lacking} is missing. Fill it in.")
        flushing = Flushing(self.flushing or "suction", self.flushing_quality or "fair")
        return Setup(
            work_material(self.work),
            electrode_material(self.electrode),
            dielectric(self.fluid or "edm_oil"),
            self.polarity,
            area,
            self.engaged_rim_mm,
            flushing,
            self.machine_file,
        )

    def settings(self):
        """Return what was dialled, or the relaxation circuit; refused where both are filled in."""
        if said := self.two_generators:
            raise Refusal(f"{said[0]} and {said[1]} say two generators: leave one of them out.")
        kind = Relaxation if self.is_circuit else Settings
        names = [f.name for f in fields(kind)]
        given = {n: v for n in names if (v := getattr(self, n)) is not None}
        return kind(**given)


def _within(name, value):
    column = BY_NAME[name]
    knob = f"check {column.words}"
    number = require(name, value, column.low, column.high, column.unit, knob=knob)
    if number.ndim:
        raise Refusal(f"{name} must be one number, got {number.size} of them: give one.")
    return float(number)


def _check_measured(name, value):
    column = BY_NAME[name]
    if not isinstance(value, Measured):
        raise Refusal(
            f"{name} must say how it was measured, got {value!r}: write "
            f"Measured({value!r}, {column.how[0]!r})."
        )
    one_of(f"how {name} was measured", value.how, column.how)
    for end in (value.value, value.to):
        if end is not None:
            _within(name, end)
