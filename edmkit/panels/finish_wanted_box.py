"""A finish wanted: which sparks leave it, with what energy, and which is the fastest."""

from dataclasses import replace
from html import escape

import ipywidgets as widgets
import numpy as np
from numpy import format_float_positional

from edmkit.checks import Refusal
from edmkit.finder.grid import labels
from edmkit.panels.answers import band
from edmkit.panels.controls import Number, html, layout, refusal, say, shown, unwarned
from edmkit.physics.finish import vdi_class
from edmkit.planning.finish_wanted import energy_for
from edmkit.settings import Settings
from edmkit.units import um
from edmkit.words import Display, three, two

_SHOWN = 4  # sparks side by side
_DIALS = (("peak_current_A", "A"), ("on_time_us", "µs"), ("off_time_us", "µs"))
_CELLS = "repeat(auto-fit, minmax(min(215px, 100%), 1fr))"
_WHY = (
    "One finish, many sparks: a high current for a short time leaves it faster and wears the "
    "electrode more, a low current for a long time spares it."
)


class RoughNumber(Number):
    """A roughness Ra typed in the unit of the page; ``Ra_um`` is it in µm."""

    def __init__(self, label, value_um):
        self._display = Display()
        super().__init__(label, label, value_um, 0.05, 50, "µm")

    def _plain(self, value):
        """Return four digits: a converted roughness has no more."""
        return format_float_positional(value, 4, fractional=False, trim="-")

    @property
    def Ra_um(self):
        """What stands there [µm]."""
        return self.value / self._display.rough(1.0)

    def show_in(self, display, value_um=None):
        """Show it in the unit of a page, another value if one is given."""
        if display == self._display and value_um is None:
            return
        value = self.Ra_um if value_um is None else value_um
        self._display = display
        ends = (display.rough(0.05), display.rough(50))
        self.show_as(display.rough(value), display.rough_unit, *ends)


class _Cell(widgets.VBox):
    """One spark and the button that takes it."""

    def __init__(self, take):
        self.spark = None
        self.words = html()
        self.button = widgets.Button(description="Show this spark", layout=layout(width="auto"))
        super().__init__([self.words, self.button], layout={"justify_content": "space-between"})
        self.button.on_click(lambda _: take(self.spark.settings))

    def show(self, spark, words):
        """Show a spark, or nothing."""
        self.spark, self.words.value = spark, words
        shown(self, spark is not None)


