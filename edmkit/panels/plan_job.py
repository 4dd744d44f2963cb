"""The job of page 03 as plain values: it can be remembered, and turned into what is planned."""

from dataclasses import dataclass, fields, replace
from datetime import date

from edmkit.checks import Refusal, one_of
from edmkit.estimate import BAND
from edmkit.panels.job import FACES, SHAPES, Job
from edmkit.planning.dressing import CORNER_PER_WEAR, ORDERS, Batch
from edmkit.planning.faces import Ball, Bore, Flat, Roller
from edmkit.planning.feature import Feature
from edmkit.planning.gate import Gate
from edmkit.planning.insert import InsertTube
from edmkit.planning.plan import NUMBERS, Tolerance
from edmkit.planning.safety import LEAST_LEVEL_MM, Bath
from edmkit.planning.shapes import Keyway, Rectangle, RegularPolygon, Round
from edmkit.planning.stages import PIP, WALL_KINDS, Stage
from edmkit.planning.stop import Touch
from edmkit.planning.walls import KINDS, TUBE, Part

KEYWAY, SLOT, POLYGON, ROUND = "Keyway in a bore", SHAPES[1], SHAPES[2], SHAPES[0]
BORE_WALL, FLAT = "Wall of a bore", FACES[0]
PLAN_SHAPES, PLAN_FACES = (*SHAPES, KEYWAY), (*FACES, BORE_WALL)
DATUMS = ("crown", "hole centre", "first touch")
TOUCHES = ("contact", "first spark", "feeler")
PLACES = ("in place", "crown", "datum face")
CUTS = ("at once", "spark out")
NO_PART = "not described"
PARTS = (NO_PART, *KINDS)
ANSWERS = ("attended", "float_stops", "thermostat_stops", "automatic_extinguisher",
           "gas_leaves_part", "gas_leaves_electrode", "current_off_before_lowering",
           "earth_checked")  # fmt: skip


