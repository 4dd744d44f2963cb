"""The evidence: each check's arithmetic by hand, every published figure on the list, the plot."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import evidence
from edmkit.estimate import Estimate
from edmkit.evidence.check import ANSWERS, HOW_READ, KINDS, Check
from edmkit.evidence.tables import LEFT_OUT
from edmkit.physics import removal
from edmkit.plots.evidence_plot import axes_of, evidence_figure, lines_of, traces_of

DATA = Path(ek.__file__).parent / "data"
TWICE = math.log(2) / 1.6449  # spread of a band of a factor of two either way
FOUND = evidence.checks()


def made_up(published, predicted=10.0, **more):
    """Return an invented check."""
    given = {
        "answer": "removal", "kind": "burn", "quantity": "removal rate", "unit": "mm³/min",
        "what": "Invented 2000: steel, 1 A", "source": "invented", "how_read": "read",
    } | more  # fmt: skip
    return Check(published=published, predicted=predicted, **given)


def table(name):
    """Return the rows of a table of the kit, read without the kit."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


# --- the arithmetic of a check, by hand ------------------------------------------------------
@pytest.mark.parametrize(
    "published, factor, off, inside",
    [  # predicted 10, band 5 to 20
        (10, 1, 0, True),
        (19.9, 0.5025, 0.9928, True),
        (20.1, 0.4975, 1.0072, False),
        (5.1, 1.961, 0.9714, True),
        (2.5, 4, 2, False),
        ((12, 30), 0.8333, 0.2630, True),
        ((8, 30), 1, 0, True),
        ((30, 90), 1 / 3, 1.585, False),
    ],
)
def test_an_estimate_against_a_figure_or_a_range(published, factor, off, inside):
    check = made_up(published, Estimate(10.0, TWICE))
    assert_allclose([check.factor, check.off], [factor, off], rtol=1e-3)
    assert check.inside is inside


@pytest.mark.parametrize(
    "published, factor, off",
    [  # a number, 10, against a range: the ends are at 1, the geometric middle at 0
        ((5, 20), 1, 0),
        ((10, 40), 1, 1),
        ((20, 80), 0.5, 2),
        ((0, 20), 1, 0.5),
        ((0, 8), 1.25, 1.25),
        ((8, math.inf), 1, 0.8),
        ((12, math.inf), 10 / 12, 1.2),
    ],
)
def test_a_number_against_a_range(published, factor, off):
    check = made_up(published)
    assert_allclose([check.factor, check.off], [factor, off], atol=1e-12)
    assert check.inside == (off <= 1)


def test_an_exact_number_against_a_printed_one():
    # 10 against 10.2 is 1.96 % apart
    assert_allclose(made_up(10.2, tolerance=0.0392).off, 0.5, rtol=1e-3)
    assert made_up(10.2, tolerance=0.02).inside and not made_up(10.2, tolerance=0.019).inside


def test_a_whole_range_is_never_said_to_be_off_by_its_middle():
    span = Estimate(10.0, TWICE)  # 5 to 20
    assert made_up(19, span, spans=True).factor == 1
    assert_allclose(made_up(40, span, spans=True).factor, 0.5, rtol=1e-4)
    assert_allclose(made_up(1, span, spans=True).factor, 5, rtol=1e-4)
    assert made_up(19, span, spans=True).inside and not made_up(21, span, spans=True).inside


def test_worst_first_and_the_middle():
    checks = [made_up(value, Estimate(10.0, TWICE)) for value in (10, 80, 30, 2)]
    assert [check.published for check in evidence.worst_first(checks)] == [80, 2, 30, 10]
    assert_allclose(evidence.middle_factor(checks[1:3]), math.sqrt(1 / 8 / 3), rtol=1e-12)


