"""What page 06 says of two materials: tables of properties, answers, advice, cautions."""

from html import escape

from edmkit.words import three, two

_SAID = {"removal_rate": "removal", "roughness_Ra": "Ra", "relative_wear": "wear",
         "gap_side": "side gap"}  # fmt: skip


_SHOWN = 4  # electrodes that stand unfolded


def _short(material):
    return escape(material.name.split(",")[0])


def _head(*titles):
    return f"<tr>{''.join(f'<th>{title}</th>' for title in titles)}</tr>"


def properties(rows, known, new, sentences):
    """Return property beside property as HTML.

    Parameters
    ----------
    rows : sequence of Beside
        From `planning.material_beside.beside`.
    known, new : Material
        Whose they are.
    sentences : sequence of str
        What is said below, empty ones left out.
    """
    cells = "".join(
        f"<tr><td>{escape(row.name)}</td>"
        + "".join(
            f"<td><b>{three(v.value)}</b> {escape(row.unit.replace('-', ''))}<br>"
            f'<span class="edm-note">{three(v.low)} to {three(v.high)}</span></td>'
            for v in (row.known, row.new)
        )
        + f"<td>{escape(row.meaning)}</td></tr>"
        for row in rows
    )
    head = (
        f"<tr><th></th><th>{_short(known)}</th><th>{_short(new)}</th><th>so the new one</th></tr>"
    )
    notes = "".join(f'<div class="edm-watch">{escape(text)}</div>' for text in sentences if text)
    return f'<table class="edm-table edm-material">{head}{cells}</table>{notes}'


def _band(estimate, scale, unit):
    if not estimate.likely == estimate.likely:
        return "no figure: burn a trial"
    low, likely, high = (float(v) * scale for v in (estimate.low, estimate.likely, estimate.high))
    return (f"<b>{three(likely)}</b> {escape(unit)}<br>"
            f'<span class="edm-note">{two(low)} to {two(high)}</span>')  # fmt: skip


def answers(rows, known, new):
    """Return the answers of both materials at the same positions as HTML.

    Parameters
    ----------
    rows : sequence of (word, known, new, ratio, scale, unit)
        Estimates, and what turns them into the shown unit.
    known, new : Material
        Whose they are.
    """
    cells = "".join(
        f"<tr><td>{escape(word)}</td><td>{_band(one, scale, unit)}</td>"
        f"<td>{_band(other, scale, unit)}</td><td>{_times(ratio)}</td></tr>"
        for word, one, other, ratio, scale, unit in rows
    )
    head = (
        f"<tr><th></th><th>{_short(known)}</th><th>{_short(new)}</th><th>new over known</th></tr>"
    )
    note = ("Large: likely; below: nine times in ten between these. New over known leaves out "
            "what both share, your machine.")  # fmt: skip
    return (f'<table class="edm-table edm-material">{head}{cells}</table>'
            f'<div class="edm-note">{note}</div>')  # fmt: skip


def _times(ratio):
    if not ratio.likely == ratio.likely:
        return ""
    return (f"<b>{two(ratio.likely)}</b> times<br>"
            f'<span class="edm-note">{two(ratio.low)} to {two(ratio.high)}</span>')  # fmt: skip


def carries_over(rows, known, new, counts):
    """Return what the shop's burns teach of the new material, and what not, as HTML.

    Parameters
    ----------
    rows : sequence of Carried
        The four quantities.
    known, new : Material
        The materials.
    counts : tuple of int
        Burns of this machine in the book, and of those in the new material.
    """
    burns, own = counts
    if not burns:
        return _note(
            "No burn of this machine is in your trial book: nothing carries over yet. A burn in "
            f"{known.name}, even one you remember, would teach the machine's level for "
            f"{new.name} too."
        )
    parts = []
    for row in rows:
        before, now, there = (_factor(e) for e in (row.before, row.new, row.known))
        if before != before:
            continue
        parts.append(
            f"<tr><td>{escape(_SAID[row.quantity])}</td><td>x{two(before)}</td><td>x{two(now)}</td>"
            f"<td>x{two(there)}</td></tr>"
        )
    head = _head("known to a factor of", "nothing learned", "now", _short(known))
    some = "1 burn of this machine stands" if burns == 1 else f"{burns} burns of this machine stand"
    said = f"{some} behind it, {own} of them in {new.name}. "
    said += ("They teach the machine's level and how it follows the dials; what this metal has of "
             "its own only a burn in it tells."
             if not own else "The rest is how one burn differs from the next.")  # fmt: skip
    return f'<table class="edm-table edm-material">{head}{"".join(parts)}</table>{_note(said)}'


def _factor(estimate):
    return float(estimate.high / estimate.likely)


def trial_line(number, trial):
    """Return one of the first trials as HTML.

    Parameters
    ----------
    number : int
        Its place, from 1.
    trial : FirstTrial
        What to burn.
    """
    dials = ", ".join(f"{word} {trial.labels[name]}" for word, name in (
        ("current", "peak_current_A"), ("on", "on_time_us"), ("off", "off_time_us")))  # fmt: skip
    minutes = trial.minutes
    return (f"<b>{number}. {escape(dials)}</b><br>"
            f'<span class="edm-note">About {three(minutes.likely)} min '
            f"({two(minutes.low)} to {two(minutes.high)}). {escape(trial.why)}</span>")  # fmt: skip


def electrodes(advice):
    """Return the advice on electrode and polarity as an HTML table.

    Parameters
    ----------
    advice : sequence of Advice
        Least wear first.
    """
    rows = [
        f"<tr><td><b>{_short(a.electrode)}</b><br>{escape(a.polarity)}</td>"
        f'<td>{escape(a.why)}<br><span class="edm-note">{escape(a.source)}</span></td></tr>'
        for a in advice
    ]
    first, rest = ("".join(part) for part in (rows[:_SHOWN], rows[_SHOWN:]))
    table = '<table class="edm-table edm-advice">{}</table>'.format
    return f"{table(first)}<details><summary>The others</summary>{table(rest)}</details>"


def cautions(facts):
    """Return what to watch with the metal as an HTML list, each with its standing.

    Parameters
    ----------
    facts : sequence of Fact
        The worst first.
    """
    items = "".join(
        f'<li>{escape(fact.text)} <span class="edm-note">({escape(fact.source)})</span></li>'
        for fact in facts
    )
    return f'<ul class="edm-watch" aria-label="What to watch with this metal">{items}</ul>'


def _note(text):
    return f'<div class="edm-note">{escape(text)}</div>'
