"""The picture of a relaxation circuit: what is drawn is the circuit's, and scales stay."""

import numpy as np
import plotly.graph_objects as go
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.plots.relaxation_plot import (
    BEST,
    FIRES,
    NOW,
    POWER,
    SUPPLY,
    VOLTS,
    change_relaxation,
    relaxation_figure,
    relaxation_plot,
)

pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")
SETUP = ek.Setup(
    ek.work_material("52100"),
    ek.electrode_material("copper"),
    ek.dielectric("edm_oil"),
    "electrode positive",
    7.0,
)
DRILLING = ek.Relaxation(50, 10, 200, breakdown_V=150)


def drawn(circuit):
    return relaxation_plot(ek.predict(SETUP, circuit))


def test_the_capacitor_of_the_drilling_example():
    # textbook examples GM1, GM2: 50 ohm, 10 µF, 200 V charge to 150 V in 0.693 ms
    shown = drawn(DRILLING)
    assert shown.unit == "ms"
    assert_allclose(shown.voltage_V.max(), 150, rtol=1e-9)
    first = shown.time[np.argmax(shown.voltage_V)]
    assert_allclose(first, 0.6931, atol=1e-4)
    assert np.sum(shown.voltage_V == 0) == 4  # empty at the start and after each of three sparks
    # between two sparks: the charging and pi sqrt(LC) of 1 µH, 9.93 µs
    tops = shown.time[np.isclose(shown.voltage_V, 150)]
    assert_allclose(np.diff(tops), 0.6931 + 0.00993, atol=1e-4)


def test_small_circuits_are_drawn_in_microseconds():
    shown = drawn(ek.Relaxation(100, 0.1, 110))
    assert shown.unit == "µs"
    # textbook example R7: 1.25643 RC at the best voltage; RC is 10 µs
    assert_allclose(shown.time[np.argmax(shown.voltage_V)], 12.5643, rtol=1e-4)
    assert_allclose(shown.share_percent, 71.533, atol=1e-3)
    assert_allclose(shown.power_percent, 100, rtol=1e-12)


def test_the_figure_shows_lines_and_marks_where_they_belong():
    figure = relaxation_figure(drawn(DRILLING))
    assert_allclose(figure.data[SUPPLY].y, 200)
    assert_allclose(figure.data[FIRES].y, 150)
    # textbook example R9: 0.7 of the supply has 0.9993 of the most power, 0.8 has 0.976
    power = np.interp([70, 80], figure.data[POWER].x, figure.data[POWER].y)
    assert_allclose(power, [99.93, 97.64], atol=0.02)
    assert_allclose(figure.data[BEST].x, 71.533, atol=1e-3)
    assert_allclose(figure.data[NOW].x, 75)
    words = [note.text for note in figure.layout.annotations]
    assert "supply 200 V" in words and "fires at 150 V" in words
    assert figure.layout.xaxis.title.text == "ms"


@pytest.mark.parametrize(
    "circuit",
    [
        ek.Relaxation(0.1, 1e-3, 30),
        ek.Relaxation(100_000, 100, 400, 1000, 399),
        ek.Relaxation(1, 10, 60, 5, 20),
    ],
)
def test_everything_is_in_sight(circuit):
    figure = relaxation_figure(drawn(DRILLING))
    change_relaxation(figure, drawn(circuit))
    data, axes = figure.data, figure.layout
    assert 0.3 < np.max(data[VOLTS].x) / axes.xaxis.range[1] <= 1
    assert np.max(data[SUPPLY].y) < axes.yaxis.range[1]
    assert 0 <= data[NOW].y[0] <= axes.yaxis2.range[1]


def test_scales_stay_while_they_fit():
    figure = relaxation_figure(drawn(DRILLING))
    curve, ranges = figure.data[POWER].y, (figure.layout.xaxis.range, figure.layout.yaxis.range)
    change_relaxation(figure, drawn(ek.Relaxation(51, 10, 190, breakdown_V=140)))
    assert (figure.layout.xaxis.range, figure.layout.yaxis.range) == ranges
    assert figure.data[POWER].y is curve
    change_relaxation(figure, drawn(ek.Relaxation(47, 0.1, 60)))
    assert figure.layout.xaxis.title.text == "µs" and figure.layout.xaxis.range != ranges[0]
    assert isinstance(figure, go.Figure)
