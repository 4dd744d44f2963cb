"""Drawings of a hole as SVG, for the page and for the card: black lines on white, to scale."""

from dataclasses import dataclass

import numpy as np

from edmkit.planning.faces import Bore, Flat
from edmkit.planning.shapes import Tube
from edmkit.planning.svg import (
    BLUE,
    GREY,
    HATCH,
    HATCHED,
    INK,
    METAL,
    ORANGE,
    arrow,
    outline,
    path,
    svg,
    text,
)
from edmkit.words import Display

_MILLIMETRES = Display()
_SHOWN_SAG_MM = 0.005  # a smaller difference of height is not drawn; half a dial's step


def face_line(face, x_mm):
    """Return how far a face lies below its crown along a cut across it [mm], NaN off the part.

    Parameters
    ----------
    face : Face
        Flat, Ball, Roller or Bore.
    x_mm : array
        Places from the middle of the face [mm].
    """
    x = np.asarray(x_mm, float)
    if isinstance(face, Flat):
        return np.zeros_like(x)
    radius = face.diameter / 2
    with np.errstate(invalid="ignore"):
        fall = radius - np.sqrt(radius**2 - x**2)
    return -fall if isinstance(face, Bore) else fall


@dataclass(frozen=True)
class _View:
    """Places of the picture: millimetres to pixels."""

    scale: float
    middle: float
    top: float

    def x(self, mm):
        return self.middle + self.scale * mm

    def y(self, mm):
        return self.top + self.scale * mm


def _half_width(shape, feature):
    """Return half the width of a section where it is cut: across a curved face, along a flat."""
    turn = np.radians(feature.turn_deg)
    along, across = (np.concatenate(loops) for loops in zip(
        *((x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn))
          for x, y in (loop.T for loop in shape.outline_mm())), strict=True))  # fmt: skip
    return float(np.ptp(along if isinstance(feature.face, Flat) else across)) / 2


def section(feature, electrode, gap_side_mm, gap_front_mm=0.0, bore_mm=0.0, *,
            display=_MILLIMETRES, step_mm=0.01, width=360, height=330):  # fmt: skip
    """Return the hole cut through its axis with the electrode in it, to scale, as SVG.

    Parameters
    ----------
    feature : Feature
        The hole.
    electrode : Shape
        The section standing in it [mm].
    gap_side_mm, gap_front_mm, bore_mm : float
        Gaps, and a bore through the electrode [mm].
    display : Display
        Millimetres or inches.
    step_mm : float
        To which sizes are written [mm].
    width, height : float
        Of the picture [pixels].
    """
    face, offset = feature.face, feature.offset_mm
    half, tool = _half_width(feature.shape, feature), _half_width(electrode, feature)
    floor = feature.floor_below_crown_mm
    crown = 0.0 if isinstance(face, Flat) else abs(offset)
    wide = max(2.6 * half, half + crown + 0.3 * half, 0.25 * feature.depth_mm)
    left, right = offset - wide, offset + wide
    if not isinstance(face, Flat):
        right, left = max(right, 0.4 * half), min(left, -0.4 * half)
        edge = face.diameter / 2 * 0.999
        left, right = max(left, -edge), min(right, edge)
    xs = np.linspace(left, right, 241)
    face_y = face_line(face, xs)
    highest, deepest = float(np.nanmin(face_y)), max(floor, float(np.nanmax(face_y)))
    head = 0.35 * (deepest - highest) + 0.4 * half  # the electrode stands out by this
    below = 0.22 * (deepest - highest) + 0.3 * half
    tall = deepest - highest + head + below
    scale = min((width - 124) / (right - left), (height - 50) / tall)
    view = _View(scale, 8 - scale * left, 8 + scale * (head - highest))
    parts = [HATCH, _work(view, feature, xs, face_y, half, floor, deepest + below)]
    bore_mm = electrode.bore if isinstance(electrode, Tube) else bore_mm
    end = floor + below / 2 if feature.through else floor - gap_front_mm
    parts += _tool(view, offset, tool, end, highest - head, bore_mm)
    if bore_mm > 2 * gap_side_mm and not feature.through:
        parts.append(_core(view, feature, bore_mm / 2 - gap_side_mm, floor))
    bottom = 8 + scale * tall + 20
    parts += _dimensions(view, feature, electrode, half, floor, right, display, step_mm)
    parts.append(text(8, bottom, _gap_words(gap_side_mm, gap_front_mm, display)))
    caption = _sag_words(view, feature, electrode, half, right, bottom + 17, display)
    label = f"Section of the hole, {display.size_text(feature.depth_mm, step_mm)} deep, to scale"
    return svg(width, bottom + (43 if caption else 9), label, [*parts, *caption])


