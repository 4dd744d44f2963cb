"""The burn watch on a page: readings stay, a wrong one is said, the book gets the burn once."""

import html
import re
from datetime import datetime
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.flushing.watch_file import FILE, LAST
from edmkit.panels.burn_watch_box import DIAL, STEP, BurnWatchBox
from edmkit.panels.own_book import OwnBook
from edmkit.panels.running_burn import RunningBurn
from edmkit.planning.hole import sink
from edmkit.trials.derived import derive
from edmkit.words import Display


def text(widget):
    """Return what a widget shows, without its tags."""
    return html.unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value)))


def hole(depth=4.0, face=None, **lift):
    at = ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive", engaged_area_mm2=7.0,
    )  # fmt: skip
    settings = ek.Settings(3, 50, 25, **(lift or {"lift_burn_s": 4, "lift_up_s": 1}))
    return sink(ek.Round(3.05), face or ek.Ball(12.0), depth, at, settings)


class Shop:
    """A page with a hole, a book, and a clock that the test turns."""

    def __init__(self, folder):
        self.folder, self.now = folder, 1e9
        own = OwnBook(ek.TrialBook(folder / "trials.sqlite"))
        self.page = SimpleNamespace(
            answered=True,
            hole=hole(),
            display=Display(),
            own=own,
            words="current 2",
            learned=lambda: None,
        )

    def box(self):
        """Return the box as a page that was just opened has it."""
        return BurnWatchBox(self.page, self.folder, lambda: self.now)

    def read(self, box, dial, minutes):
        """Type the dial that many minutes after the start, and press Enter."""
        self.now = 1e9 + 60 * minutes
        box.dial.type(f"{dial:.2f}")

    def burn(self, box, fall_at=99, count=12):
        """Burn evenly, a reading at each twelfth, and slower after a reading."""
        course = box.burn.course
        depths = course.reach_mm * np.arange(1, count + 1) / 12
        steps = np.diff(course.volume_at(depths), prepend=0.0)
        rate = 1.5 * course.rate.likely * course.burn_share
        steps /= rate * np.where(np.arange(count) < fall_at, 1.0, 0.6)
        for depth, minutes in zip(depths, np.cumsum(steps), strict=True):
            self.read(box, course.travel_to(depth), minutes)


@pytest.fixture
def shop(tmp_path):
    return Shop(tmp_path)


@pytest.fixture
def box(shop):
    """Return a box whose burn was started just now."""
    made = shop.box()
    made.start.click()
    return made


def visible(widget):
    return widget.layout.display != "none"


def test_before_the_start_the_plan_is_drawn_and_nothing_can_be_read(shop):
    box = shop.box()
    assert visible(box.start) and not visible(box._entry) and text(box.said["tiles"]).strip() == ""
    assert len(box.figure.data[-1].x) == 1
    box.start.click()
    assert not visible(box.start) and visible(box._entry)
    assert "round 3.05 mm, 4.00 mm deep" in text(box.said["followed"])
    assert all(visible(button) for button in (box.read, box.touch, box.back, box.over))


def test_the_answers_follow_the_readings(shop, box):
    said = text(box.said["tiles"])
    likely = shop.page.hole.minutes.likely
    assert f"Minutes left {likely:.3g} min" in said and "no reading yet" in said
    shop.burn(box, count=6)
    said = text(box.said["tiles"])
    rate = 1.5 * box.burn.course.rate.likely
    assert abs(box.burn.watch.rate.likely / rate - 1) < 0.05
    assert "at 6 readings" in said and "min ahead" in said and "done about" in said
    assert f"Rate while burning {box.burn.watch.rate.likely:.3g} mm³/min" in said
    assert text(box.said["words"]).strip() == "" and text(box.said["answer"]).strip() == ""
    assert len(box.figure.data[-1].x) == 7 and box.dial.value is None


def test_the_word_when_it_slows_and_when_the_depth_is_reached(shop, box):
    shop.burn(box, fall_at=6, count=9)
    # half of 3.98 mm from first touch, to the dial's resolution
    assert re.search(r"×0.6 since (1.99|2.00) mm deep. Check the flushing", text(box.said["words"]))
    left = box.burn.course
    shop.read(box, left.stop_mm + 0.005, 40)
    assert "The depth is reached" in text(box.said["words"])
    shop.read(box, left.stop_mm + 0.2, 45)
    assert "0.19 mm deeper than planned" in text(box.said["words"])  # 0.2 less the worn end


# --- a restart --------------------------------------------------------------------------------
def test_a_second_box_has_the_readings_and_the_hole_it_was_started_with(shop, box):
    shop.burn(box, count=5)
    shop.page.hole = hole(depth=2.0)
    again = shop.box()
    assert again.burn.readings == box.burn.readings and len(again.burn.readings) == 5
    assert again.said["tiles"].value == box.said["tiles"].value
    assert "4.00 mm deep" in text(again.said["followed"])
    assert_allclose(again.figure.data[-1].y, box.figure.data[-1].y)
    shop.read(again, 2.2, 30)
    shop.read(box, 2.3, 31)  # the first page is still open: it sees both
    assert [r.dial_mm for r in box.burn.readings[-2:]] == [2.2, 2.3]


