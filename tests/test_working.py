"""The working: what it prints can be worked out again, and gives what `predict` says."""

import math
import random
from dataclasses import replace
from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

import edmkit as ek
from edmkit.planning.faces import Ball, Flat
from edmkit.planning.hole import sink
from edmkit.planning.shapes import Round
from edmkit.working import sources, steps
from edmkit.working.formula import Given, Step, digits, symbols_of

pytestmark = pytest.mark.filterwarnings("ignore::edmkit.RangeWarning")
SPACE = "\N{NARROW NO-BREAK SPACE}"
_PRINTED = {
    SPACE: "",
    "−": "-",
    "×": "*",
    "^": "**",
    ";": ",",
    "√": "sqrt",
    "∛": "cbrt",
    "log₁₀": "log10",
    "the smaller of ": "min",
    "the larger of ": "max",
}
_KNOWN = {
    "sqrt": math.sqrt, "cbrt": math.cbrt, "ln": math.log, "log10": math.log10, "exp": math.exp,
    "min": min, "max": max, "smaller": min, "larger": max, "π": math.pi,
}  # fmt: skip


def worked_out(printed, **symbols):
    """Return what a formula comes to, read as a person would type it into a calculator."""
    for sign, code in _PRINTED.items():
        printed = printed.replace(sign, code)
    return eval(printed, {"__builtins__": {}}, _KNOWN | symbols)


# --- settings of every kind ------------------------------------------------------------------
def made(work="52100", electrode="copper", polarity="electrode positive", area=7.0, **rest):
    metals = ek.work_material(work), ek.electrode_material(electrode)
    return ek.Setup(*metals, ek.dielectric("edm_oil"), polarity, area, **rest)


OLD = ek.read_machine("data_demo/old_manual_sinker.toml")
SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")
OWN_LIMIT = replace(OLD, current_caution_A_per_cm2=4.0, driving_voltage_V=70.0)
NEGATIVE = "electrode negative"
PLAIN = ek.Settings(3, 50, 25)


def dialled(machine, place, **rest):
    """Return settings of a machine, each switch at a share of the way along."""
    names = ("peak_current_A", "on_time_us", "off_time_us", "open_voltage_V")
    values = [getattr(machine, name).values for name in names]
    shares = place if isinstance(place, tuple) else (place,) * 4
    picked = [v[round(s * (len(v) - 1))] for v, s in zip(values, shares, strict=True)]
    return ek.Settings(*map(float, picked), **rest)


def remembered(setup, settings):
    """Return what makes a shop that remembers one hole, burned at other settings than asked."""
    hole = Round(3.0), 5.0, Flat(), settings, 25.0
    return partial(ek.Shop.from_remembered_hole, *hole, setup=setup)


ON_OLD, ON_SMALL = made(machine=OLD), made(machine=SMALL)
CIRCUIT = ek.Relaxation(500, 2.0, 200)
KNOWN_BY_HAND = ek.Shop.from_constants(made(), removal_rate=0.6, relative_wear=1.5, gap_side=1.2)
BURNS = {
    "no machine": (made(), PLAIN, None),
    "short circuit amps": (ON_OLD, dialled(OLD, 0.5), None),
    "short pulse": (made(), ek.Settings(60, 2, 25), None),
    "fixed period": (ON_SMALL, dialled(SMALL, 0.5), None),
    "fixed period, gap set": (ON_SMALL, dialled(SMALL, 0.7, gap_front_um=12), None),
    "own limit and driving voltage": (made(machine=OWN_LIMIT), dialled(OLD, 0.4), None),
    "gap set": (made(), replace(PLAIN, gap_front_um=33), None),
    "voltmeter": (made(), replace(PLAIN, servo_voltage_V=42), None),
    "poor flushing": (made(flushing=ek.Flushing("suction", "poor")), PLAIN, None),
    "good flushing, deep": (made(flushing=ek.Flushing("lift only", "good", deep_blind=True)),
                            replace(PLAIN, lift_burn_s=4.0, lift_up_s=1.0), None),
    "large end": (made(area=450.0), ek.Settings(20, 300, 60), None),
    "thin flux": (made(), ek.Settings(0.2, 3000, 60), None),
    "graphite": (made(electrode="graphite"), ek.Settings(12, 200, 60), None),
    "graphite negative": (made(electrode="graphite", polarity=NEGATIVE), PLAIN, None),
    "carbide": (made("WC-6Co", polarity=NEGATIVE), PLAIN, None),
    "no wear law": (made("Ti64", polarity=NEGATIVE), PLAIN, None),
    "relaxation": (made(), CIRCUIT, None),
    "relaxation, small gap": (made(), replace(CIRCUIT, breakdown_V=90), None),
    "constants by hand": (made(), PLAIN, KNOWN_BY_HAND),
    "one remembered hole": (made(), ek.Settings(6, 20, 25), remembered(made(), PLAIN)),
    "remembered on a machine": (ON_OLD, dialled(OLD, 0.3), remembered(ON_OLD, dialled(OLD, 0.6))),
    "remembered in another steel": (made("D2"), PLAIN, remembered(made(), PLAIN)),
}  # fmt: skip


