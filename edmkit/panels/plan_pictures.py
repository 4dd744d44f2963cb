"""The pictures of page 03: the hole in section, current against depth, the stop, the drift."""

import ipywidgets as widgets

from edmkit.panels.controls import html
from edmkit.panels.live import LiveFigure
from edmkit.planning.drawing import end_view, section
from edmkit.planning.insert import InsertTube
from edmkit.planning.insert_drawing import insert_tube
from edmkit.planning.shapes import Round
from edmkit.planning.stop_drawing import drift_picture, stop_picture
from edmkit.plots.ramp_plot import change_ramp, ramp_figure, ramp_plot


def _side(pass_):
    """Return the likely side gap of a pass [mm]."""
    return float(pass_.burn.gap_side_um.likely) / 1000


class PlanPictures(widgets.VBox):
    """The hole and the ramp of one pass; ``stop`` and ``drift`` are placed by the page."""

    def __init__(self):
        self.drawing, self.stop, self.drift, self._ramp_said = html(), html(), html(), html()
        self.figure = None
        self._figure_box = widgets.VBox([])
        super().__init__(
            [html('<div class="edm-head">The hole, to scale</div>'), self.drawing,
             self._figure_box]
        )  # fmt: skip
        self.add_class("edm-group")

    @staticmethod
    def _from_above(pass_, display):
        """Return the outline from above, where a section says too little."""
        if isinstance(pass_.electrode, InsertTube):
            return insert_tube(pass_.electrode, _side(pass_), display=display)
        if isinstance(pass_.cavity, Round):
            return ""
        before = pass_.feature.cut_away
        shapes = [
            ("the hole", pass_.cavity, "cavity"),
            ("the electrode", pass_.electrode, "electrode"),
        ]
        return end_view([*shapes, *([("there before", before, "before")] if before else [])])

    def show(self, plan, place, display):
        """Show one pass of a plan.

        Parameters
        ----------
        plan : Plan
            What stands on the page.
        place : int
            Number of the pass, from 0.
        display : Display
            Millimetres or inches.
        """
        pass_ = plan.passes[min(place, len(plan.passes) - 1)]
        burn, step = pass_.burn, pass_.stop.resolution_mm
        self.drawing.value = section(
            pass_.feature, pass_.section, _side(pass_),
            float(burn.gap_front_um.likely) / 1000, pass_.bore_mm, display=display, step_mm=step,
        ) + self._from_above(pass_, display)  # fmt: skip
        self.stop.value = stop_picture(plan.passes[-1].stop, display)
        through = plan.feature.through  # then a stop that is off shows nowhere
        self.drift.value = "" if through else drift_picture(plan.schedule, plan.tolerance, display)
        shown = ramp_plot(pass_.ramp, display.length(1.0), display.length_unit)
        if self.figure is None:
            self.figure = LiveFigure(ramp_figure(shown))
            self._figure_box.children = (self.figure,)
        else:
            change_ramp(self.figure, shown)
