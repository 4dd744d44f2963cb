"""Longer or stronger? One spark against its on-time; and the same spark on both metals."""

from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.panels.controls import html, say, shown, toggle, unwarned
from edmkit.panels.live import LiveFigure
from edmkit.physics.crater import CURRENTS, ON_TIMES
from edmkit.physics.finish import roughness_Ra
from edmkit.plots.crater_section import section_of
from edmkit.plots.side_by_side import SideBySide, change_side_by_side, side_by_side_figure
from edmkit.plots.spark_curves import SparkCurves, change_spark_curves, spark_curves_figure
from edmkit.units import um, us
from edmkit.words import three, two

SAME_CURRENT, SAME_ENERGY = "the current stays", "the energy stays"
_TIMES = np.geomspace(*ON_TIMES, 60)
_NO_TABLE = "{} is not solved as a heat problem here: pick copper or brass to see both sides."
_OWN_LEVEL = (
    "The share of the heat that goes into the electrode is assumed. Do not size an electrode by "
    "this melt: that its wear grows with the current is not what was measured (Juvkam-Wold, "
    "1967). The other pages take wear from ratios that the trade remembers"
)


def _along(spark, times, currents):
    """Return the crater of a spark at other on-times and currents."""
    with unwarned():
        return replace(spark, current=currents, on_time=times).crater


def _volume(display, cubic_metres):
    return np.asarray(cubic_metres) * (display.fine(1.0) / um) ** 3


class SparkCurvesBox(widgets.VBox):
    """Radius, depth and volume against on-time, at this current or at this energy."""

    def __init__(self, page):
        self.page, self.figure, self.shown = page, None, None
        self.kept = toggle([SAME_CURRENT, SAME_ENERGY], "172px")
        self.said, self.drawing = html(), widgets.VBox()
        super().__init__([self.kept, self.said, self.drawing])
        self.kept.observe(lambda _: self.redraw(), "value")

    def redraw(self):
        """Draw the curves of the page's spark."""
        if not self.page.answered:
            return
        spark, display = self.page.spark, self.page.display
        times, currents = self._sparks(spark)
        if times.size < 2:
            shown(self.drawing, False)
            self.said.value = say("This energy is beyond what the tables hold.").value
            return
        found = _along(spark, times, currents)
        fine = display.fine(1.0) / um
        now = spark.crater
        self.shown = SparkCurves(
            times / us, currents, found.radius * fine, found.depth * fine,
            _volume(display, found.volume),
            (spark.on_time / us, now.radius * fine, now.depth * fine,
             float(_volume(display, now.volume))),
            display.fine_unit,
        )  # fmt: skip
        self._draw()
        self.said.value = say(self._words(spark), "edm-band").value

    def _sparks(self, spark):
        """Return the on-times and currents that keep the current or the energy."""
        if self.kept.value == SAME_CURRENT:
            return _TIMES, np.full(_TIMES.shape, spark.current)
        currents = spark.energy / (spark.discharge_voltage * _TIMES)
        inside = (currents >= CURRENTS[0]) & (currents <= CURRENTS[1])
        return _TIMES[inside], currents[inside]

    def _draw(self):
        melts = bool(np.any(self.shown.volume > 0))
        shown(self.drawing, melts)
        if not melts:
            return
        if self.figure is None:
            self.figure = LiveFigure(spark_curves_figure(self.shown))
            self.drawing.children = (self.figure,)
        else:
            change_spark_curves(self.figure, self.shown)

    def _words(self, spark):
        """Return what the curves say of this spark."""
        curves, best = self.shown, self.shown.best
        if not curves.volume[best] > 0:
            return "Nothing melts at any on-time."
        if self.kept.value == SAME_CURRENT:
            twice = _along(spark, 2 * spark.on_time, spark.current)
            here = spark.crater
            if not here.volume > 0:
                return "This spark melts nothing; where the line begins, one does."
            rough = [float(roughness_Ra(c.depth, c.volume)) for c in (here, twice)]
            return (
                f"At {three(spark.current)} A, twice the on-time makes the crater "
                f"{two(twice.radius / here.radius)} times as wide and "
                f"{two(twice.depth / here.depth)} times as deep. It melts "
                f"{two(twice.volume / here.volume)} times as much, in twice the time, and leaves "
                f"a wall {two(rough[1] / rough[0])} times as rough."
            )
        share = 100 * curves.now[3] / curves.volume[best]
        return (
            f"{three(1e3 * spark.energy)} mJ melt most in {three(curves.on_time_us[best])} µs at "
            f"{three(curves.amps[best])} A; this spark melts {two(share)} % of that. A shorter, "
            "stronger one boils more away, a longer, weaker one spreads its heat too thin."
        )


class SideBySideBox(widgets.VBox):
    """What the same spark melts on the work and on the electrode, and how both go with on-time."""

    def __init__(self, page):
        self.page, self.figure, self.shown = page, None, None
        self.said, self.drawing, self.note = html(), widgets.VBox(), html()
        super().__init__([self.said, self.drawing, self.note])

    def redraw(self):
        """Draw both sides of the page's spark, or say why not."""
        page = self.page
        if not page.answered:
            return
        shown(self.drawing, page.tool_spark is not None)
        if page.tool_spark is None:
            self.said.value = say(_NO_TABLE.format(page.setup.electrode.name)).value
            self.note.value = ""
            return
        self.shown = self._both()
        if self.figure is None:
            self.figure = LiveFigure(side_by_side_figure(self.shown))
            self.drawing.children = (self.figure,)
        else:
            change_side_by_side(self.figure, self.shown)
        self.said.value = say(self._words(), "edm-band").value
        self.note.value = say(f"{_OWN_LEVEL}{self._wear()}.").value

    def _both(self):
        page, display = self.page, self.page.display
        sparks = (page.spark, page.tool_spark)
        gap = float(page.burn.gap_front_um.likely)
        unit = (display.fine(1.0), display.fine_unit)
        work, tool = (section_of(s.crater, s.source_radius, gap, *unit).melted for s in sparks)
        along = [_volume(display, _along(s, _TIMES, np.full(60, s.current)).volume) for s in sparks]
        now = [float(_volume(display, s.crater.volume)) for s in sparks]
        names = [s.metal.name.split(",")[0] for s in sparks]
        return SideBySide(
            work, tool, display.fine(gap), _TIMES / us, *along,
            (page.spark.on_time / us, *now), tuple(names), display.fine_unit,
        )  # fmt: skip

    def _words(self):
        """Return how much less the electrode melts, here and in a short pulse."""
        spark, tool = self.page.spark, self.page.tool_spark
        work_name, tool_name = self.shown.names

        def share(time):
            with unwarned():
                of = [replace(s, on_time=time).crater.volume for s in (tool, spark)]
            return of[0] / of[1] if of[1] > 0 else np.nan

        now, short = share(spark.on_time), share(5 * us)
        if not now == now:
            return f"This spark melts nothing on {work_name}."
        said = (
            f"{tool_name} melts {two(100 * now)} % of what {work_name} melts, by volume; in a "
            f"pulse of 5 µs it would be {two(100 * short)} %. "
        )
        if now > 1:
            said += "So strong and short a pulse melts more of the electrode than of the work."
        elif now < short:
            said += (
                "The spot grows while it burns: soon its heat is too thin to melt the electrode, "
                "which leads it away, but not too thin for the work. So long pulses spare it."
            )
        return said

    def _wear(self):
        wear = self.page.burn.relative_wear_percent.likely
        return f": {two(wear)} % at this spark" if wear == wear else "; for this pair there is none"
