"""The plan in words: what to make, what to set, how long, how sure."""

from html import escape

from edmkit.checks import Refusal
from edmkit.panels.answers import band, tile
from edmkit.planning.drawing import pass_picture
from edmkit.planning.dressing import ORDERS
from edmkit.planning.inspection import pin_gauge, pin_reads_under_mm
from edmkit.planning.shapes import Round
from edmkit.words import three

_TITLES = {
    "rough": "Rough",
    "middle": "Middle",
    "finish": "Finish",
    "square the floor": "Square the floor",
    "pip": "Take the pip down",
}
_SWITCHES = {
    "peak_current_A": "Current",
    "on_time_us": "On-time",
    "off_time_us": "Off-time",
    "open_voltage_V": "Open voltage",
}


def clock(estimate):
    """Return a time as (number, unit, band): minutes, or hours from four on."""
    if float(estimate.likely) < 240:
        return three(estimate.likely), "min", band(estimate, "min")
    return three(estimate.likely / 60), "h", band(estimate, "h", lambda v: v / 60)


def title(pass_, alone=False):
    """Return a pass's number and what it does."""
    return "One pass" if alone else f"{pass_.number}. {_TITLES[pass_.kind]}"


def titles(plan):
    """Return the titles of a plan's passes."""
    return [title(p, len(plan.passes) == 1) for p in plan.passes]


def signed(value_mm, display, step_mm):
    """Return a length with its sign."""
    text = display.size_text(abs(value_mm), step_mm)
    return f"{'−' if value_mm < 0 else '+'} {text}"


def _percent(share):
    return "under 1" if share < 0.01 else "over 99" if share > 0.99 else f"{round(100 * share)}"


def tiles(plan, display):
    """Return what the whole hole and the batch take, and how sure depth and size are."""
    last, batch = plan.passes[-1], plan.batch
    parts = [tile("One hole on the clock", *_hole_time(plan), css="edm-first")]
    if batch.count > 1:
        many = f"All {batch.count} holes, changes and loading with them"
        parts.append(tile(many, *clock(plan.schedule.minutes)))
    parts.append(tile("Longest single burn", *clock(plan.schedule.longest_burn)))
    parts.append(tile("Spent lifting", _percent(plan.schedule.lift_share), "%",
                       "of the time on the clock"))  # fmt: skip
    parts.append(_depth_tile(plan, last, display))
    if plan.wall is not None:
        parts.append(_wall_tile(plan.wall, display))
    return f'<div class="edm-tiles">{"".join(parts)}</div>'


def _hole_time(plan):
    from edmkit.planning.dressing import together

    return clock(together([p.minutes for p in plan.passes]))


def _depth_tile(plan, last, display):
    if plan.chance is None:
        holds, step = last.stop.holds_mm, last.stop.resolution_mm
        tolerance = plan.tolerance.depth_minus_mm + plan.tolerance.depth_plus_mm
        asked = display.size_text(tolerance / 2, step)
        return tile(
            "Depth you can hold blind",
            f"± {display.size_text(max(holds, step), step)}",
            "nine times in ten",
            f"the drawing gives ± {asked}; what rules is the {last.stop.rules.name}. "
            "Burn one, measure it, type it in.",
        )
    chance = plan.chance
    return tile(
        "Chance that it comes right",
        _percent(chance.both),
        "%",
        f"depth {_percent(chance.depth)} %, size {_percent(chance.size)} %",
    )


def _wall_tile(wall, display):
    return tile(
        "Smallest wall left", display.size_text(wall.wall_mm, 0.01), "", wall.where
    )  # fmt: skip


def blocks(plan, display):
    """Return the passes as blocks side by side, each with its drawing."""
    made = "".join(
        _block(p, name, display) for p, name in zip(plan.passes, titles(plan), strict=True)
    )
    return f'<div class="edm-blocks">{made}</div>'


def _block(pass_, name, display):
    machine = pass_.setup.machine
    step = machine.resolution.stop_mm if machine else 0.01
    sizes = "".join(
        f'<div><span class="edm-title">{escape(reading.words)}</span> '
        f'<span class="edm-big">{escape(display.size_text(reading.mm, 0.01))}</span></div>'
        for reading in pass_.readings
    )
    time, unit, between = clock(pass_.minutes)
    positions = ", ".join(
        f"{word.lower()} <b>{escape(pass_.labels[name])}</b>" for name, word in _SWITCHES.items()
    )
    notes = [pass_.ramp.sentence(display), pass_.dressing.sentence(display, step),
             *pass_.notes, _pip_words(pass_, display)]  # fmt: skip
    lines = "".join(f"<li>{escape(note)}</li>" for note in notes if note)
    ra = pass_.burn.roughness_Ra_um
    rough = f"Ra about {three(display.rough(ra.likely))} {display.rough_unit}"
    return (
        f'<section class="edm-block"><h3>{escape(name)}</h3>'
        f'<div class="edm-block-top">{pass_picture(pass_)}<div>'
        f'<div class="edm-title">Make the electrode</div>{sizes}'
        f'<div class="edm-title">Set the stop</div><div class="edm-big">'
        f"{escape(display.size_text(pass_.stop.set_mm, step))}</div></div></div>"
        f'<div class="edm-label">Switches: {positions}</div>'
        f'<div class="edm-label"><b>{escape(time)} {unit}</b> ({escape(between)}); {rough}; '
        f"off the end {escape(_worn(pass_, display, step))}; corner left up to "
        f"{escape(display.size_text(pass_.corner_left_mm, 0.01))}</div>"
        f'<ul class="edm-note">{lines}</ul>'
        f'<details class="edm-note"><summary>How its size came about</summary>'
        f"{sizing(pass_, display)}</details></section>"
    )


