"""Finishing in steps: how many passes from one surface to another, and the stock each takes."""

from dataclasses import dataclass

import numpy as np

from edmkit.checks import Refusal
from edmkit.estimate import BAND, Estimate
from edmkit.finder.bars import one_number
from edmkit.finder.front import non_dominated
from edmkit.physics.finish import EJECTED_SHARE, RZ_PER_RA
from edmkit.physics.surface_starts import layers_to_settle
from edmkit.planning.chain import fewest_minutes, fewest_passes
from edmkit.planning.dressing import together
from edmkit.planning.electrode import least_stock_mm, middle_electrode_wanted
from edmkit.planning.finish_wanted import Sparks, none_leaves, warn_outside_law
from edmkit.settings import Settings
from edmkit.units import um

MOST = 6  # passes looked at; more are never faster with a change of a minute or two
_RA = (0.05, 50.0)  # µm that may be asked for


def left_for_next_um(roughness_Rz_um, recast_um):
    """Return the relief and what lies below it that the next pass must take, per side [µm].

    Parameters
    ----------
    roughness_Rz_um, recast_um : float
        Roughness Rz, and the recast layer that one place in twenty exceeds [µm].

    Notes
    -----
    The rule of the plan: Rz, and below it the larger of half of Rz and the recast layer.
    """
    return float(roughness_Rz_um), 1000 * least_stock_mm(roughness_Rz_um / 1000, recast_um / 1000)


@dataclass(frozen=True)
class Step:
    """One pass: its spark, the surface it meets, and the stock it takes, per side.

    ``relief_um`` is the Rz of the surface before and ``below_um`` what lies under it; ``layers``
    of sparks are burned, of which ``layers_needed`` make the old surface forgotten.
    """

    settings: Settings
    burn: object
    before_Ra_um: float
    relief_um: float
    below_um: float
    stock_um: float
    layers_needed: float
    layers: float
    minutes: Estimate


@dataclass(frozen=True)
class Undersizes:
    """How small per side the roughing and the finishing electrode are [mm]."""

    rough_mm: float
    finish_mm: float

    @property
    def middle_wanted(self):
        """Whether a middle electrode belongs between them by the trade's rule."""
        return middle_electrode_wanted(self.rough_mm, self.finish_mm)


@dataclass(frozen=True)
class FinishingSteps:
    """The passes, first to last, and what they take.

    ``burning`` is the minutes of the sparks, ``burning_by_passes`` its likely value with 1, 2, ...
    passes. ``over_one`` says how many times as long the sparks of one pass straight down burn,
    without the shop's common level. ``undersizes`` are of the electrodes before and last,
    None where no spark leaves the first surface. ``within_limits`` is false where a spark asks
    more of this end than duty factor, current or arcs allow.
    """

    from_Ra_um: float
    to_Ra_um: float
    area_mm2: float
    change_min: float
    steps: tuple
    burning: Estimate
    burning_by_passes: tuple
    over_one: Estimate
    undersizes: Undersizes | None
    within_limits: bool

    @property
    def by_passes(self):
        """Likely minutes on the clock with 1, 2, ... passes [min]."""
        return tuple(b + n * self.change_min for n, b in enumerate(self.burning_by_passes, 1))

    def best_if(self, times):
        """Return how many passes take the fewest minutes if the sparks burn so many times as long.

        Parameters
        ----------
        times : float
            Over the likely time [-].
        """
        return fewest_passes(self.burning_by_passes, self.change_min, times)

    @property
    def best_between(self):
        """The best number of passes at the 5 % and at the 95 % end of the sparks' time."""
        end = float(np.exp(BAND * self.burning.spread))
        return self.best_if(1 / end), self.best_if(end)

    @property
    def minutes(self):
        """Likely minutes on the clock, a change before each pass [min]."""
        return self.by_passes[len(self.steps) - 1]

    @property
    def minutes_between(self):
        """The 5 % and the 95 % end of the minutes on the clock; the changes are certain [min]."""
        changes = len(self.steps) * self.change_min
        return float(self.burning.low) + changes, float(self.burning.high) + changes

    @property
    def stock_um(self):
        """What all passes take together, per side [µm]."""
        return sum(step.stock_um for step in self.steps)

    @property
    def recast_left_um(self):
        """The recast layer that the last pass leaves on the wall."""
        return self.steps[-1].burn.recast_um


