"""What is known of a shop's constants: their terms, how far each may be off, what burns teach."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from edmkit import regression
from edmkit.units import mm2, us

# About these current, on-time and area the slopes turn [A, s, m²]; a usual small hole.
REFERENCE = (5.0, 60 * us, 20 * mm2)
_ON_MACHINE = 0.6  # share of a material's or slope's deviation that is one machine's; assumption
_WAY, _WAY_SPREAD = ("way",), 0.7  # two ways of burning differ by x2 or less; assumption
_EVERYWHERE = 0.8  # the rest, squares add to 1


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of ln(measured / predicted) of one quantity, before any trial.

    ``whole`` is that of an untrained shop on steel; ``steel`` and ``metal`` what another steel
    or another metal adds, ``tool`` another electrode or polarity, ``slopes`` an e-fold of
    current, on-time and area, ``noise`` one burn against the next.
    """

    whole: float
    steel: float
    metal: float
    tool: float
    slopes: tuple
    noise: float

    @property
    def machine(self):
        """What is left for the machine's own level."""
        return (self.whole**2 - self.noise**2 - self.steel**2 - self.tool**2) ** 0.5


# Wholes from the spread of published levels and exponents; the rest assumed, tried in simulated
# shops (tests/bench/bench_learn.py).
SPREADS = {
    "removal_rate": Spreads(1.15, 0.35, 0.80, 0.30, (0.20, 0.20, 0.30), 0.20),
    "roughness_Ra": Spreads(0.35, 0.12, 0.25, 0.10, (0.07, 0.08, 0.03), 0.11),
    "relative_wear": Spreads(0.60, 0.20, 0.50, 0.45, (0.15, 0.20, 0.10), 0.25),
    "gap_side": Spreads(0.35, 0.12, 0.25, 0.10, (0.10, 0.10, 0.05), 0.15),
    "gap_front": Spreads(0.40, 0.12, 0.25, 0.10, (0.10, 0.10, 0.05), 0.15),
    "recast": Spreads(0.45, 0.12, 0.25, 0.10, (0.07, 0.08, 0.03), 0.20),
}
QUANTITIES = tuple(SPREADS)


@dataclass(frozen=True)
class Place:
    """Where a figure holds: machine's name (None without one), work, electrode and polarity."""

    machine: str | None
    work: str
    is_steel: bool
    tool: tuple

    @classmethod
    def of(cls, setup):
        """Return the place of a set-up."""
        tool = setup.electrode.key, setup.polarity
        name = setup.machine and setup.machine.name
        return cls(name, setup.work.key, setup.work.is_steel, tool)

    @property
    def level_terms(self):
        """Names of the terms that add up to the level here."""
        return (
            ("machine", self.machine),
            ("work", self.work),
            ("work on machine", self.work, self.machine),
            ("tool", *self.tool),
        )

    @property
    def slope_terms(self):
        """Names of the terms of each slope here: everybody's part and the machine's."""
        return tuple((("slope", n), ("slope on machine", n, self.machine)) for n in range(3))

    def prior(self, quantity):
        """Return the prior standard deviation of each term, by name."""
        spreads = SPREADS[quantity]
        material = spreads.steel if self.is_steel else spreads.metal
        level = (spreads.machine, _EVERYWHERE * material, _ON_MACHINE * material, spreads.tool)
        known = dict(zip(self.level_terms, level, strict=True))
        for (shared, own), spread in zip(self.slope_terms, spreads.slopes, strict=True):
            known |= {shared: _EVERYWHERE * spread, own: _ON_MACHINE * spread}
        return known

    def coefficients(self, logs):
        """Return what each term is multiplied by at a point given as logs over `REFERENCE`."""
        known = dict.fromkeys(self.level_terms, 1.0)
        for terms, value in zip(self.slope_terms, logs, strict=True):
            known |= dict.fromkeys(terms, float(value))
        return known


def logs(point):
    """Return ln current, ln on-time and ln area of a point (A, s, m²) over the reference."""
    return [np.log(np.asarray(v) / r) for v, r in zip(point, REFERENCE, strict=True)]


@dataclass(frozen=True)
class Knowledge:
    """What is known of one quantity at one place: ln(measured / predicted) over the settings.

    ``mean`` and ``covariance`` are of the level and of its slopes in ln current, ln on-time and
    ln area about `REFERENCE`; ``noise`` is from burn to burn. With ``flat`` the level's spread
    holds for every setting and the slopes only tell settings apart.
    """

    mean: tuple
    covariance: tuple
    noise: float
    flat: bool = False

    def correction(self, point):
        """Return shift and spread of the logarithm at a point (current, on-time, area)."""
        columns = [1.0] if self.flat else [1.0, *logs(point)]
        shift = sum(m * x for m, x in zip(self.mean, columns, strict=False))
        return shift, np.sqrt(self.variance(columns) + self.noise**2)

    def variance(self, columns):
        """Return the variance of level and slopes taken this many times each."""
        used = [i for i, x in enumerate(columns) if np.ndim(x) or x]
        return sum(self.covariance[i][j] * columns[i] * columns[j] for i in used for j in used)


@dataclass(frozen=True)
class Lesson:
    """One figure of one burn: ln(measured / predicted), its measuring error's variance, and where.

    ``point`` holds the logs over `REFERENCE`. With ``low`` and ``high`` the logarithm lies
    between them and ``value`` is not used. ``key`` names the burn; ``other_way`` marks those that
    were burned the other of two ways.
    """

    key: str
    place: Place
    point: tuple
    value: float = float("nan")
    variance: float = 0.0
    low: float = float("nan")
    high: float = float("nan")
    other_way: bool = False


