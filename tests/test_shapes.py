"""Shapes, faces, and how much of the electrode's end is engaged."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import IntegrationWarning, quad

from edmkit import (
    Ball,
    Feature,
    Flat,
    Rectangle,
    Refusal,
    RegularPolygon,
    Roller,
    Round,
    Tube,
)

HEXAGON = RegularPolygon(6, 4.06)
SHAPES = [Round(3.0), Tube(3.0, 1.0), Rectangle(6.0, 4.0, 0.5), HEXAGON]
CURVED = [
    Round(3.0).into(Ball(12.0), 1.5),
    Tube(3.0, 1.0).into(Ball(12.0), 1.5),
    Round(4.0).into(Roller(16.0), 2.0),
    Tube(4.0, 1.2).into(Roller(16.0), 2.0),
    Round(4.6).into(Roller(5.0), 2.4),  # nearly as wide as the roller
    Tube(4.6, 4.0).into(Ball(5.0), 2.4),
]
BAD_NUMBERS = st.one_of(
    st.sampled_from(
        [math.nan, math.inf, -math.inf, "3.05", "3,05", "", None, True, 1j, [3.0, 4.0]]
    ),
    st.floats(max_value=-1e-9),
    st.floats(min_value=1e6),
)


# --- Outside values ---


@pytest.mark.parametrize(
    "feature, depth_from_crown, area",
    [  # worked values: a closed form against 2-D numeric integration, agreeing to 2e-5
        (Round(3.0).into(Ball(12.0), 1.5), 0.10, 3.7385),
        (Tube(3.0, 1.0).into(Ball(12.0), 1.5), 0.10, 2.9531),
        (Round(4.0).into(Roller(16.0), 2.0), 0.10, 9.3724),
        (Rectangle(6.0, 4.0, 0.5).into(Flat(), 2.0), 0.10, 23.785),
    ],
)
def test_worked_areas(feature, depth_from_crown, area):
    depth = depth_from_crown - feature.first_contact_mm()
    assert_allclose(feature.engaged_area_mm2(depth), area, atol=6e-5 if area < 10 else 6e-4)


@pytest.mark.parametrize(
    "feature, volume",
    [  # worked values: a closed form against 2-D numeric integration, agreeing to 3e-7
        (Round(3.0).into(Ball(12.0), 1.5), 9.9331),
        (Round(4.0).into(Roller(16.0), 2.0), 24.341),
    ],
)
def test_worked_volumes(feature, volume):
    assert_allclose(feature.removed_volume_mm3(feature.depth_mm), volume, rtol=2e-5)


def test_tube_touches_a_ball_first_at_its_bore():
    # worked value: bore radius 0.5 on radius 6, and 6 - sqrt(36 - 0.25) on a pocket calculator
    assert_allclose(Tube(3.0, 1.0).into(Ball(12.0), 1.5).first_contact_mm(), 0.02087, atol=5e-6)
    assert Tube(3.0, 1.0).into(Roller(12.0), 1.5).first_contact_mm() == 0
    assert Round(3.0).into(Ball(12.0), 1.5).first_contact_mm() == 0
    assert HEXAGON.into(Flat(), 4.0).first_contact_mm() == 0


def test_whole_end_of_the_domed_roller_hole_is_engaged_at_its_sag():
    # 8 - sqrt(64 - 4), hand sum; the worked table's 'V, t 2.00' uses the same 0.254
    assert_allclose(Round(4.0).into(Roller(16.0), 2.0).full_engagement_mm(), 0.2540, atol=5e-5)
    ball = Tube(3.0, 1.0).into(Ball(12.0), 1.5)  # 6 - sqrt(36 - 2.25) = 0.19053, less 0.02087
    assert_allclose(ball.full_engagement_mm(), 0.16966, atol=1e-5)
    assert HEXAGON.into(Flat(), 4.0).full_engagement_mm() == 0


def test_depth_at_which_a_ball_bears_one_ampere():
    # exercise 9: 1 A at 0.2 A/mm² needs 5 mm², on a ball of 12 mm at 0.1341 mm
    assert_allclose(Round(3.05).into(Ball(12.0), 5.0).engaged_area_mm2(0.1341), 5.0, rtol=5e-4)


def test_hexagon_socket():
    # exercise 17: area 14.275, across corners 4.688; a side is half the corners' circle
    assert_allclose(HEXAGON.area_mm2, 14.275, atol=5e-4)
    assert_allclose(HEXAGON.perimeter_mm, 6 * 4.688 / 2, atol=2e-3)
    assert_allclose(HEXAGON.into(Flat(), 4.0).removed_volume_mm3(4.0), 57.1, atol=0.05)


def test_end_loss_of_a_round_electrode():
    # exercise 7: electrode 4.0 in a hole 4.1 x 8 at 12 % wear loses 1.0086 mm
    hole, electrode = Round(4.1).into(Flat(), 8.0), Round(4.0)
    lost = 0.12 * hole.removed_volume_mm3(8.0) / hole.engaged_area_mm2(8.0, section=electrode)
    assert_allclose(lost, 1.0086, atol=5e-5)


def test_two_crossing_cylinders_and_the_half_ball():
    # Archimedes: two equal cylinders crossing share 16 r³/3, a ball holds 4 pi r³/3; halves here
    assert_allclose(Round(5.0).into(Roller(5.0), 2.5).removed_volume_mm3(2.5), 8 / 3 * 2.5**3)
    assert_allclose(Round(5.0).into(Ball(5.0), 2.5).removed_volume_mm3(2.5), 2 / 3 * np.pi * 2.5**3)


def test_shrunk_square_and_hexagon():
    # exercise 5: square 8.00, rough 0.06 + 0.024 + 0.012 per side, finish 0.03
    square = Rectangle(8.0, 8.0)
    assert_allclose(square.shrunk(0.06 + 0.024 + 0.012).a, 7.808)
    assert_allclose(square.shrunk(0.03).b, 7.940)
    # hex socket scenario: across flats 4.06 - 2 (0.0386 + 0.0207 + 0.0103) = 3.921
    assert_allclose(HEXAGON.shrunk(0.0386 + 0.0207 + 0.0103).across_flats, 3.921, atol=5e-4)


def test_sections_by_hand():
    ring = Tube(3.0, 1.0)
    assert_allclose([ring.area_mm2, ring.perimeter_mm], [2 * math.pi, 4 * math.pi])
    slot = Rectangle(10.0, 2.0, 1.0)  # 8 x 2 with two half rounds
    assert_allclose([slot.area_mm2, slot.perimeter_mm], [16 + math.pi, 16 + 2 * math.pi])
    square = RegularPolygon(4, 2.0)
    assert_allclose([square.area_mm2, square.perimeter_mm], [4, 8])
    widths = [shape.smallest_width_mm for shape in [Round(3.0), ring, slot, square, HEXAGON]]
    assert widths == [3.0, 1.0, 2.0, 2.0, 4.06]


# --- Against a numeric integration that knows nothing of the formulas ---


def midpoints(half_width, steps):
    """Centres of a square grid's cells, and the area of one."""
    x = (np.arange(steps) + 0.5) * (2 * half_width / steps) - half_width
    return x, (2 * half_width / steps) ** 2


