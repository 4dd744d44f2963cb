"""What the pulses do, and what the meters show; direction only, its constants are assumed."""

import numpy as np
import pytest
from contract import keeps_shapes, parts, refuses, refuses_microseconds
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.physics.states import (
    DEBRIS,
    States,
    debris_at_arcs,
    discharge_duration,
    gap_ratio_at,
    gap_that_holds,
    mean_current,
    mean_period,
    mean_voltage,
    pulse_states,
    sparks_per_second,
)
from edmkit.units import us

PULSE = {"on_time": 50 * us, "off_time": 25 * us}
GAP = {"gap_ratio": 1.0, "debris": 0.5, **PULSE, "current_ratio": 0.5}
# Every pulse sparks, after 30 µs: the example of the servo voltage, worked by hand.
ALL_SPARK = States(0.0, 1.0, 0.0, 0.0, 30 * us, 200 * us, False)
# A mix: 10 % open, 60 % spark after 20 µs, 20 % arc, 10 % short.
MIX = States(0.1, 0.6, 0.2, 0.1, 20 * us, 200 * us, False)


def shares(states):
    return states.open, states.normal, states.arcing, states.shorted


def speed(gap_ratio, on, off, debris=0.5, fixed=False):
    """Return good sparks per second, over those at the default gap with fair flushing."""

    def rate(ratio, dirt):
        return sparks_per_second(pulse_states(ratio, dirt, on, off, 0.5, fixed), on, off)

    return rate(gap_ratio, debris) / rate(1.0, 0.5)


gaps = st.floats(0.2, 4)
dirt = st.floats(0.05, 10)
times = st.floats(1, 1000)


# --- pulse_states ---
def test_shorts_and_opens_by_hand():
    # assumptions, worked by hand: half the pulses that fire short at 0.4 of the default gap; at
    # the default gap with fair flushing a pulse waits 10 µs, and e^-20 of them never fire
    states = pulse_states(0.4, 0.5, **PULSE)
    assert_allclose(states.shorted, 0.5, rtol=1e-9)
    states = pulse_states(**GAP)
    assert_allclose(states.ignition_delay, 10 * us, rtol=1e-12)
    assert_allclose(states.open, np.exp(-20), rtol=1e-9)
    assert_allclose(states.shorted, 1 / (1 + 2.5**4), rtol=1e-6)
    # twice the gap waits 4 times as long: e^-5 stay open
    assert_allclose(pulse_states(2, 0.5, **PULSE).open, np.exp(-5), rtol=1e-9)


def test_arcs_by_hand():
    # assumption: logistic of 2 ln C + 1.5 ln(clearing / off) + ln j; at C 2, off 5 µs and j 1
    # with a clearing of 0.15 x 100 = 15 µs: 1.3863 + 1.6479 = 3.0342, 95.41 %
    states = pulse_states(10.0, 2.0, 100 * us, 5 * us, 1.0)
    fired = 1 - states.open
    assert_allclose(states.arcing / fired, 0.9541, atol=2e-4)


def test_arcs_of_a_short_pulse_by_hand():
    # assumption: the channel needs 5 µs at least; at fair flushing, 20/5 µs and twice the limit:
    # 2 ln 0.5 + 1.5 ln 1 + ln 2 = -0.6931, a third
    states = pulse_states(10.0, DEBRIS["fair"], 20 * us, 5 * us, 2.0)
    assert_allclose(states.arcing / (1 - states.open), 1 / 3, atol=1e-3)


def test_signs_of_the_literature():
    # Kunieda et al. (2005), CIRP Ann. 54(2), 64-87 (signs from memory): too little off-time,
    # too much debris or too much current makes arcs; debris shortens the delay
    def change(**changed):
        return pulse_states(**GAP | changed), pulse_states(**GAP)

    dirty, base = change(debris=2.0)
    assert dirty.ignition_delay < base.ignition_delay and dirty.arcing > base.arcing
    for worse in ({"off_time": 5 * us}, {"current_ratio": 2.0}, {"on_time": 200 * us}):
        hurried, base = change(**worse)
        assert hurried.arcing > base.arcing and hurried.normal < base.normal
    assert change(gap_ratio=0.5)[0].shorted > change()[0].shorted
    assert change(gap_ratio=3.0)[0].open > change()[0].open


