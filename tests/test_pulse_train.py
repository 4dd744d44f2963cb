"""The pulses as drawn: their areas are what the meters show, their parts what the labels say."""

import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edmkit as ek
from edmkit.physics.states import States
from edmkit.plots.pulse_train import (
    CURRENT,
    LABELS,
    LEADERS,
    MEAN_CURRENT,
    MEAN_VOLTAGE,
    VOLTAGE,
    change_pulse_train,
    of_100,
    pulse_train,
    pulse_train_figure,
)
from edmkit.plots.scale import marks, steady

DEMO = Path(__file__).parents[1] / "data_demo"
US = 1e-6
pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")
SPARK, ARC, SHORT, OPEN = range(4)


def burn(current=2.5, on=50.0, off=25.0, machine=None, quality="fair", **more):
    setup = ek.Setup(
        ek.work_material("52100"),
        ek.electrode_material("copper"),
        ek.dielectric("edm_oil"),
        "electrode positive",
        7.0,
        flushing=ek.Flushing("suction", quality),
        machine=machine,
    )
    return ek.predict(setup, ek.Settings(current, on, off, **more))


def fixed_period(**more):
    """Return a burn on a machine whose on-time counts from the voltage."""
    machine = next(
        m for m in map(ek.read_machine, sorted(DEMO.glob("*.toml")))
        if m.on_time_counts == "in a fixed period"
    )  # fmt: skip
    settings = {
        name: float(np.asarray(getattr(machine, name).values)[3])
        for name in ("peak_current_A", "on_time_us", "off_time_us")
    }
    return burn(*settings.values(), machine=machine, open_voltage_V=110.0, **more)


def areas(made):
    """Return duration [µs], volt-µs and amp-µs of each pulse, by the trapezoid rule."""
    corners = (made.time_us, made.voltage_V, made.current_A)
    time, volts, amps = (c.reshape(-1, 7) for c in corners)
    return time[:, -1] - time[:, 0], np.trapezoid(volts, time), np.trapezoid(amps, time)


def shares(states):
    return np.array([states.normal, states.arcing, states.shorted, states.open])


CASES = {
    "usual": burn,
    "dirty": lambda: burn(8.0, 20.0, 10.0, quality="poor"),
    "close": lambda: burn(gap_front_um=10.0),
    "wide": lambda: burn(gap_front_um=60.0),
    "fixed period": fixed_period,
    "short pulse": lambda: burn(20.0, 4.0, 4.0),
}


@pytest.mark.parametrize("case", CASES)
def test_the_drawn_areas_are_what_the_meters_show(case):
    """The book-keeping of states.mean_voltage and mean_current, from the drawing alone."""
    made = CASES[case]()
    point = made.point
    duration, volt_us, amp_us = areas(pulse_train(made, one_of_each=True))
    mix = shares(point.states)
    period = mix @ duration
    assert mix @ volt_us / period == pytest.approx(made.mean_voltage_V.likely, rel=1e-9)
    # The ammeter's figure takes a current that is there at once; the drawing climbs to it.
    climbs = point.spark_current**2 / (2 * point.current_rise) / US * (mix @ [1, 1, 1, 0])
    shown = made.average_current_A.likely
    assert (mix @ amp_us + climbs) / period == pytest.approx(shown, rel=1e-9)


def fake(**more):
    """Return a burn whose pulses all spark after 30 µs."""
    point = SimpleNamespace(
        states=States(0.0, 1.0, 0.0, 0.0, 30 * US, 200 * US, False),
        on_time=100 * US, off_time=50 * US, discharge_voltage=25.0, open_voltage=100.0,
        spark_current=10.0, current_rise=10 / US,
    )  # fmt: skip
    vars(point).update(more)
    one = SimpleNamespace(likely=30.556)
    return SimpleNamespace(
        settings=None, shape=(), point=point, mean_voltage_V=one, average_current_A=one
    )


def test_a_train_worked_by_hand():
    """(100 V 30 µs + 25 V 100 µs) / 180 µs = 30.556 V; 10 A x 99.5 µs / 180 µs, climb of 1 µs."""
    made = pulse_train(fake())
    duration, volt_us, amp_us = areas(made)
    assert np.allclose(duration, 180)
    assert np.allclose(volt_us / duration, 30.5556, atol=1e-4)
    assert np.allclose(amp_us, 995)
    whole = np.trapezoid(made.voltage_V, made.time_us) / made.time_us[-1]
    assert whole == pytest.approx(30.5556, abs=1e-4)  # nothing lost between the pulses
    assert made.voltage_V[made.current_A == 10].max() == 25  # burning, not waiting


def test_the_labels_say_the_parts_of_the_pulse():
    made = pulse_train(fake())
    assert [label.text for label in made.labels] == [
        "waiting for the spark, 30 µs",
        "burning, 100 µs",
        "off, 50 µs",
    ]
    assert [label.time_us for label in made.labels] == pytest.approx([15, 80, 155])
    assert [label.voltage_V for label in made.labels] == [100, 25, 0]


def test_a_fixed_period_shares_its_on_time_between_waiting_and_burning():
    made = fixed_period()
    numbers = [float(re.search(r"([\d.]+) µs", label.text).group(1))
               for label in pulse_train(made).labels]  # fmt: skip
    on = made.point.on_time / US
    assert numbers[0] + numbers[1] == pytest.approx(on, rel=0.01) and numbers[1] < on
    assert np.allclose(areas(pulse_train(made, True))[0], on + made.point.off_time / US)


