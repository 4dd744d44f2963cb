"""The burn card: one page for the machine, printed only when the gate is open."""

from datetime import date
from functools import cache

from edmkit.checks import Refusal, one_of, require
from edmkit.planning.card_sheet import BODY, STYLE
from edmkit.planning.electrode import readings
from edmkit.planning.faces import Flat
from edmkit.planning.gate import cautions_for, is_bored, time_text, warming_at_most_K
from edmkit.planning.insert import InsertTube
from edmkit.planning.safety import level_fall_mm
from edmkit.settings import Relaxation
from edmkit.words import Display, three, two

# Each paper: its name in a style sheet, width and height inside 7 mm of margin [mm].
PAPERS = {"A4": ("A4", 196, 282), "Letter": ("letter", 201, 264)}
LONGEST_NAME = 80  # letters that fit the title
_DRAWN_PX = 340  # fits half a sheet at the size its letters are drawn in
_FILED_PX = (90, 112)  # its letters stay readable in the narrowest block
_WITH_INSERT_PX = (150, 160)  # heights of section and insert where both are drawn
_ROUNDS = {1: 5, 2: 2}  # of boxes to write in, by the number of passes; else one
_KINDS = {
    "rough": "Rough",
    "middle": "Middle",
    "finish": "Finish",
    "square the floor": "Square the floor",
    "pip": "Take the pip down",
}
_DIALS = {
    "peak_current_A": ("Current", "A"),
    "on_time_us": ("On-time", "µs"),
    "off_time_us": ("Off-time", "µs"),
    "open_voltage_V": ("Open voltage", "V"),
}
_PARTS = {
    "resistance_ohm": "Resistor",
    "capacitance_uF": "Capacitor",
    "supply_V": "Supply",
    "breakdown_V": "Fires at",
}
_COLUMNS = ("Part, hole", "Pass", "Size {length}", "Depth {length}", "Corner {length}",
            "Ra {rough}, or plate", "Minutes", "Length before", "Length after",
            "Remark")  # fmt: skip


def card_html(plan, gate, display=None, paper="A4", name=""):
    """Return the burn card: one printable page, black on white, with nothing outside it.

    Parameters
    ----------
    plan : Plan
        The whole burn.
    gate : Gate or None
        What was answered before the first spark.
    display : Display or None
        Millimetres or inches.
    paper : str
        'A4' or 'Letter'.
    name : str
        What the job is called.

    Returns
    -------
    str
        A complete HTML document.

    Raises
    ------
    Refusal
        If an answer of the gate is missing, wrong, of another day or of another fluid.
    """
    one_of("paper", paper, PAPERS)
    require("letters of the job's name", len(name), 0, LONGEST_NAME, knob="a shorter name")
    _require_open(plan, gate)
    display = display or Display()
    size, width, height = PAPERS[paper]
    columns = [words.format(length=display.length_unit, rough=display.rough_unit)
               for words in _COLUMNS]  # fmt: skip
    return _page().render(
        paper=size, width_mm=width, height_mm=height, day=gate.day,
        title=name or "Burn card", facts=_facts(plan, gate, display),
        passes=[_block(p, plan, display) for p in plan.passes],
        columns=columns,
        cautions=cautions_for(plan, gate, display), boxes=_boxes(plan, display),
    )  # fmt: skip


@cache
def _page():
    """Return the template; every text put into it is escaped."""
    from jinja2 import DictLoader, Environment, StrictUndefined

    sheets = DictLoader({"style": STYLE, "body": BODY})
    return Environment(loader=sheets, autoescape=True, undefined=StrictUndefined).get_template(
        "body"
    )


def _require_open(plan, gate):
    """Refuse to print before the safety questions are answered for this job and day."""
    if gate is None:
        raise Refusal("gate must be answered before the card prints: answer the safety questions.")
    wrong = list(gate.missing(any(is_bored(p) for p in plan.passes)))
    today, fluid = date.today().isoformat(), plan.setup.dielectric
    if gate.day and gate.day != today:
        wrong.append(f"The answers are of {gate.day} and today is {today}: answer them again.")
    if gate.fluid and gate.fluid != fluid.key:
        wrong.append(f"The plan is for {fluid.name}, and another fluid was answered for: answer "
                     "them again.")  # fmt: skip
    if wrong:
        raise Refusal(f"gate must be open before the card prints, {len(wrong)} still to settle: "
                      + " ".join(wrong))  # fmt: skip


