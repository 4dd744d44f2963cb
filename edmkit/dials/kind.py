"""How the on-time counts, told by a voltmeter while the electrode hangs free."""

import numpy as np

from edmkit.dials.known import Kind
from edmkit.dials.survey import SHORT, VOLTS

SAME, DIFFERS = 1.18, 1.35  # highest over lowest of four; assumptions, a needle errs by 3 %
BREAKDOWN, PERIOD = "from breakdown", "in a fixed period"


def kind_of(survey):
    """Return how the on-time counts, a `Kind`: what the person said, else what the voltmeter says.

    Parameters
    ----------
    survey : Survey
        Its readings of the voltmeter with the electrode up.

    Notes
    -----
    The open voltage of a fixed period is switched on and off: the meter shows voltage x duty, so
    pairs of unlike duty read unlike. Counted from breakdown it stays on until a spark comes.
    """
    said, seen = survey.counts, _seen(survey)
    if not said:
        return seen
    if seen.word and seen.word != said:
        return Kind(said, f"You said so, but the voltmeter speaks against it: {seen.why}")
    return Kind(said, "You said so." if not seen.word else f"You said so, and {seen.why}")


def _seen(survey):
    """Return what the voltmeter says, from the voltage position that was read at most pairs."""
    by_position = {}
    for reading in survey.readings:
        if reading.what == VOLTS:
            by_position.setdefault(reading.open_voltage, {})[reading.pair] = reading.value
    if not by_position:
        return Kind("", "no voltage was read yet.")
    volts = max(by_position.values(), key=len)
    if len(volts) < 2:
        return Kind("", "one pair of positions cannot tell: read a second one of unlike times.")
    low, high = min(volts.values()), max(volts.values())
    shown = f"the voltmeter reads {low:.3g} to {high:.3g} V at {len(volts)} pairs"
    if high > DIFFERS * low:
        return Kind(PERIOD, f"{shown}: it follows the duty.")
    if high < SAME * low and _unlike(survey, volts):
        return Kind(BREAKDOWN, f"{shown}: the full voltage, whatever the times.")
    knob = "read the longest on-time with the shortest off-time, and the other way round."
    return Kind("", f"{shown}: that cannot tell; {knob}")


def _unlike(survey, volts):
    """Return whether the pairs can differ in duty: by the ammeter, else by the positions' ends."""
    amps = [r for r in survey.readings if r.what == SHORT and r.pair in volts]
    for current in {r.current for r in amps}:
        logs = [np.log(r.value) for r in amps if r.current == current]
        if len(logs) > 1 and np.ptp(logs) > np.log(1.5):
            return True
    places = [
        np.log(at + 1) - np.log(count - at)
        for on, off in volts
        for at, count in (
            (survey.on_time_us.index(on), len(survey.on_time_us)),
            (len(survey.off_time_us) - 1 - survey.off_time_us.index(off), len(survey.off_time_us)),
        )
    ]
    sums = np.add(places[::2], places[1::2])
    return bool(np.ptp(sums) > 2)
