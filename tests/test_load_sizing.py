"""The resistor one buys: its value, its heat by hand sums, its pieces; and emptying a capacitor."""

from math import exp

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.dials.load_sizing import (
    BOUGHT,
    E12,
    NOT_PUT_TOGETHER,
    PIECE_W,
    SAFE_V,
    TOO_HOT,
    bleed_advice,
    own_resistor,
    size_load,
)


def test_values_to_buy_are_twelve_even_steps_of_a_decade():
    # IEC 60063: E12 are twelve geometric steps, rounded; the standard's own rounding moves 2.7
    # to 4.7 and 8.2 by up to 5 %
    assert_allclose(E12, [10 ** (n / 12) for n in range(12)], rtol=0.05)
    assert list(BOUGHT) == sorted(set(BOUGHT)) and 47 in BOUGHT and 0.33 in BOUGHT


# --- size_load ---
def test_ten_amps_at_half_the_time_by_hand():
    # Ohm and Joule by hand: 25 V / 10 A = 2.5 ohm; three of 0.82 ohm make 2.46 ohm;
    # 10 x 10 x 2.46 = 246 W, half of it 123 W, twice that 246 W, asked for as 250 W
    advice = size_load(10, 0.5, 100)
    assert_allclose(advice.ohm, 2.46)
    assert_allclose((advice.watts_on, advice.watts_mean), (246, 123))
    assert advice.watts_to_ask == 250
    # 100 V behind 10 ohm: 100 / 12.46 A through it
    assert_allclose(advice.amps, (8.026, 10), atol=5e-4)
    assert_allclose(advice.ammeter_A, (4.013, 5), atol=5e-4)
    assert_allclose(advice.drop_V, (19.74, 24.6), atol=0.01)
    assert advice.take == (
        "Take 2.46 ohm able to carry 250 W: three wire-wound resistors, 0.82 ohm, 100 W each, one "
        "after the other."
    )


def test_one_amp_at_a_short_duty_must_stand_a_reading_full_on():
    # by hand: 27 ohm, 27 W while on, 2.7 W mean: twice that is 5.4 W, but full on for 10 s, which
    # a resistor stands at 2.5 times its watts (from memory), takes 27 / 2.5 = 10.8 W
    advice = size_load(1, 0.1, 80)
    assert (advice.ohm, advice.watts_to_ask, advice.pieces.watts_each) == (27, 11, 25)


@example(amps=500, duty=1, volts=30)
@given(amps=st.floats(0.05, 500), duty=st.floats(0.002, 1), volts=st.floats(30, 400))
def test_the_resistor_carries_its_heat_and_looks_like_a_spark(amps, duty, volts):
    advice = size_load(amps, duty, volts)
    ohm, full = advice.ohm, amps * amps * advice.ohm
    assert 25 / 1.12 <= amps * ohm <= 25 * 1.12  # half of the widest step of E12, 1.2 to 1.5
    assert advice.watts_to_ask >= max(2 * full * duty, full / 2.5) * (1 - 1e-9)
    assert advice.watts_to_ask <= max(2 * full * duty, full / 2.5) * 1.1 + 1
    assert (TOO_HOT in advice.warnings) == (advice.watts_to_ask > 500)
    assert_allclose(advice.drop_V[0], volts * ohm / (volts / amps + ohm), rtol=1e-9)
    assert advice.lead_mm2 * 5 >= amps * duty**0.5 * (1 - 1e-9)
    pieces = advice.pieces
    if pieces is None:
        assert advice.take.endswith(NOT_PUT_TOGETHER) and full > 12 * 100 / 2.5 * 0.9
        return
    assert pieces.count * pieces.watts_each >= advice.watts_to_ask * (1 - 1e-9)
    each, n = pieces.ohm_each, pieces.count
    assert_allclose(ohm, each / n if pieces.side_by_side else each * n)
    assert each in BOUGHT and pieces.watts_each in PIECE_W and 1 <= n <= 12


def test_one_resistor_is_said_as_one():
    advice = size_load(3, 0.66, 100)
    assert advice.take.endswith("W: one wire-wound resistor, 8.2 ohm, 100 W.")


