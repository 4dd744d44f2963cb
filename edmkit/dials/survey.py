"""What a person has told of a machine without papers: its switches, meters and readings."""

import re
from dataclasses import dataclass, field, replace
from datetime import date

from edmkit.checks import Refusal, one_of, require
from edmkit.settings import FLUSHING_KINDS, LIMITS

# Where a meter is read: the electrode hangs free, is pressed on scrap, or a resistor lies between.
VOLTS, SHORT, LOAD = "volts, electrode up", "amps, pressed on scrap", "amps, through a resistor"
WHAT = (VOLTS, SHORT, LOAD)
DOUBTED = "recording in doubt"
SOUNDS = ("recording", DOUBTED, "meter", "typed")
SWITCHES = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
SWITCH_WORDS = dict(zip(SWITCHES, ("current", "on-time", "off-time", "open voltage"), strict=True))
MOST = 24  # positions of one switch
NEEDLE = 0.03  # one reading of a needle, standard deviation of its logarithm: assumption
LOWEST_SHARE = 0.02  # of a meter's range: below it the needle cannot be told from its stop
LOWEST_STEPS = 3  # steps of the meter, where they are told: below it a reading is mostly rounding


def _today():
    return date.today().isoformat()


@dataclass(frozen=True)
class Reading:
    """One reading of a meter, where the switches stood, and the day.

    ``current`` names every current switch that was on; ``load_ohm`` is the resistor of a `LOAD`.
    """

    what: str
    value: float
    current: tuple = ()
    on_time: str = ""
    off_time: str = ""
    open_voltage: str = ""
    load_ohm: float | None = None
    day: str = field(default_factory=_today)

    @property
    def pair(self):
        """On-time and off-time position."""
        return self.on_time, self.off_time

    @property
    def unit(self):
        """V or A."""
        return "V" if self.what == VOLTS else "A"


@dataclass(frozen=True)
class Tone:
    """How often the pulses come at one pair of positions [Hz]; spread of the logarithm."""

    frequency_Hz: float
    spread: float
    on_time: str
    off_time: str
    source: str = "typed"
    day: str = field(default_factory=_today)


@dataclass(frozen=True)
class Plate:
    """What a plate, a book or a memory says a position is worth, in the unit of the switch."""

    switch: str
    label: str
    value: float
    how_known: str = "plate"


@dataclass(frozen=True)
class Survey:
    """Everything told so far; each answer makes a new one. Labels are what is engraved.

    ``counts`` is what the person says of the on-time ("from breakdown", "in a fixed period", or
    "" where the voltmeter is to tell); ``short`` what a short does ("holds", "falls back", "");
    a meter without a range is None, and its step 0 where it is not told.
    """

    name: str
    peak_current_A: tuple = ()
    on_time_us: tuple = ()
    off_time_us: tuple = ()
    open_voltage_V: tuple = ("fixed",)
    adds: bool = False
    circuit: str = ""  # "switched", "relaxation", or "" where it is not said yet
    counts: str = ""
    short: str = ""
    ammeter_max_A: float | None = None
    voltmeter_max_V: float | None = None
    ammeter_step_A: float = 0.0  # the smallest step that can be read; 0 where it is not told
    voltmeter_step_V: float = 0.0
    plates: tuple = ()
    readings: tuple = ()
    tones: tuple = ()
    polarity_switch: bool = True
    dial_mm: float = 0.01
    stop_mm: float = 0.01
    flushing: tuple = FLUSHING_KINDS
    lift_burn_s: tuple | None = None
    lift_up_s: tuple | None = None
    note: str = ""
    since: str = ""  # a day; readings before it are kept but do not count

    @property
    def counting(self):
        """The survey with the readings and pitches that count."""
        if not self.since:
            return self
        late = {n: tuple(x for x in getattr(self, n) if x.day >= self.since)
                for n in ("readings", "tones")}  # fmt: skip
        return replace(self, **late)

    def lowest(self, what):
        """Return the smallest reading that says something [V or A]."""
        meter = "voltmeter" if what == VOLTS else "ammeter"
        step, most = (getattr(self, f"{meter}_{end}") for end in
                      (("step_V", "max_V") if what == VOLTS else ("step_A", "max_A")))  # fmt: skip
        return LOWEST_STEPS * step if step else LOWEST_SHARE * (most or 0.0)

    def labels(self, switch):
        """Return the positions of a switch as engraved."""
        return getattr(self, one_of("switch", switch, SWITCHES))

    def told(self, **answers):
        """Return the survey with other answers.

        Raises
        ------
        Refusal
            If what was read before does not go with them: a position is gone, a range too small.
        """
        made = replace(self, **answers)
        try:
            for told in (*made.plates, *made.readings, *made.tones):
                _fits(made, told)
        except Refusal as fault:
            raise Refusal(f"What was read before does not go with that: {fault}") from None
        return made

    def with_reading(self, reading):
        """Return the survey with one more reading; it is checked against switches and meters.

        Raises
        ------
        Refusal
            If a position is not on the machine, or the value is not one the meter can show.
        """
        _fits(self, reading)
        return replace(self, readings=(*self.readings, reading))

    def without(self, told):
        """Return the survey without a reading, a pitch or a plate."""
        lists = {name: tuple(x for x in getattr(self, name) if x != told) for name in _LISTS}
        return replace(self, **lists)

    def with_tone(self, tone):
        """Return the survey with one more pitch; refuses one that cannot be."""
        _fits(self, tone)
        return replace(self, tones=(*self.tones, tone))

    def with_plate(self, plate):
        """Return the survey with what a position is said to be worth, in place of an older word."""
        _fits(self, plate)
        kept = [p for p in self.plates if (p.switch, p.label) != (plate.switch, plate.label)]
        return replace(self, plates=(*kept, plate))


