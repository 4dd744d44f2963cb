"""The last pulses of a simulated gap as a scope shows them, and its debris and feed so far."""

from dataclasses import dataclass

import numpy as np

from edmkit.physics.pulse_by_pulse import OPEN, SHORTED
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE
from edmkit.units import ms, um, us
from edmkit.words import three

VOLTAGE, CURRENT, MEAN_VOLTAGE, MEAN_CURRENT, WORDS, DEBRIS, TRAVEL = range(7)
_FONT = {"size": 13}
NAMES = ("spark", "arc", "short", "open")  # in the order of the kinds
_EVERY = 5  # pulse drawn of debris and travel: the eye sees no more
_PULSES = 8  # in sight where none has to wait
_HEAD = 1.3  # height of the voltage picture over its scale: room for the words above
_EDGE = 0.03  # of the width at the left, where a word would be cut


@dataclass(frozen=True)
class Trace:
    """Corners of the last pulses, and the words over them.

    ``width_us`` is the time in sight; the last pulse ends there, and what came before it begins
    to the left of zero.
    """

    time_us: np.ndarray
    voltage_V: np.ndarray
    current_A: np.ndarray
    words: tuple
    words_us: np.ndarray
    width_us: float


def live_pulses(pulses):
    """Return the last pulses as a scope shows them, to scale.

    Parameters
    ----------
    pulses : Pulses
        From `simulate`.

    Returns
    -------
    Trace

    Notes
    -----
    A spark waits at the open voltage, then burns; an arc burns at once; a short carries current
    without voltage; an open pulse has voltage without current. A lift's time is left out.
    """
    c = pulses.conditions
    width = steady(_PULSES * (c.on_time + c.off_time) / us)
    end = (np.cumsum(pulses.period) - np.sum(pulses.period)) / us + width
    last = end > 0
    kind, end = pulses.kind[last], end[last]
    wait, burn, off = (t[last] / us for t in (pulses.delay, pulses.burning, pulses.period))
    start = end - off
    lit = np.where(kind == SHORTED, 0.0, c.discharge_voltage)
    first, zero = np.where(wait > 0, c.open_voltage, lit), np.zeros_like(lit)
    amps = np.where(kind == OPEN, 0.0, c.spark_current)
    over = start + wait + burn
    corners = (
        (start, zero, zero), (start, first, zero), (start + wait, first, zero),
        (start + wait, lit, zero), (start + wait, lit, amps), (over, lit, amps), (over, zero, zero),
        (end, zero, zero),
    )  # fmt: skip
    time, volts, current = (
        np.column_stack(column).ravel() for column in zip(*corners, strict=True)
    )
    return Trace(
        time,
        volts,
        current,
        tuple(NAMES[k] for k in kind),
        (start + over) / 2,
        float(width),
    )


def _fit(axis, need, fresh, head=1.0, low=0.0):
    """Bring an axis to what must be in sight; it stays while that holds."""
    old = axis.range[1] / head if axis.range and not fresh else None
    end = steady(need, old)
    if end != old:
        shown = marks(end)[:: 2 if low else 1]
        below = [-mark for mark in shown[1:]] if low else []
        axis.update(range=(low * end, head * end), tickvals=below + shown)
    return end


def _title(quantity, unit, meter, mean):
    dashes = f'<span style="color:{ORANGE}">– – {meter} shows {three(mean)} {unit}</span>'
    return f"{quantity}, {unit}   {dashes}"


