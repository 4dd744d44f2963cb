"""Flow through a whole way, what it costs beyond the laminar form"""

import warnings
from dataclasses import replace
from functools import partial

import fluids
import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit.checks import RangeWarning, Refusal
from edmkit.physics.flow import (
    Beside,
    _drop,
    flow_through,
    pressure_drop,
    reynolds,
)
from edmkit.physics.passage import annulus, bore, laminar_flow, opening, radial_gap, slot
from edmkit.units import kPa, mm, mm2, um

ML_PER_MIN = 1e-6 / 60
OIL = {"viscosity": 2e-3, "density": 785.0}
TUBE = bore(1 * mm, 50 * mm)
TIGHT = (bore(0.3 * mm, 20 * mm), radial_gap(15 * um, 0.3 * mm, 1.5 * mm))
PUSHED = {"pressure": 20 * kPa, **OIL}


def without_ends(passage):
    """Return a passage without the speed heads at its ends."""
    return replace(passage, losses=0.0)


def flow_at(number, passage):
    """Return the flow of a Reynolds number, from its definition [m³/s]."""
    speed = number * OIL["viscosity"] / (OIL["density"] * passage.hydraulic_diameter)
    return speed * passage.area


# --- reynolds ---
SMALL = {"flow": 1e-7, **OIL}


def test_reynolds_of_the_reference_values():
    # prototype of this kit: a hole of 1 mm radius at the laminar formula's flow, Re 48 000 or so
    assert_allclose(reynolds(TUBE, 1.963495e-4, 2e-3, 770), 48_000, rtol=0.01)
    # and the 100 µm front gap, Re 997 with a fluid of 770 kg/m³
    front = radial_gap(100 * um, mm, 5 * mm)
    assert_allclose(reynolds(front, 8.133255e-6, 2e-3, 770), 997, rtol=1e-3)


@pytest.mark.parametrize("flow", [1e-8, 1e-6])
def test_reynolds_against_the_package(flow):
    # `fluids`
    package = fluids.Reynolds(V=flow / (np.pi * mm**2), D=2 * mm, rho=785, mu=2e-3)
    assert_allclose(reynolds(TUBE, flow, **OIL), package, rtol=1e-9)


@given(flow=st.floats(1e-9, 1e-4))
def test_reynolds_goes_with_flow_and_against_viscosity(flow):
    one = reynolds(TUBE, flow, **OIL)
    assert_allclose(reynolds(TUBE, 2 * flow, 4e-3, 785), one, rtol=1e-12)


def test_reynolds_keeps_shapes():
    keeps_shapes(partial(reynolds, TUBE), **SMALL)


@pytest.mark.parametrize("name", SMALL)
def test_reynolds_refuses(name):
    refuses(partial(reynolds, TUBE), SMALL, name)


# --- pressure_drop ---
@pytest.mark.parametrize("number", [1, 100, 1900, 4001, 8000, 30_000])
def test_pressure_drop_of_a_pipe_against_the_package(number):
    # `fluids`: laminar, and Blasius' line for a smooth wall
    flow = flow_at(number, TUBE)
    friction = fluids.friction.Blasius if number > 4000 else fluids.friction.friction_laminar
    head = 785 * (flow / TUBE.area) ** 2 / 2
    package = friction(number) * 50 / 2 * head
    assert_allclose(pressure_drop(without_ends(TUBE), flow, **OIL), package, rtol=0.01)


@pytest.mark.parametrize("passage", [annulus(3 * mm, 2.5 * mm, 60 * mm), slot(6 * mm, mm, 60 * mm)])
def test_pressure_drop_of_ring_and_slot_against_the_package(passage):
    # `fluids`: turbulent friction over the hydraulic diameter; the laminar forms stand in
    # tests/test_passage.py against Shah and London
    number = 6000
    flow = flow_at(number, passage)
    friction = fluids.friction.Blasius(number)
    head = 785 * (flow / passage.area) ** 2 / 2
    package = friction * passage.length / passage.hydraulic_diameter * head
    assert_allclose(pressure_drop(without_ends(passage), flow, **OIL), package, rtol=0.01)


def test_pressure_drop_of_an_orifice_against_the_package():
    # `fluids`: an orifice in a wide pipe with a discharge coefficient of 0.6
    hole, flow = opening(np.pi / 4 * (2 * mm) ** 2), 2e-5
    drop = pressure_drop(hole, flow, **OIL)
    package = fluids.flow_meter.flow_meter_discharge(
        D=1.0, Do=2 * mm, P1=2e5 + drop, P2=2e5, rho=785, C=0.6, expansibility=1.0
    )
    assert_allclose(flow * 785, package, rtol=0.01)


