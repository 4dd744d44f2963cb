"""Invented recordings of a machine's buzz, made from pulses one by one; no machine was recorded.

Each edge of a pulse is a click, so that fundamental and harmonics come of themselves and nothing
here knows how a pitch is found. Then the body of the machine rings, mains hums, the head thumps
and whirrs in a lift, the room hisses and the phone cuts both ends off.
"""

import io
from dataclasses import dataclass

import numpy as np
from scipy import signal
from scipy.io import wavfile

_TAPS = np.arange(-8, 9)


@dataclass(frozen=True)
class Scene:
    """What is heard; levels are in dB over the buzz while it lasts, None for not at all."""

    frequency_Hz: float
    duty: float = 0.6
    seconds: float = 8.0
    rate_Hz: int = 48_000
    wander: float = 0.0
    lasts: float = 1.0  # share of the recording
    mains_Hz: float = 50.0
    hum_dB: float | None = None
    hiss_dB: float | None = -25.0
    thump_dB: float | None = None
    whirr_dB: float | None = None
    pump_dB: float | None = None
    ripple: float = 0.0
    low_cut_Hz: float = 120.0
    resonances: int = 5
    buzz: bool = True
    seed: int = 0


def clicks(times, heights, count, rate):
    """Return clicks at times between samples, band-limited by a windowed sinc."""
    place = times * rate
    whole = np.round(place).astype(int)
    taps = whole[:, None] + _TAPS
    offset = taps - place[:, None]
    heard = heights[:, None] * np.sinc(offset) * np.cos(np.pi * offset / 18) ** 2
    inside = (taps >= 0) & (taps < count)
    return np.bincount(taps[inside], heard[inside], count)


def pulse_train(scene, rng, count):
    """Return the two edges of every pulse as clicks; the pitch wanders slowly."""
    grid = np.linspace(0, scene.seconds, 40)
    slow = np.convolve(rng.standard_normal(44), np.ones(5) / 5**0.5, "valid")
    pitch = scene.frequency_Hz * (1 + scene.wander * slow / max(np.abs(slow).max(), 1e-9))
    cycles = np.concatenate([[0], np.cumsum((pitch[1:] + pitch[:-1]) / 2 * np.diff(grid))])
    numbers = np.arange(1, int(cycles[-1]))
    on = np.interp(numbers, cycles, grid)
    off = np.interp(numbers + scene.duty, cycles, grid)
    strength = 1 + scene.ripple * np.sin(4 * np.pi * scene.mains_Hz * on)
    strength = strength * (1 + 0.05 * rng.standard_normal(len(on)))
    begins = rng.uniform(0, 1 - scene.lasts) * scene.seconds
    strength[(on < begins) | (on > begins + scene.lasts * scene.seconds)] = 0
    one = clicks(on, strength, count, scene.rate_Hz)
    return one - clicks(off, rng.uniform(0.5, 1) * strength, count, scene.rate_Hz)


def rung(sound, scene, rng):
    """Return the sound after the body of the machine: softer edges and a few resonances."""
    pole = rng.uniform(0.0, 0.8)
    sound = signal.lfilter([1 - pole], [1, -pole], sound)
    heard = sound.copy()
    for _ in range(scene.resonances):
        centre = np.exp(rng.uniform(np.log(250), np.log(0.4 * scene.rate_Hz)))
        b, a = signal.iirpeak(centre, rng.uniform(3, 25), scene.rate_Hz)
        heard += rng.uniform(0.5, 5) * signal.lfilter(b, a, sound)
    return heard


def hum(scene, rng, count):
    """Return mains and its multiples, the even ones stronger: a rectifier."""
    turn, one = np.arange(8193) / 8192, np.zeros(8193)  # one turn of mains, then read off
    true, slope = scene.mains_Hz * (1 + rng.normal(0, 5e-4)), rng.uniform(0.5, 1.5)
    for n in range(1, int(rng.integers(6, 40))):
        size = n**-slope * rng.lognormal(0, 0.6) * (1.0 if n % 2 == 0 else rng.uniform(0.05, 0.6))
        one += size * np.sin(2 * np.pi * (n * turn + rng.random()))
    return np.interp(np.arange(count) / scene.rate_Hz * true % 1.0, turn, one)


def pump(scene, rng, count):
    """Return the steady tone of a pump's blades and its next harmonics: slip keeps it off mains."""
    time, blades = np.arange(count) / scene.rate_Hz, int(rng.integers(5, 9))
    tone = blades * scene.mains_Hz * rng.uniform(0.94, 0.985)
    return sum(rng.uniform(0.2, 1) / n * np.sin(2 * np.pi * (n * tone * time + rng.random()))
               for n in (1, 2, 3))  # fmt: skip


