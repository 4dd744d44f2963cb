"""Predictions against published burns and trends, misses included.

Published levels differ 40-fold between machines, so a level says little; ratios say more. A
known miss is marked xfail(strict=True): it is seen if it heals.
"""

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.data import read_rows

OPEN_AREA = 200.0  # mm²; no source gives its area: taken as large and openly flushed
TUBE_AREA = np.pi / 4 * (2.0**2 - 0.8**2)  # mm², Izwan et al. (2016), copper tube 2.0/0.8 mm


def burn(
    work, amps, on_us, off_us, electrode="copper", polarity="electrode positive", area=OPEN_AREA
):
    """Return what an untrained shop predicts."""
    pair = ek.work_material(work), ek.electrode_material(electrode)
    setup = ek.Setup(*pair, ek.dielectric("edm_oil"), polarity, area)
    with warnings.catch_warnings():
        warnings.simplefilter("error", ek.RangeWarning)
        return ek.predict(setup, ek.Settings(amps, on_us, off_us))


def column(rows, name):
    """Return a column of a table as numbers."""
    return np.array([float(row[name]) for row in rows])


def exponent(x, y):
    """Return the slope of log y against log x."""
    return np.polyfit(np.log(x), np.log(y), 1)[0]


# --- Yahya et al. (2011), second hand through Izwan et al. (2016): steel, copper, about 50 µs ---
YAHYA = read_rows("published_yahya_2011_mrr_current.csv")


def yahya(work):
    """Return what is predicted for the two burns; off-time not given, taken as the on-time."""
    times = column(YAHYA, "on_us")
    return burn(work, column(YAHYA, "current_A"), times, times).removal_rate_mm3_per_min


@pytest.mark.parametrize("work", ["1045", "4140", "52100"])  # only 'steel' is said
def test_yahya_2011_levels_lie_in_the_band(work):
    made, published = yahya(work), column(YAHYA, "mrr_mm3_min")
    assert published.tolist() == [18, 55]
    assert ((made.low < published) & (published < made.high)).all()


def test_yahya_2011_ratio_is_predicted_within_a_quarter():
    published = column(YAHYA, "mrr_mm3_min")
    ratio = (published[1] / published[0]) / (yahya("1045").likely[1] / yahya("1045").likely[0])
    assert_allclose(ratio, 0.79, atol=0.005)  # as it is: the current counts a little too much
    assert 1 / 1.25 - 0.01 < ratio < 1.25 and abs(ratio - 1) < 0.25


# --- Juvkam-Wold (1967), SM thesis, abstract: tool steel, graphite, tool positive ---
(JUVKAM_WOLD,) = read_rows("published_juvkamwold_1967_reverse_polarity.csv")


@pytest.mark.parametrize("work", ["O1", "D2", "H13"])  # 'tool steel'
def test_juvkam_wold_1967_level_lies_in_the_band(work):
    given = [float(JUVKAM_WOLD[name]) for name in ("current_A", "on_us", "off_us")]
    made = burn(work, *given, electrode="graphite").removal_rate_mm3_per_min
    assert made.low < float(JUVKAM_WOLD["mrr_mm3_min"]) < made.high
    assert made.likely < float(JUVKAM_WOLD["mrr_mm3_min"])  # his best burn, so above the middle


def test_juvkam_wold_1967_slope_against_current():
    rows = read_rows("published_exponents.csv")
    published = float(
        next(r for r in rows if r["source"] == "Juvkam-Wold 1967")["exponent_current"]
    )
    assert published == 0.85
    amps = np.geomspace(1, 60, 30)
    made = burn("O1", amps, 72.2, 38.9, electrode="graphite").removal_rate_mm3_per_min.likely
    assert abs(exponent(amps, made) - published) < 0.35  # 1.185 here: just


# --- Izwan et al. (2016), Procedia Manuf. 5, 658, Fig. 4a: small holes, copper tube ---
IZWAN = read_rows("published_izwan_2016_aluminium_brass.csv")
IZWAN_WORKS = {"aluminium_6061_T6": "6061", "brass_CA360": "brass"}


def izwan(work, rows):
    """Return predictions for rows of one metal; polarity not stated, it does not count here."""
    given = (column(rows, name) for name in ("current_A", "on_us", "off_us"))
    return burn(work, *given, area=TUBE_AREA).removal_rate_mm3_per_min


@pytest.mark.parametrize("published, work", IZWAN_WORKS.items())
def test_izwan_2016_levels_lie_in_the_band(published, work):
    rows = [row for row in IZWAN if row["workpiece"] == published]
    made, measured = izwan(work, rows), column(rows, "mrr_mm3_min")
    assert len(rows) == 8
    assert ((made.low < measured) & (measured < made.high)).all()


