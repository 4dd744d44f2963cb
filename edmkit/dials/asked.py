"""Which reading is asked for at each step of the survey, and why; the person may take another."""

import numpy as np

from edmkit.dials.load_sizing import SHORT_V
from edmkit.dials.next_reading import ENOUGH, enough, next_pair, time_spreads
from edmkit.dials.survey import LOAD, SHORT, VOLTS, Reading
from edmkit.estimate import BAND

GOOD_DUTY = (0.25, 0.8)  # of a pair at which taps are compared: the needle stands well up
LOADS = 4  # readings through a resistor: two positions, each twice; assumption


def _reading(survey, what, pair, current=(), load=None, volts=None):
    """Return a reading still to be taken."""
    volts = volts or survey.open_voltage_V[0]
    return Reading(what, float("nan"), tuple(current), *pair, volts, load)


def ask_volts(survey, left_out=()):
    """Return which voltage to read next with the electrode up, and why: (`Reading`, str).

    Parameters
    ----------
    survey : Survey
        What was told so far.
    left_out : collection of Reading
        What the person skipped.

    Notes
    -----
    The four ends of the two time switches differ most in duty; then every other voltage once.
    """
    on, off = survey.on_time_us, survey.off_time_us
    corners = [(on[-1], off[0]), (on[0], off[-1]), (on[0], off[0]), (on[-1], off[-1])]
    taken = [(r.pair, r.open_voltage) for r in (*survey.readings, *left_out) if r.what == VOLTS]
    first = survey.open_voltage_V[0]
    for pair in dict.fromkeys(corners):
        if (pair, first) not in taken:
            return _reading(survey, VOLTS, pair), "the ends of the switches differ most in duty"
    for volts in survey.open_voltage_V[1:]:
        if (corners[0], volts) not in taken:
            return _reading(survey, VOLTS, corners[0], volts=volts), "each voltage once"
    return None, "the voltmeter has told what it can"


def usual_current(survey):
    """Return the current positions to read the times at: most readings so far, else one well up.

    Parameters
    ----------
    survey : Survey
        What was told so far.
    """
    taken = [r.current for r in survey.readings if r.what != VOLTS]
    if taken:
        return max(set(taken), key=taken.count)
    labels = survey.peak_current_A
    return (labels[2 * len(labels) // 3],)


def what_to_press(survey):
    """Return what is read for the times: in a short, or through a resistor where that cuts back.

    Parameters
    ----------
    survey : Survey
        What was told so far.
    """
    return LOAD if survey.short == "falls back" else SHORT


def ask_times(solved, current, left_out=(), load_ohm=None):
    """Return which pair to read next for the times, and why: (`Reading`, str).

    Parameters
    ----------
    solved : Solved
        The readings so far.
    current : tuple of str
        The current positions that are on.
    left_out : collection of Reading
        What the person skipped.
    load_ohm : float or None
        The resistor in use, where the times are read through one [ohm].
    """
    survey = solved.model.survey
    what = what_to_press(survey)
    pairs = {r.pair for r in left_out if r.what == what}
    asked = next_pair(solved, current, pairs, what)
    if asked is None:
        return None, "every pair that the meter can show was read or skipped"
    load = load_ohm if what == LOAD else None
    why = asked.why
    if enough(solved):
        why = f"enough, by what the readings say; to go on: {why}"
    return _reading(survey, what, (asked.on_time, asked.off_time), current, load), why


def times_known(solved):
    """Return how well the times are known beside one another, in words.

    Parameters
    ----------
    solved : Solved
        The readings so far.
    """
    spreads = time_spreads(solved)
    seen = spreads[spreads < 1.0]
    if not len(seen):
        return "No time is known yet."
    worst, wanted = 100 * BAND * seen.max(), 100 * BAND * ENOUGH
    unseen = f", {len(spreads) - len(seen)} not at all" if len(seen) < len(spreads) else ""
    return (
        f"{len(seen)} of {len(spreads)} times are known to one another, the worst to "
        f"{worst:.0f} %{unseen}. {wanted:.0f} % is enough."
    )


def good_pair(dials):
    """Return the pair at which amps read best: sound positions, the duty well up.

    Parameters
    ----------
    dials : Dials
        What is known so far.
    """
    bad = {(f.switch, f.label) for f in dials.faults}
    best, found = (
        np.inf,
        (dials.on_time_us.positions[-1].label, dials.off_time_us.positions[0].label),
    )
    for on in dials.on_time_us.positions:
        for off in dials.off_time_us.positions:
            duty = on.value / (on.value + off.value)
            beside = max(GOOD_DUTY[0] - duty, duty - GOOD_DUTY[1], 0.0)
            worn = ("on_time_us", on.label) in bad or ("off_time_us", off.label) in bad
            cost = beside * 10 + 5 * worn + on.spread + off.spread
            if cost < best:
                best, found = cost, (on.label, off.label)
    return found


def full_pair(dials):
    """Return the pair at which a short tells amps best: sound, its duty high and well known.

    Parameters
    ----------
    dials : Dials
        What is known so far.

    Notes
    -----
    The error of a duty d is (1 - d) times that of on over off: a high duty is a sure one.
    """
    bad = {(f.switch, f.label) for f in dials.faults}

    def doubt(on, off):
        duty = on.value / (on.value + off.value)
        worn = ("on_time_us", on.label) in bad or ("off_time_us", off.label) in bad
        return (worn, (1 - duty) * float(np.hypot(on.spread, off.spread)) - 1e-3 * duty)

    pairs = [(on, off) for on in dials.on_time_us.positions for off in dials.off_time_us.positions]
    on, off = min(pairs, key=lambda pair: doubt(*pair))
    return on.label, off.label


def ask_tap(survey, dials, left_out=(), load_ohm=None):
    """Return which current position to read next, and why: (`Reading`, str).

    Parameters
    ----------
    survey : Survey
        What was told so far.
    dials : Dials
        What is known so far.
    left_out : collection of Reading
        What the person skipped.
    load_ohm : float or None
        The resistor in use, where a short makes the machine cut back [ohm].
    """
    what = what_to_press(survey)
    pair = good_pair(dials) if what == LOAD else full_pair(dials)
    taken = [r.current for r in (*survey.readings, *left_out) if r.what == what]
    load = load_ohm if what == LOAD else None
    for label in survey.peak_current_A:
        if (label,) not in taken:
            why = "alone" if survey.adds else "the smallest that was not read"
            if what == LOAD:
                why += f"; {SHORT_V} V or more across the resistor: the fewer amps, the more ohms"
            return _reading(survey, what, pair, (label,), load), why
    return None, "every position of the current was read or skipped"


def ask_load(survey, dials, load_ohm, left_out=()):
    """Return which current to read through the resistor, and why: (`Reading`, str).

    Parameters
    ----------
    survey : Survey
        What was told so far.
    dials : Dials
        What is known so far.
    load_ohm : float or None
        The resistor in use [ohm]; without one nothing is asked.
    left_out : collection of Reading
        What the person skipped.
    """
    if load_ohm is None:
        return None, "say which resistor you have"
    taken = [r for r in (*survey.readings, *left_out) if r.what == LOAD]
    if len(taken) >= LOADS and dials.supply.word:
        return None, dials.supply.why
    return _reading(survey, LOAD, good_pair(dials), usual_current(survey), load_ohm), (
        f"reading {len(taken) + 1}: each one more tells better what drives the current"
    )
