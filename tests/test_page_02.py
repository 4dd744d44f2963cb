"""The main page without a browser: each control changes an answer, each wrong entry is said."""

import json
import re
import warnings
from pathlib import Path

import numpy as np
import pytest

from edmkit.panels.job import FIRST_JOBS
from edmkit.panels.machines import ANY
from edmkit.panels.memory import Memory
from edmkit.panels.pictures import CRATER, CURVES, MAP, PULSES
from edmkit.panels.spark_pictures import KINDS, SPARKS
from edmkit.panels.which_settings import WhichSettings
from edmkit.trials.book import TrialBook

FAULTY = """name = "<img src=x onerror=alert(1)>"
on_time_counts = "never"
"""


def text(widget):
    """Return what a widget shows, without its tags."""
    return re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value))


@pytest.fixture
def page(tmp_path):
    return WhichSettings(memory=None, folder=tmp_path)


@pytest.fixture
def reopen(tmp_path):
    """Return a function that opens the page anew with the memory of the last opening."""
    book = tmp_path / "home" / "trials.sqlite"
    return lambda: WhichSettings(Memory(tmp_path / "home"), tmp_path, TrialBook(book))


def rows(page):
    return page.switch_controls.rows


def sizes(page):
    return page.hole_controls.lengths


# --- first opening ---------------------------------------------------------------------------
def test_first_opening_shows_three_jobs_in_hardened_steel_with_copper(page):
    assert page.first_opening and len(FIRST_JOBS) == 3
    assert (page.job.work, page.job.electrode) == ("52100", "copper")
    assert page.machine is not None and "invented" in page.machine.name
    assert "invented" in text(page._setup_line)


@pytest.mark.parametrize("name", FIRST_JOBS)
def test_each_first_job_has_answers(page, name):
    page.take(page._ready(name))
    assert page.message == "" and page.hole.minutes.likely > 0
    assert page.job.shape == FIRST_JOBS[name][1]["shape"]


def test_every_slider_goes_to_both_ends(page):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        controls = page.switch_controls
        for control in (*rows(page).values(), controls.gap, controls.lift_burn, controls.lift_up):
            for end in (0, control.size - 1):
                control.index = end
                assert page.message == ""


def test_the_tiles_say_the_numbers_of_the_hole(page):
    said, burn = text(page._answers), page.hole.burn
    side = burn.gap_side_um.likely
    for number, words in (
        (page.hole.minutes.likely, "min"),
        (2 * side, "µm on diameter"),
        (side, "per side"),
        (burn.mean_voltage_V.likely, "V"),
        (page.hole.dial_step_um.likely, "µm"),
    ):
        assert f"{float(f'{number:.3g}'):g} {words}" in said
    assert f"plate {page.hole.plate} Ra" in said and page.hole.plate % 3 == 0
    assert f"{page.hole.end_wear_mm.likely:.2f} mm per hole" in said  # the dial's 0.01 mm


# --- each control reaches the answer ---------------------------------------------------------
@pytest.mark.parametrize("name", ["peak_current_A", "on_time_us", "off_time_us"])
def test_a_switch_reaches_settings_answers_and_picture(page, name):
    before, curve = page.hole, page.pictures.figure.data[3]
    marked = (curve.x[0], curve.y[0])
    rows(page)[name].step(1)
    switch = page.switches[name]
    assert getattr(page.hole.burn.settings, name) == switch.values[rows(page)[name].index]
    assert page.hole.minutes.likely != before.minutes.likely
    assert (curve.x[0], curve.y[0]) != marked
    assert curve.y[0] == pytest.approx(page.hole.minutes.likely)


def test_steps_stop_at_the_ends(page):
    stepped = rows(page)["peak_current_A"]
    for _ in range(stepped.size + 3):
        stepped.step(-1)
    assert stepped.index == 0
    for _ in range(stepped.size + 3):
        stepped.step(1)
    assert stepped.index == stepped.size - 1


def test_a_position_shows_what_is_engraved_and_what_it_is_worth(page):
    stepped, switch = rows(page)["on_time_us"], page.switches["on_time_us"]
    unknown = next(i for i, c in enumerate(switch.choices) if c.how_known == "unknown")
    stepped.index = unknown
    assert stepped.text.startswith(switch.choices[unknown].label) and "about" in stepped.text
    assert "Not known for sure" in text(page._watch)