@pytest.mark.parametrize("published, over", [("aluminium_6061_T6", 0.27), ("brass_CA360", 1.37)])
def test_izwan_2016_middle_of_each_metal(published, over):
    # as it is: aluminium is predicted 3.7 times too fast, brass a quarter too slow
    rows = [row for row in IZWAN if row["workpiece"] == published]
    ratios = column(rows, "mrr_mm3_min") / izwan(IZWAN_WORKS[published], rows).likely
    assert_allclose(np.exp(np.log(ratios).mean()), over, atol=0.02)


@pytest.mark.xfail(
    strict=True, reason="brass burned 2.3-4.5 times as fast as aluminium: not solved"
)
def test_izwan_2016_brass_is_faster_than_aluminium():
    made = [izwan(work, IZWAN[:1]).likely[0] for work in ("brass", "6061")]
    assert made[0] > made[1]


@pytest.mark.parametrize("published, slope", [("aluminium_6061_T6", 1.6), ("brass_CA360", 1.0)])
def test_izwan_2016_slopes_against_current(published, slope):
    # one slope of 1.185 for all metals lies between the two
    rows = [row for row in IZWAN if row["workpiece"] == published and row["on_us"] == "20"]
    assert_allclose(
        exponent(column(rows, "current_A"), column(rows, "mrr_mm3_min")), slope, atol=0.1
    )
    made = exponent(column(rows, "current_A"), izwan(IZWAN_WORKS[published], rows).likely)
    assert abs(made - slope) < 0.45


# --- Elias (2025), article 11394, abstract: A2 tool steel, best run for each answer ---
ELIAS = {row["note"]: row for row in read_rows("published_elias_2025_a2_extremes.csv")}


def elias(note):
    """Return the burn of one run; A2 taken as D2, electrode and area not given."""
    return burn("D2", *(float(ELIAS[note][name]) for name in ("current_A", "on_us", "off_us")))


@pytest.mark.xfail(strict=True, reason="predicted 19 times too fast: area and amps are in doubt")
def test_elias_2025_removal_lies_in_the_band():
    made = elias("highest MRR of the L9").removal_rate_mm3_per_min
    assert made.low < float(ELIAS["highest MRR of the L9"]["mrr_mm3_min"]) < made.high


@pytest.mark.xfail(strict=True, reason="predicted 3 times too rough: 2.6 µm at 36 A is distrusted")
def test_elias_2025_roughness_lies_in_the_band():
    made = elias("lowest Ra of the L9").roughness_Ra_um
    assert made.low < float(ELIAS["lowest Ra of the L9"]["ra_um"]) < made.high


# --- trends over settings ---
@pytest.mark.parametrize("on_us", [20, 50, 100, 200])
def test_roughness_grows_as_a_root_of_energy_along_current(on_us):
    # 0.2 to 0.5 spans the published exponents; textbook form: current^0.29, on-time^0.38
    made = burn("52100", np.geomspace(3, 50, 9), on_us, on_us)
    assert 0.2 < exponent(made.pulse_energy_mJ.likely, made.roughness_Ra_um.likely) < 0.5


@pytest.mark.parametrize("amps", [1, 3, 10, 30])
def test_roughness_grows_as_a_root_of_energy_along_on_time(amps):
    made = burn("52100", amps, np.geomspace(10, 400, 9), 50)
    assert 0.2 < exponent(made.pulse_energy_mJ.likely, made.roughness_Ra_um.likely) < 0.5


def test_graphite_wear_of_the_vocational_text():
    # vocational text on relative wear against on-time, at 25.4 A
    times = np.array([400.0, 600.0, 800.0])
    made = burn("1045", 25.4, times, 50, electrode="graphite").relative_wear_percent.likely
    assert (made <= 1.0).all()
    turned = burn("1045", 25.4, np.array([5.0, 50.0, 800.0]), 50, "graphite", "electrode negative")
    assert (turned.relative_wear_percent.likely > 12).all()


def test_gap_in_oil_at_usual_voltages():
    # abstract on gaps in kerosene: 5 to 50 µm
    for volts in (60.0, 100.0, 200.0):
        setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                         ek.dielectric("kerosene"), "electrode positive", 7.0)  # fmt: skip
        made = ek.predict(setup, ek.Settings(3, 50, 25, open_voltage_V=volts)).gap_front_um
        assert 5 <= made.likely <= 50


def test_low_current_gap_and_wear_of_the_trade():
    # common practice, no source: at about 2 A and 10-40 µs, copper on hardened steel, the gap is
    # 25-50 µm, and well-chosen settings wear the electrode 3-4 % of the metal removed
    made = burn("52100", 2.0, np.array([10.0, 20.0, 40.0]), 25, area=7.0)
    assert ((made.gap_side_um.likely > 25) & (made.gap_side_um.likely < 50)).all()
    well_chosen = burn("52100", 3.0, 60.0, 25, area=7.0).relative_wear_percent
    assert 3 <= well_chosen.likely <= 4
