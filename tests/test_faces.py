"""Any section in any face, on the crown or off it: area, rim and volume against depth."""

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import shapely.affinity
from numpy.testing import assert_allclose
from scipy.integrate import quad

from edmkit import (
    Ball,
    Bore,
    Feature,
    Flat,
    InsertTube,
    Keyway,
    Rectangle,
    Refusal,
    RegularPolygon,
    Roller,
    Round,
    Tube,
)

TWO_FLATS = InsertTube(d=4.0, bore=3.0, insert=3.0, flats=2, flat_depth=0.4, length=20.0)
SECTIONS = [
    Round(3.0),
    Tube(3.0, 1.2),
    Rectangle(6.0, 4.0, 0.5),
    Rectangle(2.0, 5.0),
    RegularPolygon(6, 2.5),
    RegularPolygon(5, 3.0),
    TWO_FLATS,
]
KEYWAY, SHAPED = Keyway(5.0, 2.35, 16.0, 0.08), Keyway(4.9, 2.3, 16.0, 0.5)


# --- Outside values ---
# Worked values: closed forms against a column-wise two-dimensional midpoint sum of 12 000 x 4 000
# strips that knows nothing of them, agreeing to 2e-5; depths there count from the crown.


@pytest.mark.parametrize(
    "feature, depth_from_crown, area",
    [
        (Round(3.05).into(Ball(60.0), 5.0, 4.0), 0.25, 2.9459),
        (RegularPolygon(6, 2.5).into(Ball(10.0), 1.2), 0.18, 5.2632),
        (RegularPolygon(6, 2.5).into(Roller(16.0), 1.2), 0.05, 4.2350),
        (Rectangle(6.0, 4.0, 0.5).into(Ball(30.0), 1.0), 0.20, 17.044),
        (Round(4.0).into(Roller(16.0), 2.0, 1.2), 0.25, 9.3381),
    ],
)
def test_worked_areas(feature, depth_from_crown, area):
    depth = depth_from_crown - feature.first_contact_mm()
    assert_allclose(feature.engaged_area_mm2(depth), area, rtol=2e-5)


@pytest.mark.parametrize(
    "feature, depth_from_crown, volume",
    [
        (Round(3.05).into(Ball(60.0), 5.0, 4.0), 5.0, 34.430),
        (RegularPolygon(6, 2.5).into(Ball(10.0), 1.2), 1.2, 6.0197),
        (Rectangle(2.0, 2.0).into(Ball(10.0), 1.2), 1.2, 4.5308),
        (RegularPolygon(4, 2.0).into(Ball(10.0), 1.2), 1.2, 4.5308),
        (Rectangle(8.0, 3.0).into(Roller(20.0), 1.0), 1.0, 23.097),
        (Rectangle(3.0, 8.0).into(Roller(20.0), 1.0), 1.0, 17.437),
        (Rectangle(8.0, 3.0).into(Roller(20.0), 1.0, turn_deg=90.0), 1.0, 17.437),
        (Rectangle(6.0, 4.0, 0.5).into(Ball(30.0), 1.0), 0.20, 1.8311),
    ],
)
def test_worked_volumes(feature, depth_from_crown, volume):
    depth = depth_from_crown - feature.first_contact_mm()
    assert_allclose(feature.removed_volume_mm3(depth), volume, rtol=2e-5)


def test_concave_wall_of_a_bore():
    # worked value: 6 x 5 radially into a bore of radius 8, 0.15 after first contact at its edges
    wall = Rectangle(6.0, 5.0).into(Bore(16.0), 1.0)
    assert_allclose(wall.engaged_area_mm2(0.15), 6.1574, rtol=2e-5)
    # pocket calculator: the edges stand 8 - sqrt(64 - 6.25) = 0.40066 above the bore line
    assert_allclose(wall.first_contact_mm(), -0.40066, atol=5e-6)
    assert_allclose(wall.full_engagement_mm(), 0.40066, atol=5e-6)
    assert_allclose(wall.reach_mm(), 1.40066, atol=5e-6)
    assert_allclose(wall.engaged_area_mm2(0.41), 30.0)


def test_volume_slope_of_an_offset_hole():
    # worked value: central difference of the volume of round 3, offset 1, ball 12, at 0.3
    hole = Round(3.0).into(Ball(12.0), 1.5, 1.0)
    step = 1e-4
    slope = (hole.removed_volume_mm3(0.3 + step) - hole.removed_volume_mm3(0.3 - step)) / (2 * step)
    assert_allclose([slope, hole.engaged_area_mm2(0.3)], 5.47615, atol=6e-6)


