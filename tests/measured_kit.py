"""Dials put together by hand, for whoever uses the answer of the fit: invented values."""

import numpy as np

from edmkit.dials.known import Dials, Fault, Kind, Supply
from edmkit.dials.survey import LOAD, SHORT, VOLTS, Reading, Survey, Tone
from edmkit.estimate import Estimate
from edmkit.switches import HOW_KNOWN_SPREAD, Position, Switch, fill_in

VALUES = {
    "peak_current_A": [1.5, 2.5, 4.0, 6.0, 9.0, 12.0, 16.0, 20.0],
    "on_time_us": [2.0, 4.5, 11.0, 24.0, 52.0, 95.0, 180.0, 400.0],
    "off_time_us": [3.0, 7.0, 13.0, 27.0, 60.0, 110.0, 220.0, 450.0],
    "open_voltage_V": [100.0, 140.0],
}
DAY = "2026-05-03"


def switch(name, values, spread=0.02, how_known="measured", adds=False):
    """Return a switch labelled from 1; None is a position that nobody knows."""
    filled = fill_in([np.nan if v is None else v for v in values], 1.0, 20.0)
    unknown = HOW_KNOWN_SPREAD["unknown"]
    return Switch(name, tuple(
        Position(str(i), float(f), "unknown", unknown, True) if v is None
        else Position(str(i), float(v), how_known, spread)
        for i, (v, f) in enumerate(zip(values, filled, strict=True), 1)
    ), adds)  # fmt: skip


def readings(labels, day=DAY):
    """Return one reading for every on x off pair, one for each tap and each voltage."""
    volts = labels["open_voltage_V"][0]
    tap, on, off = (labels[n][0] for n in ("peak_current_A", "on_time_us", "off_time_us"))
    pairs = [Reading(SHORT, 3.0, (tap,), a, b, volts, day=day)
             for a in labels["on_time_us"] for b in labels["off_time_us"]]  # fmt: skip
    taps = [Reading(SHORT, 3.0, (t,), on, off, volts, day=day) for t in labels["peak_current_A"]]
    highs = [Reading(VOLTS, 90.0, (), on, off, v, day=day) for v in labels["open_voltage_V"]]
    return (*pairs, *taps, *highs, Reading(LOAD, 2.0, (tap,), on, off, volts, 5.0, day))


def some_dials(name="Bench sinker (invented)", kind="from breakdown", supply="resistor-limited",
               driving=None, amps="short circuit", factor_known=True, faults=(), noise=0.03,
               spread=0.02, day=DAY, told=None, adds=False, **values):  # fmt: skip
    """Return dials with these values by switch; ``told`` are other answers of the survey."""
    values = {**VALUES, **values}
    switches = {n: switch(n, v, spread, adds=adds and n == "peak_current_A")
                for n, v in values.items()}  # fmt: skip
    labels = {n: tuple(p.label for p in s.positions) for n, s in switches.items()}
    survey = Survey(name, **labels, adds=adds, circuit="switched", ammeter_max_A=30.0,
                    voltmeter_max_V=200.0, readings=readings(labels, day),
                    tones=(Tone(2000.0, 0.01, "1", "1", day=day),))  # fmt: skip
    return Dials(
        survey.told(**(told or {})), Kind(kind, ""),
        Supply(supply, "", driving and Estimate(driving, 0.03),
               "spark" if supply == "regulated" else amps), **switches,
        factor_known=factor_known, noise=noise, faults=tuple(Fault(*f) for f in faults),
    )  # fmt: skip
