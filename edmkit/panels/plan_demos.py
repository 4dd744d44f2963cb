"""Invented demo jobs for page 03: no shop ever burned them, and no number here was measured."""

from dataclasses import dataclass, replace

from edmkit.panels.job import nearest
from edmkit.panels.plan_job import KEYWAY, POLYGON, PlanJob


@dataclass(frozen=True)
class Demo:
    """An invented job, what it shows, and an invented shop that knows its gap and wear.

    ``factors`` are measured over predicted, known to ``spread``; ``wishes`` is what the switches
    shall be near to, for each pass, empty where the kit picks.
    """

    job_: PlanJob
    lesson: str
    factors: dict
    wishes: tuple = ()
    volts: float = 100.0
    spread: float = 0.1

    def job(self, switches):
        """Return the job on these switches.

        Parameters
        ----------
        switches : dict
            The four switches by name.
        """
        hand = tuple(
            nearest(switches, {**wish, "open_voltage_V": self.volts}) for wish in self.wishes
        )
        volts = {"open_voltage_V": switches["open_voltage_V"]}
        positions = nearest(volts, {"open_voltage_V": self.volts})
        return replace(self.job_, positions=positions, hand=hand or None)


def _dialled(amps, on_us, off_us):
    return {"peak_current_A": amps, "on_time_us": on_us, "off_time_us": off_us}


_LIFT = {"lift_burn_s": 4.0, "lift_up_s": 1.0}
_SOCKETS = PlanJob(
    name="Hex sockets in dowel pins (invented)",
    flushing="suction",
    shape=POLYGON,
    size=4.06,
    size_plus=0.04,
    size_minus=0.02,
    depth=4.0,
    depth_plus=0.1,
    depth_minus=0.1,
    corner_max=0.15,
    bore=1.2,
    part_kind="pin along its axis",
    part_diameter=10.0,
    part_length=40.0,
    passes="2",
    parts=24,
    order="rough all, then finish all",
    usable=20.0,
    corner_per_wear=0.3,
    **_LIFT,
)
_KEYWAY = PlanJob(
    name="Keyway corners in a gear bore (invented)",
    flushing="side jet",
    shape=KEYWAY,
    size=5.0,
    second=2.35,
    key_bore=16.0,
    corner=0.08,
    size_plus=0.015,
    size_minus=0.015,
    depth=20.0,
    through=True,
    already_cut_per_side=0.05,
    already_cut_corner=0.5,
    corner_max=0.16,
    passes="1",
    parts=6,
    **_LIFT,
)
_ROLLERS = PlanJob(
    name="Locating holes in domed rollers (invented)",
    flushing="lift only",
    size=3.05,
    size_plus=0.06,
    depth=5.0,
    depth_plus=0.05,
    depth_minus=0.05,
    depth_from="hole centre",
    face="Ball or dome",
    face_diameter=60.0,
    offset=4.0,
    corner_max=0.25,
    part_kind="pin along its axis",
    part_diameter=16.0,
    part_length=24.0,
    part_pitch=8.0,
    rod=3.0,
    max_Ra_um=None,
    parts=40,
    holes=2,
    corner_per_wear=0.2,
    **_LIFT,
)
DEMOS = {
    "Hex sockets in dowel pins": Demo(
        _SOCKETS,
        "The bore that lets the fluid through leaves a pip, and the finish electrode meets the "
        "pip first: start it at the lowest current.",
        {"removal_rate": 3.5, "relative_wear": 2.0, "gap_side": 0.75},
        (_dialled(6, 100, 50), _dialled(3, 50, 50)),
    ),
    "Keyway corners in a gear bore": Demo(
        _KEYWAY,
        "Only a thin skin and two corners are left to burn: the area decides, not the switch. "
        "Lowest current, a long pause, quick lifts; and an end that is longer than the bore by "
        "what its edge wears off.",
        {"removal_rate": 3.5, "relative_wear": 2.0, "gap_side": 0.75},
    ),
    "Locating holes in domed rollers": Demo(
        _ROLLERS,
        "The end touches the dome before it reaches the hole's centre, where the drawing "
        "measures from: the drawing's 5.00 set from there leaves the hole 0.164 mm too shallow.",
        {"removal_rate": 3.5, "relative_wear": 2.0, "gap_side": 0.7},
        (_dialled(3, 50, 50),),
    ),
}
