"""What a person has told of a machine without papers: its switches, meters and readings."""

from dataclasses import dataclass, field, fields, replace
from datetime import date

from edmkit.checks import Refusal, one_of, require
from edmkit.settings import FLUSHING_KINDS, LIMITS

# Where a meter is read: the electrode hangs free, is pressed on scrap, or a resistor lies between.
VOLTS, SHORT, LOAD = "volts, electrode up", "amps, pressed on scrap", "amps, through a resistor"
WHAT = (VOLTS, SHORT, LOAD)
SOUNDS = ("recording", "meter", "typed")
SWITCHES = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
SWITCH_WORDS = dict(zip(SWITCHES, ("current", "on-time", "off-time", "open voltage"), strict=True))
MOST = 24  # positions of one switch
NEEDLE = 0.03  # one reading of a needle, standard deviation of its logarithm: assumption
LOWEST_SHARE = 0.02  # of a meter's range: below it the needle cannot be told from its stop


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
    a meter without a range is None.
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

    def labels(self, switch):
        """Return the positions of a switch as engraved."""
        return getattr(self, one_of("switch", switch, SWITCHES))

    def told(self, **answers):
        """Return the survey with other answers."""
        return replace(self, **answers)

    def with_reading(self, reading):
        """Return the survey with one more reading; it is checked against switches and meters.

        Raises
        ------
        Refusal
            If a position is not on the machine, or the value is not one the meter can show.
        """
        _on_the_machine(self, reading)
        most = self.voltmeter_max_V if reading.what == VOLTS else self.ammeter_max_A
        meter = "voltmeter" if reading.what == VOLTS else "ammeter"
        widest = LIMITS["open_voltage_V" if reading.what == VOLTS else "peak_current_A"][1]
        require("the reading", reading.value, 0, most or widest, reading.unit,
                knob=f"the {meter} ends there: read again, or set a smaller current or another "
                "range")  # fmt: skip
        if reading.value < LOWEST_SHARE * (most or 0) or reading.value == 0:
            raise Refusal(
                f"the reading must be above {LOWEST_SHARE * (most or 0):.3g} {reading.unit}, got "
                f"{reading.value:g}: so near its stop a needle says nothing. Take a longer on-time "
                "or a shorter off-time, or leave this pair out."
            )
        return self.told(readings=(*self.readings, reading))

    def with_tone(self, tone):
        """Return the survey with one more pitch; refuses one that cannot be."""
        _on_the_machine(self, tone)
        require("the pitch", tone.frequency_Hz, 50, 1e6, "Hz", knob="count pulses a second")
        return self.told(tones=(*self.tones, tone))

    def with_plate(self, plate):
        """Return the survey with what a position is said to be worth, in place of an older word."""
        one_of("position", plate.label, self.labels(plate.switch))
        low, high, unit = LIMITS[plate.switch]
        require(f"position {plate.label}", plate.value, low, high, unit, knob="look again")
        kept = [p for p in self.plates if (p.switch, p.label) != (plate.switch, plate.label)]
        return self.told(plates=(*kept, plate))


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
        survey = Survey(**values)
        first = replace(survey, readings=(), tones=(), plates=())
        for plate in survey.plates:
            first = first.with_plate(plate)
        for reading in survey.readings:
            first = first.with_reading(reading)
        for tone in survey.tones:
            first = first.with_tone(tone)
    except (TypeError, AttributeError, ValueError) as fault:
        raise Refusal(f"the answers of a machine cannot be read: {fault}.") from None
    return survey


def _tupled(value):
    return tuple(value) if isinstance(value, list) else value


FIELDS = tuple(f.name for f in fields(Survey))
