"""What to mind while the dials are read, step by step; plain reminders, not a safety case."""

from edmkit.dials.load_sizing import HOT, READING_S, SAFE_V
from edmkit.planning.facts import Fact
from edmkit.planning.safety import FLUID_OVER_SPARK_MM, Cautions

BEFORE, MACHINE, KIND, CUTS_BACK, TIMES, PITCH, TAPS, DRIVE, REST, PAPERS = range(10)

_PRESS = Fact(  # that sparks belong under fluid: workshop rules; the rest from memory
    "Press firmly before you switch on, and lift after you switch off: only touching and parting "
    f"spark. Have {FLUID_OVER_SPARK_MM[0]} mm of fluid over the contact as for burning.",
    "written rule",
)
_SERVO = Fact(
    "Servo off or the head held: it pulls back from a short. Press as firmly as a drill press, no "
    "more.",
    "common practice",
)
_SCRAP = Fact(
    "Take a stub of copper or brass on bright scrap, not the good electrode: the contact may weld.",
    "common practice",
)
_SECONDS = Fact(
    f"Press for {READING_S} seconds a reading at most, then off: the contact and a small ammeter "
    "get hot.",
    "from memory",
)
_IN_SERIES = Fact(
    "An ammeter goes into the lead, never across electrode and work: across, it is a short and "
    "burns out.",
    "common practice",
)
_RANGE = Fact(
    "Start with the meter's largest range. A small meter's 10 A socket stands that only for "
    "seconds.",
    "common practice",
)
_MEAN = Fact(  # a moving coil shows the mean; an a.c. or effective range does not
    "Set it to d.c. Its mean is what counts here: an a.c. range or an effective value reads wrong "
    "on pulses.",
    "from memory",
)

CAUTIONS = {
    BEFORE: Cautions(
        "Before anything",
        (
            Fact(
                "The maker's manual and the wiring diagram come first: ask the maker, the dealer, "
                "the last owner. What they say beats this page.",
                "common practice",
            ),
            Fact(
                "Electrode and holder carry the open voltage, up to 300 V on old machines. Touch "
                "neither while the generator is on.",
                "from memory",
            ),
            Fact(
                "One hand in the pocket, no rings, no watch, dry floor, and somebody within call.",
                "common practice",
            ),
            Fact(
                f"Above {SAFE_V} V a touch can kill; capacitors keep it after switching off.",
                "from memory",
            ),
            Fact(
                "The cabinet stays shut. If something inside must be looked at, and in an old one "
                "anyway: an electrician.",
                "common practice",
            ),
        ),
    ),
    MACHINE: Cautions(
        "The machine and its switches",
        (
            Fact(
                "Read the labels with the machine off. Its own meters are enough, if their "
                "needles stand at nought when it is off.",
                "common practice",
            ),
            Fact(
                "Turn no switch while current flows, unless the manual allows it: its contacts "
                "burn.",
                "common practice",
            ),
        ),
    ),
    KIND: Cautions(
        "Electrode up, voltmeter",
        (
            Fact(
                "The electrode hangs free, a hand's breadth over the work, and nothing touches it.",
                "common practice",
            ),
            Fact(
                "A meter of your own: insulated clamps, put on with the generator off, and hands "
                "away before you switch on.",
                "common practice",
            ),
            _MEAN,
            Fact("Start with the meter's largest range, 600 V or more.", "common practice"),
        ),
    ),
    CUTS_BACK: Cautions(
        "Does a short make it cut back?",
        (_PRESS, _SERVO, _SCRAP, _SECONDS),
    ),
    TIMES: Cautions(
        "Electrode pressed on scrap, ammeter",
        (_PRESS, _SERVO, _SCRAP, _SECONDS, _IN_SERIES, _RANGE, _MEAN),
    ),
    PITCH: Cautions(
        "The pitch",
        (
            Fact(
                "The phone lies dry beside the tank, not over it and not in the fumes; start it "
                "before the generator.",
                "common practice",
            ),
            Fact(
                "A meter that counts Hz sees the open voltage too: largest range, clamps put on "
                "with the generator off.",
                "common practice",
            ),
            _PRESS,
            _SECONDS,
        ),
    ),
    TAPS: Cautions(
        "The current positions",
        (
            Fact(
                "Start at the smallest current and stop where the meter's range or the leads end; "
                "the larger ones may stay unknown.",
                "common practice",
            ),
            _PRESS,
            _SECONDS,
            _IN_SERIES,
            _RANGE,
        ),
    ),
    DRIVE: Cautions(
        "A resistor between electrode and work",
        (
            Fact(HOT, "common practice"),
            Fact(
                "Its bare ends carry the open voltage. Join and part them with the generator off, "
                "electrode up, away from the fluid.",
                "common practice",
            ),
            Fact(
                "No lamps for a resistor: a filament has ten times the ohms hot that it has cold.",
                "from memory",
            ),
            _IN_SERIES,
        ),
    ),
    REST: Cautions(
        "Stops, flushing, lift",
        (
            Fact(
                "Try lift and flushing with the generator off; fingers out from under the head.",
                "common practice",
            ),
        ),
    ),
    PAPERS: Cautions(
        "The page at the machine",
        (
            Fact(
                "The page says what was measured that day, on that machine. After a repair, or "
                "when burns come out otherwise than they did, read three pairs again.",
                "common practice",
            ),
        ),
    ),
}
