"""How large each electrode is: from the last pass back, each leaves its due to the next."""

from dataclasses import dataclass
from itertools import pairwise

from edmkit.burn import predict
from edmkit.checks import Refusal
from edmkit.planning.electrode import Sizing, least_stock_mm, size
from edmkit.planning.feature import Shape
from edmkit.planning.stages import SQUARE, WALL_KINDS
from edmkit.settings import Settings


def in_order(stages):
    """Refuse orders that cannot work."""
    if stages[0].kind not in WALL_KINDS:
        raise Refusal(
            f"stages must begin with a pass that cuts the wall, got {stages[0].kind!r} first: put "
            "a rough or a finish pass before it."
        )


@dataclass(frozen=True)
class Sized:
    """A stage with its setting and sizes; what it leaves per side and on the floor [mm]."""

    settings: Settings
    labels: dict
    electrode: Shape
    sizing: Sizing | None
    cavity: Shape
    stock: float  # per side, left after this pass
    floor: float


def all_sized(task, stages):
    """Return section, cavity and stock of each stage; they follow from the last one back."""
    found, later = [None] * len(stages), 0.0
    walls = [i for i, stage in enumerate(stages) if stage.kind in WALL_KINDS]
    for i in reversed(walls):
        stage, shape = stages[i], task.feature.shape
        setup = task.end_of(shape, stage.bore_mm)
        settings, words = task.at(setup, stage, last=i == walls[-1])
        burn = predict(setup, settings, task.shop)
        gap = float(burn.gap_side_um.likely) / 1000
        left = {} if i == walls[-1] else _left(task, stage, burn)
        rest = later + sum(left.values())
        floor = rest if i < len(stages) - 1 else 0.0
        if i == walls[-1] and i < len(stages) - 1 and stages[i + 1].kind == SQUARE:
            floor = sum(_left(task, stage, burn).values())
        if stage.section is None:
            if left:
                left["stock_mm"] += later
            sizing = size(shape, gap, orbit_mm=stage.orbit_mm, **left)
            cavity = shape.shrunk(rest) if rest > 0 else shape
            found[i] = Sized(settings, words, sizing.section, sizing, cavity, rest, floor)
        else:
            cavity = stage.section.grown(gap + stage.orbit_mm)
            rest = (shape.smallest_width_mm - cavity.smallest_width_mm) / 2
            found[i] = Sized(settings, words, stage.section, None, cavity, rest, floor)
        later = max(rest, 0.0)
    for i, stage in enumerate(stages):
        if stage.kind not in WALL_KINDS:
            found[i] = _floor_pass(task, stages, found, i)
    _reaches(task, stages, found, walls)
    return found


def _left(task, stage, burn):
    """Return what a pass leaves per side beside the next pass's own, by name [mm]."""
    rough = float(burn.roughness_Rz_um.likely) / 1000
    rule = least_stock_mm(rough, float(burn.recast_um.high) / 1000)
    stock = rule if stage.stock_mm is None else stage.stock_mm
    return {"roughness_Rz_mm": rough, "stock_mm": stock, "location_mm": task.location_mm}


def _floor_pass(task, stages, found, i):
    """Return the section of a pass that only meets the floor: that of the wall pass before it."""
    before = next(found[j] for j in range(i - 1, -1, -1) if found[j] is not None)
    stage = stages[i]
    section = stage.section or before.electrode
    setup = task.around(section, stage.bore_mm)
    settings, words = task.at(setup, stage)
    floor = before.stock if any(s.kind in WALL_KINDS for s in stages[i + 1 :]) else 0.0
    return Sized(settings, words, section, None, before.cavity, before.stock, floor)


def _reaches(task, stages, found, walls):
    """Refuse a wall pass that leaves no more room than the one before it has made."""
    for first, second in pairwise(walls):
        if found[second].cavity.smallest_width_mm <= found[first].cavity.smallest_width_mm:
            raise Refusal(
                f"the {stages[second].kind} pass cannot reach the wall: it would leave "
                f"{found[second].cavity.smallest_width_mm:.3f} mm where the pass before it left "
                f"{found[first].cavity.smallest_width_mm:.3f} mm: take a larger electrode or a "
                "setting with a wider gap, or make it a pass that squares the floor."
            )
