"""The box that solves a spark while the page goes on: at once, in slices, stopped, refused."""

import asyncio
import re
from html import unescape
from types import SimpleNamespace

import pytest

import edmkit as ek
from edmkit.checks import Refusal
from edmkit.panels import film_box
from edmkit.panels.film_box import TOOL, FilmBox
from edmkit.plots.spark_field import ABOVE, NOW
from edmkit.spark import Spark, spark_on_work
from edmkit.units import um
from edmkit.words import Display, three


def read(widget):
    """Return what a person reads."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value))).strip()


def page_at(amps=10.0, on_us=100.0, work="52100", tool="copper", inches=False):
    setup = ek.Setup(ek.work_material(work), ek.electrode_material(tool),
                     ek.dielectric("edm_oil"), "electrode positive", 100.0)  # fmt: skip
    page = SimpleNamespace(setup=setup, display=Display(inches), answered=True)
    ask(page, amps, on_us)
    return page


def ask(page, amps, on_us):
    page.burn = ek.predict(page.setup, ek.Settings(amps, on_us, 50.0))
    spark = page.spark = spark_on_work(page.burn)
    heat = (spark.current, spark.on_time, spark.discharge_voltage, 0.12)
    no_table = page.setup.electrode.key == "graphite"
    page.tool_spark = None if no_table else Spark(page.setup.electrode, *heat)


def is_shown(widget):
    return widget.layout.display != "none"


def run(story):
    """Run a story on a loop, as a page does."""
    return asyncio.run(asyncio.wait_for(story, 20))


async def until(condition):
    while not condition():
        await asyncio.sleep(0.005)


# --- without a loop --------------------------------------------------------------------------
def test_without_a_loop_it_is_solved_at_once():
    page = page_at()
    box = FilmBox(page)
    assert box.figure is None and not is_shown(box.picture)
    box.redraw()
    assert is_shown(box.picture) and box.task is None and box.solved == page.spark
    text = read(box.sizes)
    crater = page.spark.crater
    live = box.film.crater
    said = f"melted, deep {three(crater.depth / um)} µm {three(live.depth / um)} µm"
    assert said in text and "softened, to" in text and "…" not in text
    assert box.now.value == 31 and box.now.max == box.play.max == 47  # the end of the pulse
    deep = three(box.film.melt_depth[31] / um)
    wide = three(2 * box.film.melt_radius[31] / um)
    assert read(box.said).startswith(f"After 100 µs: molten {deep} µm deep, {wide} µm wide; ")
    assert re.search(r"\d+ % of the heat has left as vapour", read(box.said))


def test_the_slider_moves_the_frame_and_stays_for_the_next_film():
    page = page_at()
    box = FilmBox(page)
    box.redraw()
    box.now.value = 3
    time = box.figure.data[NOW].x[0]
    assert time == pytest.approx(box.film.times[3] * 1e6)
    assert read(box.said).startswith(f"After {three(time)} µs: molten")
    box.now.value = box.now.max
    assert "all solid again" in read(box.said)
    kept, old = box.figure, box.film
    ask(page, 5.0, 40.0)
    box.redraw()
    assert box.figure is kept and box.film is not old and box.now.value == box.now.max


def test_the_same_spark_is_not_solved_twice_but_shown_in_the_new_unit():
    page = page_at()
    box = FilmBox(page)
    box.redraw()
    film = box.film
    page.display = Display(True)
    box.redraw()
    assert box.film is film and "thou³" in read(box.sizes) and "thou deep" in read(box.said)
    # 18.9 µm are 0.744 thou: 25.4 µm each
    assert "melted, deep 0.74" in read(box.sizes)


def test_work_or_electrode():
    box = FilmBox(page_at(20.0, 20.0))
    box.redraw()
    assert box.figure.data[ABOVE].text[1].startswith("electrode ")
    assert "softened" in read(box.sizes)
    box.where.value = TOOL
    assert box.solved.metal.key == "copper" and "softened" not in read(box.sizes)
    assert box.figure.data[ABOVE].text[1].startswith("work ")


def test_an_electrode_without_craters_is_a_sentence_and_the_work_comes_back():
    box = FilmBox(page_at(tool="graphite"))
    box.redraw()
    box.where.value = TOOL
    assert "solved craters" in read(box.wrong) and "got Graphite" in read(box.wrong)
    assert not is_shown(box.picture) and box.sizes.value == ""
    box.where.value = film_box.WORK
    assert is_shown(box.picture) and box.wrong.value == "" and "melted" in read(box.sizes)


def test_what_the_cells_cannot_hold_is_said():
    box = FilmBox(page_at(4.0, 200.0))
    box.where.value = TOOL
    assert "the table's figures are the better ones" in read(box.sizes)


def test_where_nothing_melts_in_the_cells_the_picture_still_stands():
    page = page_at()
    page.spark = Spark(page.setup.work, 0.3, 1e-3, 25.0, 0.05)
    box = FilmBox(page)
    box.redraw()
    assert is_shown(box.picture) and "the better ones" in read(box.sizes)
    assert read(box.said).endswith("nothing molten; hardly any of the heat has left as vapour.")


def test_a_refused_solve_is_a_sentence(monkeypatch):
    def refused(spark):
        raise Refusal("fourier must be 1e-05 to 100, got 200: give a shorter pulse.")

    box = FilmBox(page_at())
    monkeypatch.setattr(film_box, "filming", refused)
    box.redraw()
    assert "fourier must be" in read(box.wrong) and not is_shown(box.picture)


def test_a_page_without_an_answer_leaves_it_alone():
    page = page_at()
    page.answered = False
    box = FilmBox(page)
    box.redraw()
    assert box.film is None and box.sizes.value == ""


# --- on a loop -------------------------------------------------------------------------------
def test_the_table_answers_at_once_and_the_film_follows():
    async def story():
        page = page_at()
        box = FilmBox(page)
        box.redraw()
        assert f"{three(page.spark.crater.depth / um)} µm …" in read(box.sizes)
        assert box.film is None and box.task is not None
        await until(lambda: box.task is None)
        assert box.solved == page.spark and "…" not in read(box.sizes)
        assert is_shown(box.picture) and not is_shown(box.stop)

    run(story())


def test_a_dragged_slider_solves_only_the_last(monkeypatch):
    solved, begun = [], []
    honest = film_box.filming

    def watched(spark):
        begun.append(spark)
        for step in honest(spark):
            solved.append(spark)
            yield step

    monkeypatch.setattr(film_box, "filming", watched)

    async def story():
        page = page_at()
        box = FilmBox(page)
        for amps in (2.0, 3.0, 5.0, 8.0):
            ask(page, amps, 50.0)
            box.redraw()
            await asyncio.sleep(0.01)
        box.redraw()  # the same once more goes on
        await until(lambda: box.task is None)
        assert box.solved == page.spark and set(solved) == {page.spark}

    run(story())


def test_a_new_spark_ends_the_solve_under_way_and_greys_the_old_film(monkeypatch):
    monkeypatch.setattr(film_box, "_WAIT_S", 0.0)

    async def story():
        page = page_at()
        box = FilmBox(page)
        box.redraw()
        await until(lambda: box.task is None)
        old = box.film
        ask(page, 3.0, 50.0)
        box.redraw()
        await asyncio.sleep(0.01)
        first = box.task
        assert box.film is old and is_shown(box.picture)
        assert "edm-waiting" in box.picture._dom_classes
        ask(page, 6.0, 50.0)
        box.redraw()
        await until(lambda: box.task is None)
        assert first.cancelled() and box.solved == page.spark
        assert "edm-waiting" not in box.picture._dom_classes

    run(story())


def slow(spark):
    """Take longer than anyone waits."""
    number = 0
    while True:
        number += 1
        yield min(0.4, number / 100)


def test_a_slow_solve_shows_progress_and_stops_on_request(monkeypatch):
    monkeypatch.setattr(film_box, "filming", slow)
    monkeypatch.setattr(film_box, "_WAIT_S", 0.0)

    async def story():
        page = page_at()
        box = FilmBox(page)
        box.redraw()
        await asyncio.sleep(0.1)
        assert not is_shown(box.stop) and box.progress.value == ""  # most need no bar
        await until(lambda: is_shown(box.stop))
        await until(lambda: "solving, 40 %" in read(box.progress))
        assert "########............" in read(box.progress)
        task = box.task
        box.stop.click()
        await asyncio.sleep(0)
        assert task.cancelled() and box.task is None and not is_shown(box.stop)
        assert read(box.progress) == "Stopped. The table's answer stands."
        assert "melted, deep" in read(box.sizes) and is_shown(box.again)
        box.redraw()  # the page moves on, the spark is the same: it stays stopped
        assert box.task is None and is_shown(box.again)
        monkeypatch.undo()
        box.again.click()
        await until(lambda: box.task is None)
        assert box.solved == page.spark and not is_shown(box.again) and is_shown(box.picture)

    run(story())


def test_a_refusal_in_the_middle_is_a_sentence(monkeypatch):
    def breaks(spark):
        yield 0.1
        raise Refusal("isotherms must lie inside the grid, got one beyond it: give a wider grid.")

    monkeypatch.setattr(film_box, "filming", breaks)
    monkeypatch.setattr(film_box, "_WAIT_S", 0.0)

    async def story():
        box = FilmBox(page_at())
        box.redraw()
        await until(lambda: box.task is None)
        assert "isotherms must lie" in read(box.wrong) and not is_shown(box.picture)

    run(story())
    box = FilmBox(page_at())
    box.redraw()
    assert "isotherms must lie" in read(box.wrong)


def test_the_page_lives_while_it_is_solved():
    """Other work on the loop waits for a slice at most, not for the whole solve."""

    async def story():
        box = FilmBox(page_at())
        box.redraw()
        turns = 0
        while box.task is not None:
            await asyncio.sleep(0)
            turns += 1
        assert turns > 15

    run(story())
