"""Finishing in steps: stock by hand, the number of passes against trying every chain."""

import itertools
import warnings
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import RangeWarning, Refusal
from edmkit.planning.chain import fewest_minutes, fewest_passes
from edmkit.planning.electrode import size
from edmkit.planning.finishing import finishing_steps, left_for_next_um
from edmkit.planning.finishing_drawing import depth_shown_um, pass_section
from edmkit.planning.shapes import Round
from edmkit.words import Display

SMALL = ek.read_machine("data_demo/small_low_current_sinker.toml")


@pytest.fixture(autouse=True)
def _quiet():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        yield


def setup(area=400.0, machine=SMALL):
    """Return copper on hardened bearing steel in oil."""
    return ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive",
        engaged_area_mm2=area, machine=machine,
    )  # fmt: skip


# --- the stock ---
def test_stock_by_hand():
    # relief 40 µm and a white layer of 30 µm, the check number of a roughing electrode's undersize
    # (common practice, no source): 0.10 gap + 0.04 + 0.03 + 0.02 allowance = 0.19 mm per side
    relief, below = left_for_next_um(40.0, 30.0)
    assert (relief, below) == (40.0, 30.0)
    assert_allclose(0.10 + (relief + below) / 1000 + 0.02, 0.19)
    # a thin white layer: half of Rz counts (vocational-school wiki: Z >= Rz / 2)
    assert left_for_next_um(40.0, 12.0) == (40.0, 20.0)


def test_the_electrode_that_leaves_it_is_the_plan_s():
    # the plan's own sizing, with the same relief and stock, leaves that much per side
    relief, below = left_for_next_um(40.0, 30.0)
    sizing = size(Round(20.0), 0.10, roughness_Rz_mm=relief / 1000, stock_mm=below / 1000,
                  location_mm=0.02)  # fmt: skip
    assert_allclose(sizing.undersize_mm, 0.19)


@pytest.mark.parametrize("passes", [1, 2, 3])
def test_each_pass_takes_relief_and_white_layer_of_the_one_before(passes):
    found = finishing_steps(setup(), 6.3, 0.8, 400, passes=passes)
    assert len(found.steps) == passes
    before = 6.3
    for step in found.steps:
        assert_allclose(step.before_Ra_um, before)
        # from memory: Rz 5.5 Ra; white layer 2.5 Ra with a spread of 0.45, so 95 % are below
        # 2.5 exp(1.645 x 0.45) = 5.24 Ra
        assert_allclose(step.relief_um, 5.5 * before)
        assert_allclose(step.below_um, 5.24 * before, rtol=0.02)
        assert step.stock_um >= step.relief_um + step.below_um - 1e-9
        # a simulated surface: its mean level falls by 0.45 of the old Rz before it is forgotten
        assert step.stock_um > 0.45 * step.relief_um and step.layers >= step.layers_needed
        before = float(step.burn.roughness_Ra_um.likely)
    assert before <= 0.8
    assert_allclose(found.stock_um, sum(s.relief_um + s.below_um for s in found.steps))


def test_a_low_relief_still_gets_its_layers():
    # a shop whose sparks leave a sixth of the relief that their craters would: the layers decide
    shop = ek.Shop.from_constants(setup(), spread=0.1, roughness_Ra=0.15)
    found = finishing_steps(setup(), 0.7, 0.3, 400, shop, passes=1)
    (step,) = found.steps
    assert step.stock_um > 1.1 * (step.relief_um + step.below_um)
    after = float(step.burn.roughness_Ra_um.likely)
    crater = step.burn.point.crater
    layer_um = 0.55 * crater.volume / (np.pi * crater.radius**2) * 1e6  # 0.55 of the melt leaves
    assert_allclose(step.stock_um, (1 + 1.4 * 0.7 / after) * layer_um)
    assert_allclose(step.layers, step.layers_needed)


# --- minutes ---
def test_minutes_by_hand():
    found = finishing_steps(setup(), 6.3, 0.8, 250, change_min=7, passes=2)
    for step in found.steps:
        alone = ek.predict(setup(), step.settings)
        by_hand = 250 * step.stock_um / 1000 / alone.removal_rate_mm3_per_min.likely
        assert_allclose(step.minutes.likely, by_hand)
        assert_allclose(step.minutes.spread, alone.removal_rate_mm3_per_min.spread)
    burning = sum(step.minutes.likely for step in found.steps)
    assert_allclose(found.minutes, burning + 14)
    assert_allclose(found.by_passes[1], burning + 14)
    low, high = found.minutes_between  # the changes are no guess
    assert_allclose((low - 14) * (high - 14), burning**2, rtol=1e-6)
    assert 14 < low < found.minutes < high