def test_twice_the_depth_takes_twice_the_minutes(page):
    before = page.hole
    sizes(page)["depth"].type("10")
    assert page.hole.minutes.likely == pytest.approx(2 * before.minutes.likely)
    assert page.hole.end_wear_mm.likely == pytest.approx(2 * before.end_wear_mm.likely)


def test_lifting_costs_its_share_and_gives_a_dial_step(page):
    page.switch_controls.lift_burn.value = 4.0
    page.switch_controls.lift_up.value = 1.0
    lifting = page.hole
    page.switch_controls.lift_burn.value = 0.0
    assert lifting.minutes.likely == pytest.approx(1.25 * page.hole.minutes.likely)
    assert lifting.dial_step_um is not None and page.hole.dial_step_um is None
    assert "Dial step" not in text(page._answers)


def test_shapes_and_faces_show_the_fields_they_need(page):
    hole = page.hole_controls
    hole.shape.value = "Rectangle or slot"
    assert sizes(page)["second"].layout.display is None
    assert sizes(page)["face_diameter"].layout.display == "none"
    hole.shape.value = "Round"
    hole.face.value = "Ball or dome"
    assert sizes(page)["second"].layout.display == "none"
    assert sizes(page)["face_diameter"].layout.display is None
    assert page.message == "" and type(page.hole.feature.face).__name__ == "Ball"


def test_polarity_follows_the_pair_until_it_is_changed(page):
    setup = page.setup_controls
    setup.polarity.value = "electrode negative"
    assert "not usual" in text(page._watch)
    setup.work.value = "WC-6Co"
    assert setup.polarity.value == "electrode negative"
    setup.work.value = "52100"
    assert setup.polarity.value == "electrode positive"
    assert "Usual here" in text(setup.polarity._note) and "memory" in text(setup.polarity._note)


# --- wrong entries ---------------------------------------------------------------------------
@pytest.mark.parametrize("typed", ["3,05", "abc", "-1", "0", "nan", "inf", "", "1e9"])
def test_a_wrong_size_is_said_beside_the_field_and_the_answers_wait(page, typed):
    good = page._answers.value
    sizes(page)["size"].type(typed)
    assert "Diameter must be 0.05 to 1000 mm" in sizes(page)["size"].complaint
    if typed == "3,05":
        assert "write 3.05" in sizes(page)["size"].complaint
    assert page.message and "edm-waiting" in page._reply._dom_classes
    assert page._answers.value == good
    sizes(page)["size"].type("3.05")
    assert not page.message and not sizes(page)["size"].complaint
    assert "edm-waiting" not in page._reply._dom_classes


def test_a_wrong_number_out_of_sight_does_not_count(page):
    page.hole_controls.shape.value = "Rectangle or slot"
    sizes(page)["second"].type("x")
    assert page.message
    page.hole_controls.shape.value = "Round"
    assert not page.message


def test_a_hole_that_leaves_no_electrode_is_refused_in_words(page):
    sizes(page)["size"].type("0.06")
    assert "gap" in page.message and "must be" in page.message


def test_a_slot_across_a_roller_takes_less_metal_than_into_a_flat(page):
    page.take(page._ready("Slot"))
    flat = page.hole.volume_mm3
    page.hole_controls.face.value = "Roller or pin"
    assert page.message == "" and page.hole.volume_mm3 < flat


def test_a_pair_that_does_not_work_is_refused_in_words(page):
    page.take(page._ready("Slot"))
    page.hole_controls.face.value = "Roller or pin"
    sizes(page)["face_diameter"].type("2.0")
    assert "must be" in page.message and "larger" in page.message


# --- the working gap -------------------------------------------------------------------------
def test_a_typed_reading_moves_the_gap_and_the_gap_empties_it(page):
    controls = page.switch_controls
    controls.voltmeter.type("45")
    assert page.hole.burn.mean_voltage_V.likely == pytest.approx(45)
    assert controls.gap.value == round(page.hole.burn.gap_front_um.likely) != 20
    controls.gap.step(1)
    assert controls.voltmeter.value is None
    assert page.hole.burn.settings.gap_front_um == controls.gap.value
    assert page.hole.burn.mean_voltage_V.likely != pytest.approx(45, rel=1e-3)


def test_a_typed_voltage_holds_when_the_machine_changes(page):
    page.switch_controls.voltmeter.type("30")
    page.machine_pick.value = ANY
    assert page.job.servo_voltage_V == 30.0 and page.switch_controls.voltmeter.value == 30.0
    assert page.hole.burn.mean_voltage_V.likely == pytest.approx(30.0)


