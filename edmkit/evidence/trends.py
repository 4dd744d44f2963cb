"""What a change of settings does, where the best on-time lies, and what cannot be compared."""

import numpy as np

from edmkit.estimate import BAND, Estimate
from edmkit.evidence.burns import (
    FILES,
    NO_AREA,
    SOURCES,
    TUBE_AREA,
    burn,
    check_of,
    lost_per_minute,
    numbers_of,
    rows_of,
)
from edmkit.evidence.check import Check, Uncompared
from edmkit.physics.crater import CURRENTS, ON_TIMES
from edmkit.units import us

_SEARCHED = np.geomspace(*ON_TIMES, 120) / us  # µs, for the best one: what the kit's tables cover
# x2.5: the best on-time goes as the square of the share of the energy that enters the work, and
# that is known to x1.5; assumption.
ON_TIME_SPREAD = np.log(2.5) / BAND
_AMPS, _ON = np.geomspace(*CURRENTS, 7)[:, None], np.geomspace(*ON_TIMES, 9) / us


# --- the best on-time ------------------------------------------------------------------------
def _best_on_time(work, amps, electrode="copper"):
    """Return where removal is fastest at half duty, and its curve over the best [µs, -]."""
    made = burn(work, amps, _SEARCHED, _SEARCHED, electrode).removal_rate_mm3_per_min.likely
    return float(_SEARCHED[np.argmax(made)]), made / np.max(made)


def _on_time_check(name, what, published, amps, work="1045", electrode="copper", **more):
    best, curve = _best_on_time(work, amps, electrode)
    listed = np.sqrt(np.prod(published)) if isinstance(published, tuple) else published
    there = float(np.interp(np.log(listed), np.log(_SEARCHED), curve))
    note = f"At the published on-time the kit has {100 * there:.0f} % of its best speed."
    if best == _SEARCHED[-1]:
        note += f" Its speed still rises at {best:.0f} µs, where its tables end."
    if amps > CURRENTS[1]:
        note += f" Its tables end at {CURRENTS[1]:g} A."
    if "note" in more:
        note = f"{more.pop('note')} {note}"
    made = Estimate(best, float(ON_TIME_SPREAD))
    return check_of(name, "on-time", "best on-time", what, published, "µs", made,
                    kind="trend", note=note, **more)  # fmt: skip


def optimum_on_times():
    """Return the checks of where removal is fastest: the 1989 conditions and a 2026 study.

    Notes
    -----
    That the list of 1989 is one of best on-times is an inference, and it is from memory.
    """
    checks = []
    for row in rows_of("dibitonto"):
        amps, on_us = numbers_of(row, "current_A", "on_us")
        checks.append(_on_time_check("dibitonto", f"DiBitonto 1989: steel, {amps:g} A", on_us, amps,
                                     how_read="from memory"))  # fmt: skip
    electrodes = {"Cu 99.9": "copper", "WCu 75/25": "CuW", "CuZn39Pb2": "brass"}
    names = {"copper": "copper", "CuW": "copper-tungsten", "brass": "brass"}
    for row in rows_of("herghelegiu"):
        if row["factor"] != "on_us":
            continue
        ends = numbers_of(row, "value_at_mrr_maximum_low", "value_at_mrr_maximum_high")
        published = ends[0] if ends[0] == ends[1] else tuple(ends)
        key = electrodes[row["electrode"]]
        what = f"Herghelegiu 2026: C120 steel, {names[key]}"
        note = "C120 taken as D2; current not said, taken as 60 A."
        checks.append(_on_time_check("herghelegiu", what, published, CURRENTS[1], "D2", key,
                                     note=note))  # fmt: skip
    return tuple(checks)


# --- what a change of settings does ----------------------------------------------------------
def _per_doubling(quantity, first, last, doublings):
    """Return by what an answer is multiplied per doubling of a setting, in one shop."""
    change = getattr(last.ratio(first), quantity)
    return Estimate(float(change.likely) ** (1 / doublings), float(change.spread) / doublings)