def lifts(scene, rng, count):
    """Return the thumps of a head that lifts and the whirr of its motor, each apart."""
    thumps, whirr, at = np.zeros(count), np.zeros(count), rng.uniform(0.2, 1.0)
    every, pitch = rng.uniform(1.0, 3.5), rng.uniform(90, 380)
    while at < scene.seconds - 0.1:
        begin, long = int(at * scene.rate_Hz), int(0.5 * scene.rate_Hz)
        time = np.arange(min(long, count - begin)) / scene.rate_Hz
        burst = rng.standard_normal(len(time)) * np.exp(-time / rng.uniform(0.02, 0.08))
        b, a = signal.butter(1, rng.uniform(400, 4000), fs=scene.rate_Hz)
        thumps[begin : begin + len(time)] += signal.lfilter(b, a, burst)
        phase = 2 * np.pi * (pitch * time * (1 + 0.15 * time))
        whirr[begin : begin + len(time)] += sum(np.sin(n * phase) / n for n in (1, 2, 3))
        at += every
    return thumps, whirr


def _level(sound, dB):
    rms = np.sqrt(np.mean(sound[sound != 0] ** 2)) if np.any(sound) else 1.0
    return sound / rms * 10 ** (dB / 20)


def make_buzz(scene):
    """Return what the phone records, -1 to 1, its loudest at 0.7."""
    rng = np.random.default_rng(scene.seed)
    count = int(scene.seconds * scene.rate_Hz)
    heard = np.zeros(count)
    if scene.buzz:
        train = pulse_train(scene, rng, count)
        lasting = train != 0
        ringing = rung(train, scene, rng)
        heard += ringing / np.sqrt(np.mean(ringing[lasting] ** 2))
    thumps, whirr = lifts(scene, rng, count)
    parts = (
        (hum(scene, rng, count), scene.hum_dB),
        (rng.standard_normal(count), scene.hiss_dB),
        (thumps, scene.thump_dB),
        (whirr, scene.whirr_dB),
        (pump(scene, rng, count), scene.pump_dB),
    )
    heard = heard + sum(_level(part, dB) for part, dB in parts if dB is not None)
    heard = signal.sosfilt(signal.butter(2, scene.low_cut_Hz, "high", fs=scene.rate_Hz,
                                         output="sos"), heard)  # fmt: skip
    return 0.7 * heard / np.abs(heard).max()


def any_scene(seed):
    """Return a scene at random, 0.2 to 20 kHz, as bad as a shop may be."""
    rng = np.random.default_rng(seed + 10_000)
    maybe = lambda chance, low, high: rng.uniform(low, high) if rng.random() < chance else None  # noqa: E731
    rate = int(rng.choice([44_100, 48_000, 48_000]))
    return Scene(
        frequency_Hz=float(np.exp(rng.uniform(np.log(200), np.log(20_000)))),
        duty=float(rng.uniform(0.15, 0.92)),
        seconds=float(rng.uniform(2.5, 6)),
        rate_Hz=rate,
        wander=float(rng.choice([0, 0.0005, 0.002])),
        lasts=float(rng.choice([1, 0.7, 0.4])),
        mains_Hz=float(rng.choice([50, 60])),
        hum_dB=maybe(0.8, -20, 12),
        hiss_dB=float(rng.uniform(-30, -3)),
        thump_dB=maybe(0.7, -5, 12),
        whirr_dB=maybe(0.4, -20, 0),
        pump_dB=maybe(0.3, -25, -5),
        ripple=float(rng.uniform(0, 0.1)),
        low_cut_Hz=float(rng.uniform(60, 250)),
        resonances=int(rng.integers(2, 9)),
        seed=seed,
    )


def wav_bytes(samples, rate_Hz=48_000, kind="int16"):
    """Return samples (-1 to 1, columns are channels) as a WAV file: uint8 int16 int24 float32..."""
    samples = np.asarray(samples)
    if kind == "int24":
        return _wav_24(samples, rate_Hz)
    if kind == "uint8":
        made = np.clip(np.round(samples * 127 + 128), 0, 255).astype(np.uint8)
    elif kind.startswith("int"):
        top = 2 ** (int(kind[3:]) - 1) - 1
        made = (np.clip(samples, -1, 1) * top).astype(kind)
    else:
        made = samples.astype(kind)
    file = io.BytesIO()
    wavfile.write(file, rate_Hz, made)
    return file.getvalue()


def _wav_24(samples, rate_Hz):
    """Return a 24-bit file by Python's own wave module."""
    import wave

    whole = (np.clip(samples, -1, 1) * (2**23 - 1)).astype("<i4")
    raw = whole.reshape(-1, 1).view(np.uint8).reshape(-1, 4)[:, :3].tobytes()
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1 if samples.ndim == 1 else samples.shape[1])
        out.setsampwidth(3)
        out.setframerate(rate_Hz)
        out.writeframes(raw)
    return file.getvalue()