def test_dirt_acts_as_a_narrower_gap_by_hand():
    # assumption: by sqrt((1 + C) / 1.5): at C 2 a gap of 1 waits 10 µs / 2 and shorts as one of
    # 0.7071 does, 1 / (1 + 1.7678^4) = 9.29 %
    dirty = pulse_states(**GAP | {"debris": 2.0})
    assert_allclose(dirty.ignition_delay, 5 * us, rtol=1e-12)
    assert_allclose(dirty.shorted, 0.0929, atol=1e-4)


def test_dirt_pulls_the_voltmeter_down_and_the_servo_opens_the_gap_for_it():
    # signs as in Kunieda et al. (2005), from memory: the servo, which holds the mean voltage,
    # widens the gap when the fluid is dirty
    def volts(ratio, debris):
        states = pulse_states(ratio, debris, **PULSE, current_ratio=0.5)
        return mean_voltage(states, *PULSE.values(), 100, 25)

    read = [volts(1.0, DEBRIS[word]) for word in DEBRIS]
    assert (np.diff(read) < 0).all()
    held = [gap_ratio_at(read[1], lambda x, w=w: volts(x, DEBRIS[w])) for w in ("fair", "poor")]
    assert_allclose(held[0], 1.0, rtol=1e-6)
    assert held[1] > 1.2


@pytest.mark.parametrize("j", [0.05, 0.5, 1])
@pytest.mark.parametrize("on, off", [(5, 5), (50, 25), (200, 50)])
def test_a_dirty_gap_slows_the_burn(on, off, j):
    # common practice, no source: poor flushing slows a burn, a blocked flow ruins it
    rates = []
    for dirt in DEBRIS.values():
        states = pulse_states(gap_that_holds(dirt), dirt, on * us, off * us, j)
        rates.append(sparks_per_second(states, on * us, off * us))
    assert (np.diff(rates) < 0).all()
    assert rates[3] < 0.7 * rates[1]
    assert j < 0.5 or (rates[2] < 0.9 * rates[1] and rates[3] < 0.4 * rates[1])


# --- gap_that_holds ---
def test_gap_that_holds_by_hand():
    # assumption: sqrt((1 + C) / 1.5); C 0.1, 0.5, 2, 10 by the flushing word
    assert_allclose(gap_that_holds(np.array([0.1, 0.5, 2, 10])), [0.8563, 1, 1.4142, 2.7080],
                    rtol=1e-4)  # fmt: skip


def test_gap_that_holds_leaves_the_voltmeter_where_it_was():
    # what it is for: without arcs the mean voltage is that of fair flushing
    calm = {"on_time": 50 * us, "off_time": 500 * us, "current_ratio": 1e-4}
    read = []
    for dirt in DEBRIS.values():
        states = pulse_states(gap_that_holds(dirt), dirt, **calm)
        read.append(mean_voltage(states, 50 * us, 500 * us, 100, 25))
    assert_allclose(read, read[1], rtol=1e-3)


def test_gap_that_holds_keeps_shapes():
    keeps_shapes(gap_that_holds, debris=0.5)


def test_gap_that_holds_refuses():
    refuses(gap_that_holds, {"debris": 0.5}, "debris")


# --- the flushing word ---
def test_flushing_words_are_in_order():
    # common practice, no source: the poorer the flushing, the more arcs
    held = [GAP | {"debris": d, "gap_ratio": gap_that_holds(d)} for d in DEBRIS.values()]
    words = [pulse_states(**gap).arcing for gap in held]
    assert list(DEBRIS) == ["good", "fair", "poor", "blocked"]
    assert (np.diff(words) > 0).all()
    # assumption: debris over its limit, by word; at 50/25 µs and half the current limit, by hand
    # logit = 2 ln C + 1.5 ln(7.5/25) + ln 0.5: 0.082, 2.01, 24.7, 89.1 % of the sparks
    fired = pulse_states(**GAP).normal + pulse_states(**GAP).arcing
    assert_allclose(np.array(words) / fired, [0.00082, 0.0201, 0.247, 0.891], rtol=0.01)


# --- debris_at_arcs ---
def test_debris_at_arcs_by_hand():
    # assumption, worked by hand: a third of the sparks arc at fair flushing, 20/5 µs and twice
    # the limit (the example above, turned round)
    assert_allclose(debris_at_arcs(1 / 3, 20 * us, 5 * us, 2.0), 0.5, rtol=1e-9)


