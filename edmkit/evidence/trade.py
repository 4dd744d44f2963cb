"""Bands of the trade, many of them from memory, each beside what the kit says in such a case."""

import numpy as np

from edmkit.data import read_rows
from edmkit.evidence.burns import burn
from edmkit.evidence.check import Check
from edmkit.physics import finish
from edmkit.units import um

_WEAR, _GAP = "standard_wear_ratio.csv", "standard_gap_undersize.csv"
_RECAST, _VDI = "standard_recast.csv", "standard_vdi3400.csv"
_PRACTICE = "common practice, no source"
_MASS_TO_VOLUME = 7.8 / 8.9  # densities of steel and copper: mass % of copper on steel
_NEGATIVE = "electrode negative"


def trade():
    """Return the checks against bands of the trade: wear, gap, layer, roughness."""
    return (*_wear(), *_gaps(), *_layers(), *_roughness())


def _row(table, column, start, **more):
    """Return the first row of a table whose column starts with a text."""
    return next(
        row
        for row in read_rows(table)
        if row[column].startswith(start) and all(row[name] == value for name, value in more.items())
    )


def _how(row):
    return "from memory" if "memory" in row["status"] else "read"


def _said(text):
    """Return a text of a table with the signs a reader knows."""
    return text.replace(" us", " µs").replace(">=", "≥").replace("<=", "≤")


def _source(row, what):
    return f"table of {what}" + ("" if row["source"] == "memory" else f", {row['source']}")


# --- electrode wear --------------------------------------------------------------------------
# Electrode and start of the condition as in the table; how such a case is burned here: work,
# electrode, A, µs, polarity.
_WEAR_CASES = (
    ("graphite", "peak 25.4 A, tool positive", ("1045", "graphite", 25.4, 500)),
    ("graphite", "peak 25.4 A, tool negative", ("1045", "graphite", 25.4, 500, _NEGATIVE)),
    ("any, sinker", "typical with correct", ("52100", "copper", 10, 50)),
    ("graphite", "no-wear roughing", ("52100", "graphite", 20, 200)),
    ("graphite", "finishing", ("52100", "graphite", 5, 10)),
    ("copper", "roughing, tool +", ("52100", "copper", 20, 200)),
    ("copper", "finishing", ("52100", "copper", 3, 10)),
    ("copper-tungsten", "finishing", ("52100", "CuW", 3, 10)),
    ("copper-tungsten", "tool negative", ("WC-6Co", "CuW", 5, 50, _NEGATIVE)),
    ("copper", "tool negative", ("WC-6Co", "copper", 5, 50, _NEGATIVE)),
    ("copper", "long pulses", ("52100", "copper", 10, 800)),
)
_UNUSED = ("typical with correct", "long pulses")  # the others were in view for the wear laws
_OLD_RATIOS = {"copper": "copper", "brass": "brass", "copper-tungsten": "CuW"}


def _worn(work, electrode, amps, on_us, polarity="electrode positive"):
    return burn(work, amps, on_us, on_us, electrode, polarity).relative_wear_percent


def _wear():
    checks = []
    for electrode, condition, case in _WEAR_CASES:
        row = _row(_WEAR, "condition", condition, electrode=electrode)
        low, high = float(row["value_low"]), float(row["value_high"] or np.inf)
        note = f"Here {case[2]:g} A, {case[3]:g} µs."
        if row["definition"].startswith("mass"):
            low, high, note = low, high * _MASS_TO_VOLUME, f"{note} By mass in the source."
        name = electrode.replace("any, sinker", "any electrode")
        what = _said(f"{name} on {row['work']}: {row['condition']}")
        checks.append(Check("wear", "trade", "electrode wear", what, (low, high), "%",
                            float(_worn(*case).likely), _source(row, "wear figures"), _how(row),
                            _WEAR, note, fitted=condition not in _UNUSED))  # fmt: skip
    return [*checks, *_old_ratios(), _practice_wear()]


def _old_ratios():
    checks, note = [], "Its pulses are short and not given: here 10 A, 5 µs."
    for electrode, key in _OLD_RATIOS.items():
        row = _row(_WEAR, "condition", "old RC-generator", electrode=electrode)
        what, worn = f"{electrode} on steel: {row['condition']}", 100 / float(row["value_low"])
        made = _worn("1045", key, 10, 5)
        checks.append(Check("wear", "trade", "electrode wear", what, worn, "%", made,
                            _source(row, "wear figures"), "read", _WEAR, note))  # fmt: skip
    return checks


def _practice_wear():
    made = float(_worn("52100", "copper", 3, 60).likely)
    return Check("wear", "trade", "electrode wear", "copper on steel, well-chosen settings",
                 (3.0, 4.0), "%", made, _PRACTICE, _PRACTICE, note="Here 3 A, 60 µs.")  # fmt: skip