def test_the_gap_at_its_default_follows_the_voltage_again(page):
    controls = page.switch_controls
    assert controls.gap.value == 20  # 100 V over 5 V/µm
    controls.gap.step(3)
    assert page.hole.burn.settings.gap_front_um == 23
    controls.gap.step(-3)
    rows(page)["open_voltage_V"].step(1)
    assert page.hole.burn.settings.gap_front_um is None
    assert controls.gap.value == 30  # 150 V


def test_an_impossible_reading_is_refused(page):
    page.switch_controls.voltmeter.type("250")
    assert "servo_voltage_V must be" in page.message
    page.switch_controls.voltmeter.type("")
    assert not page.message


# --- pin, memory of a hole, machines ---------------------------------------------------------
def test_a_pinned_setting_is_compared_in_words(page):
    page.pin.click()
    assert text(page._against_pin).count("hardly any difference") == 4
    rows(page)["peak_current_A"].step(2)
    said = text(page._against_pin)
    assert re.search(r"time: about [0-9.]+ times as fast, between [0-9.]+ and [0-9.]+", said)
    rows(page)["peak_current_A"].step(-3)
    slower = r"time: about ([0-9.]+) times as long, between ([0-9.]+) and ([0-9.]+)"
    likely, low, high = map(float, re.search(slower, text(page._against_pin)).groups())
    assert 1 < low < likely < high
    page.unpin.click()
    assert page._against_pin.value == ""


def recorded(page, minutes="30", how="memory"):
    """Open the fold, type the minutes of the hole on the page, and save."""
    page.record.selected_index = 0
    record = page.record.content
    record.fields["minutes"].how.value = how
    record.fields["minutes"].first.type(minutes)
    record.save.click()
    return record


def test_one_remembered_hole_narrows_the_minutes_on_the_page(page):
    wide = page.hole.minutes
    assert "No burn of this machine" in text(page._taught)
    record = recorded(page)
    narrow = page.hole.minutes
    assert wide.high / wide.likely > 6 and narrow.high / narrow.likely < 2.1
    assert 22 < narrow.likely < 45  # pulled to the 30 minutes that were typed
    assert "known to a factor of" in text(record.said)
    assert "Taught by 1 burn" in text(page._taught)


def test_a_setting_far_from_all_burned_ones_is_said(page):
    recorded(page)
    assert "None was near" not in text(page._taught)
    rows(page)["peak_current_A"].step(8)
    assert "None was near this setting" in text(page._taught)


def test_one_tap_notes_what_was_turned(reopen):
    page = reopen()
    page.record.selected_index = 0
    tuning = page.record.content.tuning
    tuning.knob.value, tuning.way.value = "flushing", "down"
    tuning.verdicts["better"].click()
    assert "Noted: flushing down, better" in text(tuning.said)
    (note,) = page.own.book.notes()
    assert (note.knob, note.way, note.verdict) == ("flushing", "down", "better")
    assert note.machine == page.machine.name and note.at


def test_a_note_without_a_book_is_said(page):
    page.record.selected_index = 0
    tuning = page.record.content.tuning
    tuning.verdicts["worse"].click()
    assert "not saved" in text(tuning.said)


def test_what_was_learned_belongs_to_its_machine(page):
    recorded(page)
    other = page.files[1][1]
    page.machine_pick.value = other
    assert page.hole.minutes.high / page.hole.minutes.likely > 6
    page.machine_pick.value = page.files[0][1]  # at the nearest positions, not the recorded ones
    assert page.hole.minutes.high / page.hole.minutes.likely < 2.6


def test_nothing_of_the_record_is_made_before_it_is_opened(page):
    assert page.record.content is None
    page.record.selected_index = 0
    assert page.record.content is not None


def test_what_follows_from_the_numbers_is_shown_as_they_are_typed(page):
    page.record.selected_index = 0
    record = page.record.content
    assert record.derived.value == ""
    record.fields["minutes"].first.type("20")
    rate = page.hole.volume_mm3 / 20 / page.hole.burn.settings.burn_share
    assert f"rate while burning {rate:.3g} mm³/min" in text(record.derived)
    record.fields["electrode_size_mm"].first.type("3.0")
    record.fields["hole_size_mm"].first.type("3.1")
    assert re.search(r"side gap 50 µm \([0-9.]+ times the physics\)", text(record.derived))
    record.fields["hole_size_mm"].first.type("2.8")
    assert "smaller than the electrode" in text(record.derived)


