"""What stands in the way where no setting meets the limits."""

from dataclasses import dataclass
from math import ceil, floor, log10, prod

import numpy as np

from edmkit.finder.bars import REASONS
from edmkit.words import three, two

# What a reason is called beside a limit.
_WORDS = {
    "unknown dial": "positions that are known",
    "unusual polarity": "usual polarity",
    "outside the craters": "range of the solved craters",
    "no useful cutting": "least current that cuts",
    "smaller than a spark": "size of the end",
    "duty": "duty factor",
    "current": "current this end bears",
    "arcs": "share of arcs",
}
_MOST_EXCESS = 50.0  # of a logarithm, for what nothing brings nearer


@dataclass(frozen=True)
class Shortfall:
    """What stands in the way: with it out of the way, or at ``would_do``, something is left.

    ``would_do`` is in the limit's own unit, not-a-number for a reason that is not a limit.
    """

    name: str
    said: str
    would_do: float = float("nan")


def shortfalls(sides, level):
    """Return what alone stands in the way, or everything that does: a tuple of `Shortfall`.

    Parameters
    ----------
    sides : sequence of Side
        Every setting; none of them passes every bar.
    level : float
        The chance that was asked for [-].
    """
    names = dict.fromkeys(name for side in sides for name in side.bars)
    alone = [found for name in names if (found := _shortfall(sides, name, level))]
    if alone:
        return tuple(alone)
    side, place = nearest_place(sides)
    over = {n: float(np.broadcast_to(b, side.burn.shape)[place]) for n, b in side.bars.items()}
    missed = tuple(name for name, excess in over.items() if excess > 1e-9)
    said = "No one limit alone stands in the way: the nearest setting misses " + ", ".join(
        _missed(sides[0], name, over[name]) for name in missed
    )
    return (Shortfall("several", f"{said}."),)


def _missed(side, name, excess):
    by = f" by {two(np.exp(excess))} times" if excess < _MOST_EXCESS else ""
    word = next((limit.word for limit in side.limits if limit.name == name), _WORDS.get(name, name))
    return f"the {word}{by}"


def _shortfall(sides, name, level):
    """Return what is said of one bar if it alone stands in the way, else None."""
    inside = [side.inside((name,)) for side in sides]
    if not any(part.any() for part in inside):
        return None
    limit = next((limit for limit in sides[0].limits if limit.name == name), None)
    if limit is not None:
        return _short_limit(limit, sides, inside, level)
    excess = min(float(np.min(np.where(part, side.bars.get(name, np.inf), np.inf)))
                 for side, part in zip(sides, inside, strict=True))  # fmt: skip
    said = next(reason.said for reason in REASONS if reason.name == name)
    by = f", the nearest by {two(np.exp(excess))} times" if excess < _MOST_EXCESS else ""
    count = sum(int(part.sum()) * (prod(side.burn.shape) // part.size)
                for side, part in zip(sides, inside, strict=True))  # fmt: skip
    return Shortfall(
        name, f"Everything that meets the rest is left out ({count} settings): {said}{by}."
    )


def _short_limit(limit, sides, inside, level):
    """Return what is said of a limit that alone stands in the way."""
    pairs = (np.broadcast_arrays(limit.needed(side.burn, level), part)
             for side, part in zip(sides, inside, strict=True))  # fmt: skip
    needed = np.concatenate([values[keep] for values, keep in pairs])
    needed = needed[np.isfinite(needed)]
    chance = f"with a chance of {two(100 * level)} %"
    side = "at least" if limit.above else "at most"
    if not needed.size:
        return Shortfall(limit.name, f"There is no figure for the {limit.word} of this pair: burn "
                         "a trial and measure it, or leave the limit out.")  # fmt: skip
    best = float(needed.max() if limit.above else needed.min())
    asked, can = f"{three(limit.value)} {limit.unit}", f"{three(_that_can(best, limit.above))}"
    can = f"{can} {limit.unit}"
    if limit.name == "max_class":  # said and given in the class that was asked for
        best = 20 * log10(10 * best)
        asked += f" (class {three(20 * log10(10 * limit.value))})"
        can += f" (class {ceil(best)})"
    return Shortfall(
        limit.name,
        f"{_capital(limit.word)} of {side} {asked} cannot be had {chance}; with everything else "
        f"kept, {can} can.",
        best,
    )


def _capital(word):
    return word[0].upper() + word[1:]


def _that_can(best, above):
    """Return the best that can be had with three digits, rounded to the side that can."""
    step = 10.0 ** (floor(log10(best)) - 2)
    return (floor if above else ceil)(best / step) * step


def nearest_place(sides):
    """Return the side and the place of the setting that misses least in all; then the fastest.

    Parameters
    ----------
    sides : sequence of Side
        Every setting.
    """
    best = None
    for side in sides:
        over = [np.minimum(np.maximum(bar, 0.0), _MOST_EXCESS) for bar in side.bars.values()]
        total = np.broadcast_to(sum(over), side.burn.shape)
        least = total <= total.min() + 1e-9
        place = np.unravel_index(int(np.argmin(np.where(least, side.minutes, np.inf))), total.shape)
        if best is None or total[place] < best[0]:
            best = float(total[place]), side, place
    return best[1:]
