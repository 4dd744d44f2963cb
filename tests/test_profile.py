"""Ra, Rz and Rt along a line, the Gaussian mean line, a stylus that crosses a map"""

import numpy as np
import pytest
from contract import NOT_NUMBERS
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.ndimage import gaussian_filter1d
from surfalize import Profile

from edmkit.checks import Refusal
from edmkit.physics.profile import (
    gaussian_mean_line,
    profile_parameters,
    roughness_profile,
    stylus_line,
)
from edmkit.units import mm, um

STEP, CUT_OFF = 2 * um, 0.8 * mm
ALONG = np.arange(2400) * STEP  # six cut-offs
INSIDE = slice(400, -400)  # a whole cut-off from the ends: all of the weight lies on the line
RANDOM = np.random.default_rng(3).normal(0, 1 * um, 2400)
LINE = {"heights": RANDOM, "spacing": STEP, "cut_off": CUT_OFF}


def sine(length, height=3 * um):
    """Return a sine of this wavelength and amplitude."""
    return height * np.sin(2 * np.pi * ALONG / length)


def refuses_a_line(function, numbers):
    """Check that heights, spacing and cut-off are refused by their own names."""
    function(**numbers)
    for name in numbers:
        for bad in NOT_NUMBERS:
            with pytest.raises(Refusal, match=rf"^{name} must be "):
                function(**numbers | {name: bad})
    for name in ("spacing", "cut_off"):
        with pytest.raises(Refusal, match=f"{name} must be one number"):
            function(**numbers | {name: np.array([CUT_OFF, CUT_OFF])})
    with pytest.raises(Refusal, match="at least 10 times the spacing of 100 µm"):
        function(**numbers | {"spacing": 100 * um})
    with pytest.raises(Refusal, match=r"shape \(2, 0\)"):
        function(**numbers | {"heights": np.empty((2, 0))})


# --- gaussian_mean_line ---
@pytest.mark.parametrize("share", [0.5, 0.7, 1.0, 1.5])
def test_gaussian_mean_line_passes_what_the_standard_says(share):
    # ISO 16610-21, from memory: exp(-pi (alpha cut-off / wavelength)²), so half at the cut-off
    wave = sine(share * CUT_OFF)
    passed = gaussian_mean_line(wave, STEP, CUT_OFF)[INSIDE]
    alpha = np.sqrt(np.log(2) / np.pi)
    share_passed = (passed @ wave[INSIDE]) / (wave[INSIDE] @ wave[INSIDE])
    assert_allclose(share_passed, np.exp(-np.pi * (alpha / share) ** 2), atol=1e-4)
    if share == 1.0:
        assert_allclose(share_passed, 0.5, atol=1e-5)


def test_gaussian_mean_line_against_the_plain_sum():
    # np.convolve with the weight written out, made 1 again at the ends
    away = np.arange(-400, 401) * STEP / (np.sqrt(np.log(2) / np.pi) * CUT_OFF)
    weight = np.exp(-np.pi * away**2)
    plain = np.convolve(RANDOM, weight, "same") / np.convolve(np.ones(2400), weight, "same")
    assert_allclose(gaussian_mean_line(**LINE), plain, atol=1e-12 * um)


def test_gaussian_mean_line_against_scipy():
    # scipy.ndimage: the same weight named by its standard deviation, alpha cut-off / sqrt(2 pi)
    sigma = np.sqrt(np.log(2) / np.pi / 2 / np.pi) * CUT_OFF / STEP
    theirs = gaussian_filter1d(RANDOM, sigma, truncate=400 / sigma)
    assert_allclose(gaussian_mean_line(**LINE)[INSIDE], theirs[INSIDE], atol=1e-12 * um)


@given(level=st.floats(-50, 50), slope=st.floats(-0.2, 0.2))
def test_gaussian_mean_line_follows_a_straight_line(level, slope):
    straight = level * um + slope * ALONG
    ours = gaussian_mean_line(straight, STEP, CUT_OFF)
    assert_allclose(ours[INSIDE], straight[INSIDE], atol=1e-6 * um)
    flat = gaussian_mean_line(np.full(2400, level * um), STEP, CUT_OFF)
    assert_allclose(flat, level * um, atol=1e-9 * um)  # to the very ends