@given(on=times, off=times, j=st.floats(0.01, 10), arcs=st.floats(0.01, 0.9))
def test_more_rest_bears_more_debris(on, off, j, arcs):
    at = debris_at_arcs(arcs, on * us, off * us, j)
    longer = debris_at_arcs(arcs, on * us, 2 * off * us, j)
    # 1.5 ln 2 of the logit at a weight of 2: the debris may be 2^0.75 times as much
    assert_allclose(longer / at, 2**0.75, rtol=1e-9)


def test_debris_at_arcs_is_what_the_shares_say():
    # the closed form against the shares at a gap so wide that nothing shorts
    at = debris_at_arcs(0.1, 50 * us, 25 * us, 0.5)
    states = pulse_states(8 * gap_that_holds(at), at, 50 * us, 25 * us, 0.5)
    assert_allclose(states.arcing / (1 - states.open), 0.1, rtol=1e-4)


def test_shape_of_debris_at_arcs():
    keeps_shapes(debris_at_arcs, arcs=0.1, **PULSE, current_ratio=0.5)


def test_debris_at_arcs_refuses():
    good = {"arcs": 0.1, **PULSE, "current_ratio": 0.5}
    refuses(debris_at_arcs, good, "arcs")
    refuses(debris_at_arcs, good, "current_ratio")
    refuses_microseconds(debris_at_arcs, good, "off_time")


@given(ratio=gaps, debris=dirt, on=times, off=times, j=st.floats(0.01, 10), fixed=st.booleans())
def test_shares_are_shares_and_make_one(ratio, debris, on, off, j, fixed):
    states = pulse_states(ratio, debris, on * us, off * us, j, fixed)
    assert all(0 <= share <= 1 for share in shares(states))
    assert_allclose(sum(shares(states)), 1, atol=1e-12)
    assert states.ignition_delay > 0


@given(ratio=gaps, on=times)
def test_delay_in_a_fixed_period_is_that_of_the_pulses_that_spark(ratio, on):
    # mean of an exponential wait cut off at the on-time, by a sum over 20000 slices of it
    tau = 10 * us * ratio**2
    slices = (np.arange(20_000) + 0.5) / 20_000 * on * us
    weights = np.exp(-slices / tau)
    states = pulse_states(ratio, 0.5, on * us, 25 * us, 0.5, True)
    assert_allclose(states.ignition_delay, (slices * weights).sum() / weights.sum(), rtol=3e-3)
    assert_allclose(states.longest_wait, on * us, rtol=1e-12)
    assert 0 < states.ignition_delay < on * us / 2


def test_states_keep_shapes():
    for fixed in (False, True):
        keeps_shapes(lambda fixed=fixed, **n: pulse_states(**n, fixed_period=fixed), **GAP)


@pytest.mark.parametrize("name", GAP)
def test_states_refuse(name):
    refuses(pulse_states, GAP, name)


@pytest.mark.parametrize("name", PULSE)
def test_states_refuse_microseconds(name):
    refuses_microseconds(pulse_states, GAP, name)


# --- mean_period ---
def timed(function, states=ALL_SPARK):
    return lambda **numbers: function(states, **numbers)


def test_period_by_hand():
    # 100 µs on, 50 off: a spark takes 20 + 150, an arc or short 150, an open pulse 200 + 50 µs:
    # 0.6 x 170 + 0.3 x 150 + 0.1 x 250 = 172 µs
    assert_allclose(mean_period(ALL_SPARK, 100 * us, 50 * us), 180 * us, rtol=1e-12)
    assert_allclose(mean_period(MIX, 100 * us, 50 * us), 172 * us, rtol=1e-12)


@given(ratio=gaps, on=times, off=times)
def test_a_fixed_period_is_fixed(ratio, on, off):
    states = pulse_states(ratio, 0.5, on * us, off * us, 0.5, True)
    assert_allclose(mean_period(states, on * us, off * us), (on + off) * us, rtol=1e-9)
    free = pulse_states(ratio, 0.5, on * us, off * us, 0.5)
    # an open pulse takes 200 µs and the off-time, any other the on-time too
    shortest, longest = off + min(on, 200), 200 + on + off
    assert shortest * us < mean_period(free, on * us, off * us) < longest * us


def test_period_keeps_shapes():
    keeps_shapes(timed(mean_period), **PULSE)


@pytest.mark.parametrize("name", PULSE)
def test_period_refuses(name):
    refuses(timed(mean_period), PULSE, name)
    refuses_microseconds(timed(mean_period), PULSE, name)


