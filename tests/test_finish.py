"""How smooth and how deep the heat: Ra, classes and grades, cut-off, recast layer."""

import numpy as np
import pytest
from contract import keeps_shapes, refuses
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from edmkit import work_material
from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.crater import FIELDS, Crater
from edmkit.physics.finish import (
    EJECTED_SHARE,
    N_GRADE_RA,
    RT_PER_RA,
    RZ_PER_RA,
    class_roughness,
    comparator_plate,
    cut_off,
    depth_left,
    n_grade,
    recast_depth,
    recast_depth_low,
    roughness_Ra,
    vdi_class,
)
from edmkit.tables import crater
from edmkit.units import inch, mm, um, um3, us

VDI = read_rows("standard_vdi3400.csv")
STEEL = work_material("52100")
SURFACE = {"roughness_Ra": 3.2 * um}


def spark_Ra(current, on_time):
    """Return the roughness that sparks leave on bearing steel [m]."""
    spark = crater(current, on_time, 25, 0.30, STEEL)
    return roughness_Ra(spark.depth, spark.volume)


# --- roughness_Ra ---
DENT = {"crater_depth": 19.8 * um, "crater_volume": 132_065 * um3}


@pytest.mark.parametrize(
    "amps, microseconds, measured",
    [  # handbook charts of finish against current and frequency, from memory; the last is NiTi
        # (Obrabotka Metallov 27(2), 2025). A2 steel at 36 A, 250 µs with 2.604 µm (Elias 2025)
        # is left out: a third of what every other source gives there
        (50, 1600, 12.5),
        (10, 62, 4.0),
        (3, 10, 1.6),
        (0.5, 2.5, 0.57),
        (16, 38, 2.818),
    ],
)
def test_roughness_is_inside_its_band_at_published_and_remembered_anchors(
    amps, microseconds, measured
):
    assert abs(np.log(spark_Ra(amps, microseconds * us) / (measured * um))) < 1.645 * 0.35


def test_roughness_of_a_solved_crater_by_hand():
    # prototype of the heat model, 10 A, 100 µs: d 19.8 µm, V 132065 µm³ (cube root 50.92 µm);
    # 0.145 sqrt(19.8 x 50.92) = 4.60 µm
    assert_allclose(roughness_Ra(**DENT) / um, 4.604, atol=0.005)


def test_roughness_grows_as_energy_to_a_power_of_a_fifth_to_a_half():
    # published Ra ~ I^0.29 t^0.38 (textbook form, exponents second hand), and a third each
    # where the flux is not yet thin
    amps, on = np.geomspace(3, 30, 7), np.geomspace(20, 200, 6)[:, None] * us
    along_current = np.diff(np.log(spark_Ra(amps, on)), axis=1) / np.diff(np.log(amps))
    along_time = np.diff(np.log(spark_Ra(amps, on)), axis=0) / np.diff(np.log(on), axis=0)
    for exponents in (along_current, along_time):
        assert (exponents > 0.18).all() and (exponents < 0.5).all()


def test_roughness_scales_with_the_crater():
    twice = roughness_Ra(2 * DENT["crater_depth"], 8 * DENT["crater_volume"])
    assert_allclose(twice, 2 * roughness_Ra(**DENT), rtol=1e-12)
    assert roughness_Ra(0, 0) == 0


def test_roughness_keeps_shapes():
    keeps_shapes(roughness_Ra, **DENT)


@pytest.mark.parametrize("name", DENT)
def test_roughness_refuses(name):
    refuses(roughness_Ra, DENT, name)


def test_peak_heights_are_in_the_published_ratios():
    # working rule for spark-eroded steel: Rz = 4 to 7 Ra (from memory); Rt/Ra 4 to 7.5 in a web
    # table over one section, at least Rz over the whole evaluation length
    assert 4 <= RZ_PER_RA <= 7
    printed = [float(r["rt_um_S2"]) / float(r["ra_um_printed_S2"]) for r in VDI if r["rt_um_S2"]]
    assert RZ_PER_RA < RT_PER_RA and min(printed) < RT_PER_RA < 1.25 * max(printed)
    assert (RZ_PER_RA, RT_PER_RA) == (5.5, 8)  # the middle of 4-7 and above it, from memory


