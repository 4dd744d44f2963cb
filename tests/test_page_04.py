"""Page 04: is the flushing enough, which knob first, the gap in motion, no gauge."""

import re
import warnings
from dataclasses import replace
from html import unescape

import numpy as np
import pytest

from edmkit.flushing.knobs import in_dirt
from edmkit.machine import FlushingMeans
from edmkit.panels.bench_controls import kept_bench
from edmkit.panels.knob_changes import changes
from edmkit.panels.machines import ANY
from edmkit.panels.memory import Memory
from edmkit.panels.which_settings import WhichSettings
from edmkit.panels.why_does_it_arc import WhyDoesItArc
from edmkit.physics.pulse_by_pulse import simulate
from edmkit.plots.clog_plot import ARCS, NOW_FLOW, ClogPlot, change_clog_plot, clog_plot_figure
from edmkit.plots.flushing_map import (
    CLOGS,
    PRESENT,
    STARVES,
    STRONGEST,
    FlushingMap,
    change_flushing_map,
    flushing_map_figure,
)
from edmkit.trials.book import TrialBook

MAP, NOW, LINE = "Range of flow", "The pulses now", "Clogging line"


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """Each test has a user's folder of its own."""
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def page():
    """Return the page with a bored electrode under suction."""
    made = WhyDoesItArc(memory=None, folder="notebooks")
    made.hole_controls.lengths["bore"].value = 1.0
    made.setup_controls.flushing.value = "suction"
    return made


def text(widget):
    """Return what a person reads of an HTML widget."""
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]+>", " ", widget.value)))


# --- is it enough ---
def test_the_page_answers_as_it_opens():
    page = WhyDoesItArc(memory=None, folder="notebooks")
    assert page.message == "" and page.window.kind == "lift only"
    said = text(page._flushing)
    assert page.window.word.capitalize() in said
    assert f"{page.window.flow_ml_per_min.likely:.2g} ml a minute" in said
    assert "nan" not in said and "inf" not in said


@pytest.mark.parametrize("kind", ["suction", "pressure", "side jet", "lift only"])
def test_every_kind_of_flushing_is_answered(page, kind):
    page.setup_controls.flushing.value = kind
    assert page.message == "" and page.window.kind == kind
    chances = page.window.chances
    assert f"too little {100 * chances['too little']:.0f}" in text(page._flushing)


@pytest.mark.parametrize(
    "change",
    [
        lambda p: p.setup_controls.pressure.type("5"),
        lambda p: p.bench_controls.oil.type("50"),
        lambda p: p.bench_controls.lengths["lift_mm"].type("0.05"),
        lambda p: p.hole_controls.lengths["depth"].type("9"),
        lambda p: p.hole_controls.lengths["bore"].type("1.4"),
        lambda p: p.switch_controls.rows["peak_current_A"].step(2),
        lambda p: p.switch_controls.rows["on_time_us"].step(2),
        lambda p: p.switch_controls.rows["off_time_us"].step(4),
        lambda p: p.switch_controls.gap.step(10),
    ],
)
def test_each_control_changes_the_answer_and_the_map_in_place(page, change):
    before, figure = page._flushing.value, page.maps.figure
    place = np.array(figure.data[PRESENT].x)
    edge = np.array(figure.data[CLOGS].y)
    change(page)
    assert page.message == "" and page._flushing.value != before
    assert page.maps.figure is figure
    moved = not np.array_equal(place, figure.data[PRESENT].x)
    assert moved or not np.array_equal(edge, figure.data[CLOGS].y)


def test_suction_that_the_fluid_does_not_stand_is_a_sentence(page):
    page.setup_controls.pressure.type("90")
    assert "gives off gas" in page.message and "Take less suction" in page.message
    page.setup_controls.pressure.type("20")
    assert page.message == ""