def test_inches_are_recorded_as_the_same_lengths(page):
    page.units.value = True
    page.record.selected_index = 0
    record = page.record.content
    record.fields["depth_mm"].first.type("0.2")
    assert record.trial().depth_mm.value == pytest.approx(5.08)
    page.units.value = False
    assert record.fields["depth_mm"].first.value == pytest.approx(5.08)


@pytest.mark.parametrize(
    "typed, said",
    [
        ({}, "nothing is typed yet"),
        ({"minutes": "zwanzig"}, "put right before this is saved"),
        ({"minutes": "-3"}, "put right before this is saved"),
        ({"hole_size_mm": "9999"}, "put right before this is saved"),
    ],
)
def test_a_burn_that_cannot_be_saved_is_said_and_kept_on_the_page(page, typed, said):
    page.record.selected_index = 0
    record = page.record.content
    for name, value in typed.items():
        record.fields[name].first.type(value)
    record.save.click()
    assert said in text(record.said) and not page.own.trials
    for name, value in typed.items():
        assert record.fields[name].first._text.value == value


def test_a_run_of_parts_is_one_line_each(page):
    page.record.selected_index = 0
    record = page.record.content
    record.texts["part"].value = "pin 09"
    for minutes, depth in (("20", "5.01"), ("21", "5.00")):
        record.fields["minutes"].first.type(minutes)
        record.fields["depth_mm"].first.type(depth)
        record.save.click()
    assert [t.part for t in page.own.trials] == ["pin 09", "pin 10"]
    assert record.texts["part"].value == "pin 11" and record.fields["minutes"].value is None
    lines = text(record.run)
    assert "21 min, depth got 5 mm" in lines and lines.index("21 min") < lines.index("20 min")


def test_a_plate_and_a_pin_are_typed_as_they_are_held(page):
    page.record.selected_index = 0
    fields = page.record.content.fields
    fields["roughness_Ra_um"].how.value = "comparator plate"
    fields["roughness_Ra_um"].first.type("27")
    # VDI 3400: Ra = 10^(class/20)/10 µm; half a plate of three classes either side
    seen = fields["roughness_Ra_um"].value
    assert (seen.value, seen.to) == pytest.approx((10**1.275 / 10, 10**1.425 / 10))
    fields["hole_size_mm"].how.value = "pin go and no-go"
    fields["hole_size_mm"].first.type("3.05")
    page.record.content.save.click()
    assert "needs two ends" in text(page.record.content.said)
    fields["hole_size_mm"].second.type("3.06")
    assert fields["hole_size_mm"].value.to == pytest.approx(3.06)
    fields["end_wear_mm"].how.value = "no wear I can see"
    assert fields["end_wear_mm"].value.value == 0


def test_a_lasting_state_is_kept_and_does_not_teach(page):
    page.record.selected_index = 0
    record = page.record.content
    record.state.value = "flushing blocked"
    spread = page.hole.minutes.spread
    record.fields["minutes"].first.type("60")
    record.save.click()
    assert page.hole.minutes.spread == spread and len(page.own.trials) == 1
    assert "does not teach: flushing blocked" in text(record.said)


def test_an_unusual_burn_is_remarked_before_it_is_saved(page):
    record = recorded(page, "30", "watch")
    for minutes in ("31", "29", "30"):
        record.fields["minutes"].first.type(minutes)
        record.save.click()
    record.fields["minutes"].first.type("90")
    assert "times slower than your others" in text(record.watch)
    record.fields["minutes"].first.type("30.5")
    assert record.watch.value == ""


def test_the_clock_counts_stops_out_and_goes_on_after_a_restart(tmp_path, monkeypatch):
    from edmkit.panels import clock as module

    now = {"wall": 1e9, "own": 50.0}
    monkeypatch.setattr(module.time, "time", lambda: now["wall"])
    monkeypatch.setattr(module.time, "monotonic", lambda: now["own"])

    def passes(minutes, wall=None):
        now["own"] += 60 * minutes
        now["wall"] += 60 * (minutes if wall is None else wall)

    clock, counted = module.Clock(Memory(tmp_path)), []
    clock.on_stop(counted.append)
    clock.button.click()
    passes(6, wall=-300)  # the wall clock was set back meanwhile
    clock.button.click()
    assert counted == [pytest.approx(6)]
    passes(30)  # a stop half-way
    clock.button.click()
    passes(4)
    again = module.Clock(Memory(tmp_path))  # Python was restarted
    assert again.running and again.minutes == pytest.approx(10)
    again.button.click()
    assert again.minutes == pytest.approx(10)
    again.clear()
    assert module.Clock(Memory(tmp_path)).minutes == 0


