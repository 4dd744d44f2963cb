"""Every setting of the machine: how rough against how long, and how much electrode."""

from dataclasses import dataclass

import numpy as np

from edmkit.finder.front import non_dominated
from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, GREEN, INK, LAYOUT, ORANGE, PALE, ticks

# Classes of wear by colour and by symbol; edges from the trade: well-chosen settings 3-4 %.
_CLASSES = (
    ("wear under 5 %", BLUE, "circle", 0.0, 5.0),
    ("5 to 15 %", GREEN, "diamond", 5.0, 15.0),
    ("over 15 %", ORANGE, "triangle-up", 15.0, np.inf),
)
FRONT, PRESENT, PINNED = 5, 6, 7  # traces after the wear classes, 'no figure' and 'asks too much'
POINTS = 5


@dataclass(frozen=True)
class TradeMap:
    """Flat arrays over every setting, in shown units, and which of them ask too much."""

    minutes: np.ndarray
    roughness: np.ndarray
    wear_percent: np.ndarray
    asks_too_much: np.ndarray
    labels: np.ndarray
    roughness_unit: str

    @property
    def groups(self):
        """Booleans of the five groups of points, each point in one of them."""
        wear, fine = self.wear_percent, ~self.asks_too_much
        by_wear = [fine & (wear >= low) & (wear < high) for *_, low, high in _CLASSES]
        return [*by_wear, fine & np.isnan(wear), self.asks_too_much]

    @property
    def front(self):
        """Minutes and roughness along the settings that no other beats in both."""
        asked = np.where(self.asks_too_much, np.nan, self.minutes)
        kept = np.flatnonzero(non_dominated(asked, self.roughness))
        kept = kept[np.argsort(self.minutes[kept])]
        return self.minutes[kept], self.roughness[kept]

    @property
    def traces(self):
        """x, y and setting number of the five groups, then x and y of the front."""
        points = [np.flatnonzero(group) for group in self.groups]
        return [(self.minutes[p], self.roughness[p], p) for p in points]


def limit_lines(most_minutes, most_roughness):
    """Return the dashed lines of the limits that were given (None: no limit)."""
    line = {"type": "line", "line": {"color": INK, "width": 1.5, "dash": "dash"}}
    lines = []
    if most_minutes is not None:
        x = {"x0": most_minutes, "x1": most_minutes, "xref": "x"}
        lines.append({**line, **x, "y0": 0, "y1": 1, "yref": "paper"})
    if most_roughness is not None:
        y = {"y0": most_roughness, "y1": most_roughness, "yref": "y"}
        lines.append({**line, **y, "x0": 0, "x1": 1, "xref": "paper"})
    return lines


def axes_of(points):
    """Return range, ticks and titles of both axes for a map."""
    spans = [log_range(v, v) for v in (points.minutes, points.roughness)]
    titles = "minutes for this hole", f"roughness Ra, {points.roughness_unit}"
    axes = {}
    for name, span, title in zip(("xaxis", "yaxis"), spans, titles, strict=True):
        values, texts = ticks(10 ** span[0], 10 ** span[1])
        axes[name] = {
            "range": span,
            "tickvals": values,
            "ticktext": texts,
            "title": {"text": title},
        }
    return axes


def trade_map_figure(points):
    """Return the map of every setting: Ra against minutes, wear by colour and symbol.

    Parameters
    ----------
    points : TradeMap
        Every setting.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces 0-4 the groups of points, 5 the front, 6 the present setting, 7 the pinned one.
    """
    import plotly.graph_objects as go

    names = [*(name for name, *_ in _CLASSES), "no wear figure", "asks too much of this end"]
    colours = [*(colour for _, colour, *_ in _CLASSES), INK, PALE]
    symbols = [*(symbol for _, _, symbol, *_ in _CLASSES), "x-thin-open", "circle-open"]
    figure = go.Figure()
    for (x, y, index), name, colour, symbol in zip(
        points.traces, names, colours, symbols, strict=True
    ):
        figure.add_scatter(
            x=x, y=y, customdata=index, text=points.labels[index], name=name, mode="markers",
            marker={"color": colour, "symbol": symbol, "size": 6 if colour == PALE else 8},
            hovertemplate="%{text}<extra></extra>", showlegend=len(index) > 0,
        )  # fmt: skip
    x, y = points.front
    figure.add_scatter(x=x, y=y, mode="lines", name="none better in both", hoverinfo="skip",
                       line={"color": INK, "width": 1.5, "shape": "hv"})  # fmt: skip
    for name, symbol, size in (("set now", "star", 20), ("pinned", "square-open", 15)):
        figure.add_scatter(
            x=[], y=[], mode="markers", name=name, hoverinfo="skip", showlegend=name == "set now",
            marker={"symbol": symbol, "size": size, "color": "white" if size == 20 else INK,
                    "line": {"width": 2.5, "color": INK}},
        )  # fmt: skip
    figure.update_layout(
        LAYOUT, height=500, legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0}
    )
    figure.update_layout(margin={"t": 64})
    figure.update_xaxes(AXIS, type="log")
    figure.update_yaxes(AXIS, type="log")
    figure.update_layout(axes_of(points))
    return figure
