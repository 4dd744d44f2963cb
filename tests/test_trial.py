"""A burn as it is written down, and what follows from its measured columns."""

import dataclasses
import math

import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit.trials.columns import BY_NAME, COLUMNS, MEASURED, NUMBERS, TEXTS
from edmkit.trials.derived import QUANTITIES, derive
from edmkit.trials.from_hole import named_size_mm, of_hole
from edmkit.trials.measured import KINDS, Measured

PLAIN = {
    "work": "52100",
    "electrode": "copper",
    "polarity": "electrode positive",
    "peak_current_A": 3.0,
    "on_time_us": 50.0,
    "off_time_us": 25.0,
}


def burned(**columns):
    """Return a burn with the columns that are needed, and more."""
    return ek.Trial(**{**PLAIN, **columns})


def figure(quantity, **columns):
    """Return one derived figure of a burn."""
    return derive(burned(**columns)).figures[quantity]


# --- how something was measured ---
def test_the_error_of_a_kind_is_its_own_plus_a_share():
    # assumptions of the kit: caliper 0.02 mm, stylus 5 %, memory 20 % and 0.02 mm
    assert Measured(3.0, "caliper").error == pytest.approx(0.02)
    assert Measured(4.0, "stylus").error == pytest.approx(0.2)
    assert Measured(1.0, "memory").error == pytest.approx(math.hypot(0.2, 0.02))


def test_two_ends_are_as_uncertain_as_anything_between_them():
    # standard deviation of the uniform law, width over root 12: any textbook
    pin = Measured(3.05, "pin go and no-go", 3.06)
    assert pin.middle == pytest.approx(3.055) and pin.error == pytest.approx(0.01 / math.sqrt(12))


def test_no_wear_to_be_seen_is_a_bound_and_not_zero():
    unseen = Measured(0.0, "no wear I can see")
    assert unseen.value == 0 and unseen.to > 0


@pytest.mark.parametrize(
    "made, match",
    [
        (lambda: Measured(3.0, "by eye"), "how must be one of"),
        (lambda: Measured(3.05, "pin go and no-go"), "gives two ends, got 3.05"),
        (lambda: Measured(3.0, "caliper", 3.1), "gives one value, got 3 to 3.1"),
        (lambda: Measured(3.06, "pin go and no-go", 3.05), "swap them"),
        (lambda: Measured("3,05", "caliper"), r"write 3\.05, with a point"),
        (lambda: Measured(float("nan"), "caliper"), "value must be"),
    ],
)
def test_a_measurement_that_cannot_be_is_refused(made, match):
    with pytest.raises(ek.Refusal, match=match):
        made()


# --- the columns ---
def test_every_column_is_a_field_of_a_trial_and_says_its_unit():
    fields = {f.name for f in dataclasses.fields(ek.Trial)}
    assert {c.name for c in COLUMNS} <= fields
    assert fields - {c.name for c in COLUMNS} == {"id", "supersedes", "withdrawn", "machine_file"}
    assert len(BY_NAME) == len(COLUMNS) == len(NUMBERS) + len(TEXTS) + len(MEASURED)
    for column in COLUMNS:
        assert column.words and (column.low is None or column.unit or column.name == "lost_min")
        assert set(column.how) <= set(KINDS)


@pytest.mark.parametrize(
    "columns, match",
    [
        ({"peak_current_A": 600.0}, "peak_current_A must be 0.05 to 500 A, got 600 A"),
        ({"peak_current_A": "3,5"}, r"write 3\.5"),
        ({"on_time_us": [1.0, 2.0]}, "one number, got 2"),
        ({"minutes": 20.0}, "must say how it was measured, got 20.0"),
        ({"minutes": Measured(20, "caliper")}, "how minutes was measured must be one of"),
        ({"minutes": Measured(0.0, "watch")}, "minutes must be 0.01"),
        ({"polarity": "+"}, "polarity must be one of"),
        ({"state": "odd"}, "state must be one of"),
        ({"remark": "x" * 3000}, "at most 2000 letters"),
        ({"remark": 3}, "must be a text"),
        ({"remark": "a\0b"}, "must be a text"),
    ],
)
def test_a_column_outside_its_limits_is_refused(columns, match):
    with pytest.raises(ek.Refusal, match=match):
        burned(**columns)


def test_as_before_keeps_the_settings_and_nothing_that_was_measured():
    first = burned(part="pin 1", minutes=Measured(20, "watch"), remark="slow", pits="yes")
    again = first.as_before(part="pin 2", minutes=Measured(21, "watch"))
    assert (
        again.peak_current_A == 3.0 and again.part == "pin 2" and again.remark == again.pits == ""
    )
    assert again.id != first.id and again.minutes.value == 21 and again.depth_mm is None


def test_a_correction_supersedes_the_burn_it_corrects():
    first = burned(minutes=Measured(20, "watch"))
    better = first.corrected(minutes=Measured(21, "watch"))
    assert better.supersedes == first.id != better.id and better.peak_current_A == 3.0


