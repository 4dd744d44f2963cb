"""What measuring the dials is worth: the bands of one job before and after."""

from dataclasses import dataclass, replace

from edmkit.dials.make_machine import machine_of
from edmkit.dials.survey import SWITCHES
from edmkit.estimate import Estimate
from edmkit.materials import dielectric, electrode_material, work_material
from edmkit.planning.faces import Flat
from edmkit.planning.hole import sink
from edmkit.planning.shapes import Round
from edmkit.settings import Setup
from edmkit.switches import HOW_KNOWN_SPREAD, Position

JOB = "a round hole of 3 mm, 5 mm deep in hardened steel with copper"
_DIAMETER_MM, _DEPTH_MM = 3.0, 5.0
# What a toolmaker would reach for on such a hole: assumption; the nearest known position is taken.
_WISHES = {"peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0, "open_voltage_V": 100.0}


@dataclass(frozen=True)
class Band:
    """One answer before and after: each an `Estimate` in ``unit``, before None without one.

    A factor is the upper end of a band over its lower end.
    """

    words: str
    unit: str
    before: Estimate | None
    after: Estimate

    @property
    def factor_before(self):
        """Upper over lower end before, None without a band before."""
        return None if self.before is None else float(self.before.high / self.before.low)

    @property
    def factor_after(self):
        """Upper over lower end after."""
        return float(self.after.high / self.after.low)


def unmeasured(dials):
    """Return the machine with what plates, books and memory say alone, all else unknown.

    Parameters
    ----------
    dials : Dials
        From the fit; its readings are left out.

    Notes
    -----
    How the on-time counts and what drives the current are as measured, so that only values
    differ: a doubt about those two has no band.
    """
    plates = {(p.switch, p.label): p for p in dials.survey.plates}

    def position(name, label):
        plate = plates.get((name, label))
        if plate is None:
            return Position(label, 1.0, "unknown", HOW_KNOWN_SPREAD["unknown"], filled=True)
        spread = HOW_KNOWN_SPREAD[plate.how_known]
        return Position(label, plate.value, plate.how_known, spread)

    bare = {
        name: replace(
            dials.switch(name),
            positions=tuple(position(name, p.label) for p in dials.switch(name).positions),
        )
        for name in SWITCHES
    }
    supply = replace(dials.supply, driving_voltage_V=None)
    return machine_of(replace(dials, **bare, supply=supply, factor_known=True))


def job_positions(machine):
    """Return the positions to burn the job with, a dict switch -> label.

    Parameters
    ----------
    machine : Machine
        The machine as measured: of its well known positions those that suit the job best.
    """
    return {name: _suits(getattr(machine, name), wish) for name, wish in _WISHES.items()}


def _suits(switch, wish):
    known = [c for c in switch.choices if c.how_known in ("measured", "plate")]
    return min(known or switch.choices, key=lambda c: max(c.value / wish, wish / c.value)).label


def before_and_after(before, after, positions=None):
    """Return what `predict` says of one job on a machine before and after it was measured.

    Parameters
    ----------
    before : Machine or None
        As it was known before; its positions are those of ``after``. None leaves it out.
    after : Machine
        As measured.
    positions : dict or None
        Label by switch; None takes `job_positions`.

    Returns
    -------
    tuple of Band
        Minutes, roughness, side gap and wear of `JOB`.
    """
    labels = positions or job_positions(after)
    now = _answers(after, labels)
    past = dict.fromkeys(now) if before is None else _answers(before, labels)
    return tuple(Band(*key, past[key], estimate) for key, estimate in now.items())


def _answers(machine, labels):
    """Return the answers to the job as (words, unit) -> `Estimate`."""
    shape = Round(_DIAMETER_MM)
    setup = Setup(
        work_material("52100"), electrode_material("copper"), dielectric("edm_oil"),
        "electrode positive", shape.area_mm2, machine=machine,
    )  # fmt: skip
    hole = sink(shape, Flat(), _DEPTH_MM, setup, machine.settings(*(labels[n] for n in SWITCHES)))
    return {
        ("Time", "min"): hole.minutes,
        ("Roughness Ra", "µm"): hole.burn.roughness_Ra_um,
        ("Side gap", "µm"): hole.burn.gap_side_um,
        ("Wear", "%"): hole.burn.relative_wear_percent,
    }