# Source as in the table; answer; what is doubled; column; two settings (A, µs, µs) and how the
# pair is burned; what the source calls the work. On-times are doubled at the same duty, as the
# sources hold it.
_SLOPES = (
    ("Juvkam-Wold 1967", "removal_rate", "current", (1, 72.2, 38.9), (60, 72.2, 38.9),
     ("O1", "graphite", "electrode positive"), "tool steel"),
    ("Dave et al. 2012 eq. a", "removal_rate", "current", (5, 50, 50), (20, 50, 50),
     ("alloy718", "copper", "electrode positive"), "nickel alloy"),
    ("Dave et al. 2012 eq. a", "removal_rate", "on_time", (10, 25, 25), (10, 100, 100),
     ("alloy718", "copper", "electrode positive"), "nickel alloy"),
    ("Dave et al. 2012 eq. b", "removal_rate", "current", (5, 50, 50), (20, 50, 50),
     ("alloy718", "copper", "electrode positive"), "nickel alloy"),
    ("Dave et al. 2012 eq. b", "removal_rate", "on_time", (10, 25, 25), (10, 100, 100),
     ("alloy718", "copper", "electrode positive"), "nickel alloy"),
    ("Weller 1984", "removal_rate", "current", (3, 100, 50), (50, 100, 50),
     ("1045", "copper", "electrode positive"), "any metal"),
    ("Kalpakjian / El-Hofy textbook form", "roughness_Ra", "current", (3, 100, 50), (50, 100, 50),
     ("52100", "copper", "electrode positive"), "any metal"),
    ("Kalpakjian / El-Hofy textbook form", "roughness_Ra", "on_time", (10, 10, 10), (10, 400, 400),
     ("52100", "copper", "electrode positive"), "any metal"),
    ("Lee & Li 2001", "removal_rate", "current", (4, 50, 50), (32, 50, 50),
     ("WC-6Co", "CuW", "electrode negative"), "carbide"),
    ("Lee & Li 2001", "roughness_Ra", "current", (4, 50, 50), (32, 50, 50),
     ("WC-6Co", "CuW", "electrode negative"), "carbide"),
)  # fmt: skip
_WORDS = {"removal_rate": ("removal", "removal rate"), "roughness_Ra": ("finish", "Ra")}


def exponents():
    """Return the checks of published exponents: what doubling the current or on-time does."""
    found = [_slope(*line) for line in _SLOPES]
    return (*found, _charge_slope())


def _row_of(source, response=""):
    """Return the row of a source; of those for one response where it has several."""
    rows = [row for row in rows_of("exponents") if row["source"] == source]
    return next(row for row in rows if row["response"].startswith(response))


def _slope(source, quantity, dial, first, last, pair, metal):
    answer, name = _WORDS[quantity]
    several = source.startswith("Kalpakjian")
    row = _row_of(source, "Ra" if several and quantity == "roughness_Ra" else "")
    work, electrode, polarity = pair
    ends = [burn(work, *settings, electrode, polarity) for settings in (first, last)]
    at = 0 if dial == "current" else 1
    made = _per_doubling(quantity, *ends, np.log2(last[at] / first[at]))
    unit = "A" if dial == "current" else "µs"
    author = source.split(" / ")[0].replace(" et al.", "").replace(" eq.", "")
    what = f"{author}: {metal}, twice the {dial.replace('_', '-')}"
    note = (
        f"Here from {first[at]:g} to {last[at]:g} {unit}, in {ends[0].setup.work.name}; {NO_AREA}."
    )
    return _trend(row, answer, name, what, float(row[f"exponent_{dial}"]), made, note)


def _trend(row, answer, name, what, exponent, made, note):
    how = next(h for h in ("from memory", "read second hand", "read") if h in row["status"])
    return Check(answer=answer, kind="trend", quantity=f"{name}, how many times", what=what,
                 published=2**exponent, unit="times", predicted=made, how_read=how,
                 source=f"{row['source']} ({row['where']})", table=FILES["exponents"],
                 note=note)  # fmt: skip


