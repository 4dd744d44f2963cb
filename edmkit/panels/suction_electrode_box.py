"""The suction electrode of page 04: to which size its insert is filed, and what that rests on."""

from html import escape
from warnings import catch_warnings, simplefilter

import ipywidgets as widgets

from edmkit.checks import RangeWarning, Refusal
from edmkit.flushing.filing_trade import trade
from edmkit.flushing.gauge_free import DIRECTIONS, warm
from edmkit.flushing.suction_electrode import Suction, filing
from edmkit.flushing.two_cups import place_of
from edmkit.panels.controls import Number, Pick, html, layout, refusal, say
from edmkit.panels.live import LiveFigure
from edmkit.planning.filing_drawing import filing as filing_picture
from edmkit.plots.insert_trade import change_insert_trade, insert_trade, insert_trade_figure
from edmkit.words import Display, three, two

_LENGTHS = {  # label, what is meant, value, limits [mm], what an empty field means
    "bore": ("Bore", 1.0, (0.1, 50), None),
    "insert": ("Insert, diameter", None, (0.05, 50), "bore"),
    "depth": ("Filed off each flat", None, (0, 25), "advised"),
    "length": ("Length of the flats", 12.0, (0.1, 500), None),
    "cut": ("Gone at a dressing", 0.5, (0.001, 100), None),
}
_ADVISED = "as advised"


class SuctionElectrodeBox(widgets.VBox):
    """Bore, insert, flats and suction in; the size to file to, the fin and the flow out.

    ``page`` gives the hole, its ``window`` of flushing, the ``bench`` and how lengths are shown;
    ``redraw`` follows it: its bore and its pressure are taken over when they change.
    """

    def __init__(self, page):
        self.page, self._display, self._bore_there = page, Display(), None
        self._pressure_there = None
        self.trade, self.filing, self.message, self.figure = None, None, "", None
        self.lengths = {
            name: Number(label, label, value, *limits, "mm", empty)
            for name, (label, value, limits, empty) in _LENGTHS.items()
        }
        self.flats = Pick("Flats", [(_ADVISED, 0), *((str(n), n) for n in range(1, 5))])
        self.suction = Number("Suction", "Suction", 20.0, 0.1, 100, "kPa")
        self.answer, self.drawing, self.rests_on = html(), html(), html()
        self._message = html()
        self._figure_box = widgets.VBox([])
        entries = list(self.lengths.values())
        controls = widgets.VBox([*entries[:2], self.flats, *entries[2:], self.suction,
                                 self._message], layout=layout(flex="1 1 300px"))  # fmt: skip
        answers = widgets.VBox(
            [self.answer, self.drawing, self.rests_on], layout=layout(flex="1 1 380px")
        )
        plot = widgets.VBox([self._figure_box], layout=layout(flex="1 1 380px"))
        columns = layout(display="flex", flex_flow="row wrap", align_items="flex-start")
        super().__init__([
            html('<div class="edm-head">The suction electrode: how deep to file the flats</div>'),
            say("An insert sits in the bore; fluid is drawn up through flats filed on it. Filed "
                "deep, they let it pass and leave a fin in the hole; filed shallow, they leave "
                "none and choke it."),
            widgets.Box([controls, answers, plot], layout=columns),
        ])  # fmt: skip
        self.add_class("edm-group")
        for entry in (*entries, self.flats, self.suction):
            entry.on_change(self.redraw)
        self.redraw()

    def redraw(self):
        """Work the electrode out anew for the hole on the page, and show it."""
        if not self.page.answered:
            self._complain("Give a hole that can be burned first.")
            return
        self._follow()
        wrong = [e.name for e in (*self.lengths.values(), self.suction) if e.wrong]
        if wrong:
            self._complain("")
            return
        try:
            with catch_warnings(record=True) as found:
                simplefilter("always", RangeWarning)
                self._work_out()
        except Refusal as fault:
            self._complain(_in_words(str(fault)))
            return
        self._complain("")
        said = [str(one.message) for one in found]
        if not hasattr(self.page.hole.electrode, "d"):
            said.append("This electrode counts as the round of the same area.")
        self._show(dict.fromkeys(said))

    def _complain(self, text):
        self.message = text
        self._message.value = refusal(text)
        if text:
            self.answer.value = self.drawing.value = self.rests_on.value = ""

    def _follow(self):
        """Take over the page's unit, and its bore where that has changed."""
        display, hole = self.page.display, self.page.hole
        if display != self._display:
            for name, entry in self.lengths.items():
                old, (low, high) = entry.value, _LENGTHS[name][2]
                value = None if old is None else display.length(self._display.length_mm(old))
                entry.show_as(value, display.length_unit, display.length(low), display.length(high))
            self._display = display
        self.suction.rename(self._direction.capitalize())
        pressure = self.page.window.pressure_kPa
        if pressure and pressure != self._pressure_there:
            self._pressure_there = self.suction.value = pressure
        if hole.bore_mm != self._bore_there:
            self._bore_there = hole.bore_mm
            bore = hole.bore_mm or _third(hole.electrode)
            low, high = (display.length(v) for v in _LENGTHS["bore"][2])
            self.lengths["bore"].show_as(display.length(bore), display.length_unit, low, high)

    @property
    def _direction(self):
        kind = self.page.hole.burn.setup.flushing.kind
        return kind if kind in DIRECTIONS else DIRECTIONS[0]

    def _mm(self, name):
        value = self.lengths[name].value
        return None if value is None else self._display.length_mm(value)

    def _work_out(self):
        hole, bore, insert = self.page.hole, self._mm("bore"), self._mm("insert")
        fluid = warm(hole.burn.setup.dielectric, self.page.bench.oil_C)
        suction = Suction(
            place_of(hole, bore), bore if insert is None else insert, self._mm("length"),
            self._mm("cut"), self.suction.value, fluid, self._direction,
        )  # fmt: skip
        self.trade = trade(suction, self.flats.value or None)
        advice, depth = self.trade.advice, self._mm("depth")
        given = depth is not None
        self.filing = filing(suction, advice.tube.flats, depth) if given else advice

    def _show(self, notes):
        display, made, found = self._display, self.filing, self.trade
        self.answer.value, self.rests_on.value = _words(made, found, display, notes)
        self.drawing.value = filing_picture(made.tube, display=display)
        line = found.lines[made.tube.flats - 1]
        shown = insert_trade(line, found.snaps_mm, made.tube.flat_depth, display.length(1.0),
                             display.length_unit)  # fmt: skip
        if self.figure is None:
            self.figure = LiveFigure(insert_trade_figure(shown))
            self._figure_box.children = (self.figure,)
        else:
            change_insert_trade(self.figure, shown)


