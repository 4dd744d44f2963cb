"""What the meters say: known mixes come back inside the ranges, impossible readings are refused.

The readings are made here by hand sums over the kinds of pulse. Signs and order of the knobs:
common practice, no source; meter errors and odds are assumptions.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import edmkit as ek
from edmkit.flushing.meter_reading import BACK, DIALS, FEEDING, HUNTING, KINDS, STILL, read_meters
from edmkit.flushing.meter_words import ARCING, HEALTHY, OPEN, SHORTING, UNSURE, ask_next, knobs_for

DEMO = Path(__file__).parents[1] / "data_demo"
pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")
LONGEST = 200.0  # µs that an open pulse waits


def burn(current=3.0, on=50.0, off=25.0, machine=None, volts=120.0):
    setup = ek.Setup(
        ek.work_material("52100"),
        ek.electrode_material("copper"),
        ek.dielectric("edm_oil"),
        "electrode positive",
        7.0,
        machine=machine,
    )
    return ek.predict(setup, ek.Settings(current, on, off, open_voltage_V=volts))


def machine_that(counts):
    """Return a demo machine whose on-time counts so."""
    machines = map(ek.read_machine, sorted(DEMO.glob("*.toml")))
    return next(machine for machine in machines if machine.on_time_counts == counts)


def on_machine(counts, volts, **places):
    """Return a burn at these places of the switches of a demo machine, sorted by value."""
    machine = machine_that(counts)
    dialled = [
        float(np.sort(getattr(machine, name).values)[place]) for name, place in places.items()
    ]
    return burn(*dialled, machine=machine, volts=volts)


def meters(made, spark, arc, short, idle, wait, fixed=False):
    """Return what both meters show of a mix: volt-seconds and amp-seconds over seconds."""
    on, off = made.settings.on_time_us, made.settings.off_time_us
    point = made.point
    burns, stretch, longest = (on - wait, 0.0, on) if fixed else (on, wait, LONGEST)
    seconds = spark * (stretch + on + off) + (arc + short) * (on + off) + idle * (longest + off)
    lit = point.discharge_voltage
    volts = spark * (point.open_voltage * wait + lit * burns) + arc * lit * on
    volts += idle * point.open_voltage * longest
    amps = point.spark_current * (spark * burns + (arc + short) * on)
    return volts / seconds, amps / seconds


def inside(reading, mix):
    return all(
        reading.shares[kind][0] <= share <= reading.shares[kind][2]
        for kind, share in zip(KINDS, mix, strict=True)
    )


# A mix and its mean wait [µs], the dial that goes with it, the word.
CLEAR = {
    "healthy": ((0.95, 0.02, 0.02, 0.01), 10.0, FEEDING, HEALTHY),
    "healthy, wider": ((0.95, 0.02, 0.02, 0.01), 18.0, FEEDING, HEALTHY),
    "arcs": ((0.1, 0.9, 0.0, 0.0), 8.0, STILL, ARCING),
    "shorts": ((0.05, 0.05, 0.9, 0.0), 8.0, BACK, SHORTING),
    "shorts and sparks": ((0.3, 0.1, 0.6, 0.0), 8.0, HUNTING, SHORTING),
    "open": ((0.3, 0.0, 0.0, 0.7), 20.0, STILL, OPEN),
}


@pytest.mark.parametrize("case", CLEAR)
def test_a_clear_case_gets_its_word(case):
    mix, wait, dial, word = CLEAR[case]
    reading = read_meters(burn(), *meters(burn(), *mix, wait), dial)
    assert reading.verdict == word
    assert inside(reading, mix)


@pytest.mark.parametrize("case", CLEAR)
def test_a_clear_case_gets_its_word_in_a_fixed_period(case):
    mix, wait, dial, word = CLEAR[case]
    made = on_machine("in a fixed period", 110.0, peak_current_A=-1, on_time_us=-1, off_time_us=-1)
    reading = read_meters(made, *meters(made, *mix, wait, fixed=True), dial)
    assert reading.verdict == word and inside(reading, mix)


def test_known_mixes_come_back_inside_the_ranges():
    # 150 settings and mixes drawn by lot, meters wrong by up to 3 % and 1 % of the scale
    lot = np.random.default_rng(6)
    for _ in range(150):
        on = float(np.exp(lot.uniform(np.log(5), np.log(500))))
        made = burn(lot.uniform(1, 20), on, on * float(np.exp(lot.uniform(-1, 1))))
        mix, wait = lot.dirichlet([3, 1, 1, 1]), float(np.exp(lot.uniform(np.log(2), np.log(100))))
        volts, amps = meters(made, *mix, wait)
        wrong = 1 + lot.uniform(-0.03, 0.03, 2)
        volts = volts * wrong[0] + lot.uniform(-0.01, 0.01) * 120
        amps = amps * wrong[1] + lot.uniform(-0.01, 0.01) * made.point.spark_current
        reading = read_meters(made, volts, max(amps, 0.0))
        assert inside(reading, mix), (mix, wait, made.settings, reading.shares)
        assert sum(s[1] for s in reading.shares.values()) == pytest.approx(1)
        assert sum(reading.chances.values()) == pytest.approx(1)


def test_ranges_are_not_everything():
    # 0 V and full current: nothing but shorts can be; full voltage and no current: nothing sparks
    shorted = read_meters(burn(), 0.0, 2.0)
    assert shorted.shares["short"][0] > 0.7 and shorted.shares["stay open"][2] < 0.1
    idle = read_meters(burn(), 120.0, 0.0)
    assert idle.verdict == OPEN and idle.shares["stay open"][0] > 0.4


def test_nothing_is_called_healthy_unless_the_dial_feeds():
    for arcs in (0.0, 0.5, 0.7, 0.9):
        mix = (1 - arcs, arcs, 0.0, 0.0)
        for dial in (None, STILL, BACK, HUNTING):
            assert read_meters(burn(), *meters(burn(), *mix, 8.0), dial).verdict != HEALTHY


def test_one_meter_alone_says_less():
    volts, amps = meters(burn(), 0.95, 0.02, 0.02, 0.01, 10.0)
    both, one = read_meters(burn(), volts, amps), read_meters(burn(), volts)
    for kind in KINDS:
        assert one.shares[kind][0] <= both.shares[kind][0]
        assert one.shares[kind][2] >= both.shares[kind][2]
    assert "ammeter" in ask_next(one)
    assert "voltmeter" in ask_next(read_meters(burn(), None, amps))
    assert "dial" in ask_next(both)


def test_a_current_that_is_badly_known_says_less():
    # plate amps, 10 % off for one switch in three: an ammeter 15 % off is no contradiction then
    made = on_machine("from breakdown", 100.0, peak_current_A=1, on_time_us=5, off_time_us=3)
    machine = replace(made.setup.machine, ammeter_max_A=3.0)
    made = burn(made.settings.peak_current_A, 45.0, 25.0, machine, 100.0)
    volts, amps = meters(made, 0.95, 0.02, 0.02, 0.01, 10.0)
    assert read_meters(made, volts, amps * 1.15, FEEDING).verdict == HEALTHY
    sure = burn(float(made.point.spark_current), 45.0, 25.0, volts=100.0)
    with pytest.raises(ek.Refusal, match="ammeter_A"):
        read_meters(sure, volts, amps * 1.15)


@pytest.mark.parametrize("times", [(2.0, 500.0), (1000.0, 2.0), (50.0, 25.0), (200.0, 2000.0)])
def test_any_one_meter_below_its_limit_gets_an_answer(times):
    made = burn(3.0, *times)
    most = made.point.spark_current * made.point.duty_factor
    for share in np.linspace(0, 1, 26):
        for readings in ((120.0 * share, None), (None, most * share)):
            assert sum(read_meters(made, *readings).chances.values()) == pytest.approx(1)


# --- what to do ---
def test_arcs_are_cleaned_first_then_one_knob_at_a_time():
    # common practice, no source: off-time, flow, lift, current, servo voltage, on-time
    reading = read_meters(burn(), *meters(burn(), 0.1, 0.9, 0.0, 0.0, 8.0), STILL)
    assert reading.check.startswith("Stop, lift and clean both faces")
    words = ("off-time", "flow", "Lift", "current", "servo voltage", "on-time")
    assert all(w in knob.do for w, knob in zip(words, reading.knobs, strict=True))
    assert all(knob.reason for knob in reading.knobs)


def test_an_open_gap_is_closed_before_the_flow_is_cut():
    reading = read_meters(burn(), 110.0, 0.05, STILL)
    assert [knob.do.split()[0] for knob in reading.knobs] == ["Lower", "Give"]


def test_a_dial_at_its_end_is_left_out():
    for off, first in ((-1, "Give more flow"), (-2, "Lengthen the off-time")):
        made = on_machine("from breakdown", 100.0, peak_current_A=1, on_time_us=-1, off_time_us=off)
        assert knobs_for(ARCING, made)[0].do.startswith(first)


def test_a_healthy_burn_is_left_alone():
    reading = read_meters(burn(), *meters(burn(), 0.97, 0.01, 0.01, 0.01, 10.0), FEEDING)
    assert reading.knobs == () and "Go on" in reading.check


def test_what_cannot_be_told_is_said_so_with_what_would_tell():
    wide = read_meters(burn(), *meters(burn(), 0.95, 0.0, 0.0, 0.05, 60.0), FEEDING)
    assert wide.verdict == UNSURE and "both explain" in wide.why and wide.knobs == ()
    assert "servo voltage" in ask_next(wide)
    # a dial that feeds while all pulses short: that cannot be
    torn = read_meters(burn(), 1.0, 2.0, FEEDING)
    assert torn.verdict == UNSURE and "does not go with these meters" in torn.why


@pytest.mark.parametrize("dial", [None, *DIALS])
def test_every_dial_gets_plain_sentences(dial):
    for volts, amps in ((30.0, 1.7), (5.0, 1.9), (110.0, 0.05), (17.0, 2.0), (60.0, 1.0)):
        reading = read_meters(burn(), volts, amps, dial)
        for text in (reading.why, reading.check, ask_next(reading)):
            assert text[0].isupper() and text.endswith(".")


# --- refusals ---
@pytest.mark.parametrize(
    ("readings", "match"),
    [
        ((140.0, 0.0), "voltmeter_V can be 120 V at most with 120 V of open voltage, got 140 V"),
        ((30.0, 3.0), "ammeter_A can be 2 A at most, 3 A for 67 % of the time, got 3 A"),
        ((120.0, 1.0), "ammeter_A can be 0 to .* A while the voltmeter shows 120 V, got 1 A"),
        ((30.0, 0.2), "ammeter_A can be 1.* while the voltmeter shows 30 V, got 0.2 A"),
        ((None, None), "both missing: type one of them"),
        ((-1.0, 1.0), "voltmeter_V must be 0 to 1000 V, got -1 V: type what the needle shows"),
        ((30.0, "two"), "ammeter_A must be 0 to 2000 A, got 'two'"),
        ((30.0, float("nan")), "ammeter_A must be"),
        ((30.0, 1.7, "spinning"), "dial must be one of 'feeding', 'standing still'"),
    ],
)
def test_impossible_readings_are_refused_with_the_number_to_check(readings, match):
    with pytest.raises(ek.Refusal, match=match):
        read_meters(burn(), *readings)


def test_many_settings_and_relaxation_circuits_are_refused():
    circuit = ek.predict(burn().setup, ek.Relaxation(100.0, 0.1, 100.0))
    for made in (burn([1.0, 2.0]), circuit):
        with pytest.raises(ek.Refusal, match="one setting of a pulse generator"):
            read_meters(made, 30.0, 1.0)
