"""Every setting of the machine, and which of them no other setting beats."""

import numpy as np


def non_dominated(first, second):
    """Return which points no other point beats in both columns (less is better).

    Parameters
    ----------
    first, second : array (n,)
        Two answers to hold against each other; not-a-number never stands on the front.

    Returns
    -------
    array (n,) of bool
        Exact: sorted by the first, kept where the second falls below all before it.
    """
    first, second = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    order = np.lexsort((second, first))
    order = order[np.isfinite(first[order]) & np.isfinite(second[order])]
    best_before = np.minimum.accumulate(np.concatenate([[np.inf], second[order]]))[:-1]
    front = np.zeros(first.shape, dtype=bool)
    front[order[second[order] < best_before]] = True
    return front