def _third(shape):
    """Return a bore that leaves a wall as wide as itself, to a tenth [mm]: a start, no advice."""
    return max(round(shape.smallest_width_mm / 3, 1), 0.1)


_NAMES = {
    "flat_depth": "Filed off each flat",
    "insert_mm": "The insert's diameter",
    "insert": "The insert's diameter",
    "bore_mm": "The bore",
    "bore": "The bore",
    "flat_length_mm": "The length of the flats",
    "cut_mm": "What a dressing takes",
    "pressure_kPa": "Suction or pressure",
    "gap_front_um": "The gap in front",
    "gap_side_um": "The gap at the side",
}


def _in_words(text):
    """Return a refusal with the field's own words in place of a parameter's name."""
    name, _, rest = text.partition(" must ")
    return f"{_NAMES[name]} must {rest}" if name in _NAMES else text


def _words(made, found, display, notes):
    """Return the size to file to, and what it rests on, both as HTML."""
    tube, over = made.tube, made.reading.words.removeprefix("insert, ")
    flats = "1 flat" if tube.flats == 1 else f"{tube.flats} flats"
    number, unit = display.size_text(made.reading.mm, 0.01).split()
    low, high = (two(end) for end in made.flow_ends)
    passes = f"About {three(made.flow_ml_per_min)} ml/min pass, {low} to {high}."
    why = [f"Why this depth? {found.reason}"] if made is found.advice else []
    ends = found.lines[tube.flats - 1].ends(display)
    lines = (
        made.fin.said(display),
        f"{made.meter_sentence} {passes}",
        " ".join([*why, *ends]),
        found.suction.dressings_said(display),
        *notes,
    )
    said = "".join(f"<div>{escape(line)}</div>" for line in lines)
    return (
        f'<div class="edm-tile"><div class="edm-title">File {flats} until a micrometer reads, '
        f'{escape(over)}</div><div class="edm-big">{number} <small>{unit}, '
        f"{display.size_text(tube.flat_depth, 0.01)} off each flat</small></div></div>",
        f'<div class="edm-band">{said}</div>',
    )
