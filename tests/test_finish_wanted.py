"""A finish wanted: which sparks leave it, against plain loops over single predictions."""

import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import RangeWarning, Refusal
from edmkit.planning.finish_wanted import Sparks, energy_for

SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")
OLD = ek.read_machine("data_demo/old_manual_sinker.toml")


def setup(area=100.0, machine=None, electrode="copper"):
    """Return an electrode on hardened bearing steel in oil."""
    return ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material(electrode),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive",
        engaged_area_mm2=area, machine=machine,
    )  # fmt: skip


# --- what leaves it, without a machine ---
@pytest.mark.parametrize("wanted", [0.8, 1.6, 3.2, 8.0])
def test_each_spark_leaves_the_finish_alone_too(wanted):
    found = energy_for(setup(400), wanted)
    assert len(found.sparks) >= 3
    for spark in found.sparks:
        alone = ek.predict(setup(400), spark.settings)  # one setting, not the mesh it was found on
        assert_allclose(alone.roughness_Ra_um.likely, wanted, rtol=1e-3)
        s = spark.settings
        # energy of a rectangular pulse: volts times amps times time, definition; the amps climb
        # at 10 A/µs on a machine nobody knows (assumption of the kit)
        amps = min(s.peak_current_A, 10 * s.on_time_us)
        volts = setup().electrode.discharge_voltage
        assert_allclose(spark.energy_mJ, volts * amps * s.on_time_us / 1000, rtol=1e-9)


def test_the_on_time_is_the_one_a_bisection_finds():
    # an independent search: halving, one prediction at a time
    amps, wanted, low, high = 8.0, 3.2, 5.0, 500.0
    for _ in range(40):
        middle = np.sqrt(low * high)
        burn = ek.predict(setup(), ek.Settings(amps, float(middle), 50, 100))
        low, high = (middle, high) if burn.roughness_Ra_um.likely < wanted else (low, middle)
    (spark,) = energy_for(setup(), wanted, current_A=amps).sparks
    assert_allclose(spark.settings.on_time_us, low, rtol=2e-3)


def test_higher_current_shorter_faster_and_more_wear():
    # trade text: what is faster at one finish wears more; more energy goes with it (Ra ~ E^0.3
    # at one current only)
    found = energy_for(setup(400), 3.2)
    on, energy, rate, wear = (
        np.array([float(of(s)) for s in found.sparks])
        for of in (
            lambda s: s.settings.on_time_us,
            lambda s: s.energy_mJ,
            lambda s: s.burn.removal_rate_mm3_per_min.likely,
            lambda s: s.burn.relative_wear_percent.likely,
        )
    )
    assert (np.diff(on) < 0).all() and (np.diff(wear) > 0).all()
    assert (np.diff(energy) > 0).all() and (np.diff(rate) > 0).all()
    assert found.fastest is found.sparks[-1] and found.least_wear is found.sparks[0]
    assert found.worth_dialling == found.sparks


def test_doubling_the_finish_takes_about_ten_times_the_energy():
    # published exponents: Ra with I^0.29 t^0.38 (handbook of 1997, second-hand); at one current
    # the energy goes with the time, so x2 in Ra is x 2^(1/0.38) = 6.2, and 2^(1/0.29) = 11 at most
    one, two = (energy_for(setup(), ra, current_A=8).sparks[0].energy_mJ for ra in (1.6, 3.2))
    assert 4 < two / one < 11


# --- to be sure of it ---
def test_the_sure_spark_keeps_it_with_that_chance():
    found = energy_for(setup(), 3.2, chance=0.9)
    for spark in found.sparks:
        s = spark.settings
        burn = ek.predict(
            setup(), ek.Settings(s.peak_current_A, spark.sure_on_time_us, s.off_time_us, 100)
        )
        assert_allclose(burn.roughness_Ra_um.chance_below(3.2), 0.9, atol=2e-3)
        assert spark.sure_energy_mJ < spark.energy_mJ
        assert_allclose(spark.sure_energy_mJ, burn.pulse_energy_mJ.likely, rtol=1e-9)


def test_the_even_chance_is_the_likely_spark():
    spark = energy_for(setup(), 3.2, chance=0.5, current_A=4).sparks[0]
    assert_allclose(spark.sure_energy_mJ, spark.energy_mJ, rtol=1e-12)


def test_no_sure_spark_where_the_smallest_is_too_large():
    found = energy_for(setup(), 0.8, chance=0.9, current_A=8)
    assert found.sparks[0].sure_energy_mJ is None and found.sparks[0].sure_on_time_us is None


def test_a_shop_that_knows_its_finish_is_listened_to():
    shop = ek.Shop.from_constants(setup(), spread=0.05, roughness_Ra=0.8)
    plain, taught = (energy_for(setup(), 3.2, it, current_A=8).sparks[0] for it in (None, shop))
    burn = ek.predict(setup(), taught.settings)  # without what the shop knows
    assert_allclose(0.8 * burn.roughness_Ra_um.likely, 3.2, rtol=2e-3)
    assert taught.energy_mJ > 1.5 * plain.energy_mJ
    near, far = (s.sure_energy_mJ / s.energy_mJ for s in (taught, plain))
    assert near > 1.5 * far  # what is known better leaves less to fear