def sag_by_pythagoras(face, x, y):
    """Sag below the crown; a roller's axis lies along x."""
    if isinstance(face, Flat):
        return 0 * (x + y)
    radius = face.diameter / 2
    from_axis = x**2 + y**2 if isinstance(face, Ball) else 0 * x + y**2
    return radius - np.sqrt(np.maximum(radius**2 - from_axis, 0))


def inside(shape, x, y):
    """Whether points lie in the ring."""
    distance = np.hypot(x, y)
    return (distance <= shape.d / 2) & (distance >= shape.bore / 2)


@pytest.mark.parametrize("feature", CURVED)
@pytest.mark.parametrize("share", [0.1, 0.6, 1.0, 2.0])
def test_area_and_volume_against_two_dimensional_integration(feature, share):
    x, cell = midpoints(feature.shape.d / 2, 1500)
    x, y = x[:, None], x[None, :]
    metal = inside(feature.shape, x, y)
    sag = sag_by_pythagoras(feature.face, x, y)
    depth = share * feature.full_engagement_mm()
    below = np.maximum(depth + sag[metal].min() - sag[metal], 0)
    assert_allclose(feature.engaged_area_mm2(depth), cell * np.sum(below > 0), rtol=2e-3)
    assert_allclose(feature.removed_volume_mm3(depth), cell * np.sum(below), rtol=2e-3)


