"""The step of page 01 that turns relative times into microseconds: a pitch, a counter, a plate."""

from html import escape

import ipywidgets as widgets

from edmkit.checks import Refusal
from edmkit.dials.next_reading import Asked, expected_pitch, pair_for_pitch
from edmkit.dials.practice import pitch_Hz
from edmkit.dials.survey import LOAD, SHORT, Tone
from edmkit.panels.controls import Pick, html, refusal, shown
from edmkit.panels.dial_pictures import phone_beside
from edmkit.panels.dial_plates import PlatesBox, taken_line
from edmkit.panels.dial_steps import WRAPPED, Step, mind, two_columns
from edmkit.panels.own_book import Fold
from edmkit.panels.sound_box import SoundBox
from edmkit.words import three

SECOND = "Hear a second pair: it shows an octave slip, and a worn position. "
THIRD = "Two pitches are enough, if nothing below speaks against them. "
PRESS = {
    SHORT: "Press the electrode on scrap.",
    LOAD: "Electrode up, the resistor between electrode and work.",
}


class PitchStep(Step):
    """How often the pulses come at one pair of positions."""

    number, title = 5, "How many microseconds is that?"

    def parts(self):
        """Return the widgets of the step."""
        self.on, self.off = (Pick(w, [("", "")], stacked=True) for w in ("On-time", "off-time"))
        self.asked, self.said, self.list = html(), html(), widgets.VBox()
        for pick in (self.on, self.off):
            pick.on_change(self._picked)
        self._chosen = False
        self.box = SoundBox(self._found)
        self.practise = widgets.Button(description="Let the practice machine answer",
                                       layout={"width": "auto"})  # fmt: skip
        self.practise.on_click(lambda _: self.answer())
        times = ("on_time_us", "off_time_us")
        self.plates = Fold("No sound? One time from a plate does it too",
                           lambda: PlatesBox(self.page, times))  # fmt: skip
        pair = widgets.HBox([self.on, self.off], layout=WRAPPED)
        left = widgets.VBox([self.asked, pair, self.box, self.practise, self.said, self.list,
                             self.plates])  # fmt: skip
        right = widgets.VBox([html(phone_beside()), mind(5)])
        return [two_columns(left, right)]

    def _found(self, frequency_Hz, spread, source):
        tone = Tone(frequency_Hz, spread, self.on.value, self.off.value, source)
        try:
            survey = self.page.survey.with_tone(tone)
        except Refusal as fault:
            self.said.value = refusal(str(fault))
            return
        self.said.value, self._chosen = "", False
        self.box.clear()
        self.page.tell(survey)

    def _picked(self):
        """Keep a pair that the person picks, until its pitch is taken."""
        if not self._busy:
            self._chosen = True
            self.follow()

    def answer(self):
        """Take the pitch of the invented machine."""
        if self.page.practice is not None:
            heard = pitch_Hz(self.page.practice, self.on.value, self.off.value)
            self._found(float(f"{heard:.4g}"), 0.003, "typed")

    def follow(self):
        """Ask for a pair to hear, list what was heard."""
        shown(self.practise, self.page.practice is not None)
        if not self.page.ready:
            return
        survey = self.page.counting
        if self._chosen or self.box.waiting:  # a pitch belongs to the pair it was heard at
            pair = self.on.value, self.off.value
            asked = Asked(*pair, expected_pitch(self.page.solved, *pair))
        else:
            asked = pair_for_pitch(self.page.solved)
            self.quietly(lambda: self._offer(survey, asked))
        known = ("", SECOND, THIRD)[min(len(survey.tones), 2)]
        self.asked.value = (
            f'<div class="edm-big">On-time {escape(asked.on_time)}, off-time '
            f'{escape(asked.off_time)}</div><div class="edm-label">{known}'
            f"{PRESS[self.page.pressing]} To be expected: {escape(asked.why)}.</div>"
        )
        self.list.children = [
            taken_line(f"On-time {t.on_time}, off-time {t.off_time}: {three(t.frequency_Hz)} Hz, "
                       f"so {three(1e6 / t.frequency_Hz)} µs a period",
                       lambda t=t: self.page.tell(self.page.survey.without(t)))
            for t in survey.tones
        ]  # fmt: skip
        if self.plates.content is not None:
            self.plates.content.follow()

    def _offer(self, survey, asked):
        """Offer every pair, the one asked for picked."""
        for pick, labels, wanted in ((self.on, survey.on_time_us, asked.on_time),
                                     (self.off, survey.off_time_us, asked.off_time)):  # fmt: skip
            pick.offer([(x, x) for x in labels], wanted)

    @staticmethod
    def told(page):
        """Return the answer in a few words."""
        if page.counting.tones:
            return f"{three(page.counting.tones[-1].frequency_Hz)} Hz"
        return "by plate" if page.dials and page.dials.factor_known else ""
