"""What the page says of a hole's flushing, in HTML: the word, the flow, which knob first."""

from html import escape

from edmkit.flushing.flushing_words import MOST_kPa, headline, moves_of, too_strong
from edmkit.flushing.knobs import FIRST
from edmkit.flushing.window import ENOUGH, LITTLE, MUCH, metal_mg
from edmkit.panels.answers import band, tile
from edmkit.words import three, two

_CHANCES = ((LITTLE, "too little"), (ENOUGH, "enough"), (MUCH, "too much"))


def _debris(window):
    debris = window.debris
    return f"{two(100 * debris.low / window.most)} to {two(100 * debris.high / window.most)} %"


def _metal(window):
    return f"{two(100 * window.metal_share)} % of the fluid that leaves is metal."


def _renewal(window):
    seconds = window.renewal_s
    if seconds < 0.9:
        return three(1000 * seconds), "ms"
    return (three(seconds), "s") if seconds < 1e6 else ("never", "")


def _pressures(window):
    """Return the range of pressures in words; nothing where no pressure drives fluid."""
    if not window.pressures_kPa:
        return ""
    least, most = window.pressures_kPa
    most = min(most, window.strongest_kPa, MOST_kPa)
    if least >= most:
        return "No pressure there is keeps the gap clear here."
    span = f"Any up to {two(most)}" if least < 0.1 else f"{two(least)} to {two(most)}"
    return f"{span} kPa keeps the gap between clogging and starving. {too_strong(window)}"


def tiles(window):
    """Return the answer on the flushing of a hole as HTML.

    Parameters
    ----------
    window : Window
        Of the hole.
    """
    flow = window.flow_ml_per_min
    chances = ", ".join(f"{words} {100 * window.chances[name]:.0f}" for name, words in _CHANCES)
    passes = band(flow, "ml a minute") if flow.likely else "nothing passes"
    meters = f"; the {window.meter} holds back the most" if window.meter else ""
    parts = [
        tile("Likely", headline(window).split(",")[0], "",
             f"of 100 such burns: {chances}. {_pressures(window)}", "edm-first"),
        tile("Flow through the gap", two(flow.likely), "ml a minute", f"{passes}{meters}"),
        tile("Debris, of what clogs this gap", two(100 * window.debris.likely / window.most), "%",
             f"{_debris(window)}; at 100 one spark in ten is an arc. {_metal(window)}"),
        tile("The gap is renewed every", *_renewal(window),
             f"it holds {three(window.content_mm3)} mm³"),
    ]  # fmt: skip
    if window.force_N:
        pulls = "pulls them together" if window.kind == "suction" else "pushes them apart"
        parts.append(tile("Force on work and electrode", two(window.force_N), "N", pulls))
    return f'<div class="edm-tiles">{"".join(parts)}</div>'


def rests_on(window, hole, fluid, display):
    """Return what the answer rests on, as an HTML table.

    Parameters
    ----------
    window, hole : Window, Hole
        The flushing, and the hole.
    fluid : Warm
        The fluid as warm as it is.
    display : Display
        Millimetres or inches.
    """
    burn, fine, unit = hole.burn, display.fine, display.fine_unit
    rate, work, tool = burn.removal_rate_mm3_per_min, *metal_mg(hole)
    rows = [
        (fluid.name, f"{three(1000 * fluid.viscosity)} mPa s, {three(fluid.density)} kg/m³"),
        *((f"gap {where}", f"{three(fine(gap.likely))} {unit}, {band(gap, unit, fine)}")
          for where, gap in (("in front", burn.gap_front_um), ("at the side", burn.gap_side_um))),
        *((f"the {name} holds back", f"{two(100 * share)} % of the pressure")
          for name, share in window.shares.items()),
        ("metal removed while burning", f"{three(display.rate(rate.likely))} {display.rate_unit}, "
         f"{band(rate, display.rate_unit, display.rate)}"),
        ("debris that the gap bears", f"{two(window.most)} times 2 % of the fluid (assumed)"),
        ("debris that sparks need", f"{two(window.least)} times 2 % of the fluid (assumed)"),
        ("one hole leaves in the fluid", f"{two(work)} mg of {burn.setup.work.name.split(',')[0]}, "
         f"{two(tool)} mg of the electrode"),
    ]  # fmt: skip
    cells = "".join(f"<tr><td>{escape(a)}</td><td>{escape(b)}</td></tr>" for a, b in rows)
    return f'<table class="edm-table">{cells}</table>'


def moves(window):
    """Return which way to move as HTML.

    Parameters
    ----------
    window : Window
        Of the hole.
    """
    ways = moves_of(window)
    if not ways:
        return ""
    items = "".join(f"<li>{escape(way)}</li>" for way in ways)
    return f'<ol class="edm-watch" aria-label="Which way to move">{items}</ol>'


def knob_table(turned, arcs_now):
    """Return what one notch of each knob does as HTML.

    Parameters
    ----------
    turned : tuple of Turn
        In the order in which to try them.
    arcs_now : float
        Share of arcs among the sparks as it stands [-].
    """
    rows = "".join(
        f"<tr><td>{number}. <b>{escape(turn.knob.do)}</b><br>to {escape(turn.to)}</td>"
        f"<td>{_of_100(turn.arcs)}</td><td>×{two(turn.minutes)}</td>"
        f"<td>{escape(turn.knob.reason)}</td></tr>"
        for number, turn in enumerate(turned, 1)
    )
    heads = "".join(f"<th>{w}</th>" for w in ("one position", "arcs of 100", "time", "because"))
    return (
        f'<div class="edm-band">{escape(FIRST)} Then one knob at a time, from the top. Now '
        f"{_of_100(arcs_now)} of 100 sparks are arcs.</div>"
        f'<table class="edm-table edm-knobs"><tr>{heads}</tr>{rows}</table>'
        '<div class="edm-note">Which way a knob works is known; how far is not: no constant behind '
        "these arcs was measured.</div>"
    )


def _of_100(share):
    return "under 0.1" if share < 0.001 else two(100 * share)
