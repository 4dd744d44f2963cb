"""Drawings of a hole as SVG, for the page and for the card: black lines on white, to scale."""

from dataclasses import dataclass
from html import escape

import numpy as np

from edmkit.planning.faces import Ball, Bore, Flat, Roller
from edmkit.words import Display

INK, BLUE, ORANGE, METAL, TOOL = "#1a1a1a", "#0072b2", "#d55e00", "#e3e3e3", "#ffffff"
_MILLIMETRES = Display()
_TEXT = 13  # pixels


def _svg(width, height, label, parts):
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}" '
        f'role="img" aria-label="{escape(label, True)}" xmlns="http://www.w3.org/2000/svg" '
        f'style="max-width:100%;height:auto" font-family="sans-serif" font-size="{_TEXT}">'
        f"<title>{escape(label)}</title>{''.join(parts)}</svg>"
    )


def _path(points, fill, line=INK, width=1.5, closed=True, dash="", name=""):
    text = " L".join(f"{x:.2f},{y:.2f}" for x, y in points)
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    named = f' data-part="{name}"' if name else ""
    return (
        f'<path d="M{text}{" Z" if closed else ""}" fill="{fill}" stroke="{line}" '
        f'stroke-width="{width}"{dashed}{named}/>'
    )


def _text(x, y, words, anchor="start", bold=False, colour=INK):
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}"{weight}>'
        f"{escape(words)}</text>"
    )


def _arrow(x0, y0, x1, y1, colour=INK):
    """Return a dimension line with a small bar at each end."""
    dx, dy = x1 - x0, y1 - y0
    size = max(abs(dx), abs(dy), 1e-9)
    bx, by = 4 * dy / size, 4 * dx / size
    bars = "".join(
        f'<path d="M{x - bx:.1f},{y - by:.1f} L{x + bx:.1f},{y + by:.1f}" stroke="{colour}"/>'
        for x, y in ((x0, y0), (x1, y1))
    )
    line = f'<path d="M{x0:.1f},{y0:.1f} L{x1:.1f},{y1:.1f}" stroke="{colour}"/>'
    return f'<g data-part="dimension">{line}{bars}</g>'


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


def _half_width(shape):
    """Return half the width of a section as it is cut: across flats, along the longer side."""
    for name in ("d", "across_flats", "width", "a"):
        if hasattr(shape, name):
            return getattr(shape, name) / 2
    return shape.outer_radius_mm


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
    half, tool = _half_width(feature.shape), _half_width(electrode)
    floor = feature.floor_below_crown_mm
    crown = 0.0 if isinstance(face, Flat) else abs(offset)
    wide = max(2.6 * half, half + crown + 0.3 * half)
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
    scale = min((width - 130) / (right - left), (height - 30) / (deepest - highest + head + below))
    view = _View(scale, 16 - scale * left, 14 + scale * (head - highest))
    parts = [*_hatch(), _work(view, feature, xs, face_y, half, floor, deepest + below)]
    parts += _tool(view, offset, tool, floor - gap_front_mm, highest - head, bore_mm)
    if bore_mm > 2 * gap_side_mm and not feature.through:
        parts.append(_core(view, feature, bore_mm / 2 - gap_side_mm, floor))
    parts += _dimensions(view, feature, half, floor, right, display, step_mm, width)
    label = f"Section of the hole, {display.size_text(feature.depth_mm, step_mm)} deep, to scale"
    return _svg(width, height, label, parts)


def _hatch():
    return ['<defs><pattern id="edm-hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
            'patternTransform="rotate(45)"><path d="M0,0 V7" stroke="#8a8a8a"/></pattern></defs>']  # fmt: skip