# --- gap -------------------------------------------------------------------------------------
_MM, _INCH = 1e3, 25.4e3  # µm
# Item and stage as in the table; front gap, side gap or the whole of both sides; A, µs, V.
_WHERE = {"front": "gap in front", "side": "side gap", "both": "hole over electrode"}
_GAP_CASES = (
    ("working gap", "general EDM", "front", _MM, (3, 50, 60)),
    ("working gap", "general EDM", "front", _MM, (3, 50, 200)),
    ("enlargement", "all", "both", _MM, (10, 100, 120)),
    ("overcut", "finishing to roughing", "side", 1.0, (3, 10, 100)),
    ("overcut", "finishing to roughing", "side", 1.0, (30, 200, 100)),
    ("spark gap, precision", "carbide, fine work", "side", _INCH, (1.5, 10, 100)),
    ("side gap", "finishing (Ra 0.4-0.8)", "side", _MM, (1, 5, 100)),
    ("side gap", "semi (Ra 1.6-3.2)", "side", _MM, (3, 30, 100)),
    ("side gap", "roughing 10-30 A", "side", _MM, (20, 150, 120)),
    ("side gap", "heavy roughing >60 A", "side", _MM, (60, 400, 120)),
)


def _gap_um(where, amps, on_us, volts):
    made = burn("52100", amps, on_us, on_us / 2, volts=volts)
    if where == "front":
        return float(made.gap_front_um.likely)
    return float(made.gap_side_um.likely) * (2 if where == "both" else 1)


def _gaps():
    checks = []
    for item, stage, where, scale, case in _GAP_CASES:
        row = _row(_GAP, "item", item, stage=stage)
        ends = float(row["low"]) * scale, float(row["high"]) * scale
        note = f"Here {case[0]:g} A, {case[1]:g} µs, {case[2]:g} V."
        checks.append(Check("gap", "trade", _WHERE[where], f"{row['item']}: {row['stage']}", ends,
                            "µm", _gap_um(where, *case), _source(row, "gaps"), _how(row), _GAP,
                            note))  # fmt: skip
    for on_us in (10, 40):
        what, made = "small sparks, copper on hardened steel", _gap_um("side", 2, on_us, 120)
        checks.append(Check("gap", "trade", "side gap", what, (25.0, 50.0), "µm", made, _PRACTICE,
                            _PRACTICE, note=f"Here 2 A, {on_us} µs, 120 V."))  # fmt: skip
    return checks


# --- white layer and heat --------------------------------------------------------------------
def _layers():
    checks = []
    for start, ra in (("finishing Ra", 0.8), ("semi Ra", 2.3), ("rough Ra", 8.5)):
        row = _row(_RECAST, "item", f"white layer, {start}")
        made = float(finish.recast_depth(ra * um) / um)
        checks.append(_layer(row, row["item"], "µm", made, f"Here Ra {ra:g} µm."))
    row = _row(_RECAST, "item", "white layer thickness")
    for amps, on_us in ((3, 20), (50, 400)):
        made = float(burn("52100", amps, on_us, on_us).recast_um.likely)
        checks.append(_layer(row, row["item"], "µm", made, f"Here {amps} A, {on_us} µs."))
    row = _row(_RECAST, "item", "white layer / Ra")
    checks.append(_layer(row, row["item"], "times", float(finish.recast_depth(um) / um), ""))
    row = _row(_RECAST, "item", "altered zone")
    for work in ("52100", "H13"):
        made = burn(work, 10, 100, 50)
        below = float(made.heat_affected_um.likely / made.recast_um.likely) - 1
        what = f"{row['item']}, {work}"
        checks.append(_layer(row, what, "times", below, "Here 10 A, 100 µs."))
    return checks


def _layer(row, what, unit, made, note):
    ends = float(row["low"]), float(row["high"])
    quantity = "altered zone" if "altered" in what else "white layer"
    return Check("heat", "trade", quantity, _said(what), ends, unit, made,
                 _source(row, "layers"), _how(row), _RECAST, note,
                 fitted=quantity == "white layer")  # fmt: skip


# --- roughness -------------------------------------------------------------------------------
# Handbook charts of finish against current and frequency, from memory: A, µs, Ra in µm.
_CHARTS = ((50, 1600, 12.5), (10, 62, 4.0), (3, 10, 1.6), (0.5, 2.5, 0.57))


def _roughness():
    checks = []
    for amps, on_us, ra in _CHARTS:
        made = burn("52100", amps, on_us, on_us)
        note = "Outside the kit's tables." if np.any(made.flags["extrapolated"]) else ""
        checks.append(Check("finish", "trade", "Ra", f"handbook charts: {amps:g} A, {on_us:g} µs",
                            ra, "µm", made.roughness_Ra_um, "handbook charts", "from memory",
                            note=note, fitted=True))  # fmt: skip
    heights = [float(r["rt_um_S2"]) / float(r["ra_um_printed_S2"])
               for r in read_rows(_VDI) if r["rt_um_S2"]]  # fmt: skip
    rt = "The print is over one section, the kit's figure over the whole length."
    checks.append(Check("finish", "trade", "Rt over Ra", "Rt over Ra, a printed table",
                        (min(heights), max(heights)), "times", float(finish.RT_PER_RA),
                        "trade page S2", "read", _VDI, rt))  # fmt: skip
    checks.append(Check("finish", "trade", "Rz over Ra", "Rz over Ra on spark-eroded steel",
                        (4.0, 7.0), "times", float(finish.RZ_PER_RA), "working rule",
                        "from memory"))  # fmt: skip
    return checks
