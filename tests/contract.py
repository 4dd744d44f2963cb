"""What every formula of the kit keeps: shapes in, shapes out, and a clear refusal."""

import dataclasses

import numpy as np
import pytest
from numpy.testing import assert_allclose

from edmkit.checks import Refusal

# No number at all, or not one number: refused wherever a formula takes a number.
NOT_NUMBERS = (float("nan"), float("inf"), -1.0, "fifty", "1,5", None, True, 1j, [1.0, None])


def parts(result):
    """Return the numbers of a result, whether it is one or a frozen dataclass of several."""
    if dataclasses.is_dataclass(result):
        return dataclasses.astuple(result)
    return (result,)


def keeps_shapes(function, **numbers):
    """Check that scalars stay scalars and that arrays broadcast, element by element."""
    for part in parts(function(**numbers)):
        assert not isinstance(part, np.ndarray), "a scalar must not turn into an array"
        assert np.ndim(part) == 0
    wide = {}
    for place, (name, number) in enumerate(numbers.items()):
        steps = np.array([[1.0], [1.02]]) if place % 2 == 0 else np.array([1.0, 1.01, 1.03])
        wide[name] = number * (steps if len(numbers) > 1 else steps * [1.0, 1.01, 1.03])
    results = parts(function(**wide))
    # each field of a result broadcasts what it depends on, the whole of it everything
    assert np.broadcast_shapes(*map(np.shape, results)) == (2, 3)
    last = {name: np.broadcast_to(value, (2, 3))[1, 2] for name, value in wide.items()}
    for many, one in zip(results, parts(function(**last)), strict=True):
        assert_allclose(np.broadcast_to(many, (2, 3))[1, 2], one, rtol=1e-12)
    nothing = {name: np.empty(0) for name in numbers}
    assert np.broadcast_shapes(*map(np.shape, parts(function(**nothing)))) == (0,)


def refuses(function, numbers, name, match=None, bad=NOT_NUMBERS):
    """Check that one parameter refuses what is not a number, by its own name."""
    function(**numbers)  # the good call works, so the refusal is about the bad number
    for value in bad:
        with pytest.raises(Refusal, match=match or rf"{name} must be "):
            function(**numbers | {name: value})
    if "1,5" in bad:
        with pytest.raises(Refusal, match=r"write 1\.5, with a point"):
            function(**numbers | {name: "1,5"})


def refuses_microseconds(function, numbers, name):
    """Check that a time in microseconds, given where seconds belong, is told so."""
    with pytest.raises(Refusal, match=rf"{name} must be .* µs, got 5e\+07 µs: times are seconds"):
        function(**numbers | {name: 50})