# --- vdi_class ---
@pytest.mark.parametrize("row", VDI, ids=lambda row: f"class_{row['vdi_class']}")
def test_every_class_both_ways(row):
    # VDI 3400 as printed by two trade pages: 46 classes, rounded in print by up to 2.9 %
    number = int(row["vdi_class"])
    for column, rounding in (("ra_um_printed_S2", 0.0295), ("ra_um_S1", 0.035)):
        if row[column]:
            printed = float(row[column])
            assert round(float(vdi_class(printed * um))) == number
            assert_allclose(class_roughness(number) / um, printed, rtol=rounding)
    assert_allclose(class_roughness(number) / um, float(row["ra_um_formula"]), atol=5.1e-5)


def test_the_table_of_classes_is_whole():
    assert [int(row["vdi_class"]) for row in VDI] == list(range(46))
    # only class 9 is printed further than 1.75 % from the formula
    far = [r for r in VDI if abs(float(r["printed_minus_formula_pct"])) > 1.75]
    assert [r["vdi_class"] for r in far] == ["9"]


@given(roughness=st.floats(0.01, 30))
def test_six_classes_double_and_twenty_are_tenfold(roughness):
    base = vdi_class(roughness * um)
    assert_allclose(vdi_class(2 * roughness * um) - base, 6.0206, atol=1e-4)
    assert_allclose(vdi_class(roughness * um / 10) - base, -20, atol=1e-9)


def test_class_keeps_shapes():
    keeps_shapes(vdi_class, **SURFACE)


def test_class_refuses():
    refuses(vdi_class, SURFACE, "roughness_Ra")
    with pytest.raises(Refusal, match=r"roughness_Ra must be .* µm.*: 3\.2 µm is 3\.2e-6 m"):
        vdi_class(3.2)


# --- class_roughness ---
def test_class_roughness_in_microinches():
    # trade page: Ra in microinches is Ra in µm over 0.0254; N8 = class 30 = 126 µin
    printed = {int(row["vdi_class"]): float(row["ra_uin_from_printed"]) for row in VDI}
    assert_allclose(class_roughness(30) / (inch * 1e-6), printed[30], rtol=0.013)


@given(number=st.floats(0, 45))
def test_class_and_roughness_undo_each_other(number):
    assert_allclose(vdi_class(class_roughness(number)), number, atol=1e-9)


def test_one_class_is_a_step_of_twelve_percent():
    steps = class_roughness(np.arange(46))
    assert_allclose(steps[1:] / steps[:-1], 1.122, atol=1e-4)


def test_class_roughness_keeps_shapes():
    keeps_shapes(class_roughness, vdi_class=30.0)


def test_class_roughness_refuses():
    refuses(class_roughness, {"vdi_class": 30}, "vdi_class")
    for beyond in (45.1, 63, -1):
        with pytest.raises(Refusal, match="vdi_class must be 0 to 45"):
            class_roughness(beyond)


# --- comparator_plate ---
def test_plates_of_the_usual_set():
    # common practice, no source: 12, 15, ... 45; Ra 0.4, 1.6, 3.2 and 12.5 µm are 12, 24, 30, 42
    plates = comparator_plate(np.array([0.4, 0.8, 1.6, 3.2, 6.3, 12.5]) * um)
    assert plates.tolist() == [12, 18, 24, 30, 36, 42]


@given(roughness=st.floats(0.01, 60))
def test_plate_is_the_nearest_of_the_set(roughness):
    number = vdi_class(roughness * um)
    plate = comparator_plate(roughness * um)
    nearest = min(range(12, 46, 3), key=lambda p: abs(p - number))
    assert abs(abs(plate - number) - abs(nearest - number)) < 1e-9