class FinishWantedBox(widgets.VBox):
    """Ra wanted in, sparks out; ``found`` is the last answer, None where there is none.

    ``page`` gives ``setup``, ``settings``, ``shop``, ``display``, ``answered`` and
    ``take_spark(current_A, on_time_us)``.
    """

    def __init__(self, page):
        self.page, self.found = page, None
        self.wanted = RoughNumber("Ra wanted", 1.6)
        self.said, self.sure = html(), html()
        self.cells = [_Cell(self._take) for _ in range(_SHOWN)]
        grid = widgets.GridBox(
            self.cells, layout={"grid_template_columns": _CELLS, "grid_gap": "10px 16px"}
        )
        super().__init__([self.wanted, self.said, grid, self.sure, say(_WHY)])
        self.wanted.on_change(self.redraw)

    def _take(self, settings):
        self.page.take_spark(settings.peak_current_A, settings.on_time_us)

    def redraw(self):
        """Find the sparks anew."""
        if not self.page.answered:
            return
        self.wanted.show_in(self.page.display)
        self.found, trouble = None, ""
        if self.wanted.wrong:
            trouble = "the answer waits until the roughness is right."
        else:
            try:
                self.found = self._find()
            except Refusal as fault:
                trouble = plain(fault)
        self.said.value = refusal(trouble) if trouble else self._headline()
        sparks = _few(self.found.worth_dialling) if self.found else ()
        for place, cell in enumerate(self.cells):
            spark = sparks[place] if place < len(sparks) else None
            cell.show(spark, self._words(spark) if spark else "")
        self.sure.value = self._sure_words() if self.found else ""

    def _find(self):
        page = self.page
        like = page.settings if isinstance(page.settings, Settings) else None
        with unwarned():  # said beside the answer
            return energy_for(page.setup, self.wanted.Ra_um, page.shop, like=like)

    def _rough(self, Ra_um):
        display = self.page.display
        return f"Ra {three(display.rough(Ra_um))} {display.rough_unit}"

    def _headline(self):
        found = self.found
        energies = sorted(spark.energy_mJ for spark in found.worth_dialling)
        ends = dict.fromkeys((two(energies[0]), two(energies[-1])))
        words = (
            f"{self._rough(found.Ra_um)} is VDI 3400 class {vdi_class(found.Ra_um * um):.0f}. "
            f"Sparks of {' to '.join(ends)} mJ are likely to leave it."
        )
        law = ""
        if found.sparks[0].burn.flags["finish_out_of_range"]:
            law = ("Extrapolated: the roughness law was fitted from 0.4 to 15 µm. Hold the first "
                   "burn against a comparator.")  # fmt: skip
        said = f'<div class="edm-label">{escape(words)}</div>'
        return said + (f'<div class="edm-watch">{escape(law)}</div>' if law else "")

    def _words(self, spark):
        found, burn, display = self.found, spark.burn, self.page.display
        names = [word for word, best in (("fastest", found.fastest), ("least wear",
                 found.least_wear)) if best is spark]  # fmt: skip
        name = ", ".join(names).capitalize() or "Between"
        rate, wear = burn.removal_rate_mm3_per_min, burn.relative_wear_percent
        amps, on, off = switches(burn.setup, spark.settings)
        worn = f"wear {two(wear.likely)} %" if wear.likely == wear.likely else "no wear figure"
        lines = (
            f"current {amps}, on {on}, off {off}",
            f"leaves {self._rough(burn.roughness_Ra_um.likely)}",
            f"removes {two(display.rate(rate.likely))} {display.rate_unit} "
            f"({band(rate, display.rate_unit, display.rate)}), {worn}",
        )
        body = "".join(f'<div class="edm-band">{escape(line)}</div>' for line in lines)
        return (
            f'<div class="edm-tile"><div class="edm-title">{escape(name)}</div>'
            f'<div class="edm-big">{three(spark.energy_mJ)} <small>mJ a spark</small></div>'
            f"{body}</div>"
        )

    def _sure_words(self):
        """Return what must be dialled to be sure of it."""
        found = self.found
        percent, rough = f"{100 * found.chance:.0f} %", self._rough(found.Ra_um)
        known = [s for s in found.sparks if s.sure_energy_mJ is not None]
        if not known:
            text = f"To be {percent} sure of {rough} no spark here is small enough: burn a trial."
        else:
            spark = max(known, key=lambda s: s.sure_energy_mJ)
            sure = replace(spark.settings, on_time_us=spark.sure_on_time_us)
            amps, on, _ = switches(spark.burn.setup, sure)
            text = (
                f"To be {percent} sure of {rough}: {two(spark.sure_energy_mJ)} mJ at most, "
                f"current {amps}, on {on}. A burn of your own in the trial book makes the "
                "difference smaller."
            )
        return f'<div class="edm-label">{escape(text)}</div>'


_NAMES = (("from_Ra_um", "Ra now"), ("to_Ra_um", "Ra wanted"), ("Ra_um", "Ra wanted"))


def plain(fault):
    """Return a refusal with the words of the fields in place of the kit's names.

    Parameters
    ----------
    fault : Refusal
        What was refused.
    """
    said = str(fault)
    for name, word in _NAMES:
        said = said.replace(name, word)
    return said


def switches(setup, settings):
    """Return what is dialled: current, on-time, off-time as words.

    Parameters
    ----------
    setup : Setup
        On a machine what is engraved there counts; else three digits of the value.
    settings : Settings
        One setting.
    """
    if setup.machine is not None:
        engraved = labels(setup, settings)
        return tuple(engraved[name] for name, _ in _DIALS)
    return tuple(f"{three(getattr(settings, name))} {unit}" for name, unit in _DIALS)


def _few(sparks):
    """Return a few of the sparks, first and last among them."""
    places = np.unique(np.linspace(0, len(sparks) - 1, _SHOWN).round().astype(int))
    return [sparks[place] for place in places]
