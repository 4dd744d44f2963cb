"""A bore that fills with soot, and what reversing brings back. Every constant in it is assumed."""

import inspect
from functools import partial

import numpy as np
import pytest
from contract import NOT_NUMBERS, refuses
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import Refusal
from edmkit.physics import clogging as room
from edmkit.physics.clogging import clogging, shut_after
from edmkit.physics.flow import flow_through
from edmkit.physics.passage import annulus, bore, opening, radial_gap, segments
from edmkit.units import kPa, mm, mm2, mm3_per_min, um

BORE = bore(0.5 * mm, 40 * mm)
FLATS = segments(0.5 * mm, 0.35 * mm, 5 * mm, 2)
REST = (radial_gap(30 * um, 0.5 * mm, 1.5 * mm), annulus(1.535 * mm, 1.5 * mm, 5 * mm))
NUMBERS = {
    "pressure": 20 * kPa,
    "debris_rate": 2 * mm3_per_min,
    "viscosity": 2.8e-3,
    "density": 796.0,
    "reverse_at": 7200.0,
    "duration": 7500.0,
}
played = partial(clogging, BORE, REST)


# --- clogging ---
def test_the_flow_stands_for_long_then_collapses():
    # common practice, no source: suction works until it stops at once
    line = played(**NUMBERS)
    filling = line.flow[line.time <= NUMBERS["reverse_at"]] / line.flow[0]
    time = line.time[: filling.size]
    shut = time[filling < 0.1][0]
    assert filling[time < 0.8 * shut].min() > 0.9
    assert filling[time > shut].max() < 0.1


@pytest.mark.parametrize("passage", [BORE, FLATS])
def test_reversing_brings_most_of_it_back(passage):
    # common practice, no source: blocked lines clear by reversing the flow, half a minute or more
    line = clogging(passage, REST, **NUMBERS)
    turned = line.time >= NUMBERS["reverse_at"]
    assert line.flow[turned][0] < 0.05 * line.flow[0]
    minute = line.time >= NUMBERS["reverse_at"] + 60
    assert (line.flow[minute] > 0.8 * line.flow[0]).all()
    assert (line.flow[minute] < line.flow[0]).all()  # and never all of it
    assert (np.diff(line.open_share[turned]) >= 0).all()
    assert not line.debris[-1]


@pytest.mark.parametrize("push", [5.0, 10.0, 20.0])
def test_the_electrode_lifted_even_a_gentle_reversal_clears_it(push):
    # common practice, no source: stop, lift, reverse at low pressure for half a minute or more
    line = played(**NUMBERS | {"pressure": push * kPa})
    assert line.flow[line.time < NUMBERS["reverse_at"]][-1] < 0.05 * line.flow[0]
    assert line.flow[-1] > 0.7 * line.flow[0] and line.open_share[-1] > 0.9


def test_too_weak_a_pressure_does_not_tear_the_plug():
    weak = played(**NUMBERS | {"pressure": 0.2 * kPa})
    assert weak.flow[-1] < 0.05 * weak.flow[0]


def test_what_sticks_by_hand():
    # bore 31.4 mm³ at 2 mm³/min, a tenth sticks (assumption), more as it narrows: the fourth
    # power of the width falls evenly, to nothing after 31.4 / 2 / (2 x 0.1) = 78.5 min
    line = played(**NUMBERS | {"reverse_at": 1e9, "duration": 78.54 / 2 * 60})
    assert_allclose(line.open_share[-1], np.sqrt(0.5), rtol=1e-3)
    # the first minutes: a tenth of what passed lies on the wall
    early = played(**NUMBERS | {"reverse_at": 1e9, "duration": 60.0})
    assert_allclose((1 - early.open_share[-1]) * np.pi * 0.25 * 40, 0.1 * 2, rtol=0.01)


@pytest.mark.parametrize("length, rest", [(40 * mm, REST), (3 * mm, (bore(0.6 * mm, 3 * mm),))])
def test_flow_fits_the_width(length, rest):
    # each moment is a way with a bore so wide: worked out anew by the flow's own solver
    line = clogging(bore(0.5 * mm, length), rest, **NUMBERS)
    way = bore(0.5 * mm * np.sqrt(line.open_share), length), *rest
    flow = flow_through(way, 20 * kPa, 2.8e-3, 796).rate
    assert_allclose(line.flow, flow, rtol=3e-4)