def test_domed_roller_hole_demo():
    # worked scenario: hole 3.05 x 5.00 at its centre, 4.00 off the crown of a dome of radius 30,
    # rod 3.00; sags by pocket calculator, 30 - sqrt(900 - x²) at 2.5, 4.0 and 5.5
    hole, rod = Round(3.05).into(Ball(60.0), 5.0, 4.0, depth_from="hole centre"), Round(3.0)
    assert_allclose(hole.sag_mm("first touch", rod), 0.1043, atol=6e-5)
    assert_allclose(hole.sag_mm("hole centre"), 0.2679, atol=5e-5)
    assert_allclose(hole.sag_mm("last touch", rod), 0.5085, atol=5e-5)
    assert hole.sag_mm("crown") == 0 and hole.first_contact_mm(rod) == hole.sag_mm(
        "first touch", rod
    )
    assert_allclose(hole.reach_mm(rod) - 5.0, 0.1635, atol=1e-4)  # the dial's 5.00 is too shallow
    assert_allclose(hole.floor_below_crown_mm, 5.2679, atol=5e-5)
    depths = np.array([0.15, 0.20, 0.30, 0.40, 0.51]) - hole.first_contact_mm(rod)
    share = hole.engaged_area_mm2(depths, rod) / rod.area_mm2
    assert_allclose(share, [0.09, 0.24, 0.56, 0.83, 1.0], atol=0.005)
    burned = Round(3.053).into(Ball(60.0), 5.0, 4.0, depth_from="hole centre")
    assert_allclose(burned.removed_volume_mm3(burned.reach_mm()), 36.46, atol=0.005)


def test_keyway_skim_demo():
    # worked scenario: 12.408 with corners 0.08, 11.784 as shaped; 20 mm through leaves 12.5 mm³
    assert_allclose([KEYWAY.area_mm2, SHAPED.area_mm2], [12.408, 11.784], atol=5e-4)
    skim = KEYWAY.into(Flat(), 20.0, through=True, cut_away=SHAPED)
    assert_allclose(skim.engaged_area_mm2([0.0, 3.0]), 0.624, atol=5e-4)
    assert_allclose(skim.removed_volume_mm3(20.0), 12.5, atol=0.03)
    assert skim.first_contact_mm() == skim.full_engagement_mm() == 0
    # a thin skim's edge: both shapes' own edges without the bore's arc, and what closes the ends
    both = KEYWAY.perimeter_mm + SHAPED.perimeter_mm
    arcs = 8 * 2 * (math.asin(2.5 / 8) + math.asin(2.45 / 8))
    ends = 8 * 2 * (math.asin(2.5 / 8) - math.asin(2.45 / 8))
    assert_allclose(skim.engaged_rim_mm(1.0), both - arcs + ends, rtol=1e-6)


# --- Against closed forms of textbook geometry, derived here ---


def lens(one, other, apart):
    """Area that two circles share."""
    if apart <= abs(one - other):
        return math.pi * min(one, other) ** 2
    if apart >= one + other:
        return 0.0
    at_one = math.acos((apart**2 + one**2 - other**2) / (2 * apart * one))
    at_other = math.acos((apart**2 + other**2 - one**2) / (2 * apart * other))
    kite = one * apart * math.sin(at_one)
    return one**2 * at_one + other**2 * at_other - kite


@pytest.mark.parametrize("offset", [0.01, 0.3, 1.0, 1.5, 3.9])
def test_round_off_the_crown_of_a_ball_against_the_lens(offset):
    hole, radius = Round(3.0).into(Ball(12.0), 2.0, offset), 6.0

    def area(depth):
        below = depth + hole.first_contact_mm()
        return lens(1.5, math.sqrt(below * (2 * radius - below)), offset)

    full = hole.full_engagement_mm()
    depths = full * np.array([0.001, 0.2, 0.5, 0.9, 1.0])
    assert_allclose(hole.engaged_area_mm2(depths), [area(t) for t in depths], rtol=1e-7)
    kink = radius - math.sqrt(radius**2 - (1.5 - offset) ** 2) - hole.first_contact_mm()
    for depth in depths:
        volume, _ = quad(area, 0, depth, points=[min(kink, depth)], epsabs=0, epsrel=1e-9)
        assert_allclose(hole.removed_volume_mm3(depth), volume, rtol=1e-6)


