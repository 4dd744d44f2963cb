"""The box of the surface made of craters: steps, starts, a run with stop, the page's spark."""

import asyncio
import re
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

import edmkit as ek
from edmkit.checks import Refusal
from edmkit.panels import surface_box
from edmkit.panels.surface_box import ALL, CLOSER, FLAT, GROUND, ROUGHER, SurfaceBox
from edmkit.physics.crater_surface import crater_left, erode
from edmkit.physics.surface_starts import flat_for
from edmkit.plots.surface_map import CUT, MAP, SECTION
from edmkit.spark import spark_on_work
from edmkit.units import um
from edmkit.words import Display

SETUP = ek.Setup(
    ek.work_material("52100"),
    ek.electrode_material("copper"),
    ek.dielectric("edm_oil"),
    "electrode positive",
    100.0,
)


def spark(amps=6.0, on_time_us=50.0):
    return spark_on_work(ek.predict(SETUP, ek.Settings(amps, on_time_us, 25.0)))


SPARK = spark()


@pytest.fixture
def box():
    made = SurfaceBox(SimpleNamespace(spark=SPARK, display=Display(), answered=True))
    made.redraw()
    return made


def said(box):
    """Return what a person reads of how far it is."""
    return re.sub("<[^>]+>", "", box.said.value).replace("\N{NARROW NO-BREAK SPACE}", "")


def Sa_of(box):
    heights = box.surface.heights
    return np.abs(heights - heights.mean()).mean()


def test_steps_are_the_sparks_of_the_physics(box):
    for button in (box.one, box.ten, box.thousand):
        button.click()
    left = crater_left(SPARK.crater)
    assert_array_equal(box.surface.heights, erode(flat_for(left), left, 1011, seed=1).heights)
    assert box.surface.sparks == 1011
    assert "1011 sparks so far" in said(box) and "Not settled" in said(box)
    assert f"Sa {Sa_of(box) / um:.3g} µm" in said(box)
    # by hand: 1303.8 craters cover the map once
    assert "cover it 0.78 times" in said(box) and "1.2 coverings to go" in said(box)


def test_nothing_is_drawn_before_it_is_asked_for():
    box = SurfaceBox(SimpleNamespace(spark=SPARK, display=Display(), answered=False))
    box.redraw()
    box.one.click()
    box.settle.click()
    assert box.figure is None and box.surface is None and not box.said.value


def test_one_spark_is_in_sight_and_cut_through_its_middle(box):
    box.one.click()
    heights = box.surface.heights / um
    depth = heights.max() - heights.min()
    assert_allclose(np.ptp(box.figure.data[SECTION].y), depth, rtol=0.05)
    wide = box.figure.layout.xaxis.range[1]
    assert_allclose(box.figure.data[SECTION].x[np.argmin(box.figure.data[SECTION].y)], wide / 2,
                    rtol=0.05)  # fmt: skip
    box.view.value = ALL
    assert_allclose(box.figure.layout.xaxis.range[1], 4 * wide)
    assert_allclose(np.ptp(box.figure.data[SECTION].y), depth, rtol=0.1)
    row = np.argmin(heights) // 512
    pixel = box.surface.pixel / um
    assert_allclose(box.figure.data[CUT].y, row * pixel, atol=2 * pixel)


def test_the_slider_cuts_elsewhere_and_sends_no_map(box):
    box.thousand.click()
    box.view.value = ALL
    sent = box.figure.data[MAP].z
    box.cut.value = 100
    over = (box.surface.heights - box.surface.heights.mean()) / um
    assert_allclose(box.figure.data[SECTION].y, over[511])
    assert box.figure.data[MAP].z is sent


@pytest.mark.parametrize("view", [ALL, CLOSER])
def test_each_step_of_the_slider_cuts_elsewhere(box, view):
    box.thousand.click()
    box.view.value = view
    rows = []
    for step in range(40, 60):
        box.cut.value = step
        rows.append(box._map.row)
    assert len(set(rows)) == 20


@pytest.mark.parametrize(("start", "layers"), [(FLAT, 2.0), (GROUND, 2.0), (ROUGHER, 4.5)])
def test_without_a_loop_it_settles_at_once(box, start, layers):
    box.start.value = start
    box.settle.click()
    assert not box.running and "Settled" in said(box)
    sparks, before = box.surface.sparks, box.surface
    assert sparks / 1303.8 > 0.95 * layers
    assert_allclose(box.surface.Sa / box.craters.depth, 0.394, rtol=0.06)
    # what it says of the last layer, from the surface itself
    start_again = SurfaceBox(box.page)
    start_again.redraw()
    start_again.start.value = start
    start_again.strike(sparks - 1304)
    change = abs(Sa_of(box) / Sa_of(start_again) - 1)
    shown = float(re.search(r"once more changed Sa by ([\d.]+) %", said(box))[1])
    assert_allclose(shown, 100 * change, atol=0.6)  # it notes Sa every 125 sparks
    box.settle.click()  # asked again: one covering more
    assert box.surface.sparks == sparks + 1304 and box.surface is not before


def test_what_still_moves_is_not_called_settled(box):
    box.strike(6000)
    assert box.settled and box.change < 0.03
    # as if it had been a tenth rougher a layer ago
    box._history = [(0, 0.0), (4696, box.surface.Sa / 0.9), (6000, box.surface.Sa)]
    assert not box.settled and box.layers_to_go < 0
    box._say()
    assert "Not settled: covering it once more changed Sa by 10 %" in said(box)


