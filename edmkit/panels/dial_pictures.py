"""The pictures of page 01: where the meter goes, where the phone lies, how pulses look."""

from math import cos, sin

from edmkit.planning.svg import BLUE, GREY, INK, METAL, ORANGE, path, svg, text

_WIDE, _HIGH = 320, 224
_FLUID = "#eef4f8"
_UP, _DOWN = 112, 160  # where the electrode ends; the work's top is at _DOWN
_AXIS = 186  # of electrode and head


def _wire(*points, colour=INK, width=1.8, dash=""):
    return path(points, "none", colour, width, closed=False, dash=dash)


def _box(x, y, wide, high, *lines, fill="#ffffff", line=INK, name="", bold=False):
    """Return a rectangle with lines of words in its middle."""
    corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
    first = y + high / 2 + 5 - 7.5 * (len(lines) - 1)
    words = [text(x + wide / 2, first + 15 * n, word, "middle", bold)
             for n, word in enumerate(lines)]  # fmt: skip
    return path(corners, fill, line, 1.6, name=name) + "".join(words)


def _machine(ends, under, ammeter=False, fluid=True):
    """Return generator, head, electrode, work in its tank, and the two leads."""
    tank = [(118, 104), (118, 208), (262, 208), (262, 104)]
    wet = [(118, 122), (262, 122), (262, 208), (118, 208)]
    top, lead = 30, 91 if ammeter else _AXIS - 26
    parts = [
        path(wet, _FLUID, "none", name="fluid") if fluid else "",
        path(tank, "none", INK, 2, closed=False, name="tank"),
        _wire((46, 92), (46, top), (lead, top)),
        _wire((150, top), (_AXIS - 26, top)) if ammeter else "",
        _wire((88, 134), (106, 134), (106, 96), (127, 96), (127, 175), (136, 175)),
        _box(6, 92, 82, 54, "generator", name="generator"),
        _box(_AXIS - 26, 14, 52, 30, "head", fill=METAL, name="head"),
        path([(_AXIS - 8, 44), (_AXIS + 8, 44), (_AXIS + 8, ends), (_AXIS - 8, ends)],
             METAL, INK, 1.6, name="electrode"),
        _box(136, _DOWN, 100, 30, under, fill=METAL, name="work"),
    ]  # fmt: skip
    if ammeter:
        parts.append(_box(91, 12, 59, 36, "amps", line=BLUE, name="meter", bold=True))
    return parts


def _pressed(ammeter):
    """Return the machine with the electrode down on scrap and the word that it is pressed."""
    push = [(_AXIS + 22, 62), (_AXIS + 22, 92)]
    tip = [(_AXIS + 16, 82), (_AXIS + 22, 94), (_AXIS + 28, 82)]
    return [
        *_machine(_DOWN, "scrap", ammeter),
        _wire(*push, width=2.2), _wire(*tip, width=2.2), text(_AXIS + 34, 82, "pressed"),
    ]  # fmt: skip


def electrode_up():
    """Return the electrode hanging free and a voltmeter across it and the work, as SVG."""
    parts = [
        *_machine(_UP, "work"),
        _wire((_AXIS + 8, 60), (291, 60), (291, 76), colour=BLUE),
        _wire((266, 96), (249, 96), (249, 175), (236, 175), colour=BLUE),
        _box(266, 76, 50, 36, "volts", line=BLUE, name="meter", bold=True),
        text(_AXIS, 144, "touches nothing", "middle"),
        text(_AXIS + 34, 32, "electrode up"),
    ]
    label = "Electrode up, touching nothing; voltmeter between electrode and work"
    return svg(_WIDE, _HIGH, label, parts)


def pressed_on_scrap():
    """Return the electrode pressed on scrap and an ammeter in its lead, as SVG."""
    label = "Electrode pressed firmly on scrap; ammeter in the lead from the generator to the head"
    parts = [*_pressed(ammeter=True), text(104, 66, "in the", "middle"),
             text(104, 81, "lead", "middle")]  # fmt: skip
    return svg(_WIDE, _HIGH, label, parts)


def _arc(x, y, size):
    """Return a quarter of a ring that opens to the left, as sound is drawn."""
    turns = (-0.7 + 0.14 * n for n in range(11))
    return _wire(*((x + size * cos(t), y + size * sin(t)) for t in turns), colour=BLUE, width=1.4)