def test_gaussian_mean_line_takes_many_lines():
    many = np.stack([RANDOM, sine(CUT_OFF), RANDOM[::-1]]).reshape(3, 1, 2400)
    ours = gaussian_mean_line(many, STEP, CUT_OFF)
    assert ours.shape == (3, 1, 2400)
    assert_allclose(ours[2, 0], gaussian_mean_line(RANDOM, STEP, CUT_OFF)[::-1], atol=1e-12 * um)


def test_gaussian_mean_line_refuses():
    refuses_a_line(gaussian_mean_line, LINE)


# --- roughness_profile ---
def test_roughness_profile_keeps_a_short_wave_and_loses_a_long_one():
    # by the standard's formula, from memory: 0.25 % of a wave of a third passes into the mean line
    kept = roughness_profile(sine(CUT_OFF / 8), STEP, CUT_OFF)
    assert_allclose(kept, sine(CUT_OFF / 8)[200:-200], atol=0.02 * um)
    lost = roughness_profile(sine(8 * CUT_OFF), STEP, CUT_OFF)
    assert np.abs(lost).max() < 0.06 * 3 * um


@given(slope=st.floats(-0.01, 0.01))
def test_roughness_profile_loses_a_tilt(slope):
    tilted = roughness_profile(RANDOM + slope * ALONG, STEP, CUT_OFF)
    inside = slice(200, -200)
    upright = roughness_profile(RANDOM, STEP, CUT_OFF)
    assert_allclose(tilted[inside], upright[inside], atol=1e-6 * um)


def test_roughness_profile_is_a_cut_off_shorter():
    assert roughness_profile(**LINE).shape == (2000,)
    assert roughness_profile(np.stack([RANDOM] * 3), STEP, CUT_OFF).shape == (3, 2000)


def test_roughness_profile_refuses():
    refuses_a_line(roughness_profile, LINE)
    with pytest.raises(Refusal, match=r"at least 1\.6 mm long, got 1\.59 mm: take a longer line"):
        roughness_profile(RANDOM[:795], STEP, CUT_OFF)


# --- profile_parameters ---
def test_profile_parameters_of_a_sine():
    # textbook: the mean of |sin| is 2 / pi, peak to valley 2; 16 waves in a section length
    found = profile_parameters(sine(CUT_OFF / 16), STEP, CUT_OFF)
    assert_allclose(found.Ra, 3 * um * 2 / np.pi, rtol=2e-3)
    assert_allclose([found.Rz, found.Rt], 6 * um, rtol=4e-3)
    assert found.sections == 5


def test_profile_parameters_of_a_sine_at_the_cut_off():
    # ISO 16610-21: half of it is taken away
    found = profile_parameters(sine(CUT_OFF), STEP, CUT_OFF)
    assert_allclose([found.Ra, found.Rz], [3 * um / np.pi, 3 * um], rtol=0.01)


def test_profile_parameters_of_a_triangle():
    # textbook: the mean of |triangle| is half its amplitude
    place = ALONG / (CUT_OFF / 10) % 1
    found = profile_parameters((4 * np.abs(place - 0.5) - 1) * 3 * um, STEP, CUT_OFF)
    assert_allclose(found.Ra, 1.5 * um, rtol=5e-3)
    assert_allclose(found.Rz, 6 * um, rtol=5e-3)


def test_profile_parameters_of_normal_noise():
    # textbook: the mean of |normal| is sqrt(2 / pi) of its deviation; the mean line takes a little
    noise = np.random.default_rng(8).normal(0, 2 * um, (300, 2400))
    found = profile_parameters(noise, STEP, CUT_OFF)
    assert found.Ra.shape == found.Rz.shape == found.Rt.shape == (300,)
    assert_allclose(found.Ra.mean(), np.sqrt(2 / np.pi) * 2 * um, rtol=6e-3)
    # range of 400 normal numbers, 5.94 deviations: Tippett's table (1925) has 5.4 for 200, 6.5 for
    # 1000, from memory
    assert 5.7 < found.Rz.mean() / (2 * um) < 6.2


