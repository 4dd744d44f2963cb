"""Which electrode for a work material, with which polarity, and what it costs in wear."""

from dataclasses import dataclass
from math import inf

from edmkit.data import read_rows
from edmkit.materials import electrode_material, electrode_materials
from edmkit.physics.wear import relative_wear, wear_law
from edmkit.settings import usual_polarity
from edmkit.units import percent, us
from edmkit.words import two

# Where the wear of one electrode is held against another's: a middling setting; assumption.
AT_CURRENT_A, AT_ON_TIME_US = 10.0, 50.0
# How the tables of the trade call the kit's electrodes, and the families of its works.
_TOOLS = {"copper": "copper", "graphite": "graphite", "CuW": "copper-tungsten"}
_WORKS = {
    "carbide": "tungsten carbide",
    "titanium": "titanium",
    "aluminium": "aluminium",
    "copper": "copper / copper alloys",
    "brass": "copper / copper alloys",
}


@dataclass(frozen=True)
class Advice:
    """One electrode for a work: `wear_percent` by volume at 10 A and 50 µs, None: no figure."""

    electrode: object
    polarity: str
    wear_percent: float | None
    why: str
    source: str


def advice(work):
    """Return every electrode of the kit for a work material, least wear first.

    Parameters
    ----------
    work : Material
        From ``work_material``.

    Returns
    -------
    tuple of Advice
        Those without a wear figure last: first the pairs that the trade's polarity table names,
        then copper, graphite and copper-tungsten, and in each the higher melting point first.

    Notes
    -----
    Each with its usual polarity. Wear at 10 A and 50 µs, known to x2.7 either way before a trial.
    Left out: price, and how well an electrode is made or keeps its corners.
    """
    tools = [electrode_material(key) for key in electrode_materials()]
    # melting point: what melts later wears less, common practice, no source
    tools.sort(
        key=lambda tool: (
            not _rows("polarity", work, tool),
            tool.key not in _TOOLS,
            -tool.melting_point,
        )
    )
    found = [_one(work, tool) for tool in tools]
    return tuple(sorted(found, key=lambda a: inf if a.wear_percent is None else a.wear_percent))


def _one(work, tool):
    usual = usual_polarity(work, tool)
    law = wear_law(tool.key, work.is_steel, work.family, usual.polarity)
    said, source, wear = [usual.reason], f"polarity: {usual.source}", None
    if law is None:
        said.append("No wear figure for this pair: burn a trial.")
    else:
        wear = float(relative_wear(law, AT_ON_TIME_US * us, AT_CURRENT_A)) / percent
        at = f"at {AT_CURRENT_A:g} A and {AT_ON_TIME_US:g} µs"
        bands = _bands(work, tool)
        said.append(f"It loses about {two(wear)} % of the volume it removes {at}{bands}.")
        source += f"; wear: {law.source}"
    said += _otherwise(work, tool, usual.polarity)
    return Advice(tool, usual.polarity, wear, " ".join(said), source)


def _rows(table, work, tool):
    """Return the rows of a table of the trade for a pair, ``polarity`` or ``wear_ratio``."""
    words = (word for family, word in _WORKS.items() if family in work.family)
    name = "steel" if work.is_steel else next(words, None)
    return [
        row
        for row in read_rows(f"standard_{table}.csv")
        if row["work"] == name and _TOOLS.get(tool.key) in row["electrode"].split(" or ")
    ]


def _bands(work, tool):
    """Return the bands of the trade for a pair, words that go on after a figure."""
    bands = [
        f"{row['condition'].split(',')[0].replace('tool', 'electrode')} "
        f"{row['value_low']} to {row['value_high']} %"
        for row in _rows("wear_ratio", work, tool)
        if row["definition"] == "volume tool/work"
    ]
    return f"; bands of the trade: {', '.join(bands)}" if bands else ""


def _otherwise(work, tool, polarity):
    """Return when the trade takes the other polarity, one sentence or none."""
    sign, other = ("+", "negative") if polarity == "electrode positive" else ("-", "positive")
    for row in _rows("polarity", work, tool):
        if row["tool_sign"] != sign:
            stage = row["stage"].replace(" us", " µs").replace("<", "under")
            yield f"Electrode {other} only for: {stage}."
