"""Ramp, passes and the whole plan, against sums by hand and against each other's limits."""

import math
import warnings

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import Refusal
from edmkit.panels.job import Job
from edmkit.panels.machines import switches
from edmkit.panels.plan_demos import DEMOS
from edmkit.planning import ramp as ramp_room
from edmkit.planning.dressing import ORDERS, Batch
from edmkit.planning.pick import fastest
from edmkit.planning.plan import Tolerance, plan
from edmkit.planning.ramp import ramp
from edmkit.planning.stages import Stage
from edmkit.planning.stop import SAG
from edmkit.planning.walls import Part, lump, warming

SETTINGS = ek.Settings(3, 50, 25, lift_burn_s=4, lift_up_s=1)
FINE = ek.Settings(2, 10, 10, lift_burn_s=4, lift_up_s=1)
MACHINE = ek.read_machine("data_demo/old_manual_sinker.toml")


@pytest.fixture(autouse=True)
def _quiet():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        yield


def setup(**changed):
    """Return copper on hardened bearing steel in oil."""
    given = {
        "work": ek.work_material("52100"),
        "electrode": ek.electrode_material("copper"),
        "dielectric": ek.dielectric("edm_oil"),
        "polarity": "electrode positive",
        "engaged_area_mm2": 7.0,
    }
    return ek.Setup(**{**given, **changed})


def flat(shape=None, depth=5.0, **rest):
    return ek.Feature(shape or ek.Round(3.05), ek.Flat(), depth, **rest)


def planned(feature=None, stages=None, **rest):
    stages = (Stage("rough", SETTINGS),) if stages is None else stages
    return plan(feature or flat(), setup(), stages, **rest)


def demo(name):
    """Return the plan of a demo job on the demo machine, with its own shop."""
    shown = DEMOS[name]
    there = switches(MACHINE)
    job = shown.job(there)
    at = job.setup(MACHINE)
    shop = ek.Shop.from_constants(at, spread=shown.spread, **shown.factors)
    change = (lambda proposed: job.stages(proposed, there)) if job.by_hand else None
    return plan(
        job.feature(), at, shop=shop, change=change, like=Job.settings(job, there),
        touch=job.touch(), batch=job.batch(), tolerance=job.tolerance(), part=job.part(),
        **job.asked(),
    )  # fmt: skip


# --- one pass by hand ---
def test_one_pass_by_hand():
    made = planned().passes[0]
    gap = made.burn.gap_side_um.likely / 1000
    volume = math.pi * 3.05**2 / 4 * 5
    assert_allclose(made.electrode.d, 3.05 - 2 * gap, rtol=1e-6)
    assert_allclose(made.volume_mm3, volume, rtol=1e-6)
    rate = made.burn.removal_rate_mm3_per_min.likely
    assert_allclose(made.minutes.likely, volume / rate * 1.25, rtol=1e-6)  # 4 s burning, 1 s up
    worn = (
        made.burn.relative_wear_percent.likely / 100 * volume / (math.pi * made.electrode.d**2 / 4)
    )
    assert_allclose(made.end_wear_mm.likely, worn, rtol=1e-6)
    assert_allclose(made.stop.exact_mm, 5 - made.burn.gap_front_um.likely / 1000 + worn, rtol=1e-9)
    assert made.readings[0].mm <= made.electrode.d < made.readings[0].mm + 0.01


def test_two_passes_share_the_hole():
    made = planned(stages=(Stage("rough", SETTINGS), Stage("finish", FINE)))
    rough, finish = made.passes
    assert_allclose(rough.volume_mm3 + finish.volume_mm3, math.pi * 3.05**2 / 4 * 5, rtol=1e-6)
    # d = D - 2 S - 2 Rz - 2 Z, vocational-school wiki; Z the recast of one place in twenty here
    gap, high, rz = (v / 1000 for v in (rough.burn.gap_side_um.likely, rough.burn.recast_um.high,
                                        rough.burn.roughness_Rz_um.likely))  # fmt: skip
    assert_allclose(rough.side_stock_mm, rz + max(rz / 2, high), rtol=1e-3)
    assert_allclose(rough.electrode.d, 3.05 - 2 * (gap + rough.side_stock_mm), rtol=1e-3)
    assert_allclose(rough.floor_stock_mm, rough.side_stock_mm)
    assert_allclose(finish.electrode.d, 3.05 - 2 * finish.burn.gap_side_um.likely / 1000, rtol=1e-3)
    assert finish.side_stock_mm == finish.floor_stock_mm == 0
    front = rough.burn.gap_front_um.likely / 1000
    wanted = 5 - front + rough.end_wear_mm.likely - rough.floor_stock_mm
    assert_allclose(rough.stop.exact_mm, wanted, rtol=1e-9)