def test_profile_parameters_against_another_library():
    # `surfalize`, on a line that was filtered before; its Ra is about the line's own mean
    used = roughness_profile(**LINE)
    theirs, found = Profile(used / um, STEP / um), profile_parameters(**LINE)
    assert_allclose([found.Rz, found.Rt], [theirs.Rz() * um, theirs.Rt() * um], rtol=1e-9)
    assert_allclose(found.Ra, theirs.Ra() * um, rtol=1e-4)
    few = profile_parameters(**LINE, sections=2)
    assert_allclose(few.Rz, Profile(used[:800] / um, 2).Rz(n_sections=2) * um, rtol=1e-9)
    assert few.sections == 2


def test_profile_parameters_stay_in_order():
    found = profile_parameters(np.stack([RANDOM, sine(CUT_OFF / 3)]), STEP, CUT_OFF)
    assert (found.Ra < found.Rz).all() and (found.Rz <= found.Rt).all()
    twice = profile_parameters(2 * RANDOM + 5 * um, STEP, CUT_OFF)
    assert_allclose([twice.Ra, twice.Rz], [2 * found.Ra[0], 2 * found.Rz[0]], rtol=1e-9)
    with_pit = RANDOM.copy()
    with_pit[1200] -= 200 * um  # one pit: a fifth of it in Rz, all of it in Rt, hardly in Ra
    pit = profile_parameters(with_pit, STEP, CUT_OFF)
    deeper = pit.Rt - found.Rt[0]
    assert 190 * um < deeper < 200 * um
    assert_allclose(pit.Rz - found.Rz[0], deeper / 5, rtol=0.01)
    assert pit.Ra - found.Ra[0] < 0.002 * deeper


@given(per_cut_off=st.floats(10, 60), sections=st.integers(1, 5))
def test_profile_parameters_take_the_shortest_line_that_is_long_enough(per_cut_off, sections):
    # a cut-off is hardly ever a whole number of points: the last section must not run short
    spacing = CUT_OFF / per_cut_off
    per_cut_off = CUT_OFF / spacing
    points = int(np.ceil((sections + 1) * per_cut_off - 0.49))
    spike = np.zeros(points + 1)
    start, length = int(per_cut_off / 2), round(sections * per_cut_off)
    spike[start + length - 1] = 10 * um  # the last point of the last section
    found = profile_parameters(spike[:points], spacing, CUT_OFF, sections)
    assert found.Rt > 7 * um
    beyond = profile_parameters(np.roll(spike, 1), spacing, CUT_OFF, sections)
    assert beyond.Rt < 7 * um


def test_profile_parameters_refuse():
    refuses_a_line(profile_parameters, LINE)
    with pytest.raises(Refusal, match=r"at least 4\.8 mm long, got 4 mm: ask for fewer sections"):
        profile_parameters(RANDOM[:2000], STEP, CUT_OFF)
    assert profile_parameters(RANDOM[:2000], STEP, CUT_OFF, sections=4).sections == 4
    for bad in (0, 6, 2.5, "five", None, [1, 2]):
        with pytest.raises(Refusal, match="sections must be "):
            profile_parameters(**LINE, sections=bad)


# --- stylus_line ---
ROWS, COLUMNS, PIXEL = 300, 420, 2 * um


def waves(down, right):
    """Return a surface that repeats after the map's edges, at places in pixels."""
    first = np.sin(2 * np.pi * (3 * down / ROWS + 2 * right / COLUMNS))
    return um * (first + np.cos(2 * np.pi * (down / ROWS - 5 * right / COLUMNS)))


def rough_map(size=512, across=8, seed=5):
    """Return an isotropic random surface whose hills are so many pixels wide."""
    away = np.hypot(*np.meshgrid(np.fft.fftfreq(size), np.fft.fftfreq(size)))
    noise = np.random.default_rng(seed).normal(size=(size, size))
    return np.fft.ifft2(np.fft.fft2(noise) * np.exp(-((away * across * 2) ** 2))).real


