"""A filed insert against its filing depth: the fin it leaves, the resistance of its flats."""

from dataclasses import dataclass
from math import log10

import numpy as np
import plotly.graph_objects as go

from edmkit.flushing.two_cups import RULE
from edmkit.plots.scale import steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, ticks

FIN, SNAPS, SHARE, RULED, CHOSEN_FIN, CHOSEN_SHARE = range(6)
LEAST, MOST = 1e-3, 100.0  # of the flats' resistance over the gap's: the scale's ends
_ROOM = 1.06  # what a scale has beyond its data


@dataclass(frozen=True)
class InsertTrade:
    """What the plot shows, in the shown unit of length; ``chosen`` is a filing depth."""

    depths: np.ndarray
    fin: np.ndarray
    share: np.ndarray
    snaps: float
    chosen: float
    unit: str

    @property
    def traces(self):
        """X and y of each trace."""
        ends, at = [0.0, float(self.depths[-1]) * _ROOM], [self.chosen]
        fin = np.interp(self.chosen, self.depths, self.fin)
        share = np.exp(np.interp(self.chosen, self.depths, np.log(self.share)))
        return (
            (self.depths, self.fin),
            (ends, [self.snaps] * 2),
            (self.depths, np.clip(self.share, LEAST, MOST)),
            (ends, [RULE] * 2),
            (at, [float(fin)]),
            (at, [float(np.clip(share, LEAST, MOST))]),
        )


def insert_trade(line, snaps_mm, chosen_mm, per_mm=1.0, unit="mm"):
    """Return what the plot shows for one number of flats, as an `InsertTrade`.

    Parameters
    ----------
    line : Line
        From `flushing.filing_trade.trade`.
    snaps_mm, chosen_mm : float
        Thickness below which a fin snaps off, and the filing depth to mark [mm].
    per_mm : float
        How many of the shown unit make a millimetre.
    unit : str
        Name of the shown unit.
    """
    return InsertTrade(line.depths_mm * per_mm, line.fin_mm * per_mm, line.share,
                       snaps_mm * per_mm, chosen_mm * per_mm, unit)  # fmt: skip


def insert_trade_figure(shown):
    """Return the figure of a trade.

    Parameters
    ----------
    shown : InsertTrade
        What it shows.
    """
    looks = (
        ("fin left", BLUE, "solid", "y"),
        ("below: snaps off", INK, "dash", "y"),
        ("flats over gap", ORANGE, "solid", "y2"),
        ("0.3 at most", INK, "dash", "y2"),
        ("chosen", INK, None, "y"),
        ("chosen", INK, None, "y2"),
    )
    traces = [
        go.Scatter(
            x=x, y=y, name=name, yaxis=axis, xaxis="x2" if axis == "y2" else "x",
            mode="lines" if dash else "markers",
            line={"color": colour, "dash": dash, "width": 2.5} if dash else None,
            marker=None if dash else {"color": colour, "size": 12, "symbol": "diamond"},
        )
        for (name, colour, dash, axis), (x, y) in zip(looks, shown.traces, strict=True)
    ]  # fmt: skip
    values, texts = ticks(LEAST, MOST)
    layout = {
        **LAYOUT, "height": 430, "showlegend": False,
        "margin": {"l": 66, "r": 14, "t": 30, "b": 48},
        "xaxis": {**AXIS, "anchor": "y", "showticklabels": False, "ticks": ""},
        "yaxis": {**AXIS, "domain": [0.56, 1]},
        "xaxis2": {**AXIS, "anchor": "y2"},
        "yaxis2": {**AXIS, "domain": [0, 0.44], "type": "log", "tickvals": values,
                   "ticktext": texts, "range": [log10(LEAST), log10(MOST)],
                   "title": {"text": "flats over gap"}},
    }  # fmt: skip
    figure = go.Figure(traces, layout)
    figure.update_layout({**_ranges(shown), "annotations": _words(shown)})
    return figure


def _ranges(shown, old=None):
    """Return ranges that stay while the data move inside them."""
    old = old or {}
    wide = [0, float(shown.depths[-1]) * _ROOM]
    tall = steady(max(float(shown.fin[-1]), _snaps_in_sight(shown), 1e-6), old.get("yaxis"))
    return {
        "xaxis": {"range": wide},
        "xaxis2": {"range": wide, "title": {"text": f"filed off each flat, {shown.unit}"}},
        "yaxis": {"range": [0, tall], "title": {"text": f"fin, {shown.unit} thick"}},
    }


def _snaps_in_sight(shown):
    """Return what the scale needs for the limit of snapping, 0 where it is far above all fins."""
    need = 1.3 * shown.snaps
    return need if need < 3 * float(shown.fin[-1]) else 0.0


def _words(shown):
    """Return the words that stand in the figure; they move with their lines."""

    def said(text, x, y, axis="", place="paper", **more):
        return {"text": text, "x": x, "y": y, "showarrow": False, "xanchor": "left",
                "xref": f"x{axis} domain", "yref": place, **more}  # fmt: skip

    line = {"bgcolor": "rgba(255, 255, 255, 0.8)", "yanchor": "bottom"}
    snaps = ("thinner than this: snaps off", 0.03, shown.snaps, "", "y")
    if not _snaps_in_sight(shown):
        snaps = ("each of these snaps off", 0.03, 0.9, "", "paper")
    ruled = (f"dashed, {RULE:g}: below it the gap meters the flow", 0.97, 0.39, "2", "paper")
    return [
        said("What stays standing under a flat", 0, 1.075),
        said("What the flats hold back, over what the gap does", 0, 0.515),
        said(*snaps, **line),
        said(*ruled, **{**line, "xanchor": "right"}),
    ]


def change_insert_trade(figure, shown):
    """Bring a figure up to date.

    Parameters
    ----------
    figure : Figure
        From `insert_trade_figure`.
    shown : InsertTrade
        What it shall show.
    """
    old = {"yaxis": float(figure.layout.yaxis.range[1])}
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, shown.traces, strict=True):
            trace.x, trace.y = x, y
        figure.update_layout({**_ranges(shown, old), "annotations": _words(shown)})
