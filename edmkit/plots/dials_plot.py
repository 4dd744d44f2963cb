"""What the dials mean, each position with its band; and each reading beside all the others."""

from html import escape
from math import exp, log10

from edmkit.estimate import BAND
from edmkit.plots.curves import log_range
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, PALE, ticks
from edmkit.plots.style import BAND as SHADE
from edmkit.settings import LIMITS
from edmkit.words import three, two

_PANES = ((("on_time_us", "on"), ("off_time_us", "off")), (("peak_current_A", ""),))
_MARKS = {  # how a position is drawn: symbol, size, colour, name
    "measured": ("circle", 7, BLUE, "measured"),
    "plate": ("square-open", 10, INK, "from a plate or told"),
    "unknown": ("line-ns-open", 9, INK, "not known yet"),
    "faulty": ("x", 11, ORANGE, "not to be trusted"),
}
SURE, UNSURE = range(2)  # the two kinds of bar, before the marks of a pane
PER_PANE = 2 + len(_MARKS)
_AMPS = {"short circuit": "current on a short, A", "spark": "current of a spark, A"}
_ROW, _AROUND = 21, 118
_WRITTEN_OUT = 40  # readings, above which only those that do not fit are labelled


def _kind(dials, switch, position):
    """Return how a position is drawn, by the key of its mark."""
    if any((fault.switch, fault.label) == (switch, position.label) for fault in dials.faults):
        return "faulty"
    if position.filled or position.how_known == "unknown":
        return "unknown"
    return "measured" if position.how_known == "measured" else "plate"


def _rows(dials, pane):
    """Return what a pane draws, from the top down: (row, label, kind, low, value, high, hover)."""
    rows, place = [], 0
    for name, word in _PANES[pane]:
        for at in dials.switch(name).positions:
            kind, factor = _kind(dials, name, at), exp(BAND * at.spread)
            ends = at.value / factor, at.value, at.value * factor
            label = escape(f"{word} {at.label}".strip())
            low, likely, high = (three(value) for value in ends)
            hover = f"{label}: {likely} {LIMITS[name][2]}, {low} to {high}<br>{_MARKS[kind][3]}"
            why = [f.why for f in dials.faults if (f.switch, f.label) == (name, at.label)]
            hover = "<br>".join([hover, *map(escape, why)])
            rows.append((place, label, kind, *ends, hover))
            place += 1
        place += 0.6  # a space between two switches
    return rows


def dials_traces(dials, pane):
    """Return x, y and texts of a pane's traces: both kinds of bar, then the marks.

    Parameters
    ----------
    dials : Dials
        What is known.
    pane : int
        0 times, 1 current.
    """
    rows, traces = _rows(dials, pane), []
    for unsure in (False, True):
        mine = [row for row in rows if (row[2] == "unknown") == unsure]
        x = [value for row in mine for value in (row[3], row[5], None)]
        traces.append((x, [value for row in mine for value in (row[0], row[0], None)], None))
    for kind in _MARKS:
        mine = [row for row in rows if row[2] == kind]
        traces.append(([r[4] for r in mine], [r[0] for r in mine], [r[6] for r in mine]))
    return traces


def _axes(dials, pane, old):
    """Return the changes of a pane's axes; the old range is kept while it holds the bars."""
    rows = _rows(dials, pane)
    low, high = [row[3] for row in rows], [row[5] for row in rows]
    held = old and 10 ** old[0] <= min(low) and max(high) <= 10 ** old[1]
    span = tuple(old) if held else log_range(low, high)
    values, texts = ticks(10 ** span[0], 10 ** span[1])
    x = {"range": span, "tickvals": values, "ticktext": texts}
    y = {"range": (rows[-1][0] + 0.8, -0.8), "tickvals": [row[0] for row in rows],
         "ticktext": [row[1] for row in rows]}  # fmt: skip
    return x, y


def _time_title(dials):
    return "on-time and off-time, µs" if dials.factor_known else (
        "on-time and off-time, µs:<br>true to one another only, a pitch is wanted"
    )  # fmt: skip


def _height(dials):
    return max(260, _AROUND + _ROW * max(len(_rows(dials, pane)) for pane in (0, 1)))


