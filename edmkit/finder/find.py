"""The settings of a machine that meet some limits, fastest first."""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import prod

import numpy as np

from edmkit.burn import predict
from edmkit.checks import RangeWarning, Refusal, one_of
from edmkit.estimate import Estimate
from edmkit.finder.bars import (
    NAMES,
    OTHER_LIFT,
    OTHER_LIFT_SAID,
    REASONS,
    limits,
    one_number,
)
from edmkit.finder.grid import DIALS, LIFT, USUAL_V, labels, lifts, mesh
from edmkit.finder.short import nearest_place, shortfalls
from edmkit.finder.side import Side, columns, reasons_for
from edmkit.settings import POLARITIES, Settings

_ALIKE = 0.05  # of the logarithm: settings this near in every answer are one to a person
_LOOKED_AT = 20_000  # of the fastest, when those alike are folded together
_ANSWERS = ("roughness_Ra_um", "relative_wear_percent", "gap_side_um")


@dataclass(frozen=True)
class Choice:
    """One setting that was found.

    ``chances`` gives each limit's chance, by its name; ``minutes`` what was ranked by;
    ``over_fastest`` those minutes over the fastest's, without the shop's common level; ``alike``
    how many other settings do nearly the same.
    """

    setup: object
    settings: Settings
    burn: object
    chances: dict
    minutes: Estimate
    over_fastest: Estimate
    alike: int = 0

    @property
    def chance(self):
        """The chance of the limit that is hardest to meet [-]; 1 without limits."""
        return min(self.chances.values(), default=1.0)

    @property
    def labels(self):
        """What is engraved at each switch."""
        return labels(self.setup, self.settings)


@dataclass(frozen=True)
class Found(Sequence):
    """The settings that were found, a sequence of `Choice`, fastest first.

    Of ``looked_at`` settings, ``left_out`` says how many for which reason (each counted once, at
    the first that holds) and ``missed`` how many miss a limit; ``met`` is the rest, of which
    those alike are folded. Where nothing is left, ``shortfalls`` says why and ``nearest`` comes
    nearest. ``sides`` holds every setting, by polarity.
    """

    choices: tuple
    looked_at: int
    left_out: dict
    missed: int
    met: int
    limits: tuple
    chance: float
    shortfalls: tuple = ()
    nearest: Choice | None = None
    sides: tuple = ()

    def __len__(self):
        return len(self.choices)

    def __getitem__(self, number):
        return self.choices[number]


def find_settings(
    setup, shop=None, *, max_Ra_um=None, max_class=None, max_wear_percent=None,
    max_gap_side_um=None, min_gap_side_um=None, max_recast_um=None, within_meters=False,
    chance=0.5, also=(), like=None, hold=None, most=10, minutes_of=None,
):  # fmt: skip
    """Return the settings of a machine that meet some limits, fastest first.

    Parameters
    ----------
    setup : Setup
        Machine, work, electrode, area. The other polarity is tried where the machine has it.
    shop : Shop or None
        What the shop has learned.
    max_Ra_um, max_class, max_wear_percent, max_recast_um : float or None
        Most roughness [µm] or VDI 3400 class, wear by volume [%], recast layer [µm].
    min_gap_side_um, max_gap_side_um : float or None
        Least and most side gap, per side [µm].
    within_meters : bool
        Whether the readings must stay on the machine's meters.
    chance : float
        Each limit is met with this chance at least [-].
    also : sequence of str
        What is taken in too although it is left out as a rule: some of ``NAMES``.
    like, hold : Settings, dict
        Whose gap and lift are kept; dials that stay, name -> value (``polarity`` too).
    most : int
        Length of the list.
    minutes_of : callable or None
        Burn -> Estimate of minutes to rank by; None: a millimetre deep with this end.

    Returns
    -------
    Found
        Empty where nothing meets the limits; it then says why.
    """
    level = one_number("chance", chance, 0.01, 0.999, knob="80 % is 0.8")
    count = int(one_number("most", most, 1, 1000, knob="ten are enough"))
    for name in also:
        one_of("also", name, NAMES)
    asked = limits(setup, dict(
        max_Ra_um=max_Ra_um, max_class=max_class, max_wear_percent=max_wear_percent,
        max_gap_side_um=max_gap_side_um, min_gap_side_um=min_gap_side_um,
        max_recast_um=max_recast_um), within_meters)  # fmt: skip
    all_lifts = OTHER_LIFT in also and all(map(len, lifts(setup).values()))
    hold = _held(setup, hold)
    settings = mesh(setup, like, {n: v for n, v in hold.items() if n in DIALS}, all_lifts)
    rank = minutes_of or _per_millimetre
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)  # they are left out, or asked for by name
        sides = tuple(
            Side(predict(one, settings, shop), asked, level, reasons_for(also, one is setup), rank)
            for one in _polarities(setup, hold)
        )
        others = _other_lifts(setup, like, all_lifts)
        volts = getattr(like, "open_voltage_V", None) or USUAL_V
        return _found(sides, asked, level, count, others, volts)


