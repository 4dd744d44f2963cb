"""Page 02 with a relaxation circuit: every answer or a sentence, remembered, never a traceback."""

import json
import random
import re
import warnings
from html import unescape

import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.cautions import STAYS_CHARGED
from edmkit.panels.how_big_how_deep import HowBigHowDeep
from edmkit.panels.job import FIRST_JOBS, Job
from edmkit.panels.machine_outcome import _opens_with
from edmkit.panels.machines import ANY, CIRCUIT
from edmkit.panels.memory import Memory
from edmkit.panels.pictures import CRATER, CURVES, MAP, PULSES
from edmkit.panels.which_settings import WhichSettings
from edmkit.panels.why_does_it_arc import WhyDoesItArc
from edmkit.trials.book import TrialBook

PARTS = {"resistance_ohm": 470.0, "capacitance_uF": 1.0, "supply_V": 110.0}


def text(widget):
    """Return what a widget shows, without its tags."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value)))


@pytest.fixture
def page(tmp_path):
    """Return the page with a circuit chosen."""
    shown = WhichSettings(memory=None, folder=tmp_path)
    shown.machine_pick.value = CIRCUIT
    return shown


@pytest.fixture
def reopen(tmp_path):
    """Return a function that opens a page anew with the memory of the last opening."""
    book = tmp_path / "home" / "trials.sqlite"
    return lambda kind=WhichSettings: kind(Memory(tmp_path / "home"), tmp_path, TrialBook(book))


def controls(page):
    return page.circuit_place.controls


# --- choosing it -----------------------------------------------------------------------------
def test_nothing_of_the_circuit_is_made_before_it_is_chosen(tmp_path):
    page = WhichSettings(memory=None, folder=tmp_path)
    assert page.circuit_place.controls is None and page.circuit_place.layout.display == "none"
    assert page.job.circuit is None and STAYS_CHARGED not in text(page._answers)


def test_the_circuit_stands_in_the_switches_place(page):
    assert page.message == "" and isinstance(page.settings, ek.Relaxation)
    assert page.switch_controls.layout.display == "none"
    assert page.switch_controls.rows["open_voltage_V"].layout.display == "none"
    assert page.circuit_place.layout.display is None
    assert STAYS_CHARGED in text(page.circuit_place._caution)
    assert text(page._setup_line).startswith(" A relaxation circuit.")
    page.machine_pick.value = page.files[0][1]
    assert isinstance(page.settings, ek.Settings) and page.message == ""
    assert page.switch_controls.layout.display is None
    assert page.circuit_place.layout.display == "none"


def test_each_part_reaches_the_answer(page):
    controls(page).take(ek.Relaxation(470, 1, 110))
    controls(page).resistance.step(1)
    before = page.hole
    assert_allclose(page.burn.pulse_energy_mJ.likely, (110 * 0.7153318629591616) ** 2 / 2 / 1e3)
    controls(page).resistance.value = 2200
    # nearly all of the time is charging: RC three times longer, minutes as much
    assert_allclose(page.hole.minutes.likely / before.minutes.likely, 2200 / 680, rtol=0.01)
    for part in ("capacitance", "supply", "fires"):
        before = page.hole.minutes.likely
        getattr(controls(page), part).step(-1)
        assert page.hole.minutes.likely != before and page.message == ""
    before = page.hole.burn.roughness_Ra_um.likely
    controls(page).inductance.type("4")
    assert page.settings.inductance_uH == 4 and page.burn.roughness_Ra_um.likely != before


def test_tiles_and_more_say_the_circuit(page):
    page._more_fold.selected_index = 0
    controls(page).take(ek.Relaxation(470, 1, 110, breakdown_V=55))
    controls(page).resistance.step(1)
    volts = page.burn.mean_voltage_V.likely
    assert f"{volts:.3g} V" in text(page._answers)
    said = text(page._more)
    assert "share of the time that sparks burn" in said and "as dialled" not in said
    assert "Of a hundred pulses" not in said
    assert "energy of one spark 1.51 mJ" in said  # 1 µF at half of 110 V
    page._why_fold.selected_index = 0
    shown = " ".join(text(part) for part in page.why.fold.children)
    assert "Minutes for this hole" in shown


def test_a_wrong_number_of_the_leads_waits(page):
    controls(page).inductance.type("long")
    assert "put right" in page.message
    page.machine_pick.value = ANY
    assert page.message == ""
    page.machine_pick.value = CIRCUIT
    assert page.message
    controls(page).inductance.type("1")
    assert page.message == ""


def test_a_wrong_voltmeter_out_of_sight_does_not_count(tmp_path):
    page = WhichSettings(memory=None, folder=tmp_path)
    page.switch_controls.voltmeter.type("x")
    assert page.message
    page.machine_pick.value = CIRCUIT
    assert page.message == ""


@pytest.mark.parametrize("name", FIRST_JOBS)
def test_the_first_jobs_burn_with_the_circuit_in_use(page, name):
    page.take(page._ready(name))
    assert page.message == "" and isinstance(page.settings, ek.Relaxation)


def test_a_circuit_that_cannot_be_is_said_in_words(page):
    controls(page).take(ek.Relaxation(1, 470, 300, 0.001, 285))
    controls(page).resistance.step(1)
    assert "current of the spark must be" in page.message
    assert "edm-waiting" in page._reply._dom_classes


# --- compared, recorded, in inches ------------------------------------------------------------
def test_a_pulse_setting_stays_pinned_beside_a_circuit(page):
    page.machine_pick.value = ANY
    page.pin.click()
    page.machine_pick.value = CIRCUIT
    said = text(page._against_pin)
    assert "times as" in said and "finish" in said
    back = page.hole.speed_over(page.pinned)
    assert_allclose(back.likely, page.pinned.minutes.likely / page.hole.minutes.likely)
    page.pin.click()
    assert "hardly any difference" in text(page._against_pin)
    assert "100 ohm, 1 µF, 110 V" in text(page._against_pin)
    page.learned()
    assert isinstance(page.pinned.burn.settings, ek.Relaxation)
    page.machine_pick.value = page.files[0][1]
    assert page.pinned is None


def test_a_burn_is_recorded_with_its_circuit(reopen):
    page = reopen()
    page.machine_pick.value = CIRCUIT
    wide = page.hole.minutes
    page.record.selected_index = 0
    record = page.record.content
    record.fields["minutes"].how.value = "watch"
    record.fields["minutes"].first.type("30")
    record.save.click()
    assert "known to a factor of" in text(record.said)
    (trial,) = page.own.book.trials()
    assert trial.settings() == ek.Relaxation(100, 1, 110)
    assert trial.dialled == "100 ohm, 1 µF, 110 V" and trial.machine == ""
    assert page.hole.minutes.high / page.hole.minutes.likely < wide.high / wide.likely / 2


def test_inches_turn_the_lengths_and_leave_the_circuit(page):
    parts = page.job.circuit
    page.units.value = True
    assert "thou on diameter" in text(page._answers)
    assert page.job.circuit == parts and page.message == ""


def test_the_flushing_line_answers(page):
    assert "Flushing:" in text(page._flushing)
    controls(page).take(ek.Relaxation(4700, 470, 110))
    controls(page).fires.step(1)
    assert "time to charge must be" in text(page._flushing) and page.message == ""


# --- pictures --------------------------------------------------------------------------------
def test_the_curves_are_against_the_capacitor(page):
    pictures = page.pictures
    assert pictures.tab.options[0] == ("Against capacitor", CURVES)
    figure = pictures.figure
    assert figure.layout.xaxis2.title.text == "capacitor, µF"
    assert "µF: " in figure.data[2].hovertemplate and "µF: " in figure.data[7].hovertemplate
    sizes, minutes = figure.data[2].x, figure.data[2].y
    at = list(sizes).index(page.settings.capacitance_uF)
    assert_allclose(minutes[at], page.hole.minutes.likely)
    assert (figure.data[3].x[0], figure.data[3].y[0]) == (1.0, pytest.approx(minutes[at]))
    low, high = figure.layout.xaxis.range
    assert low <= -3 and high >= 2.6  # 0.001 to 470 µF, in powers of ten
    controls(page).capacitance.value = 10
    assert figure.data[3].x[0] == 10
    page.machine_pick.value = page.files[0][1]
    assert pictures.tab.options[0] == CURVES
    assert figure.layout.xaxis2.title.text == "on-time, µs"
    assert "µs: " in figure.data[2].hovertemplate and "µs: " in figure.data[7].hovertemplate
    assert figure.layout.xaxis.range[0] > -1


def test_a_pin_of_the_other_kind_is_no_mark(page):
    page.pin.click()
    assert page.pictures.figure.data[4].x == (1.0,)
    page.machine_pick.value = ANY
    assert page.pinned is not None and page.pictures.figure.data[4].x == ()
    page.machine_pick.value = CIRCUIT
    assert page.pictures.figure.data[4].x == (1.0,)


def test_there_are_no_switches_to_look_through(page):
    assert page.find.layout.display == "none"  # there is nothing to find
    page.pictures.show(MAP)
    every = page.pictures.every
    assert "no switches" in text(every.said)
    assert every.switches_only.layout.display == "none" and every.map is None
    page.machine_pick.value = ANY
    assert every.said.value == "" and every.map is not None
    assert page.find.layout.display is None
    assert every.switches_only.layout.display is None
    page.machine_pick.value = CIRCUIT
    assert page.pictures.tab.value == MAP  # the picture stays


def test_the_pulses_are_the_capacitor_charging(page):
    page.pictures.show(PULSES)
    pulses = page.pictures.pulses
    assert "energy of one spark" in text(pulses.charging.said)
    assert pulses.kinds.layout.display == "none" and pulses.figure is None
    page.machine_pick.value = ANY
    assert pulses.charging.layout.display == "none" and pulses.figure is not None
    assert pulses.kinds.layout.display is None and pulses.note.value
    page.pictures.show(CRATER)
    page.machine_pick.value = CIRCUIT
    assert "One spark, heat model" in text(page.pictures.crater.note)


# --- remembered ------------------------------------------------------------------------------
def test_a_circuit_is_remembered_and_the_machine_too(reopen):
    page = reopen()
    page.machine_pick.value = page.files[1][1]
    page.machine_pick.value = CIRCUIT
    controls(page).take(ek.Relaxation(**PARTS))
    controls(page).capacitance.step(1)
    again = reopen()
    assert again.machine_pick.value == CIRCUIT and again.message == ""
    assert again.settings == page.settings and again.settings.capacitance_uF == 2.2
    assert STAYS_CHARGED in text(again.circuit_place._caution)
    assert again.memory.values["machine"] == page.files[1][1]
    assert reopen(HowBigHowDeep).machine.name == ek.read_machine(page.files[1][1]).name


def test_an_old_job_without_a_circuit_opens(reopen, tmp_path):
    first = reopen()
    first.hole_controls.lengths["size"].type("4.5")
    path = tmp_path / "home" / "last_job.json"
    kept = json.loads(path.read_text())
    assert kept["job"].pop("circuit") is None
    path.write_text(json.dumps(kept))
    page = reopen()
    assert page.job.size == 4.5 and page.job.circuit is None and not text(page._message)


@pytest.mark.parametrize(
    "broken",
    [{}, {"resistance_ohm": 100}, {**PARTS, "supply_V": "x"}, {**PARTS, "lamps": 3}, [1], "RC", 7,
     {**PARTS, "supply_V": 9000.0}, {**PARTS, "inductance_uH": 1e-3, "capacitance_uF": 470.0}],
)  # fmt: skip
def test_a_broken_circuit_is_said(reopen, tmp_path, broken):
    page = reopen()
    page.machine_pick.value = CIRCUIT
    path = tmp_path / "home" / "last_job.json"
    kept = json.loads(path.read_text())
    kept["job"]["circuit"] = broken
    path.write_text(json.dumps(kept))
    again = reopen()
    said = text(again._message)
    if not said:  # a strange circuit that can be is taken up
        assert isinstance(again.settings, ek.Relaxation)
        return
    assert "could not be taken up again" in said and "__init__" not in said
    assert isinstance(again.settings, ek.Settings)


def test_page_04_says_that_it_knows_no_circuit(reopen):
    page = reopen()
    page.machine_pick.value = CIRCUIT
    page.hole_controls.lengths["size"].type("4.5")
    other = reopen(WhyDoesItArc)
    assert "does not know: switches stand in its place" in text(other._message)
    assert other.answered and other.job.size == 4.5
    assert CIRCUIT not in [path for _, path in other._offered]


def test_a_machine_that_page_01_made_is_opened_with(reopen, tmp_path):
    page = reopen()
    page.machine_pick.value = page.files[0][1]
    page.machine_pick.value = CIRCUIT
    memory = Memory(tmp_path / "home")
    assert _opens_with(memory, ek.read_machine(page.files[1][1]), page.files[1][1])
    again = reopen()
    assert again.machine_pick.value == page.files[1][1]
    assert isinstance(again.settings, ek.Settings)


def test_a_job_holds_its_circuit_as_plain_values():
    job = Job(circuit=PARTS)
    assert job.settings(None) == ek.Relaxation(470, 1, 110)
    assert Job.from_kept(json.loads(json.dumps(job.kept({}))), {}) == job


# --- nothing raises --------------------------------------------------------------------------
def _turn(page, dice):
    """Turn one control of the page at random."""
    place = page.circuit_place
    knobs = [lambda: setattr(page.machine_pick, "value", dice.choice([CIRCUIT, CIRCUIT, ANY,
                                                                      page.files[0][1]])),
             lambda: page.pictures.show(dice.choice([CURVES, MAP, PULSES, CRATER])),
             lambda: page.pin.click(), lambda: page.unpin.click(),
             lambda: setattr(page.units, "value", dice.random() < 0.5),
             lambda: page.take(page._ready(dice.choice(list(FIRST_JOBS))))]  # fmt: skip
    for pick in page.setup_controls.picks.values():
        values = [v[1] if isinstance(v, tuple) else v for v in pick._drop.options]
        knobs.append(lambda p=pick, v=values: setattr(p, "value", dice.choice(v)))
    for choice in (page.hole_controls.shape, page.hole_controls.face):
        values = [v[1] if isinstance(v, tuple) else v for v in choice._drop.options]
        knobs.append(lambda p=choice, v=values: setattr(p, "value", dice.choice(v)))
    rows = place.controls.rows if place.in_use else page.switch_controls.rows.values()
    for row in [*rows] * 3:
        knobs.append(lambda r=row: setattr(r, "index", dice.randrange(r.size)))
    if place.in_use:
        words = ("0.001", "1", "1000", "", "x", "-3", "1e9")
        knobs.append(lambda: place.controls.inductance.type(dice.choice(words)))
    dice.choice(knobs)()


@pytest.mark.parametrize("seed", range(4))
def test_no_turn_of_a_knob_raises(page, seed):
    dice = random.Random(seed)
    page._more_fold.selected_index = page._why_fold.selected_index = 0
    page.record.selected_index = 0
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for _ in range(60):
            _turn(page, dice)
            assert page.message or page.hole.minutes.likely > 0
            for sentence in (page.message, text(page._flushing)):
                assert "seconds" not in sentence, "a refusal of the physics' own units"