def _work(view, feature, xs, face_y, half, floor, bottom):
    left_x, right_x = feature.offset_mm - half, feature.offset_mm + half
    left = [(x, y) for x, y in zip(xs, face_y, strict=True) if x < left_x]
    right = [(x, y) for x, y in zip(xs, face_y, strict=True) if x > right_x]
    at = [(x, float(face_line(feature.face, x))) for x in (left_x, right_x)]
    base = bottom if not feature.through else floor
    hole = [at[0], (left_x, floor), (right_x, floor), at[1]]
    points = [*left, *hole, *right, (xs[-1], base), (xs[0], base)]
    placed = [(view.x(x), view.y(y)) for x, y in points]
    return _path(placed, METAL, INK, 0.8, name="work") + _path(
        [(view.x(x), view.y(y)) for x, y in [*left, *hole, *right]],
        "none", INK, 2, closed=False, name="face",
    )  # fmt: skip


def _tool(view, offset, tool, end, top, bore_mm):
    corners = [(offset - tool, top), (offset - tool, end), (offset + tool, end),
               (offset + tool, top)]  # fmt: skip
    placed = [(view.x(x), view.y(y)) for x, y in corners]
    parts = [_path(placed, "url(#edm-hatch)", BLUE, 1.8, closed=False, name="electrode")]
    if bore_mm:
        inner = [(offset - bore_mm / 2, top), (offset - bore_mm / 2, end),
                 (offset + bore_mm / 2, end), (offset + bore_mm / 2, top)]  # fmt: skip
        placed = [(view.x(x), view.y(y)) for x, y in inner]
        parts.append(_path(placed, TOOL, BLUE, 1.2, closed=False, name="bore"))
    parts.append(_text(view.x(offset), view.y(top) + 16, "electrode", "middle", colour=BLUE))
    return parts


def _core(view, feature, radius, floor):
    x0, x1 = feature.offset_mm - radius, feature.offset_mm + radius
    top = [(x, float(face_line(feature.face, x))) for x in np.linspace(x0, x1, 21)]
    points = [(x0, floor), *top, (x1, floor)]
    return _path([(view.x(x), view.y(y)) for x, y in points], METAL, INK, 1.2, name="pip")


def _dimensions(view, feature, half, floor, right, display, step_mm, width):
    """Return the drawing's depth from its datum, and the sag where it matters."""
    datum = feature.sag_mm(feature.depth_from)
    touch = feature.sag_mm("first touch")
    x = view.x(right) + 26
    parts = [
        _path([(view.x(feature.offset_mm + half), view.y(y)), (x + 6, view.y(y))], "none",
              INK, 0.6, closed=False)
        for y in (datum, floor)
    ]  # fmt: skip
    parts.append(_arrow(x, view.y(datum), x, view.y(floor)))
    middle = (view.y(datum) + view.y(floor)) / 2
    words = display.size_text(feature.depth_mm, step_mm)
    parts.append(_text(min(x + 8, width - 4), middle + 4, words, bold=True))
    if abs(datum - touch) * view.scale > 1 or abs(datum - touch) > 0.02:
        at = view.x(feature.offset_mm) - 0
        sag = display.size_text(abs(datum - touch), min(step_mm, 0.001))
        y = view.y(min(datum, touch))
        parts.append(_path([(view.x(feature.offset_mm - half), view.y(touch)), (x, view.y(touch))],
                           "none", ORANGE, 1.2, closed=False, dash="5 3", name="touch"))  # fmt: skip
        parts.append(_path([(at, view.y(datum)), (x, view.y(datum))], "none", ORANGE, 1.2,
                           closed=False, name="datum"))  # fmt: skip
        parts.append(_text(4, y - 22, f"touches {sag} {'above' if touch < datum else 'below'}",
                           colour=ORANGE))  # fmt: skip
        parts.append(_text(4, y - 7, "the drawing's datum", colour=ORANGE))
    return parts


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
    parts = [*_hatch(), _path(work, METAL, INK, 1)]
    if rough or pass_.floor_stock_mm > 0:
        side = 5 if rough else 0
        left = [(x0, top), (x0 + side, top), (x0 + side, floor), (x0 + wide - side, floor),
                (x0 + wide - side, top), (x0 + wide, top), (x0 + wide, top + deep),
                (x0, top + deep)]  # fmt: skip
        parts.append(_path(left, "#bdbdbd", INK, 0.8, name="stock"))
    middle = width / 2
    end = floor - 3 if pass_.kind != "pip" else floor - 22
    lines = [(middle - tool / 2, 6), (middle - tool / 2, end), (middle + tool / 2, end),
             (middle + tool / 2, 6)]  # fmt: skip
    parts.append(_path(lines, "url(#edm-hatch)", BLUE, 1.8, closed=False, name="electrode"))
    if pass_.kind == "pip":
        core = [(middle - 7, floor), (middle - 7, end + 2), (middle + 7, end + 2),
                (middle + 7, floor)]  # fmt: skip
        parts.append(_path(core, METAL, INK, 1.2, name="pip"))
    elif pass_.bore_mm:
        bore = [(middle - 8, 6), (middle - 8, end), (middle + 8, end), (middle + 8, 6)]
        parts.append(_path(bore, TOOL, BLUE, 1.2, closed=False, name="bore"))
        core = [(middle - 5, floor), (middle - 5, top), (middle + 5, top), (middle + 5, floor)]
        parts.append(_path(core, METAL, INK, 1, name="pip"))
    words = {"square the floor": "floor only", "pip": "pip only"}.get(pass_.kind, "")
    return _svg(width, height, f"Pass {pass_.number}: {pass_.kind}{words and ', ' + words}", parts)