def finishing_steps(setup, from_Ra_um, to_Ra_um, area_mm2, shop=None, *, change_min=10.0,
                    passes=None, like=None):  # fmt: skip
    """Return the passes that take a surface down to a finish in the fewest minutes.

    Parameters
    ----------
    setup : Setup
        With the machine and the electrode's end.
    from_Ra_um, to_Ra_um : float
        Roughness of the surface that is there, and the likely one wanted [µm].
    area_mm2 : float
        Surface to finish, wall and floor [mm²].
    shop : Shop or None
        What the shop has learned.
    change_min : float
        Minutes before each pass, to change the electrode or the settings [min].
    passes : int or None
        How many; None: the fewest minutes decide.
    like : Settings or None
        Whose open voltage, gap and lift timers are kept.

    Raises
    ------
    Refusal
        If the surface is that smooth already, or no spark leaves the finish.

    Warns
    -----
    RangeWarning
        Where the finish lies outside the 0.4 to 15 µm of the roughness law.

    Notes
    -----
    Each pass takes the Rz before it and, below it, the larger of half that Rz and the recast layer
    that one place in twenty exceeds; at least the layers of sparks that forget the old surface.
    Exact over every setting looked at, by dynamic programming. How fast small sparks remove is
    the least known figure of the kit; what is common to all passes cancels in ``over_one``.
    """
    old = one_number("from_Ra_um", from_Ra_um, *_RA, "µm", "a roughed wall is about 6 µm")
    new = one_number("to_Ra_um", to_Ra_um, *_RA, "µm", "3.2 is a common figure")
    area = one_number("area_mm2", area_mm2, 1e-4, 1e6, "mm²", "wall and floor together")
    change = one_number("change_min", change_min, 0, 600, "min", "0 leaves it out")
    if new >= old:
        raise Refusal(
            f"to_Ra_um must be below the surface that is there, {old:g} µm, got {new:g} µm: no "
            "pass is needed."
        )
    warn_outside_law(new)
    sparks = Sparks(setup, shop, like)
    nodes = _nodes(sparks, old, new)
    ways = _ways(nodes, old, new, area)
    if passes is None:
        count = fewest_passes([minutes for minutes, _ in ways], change)
    else:
        count = int(one_number("passes", passes, 1, len(ways), knob="leave it out for the fastest"))
    return _worked_out(sparks, nodes, ways, (old, new, area, change, count))


@dataclass(frozen=True)
class _Nodes:
    """Sparks no other beats in speed and finish, coarsest first; sizes in µm, rate in mm³/min."""

    burn: object
    Ra: np.ndarray
    rate: np.ndarray
    recast: np.ndarray
    layer: np.ndarray  # mean depth that one layer of sparks takes
    within_limits: bool


def _nodes(sparks, old, new):
    burn, fitting, dialled = sparks.every()
    ra = np.broadcast_to(burn.roughness_Ra_um.likely, burn.shape)
    allowed = fitting if np.any(fitting & (ra <= new)) else dialled
    if not np.any(allowed & (ra <= new)):
        raise Refusal(none_leaves(np.where(dialled, ra, np.nan), new).replace("Ra_um", "to_Ra_um"))
    minutes = np.where(allowed & (ra < old), 1 / burn.removal_rate_mm3_per_min.likely, np.nan)
    places = np.nonzero(non_dominated(minutes, ra))
    places = tuple(axis[np.argsort(-ra[places], kind="stable")] for axis in places)
    settings = burn.settings
    dials = (np.broadcast_to(getattr(settings, name), burn.shape)[places]
             for name in ("peak_current_A", "on_time_us", "off_time_us"))  # fmt: skip
    at = sparks.burn(*dials)
    share = np.broadcast_to(getattr(at.settings, "burn_share", 1.0), at.shape)
    crater = at.point.crater
    layer = EJECTED_SHARE * crater.volume / (np.pi * crater.radius**2) * 1e6
    return _Nodes(at, at.roughness_Ra_um.likely, at.removal_rate_mm3_per_min.likely * share,
                  at.recast_um.high, layer, allowed is fitting)  # fmt: skip


