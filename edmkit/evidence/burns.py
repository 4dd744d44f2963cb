"""Published burns and trends, each beside what an untrained shop predicts for it.

Published levels differ 40-fold between machines, so one level says little; ratios say more.
"""

import warnings

import numpy as np

from edmkit.burn import predict
from edmkit.checks import RangeWarning
from edmkit.data import read_rows
from edmkit.estimate import Estimate
from edmkit.evidence.check import Check
from edmkit.materials import dielectric, electrode_material, work_material
from edmkit.settings import Settings, Setup
from edmkit.shop import Shop

OPEN_AREA = 200.0  # mm²; where a source gives no area it is taken as large and openly flushed
TUBE_AREA = np.pi / 4 * (2.0**2 - 0.8**2)  # mm², Izwan et al. (2016), copper tube 2.0/0.8 mm
NO_AREA = "area not given, taken as open"

FILES = {
    "yahya": "published_yahya_2011_mrr_current.csv",
    "juvkam_wold": "published_juvkamwold_1967_reverse_polarity.csv",
    "izwan": "published_izwan_2016_aluminium_brass.csv",
    "elias": "published_elias_2025_a2_extremes.csv",
    "niti": "published_obrabotka_2025_niti_becu_points.csv",
    "herghelegiu": "published_herghelegiu_2026_c120_optima.csv",
    "dibitonto": "published_dibitonto_1989_conditions_only.csv",
    "niamat": "published_niamat_2020_special_steel_tradeoff.csv",
    "le": "published_le_2019_skd61_finish.csv",
    "exponents": "published_exponents.csv",
}
SOURCES = {
    "yahya": "Yahya et al. (2011), as told in Izwan et al., Procedia Manuf. 5 (2016) 661",
    "juvkam_wold": "Juvkam-Wold, thesis, Massachusetts Institute of Technology (1967), abstract",
    "izwan": "Izwan et al., Procedia Manuf. 5 (2016) 658, Fig. 4a",
    "elias": "Elias et al., Eng. Technol. Appl. Sci. Res. (2025) 11394, abstract",
    "niti": "Obrabotka Metallov 27(2) (2025), text and Table 4",
    "herghelegiu": "Herghelegiu et al., Processes 14 (2026) 189",
    "dibitonto": "DiBitonto et al., J. Appl. Phys. 66 (1989) 4095, list of conditions",
    "niamat": "Energies 13 (2020) 38, conclusions",
    "le": "Le et al., ASEAN Eng. J. 9 (2019) 44, abstract",
}


def burn(work, amps, on_us, off_us, electrode="copper", polarity="electrode positive",
         area=OPEN_AREA, volts=120.0):  # fmt: skip
    """Return what an untrained shop without a machine file predicts.

    Parameters
    ----------
    work, electrode, polarity : str
        Keys of the materials, and the sign of the electrode.
    amps, on_us, off_us, area, volts : float or array
        What is dialled [A, µs, µs, V] and the engaged area [mm²].
    """
    pair = work_material(work), electrode_material(electrode)
    setup = Setup(*pair, dielectric("edm_oil"), polarity, area)
    with warnings.catch_warnings():  # a check outside the range says so in its note
        warnings.simplefilter("ignore", RangeWarning)
        return predict(setup, Settings(amps, on_us, off_us, volts))


def rows_of(name):
    """Return the rows of a source's table."""
    return read_rows(FILES[name])


def numbers_of(row, *names):
    """Return some columns of a row as numbers."""
    return [float(row[name]) for name in names]


def settings_of(row):
    """Return current [A], on-time and off-time [µs] of a row."""
    return numbers_of(row, "current_A", "on_us", "off_us")


def check_of(name, answer, quantity, what, published, unit, predicted, **more):
    """Return a check of a source: a burn that was read, unless said otherwise."""
    given = {"kind": "burn", "how_read": "read", "note": "", **more}
    return Check(answer=answer, quantity=quantity, what=what, published=published, unit=unit,
                 predicted=predicted, source=SOURCES[name], table=FILES[name], **given)  # fmt: skip