@pytest.mark.parametrize("which", [1, ANY])
def test_another_machine_takes_the_nearest_positions(page, which):
    before = page.hole.burn.settings
    page.machine_pick.value = page.files[1][1] if which == 1 else ANY
    assert not page.message
    after = page.hole.burn.settings
    assert 0.5 < after.on_time_us / before.on_time_us < 2
    assert (page.machine is None) == (which == ANY)


def test_a_faulty_machine_file_is_told_and_the_machine_stays(tmp_path):
    (tmp_path / "bad.toml").write_text(FAULTY)
    page = WhichSettings(memory=None, folder=tmp_path)
    page.machine_pick.value = page.files[0][1]
    if page.files[0][0] == "bad":
        note = page.machine_pick._note.value
        assert "on_time_counts" in note and "bad.toml" in note
        assert "<img" not in note
        assert page.hole is not None


# --- memory between openings -----------------------------------------------------------------
def test_it_goes_on_where_it_stopped(reopen):
    page = reopen()
    page.machine_pick.value = page.files[1][1]
    rows(page)["on_time_us"].index = 2
    sizes(page)["depth"].type("7")
    page.setup_controls.quality.value = "poor"
    page.switch_controls.lift_burn.value = 2.0
    page.units.value = True
    again = reopen()
    assert not again.first_opening and again.machine.name == page.machine.name
    assert again.job == page.job and again.display.inches
    assert again.hole.minutes == page.hole.minutes
    assert sizes(again)["depth"].value == pytest.approx(7 / 25.4)


def test_positions_are_remembered_by_what_is_engraved(tmp_path, reopen):
    demo = Path(next(p for name, p in WhichSettings(memory=None).files if "old" in name))
    own = tmp_path / "mine.toml"
    lines = demo.read_text(encoding="utf-8")
    own.write_text(lines, encoding="utf-8")
    page = reopen()
    assert page.machine.path == own
    rows(page)["peak_current_A"].index = 3
    recorded(page)
    first = '  { label = "1", value = 1.5, how_known = "plate" },\n'
    own.write_text(lines.replace(first, first + first.replace('"1"', '"1a"')), encoding="utf-8")
    again = reopen()
    assert rows(again)["peak_current_A"].index == 4  # the switch has one more position before it
    assert again.hole.minutes.likely == pytest.approx(page.hole.minutes.likely)
    own.write_text(lines.replace('label = "4", value = 6.0', 'label = "four", value = 6.0'))
    lost = reopen()
    assert "could not be taken up again" in text(lost._message)
    assert lost.shop is not None  # a burn stays in the book whatever the file says
    own.unlink()
    assert "is gone" in text(reopen()._message)


def test_a_gap_of_one_s_own_comes_back(reopen):
    reopen().switch_controls.gap.step(5)
    assert reopen().hole.burn.settings.gap_front_um == 25
    reopen().switch_controls.voltmeter.type("50")
    assert reopen().hole.burn.settings.servo_voltage_V == 50


def test_what_was_learned_comes_back(reopen):
    page = reopen()
    recorded(page)
    again = reopen()
    assert again.shop is not None
    assert again.hole.minutes.spread == pytest.approx(page.hole.minutes.spread)
    page.own.book.withdraw(page.own.trials[0].id, "typed by mistake")
    assert reopen().shop is None


@pytest.mark.parametrize("broken", ["{", "[1]", "\x00"])
def test_a_broken_memory_is_set_aside_and_said(tmp_path, reopen, broken):
    reopen()
    kept = tmp_path / "home" / "last_job.json"
    kept.write_text(broken)
    memory = Memory(tmp_path / "home")
    assert "could not be read" in memory.complaint and memory.values == {}
    assert kept.with_suffix(".broken").read_text() == broken
    assert reopen().first_opening


@pytest.mark.parametrize(
    "change", [{"shape": "Star"}, {"size": "3"}, {"work": "cheese"}, {"positions": 5}]
)
def test_a_remembered_job_that_no_longer_fits_is_said(tmp_path, reopen, change):
    reopen()
    kept = tmp_path / "home" / "last_job.json"
    values = json.loads(kept.read_text())
    values["job"] |= change
    kept.write_text(json.dumps(values))
    page = reopen()
    assert page.first_opening and page.hole is not None
    assert "could not be taken up again" in text(page._message)


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "home").write_text("a file where the folder should be")
    page = WhichSettings(memory=Memory(tmp_path / "home"), folder=tmp_path)
    rows(page)["on_time_us"].step(1)
    assert "could not be" in text(page._message)
    assert page.hole.minutes.likely > 0


