"""The box that takes the pitch: a recording, a frequency typed, and only at a press."""

import re
from datetime import datetime
from html import unescape

import numpy as np
import pytest
from buzz_maker import Scene, make_buzz, wav_bytes
from numpy.testing import assert_allclose

from edmkit.panels.sound_box import SoundBox

RATE = 48_000
TIME = np.arange(2 * RATE) / RATE


class Kept(list):
    def __call__(self, frequency_Hz, spread, source):
        self.append((frequency_Hz, spread, source))


@pytest.fixture
def kept():
    return Kept()


@pytest.fixture
def box(kept):
    return SoundBox(kept)


def buzz(*pitches, reach=8):
    made = sum(np.sin(2 * np.pi * n * f * TIME) for f in pitches for n in range(1, reach))
    made = made + 0.01 * np.random.default_rng(0).standard_normal(len(TIME))
    return 0.7 * made / np.abs(made).max()


def said(widget):
    return unescape(re.sub("[ \n]+", " ", re.sub("<[^>]+>", " ", widget.value)))


def visible(widget):
    return widget.layout.display != "none"


def test_at_first_there_is_nothing_to_take(box, kept):
    assert not any(visible(part) for part in (box.take, box.others, box._plot))
    assert said(box.answer) == "" and kept == []


def test_a_recording_is_shown_large_and_taken_only_at_a_press(box, kept):
    box.read_in(wav_bytes(buzz(2500.0), RATE), "buzz.wav")
    assert '<div class="edm-big">2.5 kHz</div>' in box.answer.value
    assert "together are 400 µs" in said(box.answer)  # 1 / 2500 Hz, by hand
    assert visible(box.take) and visible(box._plot) and kept == []
    box.take.click()
    ((frequency, spread, source),) = kept
    assert_allclose(frequency, 2500, rtol=1e-3)
    assert 0 < spread < 0.01 and source == "recording"


def test_the_upload_is_read_as_the_browser_sends_it(box):
    content = memoryview(wav_bytes(buzz(1200.0), RATE))
    box.upload.value = ({"name": "a <b>.wav", "type": "audio/wav", "size": len(content),
                         "content": content, "last_modified": datetime.now()},)  # fmt: skip
    assert "1.2 kHz" in said(box.answer)


def test_what_is_odd_of_the_file_is_said(box):
    box.read_in(wav_bytes(np.column_stack([buzz(1200.0), 3 * buzz(1200.0)]), RATE))
    assert "the right, is used" in said(box.said) and "Clipped" in said(box.said)


def test_a_doubt_is_shown_and_the_pitch_can_still_be_taken(box, kept):
    box.read_in(wav_bytes(buzz(3100.0, reach=2), RATE))
    assert "one tone without harmonics" in said(box.answer) and "edm-refusal" in box.answer.value
    box.take.click()
    assert len(kept) == 1


def test_hum_that_was_heard_is_named(box):
    scene = Scene(2410, hum_dB=5, mains_Hz=60, seconds=4, seed=3)
    box.read_in(wav_bytes(make_buzz(scene)))
    assert "2.41 kHz" in said(box.answer) and "60 Hz mains was heard" in said(box.answer)


def test_another_candidate_is_taken_by_its_button(box, kept):
    box.read_in(wav_bytes(buzz(1700.0, 2611.0), RATE))
    first = box._candidate[0].likely
    other = box.others.children[0]
    assert "instead" in other.description
    other.click()
    box.take.click()
    assert sorted([first, kept[0][0]]) == pytest.approx([1700, 2611], rel=1e-3)
    assert kept[0][2] == "recording in doubt"
    assert f"It is {first / 1000:.2f}"[:-1] in box.others.children[0].description


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"ID3\x04" + bytes(99), "must be a WAV file, got an MP3 file"),
        (b"", "empty file"),
        (wav_bytes(0 * TIME, RATE), "it is silent"),
        (wav_bytes(buzz(1200.0)[:4000], RATE), "must last 1 to 120 s"),
    ],
)
def test_what_cannot_be_read_is_said_and_takes_back_the_old_answer(box, data, words):
    box.read_in(wav_bytes(buzz(1200.0), RATE))
    box.read_in(data, "x<y.mp3")
    assert words in said(box.answer) and "<y" not in box.answer.value
    assert not any(visible(part) for part in (box.take, box.others, box._plot))


@pytest.mark.parametrize(("by", "spread"), [("meter", 0.005), ("typed", 0.01)])
def test_a_frequency_is_typed_in_kHz(box, kept, by, spread):
    box.by.value = by
    box.typed.type("2.41")
    assert "2.41 kHz" in said(box.answer) and "together are 415 µs" in said(box.answer)
    box.take.click()
    ((frequency, given, source),) = kept
    assert_allclose(frequency, 2410)
    assert (given, source) == (spread, by)


def test_a_wrong_frequency_is_answered_beside_it_and_cannot_be_taken(box):
    box.typed.type("2.41")
    box.typed.type("2000 rpm")
    assert "frequency must be 0.05 to 1000 kHz" in said(box.typed.message)
    assert not visible(box.take)


def test_the_last_answer_counts_whichever_way_it_came(box, kept):
    box.typed.type("5")
    box.read_in(wav_bytes(buzz(1200.0), RATE))
    assert box.typed.value is None and "1.2 kHz" in said(box.answer)
    box.typed.type("7")
    assert "7 kHz" in said(box.answer) and not visible(box._plot)
    box.typed.type("")
    assert not visible(box.take) and said(box.answer) == ""
    box.read_in(wav_bytes(buzz(900.0), RATE))
    assert box.figure is box._plot.children[0] and visible(box._plot)
    box.take.click()
    assert kept[-1][2] == "recording"


def test_it_says_what_a_phone_cannot_hear(box):
    texts = " ".join(said(part) for part in box.children if hasattr(part, "value")
                     and isinstance(part.value, str))  # fmt: skip
    assert "hears to about 20 kHz" in texts and "pair of longer times" in texts
