"""Published over predicted: a line for each burn, its band, and where the measurement fell."""

from dataclasses import dataclass

from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, ticks
from edmkit.words import three

_FAR = 100.0  # an open end of a range is drawn to here
_LABEL = 54  # letters that fit beside the plot
_LINE = 21  # px of one line
# What a label says of a quantity where several are shown; most lines are removal rates.
_SHORT = {
    "removal rate": "",
    "removal rate, how many times": "",
    "Ra, how many times": "Ra",
    "electrode wear": "wear",
    "electrode lost per minute": "loss",
}
_BAND = "rgba(0, 114, 178, 0.28)"


@dataclass(frozen=True)
class Line:
    """One prediction: its label, its band over itself, and the checks it is held against."""

    label: str
    band: tuple
    checks: tuple

    @property
    def inside(self):
        """Whether every measurement lies in the band."""
        return all(check.inside for check in self.checks)


def _label(check, mixed):
    short = _SHORT.get(check.quantity, check.quantity)
    text = f"{check.what}: {short}" if mixed and short else check.what
    return text if len(text) <= _LABEL else f"{text[: _LABEL - 1]}…"


def lines_of(checks):
    """Return a line for each prediction, in the order of the checks.

    Parameters
    ----------
    checks : iterable of Check
        Repeated measurements of one setting share a line.
    """
    checks = tuple(checks)
    mixed = len({check.quantity for check in checks}) > 1
    found = {}
    for check in checks:
        found.setdefault((check.what, check.quantity, check.likely), []).append(check)
    return tuple(
        Line(_label(first := group[0], mixed),
             tuple(end / first.likely for end in first.band), tuple(group))
        for group in found.values()
    )  # fmt: skip


def _ratio_ends(check):
    """Return the ends of what is published over what is predicted, open ends cut off."""
    low, high = (end / check.likely for end in check.ends)
    return max(low, 1 / _FAR), min(high, _FAR)


def _hover(check):
    low, high = check.ends
    published = three(low) if low == high else f"{three(low)} to {three(high)}"
    band = " to ".join(three(end) for end in check.band)
    return (f"{check.what}<br>{check.quantity}: published {published} {check.unit}"
            f"<br>predicted {three(check.likely)} {check.unit}, {band}")  # fmt: skip


def traces_of(lines):
    """Return x, y and texts of the four traces: bands, published ranges, inside, outside.

    Parameters
    ----------
    lines : tuple of Line
        The first is drawn on top.
    """
    bands, ranges, marks = ([], []), ([], []), {True: ([], [], []), False: ([], [], [])}
    for place, line in enumerate(lines):
        bands[0].extend([*line.band, None])
        bands[1].extend([place, place, None])
        for check in line.checks:
            low, high = _ratio_ends(check)
            if low < high:
                ranges[0].extend([low, high, None])
                ranges[1].extend([place, place, None])
            nearest = min(max(1.0, low), high)
            for column, value in zip(
                marks[check.inside], (nearest, place, _hover(check)), strict=True
            ):
                column.append(value)
    return [(*bands, None), (*ranges, None), marks[True], marks[False]]


def _names(lines):
    """Return the labels; the misses say so, in words and in bold."""
    return [f"{'' if line.inside else '<b>MISS</b> '}{line.label}" for line in lines]


def axes_of(lines):
    """Return the changes of the layout for some lines: height, ranges and ticks of both axes."""
    ends = [end for line in lines for c in line.checks for end in (*line.band, *_ratio_ends(c))]
    span = log_range([min(ends)], [max(ends)])
    values, _ = ticks(10 ** span[0], 10 ** span[1])
    texts = [f"1/{1 / v:g}" if v < 1 else f"{v:g}" for v in values]
    return {
        "height": _LINE * len(lines) + 130,
        "xaxis": {"range": span, "tickvals": values, "ticktext": texts},
        "yaxis": {
            "range": (len(lines) - 0.4, -0.6),
            "tickvals": list(range(len(lines))),
            "ticktext": _names(lines),
        },
    }


def evidence_figure(lines):
    """Return a figure of published over predicted, a line for each prediction.

    Parameters
    ----------
    lines : tuple of Line
        From `lines_of`; the first is drawn on top.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces 0 bands, 1 published ranges, 2 published inside, 3 published outside.
    """
    import plotly.graph_objects as go

    mark = {"mode": "markers", "hovertemplate": "%{text}<extra></extra>"}
    edge = {"width": 1.5, "color": INK}
    styles = (
        {"mode": "lines", "line": {"width": 11, "color": _BAND}, "hoverinfo": "skip",
         "name": "band: nine in ten"},
        {"mode": "lines", "line": {"width": 2, "color": INK}, "hoverinfo": "skip",
         "name": "published range"},
        {**mark, "marker": {"symbol": "circle", "size": 9, "color": BLUE, "line": edge},
         "name": "published, inside"},
        {**mark, "marker": {"symbol": "diamond", "size": 13, "color": ORANGE, "line": edge},
         "name": "outside: a miss"},
    )  # fmt: skip
    figure = go.Figure()
    for (x, y, text), style in zip(traces_of(lines), styles, strict=True):
        figure.add_scatter(x=x, y=y, text=text, showlegend=len(x) > 0, **style)
    figure.update_layout(LAYOUT, legend={"orientation": "h", "y": 1, "yanchor": "bottom", "x": 0})
    figure.update_layout(margin={"l": 335, "r": 14, "t": 40, "b": 62}, hovermode="closest")
    figure.update_xaxes(
        AXIS, type="log", title_text="published over predicted (left of 1: less than predicted)"
    )
    figure.update_yaxes(AXIS, tickfont={"size": 12}, ticks="", showgrid=False)
    figure.add_shape(
        type="line", x0=1, x1=1, xref="x", y0=0, y1=1, yref="paper", layer="below",
        line={"color": INK, "width": 1.5},
    )  # fmt: skip
    figure.update_layout(axes_of(lines))
    return figure