def _work(view, feature, xs, face_y, half, floor, bottom):
    left_x, right_x = feature.offset_mm - half, feature.offset_mm + half
    left = [(x, y) for x, y in zip(xs, face_y, strict=True) if x < left_x]
    right = [(x, y) for x, y in zip(xs, face_y, strict=True) if x > right_x]
    at = [(x, float(face_line(feature.face, x))) for x in (left_x, right_x)]
    base = bottom if not feature.through else floor
    hole = [at[0], (left_x, floor), (right_x, floor), at[1]]
    points = [*left, *hole, *right, (xs[-1], base), (xs[0], base)]
    placed = [(view.x(x), view.y(y)) for x, y in points]
    return path(placed, METAL, INK, 0.8, name="work") + path(
        [(view.x(x), view.y(y)) for x, y in [*left, *hole, *right]],
        "none", INK, 2, closed=False, name="face",
    )  # fmt: skip


def _tool(view, offset, tool, end, top, bore_mm):
    corners = [(offset - tool, top), (offset - tool, end), (offset + tool, end),
               (offset + tool, top)]  # fmt: skip
    placed = [(view.x(x), view.y(y)) for x, y in corners]
    parts = [path(placed, HATCHED, BLUE, 1.8, closed=False, name="electrode")]
    if bore_mm:
        inner = [(offset - bore_mm / 2, top), (offset - bore_mm / 2, end),
                 (offset + bore_mm / 2, end), (offset + bore_mm / 2, top)]  # fmt: skip
        placed = [(view.x(x), view.y(y)) for x, y in inner]
        parts.append(path(placed, "#ffffff", BLUE, 1.2, closed=False, name="bore"))
    parts.append(text(view.x(offset + tool) + 6, view.y(top) + 13, "electrode", colour=BLUE))
    return parts


def _core(view, feature, radius, floor):
    x0, x1 = feature.offset_mm - radius, feature.offset_mm + radius
    top = [(x, float(face_line(feature.face, x))) for x in np.linspace(x0, x1, 21)]
    points = [(x0, floor), *top, (x1, floor)]
    return path([(view.x(x), view.y(y)) for x, y in points], METAL, INK, 1.2, name="pip")


def _dimensions(view, feature, electrode, half, floor, right, display, step_mm):
    """Return the drawing's depth from its datum to the floor."""
    datum = feature.sag_mm(feature.depth_from, electrode)
    x = view.x(right) + 14
    parts = [
        path([(view.x(feature.offset_mm + half), view.y(y)), (x + 6, view.y(y))], "none",
              INK, 0.6, closed=False)
        for y in (datum, floor)
    ]  # fmt: skip
    parts.append(arrow(x, view.y(datum), x, view.y(floor)))
    middle = (view.y(datum) + view.y(floor)) / 2
    words = display.size_text(feature.depth_mm, step_mm)
    return [*parts, text(x + 8, middle + 5, words, bold=True)]


def _gap_words(side_mm, front_mm, display):
    """Return the gaps, most of them too thin to be seen in the picture."""
    front = f", front gap {display.size_text(front_mm, 0.001)}" if front_mm > 0 else ""
    return f"side gap {display.size_text(side_mm, 0.001)}{front}"


def _sag_words(view, feature, electrode, half, right, bottom, display):
    """Return the line where the end first touches and how far it lies from the datum."""
    datum = feature.sag_mm(feature.depth_from, electrode)
    touch = feature.sag_mm("first touch", electrode)
    if abs(datum - touch) < _SHOWN_SAG_MM:
        return []
    ends = (max(view.x(feature.offset_mm - 1.3 * half), 2), view.x(right) + 20)
    line = path([(x, view.y(touch)) for x in ends], "none", ORANGE, 1.6, closed=False,
                 dash="5 3", name="touch")  # fmt: skip
    way = "above" if touch < datum else "below"
    sag = display.size_text(abs(datum - touch), 0.001)
    words = (f"touches first (dashed) {sag} {way}", "the place its depth is drawn from")
    return [line, *(text(8, bottom + 17 * n, said, colour=ORANGE)
                    for n, said in enumerate(words))]  # fmt: skip