@pytest.mark.parametrize("offset", [0.0, 1.2, 2.0, 5.9])
def test_round_across_a_roller_against_the_strip(offset):
    hole = Round(4.0).into(Roller(16.0), 2.0, offset)

    def up_to(y):
        y = min(max(y - offset, -2.0), 2.0)
        return y * math.sqrt(4 - y * y) + 4 * math.asin(y / 2)

    for depth in hole.full_engagement_mm() * np.array([0.001, 0.3, 0.8, 1.0]):
        below = depth + hole.first_contact_mm()
        half = math.sqrt(below * (16 - below))
        assert_allclose(hole.engaged_area_mm2(depth), up_to(half) - up_to(-half), rtol=1e-7)


@pytest.mark.parametrize("sides", [3, 4, 6, 9])
def test_polygon_on_a_ball_against_the_circle_without_its_caps(sides):
    hole, radius, p = RegularPolygon(sides, 2.5).into(Ball(10.0), 1.2), 5.0, 1.25
    for depth in hole.full_engagement_mm() * np.array([0.01, 0.3, 0.7, 0.9, 0.999]):
        reach = math.sqrt(depth * (2 * radius - depth))
        cap = 0.0
        if reach > p:
            cap = reach**2 * math.acos(p / reach) - p * math.sqrt(reach**2 - p**2)
        area = math.pi * reach**2 - sides * cap
        assert_allclose(hole.engaged_area_mm2(depth), area, rtol=1e-7)

    def slice_(angle):  # the sag, integrated from the crown out to a flat
        r = p / math.cos(angle)
        return radius * r**2 / 2 + ((radius**2 - r**2) ** 1.5 - radius**3) / 3

    missing, _ = quad(slice_, -math.pi / sides, math.pi / sides, epsrel=1e-12)
    volume = hole.shape.area_mm2 * 1.2 - sides * missing
    assert_allclose(hole.removed_volume_mm3(1.2), volume, rtol=1e-9)


def test_rectangle_on_a_roller_in_closed_form():
    hole = Rectangle(8.0, 3.0).into(Roller(20.0), 1.0)
    for depth in (0.01, 0.05, 0.11):
        half = math.sqrt(depth * (20 - depth))
        circle = 100 * math.acos((10 - depth) / 10) - (10 - depth) * half
        assert_allclose(hole.engaged_area_mm2(depth), 8 * 2 * half, rtol=1e-9)
        assert_allclose(hole.removed_volume_mm3(depth), 8 * circle, rtol=1e-7)


# --- Against an integration that knows nothing of the formulas ---


def in_section(shape, x, y):
    """Whether points lie in a section about 0: plain definitions, written for this test."""
    if isinstance(shape, Tube):
        return (x**2 + y**2 <= shape.d**2 / 4) & (x**2 + y**2 >= shape.bore**2 / 4)
    if isinstance(shape, Round):
        return x**2 + y**2 <= shape.d**2 / 4
    if isinstance(shape, Rectangle):
        x, y, r = np.abs(x), np.abs(y), shape.corner_radius
        u, v = x - shape.a / 2 + r, y - shape.b / 2 + r
        corner = (u > 0) & (v > 0) & (u**2 + v**2 > r**2)
        return (x <= shape.a / 2) & (y <= shape.b / 2) & ~corner
    if isinstance(shape, RegularPolygon):
        looks = 2 * np.pi * np.arange(shape.sides) / shape.sides - np.pi / 2
        return np.all([x * np.cos(a) + y * np.sin(a) <= shape.across_flats / 2 for a in looks], 0)
    looks = 2 * np.pi * np.arange(shape.flats) / shape.flats
    to_flat = shape.insert / 2 - shape.flat_depth
    filed = np.all([x * np.cos(a) + y * np.sin(a) <= to_flat for a in looks], 0)
    away2 = x**2 + y**2
    ring = (away2 <= shape.d**2 / 4) & (away2 >= shape.bore**2 / 4)
    return ring | (filed & (away2 <= shape.insert**2 / 4))


def height_of_face(face, x, y):
    """Sag below the crown by Pythagoras; the axis lies along x."""
    if isinstance(face, Flat):
        return 0 * x
    across2 = x**2 + y**2 if isinstance(face, Ball) else y**2
    fall = face.diameter / 2 - np.sqrt(np.maximum(face.diameter**2 / 4 - across2, 0))
    return -fall if isinstance(face, Bore) else fall


def spread_points(count):
    """Points spread evenly over a square of side 2 about 0 (a two-dimensional lattice)."""
    steps = np.arange(1, count + 1)[:, None] * np.array([0.7548776662466927, 0.5698402909980532])
    return (2 * np.mod(steps + 0.5, 1) - 1).T


POINTS = spread_points(400_000)


