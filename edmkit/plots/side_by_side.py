"""What one spark melts on its two sides, to one scale, and how both follow the on-time."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.crater_section import Bowl
from edmkit.plots.curves import log_range
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, ticks
from edmkit.words import three

(TOOL_POOL, WORK_POOL, SURFACES, WORDS, WORK_LINE, TOOL_LINE, NOW_WORK, NOW_TOOL, NAMES) = range(9)
_WIDTH, _HEIGHT = 440, 560  # pixels
_MARGIN = {"l": 74, "r": 14, "t": 10, "b": 46}
_SPLIT = (0.52, 1.0), (0.0, 0.345)  # of the height: the drawing, the curves
_SIDE, _UP = 1.0, 0.62  # of the drawing, over its scale: half as wide, as high above the surface
_PLOT = _WIDTH - _MARGIN["l"] - _MARGIN["r"], _HEIGHT - _MARGIN["t"] - _MARGIN["b"]
_TALL = 2 * _SIDE * _PLOT[1] * (_SPLIT[0][1] - _SPLIT[0][0]) / _PLOT[0]  # as the same scale has it


@dataclass(frozen=True)
class SideBySide:
    """Pools of both metals and the gap in the shown unit; melt volumes against on-time [µs].

    ``names`` of work and electrode; ``now`` is on-time and both volumes of the spark.
    """

    work: Bowl
    tool: Bowl
    gap: float
    on_time_us: np.ndarray
    work_volume: np.ndarray
    tool_volume: np.ndarray
    now: tuple
    names: tuple
    unit: str

    @property
    def size(self):
        """What the scale must hold, half the width or what lies below."""
        below = _TALL - _UP
        return max(1.15 * self.work.radius, 1.15 * self.tool.radius, self.work.depth / below * 1.5,
                   (self.gap + self.tool.depth) / _UP * 1.5)  # fmt: skip


def _pools(shown):
    """Return x and y of both pools, the electrode's upside down above the gap."""
    x, y = shown.tool.line
    return ((x, [shown.gap - v for v in y]), shown.work.line)


def change_side_by_side(figure, shown):
    """Put another spark into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `side_by_side_figure`.
    shown : SideBySide
        What it becomes.
    """
    layout, far = figure.layout, 1e4
    old = layout.xaxis.range[1] / _SIDE if layout.xaxis.range else None
    scale = steady(shown.size, old)
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data[:2], _pools(shown), strict=True):
            trace.x, trace.y = x, y
        gap = shown.gap
        figure.data[SURFACES].x = [-far, far, None, -far, far]
        figure.data[SURFACES].y = [0, 0, None, gap, gap]
        texts = _words(shown)
        figure.data[WORDS].x = [-0.97 * _SIDE * scale] * 2
        figure.data[WORDS].y = [(_UP - 0.09) * scale, (_UP - _TALL + 0.09) * scale]
        figure.data[WORDS].text = texts
        layout.shapes[0].update(y0=gap)
        if scale != old:
            layout.xaxis.update(range=(-_SIDE * scale, _SIDE * scale), dtick=marks(scale)[1])
            layout.yaxis.update(range=((_UP - _TALL) * scale, _UP * scale), dtick=marks(scale)[1])
        layout.xaxis.title.text = f"{shown.unit}, same scale both ways"
        _change_lines(figure, shown)


def _words(shown):
    """Return what stands in the electrode and in the work."""
    said = []
    for name, pool in zip(reversed(shown.names), (shown.tool, shown.work), strict=True):
        wide, deep = (f"{three(size)} {shown.unit}" for size in (2 * pool.radius, pool.depth))
        said.append(f"{name}: " + (f"melted {wide} wide, {deep} deep" if pool else "nothing melts"))
    return said


