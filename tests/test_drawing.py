"""The drawings: to scale, right numbers, readable words, nothing unescaped."""

import math
import re
from types import SimpleNamespace
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Estimate
from edmkit.planning.drawing import end_view, face_line, pass_picture, section
from edmkit.planning.dressing import Batch, dressing, schedule
from edmkit.planning.insert import InsertTube
from edmkit.planning.insert_drawing import insert_tube
from edmkit.planning.plan import Tolerance
from edmkit.planning.stop import Touch, depth_stop
from edmkit.planning.stop_drawing import drift_picture, stop_picture
from edmkit.words import Display

SVG = "{http://www.w3.org/2000/svg}"
ROD = ek.Round(3.0)
DOMED = ek.Feature(ek.Round(3.05), ek.Ball(60.0), 5.0, offset_mm=4.0, depth_from="hole centre")
FEATURES = [
    (ek.Feature(ek.Round(3.05), ek.Flat(), 5.0), ROD),
    (DOMED, ROD),
    (ek.Feature(ek.Round(4.0), ek.Roller(16.0), 2.0, offset_mm=1.2), ek.Round(3.9)),
    (ek.Feature(ek.Rectangle(6, 5), ek.Bore(16.0), 2.0), ek.Rectangle(5.9, 4.9)),
    (ek.Feature(ek.RegularPolygon(6, 4.06), ek.Flat(), 4.0), ek.RegularPolygon(6, 4.0)),
    (ek.Feature(ek.Rectangle(40, 3), ek.Flat(), 1.0), ek.Rectangle(39.9, 2.9)),
    (ek.Feature(ek.Round(1.0), ek.Flat(), 20.0, through=True), ek.Round(0.95)),
]


def parsed(svg):
    """Return the picture as a tree; it must be well-formed and say what it is."""
    tree = ElementTree.fromstring(svg)
    assert tree.get("role") == "img" and tree.get("aria-label")
    return tree


def part(tree, name):
    """Return the points of a marked part."""
    found = next(e for e in tree.iter(f"{SVG}path") if e.get("data-part") == name)
    return [tuple(map(float, p.split(","))) for p in re.findall(r"[-\d.]+,[-\d.]+", found.get("d"))]


def words(tree):
    return [e for e in tree.iter(f"{SVG}text")]


def box(text):
    """Return about the room a text takes: 0.56 of its height per letter, from memory."""
    size = 13
    long = 0.56 * size * len(text.text)
    start = {"middle": long / 2, "end": long}.get(text.get("text-anchor"), 0.0)
    x, y = float(text.get("x")) - start, float(text.get("y"))
    return x, y - 0.75 * size, x + long, y + 0.2 * size


def check_words(tree):
    """No words overlap and none are cut off."""
    wide, tall = (float(tree.get(name)) for name in ("width", "height"))
    boxes = [box(text) for text in words(tree)]
    for i, (x0, y0, x1, y1) in enumerate(boxes):
        assert x0 >= -1 and x1 <= wide + 1 and y0 >= -1 and y1 <= tall + 1, words(tree)[i].text
        for a0, b0, a1, b1 in boxes[i + 1 :]:
            assert x1 <= a0 or a1 <= x0 or y1 <= b0 or b1 <= y0, words(tree)[i].text