def _band(estimate, scale=float, unit=""):
    """Return the two ends of an estimate, or why there are none."""
    if not estimate.likely == estimate.likely:
        return "burn a trial"
    if not estimate.spread:
        return "as set"
    return f"{two(scale(estimate.low))} to {two(scale(estimate.high))}{unit and ' '}{unit}"


def _facts(plan, gate, display):
    """Return the lines under the title as (words, text) pairs."""
    setup, batch = plan.setup, plan.batch
    count = f"{batch.parts} parts" if batch.parts > 1 else "1 part"
    holes = f", {batch.holes} holes each" if batch.holes > 1 else ""
    whole = time_text(float(plan.schedule.minutes.likely))
    order = f", {batch.order}" if batch.parts > 1 and len(plan.passes) > 1 else ""
    return [
        ("Hole", _hole(plan, display)),
        ("Level", _level(plan, gate, display)),
        ("Work", setup.work.name),
        ("Machine", setup.machine.name if setup.machine else "not described"),
        ("Fluid", setup.dielectric.name),
        ("Touch off", _touch(plan, display)),
        ("Batch", f"{count}{holes}{order}: about {whole}"),
    ]


def _hole(plan, display):
    allowed, feature = plan.tolerance, plan.feature
    allowance = _plus_minus(allowed.size_minus_mm, allowed.size_plus_mm, display)
    first, *more = _sizes(feature.shape, display)
    size = ", ".join([first + allowance, *more])
    if feature.through:
        return f"{size}, right through {display.size_text(feature.depth_mm, 0.01)}"
    depth = display.size_text(feature.depth_mm, 0.01)
    depth += _plus_minus(allowed.depth_minus_mm, allowed.depth_plus_mm, display)
    flat = isinstance(feature.face, Flat)
    return f"{size}; {depth} deep" + ("" if flat else f" from the {feature.depth_from}")


def _plus_minus(minus_mm, plus_mm, display):
    minus, plus = (three(display.length(mm)) for mm in (minus_mm, plus_mm))
    return f" ± {plus}" if minus == plus else f" + {plus} − {minus}"


def _sizes(shape, display):
    """Return what a micrometer shows across a section."""
    return [f"{r.words} {display.size_text(r.mm, 0.01)}" for r in readings(shape)]


def _level(plan, gate, display):
    """Return the level, how far it falls and how much the fluid warms in the longest burn."""
    bath, longest = gate.bath, float(plan.schedule.longest_burn.high)
    level = f"{display.size_text(gate.level_over_spark_mm, 1.0)} over the spark"
    if bath is None:
        return level
    fall = level_fall_mm(bath.suction_l_per_min, longest, bath.tank_area_cm2, bath.returns)
    falls = f"falls {display.size_text(fall, 1.0)}, " if fall else ""
    warms = two(warming_at_most_K(plan, bath))
    return f"{level}; within {time_text(longest)} it {falls}warms {warms} °C at most"


def _touch(plan, display):
    touch = plan.touch
    how = touch.kind
    if touch.kind == "feeler":
        how += f" of {display.size_text(touch.feeler_mm, 0.001)}"
    again = "each hole anew" if plan.batch.touch_again else "only the first hole"
    return f"{how}, {touch.place}" + (f", {again}" if plan.batch.count > 1 else "")


def _picture(p, plan, display):
    """Return the drawing of a pass: to scale where there is room, that is where it is alone.

    A filed insert is drawn too; where there is room for one picture only, in place of the pass.
    """
    from markupsafe import Markup

    from edmkit.planning.drawing import pass_picture, section
    from edmkit.planning.filing_drawing import filing

    has_insert = isinstance(p.electrode, InsertTube)
    if len(plan.passes) > 1:
        small = {"display": display, "width": _FILED_PX[0], "height": _FILED_PX[1]}
        return Markup(filing(p.electrode, **small) if has_insert else pass_picture(p))
    gaps = (float(gap.likely) / 1000 for gap in (p.burn.gap_side_um, p.burn.gap_front_um))
    drawn = section(p.feature, p.section, *gaps, p.bore_mm, display=display,
                    step_mm=p.stop.resolution_mm, width=_DRAWN_PX,
                    height=_WITH_INSERT_PX[0] if has_insert else 240)  # fmt: skip
    filed = (filing(p.electrode, display=display, width=_DRAWN_PX, height=_WITH_INSERT_PX[1])
             if has_insert else "")  # fmt: skip
    return Markup(drawn + filed)