@pytest.mark.parametrize("feature", CURVED)
@pytest.mark.parametrize("share", [0.02, 0.3, 1.0])
def test_rim_against_counted_crossings(feature, share):
    """Cauchy and Crofton: an edge's length is pi/2 times its mean crossings x line spacing."""
    along, _ = midpoints(feature.shape.d * 0.51, 1000)
    across, _ = midpoints(feature.shape.d * 0.51, 400)
    spacing = across[1] - across[0]
    depth = share * feature.full_engagement_mm() + feature.first_contact_mm() + 1e-9
    turns = (np.arange(18) + 0.5) * np.pi / 18
    crossings = 0
    for turn in turns:
        x = along[:, None] * np.cos(turn) - across * np.sin(turn)
        y = along[:, None] * np.sin(turn) + across * np.cos(turn)
        patch = inside(feature.shape, x, y) & (sag_by_pythagoras(feature.face, x, y) <= depth)
        crossings += np.count_nonzero(patch[1:] != patch[:-1])
    length = np.pi / 2 * spacing * crossings / len(turns)
    rim = feature.engaged_rim_mm(depth - feature.first_contact_mm())
    assert_allclose(rim, length, rtol=0.01)


@pytest.mark.parametrize("across, roller", [(4.0, 16.0), (0.3, 50.0), (15.99, 16.0), (16.0, 16.0)])
def test_roller_volume_against_adaptive_integration(across, roller):
    a, radius = across / 2, roller / 2
    feature = Round(across).into(Roller(roller), 0.01)

    def slice_(y, depth):
        return 4 * (math.sqrt(radius**2 - y**2) - radius + depth) * math.sqrt(a**2 - y**2)

    for share in (0.3, 0.9, 0.999, 1.0):
        depth = share * feature.full_engagement_mm()
        half_width = min(math.sqrt(depth * (2 * radius - depth)), a)
        with warnings.catch_warnings():  # the integrator doubts its last digits
            warnings.simplefilter("ignore", IntegrationWarning)
            exact, _ = quad(slice_, 0, half_width, args=(depth,), epsabs=0, epsrel=1e-12)
        assert_allclose(feature.removed_volume_mm3(depth), exact, rtol=1e-8)


# --- Properties ---


@pytest.mark.parametrize("feature", CURVED + [shape.into(Flat(), 2.0) for shape in SHAPES])
def test_volume_grows_by_the_engaged_area(feature):
    depth = np.array([0.003, 0.02, 0.11, 0.9])
    step = 1e-4
    upper, lower = (
        feature.removed_volume_mm3(depth + step),
        feature.removed_volume_mm3(depth - step),
    )
    assert_allclose((upper - lower) / (2 * step), feature.engaged_area_mm2(depth), rtol=2e-3)


@pytest.mark.parametrize("feature", CURVED)
def test_area_only_grows_and_ends_at_the_whole_section(feature):
    depth = np.linspace(0, 2 * feature.full_engagement_mm(), 201)
    area = feature.engaged_area_mm2(depth)
    assert area[0] == 0 and np.all(np.diff(area) >= -1e-12)
    assert_allclose(area[101:], feature.shape.area_mm2, rtol=1e-12)
    assert np.all(area[:95] < feature.shape.area_mm2)
    assert_allclose(feature.engaged_rim_mm(depth[101:]), feature.shape.perimeter_mm, rtol=1e-7)