@pytest.mark.parametrize("passage", [TUBE, slot(6 * mm, 0.2 * mm, 20 * mm), opening(1 * mm2)])
def test_pressure_drop_climbs_without_a_step(passage):
    numbers = np.linspace(1500, 5000, 7001)
    drops = pressure_drop(without_ends(passage), flow_at(numbers, passage), **OIL)
    steps = np.diff(np.log(drops)) / np.diff(np.log(numbers))
    assert (steps > 0.9).all() and (steps < 3.5).all()  # a jump would be a slope of hundreds
    assert pressure_drop(passage, 0.0, **OIL) == 0


def test_pressure_drop_half_way_between_laminar_and_turbulent():
    # `fluids`: midway between 2000 and 4000, in logarithms, stands the geometric mean of the laws
    number = 2000 * np.sqrt(2)
    flow = flow_at(number, TUBE)
    laminar = fluids.friction.friction_laminar(number)
    mean = np.sqrt(laminar * fluids.friction.Blasius(number))
    drop = mean * 50 / 2 * 785 * (flow / TUBE.area) ** 2 / 2
    assert_allclose(pressure_drop(without_ends(TUBE), flow, **OIL), drop, rtol=0.01)


@pytest.mark.parametrize("number", [10, 1500, 2500, 3500, 5000, 50_000])
def test_the_solver_knows_the_slope_of_the_pressure(number):
    # a wrong slope only costs steps, so that no answer shows it; central difference
    flow, step = flow_at(number, TUBE), 1e-6
    ends = [pressure_drop(TUBE, flow * (1 + sign * step), **OIL) for sign in (1, -1)]
    slope = _drop(TUBE, flow, **OIL)[1]
    assert_allclose(slope, (ends[0] - ends[1]) / (2 * step * flow), rtol=1e-6)


def test_the_reference_hole_is_not_laminar():
    # prototype: 1 mm radius, 50 mm long, 50 kPa, formula 1.963e-4 m³/s: reject
    true = flow_through((TUBE,), 50 * kPa, **OIL).rate
    assert true < 0.25 * laminar_flow(TUBE, 50 * kPa, 2e-3)


def test_pressure_drop_keeps_shapes():
    keeps_shapes(partial(pressure_drop, TUBE), **SMALL)


@pytest.mark.parametrize("name", SMALL)
def test_pressure_drop_refuses(name):
    refuses(partial(pressure_drop, TUBE), SMALL, name)


# --- flow_through ---
def test_flow_through_the_reference_way():
    # prototype: slot and 50 µm front gap in series, 50 kPa: 50.509 ml/min, laminar and without
    # ends. Twenty times as thick and as much pressure: the same flow, but creeping.
    parts = slot(6 * mm, 0.2 * mm, 20 * mm), radial_gap(50 * um, 1 * mm, 5 * mm)
    way = tuple(without_ends(part) for part in parts)
    found = flow_through(way, 20 * 50 * kPa, 20 * 2e-3, 785)
    assert_allclose(found.rate / ML_PER_MIN, 50.509, atol=0.0005)
    with pytest.warns(RangeWarning, match="gap in front: the fluid is so quick"):
        quick = flow_through(parts, 50 * kPa, **OIL)
    assert 0.7 * 50.509 < quick.rate / ML_PER_MIN < 50.509


def test_flow_through_an_orifice_is_torricelli():
    # 0.6 A sqrt(2 dp / rho) by hand: 1 mm², 50 kPa, 785 kg/m³
    found = flow_through((opening(1 * mm2),), 50 * kPa, **OIL)
    assert_allclose(found.rate, 0.6 * 1e-6 * np.sqrt(2 * 50e3 / 785), rtol=0.01)


@given(
    radius=st.floats(0.1, 2),
    gap=st.floats(3, 500),
    push=st.floats(0.05, 900),
    thick=st.floats(5e-4, 0.05),
    hole=st.floats(0.01, 20),
)
def test_flow_through_fits_the_pressure_of_every_part(radius, gap, push, thick, hole):
    rim = 3 * radius * mm
    tube, front = bore(radius * mm, 40 * mm), radial_gap(gap * um, radius * mm, rim)
    side, leak = annulus(rim + gap * um, rim, 5 * mm), opening(hole * mm2)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        found = flow_through((tube, Beside(((front, side), leak), "end")), push * kPa, thick, 785)
    # the parts one by one: pressure_drop is checked against the package above
    assert_allclose(found.drops[0], pressure_drop(tube, found.rate, thick, 785), rtol=1e-8)
    assert_allclose(sum(found.drops), push * kPa, rtol=1e-8)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        beside = [
            flow_through(way, found.drops[1], thick, 785).rate
            for way in ((front, side), (leak,))
            if found.drops[1] > 1
        ]
    if beside:
        assert_allclose(sum(beside), found.rate, rtol=1e-7)


