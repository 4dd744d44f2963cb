"""Made-up shops that burn, learn, find a setting and burn it; used by the tests and the bench."""

from dataclasses import dataclass

import numpy as np
from simulated_shops import HOME, Shop

import edmkit as ek
from edmkit.finder.find import find_settings
from edmkit.knowledge import Lesson, Place, teach
from edmkit.shop import operating_point

# A limit -> the answer of a Burn and the quantity a shop learns.
LIMITS = {
    "max_Ra_um": ("roughness_Ra_um", "roughness_Ra"),
    "max_wear_percent": ("relative_wear_percent", "relative_wear"),
    "max_gap_side_um": ("gap_side_um", "gap_side"),
}
CHANCES = (0.5, 0.8, 0.9, 0.95)
TRIALS = (1, 3, 10)
# Voltage and polarity stay; every current and time of a machine that can be set to any.
HELD = {"open_voltage_V": 100.0, "polarity": "electrode positive"}
BURNS = 40  # next burns of one shop at the setting that was chosen


def setup():
    """Return copper on hardened bearing steel, any current and time."""
    pair = ek.work_material("52100"), ek.electrode_material("copper")
    return ek.Setup(*pair, ek.dielectric("edm_oil"), "electrode positive", 7.0)


@dataclass
class Tally:
    """What many shops came to: the share of next burns that met the limit, the chance stated."""

    met: list
    stated: list
    not_found: int = 0

    @property
    def points_short(self):
        """By how much the limit is met less often than stated [points]."""
        return 100 * float(np.mean(np.array(self.stated) - self.met)) if self.met else 0.0

    @property
    def error(self):
        """One standard error of that [points]."""
        off = np.array(self.stated) - self.met
        return 100 * float(np.std(off) / np.sqrt(len(off))) if self.met else 0.0

    @classmethod
    def together(cls, tallies):
        """Return several tallies as one."""
        lists = ([x for t in tallies for x in getattr(t, name)] for name in ("met", "stated"))
        return cls(*lists, sum(t.not_found for t in tallies))


def one_shop(limit, case, trials, chance, random):
    """Return the share of a shop's next burns that meet the limit and the chance stated, or None.

    The limit is what the shop, by what it has learned, can do at a setting like those it has
    tried, moved a little: drawn from what a person knows, not from the shop's true constants.
    """
    answer, quantity = LIMITS[limit]
    shop, at = Shop(quantity, random, case), setup()
    place, points = Place.of(at), shop.walk(trials + 1)
    lessons = [Lesson(f"{n:05d}", place, p, shop.burn(HOME, p)) for n, p in enumerate(points[:-1])]
    taught = ek.Shop({quantity: teach(quantity, lessons)[0]})
    amps, on_us = 5 * np.exp(points[-1][0]), 60 * np.exp(points[-1][1])
    like = ek.predict(at, ek.Settings(amps, on_us, on_us / 2, 100.0), taught)
    value = float(getattr(like, answer).likely * np.exp(random.normal(0.1, 0.2)))
    found = find_settings(at, taught, **{limit: value}, chance=chance, hold=HELD, most=1)
    if not found:
        return None
    point = found[0].burn.point
    reference = np.log(np.array(operating_point(point)) / (5.0, 60e-6, 20e-6))
    # as the physics alone has it, times what this shop really is, times the luck of each burn
    alone = getattr(ek.predict(at, found[0].settings), answer).likely
    burns = [alone * np.exp(shop.burn(HOME, tuple(reference))) for _ in range(BURNS)]
    return float(np.mean(np.array(burns) <= value)), found[0].chance


def tally(limit, case, trials, chance, count, seed):
    """Return the tally of many shops."""
    found = Tally([], [])
    for n in range(count):
        luck = [seed, n, trials, list(LIMITS).index(limit), ["prior", "level"].index(case),
                CHANCES.index(chance)]  # fmt: skip
        one = one_shop(limit, case, trials, chance, np.random.default_rng(luck))
        if one is None:
            found.not_found += 1
        else:
            found.met.append(one[0])
            found.stated.append(one[1])
    return found
