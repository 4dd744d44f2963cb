"""A recording of the machine's buzz: a WAV file read, and said what is odd about it."""

import io
import struct
import warnings
from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal

SHORTEST_S, LONGEST_S = 1.0, 120.0
_LOWEST_RATE, _WIDE_RATE = 4000, 32_000  # Hz; below the second a phone hears less than we do
_BIGGEST = 50_000_000  # bytes
_SILENT = 1e-4  # of full scale: 80 dB down, three steps of a 16-bit recording
_FULL, _CLIPPED = 0.999, 0.001  # of full scale; share of the samples from which it is said
_AGAIN = "Record ten seconds with a recorder that saves WAV, the phone half a metre away"
_FRAMES = (b"\xff\xfb", b"\xff\xfa", b"\xff\xf3", b"\xff\xf2")  # how an MP3 without a title begins
_OTHERS = (  # public file signatures: where in the file, what stands there, what it is
    (0, (b"ID3", *_FRAMES), "an MP3"),
    (0, (b"\xff\xf1", b"\xff\xf9"), "an AAC"),
    (4, (b"ftyp",), "an M4A, MP4 or 3GP"),
    (0, (b"OggS",), "an Ogg"),
    (0, (b"fLaC",), "a FLAC"),
    (0, (b"caff",), "a CAF"),
    (0, (b"FORM",), "an AIFF"),
    (0, (b"#!AMR",), "an AMR"),
    (0, (b"\x1aE\xdf\xa3",), "a WebM"),
)


@dataclass(frozen=True)
class Sound:
    """One channel of a recording, -1 to 1 and read-only, and what is said of it in sentences."""

    samples: np.ndarray
    rate_Hz: float
    said: tuple = ()
    name: str = ""

    @property
    def seconds(self):
        """How long it is [s]."""
        return len(self.samples) / self.rate_Hz


def read_wav(data, name=""):
    """Return the sound of a WAV file.

    Parameters
    ----------
    data : bytes
        What is in the file: 8 to 64-bit whole numbers or floating point, any channels.
    name : str
        What the file is called, for the sentences.

    Raises
    ------
    Refusal
        If it is empty, another kind of file, broken, silent, shorter than 1 s, longer than two
        minutes or 50 MB, or sampled below 4000 Hz.

    Notes
    -----
    Of several channels the loudest is used. A file cut off in the middle is read as far as it goes.
    """
    what = f"the recording {name}".strip()
    if not data:
        raise Refusal(f"{what} must hold a sound, got an empty file: pick it again.")
    if len(data) > _BIGGEST:
        raise Refusal(f"{what} must be {_BIGGEST / 1e6:.0f} MB at most, got {len(data) / 1e6:.0f} "
                      "MB: ten seconds are enough.")  # fmt: skip
    _is_wav(data, what)
    mended, said = _mended(data, what)
    rate, values = _decoded(mended, what)
    _fits(rate, len(values), what)
    samples, more = _one_channel(_scaled(values, what))
    loud = float(np.sqrt(np.mean((samples - samples.mean()) ** 2)))
    if loud < _SILENT:
        raise Refusal(f"{what} must be louder than {_SILENT:g} of full scale, got {loud:.1g}: "
                      "it is silent. Is the right microphone on?")  # fmt: skip
    samples, odd = _loudness(samples)
    if rate < _WIDE_RATE:
        more += (f"Sampled {rate} times a second: it hears nothing above {rate / 2000:.3g} kHz.",)
    samples.flags.writeable = False
    return Sound(samples, float(rate), said + more + odd, name)


def _is_wav(data, what):
    """Refuse what is not a WAV file, and say what it is where that shows."""
    if data[:4] in (b"RIFF", b"RIFX", b"RF64") and data[8:12] == b"WAVE":
        return
    for place, signs, kind in _OTHERS:
        if any(data[place : place + len(sign)] == sign for sign in signs):
            raise Refusal(f"{what} must be a WAV file, got {kind} file, whatever its name says: "
                          "save it as WAV.")  # fmt: skip
    raise Refusal(f"{what} must be a WAV file, got something else. {_AGAIN}.")