def burned(name):
    """Return one of the burns."""
    setup, settings, shop = BURNS[name]
    return ek.predict(setup, settings, shop() if callable(shop) else shop)


@pytest.fixture(params=BURNS)
def burn(request):
    return burned(request.param)


def hole_of(burn):
    """Return a hole at the burn's settings."""
    return sink(Round(3.05), Flat(), 5.0, burn.setup, burn.settings, burn.shop)


def named(working, name):
    """Return the one step with a name."""
    (found,) = [step for step in working if step.name.startswith(name)]
    return found


# --- outside values --------------------------------------------------------------------------
def test_the_heat_source_of_10_A_and_100_us_as_worked_by_hand():
    # 2.04e-3 x 10^0.43 x (1e-4)^0.44 m with a pocket calculator: 95.42 µm
    step = named(steps(ek.predict(made(), ek.Settings(10, 100, 50))), "radius of the heat source")
    assert worked_out(step.in_numbers) == pytest.approx(95.42, abs=0.02)
    assert step.formula.startswith(f"R = 2{SPACE}040 × I^0.43 × (t / 10^6)^0.44 = 2{SPACE}040 × 10")
    assert step.formula.endswith(" = 95.42 µm")


def test_the_class_of_the_roughness_by_the_guideline():
    # VDI 3400: Ra 3.2 µm is class 30 (printed table); 20 lg(10 x 3.2) = 30.10
    step = named(steps(ek.predict(made(), PLAIN)), "VDI 3400 class")
    assert worked_out(step.in_symbols, Ra=3.2) == pytest.approx(30.10, abs=0.005)


def test_a_capacitor_of_2_uF_fired_at_90_V_as_worked_by_hand():
    # C u²/2 = 8.1 mJ, half a swing pi sqrt(1 µH x 2 µF) = 4.443 µs; circuit theory
    working = steps(ek.predict(made(), replace(CIRCUIT, breakdown_V=90)))
    assert named(working, "energy of one spark").value == pytest.approx(8.1)
    assert worked_out(named(working, "burning time").in_numbers) == pytest.approx(4.443, abs=1e-3)


# --- what is printed gives what is said -------------------------------------------------------
def test_each_step_can_be_worked_out_from_the_numbers_it_shows(burn):
    for step in steps(burn, None):
        if step.expression:
            assert worked_out(step.in_numbers) == pytest.approx(step.value, rel=5e-3), step.formula
            assert step.formula.endswith(f" = {step.result}")


def test_the_formulas_are_those_of_the_physics(burn):
    """With the numbers in full the formula gives the value of the physics, not only nearly."""
    for step in steps(burn):
        if step.expression:
            known = {symbol: g.value for symbol, g in step.inputs.items()}
            assert worked_out(step.expression, **known) == pytest.approx(step.value, rel=1e-6)


def test_every_answer_can_be_worked_out_from_the_switches_down(burn):
    """The chain from what is set, read or constant to the answers, each number as it is shown."""
    hole = None if isinstance(burn.settings, ek.Relaxation) else hole_of(burn)
    asked, chain = hole.burn if hole else burn, {}
    for step in steps(asked, hole):
        if not step.expression:
            chain[step.symbol] = float(f"{step.value:.4g}")
            continue
        parts = {
            symbol: chain[symbol] if g.source.startswith("worked out") else float(f"{g.value:.4g}")
            for symbol, g in step.inputs.items()
        }
        chain[step.symbol] = worked_out(step.expression, **parts)
    expected = {
        "I": asked.peak_current_A, "E": asked.pulse_energy_mJ, "r": asked.crater_radius_um,
        "d": asked.crater_depth_um, "V": asked.crater_volume_um3, "f": asked.frequency_kHz,
        "Q": asked.removal_rate_mm3_per_min, "Ra": asked.roughness_Ra_um, "K": asked.finish_class,
        "g_s": asked.gap_side_um, "U_m": asked.mean_voltage_V, "I_m": asked.average_current_A,
        "w_r": asked.recast_um, "D_f": asked.duty_factor_percent, "Rz": asked.roughness_Rz_um,
        "J": asked.current_density_A_per_cm2,
        "θ": asked.relative_wear_percent, "h_h": asked.rehardened_um, "h_t": asked.tempered_um,
    }  # fmt: skip
    if hole:
        expected |= {"t_h": hole.minutes, "Δl": hole.end_wear_mm, "Δz": hole.dial_step_um}
    for symbol, estimate in expected.items():
        if estimate is not None and estimate.likely == estimate.likely:
            assert chain[symbol] == pytest.approx(estimate.likely, rel=0.02), symbol


