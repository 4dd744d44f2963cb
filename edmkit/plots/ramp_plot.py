"""Engaged area, and the current the end bears with the steps of the switch, against depth."""

from dataclasses import dataclass

import numpy as np
import plotly.graph_objects as go

from edmkit.plots.scale import steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE

AREA, VOLUME, ALLOWED, STEPS = range(4)


@dataclass(frozen=True)
class RampPlot:
    """What the plot shows, in the shown units: areas and volumes in mm², mm³, currents in A."""

    depths: np.ndarray
    areas: np.ndarray
    volumes: np.ndarray
    allowed: np.ndarray
    step_depths: np.ndarray
    step_currents: np.ndarray
    unit: str

    @property
    def traces(self):
        """X and y of each trace."""
        return ((self.depths, self.areas), (self.depths, self.volumes),
                (self.depths, self.allowed), (self.step_depths, self.step_currents))  # fmt: skip


def ramp_plot(ramp, per_mm=1.0, unit="mm"):
    """Return what a ramp shows.

    Parameters
    ----------
    ramp : Ramp
        The ramp of one pass.
    per_mm : float
        How many of the shown unit make a millimetre.
    unit : str
        Name of the shown unit.
    """
    depths = np.concatenate([[0.0], ramp.depths_mm]) * per_mm
    starts = [*(step.depth_mm * per_mm for step in ramp.steps), depths[-1]]
    x = np.repeat(starts, 2)[1:-1]
    y = np.repeat([step.mean_A for step in ramp.steps], 2)
    first = np.concatenate([[0.0], ramp.volumes_mm3])
    area = np.concatenate([ramp.areas_mm2[:1], ramp.areas_mm2])
    allowed = np.concatenate([ramp.allowed_A[:1], ramp.allowed_A])
    return RampPlot(depths, area, first, allowed, x, y, unit)


def ramp_figure(shown):
    """Return the figure of a ramp.

    Parameters
    ----------
    shown : RampPlot
        What it shows.
    """
    lines = (
        ("engaged area", BLUE, "solid", "y"),
        ("volume gone", INK, "dash", "y3"),
        ("the end bears", BLUE, "solid", "y2"),
        ("current positions", ORANGE, "solid", "y2"),
    )
    traces = [
        go.Scatter(
            x=x, y=y, name=name, mode="lines", yaxis=axis, xaxis="x2" if axis == "y2" else "x",
            line={"color": colour, "dash": dash, "width": 3 if number == STEPS else 2},
        )
        for number, ((name, colour, dash, axis), (x, y)) in enumerate(
            zip(lines, shown.traces, strict=True)
        )
    ]  # fmt: skip
    layout = {
        **LAYOUT, "height": 400, "showlegend": False,
        "margin": {"l": 58, "r": 58, "t": 26, "b": 46},
        "xaxis": {**AXIS, "domain": [0, 1], "anchor": "y", "showticklabels": False,
                  "ticks": ""},
        "yaxis": {**AXIS, "domain": [0.56, 1], "title": {"text": "engaged, mm²"}},
        "yaxis3": {**AXIS, "overlaying": "y", "side": "right", "showgrid": False,
                   "tickmode": "auto", "nticks": 5, "title": {"text": "gone, mm³ (dashed)"}},
        "xaxis2": {**AXIS, "anchor": "y2"},
        "yaxis2": {**AXIS, "domain": [0, 0.44], "title": {"text": "mean current, A"}},
    }  # fmt: skip
    figure = go.Figure(traces, layout)
    figure.add_annotation(x=0, y=1.09, xref="paper", yref="paper", showarrow=False, xanchor="left",
                          text="How much of the end sparks")  # fmt: skip
    figure.add_annotation(x=0, y=0.53, xref="paper", yref="paper", showarrow=False, xanchor="left",
                          text="What it bears (blue), and the steps to take (orange)")  # fmt: skip
    figure.update_layout(ranges(shown))
    return figure


def ranges(shown, old=None):
    """Return ranges of the axes that stay while the data move inside them.

    Parameters
    ----------
    shown : RampPlot
        What is shown.
    old : dict or None
        Present ends of the axes by name.
    """
    old = old or {}
    deep = float(shown.depths[-1])
    needs = {"yaxis": shown.areas.max(), "yaxis3": shown.volumes.max(),
             "yaxis2": max(1.3 * float(shown.step_currents.max()), 0.02)}  # fmt: skip
    found = {name: {"range": [0, steady(float(need), old.get(name))]}
             for name, need in needs.items()}  # fmt: skip
    title = {"text": f"depth below first touch, {shown.unit}"}
    return {**found, "xaxis": {"range": [0, deep]}, "xaxis2": {"range": [0, deep], "title": title}}


def change_ramp(figure, shown):
    """Bring a figure up to date.

    Parameters
    ----------
    figure : Figure
        From `ramp_figure`.
    shown : RampPlot
        What it shall show.
    """
    names = ("yaxis", "yaxis2", "yaxis3")
    old = {name: float(figure.layout[name].range[1]) for name in names}
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, shown.traces, strict=True):
            trace.x, trace.y = x, y
        figure.update_layout(ranges(shown, old))