# --- discharge_duration ---
def test_duration_by_hand():
    # from breakdown: the on-time; in a fixed period of 100 µs on with 20 µs of waiting: 80 µs
    fixed = States(0.0, 1.0, 0.0, 0.0, 20 * us, 100 * us, True)
    assert_allclose(discharge_duration(MIX, 100 * us), 100 * us, rtol=1e-12)
    assert_allclose(discharge_duration(fixed, 100 * us), 80 * us, rtol=1e-12)


@given(ratio=gaps, on=times)
def test_duration_in_a_fixed_period_is_half_the_on_time_or_more(ratio, on):
    states = pulse_states(ratio, 0.5, on * us, 25 * us, 0.5, True)
    assert on * us / 2 < discharge_duration(states, on * us) < on * us


def test_duration_keeps_shapes():
    keeps_shapes(timed(discharge_duration), on_time=50 * us)


def test_duration_refuses():
    refuses(timed(discharge_duration), {"on_time": 50 * us}, "on_time")
    refuses_microseconds(timed(discharge_duration), {"on_time": 50 * us}, "on_time")


# --- sparks_per_second ---
def test_sparks_by_hand():
    # one spark in 180 µs; and 0.6 of one in 172 µs
    assert_allclose(sparks_per_second(ALL_SPARK, 100 * us, 50 * us), 5555.6, rtol=1e-5)
    assert_allclose(sparks_per_second(MIX, 100 * us, 50 * us), 0.6 / 172e-6, rtol=1e-12)


@pytest.mark.parametrize("on, off, best", [(50, 25, 0.86), (100, 50, 0.95), (5, 5, 0.61)])
def test_best_gap_of_the_prototype(on, off, best):
    # prototype of the state model: where the most good sparks come, over the default gap
    ratios = np.geomspace(0.3, 2, 2000)
    found = ratios[np.argmax(speed(ratios, on * us, off * us))]
    assert_allclose(found, best, atol=0.012)


def test_speed_away_from_the_best_gap_of_the_prototype():
    # prototype of the state model at 50/25 µs: 57 % at 0.4, 75 % at 2, 45 % at 3
    found = speed(np.array([0.4, 2.0, 3.0]), 50 * us, 25 * us)
    assert_allclose(found, [0.57, 0.75, 0.45], atol=0.006)


def test_blocked_flushing_is_slow_when_the_end_is_crowded():
    # common practice, no source: hard pulses, short rests and no flow make arcs, not sparks
    def rate(word):
        states = pulse_states(1.0, DEBRIS[word], 200 * us, 50 * us, 2.0)
        return sparks_per_second(states, 200 * us, 50 * us)

    assert rate("blocked") < 0.7 * rate("fair")


@pytest.mark.parametrize("on, off", [(5, 5), (10, 10), (20, 20), (50, 25), (100, 50)])
def test_blocked_flushing_is_never_faster_than_fair(on, off):
    # common practice, no source: the poorer the flushing, the slower the burn
    assert speed(1.0, on * us, off * us, DEBRIS["blocked"]) < 1


def test_sparks_keep_shapes():
    keeps_shapes(timed(sparks_per_second), **PULSE)


@pytest.mark.parametrize("name", PULSE)
def test_sparks_refuse(name):
    refuses(timed(sparks_per_second), PULSE, name)
    refuses_microseconds(timed(sparks_per_second), PULSE, name)


# --- mean_voltage ---
VOLTS = {**PULSE, "open_voltage": 100.0, "discharge_voltage": 25.0}


def test_mean_voltage_of_the_servo_example():
    # worked example: 100 V open, 25 V burning, 30 µs wait, 100 µs on, 50 off: 30.556 V
    volts = mean_voltage(ALL_SPARK, 100 * us, 50 * us, 100, 25)
    assert_allclose(volts, 30.556, atol=5e-4)


def test_mean_voltage_of_a_mix_by_hand():
    # 0.6 (100 x 20 + 25 x 100) + 0.2 x 25 x 100 + 0.1 x 100 x 200 = 5200 V µs in 172 µs
    assert_allclose(mean_voltage(MIX, 100 * us, 50 * us, 100, 25), 5200 / 172, rtol=1e-12)
    # in a fixed period of 100 + 50 µs, 20 µs of waiting and 80 of burning: 4000 V µs in 150 µs
    fixed = States(0.0, 1.0, 0.0, 0.0, 20 * us, 100 * us, True)
    assert_allclose(mean_voltage(fixed, 100 * us, 50 * us, 100, 25), 4000 / 150, rtol=1e-12)


