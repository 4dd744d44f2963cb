"""The suction electrode: flats on an insert, what they let pass, what they leave standing."""

from dataclasses import replace
from math import log, pi, sqrt
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_gauge_free import hole

import edmkit as ek
from edmkit import Refusal
from edmkit.estimate import Estimate
from edmkit.flushing.filing_trade import trade
from edmkit.flushing.gauge_free import Warm
from edmkit.flushing.suction_electrode import Suction, filing
from edmkit.flushing.two_cups import RULE, Place
from edmkit.flushing.way import Bench
from edmkit.panels.suction_electrode_box import SuctionElectrodeBox
from edmkit.plots.insert_trade import (
    CHOSEN_FIN,
    CHOSEN_SHARE,
    FIN,
    SHARE,
    SNAPS,
    change_insert_trade,
    insert_trade,
    insert_trade_figure,
)
from edmkit.words import Display

THIN = Warm("2 mm²/s oil", 1.58e-3, 790.0, 80e3, 0.1)
QUICK = "ignore:gap in front. the fluid is so quick:edmkit.RangeWarning"
pytestmark = pytest.mark.filterwarnings(QUICK)  # a test of its own below looks for it
PLACE = Place(3.0, 1.0, 6.0, 35.0, gap_front_um=Estimate(30.0, 0.2))


def suction(place=None, **other):
    """Return a suction electrode, some of its sizes changed."""
    sizes = {"insert_mm": 1.0, "flat_length_mm": 12.0, "cut_mm": 0.5, "pressure_kPa": 20.0,
             "fluid": THIN}  # fmt: skip
    return Suction(place or PLACE, **sizes | other)


# --- Suction ---
def test_a_shallow_flat_has_16_35_of_the_rectangle():
    """Two flats 0.1 mm deep in a bore of 10: 16/35 w h³ / (12 L) each; front: pi g³ / (6 ln)."""
    place = Place(20.0, 10.0, 1.0, 2000.0, gap_front_um=Estimate(30.0, 0.2))
    _, share = suction(place, insert_mm=10.0, pressure_kPa=0.05).flow(2, 0.1)
    wide = 2 * sqrt(5**2 - 4.9**2) * 1e-3
    flats = 2 * 16 / 35 * wide * (0.1e-3) ** 3 / (12 * 12e-3)
    front = pi * (30e-6) ** 3 / (6 * log(10 / 5))
    assert_allclose(share, front / flats, rtol=0.02)


def test_the_flow_by_hand_where_the_gap_takes_all():
    """pi g³ dp / (6 mu ln 3) at 1 kPa: 0.489 ml/min, the flats wide open and short."""
    place = Place(3.0, 1.0, 1.0, 2000.0, gap_front_um=Estimate(30.0, 0.2))
    flow, share = suction(place, flat_length_mm=1.0, cut_mm=0.1, pressure_kPa=1.0).flow(2, 0.45)
    assert share < 0.01
    assert_allclose(flow, pi * 2.7e-14 * 1e3 / (6 * 1.58e-3 * log(3)) * 6e7, rtol=0.02)


@pytest.mark.parametrize("depth", [0.06, 0.1, 0.14])
def test_more_flats_and_deeper_ones_pass_more(depth):
    made = suction()
    flows = [made.flow(n, depth)[0] for n in (1, 2, 3, 4)]
    shares = [made.flow(n, depth)[1] for n in (1, 2, 3, 4)]
    assert np.all(np.diff(flows) > 0) and np.all(np.diff(shares) < 0)
    assert made.flow(2, depth + 0.01)[0] > flows[1]
    assert replace(made, flat_length_mm=24.0).flow(2, depth)[1] > shares[1]


def test_how_many_dressings():
    """12 mm of flats, 0.5 mm a dressing, 1 mm holds the insert: 22, by hand."""
    made = suction()
    assert (made.dressings, made.left_mm) == (22, 1.0)
    assert made.dressings_said(Display()) == (
        "The flats last for 22 dressings; 1.0 mm of insert is left then: fit a new one."
    )
    once = suction(flat_length_mm=1.2, cut_mm=0.2)  # 1.2 - 0.2 is a hair off 1 in binary
    assert once.dressings == 1 and "1 dressing;" in once.dressings_said(Display(inches=True))
    assert "too short for a dressing" in suction(cut_mm=11.5).dressings_said(Display())