@dataclass(frozen=True)
class PlanJob(Job):
    """Everything on the controls of page 03; lengths in mm, an empty field is None.

    ``size`` and ``second`` are what the shape calls them: diameter; length and width; across
    flats; width and top of a keyway, the top above the line of its bore ``key_bore``. ``bore``
    goes through the first electrode; ``flats`` filed ``flat_depth`` deep on an insert let the
    fluid by. ``*_repeat`` and ``relocate`` are plus-minus figures that hold nine times in ten.
    ``hand`` is positions of the switches for each pass, None where the kit picks.
    """

    name: str = ""
    key_bore: float = 16.0
    offset: float = 0.0
    turn: float = 0.0
    depth_from: str = DATUMS[0]
    through: bool = False
    already_cut_per_side: float | None = None
    already_cut_corner: float | None = None
    size_minus: float = 0.0
    size_plus: float = 0.05
    depth_minus: float = 0.05
    depth_plus: float = 0.05
    corner_max: float | None = None
    part_kind: str = NO_PART
    part_diameter: float = 16.0
    part_bore: float = 8.0
    part_length: float | None = None
    part_pitch: float | None = None
    touch_kind: str = TOUCHES[0]
    touch_place: str = PLACES[0]
    feeler: float = 0.05
    datum_above: float = 0.0
    touch_repeat: float = 0.008
    switch_repeat: float = 0.008
    cut: str = CUTS[0]
    max_Ra_um: float | None = 3.2
    passes: str = NUMBERS[0]
    pip_pass: bool = False
    square_floor: bool = False
    rod: float | None = None
    orbit: float = 0.0
    flats: float | None = None
    flat_depth: float = 0.3
    hand: tuple | None = None
    parts: float = 1
    holes: float = 1
    order: str = ORDERS[0]
    touch_again: bool = True
    relocate: float = 0.016
    load_min: float = 5.0
    drain_min: float = 5.0
    dress_min: float = 5.0
    usable: float = 25.0
    corner_per_wear: float = CORNER_PER_WEAR
    gate_day: str = ""
    level_over_spark: float | None = None
    least_level: float = LEAST_LEVEL_MM
    attended: bool = False
    float_stops: bool = False
    thermostat_stops: bool = False
    automatic_extinguisher: bool = False
    gas_leaves_part: bool = False
    gas_leaves_electrode: bool = False
    current_off_before_lowering: bool = False
    earth_checked: bool = False
    litres: float | None = None
    tank_area_cm2: float = 2000.0
    suction_l_per_min: float = 0.0
    suction_returns: bool = False

    def __post_init__(self):
        for name, allowed in (("shape", PLAN_SHAPES), ("face", PLAN_FACES),
                              ("depth_from", DATUMS), ("part_kind", PARTS),
                              ("touch_kind", TOUCHES), ("touch_place", PLACES), ("cut", CUTS),
                              ("passes", NUMBERS), ("order", ORDERS)):  # fmt: skip
            one_of(name, getattr(self, name), allowed)

    # --- remembering ------------------------------------------------------------------------
    @classmethod
    def from_kept(cls, kept, switches):
        """Return a job from what `kept` gave; unknown names are left out.

        The answers before the first spark hold for one day: those of another day are dropped.
        """
        known = {f.name for f in fields(cls)}
        values = {name: v for name, v in dict(kept).items() if name in known}
        for name, value in values.items():
            _same_kind(name, value, getattr(cls, name, None))
        if values.get("hand") is not None:
            values["hand"] = tuple(
                places and Job.from_kept({"positions": places}, switches).positions
                for places in values["hand"]
            )
        job = super().from_kept(values, switches)
        return job if job.gate_day == today() else job.unanswered()

    def kept(self, switches):
        """Return the job as plain values, to remember; positions by what is engraved."""
        hand = self.hand and [
            places and Job(positions=places).kept(switches)["positions"] for places in self.hand
        ]
        return {**super().kept(switches), "hand": hand}

    def unanswered(self):
        """Return the job with the answers before the first spark taken back."""
        return replace(self, gate_day="", level_over_spark=None, **dict.fromkeys(ANSWERS, False))

    # --- the hole ---------------------------------------------------------------------------
    def cavity(self):
        """Return the shape of the hole."""
        if self.shape == KEYWAY:
            return Keyway(self.size, self.second, self.key_bore, self.corner)
        if self.shape == ROUND:
            return Round(self.size)
        if self.shape == POLYGON:
            return RegularPolygon(self.sides, self.size)
        return Rectangle(self.size, self.second, self.corner)

    def surface(self):
        """Return the face the hole starts on; a keyway runs along its bore, from a flat."""
        if self.face == FLAT or self.shape == KEYWAY:
            return Flat()
        kind = {"Ball or dome": Ball, "Roller or pin": Roller, BORE_WALL: Bore}[self.face]
        return kind(self.face_diameter)

    @property
    def curved(self):
        """Whether the hole starts on a curved face."""
        return not isinstance(self.surface(), Flat)

    @property
    def goes_through(self):
        """Whether the hole goes right through: from a flat face only."""
        return self.through and not self.curved

    def cut_before(self):
        """Return the shape that is there already, None where nothing is."""
        if self.already_cut_per_side is None:
            return None
        inside = self.cavity().shrunk(self.already_cut_per_side)
        if self.already_cut_corner is None or self.shape in (ROUND, POLYGON):
            return inside
        return replace(inside, corner_radius=self.already_cut_corner)

    def feature(self):
        """Return the hole as the drawing has it: what does not apply is left out."""
        curved = {}
        if self.curved:
            curved = {"offset_mm": self.offset, "turn_deg": self.turn,
                      "depth_from": self.depth_from}  # fmt: skip
        return Feature(self.cavity(), self.surface(), self.depth, through=self.goes_through,
                       cut_away=self.cut_before(), **curved)  # fmt: skip

    def tolerance(self):
        """Return what the drawing allows."""
        return Tolerance(self.size_minus, self.size_plus, self.depth_minus, self.depth_plus)

    def part(self):
        """Return the part around the hole, None where it is not described."""
        if self.part_kind == NO_PART:
            return None
        bore = self.part_bore if self.part_kind == TUBE else 0.0
        return Part(self.part_kind, self.part_diameter, bore, self.part_length, self.part_pitch)

    # --- how it is burned -------------------------------------------------------------------
    def touch(self):
        """Return how the end is touched off."""
        feeler = self.feeler if self.touch_kind == "feeler" else 0.0
        datum = self.datum_above if self.touch_place == "datum face" else 0.0
        return Touch(self.touch_kind, self.touch_place, feeler, datum, self.touch_repeat / BAND)

    def asked(self):
        """Return what `edmkit.planning.plan.plan` is told of passes and stop, by its names."""
        one = self._at_hand is not None and self.passes == NUMBERS[0]
        return {
            "max_Ra_um": self.max_Ra_um,
            "number": "1" if one else self.passes,
            "bore_mm": self.bore,
            "square": self.square_floor and not self.goes_through,
            "cut": self.cut,
            "switch_repeat_mm": self.switch_repeat / BAND,
        }

    @property
    def _at_hand(self):
        """Section of the electrode at hand, None without one."""
        if self.rod is None or self.shape not in (ROUND, POLYGON):
            return None
        if self.shape == POLYGON:
            return RegularPolygon(self.sides, self.rod)
        if not self._with_insert:
            return Round(self.rod)
        size = (self.rod, self.bore, self.bore, self.flats, self.flat_depth, self.usable)
        return InsertTube(*size)

    @property
    def _with_insert(self):
        """Whether the rod is a tube with a filed insert in its bore."""
        return bool(self.flats and self.bore > 0 and self.rod and self.shape == ROUND)

    @property
    def _with_pip_pass(self):
        return self.pip_pass and self.bore > 0 and not self.goes_through

    @property
    def by_hand(self):
        """Whether the passes are not just those that the kit proposes."""
        return bool(self.hand or self._at_hand or self.orbit or self._with_pip_pass)

    def stages(self, proposed, switches):
        """Return the passes that the kit proposes, with what was asked for by hand.

        Parameters
        ----------
        proposed : sequence of Stage
            What `edmkit.planning.plan.propose` gives.
        switches : dict
            The four switches by name.
        """
        made = list(proposed)
        last = max(i for i, stage in enumerate(made) if stage.kind in WALL_KINDS)
        made[last] = replace(made[last], orbit_mm=self.orbit, section=self._at_hand)
        if self._with_insert:
            made[last] = replace(made[last], bore_mm=0.0)  # the section knows its own bore
        if self._with_pip_pass:
            made.insert(last + 1, Stage(PIP, max_Ra_um=self.max_Ra_um))
        for i, positions in enumerate((self.hand or ())[: len(made)]):
            if positions is not None:
                made[i] = replace(made[i], settings=self._dialled_by_hand(positions, switches))
        return tuple(made)

    def _dialled_by_hand(self, positions, switches):
        return replace(self, positions={**self.positions, **positions}).settings(switches)

    def batch(self):
        """Return how many, in what order."""
        return Batch(
            parts=self.parts, holes=self.holes, order=self.order, touch_again=self.touch_again,
            relocate_mm=self.relocate / BAND, load_min=self.load_min, drain_min=self.drain_min,
            dress_min=self.dress_min, corner_max_mm=self.corner_max,
            usable_mm=self.usable, corner_per_wear=self.corner_per_wear,
        )  # fmt: skip

    def gate(self):
        """Return what was answered before the first spark."""
        answers = {name: getattr(self, name) for name in ANSWERS}
        bath = None
        if self.litres is not None:
            bath = Bath(self.litres, self.tank_area_cm2, self.suction_l_per_min,
                        self.suction_returns)  # fmt: skip
        return Gate(day=self.gate_day, fluid=self.fluid, least_level_mm=self.least_level,
                    level_over_spark_mm=self.level_over_spark, bath=bath, **answers)  # fmt: skip


def _same_kind(name, value, usual):
    """Refuse a remembered value that is text where a number stands, or the like."""
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    fits = {str: isinstance(value, str), bool: isinstance(value, bool)}.get(
        type(usual), number or value is None or name in ("polarity", "positions", "hand")
    )
    if not fits:
        raise Refusal(f"{name} must be like {usual!r}, got {value!r}: set it anew.")


def today():
    """Return the date as it is written in a gate."""
    return date.today().isoformat()
