"""What stands out of a recording's noise, frequency by frequency, and which of it is mains."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

MAINS = (50.0, 60.0)  # Hz, the two of the world
_WINDOW_S = 0.5  # of one spectrum: steps of 2 Hz tell 50 from 60 Hz families and bridge a wander
_TOP_Hz = 25_000.0  # a phone hears to about 20 kHz; what lamps whistle above it does not count
_BLOCK_HZ = 150.0  # over which the noise is taken as even: three harmonics of mains
_PART = 0.4  # of the recording: what lasts no longer still counts in full
_MAINS_OFF = 0.006  # how far mains may be off: wider than any public grid is run
_MAINS_dB = 4.0  # how far mains must stand out of what lies between its multiples, on average
_MAINS_TOP_dB = 15.0  # a multiple louder than this counts no more, lest one buzz pass for many


@dataclass(frozen=True)
class Spectrum:
    """How far each frequency stands out of the noise around it [dB]; hum taken off in ``clear``.

    ``frames`` are the single spectra over time; ``mains_Hz`` is the true one, None without hum.
    """

    step_Hz: float
    level_dB: np.ndarray
    frames: np.ndarray
    clear: np.ndarray
    mains_Hz: float | None

    @property
    def frequency_Hz(self):
        """Frequency of each level [Hz]."""
        return self.step_Hz * np.arange(len(self.level_dB))

    @cached_property
    def noise_dB(self):
        """Middle and standard deviation of the levels where nothing sounds [dB]."""
        middle = float(np.median(self.clear))
        # 1.4826: from the median of distances to a standard deviation, for normal noise
        return middle, max(1.4826 * float(np.median(np.abs(self.clear - middle))), 0.3)


def spectrum(sound, mains_Hz=None):
    """Return what stands out of the noise of a sound.

    Parameters
    ----------
    sound : Sound
        The recording.
    mains_Hz : float or None
        50 or 60 where it is known; otherwise the louder of the two families is found.

    Notes
    -----
    Each half second's spectrum is divided by its own noise, block by block, so that a thump, which
    is noise of all frequencies, weighs no more than a quiet half second. Of each frequency the
    loudest two fifths of the time are averaged: a buzz may last a part of the recording.
    """
    step, frames = _frames(sound)
    keep = max(2, round(_PART * len(frames)))
    level = np.sort(frames, axis=0)[-keep:].mean(axis=0)
    mains = _mains(level, step, (mains_Hz,) if mains_Hz else MAINS)
    return Spectrum(step, level, frames, _without_mains(level, step, mains), mains)


def _frames(sound):
    """Return the step of frequency and, for each half second, levels over its own noise [dB]."""
    from scipy import signal
    from scipy.fft import next_fast_len

    window = next_fast_len(int(sound.rate_Hz * min(_WINDOW_S, sound.seconds / 4)))
    _, _, power = signal.spectrogram(sound.samples, sound.rate_Hz, "hann", window, window // 2)
    step = sound.rate_Hz / window
    power = power[: int(_TOP_Hz / step)]
    power = power.T + 1e-16 * power.max()  # a floor for what digital silence leaves
    block = round(_BLOCK_HZ / step)
    count = power.shape[1] // block
    floor = np.median(power[:, : count * block].reshape(len(power), count, block), axis=2)
    middles = (np.arange(count) + 0.5) * block
    log_floor = np.array([np.interp(np.arange(power.shape[1]), middles, row)
                          for row in np.log10(floor)])  # fmt: skip
    return step, np.maximum(10 * (np.log10(power) - log_floor), 0)


def _near(level, step, frequency, reach=1):
    """Return the highest level within some steps of each frequency."""
    place = np.round(np.asarray(frequency) / step).astype(int)
    around = np.clip(place[..., None] + np.arange(-reach, reach + 1), 0, len(level) - 1)
    return level[around].max(axis=-1)


def _mains(level, step, allowed):
    """Return the mains frequency heard, to a hundredth, or None."""
    best, found, level = _MAINS_dB, None, np.minimum(level, _MAINS_TOP_dB)
    for nominal in allowed:
        multiples = np.arange(1, 13)
        tried = nominal * (1 + np.linspace(-_MAINS_OFF, _MAINS_OFF, 25))
        on = _near(level, step, tried[:, None] * multiples, 0).mean(axis=1)
        between = _near(level, step, nominal * (multiples + 0.5), 1)
        over = on.max() - between.mean()
        if over > best:
            best, found = over, float(tried[on == on.max()].mean())
    return found


def _without_mains(level, step, mains):
    """Return levels with hum taken off: what sticks out of its family stays.

    Even and odd multiples are families of their own, since a rectifier makes even ones.
    """
    clear = level.copy()
    if mains is None:
        return clear
    count = int((len(level) - 3) * step / mains)
    number = np.arange(1, count + 1)
    height = _near(level, step, number * mains)
    padded = np.pad(height, 4, mode="edge")
    far_left, left, right, far_right = (
        padded[4 + away : 4 + away + count] for away in (-4, -2, 2, 4)
    )
    # The lower of two, lest a neighbour be the buzz; the higher side, since a family may end.
    family = np.maximum(np.minimum(far_left, left), np.minimum(right, far_right))
    middle = np.median(level)
    place = np.round(number * mains / step).astype(int)
    for off in (-2, -1, 0, 1, 2):
        at = np.clip(place + off, 0, len(level) - 1)
        clear[at] = np.clip(level[at] - np.maximum(family - middle, 0), 0, None)
    return clear
