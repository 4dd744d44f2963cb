"""A recording read: every kind of WAV the same sound, and a sentence for all that is none."""

import io
import struct
import wave

import numpy as np
import pytest
from buzz_maker import wav_bytes
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.dials.sound import read_wav

RATE = 8000
TONE = 0.5 * np.sin(2 * np.pi * 440 * np.arange(2 * RATE) / RATE)
STEPS = {"uint8": 2**7, "int16": 2**15, "int24": 2**23, "int32": 2**31, "float32": 2**22,
         "float64": 2**50}  # fmt: skip


@pytest.mark.parametrize("kind", STEPS)
def test_every_kind_of_number_is_the_same_sound(kind):
    """Written by scipy, 24 bits by Python's wave; to a step and a half of each kind."""
    sound = read_wav(wav_bytes(TONE, RATE, kind))
    assert sound.rate_Hz == RATE and sound.seconds == 2.0
    assert_allclose(sound.samples, TONE, atol=1.5 / STEPS[kind])
    assert "hears nothing above 4 kHz" in " ".join(sound.said)


@pytest.mark.parametrize("width", [1, 2, 3, 4])
def test_files_of_pythons_own_wave_module(width):
    """Python's wave writes; full scale is 2 to the power of bits less one, the WAV convention."""
    whole = np.round(TONE * (2 ** (8 * width - 1) - 1)).astype(np.int64)
    whole = whole + (128 if width == 1 else 0)
    raw = b"".join(int(n).to_bytes(width, "little", signed=width > 1) for n in whole)
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setparams((1, width, RATE, 0, "NONE", ""))
        out.writeframes(raw)
    assert_allclose(read_wav(file.getvalue()).samples, TONE, atol=1.5 / 2 ** (8 * width - 1))


def extensible(raw, channels, bits):
    """Return a WAVE_FORMAT_EXTENSIBLE file, byte by byte after the public format description."""
    frame = channels * bits // 8
    kind = struct.pack("<HHIIHH", 0xFFFE, channels, RATE, RATE * frame, frame, bits)
    kind += struct.pack("<HHI", 22, bits, 3) + struct.pack("<I", 1)
    kind += bytes.fromhex("000010008000 00AA00389B71".replace(" ", ""))
    body = b"WAVE" + b"fmt " + struct.pack("<I", len(kind)) + kind
    body += b"LIST" + struct.pack("<I", 5) + b"hello\0"  # odd: a pad byte follows
    body += b"data" + struct.pack("<I", len(raw)) + raw
    return b"RIFF" + struct.pack("<I", len(body)) + body


def test_the_extensible_format_and_chunks_of_other_programs():
    raw = (TONE * 32767).astype("<i2").tobytes()
    assert_allclose(read_wav(extensible(raw, 1, 16)).samples, TONE, atol=1e-4)


@pytest.mark.parametrize(("left", "right", "word"), [(1.0, 0.1, "left"), (0.1, 1.0, "right")])
def test_the_louder_channel_is_used_and_named(left, right, word):
    sound = read_wav(wav_bytes(np.column_stack([left * TONE, right * TONE]), RATE))
    assert_allclose(sound.samples, TONE, atol=1e-4)
    assert f"Stereo: the louder channel, the {word}, is used." in sound.said


def test_of_many_channels_the_loudest_is_numbered():
    sound = read_wav(wav_bytes(np.outer(TONE, [0.1, 0.2, 1.0, 0.3]), RATE))
    assert "4 channels: the loudest, number 3, is used." in sound.said


def test_a_quiet_channel_with_an_offset_is_not_the_louder():
    sound = read_wav(wav_bytes(np.column_stack([0.9 + 0.01 * TONE, TONE]), RATE))
    assert "the right, is used" in " ".join(sound.said)


def test_clipping_is_said_and_its_share():
    """A sine of twice full scale is over it for 2/3 of the time: arcsine of a half, by hand."""
    sound = read_wav(wav_bytes(4 * TONE, RATE))
    assert any(line.startswith("Clipped: 67 %") for line in sound.said)
    assert not any("lipped" in line for line in read_wav(wav_bytes(TONE, RATE)).said)
    floats = read_wav(wav_bytes(4 * TONE, RATE, "float32"))  # floats may pass full scale
    assert np.abs(floats.samples).max() == 1.0 and "Clipped" in " ".join(floats.said)