@pytest.mark.parametrize(
    "wrong, said",
    [
        ({"pressure_kPa": 85.0}, "pressure_kPa must be .* to 80 kPa, got 85 kPa: gas comes out"),
        ({"insert_mm": 1.1}, "insert_mm must be 0.9 to 1 mm, got 1.1 mm: it goes into the bore"),
        ({"insert_mm": 0.8}, "insert_mm must be 0.9 to 1 mm, got 0.8 mm: .* holds there"),
        ({"flat_length_mm": 0.5}, "flat_length_mm must be 1 to 500 mm, .* falls out of its bore"),
        ({"cut_mm": 0.0}, "cut_mm must be 0.001 to 12 mm, got 0 mm"),
        ({"direction": "up"}, "direction must be one of"),
    ],
)
def test_what_cannot_be_is_refused_by_name(wrong, said):
    with pytest.raises(Refusal, match=said):
        suction(**wrong)


def test_pressure_is_not_bound_by_the_gas_in_the_fluid():
    assert suction(pressure_kPa=200.0, direction="pressure").flow(2, 0.1)[0] > 0
    with pytest.raises(Refusal, match="gap_front_um must be given"):
        suction(replace(PLACE, gap_front_um=None))


# --- filing ---
def test_what_a_micrometer_reads_and_what_stands():
    """1.00 - 2 x 0.20 = 0.60 over two flats; fin 0.20 - 2 x 0.035 = 0.13 mm, by hand."""
    made = filing(suction(), 2, 0.20)
    assert made.reading.words == "insert, over two flats"
    assert_allclose(made.reading.mm, 0.60)
    assert made.fin.fins == 2 and made.fin.snaps_off  # 6 mm high over 0.13 mm
    assert_allclose(made.fin.thickness_mm, 0.13)
    one = filing(suction(), 1, 0.20)
    assert one.reading.words == "insert, flat to round" and one.reading.mm == pytest.approx(0.80)


def test_the_gap_keeps_the_rest_of_the_resistance():
    made = filing(suction(), 2, 0.1)
    assert_allclose(made.gap_keeps, 1 / (1 + made.share))
    assert "hold back" in made.meter_sentence and "File deeper" in made.meter_sentence
    assert "as it should" in filing(suction(), 2, 0.3).meter_sentence


def test_the_band_of_the_flow_is_that_of_the_gap():
    """Where the gap meters the flow it goes with the gap's cube: exp(3 x 1.645 x 0.2) = 2.68."""
    place = replace(PLACE, gap_side_um=500.0)
    made = filing(suction(place, pressure_kPa=0.5), 2, 0.45)
    low, high = made.flow_ends
    assert low < made.flow_ml_per_min < high
    assert_allclose([made.flow_ml_per_min / low, high / made.flow_ml_per_min], 2.68, rtol=0.06)


@pytest.mark.parametrize(
    "flats, depth, said",
    [
        (2, 0.6, "flat_depth must be 0.05 to 0.475 mm, got 0.6 mm"),  # deeper than the insert
        (4, 0.2, "flat_depth must be 0.05 to 0.146.* got 0.2 mm: 4 flats .* must not meet"),
        (2, 0.01, "flat_depth must be 0.05"),
        (5, 0.1, "flats must be 1 to 4, got 5"),
        (0, 0.1, "flats must be 1 to 4, got 0"),
    ],
)
def test_flats_that_cannot_be_filed_are_refused(flats, depth, said):
    with pytest.raises(Refusal, match=said):
        filing(suction(), flats, depth)


# --- trade ---
def test_no_fin_and_low_resistance_pull_apart():
    found = trade(suction())
    for line in found.lines:
        assert np.all(np.diff(line.fin_mm) >= 0) and line.fin_mm[-1] > line.fin_mm[0]
        assert np.all(np.diff(line.share) < 0) and np.all(np.diff(line.flow_ml_per_min) > 0)
        assert line.depths_mm[0] == pytest.approx(0.05)
    assert found.snaps_mm == pytest.approx(0.6)  # a tenth of 6 mm, assumption


def test_the_two_ends_are_where_they_are_said_to_be():
    """No fin: 2 x 0.035 = 0.07 mm, by hand; the other end by filing there."""
    made = suction()
    for flats, line in enumerate(trade(made).lines, 1):
        assert_allclose(line.no_fin_mm, 0.07)
        assert filing(made, flats, line.no_fin_mm - 1e-6).fin.fins == 0
        assert filing(made, flats, line.no_fin_mm + 1e-6).fin.fins == flats
        assert made.flow(flats, line.easy_mm)[1] <= RULE
        assert made.flow(flats, line.easy_mm - 0.011)[1] > RULE * 0.97
        no_fin, easy = line.ends(Display())
        assert "No fin up to 0.07 mm" in no_fin and f"{line.easy_mm:.2f} mm on" in easy


