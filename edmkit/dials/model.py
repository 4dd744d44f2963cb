"""What a meter shows as a function of what the switches are worth, with its slopes."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from edmkit.dials.kind import PERIOD
from edmkit.dials.survey import LOAD, SHORT, VOLTS
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER

STEP = 0.3  # of the smallest step: what rounding to it adds; 1/sqrt(12), definition
TONE_LEAST = 0.005  # spread of the best pitch: assumption, a phone's clock is far better
UNTOLD = 10.0  # spread of the logarithm where nothing is told: keeps the sums solvable
FACTOR = 0.70  # spread of the factor common to all times where no pitch tells it; assumption
_ORDER = ("peak_current_A", "open_voltage_V", "on_time_us", "off_time_us")


@dataclass(frozen=True)
class Model:
    """The readings of a survey as rows of logarithms; the unknowns are one vector.

    Unknowns, in order: log amps of each current switch, log volts of each voltage, log µs of each
    on-time and off-time, and the droop: open voltage over the voltage that drives the current.
    ``readings`` are those that count; ``volts`` is the open voltage that the droop refers to;
    an ammeter shows the duty to the ``power``: 1 for the mean, 0.5 for the effective value.
    """

    survey: object
    kind: str
    readings: tuple
    volts: float
    loads_only: bool
    power: float = 1.0

    @cached_property
    def ends(self):
        """Where currents, voltages, on-times and off-times end in the vector."""
        return np.cumsum([len(self.survey.labels(switch)) for switch in _ORDER])

    @cached_property
    def parts(self):
        """Slices of the vector: currents, voltages, on-times, off-times; the droop is the last."""
        c, u, a, b = self.ends
        return slice(0, c), slice(c, u), slice(u, a), slice(a, b)

    @property
    def size(self):
        """The number of unknowns."""
        return int(self.ends[-1]) + 1

    def places(self, at):
        """Return where on-time and off-time of a reading or a tone stand in the vector."""
        s = self.survey
        on = self.ends[1] + s.on_time_us.index(at.on_time)
        return on, self.ends[2] + s.off_time_us.index(at.off_time)

    # --- readings ---------------------------------------------------------------------------
    @cached_property
    def _table(self):
        """Return on place, off place, switches on, voltage place, resistor and kind of each."""
        s, rows = self.survey, self.readings
        pairs = np.array([self.places(r) if r.on_time else (0, 0) for r in rows], dtype=int)
        pairs = pairs.reshape(-1, 2)
        on = np.array([[label in r.current for label in s.peak_current_A] for r in rows], float)
        on = on.reshape(len(rows), len(s.peak_current_A))
        volts = self.ends[0] + np.array(
            [s.open_voltage_V.index(r.open_voltage) for r in rows], dtype=int
        )
        ohm = np.array([r.load_ohm or 0.0 for r in rows])
        amps = np.array([r.what != VOLTS for r in rows], dtype=bool)
        times = amps | (self.kind == PERIOD)
        return pairs, on, volts, ohm, amps, times

    @cached_property
    def logs(self):
        """The logarithms of the readings."""
        return np.log([r.value for r in self.readings]) if self.readings else np.empty(0)

    def row_spread(self, noise):
        """Return the spread of each reading: of the needle, and more near its stop."""
        steps = [self.survey.voltmeter_step_V if r.what == VOLTS else self.survey.ammeter_step_A
                 for r in self.readings]  # fmt: skip
        return np.hypot(noise, STEP * np.array(steps) / np.exp(self.logs))

    def expected(self, x):
        """Return the logarithm of every reading for a vector of unknowns, and its slopes."""
        pairs, on, volts, ohm, amps, times = self._table
        rows = np.arange(len(self.readings))
        slopes = np.zeros((len(rows), self.size))
        log, idle = _log_duty(x[pairs[:, 0]], x[pairs[:, 1]])
        power = np.where(times, np.where(amps, self.power, 1.0), 0.0)
        log, idle = power * log, power * idle
        slopes[rows, pairs[:, 0]] += idle
        slopes[rows, pairs[:, 1]] -= idle
        each = on * np.exp(x[self.parts[0]])
        total = np.where(amps, each.sum(axis=1), 1.0)
        drop = ohm * total / self.volts
        sags = np.maximum(1 + drop * x[-1], 0.05)
        log = log + np.where(amps, np.log(total) - np.log(sags), x[volts])
        slopes[:, self.parts[0]] += np.where(amps, 1 / total / sags, 0.0)[:, None] * each
        slopes[rows[~amps], volts[~amps]] += 1.0
        slopes[:, -1] -= np.where(amps, drop / sags, 0.0)
        return log, slopes

    # --- what else is told ------------------------------------------------------------------
    def tones(self, x):
        """Return what the pitches miss by, their spreads and slopes."""
        tones = self.survey.tones
        slopes = np.zeros((len(tones), self.size))
        missed, spreads = np.zeros(len(tones)), np.zeros(len(tones))
        for row, tone in enumerate(tones):
            on, off = self.places(tone)
            both = np.logaddexp(x[on], x[off])
            missed[row] = np.log(1e6 / tone.frequency_Hz) - both
            slopes[row, on], slopes[row, off] = np.exp(x[on] - both), np.exp(x[off] - both)
            spreads[row] = max(tone.spread, TONE_LEAST)
        return missed, spreads, slopes

    def plates(self, x):
        """Return what the plates miss by, their spreads and slopes."""
        plates = self.survey.plates
        slopes = np.zeros((len(plates), self.size))
        missed, spreads = np.zeros(len(plates)), np.zeros(len(plates))
        for row, plate in enumerate(plates):
            place = self.place(plate.switch, plate.label)
            missed[row], slopes[row, place] = np.log(plate.value) - x[place], 1.0
            spreads[row] = HOW_KNOWN_SPREAD[plate.how_known]
        return missed, spreads, slopes

    def place(self, switch, label):
        """Return where a position stands in the vector."""
        return self.parts[_ORDER.index(switch)].start + self.survey.labels(switch).index(label)

    @cached_property
    def start(self):
        """A vector to start from: even ladders, and amps and volts a little above what was read."""
        x = np.zeros(self.size)
        for part, switch in zip(self.parts, _ORDER, strict=True):
            first, last = np.log(LADDER[switch])
            x[part] = np.linspace(first, last, part.stop - part.start)
        most = {}
        for reading in self.readings:
            labels = (reading.open_voltage,) if reading.what == VOLTS else reading.current
            switch = "open_voltage_V" if reading.what == VOLTS else "peak_current_A"
            for place in (self.place(switch, label) for label in labels):
                most[place] = max(most.get(place, 0.0), 1.2 * reading.value / len(labels))
        for place, value in most.items():
            x[place] = np.log(value)
        for plate in self.survey.plates:
            x[self.place(plate.switch, plate.label)] = np.log(plate.value)
        x[-1] = self.usual_droop[0]
        return x

    @property
    def timed(self):
        """Whether a plate says what one of the times is."""
        return any(p.switch in ("on_time_us", "off_time_us") for p in self.survey.plates)

    @property
    def usual_droop(self):
        """What the droop is taken for, and its spread: 0 is regulated, 1 one driving voltage."""
        return (0.5, 0.5) if self.loads_only else (1.0, 30.0)

    def priors(self, x):
        """Return the weak beliefs that keep the sums solvable: missed, spreads, slopes."""
        times = slice(self.ends[1], self.ends[3])
        untold, mean = np.eye(self.size), np.zeros(self.size)
        count = max(times.stop - times.start, 1)
        mean[times] = 1 / count
        middle = np.mean(np.log([LADDER[s] for s in ("on_time_us", "off_time_us")]))
        at = np.append(self.start[:-1], self.usual_droop[0])
        spreads = np.full(self.size, UNTOLD)
        spreads[-1] = self.usual_droop[1]
        return (
            np.append(at - x, middle - mean @ x),
            np.append(spreads, UNTOLD if self.survey.tones or self.timed else FACTOR),
            np.vstack([untold, mean]),
        )


def _log_duty(on, off):
    """Return the logarithm of on/(on+off), and 1 - duty, of logarithms of the times."""
    return -np.logaddexp(0.0, off - on), 1 / (1 + np.exp(np.clip(on - off, -50, 50)))


def model_of(survey, kind):
    """Return the model of a survey: which readings count, and the voltage the droop refers to.

    Parameters
    ----------
    survey : Survey
        What was told.
    kind : str
        How the on-time counts; "" leaves the voltmeter's readings out.
    """
    dropped = {SHORT} if survey.short == "falls back" else set()
    dropped |= set() if kind else {VOLTS}
    readings = tuple(r for r in survey.readings if r.what not in dropped)
    seen = [r.value for r in survey.readings if r.what == VOLTS]
    told = [p.value for p in survey.plates if p.switch == "open_voltage_V"]
    usual = float(np.sqrt(np.prod(LADDER["open_voltage_V"])))
    what = {r.what for r in readings}
    return Model(
        survey, kind, readings, max(seen or told or [usual]), LOAD in what and SHORT not in what
    )