# --- section ---
@pytest.mark.parametrize("feature, electrode", FEATURES)
@pytest.mark.parametrize("display", [Display(), Display(inches=True)])
def test_the_section_is_to_scale_and_readable(feature, electrode, display):
    tree = parsed(section(feature, electrode, 0.025, 0.1, display=display))
    tool = part(tree, "electrode")
    face = part(tree, "face")
    wide = max(x for x, _ in tool) - min(x for x, _ in tool)
    # across a roller or a bore the second side is cut, along a flat the first
    names = ("d", "across_flats", "a") if isinstance(feature.face, ek.Flat) else ("d", "b")
    size = next(getattr(electrode, n) for n in names if hasattr(electrode, n))
    size *= 2 / math.sqrt(3) if isinstance(electrode, ek.RegularPolygon) else 1
    scale = wide / size
    xs = [x for x, _ in face]
    assert xs == sorted(xs)
    # the floor below the highest point of the face that is drawn
    edges = (min(x for x, _ in tool) - 3, max(x for x, _ in tool) + 3)
    floor = max(y for x, y in face if edges[0] <= x <= edges[1]) / scale
    end = max(y for _, y in tool) / scale
    if not feature.through:
        assert_allclose(floor - end, 0.1, atol=0.02)
    if feature.through:
        assert max(y for _, y in tool) > max(y for _, y in face) + 3  # it comes out below
    bar = next(g for g in tree.iter(f"{SVG}g") if g.get("data-part") == "dimension")
    ends = re.findall(r",([-\d.]+)", next(bar.iter(f"{SVG}path")).get("d"))
    assert_allclose(float(ends[1]) - float(ends[0]), feature.depth_mm * scale, atol=0.3)
    depth = display.size_text(feature.depth_mm, 0.01)
    assert depth in [text.text for text in words(tree)]
    check_words(tree)


def test_the_depth_dimension_is_as_long_as_the_depth():
    tree = parsed(section(DOMED, ROD, 0.025, 0.02))
    tool = part(tree, "electrode")
    scale = (max(x for x, _ in tool) - min(x for x, _ in tool)) / 3.0
    line = next(g for g in tree.iter(f"{SVG}g") if g.get("data-part") == "dimension")
    first = next(line.iter(f"{SVG}path")).get("d")
    (_, y0), (_, y1) = (tuple(map(float, p.split(","))) for p in re.findall(r"[-\d.]+,[-\d.]+",
                                                                           first))  # fmt: skip
    assert_allclose((y1 - y0) / scale, 5.0, atol=0.05)
    touch = part(tree, "touch")[0][1]
    assert_allclose((y0 - touch) / scale, 0.1635, atol=0.01)  # worked value of the sag


def test_the_sag_is_said_where_it_matters():
    # worked example: 0.164 between first touch and the hole's centre
    said = " ".join(text.text for text in words(parsed(section(DOMED, ROD, 0.025))))
    assert "0.164 mm above" in said
    flat = section(ek.Feature(ek.Round(3.05), ek.Flat(), 5.0), ROD, 0.025)
    assert "touches first" not in flat


def test_a_bore_leaves_a_pip_of_its_size():
    tree = parsed(section(FEATURES[0][0], ROD, 0.03, 0.02, bore_mm=1.0))
    tool, pip = part(tree, "electrode"), part(tree, "pip")
    scale = (max(x for x, _ in tool) - min(x for x, _ in tool)) / 3.0
    assert_allclose((max(x for x, _ in pip) - min(x for x, _ in pip)) / scale, 0.94, atol=0.01)
    assert 'data-part="pip"' not in section(FEATURES[0][0], ROD, 0.03, 0.02, bore_mm=0.05)


def test_a_tube_is_cut_open_and_leaves_its_core():
    hole, tube = ek.Tube(6.0, 3.0), ek.Tube(5.9, 3.1)
    tree = parsed(section(ek.Feature(hole, ek.Flat(), 3.0), tube, 0.05))
    scale = np.ptp([x for x, _ in part(tree, "electrode")]) / 5.9
    assert_allclose(np.ptp([x for x, _ in part(tree, "bore")]) / scale, 3.1, atol=0.01)
    assert_allclose(np.ptp([x for x, _ in part(tree, "pip")]) / scale, 3.0, atol=0.01)


def test_the_gaps_are_said_as_they_are_too_thin_to_see():
    said = [t.text for t in words(parsed(section(DOMED, ROD, 0.0254, 0.0508,
                                                 display=Display(inches=True))))]  # fmt: skip
    assert "side gap 0.00100 in, front gap 0.00200 in" in said
    assert "side gap 0.025 mm" in section(DOMED, ROD, 0.025)
    assert "front gap" not in section(DOMED, ROD, 0.025)


