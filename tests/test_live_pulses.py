"""The last pulses as drawn: areas are what the meters show, each kind has its shape and word."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_pulse_by_pulse import BURN, CASES

from edmkit.physics.pulse_by_pulse import ARCING, NORMAL, OPEN, SHORTED, State, simulate
from edmkit.plots.live_pulses import (
    CURRENT,
    DEBRIS,
    MEAN_CURRENT,
    MEAN_VOLTAGE,
    TRAVEL,
    VOLTAGE,
    WORDS,
    change_live_pulses,
    live_pulses,
    live_pulses_figure,
)

US = 1e-6


def one_of_each(**changed):
    """Return pulses: a spark after 30 µs, an arc, a short, an open one; 50 µs on, 25 µs off."""
    made = simulate(replace(BURN, **changed), 4)
    kind = np.array([NORMAL, ARCING, SHORTED, OPEN])
    return replace(made, kind=kind, delay=np.array([30, 0, 0, 200]) * US)


def test_the_areas_are_what_the_meters_show():
    made = one_of_each()
    drawn = live_pulses(made)
    # by hand: times 105 + 75 + 75 + 225 = 480 µs; volt-µs 120*30 + 25*50 + 25*50 + 0 + 120*200
    assert_allclose(drawn.time_us[-1] - drawn.time_us[0], 480)
    assert_allclose(np.trapezoid(drawn.voltage_V, drawn.time_us), 3600 + 1250 + 1250 + 24_000)
    assert_allclose(np.trapezoid(drawn.current_A, drawn.time_us), 3 * 3 * 50)
    assert_allclose(made.mean_voltage, 30_100 / 480)


def test_each_kind_has_its_shape_and_word():
    drawn = live_pulses(one_of_each())
    assert drawn.words == ("spark", "arc", "short", "open")
    volts, amps = drawn.voltage_V.reshape(4, -1), drawn.current_A.reshape(4, -1)
    assert_allclose(volts.max(axis=1), [120, 25, 0, 120])
    assert_allclose(amps.max(axis=1), [3, 3, 3, 0])
    starts = drawn.time_us.reshape(4, -1)[:, 0]
    assert np.all((drawn.words_us > starts) & (drawn.words_us < starts + 225))


@pytest.mark.parametrize("case", CASES)
def test_the_last_pulses_fill_the_width_and_all_is_in_sight(case):
    made = simulate(CASES[case], 300)
    drawn, figure = live_pulses(made), live_pulses_figure(made)
    assert drawn.time_us[0] <= 0 < drawn.width_us
    assert_allclose(drawn.time_us[-1], drawn.width_us)
    assert np.all(np.diff(drawn.time_us) >= -1e-6)
    assert len(drawn.words) <= 20
    axes = figure.layout
    for number, axis in ((VOLTAGE, axes.yaxis), (CURRENT, axes.yaxis2), (DEBRIS, axes.yaxis3),
                         (TRAVEL, axes.yaxis4)):  # fmt: skip
        low, high = axis.range
        assert low <= np.min(figure.data[number].y) and np.max(figure.data[number].y) <= high
    assert_allclose(figure.data[MEAN_VOLTAGE].y, made.mean_voltage)
    assert_allclose(figure.data[MEAN_CURRENT].y, made.mean_current)
    assert set(figure.data[WORDS].text) <= {"spark", "arc", "short", "open"}
    assert len(figure.data[WORDS].text) == len(figure.data[WORDS].x) >= 2
    assert min(figure.data[WORDS].x) > 0


def test_the_figure_changes_in_place_and_its_scales_stay():
    one = simulate(BURN, 300)
    figure = live_pulses_figure(one)
    ranges = [figure.layout[axis].range for axis in ("xaxis2", "yaxis", "yaxis2")]
    change_live_pulses(figure, simulate(BURN, 300, seed=1, start=one.end))
    assert [figure.layout[axis].range for axis in ("xaxis2", "yaxis", "yaxis2")] == ranges
    high = simulate(replace(BURN, open_voltage=300.0), 300)
    change_live_pulses(figure, high)
    assert (
        figure.layout.yaxis.range[1] > 300
        and "voltmeter shows" in figure.layout.annotations[0].text
    )


def test_a_gap_that_opens_is_drawn_below_zero():
    made = simulate(BURN, 400, start=State(0.3, 0.5))
    figure = live_pulses_figure(made)
    assert min(figure.data[TRAVEL].y) < -1 and figure.layout.yaxis4.range[0] < -1
    assert min(figure.layout.yaxis4.tickvals) < 0
