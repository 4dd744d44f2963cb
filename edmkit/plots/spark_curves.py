"""What one spark melts against its on-time: how wide and deep, and how much."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, GREEN, INK, LAYOUT, ORANGE, ticks

(RADIUS, DEPTH, VOLUME, NOW_RADIUS, NOW_DEPTH, NOW_VOLUME) = range(6)
_SIZES, _VOLUME = "Crater: radius (line), depth (dashes), {}", "Melted by one spark, {}³"


@dataclass(frozen=True)
class SparkCurves:
    """Radius, depth and volume in the shown unit against on-time [µs]; where the spark stands.

    ``amps`` is the current at each on-time, ``unit`` the unit of length, ``now`` the on-time,
    radius, depth and volume of the spark on the page.
    """

    on_time_us: np.ndarray
    amps: np.ndarray
    radius: np.ndarray
    depth: np.ndarray
    volume: np.ndarray
    now: tuple
    unit: str

    @property
    def best(self):
        """Number of the on-time that melts most of a given energy."""
        return int(np.argmax(self.volume))


def _put_axis(axis, values, fixed=False):
    """Set a logarithmic axis to hold some values; it stays where it still holds them."""
    old = None if fixed else axis.range
    span = log_range(values, values, old)
    if old is None or tuple(span) != tuple(old):
        marks, texts = ticks(10 ** span[0], 10 ** span[1])
        axis.update(range=span, tickvals=marks, ticktext=texts)


def change_spark_curves(figure, shown):
    """Put other curves into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `spark_curves_figure`.
    shown : SparkCurves
        What it becomes.
    """
    lines = (shown.radius, shown.depth, shown.volume)
    with figure.batch_update():
        for line, mark, values, now in zip(figure.data[:3], figure.data[3:], lines, shown.now[1:],
                                           strict=True):  # fmt: skip
            melts = values > 0
            line.x, line.y = shown.on_time_us[melts], values[melts]
            line.customdata = shown.amps[melts]
            mark.x, mark.y = ([shown.now[0]], [now]) if now > 0 else ([], [])
        sizes = np.concatenate([v[v > 0] for v in lines[:2]])
        _put_axis(figure.layout.yaxis, sizes)
        _put_axis(figure.layout.yaxis2, lines[2][lines[2] > 0])
        titles = (_SIZES.format(shown.unit), _VOLUME.format(shown.unit))
        for note, text in zip(figure.layout.annotations, titles, strict=True):
            note.text = text


def spark_curves_figure(shown):
    """Return the figure of what a spark melts against its on-time.

    Parameters
    ----------
    shown : SparkCurves
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `RADIUS` to `NOW_VOLUME`; change it by `change_spark_curves`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, shared_xaxes=True, vertical_spacing=0.12)
    said = "%{x:.3g} µs, %{customdata:.3g} A: %{y:.3g}<extra></extra>"
    looks = ((BLUE, "solid", 1), (GREEN, "dash", 1), (BLUE, "solid", 2))
    for colour, dash, row in looks:
        line = {"width": 2.5, "color": colour, "dash": dash}
        figure.add_trace(go.Scatter(mode="lines", line=line, hovertemplate=said), row=row, col=1)
    diamond = {"symbol": "diamond", "size": 14, "color": ORANGE, "line": {"width": 2, "color": INK}}
    for row in (1, 1, 2):
        mark = go.Scatter(mode="markers", marker=diamond,
                          hovertemplate="this spark: %{y:.3g}<extra></extra>")  # fmt: skip
        figure.add_trace(mark, row=row, col=1)
    for height in (1.085, 0.52):
        figure.add_annotation(text="", xref="paper", yref="paper", x=0, xanchor="left", y=height,
                              yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    margin = {**LAYOUT["margin"], "l": 74, "r": 24}
    figure.update_layout(LAYOUT, showlegend=False, height=500, margin=margin)
    figure.update_xaxes(AXIS, type="log")
    figure.update_yaxes(AXIS, type="log")
    figure.update_xaxes(title_text="on-time, µs", row=2, col=1)
    for axis in (figure.layout.xaxis, figure.layout.xaxis2):
        _put_axis(axis, shown.on_time_us, fixed=True)
    change_spark_curves(figure, shown)
    return figure
