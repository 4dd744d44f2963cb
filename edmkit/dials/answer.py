"""From a survey to what every switch means, how well that is known, and what is wrong with it."""

from dataclasses import replace

import numpy as np

from edmkit.dials.faults import faults_of
from edmkit.dials.fit import solve
from edmkit.dials.kind import kind_of
from edmkit.dials.known import Dials, Residual
from edmkit.dials.load_sizing import SHORT_V
from edmkit.dials.model import model_of
from edmkit.dials.supply import SPARK_V, cuts_back, supply_of
from edmkit.dials.survey import DOUBTED, LOAD, SWITCHES, VOLTS
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER, Position, Switch, fill_in

METER = 0.02  # spread of a meter's own scale: class 2.5 of IEC 60051, from memory
GOOD = 0.25  # spread up to which a value counts as measured; assumption
PLATES_ALIKE = 0.05  # what the plates of one machine may err by together; assumption
SCATTER = 0.08  # noise that asks for a reason; assumption
SURELY = 10.0  # gain of log-likelihood from which a meter shows effective values; assumption


def dials_of(survey):
    """Return what every switch of a surveyed machine means, a `Dials`.

    Parameters
    ----------
    survey : Survey
        What was told so far; with few readings most positions stay unknown.
    """
    return answer_of(solved_of(survey))


def solved_of(survey):
    """Return the solved readings of a survey, a `Solved`.

    Parameters
    ----------
    survey : Survey
        What was told so far. Where more flows through a resistor than in a short, the machine
        cuts back: the readings of the short are left out then.
    """
    survey = survey.counting
    kind = kind_of(survey).word
    solved = solve(model_of(survey, kind))
    if survey.short != "falls back" and cuts_back(solved):
        solved = solve(model_of(survey.told(short="falls back"), kind))
    return solved


def answer_of(solved):
    """Return what solved readings say of every switch, a `Dials`.

    Parameters
    ----------
    solved : Solved
        As `solved_of` makes it.
    """
    survey, supply = solved.model.survey, supply_of(solved)
    switches = {name: _switch(solved, name, supply.amps) for name in SWITCHES}
    return Dials(
        survey=survey, kind=kind_of(survey), supply=supply, **switches,
        factor_known=_factor(survey), noise=solved.noise, residuals=_residuals(solved),
        faults=faults_of(solved, switches), notes=_notes(solved),
    )  # fmt: skip


def _factor(survey):
    """Return whether a pitch or a plate tells what the times are in microseconds."""
    plates = [p for p in survey.plates if p.switch in ("on_time_us", "off_time_us")]
    return bool(survey.tones) or any(p.how_known == "plate" for p in plates)


def _read(model):
    """Return the names and labels of the positions that the counted readings have seen."""
    seen = set()
    for reading in model.readings:
        if reading.what == VOLTS:
            seen.add(("open_voltage_V", reading.open_voltage))
        else:
            seen |= {("peak_current_A", label) for label in reading.current}
        if reading.what != VOLTS or model.kind == "in a fixed period":
            seen |= {("on_time_us", reading.on_time), ("off_time_us", reading.off_time)}
    return seen


def _contested(solved):
    """Return the time positions of which no more readings count than are left out."""
    tally = {}
    for reading, counts in zip(solved.model.readings, solved.counts, strict=True):
        if reading.what != VOLTS:
            for place in (("on_time_us", reading.on_time), ("off_time_us", reading.off_time)):
                tally[place] = tally.get(place, 0) + (1 if counts else -1)
    return {place for place, more in tally.items() if more <= 0}


def _like_a_short(solved):
    """Return the readings through a resistor that may have been taken for a short."""
    model = solved.model
    if model.survey.short != "falls back":
        return []
    loads = [r for r in model.readings if r.what == LOAD]
    return [r for r in loads if r.value / _duty(solved, r) * r.load_ohm < SHORT_V]


def _duty(solved, reading):
    on, off = (solved.x[place] for place in solved.model.places(reading))
    return 1 / (1 + np.exp(off - on))


def _taken_for_short(solved):
    """Return the current positions of which no reading had a spark's volts across the resistor."""
    low, loads = _like_a_short(solved), [r for r in solved.model.readings if r.what == LOAD]
    told = {label for r in loads if r not in low for label in r.current}
    return {("peak_current_A", x) for r in low for x in r.current if x not in told}


