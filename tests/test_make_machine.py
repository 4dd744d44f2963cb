"""From dials to a machine: what is known is kept, what is not stays unknown, limits are held."""

from dataclasses import replace

import pytest
from measured_kit import VALUES, some_dials

import edmkit as ek
from edmkit.checks import Refusal
from edmkit.dials.make_machine import doubts, machine_of
from edmkit.machine_text import save_machine
from edmkit.switches import HOW_KNOWN_SPREAD


def values(switch):
    return [p.value for p in switch.positions]


def said(dials):
    return " ".join(doubts(dials))


# --- values -----------------------------------------------------------------------------------
def test_values_labels_and_spreads_are_those_of_the_dials():
    machine = machine_of(some_dials(spread=0.017))
    for name, worth in VALUES.items():
        switch = getattr(machine, name)
        assert values(switch) == worth
        assert {(p.how_known, p.spread, p.filled) for p in switch.positions} == {
            ("measured", 0.017, False)
        }


def test_values_have_four_digits_and_spreads_two():
    machine = machine_of(some_dials(on_time_us=[12.345678, 1234.567], spread=0.0234567))
    assert values(machine.on_time_us) == [12.35, 1235.0]
    assert machine.on_time_us.positions[0].spread == 0.023


def test_the_machine_is_the_one_its_file_describes(tmp_path):
    machine = machine_of(some_dials(on_time_us=[2, None, 11.0, None], adds=True))
    again = ek.read_machine(save_machine(machine, tmp_path))
    assert replace(again, path=None) == machine


def test_an_unknown_position_stays_unknown_and_is_filled_in_anew():
    """By hand: the step between 10 and 40 in even ratios is 20."""
    machine = machine_of(some_dials(off_time_us=[10.0, None, 40.0]))
    middle = machine.off_time_us.positions[1]
    assert (middle.how_known, middle.filled) == ("unknown", True)
    assert middle.value == pytest.approx(20.0)


def test_a_value_with_more_doubt_than_its_neighbours_leave_is_left_out():
    dials = some_dials(off_time_us=[10.0, 77.0, 40.0])
    first, bad, last = dials.off_time_us.positions
    switch = replace(dials.off_time_us, positions=(first, replace(bad, spread=1.1), last))
    middle = machine_of(replace(dials, off_time_us=switch)).off_time_us.positions[1]
    assert (middle.how_known, middle.filled) == ("unknown", True)
    assert middle.value == pytest.approx(20.0)


def test_times_without_a_pitch_keep_their_shape_and_are_unknown():
    dials = some_dials(factor_known=False)
    machine = machine_of(dials)
    assert values(machine.on_time_us) == VALUES["on_time_us"]
    for name in ("on_time_us", "off_time_us"):
        assert {(p.how_known, p.spread) for p in getattr(machine, name).positions} == {
            ("unknown", HOW_KNOWN_SPREAD["unknown"])
        }
    assert machine.peak_current_A.positions[0].how_known == "measured"
    assert "known to one another, not in microseconds" in said(dials)


# --- how the machine works --------------------------------------------------------------------
@pytest.mark.parametrize(
    ("supply", "plate"),
    [("resistor-limited", "short circuit"), ("two voltages", "short circuit"),
     ("regulated", "spark"), ("", "short circuit")],
)  # fmt: skip
def test_what_drives_the_current_says_what_the_amps_are(supply, plate):
    assert machine_of(some_dials(supply=supply, driving=80.0)).plate_current == plate


@pytest.mark.parametrize("kind", ["from breakdown", "in a fixed period"])
def test_how_the_on_time_counts_is_kept(kind):
    machine = machine_of(some_dials(kind=kind))
    assert (machine.on_time_counts, machine.note) == (kind, "")


def test_what_is_assumed_is_said_in_the_note_and_among_the_doubts():
    dials = some_dials(kind="", supply="", told={"note": "Moved once."})
    machine = machine_of(dials)
    assert machine.note.startswith("Moved once. How the on-time counts was not measured")
    assert "resistors are assumed" in machine.note
    # By hand: at 100 V and 25 V of a spark, regulated amps are 100/(100 - 25) of limited ones.
    assert "33 % more amps" in said(dials)


def test_two_voltages_give_the_driving_one():
    assert machine_of(some_dials(supply="two voltages", driving=82.345)).driving_voltage_V == 82.34
    assert machine_of(some_dials(driving=82.345)).driving_voltage_V is None


@pytest.mark.parametrize("driving", [None, 34.0, 101.0])
def test_a_driving_voltage_that_cannot_be_is_left_out_and_said(driving):
    """35 V at least, and the lowest open voltage of 100 V at most."""
    dials = some_dials(supply="two voltages", driving=driving)
    assert machine_of(dials).driving_voltage_V is None
    assert "which is not 35 to 100 V" in said(dials)


def test_the_rest_of_the_survey_is_kept():
    told = {"lift_burn_s": (0.5, 10.0), "lift_up_s": (0.2, 3.0), "flushing": ("side jet",),
            "polarity_switch": False, "dial_mm": 0.005, "stop_mm": 0.02}  # fmt: skip
    machine = machine_of(some_dials(told=told, adds=True))
    assert (machine.lift.burn_s, machine.lift.up_s) == ((0.5, 10.0), (0.2, 3.0))
    assert machine.flushing.kinds == ("side jet",) and not machine.polarity_switch
    assert (machine.resolution.dial_mm, machine.resolution.stop_mm) == (0.005, 0.02)
    assert (machine.ammeter_max_A, machine.voltmeter_max_V) == (30.0, 200.0)
    assert machine.peak_current_A.adds and machine.peak_current_A.position("1 + 2").value == 4.0


def test_half_a_lift_timer_is_left_out_and_said():
    dials = some_dials(told={"lift_burn_s": (0.5, 10.0)})
    assert machine_of(dials).lift is None and "lift timer" in said(dials)


# --- doubts -----------------------------------------------------------------------------------
def test_a_machine_that_is_wholly_known_leaves_no_doubt():
    assert doubts(some_dials()) == ()


def test_unknown_and_faulty_positions_are_named():
    dials = some_dials(on_time_us=[2, None, 11.0, None], off_time_us=[None, None],
                       faults=[("peak_current_A", "3", "it reads 18 % low.")])  # fmt: skip
    assert "On-time 2, 4: not known" in said(dials)
    assert "Off-time: no position is known" in said(dials)
    assert "Current 3 is not to be trusted: it reads 18 % low." in said(dials)


# --- refused ----------------------------------------------------------------------------------
def test_a_value_outside_what_a_machine_can_have_names_its_position():
    with pytest.raises(Refusal, match=r"on_time_us.positions\[2\].value .*position '2'"):
        machine_of(some_dials(on_time_us=[2.0, 20_000.0]))


@pytest.mark.parametrize("told", [{"circuit": "relaxation"}, {"name": " "}])
def test_what_is_no_machine_of_pulses_is_refused(told):
    with pytest.raises(Refusal, match=r"relaxation|name must be text"):
        machine_of(some_dials(told=told))