def test_play_leaves_a_fin_at_any_depth():
    """0.04 mm of play and 0.05 mm filed are more than two gaps of 35 µm."""
    line = trade(suction(insert_mm=0.92)).lines[1]
    assert line.no_fin_mm is None and line.ends(Display())[0].startswith("Even flats 0.05 mm")


def test_two_flats_are_advised_where_their_fin_snaps():
    found = trade(suction())
    assert found.advice.tube.flats == 2 and found.advice.share <= RULE
    assert found.advice.fin.snaps_off and "snaps off" in found.reason
    assert_allclose(found.advice.tube.flat_depth, found.lines[1].easy_mm)


def test_a_shallow_hole_keeps_its_fin():
    found = trade(suction(replace(PLACE, depth_mm=0.2)))
    assert not found.advice.fin.snaps_off and "its fin stands" in found.reason
    assert found.advice.share <= RULE


def test_a_wide_gap_gives_both():
    rough = replace(PLACE, gap_side_um=150.0)
    found = trade(suction(rough, flat_length_mm=3.0))
    assert found.advice.fin.fins == 0 and "no fin is left" in found.reason


def test_flats_too_long_for_their_bore_say_so():
    wide = replace(PLACE, gap_side_um=200.0, gap_front_um=Estimate(200.0, 0.1))
    found = trade(suction(wide, flat_length_mm=200.0), 4)
    assert found.advice.share > RULE and "shorten the flats" in found.reason
    assert found.lines[3].easy_mm is None and "At no depth" in found.lines[3].ends(Display())[1]


def test_the_number_of_flats_may_be_given():
    assert [trade(suction(), n).advice.tube.flats for n in (1, 2, 3, 4)] == [1, 2, 3, 4]
    with pytest.raises(Refusal, match="flats must be 1 to 4, got 7"):
        trade(suction(), 7)
    with pytest.raises(Refusal, match=r"insert_mm must leave room for .* take a wider bore"):
        trade(suction(replace(PLACE, bore_mm=0.2), insert_mm=0.2))


# --- the plot ---
def shown(flats=2, depth=0.15, per_mm=1.0, **place):
    """Return what the plot shows of a trade."""
    found = trade(suction(replace(PLACE, **place)))
    return insert_trade(found.lines[flats - 1], found.snaps_mm, depth, per_mm)


def test_the_plot_shows_the_trade():
    data = insert_trade_figure(shown()).data
    line = trade(suction()).lines[1]
    assert_allclose(data[FIN].y, line.fin_mm)
    assert_allclose(data[SHARE].y, line.share)
    assert list(data[SNAPS].y) == [0.6, 0.6]
    made = filing(suction(), 2, 0.15)
    assert data[CHOSEN_FIN].x[0] == 0.15
    assert_allclose(data[CHOSEN_FIN].y[0], made.fin.thickness_mm, atol=1e-3)
    assert_allclose(data[CHOSEN_SHARE].y[0], made.share, rtol=0.03)


@pytest.mark.parametrize("depth_mm", [0.5, 6.0, 60.0])
def test_everything_is_in_sight_and_said(depth_mm):
    figure = insert_trade_figure(shown(depth_mm=depth_mm))
    fin, share = figure.data[FIN], figure.data[SHARE]
    assert max(fin.y) <= figure.layout.yaxis.range[1]
    low, high = (10**end for end in figure.layout.yaxis2.range)
    assert low <= min(share.y) and max(share.y) <= high
    words = " ".join(note.text for note in figure.layout.annotations)
    assert "snaps off" in words and "0.3" in words
    if depth_mm == 60.0:  # the limit is far above every fin
        assert "each of these" in words


def test_the_figure_changes_in_place():
    figure, other = insert_trade_figure(shown()), shown(4, 0.12, depth_mm=2.0)
    change_insert_trade(figure, other)
    assert figure.data[FIN].y == pytest.approx(other.fin)
    assert figure.data[CHOSEN_SHARE].x[0] == 0.12
    inches = insert_trade_figure(shown(per_mm=1 / 25.4))
    assert_allclose(np.array(inches.data[FIN].x) * 25.4, trade(suction()).lines[1].depths_mm)