def test_plate_keeps_shapes():
    keeps_shapes(comparator_plate, **SURFACE)
    assert isinstance(comparator_plate(3.2 * um), np.integer)


def test_plate_refuses():
    refuses(comparator_plate, SURFACE, "roughness_Ra")


# --- n_grade ---
def test_grades_of_the_iso_table():
    # ISO 1302 as reprinted: N1 = 0.025 µm ... N12 = 50 µm
    rows = read_rows("standard_roughness_grades.csv")
    nominal = np.array([float(row["ra_um"]) for row in rows]) * um
    assert n_grade(nominal).tolist() == [int(row["N_grade"][1:]) for row in rows]
    assert_allclose(N_GRADE_RA, nominal, rtol=1e-12)
    # the same table against VDI 3400: N5 is class 12, N8 is 30
    classes = {row["N_grade"]: row["nearest_vdi_class"] for row in rows}
    for grade, number in classes.items():
        if number:
            assert n_grade(class_roughness(int(number))) == int(grade[1:])


@given(roughness=st.floats(0.02, 15), more=st.floats(1, 3))
def test_grade_never_falls_with_roughness(roughness, more):
    assert 1 <= n_grade(roughness * um) <= n_grade(roughness * more * um) <= 12
    assert n_grade(4.1 * roughness * um) >= n_grade(roughness * um) + 1


def test_grade_keeps_shapes():
    keeps_shapes(n_grade, **SURFACE)
    assert isinstance(n_grade(3.2 * um), np.integer)


def test_grade_refuses():
    refuses(n_grade, SURFACE, "roughness_Ra")


# --- cut_off ---
@pytest.mark.parametrize("row", read_rows("standard_roughness_cutoff.csv"))
def test_cut_off_of_each_row(row):
    # ISO 21920-3 as reprinted: the upper end belongs to the row, the lower to the one before
    over, to = float(row["ra_um_over"]), float(row["ra_um_to"])
    inside = np.array([max(over, 0.001) * 1.001, (over + to) / 2, to]) * um
    assert_allclose(cut_off(inside) / mm, float(row["section_length_mm"]), rtol=1e-9)
    assert_allclose(5 * cut_off(to * um) / mm, float(row["evaluation_length_mm"]), rtol=1e-9)


@pytest.mark.parametrize("row", VDI, ids=lambda row: f"class_{row['vdi_class']}")
def test_cut_off_of_each_class(row):
    # derived in the table from the printed roughness; class 40 is 10.0 µm, still 2.5 mm
    printed = float(row["ra_um_printed_S2"]) * um
    assert_allclose(cut_off(printed) / mm, float(row["cutoff_lambda_c_mm_ISO21920-3"]))


def test_cut_off_never_shrinks():
    assert (np.diff(cut_off(np.geomspace(0.002, 79, 300) * um)) >= 0).all()


def test_cut_off_keeps_shapes():
    keeps_shapes(cut_off, **SURFACE)


def test_cut_off_refuses():
    refuses(cut_off, SURFACE, "roughness_Ra")


# --- recast_depth ---
def test_recast_layer_is_in_the_published_range():
    # trade text: 0.0002-0.005 in at all energies; layer over Ra 2 to 5, from memory
    row = read_rows("standard_recast.csv")[0]
    low, high = float(row["low"]), float(row["high"])
    layers = recast_depth(np.array([2.0, 3.2, 6.3, 12.5]) * um) / um
    assert (layers >= low).all() and (layers <= high).all()
    assert 2 <= recast_depth(3.2 * um) / (3.2 * um) <= 5


@pytest.mark.parametrize("stage, Ra", [("finishing", 0.8), ("semi", 3.2), ("rough", 10)])
def test_recast_layer_is_near_the_bands_of_each_stage(stage, Ra):
    # from memory: 2-6 µm to Ra 0.8, 6-15 at Ra 1.6-3.2, 20-50 at Ra 6-12; expected error x2.1
    rows = read_rows("standard_recast.csv")
    row = next(row for row in rows if row["item"].startswith(f"white layer, {stage}"))
    assert float(row["low"]) <= recast_depth(Ra * um) / um <= float(row["high"])


