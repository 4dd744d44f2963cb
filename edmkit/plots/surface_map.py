"""A surface seen from above, and the section along a line through it."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, INK, LAYOUT, ORANGE, PALE
from edmkit.units import um
from edmkit.words import two

MAP, CUT, BOTTOM, SECTION, MEAN = range(5)
CLOSER = 4  # how much larger a part is drawn than the whole
_MOST = 256  # points sent on a side: more than the pixels they are drawn on
_WIDTH, _HEIGHT = 376, 590  # pixels, fixed: an equal scale must not follow the page's width
_MARGIN = {"l": 58, "r": 14, "t": 64, "b": 46}
_SIDE = _WIDTH - _MARGIN["l"] - _MARGIN["r"]  # pixels of the square map
_BELOW = _HEIGHT - _MARGIN["t"] - _MARGIN["b"] - _SIDE - 40  # pixels of the section
_INSIDE = _HEIGHT - _MARGIN["t"] - _MARGIN["b"]
# One hue from dark to light, evenly in lightness: deep is dark in grey too. ColorBrewer's Blues.
_HUE = ("#08306b", "#08519c", "#2171b5", "#4292c6", "#6baed6", "#9ecae1", "#c6dbef", "#deebf7",
        "#f7fbff")  # fmt: skip


@dataclass(frozen=True)
class SurfaceMap:
    """Heights above their mean and where they are cut, in the shown unit.

    ``heights`` (n, n), ``pixel`` the distance between two, ``row`` the one along which it is cut.
    """

    heights: np.ndarray
    pixel: float
    row: int
    unit: str

    @property
    def width(self):
        """Length of a side."""
        return self.pixel * len(self.heights)

    @property
    def section(self):
        """Places along the cut and the heights there, all of them."""
        return self.pixel * np.arange(len(self.heights)), self.heights[self.row]

    @property
    def thinned(self):
        """Distance and heights of the points sent, few enough; none is averaged."""
        every = -(-len(self.heights) // _MOST)
        some = self.heights[::every, ::every]
        return self.pixel * every, some.astype(np.float32)


def surface_map(surface, cut=0.5, per_um=1.0, unit="µm", around=None):
    """Return the map of a surface.

    Parameters
    ----------
    surface : Surface
        What is shown.
    cut : float
        Where it is cut: share of the height of the picture, 0 at the bottom to 1.
    per_um : float
        How many of the shown unit make a micrometre.
    unit : str
        Name of the shown unit.
    around : (int, int) or None
        Row and column in the middle of a quarter of each side, seen closer; None shows all.

    Returns
    -------
    SurfaceMap
    """
    factor, heights = per_um / um, surface.heights - surface.heights.mean()
    if around is not None:
        part = len(heights) // CLOSER  # the map repeats: what lies over the edge is on its far side
        rows, columns = ((middle - part // 2 + np.arange(part)) % len(heights) for middle in around)
        heights = heights[np.ix_(rows, columns)]
    row = round(cut * (len(heights) - 1))
    return SurfaceMap(factor * heights, factor * surface.pixel, row, unit)


def _fit_heights(figure, shown, fresh):
    """Bring the scale of heights to what must be in sight; return its end."""
    need = float(np.abs(shown.heights).max()) or 1.0  # a flat surface has no scale of its own
    old = figure.layout.yaxis2.range
    end = steady(need, old[1] if old and not fresh else None)
    ticks = marks(end)[::2]
    both = [-tick for tick in ticks[:0:-1]] + ticks
    figure.layout.yaxis2.update(range=(-end, end), tickvals=both)
    figure.data[MAP].update(zmin=-end, zmax=end, colorbar={"tickvals": both})
    return end


def _fit_places(layout, shown):
    ticks = marks(shown.width)
    for axis in (layout.xaxis, layout.xaxis2, layout.yaxis):
        axis.update(range=(0, shown.width), tickvals=ticks)
    layout.xaxis2.title.text = f"along the cut, {shown.unit}"
    layout.yaxis.title.text = layout.yaxis2.title.text = shown.unit


def change_surface_map(figure, shown, fresh=False):
    """Put another surface, or another cut, into the figure of a surface map.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `surface_map_figure`.
    shown : SurfaceMap
        What it becomes.
    fresh : bool
        True fits the scale of heights anew; False leaves it while the heights fill it.
    """
    layout, traces = figure.layout, figure.data
    with figure.batch_update():
        end = _fit_heights(figure, shown, fresh)
        if not layout.xaxis.range or layout.xaxis.range[1] != shown.width or fresh:
            _fit_places(layout, shown)
        # dx and dy, not x and y: in one message with the lines plotly would lose the map's y
        step, heights = shown.thinned
        traces[MAP].update(x0=0, dx=step, y0=0, dy=step, z=heights)
        _show_cut(figure, shown, end)


def _show_cut(figure, shown, end):
    side, at = (0.0, shown.width), shown.row * shown.pixel
    x, y = shown.section
    lines = ((side, (at, at)), (side, (-end, -end)), (x, y), (side, (0.0, 0.0)))
    for trace, (along, across) in zip(figure.data[CUT:], lines, strict=True):
        trace.update(x=along, y=across)
    larger = (_BELOW / (2 * end)) / (_SIDE / shown.width)
    figure.layout.annotations[0].text = (
        f'<span style="color:{ORANGE}"><b>The cut</b></span>, heights {two(larger)} times too '
        f'large, <span style="color:{ORANGE}">– – mean</span>'
    )
    figure.layout.annotations[1].text = f"From above: height over the mean, {shown.unit}"


def change_cut(figure, shown):
    """Cut the surface that is drawn along another line; the map itself is not sent again.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `surface_map_figure`, with this surface in it.
    shown : SurfaceMap
        The same surface with another row.
    """
    with figure.batch_update():
        _show_cut(figure, shown, figure.layout.yaxis2.range[1])


def surface_map_figure(shown):
    """Return the figure of a surface from above, the section along a line below it.

    Parameters
    ----------
    shown : SurfaceMap
        From `surface_map`.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `MAP` to `MEAN`; change it by `change_surface_map`.
    """
    import plotly.graph_objects as go

    below = {"xaxis": "x2", "yaxis": "y2", "hoverinfo": "skip", "mode": "lines"}
    bar = {"orientation": "h", "thickness": 12, "x": 0.5, "y": 1.0, "yanchor": "bottom",
           "len": 1.0, "ypad": 2, "ticks": "outside", "outlinewidth": 1}  # fmt: skip
    scale = [[n / (len(_HUE) - 1), colour] for n, colour in enumerate(_HUE)]
    figure = go.Figure(
        [
            go.Heatmap(colorscale=scale, colorbar=bar,
                       hovertemplate="height %{z:.3g}<extra></extra>"),
            go.Scatter(mode="lines", hoverinfo="skip", line={"color": ORANGE, "width": 2.5}),
            go.Scatter(below, line={"width": 0}),
            go.Scatter(below, line={"width": 1.5, "color": INK}, fill="tonexty",
                       fillcolor="#e9ecef"),
            go.Scatter(below, line={"width": 1.5, "color": ORANGE, "dash": "dash"}),
        ]
    )  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, autosize=False, margin=_MARGIN)
    figure.update_layout(width=_WIDTH, height=_HEIGHT)
    lowest, top = 1 - _SIDE / _INSIDE, _BELOW / _INSIDE
    figure.update_layout(
        xaxis={**AXIS, "showgrid": False, "anchor": "y", "showticklabels": False},
        yaxis={**AXIS, "showgrid": False, "domain": (lowest, 1.0), "anchor": "x"},
        xaxis2={**AXIS, "showgrid": False, "anchor": "y2"},
        yaxis2={**AXIS, "gridcolor": PALE, "domain": (0.0, top), "anchor": "x2"},
    )
    words = {"xref": "paper", "yref": "paper", "x": 0.0, "xanchor": "left", "showarrow": False}
    figure.add_annotation(words, y=top, yanchor="bottom")
    figure.add_annotation(words, y=1.0, yanchor="bottom", yshift=38)
    change_surface_map(figure, shown)
    return figure