# --- the panel ---
@pytest.fixture
def box():
    flushed = SimpleNamespace(pressure_kPa=20.0)
    return SuctionElectrodeBox(SimpleNamespace(
        answered=True, hole=hole(ek.Round(3.05)), display=Display(), window=flushed,
        bench=Bench()))  # fmt: skip


def test_the_number_to_file_to_stands_out(box):
    made = trade(box.trade.suction).advice
    assert f'edm-big">{made.reading.mm:.2f} <small>mm,' in box.answer.value
    assert "over two flats" in box.answer.value and "snap off" in box.rests_on.value
    assert f"{made.reading.mm:.2f} mm" in box.drawing.value and box.message == ""


@pytest.mark.parametrize(
    "change",
    [
        lambda box: box.lengths["bore"].type("1.2"),
        lambda box: box.lengths["insert"].type("0.95"),
        lambda box: box.lengths["depth"].type("0.3"),
        lambda box: box.lengths["length"].type("20"),
        lambda box: box.lengths["cut"].type("1"),
        lambda box: box.suction.type("5"),
        lambda box: setattr(box.flats, "value", 4),
    ],
)
def test_each_control_changes_the_answer(box, change):
    before = box.answer.value + box.rests_on.value
    change(box)
    assert box.message == "" and box.answer.value
    assert box.answer.value + box.rests_on.value != before


def test_a_wrong_number_gets_a_sentence(box):
    box.lengths["depth"].type("0.8")
    assert "Filed off each flat must be 0.05 to" in box._message.value and not box.answer.value
    box.lengths["depth"].type("")
    assert box.answer.value and not box._message.value
    box.suction.type("90")
    assert "gas comes out" in box._message.value
    box.suction.type("lots")
    assert "Suction must be" in box.suction.complaint and "Traceback" not in box._message.value


def test_it_follows_the_page(box):
    box.page.display = Display(inches=True)
    before = box.filing.reading.mm
    box.redraw()
    assert box.filing.reading.mm == pytest.approx(before) and "<small>in," in box.answer.value
    assert box.lengths["bore"].value == pytest.approx(1.0 / 25.4)
    box.page.hole = hole(ek.RegularPolygon(6, 4.06))
    box.redraw()
    assert "round of the same area" in box.rests_on.value
    box.page.answered = False
    box.redraw()
    assert "Give a hole" in box._message.value and not box.answer.value


def test_it_takes_over_the_pressure_of_the_page(box):
    box.suction.type("7")
    box.redraw()
    assert box.suction.value == 7.0  # until the page's changes
    box.page.window = SimpleNamespace(pressure_kPa=12.0)
    box.redraw()
    assert box.suction.value == 12.0 and box.trade.suction.pressure_kPa == 12.0
    thick = box.trade.suction.fluid.viscosity
    box.page.bench = Bench(oil_C=40.0)
    box.redraw()
    assert box.trade.suction.fluid.viscosity < thick


def test_pressure_is_no_suction(box):
    setup = box.page.hole.burn.setup
    pushed = replace(setup, flushing=ek.Flushing("pressure"))
    box.page.hole = replace(box.page.hole, burn=replace(box.page.hole.burn, setup=pushed))
    box.page.window = SimpleNamespace(pressure_kPa=95.0)
    box.redraw()
    assert box.message == "" and box.trade.suction.direction == "pressure"  # no gas comes out


@pytest.mark.parametrize("flats", [1, 2, 3, 4])
def test_the_deepest_flats_of_the_trade_can_be_filed(flats):
    # the trade ends where the electrode itself refuses: a hair deeper and it does
    made = suction()
    deepest = trade(made).lines[flats - 1].depths_mm[-1]
    assert made.tube(flats, deepest).flats == flats
    with pytest.raises(ek.Refusal, match="flat_depth must be"):
        made.tube(flats, deepest + 0.001)


def test_a_doubt_about_the_flow_is_said_once(box):
    box.page.hole = replace(box.page.hole, burn=SimpleNamespace(
        gap_side_um=Estimate(100.0, 0.2), gap_front_um=Estimate(90.0, 0.2),
        setup=box.page.hole.burn.setup))  # fmt: skip
    box.redraw()
    assert box.rests_on.value.count("inertia counts") == 1


def test_a_hole_without_a_bore_gets_one(box):
    box.page.hole = replace(box.page.hole, bore_mm=0.0, electrode=ek.Round(2.96))
    box.redraw()
    assert box.lengths["bore"].value == 1.0 and box.message == ""
    box.lengths["bore"].type("1.3")
    box.redraw()
    assert box.lengths["bore"].value == 1.3  # the page's bore did not change