# --- units -----------------------------------------------------------------------------------
def test_inches_show_the_same_hole(page):
    before = page.hole
    page.units.value = True
    assert sizes(page)["size"].value == pytest.approx(3.05 / 25.4)
    assert page.hole.minutes == before.minutes
    for word in ("thou", "µin", " in per hole"):
        assert word in text(page._answers)
    assert "µm" not in text(page._answers)
    page.units.value = False
    assert page.job.size == pytest.approx(3.05, rel=1e-12)
    assert sizes(page)["size"]._text.value == "3.05"


# --- pictures --------------------------------------------------------------------------------
def test_curves_follow_the_pair_that_is_chosen(page):
    figure = page.pictures.figure
    faster = np.diff(figure.data[2].y) < 0
    assert faster[0] and not faster[-1]  # a best on-time lies inside
    assert np.all(np.diff(faster.astype(int)) <= 0)
    page.pictures.pair.value = "hole and electrode"
    assert "Hole over electrode" in figure.layout.annotations[0].text
    assert figure.data[3].y[0] == pytest.approx(2 * page.hole.burn.gap_side_um.likely)
    low, high = (np.asarray(figure.data[i].y) for i in (0, 1))
    likely = np.asarray(figure.data[2].y)
    assert np.all(low < likely) and np.all(likely < high)


def test_the_map_has_every_setting_once(page):
    page.pictures.tab.value = MAP
    chart = page.pictures.every.map
    numbers = np.concatenate([t.customdata for t in chart.data[:5] if t.customdata is not None])
    assert sorted(numbers) == list(range(int(np.prod(page.machine.grid_shape))))
    assert f"{numbers.size} settings" in text(page.pictures.every.count)


def test_moving_a_switch_moves_the_marker_and_leaves_the_points(page):
    page.pictures.tab.value = MAP
    chart = page.pictures.every.map
    points, star = chart.data[0].x, chart.data[6].y
    drawn = []
    draw = page.pictures.every.draw
    page.pictures.every.draw = lambda points: (drawn.append(points), draw(points))
    rows(page)["on_time_us"].step(1)
    assert not drawn and chart.data[6].y != star
    sizes(page)["depth"].type("10")
    assert len(drawn) == 1 and chart.data[6].x[0] == page.hole.minutes.likely
    assert chart.data[0].x[0] == pytest.approx(2 * points[0])


def test_a_click_on_the_map_goes_there(page):
    page.pictures.tab.value = MAP
    chart, trace = page.pictures.every.map, page.pictures.every.map.data[0]

    class Clicked:
        point_inds = (7,)

    page.pictures.every.clicked(trace, Clicked, None)
    x, y = trace.x[7], trace.y[7]
    assert page.hole.minutes.likely == pytest.approx(x, rel=0.03)  # map: one electrode for all
    assert page.hole.burn.roughness_Ra_um.likely == pytest.approx(y, rel=1e-9)
    assert chart.data[6].y[0] == pytest.approx(y)


def test_limits_shade_the_map_by_chance_and_count_what_meets_them(page):
    page.pictures.tab.value = MAP
    every, finder = page.pictures.every, page.pictures.every.finder
    finder.fields["max_Ra_um"].type("2")
    names = [trace.name for trace in every.map.data[:3]]
    assert names == ["80 % sure or more", "40 to 80 %", "under 40 %"]
    symbols = {trace.marker.symbol for trace in every.map.data[:3]}
    assert len(symbols) == 3  # a second cue beside the shade
    sure = every.map.data[0]
    assert len(sure.x) > 0 and f"<b>{len(sure.x)}</b> meet" in every.count.value
    # ln 2 must lie 0.84 spreads above ln Ra: the 80 % point of the normal, from a table
    spread = page.hole.burn.roughness_Ra_um.spread
    assert max(sure.y) <= 2 * np.exp(-0.8416 * 0.9 * spread)
    assert len(every.map.layout.shapes) == 1 and every.map.layout.shapes[0].y0 == 2
    finder.fields["max_Ra_um"].type("1,5")
    assert "write 1.5" in finder.fields["max_Ra_um"].complaint
    finder.fields["max_Ra_um"].type("")
    assert every.map.data[0].name == "wear under 5 %"