def random_case(random):
    """A section, maybe with something cut away, somewhere on a face; a share of full contact."""
    shape = SECTIONS[random.integers(len(SECTIONS))]
    offset = float(random.choice([0.0, random.uniform(-3, 3)]))
    face = [Flat, Ball, Roller, Bore][random.integers(4)]
    radius = (shape.outer_radius_mm + abs(offset)) * random.uniform(1.01, 5)
    face = Flat() if face is Flat else face(float(2 * radius))
    cut = None
    if random.random() < 0.3:
        inside = shape.bore + 0.4 if isinstance(shape, Tube) else shape.smallest_width_mm
        cut = Round(float(random.uniform(0.5, 1.0) * inside))
    turn = float(random.uniform(0, 360))
    hole = Feature(shape, face, 0.5, offset, turn, "first touch", cut_away=cut)
    return hole, random.uniform(0.05, 1.5)


def test_two_hundred_random_cases_against_counted_points():
    random = np.random.default_rng(20)
    kinds, close_ones = set(), 0
    for case in range(200):
        hole, share = random_case(random)
        kinds.add((type(hole.shape), type(hole.face), hole.cut_away is None))
        half = hole.shape.outer_radius_mm
        x, y = half * POINTS
        metal = in_section(hole.shape, x, y)
        if hole.cut_away:
            metal &= ~in_section(hole.cut_away, x, y)
        turn = math.radians(hole.turn_deg)
        across = x * math.sin(turn) + y * math.cos(turn) + hole.offset_mm
        along = x * math.cos(turn) - y * math.sin(turn)
        sag = height_of_face(hole.face, along, across)[metal]
        depth = max(share * hole.full_engagement_mm(), 1e-3)
        below = np.maximum(depth + hole.first_contact_mm() - sag, 0)
        cell = (2 * half) ** 2 / POINTS.shape[1]
        name = f"case {case}: {hole}, depth {depth:g}"
        counted = np.count_nonzero(below)
        close = max(2e-3, 40 / counted)  # few points see little: then less is asked of them
        close_ones += close == 2e-3
        assert_allclose(hole.engaged_area_mm2(depth), cell * counted, rtol=close, err_msg=name)
        assert_allclose(
            hole.removed_volume_mm3(depth), cell * below.sum(), rtol=close, err_msg=name
        )
        assert abs(sag.min() - hole.first_contact_mm()) < 0.05 * half + 1e-9, name
    assert len(kinds) > 30 and close_ones > 180  # of 40 pairs; nearly all cases to 0.2 %


# --- Rim and outline against a geometry library (shapely) ---


def circle(radius):
    """A circle as a polygon of 6000 sides."""
    return shapely.Point(0, 0).buffer(radius, quad_segs=1500)


def library_shape(shape):
    """The section built from the library's own parts."""
    if isinstance(shape, Tube):
        return circle(shape.d / 2) - circle(shape.bore / 2)
    if isinstance(shape, Round):
        return circle(shape.d / 2)
    if isinstance(shape, Rectangle):
        x, y, r = shape.a / 2, shape.b / 2, shape.corner_radius
        box = shapely.box(r - x, r - y, x - r, y - r)
        return box.buffer(r, quad_segs=400) if r else box
    if isinstance(shape, RegularPolygon):
        turns = np.pi * (2 * np.arange(shape.sides) + 1) / shape.sides - np.pi / 2
        corner = shape.across_flats / 2 / math.cos(math.pi / shape.sides)
        return shapely.Polygon(np.column_stack([np.cos(turns), np.sin(turns)]) * corner)
    if isinstance(shape, Keyway):
        half, r, top = shape.width / 2, shape.corner_radius, shape.bore / 2 + shape.top
        slot = shapely.box(r - half, r - top, half - r, top - r)
        slot = slot.buffer(r, quad_segs=400) if r else slot
        return (slot - circle(shape.bore / 2)) & shapely.box(-half, 0, half, top)
    foot, reach, metal = shape.insert / 2 - shape.flat_depth, 2 * shape.d, circle(shape.d / 2)
    ways = [
        shapely.affinity.rotate(
            shapely.box(foot, -reach, reach, reach), 360 * k / shape.flats, (0, 0)
        )
        for k in range(shape.flats)
    ]
    play = circle(shape.bore / 2) - circle(shape.insert / 2)
    filed = circle(shape.bore / 2) & shapely.union_all(ways)
    return metal - filed - play if shape.insert < shape.bore else metal - filed


LOOSE = InsertTube(4.0, 3.0, 2.95, 3, 0.3, 20.0)