def test_a_finish_end_bears_little_until_it_meets_the_floor():
    rough, finish = planned(
        stages=(Stage("rough", SETTINGS, stock_mm=0.1), Stage("finish", FINE))
    ).passes
    ring = math.pi / 4 * (finish.electrode.d**2 - rough.cavity.d**2)
    assert_allclose(finish.ramp.areas_mm2[0], ring, rtol=1e-3)
    assert_allclose(finish.ramp.areas_mm2[-1], math.pi / 4 * finish.electrode.d**2, rtol=1e-6)
    assert_allclose(finish.ramp.steps[-1].depth_mm, 5 - rough.floor_stock_mm, atol=1e-6)
    assert "thin ring" in finish.ramp.sentence()
    whole = math.pi / 4 * finish.electrode.d**2
    low = finish.volume_mm3 / finish.burn.removal_rate_mm3_per_min.likely * 1.25
    assert_allclose(finish.minutes.likely, low + finish.ramp.extra_minutes, rtol=1e-9)
    gone = ring * (5 - rough.floor_stock_mm) + whole * rough.floor_stock_mm
    assert_allclose(finish.ramp.volumes_mm3[-1], gone, rtol=1e-3)
    # the edge wears over the ring, its share of the depth but not wider than the ring
    share = finish.burn.relative_wear_percent.likely / 100
    edge = min(share * 5, rough.side_stock_mm)
    assert_allclose(finish.dressing.per_hole_mm, finish.end_wear_mm.likely + edge, rtol=1e-6)


def test_a_finish_end_that_slips_into_the_rough_hole_is_touched_off_beside_it():
    finish = planned(stages=(Stage("rough", SETTINGS, stock_mm=0.0), Stage("finish", FINE)))
    assert finish.passes[1].electrode.d < finish.passes[0].cavity.d
    assert any("beside it" in note for note in finish.passes[1].notes)


def test_a_bored_end_leaves_a_pip_that_the_solid_finish_takes():
    stages = (Stage("rough", SETTINGS, bore_mm=1.0), Stage("finish", FINE))
    rough, finish = planned(stages=stages).passes
    gap = rough.burn.gap_side_um.likely / 1000
    pip = math.pi / 4 * (1.0 - 2 * gap) ** 2 * (5 - rough.floor_stock_mm)
    assert_allclose(rough.pip.volume_mm3, pip, rtol=1e-6)
    cut = math.pi / 4 * rough.cavity.d**2 * (5 - rough.floor_stock_mm) - pip
    assert_allclose(rough.volume_mm3, cut, rtol=1e-6)
    assert_allclose(rough.volume_mm3 + finish.volume_mm3, math.pi * 3.05**2 / 4 * 5, rtol=1e-6)
    assert any("pip first" in note for note in finish.notes)
    taken = planned(stages=(stages[0], Stage("pip", FINE))).passes[1]
    assert_allclose(taken.volume_mm3, math.pi / 4 * (1.0 - 2 * gap) ** 2 * 5, rtol=1e-6)


def test_a_bore_in_a_polygon_leaves_its_pip_too():
    hexagon = ek.RegularPolygon(6, 4.06)
    rough, finish = planned(
        flat(hexagon, 4.0), (Stage("rough", SETTINGS, bore_mm=1.2), Stage("finish", FINE))
    ).passes
    cut = rough.cavity.area_mm2 * (4 - rough.floor_stock_mm) - rough.pip.volume_mm3
    assert_allclose(rough.volume_mm3, cut, rtol=1e-6)
    assert_allclose(rough.volume_mm3 + finish.volume_mm3, hexagon.area_mm2 * 4, rtol=1e-6)


def test_a_rod_that_orbits_leaves_a_wider_hole():
    rod = ek.Round(2.9)
    made = planned(stages=(Stage("rough", SETTINGS, section=rod, orbit_mm=0.04),)).passes[0]
    gap = made.burn.gap_side_um.likely / 1000
    assert_allclose(made.cavity.d, 2.9 + 2 * (gap + 0.04), rtol=1e-4)