def test_a_deep_fine_hole_keeps_metal_around_it():
    work = part(parsed(section(FEATURES[-1][0], FEATURES[-1][1], 0.02)), "work")
    wide, tall = np.ptp([x for x, _ in work]), np.ptp([y for _, y in work])
    assert_allclose(wide / tall, 0.5, rtol=0.01)  # a quarter of the depth on either side


def test_no_picture_needs_the_hatch_of_another():
    # a browser paints nothing of a hatch that stands in a hidden picture
    pictures = [section(f, e, 0.025) for f, e in FEATURES] + [stop_picture(made_stop())]
    own = []
    for tree in map(parsed, pictures):
        own += [e.get("id") for e in tree.iter(f"{SVG}pattern")]
        used = {e.get("fill") for e in tree.iter(f"{SVG}path") if "url" in e.get("fill", "")}
        assert used == {f"url(#{own[-1]})"}
    assert len(set(own)) == len(pictures)


# --- face_line ---
def test_faces_by_pythagoras():
    assert_allclose(face_line(ek.Ball(10.0), [0, 3, 4]), [0, 1, 2])
    assert_allclose(face_line(ek.Bore(10.0), [0, 3, 4]), [0, -1, -2])
    assert_allclose(face_line(ek.Flat(), [0, 3, 4]), [0, 0, 0])


# --- end_view ---
def test_the_outline_from_above_is_to_scale():
    hole, tool = ek.RegularPolygon(6, 4.06), ek.RegularPolygon(6, 4.0)
    tree = parsed(end_view([("the hole", hole, "cavity"), ("the electrode", tool, "electrode")]))
    outer, inner = part(tree, "the hole"), part(tree, "the electrode")

    def wide(points):
        return max(x for x, _ in points) - min(x for x, _ in points)

    assert_allclose(wide(outer) / wide(inner), 4.06 / 4.0, rtol=1e-3)
    check_words(tree)


def test_the_openings_of_a_tube_stay_open():
    tree = parsed(end_view([("the tube", ek.Tube(6.0, 3.0), "electrode")]))
    found = [e for e in tree.iter(f"{SVG}path") if e.get("data-part") == "the tube"]
    assert len(found) == 1 and found[0].get("d").count("M") == 2
    assert found[0].get("fill-rule") == "evenodd"


# --- insert_tube ---
def test_the_fins_are_as_thick_as_the_gap_leaves_them():
    # by hand: flats 0.75 from the axis, bore radius 1.25, gap 0.05: fin from 0.80 to 1.20,
    # 2 sqrt(1.20² - 0.80²) = 1.7889 wide
    tree = parsed(insert_tube(InsertTube(4.0, 2.5, 2.5, 2, 0.5, 20.0), 0.05))
    scale = np.ptp([x for x, _ in part(tree, "the electrode")]) / 4.0
    said = next(t.text for t in words(tree) if t.text.startswith("left under"))
    assert said == "left under each flat, 0.40 mm thick"
    points = np.array(part(tree, said))
    first, second = points[:41], points[41:]
    for fin in (first, second):
        assert_allclose(np.ptp(fin, axis=0) / scale, [0.40, 1.7889], atol=0.002)
    assert_allclose((np.ptp(points, axis=0) / scale)[0], 2.4, atol=0.002)
    assert_allclose(np.ptp([x for x, _ in part(tree, "the hole")]) / scale, 4.1, atol=0.01)
    check_words(tree)


def test_where_the_gap_eats_the_fins_none_are_drawn():
    picture = insert_tube(InsertTube(4.0, 2.5, 2.5, 2, 0.06, 20.0), 0.05)
    assert "left under" not in picture and parsed(picture) is not None