def test_lifts_cost_their_time():
    like = ek.Settings(3, 50, 50, 110, lift_burn_s=1, lift_up_s=1)
    plain, lifted = (finishing_steps(setup(), 6.3, 0.8, 400, passes=2, like=way)
                     for way in (None, like))  # fmt: skip
    assert_allclose(lifted.burning.likely, 2 * plain.burning.likely)
    assert_allclose(lifted.burning_by_passes, 2 * np.array(plain.burning_by_passes))


def test_twice_the_area_burns_twice_as_long():
    one, two = (finishing_steps(setup(), 6.3, 0.8, area, passes=2) for area in (100, 200))
    assert_allclose(two.burning.likely, 2 * one.burning.likely)
    assert_allclose(two.stock_um, one.stock_um)


def test_one_pass_is_as_many_times_as_long_as_two_burns_say():
    found = finishing_steps(setup(), 6.3, 0.8, 400, change_min=0, passes=2)
    assert_allclose(found.over_one.likely, found.by_passes[0] / found.by_passes[1])
    assert 0 < found.over_one.spread < 0.3 * found.burning.spread  # the level has gone
    assert finishing_steps(setup(), 6.3, 0.8, 400, passes=1).over_one.likely == 1


# --- how many ---
def plain_best(cost, ends, passes):
    """Return the cheapest chain of so many passes by trying them all."""
    best, found = np.inf, None
    for chain in itertools.product(range(cost.shape[1]), repeat=passes):
        if not ends[chain[-1]]:
            continue
        rows = (0, *(place + 1 for place in chain[:-1]))
        minutes = sum(cost[row, place] for row, place in zip(rows, chain, strict=True))
        if minutes < best:
            best, found = minutes, chain
    return best, found


@pytest.mark.parametrize("seed", range(5))
def test_every_chain_tried(seed):
    rng = np.random.default_rng(seed)
    cost = np.vstack([rng.uniform(5, 50, 7), np.triu(rng.uniform(1, 20, (7, 7)), 1)])
    cost[1:][np.tril_indices(7)] = np.inf
    ends = np.arange(7) >= 5
    found = fewest_minutes(cost, ends, 4)
    assert len(found) == 4
    for passes, (minutes, chain) in enumerate(found, 1):
        best, places = plain_best(cost, ends, passes)
        assert_allclose(minutes, best)
        assert chain == places


def test_it_ends_where_no_longer_chain_exists():
    cost = np.array([[9.0, 4.0], [np.inf, 2.0], [np.inf, np.inf]])
    assert fewest_minutes(cost, np.array([False, True]), 6) == [(4.0, (1,)), (11.0, (0, 1))]


def test_two_passes_by_brute_force_over_single_predictions():
    # an independent program: every pair of a coarse choice of positions, one prediction each;
    # the kit, which looks at all positions, must be as fast at least, and exact on its own pair
    at, best = setup(), np.inf
    choice = []
    for amps, on in itertools.product((1.0, 3.0, 4.5, 5.5), (5.0, 10.0, 20.0, 50.0)):
        for off in (5.0, 15.0, 40.0):
            burn = ek.predict(at, ek.Settings(amps, on, off, 110.0))
            duty = on / (on + off)
            if not (0.15 <= duty <= 0.5 if on < 20 else 0.4 <= duty <= 0.65 if on > 20 else
                    0.15 <= duty <= 0.65):  # fmt: skip
                continue
            if burn.point.average_current > burn.point.current_limit or (
                burn.point.states.arcing > 0.1 or burn.flags["no_useful_cutting"]
            ):
                continue
            ra, rate = burn.roughness_Ra_um.likely, burn.removal_rate_mm3_per_min.likely
            choice.append((float(ra), float(rate)))
    for first, second in itertools.product(choice, repeat=2):
        if second[0] <= 0.8 and first[0] > second[0]:
            per_Ra = 5.5 + 2.5 * np.exp(1.6449 * 0.45)
            minutes = 400 / 1000 * per_Ra * (6.3 / first[1] + first[0] / second[1])
            best = min(best, minutes)
    found = finishing_steps(at, 6.3, 0.8, 400, passes=2)
    assert np.isfinite(best) and found.burning.likely <= best * 1.01
    assert found.burning.likely >= 0.7 * best  # and not by magic


def test_dearer_changes_never_make_more_passes():
    counts = [len(finishing_steps(setup(2000), 12, 0.6, 2000, change_min=c).steps)
              for c in (0, 1, 3, 10, 30, 100, 600)]  # fmt: skip
    assert counts == sorted(counts, reverse=True) and counts[0] > 3 and counts[-1] < 3


def test_the_number_is_the_cheapest_of_those_listed():
    found = finishing_steps(setup(2000), 12, 0.6, 2000, change_min=10)
    assert_allclose(min(found.by_passes), found.minutes)
    assert len(found.steps) == 1 + int(np.argmin(found.by_passes))


