"""What a running burn says, as HTML: minutes left, rate, progress, a word of warning."""

import re
import time
from html import escape

from edmkit.panels.answers import band, tile
from edmkit.words import three, two

_DIAL_MM = 0.01
_NEAR = 1.0  # minutes from the plan that are not worth a word
_NOTE = (
    "Large: the likely value. Below it: nine times in ten the true value lies between these. "
    "Readings closer together than 0.1 mm of the dial teach little."
)


def tiles(burn, display):
    """Return the answers of a running burn.

    Parameters
    ----------
    burn : RunningBurn
        While it runs.
    display : Display
        Millimetres or inches.
    """
    seen = burn.watch
    rate, unit = seen.rate, display.rate_unit
    depth = display.size_text(max(seen.depth_mm, 0.0), _DIAL_MM)
    reach = display.size_text(seen.course.reach_mm, _DIAL_MM)
    parts = (
        ("Minutes left", *_left(burn), "edm-first"),
        ("Rate while burning", three(display.rate(rate.likely)), unit,
         band(rate, unit, display.rate), ""),
        ("Deep", depth, f"of {reach}",
         f"{two(100 * seen.share_of_volume)} % of the metal is gone; the dial stops at "
         f"{display.size_text(seen.track.stop_mm, _DIAL_MM)}", ""),
        ("Against the plan", *_behind(seen.minutes_behind),
         f"{three(seen.minutes)} minutes at {burn_readings(burn)}", ""),
    )  # fmt: skip
    return f'<div class="edm-tiles">{"".join(tile(*part) for part in parts)}</div>'


def note():
    """Return what the large numbers and the bands mean."""
    return f'<div class="edm-note">{_NOTE}</div>'


def burn_readings(burn):
    """Return how many readings there are, in words."""
    count = len([reading for reading in burn.readings if not reading.touched])
    return {0: "the start, no reading yet", 1: "1 reading"}.get(count, f"{count} readings")


def warnings(burn, display):
    """Return the sentences that ask for a look at the machine, and what was followed.

    Parameters
    ----------
    burn : RunningBurn
        While it runs.
    display : Display
        Millimetres or inches.
    """
    seen, said = burn.watch, []
    if seen.past_mm > 3 * _DIAL_MM:
        past = display.size_text(seen.past_mm, _DIAL_MM)
        said.append(f"The hole is {past} deeper than planned: stop and measure.")
    elif seen.reached:
        said.append("The depth is reached: measure, then press 'Burn is over'.")
    else:
        said += [word] if (word := seen.word(display)) else []
    return "".join(f'<div class="edm-watch">{escape(text)}</div>' for text in said)


def followed(burn, display):
    """Return which hole is followed, and since when.

    Parameters
    ----------
    burn : RunningBurn
        While it runs.
    display : Display
        Millimetres or inches.
    """
    plan = burn.plan
    size, depth = (display.size_text(v, _DIAL_MM)
                   for v in (plan.target_size_mm, plan.target_depth_mm))  # fmt: skip
    words = re.sub("(?<!^)([A-Z])", r" \1", plan.shape).lower()
    text = (
        f"Following the burn started at {_clock(burn.started)}: {words} {size}, {depth} deep. "
        "It keeps this hole and its readings, whatever changes on this page."
    )
    return f'<div class="edm-note">{escape(text)}</div>'


def _left(burn):
    """Return the minutes left, their unit, and the band with the time on the wall."""
    left = burn.watch.minutes_left
    if not left.likely:
        return "0", "min", "the depth is reached"
    ends = f"{two(left.low)} to {two(left.high)} min"
    last = burn.readings[-1].minutes if burn.readings else 0.0
    when = _clock(burn.started + 60 * (last + left.likely))
    return three(left.likely), "min", f"{ends} from the last reading; done about {when}"


def _behind(minutes):
    if abs(minutes) < _NEAR:
        return "on time", ""
    return three(abs(minutes)), "min behind" if minutes > 0 else "min ahead"


def _clock(seconds):
    return time.strftime("%H:%M", time.localtime(seconds))
