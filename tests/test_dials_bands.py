"""Bands before and after: measuring narrows them, and nothing else does."""

from dataclasses import replace

import pytest
from measured_kit import VALUES, some_dials

import edmkit as ek
from edmkit.dials.bands import before_and_after, job_positions, unmeasured
from edmkit.dials.make_machine import machine_of
from edmkit.dials.survey import Plate

pytestmark = pytest.mark.filterwarnings("ignore::edmkit.checks.RangeWarning")
PLATES = (Plate("peak_current_A", "3", 4.0), Plate("on_time_us", "5", 50.0),
          Plate("off_time_us", "4", 30.0))  # fmt: skip


@pytest.fixture(scope="module")
def dials():
    return some_dials(told={"plates": PLATES})


# --- as it was --------------------------------------------------------------------------------
def test_before_only_plates_are_known(dials):
    machine = unmeasured(dials)
    known = {(n, p.label): (p.value, p.how_known) for n in VALUES
             for p in getattr(machine, n).positions if not p.filled}  # fmt: skip
    assert known == {(p.switch, p.label): (p.value, "plate") for p in PLATES}
    assert [p.label for p in machine.on_time_us.positions] == list("12345678")


def test_what_is_guessed_stays_a_guess(dials):
    told = dials.survey.told(plates=(Plate("on_time_us", "5", 50.0, "guessed"),))
    position = unmeasured(replace(dials, survey=told)).on_time_us.positions[4]
    assert (position.how_known, position.spread) == ("guessed", 0.35)


# --- the job ----------------------------------------------------------------------------------
def test_the_job_takes_the_known_positions_nearest_to_it(dials):
    """3 A, 50 µs, 25 µs and 100 V are wished; by ratio 2.5 A is nearer to 3 A than 4 A."""
    assert job_positions(machine_of(dials)) == {
        "peak_current_A": "2", "on_time_us": "5", "off_time_us": "4", "open_voltage_V": "1"
    }  # fmt: skip


def test_a_position_that_nobody_knows_is_not_the_one_that_shows_the_gain():
    machine = machine_of(some_dials(on_time_us=[20.0, None, 125.0]))
    assert machine.on_time_us.positions[1].value == pytest.approx(50.0)
    assert job_positions(machine)["on_time_us"] in ("1", "3")


def test_switches_that_add_give_a_sum():
    machine = machine_of(some_dials(adds=True, peak_current_A=[1.0, 2.0]))
    assert job_positions(machine)["peak_current_A"] == "1 + 2"
    assert len(before_and_after(None, machine)) == 4


# --- bands ------------------------------------------------------------------------------------
def test_measuring_narrows_every_band(dials):
    rows = before_and_after(unmeasured(dials), machine_of(dials))
    assert [row.words for row in rows] == ["Time", "Roughness Ra", "Side gap", "Wear"]
    for row in rows:
        assert row.factor_after < row.factor_before


def test_after_is_what_predict_says_of_that_machine(dials):
    """The roughness of the job by `predict` with its area written out: 3 mm round, gap by hand."""
    machine = machine_of(dials)
    rough = before_and_after(None, machine)[1].after
    settings = ek.Settings(2.5, 52.0, 27.0, 100.0)
    gap = before_and_after(None, machine)[2].after.likely / 1000
    setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive",
                     3.14159265 / 4 * (3 - 2 * gap) ** 2, machine=machine)  # fmt: skip
    assert rough.likely == pytest.approx(ek.predict(setup, settings).roughness_Ra_um.likely)


def test_a_factor_is_upper_over_lower_end(dials):
    """Hand sum: ends at 1.645 spreads each way, so exp(2 x 1.645 x spread)."""
    row = before_and_after(None, machine_of(dials))[0]
    assert row.before is None and row.factor_before is None
    assert row.factor_after == pytest.approx(2.718281828 ** (3.2898 * float(row.after.spread)))


def test_a_machine_that_is_no_better_known_has_the_same_bands(dials):
    machine = unmeasured(dials)
    for row in before_and_after(machine, machine):
        assert row.factor_before == row.factor_after


def test_times_without_a_pitch_leave_every_band_wider(dials):
    known = before_and_after(None, machine_of(dials))
    shape = before_and_after(None, machine_of(replace(dials, factor_known=False)))
    for row, wider in zip(known, shape, strict=True):
        assert wider.factor_after > 1.02 * row.factor_after
