"""The plot of a recording's sound: right data, words on the marks, changed in place."""

from dataclasses import replace

import numpy as np
import plotly.graph_objects as go
from numpy.testing import assert_allclose

from edmkit.dials.pitch import find_pitch
from edmkit.dials.sound import Sound
from edmkit.plots.pitch_plot import (
    HARMONICS,
    MAINS,
    PITCH,
    SOUND,
    change_pitch_plot,
    pitch_plot,
    pitch_plot_figure,
)

RATE = 44_100
TIME = np.arange(3 * RATE) / RATE


def found(fundamental, hum=0.0, numbers=range(1, 6)):
    """Return the pitch of an exact series of tones with hum of 50 Hz under it."""
    buzz = sum(np.sin(2 * np.pi * n * fundamental * TIME) for n in numbers)
    mains = hum * sum(np.sin(2 * np.pi * 50 * n * TIME) / n for n in range(1, 14))
    noise = 0.01 * np.random.default_rng(0).standard_normal(len(TIME))
    samples = buzz + mains + noise
    return find_pitch(Sound(samples / np.abs(samples).max(), RATE))


def test_the_marks_stand_on_the_tones_that_were_made():
    shown = pitch_plot(found(1500.0, hum=1.0))
    assert_allclose(shown.traces[PITCH][0], [1.5], rtol=1e-3)
    assert_allclose(shown.traces[HARMONICS][0], [3, 4.5, 6, 7.5], rtol=1e-3)
    assert_allclose(shown.traces[MAINS][0], 0.05 * np.arange(1, 9), rtol=1e-3)
    assert shown.words == (("pitch 1.5 kHz",), ("2", "3", "4", "5"))
    x, y = shown.traces[SOUND]
    for at, height in zip(*shown.traces[HARMONICS], strict=True):
        near = np.abs(x / at - 1) < 0.02
        assert height == y[near].max() > 20


def test_the_loudest_of_each_stretch_is_drawn_and_nothing_is_moved():
    pitch = found(1500.0)
    x, y = pitch_plot(pitch).traces[SOUND]
    assert 300 < len(x) <= 702 and np.all(np.diff(x) > 0)
    assert x[0] > 0.04 and x[-1] > 20
    seen = pitch.spectrum
    loudest = seen.level_dB.max() - np.median(seen.level_dB)
    assert_allclose(y.max(), loudest)
    assert min(abs(x[np.argmax(y)] / (n * 1.5) - 1) for n in range(1, 6)) < 0.01


def test_without_mains_there_is_no_mark_of_it():
    shown = pitch_plot(found(1500.0))
    assert shown.traces[MAINS][0].size == 0


def test_a_missing_harmonic_is_not_marked_and_the_words_count():
    assert pitch_plot(found(1500.0, numbers=(1, 2, 5))).words[1] == ("2", "5")


def test_all_is_in_sight_and_the_scale_stays_while_it_serves():
    figure = go.Figure(pitch_plot_figure(shown := pitch_plot(found(1500.0, hum=1.0))))
    traces, high = figure.data, figure.layout.yaxis.range
    assert high[1] >= shown.loudest_dB
    assert figure.layout.xaxis.type == "log"
    low, top = figure.layout.xaxis.range
    assert 10**low <= 0.05 and 10**top >= 20
    other = replace(pitch_plot(found(2200.0, hum=1.0)), loudest_dB=0.6 * shown.loudest_dB)
    assert pitch_plot_figure(other).layout.yaxis.range[1] < high[1]
    change_pitch_plot(figure, other)
    assert figure.layout.yaxis.range == high and figure.data[PITCH] is traces[PITCH]
    for number, (x, y) in enumerate(other.traces):
        assert_allclose(figure.data[number].x, x)
        assert_allclose(figure.data[number].y, y)
    assert figure.data[PITCH].text == ("pitch 2.2 kHz",)


def test_each_thing_differs_by_more_than_its_colour():
    looks = [(t.mode, t.marker.symbol) for t in pitch_plot_figure(pitch_plot(found(900.0))).data]
    assert len(set(looks)) == 4
