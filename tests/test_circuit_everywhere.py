"""A relaxation circuit where settings go: a hole, a plan, the card, the flushing, the book."""

import dataclasses
import sqlite3
import warnings
from contextlib import closing

import pytest
from card_kit import gate
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.cautions import STAYS_CHARGED
from edmkit.estimate import Estimate
from edmkit.finder.find import find_settings
from edmkit.finder.grid import labels
from edmkit.flushing.course import course_of
from edmkit.flushing.edges import edges_over_off_time
from edmkit.flushing.gap_story import conditions_of
from edmkit.flushing.knobs import arcs_of
from edmkit.flushing.way import Bench
from edmkit.flushing.window import window
from edmkit.panels.next_trial import NextTrial
from edmkit.panels.what_did_the_burn_teach import WhatDidTheBurnTeach
from edmkit.planning.card import card_html
from edmkit.planning.hole import sink
from edmkit.planning.pick import fastest
from edmkit.planning.plan import plan
from edmkit.planning.stages import Stage
from edmkit.trials import schema, store
from edmkit.trials.beside import beside
from edmkit.trials.csv_read import read_csv
from edmkit.trials.csv_write import csv_text
from edmkit.trials.first_trials import first_trials
from edmkit.trials.from_hole import of_hole
from edmkit.trials.learn import learn, rows_of, study
from edmkit.trials.measured import Measured
from edmkit.trials.slips import doubts
from edmkit.trials.suggest import suggest_trial
from edmkit.units import mJ
from edmkit.working import steps

CIRCUIT = ek.Relaxation(470, 1, 110, breakdown_V=80)
PULSES = ek.Settings(3, 50, 25, lift_burn_s=4, lift_up_s=1)
COLUMNS = ("resistance_ohm", "capacitance_uF", "supply_V", "inductance_uH", "breakdown_V")
BURNED = {
    "work": "52100",
    "electrode": "copper",
    "polarity": "electrode positive",
    "engaged_area_mm2": 7.0,
    "section_mm2": 7.0,
    "volume_mm3": 36.5,
    **dataclasses.asdict(CIRCUIT),
}


@pytest.fixture(autouse=True)
def _quiet():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        yield


def setup(**changed):
    """Return copper on hardened bearing steel in oil."""
    given = {
        "work": ek.work_material("52100"),
        "electrode": ek.electrode_material("copper"),
        "dielectric": ek.dielectric("edm_oil"),
        "polarity": "electrode positive",
        "engaged_area_mm2": 7.0,
    }
    return ek.Setup(**{**given, **changed})


def hole(settings=CIRCUIT, **changed):
    return sink(ek.Round(3.05), ek.Flat(), 5.0, setup(**changed), settings)


# --- predict, ratio, one hole ---
def test_energy_power_and_meters_of_a_burn_are_the_circuits():
    burn = ek.predict(setup(), CIRCUIT)
    # by hand: 1 µF at 80 V; RC ln(110/30) and pi sqrt(LC) with 470 µs and 1 µs
    cycle = 470e-6 * 1.2992830 + 3.1415927e-6
    assert_allclose(burn.pulse_energy_mJ.likely, 3.2, rtol=1e-9)
    assert_allclose(burn.frequency_kHz.likely, 1e-3 / cycle, rtol=1e-6)
    assert_allclose(burn.average_current_A.likely, 80e-6 / cycle, rtol=1e-6)
    assert_allclose(burn.duty_factor_percent.likely, 100 * 3.1415927e-6 / cycle, rtol=1e-6)


def test_a_slow_circuit_is_predicted_too():
    # a spark in 3 s: no time of a pulse generator, and the energy still half C u²
    burn = ek.predict(setup(), ek.Relaxation(100_000, 22, 110, breakdown_V=80))
    assert_allclose(burn.pulse_energy_mJ.likely * mJ, 22e-6 * 80**2 / 2, rtol=1e-9)
    assert burn.duty_factor_percent.likely < 0.01 and burn.warnings