def end_view(shapes, width=360, height=230):
    """Return sections seen along the electrode, one inside the other, to one scale, as SVG.

    Parameters
    ----------
    shapes : list of (str, Shape, str)
        What each is called, its section, and 'cavity', 'before', 'electrode' or 'standing'.
    width, height : float
        Of the picture [pixels].
    """
    looks = {
        "cavity": (INK, 2, "", "none"),
        "before": (GREY, 1.5, "5 3", "none"),
        "electrode": (BLUE, 1.8, "", HATCHED),
        "standing": (ORANGE, 1.8, "", METAL),
    }
    outlines = [(words, kind, shape.outline_mm()) for words, shape, kind in shapes]
    every = np.concatenate([loop for *_, loops in outlines for loop in loops])
    low, high = every.min(axis=0), every.max(axis=0)
    row = 18 * len(shapes)
    scale = min((width - 24) / (high - low)[0], (height - row - 24) / (high - low)[1])
    parts = [HATCH]
    for words, kind, loops in outlines:
        colour, line, dash, fill = looks[kind]
        at = [[(12 + scale * (x - low[0]), 12 + scale * (high[1] - y)) for x, y in loop]
              for loop in loops]  # fmt: skip
        parts.append(outline(at, fill, colour, line, dash=dash, name=words))
    bottom = 12 + scale * (high - low)[1]
    for place, (words, _, kind) in enumerate(shapes):
        y = bottom + 22 + 18 * place
        colour, line, dash, _ = looks[kind]
        parts.append(path([(12, y - 5), (40, y - 5)], "none", colour, line, False, dash))
        parts.append(text(48, y, words, colour=colour))
    return svg(width, bottom + row + 14, "The outline from above, to scale", parts)


def pass_picture(pass_, width=150, height=110):
    """Return a small drawing of one pass as SVG: what it takes, with its electrode.

    Parameters
    ----------
    pass_ : Pass
        The pass.
    width, height : float
        Of the picture [pixels].
    """
    deep, wide = 62.0, 64.0
    x0, top = (width - wide) / 2, 34.0
    rough = pass_.side_stock_mm > 0
    tool = wide - (16 if rough else 5)
    floor = top + deep - (7 if pass_.floor_stock_mm > 0 else 0)
    work = [(6, top), (x0, top), (x0, top + deep), (x0 + wide, top + deep), (x0 + wide, top),
            (width - 6, top), (width - 6, height - 4), (6, height - 4)]  # fmt: skip
    parts = [HATCH, path(work, METAL, INK, 1)]
    if rough or pass_.floor_stock_mm > 0:
        side = 5 if rough else 0
        left = [(x0, top), (x0 + side, top), (x0 + side, floor), (x0 + wide - side, floor),
                (x0 + wide - side, top), (x0 + wide, top), (x0 + wide, top + deep),
                (x0, top + deep)]  # fmt: skip
        parts.append(path(left, "#bdbdbd", INK, 0.8, name="stock"))
    middle = width / 2
    end = floor - 3 if pass_.kind != "pip" else floor - 22
    lines = [(middle - tool / 2, 6), (middle - tool / 2, end), (middle + tool / 2, end),
             (middle + tool / 2, 6)]  # fmt: skip
    parts.append(path(lines, HATCHED, BLUE, 1.8, closed=False, name="electrode"))
    if pass_.kind == "pip":
        core = [(middle - 7, floor), (middle - 7, end + 2), (middle + 7, end + 2),
                (middle + 7, floor)]  # fmt: skip
        parts.append(path(core, METAL, INK, 1.2, name="pip"))
    elif pass_.bore_mm:
        bore = [(middle - 8, 6), (middle - 8, end), (middle + 8, end), (middle + 8, 6)]
        parts.append(path(bore, "#ffffff", BLUE, 1.2, closed=False, name="bore"))
        core = [(middle - 5, floor), (middle - 5, top), (middle + 5, top), (middle + 5, floor)]
        parts.append(path(core, METAL, INK, 1, name="pip"))
    words = {"square the floor": "floor only", "pip": "pip only"}.get(pass_.kind, "")
    return svg(width, height, f"Pass {pass_.number}: {pass_.kind}{words and ', ' + words}", parts)
