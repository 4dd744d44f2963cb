"""Which reading to take next: the one that narrows what is known worst; and which to repeat."""

from dataclasses import dataclass

import numpy as np

from edmkit.dials.fit import OUTLIER
from edmkit.dials.survey import SHORT, SWITCH_WORDS
from edmkit.words import three

ENOUGH = 0.06  # spread of a time beside the common factor that is good enough; assumption
FIRST = 1.0  # spread of the logarithm of what nobody has read yet; assumption
REPEATED = 1.5  # the same pair read again errs alike in part; factor on its spread, assumption
LOW_HZ, HIGH_HZ = 200.0, 15_000.0  # what a phone records well; common practice, no source


@dataclass(frozen=True)
class Asked:
    """A pair to read, and why."""

    on_time: str
    off_time: str
    why: str


def _span(model):
    """Return where the times begin and end in the vector of unknowns."""
    return model.parts[2].start, model.parts[3].stop


def _times(model):
    """Return the directions in which times are told apart: each time less their common factor."""
    places = np.arange(*_span(model))
    rows = np.zeros((len(places), model.size))
    rows[np.arange(len(places)), places] = 1.0
    rows[:, places] -= 1 / len(places)
    return rows


def time_spreads(solved):
    """Return the spread of each on-time and off-time beside the common factor.

    Parameters
    ----------
    solved : Solved
        The readings so far.
    """
    return np.minimum(solved.spread(_times(solved.model)), 10.0)


def next_pair(solved, current, left_out=(), what=SHORT):
    """Return the pair whose reading narrows the times most, an `Asked`; None where none can.

    Parameters
    ----------
    solved : Solved
        The readings so far.
    current : tuple of str
        The current positions that are on.
    left_out : collection of (str, str)
        Pairs that the person skipped.
    what : str
        Which meter is read.
    """
    model, survey = solved.model, solved.model.survey
    ends = survey.on_time_us[-1], survey.off_time_us[0]
    if not any(r.what == what for r in survey.readings) and ends not in left_out:
        return Asked(*ends, "the most the ammeter will show: see whether its range does")
    away = _again(solved, what)
    if away is not None:
        return away
    covariance, rows = _at_first(solved), _times(model)
    rows = rows[[place not in solved.worn for place in range(*_span(model))]]
    best, found = 0.0, None
    taken = [r.pair for r in survey.readings if r.what == what]
    for on in survey.on_time_us:
        for off in survey.off_time_us:
            slope, value = _slope(solved, current, on, off)
            doubt = np.exp(np.sqrt(slope @ covariance @ slope))
            if (on, off) in left_out or value * doubt < survey.lowest(what):
                continue
            noise = solved.noise * (REPEATED if (on, off) in taken else 1.0)
            worn = sum((slope[place] * spread) ** 2 for place, spread in solved.worn.items())
            lift = covariance @ slope
            gain = float(np.sum((rows @ lift) ** 2) / (noise**2 + worn + slope @ lift))
            if gain > best:
                best, found = gain, (on, off)
    if found is None:
        return None
    return Asked(*found, _why(solved, found))


def _at_first(solved):
    """Return the covariance with what nobody has read at `FIRST` instead of unknown."""
    information = np.linalg.inv(solved.covariance)
    places = np.arange(solved.model.size - 1)
    information[places, places] += 1 / FIRST**2
    return np.linalg.inv(information)


def _slope(solved, current, on, off):
    """Return the slopes of the logarithm of a reading at a pair, and its value."""
    model, x = solved.model, solved.x
    a, b = model.place("on_time_us", on), model.place("off_time_us", off)
    duty = 1 / (1 + np.exp(np.clip(x[b] - x[a], -50, 50)))
    slope = np.zeros(model.size)
    slope[a], slope[b] = 1 - duty, duty - 1
    amps = {label: np.exp(x[model.place("peak_current_A", label)]) for label in current}
    total = sum(amps.values())
    for label, value in amps.items():
        slope[model.place("peak_current_A", label)] = value / total
    return slope, total * duty


def _again(solved, what):
    """Return the reading that lies furthest from what the others make of it, to be read again."""
    model = solved.model
    off = np.abs(solved.missed) / solved.spreads
    odd = [i for i in np.argsort(-off) if off[i] > OUTLIER and model.readings[i].what == what]
    for i in odd:
        reading = model.readings[i]
        same = [
            r for r in model.readings if r.pair == reading.pair and r.current == reading.current
        ]
        if len(same) == 1:
            ratio = np.exp(abs(solved.missed[i]))
            return Asked(*reading.pair, f"read it again: it lies {ratio:.2g} times off what the "
                         "others make of it")  # fmt: skip
    return None


def _why(solved, pair):
    """Return in words what the reading of a pair is for."""
    model, spreads = solved.model, time_spreads(solved)
    names = [("on_time_us", x) for x in model.survey.on_time_us]
    names += [("off_time_us", x) for x in model.survey.off_time_us]
    own = {("on_time_us", pair[0]), ("off_time_us", pair[1])}
    switch, label = max(own, key=lambda name: spreads[names.index(name)])
    spread = spreads[names.index((switch, label))]
    word = f"{SWITCH_WORDS[switch]} {label}"
    if spread > 0.5:
        return f"nothing is known of {word} yet"
    return f"{word} is still known only to {100 * 1.645 * spread:.0f} %"


def enough(solved):
    """Return whether every time that is not worn is known well enough beside the common factor.

    Parameters
    ----------
    solved : Solved
        The readings so far.
    """
    sound = [place not in solved.worn for place in range(*_span(solved.model))]
    return bool(np.all(time_spreads(solved)[sound] < ENOUGH))


def pair_for_pitch(solved):
    """Return the pair to hear, an `Asked`: within a phone's range, sound, and known to each other.

    Parameters
    ----------
    solved : Solved
        The readings so far. A second pair shares no position with one that was heard: it guards
        against an octave and against a worn position that nobody has noticed.
    """
    model, x = solved.model, solved.x
    tones = model.survey.tones
    heard = {t.on_time for t in tones}, {t.off_time for t in tones}
    found = []
    for on in model.survey.on_time_us:
        for off in model.survey.off_time_us:
            a, b = model.place("on_time_us", on), model.place("off_time_us", off)
            hertz = 1e6 / np.exp(np.logaddexp(x[a], x[b]))
            costs = (
                a in solved.worn or b in solved.worn,
                on in heard[0] or off in heard[1],
                not LOW_HZ <= hertz <= HIGH_HZ,
                float(solved.spread(_period_row(model, x, a, b))),
            )
            found.append((costs, on, off))
    _, on, off = min(found)
    return Asked(on, off, expected_pitch(solved, on, off))


def expected_pitch(solved, on_time, off_time):
    """Return in words which pitch a pair is going to have.

    Parameters
    ----------
    solved : Solved
        The readings so far.
    on_time, off_time : str
        The pair.
    """
    model, x = solved.model, solved.x
    a, b = model.place("on_time_us", on_time), model.place("off_time_us", off_time)
    hertz = 1e6 / np.exp(np.logaddexp(x[a], x[b]))
    known = model.survey.tones or model.timed
    return f"{'about' if known else 'if the times are the usual ones, about'} {three(hertz)} Hz"


def _period_row(model, x, a, b):
    """Return the direction of a pair's period beside the factor common to all times."""
    both = np.logaddexp(x[a], x[b])
    places = np.arange(*_span(model))
    row = np.zeros(model.size)
    row[places] = -1 / len(places)
    row[a] += np.exp(x[a] - both)
    row[b] += np.exp(x[b] - both)
    return row