def test_a_pass_that_cannot_touch_in_place_counts_from_the_crown():
    # worked value: the hole's centre lies 0.2679 below the crown, 4.00 off on a radius of 30
    domed = ek.Feature(ek.Round(3.05), ek.Ball(60.0), 5.0, offset_mm=4.0, depth_from="hole centre")
    first, square = planned(
        domed, (Stage("rough", SETTINGS), Stage("square the floor", FINE))
    ).passes
    assert first.stop.term(SAG).value_mm < 0.2
    assert_allclose(square.stop.term(SAG).value_mm, 0.2679, atol=1e-4)


def test_a_rough_end_may_wear_rounder_than_the_drawing_allows():
    batch = Batch(parts=50, corner_max_mm=0.05, corner_per_wear=0.2)
    rough, finish = planned(
        stages=(Stage("rough", SETTINGS), Stage("finish", FINE)), batch=batch
    ).passes
    assert rough.dressing.corner_mm > 0.05 or rough.dressing.after > 1
    assert rough.dressing.after >= math.floor(0.3 / rough.dressing.per_hole_mm)
    gap = finish.burn.gap_side_um.likely / 1000
    allowed = max(0.05 - gap, finish.dressing.per_hole_mm)
    assert finish.dressing.corner_mm <= allowed * (1 + 1e-9)


def test_parts_that_come_back_leave_more_stock():
    stages = (Stage("rough", SETTINGS), Stage("finish", FINE))
    at_once = planned(stages=stages, batch=Batch(parts=5, relocate_mm=0.01)).passes[0]
    later = planned(stages=stages, batch=Batch(parts=5, relocate_mm=0.01, order=ORDERS[1])).passes[
        0
    ]
    assert_allclose(later.side_stock_mm - at_once.side_stock_mm, 0.02, atol=1e-4)


def test_a_deep_blind_hole_without_flow_bears_half():
    deep = planned(flat(ek.Round(3.05), 12.0)).passes[0]
    bored = planned(flat(ek.Round(3.05), 12.0), (Stage("rough", SETTINGS, bore_mm=1.0),)).passes[0]
    through = planned(flat(ek.Round(3.05), 12.0, through=True)).passes[0]
    flags = [p.setup.flushing.deep_blind for p in (deep, bored, through, planned().passes[0])]
    assert flags == [True, False, False, False]
    assert_allclose(through.ramp.allowed_A[-1] / deep.ramp.allowed_A[-1], 2.0, rtol=0.01)


def test_the_low_steps_count_in_the_minutes():
    ball = ek.Feature(ek.Round(3.05), ek.Ball(12.0), 5.0)
    made = planned(ball).passes[0]
    rate = made.burn.removal_rate_mm3_per_min.likely
    assert made.ramp.extra_minutes > 0.1
    wanted = made.volume_mm3 / rate * 1.25 + made.ramp.extra_minutes
    assert_allclose(made.minutes.likely, wanted, rtol=1e-9)


def test_squaring_the_floor_keeps_the_section_and_need_not_reach_the_wall():
    made = planned(
        stages=(Stage("rough", SETTINGS), Stage("square the floor", FINE)),
        batch=Batch(corner_max_mm=0.2),
    )
    first, square = made.passes
    assert square.electrode == first.electrode and square.cavity == first.cavity
    corner = (1 - math.pi / 4) * first.dressing.corner_mm**2 * math.pi * first.cavity.d
    floor = first.floor_stock_mm * math.pi / 4 * first.cavity.d**2
    assert_allclose(square.volume_mm3, corner + floor, rtol=1e-6)
    assert first.floor_stock_mm > 0 and square.floor_stock_mm == 0


def test_a_skim_through_wears_the_edge_by_its_share_of_the_depth():
    # worked example: a skim edge wears the wear share per mm of depth
    before = ek.Rectangle(4.9, 4.9)
    feature = flat(ek.Rectangle(5.0, 5.0), 20.0, through=True, cut_away=before)
    made = plan(feature, setup(), [Stage("finish", ek.Settings(1, 10, 20))]).passes[0]
    share = made.burn.relative_wear_percent.likely / 100
    assert_allclose(made.volume_mm3, (25 - 4.9**2) * 20, rtol=1e-6)
    assert_allclose(made.end_wear_mm.likely, share * 20, rtol=1e-6)
    assert made.stop.exact_mm > 20 + share * 20


