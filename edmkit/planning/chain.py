"""The cheapest chain of passes, by dynamic programming over their number."""

import numpy as np


def fewest_minutes(cost, ends, most):
    """Return the cheapest chain of 1, 2, ... passes: (minutes, places of its sparks) each.

    Parameters
    ----------
    cost : array
        Minutes from each surface (row 0 the start, row i + 1 what spark i leaves) with each spark
        (column); infinite where it does not go [min].
    ends : array of bool
        Which sparks leave what is wanted.
    most : int
        Longest chain looked at.

    Notes
    -----
    Dynamic programming over the number of passes; ends early where no longer chain exists.
    """
    reach, back, found = cost[0], [], []
    for _ in range(most):
        last = int(np.argmin(np.where(ends, reach, np.inf)))
        if not np.isfinite(reach[last]) or not ends[last]:
            break
        chain = [last]
        for came_from in back[::-1]:
            chain.append(int(came_from[chain[-1]]))
        found.append((float(reach[last]), tuple(chain[::-1])))
        onward = reach[:, None] + cost[1:]
        back.append(np.argmin(onward, axis=0))
        reach = np.min(onward, axis=0)
    return found


def fewest_passes(burning, change_min, times=1.0):
    """Return the number of passes with the fewest minutes; the smaller of two alike.

    Parameters
    ----------
    burning : sequence of float
        Minutes of burning with 1, 2, ... passes [min].
    change_min : float
        Minutes before each pass [min].
    times : float
        How many times as long the burning takes [-].
    """
    return 1 + int(np.argmin([times * b + n * change_min for n, b in enumerate(burning, 1)]))