def test_scores_misses_and_leaning_by_hand():
    steel = [made_up(v, Estimate(10.0, TWICE)) for v in (4, 12, 13)]
    brass = [
        made_up(v, Estimate(10.0, TWICE), what="Invented 2000: brass, 1 A") for v in (4.9, 4.8)
    ]
    wide = [made_up(v, Estimate(10.0, 2 * TWICE), what="Invented 2001: tin, 1 A") for v in (4, 3)]
    trend = made_up(10, Estimate(10.0, TWICE), kind="trend")
    lone = made_up(4, Estimate(10.0, 2 * TWICE), what="Invented 2002: zinc, 1 A", answer="finish")
    band = made_up((4, 6), Estimate(10.0, TWICE), kind="trade")  # a range, missed
    found = [*steel, *brass, *wide, trend, band, lone]
    score = evidence.score("removal", found)
    assert (score.burns, score.burns_inside, score.others, score.others_inside) == (7, 4, 2, 2)
    assert_allclose(score.bands, (2, 4), rtol=1e-3)
    product = 4 * 12 * 13 * 4.9 * 4.8 * 4 * 3
    assert_allclose(score.factor, 10 / product ** (1 / 7), rtol=1e-9)
    (group,) = evidence.misses(found)
    assert [c.published for c in group.checks] == [4, 4.8, 4.9] and group.among == 6
    ratios = [made_up(v, Estimate(10.0, TWICE), unit="times") for v in (1, 2, 3)]
    assert [len(group.checks) for group in evidence.misses(ratios)] == [1, 1, 1]
    (leaning,) = evidence.leaning(found)
    assert leaning.source == "Invented 2001: tin"
    assert_allclose(leaning.factor, 10 / math.sqrt(12), rtol=1e-9)
    assert math.isnan(evidence.score("gap", found).factor)


# --- nothing published is left out -----------------------------------------------------------
ANSWER_COLUMNS = ("mrr_mm3_min", "ra_um", "tool_wear_mm3_min", "wear_percent_computed",
                  "value_at_mrr_maximum_low", "value_at_mrr_maximum_high")  # fmt: skip


def said(file):
    """Return every number and word that stands on the list for a file."""
    ends = [end for check in FOUND if check.table == file for end in check.ends]
    words = " ".join(f"{u.what} {u.published} {u.why}" for u in evidence.uncompared()
                     if u.table == file)  # fmt: skip
    return ends, words


@pytest.mark.parametrize("file", sorted(path.name for path in DATA.glob("published_*.csv")))
def test_every_published_figure_is_compared_or_said_not_to_be(file):
    if "exponents" in file:
        return
    ends, words = said(file)
    for row in table(file):
        worn = row.get("tool_wear_mm3_min") and row.get("mrr_mm3_min") and "run" in row
        for column in ANSWER_COLUMNS:
            figure = row.get(column)
            if not figure:
                continue
            if worn and column == "tool_wear_mm3_min":  # as a share of the work removed
                figure = 100 * float(figure) / float(row["mrr_mm3_min"])
            near = np.isclose(ends, float(figure), rtol=1e-9).any()
            assert near or f"{float(figure):g}" in words, (column, figure)
        if "dibitonto" in file:
            assert float(row["on_us"]) in ends


def test_every_published_exponent_is_compared_or_said_not_to_be():
    file = "published_exponents.csv"
    whole = " ".join(c.source for c in FOUND if c.table == file) + said(file)[1]
    for row in table(file):
        author = row["source"].split(" et al.")[0].split(" & ")[0].split(" / ")[-1].split(" ")[0]
        assert author in whole, row["source"]
    # by hand: 2^0.85 = 1.803, 2^0.885 = 1.847, 2^0.058 = 1.041, 2^0.29 = 1.223, 2^0.38 = 1.301
    doubled = [check.published for check in FOUND if check.table == file]
    for factor in (1.8025, 1.8468, 1.0410, 1.2226, 1.3013, 2.0):
        assert np.isclose(doubled, factor, rtol=1e-4).any()


