"""The controls of the machine: positions of its switches, the lift timer, the working gap."""

import ipywidgets as widgets
import numpy as np

from edmkit.panels.controls import Number, html, row, shown
from edmkit.panels.job import SWITCHES
from edmkit.panels.stepped import Stepped
from edmkit.settings import LIMITS
from edmkit.words import three

_NAMES = {
    "peak_current_A": "Peak current",
    "on_time_us": "On-time",
    "off_time_us": "Off-time",
    "open_voltage_V": "Open voltage",
}
_SECONDS = (0.2, 0.3, 0.5, 0.8, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30)
_GAPS_UM = range(3, 151)
_NO_LIFT = 0.0  # a slider cannot hold None


def switch_texts(switch):
    """Return a text for each choice of a switch: what is engraved and what it is worth."""
    unit = LIMITS[switch.name][2]
    texts = []
    for choice in switch.choices:
        about = "about " if choice.how_known in ("guessed", "unknown") else ""
        engraved = f"{choice.label} \N{MIDDLE DOT} " if choice.label else ""
        texts.append(f"{engraved}{about}{three(choice.value)} {unit}")
    return texts


def _choices(switch):
    """Return (text, number) for each choice of a switch."""
    return [(text, number) for number, text in enumerate(switch_texts(switch))]


class SwitchControls(widgets.VBox):
    """The positions of a machine's switches, its lift timer and the working gap.

    ``values`` are the fields of `Job`. The gap is the default one until somebody moves it.
    """

    def __init__(self, switches, machine, job):
        self.switches = switches
        self.rows = {
            name: Stepped(_NAMES[name], _choices(switches[name]), self._start(job, name))
            for name in SWITCHES
        }
        self.lift_burn = Stepped("Lift: burns", [("no lift", _NO_LIFT)], slider=False)
        self.lift_up = Stepped("then up", [("-", _NO_LIFT)], slider=False)
        gaps = [(f"{um} µm", um) for um in _GAPS_UM]
        self.gap = Stepped("Working gap", gaps, 24, tip="the gap in front of the electrode")
        self.voltmeter = Number(
            "or type its reading", "servo_voltage_V", None, 1, 400, "V", "-", stacked=True
        )
        self._gap_said = None  # None follows the voltage; else 'gap' or 'volts'
        heading = html('<div class="edm-head">What is set on the machine?</div>')
        lift = row(self.lift_burn, self.lift_up, columns="1fr 1fr")
        self._voltmeter_line = html()
        reading = row(self._voltmeter_line, self.voltmeter, columns="1fr 150px")
        gap = [self.gap, reading, self.voltmeter.message]
        super().__init__([heading, *(self.rows[n] for n in SWITCHES[:3]), lift, *gap])
        self.add_class("edm-group")
        self.gap.on_change(self._gap_moved)
        self.voltmeter.on_change(self._volts_typed)
        self.use(switches, machine, job)

    def _start(self, job, name):
        count = len(self.switches[name].choices)
        return min(job.positions.get(name, count // 2), count - 1)

    def use(self, switches, machine, job):
        """Offer another machine's positions, and stand where a job says."""
        self.switches = switches
        for name, stepped in self.rows.items():
            stepped.offer(_choices(switches[name]), self._start(job, name))
        shown(self.rows["open_voltage_V"], len(switches["open_voltage_V"].choices) > 1)
        self._offer_lift(machine, job)
        self._gap_said = None
        if job.servo_voltage_V is not None:
            self.voltmeter.value = job.servo_voltage_V
            self._gap_said = "volts"  # the same text again calls nobody back
        elif job.gap_front_um is not None:
            self._gap_said = "gap"
            self._set_gap(job.gap_front_um)

    def _offer_lift(self, machine, job):
        has_lift = machine is None or machine.lift is not None
        for stepped, name in ((self.lift_burn, "burn_s"), (self.lift_up, "up_s")):
            shown(stepped, has_lift)
            low, high = getattr(machine.lift, name) if machine and has_lift else (0.2, 30)
            times = [s for s in _SECONDS if low <= s <= high] if has_lift else []
            wanted = getattr(job, f"lift_{name}") if times else None
            options = [(f"{s:g} s", s) for s in times]
            if name == "burn_s" or not times:
                options = [("no lift", _NO_LIFT), *options]
            nearest = min(times, key=lambda s: abs(s - wanted)) if wanted else None
            first = options[0][1]
            stepped.offer(options, first if nearest is None else nearest)

    # --- the working gap -------------------------------------------------------------------
    def _set_gap(self, um):
        self.gap.set_quietly(int(np.clip(round(um), _GAPS_UM[0], _GAPS_UM[-1])))

    def _gap_moved(self):
        self._gap_said = "gap"
        self._empty_voltmeter()

    def _empty_voltmeter(self):
        if self.voltmeter.value is not None or self.voltmeter.wrong:
            self.voltmeter.show_as(None, self.voltmeter.unit, *self.voltmeter.limits)

    def _volts_typed(self):
        if not self.voltmeter.wrong:
            self._gap_said = None if self.voltmeter.value is None else "volts"

    def show_gap(self, hole, display):
        """Show the gap of a hole, its default, and what the voltmeter then shows."""
        default, front = hole.burn.point.gap_default * 1e6, hole.burn.gap_front_um.likely
        if self._gap_said == "gap" and self.gap.value == round(default):
            self._gap_said = None  # back at the default: it follows the voltage again
        if self._gap_said != "gap":
            self._set_gap(front)
        text = f"{three(display.fine(front))} {display.fine_unit}"
        volts = three(hole.burn.mean_voltage_V.likely)
        self.gap.show(text)
        follows = ", as the open voltage gives it" if self._gap_said is None else ""
        self._voltmeter_line.value = (
            f'<div class="edm-note">At this gap{follows} the voltmeter shows about '
            f"<b>{volts} V</b>. What it does to the speed shows direction, not figures.</div>"
        )
        shown(self.lift_up, self.lift_burn.value != _NO_LIFT)

    @property
    def values(self):
        """What is set, as fields of a `Job`."""
        burn, up = self.lift_burn.value, self.lift_up.value
        return {
            "positions": {name: stepped.value for name, stepped in self.rows.items()},
            "lift_burn_s": burn or None,
            "lift_up_s": up if burn else None,
            "gap_front_um": float(self.gap.value) if self._gap_said == "gap" else None,
            "servo_voltage_V": self.voltmeter.value if self._gap_said == "volts" else None,
        }

    def on_change(self, callback):
        """Call back when anything that is set has changed."""
        controls = (*self.rows.values(), self.lift_burn, self.lift_up, self.gap, self.voltmeter)
        for control in controls:
            control.on_change(callback)