def _change_lines(figure, shown):
    volumes = (shown.work_volume, shown.tool_volume)
    for line, mark, values, now in zip((WORK_LINE, TOOL_LINE), (NOW_WORK, NOW_TOOL), volumes,
                                       shown.now[1:], strict=True):  # fmt: skip
        melts = values > 0
        figure.data[line].x, figure.data[line].y = shown.on_time_us[melts], values[melts]
        place = ([shown.now[0]], [now]) if now > 0 else ([], [])
        figure.data[mark].x, figure.data[mark].y = place
    ends = [(values[values > 0], name) for values, name in zip(volumes, shown.names, strict=True)]
    ends = [(v[-1], name) for v, name in ends if v.size]
    names = figure.data[NAMES]
    names.x, names.y = [shown.on_time_us[-1]] * len(ends), [v for v, _ in ends]
    names.text = [name for _, name in ends]
    every = np.concatenate([v[v > 0] for v in volumes])
    axis = figure.layout.yaxis2
    span = log_range(every, every, axis.range)
    if axis.range is None or tuple(span) != tuple(axis.range):
        values, texts = ticks(10 ** span[0], 10 ** span[1])
        axis.update(range=span, tickvals=values, ticktext=texts)
    figure.layout.annotations[0].text = f"Melted by one spark, {shown.unit}³"


def side_by_side_figure(shown):
    """Return the figure of both sides of a spark.

    Parameters
    ----------
    shown : SideBySide
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `TOOL_POOL` to `NAMES`; change it by `change_side_by_side`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1)
    pool = {"mode": "lines", "fill": "toself", "line": {"width": 2.5}, "hoverinfo": "skip"}
    line = {"mode": "lines", "hovertemplate": "%{x:.3g} µs: %{y:.3g}<extra></extra>"}
    diamond = {"symbol": "diamond", "size": 14, "color": ORANGE, "line": {"width": 2, "color": INK}}
    mark = {"mode": "markers", "marker": diamond,
            "hovertemplate": "this spark: %{y:.3g}<extra></extra>"}  # fmt: skip
    text = {"mode": "text", "hoverinfo": "skip", "textfont": {"size": 13, "color": INK}}
    styles = (
        ({**pool, "line": {"width": 2.5, "color": ORANGE}, "fillcolor": "#f6c7a3"}, 1),
        ({**pool, "line": {"width": 2.5, "color": BLUE}, "fillcolor": "#a9cfe8"}, 1),
        ({"mode": "lines", "line": {"width": 2.5, "color": INK}, "hoverinfo": "skip"}, 1),
        ({**text, "textposition": "middle right"}, 1),
        ({**line, "line": {"width": 2.5, "color": BLUE}}, 2),
        ({**line, "line": {"width": 2.5, "color": ORANGE, "dash": "dash"}}, 2),
        (mark, 2),
        (mark, 2),
        ({**text, "textposition": "top left", "cliponaxis": False}, 2),
    )
    for style, row in styles:
        figure.add_trace(go.Scatter(style), row=row, col=1)
    figure.add_annotation(text="", xref="paper", yref="paper", x=0, xanchor="left", y=0.41,
                          yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    block = {"type": "rect", "xref": "paper", "x0": 0, "x1": 1, "layer": "below",
             "line": {"width": 0}}  # fmt: skip
    figure.add_shape(block, y0=0, y1=1e4, yref="y", fillcolor="#e8d9c5")
    figure.add_shape(block, y0=-1e4, y1=0, yref="y", fillcolor="#e9ecef")
    figure.update_layout(LAYOUT, showlegend=False, autosize=False, width=_WIDTH, height=_HEIGHT,
                         margin=_MARGIN)  # fmt: skip
    figure.update_xaxes(AXIS, showgrid=False, row=1, col=1)
    figure.update_yaxes(AXIS, showgrid=False, domain=_SPLIT[0], row=1, col=1)
    figure.update_yaxes(AXIS, type="log", domain=_SPLIT[1], row=2, col=1)
    span = log_range(shown.on_time_us, shown.on_time_us)
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    figure.update_xaxes(AXIS, type="log", range=span, tickvals=values, ticktext=texts,
                        title_text="on-time, µs", row=2, col=1)  # fmt: skip
    change_side_by_side(figure, shown)
    return figure