def _charge_slope():
    """Return the check of Izwan et al.: four metals, removal against current x on-time."""
    row = _row_of("Izwan 2016")
    settings = (13, 20, 20), (35, 28, 28)
    ends = [burn("1045", *s, area=TUBE_AREA) for s in settings]
    made = _per_doubling("removal_rate", *ends, np.log2(35 * 28 / (13 * 20)))
    note = "From 13 A, 20 µs to 35 A, 28 µs; one exponent for four metals, here carbon steel."
    what = "Izwan 2016: four metals, twice current × on-time"
    exponent = float(row["exponent_current"])
    return _trend(row, "removal", "removal rate", what, exponent, made, note)


# --- where the settings are not given --------------------------------------------------------
def _range(values):
    """Return an estimate whose band spans all values."""
    low, high = np.log(np.min(values)), np.log(np.max(values))
    return Estimate(float(np.exp((low + high) / 2)), float((high - low) / 2 / BAND))


def settings_not_given():
    """Return the checks of figures without settings: does the kit's whole range hold them."""
    made = burn("D2", _AMPS, _ON, _ON)
    spans = {
        "mrr_mm3_min": ("removal", "removal rate", "mm³/min", made.removal_rate_mm3_per_min),
        "tool_wear_mm3_min": ("wear", "electrode lost per minute", "mm³/min",
                              lost_per_minute(made)),
        "wear_percent_computed": ("wear", "electrode wear", "%", made.relative_wear_percent),
        "ra_um": ("finish", "Ra", "µm", made.roughness_Ra_um),
    }  # fmt: skip
    note = (
        "Settings not given: only the range can be compared, here that of the kit from "
        f"{_AMPS.min():g} A, {_ON.min():g} µs to {_AMPS.max():g} A, {_ON.max():g} µs."
    )
    checks = []
    for name, who in (("niamat", "Energies 2020: tool steels"), ("le", "Le 2019: H13 type steel")):
        for row in rows_of(name):
            if "powder" in row["case"]:
                continue
            case = row["case"].split(" (")[0].replace("MRR", "removal")
            for column, (answer, quantity, unit, found) in spans.items():
                if row.get(column):
                    checks.append(check_of(
                        name, answer, quantity, f"{who}, {case}", float(row[column]), unit,
                        _range(found.likely), kind="trend", note=note, spans=True,
                    ))  # fmt: skip
    return tuple(checks)


# --- what cannot be compared -----------------------------------------------------------------
_WHY_NOT = (
    ("le", "Le 2019: with carbide powder in the oil", "Ra 0.198 µm",
     "Powder in the fluid is not in the kit."),
    ("herghelegiu", "Herghelegiu 2026: current of the fastest removal", "90 A",
     "The kit is faster with every amp and only warns what an end bears: it knows no best."),
    ("niti", "Obrabotka 2025: electrode lost, trials 6 and 10", "0.239 and 0.041 mm³/min",
     "Which of three alloys is not said, and the kit has no wear figure for any of them."),
    ("exponents", "Dave 2012: speed against voltage, duty, orbit", "powers 0.203, 0.335 and more",
     "The kit takes sparks per second as counted, which makes duty count fully; it has no orbit."),
    ("exponents", "Sultan 2014: a fitted square formula", "nine constants",
     "Its range and its unit are not quoted where it was read."),
    ("exponents", "El-Hofy: electrode wear from melting points", "11 000 and 2.25",
     "From memory and absurdly low for copper; the kit does not use it."),
    ("exponents", "Patel 1989: plasma radius at the anode", "0.788 µm × (µs)^0.75",
     "Does not know the current; the kit uses another formula, from memory as well."),
    ("exponents", "Ikai 1995: radius of the heat source", "2.04e-3 m × A^0.43 × s^0.44",
     "The kit uses it: agreement would prove nothing."),
    ("exponents", "DiBitonto and Patel 1989: share of the energy", "0.183 and 0.08",
     "The kit's own share starts from it and is larger, because it lets metal boil off."),
)  # fmt: skip


def uncompared():
    """Return the published figures that the kit cannot be held against, and why not."""
    where = {**SOURCES, "exponents": "table of published exponents"}
    return tuple(
        Uncompared(what, published, why, where[name], FILES[name])
        for name, what, published, why in _WHY_NOT
    )
