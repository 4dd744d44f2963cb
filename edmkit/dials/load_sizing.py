"""Which resistor goes in place of the spark, and which one empties a capacitor."""

from dataclasses import dataclass
from math import ceil, floor, log, log10, sqrt

from edmkit.checks import require
from edmkit.physics.load import (
    SPARK_DROP,
    bleed_resistance,
    charge_energy,
    discharge_time,
    first_heat,
    load_current,
    load_resistance,
    mean_heat,
)
from edmkit.settings import LIMITS
from edmkit.units import uF
from edmkit.words import three, two

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)  # IEC 60063, from memory
BOUGHT = tuple(round(step * 10.0**decade, 6) for decade in range(-1, 6) for step in E12)  # ohm
PIECE_W = (25, 50, 100)  # wire-wound in a metal case; what shops keep, from memory
MOST_PIECES = 12  # more is no longer a thing to put together for a reading; assumption
SHORT_V, OPEN_V = 15, 40  # beyond them a resistor is no longer like a spark; assumption
READING_S = 10  # long enough for a needle to settle; assumption
STANDS = 2.5  # times its watts for 10 s; wire-wound ones are sold for 5 times in 5 s, from memory
HOT_W = 500  # a small room heater; assumption
AMPS_PER_MM2 = 5  # in a copper lead that stays cool; from memory
LEADS_MM2 = (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120)  # IEC 60228, from memory
SAFE_V = 50  # asked for here; extra-low voltage ends at 60 V d.c. where it is dry, from memory
BLEED_S = 5  # IEC 60204-1, clause 6.2.4: below 60 V within 5 s of switching off
MOST_BLEED_OHM = 10_000  # a larger one gains nothing: a common part, 0.1 A at most; assumption
_BLEED_W = 100  # at first touch: twice what the common 50 W piece is sold for; assumption
_BLEED_PIECES_W = (5, 10, 25, 50)
SHOCK_J, KILLS_J = 0.25, 10.0  # a heavy shock; can be lethal: a workplace's safety notice, read
_COUNT = "no one two three four five six seven eight nine ten eleven twelve".split()

WHY = (
    f"A spark holds about {SPARK_DROP:g} volts. A machine that cuts back on a short takes a "
    "resistor with that much across it for a spark, and goes on as if it burned."
)
HOT = (
    "It gets hot enough to burn skin and to light oil: screw it to a bare metal plate on a brick, "
    "away from the tank and from anything that burns."
)
TOO_HOT = (
    "That is the heat of a room heater. One current position is enough: take the smallest one, or "
    "a longer off-time, and size it again."
)
NOT_PUT_TOGETHER = "No dozen resistors carry that: take a smaller current or a longer off-time."


@dataclass(frozen=True)
class Pieces:
    """So many resistors of one value and wattage, side by side or one after the other."""

    count: int
    ohm_each: float
    watts_each: int
    side_by_side: bool

    @property
    def ohm(self):
        """What they make together."""
        return self.ohm_each / self.count if self.side_by_side else self.ohm_each * self.count

    @property
    def sentence(self):
        """What to buy, in words."""
        size = f"{three(self.ohm_each)} ohm, {self.watts_each} W"
        if self.count == 1:
            return f"one wire-wound resistor, {size}"
        how = "side by side" if self.side_by_side else "one after the other"
        return f"{_COUNT[self.count]} wire-wound resistors, {size} each, {how}"


@dataclass(frozen=True)
class LoadAdvice:
    """The resistor for one current position and one duty.

    Amps and volts are pairs: low where a resistor in the machine limits the current, high where
    the machine regulates it. ``amps`` flow while the pulse is on, the ammeter shows
    ``ammeter_A``. ``pieces`` is None where no dozen carries the heat.
    """

    ohm: float
    pieces: Pieces | None
    watts_on: float
    watts_mean: float
    watts_to_ask: float
    amps: tuple[float, float]
    ammeter_A: tuple[float, float]
    drop_V: tuple[float, float]
    lead_mm2: float
    take: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class BleedAdvice:
    """What a capacitor stores and what empties it; ``ohm`` is None where nothing is needed."""

    joules: float
    ohm: float | None
    watts: int | None
    seconds: float
    danger: str
    take: str