@pytest.mark.parametrize("shape", [*SECTIONS, KEYWAY, SHAPED, Keyway(3.0, 1.0, 10.0), LOOSE])
def test_outline_area_and_edge(shape):
    loops = shape.outline_mm(points=1600)
    for loop in loops:
        assert loop.shape[1] == 2 and np.all(loop[0] == loop[-1])
    outer, *inner = loops
    drawn = shapely.Polygon(outer)
    for loop in inner:  # a hole, or the insert that stands free inside one
        drawn = drawn.symmetric_difference(shapely.Polygon(loop))
    library = library_shape(shape)
    assert_allclose(drawn.area, shape.area_mm2, rtol=1e-5)
    assert_allclose(library.area, shape.area_mm2, rtol=1e-5)
    assert_allclose(library.length, shape.perimeter_mm, rtol=1e-5)
    assert drawn.symmetric_difference(library).area < 1e-5 * shape.area_mm2
    assert_allclose(np.hypot(*outer.T).max(), shape.outer_radius_mm, rtol=1e-6)
    assert len(shape.outline_mm(points=40)[0]) <= 60


@pytest.mark.parametrize("shape", [Round(3.0), Rectangle(6.0, 4.0, 0.5), RegularPolygon(6, 2.5),
                                   Tube(3.0, 1.2)])  # fmt: skip
def test_smallest_width_holds_a_circle(shape):
    found = shapely.maximum_inscribed_circle(library_shape(shape), tolerance=1e-4)
    assert_allclose(2 * found.length, shape.smallest_width_mm, rtol=1e-3)


@pytest.mark.parametrize("shape", [Round(3.0), Tube(3.0, 1.2), Tube(3.0, 0.08), KEYWAY,
                                   Rectangle(6.0, 4.0, 0.5), Rectangle(2.0, 5.0)])  # fmt: skip
def test_grown_is_all_that_lies_within_the_gap(shape):
    near = library_shape(shape).buffer(0.06, quad_segs=400)
    if isinstance(shape, Keyway):
        near = near & shapely.box(-9, 4, 9, 20)  # above the bore: inside it no metal is left
        near = near - circle(shape.bore / 2)
    grown = library_shape(shape.grown(0.06))
    assert near.symmetric_difference(grown).area < 1e-3  # a sharp foot of the keyway at the bore


def test_grown_and_shrunk_undo_each_other():
    for shape in [Round(3.0), Tube(3.0, 1.2), Rectangle(6.0, 4.0, 0.5), RegularPolygon(6, 2.5)]:
        back = shape.shrunk(0.05).grown(0.05)
        if not isinstance(shape, Tube):  # a tube's bore is bought, not made
            assert_allclose(back.area_mm2, shape.area_mm2, rtol=1e-12)
    assert Tube(3.0, 0.1).grown(0.06) == Round(3.12)
    back = KEYWAY.shrunk(0.03).grown(0.03)
    assert_allclose([back.width, back.top, back.corner_radius], [5.0, 2.35, 0.08])
    assert KEYWAY.shrunk(0.0265).width == pytest.approx(4.947)  # worked scenario
    assert 8 + KEYWAY.shrunk(0.0265).top == pytest.approx(10.324, abs=6e-4)
    assert TWO_FLATS.grown(0.05) == Round(4.1)


def touched(hole, depth):
    """The patch in contact, built from the library's own parts."""
    section = library_shape(hole.shape)
    if hole.cut_away:
        section = section - library_shape(hole.cut_away)
    section = shapely.affinity.rotate(section, hole.turn_deg, (0, 0))
    section = shapely.affinity.translate(section, 0, hole.offset_mm)
    below, radius = depth + hole.first_contact_mm(), hole.face.diameter / 2
    half = math.sqrt(radius**2 - (radius - abs(below)) ** 2)
    if isinstance(hole.face, Ball):
        return section & circle(half)
    strip = shapely.box(-100, -half, 100, half)
    return section - strip if isinstance(hole.face, Bore) else section & strip


@pytest.mark.parametrize("face", [Ball, Roller, Bore])
@pytest.mark.parametrize("shape", SECTIONS)
@pytest.mark.parametrize("cut_away", [None, Round(1.9), Rectangle(20.0, 0.7)])
def test_rim_against_the_library(face, shape, cut_away):
    random = np.random.default_rng(len(repr((face, shape, cut_away))))
    for offset, turn in [(0.0, 0.0), (random.uniform(0.1, 2), random.uniform(0, 360))]:
        hole = Feature(shape, face(14.0), 0.5, offset, turn, "first touch", cut_away=cut_away)
        for share in (0.05, 0.3, 0.8):
            depth = share * hole.full_engagement_mm()
            patch = touched(hole, depth)
            assert_allclose(hole.engaged_area_mm2(depth), patch.area, rtol=2e-4)
            assert_allclose(hole.engaged_rim_mm(depth), patch.length, rtol=2e-4)