def _pip_words(pass_, display):
    """Return that a pip stands, and what makes it harmless."""
    if pass_.pip is None:
        return ""
    across = display.size_text(pass_.pip.diameter_mm, 0.01)
    return f"A pip of {across} stands in the bore: {pass_.pip.remedies[0]}."


def _worn(pass_, display, step):
    worn = float(pass_.end_wear_mm.likely)
    if worn != worn:
        return "no figure: burn a trial"
    return display.size_text(worn, min(step, 0.01))


def sizing(pass_, display):
    """Return how an electrode's size came about, as HTML."""
    gap = pass_.burn.gap_side_um
    fine, unit = display.fine, display.fine_unit
    if pass_.sizing is None:
        between = band(gap, unit, fine)
        return f"The electrode at hand. Side gap {three(fine(gap.likely))} {unit}, {between}."
    rows = "".join(
        f"<tr><td>{escape(words)}</td><td>{three(fine(mm * 1000))} {unit} per side</td></tr>"
        for words, mm in pass_.sizing.terms
    )
    return (
        f'<table class="edm-table">{rows}</table>Side gap: {band(gap, unit, fine)}. Rounded down '
        "to the micrometer's step."
    )


def stop_table(stop, display):
    """Return the stop's terms with their signs and doubts, the trap in bold."""
    step = min(stop.resolution_mm, 0.01) / 10
    rows = []
    for term in stop.terms:
        if not term.value_mm and not term.spread_mm:
            continue
        trap = stop.trap is not None and term.name == stop.trap.name
        name = f"<b>{escape(term.name)} (the trap)</b>" if trap else escape(term.name)
        doubt = f"± {display.size_text(1.645 * term.spread_mm, step)}" if term.spread_mm else ""
        value = signed(term.value_mm, display, step)
        rows.append(
            f"<tr><td>{name}<br><span class='edm-note'>{escape(term.why)}</span></td>"
            f"<td style='white-space:nowrap'>{escape(value)}</td>"
            f"<td style='white-space:nowrap'>{escape(doubt)}</td></tr>"
        )
    set_to = display.size_text(stop.set_mm, stop.resolution_mm)
    holds = display.size_text(stop.holds_mm, step)
    rows.append(
        "<tr><td><b>Set the stop to, and the dial shows when it trips</b></td>"
        f"<td style='white-space:nowrap'><b>{escape(set_to)}</b></td>"
        f"<td style='white-space:nowrap'>± {escape(holds)}</td></tr>"
    )
    said = " ".join((stop.trap_sentence(display), stop.opposed_sentence(display))).strip()
    table = f'<table class="edm-table">{"".join(rows)}</table>'
    return f'<div class="edm-label">{escape(said)}</div>{table}'


def batch_words(plan, display):
    """Return how the batch runs, as an HTML list."""
    schedule, said = plan.schedule, list(plan.schedule.sentences(display))
    for p, name in zip(plan.passes, titles(plan), strict=True):
        used = display.size_text(p.dressing.length_mm, 0.1)
        needed = p.dressing.electrodes
        electrodes = "one electrode" if needed == 1 else f"{needed} electrodes"
        words = f"{name}: {used} of its length for the batch, {electrodes}"
        if p.dressing.dressings:
            more = p.dressing.dressings
            words += f", {more} dressing{'s' if more > 1 else ''}"
        if p.insert_used_mm is not None:
            words += "; of its insert as much"
        said.append(words + ".")
    if plan.batch.order == ORDERS[1] and schedule.dressings_saved:
        said.append(f"Saved against part by part: {schedule.dressings_saved} changes.")
    said.append(_gauge_words(plan, display))
    return "<ul class='edm-label'>" + "".join(f"<li>{escape(s)}</li>" for s in said) + "</ul>"


def _gauge_words(plan, display):
    """Return which pin to measure with, and what it reads."""
    shape, tolerance = plan.feature.shape, plan.tolerance
    rough = float(plan.passes[-1].burn.roughness_Rz_um.likely) / 1000
    under = f"{three(display.fine(1000 * pin_reads_under_mm(rough)))} {display.fine_unit}"
    rides = f"a pin rides on the peaks and reads about {under} small"
    if not isinstance(shape, Round):
        return f"Measuring: {rides}."
    try:
        pin = pin_gauge(shape.d, tolerance.size_minus_mm, tolerance.size_plus_mm)
    except Refusal as fault:
        return f"Measuring: {fault}"
    sizes = [display.size_text(mm, 0.001) for mm in (pin.go_mm, pin.no_go_mm)]
    return (
        f"Measuring: a pin of {sizes[0]} must go in, one of {sizes[1]} must not; class "
        f"{pin.grade} or finer. {rides[0].upper()}{rides[1:]}."
    )
