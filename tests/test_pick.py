"""The fastest setting within limits, against a plain loop over the machine's positions."""

import itertools
import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Refusal
from edmkit.finder.grid import dials, labels
from edmkit.planning.pick import fastest

SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")
OLD = ek.read_machine("data_demo/old_manual_sinker.toml")


@pytest.fixture(autouse=True)
def _quiet():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        yield


def setup(area=7.0, machine=SMALL):
    """Return copper on hardened bearing steel in oil."""
    return ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive",
        engaged_area_mm2=area, machine=machine,
    )  # fmt: skip


def brute(at, max_Ra_um=None, gap=None):
    """Return the best setting by trying each position alone."""
    offered = dials(at)
    names = ("peak_current_A", "on_time_us", "off_time_us")
    best, found = 0.0, None
    for amps, on, off in itertools.product(*(offered[name] for name in names)):
        stages = [(0.15, 0.50)] * bool(on <= 20) + [(0.40, 0.65)] * bool(20 <= on <= 100)
        stages += [(0.60, 0.90)] * bool(on >= 100)
        if not min(stages)[0] <= on / (on + off) <= max(stages)[1]:
            continue
        volts = offered["open_voltage_V"]
        volt = volts[np.argmin(np.abs(np.log(volts / 100)))]
        burn = ek.predict(at, ek.Settings(float(amps), float(on), float(off), float(volt)))
        flags = burn.flags
        if flags["no_useful_cutting"] or flags["smaller_than_one_spark"] or flags["extrapolated"]:
            continue
        if burn.point.average_current > burn.point.current_limit:
            continue
        if burn.point.states.arcing > 0.10:
            continue
        if max_Ra_um and burn.roughness_Ra_um.likely > max_Ra_um:
            continue
        if gap and not gap[0] <= burn.gap_side_um.likely <= gap[1]:
            continue
        if burn.removal_rate_mm3_per_min.likely > best:
            best, found = burn.removal_rate_mm3_per_min.likely, (amps, on, off)
    return best, found


@pytest.mark.parametrize("limits", [{}, {"max_Ra_um": 1.5}, {"gap": (20, 28)}])
def test_as_good_as_trying_every_position(limits):
    at = setup()
    best, found = brute(at, **limits)
    asked = {"max_Ra_um": limits.get("max_Ra_um"), "gap_side_um": limits.get("gap")}
    choice = fastest(at, **asked)
    assert_allclose(choice.burn.removal_rate_mm3_per_min.likely, best, rtol=1e-12)
    assert (choice.settings.peak_current_A, choice.settings.on_time_us,
            choice.settings.off_time_us) == found  # fmt: skip


def test_a_smoother_wish_is_never_faster():
    rates = [
        fastest(setup(), max_Ra_um=limit).burn.removal_rate_mm3_per_min.likely
        for limit in (1.0, 1.5, 2.0, 3.0)
    ]
    assert rates == sorted(rates)


def test_a_larger_end_bears_more():
    amps = [fastest(setup(area, OLD)).settings.peak_current_A for area in (3, 10, 100)]
    assert amps == sorted(amps) and amps[0] < amps[-1]


def test_an_end_that_bears_only_a_long_pause_takes_it():
    choice = fastest(setup(0.3, OLD))
    assert choice.settings.off_time_us == OLD.off_time_us.values.max()
    assert choice.burn.point.average_current <= choice.burn.point.current_limit


def test_an_end_that_bears_nothing_takes_the_least_and_is_warned():
    choice = fastest(setup(0.01, OLD))
    assert choice.settings.peak_current_A == OLD.peak_current_A.values.min()
    assert any("mean current" in said for said in choice.burn.warnings)


def test_voltage_and_lift_are_kept():
    like = ek.Settings(3, 50, 25, open_voltage_V=150, lift_burn_s=2, lift_up_s=0.5)
    choice = fastest(setup(7, OLD), like=like)
    assert choice.settings.open_voltage_V == 150 and choice.settings.lift_burn_s == 2
    free = fastest(setup(7, None), like=like).settings
    assert free.open_voltage_V == 150


def test_labels_are_what_is_engraved():
    choice = fastest(setup(7, OLD))
    for name, label in choice.labels.items():
        assert getattr(OLD, name).position(label).value == getattr(choice.settings, name)
    assert labels(setup(7, None), ek.Settings(3, 50, 25))["on_time_us"] == "50 µs"


def test_limits_that_nothing_meets_name_the_nearest():
    with pytest.raises(Refusal, match=r"max_Ra_um must be at least ([0-9.]+) µm") as refused:
        fastest(setup(), max_Ra_um=0.1)
    least = float(str(refused.value).split("least ")[1].split(" ")[0])
    assert fastest(setup(), max_Ra_um=least * 1.01).burn.roughness_Ra_um.likely <= least * 1.01
    with pytest.raises(Refusal, match=r"gap_side_um must be between 2 and 3 .*larger in diameter|"
                       r"gap_side_um must be between 2 and 3 .*smaller in diameter"):  # fmt: skip
        fastest(setup(), gap_side_um=(2, 3))
    with pytest.raises(Refusal, match=r"max_Ra_um must be 0.05 to 50"):
        fastest(setup(), max_Ra_um=0)