def _surfaces(nodes, old):
    """Return Ra, relief and what lies below of each surface [µm]: row 0 the start, then sparks'."""
    ra = np.concatenate(([old], nodes.Ra))
    recast = np.concatenate(([old * nodes.recast[0] / nodes.Ra[0]], nodes.recast))
    left = [left_for_next_um(RZ_PER_RA * r, layer) for r, layer in zip(ra, recast, strict=True)]
    return ra, *np.array(left).T


def _depths_um(nodes, old):
    """Return what each spark (column) must take off each surface (row) [µm].

    Not-a-number where the spark leaves no smoother surface.
    """
    before, relief, below = _surfaces(nodes, old)
    layers = layers_to_settle(before[:, None] * um, nodes.Ra[None] * um) * nodes.layer
    depth = np.maximum((relief + below)[:, None], layers)
    return np.where(nodes.Ra[None] < before[:, None] * (1 - 1e-9), depth, np.nan)


def _ways(nodes, old, new, area):
    """Return the fewest minutes of burning with 1, 2, ... passes, each with its sparks' places."""
    cost = np.nan_to_num(area * _depths_um(nodes, old) / 1000 / nodes.rate, nan=np.inf)
    return fewest_minutes(cost, nodes.Ra <= new * (1 + 1e-9), MOST)


def _worked_out(sparks, nodes, ways, asked):
    old, new, area, change, count = asked
    steps = _steps(sparks, nodes, ways[count - 1][1], old, area)
    straight = _steps(sparks, nodes, ways[0][1], old, area)[0]
    burning = together([step.minutes for step in steps])
    by_passes = tuple(minutes for minutes, _ in ways)
    return FinishingSteps(
        old, new, area, change, steps, burning, by_passes,
        _over_one(straight, steps, burning), _undersizes(sparks, steps, old), nodes.within_limits,
    )  # fmt: skip


def _steps(sparks, nodes, chain, old, area):
    """Return the passes of a chain of sparks."""
    depths, (ra, relief, below), before, made = (
        _depths_um(nodes, old), _surfaces(nodes, old), 0, [])  # fmt: skip
    given = nodes.burn.settings
    for place in chain:
        burn = sparks.burn(*(float(values[place]) for values in (
            given.peak_current_A, given.on_time_us, given.off_time_us)))  # fmt: skip
        depth = float(depths[before, place])
        needed = float(layers_to_settle(ra[before] * um, nodes.Ra[place] * um))
        made.append(Step(
            burn.settings, burn, float(ra[before]),
            float(relief[before]), float(below[before]), depth,
            needed, depth / float(nodes.layer[place]),
            burn.minutes(area * depth / 1000),
        ))  # fmt: skip
        before = place + 1
    return tuple(made)


def _over_one(straight, steps, burning):
    """Return how many times as long one pass burns; only what the passes do not share is doubt."""
    spread = sum(
        float(step.minutes.likely) * float(step.burn.ratio(straight.burn).removal_rate.spread)
        for step in steps
    )  # fmt: skip
    whole = float(burning.likely)
    return Estimate(float(straight.minutes.likely) / whole, spread / whole)


def _undersizes(sparks, steps, old):
    """Return the undersize of the roughing and of the finishing electrode, or None."""
    on = sparks.on_times_us(old)
    left = ~np.isnan(on)
    if not left.any():
        return None
    amps = sparks.offered["peak_current_A"][left]
    _, burn, fits = sparks.with_off_times(amps, on[left])
    rate = burn.removal_rate_mm3_per_min.likely
    first = int(np.argmax(np.where(fits | ~fits.any(), rate, 0.0)))
    gap, last = float(burn.gap_side_um.likely[first]), steps[-1].burn.gap_side_um
    rough_mm = (gap + steps[0].relief_um + steps[0].below_um) / 1000
    return Undersizes(rough_mm, float(last.likely) / 1000)
