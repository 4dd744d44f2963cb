"""From what the dials turned out to mean to the machine that every page needs."""

from dataclasses import replace

from edmkit.checks import Refusal
from edmkit.dials.survey import SWITCH_WORDS, SWITCHES
from edmkit.machine import FlushingMeans, Lift, Machine, Resolution, machine_from_text
from edmkit.machine_text import machine_text
from edmkit.materials import electrode_material
from edmkit.switches import HOW_KNOWN_SPREAD

TIMES = ("on_time_us", "off_time_us")
LEAST_DRIVING_V = 35.0  # a machine file takes no less: above the 30 V of a spark from graphite
_DIGITS, _SPREAD_DIGITS = 4, 2
_LEAST_SPREAD = 0.001  # a machine file takes no less; no meter of a shop is as good
_ASSUMED_KIND = "How the on-time counts was not measured: from breakdown is assumed."
_ASSUMED_SUPPLY = (
    "What drives the current was not measured: resistors are assumed, as in most old machines, so "
    "the amps are those of a short circuit."
)


def machine_of(dials):
    """Return the machine that a survey and its fit describe.

    Parameters
    ----------
    dials : Dials
        From the fit. Values are rounded to four digits, spreads to two.

    Returns
    -------
    Machine
        Without a path. Positions that nobody knows stay so, their values filled in from their
        neighbours; the note says what was assumed.

    Raises
    ------
    Refusal
        If it is a relaxation circuit, has no name, or a value lies outside what a machine file
        takes; the position is named.

    Notes
    -----
    Times that are known to one another only keep their values, as unknown ones: their level may
    be off by a factor of two. A value with more doubt than its neighbours' is left out.
    """
    survey = dials.survey
    if survey.circuit == "relaxation":
        raise Refusal(
            "circuit must be one of switched pulses, got a relaxation circuit: a machine file "
            "cannot describe it. Its energy follows from its resistor and its capacitors."
        )
    lift = (survey.lift_burn_s, survey.lift_up_s)
    draft = Machine(
        name=survey.name,
        **{name: _kept_switch(dials, name) for name in SWITCHES},
        on_time_counts=dials.kind.word or "from breakdown",
        plate_current=dials.supply.amps,
        polarity_switch=survey.polarity_switch,
        resolution=Resolution(survey.dial_mm, survey.stop_mm),
        note=_note(dials),
        ammeter_max_A=survey.ammeter_max_A,
        voltmeter_max_V=survey.voltmeter_max_V,
        lift=None if None in lift else Lift(*lift),
        flushing=FlushingMeans(survey.flushing),
    )
    machine = machine_from_text(machine_text(draft), f"the machine file of {survey.name}")
    return replace(machine, driving_voltage_V=_driving(dials, machine))


def _note(dials):
    """Return the person's own note and what was assumed."""
    said = [dials.survey.note]
    said += [_ASSUMED_KIND] * (not dials.kind.word) + [_ASSUMED_SUPPLY] * _supply_assumed(dials)
    return " ".join(sentence for sentence in said if sentence)


def _supply_assumed(dials):
    return not dials.supply.word and dials.supply.amps == "short circuit"


def _kept_switch(dials, name):
    switch = dials.switch(name)
    level_known = dials.factor_known or name not in TIMES
    return replace(switch, positions=tuple(_kept(p, level_known) for p in switch.positions))


def _kept(position, level_known):
    """Return a position as the file says it."""
    most = HOW_KNOWN_SPREAD["unknown"]
    if position.filled or (level_known and position.spread > most):
        return replace(position, how_known="unknown", spread=most, filled=True)
    value = float(f"{position.value:.{_DIGITS}g}")
    spread = max(float(f"{position.spread:.{_SPREAD_DIGITS}g}"), _LEAST_SPREAD)
    if not level_known:
        return replace(position, value=value, how_known="unknown", spread=max(spread, most))
    return replace(position, value=value, spread=spread)


def _driving(dials, machine):
    """Return the voltage that drives the current where it is another than the open one [V]."""
    found = dials.supply.driving_voltage_V
    if dials.supply.word != "two voltages" or found is None:
        return None
    volts = float(f"{found.likely:.{_DIGITS}g}")
    fits = LEAST_DRIVING_V <= volts <= machine.open_voltage_V.values.min()
    return volts if fits else None


def doubts(dials):
    """Return what is not known yet and what each makes wide, a tuple of sentences.

    Parameters
    ----------
    dials : Dials
        From the fit.
    """
    machine = machine_of(dials)
    return (
        *_of_the_kind(dials),
        *_of_the_current(dials, machine),
        *_of_the_times(dials),
        *(words for name in SWITCHES for words in _of_a_switch(dials, machine, name)),
        *_of_the_lift(dials.survey),
    )


def _of_the_kind(dials):
    if not dials.kind.word:
        yield (
            "How the on-time counts is not known; from breakdown is assumed. If waiting for the "
            "spark counts too, sparks are shorter than said: slower and finer."
        )


def _of_the_current(dials, machine):
    """Say what is not known of what drives the current."""
    lowest, word = machine.open_voltage_V.values.min(), dials.supply.word
    if _supply_assumed(dials):
        spark = electrode_material("copper").discharge_voltage
        yield (
            "What drives the current is not known; resistors are assumed. If it is regulated, a "
            f"spark has up to {100 * spark / (lowest - spark):.0f} % more amps than said here: "
            "faster and rougher."
        )
    if word == "two voltages" and machine.driving_voltage_V is None:
        found = dials.supply.driving_voltage_V
        got = "is not known" if found is None else f"came out at {found.likely:.3g} V"
        yield (
            f"The voltage that drives the current {got}, which is not {LEAST_DRIVING_V:g} to "
            f"{lowest:.3g} V; the open voltage stands in for it. Sparks have fewer amps than "
            "said: slower and finer."
        )


def _of_the_times(dials):
    if not dials.factor_known:
        yield (
            "The times are known to one another, not in microseconds: minutes, finish and "
            "wear are all wide. One pitch of the buzz, or one time from a plate, settles them all."
        )


def _of_a_switch(dials, machine, name):
    """Say which positions nobody knows, and which are not to be trusted."""
    word, positions = SWITCH_WORDS[name].capitalize(), getattr(machine, name).positions
    unknown = [p.label for p in positions if p.filled]
    if len(unknown) == len(positions):
        yield f"{word}: no position is known; the values are a guess, every answer is wide."
    elif unknown:
        yield (
            f"{word} {', '.join(unknown)}: not known, read off the neighbours; every answer is "
            "wide there."
        )
    for fault in dials.faults:
        if fault.switch == name:
            yield f"{word} {fault.label} is not to be trusted: {fault.why.rstrip('.')}."


def _of_the_lift(survey):
    if (survey.lift_burn_s is None) != (survey.lift_up_s is None):
        yield "Only half of the lift timer is known, so it is left out: minutes leave lifts out."