# --- the ramp ---
def test_steps_of_the_ramp_bear_their_current():
    feature = ek.Feature(ek.Round(3.05), ek.Ball(12.0), 5.0)
    electrode = ek.Round(3.0)
    at = setup(engaged_area_mm2=math.pi * 2.25, engaged_rim_mm=math.pi * 3)
    made = ramp(feature, electrode, at, SETTINGS)
    assert made.steps[0].depth_mm == 0 and made.steps[-1].peak_current_A == 3
    for step in made.steps[1:]:
        # by hand: the touched circle on the ball at that depth, its rim 0.2 A/mm or 50 A/cm²
        t = step.depth_mm
        area, rim = math.pi * (12 * t - t**2), 2 * math.pi * math.sqrt(12 * t - t**2)
        bears = min(max(0.07 * area, 0.2 * rim), 0.5 * area)
        assert bears >= step.mean_A * (1 - 1e-9)
    assert made.borne and 0 < made.extra_minutes < 5
    assert all(a.depth_mm < b.depth_mm for a, b in zip(made.steps, made.steps[1:], strict=False))
    assert "small patch" in made.sentence()


@pytest.mark.parametrize("amps", [1, 1.5, 2, 3])
def test_the_ramp_ends_at_the_setting_asked_for(amps):
    feature = ek.Feature(ek.Round(3.05), ek.Ball(60.0), 5.0, offset_mm=4.0)
    at = setup(engaged_area_mm2=math.pi * 2.25, engaged_rim_mm=math.pi * 3)
    made = ramp(feature, ek.Round(3.0), at, ek.Settings(amps, 50, 25))
    assert made.borne and made.steps[-1].peak_current_A == amps
    apart = np.diff([step.depth_mm for step in made.steps])
    assert np.all(apart >= 0.05 * (1 - 1e-9))


def test_extra_minutes_are_what_the_low_steps_lose():
    feature = ek.Feature(ek.Round(3.05), ek.Ball(12.0), 5.0)
    at = setup(engaged_area_mm2=math.pi * 2.25, engaged_rim_mm=math.pi * 3)
    made = ramp(feature, ek.Round(3.0), at, SETTINGS)
    taken, rod = 0.0, ek.Round(3.0)
    starts = [*(step.depth_mm for step in made.steps), feature.reach_mm(rod)]
    for step, start, end in zip(made.steps, starts, starts[1:], strict=False):
        gone = feature.removed_volume_mm3(end, rod) - feature.removed_volume_mm3(start, rod)
        burn = ek.predict(at, ek.Settings(step.peak_current_A, 50, 25))
        taken += gone / burn.removal_rate_mm3_per_min.likely * 1.25
    whole = feature.removed_volume_mm3(feature.reach_mm(ek.Round(3.0)), ek.Round(3.0))
    fast = ek.predict(at, ek.Settings(3, 50, 25)).removal_rate_mm3_per_min.likely
    assert_allclose(made.extra_minutes, taken - whole / fast * 1.25, rtol=0.05)


def test_a_flat_face_needs_no_ramp():
    made = planned().passes[0].ramp
    assert len(made.steps) == 1 and made.extra_minutes == pytest.approx(0) and made.sentence() == ""


def test_the_area_decides_and_nothing_is_refused():
    thin = planned(flat(ek.Rectangle(5.0, 0.3), 5.0), [Stage("rough", ek.Settings(20, 100, 50))])
    made = thin.passes[0].ramp
    assert not made.borne
    assert "The area decides, not the switch" in made.sentence()
    assert all(word in made.sentence() for word in ("lowest current", "long off-time", "lifts"))
    assert made.sentence() in thin.warnings()


