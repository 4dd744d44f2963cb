"""Points that no other point beats, against every pair looked at in turn."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from edmkit import Refusal
from edmkit.finder.front import non_dominated


def all_pairs(*columns):
    """Return the front by the definition: nowhere worse and somewhere better beats."""
    arrays = np.broadcast_arrays(*(np.asarray(c, float) for c in columns))
    points = [tuple(map(float, p)) for p in zip(*(a.ravel() for a in arrays), strict=True)]
    whole = [p for p in points if all(x == x and abs(x) != float("inf") for x in p)]
    front = []
    for mine in points:
        beaten = any(
            all(a <= b for a, b in zip(other, mine, strict=True)) and other != mine
            for other in set(whole)
        )
        front.append(mine in whole and not beaten)
    return np.array(front, bool).reshape(arrays[0].shape)


@given(
    st.integers(2, 3),
    st.lists(st.lists(st.sampled_from([-2, 0, 0.5, 1, 3, 1e-9, float("nan")]),
                      min_size=3, max_size=3), min_size=1, max_size=30),
)  # fmt: skip
def test_the_front_of_few_points(width, rows):
    columns = np.array(rows, float).T[:width]
    np.testing.assert_array_equal(non_dominated(*columns), all_pairs(*columns))


@pytest.mark.parametrize("width", [2, 3])
@pytest.mark.parametrize("seed", range(4))
def test_the_front_of_random_points(width, seed):
    random = np.random.default_rng(seed)
    columns = random.normal(size=(width, 300))
    if seed % 2:  # many alike
        columns = columns.round(1)
        columns[:, 150:] = columns[:, :150]
    np.testing.assert_array_equal(non_dominated(*columns), all_pairs(*columns))


@pytest.mark.parametrize("width", [2, 3])
@pytest.mark.parametrize(
    "count, values", [(1999, 9), (2001, 9), (2500, 7), (6000, 5), (20_000, 12)]
)
def test_sizes_at_which_points_are_first_thrown_out_in_bulk(width, count, values):
    random = np.random.default_rng(count + width)
    columns = random.integers(0, values, (width, count)).astype(float)
    columns = columns[:, columns.sum(axis=0) > values]  # so that not one point beats all others
    columns[0, ::97] = np.nan
    points = np.unique(columns.T[~np.isnan(columns[0])], axis=0)
    best = {tuple(p) for p, ok in zip(points, all_pairs(*points.T), strict=True) if ok}
    expected = [tuple(p) in best for p in columns.T]
    assert 1 < len(best) < len(points)
    np.testing.assert_array_equal(non_dominated(*columns), expected)


@pytest.mark.parametrize("seed", range(5))
def test_columns_that_share_no_axis(seed):
    random = np.random.default_rng(seed)
    shapes = [((3, 4, 5), (3, 1, 1), (1, 4, 1)), ((3, 4, 5), (1, 4, 1), (3, 4, 1)),
              ((1, 4, 5), (3, 1, 1), (1, 4, 1)), ((3, 4, 5), (3, 4, 5), ()),
              ((2, 3, 2), (2, 1, 1))][seed]  # fmt: skip
    columns = [random.integers(0, 6, s).astype(float) for s in shapes]
    if seed < 2:
        columns[0].ravel()[::7] = np.nan
    np.testing.assert_array_equal(non_dominated(*columns), all_pairs(*columns))


def test_views_that_repeat_are_one_axis():
    minutes = np.array([3.0, 1.0, 1.0, np.nan])[:, None]
    ra = np.broadcast_to(np.array([1.0, 2.0]), (4, 2))
    expected = [[False, False], [True, False], [True, False], [False, False]]
    np.testing.assert_array_equal(non_dominated(minutes, ra), expected)
    whole = np.array(np.broadcast_to(minutes, (4, 2)))
    np.testing.assert_array_equal(non_dominated(whole, ra.copy(), np.zeros((4, 2))), expected)


def test_points_with_an_answer_by_eye():
    np.testing.assert_array_equal(non_dominated([1, 2, 3, 2], [3, 2, 1, 3]), [1, 1, 1, 0])
    np.testing.assert_array_equal(non_dominated([1, 1], [1, 1], [2, 2]), [True, True])
    assert non_dominated(1.0, 2.0, 3.0) == True  # noqa: E712, one point stands for itself
    assert not non_dominated(np.nan, 2.0)
    assert not non_dominated(np.inf, 2.0)
    assert non_dominated([], []).shape == (0,)
    assert not non_dominated(np.full(5, np.nan), np.arange(5.0)).any()


def test_a_beaten_point_changes_nothing():
    random = np.random.default_rng(3)
    columns = random.normal(size=(3, 4000))
    front = non_dominated(*columns)
    beaten = columns[:, random.integers(0, 4000, 200)] + random.uniform(0, 0.1, (3, 200)) + 1e-6
    more = np.concatenate([columns, beaten], axis=1)
    np.testing.assert_array_equal(non_dominated(*more), [*front, *[False] * 200])


def test_order_scale_and_turns_change_nothing():
    random = np.random.default_rng(4)
    columns = random.normal(size=(3, 5000)).round(1)
    front = non_dominated(*columns)
    order = random.permutation(5000)
    np.testing.assert_array_equal(non_dominated(*columns[:, order]), front[order])
    np.testing.assert_array_equal(non_dominated(*columns[[2, 0, 1]]), front)
    np.testing.assert_array_equal(non_dominated(*np.exp(columns)), front)


@pytest.mark.parametrize("count", [0, 1, 4])
def test_two_or_three_columns_only(count):
    with pytest.raises(Refusal, match=f"columns must be two or three answers, got {count}"):
        non_dominated(*[np.arange(3.0)] * count)