@pytest.mark.parametrize("face", [Ball, Roller])
@pytest.mark.parametrize("shape", [Round(3.0), Tube(3.0, 1.0)])
def test_very_large_face_is_flat(face, shape):
    curved, flat = shape.into(face(1e5), 5.0), shape.into(Flat(), 5.0)
    assert_allclose(curved.removed_volume_mm3(4.0), flat.removed_volume_mm3(4.0), rtol=1e-5)
    assert curved.full_engagement_mm() < 3e-5


@pytest.mark.parametrize("face", [Flat(), Ball(12.0), Roller(12.0)])
def test_tube_without_a_bore_is_solid(face):
    solid = Round(3.0).into(face, 1.5)
    depth = np.array([0.01, 0.1, 1.0])
    for bore, rtol in [(0.0, 1e-14), (1e-3, 1e-2)]:
        tube = Tube(3.0, bore).into(face, 1.5)
        for name in ("engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"):
            assert_allclose(getattr(tube, name)(depth), getattr(solid, name)(depth), rtol=rtol)


def test_polygon_with_many_sides_is_round():
    polygon, circle = RegularPolygon(100, 4.0), Round(4.0)
    assert_allclose(polygon.area_mm2, circle.area_mm2, rtol=4e-4)
    assert_allclose(polygon.perimeter_mm, circle.perimeter_mm, rtol=4e-4)
    assert polygon.area_mm2 > circle.area_mm2  # it lies around the circle


@pytest.mark.parametrize("face", [Ball(12.0), Roller(12.0)])
def test_near_touch_all_digits_are_kept(face):
    # near touch: a ball 2 pi R t, a roller chord x 2 sqrt(2 R t); next term below 1e-8 of it
    feature, depth = Round(3.0).into(face, 1.5), 1e-9
    ball, roller = 2 * math.pi * 6 * depth, 3.0 * 2 * math.sqrt(2 * 6 * depth)
    near = ball if isinstance(face, Ball) else roller
    assert_allclose(feature.engaged_area_mm2(depth), near, rtol=1e-8)
    power = 1 if isinstance(face, Ball) else 1 / 2  # the area's integral over depth
    assert_allclose(feature.removed_volume_mm3(depth), near * depth / (power + 1), rtol=1e-8)
    tube = Tube(3.0, 1.0).into(Ball(12.0), 1.5)
    steep = 2 * math.pi * math.sqrt(36 - 0.25) * depth
    assert_allclose(tube.engaged_area_mm2(depth), steep, rtol=1e-8)


@pytest.mark.parametrize("shape", SHAPES)
def test_shrinking_takes_the_edge_times_the_allowance(shape):
    # Steiner: the area lost is the outer edge times a thin allowance
    edge = math.pi * shape.d if isinstance(shape, Round) else shape.perimeter_mm
    lost = shape.area_mm2 - shape.shrunk(1e-6).area_mm2
    assert_allclose(lost / 1e-6, edge, rtol=1e-4)


def test_shrinking_keeps_what_must_stay():
    assert Tube(3.0, 1.0).shrunk(0.05) == Tube(2.9, 1.0)
    assert Rectangle(6.0, 4.0, 0.03).shrunk(0.05).corner_radius == 0
    slot = Rectangle(10.0, 0.7, 0.35).shrunk(0.1)
    assert_allclose([slot.a, slot.b, slot.corner_radius], [9.8, 0.5, 0.25])
    assert Round(3).shrunk(0) == Round(3.0)


@given(width=st.floats(0.2, 30.0), per_side=st.floats(0.0, 0.07))
def test_a_slot_stays_a_slot_whatever_its_width(width, per_side):
    slot = Rectangle(40.0, width, width / 2).shrunk(per_side)
    assert_allclose(slot.corner_radius, slot.b / 2, rtol=1e-12)


def test_flat_face_does_not_care_where_or_how_turned():
    plain, moved = HEXAGON.into(Flat(), 4.0), HEXAGON.into(Flat(), 4.0, 2.5, 30.0)
    assert plain.removed_volume_mm3(3.0) == moved.removed_volume_mm3(3.0)


