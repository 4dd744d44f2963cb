"""How often the pulses come: a recording picked, or a frequency typed; taken at a press."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.pitch import find_pitch
from edmkit.dials.sound import read_wav
from edmkit.dials.survey import DOUBTED
from edmkit.estimate import BAND, Estimate
from edmkit.panels.controls import Number, Pick, html, layout, refusal, say, shown
from edmkit.panels.live import LiveFigure
from edmkit.plots.pitch_plot import change_pitch_plot, pitch_plot, pitch_plot_figure
from edmkit.units import kHz
from edmkit.words import three, two

# Standard deviation of the logarithm of a typed frequency: assumptions; a meter's is its own 0.5 %.
_BY = {"meter": ("a meter with Hz", 0.005), "typed": ("a tuner or another way", 0.01)}
_EXPLAIN = (
    "Press the electrode on scrap, so that it buzzes evenly. Record ten seconds with a phone half "
    "a metre away, pump off, no lifts, saved as WAV, and pick the file here. Or type what a meter "
    "with Hz, or a tuner, shows."
)
_HIGH = (
    "A phone hears to about 20 kHz. Where the pulses come oftener, record at a pair of longer "
    "times, or use a meter with Hz."
)


def _words(frequency_Hz):
    """Return a frequency as a person reads it."""
    if frequency_Hz < kHz:
        return f"{three(frequency_Hz)} Hz"
    return f"{three(frequency_Hz / kHz)} kHz"


class SoundBox(widgets.VBox):
    """Takes the pitch of the buzz from a recording, or as it is typed.

    ``on_found(frequency_Hz, spread, source)`` is called when the person takes it; ``source`` is
    "recording", "recording in doubt", "meter" or "typed". ``pitch`` is what the last recording
    gave, None without.
    """

    def __init__(self, on_found):
        self._on_found, self.pitch, self._sound, self._candidate = on_found, None, None, None
        self.figure = None
        self.upload = widgets.FileUpload(accept=".wav", multiple=False, layout=layout(width="auto"),
                                         description="Pick a recording, WAV")  # fmt: skip
        self.typed = Number("Pulses a second", "frequency", None, 0.05, 1000, "kHz", "-", True)
        self.by = Pick("Counted by", [(words, by) for by, (words, _) in _BY.items()], stacked=True)
        self.said, self.answer = html(), html()
        # Layouts of their own: these are hidden at times.
        self.take = widgets.Button(description="Take this pitch", layout={"width": "auto"})
        self.others, self._plot = widgets.HBox(layout={"flex_flow": "row wrap"}), widgets.VBox()
        row = widgets.HBox([self.typed, self.by], layout=layout(grid_gap="0 14px"))
        super().__init__([say(_EXPLAIN), self.upload, row, self.typed.message, self.answer,
                          self.take, self.others, self.said, self._plot, say(_HIGH)])  # fmt: skip
        self.upload.observe(lambda _: self._picked(), "value")
        self.typed.on_change(self._typed)
        self.by.on_change(self._typed)
        self.take.on_click(lambda _: self._taken())
        self._show()

    # --- heard ------------------------------------------------------------------------------
    def _picked(self):
        if self.upload.value:
            file = self.upload.value[0]
            self.read_in(bytes(file["content"]), file["name"])

    def read_in(self, data, name=""):
        """Find the pitch of a recording and show it.

        Parameters
        ----------
        data : bytes
            What is in the file.
        name : str
            What it is called.
        """
        self.pitch, self._candidate, trouble = None, None, ""
        self.said.value = ""
        try:
            sound = read_wav(data, name)
            self.said.value = _lines(sound.said)
            self.pitch = find_pitch(sound)
        except Refusal as fault:
            trouble = refusal(str(fault))
        if self.pitch:
            self.typed.show_as(None, "kHz", *self.typed.limits)  # one answer at a time
            self._offer(self.pitch.frequency_Hz, self.pitch.spread, "recording")
            self._draw()
        self._show(trouble)

    def _typed(self):
        value, by = self.typed.value, self.by.value
        if self.typed.wrong or value is None:
            self._candidate = None if self.typed.wrong or not self.pitch else self._candidate
        else:
            self.pitch, self.said.value = None, ""
            self._offer(value * kHz, _BY[by][1], by)
        self._show()

    def _offer(self, frequency, spread, source):
        self._candidate = Estimate(frequency, spread), source

    def _choose(self, frequency):
        """Offer another of the pitches that the recording may have."""
        self._offer(frequency, self.pitch.spread, "recording")
        self._show()

    def _taken(self):
        found, source = self._candidate
        if source == "recording" and not self.pitch.sure:
            source = DOUBTED
        self._on_found(float(found.likely), float(found.spread), source)

    @property
    def waiting(self):
        """Whether a pitch stands here that was not taken yet."""
        return self._candidate is not None

    def clear(self):
        """Forget the pitch: it was taken."""
        self.pitch, self._candidate, self.said.value = None, None, ""
        self.typed.show_as(None, self.typed.unit, *self.typed.limits)
        self._show()

    # --- shown ------------------------------------------------------------------------------
    def _draw(self):
        plot = pitch_plot(self.pitch)
        if self.figure is None:
            self.figure = LiveFigure(pitch_plot_figure(plot))
            self._plot.children = [self.figure]
        else:
            change_pitch_plot(self.figure, plot)

    def _show(self, trouble=""):
        shown(self.take, self._candidate is not None)
        shown(self._plot, self.pitch is not None)
        shown(self.others, self.pitch is not None)
        self.answer.value = trouble or self._answer()
        self.others.children = self._buttons()

    def _buttons(self):
        """Return a button for each pitch that it could be instead of the one shown."""
        if not self.pitch or not self._candidate:
            return ()
        mine, made = self._candidate[0].likely, []
        for frequency in (self.pitch.frequency_Hz, *self.pitch.others):
            if frequency != mine:
                button = widgets.Button(description=f"It is {_words(frequency)} instead",
                                        layout=layout(width="auto"))  # fmt: skip
                button.on_click(lambda _, f=frequency: self._choose(f))
                made.append(button)
        return tuple(made)

    def _answer(self):
        """Return the pitch in large letters, its band, the period, and what is in doubt."""
        if self._candidate is None:
            return ""
        found, source = self._candidate
        own = source == "recording" and found.likely == self.pitch.frequency_Hz
        doubt = self.pitch.why if own and not self.pitch.sure else ""
        if source == "recording" and self.pitch.mains_Hz:
            hum = f"The hum of {self.pitch.mains_Hz:.0f} Hz mains was heard and left out."
        else:
            hum = ""
        band = (f"Give or take {two(100 * BAND * found.spread)} %. On-time and off-time together "
                f"are {three(1e6 / found.likely)} µs.")  # fmt: skip
        return (
            f'<div class="edm-big">{escape(_words(found.likely))}</div>'
            f'<div class="edm-band">{escape(band)}</div>{refusal(doubt)}{_lines([hum])}'
        )


def _lines(sentences):
    """Return sentences as lines of HTML."""
    return "".join(f'<div class="edm-note">{escape(text)}</div>' for text in sentences if text)
