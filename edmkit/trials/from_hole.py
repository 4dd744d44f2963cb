"""A burn as the pages have it, ready to be filled in with what was measured."""

from dataclasses import dataclass, fields, replace

from edmkit.checks import Refusal
from edmkit.planning.feature import Shape
from edmkit.planning.shapes import Keyway, Rectangle, RegularPolygon
from edmkit.trials.measured import Measured
from edmkit.trials.trial import Trial


def named_size_mm(shape):
    """Return the size that a shop calls a shape by [mm].

    Parameters
    ----------
    shape : Shape
        A round's diameter, a polygon's size across flats, a rectangle's length, a keyway's width.
    """
    if isinstance(shape, RegularPolygon):
        return shape.across_flats
    if isinstance(shape, Rectangle):
        return shape.a
    return shape.width if isinstance(shape, Keyway) else shape.d


@dataclass(frozen=True)
class Burning:
    """A burn that stands on a page: what is known before it, and how its volume follows.

    ``cavity`` and ``electrode`` are the sections as planned, ``volume_mm3`` the work to remove
    down to ``depth_mm``; ``core_mm2`` what a bore leaves standing.
    """

    trial: Trial
    cavity: Shape
    electrode: Shape
    volume_mm3: float
    depth_mm: float
    core_mm2: float = 0.0

    def measured(self, **results):
        """Return the burn with its results, and the work and section that follow from them.

        Parameters
        ----------
        **results : Measured, float or str
            Columns of the trial; sizes and depth set the volume and the electrode's section,
            what is not given stays as planned.
        """
        filled = replace(self.trial, **results)
        if filled.depth_mm is None:
            filled = replace(filled, depth_mm=Measured(self.depth_mm, "as planned"))
        hole, tool = filled.hole_size_mm, filled.electrode_size_mm
        wider = self._resized(self.cavity, hole).area_mm2 - self.cavity.area_mm2
        deeper = filled.depth_mm.middle - self.depth_mm
        floor = self.cavity.area_mm2 + wider - self.core_mm2
        volume = self.volume_mm3 + wider * self.depth_mm + floor * deeper
        if not volume > 0:
            raise Refusal(
                f"depth_mm must be more than a scratch, got {filled.depth_mm.middle:g} mm where "
                f"{self.depth_mm:g} were planned: check depth and size."
            )
        section = self.trial.section_mm2
        if tool is not None:
            changed = self._resized(self.electrode, tool).area_mm2 - self.electrode.area_mm2
            section = self.trial.section_mm2 + changed
        return replace(filled, volume_mm3=volume, section_mm2=section)

    @staticmethod
    def _resized(shape, measured):
        """Return a shape as large as it was measured."""
        if measured is None:
            return shape
        per_side = (measured.middle - named_size_mm(shape)) / 2
        return shape.grown(per_side) if per_side >= 0 else shape.shrunk(-per_side)


def of_hole(hole, dialled=""):
    """Return a hole of `planning.hole.sink` as a burn to be filled in.

    Parameters
    ----------
    hole : Hole
        One hole at one setting.
    dialled : str
        The positions as engraved.
    """
    feature, bore = hole.feature, hole.bore_mm
    area = hole.electrode.area_mm2 - hole.section_mm2  # a bore the section does not know
    trial = _trial(hole.burn, hole.section_mm2, dialled)
    trial = replace(
        trial,
        **_drawn(feature.shape, feature.face, feature.depth_mm),
        bore_mm=bore or None,
    )
    return Burning(trial, feature.shape, hole.electrode, hole.volume_mm3, feature.depth_mm, area)


def of_pass(planned, touch, dialled=""):
    """Return a pass of a plan as a burn to be filled in.

    Parameters
    ----------
    planned : Pass
        The pass.
    touch : Touch
        How it was touched off.
    dialled : str
        The positions as engraved.
    """
    feature = planned.feature
    trial = replace(
        _trial(planned.burn, planned.section_mm2, dialled),
        **_drawn(planned.cavity, feature.face, feature.depth_mm - planned.floor_stock_mm),
        stage=planned.stage.kind,
        bore_mm=planned.bore_mm or None,
        orbit_mm=planned.stage.orbit_mm or None,
        stop_mm=planned.stop.set_mm,
        offset_mm=feature.offset_mm or None,
        touch=f"{touch.kind}, {touch.place}",
    )
    depth = feature.depth_mm - planned.floor_stock_mm
    return Burning(trial, planned.cavity, planned.electrode, planned.volume_mm3, depth)


def _drawn(shape, face, depth_mm):
    """Return the columns of a hole as it is drawn."""
    return {
        "shape": type(shape).__name__,
        "face": type(face).__name__,
        "target_size_mm": named_size_mm(shape),
        "target_depth_mm": float(depth_mm),
    }


def _trial(burn, section_mm2, dialled):
    """Return what the set-up and the settings of a burn say."""
    setup, settings, machine = burn.setup, burn.settings, burn.setup.machine
    return Trial(
        machine=machine.name if machine else "",
        machine_file=machine,
        work=setup.work.key,
        electrode=setup.electrode.key,
        polarity=setup.polarity,
        fluid=setup.dielectric.key,
        flushing=setup.flushing.kind,
        flushing_quality=setup.flushing.quality,
        flushing_pressure_kPa=setup.flushing.pressure_kPa,
        engaged_area_mm2=float(setup.engaged_area_mm2),
        engaged_rim_mm=float(setup.rim_mm),
        section_mm2=float(section_mm2),
        dialled=dialled,
        **{field.name: getattr(settings, field.name) for field in fields(settings)},
    )