MAP = waves(*np.mgrid[:ROWS, :COLUMNS])
TRAVERSE = {"heights": MAP, "pixel": PIXEL, "length": 4.8 * mm}


def test_stylus_line_meets_the_surface_of_the_formula():
    # the surface's own formula, at places along a slope of the golden section, from its definition
    found = stylus_line(**TRAVERSE, lines=3)
    along = np.arange(3 * 2400)
    slope = np.arctan(2 / (1 + np.sqrt(5)))
    exact = waves(along * np.sin(slope), along * np.cos(slope)).reshape(3, 2400)
    assert found.heights.shape == (3, 2400) and found.spacing == PIXEL
    assert_allclose(found.heights, exact, atol=2e-3 * um)  # straight between pixels: (k dx)² / 8


def test_stylus_line_meets_no_seam():
    # 3 x 2400 pixels cross a map of 420 fourteen times; on a random map a seam is a jump
    surface = rough_map() * um
    steps = np.abs(np.diff(stylus_line(surface, PIXEL, 14.4 * mm).heights[0]))
    inside = max(np.abs(np.diff(surface, axis=axis)).max() for axis in (0, 1))
    assert steps.max() <= 1.5 * inside
    tilted = surface + np.linspace(0, 10 * um, 512)  # this one does have a seam
    assert np.abs(np.diff(stylus_line(tilted, PIXEL, 14.4 * mm).heights[0])).max() > 5 * um


def test_stylus_line_never_runs_the_same_way_twice():
    # the golden slope: 14 crossings stand at least a map's height over sqrt(5) x 15 apart
    straight = np.broadcast_to(np.arange(512.0)[:, None], (512, 512)) * um
    line = stylus_line(straight, PIXEL, 19.2 * mm).heights[0] / um
    crossings = line[np.arange(0, 14) * 602 + 0]  # 512 / cos(slope) points from edge to edge
    assert np.diff(np.sort(crossings)).min() > 512 / (np.sqrt(5) * 15) * 0.9


def test_stylus_line_sees_the_roughness_of_the_map():
    # theory of signals: a wave of the map meets the line as its share along the line, and passes
    # by the standard's formula; normal heights have Ra sqrt(2 / pi) of their deviation
    surface = rough_map()
    surface *= um / surface.std()
    line = stylus_line(surface, PIXEL, 4.8 * mm, lines=30)
    Ra = profile_parameters(line.heights, line.spacing, CUT_OFF).Ra.mean()
    slope = np.arctan(2 / (1 + np.sqrt(5)))
    down, right = np.meshgrid(*[np.fft.fftfreq(512, PIXEL)] * 2, indexing="ij")
    met = down * np.sin(slope) + right * np.cos(slope)
    kept = 1 - np.exp(-np.log(2) * (CUT_OFF * met) ** 2)
    power = np.abs(np.fft.fft2(surface) / surface.size) ** 2
    assert_allclose(Ra, np.sqrt(2 / np.pi * (power * kept**2).sum()), rtol=0.02)
    # stated: a cut-off of a hundred hill widths takes 5 %, 10 at most, off the map's Sa
    assert 0.9 < Ra / np.abs(surface).mean() < 1


def test_stylus_line_is_as_long_as_asked():
    assert stylus_line(MAP, 3 * um, 1 * mm).heights.shape == (1, 334)
    assert profile_parameters(stylus_line(**TRAVERSE).heights, PIXEL, CUT_OFF).Ra.shape == (1,)


def test_stylus_line_refuses():
    for name in TRAVERSE:
        for bad in NOT_NUMBERS:
            with pytest.raises(Refusal, match=f"^{name} must be "):
                stylus_line(**TRAVERSE | {name: bad})
    with pytest.raises(Refusal, match="heights must be one map"):
        stylus_line(np.zeros((2, 3, 3)), PIXEL, mm)
    with pytest.raises(Refusal, match="lines must be one whole number"):
        stylus_line(**TRAVERSE, lines=1.5)
    with pytest.raises(Refusal, match="fewer lines or a shorter length"):
        stylus_line(MAP, 0.1 * um, 800 * mm)