# --- Properties ---


FACES = [Ball(14.0), Roller(14.0), Bore(14.0)]


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("shape", SECTIONS)
def test_volume_grows_by_the_engaged_area(face, shape):
    hole = shape.into(face, 1.5, 0.7, 20.0)
    depth = hole.full_engagement_mm() * np.array([0.02, 0.21, 0.63, 0.98, 1.3])
    step = 1e-5
    slope = hole.removed_volume_mm3(depth + step) - hole.removed_volume_mm3(depth - step)
    assert_allclose(slope / (2 * step), hole.engaged_area_mm2(depth), rtol=1e-4)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("shape", SECTIONS)
def test_area_only_grows_from_nothing_to_the_whole_section(face, shape):
    hole = shape.into(face, 1.5, -0.7, 20.0)
    depth = hole.full_engagement_mm() * np.linspace(0, 1.2, 61)
    area = hole.engaged_area_mm2(depth)
    assert area[0] == 0 and np.all(np.diff(area) >= -1e-12)
    assert_allclose(area[51:], shape.area_mm2, rtol=1e-9)
    assert np.all(area[1:49] < shape.area_mm2)
    assert_allclose(hole.engaged_rim_mm(depth[51:]), shape.perimeter_mm, rtol=1e-6)
    assert_allclose(hole.engaged_area_mm2(depth[::-1]), area[::-1], rtol=1e-12)


@pytest.mark.parametrize("face", [Ball, Roller, Bore])
@pytest.mark.parametrize("shape", SECTIONS)
def test_very_large_face_is_flat(face, shape):
    curved, flat = shape.into(face(1e5), 5.0, 1.0, 10.0), shape.into(Flat(), 5.0)
    assert_allclose(curved.removed_volume_mm3(4.0), flat.removed_volume_mm3(4.0), rtol=5e-5)
    assert curved.full_engagement_mm() < 3e-4


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("shape", SECTIONS)
@pytest.mark.parametrize("name", ["engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"])
def test_a_hair_off_the_crown_is_on_the_crown(face, shape, name):
    middle, beside = shape.into(face, 1.5), shape.into(face, 1.5, 1e-7)
    depth = middle.full_engagement_mm() * np.array([0.1, 0.5, 1.1])
    assert_allclose(
        getattr(beside, name)(depth), getattr(middle, name)(depth), rtol=2e-3, atol=1e-9
    )


@pytest.mark.parametrize("face", FACES)
def test_turning_by_the_shape_s_own_symmetry_changes_nothing(face):
    depth = np.array([0.05, 0.2, 0.9])
    for shape, turn in [(RegularPolygon(6, 2.5), 60.0), (RegularPolygon(5, 3.0), -72.0),
                        (Rectangle(6.0, 4.0, 0.5), 180.0), (Tube(3.0, 1.2), 37.0)]:  # fmt: skip
        plain, turned = shape.into(face, 1.5, 0.4, 10.0), shape.into(face, 1.5, 0.4, 10.0 + turn)
        assert_allclose(turned.removed_volume_mm3(depth), plain.removed_volume_mm3(depth))
        other = shape.into(face, 1.5, -0.4, 190.0)
        assert_allclose(other.removed_volume_mm3(depth), plain.removed_volume_mm3(depth))


@pytest.mark.parametrize("face", FACES)
def test_polygon_with_many_sides_is_round(face):
    polygon, circle_ = (shape.into(face, 1.5, 0.6) for shape in (RegularPolygon(60, 3.0),
                                                                 Round(3.0)))  # fmt: skip
    depth = np.array([0.3, 0.5, 1.0])  # a bore's wall meets the corners first
    assert_allclose(polygon.removed_volume_mm3(depth), circle_.removed_volume_mm3(depth), rtol=5e-3)


@pytest.mark.parametrize("shape", SECTIONS)
def test_bore_wall_holds_what_the_roller_lacks(shape):
    """Full prism down to T: the roller's sags and the bore's add up to the full engagement."""
    roller, bore = (shape.into(face, 1.5, 0.0, 15.0) for face in (Roller(14.0), Bore(14.0)))
    full, down = roller.full_engagement_mm(), 5.0
    if isinstance(shape, Tube):
        full = bore.full_engagement_mm()  # both reach from 0 to the outer edge
    both = roller.removed_volume_mm3(down) + bore.removed_volume_mm3(down)
    assert_allclose(both, shape.area_mm2 * (2 * down - full), rtol=1e-7)