def test_a_flow_outside_its_range_is_said_on_the_page_only(page):
    with warnings.catch_warnings():
        warnings.simplefilter("error")  # a warning would stand under the panel as red text
        page.setup_controls.flushing.value = "pressure"
        page.setup_controls.pressure.value = 150.0
        page.switch_controls.gap.step(30)
        for tab in page.tab.options:
            page.tab.value = tab
        for tale in page._boxes[NOW].tale.options:
            page._boxes[NOW].tale.value = tale
        page.maps.kind.value = page.maps.kind.options[1]
        page.knob_fold.selected_index = 0
    assert text(page._moves).count("its inertia counts") == 1


def test_a_wrong_number_waits(page):
    page.bench_controls.oil.type("hot")
    assert (
        "Check this" in page._message.value and "oil_C must be" in page.bench_controls.oil.complaint
    )
    page.bench_controls.oil.type("25")
    assert page.message == ""


def test_suction_without_a_bore_says_so(page):
    page.hole_controls.lengths["bore"].value = 0.0
    assert "Bore the electrode" in text(page._moves)


def test_inches_leave_the_flow_as_it_is(page):
    flow = page.window.flow_ml_per_min.likely
    page.units.value = True
    assert page.window.flow_ml_per_min.likely == pytest.approx(flow, rel=1e-5)
    assert page.bench_controls.lengths["electrode_mm"].value == pytest.approx(30 / 25.4)
    assert page.maps.figure.layout.yaxis.title.text == "removal rate, in³/h"
    rate = page.hole.burn.removal_rate_mm3_per_min.likely * 60 / 25.4**3
    assert page.maps.figure.data[PRESENT].y[0] == pytest.approx(rate)
    assert page.maps.figure.data[CLOGS].y[-1] == pytest.approx(30 * rate)  # the map's upper end


def test_the_strongest_drive_is_the_machines_or_the_fluids(page):
    words = page.maps.figure.layout.annotations[2]
    assert words.text == "30 kPa, the machine's most"
    assert page.maps.figure.data[STRONGEST].x[0] > page.window.flow_ml_per_min.likely
    page.machine = replace(page.machine, flushing=FlushingMeans(suction_kPa_max=95.0))
    page.refresh()
    assert words.text == "80 kPa, what the fluid stands"
    page.machine_pick.value = ANY
    assert words.text == "80 kPa, what the fluid stands"
    page.setup_controls.flushing.value = "lift only"
    assert not words.visible


def test_what_stands_on_the_page_is_remembered(tmp_path):
    first = WhyDoesItArc(memory=Memory(tmp_path), folder="notebooks", book=None)
    first.bench_controls.oil.type("32")
    first.setup_controls.pressure.type("12")
    again = WhyDoesItArc(memory=Memory(tmp_path), folder="notebooks", book=None)
    assert (again.bench.oil_C, again.setup_controls.pressure.value) == (32.0, 12.0)
    memory = Memory(tmp_path)
    memory.keep(flushing_bench={"oil_C": "hot"})
    assert kept_bench(memory).oil_C == 25.0  # what cannot be read is the usual
    assert WhyDoesItArc(memory=memory, folder="notebooks", book=None).message == ""


def test_what_it_rests_on_is_one_click_away(page):
    assert page._rests_on.value == ""
    page.rests_fold.selected_index = 0
    said = text(page._rests_on)
    for part, share in page.window.shares.items():
        assert f"the {part} holds back" in said and f"{100 * share:.2g}" in said
    # n-tetradecane, much like this oil, has 2.3 mPa s at 20 °C (package value 3.03 cSt x 762)
    thickness = float(re.search(r"([\d.]+) mPa s", said)[1])
    assert 1.8 < thickness < 3.0
    page.bench_controls.oil.type("50")
    assert float(re.search(r"([\d.]+) mPa s", text(page._rests_on))[1]) < thickness


def test_a_current_that_the_end_does_not_bear_is_a_cause_to_name(page):
    page.switch_controls.rows["peak_current_A"].step(5)
    assert "more than twice what this end bears" in text(page._moves)