def test_what_is_missing_is_named():
    assert ek.Trial().missing == tuple(PLAIN)
    with pytest.raises(ek.Refusal, match="work, electrode"):
        ek.Trial().setup()
    with pytest.raises(ek.Refusal, match="engaged_area_mm2 is missing"):
        burned().setup()


# --- what follows ---
def test_the_rate_is_the_work_over_the_minutes_of_burning():
    # job.md's form of the sum: 34.4 mm³ in 20.9 min on the clock, 4 s burning and 1 s up: 2.06
    lifted = {"lift_burn_s": 4.0, "lift_up_s": 1.0}
    found = figure("removal_rate", volume_mm3=34.4, minutes=Measured(20.9, "watch"), **lifted)
    assert found.value == pytest.approx(2.06, abs=0.005)
    assert found.variance == pytest.approx(0.02**2)  # the watch


def test_the_work_follows_from_area_and_depth_where_it_is_not_given():
    depth = Measured(5.0, "dial")
    found = figure("removal_rate", section_mm2=7.0, depth_mm=depth, minutes=Measured(10, "watch"))
    assert found.value == pytest.approx(3.5)
    # depth 0.01 in 5, area as that of the electrode 5 % (assumption), watch 2 %
    assert found.variance == pytest.approx(0.002**2 + 0.05**2 + 0.02**2)


def test_the_side_gap_is_half_the_difference_of_the_sizes_less_the_orbit():
    # exercise: electrode 3.05, test hole 3.18: 0.065 per side
    sizes = {"electrode_size_mm": Measured(3.05, "micrometer"),
             "hole_size_mm": Measured(3.18, "micrometer")}  # fmt: skip
    assert figure("gap_side", **sizes).value == pytest.approx(65.0)
    assert figure("gap_side", orbit_mm=0.02, **sizes).value == pytest.approx(45.0)
    # two micrometers of 3 µm each, halved: 2.1 µm in 65
    assert figure("gap_side", **sizes).variance == pytest.approx(
        (0.0015 * math.sqrt(2) / 0.065) ** 2
    )


def test_a_gap_that_a_caliper_cannot_tell_becomes_an_interval():
    sizes = {"electrode_size_mm": Measured(3.00, "caliper"),
             "hole_size_mm": Measured(3.05, "caliper")}  # fmt: skip
    found = figure("gap_side", **sizes)
    error = 1000 * 0.02 * math.sqrt(2) / 2
    assert found.is_interval
    assert_allclose((found.low, found.high), (25 - 1.645 * error, 25 + 1.645 * error), rtol=1e-3)


def test_a_pin_gives_the_gap_two_ends():
    sizes = {"electrode_size_mm": Measured(3.00, "micrometer"),
             "hole_size_mm": Measured(3.05, "pin go and no-go", 3.06)}  # fmt: skip
    found = figure("gap_side", **sizes)
    spare = 1.645 * 1000 * 0.003 / 2  # the electrode's own error, nine in ten
    assert (found.low, found.high) == pytest.approx((25 - spare, 30 + spare))


def test_wear_is_by_volume():
    # exercise: Ø4.0 electrode, hole Ø4.1 x 8, wear 12 %: end loss 1.0086
    columns = {"section_mm2": math.pi * 4, "volume_mm3": math.pi * 4.1**2 / 4 * 8}
    worn = figure("relative_wear", end_wear_mm=Measured(1.0086, "micrometer"), **columns)
    assert worn.value == pytest.approx(12.0, abs=0.001)
    assert worn.variance == pytest.approx((0.003 / 1.0086) ** 2)
    lengths = {"length_before_mm": Measured(46.0, "micrometer"),
               "length_after_mm": Measured(46.0 - 1.0086, "micrometer")}  # fmt: skip
    assert figure("relative_wear", **lengths, **columns).value == pytest.approx(12.0, abs=0.001)


def test_wear_that_cannot_be_seen_is_a_bound():
    worn = figure("relative_wear", end_wear_mm=Measured(0, "no wear I can see"), section_mm2=10,
                  volume_mm3=20.0)  # fmt: skip
    assert (worn.low, worn.high) == (0, pytest.approx(1.0))  # 0.02 mm x 10 / 20
    assert worn.log_ends == (-math.inf, pytest.approx(0.0))


def test_the_front_gap_is_what_depth_and_wear_leave_of_the_stop():
    # exercise: end loss 1.0086, stop 8.9586, depth 8, front gap 0.05
    columns = {"face": "Flat", "touch": "contact, in place", "stop_mm": 8.9586,
               "depth_mm": Measured(8.0, "micrometer"),
               "end_wear_mm": Measured(1.0086, "micrometer")}  # fmt: skip
    assert figure("gap_front", **columns).value == pytest.approx(50.0, abs=1e-6)
    assert "gap_front" in derive(burned(**{**columns, "face": "Ball"})).missing


def test_a_plate_and_a_stylus_give_the_roughness():
    seen = figure("roughness_Ra", roughness_Ra_um=Measured(2.0, "comparator plate", 2.8))
    assert (seen.low, seen.high) == (2.0, 2.8)
    assert figure("roughness_Ra", roughness_Rz_um=Measured(11.0, "stylus")).value == 2.0  # 5.5


