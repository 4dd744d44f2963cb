"""One spark, solved while the page goes on: the table's answer at once, the film when ready."""

import asyncio
from html import escape
from time import monotonic

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.panels.controls import html, label_of, layout, refusal, row, say, shown, toggle
from edmkit.panels.live import LiveFigure
from edmkit.plots.spark_field import change_spark_field, spark_field_figure
from edmkit.plots.spark_steps import SparkField
from edmkit.spark_film import SparkFilm, filming
from edmkit.units import um, um3, us
from edmkit.words import three, two

WORK, TOOL = "in the work", "in the electrode"
_WAIT_S, _SLOW_S, _TELL_S = 0.15, 0.3, 0.1  # a slider settles; then a bar; how often it moves
_BARS = 20
_CSS = "<style>.edm-film.edm-waiting { opacity: 0.35; }</style>"
_NOTE = (
    "Heat model: a round spark that grows, metal that melts and boils; no measured crater checks "
    "it. Depths count from the old surface. Dashed: the farthest each line has got. How much melt "
    "is thrown out is assumed."
)
_COARSE = "Less melts than this picture's cells can show: the table's figures are the better ones."
_SIZES = {
    "radius": "melted, from the middle", "depth": "melted, deep", "volume": "melted, volume",
    "rehardened_depth": "hardened again, to", "tempered_depth": "softened, to",
}  # fmt: skip


