"""Dials made by hand for tests: what a practice machine is truly worth, as if it were found out."""

from math import log

import numpy as np

from edmkit.dials.known import Dials, Fault, Kind, Residual, Supply
from edmkit.dials.practice import blank_survey, read
from edmkit.dials.survey import LOWEST_SHARE, SHORT, SWITCHES, Reading
from edmkit.switches import Position, Switch


def readings_of(machine, rng=None, current=None):
    """Return every reading that the needle can show, pressed on scrap, at one current."""
    group = (current or list(machine.peak_current_A)[-1],)
    volts = next(iter(machine.open_voltage_V))
    made = []
    for on in machine.on_time_us:
        for off in machine.off_time_us:
            value = read(machine, SHORT, group, on, off, volts, rng=rng)
            if LOWEST_SHARE * machine.ammeter_max_A <= value <= machine.ammeter_max_A:
                made.append(Reading(SHORT, value, group, on, off, volts, day="2020-02-03"))
    return made


def known_switch(machine, name, known=(), spread=0.03):
    """Return a switch with its true values; ``known`` names those known otherwise than measured."""
    ways = dict(known)
    spreads = {"measured": spread, "plate": 0.1, "unknown": 0.7}
    positions = [
        Position(label, value, way := ways.get(label, "measured"), spreads[way], way == "unknown")
        for label, value in getattr(machine, name).items()
    ]
    return Switch(name, tuple(positions), machine.adds and name == "peak_current_A")


def known_dials(machine, rng=None, known=None, factor_known=True, spread=0.03, readings=None):
    """Return the dials of a machine: true values, readings with what they would be without noise.

    ``known`` is {switch: {label: how known}}. Readings more than 10 % off are outliers.
    """
    survey, residuals = blank_survey(machine), []
    for reading in readings_of(machine, rng) if readings is None else readings:
        survey = survey.with_reading(reading)
        true = read(machine, SHORT, reading.current, *reading.pair, reading.open_voltage)
        off = log(reading.value / true)
        residuals.append(Residual(reading, true, off, bool(np.abs(off) > 0.1)))
    switches = {n: known_switch(machine, n, (known or {}).get(n, {}), spread) for n in SWITCHES}
    faults = [Fault(*one, "its readings do not agree") for one in sorted(machine.bad)]
    return Dials(survey, Kind(machine.counts, ""), Supply(machine.drive, ""), **switches,
                 factor_known=factor_known, noise=machine.meter_noise,
                 residuals=tuple(residuals), faults=tuple(faults))  # fmt: skip