def _switch(solved, name, amps):
    """Return a switch: values measured, from the plate, or filled in from the neighbours."""
    survey = solved.model.survey
    read = _read(solved.model) - _contested(solved) - _taken_for_short(solved)
    plates = {p.label: p for p in survey.plates if p.switch == name}
    made = []
    for label in survey.labels(name):
        value, spread = _value(solved, name, label, amps)
        if (name, label) in read and spread < GOOD and (not _is_time(name) or _factor(survey)):
            made.append(Position(label, value, "measured", spread))
        elif label in plates:
            plate = plates[label]
            usual = HOW_KNOWN_SPREAD[plate.how_known]
            made.append(Position(label, plate.value, plate.how_known, usual))
        elif (name, label) in read and spread < 2:
            made.append(Position(label, value, "unknown", max(spread, GOOD)))
        else:
            made.append(Position(label, np.nan, "unknown", HOW_KNOWN_SPREAD["unknown"], True))
    values = fill_in([p.value for p in made], *LADDER[name])
    places = zip(made, values, strict=True)
    positions = tuple(replace(p, value=float(v)) if p.filled else p for p, v in places)
    return Switch(name, positions, name == "peak_current_A" and survey.adds)


def _is_time(name):
    return name in ("on_time_us", "off_time_us")


def _value(solved, name, label, amps):
    """Return the value of a position and the spread of its logarithm."""
    model, x = solved.model, solved.x
    row = np.zeros(model.size)
    row[model.place(name, label)] = 1.0
    value = np.exp(x[model.place(name, label)])
    if name == "peak_current_A" and amps == "spark" and model.loads_only:
        share = 1 - SPARK_V / model.volts * x[-1]
        value, row[-1] = value * share, -SPARK_V / model.volts / share
    spread = float(solved.spread(row))
    if not _is_time(name):
        spread = float(np.hypot(spread, METER))
    elif not model.survey.tones:
        spread = float(np.hypot(spread, PLATES_ALIKE))
    return float(value), spread


def _residuals(solved):
    """Return every reading beside what all of them together make of it."""
    rows = zip(solved.model.readings, solved.missed, solved.counts, strict=True)
    return tuple(
        Residual(r, float(r.value / np.exp(miss)), float(miss), not counts)
        for r, miss, counts in rows
    )


def _notes(solved):
    """Return sentences on the readings as a whole."""
    model, survey, notes = solved.model, solved.model.survey, []
    dropped = [r for r in survey.readings if r not in model.readings]
    shorts = [r for r in dropped if r.what != VOLTS]
    if shorts:
        notes.append(f"{len(shorts)} readings of the short are left out: a machine that cuts back "
                     "in a short shows less than it gives a spark.")  # fmt: skip
    if low := _like_a_short(solved):
        notes.append(f"{len(low)} readings through the resistor had less than {SHORT_V} V across "
                     "it: the machine may have taken them for a short. Use more ohms "
                     "there.")  # fmt: skip
    if len(dropped) > len(shorts):
        notes.append("The readings of the voltmeter wait until it is clear how the on-time counts.")
    if _effective(solved):
        notes.append("The ammeter seems to show effective values: that fits these readings far "
                     "better. Set it to d.c. and read again.")  # fmt: skip
    elif solved.noise > SCATTER:
        notes.append(f"All the readings scatter by {100 * solved.noise:.0f} %, more than a needle "
                     "does: the current switch may make poor contact. Turn it to and fro, or read "
                     "through another position.")  # fmt: skip
    if [t.source for t in survey.tones] == [DOUBTED]:
        notes.append("The one pitch was in doubt when it was taken, and all the times hang on it: "
                     "hear a second pair.")  # fmt: skip
    missed = model.tones(solved.x)[0]
    for tone, miss, counts in zip(survey.tones, missed, solved.pitches, strict=True):
        if not counts:
            octave = abs(abs(miss) - np.log(2)) < 0.15
            slip = ": perhaps an octave off" if octave else ""
            notes.append(
                f"The pitch of {tone.frequency_Hz:.3g} Hz at on-time {tone.on_time}, off-time "
                f"{tone.off_time} does not go with the rest{slip}. Hear it again, or take it out."
            )
    return tuple(notes)


def _effective(solved):
    """Return whether the readings are effective values of the pulses rather than their means."""
    if solved.freedom < 12:
        return False
    effective = solve(replace(solved.model, power=0.5))
    return solved.freedom * np.log(solved.noise / effective.noise) > SURELY