def test_while_nothing_runs_it_follows_the_page_s_hole(shop):
    box = shop.box()
    before = box.figure.data[2].y[0]
    shop.page.hole = hole(depth=2.0)
    box.redraw()
    assert box.figure.data[2].y[0] < before
    shop.page.hole, shop.page.answered = None, False
    box.redraw()
    assert box.start.disabled


def test_a_faulty_file_is_set_aside_and_said(shop, box):
    path = shop.folder / FILE
    whole = path.read_bytes()
    path.write_bytes(b"nonsense")
    again = shop.box()
    assert "set aside" in text(again.said["said"]) and visible(again.start)
    # sound lines that no burn can be made of: another version's, say
    path.write_bytes(whole)
    box.burn.file.add({"dial_mm": 1.0})
    assert "set aside" in text(shop.box().said["said"]) and not path.exists()


def test_a_torn_reading_is_said_and_the_others_count(shop, box):
    shop.burn(box, count=4)
    path = shop.folder / FILE
    path.write_bytes(path.read_bytes()[:-5])
    again = shop.box()
    assert len(again.burn.readings) == 3 and "read the dial again" in text(again.said["said"])


# --- entries ----------------------------------------------------------------------------------
@pytest.mark.parametrize(("typed", "said"), [("0.3", "dial must be 1 mm or more"),
                                             ("9", "check the number")])  # fmt: skip
def test_a_wrong_dial_is_said_and_not_kept(shop, box, typed, said):
    shop.read(box, 1.0, 5)
    shop.now += 60
    box.dial.type(typed)
    assert said in text(box.said["answer"]) and len(box.burn.readings) == 1
    assert box.dial.value == float(typed)  # stays to be put right
    box.dial.type("1.1")
    assert text(box.said["answer"]).strip() == "" and len(box.burn.readings) == 2


def test_no_number_is_answered_beside_the_field(shop, box):
    box.dial.type("about 3")
    assert box.dial.wrong and box.burn.readings == ()
    shop.now += 60
    box.read.click()
    assert "dial is not a number yet" in text(box.said["answer"]) and box.burn.readings == ()


def test_a_clock_that_goes_backwards_is_said(shop, box):
    shop.read(box, 1.0, 5)
    shop.read(box, 1.1, 4)
    assert "check the clock" in text(box.said["answer"]) and len(box.burn.readings) == 1


def test_enter_and_the_button_are_one_reading(shop, box):
    shop.read(box, 1.0, 5)
    box.read.click()
    assert len(box.burn.readings) == 1 and text(box.said["answer"]).strip() == ""
    shop.now += 60
    box.read.click()
    assert "type the dial first" in text(box.said["answer"])


def test_minutes_of_one_s_own_override_the_clock(shop, box):
    shop.now += 600
    box.minutes.type("7.5")
    box.dial.type("1.2")
    assert box.burn.readings[0].minutes == 7.5 and box.minutes.value is None


def test_inches_are_read_as_inches(shop):
    shop.page.display = Display(inches=True)
    box = shop.box()
    box.start.click()
    shop.now += 600
    box.dial.type("0.05")
    assert_allclose(box.burn.readings[0].dial_mm, 1.27)
    assert "in³/h" in text(box.said["tiles"]) and " in " in text(box.said["tiles"])
    shop.page.display = Display()
    box.redraw()
    assert box.dial.unit == "mm" and "mm³/min" in text(box.said["tiles"])


def test_the_step_per_lift_alone(shop, box):
    box.kind.value = STEP
    assert visible(box.travel) and not visible(box.dial)
    for minutes in (2, 4, 6):
        shop.now = 1e9 + 60 * minutes
        box.strokes.type("20")
        box.travel.type("0.1")
    assert len(box.burn.readings) == 3
    assert_allclose(box.burn.watch.track.dial_mm, 0.1 / 20 * 6 * 60 / 5)
    box.kind.value = DIAL
    shop.now += 60
    box.dial.type("1.0")
    assert "one kind" in text(box.said["answer"])


def test_a_reading_is_taken_back(shop, box):
    shop.read(box, 1.0, 5)
    shop.read(box, 3.0, 6)  # meant 1.3
    box.back.click()
    assert [r.dial_mm for r in shop.box().burn.readings] == [1.0]
    shop.read(box, 1.3, 7)
    assert [r.dial_mm for r in shop.box().burn.readings] == [1.0, 1.3]
    for _ in range(3):
        box.back.click()
    assert "no reading is left" in text(box.said["answer"]) and box.burn.readings == ()


