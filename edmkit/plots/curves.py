"""Answers against a knob: likely line, band, where the switch stands, what was pinned."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.style import AXIS, BAND, BLUE, INK, LAYOUT, ORANGE, ticks

PER_PLOT = 5  # traces of one plot: low, high, likely, present, pinned
LIKELY = 2
ON_TIME, CAPACITOR = "on-time, µs", "capacitor, µF"


@dataclass(frozen=True)
class Curve:
    """One answer against a knob: arrays over its positions, and the points that stand out.

    ``axis`` is the knob's name with its unit.
    """

    title: str
    knob: np.ndarray
    low: np.ndarray
    likely: np.ndarray
    high: np.ndarray
    present: tuple
    pinned: tuple | None = None
    axis: str = ON_TIME

    @property
    def said(self):
        """What stands beside a point of the line that is pointed at."""
        return f"%{{x:.3g}} {self.axis.split(', ')[1]}: %{{y:.3g}}<extra></extra>"

    @property
    def traces(self):
        """X and y of the five traces, in the order of the figure."""
        knob, nothing = self.knob, ((), ())
        marks = [((m[0],), (m[1],)) if m else nothing for m in (self.present, self.pinned)]
        return [(knob, self.low), (knob, self.high), (knob, self.likely), *marks]


def log_range(low, high, old=None):
    """Return an axis range for a logarithmic axis; the old one while it still holds the data.

    Parameters
    ----------
    low, high : array
        Lower and upper ends that must be seen.
    old : tuple or None
        Present range, as exponents of ten.
    """
    ends = np.concatenate([np.ravel(low), np.ravel(high)]).astype(float)
    ends = ends[np.isfinite(ends) & (ends > 0)]
    if not ends.size:
        return old or (0.0, 1.0)
    bottom, top = np.log10(ends.min()), np.log10(ends.max())
    if old and old[0] <= bottom and top <= old[1] and top - bottom > 0.4 * (old[1] - old[0]):
        return tuple(old)
    return (np.floor(bottom * 3) / 3 - 0.05, np.ceil(top * 3) / 3 + 0.05)


def _traces(curve):
    """Return the five traces of one plot as dicts."""
    line = {"mode": "lines", "hoverinfo": "skip", "line": {"width": 0, "color": BLUE}}
    styles = [
        line,
        {**line, "fill": "tonexty", "fillcolor": BAND},
        {
            "mode": "lines+markers",
            "line": {"width": 2.5, "color": BLUE},
            "marker": {"size": 6, "color": BLUE},
            "hovertemplate": curve.said,
        },
        {
            "mode": "markers",
            "hovertemplate": "set now: %{y:.3g}<extra></extra>",
            "marker": {"symbol": "diamond", "size": 15, "color": ORANGE,
                       "line": {"width": 2, "color": INK}},
        },
        {
            "mode": "markers",
            "hovertemplate": "pinned: %{y:.3g}<extra></extra>",
            "marker": {"symbol": "square-open", "size": 14, "color": INK,
                       "line": {"width": 3}},
        },
    ]  # fmt: skip
    return [{"x": x, "y": y, **s} for (x, y), s in zip(curve.traces, styles, strict=True)]


def axis_changes(curve, number, old_range=None):
    """Return what the y axis of a plot must become: its range, ticks and title."""
    span = log_range(curve.low, curve.high, old_range)
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    return {
        f"yaxis{number if number > 1 else ''}": {
            "range": span,
            "tickvals": values,
            "ticktext": texts,
        }
    }


def knob_axis(curve):
    """Return the range and the ticks of the axis of a curve's knob."""
    span = log_range(curve.knob, curve.knob)
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    return {"range": span, "tickvals": values, "ticktext": texts}


def curves_figure(upper, lower):
    """Return a figure of two answers, one above the other, against a knob.

    Parameters
    ----------
    upper, lower : Curve
        The two answers.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces 0-4 are the upper plot's, 5-9 the lower's; both axes logarithmic and fixed.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, shared_xaxes=True, vertical_spacing=0.1)
    for row, curve in enumerate((upper, lower), 1):
        for trace in _traces(curve):
            figure.add_trace(go.Scatter(trace), row=row, col=1)
        figure.add_annotation(
            text=curve.title, xref="paper", yref="paper", x=0, xanchor="left", showarrow=False,
            y=1.075 if row == 1 else 0.51, yanchor="top", font={"size": 14},
        )  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, height=520)
    figure.update_xaxes(AXIS, type="log", **knob_axis(upper))
    figure.update_xaxes(title_text=upper.axis, row=2, col=1)
    figure.update_yaxes(AXIS, type="log")
    for number, curve in enumerate((upper, lower), 1):
        figure.update_layout(axis_changes(curve, number))
    return figure
