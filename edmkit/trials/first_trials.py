"""The first burns in a material never tried before: which, in what order, and what each brings."""

from dataclasses import dataclass, replace

import numpy as np

from edmkit.burn import predict
from edmkit.checks import Refusal, require
from edmkit.estimate import BAND, Estimate
from edmkit.finder.bars import REASONS
from edmkit.finder.grid import labels, mesh
from edmkit.finder.side import Side, reasons_for
from edmkit.settings import Settings, refuse_circuit
from edmkit.shop import Shop
from edmkit.trials.suggest import columns_of, left_after
from edmkit.words import two

FOUR = ("removal_rate", "roughness_Ra", "relative_wear", "gap_side")
_GENTLE = 0.5  # of what the end bears, for the first burn in an unknown metal; assumption
_QUICK = 1.03  # a trial that leaves this little more is as good: then the quicker one is taken


@dataclass(frozen=True)
class FirstTrial:
    """One of the first trials: what to dial, its minutes, why it comes here.

    ``after`` is the factor up or down that nine in ten lie within, by quantity, at the setting
    asked about, if this trial and those before it are burned and measured well.
    """

    setup: object
    settings: Settings
    labels: dict
    minutes: Estimate
    after: dict
    why: str


def first_trials(setup, shop=None, *, settings, count=4, max_minutes=30.0, depth_mm=1.0):
    """Return the first trials in a material, in the order to burn them.

    Parameters
    ----------
    setup : Setup
        The new material, on the machine and with the end it will be burned with.
    shop : Shop or None
        What the shop knows of other materials.
    settings : Settings
        The setting the shop wants to know about.
    count : int
        Three to five of them.
    max_minutes, depth_mm : float
        Likely minutes of the longest [min], and how deep each goes [mm].

    Raises
    ------
    Refusal
        If no setting does it in these minutes, or it is asked about a relaxation circuit.

    Notes
    -----
    The first asks at most half of what the end bears. Each of the rest brings most, over minutes,
    roughness, wear and side gap together, at the setting asked about and over the machine; a
    setting is not burned twice, and of those as good the quickest is taken. Measuring errors are
    left out.
    """
    refuse_circuit(settings, "trials at the switches")
    number = int(require("count", count, 3, 5, knob="three to five are enough"))
    limit = float(require("max_minutes", max_minutes, 0.1, 1e5, "min", knob="allow more minutes"))
    depth = float(require("depth_mm", depth_mm, 0.01, 100, "mm", knob="give a depth"))
    shop = Shop() if shop is None else shop
    every = mesh(setup, settings, {"open_voltage_V": settings.open_voltage_V})
    burn = predict(setup, every, shop)
    minutes = np.broadcast_to(burn.minutes(setup.engaged_area_mm2 * depth).likely, burn.shape)
    free = _allowed(burn, minutes, limit, depth)
    trials = columns_of(burn)
    asked = columns_of(predict(setup, settings, shop))[None, :]
    known = {name: shop.over_settings(name, setup) for name in FOUR}
    wide = np.concatenate([asked] * max(int(free.sum()), 1) + [trials[free]])  # half and half
    made = []
    for step in range(number):
        gentle = free & _gentle(burn) if step == 0 else free
        pick = gentle if gentle.any() else free
        place = _best(known, trials, wide, pick, minutes)
        known = {name: _told(k, trials[place]) for name, k in known.items()}
        made.append(_trial(setup, shop, every, place, depth, known, asked[0], step))
        free = free.copy()
        free[place] = False
        if not free.any():
            break
    return tuple(made)


def _allowed(burn, minutes, limit, depth):
    """Return which settings may be a trial; what nobody knows is taken in where nothing else is."""
    for also in ((), ("unknown dial",), tuple(r.name for r in REASONS if r.name != "current")):
        side = Side(burn, (), 0.5, reasons_for(also, as_set=True), None)
        cuts = np.broadcast_to(side.inside(), burn.shape)
        if cuts.any():
            break
    else:
        raise Refusal("no setting of this machine suits this end: give a larger one.")
    if not (cuts & (minutes <= limit)).any():
        raise Refusal(
            f"max_minutes must be at least {two(minutes[cuts].min() * 1.05)} for a trial "
            f"{depth:g} mm deep with this end, got {limit:g}: allow more, or go less deep."
        )
    return cuts & (minutes <= limit)


def _gentle(burn):
    return burn.point.average_current <= _GENTLE * burn.point.current_limit


def _best(known, trials, asked, pick, minutes):
    """Return the place of the trial that leaves least, over the four quantities."""
    left = sum(np.log(left_after(k, trials[pick], asked)) for k in known.values()) / len(known)
    good = left <= left.min() + np.log(_QUICK)
    spot = np.flatnonzero(good)[np.argmin(minutes[pick][good])]
    return tuple(np.argwhere(pick)[spot])


def _told(known, trial):
    """Return what is known after one more burn at the columns of a trial (4,)."""
    covariance = np.array(known.covariance)
    towards = covariance @ trial
    left = covariance - np.outer(towards, towards) / (trial @ towards + known.noise**2)
    return replace(known, covariance=tuple(map(tuple, left.tolist())))


def _trial(setup, shop, every, place, depth, known, asked, step):
    spot = {
        name: float(np.broadcast_to(getattr(every, name), every.shape)[place])
        for name in ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
    }
    chosen = replace(every, **spot)
    burn = predict(setup, chosen, shop)
    after = {}
    for name, k in known.items():
        covariance = np.array(k.covariance)
        after[name] = float(np.exp(BAND * np.sqrt(asked @ covariance @ asked + k.noise**2)))
    why = (
        "Gentle: half of what this end bears, or less. Look at the spark, the sound and the end."
        if step == 0
        else f"Then the minutes at your setting are known to a factor of {two(after[FOUR[0]])}."
    )
    minutes = burn.minutes(setup.engaged_area_mm2 * depth)
    return FirstTrial(setup, chosen, labels(setup, chosen), minutes, after, why)