class FilmBox(widgets.VBox):
    """What one spark does to the work or the electrode, frame by frame.

    ``page`` gives ``spark``, ``tool_spark``, ``burn``, ``setup``, ``display`` and ``answered``;
    ``film`` is the solved one, of the spark ``solved``.
    """

    def __init__(self, page):
        self.page, self.figure, self.film, self.solved, self.field = page, None, None, None, None
        self.task, self._asked, self._halted = None, None, False
        self.where = toggle([WORK, TOOL], "150px")
        self.sizes, self.progress, self.wrong = html(), html(), html()
        self.stop, self.again = (widgets.Button(description=text, layout={"width": "auto"})
                                 for text in ("Stop", "Solve it"))  # fmt: skip
        self.now = widgets.IntSlider(0, 0, 1, readout=False, layout=layout(width="100%"))
        self.play = widgets.Play(value=0, min=0, max=1, interval=120)
        widgets.jslink((self.play, "value"), (self.now, "value"))
        self.said, self.drawing = html(), widgets.VBox()
        time = row(label_of("Time"), self.now, self.play, columns="44px 1fr 152px")
        self.picture = widgets.VBox([time, self.said, self.drawing], layout={"width": "344px"})
        self.picture.add_class("edm-film")
        words = widgets.VBox([self.sizes, self.progress, self.stop, self.again, say(_NOTE)],
                             layout={"max_width": "400px"})  # fmt: skip
        both = widgets.HBox([self.picture, words],
                            layout={"flex_flow": "row wrap", "grid_gap": "6px 18px"})  # fmt: skip
        super().__init__([html(_CSS), self.where, self.wrong, both])
        for part in (self.stop, self.again, self.picture):
            shown(part, False)
        self.where.observe(lambda _: self.redraw(), "value")
        self.now.observe(lambda _: self._move(), "value")
        self.stop.on_click(lambda _: self._stopped())
        self.again.on_click(lambda _: self._solve(self._asked, wait=0))

    @property
    def spark(self):
        """The spark that is asked for, None where there is none."""
        return self.page.tool_spark if self.where.value == TOOL else self.page.spark

    def redraw(self):
        """Say the table's answer for the page's spark and solve it, if it is another one."""
        if not self.page.answered:
            return
        spark = self.spark
        if spark is not None and spark == self.solved:
            self._leave_off()
            self._show()
        elif spark is not None and spark == self._asked and (self.task or self._halted):
            self._say_sizes(spark)  # it is on its way, or was stopped: the unit may be another one
        else:
            self._solve(spark, _WAIT_S)

    # --- solving ----------------------------------------------------------------------------
    def _solve(self, spark, wait):
        """Solve a spark on the page's loop, in slices; without a loop at once."""
        self._leave_off()
        self._asked, self._halted = spark, False
        try:
            self._begin(spark, wait)
        except Refusal as fault:
            self._refuse(str(fault))

    def _begin(self, spark, wait):
        if spark is None:
            metal = self.page.setup.electrode.name
            raise Refusal(f"electrode must be a metal with solved craters for this, got {metal}: "
                          "look at the work.")  # fmt: skip
        self._say_sizes(spark)
        run = filming(spark)
        self.picture.add_class("edm-waiting")
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            *_, film = run
            self._finish(spark, film)
        else:
            self.task = loop.create_task(self._go_on(spark, run, wait))

    async def _go_on(self, spark, run, wait):
        await asyncio.sleep(wait)  # a dragged slider starts one solve, not ten
        begun = told = monotonic()
        try:
            for film in run:
                if isinstance(film, SparkFilm):
                    break
                now = monotonic()
                if now > begun + _SLOW_S and now > told + _TELL_S:
                    told = now
                    self._say_progress(film)
                await asyncio.sleep(0)
        except Refusal as fault:
            self.task = None
            self._refuse(str(fault))
        else:
            self.task = None
            self._finish(spark, film)

    def _leave_off(self):
        """End the solve under way and take down what speaks of it."""
        if self.task is not None:
            self.task.cancel()
            self.task = None
        self.progress.value = self.wrong.value = ""
        shown(self.stop, False)
        shown(self.again, False)
        self.picture.remove_class("edm-waiting")

    def _say_progress(self, share):
        done = round(share * _BARS)
        bar = "#" * done + "." * (_BARS - done)
        self.progress.value = (
            f'<div class="edm-label">solving, {100 * share:.0f} % <tt>{bar}</tt></div>'
        )
        shown(self.stop, True)

    def _stopped(self):
        self._leave_off()
        self._halted = True
        shown(self.picture, False)
        shown(self.again, True)
        self.progress.value = '<div class="edm-pinned">Stopped. The table\'s answer stands.</div>'

    def _refuse(self, text):
        self._leave_off()
        self.sizes.value, self.wrong.value = "", refusal(text)
        shown(self.picture, False)

    def _finish(self, spark, film):
        self.film, self.solved = film, spark
        self._leave_off()
        self._show()

    # --- showing ----------------------------------------------------------------------------
    def _show(self):
        """Show the solved film, its first time at the end of the pulse."""
        display, film = self.page.display, self.film
        other = "electrode" if self.where.value == WORK else "work"
        gap = float(self.page.burn.gap_front_um.likely) * um
        self.field = SparkField(film, gap, display.fine(1.0), display.fine_unit, other)
        self._say_sizes(self.solved)
        shown(self.picture, True)
        last = len(film.times) - 1
        first = self.figure is None
        pulse = int(np.searchsorted(film.times, film.on_time * (1 - 1e-6)))
        if first:
            self.figure = LiveFigure(spark_field_figure(self.field, pulse))
            self.drawing.children = (self.figure,)
        self.play.max = self.now.max = last
        if first:
            self.now.value = pulse
        self._move(fresh=True)

    def _move(self, fresh=False):
        if self.figure is None:
            return
        number = min(self.now.value, len(self.film.times) - 1)
        change_spark_field(self.figure, self.field, number, fresh)
        self.said.value = f'<div class="edm-band">{escape(self._words(number))}</div>'

    def _words(self, number):
        film, display = self.film, self.page.display
        after = f"After {three(film.times[number] / us)} µs: "
        vapour = f"{two(100 * film.vapour_share[number])} % of the heat has left as vapour."
        if film.vapour_share[number] < 0.001:
            vapour = "hardly any of the heat has left as vapour."
        if film.melt_depth[number] == 0:
            state = "all solid again" if film.melted_depth[number] > 0 else "nothing molten"
            return f"{after}{state}; {vapour}"
        deep, wide = (
            three(display.fine(float(size) / um))
            for size in (film.melt_depth[number], 2 * film.melt_radius[number])
        )
        unit = display.fine_unit
        return f"{after}molten {deep} {unit} deep, {wide} {unit} wide; {vapour}"

    def _say_sizes(self, spark):
        """Show what the table says and, beside it, what the film ends with."""
        live = self.film.crater if self.solved == spark else None
        lines = "".join(self._line(spark, live, size, name) for size, name in _SIZES.items())
        head = "<tr><td></td><td>from the table</td><td>solved now</td></tr>"
        text = _COARSE if live is not None and not self.film.resolved else ""
        note = f'<div class="edm-note">{text}</div>' if text else ""
        self.sizes.value = f'<table class="edm-table">{head}{lines}</table>{note}'

    def _line(self, spark, live, size, name):
        said = float(getattr(spark.crater, size))
        if np.isnan(said):
            return ""
        solved = "…" if live is None else self._size_text(size, float(getattr(live, size)))
        return (f"<tr><td>{name}</td><td><b>{self._size_text(size, said)}</b></td>"
                f"<td>{solved}</td></tr>")  # fmt: skip

    def _size_text(self, size, value):
        display = self.page.display
        if size == "volume":
            return f"{three(value / um3 * display.fine(1.0) ** 3)} {display.fine_unit}³"
        return f"{three(display.fine(value / um))} {display.fine_unit}"