def _name_once(figure, dials):
    """Name in the legend what is drawn, each kind once."""
    first, second = (dials_traces(dials, pane) for pane in (0, 1))
    for at in range(2, PER_PANE):
        figure.data[at].showlegend = bool(first[at][0])
        figure.data[at + PER_PANE].showlegend = bool(second[at][0]) and not first[at][0]


def change_dials_plot(figure, shown):
    """Put what is known now into the figure; a range changes only where a bar would not fit.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `dials_plot_figure`.
    shown : Dials
        What is known.
    """
    layout = figure.layout
    with figure.batch_update():
        for pane, (across, up) in enumerate((("xaxis", "yaxis"), ("xaxis2", "yaxis2"))):
            mine = figure.data[pane * PER_PANE : (pane + 1) * PER_PANE]
            for trace, (x, y, text) in zip(mine, dials_traces(shown, pane), strict=True):
                trace.x, trace.y, trace.text = x, y, text
            x, y = _axes(shown, pane, layout[across].range)
            layout[across].update(x)
            layout[up].update(y)
        _name_once(figure, shown)
        layout.xaxis.title.text = _time_title(shown)
        layout.xaxis2.title.text = _AMPS[shown.supply.amps]
        layout.height = _height(shown)


def dials_plot_figure(shown):
    """Return a figure of all positions: times on the left, the current on the right.

    Parameters
    ----------
    shown : Dials
        What is known.

    Returns
    -------
    plotly.graph_objects.Figure
        Change it by `change_dials_plot`.
    """
    import plotly.graph_objects as go

    figure = go.Figure()
    bars = ({"width": 10, "color": "rgba(0, 114, 178, 0.35)"}, {"width": 1.5, "color": PALE})
    for pane in ("", "2"):
        axes = {"xaxis": f"x{pane}", "yaxis": f"y{pane}"}
        for line in bars:
            figure.add_scatter(mode="lines", line=line, hoverinfo="skip", showlegend=False, **axes)
        for symbol, size, colour, name in _MARKS.values():
            mark = {
                "symbol": symbol,
                "size": size,
                "color": colour,
                "line": {"width": 2 if "open" in symbol else 0},
            }
            figure.add_scatter(mode="markers", marker=mark, name=name,
                               hovertemplate="%{text}<extra></extra>", **axes)  # fmt: skip
    figure.update_layout(LAYOUT, hovermode="closest", showlegend=True)
    figure.update_layout(margin={"l": 56, "r": 12, "t": 40, "b": 62})
    figure.update_layout(legend={"orientation": "h", "y": 1, "yanchor": "bottom", "x": 0},
                         legend_itemclick=False, legend_itemdoubleclick=False)  # fmt: skip
    figure.update_layout(
        xaxis={**AXIS, "type": "log", "domain": (0, 0.56)},
        yaxis=AXIS,
        xaxis2={**AXIS, "type": "log", "domain": (0.66, 1), "anchor": "y2"},
        yaxis2={**AXIS, "anchor": "x2"},
    )
    change_dials_plot(figure, shown)
    return figure


def _said(one):
    """Return in words where and how a reading was taken, and what the others make of it."""
    reading = one.reading
    where = [f"on {reading.on_time}, off {reading.off_time}"]
    if reading.current:
        where.append(f"current {' + '.join(reading.current)}")
    return (
        f"{escape(', '.join(where))}: {three(reading.value)} {reading.unit}"
        f"<br>by the others {three(one.expected)} {reading.unit}"
    )


def _does_not_fit(one):
    """Return how far a reading lies off, as a person says it."""
    percent = two(100 * abs(exp(one.off) - 1))
    return f"off {escape(one.reading.off_time)}: {percent} % {'high' if one.off > 0 else 'low'}"


def residual_traces(dials):
    """Return x, y, labels and hover texts of the readings that fit, then of those that do not.

    Parameters
    ----------
    dials : Dials
        What is known, with its residuals.
    """
    on, off = (dials.survey.labels(name) for name in ("on_time_us", "off_time_us"))

    def place(one):
        aside = 0.8 * (off.index(one.reading.off_time) + 0.5) / len(off) - 0.4
        return on.index(one.reading.on_time) + aside

    traces, written = [], len(dials.residuals) <= _WRITTEN_OUT
    for outlier in (False, True):
        mine = sorted((r for r in dials.residuals if r.outlier == outlier), key=place)
        plain = [escape(one.reading.off_time) if written else "" for one in mine]
        labels = [_does_not_fit(one) for one in mine] if outlier else plain
        hover = [_said(one) for one in mine]
        traces.append(([place(one) for one in mine], [exp(one.off) for one in mine], labels, hover))
    return traces


