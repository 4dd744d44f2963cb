"""A clock for a burn: start, stop, go on; a stop half-way is one burn."""

import time

import ipywidgets as widgets

from edmkit.panels.controls import html, layout
from edmkit.words import two


class Clock(widgets.VBox):
    """Counts the minutes of a burn, stops left out; it goes on after the page was closed.

    ``on_stop`` callbacks are given the minutes so far.
    """

    def __init__(self, memory=None):
        self._memory, self._callbacks = memory, []
        kept = memory.values.get("clock", {}) if memory else {}
        kept = kept if isinstance(kept, dict) else {}
        self._counted = float(kept.get("minutes", 0.0))
        # Over a closed page only the clock on the wall goes on; else the one nobody can set.
        self._wall, self._started = kept.get("since"), None
        self.button = widgets.Button(layout=layout(width="auto"))
        self.reset = widgets.Button(description="Back to 0", layout=layout(width="auto"))
        self._said = html()
        super().__init__([widgets.HBox([self.button, self.reset]), self._said])
        self.button.on_click(lambda _: self._turned())
        self.reset.on_click(lambda _: self.clear())
        self._show()

    def on_stop(self, callback):
        """Call back with the minutes when the clock is stopped."""
        self._callbacks.append(callback)

    @property
    def running(self):
        """Whether it counts."""
        return self._wall is not None

    @property
    def minutes(self):
        """Minutes counted so far [min]."""
        if not self.running:
            return self._counted
        if self._started is not None:
            return self._counted + (time.monotonic() - self._started) / 60
        return self._counted + max(time.time() - self._wall, 0.0) / 60

    def _turned(self):
        if self.running:
            self._counted, self._wall, self._started = self.minutes, None, None
            for callback in self._callbacks:
                callback(self._counted)
        else:
            self._wall, self._started = time.time(), time.monotonic()
        self._keep()

    def clear(self):
        """Stop, and count from 0 again."""
        self._counted, self._wall, self._started = 0.0, None, None
        self._keep()

    def _keep(self):
        if self._memory:
            self._memory.keep(clock={"minutes": self._counted, "since": self._wall})
        self._show()

    def _show(self):
        said = ""
        if self.running:
            since = time.strftime("%H:%M", time.localtime(self._wall))
            before = f", {two(self._counted)} minutes before that" if self._counted else ""
            said = f"Running since {since}{before}."
        elif self._counted:
            said = f"Stopped at {two(self._counted)} minutes. Go on, or save the burn."
        words = "Stop" if self.running else "Go on" if self._counted else "Start the clock"
        self.button.description = words
        self._said.value = f'<div class="edm-note">{said}</div>' if said else ""
