"""The pulses of a setting on a scope: voltage and current over time, to scale."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, INK, LAYOUT, ORANGE
from edmkit.settings import Relaxation
from edmkit.units import us
from edmkit.words import three

VOLTAGE, CURRENT, MEAN_VOLTAGE, MEAN_CURRENT, LEADERS, LABELS = range(6)
_PULSES = 8  # drawn one after another; a scale that stays shows 7.5 of them at most
_IN_SIGHT = 3  # pulses that must be in sight
_HEAD = 1.75  # height of the voltage picture over its scale: room for the labels above
_LEVELS = (1.62, 1.44, 1.26)  # heights of the labels of a pulse's parts, over the scale


@dataclass(frozen=True)
class Label:
    """Words, and the time and voltage of what they name."""

    text: str
    time_us: float
    voltage_V: float


@dataclass(frozen=True)
class PulseTrain:
    """Corners of the voltage and current traces, what they are called, and both means."""

    time_us: np.ndarray
    voltage_V: np.ndarray
    current_A: np.ndarray
    labels: tuple
    in_sight_us: float
    mean_voltage_V: float
    mean_current_A: float


def of_100(share):
    """Return a share as a number of pulses in a hundred, in words."""
    return "under 1" if 0 < share < 0.005 else f"{100 * float(share):.0f}"


@dataclass(frozen=True)
class _Pulse:
    """One pulse: its wait, its burning time, its off-time, and the voltage while it burns."""

    wait: float
    burn: float
    off: float
    lit: float

    @property
    def period(self):
        return self.wait + self.burn + self.off

    def corners(self, idle, amps, rise):
        """Return time [s], voltage [V] and current [A] at the seven corners of the pulse."""
        climb = min(amps / rise, self.burn)
        end = self.wait + self.burn
        times = [0.0, self.wait, self.wait, self.wait + climb, end, end, self.period]
        first = idle if self.wait > 0 else self.lit
        reached = amps if self.burn > 0 else 0.0
        volts = [first, first, self.lit, self.lit, self.lit, 0.0, 0.0]
        return np.array([times, volts, [0.0, 0.0, 0.0, reached, reached, 0.0, 0.0]])


def _kinds(point):
    """Return a pulse of each kind: a spark, an arc, a short, one that stays open."""
    states, on, off = point.states, point.on_time, point.off_time
    lit, delay = point.discharge_voltage, states.ignition_delay
    burning = on - delay if states.in_fixed_period else on
    return (
        _Pulse(delay, burning, off, lit),
        _Pulse(0.0, on, off, lit),
        _Pulse(0.0, on, off, 0.0),
        _Pulse(states.longest_wait, 0.0, off, 0.0),
    )


def _parts(spark, idle):
    """Return the labels of the parts of the first spark."""
    wait, burn, off = spark.wait / us, spark.burn / us, spark.off / us
    return (
        Label(f"waiting for the spark, {three(wait)} µs", wait / 2, idle),
        Label(f"burning, {three(burn)} µs", wait + burn / 2, spark.lit),
        Label(f"off, {three(off)} µs", wait + burn + off / 2, 0.0),
    )


def _names(pulses, states, idle):
    """Return the labels of the four kinds of pulse."""
    shares = (states.normal, states.arcing, states.shorted, states.open)
    labels, start = [], 0.0
    for name, pulse, share in zip(("spark", "arc", "short", "stays open"), pulses, shares,
                                  strict=True):  # fmt: skip
        middle = start + (pulse.wait + pulse.burn) / 2
        height = pulse.lit if pulse.burn > pulse.wait else idle
        labels.append(Label(f"{name}<br>{of_100(share)} of 100", middle / us, height))
        start += pulse.period
    return tuple(labels)


def pulse_train(burn, one_of_each=False):
    """Return the pulses of a burn as a scope shows them, to scale.

    Parameters
    ----------
    burn : Burn
        At one setting of a pulse generator.
    one_of_each : bool
        True for a spark, an arc, a short and an open pulse; False for sparks only.

    Returns
    -------
    PulseTrain
        The means are those of all pulses, as voltmeter and ammeter show them.

    Raises
    ------
    Refusal
        If the burn is one of a relaxation circuit, or of many settings.

    Notes
    -----
    Each wait is drawn as the mean one; the current climbs at the machine's rate, which the
    ammeter's figure leaves out. No ripple, no spikes.
    """
    if isinstance(burn.settings, Relaxation):
        raise Refusal("settings must be Settings for a picture of pulses, got a relaxation "
                      "circuit: it has no on-time to draw.")  # fmt: skip
    if burn.shape != ():
        raise Refusal(f"settings must be one setting for a picture of pulses, got {burn.shape}: "
                      "pick one of them.")  # fmt: skip
    point = burn.point
    kinds = _kinds(point)
    idle, spark = float(point.open_voltage), kinds[0]
    drawn = kinds if one_of_each else [spark] * _PULSES
    starts = np.cumsum([0.0] + [p.period for p in drawn])
    corners = [p.corners(idle, point.spark_current, point.current_rise) for p in drawn]
    time, voltage, current = np.concatenate(corners, axis=1)
    return PulseTrain(
        (time + np.repeat(starts[:-1], 7)) / us,
        voltage,
        current,
        _names(kinds, point.states, idle) if one_of_each else _parts(spark, idle),
        float(starts[-1] if one_of_each else _IN_SIGHT * spark.period) / us,
        float(burn.mean_voltage_V.likely),
        float(burn.average_current_A.likely),
    )


def _label_lines(train, end, top):
    """Return x and y of the leaders, and of the texts, for these ends of the scales.

    Words of a pulse's parts stand to the right of their leaders, each lower than the last, so no
    leader crosses them; the four kinds stand side by side.
    """
    leaders, texts = [], []
    for number, label in enumerate(train.labels):
        foot = (label.time_us, label.voltage_V + 0.04 * top)
        if len(train.labels) == len(_LEVELS):
            head = (label.time_us, _LEVELS[number] * top)
            leaders += [head, foot]
            texts.append((label.time_us + 0.01 * end, head[1]))
        else:
            head = ((number + 0.5) / len(train.labels) * end, 1.5 * top)
            leaders += [(head[0], 1.38 * top), (label.time_us, 1.15 * top), foot]
            texts.append(head)
        leaders.append((None, None))
    return tuple(zip(*leaders, strict=True)), tuple(zip(*texts, strict=True))


def _title(quantity, unit, meter, mean):
    dashes = f'<span style="color:{ORANGE}">– – {meter} shows {three(mean)} {unit}</span>'
    return f"{quantity}, {unit}   {dashes}"


def _scale(axis, need, head=1.0, fresh=False):
    """Bring an axis to what must be in sight; return the end of its scale."""
    old = axis.range[1] / head if axis.range and not fresh else None
    end = steady(need, old)
    if end != old:
        axis.update(range=(0, head * end), tickvals=marks(end))
    return end


def change_pulse_train(figure, train, fresh=False):
    """Put other pulses into the figure of a pulse train.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `pulse_train_figure`.
    train : PulseTrain
        What it becomes.
    fresh : bool
        True also fits the axes anew; False leaves them while they hold the pulses.
    """
    layout = figure.layout
    with figure.batch_update():
        end = _scale(layout.xaxis2, train.in_sight_us, fresh=fresh)
        top = _scale(layout.yaxis, train.voltage_V.max(), _HEAD, fresh)
        _scale(layout.yaxis2, 1.1 * train.current_A.max(), fresh=fresh)
        leaders, texts = _label_lines(train, end, top)
        width = (0.0, 10 * end)
        lines = ((train.time_us, train.voltage_V), (train.time_us, train.current_A),
                 (width, [train.mean_voltage_V] * 2), (width, [train.mean_current_A] * 2),
                 leaders, texts)  # fmt: skip
        for trace, (x, y) in zip(figure.data, lines, strict=True):
            trace.x, trace.y = x, y
        figure.data[LABELS].text = [label.text for label in train.labels]
        parts = len(train.labels) == len(_LEVELS)
        figure.data[LABELS].textposition = "middle right" if parts else "middle center"
        layout.annotations[0].text = _title("Voltage", "V", "voltmeter", train.mean_voltage_V)
        layout.annotations[1].text = _title("Current", "A", "ammeter", train.mean_current_A)


def pulse_train_figure(train):
    """Return a figure of pulses: voltage above, current below, over time.

    Parameters
    ----------
    train : PulseTrain
        From `pulse_train`.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `VOLTAGE` to `LABELS`; change it by `change_pulse_train`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, shared_xaxes=True, vertical_spacing=0.11,
                           row_heights=[0.62, 0.38])  # fmt: skip
    signal = {"mode": "lines", "line": {"width": 2.5, "color": BLUE}}
    mean = {"mode": "lines", "line": {"width": 2, "color": ORANGE, "dash": "dash"}}
    leader = {"mode": "lines", "line": {"width": 1, "color": INK}}
    words = {"mode": "text", "textfont": {"size": 13, "color": INK}, "cliponaxis": False}
    for style, row in ((signal, 1), (signal, 2), (mean, 1), (mean, 2), (leader, 1), (words, 1)):
        figure.add_trace(go.Scatter(style, hoverinfo="skip"), row=row, col=1)
    for height in (1.075, 0.40):
        figure.add_annotation(xref="paper", yref="paper", x=0, xanchor="left", y=height,
                              yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, height=520)
    figure.update_xaxes(AXIS, showgrid=False)
    figure.update_yaxes(AXIS)
    figure.update_xaxes(title_text="time, µs", row=2, col=1)
    change_pulse_train(figure, train)
    return figure