def _held(setup, hold):
    """Return what is held, checked."""
    hold = dict(hold or {})
    for name, value in hold.items():
        one_of("hold", name, (*DIALS, "polarity"))
        if name == "polarity" and value != setup.polarity:
            raise Refusal(
                f"hold can keep the polarity of the set-up, {setup.polarity}, got {value!r}: give "
                "the set-up the polarity you want."
            )
    return hold


def _per_millimetre(burn):
    """Return the minutes to go a millimetre deep with the end of the set-up."""
    return burn.minutes(burn.setup.engaged_area_mm2)


def _polarities(setup, hold):
    """Return the set-up at each polarity its machine has, its own first."""
    if np.ndim(setup.engaged_area_mm2):
        raise Refusal("engaged_area_mm2 must be one area to find settings for, got several.")
    if "polarity" in hold or not getattr(setup.machine, "polarity_switch", True):
        return (setup,)
    return (setup, *(replace(setup, polarity=p) for p in POLARITIES if p != setup.polarity))


def _other_lifts(setup, like, all_lifts):
    """Return how many other settings of the lift timer stand beside each one that is looked at."""
    offered = lifts(setup)
    mine = all(np.isin(getattr(like, name, None), offered[name]) for name in LIFT)
    return 0 if all_lifts else prod(map(len, offered.values())) - mine


def _found(sides, asked, level, most, others, volts):
    looked_at = sum(prod(side.burn.shape) for side in sides)
    counts = [side.counted() for side in sides]
    left_out = {OTHER_LIFT_SAID: looked_at * others} if others else {}
    for reason in REASONS:
        left_out[reason.said] = sum(count.get(reason.name, 0) for count, _ in counts)
    left_out = {said: count for said, count in left_out.items() if count}
    free = sum(left for _, left in counts)
    inside = [np.broadcast_to(side.inside(), side.burn.shape) for side in sides]
    met = sum(int(part.sum()) for part in inside)
    tally = (looked_at * (1 + others), left_out, free - met, met, asked, level)
    if not met:
        return Found((), *tally, shortfalls(sides, level), _nearest(sides), sides)
    return Found(_fastest(sides, inside, most, volts), *tally, sides=sides)


# --- the list -------------------------------------------------------------------------------
def _fastest(sides, inside, most, volts):
    """Return the fastest settings as choices, those alike folded into the fastest of them."""
    minutes = np.concatenate([np.where(i, s.minutes, np.inf).ravel()
                              for s, i in zip(sides, inside, strict=True)])  # fmt: skip
    if len(minutes) > _LOOKED_AT:
        places = np.argpartition(minutes, _LOOKED_AT)[:_LOOKED_AT]
    else:
        places = np.arange(len(minutes))
    places = places[np.isfinite(minutes[places])]
    dials = columns(sides, places, lambda side, name: getattr(side.burn.settings, name), DIALS)
    away = np.abs(np.log(dials[3] / volts))
    order = np.lexsort((away, np.log(minutes[places]).round(9)))
    places, dials = places[order], dials[:, order]
    gaps = any(limit.answer == "gap_side_um" for limit in sides[0].limits)
    names = _ANSWERS if gaps else _ANSWERS[:2]
    same = np.stack([*dials[:3], places >= prod(sides[0].burn.shape)])  # last: which polarity
    answers = columns(sides, places, lambda side, name: getattr(side.burn, name).likely, names)
    answers = np.log(np.stack([minutes[places], *answers]))
    left, chosen = np.arange(len(places)), []
    while len(left) and len(chosen) < most:
        off = np.abs(answers[:, left] - answers[:, left[:1]])
        alike = ~(off > _ALIKE).any(axis=0)  # no figure on both sides is alike too
        if not gaps:
            alike |= (same[:, left] == same[:, left[:1]]).all(axis=0)
        chosen.append((places[left[0]], int(alike.sum()) - 1))
        left = left[~alike]
    made = [_choice(sides, place, alike) for place, alike in chosen]
    return tuple(replace(c, over_fastest=_over(c, made[0])) for c in made)


def _choice(sides, place, alike=0):
    """Return the choice at a place counted through all sides."""
    for side in sides:
        if place < prod(side.burn.shape):
            break
        place -= prod(side.burn.shape)
    setup, settings = side.setting(np.unravel_index(place, side.burn.shape))
    burn = predict(setup, settings, side.burn.shop)
    chances = {limit.name: float(limit.chance(burn)) for limit in side.limits}
    return Choice(setup, settings, burn, chances, side.minutes_of(burn), Estimate(1.0, 0.0), alike)


def _over(choice, fastest):
    """Return a choice's minutes over the fastest's; the shop's level is in neither."""
    spread = choice.burn.ratio(fastest.burn).removal_rate.spread
    return Estimate(float(choice.minutes.likely / fastest.minutes.likely), float(spread))


def _nearest(sides):
    side, place = nearest_place(sides)
    flat = int(np.ravel_multi_index(place, side.burn.shape))
    before = sum(prod(s.burn.shape) for s in sides[: sides.index(side)])
    return _choice(sides, before + flat)
