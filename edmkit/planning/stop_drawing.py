"""The depth stop as a picture, and what becomes of it over a batch."""

import numpy as np

from edmkit.planning.svg import GREY, HATCH, HATCHED, INK, ORANGE, path, svg, text
from edmkit.words import Display

_MILLIMETRES = Display()
_MOST_HOLES = 8  # more say nothing new
_STEP_MM = 0.01
_LINE = 14  # pixels between two lines of words


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
    row, left, wide = 30, 12.0, width - 180.0
    scale = wide / span

    def x(mm):
        return left + scale * (mm - float(sums.min()))

    parts, step = [HATCH], min(stop.resolution_mm, 0.01) / 10
    depth = display.size_text(stop.terms[0].value_mm, stop.resolution_mm)
    parts.append(text(left, 16, f"{depth} {stop.terms[0].name}, then to scale:"))
    for place, (term, start, end) in enumerate(zip(shown, sums, sums[1:], strict=False)):
        y = 28 + row * place
        trap = stop.trap is not None and term.name == stop.trap.name
        colour = ORANGE if trap else INK
        fill = HATCHED if trap else ("#ffffff" if term.value_mm < 0 else "#bdbdbd")
        box = [(x(start), y), (x(end), y), (x(end), y + 12), (x(start), y + 12)]
        parts.append(path(box, fill, colour, 2.5 if trap else 1.2, name=term.name))
        parts.append(path([(x(end), y + 12), (x(end), y + row)], "none", GREY, 0.8,
                           closed=False, dash="3 3"))  # fmt: skip
        sign = "−" if term.value_mm < 0 else "+"
        words = f"{sign}{display.size_text(abs(term.value_mm), step)} {term.name}"
        at = min(max(x(start), x(end)) + 6, width - 7.6 * len(words))
        parts.append(text(max(at, 4), y + 25 if at < max(x(start), x(end)) else y + 11, words,
                           bold=trap, colour=colour))  # fmt: skip
    height = 28 + row * len(shown) + 8
    set_to = display.size_text(stop.set_mm, stop.resolution_mm)
    parts.append(text(left, height + 8, f"Set {set_to}", bold=True))
    return svg(width, height + 18, f"The stop, {set_to}, as a sum of its terms", parts)


def drift_picture(schedule, tolerance, display=_MILLIMETRES, width=360):
    """Return the depth error of hole after hole, touched off again and not, as SVG.

    Parameters
    ----------
    schedule : Schedule
        Its ``drift_mm`` is without touching off again; with it there is none.
    tolerance : Tolerance
        Of the drawing's depth.
    display : Display
        Millimetres or inches.
    width : float
        Of the picture [pixels].

    Notes
    -----
    Empty for a single hole. At most the first eight holes.
    """
    drift = schedule.drift_mm[:_MOST_HOLES]
    if len(drift) < 2:
        return ""
    plus, minus = tolerance.depth_plus_mm, tolerance.depth_minus_mm
    low, high = min(float(drift.min()), -minus) * 1.1, plus * 1.4
    left, top, tall = 74, 30, 150

    def x(n):
        return left + (width - left - 20) * n / (len(drift) - 1)

    def y(mm):
        return top + tall * (high - mm) / (high - low)

    band = [
        (left - 6, y(plus)),
        (width - 8, y(plus)),
        (width - 8, y(-minus)),
        (left - 6, y(-minus)),
    ]
    parts = [path(band, "#efefef", GREY, 0.8, name="tolerance"),
             text(8, 16, "depth error of hole after hole")]  # fmt: skip
    for mm in (plus, 0.0, -minus, float(drift.min())):
        sign = "+" if mm > 0 else "−" if mm < 0 else ""
        words = f"{sign}{display.size_text(abs(mm), _STEP_MM)}"
        if mm in (0.0, float(drift.min())) or abs(y(mm) - y(0.0)) > _LINE:
            parts.append(text(left - 10, y(mm) + 4, words, "end"))
    line = [(x(n), y(float(mm))) for n, mm in enumerate(drift)]
    parts.append(path(line, "none", ORANGE, 2, closed=False, dash="5 3", name="not touched"))
    parts.append(path([(x(0), y(0)), (x(len(drift) - 1), y(0))], "none", INK, 2.5, closed=False,
                      name="touched"))  # fmt: skip
    for n in range(len(drift)):
        parts.append(text(x(n), top + tall + 18, f"{n + 1}", "middle"))
    last = top + tall + 36
    parts.append(text(8, last, "touched off anew each time: solid line", colour=INK))
    parts.append(text(8, last + 18, "one touch-off for all: dashed line", colour=ORANGE))
    return svg(width, last + 26, "Depth error of hole after hole", parts)