def test_starts_are_as_rough_as_they_say(box):
    assert "Sa 0 µm" in said(box)
    box.start.value = GROUND
    assert_allclose(Sa_of(box), 0.8 * um)
    assert "No spark yet" in said(box) and "Sa 0.8 µm" in said(box)
    box.start.value = ROUGHER
    assert_allclose(Sa_of(box), 2.5 * 0.394 * box.craters.depth, rtol=0.08)
    assert box.surface.sparks == 0
    assert "4." in re.search("about (.*) coverings", said(box))[1]


def test_the_seed_draws_the_same_surface_again(box):
    box.thousand.click()
    first = box.surface.heights
    box.seed.type("2")
    assert box.surface.sparks == 0
    box.thousand.click()
    assert np.abs(box.surface.heights - first).max() > um
    box.seed.type("1")
    box.thousand.click()
    assert_array_equal(box.surface.heights, first)
    box.again.click()
    assert box.surface.sparks == 0


@pytest.mark.parametrize("text", ["1.5", "many", "-3", ""])
def test_a_number_that_is_no_seed_is_answered_in_words(box, text):
    box.seed.type(text)
    box.one.click()
    assert "must be" in box.wrong.value + box.seed.complaint
    box.seed.type("3")
    box.one.click()
    assert box.surface.sparks == 1
    assert not box.wrong.value and not box.seed.complaint


def test_another_spark_begins_again_with_as_many_and_says_so(box):
    box.start.value = GROUND
    box.thousand.click()
    kept = box.surface
    box.redraw()  # the same spark: nothing is lost
    assert box.surface is kept and "Begun again" not in said(box)
    box.page.spark = spark(12.0, 100.0)
    box.redraw()
    assert box.surface.sparks == 1000 and "Begun again with as many" in said(box)
    assert_allclose(box.craters.radius, box.page.spark.crater.radius)
    fresh = SurfaceBox(box.page)
    fresh.redraw()
    fresh.start.value = GROUND  # from the start that was chosen
    fresh.strike(1000)
    assert_array_equal(box.surface.heights, fresh.surface.heights)
    box.one.click()
    assert "Begun again" not in said(box)


def test_a_page_may_open_with_a_settled_surface(box):
    box.settle_at_once()
    assert box.settled and "Settled" in said(box)
    settled = box.surface
    box.settle_at_once()
    assert box.surface is settled


def test_the_other_units(box):
    box.thousand.click()
    box.page.display = Display(inches=True)
    box.redraw()
    assert f"Sa {Sa_of(box) / 25.4e-9:.3g} µin" in said(box) and " in square" in said(box)
    assert box.figure.layout.xaxis2.title.text == "along the cut, thou"
    assert box.surface.sparks == 1000


class NoSpark:
    @property
    def crater(self):
        raise Refusal("no table of craters for Graphite.")


def test_a_spark_without_a_crater_is_a_sentence(box):
    box.thousand.click()
    box.page.spark = NoSpark()
    box.redraw()
    assert "no table of craters" in box.wrong.value and box.surface is None
    assert box.drawing.layout.display == "none" and not box.said.value
    for button in (box.one, box.settle, box.again):
        button.click()
    box.view.value = ALL
    box.cut.value = 3
    box.page.spark = SPARK
    box.redraw()
    assert box.surface.sparks == 0 and box.drawing.layout.display is None
    assert not box.wrong.value


def test_each_new_surface_is_told(box):
    told = []
    box.on_new(lambda: told.append(box.surface.sparks))
    box.one.click()
    box.thousand.click()
    box.cut.value = 7
    box.view.value = ALL
    box.start.value = GROUND
    assert told == [1, 1001, 0]


# --- with a page that goes on ---
def in_a_loop(steps, monkeypatch, pause=0.0):
    monkeypatch.setattr(surface_box, "_PAUSE_S", pause)
    asyncio.run(steps())


async def ended(box):
    for _ in range(10_000):
        if not box.running:
            return
        await asyncio.sleep(0)
    raise AssertionError("it never ended")


def test_a_run_shows_its_way_and_ends_by_itself(box, monkeypatch):
    told = []
    box.on_new(lambda: told.append(box.surface.sparks))

    async def steps():
        box.settle.click()
        assert box.running and not box.stop.disabled and box.one.disabled
        box.one.click()  # of no effect meanwhile
        await ended(box)

    in_a_loop(steps, monkeypatch)
    assert told == list(range(500, told[-1] + 1, 500)) and len(told) >= 5
    assert "Settled" in said(box) and box.stop.disabled and not box.one.disabled
    alone = SurfaceBox(box.page)
    alone.redraw()
    alone.settle.click()
    assert_array_equal(alone.surface.heights, box.surface.heights)


@pytest.mark.parametrize("what", ["stop", "again", "start", "another spark"])
def test_a_run_is_stopped_by_what_is_pressed(box, what, monkeypatch):
    async def steps():
        box.settle.click()
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        seen = box.surface.sparks
        assert 0 < seen < 2000
        if what == "start":
            box.start.value = ROUGHER
        elif what == "another spark":
            box.page.spark = spark(12.0, 100.0)
            box.redraw()
        else:
            getattr(box, what).click()
        assert not box.running and box.stop.disabled and not box.settle.disabled
        await asyncio.sleep(0.01)
        assert box.surface.sparks == (seen if what in ("stop", "another spark") else 0)
        box.settle.click()  # and it may go on
        await ended(box)

    in_a_loop(steps, monkeypatch, 0.001)
    assert "Settled" in said(box)
