"""Measured burns beside what was expected of them, before any trial and now; and their drift."""

from html import escape
from math import exp

from edmkit.estimate import BAND
from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, ticks
from edmkit.words import three

_BEFORE, _AFTER = "rgba(120, 120, 120, 0.30)", "rgba(0, 114, 178, 0.45)"
_MARKS = {  # how a burn is drawn: symbol, colour, name
    "learned from": ("circle", BLUE, "measured"),
    "doubted": ("diamond", ORANGE, "measured, doubted"),
    "set aside": ("x", INK, "set aside: a state that lasted"),
}
_HEIGHT = 330


def _hover(number, one, unit):
    part = escape(one.trial.part or f"burn {number}")
    figure = one.measured
    seen = three(figure.value)
    if figure.is_interval:
        seen = f"{three(figure.low)} to {three(figure.high)}"
    lines = [f"{part}: measured {seen} {unit}"]
    for words, band in (("before any trial", one.before), ("now", one.after)):
        lines.append(f"{words} {three(band.likely)}, {three(band.low)} to {three(band.high)}")
    return "<br>".join([*lines, *([escape(one.why)] if one.why else [])])


def _bars(burns, band, scale):
    x, y = [], []
    for number, one in enumerate(burns, 1):
        ends = getattr(one, band)
        x += [number, number, None]
        y += [float(ends.low) * scale, float(ends.high) * scale, None]
    return x, y


def expected_traces(burns, unit, scale=1.0):
    """Return x, y and texts of the five traces: before, now, and the three kinds of mark.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    unit : str
        Of the figure, as it is shown.
    scale : float
        Turns the figure's own unit into the shown one.
    """
    traces = [(*_bars(burns, band, scale), None) for band in ("before", "after")]
    for kind in _MARKS:
        mine = [(n, b) for n, b in enumerate(burns, 1) if b.kind == kind]
        traces.append((
            [n for n, _ in mine],
            [b.measured.value * scale for _, b in mine],
            [_hover(n, b, unit) for n, b in mine],
        ))  # fmt: skip
    return traces


def expected_axes(burns, title, scale=1.0):
    """Return the changes of the layout for some burns.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    title : str
        What is measured, with its unit.
    scale : float
        As for `expected_traces`.
    """
    ends = [v * scale for b in burns
            for v in (float(b.before.low), float(b.before.high), b.measured.value)]  # fmt: skip
    span = log_range([min(ends)], [max(ends)]) if ends else (0, 1)
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    y = {"range": span, "tickvals": values, "ticktext": texts, "title": {"text": title}}
    return {"yaxis": y, "xaxis": {"range": (0.3, max(len(burns), 1) + 0.7)}}


def drift_traces(burns):
    """Return x, y and texts of the three kinds of mark: measured over expected.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    """
    traces = []
    for kind in _MARKS:
        mine = [(n, b) for n, b in enumerate(burns, 1) if b.kind == kind]
        texts = [f"{escape(b.trial.part or f'burn {n}')}: {three(b.residual)} times what is "
                 f"expected{'<br>' + escape(b.why) if b.why else ''}" for n, b in mine]  # fmt: skip
        traces.append(([n for n, _ in mine], [b.residual for _, b in mine], texts))
    return traces


def drift_axes(burns, noise):
    """Return the changes of the layout: ranges, and the band of nine burns in ten.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    noise : float
        Standard deviation of the logarithm from burn to burn [-].
    """
    away = [max(b.residual, 1 / b.residual) for b in burns]
    factor = exp(BAND * noise)
    most = max([*away, factor, 2.0])
    span = log_range([1 / most], [most])
    values, _ = ticks(10 ** span[0], 10 ** span[1])
    texts = [f"1/{1 / v:g}" if v < 1 else f"{v:g}" for v in values]
    across = {
        "type": "rect",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": 1 / factor,
        "y1": factor,
        "fillcolor": "rgba(0, 114, 178, 0.16)",
        "line": {"width": 0},
        "layer": "below",
    }
    middle = {"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": 1, "y1": 1,
              "line": {"color": INK, "width": 1}, "layer": "below"}  # fmt: skip
    return {
        "xaxis": {"range": (0.3, max(len(burns), 1) + 0.7)},
        "yaxis": {"range": span, "tickvals": values, "ticktext": texts},
        "shapes": [across, middle],
    }


def _figure(title, legend):
    import plotly.graph_objects as go

    figure = go.Figure()
    figure.update_layout(LAYOUT, height=_HEIGHT, hovermode="closest", showlegend=legend)
    figure.update_layout(margin={"l": 66, "r": 12, "t": 66 if legend else 20, "b": 48})
    figure.update_layout(legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0})
    figure.update_xaxes(AXIS, title_text="burns in the order of the book", dtick=None)
    figure.update_yaxes(AXIS, type="log", title_text=title)
    return figure


def _marks(figure, traces):
    for (x, y, text), (symbol, colour, name) in zip(traces, _MARKS.values(), strict=True):
        figure.add_scatter(
            x=x, y=y, text=text, mode="markers", name=name,
            marker={"symbol": symbol, "size": 10, "color": colour,
                    "line": {"width": 1.2, "color": INK}},
            hovertemplate="%{text}<extra></extra>",
        )  # fmt: skip


def expected_figure(burns, title, unit, scale=1.0):
    """Return a figure of burns beside what was expected of them.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    title : str
        What is measured, with its unit.
    unit : str
        The unit, for the texts.
    scale : float
        As for `expected_traces`.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces 0 before any trial, 1 now, 2 learned from, 3 doubted, 4 set aside.
    """
    figure = _figure(title, legend=True)
    traces = expected_traces(burns, unit, scale)
    styles = (("expected before any trial", 14, _BEFORE), ("expected now", 7, _AFTER))
    for (x, y, _), (name, width, colour) in zip(traces, styles, strict=False):
        figure.add_scatter(x=x, y=y, mode="lines", name=name, hoverinfo="skip",
                           line={"width": width, "color": colour})  # fmt: skip
    _marks(figure, traces[2:])
    figure.update_layout(expected_axes(burns, title, scale))
    return figure


def drift_figure(burns, noise):
    """Return a figure of measured over expected against the order of the book.

    Parameters
    ----------
    burns : sequence of Beside
        In the order of the book.
    noise : float
        Standard deviation of the logarithm from burn to burn [-].
    """
    figure = _figure("measured over expected", legend=False)
    _marks(figure, drift_traces(burns))
    figure.update_layout(drift_axes(burns, noise))
    return figure