def stop_picture(stop, display=_MILLIMETRES, width=360):
    """Return the terms of a stop as a ladder of signed steps, the trap in heavy orange, as SVG.

    Parameters
    ----------
    stop : Stop
        What to set, term by term.
    display : Display
        Millimetres or inches.
    width : float
        Of the picture [pixels].

    Notes
    -----
    The drawing's depth is broken; all the other terms are to one scale.
    """
    shown = [term for term in stop.terms[1:] if abs(term.value_mm) > 1e-6]
    sums = np.cumsum([0.0, *(term.value_mm for term in shown)])
    span = max(float(np.ptp(sums)), 1e-3)
    row, left, wide = 30, 12.0, width - 150.0
    scale = wide / span

    def x(mm):
        return left + scale * (mm - float(sums.min()))

    parts, step = [*_hatch()], min(stop.resolution_mm, 0.01) / 10
    parts.append(_text(left, 16, f"{stop.terms[0].name} "
                       f"{display.size_text(stop.terms[0].value_mm, stop.resolution_mm)}, then:"))  # fmt: skip
    for place, (term, start, end) in enumerate(zip(shown, sums, sums[1:], strict=False)):
        y = 28 + row * place
        trap = stop.trap is not None and term.name == stop.trap.name
        colour = ORANGE if trap else INK
        fill = "url(#edm-hatch)" if trap else ("#ffffff" if term.value_mm < 0 else "#bdbdbd")
        box = [(x(start), y), (x(end), y), (x(end), y + 12), (x(start), y + 12)]
        parts.append(_path(box, fill, colour, 2.5 if trap else 1.2, name=term.name))
        parts.append(_path([(x(end), y + 12), (x(end), y + row)], "none", "#8a8a8a", 0.8,
                           closed=False, dash="3 3"))  # fmt: skip
        sign = "−" if term.value_mm < 0 else "+"
        words = f"{sign}{display.size_text(abs(term.value_mm), step)} {term.name}"
        at = min(max(x(start), x(end)) + 6, width - 7.2 * len(words))
        parts.append(_text(max(at, 4), y + 25 if at < max(x(start), x(end)) else y + 11, words,
                           bold=trap, colour=colour))  # fmt: skip
    height = 28 + row * len(shown) + 8
    set_to = display.size_text(stop.set_mm, stop.resolution_mm)
    parts.append(_text(left, height + 8, f"Set {set_to}", bold=True))
    return _svg(width, height + 18, f"The stop, {set_to}, as a sum of its terms", parts)


_ = Roller, Ball
