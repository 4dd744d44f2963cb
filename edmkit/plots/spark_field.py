"""The heat below one spark, to scale: its temperature in steps, frame by frame, and its times."""

import numpy as np

from edmkit.plots.scale import marks, steady
from edmkit.plots.spark_steps import BOTTOM, TOP, celsius
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE
from edmkit.units import us
from edmkit.words import three

(FIELD, SO_FAR, OTHER, MELTED, CRATER, SURFACE, SOURCE, LEADERS, DOTS, SWATCHES, LABELS, ABOVE,
 MELT, VAPOUR, NOW) = range(15)  # fmt: skip
COLOURS = ("#e9ecef", "#cfe8df", "#9cc8e4", "#f0a060", "#a63603")  # cold to boiling, ever darker
_WIDTH, _HEIGHT, _MARGIN = 340, 530, {"l": 44, "r": 32, "t": 10, "b": 46}  # pixels
_HIGHEST_GAP = 0.3  # over the scale, that leaves the other side room for words
_SHARE = (TOP - BOTTOM) / 2 * (_WIDTH - _MARGIN["l"] - _MARGIN["r"]) / (
    _HEIGHT - _MARGIN["t"] - _MARGIN["b"]
)  # fmt: skip
_STRIP = 0.19  # of the height
_ROWS, _ROW = -1.12, 0.165  # height of the first row of words and from row to row
_HEADS = (-0.84, -0.68, -0.52, -0.36)  # where the leaders come down to the words, by level
_FEET = (0.85, 0.65, 0.4, 0.1)  # and where they start, over the radius of the level


def _foot(field, places, level, share):
    """Return where a leader meets the line of a level, None where nothing is so hot."""
    x, y = places
    middle = len(x) // 2
    hot = np.flatnonzero(field[-1, middle:] >= level)
    if not hot.size:
        return None
    column = middle + int(share * hot[-1])
    row = np.flatnonzero(field[:, column] >= level)[0]  # the lowest that is so hot
    pair = slice(max(row - 1, 0), row + 1)
    return -float(x[column]), float(np.interp(level, field[pair, column], y[pair]))


def _feet(shown, number):
    """Return where the leader of each row of words begins, None where it has none now."""
    if not shown.frozen(number):
        field = shown.steps[number]
        return [_foot(field, shown.places, n + 1, share) for n, share in enumerate(_FEET)]
    field = shown.so_far[number]
    feet = [_foot(field, shown.places, n + 1, _FEET[n]) for n in (0, 1)]
    for bowl, share in zip(shown.bowls, _FEET[2:], strict=True):
        x = -share * bowl.radius
        feet.append((x, -float(bowl.below(x))))
    return feet


def _leaders(shown, number):
    scale, lines, dots = shown.scale, [], []
    for level, foot in enumerate(_feet(shown, number)):
        if foot is None:
            continue
        head, end = _HEADS[level] * scale, _ROWS - (3 - level) * _ROW
        lines += [foot, (head, (_ROWS + 0.1) * scale), (head, end * scale), (None, None)]
        dots.append(foot)
    return lines, dots


def _words_below(shown, number):
    """Return the words of the rows, from the coolest level to the hottest."""
    words = list(shown.levels[1])
    if not shown.frozen(number):
        return words
    film, unit = shown.film, shown.unit
    past = ("softened", film.tempered_depth[-1]), ("hardened again", film.rehardened_depth[-1])
    for place, ((name, depth), (_, limit)) in enumerate(zip(past, shown.limits, strict=True)):
        deep = f"{name}, to {three(shown.shown(depth))} {unit}"
        words[place] = f"was above {celsius(limit)}" if np.isnan(depth) else deep
    melted, crater = (three(bowl.depth) for bowl in shown.bowls)
    return [*words[:2], f"melted, to {melted} {unit}", f"crater, {crater} {unit} deep"]


def _words_above(shown, number):
    film, unit = shown.film, shown.unit
    gap = f"{shown.other} {three(shown.shown(shown.gap))} {unit} above"
    if film.source_radius[number] > 0:
        reach = three(shown.shown(film.source_radius[number]))
        return [f"spark's heat, to {reach} {unit} from the middle", gap]
    if shown.frozen(number):
        return ["what is left of the melt has frozen", gap]
    return ["the spark is out, the metal cools", gap]


