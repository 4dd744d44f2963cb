"""Scales that stay still while the data move inside them."""

from math import floor, log10

_TOPS = (1, 1.5, 2, 3, 4, 6, 8, 10)
_STEPS = (1, 2, 2.5, 5, 10)


def _first(numbers, least):
    """Return the first of these numbers, times a power of ten, that reaches a least one."""
    power = 10.0 ** floor(log10(least))
    return next(n * power for n in numbers if n * power >= least * (1 - 1e-9))


def steady(need, old=None):
    """Return the end of a scale that starts at zero.

    Parameters
    ----------
    need : float
        What must be in sight; above 0.
    old : float or None
        The present end: it stays while the need is in sight and fills two fifths of it.
    """
    if old and 0.4 * old <= need <= old * (1 + 1e-9):
        return old
    return _first(_TOPS, need)


def marks(end):
    """Return the numbers at a scale from zero to an end: 0 and four more at most."""
    step = _first(_STEPS, end / 4)
    return [round(n * step, 12) for n in range(round(floor(end / step * (1 + 1e-9))) + 1)]