# --- which knob ---
def test_the_knobs_are_the_machines_next_positions(page):
    made = changes(page)
    assert list(made) == ["off_time_us", "flow", "lift_burn_s", "peak_current_A", "gap_front_um",
                          "on_time_us"]  # fmt: skip
    words, hole, _ = made["off_time_us"]
    now = page.hole.burn.settings.off_time_us
    longer = sorted(v for v in page.switches["off_time_us"].values if v > now)
    assert hole.burn.settings.off_time_us == longer[0] and f"{longer[0]:.3g}" in words
    assert made["flow"][2].pressure_kPa == pytest.approx(30.0)  # 1.5 x 20, the machine's most
    assert made["lift_burn_s"][1].burn.settings.lift_burn_s == 2.0


def test_the_range_of_pressures_ends_where_the_machine_does(page):
    assert "Any up to 30 kPa keeps the gap" in text(page._flushing)  # of suction
    page.setup_controls.pressure.value = 40.0
    assert "The machine file names 30 kPa at most" in text(page._flushing)
    page.setup_controls.pressure.value = None
    page.hole_controls.lengths["depth"].type("30")
    page.switch_controls.rows["peak_current_A"].step(99)
    page.switch_controls.gap.step(-99)  # 3 µm in front
    page.switch_controls.lift_burn.step(-99)  # no lift
    assert "No pressure there is keeps the gap clear here" in text(page._flushing)


def test_a_knob_at_its_end_is_left_out(page):
    page.switch_controls.rows["off_time_us"].step(99)
    page.setup_controls.pressure.value = 30.0
    assert "off_time_us" not in changes(page) and "flow" not in changes(page)


def test_the_table_says_what_each_notch_does(page):
    page.knob_fold.selected_index = 0
    rows = text(page._knobs)
    assert "Now 25 of 100 sparks are arcs" in rows
    assert rows.index("Lengthen the off-time") < rows.index("Shorten the on-time")
    page.reckon.value = "as the flow is"
    assert "Now under 0.1 of 100 sparks are arcs" in text(page._knobs)


# --- the gap in motion ---
def test_the_pulses_are_played_and_go_on(page):
    page.tab.value = NOW
    live = page._boxes[NOW]
    first = live.pulses
    live.redraw()
    assert np.array_equal(live.pulses.kind, first.kind)  # seeded: the same page, the same pulses
    live.more.click()
    assert live.pulses.begin == first.end
    assert "Voltmeter" in live.scales.value and "feeds" not in live.said.value
    figure = live.figure
    shares = {}
    for tale in ("as the flow is", "it clogs", "it starves"):
        live.tale.value = tale
        shares[tale] = live.pulses.shares
    assert live.figure is figure
    steady = simulate(live.pulses.conditions, 20_000, 1, live.pulses.end)
    assert steady.conditions.mixed_in == pytest.approx(page.window.content_mm3 * 1e-9)
    live.tale.value = "as the flow is"
    steady = simulate(live.pulses.conditions, 20_000, 1, live.pulses.end)
    # what the simulation removes is what the prediction says, two ways to one figure
    likely = page.hole.burn.removal_rate_mm3_per_min.likely
    assert steady.removal_rate * 60e9 == pytest.approx(likely, rel=0.05)
    # normal, arc, short, open: clogged arcs, starved shorts, as it is does neither
    assert shares["it clogs"][1] > 0.15 > 0.05 > shares["as the flow is"][1]
    assert shares["it starves"][2] > 2 * shares["as the flow is"][2]


def test_a_line_clogs_and_is_reversed(page):
    page.tab.value = LINE
    line = page._boxes[LINE]
    story = line.shown
    before, turned = story.at(0.5 * story.turned_min), story.at(0.999 * story.turned_min)
    after = story.at(story.minutes[-1])
    assert before[0] > 20 * turned[0] and turned[1] > 20 > 1 > before[1]
    assert after[0] > 0.5 * before[0] and after[1] < 1
    line.now.value = 200
    assert "reversed, nothing burns" in text(line.said)
    assert line.figure.data[NOW_FLOW].x[0] == pytest.approx(story.minutes[-1])
    line.turn.value = 100
    assert line.shown.turned_min == pytest.approx(story.minutes[-1] / 2)