def _mended(data, what):
    """Return a WAV file whose sizes are those of its bytes, and what was wrong with them.

    scipy trusts the sizes: of a recorder that was stopped hard it reads nothing, or fails amid a
    sample.
    """
    if data[:4] != b"RIFF":
        return data, ()
    at, frame = 12, 0
    while at + 8 <= len(data):
        word, size = struct.unpack_from("<4sI", data, at)
        if word == b"fmt " and at + 24 <= len(data):
            frame = struct.unpack_from("<H", data, at + 20)[0]
        if word == b"data":
            break
        at += 8 + size + size % 2
    else:
        raise Refusal(
            f"{what} must hold a sound, got a file without one: it was cut off. {_AGAIN}."
        )
    there = len(data) - at - 8
    unknown = size in (0, 0xFFFFFFFF)  # a recorder writes the size when it is stopped
    kept = there if unknown else min(size, there)
    kept -= kept % max(frame, 1)
    head = b"RIFF" + struct.pack("<I", at + kept) + data[8:at]
    mended = head + b"data" + struct.pack("<I", kept) + data[at + 8 : at + 8 + kept]
    lost = f"It is cut off in the middle: {kept / size:.0%} of it is there." if size > there else ""
    return mended, (lost,) if lost and not unknown else ()


def _decoded(data, what):
    """Return how often a file was sampled and its values as they stand in it."""
    from scipy.io import wavfile

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", wavfile.WavFileWarning)  # chunks of other programs
            rate, values = wavfile.read(io.BytesIO(data))
    except Exception as fault:  # scipy's reader fails in many ways on a broken file
        words = str(fault).split(". ")[0]
        raise Refusal(f"{what} must be a plain WAV file, got one that cannot be read ({words}). "
                      f"{_AGAIN}.") from None  # fmt: skip
    return rate, values


def _fits(rate, count, what):
    if rate < _LOWEST_RATE:
        raise Refusal(f"{what} must be sampled at {_LOWEST_RATE} Hz or more, got {rate} Hz: set "
                      "the recorder to 44100 or 48000.")  # fmt: skip
    seconds = count / rate
    if not SHORTEST_S <= seconds <= LONGEST_S:
        raise Refusal(f"{what} must last {SHORTEST_S:g} to {LONGEST_S:g} s, got {seconds:.3g} s: "
                      "record ten seconds of an even buzz.")  # fmt: skip


def _scaled(values, what):
    """Return values with full scale at 1, a column for each channel."""
    if values.dtype.kind == "u":
        made = values.astype(float) / 128 - 1  # 8-bit files count from 0, their middle is 128
    elif values.dtype.kind == "i":
        made = values / -float(np.iinfo(values.dtype).min)
    else:
        made = values.astype(float)
        if not np.isfinite(made).all():
            raise Refusal(f"{what} must hold numbers, got not-a-number amid them. {_AGAIN}.")
    return made.reshape(len(made), -1)


def _one_channel(made):
    """Return the loudest channel, and which it is."""
    if made.shape[1] == 1:
        return made[:, 0].copy(), ()
    best = int(np.argmax(made.std(axis=0)))
    if made.shape[1] == 2:
        return made[:, best].copy(), (
            f"Stereo: the louder channel, the {('left', 'right')[best]}, is used.",
        )
    return made[:, best].copy(), (
        f"{made.shape[1]} channels: the loudest, number {best + 1}, is used.",
    )


def _loudness(samples):
    """Return samples that end at 1, and what is said where they reach or pass it."""
    peak = float(np.abs(samples).max())
    share = float(np.mean(np.abs(samples) >= _FULL))
    if share >= _CLIPPED:
        said = (f"Clipped: {100 * share:.2g} % of it stands at full scale. The pitch still shows, "
                "but move the phone away.",)  # fmt: skip
    else:
        said = ()
    return (samples / peak if peak > 1 else samples), said
