"""A plan put together by hand, for the gate and the card: every field is the test's own."""

from datetime import date
from pathlib import Path
from types import SimpleNamespace

import edmkit as ek
from edmkit.estimate import Estimate
from edmkit.planning.gate import Gate
from edmkit.planning.safety import Bath

MACHINE = ek.read_machine(Path(__file__).parents[1] / "data_demo" / "old_manual_sinker.toml")
SETTINGS = MACHINE.settings("3", "7", "6", "low", lift_burn_s=4, lift_up_s=1)
LABELS = {"peak_current_A": "3", "on_time_us": "7", "off_time_us": "6", "open_voltage_V": "low"}
BATH = Bath(60, 2000)
ALL_SAID = {
    "day": date.today().isoformat(),
    "fluid": "edm_oil",
    "level_over_spark_mm": 55,
    "attended": True,
    "gas_leaves_part": True,
    "current_off_before_lowering": True,
    "earth_checked": True,
    "bath": BATH,
}


def gate(**changed):
    """Return a gate with every answer given, some of them changed."""
    return Gate(**{**ALL_SAID, **changed})


def setup(work="52100", fluid="edm_oil", flushing="suction"):
    """Return the set-up of a small end."""
    return ek.Setup(
        ek.work_material(work), ek.electrode_material("copper"), ek.dielectric(fluid),
        "electrode positive", 7.0, flushing=flushing, machine=MACHINE,
    )  # fmt: skip


def step(depth_mm, label, amps=4.0, minutes=5.0):
    """Return one step of a ramp."""
    return SimpleNamespace(depth_mm=depth_mm, label=label, peak_current_A=amps, minutes=minutes)


def one_pass(number, kind, setup, *, steps=None, notes=(), bore=0.0, readings=None, labels=None,
             trap=None):  # fmt: skip
    """Return one pass; its burn is a real prediction."""
    steps = steps or (step(0.0, "3"),)
    shape = ek.Round(3.0)
    readings = readings or [SimpleNamespace(words="diameter", mm=3.0)]
    return SimpleNamespace(
        number=number, stage=SimpleNamespace(kind=kind), kind=kind, setup=setup,
        settings=SETTINGS, labels=labels or LABELS, burn=ek.predict(setup, SETTINGS),
        electrode=shape, section=shape, readings=readings, cavity=ek.Round(3.05), bore_mm=bore,
        feature=SimpleNamespace(depth_mm=5.0, through=False), minutes=Estimate(17.7, 0.4),
        end_wear_mm=Estimate(0.5, 0.3), corner_left_mm=0.21,
        stop=SimpleNamespace(set_mm=5.64, dial_mm=5.64, holds_mm=0.06, resolution_mm=0.01,
                             trap=trap),
        ramp=SimpleNamespace(steps=steps, resolution_mm=0.01, borne=True, ring=False),
        dressing=SimpleNamespace(
            sentence=lambda display, step: "Dress after every 2 holes: cut back 0.3 mm and touch "
            "off again."),
        dial_step_um=Estimate(12.0, 0.4), pip=None, notes=notes,
    )  # fmt: skip


def plan(passes=None, *, work="52100", fluid="edm_oil", flushing="suction", **changed):
    """Return a plan of the passes given, one rough one if none are."""
    around = setup(work, fluid, flushing)
    fields = {
        "setup": around,
        "passes": passes or (one_pass(1, "rough", around),),
        "feature": SimpleNamespace(
            shape=ek.Round(3.05),
            depth_mm=5.0,
            depth_from="hole centre",
            through=False,
            face=ek.Ball(60.0),
        ),
        "batch": SimpleNamespace(
            parts=40, holes=2, count=80, touch_again=True, order="part by part"
        ),
        "schedule": SimpleNamespace(minutes=Estimate(1500.0, 0.3), longest_burn=Estimate(18, 0.4)),
        "tolerance": SimpleNamespace(
            size_minus_mm=0.0, size_plus_mm=0.06, depth_minus_mm=0.05, depth_plus_mm=0.05
        ),
        "touch": SimpleNamespace(kind="contact", place="in place", feeler_mm=0.0),
        "wall": None,
        "warming": None,
    }
    return SimpleNamespace(**{**fields, **changed})
