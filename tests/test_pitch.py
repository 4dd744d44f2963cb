"""The pitch of a buzz: exact tones made by numpy, invented recordings, and sounds that are none."""

from dataclasses import replace

import numpy as np
import pytest
from buzz_maker import Scene, any_scene, make_buzz, wav_bytes
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.dials.pitch import find_pitch
from edmkit.dials.sound import Sound, read_wav

RATE = 48_000
TIME = np.arange(4 * RATE) / RATE


def heard(samples, rate=RATE, hiss=1e-3):
    hissing = hiss * np.random.default_rng(1).standard_normal(len(samples))
    return Sound(samples / np.abs(samples).max() + hissing, float(rate))


def noise():
    return np.random.default_rng(1).standard_normal(len(TIME))


def tones(fundamental, numbers, sizes=None, time=TIME):
    """Return a sum of sines at exact multiples: definition of a harmonic series."""
    sizes = np.ones(len(numbers)) if sizes is None else sizes
    return sum(a * np.sin(2 * np.pi * n * fundamental * time + n * n)
               for n, a in zip(numbers, sizes, strict=True))  # fmt: skip


def recorded(scene):
    return find_pitch(read_wav(wav_bytes(make_buzz(scene), scene.rate_Hz)))


def answer(scene):
    """Return how far off the pitch is, 9 for none, and whether it is sure."""
    try:
        found = recorded(scene)
    except Refusal:
        return 9.0, False
    return float(found.frequency_Hz / scene.frequency_Hz - 1), found.sure


# --- the owner's goal -------------------------------------------------------------------------
def test_of_a_hundred_recordings_95_are_right_and_the_others_say_so():
    """Pitch within 1 % in 95 of 100 recordings at 0.2 to 20 kHz, else it says so: the goal set."""
    scenes = [any_scene(seed) for seed in range(5000, 5100)]
    pitches = np.array([scene.frequency_Hz for scene in scenes])
    assert pitches.min() < 250 and pitches.max() > 18_000
    off, sure = map(np.array, zip(*map(answer, scenes), strict=True))
    right = np.abs(off) < 0.01
    assert right.mean() >= 0.95
    assert np.mean(sure & ~right) <= 0.02
    assert np.mean(sure & right) >= 0.85  # one that is never sure helps nobody


def test_the_stated_spread_covers_the_truth():
    """Nine in ten within 1.645 standard deviations, where the pitch does not wander in between."""
    off, spread = [], []
    for seed in range(6000, 6025):
        scene = replace(any_scene(seed), wander=0.0, pump_dB=None, seconds=3.0)
        found = recorded(scene)
        off.append(np.log(found.frequency_Hz / scene.frequency_Hz))
        spread.append(found.spread)
    assert np.mean(np.abs(off) < 1.6449 * np.array(spread)) >= 0.85
    assert max(spread) < 0.002


@pytest.mark.parametrize(
    ("what", "scene"),
    [
        ("hum", Scene(1000, buzz=False, hum_dB=0, hiss_dB=-30)),
        ("hum of 60 Hz", Scene(1000, buzz=False, hum_dB=0, hiss_dB=-20, mains_Hz=60)),
        ("hiss", Scene(1000, buzz=False, hiss_dB=0)),
        ("thumps", Scene(1000, buzz=False, thump_dB=0, hiss_dB=-40)),
        ("a lift's motor", Scene(1000, buzz=False, whirr_dB=0, hiss_dB=-30)),
        ("a pump", Scene(1000, buzz=False, pump_dB=0, hum_dB=-10, hiss_dB=-30)),
    ],
)
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_what_is_no_buzz_is_never_sure(what, scene, seed):
    assert not answer(replace(scene, seed=seed, seconds=5))[1]