@pytest.mark.parametrize(
    "columns, quantity, why",
    [
        ({"volume_mm3": 20.0}, "removal_rate", "minutes is not filled in"),
        ({"minutes": Measured(20, "watch")}, "removal_rate", "work removed is not known"),
        ({"hole_size_mm": Measured(2.9, "micrometer"),
          "electrode_size_mm": Measured(3.0, "micrometer")}, "gap_side", "smaller than the elect"),
        ({"volume_mm3": 20.0, "section_mm2": 7.0, "length_before_mm": Measured(40, "micrometer"),
          "length_after_mm": Measured(41, "micrometer")}, "relative_wear", "longer after the burn"),
    ],
)  # fmt: skip
def test_what_cannot_be_had_says_why(columns, quantity, why):
    derived = derive(burned(**columns))
    assert quantity not in derived.figures and why in derived.missing[quantity]


def test_figures_and_what_is_missing_are_all_the_quantities():
    for columns in ({}, {"volume_mm3": 20.0, "minutes": Measured(20, "watch")}):
        derived = derive(burned(**columns))
        assert {*derived.figures, *derived.missing} == set(QUANTITIES)


# --- from a page ---
def hole(depth=5.0, bore=0.0, face=None):
    """Return a round hole of 3.05 mm as a page has it."""
    from edmkit.planning.hole import sink

    setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 7.0)  # fmt: skip
    face = face or ek.Flat()
    return sink(ek.Round(3.05), face, depth, setup, ek.Settings(3, 50, 25), bore_mm=bore)


def test_a_hole_on_a_page_is_a_burn_filled_in():
    planned = of_hole(hole(), "current 3")
    trial = planned.measured(minutes=Measured(20, "watch"))
    assert (trial.work, trial.electrode, trial.peak_current_A) == ("52100", "copper", 3.0)
    assert trial.depth_mm == Measured(5.0, "as planned") and trial.dialled == "current 3"
    assert trial.volume_mm3 == pytest.approx(math.pi * 3.05**2 / 4 * 5)
    assert trial.setup().engaged_area_mm2 == pytest.approx(hole().section_mm2)


def test_the_work_follows_the_measured_hole():
    trial = of_hole(hole()).measured(depth_mm=Measured(4.5, "dial"),
                                     hole_size_mm=Measured(3.15, "micrometer"),
                                     electrode_size_mm=Measured(2.9, "micrometer"))  # fmt: skip
    assert trial.volume_mm3 == pytest.approx(math.pi * 3.15**2 / 4 * 4.5)
    assert trial.section_mm2 == pytest.approx(math.pi * 2.9**2 / 4)


def test_a_bore_leaves_its_core_out_of_the_work():
    bored = hole(bore=1.0)
    trial = of_hole(bored).measured(depth_mm=Measured(6.0, "dial"))
    core = math.pi * (1.0 - 2 * float(bored.burn.gap_side_um.likely) / 1000) ** 2 / 4
    assert trial.volume_mm3 == pytest.approx((math.pi * 3.05**2 / 4 - core) * 6.0, rel=1e-6)


def test_a_bore_of_a_square_electrode_leaves_its_core_too():
    from edmkit.planning.hole import sink

    setup = ek.Setup(ek.work_material("52100"), ek.electrode_material("copper"),
                     ek.dielectric("edm_oil"), "electrode positive", 20.0)  # fmt: skip
    shape, settings_ = ek.Rectangle(6.0, 4.0), ek.Settings(3, 50, 25)
    bored = sink(shape, ek.Flat(), 5.0, setup, settings_, bore_mm=1.5)
    deeper = sink(shape, ek.Flat(), 6.0, setup, settings_, bore_mm=1.5)
    trial = of_hole(bored).measured(depth_mm=Measured(6.0, "dial"))
    assert trial.volume_mm3 == pytest.approx(deeper.volume_mm3, rel=0.01)


def test_sizes_are_those_a_shop_calls_a_shape_by():
    shapes = (ek.Round(3), ek.Tube(3, 1), ek.RegularPolygon(6, 4), ek.Rectangle(12, 3),
              ek.Keyway(5, 2.35, 16))  # fmt: skip
    assert [named_size_mm(shape) for shape in shapes] == [3, 3, 4, 12, 5]


def test_a_hole_that_is_no_deeper_than_a_scratch_is_refused():
    with pytest.raises(ek.Refusal, match="more than a scratch"):
        of_hole(hole(face=ek.Ball(6.0))).measured(depth_mm=Measured(0.05, "dial"))


@pytest.mark.parametrize("depth, bore", [(5.0, 0.0), (20.0, 0.0), (20.0, 1.0)])
def test_a_recorded_burn_is_predicted_as_the_page_predicted_it(depth, bore):
    planned = hole(depth, bore)
    trial = of_hole(planned).measured(minutes=Measured(20, "watch"))
    again = ek.predict(trial.setup(), trial.settings())
    for name in ("removal_rate_mm3_per_min", "roughness_Ra_um", "relative_wear_percent",
                 "gap_side_um", "gap_front_um", "recast_um"):  # fmt: skip
        assert getattr(again, name).likely == pytest.approx(getattr(planned.burn, name).likely)
