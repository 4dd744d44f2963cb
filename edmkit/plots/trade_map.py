"""Every setting of the machine: how rough against how long, how much electrode, how surely."""

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
# Classes of chance by shade and by symbol; their edges hang on the chance asked for.
_SHADES = (("#00365c", "circle"), ("#4f9fcf", "diamond"), ("#a9cfe6", "triangle-down"))
FRONT, PRESENT, PINNED, BEST = 5, 6, 7, 8  # traces after the groups of points
POINTS = 5


@dataclass(frozen=True)
class TradeMap:
    """Flat arrays over every setting, in shown units, and which of them are left out.

    With ``chance``, that of the limits, points are grouped by it at the ``level`` asked for;
    else by wear. ``best`` marks those no other beats in minutes, roughness and wear.
    """

    minutes: np.ndarray
    roughness: np.ndarray
    wear_percent: np.ndarray
    left_out: np.ndarray
    labels: np.ndarray
    roughness_unit: str
    best: np.ndarray
    chance: np.ndarray | None = None
    level: float = 0.5

    @property
    def groups(self):
        """Booleans of the five groups of points, each point in one of them."""
        taken = ~self.left_out
        if self.chance is not None:
            sure, half = self.chance >= self.level - 1e-9, self.chance >= self.level / 2
            by_chance = [taken & sure, taken & half & ~sure, taken & ~half]
            return [*by_chance, np.zeros_like(taken), self.left_out]
        wear = self.wear_percent
        by_wear = [taken & (wear >= low) & (wear < high) for *_, low, high in _CLASSES]
        return [*by_wear, taken & np.isnan(wear), self.left_out]

    @property
    def looks(self):
        """Name, colour and symbol of the five groups."""
        if self.chance is None:
            looks = [look[:3] for look in _CLASSES]
        else:
            sure, half = f"{100 * self.level:.0f}", f"{50 * self.level:.0f}"
            names = (f"{sure} % sure or more", f"{half} to {sure} %", f"under {half} %")
            looks = [(name, *shade) for name, shade in zip(names, _SHADES, strict=True)]
        return [*looks, ("no wear figure", INK, "x-thin-open"), ("left out", PALE, "circle-open")]

    @property
    def front(self):
        """Minutes and roughness along the settings that no other beats in both."""
        asked = np.where(self.left_out, np.nan, self.minutes)
        kept = np.flatnonzero(non_dominated(asked, self.roughness))
        kept = kept[np.argsort(self.minutes[kept], kind="stable")]
        return self.minutes[kept], self.roughness[kept]

    @property
    def traces(self):
        """x, y and setting number of the five groups."""
        points = [np.flatnonzero(group) for group in self.groups]
        return [(self.minutes[p], self.roughness[p], p) for p in points]

    @property
    def changes(self):
        """What each of the five groups' traces is set to."""
        return [
            {
                "x": x, "y": y, "customdata": index, "text": self.labels[index], "name": name,
                "showlegend": len(index) > 0,
                "marker": {"color": colour, "symbol": symbol, "size": 6 if colour == PALE else 8},
            }
            for (x, y, index), (name, colour, symbol) in zip(self.traces, self.looks, strict=True)
        ]  # fmt: skip


def limit_lines(most_roughness):
    """Return the dashed line of the most roughness, if there is one."""
    if most_roughness is None:
        return []
    line = {"color": INK, "width": 1.5, "dash": "dash"}
    ends = {"x0": 0, "x1": 1, "xref": "paper", "y0": most_roughness, "y1": most_roughness}
    return [{"type": "line", "line": line, **ends, "yref": "y"}]


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
    """Return the map of every setting: Ra against minutes, wear or chance by shade and symbol.

    Parameters
    ----------
    points : TradeMap
        Every setting.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces 0-4 the groups of points, 5 the front, 6 the present setting, 7 the pinned one,
        8 rings around those that no other beats in minutes, roughness and wear.
    """
    import plotly.graph_objects as go

    figure = go.Figure()
    for change in points.changes:
        figure.add_scatter(mode="markers", hovertemplate="%{text}<extra></extra>", **change)
    x, y = points.front
    figure.add_scatter(x=x, y=y, mode="lines", name="none better in both", hoverinfo="skip",
                       line={"color": INK, "width": 1.5, "shape": "hv"})  # fmt: skip
    for name, symbol, size in (("set now", "star", 20), ("pinned", "square-open", 15)):
        figure.add_scatter(
            x=[], y=[], mode="markers", name=name, hoverinfo="skip", showlegend=name == "set now",
            marker={"symbol": symbol, "size": size, "color": "white" if size == 20 else INK,
                    "line": {"width": 2.5, "color": INK}},
        )  # fmt: skip
    figure.add_scatter(
        x=points.minutes[points.best], y=points.roughness[points.best], mode="markers",
        name="nor in wear either", hoverinfo="skip",
        marker={"symbol": "circle-open", "size": 12, "color": INK, "line": {"width": 1}},
    )  # fmt: skip
    figure.update_layout(
        LAYOUT, height=500, legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0}
    )
    figure.update_layout(margin={"t": 84})
    figure.update_xaxes(AXIS, type="log")
    figure.update_yaxes(AXIS, type="log")
    figure.update_layout(axes_of(points))
    return figure