def _fits(survey, told):
    """Refuse a reading, a pitch or a plate that this machine and its meters cannot give."""
    if isinstance(told, Plate):
        word = f"position of the {SWITCH_WORDS.get(told.switch, told.switch)} switch"
        one_of(word, told.label, survey.labels(told.switch))
        low, high, unit = LIMITS[told.switch]
        require(f"position {told.label}", told.value, low, high, unit, knob="look again")
        one_of("how_known", told.how_known, ("plate", "guessed"))
        return
    _on_the_machine(survey, told)
    if isinstance(told, Tone):
        require("the pitch", told.frequency_Hz, 50, 1e6, "Hz", knob="count pulses a second")
        require("its spread", told.spread, 0, 1)
        one_of("how it was counted", told.source, SOUNDS)
    else:
        _readable(survey, told)


def _readable(survey, reading):
    """Refuse a value that the meter cannot show, or so near its stop that it says nothing."""
    volts = reading.what == VOLTS
    most = survey.voltmeter_max_V if volts else survey.ammeter_max_A
    widest = LIMITS["open_voltage_V" if volts else "peak_current_A"][1]
    require(
        "the reading", reading.value, 0, most or widest, reading.unit,
        knob=f"the {'voltmeter' if volts else 'ammeter'} ends there: read again, or set a smaller "
        "current or another range",
    )  # fmt: skip
    least = survey.lowest(reading.what)
    if reading.value <= least:
        raise Refusal(
            f"the reading must be above {least:.3g} {reading.unit}, got {reading.value:g}: so near "
            "its stop a needle says nothing. Take a longer on-time or a shorter off-time, or leave "
            "this pair out."
        )


def _on_the_machine(survey, at):
    """Refuse positions that the machine has not got, and those left out."""
    for switch, word in (("on_time_us", at.on_time), ("off_time_us", at.off_time)):
        _position(survey, switch, word)
    if isinstance(at, Tone):
        return
    one_of("what is read", at.what, WHAT)
    _position(survey, "open_voltage_V", at.open_voltage)
    if at.what == VOLTS:
        return
    if not at.current or (len(at.current) > 1 and not survey.adds):
        raise Refusal(f"current must be {'one or more' if survey.adds else 'one'} of "
                      f"{', '.join(survey.peak_current_A)}, got {' + '.join(at.current) or 'none'}:"
                      " say where the current switch stood.")  # fmt: skip
    for label in at.current:
        _position(survey, "peak_current_A", label)
    if (at.what == LOAD) != (at.load_ohm is not None):
        raise Refusal("load_ohm must be given with a reading through a resistor, and only then, "
                      f"got {at.load_ohm} with {at.what!r}.")  # fmt: skip
    if at.load_ohm is not None:
        require("load_ohm", at.load_ohm, 0.05, 1000, "ohm", knob="read its print")


def _position(survey, switch, label):
    words, known = SWITCH_WORDS[switch], survey.labels(switch)
    if label not in known:
        raise Refusal(f"{words} must be one of {', '.join(known)}, got {label or 'nothing'}: say "
                      f"where the {words} switch stood.")  # fmt: skip


_RANGE = re.compile(r"(\d{1,3})\s*(?:-|\N{EN DASH}|to)\s*(\d{1,3})")


def labels_from(text, switch="on_time_us"):
    """Return the positions of a switch from what a person types: ``1-8``, or ``A B C`` as engraved.

    Parameters
    ----------
    text : str
        The labels with spaces or commas between, or first and last number.
    switch : str
        Which switch, for the sentence of a refusal.

    Raises
    ------
    Refusal
        If there are none, too many, or two are the same.
    """
    ends = _RANGE.fullmatch(text.strip())
    word = f"positions of the {SWITCH_WORDS[switch]} switch"
    if ends:
        first, last = int(ends[1]), int(ends[2])
        labels = [str(n) for n in range(first, last + 1)]
    else:
        labels = re.split(r"[\s,;]+", text.strip().strip(",;")) if text.strip(" ,;") else []
    if not 1 <= len(labels) <= MOST:
        raise Refusal(f"{word} must be 1 to {MOST}, got {len(labels)}: write them as engraved, "
                      "with spaces between, or the first and the last number: 1-8.")  # fmt: skip
    if len(set(labels)) < len(labels) or any("+" in label for label in labels):
        raise Refusal(f"{word} must differ and hold no +, got {' '.join(labels)}.")
    return tuple(labels)


_LISTS = {"readings": Reading, "tones": Tone, "plates": Plate}


def survey_from(values):
    """Return the survey of a dictionary, as `dataclasses.asdict` and JSON make one.

    Raises
    ------
    Refusal
        If it is not one.
    """
    try:
        values = {name: _tupled(value) for name, value in values.items()}
        for name, made in _LISTS.items():
            rows = values.get(name, ())
            values[name] = tuple(made(**{k: _tupled(v) for k, v in row.items()}) for row in rows)
        return Survey(**values).told()
    except (TypeError, AttributeError, ValueError, KeyError) as fault:
        raise Refusal(f"the answers of a machine cannot be read: {fault}.") from None


def _tupled(value):
    return tuple(value) if isinstance(value, list) else value