def _next(value, offered):
    """Return the smallest on offer that is not below a value, None where all are."""
    return next((size for size in offered if size >= value * (1 - 1e-9)), None)


def _rounded_up(watts):
    """Return watts rounded up to two digits, as one asks for them."""
    step = 10.0 ** max(floor(log10(watts)) - 1, 0)
    return ceil(watts / step - 1e-9) * step


def _to_ask(current, ohm, duty):
    """Return the watts to ask for: twice the mean, and full on for one reading.

    Nobody knows yet what drives the current: it is taken not to fall.
    """
    full, mean = mean_heat(current, ohm, 1.0), mean_heat(current, ohm, duty)
    return _rounded_up(max(2 * mean, full / STANDS))


def _nearest(wanted, count, watts):
    """Return so many equal resistors that come nearest to a resistance."""
    ways = (Pieces(count, ohm, watts, side) for ohm in BOUGHT for side in (True, False))
    return min(ways, key=lambda way: abs(log(way.ohm / wanted)))


def _put_together(amps, duty, wanted):
    """Return the fewest resistors that carry the heat, None where no dozen does."""
    for count in range(1, MOST_PIECES + 1):
        ohm = _nearest(wanted, count, PIECE_W[-1]).ohm
        watts = _next(_to_ask(amps, ohm, duty) / count, PIECE_W)
        if watts is not None:
            return _nearest(wanted, count, watts)
    return None


def size_load(short_amps, duty, open_voltage_V):
    """Return the resistor to put between electrode and work, as a `LoadAdvice`.

    Parameters
    ----------
    short_amps : float
        Current of the position with the electrode pressed on scrap, or what its plate says [A].
    duty : float
        On-time over on-time and off-time together [-].
    open_voltage_V : float
        What the voltmeter shows with the electrode up [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    25 V across it if the current does not fall, a fifth less where a resistor behind 100 V
    limits it. Watts: see `_to_ask`. Resistors come within 5 or 10 %: read the print.

    References
    ----------
    Ohm's and Joule's law; values to buy: IEC 60063.
    """
    amps = float(require("short_amps", short_amps, 0.05, 500, "A", knob="look at the plate"))
    share = float(require("duty", duty, 0.002, 1, knob="a share: on / (on + off)"))
    low, high, unit = LIMITS["open_voltage_V"]
    volts = float(require("open_voltage_V", open_voltage_V, low, high, unit, knob="read it again"))
    wanted = float(load_resistance(amps))
    pieces = _put_together(amps, share, wanted)
    ohm = pieces.ohm if pieces else wanted
    ask = _to_ask(amps, ohm, share)
    flows = (float(load_current(amps, ohm, volts)), amps)
    thick = _next(amps * sqrt(share) / AMPS_PER_MM2, LEADS_MM2)
    start = f"Take {three(ohm)} ohm able to carry {three(ask)} W: "
    return LoadAdvice(
        ohm, pieces, float(mean_heat(amps, ohm, 1.0)), float(mean_heat(amps, ohm, share)), ask,
        flows, tuple(share * flow for flow in flows), tuple(ohm * flow for flow in flows), thick,
        start + (f"{pieces.sentence}." if pieces else NOT_PUT_TOGETHER),
        _load_warnings(ask, thick),
    )  # fmt: skip