# --- on a machine only its positions ---
@pytest.mark.parametrize(("machine", "area", "wanted"), [(SMALL, 7, 1.6), (SMALL, 400, 3.2),
                                                         (OLD, 400, 3.2)])  # fmt: skip
def test_on_a_machine_the_longest_on_time_that_keeps_it(machine, area, wanted):
    at = setup(area, machine)
    found = energy_for(at, wanted)
    volts = found.sparks[0].settings.open_voltage_V
    positions = sorted(machine.on_time_us.values)
    for spark in found.sparks:
        s = spark.settings
        assert s.on_time_us in positions and s.off_time_us in machine.off_time_us.values
        longer = next(t for t in positions if t > s.on_time_us)
        here, there = (
            float(ek.predict(at, ek.Settings(s.peak_current_A, t, s.off_time_us, volts))
                  .roughness_Ra_um.likely) for t in (s.on_time_us, longer)
        )  # fmt: skip
        assert here <= wanted < there


def test_the_off_time_is_the_fastest_that_the_finder_allows():
    at = setup(400, SMALL)
    for spark in energy_for(at, 1.6).sparks:
        s = spark.settings
        found = ek.find_settings(
            at, hold={"peak_current_A": s.peak_current_A, "on_time_us": s.on_time_us,
                      "open_voltage_V": s.open_voltage_V, "polarity": at.polarity},
        )  # fmt: skip
        assert found[0].settings.off_time_us == s.off_time_us


def test_a_machine_of_unknown_positions_is_answered_all_the_same():
    found = energy_for(setup(400, OLD), 3.2)
    assert found.sparks and (Sparks(setup(400, OLD)).roughness_um() > 0).any()


def test_what_an_end_cannot_bear_is_left_out():
    small, large = (energy_for(setup(area), 3.2) for area in (7, 400))
    most = max(s.settings.peak_current_A for s in small.sparks)
    assert most < max(s.settings.peak_current_A for s in large.sparks)
    for spark in small.sparks:
        assert not spark.burn.flags["over_current_limit"]


def test_voltage_and_lift_of_the_page_are_kept():
    like = ek.Settings(3, 50, 50, 150.0, lift_burn_s=2, lift_up_s=1)
    for spark in energy_for(setup(), 3.2, like=like).sparks:
        assert (spark.settings.open_voltage_V, spark.settings.lift_up_s) == (150.0, 1.0)


def test_without_wear_figures_nothing_wears_least():
    at = ek.Setup(
        ek.work_material("Ti64"), ek.electrode_material("copper"), ek.dielectric("edm_oil"),
        "electrode negative", 100.0,
    )  # fmt: skip
    found = energy_for(at, 3.2)
    assert found.least_wear is None and found.worth_dialling == (found.fastest,)


# --- what cannot be had ---
def test_a_finish_no_spark_leaves_is_refused_with_what_there_is():
    with pytest.raises(Refusal, match=r"Ra_um must be 0\.381 to 17\.4 µm here, got 0\.2 µm: stone"):
        energy_for(setup(), 0.2)
    with pytest.raises(Refusal, match="a rougher wall needs a larger spark"):
        energy_for(setup(400, SMALL), 12)


def test_the_finest_that_is_named_may_be_asked_for():
    for at in (setup(), setup(400, SMALL)):
        with pytest.raises(Refusal) as fault:
            energy_for(at, 0.06)
        finest = float(str(fault.value).split("must be ")[1].split(" to ")[0])
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", RangeWarning)
            assert energy_for(at, finest).sparks


@pytest.mark.parametrize(("kwargs", "name"), [
    ({"Ra_um": 0}, "Ra_um"), ({"Ra_um": float("nan")}, "Ra_um"), ({"Ra_um": [1, 2]}, "Ra_um"),
    ({"Ra_um": 3.2, "chance": 1.0}, "chance"), ({"Ra_um": 3.2, "current_A": -1}, "current_A"),
    ({"Ra_um": 3.2, "current_A": 200}, "peak_current_A"),
])  # fmt: skip
def test_refusals_name_what_to_change(kwargs, name):
    with pytest.raises(Refusal, match=f"^{name} must be"):
        energy_for(setup(), **kwargs)


def test_several_areas_are_refused():
    with pytest.raises(Refusal, match="engaged_area_mm2 must be one area"):
        energy_for(setup(np.array([10.0, 20.0])), 3.2)


def test_outside_the_law_it_warns_and_inside_it_does_not():
    with pytest.warns(RangeWarning, match="0.4 to 15"):
        energy_for(setup(), 0.39)
    with pytest.warns(RangeWarning, match="0.4 to 15"):
        energy_for(setup(4000), 16)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        energy_for(setup(), 3.2)
        energy_for(setup(400, SMALL), 1.6)