def test_find_for_me_fills_the_page_and_lists_the_next_best(page):
    page.pictures.tab.value = MAP
    finder = page.pictures.every.finder
    finder.fields["max_Ra_um"].type("3.2")
    finder.fields["max_wear_percent"].type("10")
    finder.search_button.click()
    best = finder.found[0]
    assert best.settings == page.hole.burn.settings
    assert f"current {best.labels['peak_current_A']}, on" in text(finder.said)
    assert "% sure" in text(finder.said) and len(finder.others.children) == len(finder.found) - 1
    line, take = finder.others.children[0].children
    assert "times as long, between" in text(line)
    take.click()
    assert page.hole.burn.settings == finder.found[1].settings
    assert "It takes" in text(finder.said)


def test_find_for_me_says_what_stands_in_the_way_and_shows_the_nearest(page):
    page.pictures.tab.value = MAP
    finder = page.pictures.every.finder
    finder.fields["max_Ra_um"].type("0.3")
    before = page.hole.burn.settings
    finder.search_button.click()
    said = text(finder.said)
    assert "No setting does it" in said and "cannot be had with a chance of 80 %" in said
    assert page.hole.burn.settings == before
    (nearest,) = finder.others.children
    nearest.click()
    assert page.hole.burn.settings == finder.found.nearest.settings
    would = finder.found.shortfalls[0].would_do
    finder.fields["max_Ra_um"].type(f"{would * 1.01:.4g}")
    finder.search_button.click()
    assert len(finder.found) >= 1


def test_what_is_left_out_comes_back_when_it_is_asked_for(page):
    page.pictures.tab.value = MAP
    finder = page.pictures.every.finder
    finder.reasons.selected_index = 0
    assert "whose value nobody knows" in text(finder._counts)
    pale = len(page.pictures.every.map.data[4].x)
    finder._ticks["unknown dial"].value = True
    assert len(page.pictures.every.map.data[4].x) < pale
    finder.search_button.click()
    assert "whose value nobody knows" not in text(finder._counts)


def test_two_ways_to_say_the_finish_are_refused_beside_the_button(page):
    finder = page.pictures.every.finder
    finder.fields["max_Ra_um"].type("3.2")
    finder.fields["max_class"].type("30")
    finder.search_button.click()
    assert "say the finish twice" in text(finder.said)
    finder.fields["max_class"].type("x")
    finder.search_button.click()
    assert "Check this" in text(finder.said) or "put right" in text(finder.said)


def test_limits_keep_their_size_in_inches(page):
    finder = page.pictures.every.finder
    finder.fields["max_Ra_um"].type("3.2")
    finder.fields["max_gap_side_um"].type("50.8")
    page._show_in(True)
    assert finder.fields["max_Ra_um"].value == pytest.approx(125.984, rel=1e-4)  # 1 µin = 25.4 nm
    assert finder.fields["max_gap_side_um"].value == pytest.approx(2.0)  # thou
    assert finder.asked["max_gap_side_um"] == pytest.approx(50.8)


def test_the_button_beside_the_switches_leads_to_the_limits(page):
    page.find.click()
    assert page.pictures.tab.value == MAP and page.pictures.every.layout.display is None


def test_only_the_picture_in_sight_is_kept_up(page):
    page.pictures.tab.value = MAP
    stale = page.pictures.figure.data[3].x
    rows(page)["on_time_us"].step(1)
    assert page.pictures.figure.data[3].x == stale
    page.pictures.tab.value = CURVES
    assert page.pictures.figure.data[3].x != stale


def test_each_picture_is_made_when_first_seen_and_then_kept(page):
    pictures = page.pictures
    assert pictures.tab.options == (CURVES, MAP, PULSES, CRATER)
    boxes = {CURVES: pictures.children[1], MAP: pictures.children[2], PULSES: pictures.pulses,
             CRATER: pictures.crater}  # fmt: skip
    assert pictures.pulses.figure is None and pictures.crater.figure is None
    for tab in (PULSES, CRATER, CURVES, CRATER, PULSES):
        pictures.tab.value = tab
        in_sight = [name for name, box in boxes.items() if box.layout.display is None]
        assert in_sight == [tab]
    made = pictures.pulses.figure, pictures.crater.figure
    rows(page)["on_time_us"].step(1)
    pictures.tab.value = CRATER
    assert (pictures.pulses.figure, pictures.crater.figure) == made
    assert made[0] in pictures.pulses.drawing.children