def test_electrode_section_is_used_when_given():
    hole = Round(3.05).into(Ball(12.0), 5.0)
    tube = Tube(3.0, 1.0)
    same = tube.into(Ball(12.0), 5.0)
    assert hole.engaged_area_mm2(0.08, section=tube) == same.engaged_area_mm2(0.08)
    assert hole.engaged_rim_mm(0.08, section=tube) == same.engaged_rim_mm(0.08)
    assert hole.removed_volume_mm3(0.08, section=tube) == same.removed_volume_mm3(0.08)
    assert hole.first_contact_mm(section=tube) == same.first_contact_mm() > 0
    assert hole.full_engagement_mm(section=tube) == same.full_engagement_mm()


def test_shapes_are_plain_values():
    assert Round(3) == Round(3.0) and isinstance(Round(3).d, float)
    assert Round(3.05).into(Ball(12), 5.0) == Feature(Round(3.05), Ball(12.0), 5.0)
    assert Ball(12.0) != Roller(12.0)
    with pytest.raises(AttributeError):
        Round(3.0).d = 4.0
    with pytest.raises(TypeError):
        Tube(3.0)  # a tube's bore is never guessed


# --- Shapes of arrays ---


@pytest.mark.parametrize("face", [Flat(), Ball(12.0), Roller(12.0)])
@pytest.mark.parametrize("name", ["engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"])
def test_array_in_array_out(face, name):
    method = getattr(Tube(3.0, 1.0).into(face, 5.0), name)
    assert np.ndim(method(0.1)) == 0 and isinstance(method(0.1), float)
    grid = method([[0.0, 0.1, 0.2], [0.3, 1.0, 3.0]])
    assert grid.shape == (2, 3) and grid[0, 1] == method(0.1) and grid[1, 2] == method(3.0)
    assert method([]).shape == (0,)


# --- Refusals ---


@given(bad=BAD_NUMBERS)
def test_bad_sizes_are_refused(bad):
    for make, name in [
        (lambda: Round(bad), "d"),
        (lambda: Tube(bad, 1.0), "d"),
        (lambda: Tube(3.0, bad), "bore"),
        (lambda: Rectangle(bad, 2.0), "a"),
        (lambda: Rectangle(2.0, bad), "b"),
        (lambda: Rectangle(2.0, 2.0, bad), "corner_radius"),
        (lambda: RegularPolygon(bad, 2.0), "sides"),
        (lambda: RegularPolygon(6, bad), "across_flats"),
        (lambda: Ball(bad), "diameter"),
        (lambda: Roller(bad), "diameter"),
        (lambda: Round(3.0).into(Flat(), bad), "depth_mm"),
        (lambda: Round(3.0).into(Flat(), 2.0, offset_mm=bad), "offset_mm"),
        (lambda: Round(3.0).into(Ball(12.0), 2.0, offset_mm=bad), "offset_mm"),
        (lambda: Round(3.0).into(Roller(12.0), 2.0, turn_deg=bad), "turn_deg"),
        (lambda: Round(3.0).shrunk(bad), "per_side_mm"),
    ]:
        if name in ("offset_mm", "turn_deg") and isinstance(bad, float) and -1000 <= bad < 0:
            continue  # to the other side is a place like any other
        with pytest.raises(Refusal, match=rf"^{name} must be "):
            make()


@given(bad=BAD_NUMBERS.filter(lambda bad: not isinstance(bad, list)))  # a list is fine here
@pytest.mark.parametrize("face", [Flat(), Ball(12.0), Roller(12.0)])
def test_bad_depths_are_refused_in_arrays_too(face, bad):
    hole = Round(3.0).into(face, 2.0)
    for name in ("engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"):
        with pytest.raises(Refusal, match=r"^depth_mm must be 0 to"):
            getattr(hole, name)(bad)
        if isinstance(bad, float):
            with pytest.raises(Refusal, match=r"^depth_mm must be 0 to"):
                getattr(hole, name)([0.1, bad])


