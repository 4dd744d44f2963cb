"""A recording's sound: loudness against frequency, the pitch and its harmonics, and the mains."""

from dataclasses import dataclass

import numpy as np

from edmkit.plots.scale import steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE, PALE, ticks
from edmkit.units import kHz
from edmkit.words import three

SOUND, PITCH, HARMONICS, MAINS = range(4)
_POINTS = 700  # more than the pixels of a page; the loudest of each stretch is drawn
_LOWEST_kHz = 0.045  # just below the mains
_MAINS_SHOWN, _HARMONICS_SHOWN = 8, 7  # more would overlap


@dataclass(frozen=True)
class PitchPlot:
    """What the plot shows: x in kHz and y in dB over the noise for each trace, and the ends."""

    traces: tuple
    words: tuple
    top_kHz: float
    loudest_dB: float


def pitch_plot(pitch):
    """Return what a found pitch shows.

    Parameters
    ----------
    pitch : Pitch
        From `edmkit.dials.pitch.find_pitch`.
    """
    seen = pitch.spectrum
    x, y = _loudest(seen.frequency_Hz[1:] / kHz, seen.level_dB[1:] - np.median(seen.level_dB))
    fundamental = pitch.frequency_Hz / kHz
    overtones = [f / kHz for f in pitch.harmonics if f / kHz > 1.5 * fundamental]
    overtones = np.array(overtones[:_HARMONICS_SHOWN])
    mains = np.arange(1, _MAINS_SHOWN + 1) * (seen.mains_Hz or np.nan) / kHz
    at = (np.array([fundamental]), overtones, mains[np.isfinite(mains)])
    # Each mark stands on the loudest drawn point about its place.
    marks = tuple((f, _heights(f, x, y)) for f in at)
    ways = np.round(overtones / fundamental).astype(int)
    words = (f"pitch {three(fundamental)} kHz",), tuple(f"{n}" for n in ways)
    return PitchPlot(((x, y), *marks), words, float(x[-1]), float(y.max()))


def _loudest(x, y):
    """Return the loudest point of each stretch of a logarithmic axis."""
    inside = x >= _LOWEST_kHz
    x, y = x[inside], y[inside]
    place = np.log(x / x[0]) / np.log(x[-1] / x[0]) * _POINTS
    starts = np.flatnonzero(np.diff(place.astype(int), prepend=-1))
    return x[starts], np.maximum.reduceat(y, starts)


def _heights(frequency, x, y):
    near = np.abs(np.log(frequency[:, None] / x)) < 0.02
    return np.max(np.where(near, y, 0.0), axis=1, initial=0.0)


def pitch_plot_figure(shown):
    """Return the figure of a recording's sound.

    Parameters
    ----------
    shown : PitchPlot
        What it shows.
    """
    import plotly.graph_objects as go

    mark = {"mode": "markers+text", "textposition": "top center"}
    looks = (
        {"name": "the recording", "mode": "lines", "line": {"color": BLUE, "width": 1.5}},
        {"name": "the pitch", **mark, "textfont": {"size": 14, "color": ORANGE},
         "marker": {"symbol": "triangle-down", "size": 13, "color": ORANGE}},
        {"name": "so many times the pitch", **mark, "textfont": {"size": 13, "color": INK},
         "marker": {"symbol": "circle-open", "size": 9, "color": INK, "line": {"width": 2}}},
        {"name": "mains hum", "mode": "markers",
         "marker": {"symbol": "x", "size": 8, "color": PALE, "line": {"color": INK, "width": 1}}},
    )  # fmt: skip
    layout = {**LAYOUT, "height": 300, "legend": {"orientation": "h", "y": 1.02,
                                                 "yanchor": "bottom"},
              "xaxis": {**AXIS, "type": "log", "title": {"text": "frequency, kHz"}},
              "yaxis": {**AXIS, "title": {"text": "loudness over the noise, dB"}}}  # fmt: skip
    figure = go.Figure([go.Scatter(**look) for look in looks], layout)
    change_pitch_plot(figure, shown)
    return figure


def change_pitch_plot(figure, shown):
    """Bring a figure up to date.

    Parameters
    ----------
    figure : Figure
        From `pitch_plot_figure`.
    shown : PitchPlot
        What it shall show.
    """
    old = figure.layout.yaxis.range
    high = steady(1.25 * max(shown.loudest_dB, 4.0), float(old[1]) if old else None)
    values, texts = ticks(_LOWEST_kHz, shown.top_kHz)
    with figure.batch_update():
        for trace, (x, y) in zip(figure.data, shown.traces, strict=True):
            trace.x, trace.y = x, y
        for number, words in zip((PITCH, HARMONICS), shown.words, strict=True):
            figure.data[number].text = words
        figure.layout.yaxis.range = (0, high)
        figure.layout.xaxis.update(range=(np.log10(_LOWEST_kHz), np.log10(shown.top_kHz)),
                                   tickvals=values, ticktext=texts)  # fmt: skip