def test_timed_lifts_are_played_not_counted_twice(page):
    page.setup_controls.flushing.value = "lift only"
    page.tab.value = NOW
    live = page._boxes[NOW]
    c = live.pulses.conditions
    assert c.flow == pytest.approx(0.0, abs=1e-15) and c.lift_burn == 4.0  # nothing else renews it
    dirt = live.pulses.end.debris
    # hand sum: what a lift draws in renews 1 - exp(-swept / content) of the gap
    swept = page.hole.burn.setup.engaged_area_mm2 * 1.0
    left = 1 - np.exp(-swept / page.window.content_mm3)
    assert c.lift_renewal == pytest.approx(left)
    lifted = simulate(c, 60_000, 0, live.pulses.end)
    assert lifted.debris.min() < 0.2 * dirt  # a lift came by, and washed
    live.tale.value = "it clogs"
    assert live.pulses.conditions.lift_burn is None  # the tale keeps its debris


def test_a_line_needs_a_bore_and_flow_through_it(page):
    page.tab.value = LINE
    page.setup_controls.flushing.value = "side jet"
    assert "suction or pressure through it" in text(page._boxes[LINE].said)
    page.setup_controls.flushing.value = "suction"
    page.tab.value = LINE
    line = page._boxes[LINE]
    page.hole_controls.lengths["bore"].value = 0.0
    assert "bore_mm must be above 0 mm" in text(line.said) and line.drawing.layout.display == "none"
    page.hole_controls.lengths["bore"].value = 1.2
    assert line.drawing.layout.display is None and "minutes" in text(line.said)


# --- while the page has no answer ---
def test_nothing_is_answered_from_the_hole_before(page):
    for fold in page.folds:
        fold.selected_index = 0
    page.meters.fields["voltmeter_V"].type("20")
    page.meters.fields["ammeter_A"].type("1")
    page.switch_controls.voltmeter.type("399")  # no gap holds so much
    assert page.message
    page.machine_pick.value = ANY  # other positions: the hole before does not fit them
    assert page.message
    page.maps.kind.value = page.maps.kind.options[1]
    for tab in page.tab.options:
        page.tab.value = tab
    page.meters.fields["voltmeter_V"].type("21")
    page.folds[0].content.start.click()
    assert "put the hole above right first" in text(page.folds[0].content.said["answer"])
    page.folds[1].content.redraw()
    assert "Give a hole" in text(page.folds[1].content._message)


def test_a_voltage_that_is_typed_is_held_in_dirt_too(page):
    page.switch_controls.voltmeter.type("30")
    page.knob_fold.selected_index = 0
    for tab in page.tab.options:
        page.tab.value = tab
    assert page.message == "" and "of 100 sparks are arcs" in text(page._knobs)
    burned = page.hole
    wide, clean = (in_dirt(burned, d).gap_front_um for d in (4.5, 0.5))
    # by hand: sqrt((1 + 4.5) / 1.5) = 1.915 times the gap of fair flushing, which it had
    assert wide / clean == pytest.approx(1.9149, rel=1e-3)
    assert clean == pytest.approx(burned.burn.gap_front_um.likely)


# --- what is folded ---
def test_every_fold_opens_and_follows(page):
    for fold in page.folds:
        fold.selected_index = 0
        assert fold.content is not None
    page.switch_controls.rows["on_time_us"].step(1)
    page.units.value = True
    assert page.message == ""


def test_a_pressure_found_without_a_gauge_is_taken(page):
    page.folds[-1].selected_index = 0
    box = page.folds[-1].content
    assert box.use.disabled
    box.height.type("1000")
    # hand sum: 1 m of oil is about 7.7 kPa
    assert box.drive.pressure_kPa == pytest.approx(7.77, rel=0.01)
    box.use.click()
    assert page.window.pressure_kPa == pytest.approx(7.8)
    box.cups["out_ml"].type("100")
    box.cups["out_s"].type("25")
    assert "needs more than the tube shows" in text(box.said)
    box.height.type("")
    box.cups["in_ml"].type("3")
    box.cups["in_s"].type("60")
    assert "The hole holds back" in text(box.said)
    at_depth = text(box.said)
    box.depth.type("0.5")
    assert "The hole holds back" in text(box.said) and text(box.said) != at_depth
    box.cups["out_ml"].type("")
    assert "out_ml must be given" in text(box.said)