def test_every_standard_and_every_sum_is_compared():
    classes = [check.what for check in FOUND if check.what.startswith("VDI 3400 class")]
    printed = [row["vdi_class"] for row in table("standard_vdi3400.csv")
               for column in ("ra_um_S1", "ra_um_printed_S2") if row[column]]  # fmt: skip
    assert sorted(classes) == sorted(f"VDI 3400 class {number}" for number in printed)
    grades = [check.published for check in FOUND if check.quantity == "N grade"]
    assert set(grades) == set(range(1, 13))
    cut_offs = [check for check in FOUND if check.quantity == "cut-off"]
    assert len(cut_offs) == 2 * len(table("standard_roughness_cutoff.csv"))
    sums = {check.what.split(":")[0] for check in evidence.textbook()}
    listed = {row["id"] for row in table("standard_textbook_examples.csv")}
    assert sums | set(LEFT_OUT) == listed
    assert not sums & set(LEFT_OUT)


@pytest.mark.parametrize(
    "check", [*evidence.standards(), *evidence.textbook()], ids=lambda check: check.what
)
def test_standards_and_sums_agree(check):
    assert check.inside, (check.ends, check.likely)


@pytest.mark.parametrize("word", ["crater", "White layer", "overcut", "Taper", "arcs", "flushing"])
def test_what_nobody_measured_is_said(word):
    assert any(word in what for what, _ in evidence.UNMEASURED)


# --- what every check must be ----------------------------------------------------------------
@pytest.mark.parametrize("check", FOUND, ids=lambda check: f"{check.what}: {check.quantity}")
def test_a_check_is_whole(check):
    assert check.answer in ANSWERS and check.kind in KINDS and check.how_read in HOW_READ
    assert check.what and check.source and np.isfinite(check.off) and check.off >= 0
    assert check.likely > 0 and check.ends[0] <= check.ends[1]
    assert check.table == "" or (DATA / check.table).is_file()
    if check.kind in ("burn", "trend"):
        assert isinstance(check.predicted, Estimate) and check.predicted.spread > 0


def test_a_prediction_is_what_the_kit_predicts():
    def predicted(work, electrode, area, *settings):
        pair = ek.work_material(work), ek.electrode_material(electrode)
        oil = ek.dielectric("edm_oil")
        setup = ek.Setup(*pair, oil, "electrode positive", area)
        return ek.predict(setup, ek.Settings(*settings))

    first = evidence.yahya()[0].predicted
    assert first == predicted("1045", "copper", 200, 4, 50, 50).removal_rate_mm3_per_min
    graphite = evidence.juvkam_wold()[0].predicted
    by_hand = predicted("O1", "graphite", 200, 35, 72.2, 38.9).removal_rate_mm3_per_min
    assert graphite == by_hand
    tube = math.pi / 4 * (2.0**2 - 0.8**2)
    by_hand = predicted("6061", "copper", tube, 13, 20, 20).removal_rate_mm3_per_min
    assert evidence.izwan()[0].predicted == by_hand


def test_checks_are_worked_out_anew(monkeypatch):
    before = [check.likely for check in evidence.yahya()]
    monkeypatch.setattr(removal, "YIELD_LARGE", 2 * removal.YIELD_LARGE)
    after = [check.likely for check in evidence.yahya()]
    assert_allclose(np.divide(after, before), [2, 2, 1], rtol=1e-9)  # a level, a level, a ratio


