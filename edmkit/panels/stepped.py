"""A slider over a list of choices, with large buttons for one step down and one up."""

from html import escape

import ipywidgets as widgets

from edmkit.panels.controls import STEP, html, label_of, layout, row


class Stepped(widgets.VBox):
    """A slider over a list of choices, with a button for one step down and one for one up.

    ``options`` are (text, value) pairs; ``value`` is the chosen value, ``index`` its number.
    ``slider`` False leaves the buttons alone, where there is no room.
    """

    def __init__(self, label, options, value=None, tip="", slider=True):
        self._options, values = options, [v for _, v in options]
        self._slider = widgets.SelectionSlider(
            options=options,
            value=value if value in values else values[len(values) // 2],
            readout=False,
            description=label,
            style={"description_width": "0px"},
            layout=layout(width="100%", margin="0"),
        )
        self._slider.add_class("edm-slider")
        self._shown, self.note = html(), html()
        less, more = (self._button(label, *step) for step in (("−", -1, "down"), ("+", 1, "up")))
        name = label_of(label, tip)
        if slider:
            parts = [name, less, self._slider, more, self._shown]
            line = row(*parts, columns=f"88px {STEP} minmax(60px, 1fr) {STEP} 122px")
        else:
            line = row(name, less, self._shown, more, columns=f"60px {STEP} 1fr {STEP}")
        super().__init__([line, self.note])
        self.add_class("edm-stepped")
        self._callbacks, self._hushed = [], False
        self._slider.observe(self._changed, "value")
        self.show(self.text)

    def _button(self, label, sign, by, word):
        button = widgets.Button(
            description=sign,
            tooltip=f"{label}: one step {word}",
            layout=layout(width=STEP, height=STEP, margin="0"),
        )
        button.add_class("edm-step")
        button.on_click(lambda _: self.step(by))
        return button

    def _changed(self, _):
        self.show(self.text)
        if not self._hushed:
            for callback in self._callbacks:
                callback()

    @property
    def text(self):
        """The text of the choice."""
        return self._options[self._slider.index][0]

    def show(self, text):
        """Show a text as the present choice."""
        self._shown.value = f'<span class="edm-value">{escape(text)}</span>'

    @property
    def value(self):
        """The chosen value."""
        return self._slider.value

    @value.setter
    def value(self, value):
        self._slider.value = value

    @property
    def index(self):
        """The number of the choice, from 0."""
        return self._slider.index

    @index.setter
    def index(self, index):
        self._slider.index = index

    @property
    def size(self):
        """How many choices there are."""
        return len(self._slider.options)

    def step(self, by):
        """Go some choices up or down; stops at the ends."""
        self._slider.index = min(max(self._slider.index + by, 0), self.size - 1)

    def offer(self, options, value):
        """Offer other choices and take one of them; nobody is called back."""
        self._hushed = True
        self._options = options
        self._slider.options = options
        self._slider.value = value
        self._hushed = False
        self.show(self.text)

    def set_quietly(self, value):
        """Take a choice; nobody is called back."""
        self._hushed = True
        self._slider.value = value
        self._hushed = False

    def on_change(self, callback):
        """Call back when the choice has changed."""
        self._callbacks.append(callback)