def _removal(name, what, published, made, **more):
    rate = made.removal_rate_mm3_per_min
    return check_of(name, "removal", "removal rate", what, published, "mm³/min", rate, **more)


# --- burns with their settings ---------------------------------------------------------------
def yahya(work="1045"):
    """Return the checks of Yahya et al. (2011): steel with copper at two currents.

    Parameters
    ----------
    work : str
        Key of the steel; only 'steel' is said.
    """
    name, rows = "yahya", rows_of("yahya")
    burns = [burn(work, *numbers_of(r, "current_A", "on_us", "on_us")) for r in rows]
    rates = [float(row["mrr_mm3_min"]) for row in rows]
    note = f"Off-time not given, taken as the on-time; {NO_AREA}. Which steel is not said."
    levels = [
        _removal(name, f"Yahya 2011: steel, {row['current_A']} A, about {row['on_us']} µs", rate,
                 made, how_read="read second hand", note=note, fitted=True)
        for row, rate, made in zip(rows, rates, burns, strict=True)
    ]  # fmt: skip
    ratio = check_of(
        name, "removal", "removal rate, how many times", "Yahya 2011: from 4 A to 12.5 A",
        rates[1] / rates[0], "times", burns[1].ratio(burns[0]).removal_rate,
        kind="trend", how_read="read second hand", note=note,
    )  # fmt: skip
    return (*levels, ratio)


def juvkam_wold(work="O1"):
    """Return the check of Juvkam-Wold (1967): tool steel with graphite, his fastest burn.

    Parameters
    ----------
    work : str
        Key of the steel; only 'tool steel' is said.
    """
    (row,) = rows_of("juvkam_wold")
    made = burn(work, *settings_of(row), electrode="graphite")
    what = "Juvkam-Wold 1967: tool steel, graphite, 35 A, 72/39 µs"
    note = f"His fastest burn; 35 A may be a mean, which makes 54 A of peak; {NO_AREA}."
    return (_removal("juvkam_wold", what, float(row["mrr_mm3_min"]), made, note=note,
                     fitted=True),)  # fmt: skip


IZWAN_METALS = {"aluminium_6061_T6": ("6061", "aluminium"), "brass_CA360": ("brass", "brass")}


def izwan():
    """Return the checks of Izwan et al. (2016): small holes in aluminium and brass."""
    checks = []
    for row in rows_of("izwan"):
        key, metal = IZWAN_METALS[row["workpiece"]]
        what = f"Izwan 2016: {metal}, {row['current_A']} A, {row['on_us']}/{row['off_us']} µs"
        made = burn(key, *settings_of(row), area=TUBE_AREA)
        note = "Rotating tube of 2 mm, far above the current such an end bears; read off a figure."
        checks.append(_removal("izwan", what, float(row["mrr_mm3_min"]), made,
                               how_read="read off a figure", note=note, fitted=True))  # fmt: skip
    return (*checks, *_more_amps(), _brass_from_aluminium())


def _izwan_mean(metal, settings):
    """Return the mean of the repeated burns of a metal at one setting [mm³/min]."""
    return np.mean([
        float(row["mrr_mm3_min"]) for row in rows_of("izwan")
        if row["workpiece"] == metal and settings_of(row) == settings
    ])  # fmt: skip


def _more_amps():
    """Return both metals from 13 A to 35 A at 20 µs."""
    low, high = [13.0, 20.0, 20.0], [35.0, 20.0, 20.0]
    return [
        check_of(
            "izwan", "removal", "removal rate, how many times",
            f"Izwan 2016: {name}, from 13 A to 35 A, 20/20 µs",
            _izwan_mean(metal, high) / _izwan_mean(metal, low), "times",
            burn(key, *high, area=TUBE_AREA).ratio(burn(key, *low, area=TUBE_AREA)).removal_rate,
            kind="trend", how_read="read off a figure",
        )
        for metal, (key, name) in IZWAN_METALS.items()
    ]  # fmt: skip


