"""A surface made of craters on a page: one spark, ten, a thousand, on to where it settles."""

import asyncio
from dataclasses import replace

import ipywidgets as widgets
import numpy as np

from edmkit.checks import Refusal
from edmkit.panels.controls import (
    Number,
    html,
    label_of,
    layout,
    refusal,
    row,
    say,
    shown,
    toggle,
    unwarned,
)
from edmkit.panels.live import LiveFigure
from edmkit.physics.crater_surface import BLOCK, crater_left, erode
from edmkit.physics.surface_starts import flat_for, ground, layers_to_settle, roughened
from edmkit.plots.surface_map import change_cut, change_surface_map, surface_map, surface_map_figure
from edmkit.units import percent, um
from edmkit.words import three, two

FLAT, GROUND, ROUGHER = "flat", "ground", "rougher"
ALL, CLOSER = "all of it", "closer"
SETTLED = 0.03  # Sa changes by less in a layer: what is left is chance
_GROUND_SA, _RIDGE = 0.8 * um, 60 * um  # an ordinary ground face; common practice, no source
_ROUGHER = 2.5  # craters of the burn before, over these
_MOST_MORE = 5.0  # layers beyond those it should take, before the page gives up
_PAUSE_S = 0.03  # between two pictures, for the browser
_NOTED = BLOCK // 4  # sparks between two notes of Sa, a tenth of a layer
_STEPS = 100  # of the slider that cuts; each is a row or more of the closer view
_TOO_SMALL = "so small a spark leaves no crater to draw: give more current, or a larger capacitor."
_NOTE = (
    "Each spark strikes the highest of ten places drawn by lot, where the gap is smallest, and its "
    "pool melts the old relief away. That is an assumption which settles; the shape of a crater "
    "alone is good for a factor of 1.5. What is left over the edge comes in on the other side."
)


