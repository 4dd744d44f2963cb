"""Two materials side by side and a band that closes: the pictures carry their data."""

import numpy as np
from numpy.testing import assert_allclose

from edmkit import Estimate
from edmkit.plots.new_material_plot import (
    KINDS,
    beside_figure,
    change_beside,
    change_closing,
    closing_figure,
)

ROWS = [
    ("minutes", Estimate(10.0, 0.5), Estimate(20.0, 0.6), Estimate(15.0, 1.15)),
    ("wear", Estimate(4.0, 0.3), Estimate(float("nan"), 0.6), Estimate(float("nan"), 0.6)),
]


def test_each_band_stands_over_the_known_material():
    figure = beside_figure(ROWS)
    known, new, plain = figure.data
    assert [trace.name for trace in figure.data] == [name for name, *_ in KINDS]
    assert list(known.y) == [1, 1] and list(new.y) == [2.0] and list(plain.y) == [1.5]
    assert_allclose(new.y[0] + new.error_y.array[0], ROWS[0][2].high / 10)
    assert_allclose(new.y[0] - new.error_y.arrayminus[0], ROWS[0][2].low / 10)
    low, high = (10**v for v in figure.layout.yaxis.range)
    assert low <= ROWS[0][3].low / 10 and high >= ROWS[0][3].high / 10
    assert list(figure.layout.xaxis.ticktext) == ["minutes", "wear"]
    assert "times" in figure.layout.yaxis.title.text
    assert len({trace.marker.symbol for trace in figure.data}) == 3


def test_it_is_changed_in_place():
    figure = beside_figure(ROWS)
    change_beside(figure, [("minutes", *[Estimate(v, 0.1) for v in (10.0, 40.0, 10.0)])])
    assert list(figure.data[1].y) == [4.0] and len(figure.data) == 3


def test_the_plan_goes_on_where_the_burns_end():
    figure = closing_figure([("0", 6.6), ("1", 2.0)], [("2", 1.6), ("3", 1.5)])
    done, then = figure.data
    assert (list(done.x), list(done.y)) == ([0, 1], [6.6, 2.0])
    assert (list(then.x), list(then.y)) == ([1, 2, 3], [2.0, 1.6, 1.5])
    assert list(figure.layout.xaxis.ticktext) == ["0", "1", "2", "3"]
    assert figure.layout.yaxis.range[0] == 0 and 10 ** figure.layout.yaxis.range[1] >= 6.6
    change_closing(figure, [("0", 6.6)], [])
    assert list(figure.data[0].y) == [6.6] and len(figure.data[1].x) == 0
    assert np.isfinite(figure.layout.yaxis.range).all()