def _brass_from_aluminium():
    """Return brass at 13 A, 20 µs, predicted by a shop that has burned aluminium there."""
    settings = [13.0, 20.0, 20.0]
    known, other = (burn(key, *settings, area=TUBE_AREA) for key in ("6061", "brass"))
    aluminium, brass = (_izwan_mean(metal, settings) for metal in IZWAN_METALS)
    level = aluminium / float(known.removal_rate_mm3_per_min.likely)
    shop = Shop.from_constants(known.setup, spread=0.0, removal_rate=level)
    made = predict(other.setup, other.settings, shop).removal_rate_mm3_per_min
    return check_of(
        "izwan", "removal", "removal rate, how many times",
        "Izwan 2016: from aluminium to brass, 13 A, 20/20 µs", brass / aluminium,
        "times", Estimate(float(made.likely) / aluminium, float(made.spread)), kind="trend",
        how_read="read off a figure", note="As for a shop that has burned the aluminium.",
    )  # fmt: skip


def elias():
    """Return the checks of Elias et al. (2025): A2 tool steel, the best run for each answer."""
    checks, note = [], f"A2 taken as D2; electrode and polarity not given; {NO_AREA}."
    for row in rows_of("elias"):
        amps, on_us, off_us = settings_of(row)
        what = f"Elias 2025: A2 steel, {amps:g} A, {on_us:g}/{off_us:g} µs"
        made = burn("D2", amps, on_us, off_us)
        if row["mrr_mm3_min"]:
            checks.append(_removal("elias", what, float(row["mrr_mm3_min"]), made, note=note))
        if row["ra_um"]:
            checks.append(check_of("elias", "finish", "Ra", what, float(row["ra_um"]), "µm",
                                 made.roughness_Ra_um, note=note))  # fmt: skip
        if row["tool_wear_mm3_min"]:
            checks.append(check_of("elias", "wear", "electrode lost per minute", what,
                                 float(row["tool_wear_mm3_min"]), "mm³/min",
                                 lost_per_minute(made), note=note))  # fmt: skip
    return tuple(checks)


def lost_per_minute(made):
    """Return electrode lost per minute: removal rate times wear, both in doubt [mm³/min]."""
    rate, wear = made.removal_rate_mm3_per_min, made.relative_wear_percent
    return Estimate(rate.likely * wear.likely / 100, np.hypot(rate.spread, wear.spread))


def niti():
    """Return the checks of Obrabotka Metallov 27(2) (2025): nickel-titanium with copper."""
    rows, checks = rows_of("niti"), []
    later = next(row for row in rows if row["run"] == "confirmation")
    for row in rows:
        asked = _niti_answers(row)
        if not asked:
            continue
        filled = {n: row[n] or later[n] for n in ("current_A", "on_us", "off_us", "voltage_V")}
        made = burn("52100", *settings_of(filled), volts=float(filled["voltage_V"]))
        alloy = "NiTi alloy" if "NiTi" in row["workpiece_level"] else "one of three alloys"
        earlier = " earlier" if "ref" in row["run"] else ""
        amps, on_us, off_us = settings_of(filled)
        what = f"Obrabotka{earlier or ' 2025'}: {alloy}, {amps:g} A, {on_us:g}/{off_us:g} µs"
        note = f"The kit does not have these alloys: taken as bearing steel; {NO_AREA}."
        if filled["off_us"] != row["off_us"]:
            note += " Off-time and voltage not given, taken as in the later study."
        checks += [
            check_of(
                "niti",
                answer,
                quantity,
                what,
                value,
                unit,
                getattr(made, name),
                note=note,
                fitted=(row["run"], answer) == ("confirmation", "finish"),
            )
            for answer, quantity, value, unit, name in asked
        ]
    return tuple(checks)


def _niti_answers(row):
    """Return the answers of a row that can be compared."""
    asked = []
    if row["mrr_mm3_min"]:
        rate = float(row["mrr_mm3_min"])
        worn = 100 * float(row["tool_wear_mm3_min"]) / rate
        asked.append(("removal", "removal rate", rate, "mm³/min", "removal_rate_mm3_per_min"))
        asked.append(("wear", "electrode wear", worn, "%", "relative_wear_percent"))
    if row["ra_um"]:
        asked.append(("finish", "Ra", float(row["ra_um"]), "µm", "roughness_Ra_um"))
    return asked
