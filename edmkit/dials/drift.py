"""What changed on a machine between two times it was measured."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from edmkit.checks import Refusal
from edmkit.dials.answer import solved_of
from edmkit.dials.make_machine import TIMES
from edmkit.dials.survey import SWITCH_WORDS, SWITCHES

_FALSE_ALARM = 0.05  # chance that a machine that has not changed is said to have: a choice
_LEAST_SIGMAS = 2.6  # about 1 in 100 of one position
_FREE = 10.0  # spread of a logarithm that may be anything
_SHOWS = 3.5  # spreads: what most changes must come to before they are seen; about `_sigmas`
_SAYS_NOTHING = 1.0  # spread of a logarithm: known to a factor of three at best
_FEWEST = 3  # times; of two that moved apart nobody can tell which did
_APART_DAYS = 2  # a longer gap between readings begins a new session: assumption
_WORDS = {
    "peak_current_A": ("higher", "lower"),
    "on_time_us": ("longer", "shorter"),
    "off_time_us": ("longer", "shorter"),
    "open_voltage_V": ("higher", "lower"),
}


@dataclass(frozen=True)
class Drift:
    """One position, or all times together (label ""), later over earlier.

    ``ratio`` and ``spread`` (of its logarithm) are None where there is nothing to compare.
    ``changed`` says whether it is more than the readings explain; ``words`` say it.
    """

    switch: str
    label: str
    ratio: float | None
    spread: float | None
    changed: bool
    words: str


@dataclass(frozen=True)
class _Ratios:
    """Logarithms of later over earlier of the positions read both times, and their covariance."""

    keys: tuple
    logs: np.ndarray
    covariance: np.ndarray
    freedom: float  # readings that the noise of both times rests on

    @property
    def times(self):
        """1 for a time, 0 for anything else."""
        return np.array([float(name in TIMES) for name, _ in self.keys])

    def beside_the_rest(self, place, freed):
        """Return the logarithm of one ratio beside all others, and its spread.

        What the times share, and the ratios at the places ``freed``, may be anything.
        """
        free = np.array([float(i in freed and i != place) for i in range(len(self.keys))])
        shared = np.outer(self.times, self.times) * (self.times.sum() >= _FEWEST)
        inverse = np.linalg.inv(self.covariance + _FREE**2 * (np.diag(free) + shared))
        return float(inverse[place] @ self.logs / inverse[place, place]), float(
            inverse[place, place] ** -0.5
        )

    def shared(self, freed):
        """Return the logarithm of what all times share, and its spread."""
        free = np.diag([float(i in freed) for i in range(len(self.keys))])
        inverse = np.linalg.inv(self.covariance + _FREE**2 * free)
        weight = self.times @ inverse @ self.times
        return float(self.times @ inverse @ self.logs / weight), float(weight**-0.5)


def drift(earlier, later):
    """Return what changed between two times a machine was measured, a tuple of `Drift`.

    Parameters
    ----------
    earlier, later : Dials
        Fits of the readings of each time.

    Returns
    -------
    tuple of Drift
        Positions read both times, each beside all the others; what all times share, as one of its
        own with the label ""; positions that came or went, without a ratio.

    Notes
    -----
    Both times' readings are solved without plates. The position furthest off for its doubt is
    called changed and set aside, as long as that is more than the readings explain: at odds that
    let one unchanged machine in twenty be called changed, all positions together (Bonferroni).
    Without a pitch both times, what all times share cannot be seen.

    References
    ----------
    Generalised least squares with one position freed at a time; derived here.
    """
    day, ratios = _last_day(earlier.survey), _ratios(earlier, later)
    pitched = bool(earlier.survey.tones and later.survey.tones)
    share = pitched and ratios.times.sum() >= _FEWEST
    sigmas = _sigmas(len(ratios.keys) + share, ratios.freedom)
    freed = _changed(ratios, sigmas)
    found = [(key, *ratios.beside_the_rest(i, freed), i in freed)
             for i, key in enumerate(ratios.keys)]  # fmt: skip
    if share:
        log, spread = ratios.shared(freed)
        found.insert(0, (("on_time_us", ""), log, spread, abs(log) > sigmas * spread))
    return tuple(_drift(*one, day) for one in found) + _came_and_went(earlier, later, day)


def _sigmas(count, freedom):
    """Return how many spreads off is more than chance among this many ratios."""
    from scipy.stats import t

    return max(_LEAST_SIGMAS, float(t.ppf(1 - _FALSE_ALARM / 2 / max(1, count), freedom)))


def _changed(ratios, sigmas):
    """Return the places of the ratios that are further off than the readings explain."""
    freed = set()
    while len(freed) < len(ratios.keys):
        far = {}
        for place in set(range(len(ratios.keys))) - freed:
            log, spread = ratios.beside_the_rest(place, freed)
            far[place] = abs(log) / spread
        worst = max(far, key=far.get)
        if far[worst] <= sigmas:
            break
        freed.add(worst)
    return freed


def _ratios(earlier, later):
    """Return the ratios of the positions that were read both times."""
    before, after = _solved(earlier), _solved(later)
    known = _known(before)
    keys = tuple(key for key in _known(after) if key in known)
    (x, one), (y, other) = (_of(solved, keys) for solved in (before, after))
    return _Ratios(keys, y - x, one + other, before.freedom + after.freedom)


def _known(solved):
    """Return the positions, as (switch, label), of which the readings say something."""
    variance, model = np.diag(solved.covariance), solved.model
    keys = ((name, label) for name in SWITCHES for label in model.survey.labels(name))
    return [key for key in keys if variance[model.place(*key)] < _SAYS_NOTHING**2]


def _of(solved, keys):
    """Return the logarithms of positions and their covariance, widened for few readings."""
    places = [solved.model.place(*key) for key in keys]
    first = np.eye(1, solved.model.size)
    few = float(solved.spread(first)[0]) ** 2 / solved.covariance[0, 0]
    return solved.x[places], few * solved.covariance[np.ix_(places, places)]


def _solved(dials):
    """Return the readings solved without plates, which are the same both times."""
    return solved_of(dials.survey.told(plates=(), counts=dials.kind.word))


def drift_lines(drifts):
    """Return what a person should know of a drift, a tuple of sentences: changes, then the rest.

    Parameters
    ----------
    drifts : sequence of Drift
        From `drift`.
    """
    said = [d.words for d in drifts if d.changed]
    same = [d.spread for d in drifts if not d.changed and d.label]
    if same:
        still = "no other has" if said else "none has"
        least = 100 * np.expm1(_SHOWS * np.median(same))
        said.append(
            f"{len(same)} positions were read again, {still} changed by more than the readings "
            f"explain. A change of less than about {least:.0f} % would not show."
        )
    return tuple(said)


def _drift(key, log, spread, changed, day):
    """Return the drift of a ratio, with its words."""
    (name, label), by = key, 100 * abs(np.expm1(log))
    who = f"{SWITCH_WORDS[name].capitalize()} {label} is" if label else "All times are"
    off = f"{by:.0f} % {_WORDS[name][0 if log > 0 else 1]}"
    so = "more" if changed else "no more"
    words = f"{who} {off} than on {day}: {so} than the readings explain."
    return Drift(name, label, float(np.exp(log)), spread, bool(changed), words)


def _came_and_went(earlier, later, day):
    found = []
    for name in SWITCHES:
        before, after = earlier.survey.labels(name), later.survey.labels(name)
        word = SWITCH_WORDS[name].capitalize()
        for label in after:
            if label not in before:
                words = f"{word} {label} was not there on {day}."
                found.append(Drift(name, label, None, None, True, words))
        for label in before:
            if label not in after:
                words = f"{word} {label} was there on {day} and is gone."
                found.append(Drift(name, label, None, None, True, words))
    return tuple(found)


# --- sessions -----------------------------------------------------------------------------------
def by_day(survey):
    """Return the readings of a survey as sessions, a tuple of (day in words, Survey).

    Parameters
    ----------
    survey : Survey
        With the readings and pitches of one or more times; a gap of more than two days between
        them begins a new session. Each session keeps the switches, meters and plates.

    Raises
    ------
    Refusal
        If a day is not one.
    """
    days = sorted({_date(at.day) for at in (*survey.readings, *survey.tones)})
    starts = [day for i, day in enumerate(days)
              if i == 0 or (day - days[i - 1]).days > _APART_DAYS]  # fmt: skip
    sessions = []
    for start, end in zip(starts, [*starts, date.max][1:], strict=True):
        kept = {kind: tuple(at for at in getattr(survey, kind) if start <= _date(at.day) < end)
                for kind in ("readings", "tones")}  # fmt: skip
        sessions.append((_words_of(start), survey.told(since="", **kept)))
    return tuple(sessions)


def _date(day):
    try:
        return date.fromisoformat(day)
    except (TypeError, ValueError):
        raise Refusal(f"day must be written as 2026-05-03, got {day!r}.") from None


def _words_of(day):
    return f"{day.day} {day:%B} {day.year}"


def _last_day(survey):
    days = [_date(at.day) for at in (*survey.readings, *survey.tones)]
    return _words_of(max(days)) if days else "the time before"