def test_a_trend_is_the_ratio_of_two_burns():
    # twice the current in steel from 3 to 50 A: the slope of the kit between these two
    (check,) = [c for c in evidence.exponents() if c.what.startswith("Weller")]
    setup = ek.Setup(ek.work_material("1045"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 200)  # fmt: skip
    rates = [ek.predict(setup, ek.Settings(a, 100, 50)).removal_rate_mm3_per_min.likely
             for a in (3, 50)]  # fmt: skip
    slope = math.log(rates[1] / rates[0]) / math.log(50 / 3)
    assert_allclose(check.likely, 2**slope, rtol=1e-6)
    assert_allclose(check.predicted.spread, 0.20 * math.log(2), rtol=0.1)  # a slope's own doubt


def test_a_best_on_time_is_the_best_of_its_neighbours():
    (check,) = [c for c in evidence.optimum_on_times() if c.what.endswith("steel, 2.34 A")]
    setup = ek.Setup(ek.work_material("1045"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 200)  # fmt: skip
    times = check.likely * np.array([0.7, 1.0, 1.4])
    made = ek.predict(setup, ek.Settings(2.34, times, times)).removal_rate_mm3_per_min.likely
    assert made.argmax() == 1
    at_listed = ek.predict(setup, ek.Settings(2.34, 5.6, 5.6)).removal_rate_mm3_per_min.likely
    assert f"has {100 * at_listed / made[1]:.0f} % of its best speed" in check.note
    assert_allclose(check.predicted.high / check.likely, 2.5, rtol=1e-3)


def test_what_lies_outside_the_tables_says_so():
    (beyond,) = [c for c in evidence.optimum_on_times() if c.what.endswith("steel, 68 A")]
    assert "tables end at 60 A" in beyond.note
    (chart,) = [c for c in evidence.trade() if c.what.endswith("1600 µs")]
    assert "Outside the kit's tables" in chart.note


def test_levels_the_kit_was_set_with_are_owned_up_to():
    known = {c.what.split(":")[0] for c in evidence.burns(FOUND) if c.fitted}
    assert known == {"Yahya 2011", "Juvkam-Wold 1967", "Izwan 2016", "Obrabotka 2025"}
    assert all(c.fitted for c in evidence.trade() if c.what.startswith("handbook charts"))


# --- the plot --------------------------------------------------------------------------------
TWO = (
    made_up(40, Estimate(10.0, TWICE)),
    made_up(5, Estimate(10.0, TWICE)),
    made_up((20, 30), Estimate(10.0, TWICE), what="Invented 2000: steel, 2 A", answer="finish",
            quantity="Ra"),
)  # fmt: skip


def test_lines_share_repeated_burns_and_name_the_quantity_where_mixed():
    lines = lines_of(TWO)
    assert [line.label for line in lines] == [
        "Invented 2000: steel, 1 A", "Invented 2000: steel, 2 A: Ra"
    ]  # fmt: skip
    assert [len(line.checks) for line in lines] == [2, 1]
    assert_allclose(lines[0].band, (0.5, 2), rtol=1e-3)
    assert not lines[0].inside
    assert lines_of(TWO[:2])[0].label == "Invented 2000: steel, 1 A"
    long = lines_of([made_up(1, Estimate(1.0, 1.0), what="x" * 80)])[0].label
    assert len(long) == 54 and long.endswith("…")


def test_traces_say_published_over_predicted():
    bands, ranges, inside, outside = traces_of(lines_of(TWO))
    assert_allclose(bands[0][:2], (0.5, 2), rtol=1e-3)
    assert bands[1] == [0, 0, None, 1, 1, None]
    assert (ranges[0], ranges[1]) == ([2.0, 3.0, None], [1, 1, None])
    assert (inside[0], inside[1]) == ([0.5, 2.0], [0, 1])
    assert (outside[0], outside[1]) == ([4.0], [0])
    assert "published 40 mm³/min" in outside[2][0] and "predicted 10 mm³/min, 5" in outside[2][0]


def test_worst_is_on_top_and_a_miss_is_said_in_words():
    axes = axes_of(lines_of(evidence.worst_first(evidence.burns(FOUND))))
    bottom, top = axes["yaxis"]["range"]
    assert bottom > top and axes["yaxis"]["ticktext"][0].startswith("<b>MISS</b> ")
    assert "MISS" not in axes["yaxis"]["ticktext"][-1]
    low, high = 10 ** np.array(axes["xaxis"]["range"])
    for check in evidence.burns(FOUND):
        assert low < check.ends[0] / check.likely < high
    assert "1/10" in axes["xaxis"]["ticktext"] and "1" in axes["xaxis"]["ticktext"]


def test_marks_differ_by_shape_and_every_burn_is_drawn():
    measured = evidence.burns(FOUND)
    figure = evidence_figure(lines_of(measured))
    inside, outside = figure.data[2], figure.data[3]
    assert inside.marker.symbol != outside.marker.symbol
    assert len(inside.x) + len(outside.x) == len(measured)
    assert len(outside.x) == sum(not check.inside for check in measured)
    drawn = sorted([*inside.x, *outside.x])
    assert_allclose(drawn, sorted(check.ends[0] / check.likely for check in measured), rtol=1e-9)
