"""What the finder says: the setting it took, the next best, what is left out or in the way."""

from html import escape

import numpy as np

from edmkit.finder.bars import LIMITS, OTHER_LIFT_SAID
from edmkit.words import three, two

_DIALS = (("current", "peak_current_A"), ("on", "on_time_us"), ("off", "off_time_us"),
          ("open voltage", "open_voltage_V"))  # fmt: skip


def dialled(choice, open_voltage=True):
    """Return what is dialled in a line: current 3, on 6, off 4, open voltage low."""
    shown = _DIALS if open_voltage else _DIALS[:3]
    return ", ".join(f"{word} {choice.labels[name]}" for word, name in shown)


def _sure(chance):
    if chance > 0.995:
        return "surely"
    return "hardly" if chance < 0.01 else f"{two(100 * chance)} % sure"


def chances(choice, limits):
    """Return each limit with its chance in words; a meter's only where it is in doubt."""
    parts = []
    for limit in limits:
        chance = choice.chances[limit.name]
        if limit.name in LIMITS or chance < 0.995:
            side = "from" if limit.above else "up to"
            value = f"{three(limit.value)} {limit.unit}"
            parts.append(f"{limit.word} {side} {value}: {_sure(chance)}")
    said = "; ".join(parts)
    return said[:1].upper() + said[1:]


def _ended(said):
    return f"{said}." if said else ""


def counted(found):
    """Return how many settings were looked at and what became of them, in a sentence."""
    lifts = found.left_out.get(OTHER_LIFT_SAID, 0)
    left = sum(found.left_out.values()) - lifts
    text = f"Of {found.looked_at - lifts} settings {left} are left out"
    if found.limits:
        text += f", {found.missed} miss a limit and {found.met} meet them"
    return f"{text}."


def taken(found, choice):
    """Return as HTML what was put on the page.

    Parameters
    ----------
    found : Found
        What was found.
    choice : Choice
        The one of them that was taken.
    """
    first = choice is found[0]
    minutes, first = choice.minutes, choice is found[0]
    what = "the fastest that meets the limits" if found.limits else "the fastest"
    lines = [
        f"It is {what}." if first else slower(choice),
        f"About {three(minutes.likely)} min ({two(minutes.low)} to {two(minutes.high)}).",
        _ended(chances(choice, found.limits)),
        counted(found),
    ]
    dials = f'<div class="edm-value">Set now: {escape(dialled(choice))}</div>'
    return f'<div class="edm-pinned">{dials}{escape(" ".join(filter(None, lines)))}</div>'


def slower(choice):
    """Return how much longer than the fastest a choice takes, with its band."""
    over = choice.over_fastest
    return (
        f"It takes {two(over.likely)} times as long as the fastest, between {two(over.low)} and "
        f"{two(over.high)}."
    )


def beside(choice, first, limits):
    """Return another choice as HTML, in two lines.

    Parameters
    ----------
    choice, first : Choice
        The one shown, and the fastest.
    limits : sequence of Limit
        What was asked for.
    """
    over = choice.over_fastest
    if choice is first:
        time = "the fastest"
    else:
        time = f"{two(over.likely)} times as long, between {two(over.low)} and {two(over.high)}"
    burn = choice.burn
    wear = burn.relative_wear_percent.likely
    does = f"Ra {two(burn.roughness_Ra_um.likely)} µm" + (
        f", wear {two(wear)} %" if np.isfinite(wear) else ", no wear figure")  # fmt: skip
    alike = f"; {choice.alike} more do much the same" if choice.alike else ""
    sure = f"; {two(100 * choice.chance)} % sure" if limits else ""
    return (
        f"<b>{escape(dialled(choice))}</b><br>"
        f'<span class="edm-note">{escape(f"{time}; {does}{sure}{alike}.")}</span>'
    )


def in_the_way(found):
    """Return as HTML why nothing was found, and which setting comes nearest.

    Parameters
    ----------
    found : Found
        An empty one.
    """
    items = "".join(f"<li>{escape(short.said)}</li>" for short in found.shortfalls)
    near = f"The nearest is {dialled(found.nearest)}."
    near = " ".join(filter(None, (near, _ended(chances(found.nearest, found.limits)))))
    said = f"<b>No setting does it.</b><ul>{items}</ul>{escape(near)} {escape(counted(found))}"
    return f'<div class="edm-watch">{said}</div>'


def left_out(found):
    """Return the reasons with their counts as an HTML table.

    Parameters
    ----------
    found : Found
        What was found.
    """
    rows = "".join(
        f"<tr><td><b>{count}</b></td><td>{escape(said)}</td></tr>"
        for said, count in found.left_out.items()
    )
    note = "Each setting is counted once, at the first reason that holds."
    return f'<table class="edm-table">{rows}</table><div class="edm-note">{note}</div>'
