"""The range between clogging and starving, over the flow, with the place of the present setting."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BAND, BLUE, INK, LAYOUT, ORANGE, ticks

RANGE, CLOGS, STARVES, STRONGEST, PRESENT = range(5)
WORDS = ("too little flow:<br>debris clogs the gap", "too much flow:<br>sparks starve")


@dataclass(frozen=True)
class FlushingMap:
    """Edges of the range and the present point.

    Flows in ml/min where the gap ``clogs`` and ``starves``, for the ``heights`` [unit of
    ``title``]; ``present`` is a flow and a height with their bands: (likely, low, high) each.
    ``strongest`` is the flow that the strongest drive gives, with its words, or None.
    """

    title: str
    heights: np.ndarray
    clogs: np.ndarray
    starves: np.ndarray
    present: tuple
    strongest: tuple | None = None

    @property
    def traces(self):
        """X and y of the traces, in their order."""
        around = (np.concatenate([self.clogs, self.starves[::-1]]),
                  np.concatenate([self.heights, self.heights[::-1]]))  # fmt: skip
        flow, height = (part[0] for part in self.present)
        limit = ((), ())
        if self.strongest:
            limit = ([self.strongest[0]] * 2, [self.heights.min(), self.heights.max()])
        edges = ((self.clogs, self.heights), (self.starves, self.heights))
        return (around, *edges, limit, ([flow], [height]))


def _bars(part):
    likely, low, high = part
    return {"type": "data", "symmetric": False, "array": [high - likely],
            "arrayminus": [likely - low], "thickness": 2, "color": INK}  # fmt: skip


def _axis(values, old=None):
    """Return what a logarithmic axis that must hold these values is to become."""
    span = log_range(values, values, old)
    places, texts = ticks(10 ** span[0], 10 ** span[1])
    return {"range": span, "tickvals": places, "ticktext": texts}


def change_flushing_map(figure, shown, fresh=False):
    """Put another map into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `flushing_map_figure`.
    shown : FlushingMap
        What it becomes.
    fresh : bool
        True fits the axes anew; False leaves them while they hold the map.
    """
    layout = figure.layout
    flows = np.concatenate([shown.clogs, shown.starves, shown.present[0]])
    heights = np.concatenate([shown.heights, shown.present[1]])
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, shown.traces, strict=True):
            trace.x, trace.y = x, y
        point = figure.data[PRESENT]
        point.error_x, point.error_y = (_bars(part) for part in shown.present)
        layout.xaxis.update(_axis(flows, None if fresh else layout.xaxis.range))
        layout.yaxis.update(_axis(heights, None if fresh else layout.yaxis.range))
        layout.yaxis.title.text = shown.title
        said = shown.strongest
        layout.annotations[2].update(
            text=said[1] if said else "", x=np.log10(said[0]) if said else 0.0, visible=bool(said)
        )


def flushing_map_figure(shown):
    """Return the figure of a map.

    Parameters
    ----------
    shown : FlushingMap
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `RANGE` to `PRESENT`; change it by `change_flushing_map`.
    """
    import plotly.graph_objects as go

    edge = {"mode": "lines", "hoverinfo": "skip", "line": {"width": 2.5, "color": BLUE}}
    styles = (
        {"mode": "lines", "fill": "toself", "fillcolor": BAND, "line": {"width": 0},
         "hoverinfo": "skip"},
        edge,
        {**edge, "line": {**edge["line"], "dash": "dash"}},
        {**edge, "line": {"width": 2, "color": INK, "dash": "dot"}},
        {"mode": "markers", "marker": {"symbol": "diamond", "size": 15, "color": ORANGE,
                                       "line": {"width": 2, "color": INK}},
         "hovertemplate": "now: %{x:.3g} ml/min, %{y:.3g}<extra></extra>"},
    )  # fmt: skip
    figure = go.Figure([go.Scatter(style) for style in styles])
    places = ({"x": 0.01, "y": 0.98, "xanchor": "left", "yanchor": "top"},
              {"x": 0.99, "y": 0.02, "xanchor": "right", "yanchor": "bottom"})  # fmt: skip
    for words, place in zip(WORDS, places, strict=True):
        figure.add_annotation(
            place, text=words, xref="paper", yref="paper", showarrow=False, font={"size": 14},
            align="left", bgcolor="white",
        )  # fmt: skip
    figure.add_annotation(xref="x", yref="paper", y=1.0, yanchor="bottom", showarrow=False)
    figure.update_layout(LAYOUT, showlegend=False, height=400)
    figure.update_xaxes(AXIS, type="log", title_text="flow through the gap, ml a minute")
    figure.update_yaxes(AXIS, type="log", title_text=shown.title)
    change_flushing_map(figure, shown)
    return figure
