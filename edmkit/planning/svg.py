"""The few strokes that drawings are made of, as SVG: black lines on white, all text escaped."""

from html import escape
from zlib import crc32

INK, BLUE, ORANGE, GREY, METAL = "#1a1a1a", "#0072b2", "#d55e00", "#8a8a8a", "#e3e3e3"
_TEXT = 13  # pixels
HATCH_NAME = "edm-hatch"
HATCHED = f"url(#{HATCH_NAME})"
HATCH = (
    f'<defs><pattern id="{HATCH_NAME}" width="7" height="7" patternUnits="userSpaceOnUse" '
    'patternTransform="rotate(45)"><path d="M0,0 V7" stroke="#8a8a8a"/></pattern></defs>'
)


def svg(width, height, label, parts):
    """Return a whole picture with its label."""
    body = "".join(parts)
    # A hatch of a hidden picture paints nothing, so no picture may use another's.
    own = f"{HATCH_NAME}-{crc32((label + body).encode()):x}"
    body = body.replace(f'id="{HATCH_NAME}"', f'id="{own}"').replace(HATCHED, f"url(#{own})")
    return (
        f'<svg viewBox="0 0 {width:g} {height:g}" width="{width:g}" height="{height:g}" '
        f'role="img" aria-label="{escape(label, True)}" xmlns="http://www.w3.org/2000/svg" '
        f'style="max-width:100%;height:auto" font-family="sans-serif" font-size="{_TEXT}">'
        f"<title>{escape(label)}</title>{body}</svg>"
    )


def path(points, fill, line=INK, width=1.5, closed=True, dash="", name=""):
    """Return lines from point to point; ``name`` marks the part for whoever reads the picture."""
    return outline([points], fill, line, width, closed, dash, name)


def outline(loops, fill, line=INK, width=1.5, closed=True, dash="", name=""):
    """Return loops as one part, as `path`; a loop inside another is a hole in it."""
    drawn = " ".join(
        "M" + " L".join(f"{x:.2f},{y:.2f}" for x, y in points) + (" Z" if closed else "")
        for points in loops
    )
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    named = f' data-part="{escape(name, True)}"' if name else ""
    return (
        f'<path d="{drawn}" fill="{fill}" fill-rule="evenodd" stroke="{line}" '
        f'stroke-width="{width}"{dashed}{named}/>'
    )


def text(x, y, words, anchor="start", bold=False, colour=INK):
    """Return words at a place; escaped."""
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}"{weight}>'
        f"{escape(words)}</text>"
    )


def arrow(x0, y0, x1, y1, colour=INK):
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
