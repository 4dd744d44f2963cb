"""The depth stop as a picture: each term a step, the trap in heavy orange."""

import numpy as np

from edmkit.planning.svg import GREY, HATCH, INK, ORANGE, path, svg, text
from edmkit.words import Display

_MILLIMETRES = Display()


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

    parts, step = [HATCH], min(stop.resolution_mm, 0.01) / 10
    depth = display.size_text(stop.terms[0].value_mm, stop.resolution_mm)
    parts.append(text(left, 16, f"{stop.terms[0].name} {depth} (not drawn), then to one scale:"))
    for place, (term, start, end) in enumerate(zip(shown, sums, sums[1:], strict=False)):
        y = 28 + row * place
        trap = stop.trap is not None and term.name == stop.trap.name
        colour = ORANGE if trap else INK
        fill = "url(#edm-hatch)" if trap else ("#ffffff" if term.value_mm < 0 else "#bdbdbd")
        box = [(x(start), y), (x(end), y), (x(end), y + 12), (x(start), y + 12)]
        parts.append(path(box, fill, colour, 2.5 if trap else 1.2, name=term.name))
        parts.append(path([(x(end), y + 12), (x(end), y + row)], "none", GREY, 0.8,
                           closed=False, dash="3 3"))  # fmt: skip
        sign = "−" if term.value_mm < 0 else "+"
        words = f"{sign}{display.size_text(abs(term.value_mm), step)} {term.name}"
        at = min(max(x(start), x(end)) + 6, width - 7.2 * len(words))
        parts.append(text(max(at, 4), y + 25 if at < max(x(start), x(end)) else y + 11, words,
                           bold=trap, colour=colour))  # fmt: skip
    height = 28 + row * len(shown) + 8
    set_to = display.size_text(stop.set_mm, stop.resolution_mm)
    parts.append(text(left, height + 8, f"Set {set_to}", bold=True))
    return svg(width, height + 18, f"The stop, {set_to}, as a sum of its terms", parts)
