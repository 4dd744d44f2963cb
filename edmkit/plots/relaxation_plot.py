"""A relaxation circuit: how its capacitor charges and fires, and where its power is best."""

from dataclasses import dataclass

import numpy as np

from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE, charging, relative_power
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, GREEN, INK, LAYOUT, ORANGE, PALE
from edmkit.units import ms, us
from edmkit.words import three

VOLTS, SUPPLY, FIRES, POWER, BEST, NOW = range(6)
_SPARKS, _STEPS = 3, 60  # sparks in sight, points of one charging
_CLOSE = 78  # % of the supply: above it there is no room for words between the two lines
_SHARES = np.linspace(0.02, 0.98, 97)


@dataclass(frozen=True)
class RelaxationPlot:
    """Capacitor [V] over ``time`` in ``unit``, supply and firing voltage [V], power [%]."""

    time: np.ndarray
    voltage_V: np.ndarray
    unit: str
    supply_V: float
    fires_V: float

    @property
    def share_percent(self):
        """Firing voltage, of the supply's [%]."""
        return 100 * self.fires_V / self.supply_V

    @property
    def power_percent(self):
        """Mean power, of the most there is [%]."""
        return 100 * relative_power(self.fires_V / self.supply_V)


def relaxation_plot(burn):
    """Return the charging of a burn's relaxation circuit, as a `RelaxationPlot`.

    Parameters
    ----------
    burn : Burn
        Of a `Relaxation`.
    """
    circuit, point = burn.settings, burn.point
    rises = np.linspace(0.0, point.spark.charge_time, _STEPS)
    volts = charging(circuit.resistance_ohm, point.capacitance, circuit.supply_V, rises).voltage
    cycle = point.spark.charge_time + point.spark.duration
    starts = np.arange(_SPARKS) * cycle
    time = np.append((starts[:, None] + rises).ravel(), _SPARKS * cycle)
    factor, unit = (ms, "ms") if time[-1] >= 2 * ms else (us, "µs")
    voltage = np.append(np.tile(volts, _SPARKS), 0.0)  # a straight fall while the spark burns
    return RelaxationPlot(time / factor, voltage, unit, circuit.supply_V, point.open_voltage)


def _level(volts, end):
    return [0.0, end], [volts, volts]


def change_relaxation(figure, shown):
    """Put another circuit into the figure; scales move only where they must.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `relaxation_figure`.
    shown : RelaxationPlot
        What it shows.
    """
    layout = figure.layout
    end = steady(shown.time[-1], layout.meta if layout.xaxis.title.text == shown.unit else None)
    top = steady(1.2 * shown.supply_V, layout.yaxis.range and layout.yaxis.range[1])
    lines = {
        VOLTS: (shown.time, shown.voltage_V),
        SUPPLY: _level(shown.supply_V, end),
        FIRES: _level(shown.fires_V, end),
        NOW: ([shown.share_percent], [shown.power_percent]),
    }
    with figure.batch_update():
        for trace, (x, y) in lines.items():
            figure.data[trace].x, figure.data[trace].y = x, y
        layout.meta = end
        layout.xaxis.update(range=(0, end), tickvals=marks(end), title_text=shown.unit)
        layout.yaxis.update(range=(0, top), tickvals=marks(top))
        supply, fires = layout.annotations[:2]
        supply.update(x=end, y=shown.supply_V, text=f"supply {three(shown.supply_V)} V")
        below = "top" if shown.share_percent > _CLOSE else "bottom"
        fires.update(y=shown.fires_V, yanchor=below, text=f"fires at {three(shown.fires_V)} V")


def relaxation_figure(shown):
    """Return the figure of a relaxation circuit: charging above, power below.

    Parameters
    ----------
    shown : RelaxationPlot
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `VOLTS` to `NOW`; change it by `change_relaxation`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, vertical_spacing=0.26)
    line = {"mode": "lines", "hoverinfo": "skip"}
    volts = line | {"line": {"width": 2.5, "color": BLUE}}
    supply = line | {"line": {"width": 1.5, "color": INK}}
    fires = line | {"line": {"width": 1.5, "color": ORANGE, "dash": "dash"}}
    power = volts | {"x": 100 * _SHARES, "y": 100 * relative_power(_SHARES)}
    best = {
        "mode": "markers+text", "hoverinfo": "skip", "x": [100 * BEST_BREAKDOWN_SHARE], "y": [100],
        "marker": {"symbol": "triangle-down", "size": 13, "color": GREEN}, "cliponaxis": False,
        "text": [f"most power: {100 * BEST_BREAKDOWN_SHARE:.3g} %"], "textposition": "top center",
    }  # fmt: skip
    diamond = {"symbol": "diamond", "size": 15, "color": ORANGE, "line": {"width": 2, "color": INK}}
    now = {"mode": "markers", "marker": diamond, "cliponaxis": False}
    for trace, at in ((volts, 1), (supply, 1), (fires, 1), (power, 2), (best, 2), (now, 2)):
        figure.add_trace(go.Scatter(trace), row=at, col=1)
    _dress(figure)
    change_relaxation(figure, shown)
    return figure


def _dress(figure):
    """Put on the words, the axes and the scales that never move."""
    for side in ("right", "left"):  # supply, fires at
        figure.add_annotation(xref="x", yref="y", x=0, xanchor=side, yanchor="bottom",
                              showarrow=False, bgcolor="rgba(255,255,255,0.75)")  # fmt: skip
    titles = ("Volts on the capacitor, three sparks", "Mean power, % of the most; diamond: now")
    for text, height in zip(titles, (1.09, 0.47), strict=True):
        figure.add_annotation(text=text, xref="paper", yref="paper", x=0, xanchor="left", y=height,
                              yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, height=470)
    figure.update_xaxes(AXIS, showgrid=False)
    figure.update_yaxes(AXIS)
    title = "fires at, % of the supply's volts"
    shares = {"range": (0, 100), "tickvals": [0, 20, 40, 60, 80, 100]}
    figure.update_xaxes(shares, title_text=title, row=2, col=1)
    figure.update_yaxes(range=(0, 112), tickvals=[0, 25, 50, 75, 100], row=2, col=1)
    figure.update_xaxes(linecolor=PALE, row=1, col=1)