# --- exact tones ------------------------------------------------------------------------------
@pytest.mark.parametrize("fundamental", [203.7, 411.3, 777.7, 1234.5, 2410.2, 5333.3, 9871.0])
@pytest.mark.parametrize(
    ("numbers", "sizes"),
    [
        (range(1, 13), None),
        (range(1, 24, 2), None),  # on as long as off: even harmonics are nil (Fourier, definition)
        (range(2, 13), None),  # the fundamental lost in the phone's low cut
        (range(1, 13), 0.03 + 0.97 * (np.arange(12) == 4)),  # one that rings
    ],
)
def test_exact_harmonics_to_a_ten_thousandth(fundamental, numbers, sizes):
    kept = [n for n in numbers if n * fundamental < 20_000]
    if len(kept) < 4:
        kept, sizes = [1, 2], None
    sizes = sizes if sizes is None else sizes[: len(kept)]
    found = find_pitch(heard(tones(fundamental, kept, sizes)))
    assert_allclose(found.frequency_Hz, fundamental, rtol=1e-4)
    assert found.sure, found.why
    assert_allclose(found.period_us, 1e6 / found.frequency_Hz)


@pytest.mark.parametrize("fundamental", [12_345.0, 15_000.9, 19_799.1])
def test_a_high_pitch_is_a_single_tone(fundamental):
    found = find_pitch(heard(tones(fundamental, [1])))
    assert_allclose(found.frequency_Hz, fundamental, rtol=2e-5)  # a quarter of a hertz
    assert found.sure and len(found.harmonics) == 1


def test_a_single_tone_whose_harmonics_should_be_heard_is_doubted():
    found = find_pitch(heard(tones(3100.0, [1])))
    assert_allclose(found.frequency_Hz, 3100, rtol=1e-3)
    assert not found.sure and "without harmonics" in found.why


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_louder_than_the_buzz_is_told_from_it(mains):
    hum = tones(mains * 1.0005, range(1, 20), np.arange(1, 20) ** -1.0)
    found = find_pitch(heard(10 * hum + 0.3 * tones(873.0, range(1, 20))))
    assert_allclose(found.frequency_Hz, 873.0, rtol=1e-3)
    assert found.sure and found.mains_Hz == mains


@pytest.mark.parametrize("fundamental", [873.0, 301.3])  # the second is 5.02 times 60 Hz
def test_no_mains_is_heard_where_there_is_none(fundamental):
    assert find_pitch(heard(tones(fundamental, range(1, 20)))).mains_Hz is None


def test_a_buzz_upon_a_multiple_of_mains_is_not_lost():
    """600 Hz is 12 times 50 Hz: all its harmonics fall on mains; high ones tell it."""
    hum = tones(50.0, range(1, 30), np.arange(1, 30) ** -1.0)
    found = find_pitch(heard(3 * hum + tones(600.0, range(1, 30))))
    assert_allclose(found.frequency_Hz, 600.0, rtol=1e-3)
    assert found.sure
    low = find_pitch(heard(3 * hum + tones(600.0, [1, 2, 3])))
    assert not low.sure


def test_a_buzz_for_a_part_of_the_recording():
    samples = tones(1500.0, range(1, 8)) * ((TIME > 1.0) & (TIME < 2.4))
    found = find_pitch(heard(samples))
    assert_allclose(found.frequency_Hz, 1500.0, rtol=1e-3)
    assert found.sure


def test_two_buzzes_at_once_are_two_candidates():
    samples = tones(1700.0, range(1, 8)) + tones(2611.0, range(1, 7))
    found = find_pitch(heard(samples))
    both = sorted([found.frequency_Hz, *found.others])
    assert any(abs(f / 1700 - 1) < 1e-3 for f in both)
    assert any(abs(f / 2611 - 1) < 1e-3 for f in both)
    assert not found.sure and "sounds louder" in found.why


def test_the_ripple_of_the_mains_beside_a_tone_is_no_tone_of_its_own():
    """An amplitude that swings at 100 Hz puts tones 100 Hz to either side: product of sines."""
    swing = 1 + 0.4 * np.sin(2 * np.pi * 100 * TIME)
    found = find_pitch(heard(swing * tones(12_000.0, [1])))
    assert_allclose(found.frequency_Hz, 12_000, rtol=1e-4)
    assert found.sure and not found.others


