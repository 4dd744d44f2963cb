"""The readings of a machine without papers as tables: pairs of times, or taps of the current."""

from html import escape

from edmkit.dials.survey import VOLTS
from edmkit.estimate import Estimate
from edmkit.words import three

_NOW, _ODD, _LEFT = "\N{BLACK RIGHT-POINTING TRIANGLE}", "\N{BLACK DIAMOND}", "skipped"
_SEEN = 4  # readings of a tap that are listed; those of the times may be dozens
_KEY = {_NOW: "asked now", _ODD: "does not fit the others", "\N{MULTIPLICATION SIGN}": "times read"}
_STYLE = """<style>
.edm-page .widget-html > .widget-html-content { min-width: 0; }
.edm-readings { overflow: auto; max-height: 420px; max-width: 100%; }
.edm-readings table { border-collapse: separate; border-spacing: 0; font-size: 14px; }
.edm-readings td, .edm-readings th { padding: 2px 7px; border-bottom: 1px solid #e3e3e3;
  text-align: right; white-space: nowrap; min-width: 34px; }
.edm-readings th { background: #fff; position: sticky; font-weight: 600; }
.edm-readings thead th { top: 0; border-bottom: 2px solid #1a1a1a; z-index: 1; }
.edm-readings tbody th { left: 0; }
.edm-readings td.edm-now { outline: 2px solid #1a1a1a; outline-offset: -2px; font-weight: 700; }
.edm-readings td.edm-odd { background: #fbeee6; font-weight: 700; }
.edm-readings td.edm-left { color: #444; font-style: italic; text-align: left; }
</style>"""


def _odd(dials):
    """Return the readings that do not fit the others."""
    return {one.reading for one in dials.residuals if one.outlier} if dials else set()


def _figure(reading, odd):
    """Return a reading as it stands in a table."""
    return f"{_ODD + ' ' if reading in odd else ''}{three(reading.value)}"


def _marked(css, text):
    return f'<td class="{css}">{text}</td>' if css else f"<td>{text}</td>"


def _cell(taken, odd, current, now, left):
    """Return one cell of the pairs: the last reading, how often it was read, what is to be said."""
    parts = [_NOW] if now else []
    if taken:
        last = taken[-1]
        elsewhere = last.current and current and last.current != current
        parts.append(_figure(last, odd))
        parts += [f"<small>\N{MULTIPLICATION SIGN}{len(taken)}</small>"] if len(taken) > 1 else []
        parts += [f"<small>at {escape(' + '.join(last.current))}</small>"] if elsewhere else []
    elif left:
        parts.append(_LEFT)
    css = (now and "edm-now") or (taken and taken[-1] in odd and "edm-odd") or (left and "edm-left")
    return _marked(css or "", " ".join(parts))


def _in_words(body, said):
    """Return what stands below a table: how much is read, and what its marks mean."""
    parts = [said, *(f"{mark} {words}" for mark, words in _KEY.items() if mark in body)]
    return f'<div class="edm-note">{escape("; ".join(parts))}</div>'


def _framed(head, rows, said):
    body = "".join(rows)
    return (
        f'{_STYLE}<div class="edm-readings" tabindex="0"><table><thead><tr>{head}</tr></thead>'
        f"<tbody>{body}</tbody></table></div>{_in_words(body, said)}"
    )


def pairs_table(survey, dials, what, asked, skipped):
    """Return the readings of all pairs of on-time and off-time as HTML.

    Parameters
    ----------
    survey : Survey
        With the readings so far.
    dials : Dials or None
        What they come to; names the readings that do not fit.
    what : str
        Which readings.
    asked : Reading or None
        What is asked for now.
    skipped : sequence of Reading
        What the person left out.
    """
    taken, odd = {}, _odd(dials)
    for reading in survey.counting.readings:
        if reading.what == what and (not asked or reading.open_voltage == asked.open_voltage):
            taken.setdefault(reading.pair, []).append(reading)
    left, now = {one.pair for one in skipped}, asked and asked.pair
    current = asked.current if asked else ()
    rows = [
        f"<tr><th>on {escape(on)}</th>" + "".join(
            _cell(taken.get((on, off), ()), odd, current, now == (on, off), (on, off) in left)
            for off in survey.off_time_us) + "</tr>"
        for on in survey.on_time_us
    ]  # fmt: skip
    unit = "V" if what == VOLTS else "A"
    head = f"<th>{unit}</th>" + "".join(f"<th>off {escape(x)}</th>" for x in survey.off_time_us)
    count = len(survey.on_time_us) * len(survey.off_time_us)
    return _framed(head, rows, f"{len(taken)} of {count} pairs read; not all are needed")


def taps_table(survey, dials, what, asked, skipped):
    """Return the readings of each current tap, and what it is worth, as HTML.

    Parameters
    ----------
    survey, dials, what, asked, skipped
        As for `pairs_table`.
    """
    odd, now = _odd(dials), asked.current if asked else None
    taken = {(label,): [] for label in survey.peak_current_A}
    for reading in survey.counting.readings:
        if reading.what == what:
            taken.setdefault(reading.current, []).append(reading)
    if now:
        taken.setdefault(now, [])
    left = {one.current for one in skipped}
    rows = []
    for group, readings in taken.items():
        more = len(readings) - _SEEN
        seen = f"{more} more, last " * (more > 0) + ", ".join(
            f"{_figure(r, odd)} <small>(on {escape(r.on_time)}, off {escape(r.off_time)})</small>"
            for r in readings[-_SEEN:]
        )
        seen = seen or (_LEFT if group in left else "")
        mark = _NOW + " " if group == now else ""
        rows.append(
            f"<tr><th>{mark}{escape(' + '.join(group))}</th>"
            f'<td style="text-align:left;white-space:normal">{seen}</td>'
            f"<td>{_worth(dials, group)}</td></tr>"
        )
    done = sum(bool(readings) for readings in taken.values())
    head = '<th>current</th><th style="text-align:left">the ammeter showed, A</th><th>worth, A</th>'
    return _framed(head, rows, f"{done} of {len(taken)} read")


def _worth(dials, group):
    """Return what a tap is worth, in words where it is not known or not to be trusted."""
    if dials is None:
        return ""
    at = dials.peak_current_A.position(group)
    if any(
        (f.switch, f.label) == ("peak_current_A", label) for f in dials.faults for label in group
    ):
        return "not to be trusted"
    if at.filled or at.how_known == "unknown":
        return "not known yet"
    band = Estimate(at.value, at.spread)
    return f"<b>{three(at.value)}</b>, {three(band.low)} to {three(band.high)}"
