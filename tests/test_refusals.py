"""What a person may mistype: each is refused or warned of, by name, and nothing is clipped."""

import dataclasses
import warnings
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import edmkit as ek
from edmkit.settings import LIMITS

MACHINE = ek.read_machine(Path(__file__).parents[1] / "data_demo" / "old_manual_sinker.toml")
GOOD = {"peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0}
LIFT = {"lift_burn_s": 4.0, "lift_up_s": 1.0}


def setup(**changed):
    """Return the ordinary set-up, some of it changed."""
    ordinary = {
        "work": ek.work_material("52100"),
        "electrode": ek.electrode_material("copper"),
        "dielectric": ek.dielectric("edm_oil"),
        "polarity": "electrode positive",
        "engaged_area_mm2": 7.0,
    }
    return ek.Setup(**ordinary | changed)


def dialled(**changed):
    """Return ordinary settings, some of them changed."""
    lift = LIFT if any(name in LIFT for name in changed) else {}
    return ek.Settings(**GOOD | lift | changed)


# --- the table: what was typed, and what the answer must name ---
TYPED = {
    "seconds for microseconds": (
        lambda: dialled(on_time_us=50e-6),
        r"on_time_us must be 0\.1 to 10000 µs, got 5e-05 µs: give the on-time in microseconds",
    ),
    "off-time in seconds": (
        lambda: dialled(off_time_us=25e-6),
        "off_time_us must be .*microseconds",
    ),
    "zero amps": (lambda: dialled(peak_current_A=0), "peak_current_A must be .* got 0 A"),
    "negative amps": (lambda: dialled(peak_current_A=-3), "peak_current_A must be .* got -3 A"),
    "not a number": (lambda: dialled(on_time_us=float("nan")), "on_time_us must be .* got nan µs"),
    "one bad number of many": (lambda: dialled(on_time_us=[50, 0, 20]), "on_time_us .* got 0 µs"),
    "one too large of many": (lambda: dialled(on_time_us=[50, 1e5]), "on_time_us .* got 100000 µs"),
    "text": (lambda: dialled(peak_current_A="three"), "peak_current_A must be .* got 'three'"),
    "a decimal comma": (lambda: dialled(peak_current_A="2,5"), r"write 2\.5, with a point"),
    "nothing": (lambda: dialled(peak_current_A=None), "peak_current_A must be .* got None"),
    "yes for a number": (lambda: dialled(off_time_us=True), "off_time_us must be"),
    "voltage and gap": (
        lambda: dialled(gap_front_um=30, servo_voltage_V=40),
        "gap_front_um and servo_voltage_V say the same gap twice, got 30 µm and 40 V: leave one",
    ),
    "half a lift": (lambda: ek.Settings(**GOOD, lift_burn_s=4), "lift_burn_s and lift_up_s belong"),
    "lists that do not fit": (
        lambda: dialled(on_time_us=[1, 2], off_time_us=[1, 2, 3]),
        r"must broadcast together, got shapes .*\(2,\), \(3,\)",
    ),
    "areas that do not fit": (
        lambda: ek.predict(setup(engaged_area_mm2=[7, 8]), dialled(on_time_us=[20, 30, 50])),
        r"engaged_area_mm2 .* together, got shapes \(3,\), \(2,\)",
    ),
    "an unknown work": (lambda: ek.work_material("52101"), "did you mean '52100'"),
    "an unknown electrode": (lambda: ek.electrode_material("coper"), "did you mean 'copper'"),
    "an unknown fluid": (lambda: ek.dielectric("edm_oyl"), "did you mean 'edm_oil'"),
    "a name for a material": (lambda: setup(work="52100"), r"ek\.work_material\('52100'\)"),
    "steel as a graphite": (
        lambda: setup(work=ek.electrode_material("graphite")),
        "serves as work",
    ),
    "a polarity of another book": (lambda: setup(polarity="positive"), "polarity must be one of"),
    "flushing by another word": (lambda: setup(flushing="suktion"), "did you mean 'suction'"),
    "flushing as a number": (lambda: setup(flushing=3), "flushing must be one of"),
    "a file for a machine": (lambda: setup(machine="old.toml"), r"machine must be .*read_machine"),
    "no area": (lambda: setup(engaged_area_mm2=0), "engaged_area_mm2 must be .* got 0 mm²"),
    "area as text": (lambda: setup(engaged_area_mm2="7,5"), r"write 7\.5, with a point"),
    "no rim": (lambda: setup(engaged_rim_mm=-1), "engaged_rim_mm must be .* got -1 mm"),
    "amps the switch has not": (
        lambda: ek.predict(setup(machine=MACHINE), dialled()),
        r"peak_current_A must be one of the positions of .*\(1\.5 A\).* got 3",
    ),
    "volts the switch has not": (
        lambda: ek.predict(
            setup(machine=MACHINE), ek.Settings(4.0, 45.0, 25.0, open_voltage_V=120)
        ),
        r"open_voltage_V must be one of .* got 120",
    ),
    "a label the switch has not": (
        lambda: MACHINE.settings("9", "4", "4", "low"),
        "peak_current_A must be one of .* got '9'",
    ),
    "a circuit on a machine": (
        lambda: ek.predict(setup(machine=MACHINE), ek.Relaxation(47, 10, 110)),
        "leave the machine out",
    ),
    "a circuit of lists": (
        lambda: ek.Relaxation([47, 50], 10, 110),
        "resistance_ohm must be one number",
    ),
    "a gap that fires above the supply": (
        lambda: ek.Relaxation(47, 10, 110, breakdown_V=120),
        "breakdown_V must be below the supply of 110 V",
    ),
    "settings as a list": (lambda: ek.predict(setup(), [3, 50, 25]), "settings must be Settings"),
    "a voltmeter that cannot be": (
        lambda: ek.predict(setup(), dialled(servo_voltage_V=300)).gap_front_um,
        "servo_voltage_V must be .* got 300 V",
    ),
    "a negative volume": (lambda: ek.predict(setup(), dialled()).minutes(-1), "volume_mm3 must be"),
    "a volume as text": (
        lambda: ek.predict(setup(), dialled()).end_wear_mm("34,4", 7),
        r"write 34\.4, with a point",
    ),
    "no section": (
        lambda: ek.predict(setup(), dialled()).end_wear_mm(34, 0),
        "section_mm2 must be",
    ),
    "no area for the dial": (
        lambda: ek.predict(setup(), dialled(lift_burn_s=4.0)).dial_step_um(0),
        "area_mm2 must be",
    ),
}


@pytest.mark.parametrize("mistake", TYPED)
def test_a_mistake_is_refused_by_name(mistake):
    typed, answer = TYPED[mistake]
    with pytest.raises(ek.Refusal, match=answer):
        typed()


# --- any number, for every number of the settings ---
@pytest.mark.parametrize("name", LIMITS)
@given(data=st.data())
def test_a_number_outside_its_limits_is_refused_and_one_inside_is_kept(name, data):
    low, high, unit = LIMITS[name]
    outside = st.one_of(
        st.floats(max_value=low, exclude_max=True), st.floats(min_value=high, exclude_min=True)
    )
    with pytest.raises(ek.Refusal, match=rf"{name} must be .* {unit}"):
        dialled(**{name: data.draw(outside)})
    inside = data.draw(st.floats(low, high))
    assert getattr(dialled(**{name: inside}), name) == inside  # nothing clipped


@pytest.mark.parametrize("name", LIMITS)
@given(word=st.text(max_size=8))
def test_no_text_is_taken_for_a_number(name, word):
    with pytest.raises(ek.Refusal, match=rf"{name} must be "):
        dialled(**{name: word})


@given(st.lists(st.floats(0.1, 1e4), min_size=1, max_size=5), st.integers(0, 4))
def test_one_bad_number_among_good_ones_is_found(times, place):
    times[place % len(times)] = float("nan")
    with pytest.raises(ek.Refusal, match=r"on_time_us must be .* got nan"):
        dialled(on_time_us=times)


AMPS, TIMES = st.floats(*LIMITS["peak_current_A"][:2]), st.floats(*LIMITS["on_time_us"][:2])


@given(AMPS, TIMES, TIMES, st.floats(30, 400), st.floats(0.01, 1e5))
def test_whatever_is_allowed_gives_figures_or_a_refusal_and_is_told_when_far(
    i, on, off, volts, area
):
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        burn = ek.predict(setup(engaged_area_mm2=area), ek.Settings(i, on, off, volts))
    assume(all(abs(edge / value - 1) > 1e-6 for edge, value in
               ((0.3, min(i, 10 * on)), (60, min(i, 10 * on)), (2, on), (1000, on))))  # fmt: skip
    far = any(isinstance(warning.message, ek.RangeWarning) for warning in caught)
    reached = min(i, 10 * on)  # 10 A/µs, assumption
    within = 0.3 <= reached <= 60 and 2 <= on <= 1000
    assert far != within
    for name in ("removal_rate_mm3_per_min", "relative_wear_percent", "gap_side_um",
                 "roughness_Ra_um", "average_current_A", "mean_voltage_V"):  # fmt: skip
        try:
            estimate = getattr(burn, name)
        except ek.Refusal:
            assert far
            continue
        assert 0 < estimate.low <= estimate.likely <= estimate.high < np.inf


@given(st.integers(0, 7), st.floats(0.05, 500))
def test_only_the_amps_of_a_position_are_taken(place, amps):
    values = MACHINE.peak_current_A.values
    ek.predict(setup(machine=MACHINE), ek.Settings(float(values[place]), 45.0, 25.0, 100.0))
    if np.abs(values / amps - 1).min() > 1e-6:
        with pytest.raises(ek.Refusal, match="peak_current_A must be one of the positions"):
            ek.predict(setup(machine=MACHINE), ek.Settings(amps, 45.0, 25.0, 100.0))


# --- warned of, not refused ---
def test_an_area_smaller_than_one_spark_is_a_warning_with_its_knob():
    burn = ek.predict(setup(engaged_area_mm2=0.001), dialled())
    assert any("smaller than one spark" in said and "lower the current" in said
               for said in burn.warnings)  # fmt: skip


def test_arrays_cannot_be_changed_behind_the_settings_back():
    mine = np.array([20.0, 50.0])
    kept = dialled(on_time_us=mine)
    mine[0] = -1
    assert kept.on_time_us.tolist() == [20.0, 50.0]
    with pytest.raises(ValueError, match="read-only"):
        kept.on_time_us[0] = 1.0
    with pytest.raises(dataclasses.FrozenInstanceError):
        kept.on_time_us = 1.0