def _block(p, plan, display):
    """Return what stands in the block of one pass."""
    alone = len(plan.passes) == 1
    step = p.stop.resolution_mm
    sizes = [(r.words, display.size_text(r.mm, 0.01)) for r in p.readings]
    if p.bore_mm and "bore" not in dict(sizes):
        sizes.append(("bore", display.size_text(p.bore_mm, 0.01)))
    return {
        "title": "One pass" if alone else f"{p.number}  {_KINDS[p.stage.kind]}",
        "material": p.setup.electrode.name,
        "readings": sizes,
        "picture": _picture(p, plan, display),
        "dials": _dials(p),
        "polarity": p.setup.polarity,
        "stop": display.size_text(p.stop.set_mm, step),
        "dial": display.size_text(p.stop.dial_mm, step),
        "stop_notes": _stop_notes(p, display, step),
        "ramp": _ramp(p, display),
        "expect": _expected(p, display),
        "notes": (p.dressing.sentence(display, step), *p.notes),
    }  # fmt: skip


def _dials(p):
    """Return the switches as (words, worth, label), the current to start with; or the parts."""
    if isinstance(p.settings, Relaxation):
        return [(words, "", p.labels[key]) for key, words in _PARTS.items()]
    first, several = p.ramp.steps[0], len(p.ramp.steps) > 1
    shown = []
    for key, (words, unit) in _DIALS.items():
        label, value = p.labels[key], getattr(p.settings, key)
        if several and key == "peak_current_A":
            words, label, value = "Current to start", first.label, first.peak_current_A
        worth = f"{three(value)} {unit}"
        shown.append((words, "" if label == worth else worth, label))
    return shown


def _stop_notes(p, display, step):
    said = [f"holds ± {display.size_text(p.stop.holds_mm, step)}, nine times in ten"]
    if p.feature.through:  # then a stop that is off shows nowhere
        said = ["go on until the end is clear of the part"]
    if p.stop.trap is not None:
        value = display.size_text(abs(p.stop.trap.value_mm), step)
        said.append(f"{value} of it: {p.stop.trap.name}")
    return said


def _ramp(p, display):
    """Return from which depth which position is used, nothing where one serves throughout."""
    steps = p.ramp.steps
    if len(steps) < 2:
        return []
    step = p.ramp.resolution_mm
    rises = [(f"from {display.size_text(s.depth_mm, step)}", s.label) for s in steps[1:]]
    return [("start", steps[0].label), *rises]


def _expected(p, display):
    """Return time, and what the instruments should show, as (words, value, band)."""
    amps, volts, wear = p.burn.average_current_A, p.burn.mean_voltage_V, p.end_wear_mm
    shown = [
        ("Time", time_text(float(p.minutes.likely)), _time_band(p.minutes)),
        ("Ammeter", f"{three(amps.likely)} A", _band(amps)),
        ("Voltmeter", f"{three(volts.likely)} V", _band(volts)),
    ]
    if p.dial_step_um is not None:
        step = p.dial_step_um
        value = f"{three(display.fine(step.likely))} {display.fine_unit}"
        shown.append(("Dial, each lift", value, _band(step, display.fine)))
    shown.append(("End wears", _worn(wear, display), _band(wear, display.length)))
    flushing, settings = p.setup.flushing, p.settings
    force = f"{three(flushing.pressure_kPa)} kPa" if flushing.pressure_kPa else ""
    shown.append(("Flushing", flushing.kind, force))
    if settings.lift_burn_s is not None:
        up = f"{three(settings.lift_up_s)} s up"
        shown.append(("Lift", f"{three(settings.lift_burn_s)} s down", up))
    return shown


def _worn(wear, display):
    if not wear.likely == wear.likely:
        return "no figure"
    return display.size_text(float(wear.likely), 0.01)


def _time_band(minutes):
    return _band(minutes) if minutes.likely < 240 else _band(minutes, lambda m: m / 60)


def _boxes(plan, display):
    """Return the boxes to write in, row by row; the first of each pass say what is planned."""
    rounds = _ROUNDS.get(len(plan.passes), 1)
    empty = [("", p.number, *[""] * 8) for p in plan.passes]
    return [_planned(p, display) for p in plan.passes] + empty * (rounds - 1)


def _planned(p, display):
    def number(mm):
        return display.size_text(mm, 0.01).split()[0]

    size = " × ".join(number(reading.mm) for reading in readings(p.cavity))
    corner, Ra = number(p.corner_left_mm), display.rough(p.burn.roughness_Ra_um.likely)
    worn = _worn(p.end_wear_mm, display).split()[0]
    likely = size, number(p.feature.depth_mm), corner, three(Ra), two(p.minutes.likely)
    return ("", p.number, *(f"plan {text}" for text in likely), "",
            "" if worn == "no" else f"plan −{worn}", "")  # fmt: skip