def test_positions_picked_at_random_give_the_same():
    pick = random.Random(3)
    for machine in (OLD, SMALL) * 10:
        place = tuple(pick.random() for _ in range(4))
        setup = made(machine=machine, area=10 ** pick.uniform(0, 3))
        for step in steps(ek.predict(setup, dialled(machine, place))):
            if step.expression:
                near = pytest.approx(step.value, rel=0.01, abs=1e-4)  # logarithms near 0
                assert worked_out(step.in_numbers) == near, step.formula


# --- bands -----------------------------------------------------------------------------------
BANDS = {
    "minutes and of the removal rate": "removal_rate_mm3_per_min",
    "roughness": "roughness_Ra_um",
    "gap in front": "gap_front_um",
    "side gap": "gap_side_um",
    "wear": "relative_wear_percent",
    "mean voltage": "mean_voltage_V",
    "mean current": "average_current_A",
    "recast layer": "recast_um",
    "rehardened depth": "rehardened_um",
    "tempered depth": "tempered_um",
}


def test_a_band_s_doubts_come_to_the_band_of_the_answer(burn):
    seen = set()
    for step in steps(burn):
        if step.name.startswith("band of the "):
            of = step.name.removeprefix("band of the ").partition(":")[0]
            estimate = getattr(burn, BANDS[of])
            deviations = [g.value for s, g in step.inputs.items() if s.startswith("σ_")]
            ends = np.exp(1.6449 * np.sqrt(np.sum(np.square(deviations))))
            assert estimate.high / estimate.likely == pytest.approx(ends, rel=1e-3), of
            seen.add(of)
    sure = {of for of, name in BANDS.items() if not getattr(burn, name).spread > 0}
    none = {of for of, name in BANDS.items() if np.isnan(getattr(burn, name).likely)}
    assert seen == set(BANDS) - sure - none


def test_trials_are_told_apart_from_an_untried_shop():
    wide, narrow = (
        named(steps(burned(name)), "band of the minutes")
        for name in ("no machine", "one remembered hole")
    )
    assert "not tried yet" in wide.inputs["σ_1"].words
    assert "trials leave open" in narrow.inputs["σ_1"].words
    assert wide.value > 5 and narrow.value < 3
    other = named(steps(burned("remembered in another steel")), "band of the minutes")
    assert narrow.value < other.value < wide.value


def test_what_the_trials_taught_stands_in_the_factor():
    taught = {s.symbol: s for s in steps(burned("one remembered hole"))}
    assert taught["k_V"].expression and taught["k_V"].inputs["I_1"].value == pytest.approx(5)
    assert not taught["k_R"].expression and taught["k_R"].value == 1
    by_hand = {s.symbol: s for s in steps(burned("constants by hand"))}
    assert by_hand["k_V"].value == pytest.approx(0.6)
    assert by_hand["k_θ"].value == pytest.approx(1.5)


# --- every number says where it is from -------------------------------------------------------
def test_every_number_has_words_and_an_origin(burn):
    for step in steps(burn):
        assert step.source and step.name and step.answer in vars(sources).values()
        for given_ in step.inputs.values():
            assert given_.words and given_.source


def test_a_symbol_means_one_thing(burn):
    meaning = {}
    for step in steps(burn):
        own = [s for s in step.inputs if s.startswith(("σ_", "m_")) or s.endswith("_1") or s == "z"]
        for symbol in set(step.inputs) - set(own):
            words = step.inputs[symbol].words
            assert meaning.setdefault(symbol, words) == words, symbol


def test_what_was_worked_out_before_is_taken_over_unchanged(burn):
    done = {}
    for step in steps(burn):
        for symbol, part in step.inputs.items():
            if part.source.startswith("worked out"):
                assert part.value == done[symbol].value
                assert part.source.endswith(done[symbol].answer)
        done[step.symbol] = step


