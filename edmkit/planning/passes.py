"""The passes of one hole worked out: electrode, stop, current ramp, wear and time of each."""

from dataclasses import replace
from math import pi

import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal, require
from edmkit.estimate import Estimate
from edmkit.planning.dressing import dressing
from edmkit.planning.electrode import corner_left_mm, pip, readings
from edmkit.planning.faces import Flat
from edmkit.planning.hole import LEAST_WALL_MM, bore_area, with_bore
from edmkit.planning.insert import InsertTube
from edmkit.planning.ramp import ramp
from edmkit.planning.sized import all_sized, in_order
from edmkit.planning.stages import PIP, SQUARE, WALL_KINDS, Pass
from edmkit.planning.stop import depth_stop

_ROUGH_CORNER_MM = 0.3  # an end that another pass follows may wear to this; assumption
_LEAST_PIP_MM = 0.01  # a thinner one is burned away by the gap; assumption


def passes(task, stages):
    """Return the passes of a hole, first to last.

    Parameters
    ----------
    task : Task
        The hole, the set-up, the shop, the batch.
    stages : sequence of Stage
        In the order they are burned.

    Returns
    -------
    tuple of Pass

    Raises
    ------
    Refusal
        If an electrode is eaten up by its allowances, or a pass cannot reach what it must cut.
    """
    if not stages:
        raise Refusal("stages must be one pass or more, got none: add a rough or a finish pass.")
    in_order(stages)
    found = all_sized(task, stages)
    made, before, removed = [], task.feature.cut_away, 0.0
    for number, (stage, size_) in enumerate(zip(stages, found, strict=True), 1):
        done, removed = _pass(task, number, stage, size_, before, removed, made)
        made.append(done)
        before = done.cavity if stage.kind in WALL_KINDS else before
    return tuple(made)


def _pass(task, number, stage, sized, before, removed, made):
    """Return one Pass, and the volume gone after it."""
    end = _End(task, stage, sized, before, made)
    burn = predict(end.setup, sized.settings, task.shop)
    total = end.total_mm3
    volume = end.floor_volume(made) if stage.kind not in WALL_KINDS else total - removed
    wear = burn.end_wear_mm(volume, end.wearing_mm2)
    steps = ramp(end.feature, end.section, end.setup, sized.settings, task.shop,
                 bore_area_mm2=bore_area(end.section, stage.bore_mm), floor_mm=end.floor_from_mm,
                 resolution_mm=task.resolution_mm)  # fmt: skip
    burning = burn.minutes(volume)
    extra = steps.extra_minutes if stage.kind in WALL_KINDS else 0.0
    minutes = Estimate(burning.likely + extra, burning.spread)
    edge = _edge(burn, task.feature.depth_mm, end.thin_mm)
    dressed = _dressing(task, sized.stock > 1e-9, float(wear.likely), edge, end.ring, end.gap)
    corner = Estimate(dressed.per_hole_mm, wear.spread)
    touch = task.touch if end.touches_in_place else replace(task.touch, place="crown")
    dial = None if sized.settings.lift_burn_s is None else burn.dial_step_um(end.end_mm2)
    return Pass(
        number, stage, end.feature, end.setup, sized.settings, sized.labels, burn,
        sized.electrode, sized.sizing, readings(sized.electrode), sized.cavity, stage.bore_mm,
        max(sized.stock, 0.0), sized.floor, float(volume), end.section_mm2, minutes, wear, corner,
        corner_left_mm(_own_corner(sized.electrode), end.gap, stage.orbit_mm,
                       worn_mm=dressed.corner_mm),
        depth_stop(replace(end.feature, depth_mm=task.feature.depth_mm), burn, wear,
                   section=end.section, touch=touch,
                   resolution_mm=task.resolution_mm, switch_repeat_mm=task.switch_repeat_mm,
                   cut=task.cut, floor_stock_mm=sized.floor),
        steps, dressed, dial, end.pip, _notes(task, stage, sized, end, made),
    ), max(total, removed)  # fmt: skip


def _own_corner(section):
    return float(getattr(section, "corner_radius", 0.0))


def _edge(burn, depth_mm, thin_mm):
    """Return the radius that cutting a thin ring wears on the edge: not wider than the ring."""
    wear = float(burn.relative_wear_percent.likely) / 100
    return min(wear * depth_mm, thin_mm) if np.isfinite(wear) else 0.0


def _dressing(task, followed, wear_mm, edge_mm, ring, gap_mm):
    """Return the dressing of a pass; a ring wears the edge back along the axis, not round."""
    limit = task.batch.corner_max_mm
    if limit is not None and not followed:
        if limit <= gap_mm:
            raise Refusal(
                f"corner_max_mm must be more than the side gap of {gap_mm:.3f} mm, got {limit:g} "
                "mm: a spark leaves no sharper corner; take a finer last pass."
            )
        limit -= gap_mm  # the hole's corner is the edge's radius and the gap
    if followed and limit is not None:
        limit = max(limit, _ROUGH_CORNER_MM)
    wear = wear_mm if np.isfinite(wear_mm) else 0.0
    batch = replace(task.batch, corner_per_wear=0.0) if ring else task.batch
    return dressing(batch, wear, edge_mm, corner_mm=limit)