def test_much_current_is_not_put_together_at_home():
    # by hand: 60 A x 25 V = 1500 W while on, at 90 % twice the mean is 2700 W
    advice = size_load(60, 0.9, 100)
    assert advice.pieces is None and advice.watts_to_ask == 2700
    assert advice.warnings[0] == TOO_HOT
    # 60 A x root of 0.9 = 56.9 A of heat in the leads, 5 A a mm²: 16 mm² is the next to buy
    assert advice.lead_mm2 == 16


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ((0, 0.5, 100), "short_amps must be"),
        ((10, 1.2, 100), r"duty must be 0\.002 to 1, got 1\.2: a share"),
        ((10, 0.5, 20), "open_voltage_V must be 30 to 400 V, got 20 V"),
        (("10,5", 0.5, 100), r"write 10\.5, with a point"),
    ],
)
def test_a_load_refuses(wrong, words):
    with pytest.raises(Refusal, match=words):
        size_load(*wrong)


# --- own_resistor ---
@pytest.mark.parametrize(
    ("ohm", "words"),
    [
        # Ohm and Joule by hand, 10 A short behind 100 V at half the time
        (2.7, "2.7 ohm: 21 to 27 V across it. It must carry 270 W."),  # 100 x 2.7 / 12.7 = 21.3 V
        (1.0, "1 ohm: 9.1 to 10 V across it. It must carry 100 W. So few volts"),
        (10, "10 ohm: 50 to 100 V across it. It must carry 1 000 W. That is more"),
    ],
)
def test_a_resistor_from_the_drawer(ohm, words):
    said = own_resistor(ohm, 10, 0.5, 100).replace("\N{NARROW NO-BREAK SPACE}", " ")
    assert said.startswith(words)


def test_a_resistor_from_the_drawer_is_refused():
    with pytest.raises(Refusal, match=r"ohm must be 0\.05 to 1000 ohm"):
        own_resistor(0, 10, 0.5, 100)


# --- bleed_advice ---
@pytest.mark.parametrize(
    ("size", "volts", "joules", "ohm", "watts", "seconds", "danger"),
    [
        # circuit theory by hand: C V² / 2; the resistor; R C ln(V / 50)
        (100, 300, 4.5, 10_000, 5, 1.792, "4.5 J: a heavy shock"),  # ln 6 = 1.792, RC = 1 s
        (10_000, 300, 450, 1_000, 50, 17.92, "450 J: this can kill"),  # 90 000 / 900 = 100 W
        (1_000, 150, 11.25, 3_900, 5, 4.285, "11.2 J: this can kill"),  # 5 s / ln 3 = 4.55 kohm
        (10, 110, 0.0605, 10_000, 5, 0.0788, "startles"),
    ],
)
def test_emptying_by_hand(size, volts, joules, ohm, watts, seconds, danger):
    advice = bleed_advice(size, volts)
    assert_allclose(advice.joules, joules)
    assert (advice.ohm, advice.watts) == (ohm, watts)
    assert_allclose(advice.seconds, seconds, rtol=1e-3)
    assert danger in advice.danger


@given(size=st.floats(1e-3, 1e5), volts=st.floats(51, 1000))
def test_the_resistor_empties_it_without_burning(size, volts):
    advice = bleed_advice(size, volts)
    after = volts * exp(-advice.seconds / (advice.ohm * size * 1e-6))
    assert_allclose(after, SAFE_V, rtol=1e-9)
    assert volts**2 / advice.ohm <= 100 * (1 + 1e-9)  # at first touch
    assert advice.watts >= volts**2 / advice.ohm / 2 * (1 - 1e-9)
    # within 5 s (IEC 60204-1, which asks for 60 V) unless the heat forbids it; a quarter is the
    # widest step of E12, from 1.2 to 1.5
    assert advice.seconds <= 5 or advice.ohm <= 1.251 * volts**2 / 100
    assert "stays on" in advice.take


def test_long_times_are_said_in_minutes():
    # 10 kohm x 100 000 µF x ln 20 = 2996 s
    assert "after 50 minutes" in bleed_advice(1e5, 1000).take


def test_a_low_voltage_needs_no_resistor():
    advice = bleed_advice(1000, 40)
    assert advice.ohm is None and advice.seconds == 0
    assert "ring" in advice.danger and "Measure it all the same" in advice.take


@pytest.mark.parametrize(
    ("size", "volts", "words"),
    [(0, 100, "capacitance_uF must be"), (10, 5000, "voltage_V must be 1 to 1000 V, got 5000 V")],
)
def test_emptying_refuses(size, volts, words):
    with pytest.raises(Refusal, match=words):
        bleed_advice(size, volts)