@pytest.mark.parametrize("machine", [SMALL, None])
def test_a_finer_finish_never_takes_fewer_minutes(machine):
    minutes = [float(finishing_steps(setup(400, machine), 8, to, 400).minutes)
               for to in (4.0, 3.2, 2.5, 1.6, 1.2, 0.8, 0.6)]  # fmt: skip
    assert (np.diff(minutes) >= -1e-9).all() and minutes[-1] > 1.2 * minutes[0]


def test_slower_sparks_want_more_passes():
    found = finishing_steps(setup(2000), 12, 0.6, 2000, change_min=10)
    counts = [found.best_if(times) for times in (0.01, 0.1, 1, 10, 100)]
    assert counts == sorted(counts) and counts[0] == 1 and counts[-1] > 2
    least, most = found.best_between
    assert least <= len(found.steps) <= most
    assert fewest_passes((60.0, 30.0, 25.0), 10) == 2  # 70, 50, 55 min by hand
    assert fewest_passes((60.0, 30.0, 25.0), 10, 10) == 3  # 610, 320, 280 min by hand


def test_a_middle_electrode_by_the_trade_s_rule():
    # a trade page: wanted from a ratio of 4 of the undersizes on; small reductions want none
    far = finishing_steps(setup(400, None), 12, 0.8, 400).undersizes
    near = finishing_steps(setup(400, None), 3.2, 1.6, 400).undersizes
    assert far.rough_mm / far.finish_mm > 4 and far.middle_wanted
    assert near.rough_mm / near.finish_mm < 4 and not near.middle_wanted
    assert finishing_steps(setup(), 40, 0.8, 400).undersizes is None  # no spark is that rough


# --- what cannot be had ---
@pytest.mark.parametrize("to", [3.2, 6.3])
def test_a_surface_that_is_smooth_already_needs_no_pass(to):
    with pytest.raises(Refusal, match=r"to_Ra_um must be below .* 3\.2 µm, .*no pass is needed"):
        finishing_steps(setup(), 3.2, to, 400)


def test_finer_than_any_spark_is_refused():
    with pytest.raises(Refusal, match=r"^to_Ra_um must be 0\.4\d* to .* got 0\.1 µm: stone"):
        finishing_steps(setup(), 6.3, 0.1, 400)


@pytest.mark.parametrize(("change", "name"), [
    ({"from_Ra_um": 0}, "from_Ra_um"), ({"to_Ra_um": float("nan")}, "to_Ra_um"),
    ({"area_mm2": -1}, "area_mm2"), ({"change_min": 1e4}, "change_min"),
    ({"passes": 0}, "passes"), ({"passes": 40}, "passes"),
])  # fmt: skip
def test_refusals_name_what_to_change(change, name):
    asked = {"from_Ra_um": 6.3, "to_Ra_um": 0.8, "area_mm2": 400} | change
    with pytest.raises(Refusal, match=f"^{name} must be"):
        finishing_steps(setup(), **asked)


def test_an_end_that_bears_no_such_spark_is_answered_and_said():
    # a needle's point of 0.02 mm²: every setting asks more current than it bears
    found = finishing_steps(setup(0.02), 3.2, 1.2, 1.0)
    assert not found.within_limits
    assert finishing_steps(setup(), 3.2, 1.2, 400).within_limits


def test_outside_the_law_it_warns():
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        with pytest.warns(RangeWarning, match="0.4 to 15"):
            finishing_steps(setup(400, None), 3.2, 0.39, 400)


# --- the drawing ---
def heights(picture, name):
    """Return highest and lowest of a part [pixels]."""
    part = next(e for e in ElementTree.fromstring(picture).iter() if e.get("data-part") == name)
    pairs = part.get("d").replace("M", "").replace("L", "").replace("Z", "").split()
    ys = [float(pair.split(",")[1]) for pair in pairs]
    return min(ys), max(ys)


def test_the_drawing_is_to_scale():
    steps = finishing_steps(setup(), 6.3, 0.8, 400, passes=2).steps
    deepest = depth_shown_um(steps)
    spans = []
    for step in steps:
        picture = pass_section(step, deepest, Display())
        top, valley = heights(picture, "before")
        line, bottom = heights(picture, "after")
        scale = (valley - top) / step.relief_um
        assert_allclose((line - top) / scale, step.stock_um, rtol=0.01)
        after = 5.5 * float(step.burn.roughness_Ra_um.likely)
        assert_allclose((bottom - line) / scale, after, rtol=0.08)
        assert bottom < 150 - 30  # inside the work
        assert f"takes {step.stock_um:.1f} µm per side" in picture
        spans.append(scale)
    assert_allclose(spans[0], spans[1], rtol=0.02)  # one scale for all
    assert "thou per side" in pass_section(steps[0], deepest, Display(inches=True))
