"""What this shop's constants are, in words: each beside what was known before any trial."""

from html import escape

from edmkit.estimate import BAND
from edmkit.words import three, two

_SAID = {
    "removal_rate": ("It burns", "times as fast as the physics alone says"),
    "relative_wear": ("The electrode wears", "times as much"),
    "gap_side": ("The side gap is", "times as wide"),
    "gap_front": ("The gap in front is", "times as wide"),
    "roughness_Ra": ("The surface is", "times as rough"),
    "recast": ("The recast layer is", "times as thick"),
}
_AXES = ("the current", "the on-time", "the area")


def tiles(constants):
    """Return a shop's constants as HTML tiles.

    Parameters
    ----------
    constants : sequence of Constant
        From `edmkit.trials.beside.constants`.
    """
    found = []
    for one in constants:
        start, end = _SAID[one.quantity]
        burns = "1 burn" if one.burns == 1 else f"{one.burns} burns"
        found.append(
            f'<div class="edm-tile"><div class="edm-title">{start}</div>'
            f'<div class="edm-big">{three(one.now.likely)} <small>{end}</small></div>'
            f'<div class="edm-band">{_ends(one.now)} from {burns}; before any trial '
            f"{_ends(one.before)}. One burn differs from the next by a factor of up to "
            f"{two(one.noise)}.</div></div>"
        )
    return f'<div class="edm-tiles edm-one">{"".join(found)}</div>'


def _ends(estimate):
    return f"{two(estimate.low)} to {two(estimate.high)}"


def slopes(constants):
    """Return how a shop's constants follow the settings, as an HTML table.

    Parameters
    ----------
    constants : sequence of Constant
        From `edmkit.trials.beside.constants`.
    """
    rows = []
    for one in constants:
        cells = "".join(
            f"<td>{_signed(round(mean, 2))} ± {two(BAND * spread)} "
            f"(before ± {two(BAND * prior)})</td>"
            for mean, spread, prior in one.slopes
        )
        words = _SAID[one.quantity][0]
        rows.append(f"<tr><td>{escape(words)} ...</td>{cells}</tr>")
    heads = "".join(f"<th>with {axis}</th>" for axis in _AXES)
    return (
        '<div class="edm-note">Each factor grows as a power of current, on-time and area beyond '
        "what the physics says; 0 means just as the physics has it.</div>"
        f'<table class="edm-table edm-slopes"><tr><th></th>{heads}</tr>{"".join(rows)}</table>'
    )


def _signed(value):
    text, sign = two(abs(value)), "+" if value > 0 else "\N{MINUS SIGN}"
    return text if text == "0" else sign + text
