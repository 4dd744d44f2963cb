"""The answers of a page in words: large likely number, unit, band below."""

from html import escape

from edmkit.words import three, two

_ALIKE = 0.95  # ratios from here to its inverse are not worth a figure
_NOTE = (
    "Large: the likely value. Below it: nine times in ten the true value lies between these. "
    "Behind it stands one spark, solved as a heat problem: see Why? below."
)


def band(estimate, unit, scale=float):
    """Return 'between a and b unit' for an estimate, or why there is none."""
    if not estimate.likely == estimate.likely:
        return "burn a trial and measure it"
    if not estimate.spread:
        return "as set"
    return f"{two(scale(estimate.low))} to {two(scale(estimate.high))} {unit}"


def tile(title, value, unit, below, css=""):
    """Return one answer as HTML: its title, the large value with its unit, the line below."""
    return (
        f'<div class="edm-tile {css}"><div class="edm-title">{escape(title)}</div>'
        f'<div class="edm-big">{escape(value)} <small>{escape(unit)}</small></div>'
        f'<div class="edm-band">{escape(below)}</div></div>'
    )


def _minutes(estimate):
    """Return the likely time and its band, in minutes or in hours."""
    if estimate.likely < 240:
        return three(estimate.likely), "min", band(estimate, "min")
    return three(estimate.likely / 60), "h", band(estimate, "h", lambda v: v / 60)


def _with_unit(value, unit):
    return f"<b>{three(value)}</b> {unit if value == value else ''}"


def _share(share):
    return "hardly any" if share < 0.001 else f"{two(100 * share)} %"


def _worn(hole, display):
    """Return the length off the end, to the dial's resolution where it can be seen there."""
    machine, worn = hole.burn.setup.machine, hole.end_wear_mm.likely
    if machine is not None and worn >= machine.resolution.dial_mm:
        return display.size_text(worn, machine.resolution.dial_mm).split()[0]
    return three(display.length(worn))


def tiles(hole, display):
    """Return the answers to one hole at one setting as HTML."""
    burn, fine, unit = hole.burn, display.fine, display.fine_unit
    side, ra = burn.gap_side_um, burn.roughness_Ra_um
    volts, amps = burn.mean_voltage_V, burn.average_current_A
    parts = [
        tile("Minutes for this hole", *_minutes(hole.minutes), css="edm-first"),
        tile(
            "Hole over electrode",
            three(fine(2 * side.likely)),
            f"{unit} on diameter",
            f"{three(fine(side.likely))} per side, {band(side, unit, fine)}",
        ),
        tile(
            "Off the electrode's end",
            _worn(hole, display),
            f"{display.length_unit} per hole" if hole.burn.point.wear_law else "",
            band(hole.end_wear_mm, display.length_unit, display.length),
        ),
        tile(
            "Finish: hold against plate",
            f"{hole.plate}",
            f"Ra {three(display.rough(ra.likely))} {display.rough_unit}",
            f"VDI 3400 class {three(burn.finish_class.likely)}; "
            f"Ra {band(ra, display.rough_unit, display.rough)}",
        ),
        tile(
            "The meters should read",
            f"{three(volts.likely)} V",
            f"and {two(amps.likely)} A",
            f"{two(volts.low)} to {two(volts.high)} V and {two(amps.low)} to {two(amps.high)} A",
        ),
    ]
    if hole.dial_step_um is not None:
        step = hole.dial_step_um
        parts.append(
            tile("Dial step per lift", three(fine(step.likely)), unit, band(step, unit, fine))
        )
    return f'<div class="edm-tiles">{"".join(parts)}</div><div class="edm-note">{_NOTE}</div>'


def _heated(burn, unit, fine):
    """Return the rows of the depths that the heat changed; none for a metal it does not change."""
    rows = [
        ("hardened again, below the surface", burn.rehardened_um, unit, fine),
        ("softened, below the surface", burn.tempered_um, unit, fine),
    ]
    return [row for row in rows if row[1].likely == row[1].likely]


def _duty_words(burn):
    return "duty factor as dialled" if burn.point.states else "share of the time that sparks burn"


def details(hole, display):
    """Return the answers that stand folded, as an HTML table."""
    burn, fine, unit = hole.burn, display.fine, display.fine_unit
    rows = [
        ("removal while burning", burn.removal_rate_mm3_per_min, display.rate_unit, display.rate),
        ("electrode wear by volume", burn.relative_wear_percent, "%", float),
        ("roughness Rz", burn.roughness_Rz_um, display.rough_unit, display.rough),
        ("roughness Rt", burn.roughness_Rt_um, display.rough_unit, display.rough),
        ("recast (white) layer, mean", burn.recast_um, unit, fine),
        *_heated(burn, unit, fine),
        ("gap in front", burn.gap_front_um, unit, fine),
        ("crater radius", burn.crater_radius_um, unit, fine),
        ("crater depth", burn.crater_depth_um, unit, fine),
        ("current of the spark", burn.peak_current_A, "A", float),
        ("energy of one spark", burn.pulse_energy_mJ, "mJ", float),
        ("sparks per second", burn.frequency_kHz, "thousand", float),
        (_duty_words(burn), burn.duty_factor_percent, "%", float),
        ("mean current density", burn.current_density_A_per_cm2, "A/cm²", float),
    ]
    cells = "".join(
        f"<tr><td>{escape(name)}</td><td>{_with_unit(scale(value.likely), unit_)}</td>"
        f"<td>{escape(band(value, unit_, scale))}</td></tr>"
        for name, value, unit_, scale in rows
    )
    shares = burn.point.states
    states = ""
    if shares is not None:
        words = ("spark well", "stay open", "arc", "short")
        numbers = (shares.normal, shares.open, shares.arcing, shares.shorted)
        listed = ", ".join(f"{_share(n)} {w}" for n, w in zip(numbers, words, strict=True))
        states = (
            f'<div class="edm-note">Of a hundred pulses at this gap: {escape(listed)}. '
            "This part shows direction, not figures.</div>"
        )
    return f'<table class="edm-table">{cells}</table>{states}'


def warnings(sentences):
    """Return what to watch as an HTML list; empty where there is nothing to say."""
    if not sentences:
        return ""
    items = "".join(f"<li>{escape(s)}</li>" for s in sentences)
    return f'<ul class="edm-watch" aria-label="What to watch">{items}</ul>'


def _times(estimate, more, less=""):
    """Return 'about 1.4 times <more>, between 1.2 and 1.7'; turned round below 1 for <less>."""
    low, likely, high = estimate.low, estimate.likely, estimate.high
    if not likely == likely:
        return ""
    if low > _ALIKE and high < 1 / _ALIKE:
        return "hardly any difference"
    if less and likely < 1:
        low, likely, high, more = 1 / high, 1 / likely, 1 / low, less
    return f"about {two(likely)} times {more}, between {two(low)} and {two(high)}"


def comparison(name, speed, change):
    """Return the present setting against the pinned one, in words.

    Parameters
    ----------
    name : str
        The pinned setting.
    speed : Estimate
        Minutes pinned over minutes present.
    change : Change
        Present over pinned.
    """
    lines = [
        ("time", _times(speed, "as fast", "as long")),
        ("finish", _times(change.roughness_Ra, "as rough")),
        ("hole over electrode", _times(change.gap_side, "as wide")),
        ("electrode lost", _times(change.relative_wear, "as much")),
    ]
    items = "".join(f"<li><b>{escape(w)}:</b> {escape(t)}</li>" for w, t in lines if t)
    return (
        f'<div class="edm-pinned">Now against the pinned setting ({escape(name)}):'
        f"<ul>{items}</ul></div>"
    )
