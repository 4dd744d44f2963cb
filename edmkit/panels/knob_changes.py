"""The next position of every knob that works against arcs, as the page's machine has it."""

from dataclasses import replace

import numpy as np

from edmkit.checks import Refusal
from edmkit.flushing.knob_order import ARCS
from edmkit.panels.switch_controls import switch_texts
from edmkit.words import three

_MORE = 1.5  # one notch of a valve
_WIDER = 1.25  # one notch of the servo knob


def changes(page):
    """Return the next position of each knob that has one.

    Parameters
    ----------
    page : WhyDoesItArc
        Gives ``job``, ``machine``, ``switches``, ``shop``, ``hole``, ``window``, ``bench``.

    Returns
    -------
    dict
        Name of a knob of `ARCS` -> words, hole, bench.
    """
    made = {}
    for knob in ARCS:
        try:
            changed = _WAYS[knob.name](page, knob)
        except Refusal:
            continue  # a notch that the hole or the machine does not bear is none
        if changed:
            made[knob.name] = changed
    return made


def _hole(page, **fields):
    return replace(page.job, **fields).hole(page.machine, page.switches, page.shop)


def _switch(page, knob):
    name = knob.name
    switch, now = page.switches[name], page.job.positions[name]
    away = (switch.values - switch.values[now]) * knob.way
    if not (away > 0).any():
        return None
    place = int(np.argmin(np.where(away > 0, away, np.inf)))
    hole = _hole(page, positions={**page.job.positions, name: place})
    return switch_texts(switch)[place], hole, page.bench


def _flow(page, _):
    shown = page.window
    if not shown.pressures_kPa:
        return None
    wanted = float(min(_MORE * shown.pressure_kPa, shown.strongest_kPa))
    if wanted <= shown.pressure_kPa:
        return None
    words = f"{three(wanted)} kPa"
    return words, page.hole, replace(page.bench, pressure_kPa=wanted)


def _lift(page, _):
    job, lift = page.job, getattr(page.machine, "lift", None)
    if job.lift_burn_s is None:
        return None
    wanted = job.lift_burn_s / 2
    if lift and wanted < lift.burn_s[0]:
        return None
    return f"{three(wanted)} s of burning", _hole(page, lift_burn_s=wanted), page.bench


def _gap(page, _):
    wider = _WIDER * float(page.hole.burn.gap_front_um.likely)
    hole = _hole(page, gap_front_um=wider, servo_voltage_V=None)
    volts = three(hole.burn.mean_voltage_V.likely)
    gap = f"{three(page.display.fine(wider))} {page.display.fine_unit}"
    return f"{volts} V, a gap of {gap}", hole, page.bench


_WAYS = {"off_time_us": _switch, "peak_current_A": _switch, "on_time_us": _switch,
         "flow": _flow, "lift_burn_s": _lift, "gap_front_um": _gap}  # fmt: skip
