"""The passes of one hole, as they are asked for and as they are worked out."""

from contextlib import suppress
from dataclasses import dataclass, replace

from edmkit.burn import Burn
from edmkit.checks import Refusal, one_of, require
from edmkit.estimate import Estimate
from edmkit.finder.grid import labels
from edmkit.planning.dressing import ORDERS, Batch, Dressing
from edmkit.planning.electrode import Pip, Sizing, gap_wanted
from edmkit.planning.feature import Feature, Shape
from edmkit.planning.hole import DEEP, bore_area, with_bore
from edmkit.planning.insert import InsertTube
from edmkit.planning.pick import fastest
from edmkit.planning.ramp import Ramp
from edmkit.planning.stop import Stop, Touch
from edmkit.settings import Relaxation, Settings, Setup

ROUGH, MIDDLE, FINISH, SQUARE, PIP = "rough", "middle", "finish", "square the floor", "pip"
KINDS = (ROUGH, MIDDLE, FINISH, SQUARE, PIP)
WALL_KINDS = (ROUGH, MIDDLE, FINISH)


@dataclass(frozen=True)
class Stage:
    """One pass as it is asked for.

    Parameters
    ----------
    kind : str
        'rough', 'middle', 'finish', 'square the floor' (the same section, freshly dressed, floor
        only: it need not reach the wall), or 'pip'.
    settings : Settings, Relaxation or None
        What is dialled; None: the fastest of the machine within ``max_Ra_um``.
    max_Ra_um : float or None
        Roughness allowed [µm].
    section : Shape or None
        An electrode at hand [mm]; None: one is sized for the hole.
    bore_mm, orbit_mm : float
        Bore through the electrode; radius of an orbit [mm].
    stock_mm : float or None
        Left per side beside the roughness for the next pass; None: the rule decides [mm].
    """

    kind: str
    settings: Settings | Relaxation | None = None
    max_Ra_um: float | None = None
    section: Shape | None = None
    bore_mm: float = 0.0
    orbit_mm: float = 0.0
    stock_mm: float | None = None

    def __post_init__(self):
        one_of("kind", self.kind, KINDS)
        require("bore_mm", self.bore_mm, 0, 100, "mm", knob="0 is a solid electrode")
        require("orbit_mm", self.orbit_mm, 0, 10, "mm", knob="0 is a straight plunge")
        if self.max_Ra_um is not None:
            require("max_Ra_um", self.max_Ra_um, 0.05, 50, "µm", knob="3.2 is a common figure")
        if self.stock_mm is not None:
            require("stock_mm", self.stock_mm, 0, 10, "mm", knob="leave it empty for the rule")


@dataclass(frozen=True)
class Pass:
    """One pass worked out.

    ``cavity`` is the section that it leaves, ``side_stock_mm`` and ``floor_stock_mm`` what is
    left for the next pass, ``sizing`` how the electrode's size came about (None for a rod at
    hand). ``minutes`` are of the clock, lifts and ramp included. ``corner_mm`` is the radius
    that one hole wears on the edge, ``corner_left_mm`` the inside corner of the hole with an end
    just before its dressing. ``labels``: what is engraved at each switch, or a circuit's parts.
    """

    number: int
    stage: Stage
    feature: Feature
    setup: Setup
    settings: Settings | Relaxation
    labels: dict
    burn: Burn
    electrode: Shape
    sizing: Sizing | None
    readings: tuple
    cavity: Shape
    bore_mm: float
    side_stock_mm: float
    floor_stock_mm: float
    volume_mm3: float
    section_mm2: float
    minutes: Estimate
    end_wear_mm: Estimate
    corner_mm: Estimate
    corner_left_mm: float
    stop: Stop
    ramp: Ramp
    dressing: Dressing
    dial_step_um: Estimate | None
    pip: Pip | None
    notes: tuple

    @property
    def kind(self):
        """What kind of pass it is."""
        return self.stage.kind

    @property
    def section(self):
        """The electrode's section, a round's bore with it."""
        return with_bore(self.electrode, self.bore_mm)

    @property
    def insert_used_mm(self):
        """Length of the insert that the batch uses up, None where there is none [mm]."""
        return self.dressing.length_mm if isinstance(self.electrode, InsertTube) else None


@dataclass(frozen=True)
class Task:
    """What is common to the passes of one hole."""

    feature: Feature
    setup: Setup
    shop: object
    like: Settings | None
    touch: Touch
    batch: Batch
    cut: str
    switch_repeat_mm: float
    size_minus_mm: float = 0.0
    size_plus_mm: float = 0.0

    @property
    def resolution_mm(self):
        """Step of the machine's depth stop [mm]."""
        machine = self.setup.machine
        return machine.resolution.stop_mm if machine else 0.01

    @property
    def location_mm(self):
        """Location error that the next pass must clean up [mm]."""
        later = self.batch.order == ORDERS[1] and self.batch.parts > 1
        return 2 * self.batch.relocate_mm if later else 0.0

    def around(self, shape, bore_mm=0.0):
        """Return the set-up with the whole end of a shape."""
        deep = self.feature.depth_mm > DEEP * shape.smallest_width_mm and not bore_mm
        blind = deep and not self.feature.through
        return replace(
            self.setup,
            engaged_area_mm2=max(float(shape.area_mm2 - bore_area(shape, bore_mm)), 1e-4),
            engaged_rim_mm=float(shape.perimeter_mm),
            flushing=replace(self.setup.flushing, deep_blind=blind, bore_mm=bore_mm or None),
        )

    def end_of(self, shape, bore_mm=0.0):
        """Return the set-up at the end of a pass: through a hole cut before, only the ring."""
        setup, before = self.around(shape, bore_mm), self.feature.cut_away
        if not self.feature.through or before is None:
            return setup
        ring = max(float(shape.area_mm2 - before.area_mm2), 1e-4)
        return replace(setup, engaged_area_mm2=ring,
                       engaged_rim_mm=float(shape.perimeter_mm + before.perimeter_mm))  # fmt: skip

    def at(self, setup, stage, last=False):
        """Return settings and labels of a stage: its own, or the fastest within its limits.

        The last pass with an electrode at hand takes a setting whose gap brings it to size, if
        the machine has one.
        """
        if stage.settings is not None:
            return stage.settings, labels(setup, stage.settings)
        limits = {"max_Ra_um": stage.max_Ra_um, "like": self.like}
        if last and stage.section is not None:
            low, _, high = gap_wanted(self.feature.shape, stage.section, self.size_minus_mm,
                                      self.size_plus_mm, stage.orbit_mm)  # fmt: skip
            with suppress(Refusal):  # the plan says how far off it comes out
                gaps = (low * 1000, high * 1000)
                found = fastest(setup, self.shop, gap_side_um=gaps, **limits)
                return found.settings, found.labels
        found = fastest(setup, self.shop, **limits)
        return found.settings, found.labels
