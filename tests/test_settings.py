"""What a person dials: settings, set-up, flushing, polarity."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.checks import Refusal
from edmkit.data import read_rows
from edmkit.physics.relaxation import BEST_BREAKDOWN_SHARE, relaxation_spark
from edmkit.settings import FLUSHING_QUALITIES, LIMITS, usual_polarity
from edmkit.units import uF

DIALLED = {"peak_current_A": 3.0, "on_time_us": 50.0, "off_time_us": 25.0}
ALL = DIALLED | {"open_voltage_V": 120.0, "lift_burn_s": 2.0, "lift_up_s": 1.0}


def setup(**changed):
    given = {
        "work": ek.work_material("52100"),
        "electrode": ek.electrode_material("copper"),
        "dielectric": ek.dielectric("edm_oil"),
        "polarity": "electrode positive",
        "engaged_area_mm2": 7.0,
    }
    return ek.Setup(**given | changed)


# --- Settings ---
def test_limits_hold_the_published_ranges():
    # trade page on setting ranges: 0-500 A, 0-1000 µs, 50-300 V; another: 40-150 V
    assert LIMITS["peak_current_A"][1] >= 500
    assert min(LIMITS["on_time_us"][1], LIMITS["off_time_us"][1]) >= 1000
    low, high, _ = LIMITS["open_voltage_V"]
    assert low <= 40 and high >= 300
    # published conditions (DiBitonto et al. 1989): 2.34-68 A, 5.6-560 µs all pass
    for row in read_rows("published_dibitonto_1989_conditions_only.csv"):
        ek.Settings(float(row["current_A"]), float(row["on_us"]), 50)


def test_settings_keep_what_was_dialled():
    settings = ek.Settings(**DIALLED)
    assert dataclasses.astuple(settings) == (3, 50, 25, 120, None, None, None, None)
    assert settings.burn_share == 1


@given(burn=st.floats(0.05, 120), up=st.floats(0, 120))
def test_burn_share_is_the_share_of_the_clock(burn, up):
    share = ek.Settings(**DIALLED, lift_burn_s=burn, lift_up_s=up).burn_share
    assert 0 < share <= 1
    assert_allclose(share * (burn + up), burn, rtol=1e-9)


def test_burn_share_by_hand():
    # 2 s of burning and 1 s up: two thirds
    assert_allclose(ek.Settings(**ALL).burn_share, 2 / 3, rtol=1e-12)


def test_settings_keep_shapes():
    assert ek.Settings(**DIALLED).shape == ()
    assert all(isinstance(number, float) for number in ek.Settings(**ALL).numbers)
    wide = ek.Settings(np.array([[1.0], [2.0]]), [10, 20, 30], 25)
    assert wide.shape == (2, 3)
    assert wide.on_time_us.tolist() == [10, 20, 30]


def test_settings_are_frozen_down_to_their_arrays():
    amps = np.array([1.0, 2.0])
    settings = ek.Settings(amps, 50, 25)
    with pytest.raises(AttributeError):
        settings.on_time_us = 60
    with pytest.raises(ValueError, match="read-only"):
        settings.peak_current_A[0] = 9
    amps[0] = 9  # the caller's own array stays his
    assert settings.peak_current_A.tolist() == [1, 2]


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("bad", [float("nan"), float("inf"), -1.0, "fast", True, 1j, [1.0, None]])
def test_settings_refuse_what_is_no_number(name, bad):
    low, high, unit = LIMITS[name]
    with pytest.raises(Refusal, match=rf"^{name} must be {low:g} to {high:g} {unit}, got .*: give"):
        ek.Settings(**ALL | {name: bad})


@pytest.mark.parametrize("name", ["on_time_us", "off_time_us"])
def test_settings_refuse_seconds(name):
    sentence = rf"{name} must be 0\.1 to 10000 µs, got 5e-05 µs: give the .* in microseconds"
    with pytest.raises(Refusal, match=sentence):
        ek.Settings(**DIALLED | {name: 50e-6})


def test_settings_refuse_zero_and_a_decimal_comma():
    for name in DIALLED:
        with pytest.raises(Refusal, match=f"{name} must be .*, got 0 "):
            ek.Settings(**DIALLED | {name: 0})
        with pytest.raises(Refusal, match=r"got '1,5': write 1\.5, with a point"):
            ek.Settings(**DIALLED | {name: "1,5"})
        with pytest.raises(Refusal, match=f"{name} must be .*, got None"):
            ek.Settings(**DIALLED | {name: None})


def test_settings_refuse_one_gap_said_twice():
    with pytest.raises(Refusal, match=r"say the same gap twice.*leave one of them out"):
        ek.Settings(**DIALLED, gap_front_um=24, servo_voltage_V=50)


def test_settings_refuse_one_gap_said_twice_in_arrays():
    with pytest.raises(Refusal, match=r"say the same gap twice.*leave one of them out"):
        ek.Settings(**DIALLED, gap_front_um=[20.0, 24.0], servo_voltage_V=50)


def test_settings_refuse_half_a_lift_timer():
    for half in ({"lift_burn_s": 2.0}, {"lift_up_s": 1.0}):
        with pytest.raises(Refusal, match="lift_burn_s and lift_up_s belong together"):
            ek.Settings(**DIALLED, **half)


def test_settings_refuse_shapes_that_do_not_fit():
    with pytest.raises(Refusal, match=r"broadcast together, got shapes \(2,\), \(3,\)"):
        ek.Settings([1.0, 2.0], [10.0, 20.0, 30.0], 25)


# --- Relaxation ---
CIRCUIT = {"resistance_ohm": 47, "capacitance_uF": 10, "supply_V": 110}


def test_relaxation_holds_the_textbook_circuits():
    # textbook examples GM1 (50 ohm, 10 µF, 200 V, fires at 150 V) and R1-R4 (100-200 µF, 100 V)
    ek.Relaxation(50, 10, 200, breakdown_V=150)
    ek.Relaxation(10, 200, 100, breakdown_V=71.6)
    with pytest.raises(AttributeError):
        ek.Relaxation(**CIRCUIT).supply_V = 60


def test_relaxation_energy_in_shop_units():
    # textbook example GM1: 0.1125 J, the capacitor given in µF
    circuit = ek.Relaxation(50, 10, 200, breakdown_V=150)
    spark = relaxation_spark(
        circuit.resistance_ohm, circuit.capacitance_uF * uF, circuit.supply_V, circuit.breakdown_V
    )
    assert_allclose(spark.energy, 0.1125, rtol=1e-9)
    assert_allclose(BEST_BREAKDOWN_SHARE, 0.7153, atol=5e-5)


def test_relaxation_is_plain_numbers():
    circuit = ek.Relaxation(**CIRCUIT)
    assert dataclasses.astuple(circuit) == (47, 10, 110, 1, None)
    assert all(isinstance(n, float) for n in dataclasses.astuple(circuit)[:4])


@pytest.mark.parametrize("name", [*CIRCUIT, "inductance_uH", "breakdown_V"])
@pytest.mark.parametrize("bad", [float("nan"), -1.0, 0.0, "fast", "1,5", True])
def test_relaxation_refuses(name, bad):
    with pytest.raises(Refusal, match=f"^{name} must be "):
        ek.Relaxation(**CIRCUIT | {name: bad})


@pytest.mark.parametrize("name", [*CIRCUIT, "inductance_uH", "breakdown_V"])
def test_relaxation_refuses_several_numbers_at_once(name):
    with pytest.raises(Refusal, match=name):
        ek.Relaxation(**CIRCUIT | {name: [50.0, 60.0]})


def test_relaxation_refuses_a_gap_that_never_fires_and_a_missing_supply():
    with pytest.raises(Refusal, match="breakdown_V must be below the supply of 110 V, got 110 V"):
        ek.Relaxation(**CIRCUIT, breakdown_V=110)
    with pytest.raises(Refusal, match="supply_V must be"):
        ek.Relaxation(**CIRCUIT | {"supply_V": None})


# --- Flushing ---
def test_flushing_takes_the_words_of_the_trade():
    # common practice, no source: suction and pressure through the electrode, side jet, lift
    for kind in ("suction", "pressure", "side jet", "lift only"):
        flushing = ek.Flushing(kind)
        assert (flushing.quality, flushing.deep_blind) == ("fair", False)
    # from memory: pressure 20-70 kPa, suction 10-35 kPa; flush holes 0.5-4 mm
    for kilopascals in (5, 20, 70):
        ek.Flushing("pressure", pressure_kPa=kilopascals, bore_mm=0.5)
    assert FLUSHING_QUALITIES == ("good", "fair", "poor", "blocked")


@pytest.mark.parametrize(
    "changed, sentence",
    [
        ({"kind": "sucktion"}, "flushing must be one of .* did you mean 'suction'"),
        ({"quality": "god"}, "flushing quality must be one of .* did you mean 'good'"),
        ({"pressure_kPa": -1}, "pressure_kPa must be .* give kilopascals"),
        ({"pressure_kPa": "5,5"}, r"pressure_kPa must be .* write 5\.5, with a point"),
        ({"bore_mm": 0}, "bore_mm must be .* give the bore in millimetres"),
    ],
)
def test_flushing_refuses(changed, sentence):
    with pytest.raises(Refusal, match=sentence):
        ek.Flushing(**{"kind": "suction"} | changed)


# --- Setup ---
def test_rim_of_a_round_end_is_its_circumference():
    # exact by hand: 3 mm round has 7.0686 mm² and 9.4248 mm of edge
    assert_allclose(setup(engaged_area_mm2=7.0686).rim_mm, 9.4248, rtol=1e-5)
    assert setup(engaged_rim_mm=12.0).rim_mm == 12


@given(area=st.floats(0.001, 1e5))
def test_a_circle_has_the_shortest_rim_of_its_area(area):
    rim = setup(engaged_area_mm2=area).rim_mm
    assert rim < 4 * np.sqrt(area)  # a square's
    assert_allclose(rim**2 / area, 4 * np.pi, rtol=1e-9)


def test_setup_keeps_shapes():
    assert isinstance(setup().engaged_area_mm2, float)
    assert np.ndim(setup().rim_mm) == 0 and not isinstance(setup().rim_mm, np.ndarray)
    assert setup(engaged_area_mm2=np.ones((2, 3))).rim_mm.shape == (2, 3)
    assert setup().flushing == ek.Flushing("suction")
    with pytest.raises(AttributeError):
        setup().polarity = "electrode negative"


@pytest.mark.parametrize("name", ["engaged_area_mm2", "engaged_rim_mm"])
@pytest.mark.parametrize("bad", [float("nan"), -7.0, 0.0, "seven", "7,5", True])
def test_setup_refuses_what_is_no_size(name, bad):
    with pytest.raises(Refusal, match=f"^{name} must be "):
        setup(**{name: bad})


@pytest.mark.parametrize(
    "changed, sentence",
    [
        ({"work": "52100"}, r"work must be a material, got '52100': write ek\.work_material"),
        ({"electrode": None}, r"electrode must be a material, got None: write ek\.electrode"),
        ({"dielectric": "oil"}, r"dielectric must be a material, got 'oil': write ek\.dielectric"),
        ({"polarity": "positive"}, "polarity must be one of .* did you mean 'electrode positive'"),
        ({"flushing": "sucktion"}, "flushing must be one of .* did you mean 'suction'"),
        ({"engaged_area_mm2": None}, "engaged_area_mm2 must be .* got None"),
        ({"electrode": ek.work_material("D2")}, "serves as electrode, got .*D2.*: pick another"),
        ({"work": ek.electrode_material("graphite")}, "serves as work, got .*raphite.*: pick"),
    ],
)
def test_setup_refuses(changed, sentence):
    with pytest.raises(Refusal, match=sentence):
        setup(**changed)


# --- usual_polarity ---
@pytest.mark.parametrize(
    "work, electrode, sign",
    [  # table of polarities: read for graphite on steel, the others from memory
        ("52100", "graphite", "+"),
        ("H13", "copper", "+"),
        ("D2", "CuW", "+"),
        ("WC-6Co", "copper", "-"),
        ("WC-10Co", "CuW", "-"),
        ("copper", "graphite", "-"),
        ("Ti64", "graphite", "-"),
        ("Ti64", "copper", "-"),
        ("6061", "copper", "+"),
    ],
)
def test_usual_polarity_of_the_table(work, electrode, sign):
    names = {"H13": "steel", "D2": "steel", "52100": "steel", "6061": "aluminium",
             "Ti64": "titanium", "copper": "copper / copper alloys"}  # fmt: skip
    wanted = names.get(work, "tungsten carbide")
    tool = {"CuW": "copper-tungsten"}.get(electrode, electrode)
    signs = {
        row["tool_sign"]
        for row in read_rows("standard_polarity.csv")
        if tool in row["electrode"] and row["work"] == wanted and "short" not in row["stage"]
        if "fast" not in row["stage"]
    }
    assert signs == {sign}
    usual = usual_polarity(ek.work_material(work), ek.electrode_material(electrode))
    assert usual.polarity == {"+": "electrode positive", "-": "electrode negative"}[sign]


@pytest.mark.parametrize("work", ek.work_materials())
def test_usual_polarity_has_a_reason_and_a_source_for_every_pair(work):
    for electrode in ek.electrode_materials():
        usual = usual_polarity(ek.work_material(work), ek.electrode_material(electrode))
        assert setup(polarity=usual.polarity).polarity == usual.polarity
        assert usual.reason.endswith(".") and usual.source


def test_usual_polarity_wants_materials():
    with pytest.raises(AttributeError):
        usual_polarity("52100", "copper")
