"""The map of a surface: true numbers, equal scales, the cut where it is said to be."""

import re

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal

from edmkit.physics.crater_surface import Craters, Surface, erode
from edmkit.physics.surface_starts import flat_for
from edmkit.plots.surface_map import (
    CLOSER,
    CUT,
    MAP,
    MEAN,
    SECTION,
    change_cut,
    change_surface_map,
    surface_map,
    surface_map_figure,
)
from edmkit.units import um

CRATERS = Craters(60 * um, 12 * um)
FLAT = flat_for(CRATERS)
ROUGH = erode(FLAT, CRATERS, 3000, seed=1)


def marked(size=512, row=100, column=300):
    """Return a flat map with one point 5 µm deep, and its row and column."""
    heights = np.full((size, size), 40 * um)  # no zero of heights is drawn, only their mean
    heights[row, column] -= 5 * um
    return Surface(heights, 2 * um), (row, column)


def test_the_section_holds_every_height_of_its_row_in_true_numbers():
    surface, (row, column) = marked()
    figure = surface_map_figure(surface_map(surface, row / 511))
    x, y = figure.data[SECTION].x, figure.data[SECTION].y
    assert len(x) == 512 and np.argmin(y) == column
    assert_allclose(x[column], 600)  # 300 steps of 2 µm
    assert_allclose(y.max() - y.min(), 5)
    assert_allclose(y.max(), 5 / 512**2)  # over the mean of the whole map
    assert_allclose(figure.data[CUT].y, row * 2)
    assert_allclose(figure.data[MEAN].y, 0)


@pytest.mark.parametrize("pixels", [100, 256, 512, 700])
def test_the_map_is_sent_thinned_with_true_heights_where_they_stand(pixels):
    surface = Surface(np.random.default_rng(1).random((pixels, pixels)) * um, 2 * um)
    sent = surface_map_figure(surface_map(surface)).data[MAP]
    size = len(sent.z)
    assert sent.z.shape == (size, size) and 100 <= size <= 256
    step = round(sent.dx / 2)
    over = (surface.heights - surface.heights.mean()) / um
    assert_allclose(sent.z, over[::step, ::step], atol=1e-6)
    assert (sent.x0, sent.y0, sent.dy) == (0, 0, sent.dx)
    assert sent.dx * (size - 1) >= 2 * (pixels - step)


@pytest.mark.parametrize("place", [(100, 300), (0, 0), (511, 5)])
def test_closer_looks_at_the_place_over_the_edge_too(place):
    surface, _ = marked(512, *place)
    shown = surface_map(surface, 0.5, around=place)
    assert shown.heights.shape == (512 // CLOSER,) * 2
    deepest = np.unravel_index(shown.heights.argmin(), shown.heights.shape)
    assert_array_equal(deepest, (64, 64))
    assert abs(shown.row - 64) <= 1 and shown.pixel == pytest.approx(2)
    assert_allclose(shown.heights.max(), 5 / 512**2)  # the mean stays that of the whole map


def test_it_is_drawn_square_and_the_words_say_how_much_too_high():
    shown = surface_map(ROUGH)
    figure = surface_map_figure(shown)
    layout, margin = figure.layout, figure.layout.margin
    wide = layout.width - margin.l - margin.r
    high = layout.height - margin.t - margin.b
    map_high = np.ptp(layout.yaxis.domain) * high
    assert_allclose(map_high, wide)  # equal: both axes run over the same lengths
    assert layout.xaxis.range == layout.yaxis.range == layout.xaxis2.range
    assert_allclose(layout.xaxis.range, (0, 64 * 60))  # a map is 64 radii wide
    per_height = np.ptp(layout.yaxis2.domain) * high / np.ptp(layout.yaxis2.range)
    said = re.search(r"heights ([\d.]+) times too", layout.annotations[0].text)[1]
    assert_allclose(float(said), per_height / (wide / (64 * 60)), rtol=0.06)
    assert layout.yaxis2.domain[1] < layout.yaxis.domain[0]


def test_all_heights_lie_inside_the_scale_and_the_colours():
    figure = surface_map_figure(surface_map(ROUGH))
    most = np.abs(ROUGH.heights - ROUGH.heights.mean()).max() / um
    assert most <= figure.layout.yaxis2.range[1] < 2 * most
    assert figure.data[MAP].zmax == -figure.data[MAP].zmin == figure.layout.yaxis2.range[1]


def test_deep_is_dark_in_grey_too():
    figure = surface_map_figure(surface_map(ROUGH))
    light = []
    for _, colour in figure.data[MAP].colorscale:
        red, green, blue = (int(colour[n : n + 2], 16) for n in (1, 3, 5))
        light.append(0.2126 * red + 0.7152 * green + 0.0722 * blue)  # luma weights of BT.709
    assert np.all(np.diff(light) > 5) and light[0] < 60 and light[-1] > 240


def test_it_changes_in_place_and_its_scale_stays():
    figure = surface_map_figure(surface_map(ROUGH))
    traces, scale = figure.data, figure.layout.yaxis2.range
    later = erode(ROUGH, CRATERS, 500, seed=1)
    change_surface_map(figure, surface_map(later))
    assert figure.data == traces and figure.layout.yaxis2.range == scale
    over = (later.heights - later.heights.mean()) / um
    assert_allclose(figure.data[MAP].z, over[::2, ::2], atol=1e-4)
    change_surface_map(figure, surface_map(ROUGH, per_um=1 / 25.4, unit="thou"))
    assert figure.layout.xaxis2.title.text == "along the cut, thou"
    assert_allclose(figure.layout.xaxis.range[1], 64 * 60 / 25.4)
    change_surface_map(figure, surface_map(FLAT), fresh=True)
    assert figure.layout.yaxis2.range == (-1, 1)


def test_another_cut_leaves_the_map_as_it_is():
    figure = surface_map_figure(surface_map(ROUGH, 0.2))
    sent = figure.data[MAP].z
    change_cut(figure, surface_map(ROUGH, 1.0))
    assert figure.data[MAP].z is sent
    over = (ROUGH.heights - ROUGH.heights.mean()) / um
    assert_allclose(figure.data[SECTION].y, over[511])
    assert_allclose(figure.data[CUT].y, 511 * 7.5)