def _lines(shown, number):
    """Return x and y of every line that changes from frame to frame, by trace."""
    reach = shown.shown(shown.film.source_radius[number])
    nothing = ((), ())
    melted, crater = (bowl.line for bowl in shown.bowls) if shown.frozen(number) else (nothing,) * 2
    lines, dots = _leaders(shown, number)
    time = shown.film.times[number] / us
    return {
        MELTED: melted,
        CRATER: crater,
        SOURCE: ([-reach, reach], [0, 0]) if reach > 0 else nothing,
        LEADERS: tuple(zip(*lines, strict=True)) or nothing,
        DOTS: tuple(zip(*dots, strict=True)) or nothing,
        NOW: ([time, time], [0, 1]),
    }


def change_spark_field(figure, shown, number, fresh=False):
    """Put another frame, or another film, into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `spark_field_figure`.
    shown : SparkField
        What it shows.
    number : int
        Which frame.
    fresh : bool
        True also puts in what stays through the film: axes, words and the times.
    """
    with figure.batch_update():
        if fresh:
            _put_film(figure, shown)
        figure.data[FIELD].z, figure.data[SO_FAR].z = shown.steps[number], shown.so_far[number]
        for trace, (x, y) in _lines(shown, number).items():
            figure.data[trace].x, figure.data[trace].y = x, y
        figure.data[ABOVE].text = _words_above(shown, number)
        figure.data[LABELS].text = _words_below(shown, number)
        last = "white" if shown.frozen(number) else COLOURS[4]
        figure.data[SWATCHES].marker.color = (*COLOURS[1:4], last)


def _put_film(figure, shown):
    scale, layout = shown.scale, figure.layout
    far, gap = 100 * scale, shown.shown(shown.gap)
    fits = gap <= _HIGHEST_GAP * scale
    other = figure.data[OTHER]
    other.x, other.y = ([-far, far, far, -far], [gap, gap, far, far]) if fits else ((), ())
    for trace in (FIELD, SO_FAR):
        figure.data[trace].x, figure.data[trace].y = shown.places
    figure.data[SURFACE].x, figure.data[SURFACE].y = [-far, far], [0, 0]
    heads, rows = np.array(_HEADS) * scale, (_ROWS - np.arange(3, -1, -1) * _ROW) * scale
    figure.data[SWATCHES].x, figure.data[SWATCHES].y = heads, rows
    figure.data[LABELS].x, figure.data[LABELS].y = heads + 0.06 * scale, rows
    # in the gap where it is wide enough, else clear above its line
    lower = 0.55 * gap if fits and gap > 0.16 * scale else 0.24 * scale
    figure.data[ABOVE].x, figure.data[ABOVE].y = [-0.95 * scale] * 2, [lower, 0.41 * scale]
    layout.xaxis.range, layout.yaxis.range = (-scale, scale), (BOTTOM * scale, TOP * scale)
    across = marks(scale)
    layout.xaxis.tickvals = [*(-v for v in across[:0:-1]), *across]
    layout.yaxis.tickvals = [*(-v for v in across[:0:-1]), *(v for v in across if v < TOP * scale)]
    layout.xaxis.title.text = f"{shown.unit}, same scale both ways"
    _put_times(figure, shown)


def _put_times(figure, shown):
    film, layout = shown.film, figure.layout
    times, depths = film.times / us, shown.shown(film.melt_depth)
    figure.data[MELT].x, figure.data[MELT].y = times, depths
    figure.data[VAPOUR].x, figure.data[VAPOUR].y = times, 100 * film.vapour_share
    top = steady(1.1 * max(depths.max(), 1e-3 * shown.scale))
    layout.xaxis2.update(range=(0, times[-1]), tickvals=marks(times[-1]))
    layout.yaxis2.update(range=(0, top), tickvals=marks(top))
    layout.annotations[0].text = f"molten, {shown.unit} deep"