@pytest.mark.parametrize(
    ("circuit", "words"),
    [
        (ek.Relaxation(1, 1e-6, 60, 0.001), "burning time of the spark must be 0.05 to 20000 µs"),
        (ek.Relaxation(1, 470, 300, 0.001), "current of the spark must be 0.001 to 2000 A"),
    ],
)
def test_a_circuit_that_cannot_be_is_refused_by_its_own_parts(circuit, words):
    with pytest.raises(ek.Refusal, match=words) as said:
        ek.predict(setup(), circuit)
    assert "change the capacitor" in str(said.value)


def test_a_circuit_and_a_pulse_generator_are_compared():
    one, other = hole(), hole(PULSES)
    change = one.burn.ratio(other.burn)
    for name in ("removal_rate", "roughness_Ra"):
        back = getattr(other.burn.ratio(one.burn), name)
        assert_allclose(getattr(change, name).likely * back.likely, 1)
    speed = one.speed_over(other)
    assert_allclose(speed.likely, other.minutes.likely / one.minutes.likely)
    # far apart in current and time: known worse than two pulse settings a notch apart
    near = hole(PULSES).burn.ratio(hole(dataclasses.replace(PULSES, on_time_us=75)).burn)
    assert change.removal_rate.spread > 2 * near.removal_rate.spread


def test_a_hole_has_no_lifts_and_its_working_shows_the_circuit():
    made = hole()
    assert made.dial_step_um is None
    assert_allclose(
        made.minutes.likely, made.volume_mm3 / made.burn.removal_rate_mm3_per_min.likely
    )
    names = [step.name for step in steps(made.burn, made)]
    assert "time to charge the capacitor" in names and "minutes for this hole" in names


def test_cautions_name_the_knobs_of_a_circuit():
    said = " ".join(ek.predict(setup(engaged_area_mm2=0.5), ek.Relaxation(10, 1, 110)).warnings)
    assert "Take a larger resistor" in said
    said = " ".join(ek.predict(setup(engaged_area_mm2=0.001), CIRCUIT).warnings)
    assert "take a smaller capacitor" in said
    for words in ("current position", "off-time", "on-time"):
        assert words not in said


# --- what is about switches ---
@pytest.mark.parametrize(
    "ask",
    [
        lambda: find_settings(setup(), like=CIRCUIT),
        lambda: fastest(setup(), like=CIRCUIT),
        lambda: suggest_trial(setup(), settings=CIRCUIT),
        lambda: first_trials(setup(), settings=CIRCUIT),
        lambda: arcs_of(ek.predict(setup(), CIRCUIT)),
        lambda: edges_over_off_time(hole(), [25.0, 50.0]),
        lambda: conditions_of(hole(), window(hole()), Bench()),
    ],
)
def test_what_is_about_switches_and_pulses_says_so(ask):
    with pytest.raises(ek.Refusal, match="relaxation circuit: it has no switches"):
        ask()


def test_a_circuit_does_not_go_with_a_machine():
    machine = ek.read_machine("data_demo/old_manual_sinker.toml")
    with pytest.raises(ek.Refusal, match="leave the machine out"):
        ek.predict(setup(machine=machine), CIRCUIT)


# --- flushing ---
def test_the_flushing_of_a_circuit_is_worked_out():
    made = hole(flushing="side jet")
    flushed = window(made)
    assert flushed.flow_ml_per_min.likely > 0 and flushed.word
    # less rest, more arcs: a quicker circuit bears less debris
    quick = window(hole(ek.Relaxation(100, 1, 110, breakdown_V=80), flushing="side jet"))
    assert quick.most < flushed.most


def test_a_circuit_too_slow_for_the_arcs_is_said_in_its_words():
    with pytest.raises(ek.Refusal, match=r"time to charge must be .*another capacitor"):
        window(hole(ek.Relaxation(4700, 100, 110)))


def test_a_burn_of_a_circuit_is_watched_without_lifts():
    course = course_of(hole())
    assert course.stroke_s is None and course.burn_share == 1


