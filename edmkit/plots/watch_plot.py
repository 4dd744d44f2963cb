"""A running burn: depth against minutes, the plan with its band, the readings, what is left."""

from dataclasses import dataclass

import numpy as np
import plotly.graph_objects as go

from edmkit.flushing.burn_watch import planned_minutes
from edmkit.plots.scale import steady
from edmkit.plots.style import AXIS, BAND, BLUE, INK, LAYOUT, ORANGE

PLAN_BAND, PLAN, STOP, REST, READINGS = range(5)
_POINTS = 61
_FEW = 2.0  # of the plan's minutes are in sight at first, though its band may go on


@dataclass(frozen=True)
class WatchPlot:
    """What the plot shows: minutes on the clock, depths in the shown unit; traces as x and y."""

    traces: tuple
    minutes: float
    depth: float
    unit: str


def watch_plot(watch, per_mm=1.0, unit="mm"):
    """Return what a running burn shows.

    Parameters
    ----------
    watch : Watch
        What its readings say.
    per_mm : float
        How many of the shown unit make a millimetre.
    unit : str
        Name of the shown unit.
    """
    course, went, left = watch.course, watch.track, watch.minutes_left
    depths = np.linspace(0, course.reach_mm, _POINTS)
    plan = planned_minutes(course, course.volume_at(depths))
    ends = [plan * getattr(course.rate, end) / course.rate.likely for end in ("low", "high")]
    band = np.concatenate([ends[0], ends[1][::-1]]), np.concatenate([depths, depths[::-1]])
    rest = np.linspace(watch.depth_mm, max(course.reach_mm, watch.depth_mm), _POINTS)
    gone = course.volume_at(rest) - watch.volume_mm3
    share = gone / gone[-1] if gone[-1] > 0 else gone
    projected = watch.minutes + left.likely * share
    most = max(_FEW * plan[-1], 1.05 * float(projected[-1]))
    deep = max(course.reach_mm, watch.depth_mm)
    stop = np.array([0.0, 1e6]), np.full(2, course.reach_mm)
    traces = (band, (plan, depths), stop, (projected, rest), (went.burned_min, went.depths_mm))
    shown = tuple((x, np.asarray(y) * per_mm) for x, y in traces)
    return WatchPlot(shown, most, 1.05 * deep * per_mm, unit)


def watch_figure(shown):
    """Return the figure of a running burn.

    Parameters
    ----------
    shown : WatchPlot
        What it shows.
    """
    looks = (
        {"name": "the plan's band", "mode": "lines", "fill": "toself", "fillcolor": BAND,
         "line": {"width": 0}, "hoverinfo": "skip"},
        {"name": "the plan", "mode": "lines", "line": {"color": BLUE, "width": 2}},
        {"name": "depth to reach", "mode": "lines", "line": {"color": INK, "width": 1}},
        {"name": "left at the present rate", "mode": "lines",
         "line": {"color": ORANGE, "width": 3, "dash": "dash"}},
        {"name": "readings", "mode": "lines+markers", "line": {"color": INK, "width": 1},
         "marker": {"symbol": "circle", "size": 9, "color": INK}},
    )  # fmt: skip
    traces = [
        go.Scatter(x=x, y=y, **look) for look, (x, y) in zip(looks, shown.traces, strict=True)
    ]
    legend = {"orientation": "h", "y": 1.02, "yanchor": "bottom"}
    layout = {**LAYOUT, "height": 320, "legend": legend,
              "xaxis": {**AXIS, "title": {"text": "minutes on the clock, stops left out"}},
              "yaxis": dict(AXIS)}  # fmt: skip
    figure = go.Figure(traces, layout)
    figure.update_layout(ranges(shown))
    return figure


def ranges(shown, old=None):
    """Return ranges of the axes that stay while the burn goes on inside them.

    Parameters
    ----------
    shown : WatchPlot
        What is shown.
    old : dict or None
        Present ends of the axes by name.
    """
    old = old or {}
    wide, deep = steady(shown.minutes, old.get("xaxis")), steady(shown.depth, old.get("yaxis"))
    title = {"text": f"depth below first touch, {shown.unit}"}
    return {"xaxis": {"range": [0, wide]}, "yaxis": {"range": [0, deep], "title": title}}


def change_watch(figure, shown):
    """Bring a figure up to date.

    Parameters
    ----------
    figure : Figure
        From `watch_figure`.
    shown : WatchPlot
        What it shall show.
    """
    old = {name: float(figure.layout[name].range[1]) for name in ("xaxis", "yaxis")}
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, shown.traces, strict=True):
            trace.x, trace.y = x, y
        figure.update_layout(ranges(shown, old))