@pytest.mark.parametrize("face", [Flat(), *FACES])
@pytest.mark.parametrize("shape", [Rectangle(6.0, 4.0, 0.5), RegularPolygon(6, 5.0)])
def test_cut_away_and_what_is_left_make_the_whole(face, shape):
    rough = Round(2.0)
    whole, inner = shape.into(face, 1.5, 0.5, 20.0), rough.into(face, 1.5, 0.5)
    left = shape.into(face, 1.5, 0.5, 20.0, cut_away=rough)
    low = np.array([0.02, 0.1, 0.3, 1.2]) + whole.first_contact_mm()  # below the crown
    for name in ("engaged_area_mm2", "removed_volume_mm3"):
        parts = 0.0
        for hole in (left, inner):
            depth = low - hole.first_contact_mm()
            parts = parts + np.where(depth > 0, getattr(hole, name)(np.maximum(depth, 0)), 0)
        assert_allclose(parts, getattr(whole, name)(low - whole.first_contact_mm()), rtol=1e-6)


def test_cut_away_moves_the_first_touch():
    # pocket calculator: 15 - sqrt(225 - 1) = 0.03337 at the edge of the round of 2
    hole = Round(3.0).into(Ball(30.0), 1.5, cut_away=Round(2.0))
    assert_allclose(hole.first_contact_mm(), 0.03337, atol=5e-6)
    assert_allclose(hole.engaged_area_mm2(1.0), math.pi * (9 - 4) / 4)
    tube = Tube(3.0, 2.0).into(Ball(30.0), 1.5)
    depth = np.array([0.01, 0.02, 0.03, 0.5])
    for name in ("engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"):
        assert_allclose(getattr(hole, name)(depth), getattr(tube, name)(depth), rtol=1e-7)


def test_an_edge_in_common_is_counted_once():
    # the keyway's foot lies on the bore that is cut away: nothing of it is missing
    skim = KEYWAY.into(Flat(), 20.0, cut_away=Round(16.0))
    assert_allclose(skim.engaged_area_mm2(1.0), KEYWAY.area_mm2, rtol=1e-9)
    assert_allclose(skim.engaged_rim_mm(1.0), KEYWAY.perimeter_mm, rtol=1e-9)


def test_at_first_touch_there_is_nothing_at_all():
    for turn in range(0, 360, 7):  # rounding leaves a trace at some, if it is let
        hole = Rectangle(2.0, 5.0).into(Bore(19.456), 0.5, 0.0, turn, cut_away=Round(1.435))
        assert hole.engaged_area_mm2(0.0) == hole.removed_volume_mm3(0.0) == 0


def test_depth_counts_from_where_the_drawing_says():
    crown, centre, first = (
        Round(3.05).into(Ball(60.0), 5.0, 4.0, depth_from=word)
        for word in ("crown", "hole centre", "first touch")
    )
    fall = centre.sag_mm("hole centre")
    assert crown.floor_below_crown_mm == 5.0
    assert_allclose(centre.reach_mm() - crown.reach_mm(), fall)
    assert_allclose(first.reach_mm(), 5.0)
    wall = Rectangle(6.0, 5.0).into(Bore(16.0), 1.0, 2.0, depth_from="hole centre")
    assert_allclose(wall.floor_below_crown_mm, 1.0 - (8 - math.sqrt(60)))  # the wall stands higher
    flat = [Round(3.0).into(Flat(), 2.0, 1.0, depth_from=word).reach_mm()
            for word in ("crown", "hole centre", "first touch")]  # fmt: skip
    assert flat == [2.0, 2.0, 2.0]


def test_electrode_in_a_hole_off_the_crown():
    hole = Rectangle(6.0, 4.0, 0.5).into(Ball(40.0), 3.0, 2.0, 30.0, cut_away=Round(2.0))
    rod = Rectangle(5.9, 3.9, 0.45)
    alone = rod.into(Ball(40.0), 3.0, 2.0, 30.0, cut_away=Round(2.0))
    depth = np.array([0.01, 0.2, 2.0])
    for name in ("engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"):
        assert np.all(getattr(hole, name)(depth, rod) == getattr(alone, name)(depth))
    assert hole.first_contact_mm(rod) == alone.first_contact_mm()
    assert hole.reach_mm(rod) == alone.reach_mm()


# --- Shapes of arrays ---


