"""A meter as a flat scale: a straight line with numbers, a pointer and what it points at."""

from edmkit.planning.svg import BLUE, INK, ORANGE, svg, text
from edmkit.plots.scale import marks as numbers
from edmkit.words import three

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _LINE = 420, 96, 16, 396, 62


def _stroke(x, top, bottom, colour=INK, width=1.5):
    return (
        f'<path d="M{x:.1f},{top} V{bottom}" stroke="{colour}" stroke-width="{width}" fill="none"/>'
    )


def _side(x):
    """Return which way words at a place run, so that they stay in the picture."""
    return "start" if x < _LEFT + 60 else "end" if x > _RIGHT - 60 else "middle"


def flat_scale(title, value, top, unit, marks=()):
    """Return a straight horizontal scale with a pointer, as SVG.

    Parameters
    ----------
    title : str
        What is measured.
    value : float or None
        Where the pointer stands; None draws no pointer. Beyond the end it stands there and says
        so in words.
    top : float
        End of the scale, which starts at 0.
    unit : str
        Its unit.
    marks : sequence of (float, str)
        Values named under the scale, such as what is expected.
    """

    def at(number):
        return _LEFT + (_RIGHT - _LEFT) * min(max(number / top, 0.0), 1.0)

    beyond = ", beyond the scale" if value is not None and value > top else ""
    said = "no reading" if value is None else f"{three(value)} {unit}{beyond}"
    parts = [text(_LEFT, 16, title), text(_RIGHT, 16, said, "end", bold=True)]
    parts.append(f'<path d="M{_LEFT},{_LINE} H{_RIGHT}" stroke="{INK}" stroke-width="2"/>')
    for number in numbers(top):
        parts.append(_stroke(at(number), _LINE, _LINE + 6))
        parts.append(text(at(number), _LINE + 20, three(number), "middle"))
    for number, words in marks:
        x = at(number)
        parts.append(_stroke(x, _LINE - 20, _LINE, ORANGE, 2.5))
        parts.append(text(x, _LINE - 24, words, _side(x), colour=ORANGE))
    if value is not None:
        x = at(value)
        parts.append(
            f'<path data-part="pointer" d="M{x:.1f},{_LINE} l-7,-16 h14 z" fill="{BLUE}"/>'
        )
    named = "".join(f"; {words}: {three(number)} {unit}" for number, words in marks)
    return svg(_WIDTH, _HEIGHT, f"{title}: {said}{named}", parts)
