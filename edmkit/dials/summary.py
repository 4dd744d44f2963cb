"""The sheet to hang at the machine: what each position means, on one page."""

from datetime import date
from functools import cache

from edmkit.checks import one_of
from edmkit.dials.make_machine import doubts
from edmkit.dials.summary_sheet import BODY, STYLE
from edmkit.dials.survey import SWITCH_WORDS
from edmkit.estimate import Estimate
from edmkit.machine_text import file_stem
from edmkit.materials import electrode_material
from edmkit.physics.pulse import spark_current
from edmkit.planning.card import PAPERS
from edmkit.settings import LIMITS
from edmkit.words import three

_ELECTRODE = "copper"
_KNOWN = {"measured": "", "plate": "plate", "guessed": "guessed", "unknown": ""}
_COUNTS = {
    "from breakdown": "The on-time starts when the spark does.",
    "in a fixed period": "Waiting for the spark is part of the on-time: sparks are shorter than "
    "dialled.",
}
_DRIVES = {
    "short circuit": "The amps are those of a short circuit. A spark gets fewer: the figure beside "
    "them, for {electrode} at {volts} V.",
    "spark": "The amps are those of a spark.",
}
_RUNNING = (
    "The maker's manual and wiring diagram come before this sheet.",
    "Electrode and holder carry up to {volts} V while pulses run: switch off before you touch "
    "them. Capacitors stay charged after that.",
    "After a repair, or when burns change, measure again.",
)


def summary_html(dials, machine, paper="A4"):
    """Return the sheet of a machine: one printable page, black on white, nothing outside it.

    Parameters
    ----------
    dials : Dials
        From the fit.
    machine : Machine
        Made of it by `machine_of`; with a path where its file is written.
    paper : str
        'A4' or 'Letter'.

    Returns
    -------
    str
        A complete HTML document. Up to 24 positions of each switch fit the page.

    Raises
    ------
    Refusal
        If the paper is not one of them.
    """
    size, width, height = PAPERS[one_of("paper", paper, PAPERS)]
    switches = [_switch(dials, machine, name) for name in ("peak_current_A", "on_time_us",
                                                           "off_time_us")]  # fmt: skip
    return _page().render(
        paper=size, width_mm=width, height_mm=height, title=machine.name,
        day=date.today().isoformat(), switches=switches,
        voltage=_switch(dials, machine, "open_voltage_V"),
        most=max(len(s["rows"]) for s in switches), facts=_facts(dials, machine),
        doubts=doubts(dials), running=_running(machine),
    )  # fmt: skip


@cache
def _page():
    """Return the template; every text put into it is escaped."""
    from jinja2 import DictLoader, Environment, StrictUndefined

    sheets = DictLoader({"style": STYLE, "body": BODY})
    return Environment(loader=sheets, autoescape=True, undefined=StrictUndefined).get_template(
        "body"
    )


def _highest(machine):
    return float(machine.open_voltage_V.values.max())


def _switch(dials, machine, name):
    """Return what stands in the table of one switch."""
    switch, words = getattr(machine, name), SWITCH_WORDS[name]
    sparks = name == "peak_current_A" and machine.plate_current == "short circuit"
    faulty = {fault.label for fault in dials.faults if fault.switch == name}
    return {
        "words": words.capitalize() + (", what is on adds up" if switch.adds else ""),
        "unit": LIMITS[name][2],
        "sparks": sparks,
        "rows": [_row(p, machine, sparks, p.label in faulty) for p in switch.positions],
    }


def _row(position, machine, sparks, faulty):
    """Return label, value, band, spark amps and how it is known."""
    low, high = ends(position)
    known = "faulty" if faulty else _KNOWN[position.how_known]
    return {
        "label": position.label,
        "value": three(position.value) + ("?" if position.how_known == "unknown" else ""),
        "band": f"{three(low)} to {three(high)}",
        "spark": three(_spark(position.value, machine)) if sparks else "",
        "known": known,
    }


def ends(position):
    """Return the 5 % and the 95 % end of a position's value, in the unit of the switch."""
    band = Estimate(position.value, position.spread)
    return float(band.low), float(band.high)


def _spark(amps, machine):
    supply = machine.driving_voltage_V or _highest(machine)
    return float(spark_current(amps, supply, electrode_material(_ELECTRODE).discharge_voltage))


def _facts(dials, machine):
    """Return the lines under the tables as (words, text) pairs."""
    volts = three(machine.driving_voltage_V or _highest(machine))
    drives = _DRIVES[machine.plate_current].format(electrode=_ELECTRODE, volts=volts)
    if machine.driving_voltage_V is not None:
        drives += " The open voltage only starts the spark."
    return [
        ("On-time", _COUNTS[machine.on_time_counts]),
        ("Current", drives),
        ("Measured", _measured(dials.survey)),
        ("Marks", "A figure without a mark is measured; one with ? nobody knows."),
        ("Machine file", machine.path.name if machine.path else f"{file_stem(machine.name)}.toml"),
        *([("Note", dials.survey.note)] if dials.survey.note else []),
    ]


def _measured(survey):
    """Say how many readings there are, of which days, and which pitch."""
    days = sorted({at.day for at in (*survey.readings, *survey.tones)})
    count = len(survey.readings)
    said = f"{count or 'no'} reading{'s' * (count != 1)} of the meters"
    if days:
        said += f", {days[0]}" + (f" to {days[-1]}" if days[1:] else "")
    for tone in survey.tones:
        said += (f"; {three(tone.frequency_Hz / 1e3)} kHz at on-time {tone.on_time}, "
                 f"off-time {tone.off_time}")  # fmt: skip
    return f"{said}. Nine times in ten the true value lies between the small figures."


def _running(machine):
    return [words.format(volts=three(_highest(machine))) for words in _RUNNING]