# --- a plan and its card ---
def planned(settings=CIRCUIT, shape=None, face=None, depth=5.0):
    feature = ek.Feature(shape or ek.Round(3.05), face or ek.Flat(), depth)
    return plan(feature, setup(), (Stage("rough", settings),))


def test_a_plan_takes_a_circuit():
    made = planned().passes[0]
    assert made.labels == {
        "resistance_ohm": "470 ohm",
        "capacitance_uF": "1 µF",
        "supply_V": "110 V",
        "breakdown_V": "80 V",
    }
    assert made.dial_step_um is None and len(made.ramp.steps) == 1
    burn = ek.predict(made.setup, CIRCUIT)
    assert_allclose(made.minutes.likely, burn.minutes(made.volume_mm3).likely)


def test_a_circuit_without_a_firing_voltage_says_the_best():
    # textbook example R6: 0.71533 of the supply
    assert labels(setup(), ek.Relaxation(470, 1, 200))["breakdown_V"] == "143 V"


def test_the_card_of_a_circuit():
    text = card_html(planned(), gate())
    for words in ("Resistor", "470 ohm", "Capacitor", "1 µF", "Supply", "110 V", "Fires at"):
        assert words in text
    assert STAYS_CHARGED in text and "Dial, each lift" not in text
    for words in ("On-time", "Off-time", "Current to start"):
        assert words not in text


def test_a_dome_starts_with_a_larger_resistor():
    fast = ek.Relaxation(20, 1, 110)
    made = planned(fast, ek.Round(8.0), ek.Ball(30.0)).passes[0].ramp
    assert made.is_circuit and made.borne
    first = made.depths_mm[made.allowed_A >= made.mean_A][0]
    assert_allclose(made.borne_from_mm, first)
    said = made.sentence()
    assert "larger resistor" in said and "current position" not in said
    flat = planned(fast, ek.Round(8.0)).passes[0].ramp
    assert flat.sentence() == ""
    over = planned(ek.Relaxation(2, 1, 110), ek.Round(1.0)).passes[0].ramp
    assert not over.borne and "Take a far larger resistor" in over.sentence()


# --- the trial book ---
def burned(minutes=20.0, **columns):
    return ek.Trial(**{**BURNED, "minutes": Measured(minutes, "watch"), **columns})


def test_a_burn_of_a_hole_brings_its_circuit():
    burning = of_hole(hole(), "470 ohm, 1 µF, 110 V")
    trial = burning.measured(minutes=Measured(40.0, "watch"))
    assert {name: getattr(trial, name) for name in COLUMNS} == dataclasses.asdict(CIRCUIT)
    assert trial.peak_current_A is None and trial.lift_burn_s is None
    assert trial.settings() == CIRCUIT and trial.missing == ()
    assert of_hole(hole(PULSES)).trial.settings() == PULSES


def test_what_is_missing_of_a_circuit_is_asked_for():
    assert burned(supply_V=None, capacitance_uF=None).missing == ("capacitance_uF", "supply_V")
    plain = dict.fromkeys(COLUMNS)
    assert burned(**plain).missing == ("peak_current_A", "on_time_us", "off_time_us")
    assert burned(inductance_uH=None, breakdown_V=None).settings() == ek.Relaxation(470, 1, 110)


def test_switches_and_a_circuit_in_one_burn_are_refused_and_doubted():
    both = burned(peak_current_A=3.0)
    with pytest.raises(ek.Refusal, match=r"peak_current_A and supply_V say two generators"):
        both.settings()
    (left,) = study([both]).left_out
    assert "two generators" in left.why
    assert any("one of the two generators" in text for *_, text in doubts([both]))
    assert not any("generators" in text for *_, text in doubts([burned()]))


@pytest.mark.parametrize(
    ("name", "bad"),
    [("resistance_ohm", 0.0), ("capacitance_uF", -1.0), ("supply_V", 1000.0)],
)
def test_a_part_outside_its_limits_is_refused(name, bad):
    with pytest.raises(ek.Refusal, match=f"{name} must be"):
        burned(**{name: bad})


