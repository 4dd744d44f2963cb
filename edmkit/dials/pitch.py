"""How often the pulses come, from a recording of their buzz: the fundamental and how sure."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal, one_of
from edmkit.dials.spectrum import MAINS, Spectrum, spectrum
from edmkit.words import three

LOWEST_Hz, HIGHEST_Hz = 180.0, 21_000.0
_OUT = 5.0  # standard deviations of the noise by which a tone stands out
_STRONG_dB = 40.0  # over the noise: a louder tone counts no more
_TONES, _BASES, _DEEPEST, _HARMONICS = 160, 24, 8, 32  # kept, tried, as which harmonic, counted
_BESIDE_Hz, _WEAKER_dB = 125.0, 12.0  # mains ripple puts weak tones 100 or 120 Hz beside a strong
_ONE_TONE = 0.003  # of its frequency: peaks so near are one tone that wandered
_OFF = 0.001  # of its frequency that a harmonic may lie beside its place
_MISSING, _LEFT = 0.5, 0.5  # what a harmonic not heard and a tone not explained take off
_FAINT, _SHARE, _RIVAL = 15.0, 0.55, 0.75  # below, below and above these nobody can be sure
_PROUD_dB = 15.0  # a tone at a multiple of mains that stands so far out of the others is no hum
_DULL_Hz, _DULL = 2000.0, 0.3  # pulses click: what has no high harmonics is a pump or a motor
_HUM_Hz, _MANY = 5000.0, 6  # hum reaches no higher; so many of them are no hum: assumptions
_PHONE_Hz = 19_000.0  # little above it reaches a phone's file
_CLOCK = 1e-4  # how far a phone's clock may be off: from memory, crystals keep 50 millionths
_WANDERS = 0.004  # standard deviation of a pitch's logarithm: no clocked generator wanders so far
_SAME = 0.015  # of logarithms: one pitch


@dataclass(frozen=True)
class Pitch:
    """The pitch of a buzz [Hz], the standard deviation of its logarithm, and whether it is sure.

    ``why`` says what is in doubt; ``harmonics`` and ``others`` are the tones found that belong to
    it and what it could be instead [Hz]; ``mains_Hz`` is 50, 60 or None, as heard.
    """

    frequency_Hz: float
    spread: float
    sure: bool
    why: str
    harmonics: tuple
    others: tuple
    mains_Hz: float | None
    spectrum: Spectrum

    @property
    def period_us(self):
        """On-time and off-time together [µs]."""
        return 1e6 / self.frequency_Hz


@dataclass(frozen=True)
class _Tones:
    """What stands out: frequency [Hz] and height over the noise [dB]."""

    frequency: np.ndarray
    height: np.ndarray
    slack: float


@dataclass(frozen=True)
class _Guess:
    """A fundamental, how well it explains the tones, which are its harmonics, none of them high."""

    frequency: float
    score: float
    mine: np.ndarray
    dull: bool = False


def find_pitch(sound, mains_Hz=None):
    """Return the pitch of a recorded buzz [Hz].

    Parameters
    ----------
    sound : Sound
        A second or more of a steady buzz, as `edmkit.dials.sound.read_wav` gives it.
    mains_Hz : float or None
        50 or 60 where it is known.

    Raises
    ------
    Refusal
        If nothing in the recording stands out of its noise and hum.

    Notes
    -----
    Heard from 0.18 to 21 kHz. A fundamental is scored by the harmonics found, less the ones
    missing and the tones left over, the idea of the two-way mismatch of Maher and Beauchamp. What
    is left out: pulses that skip, which sound an octave low.

    References
    ----------
    R. C. Maher, J. W. Beauchamp, J. Acoust. Soc. Am. 95 (1994) 2254 (from memory).
    """
    if mains_Hz is not None:
        one_of("mains_Hz", f"{mains_Hz:g}", [f"{m:g}" for m in MAINS])
    seen = spectrum(sound, mains_Hz)
    tones = _tones(seen)
    guesses = _guesses(tones)
    if not guesses:
        raise Refusal("the recording must hold a steady buzz, got hum and noise alone: hold the "
                      "phone nearer while the electrode is pressed on scrap.")  # fmt: skip
    best = guesses[0]
    rivals = [g for g in guesses[1:] if g.score > _RIVAL * best.score]
    spread = _spread(best, tones, seen)
    why = _doubt(best, rivals, tones, seen)
    if not why and spread > _WANDERS:
        why = "It wanders, as a motor does that runs up: record a steady buzz, without lifts."
    nominal = seen.mains_Hz and min(MAINS, key=lambda m: abs(m - seen.mains_Hz))
    return Pitch(best.frequency, spread, not why, why,
                 tuple(tones.frequency[best.mine].tolist()),
                 tuple(g.frequency for g in guesses[1:4] if g.score > best.score / 2),
                 nominal, seen)  # fmt: skip


def _tones(seen):
    """Return the tones that stand out of noise and hum; a tone that wanders is one."""
    from scipy.signal import find_peaks

    middle, deviation = seen.noise_dB
    over = seen.clear - middle
    place, _ = find_peaks(over, height=_OUT * deviation)
    place = place[(place * seen.step_Hz > LOWEST_Hz) & (place < len(over) - 1)]
    below, here, above = (over[place + off] for off in (-1, 0, 1))
    # Three points of a peak as a parabola: its top, in steps.
    top = place + 0.5 * (below - above) / np.minimum(below - 2 * here + above, -1e-9)
    frequency, height = top * seen.step_Hz, np.minimum(here, _STRONG_dB)
    near = np.abs(frequency[:, None] - frequency) < np.maximum(_BESIDE_Hz, _ONE_TONE * frequency)
    alone = ~(near & (here > here[:, None] + _WEAKER_dB)).any(axis=1)
    frequency, height, here = frequency[alone], height[alone], here[alone]
    starts = np.flatnonzero(np.diff(frequency, prepend=-1.0) > _ONE_TONE * frequency)
    if not len(starts):
        return _Tones(frequency, height, seen.step_Hz)
    weight = 10 ** (here / 10)  # power: a faint tone beside it does not shift a loud one
    centre = np.add.reduceat(frequency * weight, starts) / np.add.reduceat(weight, starts)
    height = np.maximum.reduceat(height, starts)
    kept = np.sort(np.argsort(-height, kind="stable")[:_TONES])
    return _Tones(centre[kept], height[kept], seen.step_Hz)


def _guesses(tones):
    """Return fundamentals, the best first, none twice."""
    strongest = np.argsort(-tones.height, kind="stable")[:_BASES]
    tried = tones.frequency[strongest, None] / np.arange(1, _DEEPEST + 1)
    tried = tried[(tried > LOWEST_Hz) & (tried < HIGHEST_Hz)]
    found, kept = [_guess(tones, f) for f in tried.ravel()], []
    for guess in sorted(found, key=lambda g: -g.score):
        if guess.score > 0 and all(
            abs(np.log(guess.frequency / k.frequency)) > _SAME for k in kept
        ):
            kept.append(guess)
    return kept


def _places(tones, fundamental):
    """Return which harmonic each tone would be, and whether it is one."""
    number = np.round(tones.frequency / fundamental)
    off = np.abs(tones.frequency - number * fundamental)
    fits = off <= np.minimum(0.75 * tones.slack + _OFF * tones.frequency, 0.12 * fundamental)
    return number, fits & (number >= 1)


def _guess(tones, fundamental):
    """Return a fundamental, fitted to its harmonics and scored."""
    for _ in range(2):
        number, mine = _places(tones, fundamental)
        mine &= number <= _HARMONICS
        if not mine.any():
            return _Guess(fundamental, 0.0, mine)
        weight = tones.height[mine] * number[mine]
        fundamental = float(weight @ tones.frequency[mine] / (weight @ number[mine]))
    number, fits = _places(tones, fundamental)
    return _scored(tones, fundamental, number.astype(int), fits)


def _fraction(tones, fundamental):
    """Return which tones are a half, a third or two thirds of a fundamental: then it is none."""
    parts = fundamental * np.array([1 / 3, 1 / 2, 2 / 3])
    return (np.abs(tones.frequency[:, None] / parts - 1) < 2 * _OFF).any(axis=1)


def _scored(tones, fundamental, number, fits):
    """Return a guess scored over as many harmonics as serve it best."""
    heard = np.zeros(_HARMONICS + 1)
    near = fits & (number <= _HARMONICS)
    np.maximum.at(heard, number[near], tones.height[near])
    typical = heard[heard > 0].mean() if near.any() else 0.0
    gain = np.where(heard > 0, heard, -_MISSING * typical)[1:]
    upto = np.clip(np.ceil(tones.frequency / fundamental).astype(int), 1, _HARMONICS + 1)
    below = _fraction(tones, fundamental)
    against = ~fits & ((tones.frequency > 0.75 * fundamental) | below)
    left = np.bincount(upto, np.where(against, tones.height, 0), _HARMONICS + 2)[1:-1]
    score = np.cumsum(gain - _LEFT * left)
    best = int(np.argmax(score))
    fits &= number <= _HARMONICS
    dull = fundamental < _DULL_Hz and np.sum(tones.frequency[fits] > _DULL_Hz) < 2
    return _Guess(fundamental, float(score[best]) * (_DULL if dull else 1.0), fits, dull)


def _doubt(best, rivals, tones, seen):
    """Return why the best guess may be wrong, in a sentence; empty where it is sure."""
    frequency = best.frequency
    if best.score < _FAINT:
        return "The buzz hardly stands out of the noise: hold the phone nearer."
    if rivals:
        return f"It could be {_shown(rivals[0].frequency)} as well."
    turns = tones.frequency / frequency
    heard = (turns > 0.75) & (turns < _HARMONICS + 0.5)
    if tones.height[best.mine].sum() < _SHARE * tones.height[heard].sum():
        return "Much else sounds louder than this: wait until the pump and the lift are quiet."
    if best.dull:
        return "It has no high harmonics, so it may be a pump or a motor: switch those off."
    single = len(tones.frequency[best.mine]) < 2
    if single and 2 * frequency < min(_PHONE_Hz, 0.9 * seen.frequency_Hz[-1]):
        return "It is one tone without harmonics, as a motor makes it, not a buzz."
    if seen.mains_Hz:
        multiple = tones.frequency[best.mine] / seen.mains_Hz
        hum = np.abs(multiple - np.round(multiple)) * seen.mains_Hz < 2.5 * seen.step_Hz
        clear = tones.height[best.mine] > _PROUD_dB
        told = ~hum | (tones.frequency[best.mine] > _HUM_Hz)
        if told.sum() < min(2, len(told)) and clear.sum() < _MANY:
            return ("It may be hum, a multiple of the mains: switch to another on-time and record "
                    "again.")  # fmt: skip
    return ""


def _spread(best, tones, seen):
    """Return the standard deviation of the pitch's logarithm: wander, steps and the clock."""
    mine = np.flatnonzero(best.mine)
    tone = tones.frequency[mine[np.argmax(tones.height[mine] * np.sqrt(tones.frequency[mine]))]]
    reach = max(round(3 * _ONE_TONE * tone / seen.step_Hz), 2)
    place = round(tone / seen.step_Hz)
    window = seen.frames[:, max(place - reach, 0) : place + reach + 1]
    loud = window.max(axis=1) >= np.median(window.max(axis=1))
    wander = np.std(window[loud].argmax(axis=1)) * seen.step_Hz / tone
    return float(np.sqrt(wander**2 + (0.3 * seen.step_Hz / tone) ** 2 + _CLOCK**2))


def _shown(frequency):
    """Return a frequency as a person reads it."""
    return f"{three(frequency)} Hz" if frequency < 1000 else f"{three(frequency / 1000)} kHz"
