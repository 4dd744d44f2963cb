"""One hole at one setting: the electrode for it, the minutes, the wear, the first touch."""

from dataclasses import dataclass, replace
from math import pi

import numpy as np

from edmkit.burn import Burn, predict
from edmkit.checks import require
from edmkit.estimate import Estimate
from edmkit.physics import finish, removal
from edmkit.planning.faces import Flat
from edmkit.planning.feature import Feature, Shape
from edmkit.planning.shapes import Round, Tube
from edmkit.units import mm, mm2, um
from edmkit.words import Display

DEEP = 3.0  # deeper than this many widths, fluid hardly reaches a blind floor: assumption
_STEPS = 400  # depths searched for the one that bears the current
LEAST_WALL_MM = 0.1  # around a bore: assumption
_DIAL_MM = 0.01
_WORTH_MM = 0.05  # about a working gap: no change of current for less; assumption


_MILLIMETRES = Display()


@dataclass(frozen=True)
class Hole:
    """A hole and what burning it at one setting takes, front gap and passes left out.

    ``electrode`` is the section that leaves the hole at the likely side gap; ``volume_mm3`` the
    work removed; ``dial_step_um`` the dial's step per lift, None without a lift timer.
    ``bears_from_mm`` is the depth from first contact where the end bears the mean current:
    0 from the start, None nowhere.
    """

    feature: Feature
    electrode: Shape
    bore_mm: float
    burn: Burn
    volume_mm3: float
    section_mm2: float
    minutes: Estimate
    end_wear_mm: Estimate
    dial_step_um: Estimate | None
    bears_from_mm: float | None

    @property
    def plate(self):
        """Class of the comparator plate to hold against the hole."""
        return int(finish.comparator_plate(self.burn.roughness_Ra_um.likely * um))

    def warnings(self, display=_MILLIMETRES):
        """Return the sentences of the burn, and where to start low on a curved face."""
        if self.bears_from_mm is None or self.bears_from_mm < _WORTH_MM:
            return self.burn.warnings
        start = (
            "On this face the end touches on a small patch first: start on a low current and "
            f"raise it to this one {display.size_text(self.bears_from_mm, _DIAL_MM)} below first "
            "touch."
        )
        return (*self.burn.warnings, start)

    def speed_over(self, other):
        """Return how many times as fast as another hole this one is burned, as an Estimate."""
        rate = self.burn.ratio(other.burn).removal_rate
        work = other.volume_mm3 / self.volume_mm3
        share = self.burn.settings.burn_share / other.burn.settings.burn_share
        return Estimate(rate.likely * work * share, rate.spread)


def with_bore(shape, bore_mm):
    """Return a round as a tube; other shapes carry the bore beside them."""
    return Tube(shape.d, bore_mm) if type(shape) is Round and bore_mm > 0 else shape


def bore_area(shape, bore_mm):
    """Return the area that a bore takes from a shape that does not know it [mm²]."""
    return 0.0 if isinstance(shape, Round) else pi * bore_mm**2 / 4


def sink(shape, face, depth_mm, setup, settings, shop=None, bore_mm=0.0):
    """Return what one hole takes at one setting.

    Parameters
    ----------
    shape, face : shape and face
        The wanted hole and what it starts on.
    depth_mm : float
        Depth from the crown of the face [mm].
    setup : Setup
        As for `predict`; its area and rim are replaced by those of this hole's electrode.
    settings : Settings or Relaxation
        One setting, or arrays of them.
    shop : Shop or None
        What the shop has learned.
    bore_mm : float
        Bore through the electrode for flushing; 0 is solid [mm].

    Returns
    -------
    Hole

    Raises
    ------
    Refusal
        If the hole, the bore or the gap leave no electrode, or `predict` refuses.

    Notes
    -----
    One setting from first touch to depth, area and rim those of the fully engaged end. The pip
    that a bore leaves is not burned away. Arrays of settings take the electrode of the smallest.
    """
    knob = "a smaller bore must leave a wall around it"
    widest = shape.smallest_width_mm - 2 * LEAST_WALL_MM
    bore = float(require("bore", bore_mm, 0, max(widest, 0), "mm", knob=knob))
    around = replace(setup, engaged_area_mm2=shape.area_mm2, engaged_rim_mm=shape.perimeter_mm)
    gap_mm = float(np.min(predict(around, settings, shop).gap_side_um.likely)) / 1000
    electrode = with_bore(shape, bore).shrunk(gap_mm)
    cavity = with_bore(shape, max(bore - 2 * gap_mm, 0.0)).into(face, depth_mm)
    reach = depth_mm - cavity.first_contact_mm()
    pip = bore_area(shape, max(bore - 2 * gap_mm, 0.0))
    volume = cavity.removed_volume_mm3(reach) - pip * reach
    touch = min(reach, cavity.full_engagement_mm(electrode))
    area = cavity.engaged_area_mm2(touch, electrode) - bore_area(shape, bore)
    rim = cavity.engaged_rim_mm(touch, electrode)
    deep = depth_mm > DEEP * shape.smallest_width_mm and bore == 0
    end = replace(
        setup,
        engaged_area_mm2=float(area),
        engaged_rim_mm=float(rim),
        flushing=replace(setup.flushing, deep_blind=deep, bore_mm=bore or None),
    )
    burn = predict(end, settings, shop)
    section = electrode.area_mm2 - bore_area(shape, bore)
    return Hole(
        cavity,
        electrode,
        bore,
        burn,
        float(volume),
        section,
        burn.minutes(volume),
        burn.end_wear_mm(volume, section),
        None if settings.lift_burn_s is None else burn.dial_step_um(area),
        _bears_from(cavity, electrode, touch, burn) if burn.shape == () else 0.0,
    )


def _bears_from(cavity, electrode, touch, burn):
    """Return the depth from first contact at which the mean current is borne [mm], or None."""
    point = burn.point
    if isinstance(cavity.face, Flat) or point.average_current > point.current_limit:
        return 0.0 if point.average_current <= point.current_limit else None
    depths = touch * np.linspace(0, 1, _STEPS + 1)[1:]
    setup = burn.setup
    factor = removal.ELECTRODE_FACTOR.get(setup.electrode.key, 1.0)
    area = cavity.engaged_area_mm2(depths, electrode)
    rim = cavity.engaged_rim_mm(depths, electrode)
    limit = removal.current_limit(area * mm2, rim * mm, factor, setup.flushing.deep_blind)
    borne = depths[limit >= point.average_current]
    return float(borne[0]) if borne.size else None