def test_the_sound_cannot_be_changed():
    sound = read_wav(wav_bytes(TONE, RATE))
    with pytest.raises(ValueError, match="read-only"):
        sound.samples[0] = 1


@pytest.mark.parametrize("odd", [0, 1, 3])
@pytest.mark.parametrize("kind", ["int16", "int24"])
def test_a_file_cut_off_is_read_as_far_as_it_goes(kind, odd):
    whole = wav_bytes(np.column_stack([TONE, 0 * TONE]), RATE, kind)
    sound = read_wav(whole[: 44 + int(0.75 * (len(whole) - 44)) + odd])
    assert any("cut off in the middle: 75% of it is there" in line for line in sound.said)
    assert sound.seconds == pytest.approx(1.5, abs=1e-3)
    assert_allclose(sound.samples, TONE[: len(sound.samples)], atol=1e-4)


@pytest.mark.parametrize("size", [0, 0xFFFFFFFF])
def test_a_recorder_that_never_wrote_the_size(size):
    made = bytearray(wav_bytes(TONE, RATE))
    made[4:8] = made[40:44] = struct.pack("<I", size)
    assert_allclose(read_wav(bytes(made)).samples, TONE, atol=1e-4)


PLAIN = wav_bytes(TONE, RATE)
REFUSED = {
    "empty": (b"", "empty file"),
    "mp3": (b"ID3\x04" + bytes(99), "got an MP3 file, whatever its name"),
    "mp3 without a title": (b"\xff\xfb\x90\x64" + bytes(99), "an MP3"),
    "aac": (b"\xff\xf1\x50\x80" + bytes(99), "an AAC"),
    "m4a": (b"\0\0\0\x20ftypM4A " + bytes(99), "an M4A"),
    "ogg": (b"OggS" + bytes(99), "an Ogg"),
    "flac": (b"fLaC" + bytes(99), "a FLAC"),
    "aiff": (b"FORM\0\0\1\0AIFF" + bytes(99), "an AIFF"),
    "text": (b"hello, I am no sound at all", "something else"),
    "a film": (b"RIFF\x10\0\0\0AVI " + bytes(99), "something else"),
    "head only": (PLAIN[:30], "it was cut off"),
    "no samples": (PLAIN[:44], "must last 1 to 120 s, got 0 s"),
    "silent": (wav_bytes(1e-5 * TONE, RATE), "it is silent"),
    "only an offset": (wav_bytes(0.5 + 0 * TONE, RATE), "it is silent"),
    "short": (wav_bytes(TONE[:4000], RATE), "got 0.5 s"),
    "long": (wav_bytes(np.tile(TONE, 61), RATE, "uint8"), "got 122 s"),
    "slow": (wav_bytes(TONE, 2000), "sampled at 4000 Hz or more, got 2000"),
    "not numbers": (wav_bytes(np.where(TONE > 0.4, np.nan, TONE), RATE, "float32"), "not-a-number"),
    "packed": (PLAIN[:20] + struct.pack("<H", 2) + PLAIN[22:], "cannot be read"),
    "big": (bytes(50_000_001), "50 MB at most"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_is_refused_and_why(what):
    data, words = REFUSED[what]
    with pytest.raises(Refusal, match=words) as fault:
        read_wav(data, "buzz.wav")
    assert str(fault.value).startswith("the recording buzz.wav must")
    assert str(fault.value)[-1] in ".?"


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([0, 4, 12, 20, 22, 24, 32, 34, 36, 40, 44]),
       st.booleans())  # fmt: skip
def test_garbage_is_refused_or_read_but_never_fails(noise, place, follow):
    made = PLAIN[:place] + noise + (PLAIN[place + len(noise) :] if follow else b"")
    try:
        sound = read_wav(made)
    except Refusal:
        return
    assert np.isfinite(sound.samples).all() and np.abs(sound.samples).max() <= 1