def _beside(dials, places):
    """Return on which side each label of a row stands: outwards in turn, inwards at the ends."""
    last = len(dials.survey.labels("on_time_us")) - 1
    turn = ["middle left" if n % 2 == 0 else "middle right" for n in range(len(places))]
    return [
        "middle right" if x < 0.2 * last else "middle left" if x > 0.8 * last else side
        for x, side in zip(places, turn, strict=True)
    ]


def _residual_axes(dials, old):
    """Return the changes of the layout: ranges, and the band of nine readings in ten."""
    factor = exp(BAND * dials.noise)
    most = max([1.25, factor, *(exp(abs(one.off)) for one in dials.residuals)])
    held = old and most <= 10 ** old[1] / 1.05
    span = tuple(old) if held else (-log10(most * 1.1), log10(most * 1.1))
    steps = (1.1, 1.2, 1.5) if most < 2 else (1.5, 2, 3, 5, 10)
    seen = [step for step in steps if step <= 10 ** span[1]]
    labels = dials.survey.labels("on_time_us")
    band = {"type": "rect", "xref": "paper", "x0": 0, "x1": 1, "y0": 1 / factor, "y1": factor,
            "fillcolor": SHADE, "line": {"width": 0}, "layer": "below"}  # fmt: skip
    return {
        "xaxis": {"range": (-0.6, len(labels) - 0.4), "tickvals": list(range(len(labels))),
                  "ticktext": [escape(label) for label in labels]},
        "yaxis": {"range": span, "tickvals": [1, *seen, *(1 / step for step in seen)],
                  "ticktext": ["1", *(f"{s:g}" for s in seen), *(f"1/{s:g}" for s in seen)]},
        "shapes": [band],
    }  # fmt: skip


def change_residuals(figure, shown):
    """Put the readings of now into the figure; the range only grows.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `residuals_figure`.
    shown : Dials
        What is known, with its residuals.
    """
    traces = residual_traces(shown)
    with figure.batch_update():
        for trace, (x, y, labels, hover) in zip(figure.data, traces, strict=True):
            trace.x, trace.y, trace.text, trace.hovertext = x, y, labels, hover
        figure.data[1].textposition = _beside(shown, traces[1][0])
        figure.update_layout(_residual_axes(shown, figure.layout.yaxis.range))


def residuals_figure(shown):
    """Return a figure of each reading over what all the others make of it.

    Parameters
    ----------
    shown : Dials
        What is known, with its residuals.

    Returns
    -------
    plotly.graph_objects.Figure
        Over the on-time position, side by side by off-time position; the band holds nine of ten.
    """
    import plotly.graph_objects as go

    figure = go.Figure()
    styles = (("circle", 8, BLUE, "fits the others"),
              ("diamond", 13, ORANGE, "does not fit the others: read it again"))  # fmt: skip
    for symbol, size, colour, name in styles:
        mark = {"symbol": symbol, "size": size, "color": colour, "line": {"width": 1, "color": INK}}
        figure.add_scatter(mode="markers+text", marker=mark, name=name, 
                           textfont={"size": 11}, hovertemplate="%{hovertext}<extra></extra>",
                           cliponaxis=False, textposition="top center")  # fmt: skip
    figure.update_layout(LAYOUT, hovermode="closest", height=330, showlegend=True)
    figure.update_layout(margin={"l": 62, "r": 12, "t": 40, "b": 48},
                         legend={"orientation": "h", "y": 1.02, "yanchor": "bottom", "x": 0},
                         legend_itemclick=False, legend_itemdoubleclick=False)  # fmt: skip
    figure.update_xaxes(AXIS, title_text="on-time position; inside it by off-time position")
    figure.update_yaxes(AXIS, type="log", title_text="reading over what the others say")
    change_residuals(figure, shown)
    return figure
