"""The boxes of a finish wanted and of finishing in steps, with the least of a page."""

import re
import warnings
from html import unescape
from types import SimpleNamespace

import pytest

import edmkit as ek
from edmkit.panels.finish_wanted_box import FinishWantedBox
from edmkit.panels.finishing_box import FinishingBox
from edmkit.words import Display

SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")
LONG = ek.Settings(5.5, 100, 40, 110.0)


def page(area=400.0, machine=SMALL, settings=LONG, inches=False):
    """Return the least that a page gives its boxes."""
    setup = ek.Setup(
        ek.work_material("52100"), ek.electrode_material("copper"), ek.dielectric("edm_oil"),
        "electrode positive", area, machine=machine,
    )  # fmt: skip
    taken = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        burn = ek.predict(setup, settings)
        burn.roughness_Ra_um  # noqa: B018
    return SimpleNamespace(
        setup=setup, settings=settings, shop=None, display=Display(inches), answered=True,
        burn=burn, taken=taken, take_spark=lambda *spark: taken.append(spark),
    )  # fmt: skip


def drawn(kind, **kwargs):
    """Return a box drawn on a page of its own."""
    box = kind(page(**kwargs))
    box.redraw()
    return box


def read(*widgets):
    """Return what a person reads."""
    text = " ".join(widget.value for widget in widgets)
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", text))).strip()


def in_sight(box):
    """Return the cells that are shown."""
    return [cell for cell in box.cells if cell.layout.display != "none"]


# --- a finish wanted ---
def test_sparks_are_listed_with_fastest_and_least_wear():
    box = drawn(FinishWantedBox)
    assert read(box.said).startswith("Ra 1.6 µm is VDI 3400 class 24. Sparks of")
    cells = in_sight(box)
    assert [read(cell.words).split(" ")[0] for cell in cells] == ["Least", "Fastest"]
    assert "wear 4.9 %" in read(cells[0].words) and "current b, on 6, off 4" in read(cells[0].words)
    assert read(box.sure).startswith("To be 90 % sure of Ra 1.6 µm: ")


def test_a_press_takes_the_spark_to_the_page():
    box = drawn(FinishWantedBox)
    in_sight(box)[1].button.click()
    spark = box.found.fastest.settings
    assert box.page.taken == [(spark.peak_current_A, spark.on_time_us)]


def test_another_finish_lists_other_sparks():
    box = drawn(FinishWantedBox, machine=None)
    before = read(*(cell.words for cell in in_sight(box)))
    box.wanted.type("3.2")
    assert "class 30" in read(box.said)
    assert read(*(cell.words for cell in in_sight(box))) != before
    assert len(in_sight(box)) == 4 and "current 60 A, on" in read(in_sight(box)[-1].words)


def test_what_cannot_be_had_is_a_sentence():
    box = drawn(FinishWantedBox)
    box.wanted.type("0.1")
    assert read(box.said).startswith("Ra wanted must be 0.43")
    assert "edm-refusal" in box.said.value and not in_sight(box) and box.found is None
    assert read(box.sure) == ""
    box.wanted.type("smooth")
    assert "edm-refusal" in box.said.value and box.found is None
    box.wanted.type("1.6")
    assert box.found is not None and in_sight(box)


def test_a_figure_outside_the_law_is_said():
    box = drawn(FinishWantedBox, machine=None)
    assert "Extrapolated" not in box.said.value
    box.wanted.type("0.39")
    assert "Extrapolated" in box.said.value


def test_inches_show_microinches_of_the_same_finish():
    box = drawn(FinishWantedBox, inches=True)
    assert box.wanted.unit == "µin" and box.wanted._text.value == "62.99"
    assert box.found.Ra_um == pytest.approx(1.6) and "Ra 63 µin" in read(box.said)
    box.wanted.type("125")  # 125 µin x 0.0254 = 3.175 µm by hand
    assert box.found.Ra_um == pytest.approx(3.175)
    box.page.display = Display()
    box.redraw()
    assert box.wanted._text.value == "3.175" and box.found.Ra_um == pytest.approx(3.175)


def test_a_page_without_answer_leaves_the_box_alone():
    box = drawn(FinishWantedBox)
    found, box.page.answered = box.found, False
    box.wanted.type("3.2")
    assert box.found is found


def test_a_relaxation_circuit_on_the_page_is_no_hindrance():
    circuit = ek.Relaxation(100, 1, 110)
    for kind in (FinishWantedBox, FinishingBox):
        box = drawn(kind, machine=None, settings=circuit)
        box.redraw()
        assert box.found is not None


# --- finishing in steps ---
def test_passes_stand_as_blocks_with_their_drawing():
    box = drawn(FinishingBox)
    box.before.type("6.3")
    text = read(box.answer)
    assert text.startswith("Two passes, 29.4 min On the clock, changes with it: ")
    assert "One pass 30.7 min, three passes 39 min." in text
    assert box.answer.value.count("<section") == box.answer.value.count("<svg") == 2
    assert "1. Ra 6.3 µm to 1.65 µm" in text and "takes 67.8 µm per side" in text
    assert "If the sparks are as fast as they may be, one pass is quickest" in text


def test_what_nobody_typed_follows_the_page():
    box = drawn(FinishingBox)
    rough = float(box.page.burn.roughness_Ra_um.likely)
    assert box.before.value == pytest.approx(rough, rel=0.03) and box.area.value == 400
    box.page.burn = page(settings=ek.Settings(3.0, 50, 40, 110.0)).burn
    box.redraw()
    now = float(box.page.burn.roughness_Ra_um.likely)
    assert box.before.value == pytest.approx(now, rel=0.03) and now < 0.8 * rough
    box.before.type("9")
    box.area.type("50")
    box.page.burn = page().burn
    box.redraw()
    assert (box.before.value, box.area.value) == (9, 50)


def test_more_minutes_a_change_make_fewer_passes():
    box = drawn(FinishingBox)
    box.before.type("6.3")
    box.change.type("60")
    assert len(box.found.steps) == 1 and read(box.answer).startswith("One pass, 80.7 min")
    box.change.type("0")
    assert len(box.found.steps) == 3


def test_long_times_are_said_in_hours():
    box = drawn(FinishingBox)
    box.before.type("6.3")
    box.area.type("20000")
    assert " h On the clock" in read(box.answer) and re.search(
        r"min to [0-9.]+ h\.", read(box.answer)
    )


def test_what_to_watch_names_white_layer_flushing_and_the_trade_s_rule():
    box = drawn(FinishingBox, machine=None)
    text = read(box.care)
    layer = box.found.recast_left_um
    assert "white layer of its own" in text and f"{layer.likely:.1f}"[:1] in text
    assert "the fluid must still reach the floor (common practice, no source)" in text
    assert "middle electrode belongs between them (from 4 to 1 on, a trade page)" in text


def test_no_pass_where_it_is_smooth_already():
    box = drawn(FinishingBox)
    box.before.type("0.7")
    assert "Ra wanted must be below the surface that is there, 0.7 µm" in read(box.answer)
    assert "no pass is needed" in read(box.answer) and box.found is None
    assert "edm-refusal" in box.answer.value and read(box.care) == ""
    box.area.type("many")
    assert "waits" in read(box.answer)


def test_inches():
    box = drawn(FinishingBox, inches=True)
    box.before.type("250")
    text = read(box.answer)
    assert "Ra 250 µin to" in text and "thou per side" in text and "µm" not in text
    assert box.after._text.value == "31.5" and box.found.to_Ra_um == pytest.approx(0.8)
    box.before.type("100")  # rougher than the switches leave, there is no electrode to compare
    assert " in small per side" in read(box.care)
