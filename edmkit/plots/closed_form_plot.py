"""The solver beside a closed form: how far it warms down the axis and along the surface.

In shares of the hottest point: without melting and boiling its degrees would be a fiction.
"""

from dataclasses import dataclass

from edmkit.physics.crater import START
from edmkit.plots.scale import marks, steady
from edmkit.plots.style import AXIS, BLUE, LAYOUT, ORANGE
from edmkit.spark_film import ClosedForm
from edmkit.units import um

EXACT_DOWN, SOLVED_DOWN, EXACT_ALONG, SOLVED_ALONG = range(4)
_SEEN, _TOP = 1, 105  # % of the highest rise: down to which a curve is drawn, end of the scale


@dataclass(frozen=True)
class ClosedFormPlot:
    """The two curves to show, and the shown unit of length."""

    found: ClosedForm
    per_um: float = 1.0
    unit: str = "µm"

    @property
    def lines(self):
        """Places [shown unit] and rises [% of the highest], in the order of the traces."""
        found = self.found
        highest = found.down_exact.max() - START
        pairs = [(found.depths, found.down_exact), (found.depths, found.down),
                 (found.distances, found.along_exact), (found.distances, found.along)]  # fmt: skip
        return [(places / um * self.per_um, 100 * (heat - START) / highest)
                for places, heat in pairs]  # fmt: skip


def change_closed_form(figure, shown):
    """Put other curves into the figure.

    Parameters
    ----------
    figure : plotly.graph_objects.Figure
        From `closed_form_figure`.
    shown : ClosedFormPlot
        What it becomes.
    """
    lines, layout = shown.lines, figure.layout
    with figure.batch_update():
        for trace, (places, heat) in zip(figure.data, lines, strict=True):
            trace.x, trace.y = places, heat
        for axes, (places, heat) in zip(
            ((layout.xaxis, layout.yaxis), (layout.xaxis2, layout.yaxis2)), lines[::2], strict=True
        ):
            end = steady(float(places[heat > _SEEN].max()))
            axes[0].update(range=(0, end), tickvals=marks(end))
            axes[1].update(range=(0, _TOP), tickvals=marks(100))
        layout.xaxis.title.text = f"{shown.unit} below the middle of the spark"
        layout.xaxis2.title.text = f"{shown.unit} from the middle, at the surface"


def closed_form_figure(shown):
    """Return the figure of the solver beside the closed form.

    Parameters
    ----------
    shown : ClosedFormPlot
        What it shows.

    Returns
    -------
    plotly.graph_objects.Figure
        Traces in the order of `EXACT_DOWN` to `SOLVED_ALONG`; change it by `change_closed_form`.
    """
    import plotly.graph_objects as go
    from plotly.subplots import make_subplots

    figure = make_subplots(rows=2, cols=1, vertical_spacing=0.24)
    line = {"mode": "lines", "line": {"width": 2.5, "color": BLUE}, "hoverinfo": "skip"}
    dots = {"mode": "markers", "hoverinfo": "skip",
            "marker": {"size": 8, "symbol": "circle-open", "color": ORANGE,
                       "line": {"width": 2}}}  # fmt: skip
    for style, row in ((line, 1), (dots, 1), (line, 2), (dots, 2)):
        figure.add_trace(go.Scatter(style), row=row, col=1)
    title = "Rise, % of the hottest point; line: formula, rings: solver"
    figure.add_annotation(text=title, xref="paper", yref="paper", x=0, xanchor="left", y=1.09,
                          yanchor="top", showarrow=False, font={"size": 14})  # fmt: skip
    figure.update_layout(LAYOUT, showlegend=False, height=440)
    figure.update_xaxes(AXIS, showgrid=False)
    figure.update_yaxes(AXIS)
    change_closed_form(figure, shown)
    return figure