def own_resistor(ohm, short_amps, duty, open_voltage_V):
    """Return what a resistor from the drawer does in place of the advised one, in a sentence.

    Parameters
    ----------
    ohm : float
        Its resistance [ohm].
    short_amps, duty, open_voltage_V : float
        As for `size_load`.

    Raises
    ------
    Refusal
        If an input is outside its range.
    """
    ohm = float(require("ohm", ohm, 0.05, 1000, "ohm", knob="read its print"))
    volts = [ohm * flow for flow in (load_current(short_amps, ohm, open_voltage_V), short_amps)]
    ask = _to_ask(short_amps, ohm, duty)
    like = f"{three(ohm)} ohm: {two(volts[0])} to {two(volts[1])} V across it. It must carry "
    if volts[1] < SHORT_V:
        return f"{like}{three(ask)} W. So few volts may still be taken for a short: take more ohms."
    if volts[0] > OPEN_V:
        return f"{like}{three(ask)} W. That is more than a spark has: take fewer ohms."
    return f"{like}{three(ask)} W."


def _load_warnings(ask, thick):
    """Return what to say beside the resistor, the hottest first."""
    leads = (
        f"Leads of {three(thick)} mm² copper or thicker, screwed or clamped. Join and part them "
        f"with the generator off. Read within {READING_S} s, switch off, let it cool."
    )
    return (*((TOO_HOT,) if ask > HOT_W else ()), HOT, leads)


def bleed_advice(capacitance_uF, voltage_V):
    """Return what a capacitor stores and how to empty it, as a `BleedAdvice`.

    Parameters
    ----------
    capacitance_uF : float
        All capacitors that hang together [µF].
    voltage_V : float
        What they are charged to at most: the supply [V].

    Raises
    ------
    Refusal
        If an input is outside its range.

    Notes
    -----
    Below 50 V within 5 s, slower where the resistor would take more than 100 W at first touch.
    Left out: the charge that comes back by itself, hence the bridge that stays on.

    References
    ----------
    Circuit theory; 60 V within 5 s: IEC 60204-1, clause 6.2.4; 0.25 J and 10 J: a workplace's
    safety notice on discharging capacitors.
    """
    size = float(require("capacitance_uF", capacitance_uF, 1e-4, 1e5, "µF", knob="add them up"))
    volts = float(require("voltage_V", voltage_V, 1, 1000, "V", knob="the supply behind them"))
    joules = float(charge_energy(size * uF, volts))
    if volts <= SAFE_V:
        take = f"Nothing to empty: it does not come above {SAFE_V} V. Measure it all the same."
        return BleedAdvice(joules, None, None, 0.0, _danger(joules, volts), take)
    fast = float(bleed_resistance(size * uF, volts, SAFE_V, BLEED_S))
    cool = _next(volts**2 / _BLEED_W, BOUGHT)
    ohm = max([cool, *(step for step in BOUGHT if step <= min(fast, MOST_BLEED_OHM))])
    watts = _next(float(first_heat(volts, ohm)) / 2, _BLEED_PIECES_W)
    seconds = float(discharge_time(size * uF, ohm, volts, SAFE_V))
    take = (
        f"Empty it through {three(ohm)} ohm, {watts} W, on insulated clamps: {_within(seconds)} it "
        f"is below {SAFE_V} V. Wait twice that, measure, then bridge it with a wire that stays on: "
        "some of the charge comes back by itself."
    )
    return BleedAdvice(joules, ohm, watts, seconds, _danger(joules, volts), take)


def _within(seconds):
    if seconds <= 1:
        return "within a second"
    minutes = seconds > 120
    return f"after {two(seconds / 60)} minutes" if minutes else f"after {two(seconds)} seconds"


def _danger(joules, volts):
    """Return how bad a touch would be; from 0.25 J and 10 J, see above."""
    if volts <= SAFE_V:  # no shock through dry skin; a ring or a tool across it still burns
        return "No shock through dry hands, but a ring or a spanner across it burns."
    if joules >= KILLS_J:
        return f"{three(joules)} J: this can kill."
    if joules >= SHOCK_J:
        return f"{three(joules)} J: a heavy shock, and it throws your hand into something else."
    return f"{two(joules)} J: a shock that startles at most."