def phone_beside():
    """Return a phone lying dry beside the tank while the electrode is pressed, as SVG."""
    heard = [_arc(_AXIS + 26, 140, size) for size in (16, 24, 32)]
    parts = [
        *_pressed(ammeter=False),
        *heard,
        _box(274, 122, 40, 68, "rec", line=BLUE, name="phone", bold=True),
        _wire((288, 184), (300, 184), colour=BLUE),
        text(294, 114, "phone", "middle"),
        text(294, 206, "dry", "middle"),
    ]
    return svg(_WIDE, _HIGH, "Phone recording, dry beside the tank, electrode pressed", parts)


def resistor_between():
    """Return a resistor on a brick between electrode and work, ammeter in the lead, as SVG."""
    parts = [
        *_machine(_UP, "work", ammeter=True),
        _wire((_AXIS + 8, 60), (316, 60), (316, 114), (312, 114), colour=ORANGE, width=2.2),
        _wire(
            (236, 175),
            (249, 175),
            (249, 96),
            (267, 96),
            (267, 114),
            (274, 114),
            colour=ORANGE,
            width=2.2,
        ),
        _box(274, 106, 38, 16, line=ORANGE, name="resistor"),
        _box(268, 122, 48, 24, "brick", line=GREY, name="brick"),
        text(_AXIS + 34, 32, "resistor, hot", colour=ORANGE),
        text(_AXIS, 144, "touches nothing", "middle"),
    ]
    label = "Resistor on a brick between electrode and work, electrode up; ammeter in the lead"
    return svg(_WIDE, _HIGH, label, parts)


def _train(left, right, floor, top, on, period):
    """Return the points of pulses of a length, drawn from left to right."""
    points, x = [(left, floor)], left + 6.0
    while x + on <= right:
        points += [(x, floor), (x, top), (x + on, top), (x + on, floor)]
        x += period
    return [*points, (right, floor)]


def _axes(floor, top, word):
    """Return an axis up and one along, with the quantity and time."""
    return [
        _wire((34, top - 6), (34, floor), (306, floor), colour=GREY, width=1.2),
        text(30, top + 8, word, "end"),
        text(306, floor + 15, "time", "end"),
    ]


def two_kinds():
    """Return voltage against time, electrode up, of the two kinds of generator, as SVG."""
    upper, lower = (104, 44), (212, 152)
    mean = lower[0] - (lower[0] - lower[1]) * 0.6
    parts = [
        text(8, 18, "On-time from breakdown:", bold=True),
        text(8, 34, "the voltmeter shows all of the volts"),
        *_axes(*upper, "V"),
        _wire((34, upper[1]), (306, upper[1]), colour=BLUE, width=2.6),
        text(8, 128, "Fixed period:", bold=True),
        text(8, 144, "it shows volts × on ÷ (on + off)"),
        *_axes(*lower, "V"),
        _wire(*_train(34, 306, *lower, 33, 55), width=1.8),
        _wire((34, mean), (306, mean), colour=BLUE, width=2.6, dash="7 4"),
    ]
    label = (
        "Voltage against time with the electrode up. From breakdown: steady, the voltmeter shows "
        "all of it. Fixed period: on and off, the voltmeter shows the mean."
    )
    return svg(_WIDE, 232, label, parts)


def mean_of_pulses():
    """Return current pulses and their mean, which the ammeter shows, as SVG."""
    floor, top = 150, 66
    mean = floor - (floor - top) * 0.6
    parts = [
        text(8, 18, "Pressed on scrap the ammeter shows", bold=True),
        text(8, 34, "full amps × on ÷ (on + off)", bold=True),
        *_axes(floor, top, "A"),
        _wire(*_train(34, 306, floor, top, 42, 70)),
        _wire((34, mean), (306, mean), colour=BLUE, width=2.6, dash="7 4"),
        text(61, top - 8, "on", "middle"),
        text(96, floor - 8, "off", "middle"),
        text(_WIDE - 8, top - 8, "full amps", "end"),
    ]
    label = "Current pulses; the ammeter shows their mean: full amps times on over on plus off"
    return svg(_WIDE, 174, label, parts)


# What a step of the page shows, by the name the page asks for.
PICTURES = {
    "electrode up": electrode_up,
    "pressed": pressed_on_scrap,
    "phone": phone_beside,
    "resistor": resistor_between,
    "two kinds": two_kinds,
    "mean": mean_of_pulses,
}
