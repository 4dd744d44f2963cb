"""The burn watch: depth from the dial, rate and time left with their bands, a word when it slows.

The burns are simulated with numbers of their own, not with the formulas under test: a face's area
is written out again here. What a healthy burn scatters by (0.1 of the rate from reading to
reading, 0.01 mm of the dial) is an assumption that the watch shares.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.estimate import Estimate
from edmkit.flushing.burn_watch import planned_minutes, watch
from edmkit.flushing.course import Course, Reading, course_of
from edmkit.flushing.slowdown import BAR, SCATTERS, fit_rate, slowdown
from edmkit.flushing.track import track
from edmkit.planning.hole import sink
from edmkit.words import Display

ERROR = 0.01  # of the dial [mm]
AREA = math.pi * 3**2 / 4
LIFT = ek.Settings(3, 50, 25, lift_burn_s=4, lift_up_s=1)


def flat(depth=4.0, rate=1.0, spread=1.15, wear=0.0, gap=0.0, **rest):
    """Return the course of a plain round hole, all numbers given."""
    depths = (0.0, depth, 1.5 * depth)
    return Course(depths, tuple(AREA * d for d in depths), depth, AREA, Estimate(rate, spread),
                  Estimate(wear, 0.6 if wear else 0.0), Estimate(gap, 0.0), **rest)  # fmt: skip


def readings(dials, minutes):
    return tuple(Reading(float(m), float(d)) for m, d in zip(minutes, dials, strict=True))


def hole(face=None, settings=LIFT, **rest):
    at = ek.Setup(
        work=ek.work_material("52100"), electrode=ek.electrode_material("copper"),
        dielectric=ek.dielectric("edm_oil"), polarity="electrode positive", engaged_area_mm2=7.0,
    )  # fmt: skip
    return sink(ek.Round(3.05), face or ek.Flat(), 4.0, at, settings, **rest)


# --- the course -------------------------------------------------------------------------------
def test_the_stop_of_an_exercise():
    # exercise 7 of the job: electrode 4.0, hole 4.1 x 8, wear 12 %, front gap 0.05, contact zero:
    # end loss 1.0086, stop 8.9586
    depths = (0.0, 8.0, 12.0)
    volumes = tuple(math.pi * 4.1**2 / 4 * d for d in depths)
    section = math.pi * 4.0**2 / 4
    rate = Estimate(1.0, 0.1)
    course = Course(depths, volumes, 8.0, section, rate, Estimate(0.12, 0.5), Estimate(0.05, 0.4))
    assert_allclose(course.stop_mm, 8.9586, atol=5e-5)
    assert_allclose(course.depth_at(8.9586), 8.0, atol=5e-5)
    assert_allclose(watch(course, ()).track.stop_mm, 8.9586, atol=5e-5)


@pytest.mark.parametrize("face", [ek.Flat(), ek.Ball(12.0), ek.Roller(16.0)], ids=str)
def test_a_hole_s_course_holds_its_volume_and_time(face):
    made = hole(face)
    course = course_of(made)
    assert_allclose(course.volume_mm3, made.volume_mm3, rtol=1e-12)
    assert_allclose(planned_minutes(course, course.volume_mm3), made.minutes.likely, rtol=1e-12)
    assert_allclose(course.stop_mm, course.reach_mm + made.end_wear_mm.likely
                    - made.burn.gap_front_um.likely / 1000, rtol=1e-9)  # fmt: skip
    for depth in (0.2, 1.0, 3.0):
        assert_allclose(course.volume_at(depth), made.feature.removed_volume_mm3(depth), rtol=2e-3)
        assert_allclose(course.depth_at(course.travel_to(depth)), depth, rtol=1e-6)


def test_a_sphere_s_cap_by_hand():
    # V = pi t² (3R - t) / 3, elementary geometry
    course = course_of(hole(ek.Ball(12.0)))
    assert_allclose(course.volume_at(0.1), math.pi * 0.01 * (18 - 0.1) / 3, rtol=2e-3)


def test_a_bored_electrode_s_core_is_left_out_and_never_grows_back():
    for face in (ek.Flat(), ek.Ball(12.0)):
        at = hole(face).burn.setup
        made = sink(ek.RegularPolygon(6, 4.06), face, 3.0, at, LIFT, bore_mm=1.2)
        course = course_of(made)
        assert_allclose(course.volume_mm3, made.volume_mm3, rtol=1e-12)
        assert np.all(np.diff(course.volumes_mm3) > 0)


def test_a_wear_without_a_figure_is_left_out():
    made = hole()
    nothing = replace(made.burn, setup=replace(
        made.burn.setup, work=ek.work_material("6061"), electrode=ek.electrode_material("brass"),
    ))  # fmt: skip
    assert math.isnan(nothing.relative_wear_percent.likely)
    assert course_of(replace(made, burn=nothing)).wear.likely == 0


def test_a_course_comes_back_from_a_file():
    import json

    course = course_of(hole(ek.Ball(12.0)))
    assert Course.from_kept(json.loads(json.dumps(course.kept()))) == course


# --- the track --------------------------------------------------------------------------------
def test_depth_is_the_dial_less_the_worn_end_plus_the_gap():
    course = flat(wear=0.05, gap=0.03)
    went = track(course, readings([1.0, 2.0], [1, 2]))
    # depth + 0.05 depth - 0.03 = dial, a flat face
    assert_allclose(went.depths_mm[1:], (np.array([1.0, 2.0]) + 0.03) / 1.05, rtol=1e-9)


def test_an_error_of_the_dial_moves_two_steps_against_each_other():
    course = flat()
    went = track(course, readings([1.0, 2.0, 3.0], [1, 2, 3]), ERROR)
    one = (ERROR * AREA) ** 2
    expected = one * np.array([[2, -1, 0], [-1, 2, -1], [0, -1, 2]])
    assert_allclose(went.noise, expected, rtol=1e-9)
    # of a travel, one part in five is wear: so much less of the error is depth
    worn = track(flat(wear=0.25), readings([1.0, 2.0, 3.0], [1, 2, 3]), ERROR)
    assert_allclose(worn.noise, expected / 1.25**2, rtol=1e-9)


def test_a_new_touch_begins_anew_from_the_floor():
    course = flat(gap=0.02)
    first = (Reading(10.0, 1.0), Reading(25.0, 0.0, touched=True), Reading(30.0, 0.48))
    went = track(course, first)
    assert_allclose(went.depths_mm, [0, 1.02, 1.02 + 0.48 + 0.02], rtol=1e-9)
    assert_allclose(went.burned_min, [0, 10, 15])
    assert went.lost_min == 15
    assert_allclose(went.stop_mm, 4.0 - 1.02 - 0.02, rtol=1e-9)
    # the dial may as well go on from where it stood
    beside = (*first[:1], replace(first[1], dial_mm=7.0), replace(first[2], dial_mm=7.48))
    assert_allclose(track(course, beside).depths_mm, went.depths_mm, rtol=1e-9)


def test_a_dressed_end_begins_to_wear_anew():
    # 2 mm with one end and 2 mm with the next: wear takes as much off each
    course = flat(wear=0.1)
    went = track(course, (Reading(1, 2.2), Reading(2, 0, touched=True), Reading(3, 2.2)))
    assert_allclose(went.depths_mm, [0, 2, 4], rtol=1e-9)


def test_steps_per_lift_add_up_to_the_dial():
    # 0.06 mm over 10 lifts of 5 s: 12 lifts a minute, 0.072 mm a minute
    course = flat(burn_share=0.8, stroke_s=5.0)
    steps = [Reading(m, travel_mm=0.06, strokes=10) for m in (5.0, 10.0, 20.0)]
    went = track(course, steps)
    assert_allclose(went.depths_mm, [0, 0.36, 0.72, 1.44], rtol=1e-9)
    seen = watch(course, steps)
    assert_allclose(seen.rate.likely, 0.072 * AREA / 0.8, rtol=0.05)
    more = watch(course, [replace(s, travel_mm=0.6, strokes=100) for s in steps])
    assert more.rate.spread < seen.rate.spread  # ten times the lifts counted


# --- rate, progress, what is left -------------------------------------------------------------
def steady(course, rate, count=12):
    """Return readings of a burn that goes on at one rate, without any error."""
    depths = course.reach_mm * np.arange(1, count + 1) / (count + 1)
    minutes = course.volume_at(depths) / (rate * course.burn_share)
    return readings([course.travel_to(d) for d in depths], minutes)


def test_before_any_reading_it_says_what_the_plan_says():
    made = hole()
    seen = watch(course_of(made), ())
    assert seen.rate == course_of(made).rate
    assert_allclose(seen.minutes_left.likely, made.minutes.likely, rtol=1e-12)
    assert_allclose(seen.minutes_left.spread, made.minutes.spread, rtol=1e-3)
    assert seen.share_of_volume == seen.share_of_depth == seen.minutes_behind == 0


@pytest.mark.parametrize("face", [ek.Flat(), ek.Ball(12.0), ek.Roller(16.0)], ids=str)
def test_a_steady_burn_tells_its_rate_and_time_and_no_word(face):
    course = course_of(hole(face))
    rate = 0.4 * course.rate.likely
    every = steady(course, rate)
    spreads = []
    for count in range(1, len(every) + 1):
        seen = watch(course, every[:count])
        spreads.append(seen.rate.spread)
        assert seen.word() == "" and not seen.reached
    assert_allclose(seen.rate.likely, rate, rtol=0.03)
    left = (course.volume_mm3 - seen.volume_mm3) / (rate * course.burn_share)
    assert_allclose(seen.minutes_left.likely, left, rtol=0.03)
    assert np.all(np.diff(spreads) < 0) and spreads[-1] < 0.1 < course.rate.spread
    slow = seen.minutes - planned_minutes(course, seen.volume_mm3)
    assert seen.minutes_behind == slow > 0
    assert_allclose(seen.minutes_behind, 0.6 * seen.minutes, rtol=1e-6)


def test_a_ball_s_feed_falls_by_more_than_half_and_that_is_no_slowing():
    course = course_of(hole(ek.Ball(12.0)))
    depths = np.geomspace(0.03, 3.0, 12)
    minutes = course.volume_at(depths) / (course.rate.likely * course.burn_share)
    every = readings([course.travel_to(d) for d in depths], minutes)
    feed = np.diff([r.dial_mm for r in every]) / np.diff([r.minutes for r in every])
    assert feed[-1] < 0.5 * feed[0]
    assert all(watch(course, every[:n]).slowed_to is None for n in range(13))


def test_what_was_known_counts_for_more_the_surer_it_was():
    every = readings([0.5, 1.0], [10.0, 20.0])
    measured = 0.05 * AREA
    sure, unsure = (watch(flat(rate=1.0, spread=s), every).rate for s in (0.05, 1.15))
    assert abs(math.log(unsure.likely / measured)) < 0.01
    assert measured < sure.likely < 1.0 and sure.spread < 0.05 < unsure.spread
    # two figures of one thing, each weighed by its inverse square error: the usual mean
    both = watch(flat(rate=0.4, spread=unsure.spread), every).rate
    assert_allclose(both.likely, math.sqrt(0.4 * measured), rtol=0.01)
    assert_allclose(both.spread, unsure.spread / math.sqrt(2), rtol=0.05)


def test_the_bands_hold_the_truth_nine_times_in_ten():
    rng, count, inside = np.random.default_rng(5), 400, np.zeros(2)
    for _ in range(count):
        rate = math.exp(rng.normal(0, 0.5))
        steps = 0.3 * np.exp(rng.normal(0, 0.1, 13))
        dials = np.cumsum(steps) + rng.normal(0, ERROR, 13)
        minutes = 0.3 * AREA / rate * np.arange(1, 14)
        course = flat(depth=float(np.cumsum(steps)[-1]), spread=0.5)
        seen = watch(course, readings(dials[:6], minutes[:6]), ERROR)
        if seen.slowed_to is not None:
            inside += 1  # a false word is counted elsewhere
            continue
        left = minutes[-1] - minutes[5]
        inside += (seen.rate.low <= rate <= seen.rate.high,
                   seen.minutes_left.low <= left <= seen.minutes_left.high)  # fmt: skip
    share = inside / count
    assert np.all(share > 0.85) and np.all(share < 0.985), share


def test_wear_unlike_the_predicted_is_in_the_band():
    every = readings(np.arange(0.3, 3.1, 0.3), 3 * np.arange(1, 11))
    sure, unsure = (
        watch(replace(flat(wear=0.3), wear=Estimate(0.3, s)), every).rate for s in (0.0, 0.6)
    )
    # 0.3 / 1.3 of the travel is wear, known to a factor of e^0.6: 0.14 of the volume
    assert_allclose(math.sqrt(unsure.spread**2 - sure.spread**2), 0.6 * 0.3 / 1.3, rtol=0.15)


def test_the_depth_is_reached_and_passed():
    course = flat()
    seen = watch(course, readings([2.0, 4.0], [20, 40]))
    assert seen.reached and seen.minutes_left.likely == 0 and seen.share_of_volume == 1
    assert_allclose(watch(course, readings([2.0, 4.2], [20, 42])).past_mm, 0.2, rtol=1e-9)
    assert not watch(course, readings([2.0, 3.9], [20, 39])).reached


# --- a word when it slows ---------------------------------------------------------------------
def burned(step, rng, burns=1000, count=12, fall_at=None, inside=0.0, to=0.6):
    """Return steps, minutes and dial noise of burns on a flat face, a reading every ``step`` mm.

    After reading ``fall_at`` the rate is ``to`` times what it was; ``inside`` is the share of the
    next interval that still went well.
    """
    rate = np.ones(count)
    if fall_at is not None:
        rate[fall_at:] = to
        rate[fall_at] = inside + (1 - inside) * to
    depth = np.cumsum(step * rate * np.exp(rng.normal(0, 0.1, (burns, count))), 1)
    dial = depth + rng.normal(0, ERROR, depth.shape)
    start = rng.normal(0, ERROR, (burns, 1))
    steps = np.diff(np.concatenate([start, dial], 1), axis=1) * AREA
    shape = 2 * np.eye(count) - np.eye(count, k=1) - np.eye(count, k=-1)
    return steps, np.full(count, step * AREA), (ERROR * AREA) ** 2 * shape


def words(case, first, last):
    """Return in which of the burns a word is raised at one of the readings first to last."""
    steps, minutes, noise = case
    raised = [slowdown(steps[:, :n], minutes[:n], noise[:n, :n], 0.01).found
              for n in range(first, last + 1)]  # fmt: skip
    return np.any(raised, 0)


@pytest.mark.parametrize("step", [0.05, 0.1, 0.33])
def test_95_of_100_healthy_burns_raise_no_word(step):
    rng = np.random.default_rng(11)
    assert words(burned(step, rng), 2, 12).mean() <= 0.05


@pytest.mark.parametrize(
    ("step", "fall_at", "inside", "least"),
    [
        (0.33, 3, 0.0, 0.96), (0.33, 3, 0.5, 0.92), (0.33, 6, 0.5, 0.95), (0.33, 8, 0.0, 0.99),
        (0.2, 6, 0.0, 0.98), (0.15, 6, 0.0, 0.97), (0.1, 6, 0.0, 0.94),
        # a dial can't tell more: steps of 0.05 and 0.03 mm, each known to 0.014 mm
        (0.05, 6, 0.0, 0.70),
    ],
)  # fmt: skip
def test_a_fall_to_six_tenths_is_found_within_three_readings(step, fall_at, inside, least):
    case = burned(step, np.random.default_rng(12), fall_at=fall_at, inside=inside)
    assert words(case, fall_at + 1, fall_at + 3).mean() >= least


def whole_burn(course, rng, fall_at=99):
    """Return 12 readings as a person takes them: wear of its own, the dial to 0.01 mm."""
    rate = np.where(np.arange(12) < fall_at, 1.0, 0.6) * np.exp(rng.normal(0, 0.1, 12))
    minutes = np.sort(rng.uniform(0.6, 1.4, 12) + np.arange(12))
    every = np.diff(minutes, prepend=0.0)
    volumes = np.cumsum(rate * every) * course.volume_mm3 / 14
    depths = np.interp(volumes, course.volumes_mm3, course.depths_mm)
    worn = course.wear.likely * math.exp(rng.normal(0, 0.6)) * volumes / course.section_mm2
    dials = depths + worn - course.gap_mm.likely + rng.normal(0, 0.005, 12)
    return readings(np.maximum.accumulate(np.round(dials, 2)), minutes)


@pytest.mark.parametrize("face", [ek.Ball(12.0), ek.Roller(16.0)], ids=str)
def test_whole_burns_with_wear_and_rounded_dials(face):
    rng, course, raised, found, burns = np.random.default_rng(17), course_of(hole(face)), 0, 0, 60
    for _ in range(burns):
        every = whole_burn(course, rng)
        raised += any(watch(course, every[:n]).word() for n in range(2, 13))
        every = whole_burn(course, rng, fall_at=6)
        found += any(watch(course, every[:n]).word() for n in range(7, 10))
    assert raised <= 0.05 * burns and found >= 0.95 * burns


def test_a_deeper_fall_is_found_sooner_and_a_small_one_seldom():
    rng = np.random.default_rng(13)
    assert words(burned(0.33, rng, fall_at=6, to=0.3), 7, 7).mean() > 0.97
    assert words(burned(0.33, rng, fall_at=6, to=0.85), 7, 9).mean() < 0.2


def test_a_burn_that_is_uneven_throughout_is_given_room():
    # twice the scatter: about one burn in three is called slow, where a watch that takes 0.1 for
    # granted calls more than half of them so
    rng = np.random.default_rng(14)
    depth = np.cumsum(0.33 * np.exp(rng.normal(0, 0.2, (500, 12))), 1)
    _, minutes, noise = burned(0.33, rng, burns=1)
    steps = np.diff(np.concatenate([np.zeros((500, 1)), depth], 1), axis=1) * AREA
    assert words((steps, minutes, noise), 2, 12).mean() < 0.40


def test_a_rate_and_a_fall_by_hand():
    # no error of the dial, alike intervals: mean and variance of independent steps
    steps, minutes = np.array([1.0, 1.0, 1.0, 0.6, 0.6]), np.ones(5)
    fit = fit_rate(steps, minutes, np.zeros((5, 5)), 1e-6)
    assert_allclose(fit.rates, steps.mean())
    for (size, _), variance in zip(SCATTERS, fit.variances, strict=True):
        assert_allclose(variance, (size * steps.mean()) ** 2 / 5, rtol=1e-9)
    fall = slowdown(steps, minutes, np.zeros((5, 5)), 1e-6)
    assert fall.interval == 3 and fall.odds > BAR
    assert_allclose(fall.multiple, 0.6)


def test_the_order_of_magnitude_and_the_units_change_nothing():
    steps, minutes, noise = burned(0.33, np.random.default_rng(15), burns=20, fall_at=5)
    one = slowdown(steps, minutes, noise, 0.01)
    other = slowdown(steps * 50, minutes * 7, noise * 2500, 0.01)
    assert_allclose(other.odds, one.odds, rtol=1e-6)
    assert np.array_equal(other.interval, one.interval)
    alone = [slowdown(s, minutes, noise, 0.01).odds for s in steps]
    assert_allclose(one.odds, alone, rtol=1e-9)


@pytest.mark.parametrize("face", [ek.Flat(), ek.Ball(12.0)], ids=str)
def test_the_word_says_how_slow_since_when_and_what_to_check_first(face):
    course = course_of(hole(face))
    depths = course.reach_mm * np.arange(1, 13) / 13
    rate = course.rate.likely * np.where(np.arange(12) < 8, 1.0, 0.6)
    steps = np.diff(course.volume_at(depths), prepend=0.0)
    every = readings(
        [round(course.travel_to(d), 2) for d in depths], np.cumsum(steps / (0.8 * rate))
    )
    assert watch(course, every[:8]).word() == ""
    seen = watch(course, every[:11])
    assert_allclose(seen.slowed_at_mm, depths[7], atol=0.02)
    assert_allclose(seen.slowed_to, 0.6, rtol=0.05)
    assert_allclose(seen.rate.likely, 0.6 * course.rate.likely, rtol=0.1)  # the present rate
    said = seen.word()
    assert f"×0.6 since {depths[7]:.2f} mm deep. Check the flushing first" in said
    # the order of the trade, common practice, no source
    order = [
        "clean both faces",
        "free the flow",
        "off-time",
        "more flow",
        "oftener",
        "current",
        "servo",
        "on-time",
    ]
    assert [said.index(w) for w in order] == sorted(said.index(w) for w in order)
    assert " in deep" in seen.word(Display(inches=True))


def test_the_word_goes_when_the_burn_recovers():
    rates = np.array([1, 1, 1, 1, 0.5, 0.5] + [1.0] * 6)
    dials, minutes = np.cumsum(0.3 * rates), 0.3 * AREA * np.arange(1, 13)
    course = flat(depth=6.0)
    assert watch(course, readings(dials[:6], minutes[:6])).word()
    assert watch(course, readings(dials, minutes)).word() == ""


def test_a_long_burn_is_still_answered_at_once():
    rng = np.random.default_rng(16)
    dials = np.cumsum(0.05 * np.exp(rng.normal(0, 0.1, 200)))
    minutes = 0.05 * AREA * np.arange(1, 201)
    course = flat(depth=12.0)
    seen = watch(course, readings(dials, minutes))
    assert_allclose(seen.rate.likely, 1.0, rtol=0.05)


# --- refused ----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("every", "said"),
    [
        ([Reading(1, 0.5), Reading(2, 0.4)], "dial must be 0.5 mm or more.*got 0.4 mm.*new touch"),
        ([Reading(2, 0.5), Reading(1, 0.6)], "minutes must be more than 2.*got 1: check the clock"),
        ([Reading(2, 0.5), Reading(2, 0.6)], "minutes must be more than 2.*check the clock"),
        ([Reading(0, 0.5)], "minutes must be more than 0"),
        ([Reading(2, 0.5), Reading(1, 0.0, touched=True)], "check the clock"),
        ([Reading(1, 6.5)], "dial must be 6 mm or less.*got 6.5 mm: check the number"),
        ([Reading(1, travel_mm=0.1, strokes=10)], "needs the lift timer"),
    ],
)
def test_readings_that_can_t_be_are_refused_with_the_number(every, said):
    with pytest.raises(ek.Refusal, match=said):
        watch(flat(), every)


def test_a_flicker_of_the_dial_is_not_going_backwards():
    assert watch(flat(), readings([0.50, 0.49], [5, 6]), ERROR).depth_mm == pytest.approx(0.49)


def test_dial_and_steps_are_not_mixed():
    course = flat(stroke_s=5.0, burn_share=0.8)
    mixed = (Reading(1, 0.5), Reading(2, travel_mm=0.1, strokes=10))
    with pytest.raises(ek.Refusal, match="one kind, so far the dial"):
        watch(course, mixed)
    touched = (mixed[0], Reading(1.5, 0.0, touched=True), mixed[1])
    assert watch(course, touched).depth_mm > 0.5


@pytest.mark.parametrize("wrong", [
    {"minutes": -1, "dial_mm": 1}, {"minutes": math.nan, "dial_mm": 1}, {"minutes": 1},
    {"minutes": 1, "dial_mm": 2000}, {"minutes": 1, "dial_mm": "3,2"},
    {"minutes": 1, "dial_mm": 1, "travel_mm": 1, "strokes": 1},
    {"minutes": 1, "travel_mm": -0.1, "strokes": 1}, {"minutes": 1, "travel_mm": 1, "strokes": 0},
    {"minutes": 1, "travel_mm": 1}, {"minutes": 1, "travel_mm": 1, "touched": True, "strokes": 1},
], ids=str)  # fmt: skip
def test_a_wrong_reading_is_refused(wrong):
    with pytest.raises(ek.Refusal):
        Reading(**wrong)


@pytest.mark.parametrize("error", [0.0, -1.0, 5.0, math.nan])
def test_a_wrong_error_of_the_dial_is_refused(error):
    with pytest.raises(ek.Refusal, match="dial error"):
        watch(flat(), (), error)