def test_touched_again_after_a_dressing(shop, box):
    shop.read(box, 1.0, 5)
    deep = box.burn.watch.depth_mm
    shop.now += 600
    box.touch.click()
    shop.read(box, 0.3, 20)
    seen = box.burn.watch
    assert seen.depth_mm > deep + 0.28 and abs(seen.track.lost_min - 10) < 1e-6
    assert_allclose(seen.minutes, 10)
    assert_allclose(box.burn.trial().lost_min, 10)
    assert_allclose(box.burn.trial().minutes.value, 10)


# --- the book ---------------------------------------------------------------------------------
def test_the_book_gets_the_burn_once(shop, box):
    shop.burn(box, fall_at=6)
    box.over.click()
    assert "Saved as burn 1" in text(box.said["answer"]) and not box.burn.running
    (trial,) = shop.page.own.trials
    assert trial.depth_mm.how == "dial" and trial.minutes.how == "watch"
    assert_allclose(trial.depth_mm.value, 4.0, atol=0.02)
    assert_allclose(trial.volume_mm3, shop.page.hole.volume_mm3, rtol=0.01)
    assert re.search(r"×0.6 since (1.99|2.00) mm deep", trial.remark)
    assert (trial.work, trial.peak_current_A, trial.target_depth_mm) == ("52100", 3.0, 4.0)
    rate = derive(trial).figures["removal_rate"].value  # 4 s of each 5 burn
    assert_allclose(rate, trial.volume_mm3 / ((shop.now - 1e9) / 60 * 0.8), rtol=1e-3)
    assert (shop.folder / LAST).exists() and not (shop.folder / FILE).exists()
    box.over.click()
    assert "no burn is running" in text(box.said["answer"]) and len(shop.page.own.trials) == 1


def test_what_another_page_read_last_is_handed_over(shop, box):
    shop.read(box, 1.0, 5)
    shop.read(shop.box(), 2.0, 10)
    box.over.click()
    (trial,) = shop.page.own.trials
    assert_allclose(trial.minutes.value, 10)


def test_a_kernel_that_dies_between_book_and_file_hands_over_once(shop, box):
    shop.burn(box)
    shop.page.own.save(before := box.burn.trial())  # the file was not ended
    ended = datetime.fromisoformat(before.burned_at).timestamp()
    assert abs(ended - shop.now) <= 1  # by the burn's clock, whenever it is handed over
    again = shop.box()
    again.over.click()
    assert len(shop.page.own.trials) == 1 and not again.burn.running


def test_a_book_that_refuses_keeps_the_burn_running(shop, box, monkeypatch):
    def refuse(trial):
        raise ek.Refusal("the disk is full: nothing was saved.")

    shop.burn(box)
    monkeypatch.setattr(shop.page.own, "save", refuse)
    box.over.click()
    assert "disk is full" in text(box.said["answer"]) and shop.box().burn.running
    monkeypatch.undo()
    box.over.click()
    assert len(shop.page.own.trials) == 1


def test_without_a_book_the_readings_stay_in_the_folder(shop, box):
    shop.page.own = None
    shop.burn(box, count=3)
    box.over.click()
    assert "last_burn" in text(box.said["answer"]) and (shop.folder / LAST).exists()


def test_a_burn_without_readings_ends_without_the_book(shop, box):
    box.over.click()
    assert not box.burn.running and shop.page.own.trials == ()


def test_a_burn_without_depth_is_not_handed_over(shop, box):
    shop.now += 60
    box.touch.click()
    box.over.click()
    assert "take its readings back" in text(box.said["answer"]) and box.burn.running


def test_depth_in_the_book_counts_as_the_drawing_does(shop):
    # a bore through a roller's crown: first touch lies on the crown, a tube's edge below it
    at = hole().burn.setup
    made = sink(ek.Tube(4.0, 2.0), ek.Ball(12.0), 3.0, at, ek.Settings(3, 50, 25))
    shop.page.hole = made
    box = shop.box()
    box.start.click()
    assert_allclose(box.burn.above_mm, 6 - np.sqrt(36 - 1), rtol=0.05)  # sag at 1 mm radius
    shop.burn(box)
    assert_allclose(box.burn.trial().depth_mm.value, 3.0, atol=0.02)


def test_nothing_runs_where_nothing_was_started(tmp_path):
    burn = RunningBurn(tmp_path)
    assert not burn.running and burn.complaint == ""
    with pytest.raises(ek.Refusal, match="no burn is running"):
        burn.add(dial_mm=1.0)
    with pytest.raises(ek.Refusal, match="no reading is left"):
        burn.take_back()
    with pytest.raises(ek.Refusal, match="no depth to hand over"):
        burn.trial()


def test_a_second_start_is_refused(shop, box):
    again = shop.box()
    again.burn.watch = None  # as a page that had not looked yet
    again.start.click()
    assert "already" in text(again.said["answer"])