@given(on=st.floats(2, 500), off=st.floats(2, 500), debris=dirt, fixed=st.booleans())
def test_mean_voltage_rises_with_the_gap(on, off, debris, fixed):
    states = pulse_states(np.geomspace(0.1, 8, 40), debris, on * us, off * us, 0.5, fixed)
    volts = mean_voltage(states, on * us, off * us, 100, 25)
    assert (np.diff(volts) > 0).all()
    assert (volts > 0).all() and (volts < 100).all()


def test_mean_voltage_is_nothing_over_a_short():
    short = States(0.0, 0.0, 0.0, 1.0, 10 * us, 200 * us, False)
    assert mean_voltage(short, **VOLTS) == 0


def test_mean_voltage_keeps_shapes():
    keeps_shapes(timed(mean_voltage), **VOLTS)


@pytest.mark.parametrize("name", VOLTS)
def test_mean_voltage_refuses(name):
    refuses(timed(mean_voltage), VOLTS, name)


@pytest.mark.parametrize("name", PULSE)
def test_mean_voltage_refuses_microseconds(name):
    refuses_microseconds(timed(mean_voltage), VOLTS, name)


# --- mean_current ---
AMPS = {**PULSE, "spark_current": 10.0}


def test_mean_current_by_hand():
    # textbook example P2 with no wait: 20 A, 100 µs on, 50 off: 13.33 A
    at_once = States(0.0, 1.0, 0.0, 0.0, 0.0, 200 * us, False)
    assert_allclose(mean_current(at_once, 100 * us, 50 * us, 20), 13.33, atol=0.005)
    # 90 of 100 pulses carry 20 A for 100 µs, in 172 µs each
    assert_allclose(mean_current(MIX, 100 * us, 50 * us, 20), 20 * 90 / 172, rtol=1e-12)


@given(ratio=gaps, on=times, off=times, amps=st.floats(0.5, 60), fixed=st.booleans())
def test_mean_current_falls_as_the_gap_opens_and_stays_under_the_peak(ratio, on, off, amps, fixed):
    def mean(times_the_gap):
        states = pulse_states(ratio * times_the_gap, 0.5, on * us, off * us, 0.5, fixed)
        return mean_current(states, on * us, off * us, amps)

    assert 0 < mean(1.3) < mean(1) <= amps * on / (on + off) * (1 + 1e-12)


def test_mean_current_keeps_shapes():
    keeps_shapes(timed(mean_current), **AMPS)


@pytest.mark.parametrize("name", AMPS)
def test_mean_current_refuses(name):
    refuses(timed(mean_current), AMPS, name)


@pytest.mark.parametrize("name", PULSE)
def test_mean_current_refuses_microseconds(name):
    refuses_microseconds(timed(mean_current), AMPS, name)


# --- gap_ratio_at ---
def volts_at(ratio):
    """Return the voltmeter's reading at a gap, 50/25 µs, 100 V."""
    return mean_voltage(pulse_states(ratio, 0.5, **PULSE), **VOLTS)


def test_gap_of_a_straight_meter_by_hand():
    # a made-up meter that shows 20 V per default gap: 30 V is 1.5 gaps
    assert_allclose(gap_ratio_at([10, 30, 60], lambda x: 20 * x), [0.5, 1.5, 3], rtol=1e-12)


@given(ratio=st.floats(0.06, 9))
def test_gap_and_voltage_undo_each_other(ratio):
    assert_allclose(gap_ratio_at(volts_at(ratio), volts_at), ratio, rtol=1e-6)


def test_gap_keeps_shapes():
    keeps_shapes(lambda voltage: gap_ratio_at(voltage, volts_at), voltage=30.0)
    # one reading for several settings: a gap for each
    each = gap_ratio_at(30, lambda x: np.array([15.0, 20.0, 30.0]) * x)
    assert_allclose(each, [2, 1.5, 1], rtol=1e-12)


def test_gap_refuses_a_voltage_that_no_gap_has():
    refuses(lambda servo_voltage_V: gap_ratio_at(servo_voltage_V, volts_at),
            {"servo_voltage_V": 30.0}, "servo_voltage_V")  # fmt: skip
    for beyond in (100, 150):
        with pytest.raises(Refusal, match=r"servo_voltage_V must be .* V: turn the gap"):
            gap_ratio_at(beyond, volts_at)


def test_states_are_frozen():
    states = pulse_states(**GAP)
    with pytest.raises(AttributeError):
        states.open = 0.5
    assert len(parts(states)) == 7