def test_names_are_escaped():
    hostile = '<script>"&'
    tree = parsed(end_view([(hostile, ek.Round(3.0), "cavity")]))
    assert hostile in [text.text for text in words(tree)]
    assert all(e.tag != f"{SVG}script" for e in tree.iter())


# --- pass_picture ---
@pytest.mark.parametrize(
    "kind, stock, bore", [("rough", 0.05, 1.0), ("rough", 0, 0), ("finish", 0, 0),
                          ("square the floor", 0, 0), ("pip", 0, 0)],
)  # fmt: skip
def test_each_kind_of_pass_has_its_picture(kind, stock, bore):
    made = SimpleNamespace(number=1, kind=kind, side_stock_mm=stock, floor_stock_mm=stock,
                           bore_mm=bore)  # fmt: skip
    tree = parsed(pass_picture(made))
    assert kind in tree.get("aria-label")
    assert ('data-part="stock"' in pass_picture(made)) == bool(stock)
    assert ('data-part="pip"' in pass_picture(made)) == (kind == "pip" or bool(bore))
    tool = part(tree, "electrode")
    assert max(y for _, y in tool) < float(tree.get("height"))


# --- stop_picture ---
def made_stop(**rest):
    gaps = SimpleNamespace(gap_front_um=Estimate(26.5, 0.2), gap_side_um=Estimate(26.5, 0.2))
    return depth_stop(DOMED, gaps, Estimate(0.5, 0.1), section=ROD, touch=Touch(), **rest)


def test_the_terms_of_the_stop_are_to_one_scale():
    stop = made_stop()
    tree = parsed(stop_picture(stop))
    scales = []
    for term in stop.terms[1:]:
        if abs(term.value_mm) > 1e-6:
            xs = [x for x, _ in part(tree, term.name)]
            scales.append((max(xs) - min(xs)) / abs(term.value_mm))
    assert len(scales) == 3
    assert_allclose(scales, scales[0], rtol=0.02)
    check_words(tree)


@pytest.mark.parametrize("rest", [{}, {"dressed_mm": 0.3, "floor_stock_mm": 0.05,
                                       "cut": "spark out", "not_touched_for": 2}])  # fmt: skip
@pytest.mark.parametrize("display", [Display(), Display(inches=True)])
def test_every_term_is_named_with_its_sign(rest, display):
    stop = made_stop(**rest)
    tree = parsed(stop_picture(stop, display))
    said = [text.text for text in words(tree)]
    for term in stop.terms[1:]:
        if abs(term.value_mm) > 1e-6:
            sign = "−" if term.value_mm < 0 else "+"
            assert any(line.startswith(sign) and line.endswith(term.name) for line in said)
    bold = [text.text for text in words(tree) if text.get("font-weight") == "700"]
    assert any(stop.trap.name in line for line in bold)
    assert display.size_text(stop.set_mm, stop.resolution_mm) in said[-1]
    check_words(tree)


# --- drift_picture ---
def batch_of(count, worn=0.5):
    batch = Batch(parts=count)
    return schedule(batch, [(Estimate(10.0, 0.2), worn, dressing(batch, worn), 0.8)])


def test_the_drift_is_to_scale():
    # worked exercise: 0.50 per hole
    tree = parsed(drift_picture(batch_of(4), Tolerance(depth_minus_mm=0.05, depth_plus_mm=0.05)))
    line, band = part(tree, "not touched"), part(tree, "tolerance")
    steps = np.diff([y for _, y in line])
    assert_allclose(steps, steps[0], rtol=1e-3)
    assert_allclose(steps[0] / (max(y for _, y in band) - min(y for _, y in band)), 5.0, rtol=0.01)
    check_words(tree)


def test_one_hole_does_not_drift():
    assert drift_picture(batch_of(1), Tolerance()) == ""


def test_a_long_batch_stays_readable():
    tree = parsed(drift_picture(batch_of(80), Tolerance()))
    assert len(part(tree, "not touched")) == 8
    check_words(tree)
    assert math.isclose(float(tree.get("width")), 360)