def test_recast_layer_doubles_with_roughness():
    assert_allclose(recast_depth(3.2 * um) / um, 8.0, rtol=1e-9)  # by hand: 2.5 Ra, from memory
    assert_allclose(recast_depth(6.4 * um), 2 * recast_depth(3.2 * um), rtol=1e-12)


def test_recast_keeps_shapes():
    keeps_shapes(recast_depth, **SURFACE)


def test_recast_refuses():
    refuses(recast_depth, SURFACE, "roughness_Ra")


# --- recast_depth_low ---
HOLE = {"radius": 59.6 * um, "volume": 132_065 * um3}


def crater_of(**sizes):
    """Return a crater with these sizes; the others do not count."""
    return Crater(**{name: 0.0 for name in FIELDS} | sizes)


def test_low_recast_by_hand():
    # prototype of the heat model, 10 A, 100 µs, share 0.30: V / (pi r²) = 11.9 µm; 0.45 of it stays
    assert_allclose(recast_depth_low(crater_of(**HOLE)) / um, 0.45 * 11.9, rtol=0.01)


def test_low_recast_is_a_third_to_a_half_of_the_likely_one():
    # anchors of trade texts (5-127 µm at all energies) lie 2-3 times above what one pool leaves
    for amps, on in ((3, 20), (10, 100), (25, 400)):
        spark = crater(amps, on * us, 25, 0.30, STEEL)
        share = recast_depth_low(spark) / recast_depth(spark_Ra(amps, on * us))
        assert 0.3 < share < 0.8


def test_low_recast_is_nothing_where_nothing_melts():
    assert recast_depth_low(crater_of(radius=0.0, volume=0.0)) == 0.0


def test_low_recast_keeps_shapes():
    keeps_shapes(lambda **sizes: recast_depth_low(crater_of(**sizes)), **HOLE)


@pytest.mark.parametrize("name", HOLE)
def test_low_recast_refuses(name):
    made = lambda **sizes: recast_depth_low(crater_of(**sizes))  # noqa: E731
    refuses(made, HOLE, name, match=rf"crater\.{name} must be ")


# --- depth_left ---
def left(depth, **sizes):
    return depth_left(depth, crater_of(**sizes))


@pytest.mark.parametrize(
    "radius, volume, hot",
    [  # prototype of the heat model, share 0.30: 10 A/100 µs, 3 A/20 µs, 25 A/400 µs [µm]
        (59.6, 132_065, 35.9),
        (19.8, 5_710, 13.9),
        (142, 1_583_750, 77.3),
    ],
)
def test_depth_left_is_less_by_what_was_thrown_out(radius, volume, hot):
    by_hand = hot - 0.55 * volume / (np.pi * radius**2)
    found = left(hot * um, radius=radius * um, volume=volume * um3)
    assert_allclose(found / um, by_hand, rtol=1e-12)
    assert 0.3 <= EJECTED_SHARE <= 0.8  # volume balance of a surface made crater by crater


def test_depth_left_of_a_metal_without_the_limit_is_no_figure():
    assert np.isnan(left(np.nan, **HOLE))
    found = left(np.array([np.nan, 50 * um]), **HOLE)
    assert np.isnan(found).tolist() == [True, False]
    assert left(50 * um, radius=0.0, volume=0.0) == 50 * um


def test_depth_left_keeps_shapes():
    keeps_shapes(left, depth=50 * um, **HOLE)


def test_depth_left_refuses():
    refuses(left, {"depth": 50 * um, **HOLE}, "depth", bad=(-1.0, 1.0, np.inf))
    for name in HOLE:
        refuses(left, {"depth": 50 * um, **HOLE}, name, match=rf"crater\.{name} must be ")
