"""Which points no other point beats."""

from bisect import bisect_right

import numpy as np

from edmkit.checks import Refusal

# A sample of one point in so many has a front that beats most of the rest; it is never less than
# so many points. The seed changes how long it takes, not what is found.
_ONE_IN, _LEAST, _SEED = 100, 1000, 1
_MOST, _WORTH = 100, 0.01  # points of that front held against all, share of the rest one must beat


def non_dominated(*columns):
    """Return which points no other point beats (less is better in each column).

    Parameters
    ----------
    columns : two or three arrays, broadcast together
        Answers to hold against each other; not-a-number never stands on the front.

    Returns
    -------
    array of bool, of the broadcast shape
        A point is beaten by one that is nowhere worse and somewhere better; equal points stay
        together.

    Raises
    ------
    Refusal
        If there are not two or three columns.

    Notes
    -----
    Exact. Along an axis where only the first column changes, its least decides: a machine's
    off-times and lifts cost nothing then. Points beaten by a few good ones go first, the rest is
    sorted once and walked along.
    """
    if len(columns) not in (2, 3):
        raise Refusal(f"columns must be two or three answers, got {len(columns)}.")
    arrays = np.broadcast_arrays(*(np.asarray(c, dtype=float) for c in columns))
    shape = arrays[0].shape
    if arrays[0].size == 0:
        return np.zeros(shape, dtype=bool)
    still = _still(arrays[1:])
    rest = tuple(slice(0, 1) if axis in still else slice(None) for axis in range(len(shape)))
    least = _least(arrays[0], still)
    reduced = [least.ravel(), *(array[rest].ravel() for array in arrays[1:])]
    front = np.zeros(least.size, dtype=bool)
    alive = np.isfinite(reduced[0])
    for column in reduced[1:]:
        alive &= np.isfinite(column)
    places = np.flatnonzero(alive)
    if len(places) < len(alive):
        reduced = [column[places] for column in reduced]
    front[_exact(reduced, places)] = True
    front = front.reshape(least.shape)
    return front & (arrays[0] == least) if still else front


def _still(arrays):
    """Return the axes along which none of these broadcast arrays changes."""
    steps = zip(*(array.strides for array in arrays), strict=True)
    return tuple(axis for axis, step in enumerate(steps) if not any(step))


def _least(first, axes):
    """Return the least of the first column along some axes, not-a-number where there is none."""
    if not axes:
        return first
    return np.fmin.reduce(first, axis=axes, keepdims=True)


def _exact(columns, places):
    """Return those of ``places`` on the front; every number is finite."""
    columns, places = _cull(columns, places)
    points = np.zeros((len(places), 3))
    for number, column in enumerate(columns):
        points[:, number] = column
    unique, inverse = np.unique(points, axis=0, return_inverse=True)
    return places[_staircase(unique)[inverse.ravel()]]


def _cull(columns, places):
    """Return columns and places without most of the points that the front of a sample beats."""
    if len(places) <= 2 * _LEAST:
        return columns, places
    count = max(len(places) // _ONE_IN, _LEAST)
    chosen = np.random.default_rng(_SEED).integers(0, len(places), count)
    sample = [column[chosen] for column in columns]
    best = _exact(sample, np.arange(count))
    few = [column[: 4 * _LEAST, None] >= column[best] for column in sample]
    order = np.argsort(-np.logical_and.reduce(few).sum(axis=0))
    for point in np.stack([column[best] for column in sample], axis=1)[order[:_MOST]]:
        keep = columns[0] < point[0]
        for column, value in zip(columns[1:], point[1:], strict=True):
            keep |= column < value
        same = np.flatnonzero(columns[0] == point[0])
        keep[same] |= np.all([c[same] == p for c, p in zip(columns, point, strict=True)], axis=0)
        kept = np.flatnonzero(keep)
        if len(kept) < (1 - _WORTH) * len(places):
            columns, places = [column[kept] for column in columns], places[kept]
    return columns, places


def _staircase(points):
    """Return which rows of sorted, different points (n, 3) no earlier row beats.

    Kept as steps: seconds rising, thirds falling; the step at or before a second has the least
    third so far.
    """
    front = np.zeros(len(points), dtype=bool)
    seconds, thirds = [], []
    for place, (_, second, third) in enumerate(points.tolist()):
        at = bisect_right(seconds, second)
        if at and thirds[at - 1] <= third:
            continue
        front[place] = True
        end = at
        while end < len(thirds) and thirds[end] >= third:
            end += 1
        if at and seconds[at - 1] == second:
            at -= 1
        seconds[at:end], thirds[at:end] = [second], [third]
    return front