def test_a_dip_of_what_is_borne_holds_the_step_back(monkeypatch):
    # what an end bears, by hand: it rises, dips at mid depth, and rises again
    def dipping(at, areas, rims):
        n = len(areas)
        return np.where(np.arange(n) < n // 2, 3.0, np.where(np.arange(n) < 3 * n // 4, 0.5, 3.0))

    monkeypatch.setattr(ramp_room, "_limits", dipping)
    at = setup(engaged_area_mm2=math.pi * 2.25, engaged_rim_mm=math.pi * 3)
    made = ramp(flat(), ek.Round(3.0), at, SETTINGS)
    three_quarters = made.depths_mm[3 * len(made.depths_mm) // 4]
    assert made.steps[-1].depth_mm >= three_quarters - 1e-9
    assert made.steps[0].mean_A <= 0.5 or made.steps[0].peak_current_A == 0.5


def test_a_position_is_only_offered_where_it_stays_borne():
    # a bore's wall is touched at the edges first: the end grows, the limit of the rim jumps
    feature = ek.Feature(ek.Rectangle(6, 5), ek.Bore(16.0), 2.0)
    end = ek.Rectangle(5.9, 4.9)
    at = setup(engaged_area_mm2=end.area_mm2, engaged_rim_mm=end.perimeter_mm)
    made = ramp(feature, end, at, ek.Settings(10, 50, 25))
    for step in made.steps[1:]:
        assert np.all(made.allowed_A[made.depths_mm >= step.depth_mm] >= step.mean_A * (1 - 1e-9))


# --- the demo jobs ---
def test_the_sockets_by_name():
    # worked example: area 14.275, wall 2.656, and 2.606 with 0.05 off
    made = demo("Hex sockets in dowel pins")
    assert_allclose(made.feature.shape.area_mm2, 14.275, atol=1e-3)
    assert_allclose(made.wall.wall_mm, 2.656, atol=1e-3)
    rough, finish = made.passes
    assert rough.pip is not None and finish.pip is None
    assert rough.electrode.across_flats < finish.electrode.across_flats < 4.06
    assert finish.corner_left_mm <= 0.15 * (1 + 1e-9)  # the drawing's corner, gap and all
    assert made.batch.order == ORDERS[1] and made.schedule.dressings_saved == 46
    assert made.chance is not None


def test_the_keyway_says_that_the_area_decides():
    # worked example: 0.624 mm² of section, 12.5 mm³ over 20 mm, hours
    made = demo("Keyway corners in a gear bore")
    assert_allclose(made.passes[0].volume_mm3, 12.48, atol=0.03)
    assert any("area decides" in sentence for sentence in made.warnings())
    lowest = MACHINE.peak_current_A.values.min()
    assert made.passes[0].settings.peak_current_A == lowest
    assert made.passes[0].stop.exact_mm > 21.5
    assert made.chance.depth == 1


def test_the_rollers_show_the_trap():
    # worked example: 0.164 too shallow; outer wall 2.475, web 4.95; 80 holes, dress after 2
    made = demo("Locating holes in domed rollers")
    only = made.passes[0]
    assert_allclose(only.stop.trap.value_mm, 0.164, atol=1e-3)
    assert_allclose(made.wall.wall_mm, 2.475, atol=1e-6)
    assert only.dressing.after == 2
    assert made.batch.count == 80 and only.dressing.electrodes >= 2
    assert len(only.ramp.steps) >= 2
    assert 10 < only.minutes.likely < 40
    assert 0 < made.chance.both < 1


# --- choosing the passes ---
def test_the_kit_takes_one_electrode_where_the_fast_setting_is_smooth_enough():
    made = plan(flat(), setup(), max_Ra_um=12.0)
    assert len(made.passes) == 1 and "smooth enough" in made.why
    assert made.passes[0].burn.roughness_Ra_um.likely <= 12


def test_the_kit_roughs_first_where_that_saves_time():
    big = flat(ek.Rectangle(30, 20, 1.0), 15.0)
    made = plan(big, setup(), max_Ra_um=1.2)
    assert len(made.passes) >= 2 and "electrodes" in made.why
    assert made.passes[-1].burn.roughness_Ra_um.likely <= 1.2
    total = sum(p.minutes.likely for p in made.passes)
    alone = plan(big, setup(), max_Ra_um=1.2, number="1")
    assert total < alone.passes[0].minutes.likely


def test_a_dear_change_is_only_worth_it_for_a_batch():
    big = flat(ek.Rectangle(30, 20, 1.0), 15.0)
    free = plan(big, setup(), max_Ra_um=1.2, batch=Batch(dress_min=0))
    saved = plan(big, setup(), max_Ra_um=1.2, number="1").passes[0].minutes.likely - sum(
        p.minutes.likely for p in free.passes
    )
    assert len(free.passes) > 1 and saved > 0
    dear = min(600.0, 1.5 * saved)
    alone = plan(big, setup(), max_Ra_um=1.2, batch=Batch(dress_min=dear))
    many = plan(big, setup(), max_Ra_um=1.2,
                batch=Batch(parts=50, dress_min=dear, order=ORDERS[1]))  # fmt: skip
    assert len(many.passes) > 1
    if dear > saved:
        assert len(alone.passes) == 1


def test_three_electrodes_stand_in_order():
    made = plan(flat(ek.Rectangle(30, 20, 1.0), 15.0), setup(), max_Ra_um=1.2, number="3")
    sizes = [p.electrode.a for p in made.passes]
    rough = [p.burn.roughness_Ra_um.likely for p in made.passes]
    assert sizes == sorted(sizes) and rough == sorted(rough, reverse=True)
    first, middle, _ = made.passes
    rz, recast = first.burn.roughness_Rz_um.likely / 1000, first.burn.recast_um.high / 1000
    own = rz + max(rz / 2, recast)
    assert_allclose(first.side_stock_mm, middle.side_stock_mm + own, rtol=0.02)
    assert_allclose(sum(p.volume_mm3 for p in made.passes),
                    ek.Rectangle(30, 20, 1.0).area_mm2 * 15, rtol=1e-6)  # fmt: skip


def test_without_a_roughness_one_electrode_will_do():
    assert plan(flat(), setup()).why == "One electrode: no roughness is asked for."


# --- chances, walls, warnings ---
def test_no_chance_without_an_own_burn_but_what_can_be_held():
    made = planned()
    assert made.chance is None
    assert made.passes[-1].stop.holds_mm > 0.02
    shop = ek.Shop.from_constants(setup(), gap_side=1.0, relative_wear=1.0)
    assert planned(shop=shop).chance is not None
    only_wear = ek.Shop.from_constants(setup(), relative_wear=1.0)
    assert planned(shop=only_wear).chance is None


def test_a_rod_of_the_wrong_size_is_said():
    stages = (Stage("rough", SETTINGS, section=ek.Round(2.8)),)
    made = planned(stages=stages, tolerance=Tolerance(0.02, 0.02))
    gap = made.passes[0].burn.gap_side_um.likely / 1000
    off = 3.05 - 2.8 - 2 * gap
    assert any(f"{off:.3f} mm under" in said and "larger" in said for said in made.warnings())
    wide = planned(stages=stages, tolerance=Tolerance(0.5, 0.02))
    assert not any("under the drawing" in said for said in wide.warnings())


def test_a_rod_at_hand_takes_the_setting_that_brings_it_to_size():
    # worked example: rod 3.00 for 3.05 +0.06/0, so a gap of 25 to 55 µm
    rod = ek.Round(3.0)
    narrow = plan(flat(), setup(), [Stage("rough", section=rod)], tolerance=Tolerance(0.0, 0.06))
    assert 25 <= narrow.passes[0].burn.gap_side_um.likely <= 55
    assert not any("drawing's size" in said for said in narrow.warnings())
    # 2.98 wants 35 to 36 µm, a smaller gap than the fastest setting gives
    tight = plan(flat(), setup(), [Stage("rough", section=ek.Round(2.98))],
                 tolerance=Tolerance(0.0, 0.002))  # fmt: skip
    free = plan(flat(), setup(), [Stage("rough")])
    assert 35 <= tight.passes[0].burn.gap_side_um.likely <= 36
    assert free.passes[0].burn.removal_rate_mm3_per_min.likely >= (
        tight.passes[0].burn.removal_rate_mm3_per_min.likely
    )


def test_a_rod_that_no_setting_brings_to_size_is_planned_and_said():
    made = plan(flat(), setup(), [Stage("rough", section=ek.Round(2.5))],
                tolerance=Tolerance(0.0, 0.02))  # fmt: skip
    assert any("under the drawing's size" in said for said in made.warnings())
    shop = ek.Shop.from_constants(setup(), gap_side=1.0, relative_wear=1.0)
    known = plan(flat(), setup(), [Stage("rough", section=ek.Round(2.5))], shop,
                 tolerance=Tolerance(0.0, 0.02))  # fmt: skip
    assert known.chance.size < 0.01


def test_an_insert_tube_burns_a_hole_and_its_insert_is_used_up():
    tube = ek.InsertTube(5.9, 2.0, 2.0, 2, 0.3, 15.0)
    made = planned(flat(ek.Round(6.0), 8.0), [Stage("rough", SETTINGS, section=tube)],
                   batch=Batch(parts=5))  # fmt: skip
    only = made.passes[0]
    assert only.end_wear_mm.likely > 0 and only.insert_used_mm == only.dressing.length_mm
    assert only.section_mm2 == pytest.approx(tube.area_mm2)
    assert only.readings[0].words == "diameter"


def test_the_kit_finds_a_setting_for_an_insert_tube():
    tube = ek.InsertTube(5.9, 2.0, 2.0, 2, 0.3, 15.0)
    made = plan(flat(ek.Round(6.0), 8.0), setup(), [Stage("rough", section=tube)],
                tolerance=Tolerance(0.02, 0.04))  # fmt: skip
    assert 40 <= made.passes[0].burn.gap_side_um.likely <= 70  # (6.00 - 5.90) / 2, by hand


def test_a_through_hole_has_no_floor_for_a_wall():
    made = planned(flat(through=True), part=Part("tube", 20.0, 10.0))
    assert made.wall is None and not any("wall" in said for said in made.warnings())


def test_the_part_is_looked_at():
    part = Part("pin along its axis", diameter_mm=10.0, length_mm=40.0)
    made = planned(part=part)
    assert_allclose(made.wall.wall_mm, 5 - 1.525)
    # what is sound: twice the re-location error and two recast layers less
    recast = made.passes[-1].burn.recast_um.high / 1000
    assert_allclose(made.wall.sound_mm, 5 - 1.525 - 2 * 0.01 - 2 * recast, rtol=1e-9)
    assert made.warming.low_K < made.warming.high_K
    two = planned(stages=(Stage("rough", SETTINGS), Stage("finish", ek.Settings(1, 5, 15))),
                  part=part)  # fmt: skip
    longest = max(two.passes, key=lambda p: p.minutes.likely)
    volts = setup().electrode.discharge_voltage
    alone = warming(volts * longest.burn.average_current_A.likely, longest.minutes.likely,
                    *lump(part, setup().work.density), setup().work,
                    longest.settings.burn_share)  # fmt: skip
    assert two.warming == alone
    gone = planned(part=Part("pin along its axis", diameter_mm=3.0, length_mm=40.0))
    assert any("wall is left" in said for said in gone.warnings())


def test_the_plan_of_a_machine_names_what_is_engraved():
    at = setup(machine=MACHINE)
    choice = fastest(at)
    made = plan(flat(), at, [Stage("rough", choice.settings)])
    assert made.passes[0].labels == choice.labels
    assert made.passes[0].labels["peak_current_A"] in [
        p.label for p in MACHINE.peak_current_A.positions
    ]


def test_a_faster_shop_only_changes_the_time():
    shop = ek.Shop.from_constants(setup(), removal_rate=2.0)
    slow, fast = planned(), planned(shop=shop)
    assert_allclose(slow.passes[0].minutes.likely / fast.passes[0].minutes.likely, 2.0)
    assert slow.passes[0].stop == fast.passes[0].stop


# --- refusals ---
@pytest.mark.parametrize(
    "make, said",
    [
        (lambda: planned(stages=()), "stages must be one pass or more"),
        (lambda: planned(stages=[Stage("pip", SETTINGS)]), "must begin with a pass that cuts"),
        (lambda: Stage("fine"), "kind must be one of"),
        (lambda: Stage("rough", bore_mm=-1), "bore_mm must be 0 to 100"),
        (lambda: Stage("rough", max_Ra_um=0), "max_Ra_um must be"),
        (lambda: planned(stages=[Stage("rough", SETTINGS, bore_mm=2.9)]), "bore.*leave a wall"),
        (lambda: planned(flat(ek.Round(0.12), 0.5)), "eat the electrode up|per_side_mm must be"),
        (
            lambda: planned(stages=[Stage("rough", SETTINGS, section=ek.Round(2.95)),
                                    Stage("finish", FINE, section=ek.Round(2.9))]),
            "finish pass cannot reach the wall.*larger electrode",
        ),
        (lambda: Tolerance(size_plus_mm=-0.1), "size_plus_mm must be 0 to 10 mm.*without its sign"),
        (lambda: Tolerance(0, 0), "size tolerance must be"),
        (lambda: plan(flat(), setup(), max_Ra_um=0.06), "max_Ra_um must be at least"),
        (lambda: plan(flat(), setup(), number="4"), "passes must be one of"),
        (lambda: planned(batch=Batch(usable_mm=0.1)), "usable_mm must be at least"),
        (
            lambda: planned(batch=Batch(corner_max_mm=0.01)),
            "corner_max_mm must be more than the side gap.*finer last pass",
        ),
    ],
)  # fmt: skip
def test_refusals(make, said):
    with pytest.raises(Refusal, match=said):
        make()