@given(number=st.integers(1, 5), push=st.floats(0.1, 199))
def test_equal_ways_in_series_and_beside_each_other(number, push):
    tube = bore(0.5 * mm, 30 * mm)
    one = flow_through((tube,), push * kPa, **OIL).rate
    series = flow_through((tube,) * number, number * push * kPa, **OIL)
    assert_allclose(series.rate, one, rtol=1e-8)
    assert_allclose(series.shares, 1 / number, rtol=1e-8)
    beside = flow_through((Beside((tube,) * number),), push * kPa, **OIL)
    assert_allclose(beside.rate, number * one, rtol=1e-8)


def test_limits_of_series_and_beside():
    way, wide = TIGHT, bore(20 * mm, 1 * mm)
    alone = flow_through(way, **PUSHED).rate
    # a wide part in series changes nothing, a way that is nearly shut beside it neither
    assert_allclose(flow_through((*way, wide), **PUSHED).rate, alone, rtol=1e-4)
    shut = annulus(1 * mm + 0.2 * um, 1 * mm, 50 * mm)
    assert_allclose(flow_through((Beside((way, shut)),), **PUSHED).rate, alone, rtol=1e-4)
    # a part that is nearly shut meters all of it
    metered = flow_through((*way, shut), **PUSHED)
    assert_allclose(metered.rate, laminar_flow(shut, 20 * kPa, 2e-3), rtol=1e-3)
    assert metered.meter == "side gap" and metered.shares[2] > 0.999


def test_the_part_that_meters_is_named_for_each_of_many():
    gaps = np.array([5, 300]) * um
    found = flow_through((TIGHT[0], radial_gap(gaps, 0.3 * mm, 1.5 * mm)), 100.0, 0.05, 785)
    assert found.names == ("bore", "gap in front")
    assert found.meter.tolist() == ["gap in front", "bore"]
    assert flow_through(TIGHT, **PUSHED).meter == "gap in front"


def test_beside_each_other_the_larger_reynolds_number_counts():
    thin, wide = bore(0.2 * mm, 30 * mm), bore(0.4 * mm, 30 * mm)
    alone = [flow_through((one,), 2 * kPa, **OIL).reynolds[0] for one in (thin, wide)]
    found = flow_through((Beside((thin, wide)),), 2 * kPa, **OIL)
    assert_allclose(found.reynolds, [alone[1]], rtol=1e-8)
    assert alone[1] > alone[0]


def test_a_creeping_gap_goes_with_its_cube():
    # halved gap at equal pressure: an eighth of the flow
    half, whole = (
        flow_through((radial_gap(gap, 0.5 * mm, 1.5 * mm),), 500.0, 2e-3, 785).rate
        for gap in (5 * um, 10 * um)
    )
    assert_allclose(half / whole, 1 / 8, rtol=2e-3)


@given(push=st.floats(0.1, 400), more=st.floats(1.01, 2))
def test_more_pressure_and_a_thinner_fluid_pass_more(push, more):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        base = flow_through(TIGHT, push * kPa, **OIL).rate
        assert base < flow_through(TIGHT, more * push * kPa, **OIL).rate < 1.001 * more * base
        assert base < flow_through(TIGHT, push * kPa, 2e-3 / more, 785).rate


def test_the_warning_comes_where_inertia_counts_only():
    # Reynolds number x gap / radius of the hole above 1; prototype: 100 µm at 50 kPa fails
    with pytest.warns(RangeWarning, match="wider bore"):
        flow_through((radial_gap(100 * um, mm, 5 * mm),), 50 * kPa, **OIL)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        flow_through((radial_gap(15 * um, mm, 5 * mm),), 50 * kPa, **OIL)


def test_flow_through_keeps_shapes():
    keeps_shapes(lambda **numbers: flow_through(TIGHT, **numbers).rate, **PUSHED)
    many = flow_through(
        (bore(0.3 * mm, np.array([[5], [9]]) * mm), TIGHT[1]), [1e3, 2e3, 3e3], **OIL
    )
    for part in (many.rate, *many.drops, *many.reynolds, *many.shares):
        assert part.shape == (2, 3)


@pytest.mark.parametrize("name", PUSHED)
def test_flow_through_refuses(name):
    refuses(partial(flow_through, TIGHT), PUSHED, name)


@pytest.mark.parametrize(
    "way", [(), TUBE, [TUBE], (TUBE, "bore"), (Beside(()),), (Beside([TUBE]),)]
)
def test_flow_through_refuses_what_is_no_way(way):
    with pytest.raises(Refusal, match="way must be a tuple of passages"):
        flow_through(way, **PUSHED)


def test_flow_through_refuses_no_pressure():
    with pytest.raises(Refusal, match=r"pressure must be .* got 0 kPa: .* lift only"):
        flow_through(TIGHT, 0.0, **OIL)
