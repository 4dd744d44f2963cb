"""The controls of the pages: large steps for a dirty thumb, a sentence beside a wrong number."""

from contextlib import contextmanager, suppress
from functools import cache, cached_property
from html import escape
from warnings import catch_warnings, simplefilter

import comm
import ipywidgets as widgets
from numpy import format_float_positional

from edmkit.checks import RangeWarning, Refusal, require
from edmkit.words import Display, read_length

STEP = "42px"  # wide enough for a thumb
_LABEL, _FIELD = "104px", "78px"


@cache
def _shared(_speaking, columns=None):
    """Return one layout and style for many widgets: each of their own would cost a message."""
    if columns is None:
        return {"layout": widgets.Layout(), "style": widgets.HTML().style}
    return {
        "layout": widgets.Layout(
            grid_template_columns=columns, grid_gap="0 6px", align_items="center", width="100%"
        )
    }


@cache
def shared_layout(_speaking, **traits):
    """Return one layout for many widgets that never change theirs."""
    return widgets.Layout(**traits)


def layout(**traits):
    """Return a layout that is shared by all who ask for the same; never change it."""
    return shared_layout(comm.create_comm, **traits)


@cache
def _shared_field(_speaking):
    text = widgets.Text(style={"description_width": "0px"}, layout={"width": _FIELD, "margin": "0"})
    return {"layout": text.layout, "style": text.style}


def html(text=""):
    """Return a widget that shows HTML; many share one layout, so never change it."""
    return widgets.HTML(text, **_shared(comm.create_comm))


def say(text, css="edm-note"):
    """Return a line of text as a widget; the text is escaped."""
    return html(f'<div class="{css}">{escape(text)}</div>' if text else "")


def refusal(text):
    """Return a sentence as HTML that says what to put right; empty for no text."""
    return f'<div class="edm-refusal" role="alert">{escape(text)}</div>' if text else ""


def row(*parts, columns):
    """Return widgets side by side in a grid of these columns; its layout is shared."""
    return widgets.GridBox(list(parts), **_shared(comm.create_comm, columns))


@contextmanager
def unwarned():
    """Leave out the warnings of extrapolation, where the page says them in a sentence."""
    with catch_warnings():
        simplefilter("ignore", RangeWarning)
        yield


def framed(title, *parts):
    """Return widgets in a frame, under a heading."""
    box = widgets.VBox([html(f"<h3>{escape(title)}</h3>"), *parts])
    box.add_class("edm-group")
    return box


def _label_html(text, tip="", unit=""):
    """Return a label as HTML; ``unit`` is HTML already."""
    return f'<span class="edm-label" title="{escape(tip, True)}">{escape(text)}{unit}</span>'


def label_of(text, tip=""):
    """Return a label as a widget."""
    return html(_label_html(text, tip))


def toggle(options, width, value=None):
    """Return buttons of which one is pressed, each this wide."""
    # Without tooltips ipywidgets 8.1 logs an error in the browser at each press.
    buttons = widgets.ToggleButtons(options=options, tooltips=[""] * len(options))
    buttons.style.button_width = width
    if value is not None:
        buttons.value = value
    return buttons