def change_live_pulses(figure, pulses, fresh=False):
    """Put other pulses into the figure of live pulses.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `live_pulses_figure`.
    pulses : Pulses
        What it becomes.
    fresh : bool
        True also fits the axes anew; False leaves them while they hold the pulses.
    """
    trace, layout, c = live_pulses(pulses), figure.layout, pulses.conditions
    since = np.cumsum(pulses.period) / ms
    travel, in_sight = pulses.travel / um, trace.words_us > _EDGE * trace.width_us
    width = (0.0, trace.width_us)
    means = float(pulses.mean_voltage), float(pulses.mean_current)
    lines = (
        (trace.time_us, trace.voltage_V), (trace.time_us, trace.current_A),
        (width, [means[0]] * 2), (width, [means[1]] * 2),
        (trace.words_us[in_sight], np.full(in_sight.sum(), c.open_voltage)),
        (since[::_EVERY], pulses.debris[::_EVERY]), (since[::_EVERY], travel[::_EVERY]),
    )  # fmt: skip
    with figure.batch_update():
        for line, (x, y) in zip(figure.data, lines, strict=True):
            line.x, line.y = x, y
        figure.data[WORDS].text = [w for w, yes in zip(trace.words, in_sight, strict=True) if yes]
        layout.xaxis2.update(range=width, tickvals=marks(trace.width_us))
        _fit(layout.yaxis, c.open_voltage, fresh, _HEAD)
        _fit(layout.yaxis2, 1.1 * c.spark_current, fresh)
        _fit(layout.yaxis3, max(pulses.debris.max(), 1e-3), fresh)
        _fit(layout.yaxis4, max(np.abs(travel).max(), 1.0), fresh, low=-1.0)
        for axis in (layout.xaxis3, layout.xaxis4):
            _fit(axis, since[-1], fresh)
        layout.annotations[0].text = _title("Voltage", "V", "voltmeter", means[0])
        layout.annotations[1].text = _title("Current", "A", "ammeter", means[1])


def live_pulses_figure(pulses):
    """Return a figure of the last pulses: voltage, current, and below debris and feed so far.

    Parameters
    ----------
    pulses : Pulses
        From `simulate`.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `VOLTAGE` to `TRAVEL`; change it by `change_live_pulses`.
    """
    import plotly.graph_objects as go

    signal = {"mode": "lines", "line": {"width": 2.5, "color": BLUE}}
    mean = {"mode": "lines", "line": {"width": 2, "color": ORANGE, "dash": "dash"}}
    words = {"mode": "text", "textposition": "top center", "textfont": {"size": 14, "color": INK}}
    thin = {"mode": "lines", "line": {"width": 1.5, "color": INK}}
    styles = ((signal, "2", ""), (signal, "2", "2"), (mean, "2", ""), (mean, "2", "2"),
              (words, "2", ""), (thin, "3", "3"), (thin, "4", "4"))  # fmt: skip
    figure = go.Figure([go.Scatter(style, xaxis=f"x{x}", yaxis=f"y{y}", hoverinfo="skip")
                        for style, x, y in styles], _layout())  # fmt: skip
    for x, height, text in ((0, 1.04, ""), (0, 0.67, ""),
                            (0, 0.31, "Debris, over its limit"),
                            (0.55, 0.31, "Electrode's way in, µm")):  # fmt: skip
        figure.add_annotation(xref="paper", yref="paper", x=x, xanchor="left", y=height, text=text,
                              yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    change_live_pulses(figure, pulses)
    return figure


def _layout():
    """Return the places of the four pictures: the scope above, two small ones below."""
    small = {**AXIS, "title": {"text": "time, ms", "font": _FONT}, "showgrid": False}
    return {
        **LAYOUT, "height": 600, "showlegend": False,
        "xaxis2": {**AXIS, "anchor": "y2", "showgrid": False,
                   "title": {"text": "time, µs", "font": _FONT}},
        "yaxis": {**AXIS, "domain": [0.71, 1], "anchor": "x2"},
        "yaxis2": {**AXIS, "domain": [0.43, 0.62], "anchor": "x2"},
        "xaxis3": {**small, "domain": [0, 0.45], "anchor": "y3"},
        "yaxis3": {**AXIS, "domain": [0, 0.25], "anchor": "x3"},
        "xaxis4": {**small, "domain": [0.55, 1], "anchor": "y4"},
        "yaxis4": {**AXIS, "domain": [0, 0.25], "anchor": "x4"},
    }  # fmt: skip
