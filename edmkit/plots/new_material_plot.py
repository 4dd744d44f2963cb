"""A new material beside a known one at the same positions, and its band closing trial by trial."""

from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, ticks

_HEIGHT = 330
_GREY = "rgba(120, 120, 120, 0.45)"
# What is drawn beside each other: name, colour, symbol, place beside the word.
KINDS = (
    ("known", INK, "circle", -0.22),
    ("new", BLUE, "diamond", 0.0),
    ("new, nothing learned", _GREY, "square-open", 0.22),
)


def beside_traces(rows):
    """Return x, y, lower and upper reach of the three kinds, over the known one's likely value.

    Parameters
    ----------
    rows : sequence of (word, Estimate, Estimate, Estimate)
        The known material, the new one, and the new one for an untrained shop.
    """
    traces = []
    for number, (*_, shift) in enumerate(KINDS):
        x, y, up, down = [], [], [], []
        for place, row in enumerate(rows):
            base, one = float(row[1].likely), row[1 + number]
            if one.likely != one.likely or base != base:
                continue
            likely = float(one.likely) / base
            x.append(place + shift)
            y.append(likely)
            up.append(float(one.high) / base - likely)
            down.append(likely - float(one.low) / base)
        traces.append((x, y, up, down))
    return traces


def beside_axes(rows, traces):
    """Return the changes of the layout: a scale that holds every band, words below.

    Parameters
    ----------
    rows : sequence
        As for `beside_traces`.
    traces : list
        From `beside_traces`.
    """
    ends = [(v - d, v + u) for _, y, up, down in traces
            for v, u, d in zip(y, up, down, strict=True)]  # fmt: skip
    low, high = (min(e[0] for e in ends), max(e[1] for e in ends)) if ends else (0.5, 2.0)
    span = log_range([low], [high])
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    return {
        "yaxis": {"range": span, "tickvals": values, "ticktext": texts},
        "xaxis": {"tickvals": list(range(len(rows))), "ticktext": [row[0] for row in rows],
                  "range": (-0.5, len(rows) - 0.5)},
    }  # fmt: skip


def beside_figure(rows):
    """Return the picture of two materials side by side.

    Parameters
    ----------
    rows : sequence
        As for `beside_traces`.

    Returns
    -------
    plotly.graph_objects.Figure
    """
    import plotly.graph_objects as go

    figure, traces = go.Figure(), beside_traces(rows)
    for (x, y, up, down), (name, colour, symbol, _) in zip(traces, KINDS, strict=True):
        figure.add_scatter(
            x=x, y=y, mode="markers", name=name, hoverinfo="skip",
            marker={"color": colour, "symbol": symbol, "size": 11},
            error_y={"type": "data", "array": up, "arrayminus": down, "symmetric": False,
                     "color": colour, "thickness": 2.5, "width": 5},
        )  # fmt: skip
    figure.update_layout(
        LAYOUT, height=_HEIGHT, legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0}
    )
    figure.update_xaxes(AXIS)
    figure.update_yaxes(AXIS, type="log", title={"text": "times the known material"})
    figure.update_layout(beside_axes(rows, traces))
    return figure


def change_beside(figure, rows):
    """Change the picture in place.

    Parameters
    ----------
    figure : FigureWidget
        Made from `beside_figure`.
    rows : sequence
        As for `beside_traces`.
    """
    traces = beside_traces(rows)
    with figure.batch_update():
        for trace, (x, y, up, down) in zip(figure.data, traces, strict=True):
            trace.x, trace.y = x, y
            trace.error_y.array, trace.error_y.arrayminus = up, down
        figure.update_layout(beside_axes(rows, traces))


def closing_figure(burned, planned):
    """Return the picture of a band that closes: its factor against the trials in the material.

    Parameters
    ----------
    burned, planned : sequence of (label, factor)
        As it is known after the burns so far; as it will be, if all is measured well.

    Returns
    -------
    plotly.graph_objects.Figure
    """
    import plotly.graph_objects as go

    figure = go.Figure()
    for name, colour, symbol, dash in (
        ("known so far", BLUE, "circle", "solid"),
        ("if these are burned", ORANGE, "diamond-open", "dot"),
    ):
        figure.add_scatter(mode="lines+markers", name=name, hoverinfo="skip",
                           line={"color": colour, "width": 2.5, "dash": dash},
                           marker={"symbol": symbol, "size": 10, "color": colour})  # fmt: skip
    figure.update_layout(
        LAYOUT,
        height=_HEIGHT - 50,
        legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0},
    )
    figure.update_xaxes(AXIS, title={"text": "burns in this material"})
    figure.update_yaxes(AXIS, type="log", title={"text": "minutes known to a factor of"})
    for trace, (x, y) in zip(figure.data, _steps(burned, planned), strict=True):
        trace.x, trace.y = x, y
    figure.update_layout(_closing_axes(burned, planned))
    return figure


def change_closing(figure, burned, planned):
    """Change the picture in place; parameters as for `closing_figure`.

    Parameters
    ----------
    figure : FigureWidget
        Made from `closing_figure`.
    burned, planned : sequence of (label, factor)
        As for `closing_figure`.
    """
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, _steps(burned, planned), strict=True):
            trace.x, trace.y = x, y
        figure.update_layout(_closing_axes(burned, planned))


def _steps(burned, planned):
    """Return x and y of both lines; the planned one starts where the other ends."""
    done = [factor for _, factor in burned]
    then = [done[-1], *(factor for _, factor in planned)] if planned else []
    first = len(done) - 1
    return (list(range(len(done))), done), (list(range(first, first + len(then))), then)


def _closing_axes(burned, planned):
    labels = [label for label, _ in (*burned, *planned)]
    top = max(factor for _, factor in (*burned, *planned))
    span = (0.0, log_range([1.0], [top])[1])
    values, texts = ticks(1.0, 10 ** span[1])
    return {
        "xaxis": {"tickvals": list(range(len(labels))), "ticktext": labels,
                  "range": (-0.4, max(len(labels) - 1, 1) + 0.4)},
        "yaxis": {"range": span, "tickvals": values, "ticktext": texts},
    }  # fmt: skip