class Number(widgets.VBox):
    """A number typed in, in the shown unit; a wrong one is answered beside it, never changed.

    ``value`` is the last good number; ``wrong`` says whether the text is not one. A length may
    be typed with a unit, and inches as a fraction: it is then shown in the field's own unit.
    With ``stacked`` the label stands above the field, and ``message`` is placed by the caller.
    """

    def __init__(self, label, name, value, low, high, unit="", empty=None, stacked=False):
        self.name, self.limits, self.unit, self._empty = name, (low, high), unit, empty
        self._word = label
        self._value, self.wrong, self._rewriting = value, False, False
        self._text = widgets.Text(
            value=self._plain(value),
            description=label,
            continuous_update=False,
            placeholder=empty or "",
            **_shared_field(comm.create_comm),
        )
        self._text.add_class("edm-number")
        self._label, self._unit, self._complaint = label_of(label), None, ""
        self._callbacks = []
        if stacked:  # one label for word and unit: each widget costs the page a message
            parts = [self._label, self._text]
        else:
            self._unit, columns = html(), f"{_LABEL} {_FIELD} 1fr"
            parts = [row(self._label, self._text, self._unit, columns=columns), self.message]
        super().__init__(parts)
        self._show_unit()
        self._text.observe(self._typed, "value")

    def _plain(self, value):
        if value is None:
            return ""
        inches = self.unit == "in" and abs(value) < 100  # so that it fits the field
        digits = 5 if inches else 6
        return format_float_positional(value, digits, fractional=inches, trim="-")

    def _show_unit(self):
        if self._unit is not None:
            self._unit.value = f'<span class="edm-unit">{escape(self.unit)}</span>'
        else:
            self._say_label()

    @cached_property
    def message(self):
        """A place for the sentence beside the field, made when it is first asked for."""
        return html(refusal(self._complaint))

    @property
    def value(self):
        """The last good number, None where the field may be empty and is."""
        return self._value

    @value.setter
    def value(self, value):
        self._text.value = self._plain(value)

    def type(self, text):
        """Type a text into the field, as a person would."""
        self._text.value = text

    def complain(self, text):
        """Show a sentence beside the field, or nothing."""
        self._complaint = text
        if "message" in self.__dict__:
            self.message.value = refusal(text)

    @property
    def complaint(self):
        """The sentence beside the field."""
        return refusal(self._complaint)

    def _typed(self, _):
        if self._rewriting:
            return
        text = self._text.value.strip()
        try:
            number = None if not text and self._empty is not None else self._read(text)
        except Refusal as refusal:
            self.wrong = True
            self.complain(str(refusal))
        else:
            self._value, self.wrong = number, False
            self.complain("")
            if text.strip("0123456789."):  # a unit or a fraction: show what it stands for
                self._write(number)
        for callback in self._callbacks:
            callback()

    def _read(self, text):
        (low, high), unit, number = self.limits, self.unit, text
        if unit in ("mm", "in"):
            display, wanted = Display(unit == "in"), f"{low:g} to {high:g} {unit}"
            number = display.length(read_length(text, display, f"{self.name} must be {wanted}"))
        else:
            with suppress(ValueError):
                number = float(text)
        return float(require(self.name, number, low, high, unit, knob="type a number"))

    def show_as(self, value, unit, low, high):
        """Show a value in another unit, with the limits of that unit; nobody is called back."""
        self.limits, self.unit = (low, high), unit
        self._show_unit()
        self._write(value)
        self._value, self.wrong = value, False  # in full: the text shows six digits
        self.complain("")

    def _write(self, value):
        self._rewriting = True
        self._text.value = self._plain(value)
        self._rewriting = False

    def rename(self, label):
        """Call the field something else."""
        self.name, self._word, self._text.description = label, label, label
        self._say_label()

    def _say_label(self):
        unit = f" <small>{escape(self.unit)}</small>" if self._unit is None and self.unit else ""
        self._label.value = _label_html(self._word, unit=unit)

    def on_change(self, callback):
        """Call back when a text was typed, right or wrong."""
        self._callbacks.append(callback)


class Pick(widgets.VBox):
    """A choice from a list of words, with a line below for the reason."""

    def __init__(self, label, options, value=None, stacked=False):
        self._drop = widgets.Dropdown(
            options=options,
            description=label,
            style={"description_width": "0px"},
            layout=layout(width="100%", margin="0"),
        )
        if value is not None:
            self._drop.value = value
        self._note = html()
        parts = [label_of(label), self._drop]
        if not stacked:
            parts = [row(*parts, columns=f"{_LABEL} 1fr")]
        super().__init__([*parts, self._note])

    @property
    def value(self):
        """The chosen value."""
        return self._drop.value

    @value.setter
    def value(self, value):
        self._drop.value = value

    def offer(self, options, value):
        """Offer other choices and take one of them."""
        self._drop.options = options
        self._drop.value = value

    def note(self, text, css="edm-note"):
        """Show a line below the choice."""
        self._note.value = f'<div class="{css}">{escape(text)}</div>' if text else ""

    def on_change(self, callback):
        """Call back when the choice has changed."""
        self._drop.observe(lambda _: callback(), "value")


def shown(widget, yes):
    """Show a widget or take it out of the page."""
    widget.layout.display = None if yes else "none"