@pytest.mark.parametrize(
    "make, text",
    [
        (lambda: Round("3,05"), r"d must be 0.05 to 1000 mm, got '3,05': write 3.05, with a point"),
        (lambda: Round(0.0), "d must be 0.05 to 1000 mm, got 0 mm"),
        (lambda: Tube(3.0, 3.0), "bore must be 0 to 2.95 mm, got 3 mm: the bore must leave a wall"),
        (lambda: Rectangle(6.0, 4.0, 2.1), "corner_radius must be 0 to 2 mm, got 2.1 mm: at most"),
        (lambda: RegularPolygon(6.5, 4.0), "sides must be a whole number, got 6.5"),
        (lambda: RegularPolygon(2, 4.0), "sides must be 3 to 100, got 2"),
        (lambda: Round([3.0, 4.0]), "d must be one number, got 2 of them"),
        (
            lambda: Round(3.0).shrunk(1.5),
            "per_side_mm must be 0 to 1.475 mm, got 1.5 mm: .*smaller",
        ),
        (lambda: Tube(3.0, 1.0).shrunk(1.0), "per_side_mm must be 0 to 0.975 mm"),
        (
            lambda: Rectangle(6.0, 4.0).shrunk(-0.1),
            "per_side_mm must be 0 to 1.975 mm, got -0.1 mm",
        ),
        (
            lambda: Round(13.0).into(Ball(12.0), 2.0),
            "diameter must be 13 to 100000 mm, got 12 mm: choose a smaller Round or a larger Ball",
        ),
        (
            lambda: Rectangle(2, 10).into(Roller(9), 2.0),
            "diameter must be 10 to 100000 mm, got 9 mm: choose a smaller Rectangle",
        ),
        (
            lambda: Round(3.0).into(Ball(12.0), 5.0, 4.6),
            "offset_mm must be -4.5 to 4.5 mm, got 4.6 mm: further out the Round lies beside",
        ),
        (
            lambda: Round(3.0).into(Roller(12.0), 5.0, 0, 361),
            "turn_deg must be -360 to 360 degrees, got 361",
        ),
        (lambda: Round(3.0).into(Flat(), 0.0), "depth_mm must be 0.001 to 1000 mm, got 0 mm"),
        # 12 - (6 - sqrt(36 - 2.25)) = 11.8095: there the end comes out below the ball
        (
            lambda: Round(3.0).into(Ball(12.0), 11.9),
            r"depth_mm must be 0.001 to 11.8095 mm.*far side",
        ),
        (
            lambda: Tube(3.0, 1.0).into(Ball(12.0), 0.01),
            "depth_mm must be 0.0218.* must touch metal",
        ),
        (lambda: Feature(3.0, Flat(), 2.0), r"shape must be Round\(3.05\).* got 3.0"),
        (lambda: Feature(Flat(), Round(3.0), 2.0), "shape must be "),
        (lambda: Round(3.0).into("flat", 2.0), r"face must be Flat\(\).* got 'flat'"),
        (lambda: Tube(3.0, 1.0).into(Roller(12.0), 11.9), "depth_mm must be 0.001 to 11.8095 mm"),
    ],
)
def test_refusals_name_the_number_and_the_knob(make, text):
    with pytest.raises(Refusal, match=text):
        make()


@pytest.mark.parametrize("name", ["engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"])
def test_electrodes_that_cannot_be_are_refused(name):
    method = getattr(Round(3.05).into(Ball(12.0), 5.0), name)
    with pytest.raises(Refusal, match=r"but 0.242 mm² .* must not be larger than the hole"):
        method(0.1, section=Round(3.1))  # pi/4 (3.1² - 3.05²) = 0.2415
    with pytest.raises(Refusal, match="must fit inside the hole"):
        method(0.1, section=Rectangle(4.0, 1.0))  # less area than the hole, but longer
    with pytest.raises(Refusal, match=r"section must be "):
        method(0.1, section=3.0)
    with pytest.raises(Refusal, match=r"depth_mm must be 0 to .* far side"):
        method(11.9)
