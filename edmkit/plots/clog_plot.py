"""A line that fills with soot and is reversed: flow and arcs over the minutes."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE

FLOW, NOW_FLOW, ARCS, NOW_ARCS, TURN, TURN_ARCS = range(6)


@dataclass(frozen=True)
class ClogPlot:
    """Flow [ml/min] and arcs of a hundred sparks over time [min]; when the flow is turned."""

    minutes: np.ndarray
    flow_ml_per_min: np.ndarray
    arcs_of_100: np.ndarray
    turned_min: float

    def at(self, minutes):
        """Return flow and arcs at a time."""
        return tuple(float(np.interp(minutes, self.minutes, line))
                     for line in (self.flow_ml_per_min, self.arcs_of_100))  # fmt: skip


def change_clog_plot(figure, shown, now_min, fresh=False):
    """Put another story, or another time of it, into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `clog_plot_figure`.
    shown : ClogPlot
        What it shows.
    now_min : float
        Where the mark stands [min].
    fresh : bool
        True also puts the lines in; False moves the mark only.
    """
    flow, arcs = shown.at(now_min)
    with figure.batch_update():
        for trace, value in ((NOW_FLOW, flow), (NOW_ARCS, arcs)):
            figure.data[trace].x, figure.data[trace].y = [now_min], [value]
        if fresh:
            tops = (steady(1.1 * shown.flow_ml_per_min.max()), 100.0)
            lines = ((FLOW, TURN, shown.flow_ml_per_min), (ARCS, TURN_ARCS, shown.arcs_of_100))
            for (trace, turn, values), top in zip(lines, tops, strict=True):
                figure.data[trace].x, figure.data[trace].y = shown.minutes, values
                figure.data[turn].x, figure.data[turn].y = [shown.turned_min] * 2, [0, top]
            end = float(shown.minutes[-1])
            figure.layout.yaxis.update(range=(0, tops[0]), tickvals=marks(tops[0]))
            for axis in (figure.layout.xaxis, figure.layout.xaxis2):
                axis.update(range=(0, end), tickvals=marks(end))


def clog_plot_figure(shown):
    """Return the figure of a clogging line, the mark at the start.

    Parameters
    ----------
    shown : ClogPlot
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `FLOW` to `TURN_ARCS`; change it by `change_clog_plot`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, shared_xaxes=True, vertical_spacing=0.14)
    line = {"mode": "lines", "line": {"width": 2.5, "color": BLUE}, "hoverinfo": "skip"}
    diamond = {"symbol": "diamond", "size": 15, "color": ORANGE, "line": {"width": 2, "color": INK}}
    mark = {"mode": "markers", "cliponaxis": False, "marker": diamond}
    turn = {"mode": "lines", "line": {"width": 2, "color": INK, "dash": "dot"}, "hoverinfo": "skip"}
    for style, row in ((line, 1), (mark, 1), (line, 2), (mark, 2), (turn, 1), (turn, 2)):
        figure.add_trace(go.Scatter(style), row=row, col=1)
    titles = ("Flow, ml a minute; dotted: the flow is reversed", "Arcs, of 100 sparks")
    for text, height in zip(titles, (1.09, 0.5), strict=True):
        figure.add_annotation(text=text, xref="paper", yref="paper", x=0, xanchor="left", y=height,
                              yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, height=440)
    figure.update_xaxes(AXIS, showgrid=False)
    figure.update_yaxes(AXIS)
    figure.update_xaxes(title_text="minutes of burning", row=2, col=1)
    figure.update_yaxes(range=(0, 100), tickvals=[0, 25, 50, 75, 100], row=2, col=1)
    change_clog_plot(figure, shown, 0.0, fresh=True)
    return figure