def test_a_pulse_that_is_too_short_or_too_long_shows_what_ends_it():
    short = named(steps(burned("short pulse")), "spark current")
    assert worked_out(short.in_numbers) == 20 == short.value  # 2 µs at 10 A/µs, not 60 A
    thin = named(steps(burned("thin flux")), "time after which nothing more melts")
    assert thin.value < 3000


def test_switches_say_their_position_and_how_well_it_is_known():
    working = steps(ek.predict(ON_OLD, dialled(OLD, 0.5)))
    dial = named(working, "current with the gap burning").inputs["I_dial"]
    choices = OLD.peak_current_A.choices
    assert dial.value == choices[round(0.5 * (len(choices) - 1))].value
    assert dial.source.startswith("switch position ") and "plate" in dial.source
    assert steps(ek.predict(made(), PLAIN))[0].inputs["I_dial"].source == "as set"


def test_a_metal_without_a_limit_has_no_step_for_it():
    names = [step.name for step in steps(burned("carbide"))]
    assert not any("rehardened" in name or "tempered" in name for name in names)
    steel = [step.name for step in steps(ek.predict(made(), PLAIN))]
    assert any("rehardened" in name for name in steel) and any("tempered" in n for n in steel)


def test_a_pair_without_a_wear_law_says_so():
    step = named(steps(burned("no wear law")), "relative wear")
    assert step.formula == "θ = no figure %" and "burn a trial" in step.source


# --- shape and refusal -----------------------------------------------------------------------
def test_several_settings_are_refused():
    several = ek.predict(made(), ek.Settings([3, 6], 50, 25))
    with pytest.raises(
        ek.Refusal, match=r"working is of one setting, got settings of shape \(2,\)"
    ):
        steps(several)
    with pytest.raises(ek.Refusal, match="one setting"):
        steps(ek.predict(made(area=np.array([5.0, 7.0])), PLAIN))


def test_a_hole_adds_its_minutes_and_its_wear():
    burn = ek.predict(made(), PLAIN)
    hole = sink(Round(3.05), Ball(6.0), 5.0, burn.setup, replace(PLAIN, lift_burn_s=4, lift_up_s=1))
    with_hole, without = steps(hole.burn, hole), steps(hole.burn)
    extra = {s.symbol for s in with_hole} - {s.symbol for s in without}
    assert extra == {"s_b", "t_h", "Δz", "Δl"}
    assert named(with_hole, "minutes for this hole").value == hole.minutes.likely


# --- how a formula is written ----------------------------------------------------------------
@pytest.mark.parametrize(
    ("number", "text"),
    [(3, "3"), (42.0349, "42.03"), (12_617.3, f"12{SPACE}620"), (0.1 + 0.2, "0.3"),
     (-0.85, "−0.85"), (2.133e-5, "2.133 × 10^−5"), (0.00123456, "0.001235"), (0, "0"),
     (6.02214e23, "6.022 × 10^23"), (math.nan, "no figure"), (math.inf, "without limit")],
)  # fmt: skip
def test_numbers_have_four_digits(number, text):
    assert digits(number) == text


_NUMBERS = some.sampled_from([0.5, 1.25, 2.0, 3.0, 40.0, -2.0, 2.5e-5])
_TREES = some.recursive(
    some.sampled_from("abcd"),
    lambda parts: some.one_of(
        some.builds("({}){}({})".format, parts, some.sampled_from("+-*/"), parts),
        some.builds("({})**{}".format, parts, some.sampled_from(["2", "3", "e", "-e"])),
        some.builds("-({})".format, parts),
        some.builds("smaller({}, {})".format, parts, parts),
    ),
    max_leaves=8,
)


@given(_TREES, some.lists(_NUMBERS, min_size=4, max_size=4))
def test_a_written_formula_keeps_its_brackets(expression, numbers):
    """Whatever is put in, the text read from left to right means what the code means."""
    values = dict(zip("abcd", numbers, strict=True)) | {"e": 2.0}
    inputs = {s: Given("x", values[s], "", "x", s == "e") for s in symbols_of(expression)}
    step = Step("x", "x", "y", expression, inputs, 0.0, "", "x")
    try:
        true = worked_out(expression, **values)
    except ZeroDivisionError:
        return
    for text in (step.in_numbers, step.in_symbols):
        assert worked_out(text, **values) == pytest.approx(true, rel=1e-9)