def test_pictures_wait_for_the_first_answer(page):
    page.hole = None  # as when the first job is refused
    for tab in (PULSES, CRATER, MAP, CURVES):
        page.pictures.tab.value = tab
    assert page.pictures.pulses.figure is page.pictures.crater.figure is None


def test_folds_wait_for_the_first_answer(page):
    page.hole = None
    for folded in (page._more_fold, page._why_fold):
        folded.selected_index = 0
    assert page._more.value == ""
    page.refresh()
    assert "removal while burning" in page._more.value


def test_a_switch_reaches_the_pulses_in_sight_and_not_the_crater_out_of_sight(page):
    pictures = page.pictures
    pictures.tab.value = CRATER
    pictures.tab.value = PULSES
    pulses, crater = pictures.pulses.figure, pictures.crater.figure
    stale = crater.data[3].x
    rows(page)["on_time_us"].step(2)
    on, point = page.hole.burn.settings.on_time_us, page.hole.burn.point
    assert f"burning, {on:g} µs" in pulses.data[5].text
    assert pulses.data[0].x[5] == pytest.approx(on + point.states.ignition_delay * 1e6)
    assert pulses.data[2].y[0] == page.hole.burn.mean_voltage_V.likely
    assert np.array_equal(crater.data[3].x, stale)
    pictures.tab.value = CRATER
    assert max(crater.data[3].x) == pytest.approx(page.hole.burn.crater_radius_um.likely)
    assert max(crater.data[3].x) != max(stale)


def test_the_kinds_of_pulse_are_shown_with_their_shares(page):
    pulses = page.pictures.pulses
    page.pictures.tab.value = PULSES
    assert pulses.kinds.value == SPARKS and len(pulses.figure.data[5].text) == 3
    pulses.kinds.value = KINDS
    assert len(pulses.figure.data[5].text) == 4
    assert pulses.figure.layout.xaxis2.range[1] >= pulses.figure.data[0].x[-1]
    share = 100 * page.hole.burn.point.states.normal
    assert f"Of 100 pulses {share:.0f} spark well" in text(pulses.note)
    assert "are assumed" in text(pulses.note) and "counts the on-time" not in text(pulses.note)


def test_a_machine_with_a_fixed_period_says_so_below_the_pulses(page):
    page.machine_pick.value = next(path for name, path in page.files if "low" in name)
    assert page.machine.on_time_counts == "in a fixed period"
    page.pictures.tab.value = PULSES
    on = page.hole.burn.settings.on_time_us
    assert f"waiting and burning share its {on:g} µs" in text(page.pictures.pulses.note)


def test_the_crater_is_shown_in_the_units_of_the_page(page):
    page.pictures.tab.value = CRATER
    figure = page.pictures.crater.figure
    plain = max(figure.data[3].x)
    assert "no measured crater checks it" in text(page.pictures.crater.note)
    page.units.value = True
    assert max(figure.data[3].x) == pytest.approx(plain / 25.4)
    assert "thou" in text(page.pictures.crater.note)
    assert figure.layout.xaxis.title.text.startswith("thou")


def test_a_metal_that_cannot_harden_has_no_such_line(page):
    page.pictures.tab.value = CRATER
    figure = page.pictures.crater.figure
    assert len(figure.data[2].x) and any("hardened" in t for t in figure.data[9].text)
    page.setup_controls.work.value = "WC-6Co"
    assert page.message == "" and len(figure.data[2].x) == len(figure.data[1].x) == 0
    assert not any("hardened" in t or "softened" in t for t in figure.data[9].text)


def test_a_machine_s_name_is_shown_as_text(tmp_path, page):
    demo = next(path for name, path in page.files if "low" in name)
    lines = open(demo, encoding="utf-8").read()
    name = re.search(r'^name = "(.*)"$', lines, re.M).group(1)
    (tmp_path / "a.toml").write_text(lines.replace(name, "<img src=x onerror=alert(1)>"))
    own = WhichSettings(memory=None, folder=tmp_path)
    assert own.machine.name.startswith("<img")
    own.pictures.tab.value = MAP
    for shown in (own._setup_line, own.pictures.every.count, own._answers):
        assert "<img" not in shown.value


def test_what_is_left_out_can_be_opened_before_there_is_an_answer(page):
    sizes(page)["depth"].type("x")
    page.hole = None  # as after a start that was refused
    finder = page.pictures.every.finder
    finder.reasons.selected_index = 0
    assert finder.reasons.content is not None and finder._counts.value == ""