@dataclass(frozen=True)
class Learned:
    """What some burns taught of one quantity: mean and covariance of the terms, noise.

    With ``flat`` its level holds at any setting, as a person means who gives it by hand.
    """

    quantity: str
    terms: tuple
    mean: tuple
    covariance: tuple
    noise: float
    burns: tuple = ()
    flat: bool = False

    def knows_machine(self, place):
        """Return whether a machine's own level was learned."""
        return ("machine", place.machine) in self.terms

    def at(self, place):
        """Return the `Knowledge` at a place; terms never met keep their prior."""
        return _projected(self, place)

    def difference(self, place, other):
        """Return the variance that two places' levels do not share."""
        mine, theirs = set(place.level_terms), set(other.level_terms)
        signs = dict.fromkeys(mine - theirs, 1.0) | dict.fromkeys(theirs - mine, -1.0)
        prior = {**other.prior(self.quantity), **place.prior(self.quantity)}
        return float(_variance(self, prior, [signs])[0, 0]) if signs else 0.0


def _variance(learned, prior, combinations):
    """Return the covariance of some combinations of terms, each a dict of coefficients."""
    named = sorted({term for c in combinations for term in c}, key=str)
    places = {term: place for place, term in enumerate(learned.terms)}
    covariance = np.diag([prior[term] ** 2 for term in named])
    known = [i for i, term in enumerate(named) if term in places]
    among = [places[named[i]] for i in known]
    if known:
        covariance[np.ix_(known, known)] = np.array(learned.covariance)[np.ix_(among, among)]
    factors = np.array([[c.get(term, 0.0) for term in named] for c in combinations])
    return factors @ covariance @ factors.T


@lru_cache(maxsize=512)
def _projected(learned, place):
    combinations = [dict.fromkeys(place.level_terms, 1.0)]
    combinations += [dict.fromkeys(terms, 1.0) for terms in place.slope_terms]
    covariance = _variance(learned, place.prior(learned.quantity), combinations)
    means = dict(zip(learned.terms, learned.mean, strict=True))
    mean = tuple(float(sum(means.get(term, 0.0) for term in c)) for c in combinations)
    rows = tuple(map(tuple, covariance.tolist()))
    return Knowledge(mean, rows, learned.noise, learned.flat)


def untrained(quantity, is_steel=True):
    """Return what is known of a quantity before any trial of the shop.

    Parameters
    ----------
    quantity : str
        One of `QUANTITIES`.
    is_steel : bool
        The levels were gathered on steels; other metals add their own doubt.
    """
    known = SPREADS[quantity]
    level = known.whole**2 - known.noise**2
    level += 0.0 if is_steel else known.metal**2 - known.steel**2
    return Knowledge((0.0,), ((level,),), known.noise, flat=True)


def teach(quantity, lessons):
    """Return what some burns teach of a quantity, and each one's chance to be a slip.

    Parameters
    ----------
    quantity : str
        One of `QUANTITIES`.
    lessons : sequence of Lesson
        In any order.

    Returns
    -------
    tuple of Learned and dict
        The dict gives the chance by the lesson's key.

    Notes
    -----
    The order of the lessons changes nothing: they are sorted by key first.
    """
    found, terms, keys = _fitted(quantity, lessons)
    learned = Learned(
        quantity,
        terms,
        tuple(found.mean.tolist()),
        tuple(map(tuple, found.covariance.tolist())),
        found.noise,
        keys,
    )
    return learned, dict(zip(keys, found.suspicion.tolist(), strict=True))


def difference_of_ways(quantity, lessons):
    """Return by how much two ways of burning differ: a `Mixture` and the columns to ask it with.

    Parameters
    ----------
    quantity : str
        One of `QUANTITIES`.
    lessons : sequence of Lesson
        Those with ``other_way`` and those without, of the same machines and works.
    """
    found, terms, _ = _fitted(quantity, lessons, {_WAY: _WAY_SPREAD})
    return found.mixture, np.array([float(term == _WAY) for term in terms])


def _fitted(quantity, lessons, extra=()):
    """Return the fit of some lessons, its terms, and the lessons' keys in its order."""
    ordered = sorted(lessons, key=lambda lesson: lesson.key)
    prior = dict(extra)
    for lesson in ordered:
        prior |= lesson.place.prior(quantity)
    terms = tuple(sorted(prior, key=str))
    sd = np.array([prior[term] for term in terms])
    rigid = np.array([term[0] in ("machine", "way") for term in terms], dtype=bool)
    made = regression.Prior(sd, rigid, SPREADS[quantity].noise)
    found = regression.fit(_rows(ordered, terms), made)
    return found, terms, tuple(lesson.key for lesson in ordered)


def _rows(lessons, terms):
    """Return lessons as the rows of a regression."""
    places = {term: place for place, term in enumerate(terms)}
    x = np.zeros((len(lessons), len(terms)))
    for row, lesson in enumerate(lessons):
        for term, value in lesson.place.coefficients(lesson.point).items():
            x[row, places[term]] = value
        if lesson.other_way:
            x[row, places[_WAY]] = 1.0
    columns = [
        np.array([getattr(lesson, name) for lesson in lessons], dtype=float)
        for name in ("value", "variance", "low", "high")
    ]
    return regression.Rows(x, *columns)
