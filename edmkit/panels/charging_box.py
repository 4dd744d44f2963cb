"""A relaxation circuit on a page: its capacitor charging, its power, and what one spark takes."""

from html import escape

import ipywidgets as widgets

from edmkit.cautions import STAYS_CHARGED
from edmkit.checks import Refusal
from edmkit.dials.load_sizing import bleed_advice
from edmkit.panels.controls import html, layout, refusal, say, shown, unwarned
from edmkit.panels.live import LiveFigure
from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE
from edmkit.plots.relaxation_plot import change_relaxation, relaxation_figure, relaxation_plot
from edmkit.settings import Relaxation
from edmkit.units import mJ, ms, us
from edmkit.words import three, two

_SHORT = 0.1  # a spark longer than this share of the charging is said to be; assumption
_AS_GOOD = 99.9  # % of the most power: three digits show no difference
_CHOOSE = "Choose the relaxation circuit above to see its capacitor charge and fire."
_MODEL = (
    "No losses, and nothing flows from the supply while the spark burns. At which voltage the gap "
    "fires is set by how wide it is: a smaller gap fires earlier, with weaker sparks and more of "
    "them."
)


def caution(circuit):
    """Return what the capacitor of a circuit does to a hand, as HTML."""
    bleed = bleed_advice(circuit.capacitance_uF, circuit.supply_V)
    lines = (STAYS_CHARGED, f"Left in it: {bleed.danger}", bleed.take)
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f'<ul class="edm-watch" aria-label="The capacitor stays charged">{items}</ul>'


def _time(seconds):
    return (three(seconds / ms), "ms") if seconds >= ms else (three(seconds / us), "µs")


def _rows(burn):
    """Return words, value and unit of each number of the circuit."""
    circuit, point = burn.settings, burn.point
    spark, rate = point.spark, point.frequency
    taken = circuit.supply_V * point.average_current
    return (
        ("fires at", three(point.open_voltage), "V"),
        ("energy of one spark", three(spark.energy / mJ), "mJ"),
        ("time to charge", *_time(spark.charge_time)),
        ("sparks a second", three(rate), ""),
        ("mean power of the sparks", three(spark.energy * rate), "W"),
        ("heat in the resistor", three(taken - spark.energy * rate), "W"),
        ("mean current from the supply", three(point.average_current), "A"),
        ("at the first moment", three(circuit.supply_V / circuit.resistance_ohm), "A"),
        ("peak current of the spark", three(spark.peak_current), "A"),
        ("the spark burns for", *_time(spark.duration)),
    )


def _table(rows):
    cells = "".join(f"<tr><td>{escape(word)}</td><td><b>{value}</b> {unit}</td></tr>"
                    for word, value, unit in rows)  # fmt: skip
    return f'<table class="edm-table">{cells}</table>'


def _long_spark(spark):
    """Return the sentence about a spark that is not short against the charging, or ''."""
    share = spark.duration / spark.charge_time
    if share <= _SHORT:
        return ""
    return (
        f"The spark takes {two(100 * share)} % of the time to charge: the supply feeds it "
        "meanwhile, which these sums leave out, and it may not go out. Take a larger resistor or "
        "shorter leads."
    )


class ChargingBox(widgets.VBox):
    """The circuit of the page in volts and watts; one without a circuit is told to choose one.

    ``page`` gives ``settings``, ``burn`` and ``answered``; ``shown`` is what is drawn. A page that
    says the caution beside the controls leaves it out here.
    """

    def __init__(self, page, cautioned=True):
        self.page, self.figure, self.shown = page, None, None
        self.said, self.caution, self.drawing, self.note = html(), html(), widgets.VBox(), html()
        self.drawing.layout = widgets.Layout()  # hidden and shown: never a shared one
        two_columns = layout(
            grid_template_columns="repeat(auto-fit, minmax(min(330px, 100%), 1fr))",
            grid_gap="4px 18px",
        )
        told = widgets.VBox([self.said, self.note])
        both = widgets.GridBox([self.drawing, told], layout=two_columns)
        super().__init__([self.caution, both] if cautioned else [both])

    def redraw(self):
        """Show the circuit of the page."""
        circuit = self.page.settings
        if not isinstance(circuit, Relaxation):
            return self._only(say(_CHOOSE).value)
        try:
            self.caution.value = caution(circuit)
            if not self.page.answered:
                return
            with unwarned():  # the page says it
                self._show()
        except Refusal as fault:
            self._only(refusal(str(fault)))

    def _only(self, text):
        """Show a sentence and nothing else."""
        shown(self.drawing, False)
        self.said.value, self.note.value = text, ""
        if not isinstance(self.page.settings, Relaxation):
            self.caution.value = ""

    def _show(self):
        burn = self.page.burn
        self.shown = relaxation_plot(burn)
        if self.figure is None:
            self.figure = LiveFigure(relaxation_figure(self.shown))
            self.drawing.children = (self.figure,)
        else:
            change_relaxation(self.figure, self.shown)
        shown(self.drawing, True)
        self.said.value = _table(_rows(burn))
        best = BEST_BREAKDOWN_SHARE * burn.settings.supply_V
        power = self.shown.power_percent
        at_best = f"{three(best)} V, 71.5 % of the supply"
        lines = [f"It gives the most power: the gap fires at {at_best}."]
        if power < _AS_GOOD:
            lines = [f"Firing at {three(self.shown.fires_V)} V gives {three(power)} % of the most "
                     f"power, which is at {at_best}."]  # fmt: skip
        lines += [text for text in (_long_spark(burn.point.spark), _MODEL) if text]
        self.note.value = "".join(f'<div class="edm-note">{escape(t)}</div>' for t in lines)