class SurfaceBox(widgets.VBox):
    """Erodes a surface spark by spark; ``surface`` is how it stands, None before the first.

    ``asked`` holds what it starts from; the page places it.
    ``page`` gives ``spark`` (a `Spark` on the work), ``display`` and whether it is ``answered``.
    """

    def __init__(self, page):
        self.page, self.surface, self.craters, self.figure = page, None, None, None
        self._task, self._history, self._middle, self._callbacks = None, [], (0, 0), []
        self._hushed, self._others = False, False
        self.start = toggle([FLAT, GROUND, ROUGHER], "118px")
        self.seed = Number("Surface no.", "the number of the surface", 1, 0, 9999)
        self.one, self.ten, self.thousand, self.settle, self.again, self.stop = (
            widgets.Button(description=text, layout=layout(width="auto"))
            for text in ("One spark", "Ten", "A thousand", "On to where it settles", "Start again",
                         "Stop")
        )  # fmt: skip
        self.view = toggle([ALL, CLOSER], "122px", CLOSER)
        self.cut = widgets.IntSlider(
            _STEPS // 2, 0, _STEPS, readout=False, layout=layout(width="100%")
        )
        self.said, self.wrong, self.drawing = html(), html(), widgets.VBox()
        note = say("Another number draws another surface, the same number the same.")
        self.asked = widgets.VBox([self.start, self.seed, note])
        super().__init__(self._arranged())
        self.stop.disabled = True
        self._connect()

    def _arranged(self):
        wrap = layout(flex_flow="row wrap")
        columns = "104px 1fr"
        return [
            widgets.HBox([self.again, self.one, self.ten, self.thousand, self.settle, self.stop],
                         layout=wrap),
            self.said,
            self.wrong,
            row(label_of("Look at"), self.view, columns=columns),
            row(label_of("Cut it"), self.cut, columns=columns),
            self.drawing,
            say(_NOTE),
        ]  # fmt: skip

    def _connect(self):
        for button, sparks in ((self.one, 1), (self.ten, 10), (self.thousand, 1000)):
            button.on_click(lambda _, sparks=sparks: self.strike(sparks))
        self.settle.on_click(lambda _: self._settle())
        self.again.on_click(lambda _: self._restart())
        self.stop.on_click(lambda _: self._halt())
        self.start.observe(lambda _: self._restart(), "value")
        self.seed.on_change(self._restart)
        self.view.observe(lambda _: self._look(), "value")
        self.cut.observe(lambda _: self._cut(), "value")

    def on_new(self, callback):
        """Call back after each new surface."""
        self._callbacks.append(callback)

    # --- the start --------------------------------------------------------------------------
    def redraw(self):
        """Take the page's spark; where it is another one, begin again with as many of them."""
        if not self.page.answered:
            return
        try:
            with unwarned():
                melted = self.page.spark.crater
        except Refusal as fault:
            return self._no_craters(str(fault))
        try:
            craters = crater_left(melted)
        except Refusal:
            return self._no_craters(_TOO_SMALL)
        if craters == self.craters and self.surface is not None:
            self._draw()
        else:
            sparks = self.surface.sparks if self.surface is not None else 0
            self.craters, self._others = craters, sparks > 0
            self._restart(sparks)
        self._others = False

    def _no_craters(self, text):
        self.craters = None
        self._refuse(text)

    def _refuse(self, text):
        self._halt()
        self.surface = None
        self.wrong.value, self.said.value = refusal(text), ""
        shown(self.drawing, False)

    def _restart(self, sparks=0):
        """Begin again from the chosen surface, with so many sparks."""
        self._halt()
        if self.craters is None or self.seed.wrong:
            return
        try:
            self.surface = self._started()
        except Refusal as fault:
            self._refuse(str(fault))
            return
        self.wrong.value = ""
        self._history = [(0, self.surface.Sa)]
        self._middle = (len(self.surface.heights) // 2,) * 2
        self._erode(sparks)
        self._new(fresh=True)

    @property
    def _seed(self):
        """The number typed; physics refuses one that is not whole."""
        number = self.seed.value
        return int(number) if number == int(number) else number

    def _started(self):
        flat = flat_for(self.craters)
        erode(flat, self.craters, 0, self._seed)  # refuses a number that is not whole
        if self.start.value == GROUND:
            # a ridge needs pixels to be drawn on: the largest craters have coarse ones
            return ground(flat, _GROUND_SA, max(_RIDGE, 4 * flat.pixel), self._seed)
        if self.start.value == ROUGHER:
            wider, deeper = (_ROUGHER * n for n in (self.craters.radius, self.craters.depth))
            return roughened(flat, replace(self.craters, radius=wider, depth=deeper), self._seed)
        return flat

    # --- sparks -----------------------------------------------------------------------------
    def strike(self, sparks):
        """Let so many more sparks strike; after a few the picture goes to where they did."""
        if self.surface is None or self.running:
            return
        before = self.surface
        self._erode(sparks)
        if sparks < BLOCK:
            changed = np.abs(self.surface.heights - before.heights)
            self._middle = divmod(int(changed.argmax()), len(changed))
        self._new()

    def _erode(self, sparks):
        """Let sparks strike and note Sa on the way, so that a layer ago is known."""
        while sparks:
            more = min(sparks, _NOTED)
            self.surface = erode(self.surface, self.craters, more, self._seed)
            self._history.append((self.surface.sparks, self.surface.Sa))
            sparks -= more

    @property
    def running(self):
        """Whether it is on its way to where it settles."""
        return self._task is not None

    @property
    def layers_to_go(self):
        """Layers until the start should have gone; 0 or less when it should have."""
        needed = layers_to_settle(self._history[0][1], self.craters.settled_Sa)
        return needed - self.craters.layers(self.surface)

    @property
    def change(self):
        """Share by which the last layer changed Sa, None before there is one."""
        sparks, roughness = zip(*self._history, strict=True)
        before = sparks[-1] - self.craters.per_layer(self.surface)
        if before < 0:
            return None
        return abs(roughness[-1] / float(np.interp(before, sparks, roughness)) - 1)

    @property
    def settled(self):
        """Whether the start should have gone and the last layer changed Sa no more."""
        return self.layers_to_go <= 0 and self.change is not None and self.change < SETTLED

    @property
    def _enough(self):
        return self.settled or self.layers_to_go < -_MOST_MORE

    def _settle(self):
        """Go on until it is settled, in slices while the page goes on; without a page at once."""
        if self.surface is None or self.running:
            return
        if self._enough:  # asked again: a layer more
            self.strike(round(self.craters.per_layer(self.surface)))
            return
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            self.settle_at_once()
            return
        self._task = loop.create_task(self._run())
        self._show_running()

    def settle_at_once(self):
        """Go on until it is settled, without a picture on the way."""
        if self.surface is None or self.running:
            return
        while not self._enough:
            self._erode(BLOCK)
        self._new()

    async def _run(self):
        while not self._enough:
            self._erode(BLOCK)
            self._new()
            await asyncio.sleep(_PAUSE_S)
        self._ended()

    def _halt(self):
        """Stop where it is."""
        if self.running:
            self._task.cancel()
            self._ended()

    def _ended(self):
        self._task = None
        self._show_running()

    def _show_running(self):
        self.stop.disabled = not self.running
        for button in (self.one, self.ten, self.thousand, self.settle):
            button.disabled = self.running

    # --- what is shown ----------------------------------------------------------------------
    def _new(self, fresh=False):
        """Show a surface that was not there before."""
        self._look(fresh)
        for callback in self._callbacks:
            callback()

    def _look(self, fresh=False):
        """Bring the cut to the middle of what was struck last, and draw."""
        if self.surface is None:
            return
        share = self._middle[0] / (len(self.surface.heights) - 1)
        if not self.running:
            self._hushed = True
            self.cut.value = round(_STEPS * (0.5 if self.view.value == CLOSER else share))
            self._hushed = False
        self._draw(fresh)

    def _cut(self):
        if not self._hushed and self.surface is not None and self.figure is not None:
            change_cut(self.figure, self._map)

    @property
    def _map(self):
        display = self.page.display
        around = self._middle if self.view.value == CLOSER else None
        share = self.cut.value / _STEPS
        return surface_map(self.surface, share, display.fine(1.0), display.fine_unit, around)

    def _draw(self, fresh=False):
        if self.figure is None:
            self.figure = LiveFigure(surface_map_figure(self._map))
            self.drawing.children = (self.figure,)
        else:
            change_surface_map(self.figure, self._map, fresh)
        shown(self.drawing, True)
        self._say()

    def _say(self):
        """Say how far it is, and whether it has settled."""
        if self.surface is None:
            return
        again = "Begun again with as many of the other sparks. " if self._others else ""
        side = self.page.display.length(np.sqrt(self.surface.area) * 1e3)
        square = f"{two(side)} {self.page.display.length_unit} square"
        covered = self.craters.layers(self.surface)
        count = "No spark yet" if not self.surface.sparks else "1 spark so far"
        if self.surface.sparks > 1:
            count = f"{self.surface.sparks:,} sparks so far".replace(
                ",", "\N{NARROW NO-BREAK SPACE}"
            )
        over = f", enough to cover it {two(covered)} times" if covered >= 0.1 else ""
        self.said.value = (
            f'<div class="edm-band">{again}{count} on a {square}{over}: Sa '
            f"{self._rough(self.surface.Sa)}. {self._verdict()}</div>"
        )

    def _rough(self, roughness):
        display = self.page.display
        return f"{three(display.rough(roughness / um))} {display.rough_unit}"

    def _verdict(self):
        if self.layers_to_go > 0:
            return f"Not settled: about {two(self.layers_to_go)} coverings to go."
        last = f"covering it once more changed Sa by {two(self.change / percent)} %"
        return (
            f"<b>Settled:</b> {last}, which is chance." if self.settled else f"Not settled: {last}."
        )