@pytest.mark.parametrize("face", [Flat(), *FACES])
@pytest.mark.parametrize("name", ["engaged_area_mm2", "engaged_rim_mm", "removed_volume_mm3"])
def test_array_in_array_out(face, name):
    hole = RegularPolygon(6, 2.5).into(face, 5.0, 0.3, 12.0, cut_away=Round(0.5))
    method = getattr(hole, name)
    assert np.ndim(method(0.1)) == 0 and isinstance(method(0.1), float)
    grid = method([[0.0, 0.1, 0.2], [3.0, 0.1, 0.3]])
    assert grid.shape == (2, 3) and grid[0, 1] == grid[1, 1]
    assert_allclose([grid[0, 1], grid[1, 0]], [method(0.1), method(3.0)], rtol=1e-9)
    assert method([]).shape == (0,)


# --- Refusals ---


@pytest.mark.parametrize(
    "make, text",
    [
        (lambda: Keyway(5.0, 2.35, 4.0), "width must be 0.05 to 4 mm, got 5 mm: .* than the bore"),
        (lambda: Keyway(5.0, 0.0, 16.0), "top must be 0.05 to"),
        (lambda: Keyway(5.0, 2.35, 16.0, 2.6), "corner_radius must be 0 to 2.5 mm, got 2.6"),
        (lambda: KEYWAY.shrunk(2.4), "per_side_mm must be 0 to 2.3 mm"),
        (lambda: KEYWAY.into(Ball(60.0), 3.0), r"face must be Flat\(\) for a Keyway, got Ball"),
        (lambda: Round(3.0).grown(-0.1), "per_side_mm must be 0 to 500 mm, got -0.1"),
        (lambda: Bore(0.0), "diameter must be 0.05"),
        (
            lambda: Round(3.0).into(Roller(16.0), 3.0, through=True),
            "through must be False on a Roller",
        ),
        (
            lambda: Rectangle(6, 5).into(Bore(16.0), 1.0, 5.6),
            "offset_mm must be -5.5 to 5.5 mm, got 5.6 mm: further out the Rectangle lies beside",
        ),
        (
            lambda: Rectangle(6, 5).into(Bore(16.0), 1.0, 5.1, 90.0),
            "offset_mm must be -5 to 5 mm, got 5.1 mm",
        ),
        (lambda: Round(3.0).into(Ball(60.0), 5.0, depth_from="top"), "depth_from must be one of"),
        (lambda: Round(3.0).into(Ball(60.0), 5.0).sag_mm("middle"), "place must be one of"),
        (
            lambda: Round(3.0).into(Flat(), 5.0, cut_away=Round(3.0)),
            r"cut_away must leave metal for Round\(d=3.0\), got Round\(d=3.0\)",
        ),
        (lambda: Round(3.0).into(Flat(), 5.0, cut_away=2.0), "cut_away must be Round"),
        # sag at the outer edge 0.513, 60 - 0.513 less the centre's 0.268: there it comes out
        (
            lambda: Round(3.05).into(Ball(60.0), 59.3, 4.0, depth_from="hole centre"),
            "depth_mm must be -0.164594 to 59.219 mm, got 59.3 mm: it counts from the hole centre",
        ),
        (
            lambda: Round(3.05).into(Ball(60.0), 5.0, 4.0).engaged_area_mm2(0.1, Round(3.1)),
            "section must fit inside the hole",
        ),
        (
            lambda: Rectangle(4.0, 4.0).into(Flat(), 3.0).reach_mm(RegularPolygon(8, 4.02)),
            "section must fit inside the hole",
        ),
        (
            lambda: Tube(3.0, 1.0).into(Flat(), 3.0).engaged_area_mm2(0.1, Round(2.5)),
            "but 0.785 mm² of it lies outside",  # pi/4: the core that the tube leaves
        ),
    ],
)
def test_refusals_name_the_number_and_the_knob(make, text):
    with pytest.raises(Refusal, match=text):
        make()


def test_a_face_of_another_house_is_refused():
    with pytest.raises(Refusal, match="face must be Flat"):
        Round(3.0).into(SimpleNamespace(diameter=12.0), 2.0)


@pytest.mark.parametrize("turn", [0, 33, 90, 180])
@pytest.mark.parametrize("offset", [0.0, 1.0, 4.0, -4.0])
@pytest.mark.parametrize("face", [Ball(40.0), Roller(40.0), Bore(40.0)])
def test_the_rim_of_a_whole_end_is_its_perimeter(face, offset, turn):
    # edges that lie along the axis touch all at once, the last of them too
    end = Rectangle(11.92, 2.92, 0.16)
    hole = Feature(Rectangle(12, 3, 0.2), face, 4.0, offset_mm=offset, turn_deg=turn)
    full = hole.full_engagement_mm(end)
    assert_allclose(hole.engaged_rim_mm([1.000001 * full, 1.2 * full], end), end.perimeter_mm,
                    rtol=1e-3)  # fmt: skip
