"""The insert of a suction electrode as it is filed: its end, and its side."""

from dataclasses import dataclass

import numpy as np

from edmkit.planning.electrode import readings
from edmkit.planning.svg import (
    BLUE,
    GREY,
    HATCH,
    HATCHED,
    INK,
    METAL,
    arrow,
    outline,
    path,
    svg,
    text,
)
from edmkit.words import Display

_MILLIMETRES = Display()
_SIDE_VIEW_PX = 250  # narrower, only the end is drawn
_LINE = 17


@dataclass(frozen=True)
class _End:
    """Places of the end view: millimetres from the axis to pixels."""

    x0: float
    y0: float
    scale: float

    def at(self, points):
        """Return points in pixels, from complex numbers of mm."""
        return [(self.x0 + self.scale * p.real, self.y0 - self.scale * p.imag) for p in points]


def _filed(tube):
    """Return the outline of the filed insert from its end, complex [mm]."""
    radius, distance = tube.insert / 2, tube.insert / 2 - tube.flat_depth
    half = np.arccos(distance / radius)
    step = 2 * np.pi / tube.flats
    arcs = [n * step + np.linspace(half, step - half, 41) for n in range(tube.flats)]
    return radius * np.exp(1j * np.concatenate(arcs))


def filing(tube, *, display=_MILLIMETRES, width=360, height=200):
    """Return a filed insert in its bore with what a micrometer reads over it, as SVG.

    Parameters
    ----------
    tube : InsertTube
        The electrode.
    display : Display
        Millimetres or inches.
    width, height : float
        Of the picture; below 250 wide only the end is drawn [pixels].

    Notes
    -----
    The end view is to scale; the side view shows the flats' length as a number only.
    """
    beside = width >= _SIDE_VIEW_PX
    room = width * 0.44 if beside else width
    under = 3 * _LINE + 12 if beside else _LINE + 14
    half = min(room - 8, height - under - 8) / 2
    end = _End(room / 2, 4 + half, half / (0.6 * tube.bore))
    parts = [HATCH, *_end_view(tube, end, half), *_reading(tube, end, half, display)]
    if beside:
        parts += _side_view(tube, room + 12, width - room - 12, height - under, display)
        parts += _words(tube, height, display)
    said = readings(tube)[-1]
    label = f"The filed insert: {said.words} {display.size_text(said.mm, 0.01)}"
    return svg(width, height, label, parts)


def _end_view(tube, end, half):
    turn = np.exp(1j * np.linspace(0, 2 * np.pi, 121))
    metal = [end.at(min(0.6 * tube.bore, tube.d / 2) * turn), end.at(tube.bore / 2 * turn)]
    return [
        outline(metal, METAL, GREY, 0.8, name="tube"),
        outline([end.at(tube.bore / 2 * turn)], "#ffffff", INK, 1.5, name="bore"),
        outline([end.at(_filed(tube))], HATCHED, BLUE, 1.8, name="insert"),
    ]


def _across(tube):
    """Return the two ends of what the micrometer spans, from the axis [mm]."""
    flat = tube.insert / 2 - tube.flat_depth
    return (-flat if tube.flats % 2 == 0 else -tube.insert / 2), flat


def _reading(tube, end, half, display):
    """Return the dimension line of the micrometer's reading with its number."""
    y = end.y0 + half + 8
    x0, x1 = (end.x0 + end.scale * mm for mm in _across(tube))
    drops = [path([(x, end.y0), (x, y + 4)], "none", INK, 0.6, closed=False) for x in (x0, x1)]
    said = display.size_text(readings(tube)[-1].mm, 0.01)
    return [*drops, arrow(x0, y, x1, y), text(end.x0, y + _LINE, said, "middle", bold=True)]


def _side_view(tube, left, wide, tall, display):
    """Return the tube cut open along its axis: an insert, its flats seen from their edge."""
    middle, scale = left + 0.32 * wide, 0.4 * wide / (1.2 * tube.bore)
    top, bottom, insert_top = 8.0, tall - 4, 8 + 0.22 * tall
    bore, wall = scale * tube.bore / 2, scale * 0.6 * tube.bore
    low, high = (scale * mm for mm in _across(tube))
    parts = [
        path([(middle + side * x, y) for x, y in ((bore, top), (wall, top), (wall, bottom),
                                                  (bore, bottom))], METAL, INK, 1)
        for side in (-1, 1)
    ]  # fmt: skip
    insert = [(middle + x, y) for x, y in ((low, insert_top), (high, insert_top), (high, bottom),
                                        (low, bottom))]  # fmt: skip
    x = middle + wall + 14
    rules = [path([(middle + high, y), (x + 5, y)], "none", INK, 0.6, closed=False)
             for y in (insert_top, bottom)]  # fmt: skip
    long = display.size_text(tube.length, 0.1)
    number = text(x + 8, (insert_top + bottom) / 2 + 5, long, bold=True)
    return [*parts, path(insert, HATCHED, BLUE, 1.8, name="insert, side"), *rules,
            arrow(x, insert_top, x, bottom), number]  # fmt: skip


def _words(tube, height, display):
    over = readings(tube)[-1].words.removeprefix("insert, ")
    deep = display.size_text(tube.flat_depth, 0.01)
    flats = "1 flat" if tube.flats == 1 else f"{tube.flats} flats"
    insert, bore = (display.size_text(mm, 0.01) for mm in (tube.insert, tube.bore))
    said = (f"{over}: {flats}, {deep} deep", f"insert {insert} in a bore of {bore}")
    return [text(4, height - 6 - _LINE * (1 - n), words) for n, words in enumerate(said)]