class _End:
    """The engaged end of one pass: its section, area, rim and what it meets."""

    def __init__(self, task, stage, sized, before, made):
        self.task, self.stage, self.sized, self.made = task, stage, sized, made
        self.wall = stage.kind in WALL_KINDS
        shape = sized.cavity
        bore = stage.bore_mm
        widest = sized.electrode.smallest_width_mm - 2 * LEAST_WALL_MM
        knob = "a smaller bore must leave a wall around it"
        require("bore_mm", bore, 0, max(widest, 0.0), "mm", knob=knob)
        self.section = with_bore(sized.electrode, bore)
        around = predict(task.around(sized.electrode, bore), sized.settings, task.shop)
        self.gap = float(around.gap_side_um.likely) / 1000
        core = max(bore - 2 * self.gap - 2 * stage.orbit_mm, 0.0)
        self.core_mm = core if core > _LEAST_PIP_MM else 0.0
        depth = task.feature.depth_mm - sized.floor
        self._whole = replace(task.feature, shape=with_bore(shape, self.core_mm), depth_mm=depth)
        inside = before if before is not None and self.wall and _smaller(before, shape) else None
        cut = inside if inside is not None else task.feature.cut_away
        self.touches_in_place = self.wall and (before is None or not _fits(self.section, before))
        # a floor pass meets no wall: its end is looked at without what was cut before
        keep = cut if self.touches_in_place else task.feature.cut_away
        self.feature = replace(self._whole, cut_away=keep)
        self._area()

    def _area(self):
        task, feature, bore = self.task, self.feature, self.stage.bore_mm
        whole = task.around(self.sized.electrode, bore)
        self.section_mm2 = float(whole.engaged_area_mm2)
        self.ring = task.feature.through and feature.cut_away is not None
        if self.ring or not self.made:
            reach = feature.reach_mm(self.section)
            spare = bore_area(self.section, bore)
            area = float(feature.engaged_area_mm2(reach, self.section)) - spare
            rim = float(feature.engaged_rim_mm(reach, self.section))
            whole = replace(whole, engaged_area_mm2=max(area, 1e-4), engaged_rim_mm=rim)
        if self.stage.kind == PIP:
            across = max(self._standing_core, 0.05)
            whole = replace(whole, engaged_area_mm2=pi * across**2 / 4,
                            engaged_rim_mm=pi * across)  # fmt: skip
        self.setup = whole
        self.end_mm2 = float(whole.engaged_area_mm2)
        self.wearing_mm2, self.thin_mm, before = self.section_mm2, 0.0, feature.cut_away
        if before is not None and self.wall:
            self.thin_mm = (self.sized.cavity.smallest_width_mm - before.smallest_width_mm) / 2
        if self.ring:  # the edge is worn over the ring it cuts, gap and all: wear share x depth
            self.wearing_mm2 = self.sized.cavity.area_mm2 - before.area_mm2

    @property
    def floor_from_mm(self):
        """Depth from first contact of the floor that an earlier pass left, None without one."""
        if not (self.made and self.wall and self.touches_in_place) or self.task.feature.through:
            return None
        left = self.made[-1].floor_stock_mm - self.sized.floor
        return max(self.feature.reach_mm(self.section) - left, 0.0)

    @property
    def _standing_core(self):
        """Diameter of the pip that an earlier pass left [mm]."""
        return max((p.pip.diameter_mm for p in self.made if p.pip), default=0.0)

    @property
    def total_mm3(self):
        """Volume gone from the work after this pass, what was cut before the first left out."""
        whole = replace(self._whole, cut_away=self.task.feature.cut_away)
        reach = whole.reach_mm()
        return float(whole.removed_volume_mm3(reach)) - bore_area(whole.shape, self.core_mm) * reach

    def floor_volume(self, made):
        """Return what a pass on the floor removes: a pip, or corner and floor stock [mm³]."""
        if self.stage.kind == PIP:
            return max(sum(p.pip.volume_mm3 for p in made if p.pip), 1e-6)
        before = made[-1]
        corner = (1 - pi / 4) * before.dressing.corner_mm**2 * before.cavity.perimeter_mm
        floor = max(before.floor_stock_mm - self.sized.floor, 0.0) * before.cavity.area_mm2
        return max(corner + floor, 1e-6)

    @property
    def pip(self):
        """The pip that the bore leaves, or None."""
        if not self.core_mm or not self.wall or self.task.feature.through:
            return None
        feature = self.task.feature
        height = feature.floor_below_crown_mm - feature.sag_mm("hole centre") - self.sized.floor
        return pip(self.stage.bore_mm, self.gap, height, orbit_mm=self.stage.orbit_mm)


def _smaller(inner, outer):
    return inner.smallest_width_mm < outer.smallest_width_mm


def _fits(section, cavity):
    return section.smallest_width_mm <= cavity.smallest_width_mm


def _notes(task, stage, sized, end, made):
    """Return what a man should know of this pass beside its numbers."""
    said = []
    if stage.kind == SQUARE:
        said.append("Same section, freshly dressed end: it squares the floor and need not reach "
                    "the wall.")  # fmt: skip
    if made and end.wall and not end.touches_in_place:
        beside = "face" if isinstance(task.feature.face, Flat) else "crown"
        said.append("This end goes into the hole before it touches: touch off beside it, on the "
                    f"{beside}.")  # fmt: skip
    if made and end.wall and not stage.bore_mm and any(p.pip for p in made):
        said.append("This end meets the pip first: start at the lowest current until it is down.")
    if isinstance(sized.electrode, InsertTube):
        standing = sized.electrode.standing(end.gap, task.feature.depth_mm)
        said += [standing.sentence] if standing.sentence else []
    return tuple(said)