def test_a_burn_is_followed_across_a_restart_and_handed_to_the_book(tmp_path):
    book = TrialBook(tmp_path / "trials.sqlite")
    first = WhyDoesItArc(memory=Memory(tmp_path), folder="notebooks", book=book)
    assert first.folds[0].content is None  # nothing burns: the fold stays shut
    first.folds[0].selected_index = 0
    watched = first.folds[0].content
    watched.start.click()
    watched.minutes.type("10")
    watched.dial.type("1.2")
    again = WhyDoesItArc(memory=Memory(tmp_path), folder="notebooks", book=book)
    followed = again.folds[0].content  # opened by itself: a burn runs
    assert [r.dial_mm for r in followed.burn.readings] == [1.2]
    followed.minutes.type("20")
    followed.dial.type("2.5")
    before = again.hole.burn.removal_rate_mm3_per_min.spread
    followed.over.click()
    (trial,) = book.trials()
    assert trial.minutes.value == pytest.approx(20.0) and "current" in trial.dialled
    assert again.hole.burn.removal_rate_mm3_per_min.spread < before  # the page has learned
    assert not followed.burn.running


# --- the line on page 02 ---
def test_page_02_says_whether_the_flushing_is_enough():
    page = WhichSettings(memory=None, folder="notebooks")
    assert "Flushing: too little, likely" in text(page._flushing)
    assert "Lift oftener" in text(page._flushing)
    page.setup_controls.flushing.value = "suction"
    assert "has no bore" in text(page._flushing) and "Bore the electrode" in text(page._flushing)
    page.hole_controls.lengths["bore"].value = 1.0
    assert "Flushing: enough, likely" in text(page._flushing) and page.message == ""
    page.setup_controls.pressure.value = 90.0
    assert "Take less suction" in text(page._flushing) and page.message == ""


# --- the pictures ---
def test_the_map_puts_the_range_between_its_edges():
    heights = np.array([1.0, 2.0, 4.0])
    flat = (0.5, 0.1, 2.0)
    shown = FlushingMap(
        "removal rate", heights, 0.1 * heights, 9 * heights, (flat, (2.0, 1.0, 4.0))
    )
    figure = flushing_map_figure(shown)
    assert list(figure.data[CLOGS].x) == [0.1, 0.2, 0.4]
    assert list(figure.data[STARVES].x) == [9, 18, 36] and not figure.data[STRONGEST].x
    assert figure.data[PRESENT].error_x.array[0] == pytest.approx(1.5)
    assert figure.data[PRESENT].error_y.arrayminus[0] == pytest.approx(1.0)
    low, high = figure.layout.xaxis.range
    assert low < np.log10(0.1) and high > np.log10(36)
    other = FlushingMap("off-time, µs", heights, heights, 2 * heights, (flat, (2.0,) * 3),
                        (3.0, "30 kPa"))  # fmt: skip
    change_flushing_map(figure, other, fresh=True)
    assert figure.layout.yaxis.title.text == "off-time, µs"
    assert list(figure.data[STRONGEST].x) == [3.0, 3.0]
    assert figure.layout.annotations[2].text == "30 kPa"


def test_the_mark_of_the_clogging_line_moves_alone():
    shown = ClogPlot(np.array([0.0, 10.0, 20.0]), np.array([2.0, 1.0, 0.0]),
                     np.array([0.0, 10.0, 90.0]), 15.0)  # fmt: skip
    figure = clog_plot_figure(shown)
    lines = np.array(figure.data[ARCS].y)
    change_clog_plot(figure, shown, 5.0)
    assert figure.data[NOW_FLOW].y[0] == 1.5 and np.array_equal(lines, figure.data[ARCS].y)
