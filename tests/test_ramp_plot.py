"""The plot of area and current against depth: right data, still axes, changed in place."""

import numpy as np
import plotly.graph_objects as go
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.planning.ramp import ramp
from edmkit.plots.ramp_plot import ALLOWED, AREA, STEPS, VOLUME, change_ramp, ramp_figure, ramp_plot

ROD = ek.Round(3.0)


def on_a_ball(diameter=12.0, depth=5.0, amps=3.0):
    """Return the ramp of a round rod into a ball."""
    at = ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive",
        engaged_area_mm2=ROD.area_mm2, engaged_rim_mm=ROD.perimeter_mm,
    )  # fmt: skip
    feature = ek.Feature(ek.Round(3.05), ek.Ball(diameter), depth)
    return feature, ramp(feature, ROD, at, ek.Settings(amps, 50, 25))


def test_the_curves_are_those_of_the_hole():
    feature, made = on_a_ball()
    shown = ramp_plot(made)
    assert_allclose(shown.areas[1:], feature.engaged_area_mm2(shown.depths[1:], ROD), rtol=1e-9)
    assert_allclose(shown.volumes[1:], feature.removed_volume_mm3(shown.depths[1:], ROD), rtol=1e-9)
    assert shown.depths[0] == shown.volumes[0] == 0


def test_the_steps_stay_below_what_is_borne():
    _, made = on_a_ball()
    shown = ramp_plot(made)
    xs, ys = shown.step_depths, shown.step_currents
    assert len(xs) == len(ys) == 2 * len(made.steps)
    assert np.all(np.diff(xs) >= 0) and np.all(np.diff(ys) >= 0)
    assert xs[-1] == shown.depths[-1]
    for start, mean in zip(xs[2::2], ys[2::2], strict=True):
        assert np.all(shown.allowed[shown.depths >= start] >= mean * (1 - 1e-9))


def test_inches_only_change_the_depth():
    _, made = on_a_ball()
    mm, inch = ramp_plot(made), ramp_plot(made, 1 / 25.4, "in")
    assert_allclose(inch.depths * 25.4, mm.depths)
    assert_allclose(inch.areas, mm.areas)
    assert "in" in ramp_figure(inch).layout.xaxis2.title.text


@pytest.mark.parametrize("case", [{}, {"amps": 50.0}, {"diameter": 500.0, "depth": 0.5}])
def test_everything_is_in_sight(case):
    shown = ramp_plot(on_a_ball(**case)[1])
    figure = ramp_figure(shown)
    for axis, values in (("yaxis", shown.areas), ("yaxis3", shown.volumes),
                         ("yaxis2", shown.step_currents), ("xaxis", shown.depths)):  # fmt: skip
        low, high = figure.layout[axis].range
        assert low <= values.min() and values.max() <= high * (1 + 1e-9)
    assert figure.layout.yaxis.title.text and figure.layout.yaxis2.title.text


def test_it_changes_in_place_and_small_changes_leave_the_axes():
    figure = go.Figure(ramp_figure(ramp_plot(on_a_ball()[1])))
    names = ("yaxis", "yaxis2", "yaxis3")  # the volume, on the third, grows with the depth
    traces, axes = figure.data, [figure.layout[name].range for name in names]
    after = ramp_plot(on_a_ball(depth=4.9)[1])
    change_ramp(figure, after)
    assert figure.data[AREA] is traces[AREA]
    assert [figure.layout[name].range for name in names] == axes
    for number, (x, y) in enumerate(after.traces):
        assert_allclose(figure.data[number].x, x)
        assert_allclose(figure.data[number].y, y)
    assert {AREA, VOLUME, ALLOWED, STEPS} == set(range(4))