def test_debris_is_what_was_removed_and_then_what_was_torn_off():
    line = played(**NUMBERS)
    # 2 mm³/min in what leaves, while it burns
    share = 2 / (2 + line.flow[0] / mm3_per_min)
    assert_allclose(line.debris[0], share, rtol=1e-9)
    assert line.debris[199] > 10 * line.debris[0]
    # after reversing, all that leaves is what the bore of 31.4 mm³ had too much
    solid = line.flow[200:] * line.debris[200:] / (1 - line.debris[200:])
    left = (solid * np.diff(line.time[199:])).sum()
    gained = line.open_share[-1] - line.open_share[199]
    assert_allclose(left / mm**3, np.pi * 0.25 * 40 * gained, rtol=1e-9)


def test_a_clean_fluid_fills_nothing():
    line = played(**NUMBERS | {"debris_rate": 0.0})
    assert_allclose(line.open_share, 1, rtol=1e-12)
    assert_allclose(line.flow, line.flow[0], rtol=1e-12)
    assert not line.debris.any()


@settings(max_examples=25)
@given(rate=st.floats(0.1, 50), push=st.floats(2, 60), radius=st.floats(0.2, 1))
def test_any_line_falls_until_reversed_and_rises_after(rate, push, radius):
    own = {"debris_rate": rate * mm3_per_min, "pressure": push * kPa, "viscosity": 5e-3}
    line = clogging(bore(radius * mm, 30 * mm), REST[1:], **NUMBERS | own)
    turn = line.time.tolist().index(NUMBERS["reverse_at"])
    assert (np.diff(line.flow[: turn + 1]) <= 0).all() and (np.diff(line.flow[turn:]) >= 0).all()
    assert (line.open_share > 0).all() and (line.open_share <= 1).all()
    assert (line.debris >= 0).all() and (line.debris < 1).all()
    # more debris, sooner shut
    more = clogging(bore(radius * mm, 30 * mm), REST[1:], **NUMBERS | own | {"debris_rate": 2e-9})
    assert (more.open_share[: turn + 1] <= line.open_share[: turn + 1] + 1e-12).all()


def test_shapes_and_the_line_is_the_same_each_time():
    one, again = played(**NUMBERS), played(**NUMBERS)
    for name in ("time", "open_share", "flow", "debris"):
        assert getattr(one, name).shape == one.time.shape
        assert (getattr(one, name) == getattr(again, name)).all()
    assert one.time[0] == 0 and one.time[-1] == 7500 and (np.diff(one.time) > 0).all()
    never = played(**NUMBERS | {"reverse_at": 1e6})
    assert never.time[-1] == 7500 and (np.diff(never.flow) <= 0).all()


def test_the_file_says_that_its_constants_are_assumed():
    assert "Every constant here is assumed" in inspect.getdoc(room)


@pytest.mark.parametrize("name", NUMBERS)
def test_clogging_refuses(name):
    refuses(played, NUMBERS, name, bad=NOT_NUMBERS)


def test_clogging_refuses_many_at_once_and_an_opening():
    with pytest.raises(Refusal, match="pressure must be one number, got 2: play them one by one"):
        played(**NUMBERS | {"pressure": [1e4, 2e4]})
    with pytest.raises(Refusal, match="passage must have a length for soot to stick to"):
        clogging(opening(1 * mm2), REST, **NUMBERS)


# --- shut_after ---
def test_a_line_shuts_when_a_tenth_of_the_metal_has_filled_half_of_it():
    # hand sum of the assumption: a share of 0.1/w² of the debris sticks, so w⁴ falls evenly and
    # the bore is shut after its content over twice a tenth of the rate: 1 mm x 40 mm hold
    # 31.4 mm³; at 2 mm³ a minute 78.5 minutes
    assert_allclose(shut_after(BORE, 2 * mm3_per_min), 78.54 * 60, rtol=1e-3)
    line = played(**NUMBERS)
    half = line.time <= 78.54 * 60 * (1 - 0.5**4)  # where half the width is left
    assert_allclose(line.open_share[half][-1], 0.25, rtol=0.05)


def test_a_wider_bore_and_a_slower_burn_shut_later():
    assert shut_after(bore(1.0 * mm, 40 * mm), 2 * mm3_per_min) > shut_after(
        BORE, 2 * mm3_per_min
    ) > shut_after(BORE, 5 * mm3_per_min)  # fmt: skip


def test_shut_after_keeps_shapes():
    rates = np.array([[1.0], [2.0]]) * mm3_per_min
    assert shut_after(BORE, rates).shape == (2, 1)
    assert np.ndim(shut_after(BORE, mm3_per_min)) == 0


def test_shut_after_refuses():
    refuses(partial(shut_after, BORE), {"debris_rate": mm3_per_min}, "debris_rate")
    with pytest.raises(Refusal, match="with nothing removed nothing clogs"):
        shut_after(BORE, 0.0)