def test_each_kind_looks_as_on_a_scope():
    made = pulse_train(burn(), one_of_each=True)
    volts, amps = (c.reshape(4, 7) for c in (made.voltage_V, made.current_A))
    assert volts[SPARK].max() == volts[OPEN].max() == 120
    assert volts[ARC].max() == 25 and volts[SHORT].max() == 0
    assert [a.max() for a in amps] == [2.5, 2.5, 2.5, 0]
    names = [label.text.split("<br>")[0] for label in made.labels]
    assert names == ["spark", "arc", "short", "stays open"]
    counted = [label.text.split("<br>")[1] for label in made.labels]
    expected = [f"{of_100(s)} of 100" for s in shares(burn().point.states)]
    assert counted == expected


def test_shares_in_words():
    assert [of_100(s) for s in (0.0, 1e-9, 0.0049, 0.006, 0.5, 1.0)] == [
        "0", "under 1", "under 1", "1", "50", "100",
    ]  # fmt: skip


def test_the_figure_carries_the_train_and_both_means():
    made = pulse_train(burn())
    figure = pulse_train_figure(made)
    for trace, values in ((VOLTAGE, made.voltage_V), (CURRENT, made.current_A)):
        assert list(figure.data[trace].x) == list(made.time_us)
        assert list(figure.data[trace].y) == list(values)
    for trace, mean in ((MEAN_VOLTAGE, burn().mean_voltage_V), (MEAN_CURRENT,
                        burn().average_current_A)):  # fmt: skip
        assert list(figure.data[trace].y) == [mean.likely] * 2
        assert figure.data[trace].line.dash == "dash"
    upper, lower = (a.text for a in figure.layout.annotations)
    assert upper.startswith("Voltage, V") and "voltmeter shows 27.9 V" in upper
    assert lower.startswith("Current, A") and "ammeter shows 1.48 A" in lower
    assert figure.layout.xaxis2.title.text == "time, µs"
    assert figure.data[VOLTAGE].yaxis != figure.data[CURRENT].yaxis


@pytest.mark.parametrize("case", CASES)
def test_words_neither_meet_each_other_nor_a_leader(case):
    made = CASES[case]()
    figure = pulse_train_figure(pulse_train(made))
    words = figure.data[LABELS]
    right, top = figure.layout.xaxis2.range[1], figure.layout.yaxis.range[1]
    assert np.all(np.diff(words.x) > 0) and np.all(np.diff(words.y) < -0.07 * top)
    assert max(words.x) < 0.45 * right  # room for 30 letters
    assert max(words.y) < 0.96 * top and min(words.y) > figure.data[VOLTAGE].y.max()
    change_pulse_train(figure, pulse_train(made, True), fresh=True)
    right = figure.layout.xaxis2.range[1]
    assert np.all(np.diff(words.x) > 0.24 * right) and len(set(words.y)) == 1
    x = np.array([v for v in figure.data[LEADERS].x if v is not None])
    assert len(x) == 12 and x.min() >= 0 and x.max() <= right


def test_axes_stay_while_the_pulses_stay_inside():
    figure = pulse_train_figure(pulse_train(burn()))
    layout = figure.layout
    axes = ("xaxis2", "yaxis", "yaxis2")
    assert layout.xaxis.matches == "x2"
    before = [tuple(layout[name].range) for name in axes]
    change_pulse_train(figure, pulse_train(burn(1.5, 25.0)))
    anew = pulse_train_figure(pulse_train(burn(1.5, 25.0))).layout
    assert anew.xaxis2.range != before[0] and anew.yaxis2.range != before[2]
    assert [tuple(layout[name].range) for name in axes] == before
    change_pulse_train(figure, pulse_train(burn(12.0, 400.0)))
    after = [tuple(layout[name].range) for name in axes]
    change_pulse_train(figure, pulse_train(burn(12.0, 250.0)))
    assert [tuple(layout[name].range) for name in axes] == after
    change_pulse_train(figure, pulse_train(burn(12.0, 250.0)), fresh=True)
    assert layout.xaxis2.range[1] < after[0][1]
    assert after[0][1] > 3 * before[0][1] and after[1] == before[1] and after[2][1] >= 12


@pytest.mark.parametrize("on", [1.0, 10.0, 100.0, 1000.0])
def test_the_train_fills_its_axis(on):
    figure = pulse_train_figure(pulse_train(burn()))
    change_pulse_train(figure, pulse_train(burn(on=on)))
    right = figure.layout.xaxis2.range[1]
    assert figure.data[VOLTAGE].x[-1] >= right >= 3 * (on + 25)


def test_what_has_no_such_pulses_is_refused():
    circuit = ek.Relaxation(100.0, 0.1, 100.0)
    with pytest.raises(ek.Refusal, match="relaxation circuit"):
        pulse_train(ek.predict(burn().setup, circuit))
    with pytest.raises(ek.Refusal, match="one setting"):
        pulse_train(burn(on=np.array([10.0, 20.0])))


@given(st.floats(1e-3, 1e6))
def test_a_scale_holds_what_must_be_seen_and_wastes_little(need):
    end = steady(need)
    assert need <= end * (1 + 1e-9) and end <= need * 1.51
    assert steady(end * 0.41, end) == end and steady(need, end) == end
    assert steady(end * 0.39, end) < end < steady(end * 1.01, end)
    numbers = marks(end)
    assert numbers[0] == 0 and 3 <= len(numbers) <= 5
    assert numbers[-1] <= end * (1 + 1e-9) and np.ptp(np.diff(numbers)) < 1e-6 * end + 1e-11


def test_scales_by_hand():
    assert [steady(n) for n in (12, 120, 255, 0.5, 85)] == [15, 150, 300, pytest.approx(0.6), 100]
    assert marks(300) == [0, 100, 200, 300] and marks(150) == [0, 50, 100, 150]
    assert marks(0.6) == [0, 0.2, 0.4, 0.6] and marks(10) == [0, 2.5, 5, 7.5, 10]