def test_a_circuit_teaches_its_shop():
    before = ek.predict(burned().setup(), CIRCUIT)
    usual = 36.5 / before.removal_rate_mm3_per_min.likely
    trials = [burned(3 * usual * t) for t in (1.0, 1.05, 0.95)]
    found = study(trials)
    assert "removal_rate" not in {left.quantity for left in found.left_out}
    after = ek.predict(burned().setup(), CIRCUIT, found.shop).removal_rate_mm3_per_min
    assert_allclose(after.likely, before.removal_rate_mm3_per_min.likely / 3, rtol=0.1)
    assert after.spread < before.removal_rate_mm3_per_min.spread / 2
    (row,) = [r for r in rows_of(trials[0])[0] if r.quantity == "removal_rate"]
    assert_allclose(row.ratio, 1 / 3, rtol=1e-9)
    assert len(beside(found, trials, "removal_rate")) == 3
    # a pulse setting of that shop is taught less surely than the circuit itself
    other = ek.predict(setup(), PULSES, found.shop).removal_rate_mm3_per_min
    assert isinstance(other, Estimate) and other.spread > after.spread
    assert learn(trials).tried == {}


def test_a_circuit_comes_back_from_book_and_file(tmp_path):
    trial = burned()
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    book.add(trial)
    assert ek.TrialBook(book.path).trials() == (trial,)
    text = csv_text([trial])
    assert "resistance_ohm" in text and "peak_current_A" not in text
    (back,) = read_csv(text.encode()).trials
    assert back == trial


def test_page_05_shows_circuits_and_suggests_no_switches(tmp_path):
    book = ek.TrialBook(tmp_path / "trials.sqlite")
    for n, minutes in enumerate((20.0, 22.0, 19.0)):
        book.add(burned(minutes, burn=str(n)))
    page = WhatDidTheBurnTeach(memory=None, folder=tmp_path, book=book)
    assert len(page.study.rows) == 3
    assert "470 ohm, 1 µF, 110 V" in page.table.table.value
    said = NextTrial(page).said.value
    assert "relaxation circuit: it has no switches" in said


def test_a_shops_own_file_names_the_parts_with_their_units():
    lines = (
        "work,electrode,polarity,machine,resistor (kohm),capacitor (nF),supply (V),fires at (V),"
        "leads (uH),minutes (min)\n"
        "52100,copper,electrode positive,,0.47,1000,110,80,1,20\n"
    )
    preview = read_csv(lines.encode())
    assert preview.faults == ()
    assert preview.trials[0].settings() == CIRCUIT
    faulty = read_csv(lines.replace("(nF)", "(mF)").encode()).faults
    assert any("must be in one of" in fault.sentence for fault in faulty)


def test_a_book_from_before_circuits_opens_and_takes_one(tmp_path, monkeypatch):
    path = tmp_path / "trials.sqlite"
    older = {name: sql for name, sql in schema.declared().items() if name not in COLUMNS}
    assert len(older) == len(schema.declared()) - len(COLUMNS)
    with monkeypatch.context() as then:
        then.setattr(schema, "declared", lambda: older)
        then.setattr(schema, "VERSION", 1)  # what stood there before
        statements = schema.statements()
    old = ek.Trial(
        work="52100", electrode="copper", polarity="electrode positive", peak_current_A=3.0,
        on_time_us=50.0, off_time_us=25.0, minutes=Measured(20.0, "watch"),
    )  # fmt: skip
    row = {n: v for n, v in schema.row_of(old).items() if n in older or n in ("id", "withdrawn")}
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        store.insert(connection, "trials", row)
        connection.commit()
    book = ek.TrialBook(path)
    assert book.complaint == "" and book.trials() == (old,)
    new = burned()
    book.add(new)
    assert ek.TrialBook(path).trials() == (old, new) and ek.TrialBook(path).complaint == ""
    assert store.faults(path, 1) == []