def _styles():
    """Return the look of each trace, in order."""
    cuts = {"start": 1, "end": 4, "size": 1, "coloring": "fill"}
    scale = [[n / 4, colour] for n, colour in enumerate(COLOURS)]
    mark = {"mode": "markers", "cliponaxis": False}
    words = {"mode": "text", "textposition": "middle right", "textfont": {"size": 12}}
    square = {"symbol": "square", "size": 13, "color": COLOURS[1:], "line": {"width": 1}}
    return {
        FIELD: {"type": "contour", "contours": cuts, "colorscale": scale, "zmin": 0.5, "zmax": 4.5,
                "line": {"color": INK, "width": 1}},
        SO_FAR: {"type": "contour", "contours": {**cuts, "start": 1, "end": 3, "coloring": "none"},
                 "line": {"color": INK, "width": 2, "dash": "dash"}},
        OTHER: {"fill": "toself", "fillcolor": "#e8d9c5", "line": {"color": INK, "width": 2}},
        MELTED: {"line": {"color": ORANGE, "width": 2.5}, "fill": "toself",
                 "fillcolor": "#f6c7a3"},
        CRATER: {"line": {"color": INK, "width": 2.5}, "fill": "toself", "fillcolor": "white"},
        SURFACE: {"line": {"color": INK, "width": 2.5}},
        SOURCE: {"line": {"color": ORANGE, "width": 6, "dash": "dot"}},
        LEADERS: {"line": {"color": INK, "width": 1}},
        DOTS: {**mark, "marker": {"size": 6, "color": INK}},
        SWATCHES: {**mark, "marker": square},
        LABELS: words,
        ABOVE: words,
        MELT: {"line": {"color": ORANGE, "width": 2.5}, "xaxis": "x2", "yaxis": "y2"},
        VAPOUR: {"line": {"color": BLUE, "width": 2.5, "dash": "dot"}, "xaxis": "x2",
                 "yaxis": "y3"},
        NOW: {"line": {"color": INK, "width": 2}, "xaxis": "x2", "yaxis": "y4"},
    }  # fmt: skip


def spark_field_figure(shown, number=0):
    """Return the figure of a spark's film at one of its frames.

    Parameters
    ----------
    shown : SparkField
        What it shows.
    number : int
        Which frame.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `FIELD` to `NOW`; change it by `change_spark_field`.
    """
    import plotly.graph_objects as go

    plain = {"type": "scatter", "mode": "lines", "hoverinfo": "skip"}
    quiet = {"showscale": False, "hoverinfo": "skip"}
    figure = go.Figure([
        {**(quiet if style.get("type") == "contour" else plain), **style}
        for style in _styles().values()
    ])  # fmt: skip
    # A fixed size: plotly's own equal scales grow with each change of width and stay grown.
    figure.update_layout(LAYOUT, showlegend=False, autosize=False)
    figure.update_layout(width=_WIDTH, height=_HEIGHT, margin=_MARGIN)
    lower = {"domain": (0, _STRIP), "anchor": "x2"}
    axes = {
        "xaxis": {"anchor": "y"},
        "yaxis": {"domain": (1 - _SHARE, 1), "showgrid": False},
        "xaxis2": {"anchor": "y2", "title_text": "µs since the spark began"},
        "yaxis2": lower,
        "yaxis3": {**lower, "overlaying": "y2", "side": "right", "range": (0, 100),
                   "tickvals": [0, 50, 100]},
        "yaxis4": {**lower, "overlaying": "y2", "range": (0, 1), "visible": False},
    }  # fmt: skip
    figure.update_layout({name: {**AXIS, "showgrid": False, **axis} for name, axis in axes.items()})
    metal = {"type": "rect", "xref": "paper", "x0": 0, "x1": 1, "y0": -1e6, "y1": 0,
             "layer": "below", "line": {"width": 0}, "fillcolor": COLOURS[0]}  # fmt: skip
    figure.add_shape(metal)
    place = {"xref": "paper", "yref": "paper", "y": _STRIP + 0.01, "yanchor": "bottom",
             "showarrow": False}  # fmt: skip
    figure.add_annotation(
        place, x=0, xanchor="left", xshift=-36, font={"color": ORANGE, "size": 12}
    )
    vapour = {"text": "dotted: heat gone as vapour, %", "font": {"color": BLUE, "size": 12}}
    figure.add_annotation(place, x=1, xanchor="right", xshift=26, **vapour)
    change_spark_field(figure, shown, number, fresh=True)
    return figure
