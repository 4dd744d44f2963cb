"""Shops made up from the kit's own spreads, burning as a person would; used by tests and bench."""

from dataclasses import dataclass

import numpy as np

from edmkit.knowledge import SPREADS, Lesson, Place, teach

BAND = 1.6449
CURRENTS, TIMES = np.geomspace(1, 20, 10), np.geomspace(10, 400, 10)  # taps of the machine
HOME = Place("machine", "52100", True, ("copper", "electrode positive"))
OTHER = Place("machine", "H13", True, ("copper", "electrode positive"))
SECOND = Place("second machine", "52100", True, ("copper", "electrode positive"))
FOUR = ("removal_rate", "roughness_Ra", "relative_wear", "gap_side")
CASES = ("prior", "level", "slips", "slopes")


@dataclass
class Shop:
    """A shop whose constants are known, as no real one's are."""

    quantity: str
    random: np.random.Generator
    case: str = "prior"

    def __post_init__(self):
        spreads = SPREADS[self.quantity]
        prior = {**OTHER.prior(self.quantity), **HOME.prior(self.quantity)}
        self.terms = {term: sd * self.random.standard_normal() for term, sd in prior.items()}
        if self.case == "level":  # machine and electrode together two deviations out
            out = 2 * np.hypot(spreads.machine, spreads.tool) * self.random.choice([-1, 1])
            self.terms |= dict.fromkeys([t for t in self.terms if t[0] in ("machine", "tool")], 0.0)
            self.terms["machine", "machine"] = out
        if self.case == "slopes":  # all three slopes two deviations out
            for shared, own in HOME.slope_terms:
                self.terms[own] = 0.0
                sd = np.hypot(prior[shared], prior[own])
                self.terms[shared] = 2 * sd * self.random.choice([-1, 1])
        own = self.random.spawn(1)[0]  # leaves what is drawn next as it is
        for term, sd in SECOND.prior(self.quantity).items():
            self.terms.setdefault(term, sd * own.standard_normal())

    def truth(self, place, point):
        """Return ln(measured / predicted) without noise."""
        return sum(f * self.terms[term] for term, f in place.coefficients(point).items())

    def burn(self, place, point):
        """Return what one burn shows."""
        return self.truth(place, point) + SPREADS[self.quantity].noise * self.random.normal()

    def point(self, current, time, area=7.0):
        """Return a setting as the kit's columns have it."""
        return (np.log(current / 5), np.log(time / 60), np.log(area / 20))

    def walk(self, count):
        """Return settings as a person picks them: often the same, else a tap or two on."""
        tap, area, found = self.random.integers(2, 8), 7 * np.exp(self.random.normal(0, 0.3)), []
        for n in range(count):
            if n and self.random.random() < 0.4:
                found.append(found[-1])
                continue
            tap = int(np.clip(tap + self.random.integers(-2, 3), 0, 9))
            time = int(np.clip(tap + self.random.integers(-1, 2), 0, 9))
            size = area * np.exp(self.random.normal(0, 0.2))
            found.append(self.point(CURRENTS[tap], TIMES[time], size))
        return found

    def anywhere(self):
        """Return any setting of the machine, and another area."""
        area = 7 * np.exp(self.random.normal(0, 0.8))
        return self.point(self.random.choice(CURRENTS), self.random.choice(TIMES), area)

    def tried(self, points):
        """Return one of these settings, or one a tap away from it in current or in time."""
        near = np.array(points[self.random.integers(len(points))])
        steps = [(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)][self.random.integers(5)]
        taps = np.log([CURRENTS / 5, TIMES / 60])
        near[:2] += steps * (taps[:, 1] - taps[:, 0])
        near[:2] = np.clip(near[:2], taps[:, 0], taps[:, -1])
        return tuple(near)

    def lessons(self, points, place=HOME, slips=None, start=0):
        """Return burns at some settings; ``slips`` (a list) is filled with which ones slipped."""
        found = []
        for n, point in enumerate(points, start):
            value = self.burn(place, point)
            if slips is not None and self.random.random() < 0.05:
                value += self.random.choice([-1, 1]) * self.random.uniform(np.log(3), np.log(10))
                slips.append(f"{n:05d}")
            found.append(Lesson(f"{n:05d}", place, point, value))
        return found


def band_at(learned, place, point):
    """Return middle and half-width of the band of nine in ten at a setting."""
    known = learned.at(place)
    columns = [1.0, *point]
    spread = np.sqrt(known.variance(columns) + known.noise**2)
    return float(np.dot(known.mean, columns)), BAND * float(spread)


@dataclass
class Score:
    """What many shops came to: inside the band or not, and half the band's width."""

    inside: list
    half: list

    @classmethod
    def new(cls):
        """Return an empty score."""
        return cls([], [])

    def add(self, learned, place, point, value):
        """Score one burn."""
        middle, half = band_at(learned, place, point)
        self.inside.append(abs(value - middle) < half)
        self.half.append(half)

    @property
    def coverage(self):
        """Share inside [%]."""
        return 100 * float(np.mean(self.inside))

    @property
    def width(self):
        """Mean half-width of the logarithm."""
        return float(np.mean(self.half))


def score(quantity, case, trials, count, seed):
    """Return scores of a burn after some trials, over many shops: near, far, at tried settings.

    Near is the next burn of the same person, far is anywhere; a tried setting may be a tap off.
    """
    near, far, tried = Score.new(), Score.new(), Score.new()
    for n in range(count):
        luck = [seed, n, trials, FOUR.index(quantity), CASES.index(case)]
        shop = Shop(quantity, np.random.default_rng(luck), case)
        points = shop.walk(trials + 1)
        lessons = shop.lessons(points[:-1], slips=[] if case == "slips" else None)
        learned, _ = teach(quantity, lessons)
        near.add(learned, HOME, points[-1], shop.burn(HOME, points[-1]))
        far.add(learned, HOME, point := shop.anywhere(), shop.burn(HOME, point))
        tried.add(learned, HOME, point := shop.tried(points[:-1]), shop.burn(HOME, point))
    return near, far, tried


def elsewhere(quantity, place, there, count, seed):
    """Return the score of a burn at another place after ten at home and some there.

    All at the last of the settings tried at home, the width as a share of the untrained one.
    """
    found, whole = Score.new(), BAND * SPREADS[quantity].whole
    for n in range(count):
        shop = Shop(quantity, np.random.default_rng([seed, n, FOUR.index(quantity)]))
        points = shop.walk(10)
        lessons = shop.lessons(points) + shop.lessons(points[-1:] * there, place, start=500)
        learned, _ = teach(quantity, lessons)
        found.add(learned, place, points[-1], shop.burn(place, points[-1]))
        found.half[-1] /= whole
    return found


def slips_found(quantity, trials, count, seed):
    """Return the shares of slips that were marked, and of good figures marked wrongly [%]."""
    marked, wrong, slipped, good = 0, 0, 0, 0
    for n in range(count):
        shop = Shop(quantity, np.random.default_rng([seed, n, trials, FOUR.index(quantity)]))
        lessons = shop.lessons(shop.walk(trials), slips=(slips := []))
        _, chances = teach(quantity, lessons)
        for key, chance in chances.items():
            is_slip = key in slips
            slipped, good = slipped + is_slip, good + (not is_slip)
            marked, wrong = (
                marked + (is_slip and chance > 0.5),
                wrong + (not is_slip and chance > 0.5),
            )
    return 100 * marked / max(slipped, 1), 100 * wrong / good