def test_what_no_ear_hears_does_not_count():
    time = np.arange(2 * 192_000) / 192_000
    lamp = sum(np.sin(2 * np.pi * f * time) for f in (31e3, 44e3, 52e3, 61e3, 77e3, 83e3))
    found = find_pitch(heard(tones(11_111.0, [1], time=time) + 3 * lamp, 192_000))
    assert_allclose(found.frequency_Hz, 11_111, rtol=1e-3)
    assert found.sure


@pytest.mark.parametrize("seed", range(6))
def test_a_rectifiers_hum_far_up_is_not_a_buzz(seed):
    rng = np.random.default_rng(seed)
    sizes = rng.lognormal(0, 0.8, 40) / np.arange(1, 41) ** 0.5
    found = find_pitch(heard(tones(100.02, range(1, 41), sizes)))
    assert not found.sure, (found.frequency_Hz, found.harmonics)


DOUBTS = {
    "hardly stands out": lambda: Sound(tones(15_000.0, [1]) * 0.035 + noise(), RATE),
    "as well": lambda: heard(tones(15_000.0, [1]) + tones(341.7, range(1, 4))),
    "high harmonics": lambda: heard(tones(301.3, range(1, 4))),
    "wanders": lambda: heard(sum(np.sin(2 * np.pi * n * (900 * TIME + 2 * TIME**2))
                                 for n in range(1, 12))),
    "sounds louder": lambda: heard(tones(1700.0, range(1, 8)) + tones(2611.0, range(1, 7))),
    "multiple of the mains": lambda: heard(tones(60.0, range(1, 30), np.arange(1, 30) ** -0.5)
                                           + 0.5 * tones(960.0, [1, 2, 3, 4])),
}  # fmt: skip


@pytest.mark.parametrize("words", DOUBTS)
def test_each_doubt_is_said_in_a_sentence(words):
    found = find_pitch(DOUBTS[words]())
    assert not found.sure and words in found.why and found.why.endswith(".")


# --- property and shape -----------------------------------------------------------------------
@settings(max_examples=15, deadline=None)
@given(st.floats(200, 2000), st.floats(0.02, 1.0), st.booleans())
def test_loudness_sign_and_direction_of_time_change_nothing(fundamental, loudness, turned):
    samples = tones(fundamental, range(1, 9), time=TIME[: 2 * RATE])
    one = find_pitch(heard(samples, hiss=1e-3))
    other = heard(samples, hiss=1e-3)
    changed = replace(other, samples=-loudness * other.samples[:: -1 if turned else 1])
    two = find_pitch(changed)
    assert_allclose(two.frequency_Hz, one.frequency_Hz, rtol=5e-4)
    assert two.sure == one.sure


@pytest.mark.parametrize("rate", [8000, 22_050, 44_100, 96_000, 192_000])
def test_however_often_it_was_sampled(rate):
    time = np.arange(2 * rate) / rate
    kept = [n for n in range(1, 12) if n * 1111 < 0.45 * rate]
    found = find_pitch(heard(tones(1111.0, kept, time=time), rate))
    assert_allclose(found.frequency_Hz, 1111.0, rtol=1e-3)


def test_harmonics_are_the_multiples_that_were_made():
    found = find_pitch(heard(tones(1000.0, [1, 2, 4, 7])))
    assert_allclose(found.harmonics, [1000, 2000, 4000, 7000], rtol=1e-3)


# --- refusal and doubt ------------------------------------------------------------------------
def test_white_noise_is_refused_or_doubted():
    try:
        assert not find_pitch(Sound(noise() / 5, RATE)).sure
    except Refusal as fault:
        assert "steady buzz" in str(fault)


def test_mains_are_50_or_60():
    with pytest.raises(Refusal, match="mains_Hz must be one of '50', '60'"):
        find_pitch(heard(tones(800.0, range(1, 9))), mains_Hz=55)
