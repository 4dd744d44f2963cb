"""The controls of page 03 without a browser, the jobs they make, and the invented demo jobs.

The sizes of the demo jobs are invented; what is computed from them here was worked by hand.
"""

import json
from dataclasses import fields, replace
from math import sqrt
from pathlib import Path

import pytest
from scipy.stats import norm

import edmkit as ek
from edmkit.panels import plan_demos, plan_job
from edmkit.panels.controls import Number
from edmkit.panels.machines import switches
from edmkit.panels.plan_controls import PassGroup
from edmkit.panels.plan_demos import DEMOS
from edmkit.panels.plan_group import Group
from edmkit.panels.plan_inputs import PlanInputs
from edmkit.panels.plan_job import KEYWAY, PlanJob
from edmkit.panels.which_settings import WhichSettings
from edmkit.planning.gate import Gate
from edmkit.planning.stages import FINISH, PIP, ROUGH, SQUARE, Stage
from edmkit.words import Display

SWITCHES = switches(None)
SD = norm.ppf(0.95)  # a plus-minus figure that holds nine times in ten, in standard deviations
OLD = ek.read_machine(Path(__file__).parents[1] / "data_demo" / "old_manual_sinker.toml")
TODAY, TOMORROW = "2031-05-06", "2031-05-07"


@pytest.fixture(autouse=True)
def day(monkeypatch):
    """Return a function that sets the date of the pages."""

    def set_to(text):
        monkeypatch.setattr(plan_job, "today", lambda: text)
        monkeypatch.setattr("edmkit.panels.plan_gate.today", lambda: text)

    set_to(TODAY)
    return set_to


@pytest.fixture
def inputs():
    return PlanInputs(PlanJob(), SWITCHES)


def visible(group):
    return {name for name, c in group.controls.items() if c.layout.display != "none"}


# --- from plain values to what is planned ----------------------------------------------------
@pytest.mark.parametrize(
    "job, shape, face",
    [
        (PlanJob(size=3.05), ek.Round(3.05), ek.Flat()),
        (PlanJob(shape="Rectangle or slot", size=12, second=3, corner=0.2, face="Roller or pin",
                 face_diameter=40), ek.Rectangle(12, 3, 0.2), ek.Roller(40)),
        (PlanJob(shape="Regular polygon", sides=6, size=4.06, face="Ball or dome",
                 face_diameter=20), ek.RegularPolygon(6, 4.06), ek.Ball(20)),
        (PlanJob(size=3, face="Wall of a bore", face_diameter=30), ek.Round(3), ek.Bore(30)),
        (PlanJob(shape=KEYWAY, size=5, second=2.35, key_bore=16, corner=0.08,
                 face="Ball or dome"), ek.Keyway(5, 2.35, 16, 0.08), ek.Flat()),
    ],
)  # fmt: skip
def test_a_job_makes_its_feature(job, shape, face):
    feature = replace(job, depth=2.5).feature()
    assert (feature.shape, feature.face, feature.depth_mm) == (shape, face, 2.5)


def test_place_turn_and_datum_reach_a_curved_face():
    job = PlanJob(shape="Rectangle or slot", size=6, second=3, face="Ball or dome",
                  face_diameter=60, offset=4, turn=30, depth_from="hole centre")  # fmt: skip
    feature = job.feature()
    found = (feature.offset_mm, feature.turn_deg, feature.depth_from, feature.through)
    assert found == (4, 30, "hole centre", False)


def test_what_does_not_apply_is_left_out():
    flat = PlanJob(offset=4, turn=30, depth_from="hole centre", through=True).feature()
    assert (flat.offset_mm, flat.turn_deg, flat.depth_from, flat.through) == (0, 0, "crown", True)
    domed = PlanJob(face="Ball or dome", face_diameter=60, through=True, square_floor=True)
    assert domed.feature().through is False and domed.asked()["square"] is True
    assert PlanJob(through=True, square_floor=True).asked()["square"] is False
    assert PlanJob(part_kind="pin across", part_bore=3).part().bore_mm == 0
    assert PlanJob(part_kind="tube", part_bore=3).part().bore_mm == 3
    assert PlanJob().part() is None
    assert PlanJob(touch_kind="contact", feeler=0.1, datum_above=9).touch().feeler_mm == 0
    assert PlanJob(touch_place="in place", datum_above=9).touch().datum_above_crown_mm == 0


def test_what_was_cut_before_is_the_hole_less_what_is_left():
    # Invented keyway: 5.00 wide, top 2.35 over a bore of 16, shaped before to 4.90 and 2.30 with
    # corners of 0.5. What is left, worked by hand: 0.624 mm².
    before = DEMOS["Keyway corners in a gear bore"].job_.cut_before()
    assert (before.width, before.corner_radius) == (pytest.approx(4.9), 0.5)
    assert before.top == pytest.approx(2.3)
    feature = DEMOS["Keyway corners in a gear bore"].job_.feature()
    assert feature.shape.area_mm2 - before.area_mm2 == pytest.approx(0.624, abs=0.0006)
    round_ = PlanJob(size=10, already_cut_per_side=0.2, already_cut_corner=1)
    assert round_.cut_before() == ek.Round(9.6) and PlanJob().cut_before() is None


def test_plus_minus_figures_become_standard_deviations():
    job = PlanJob(touch_repeat=0.01, switch_repeat=0.02, relocate=0.03)
    assert job.touch().repeat_mm == pytest.approx(0.01 / SD, rel=1e-4)
    assert job.asked()["switch_repeat_mm"] == pytest.approx(0.02 / SD, rel=1e-4)
    assert job.batch().relocate_mm == pytest.approx(0.03 / SD, rel=1e-4)


def test_the_rest_is_handed_over_as_it_is():
    job = PlanJob(parts=24, holes=2, order="rough all, then finish all", touch_again=False,
                  load_min=1, drain_min=2, dress_min=3, usable=20, corner_per_wear=0.2,
                  corner_max=0.15, size_minus=0.01, size_plus=0.02, depth_minus=0.03,
                  depth_plus=0.04, touch_kind="feeler", feeler=0.06, touch_place="datum face",
                  datum_above=7)  # fmt: skip
    batch, tolerance, touch = job.batch(), job.tolerance(), job.touch()
    assert (batch.parts, batch.holes, batch.count, batch.touch_again) == (24, 2, 48, False)
    assert (batch.load_min, batch.drain_min, batch.dress_min, batch.usable_mm) == (1, 2, 3, 20)
    assert (batch.corner_per_wear, batch.corner_max_mm) == (0.2, 0.15)
    assert batch.order == "rough all, then finish all"
    assert (tolerance.size_minus_mm, tolerance.size_plus_mm) == (0.01, 0.02)
    assert (tolerance.depth_minus_mm, tolerance.depth_plus_mm) == (0.03, 0.04)
    assert (touch.kind, touch.feeler_mm) == ("feeler", 0.06)
    assert (touch.place, touch.datum_above_crown_mm) == ("datum face", 7)


@pytest.mark.parametrize(
    "name", ["shape", "face", "depth_from", "part_kind", "touch_kind", "touch_place", "cut",
             "passes", "order"])  # fmt: skip
def test_a_word_that_is_not_offered_is_refused(name):
    with pytest.raises(ek.Refusal, match=f"{name} must be one of .*, got 'nonsense'"):
        PlanJob(**{name: "nonsense"})


def test_every_word_offered_is_one_the_planning_knows():
    for kind in plan_job.TOUCHES:
        for place in plan_job.PLACES:
            touch = PlanJob(touch_kind=kind, touch_place=place).touch()
            assert (touch.kind, touch.place) == (kind, place)
    for datum in plan_job.DATUMS:
        job = PlanJob(face="Ball or dome", face_diameter=60, offset=4, depth_from=datum)
        assert job.feature().reach_mm() > 0
    for kind in plan_job.PARTS[1:]:
        assert PlanJob(part_kind=kind).part().kind == kind


# --- passes by hand --------------------------------------------------------------------------
PROPOSED = (Stage(ROUGH, bore_mm=1.2), Stage(FINISH, max_Ra_um=3.2), Stage(SQUARE))


def test_nothing_by_hand_leaves_the_kit_s_passes():
    job = PlanJob()
    assert not job.by_hand and job.stages(PROPOSED, SWITCHES) == PROPOSED


def test_a_rod_at_hand_and_an_orbit_go_to_the_last_pass_that_cuts_the_wall():
    job = PlanJob(rod=3.0, orbit=0.05)
    rough, finish, square = job.stages(PROPOSED, SWITCHES)
    assert job.by_hand and (rough, square) == (PROPOSED[0], PROPOSED[2])
    assert (finish.section, finish.orbit_mm, finish.max_Ra_um) == (ek.Round(3), 0.05, 3.2)
    assert job.asked()["number"] == "1" and PlanJob(rod=3, passes="2").asked()["number"] == "2"
    hexagon = PlanJob(shape="Regular polygon", size=4.06, rod=4.0)
    assert hexagon.stages(PROPOSED, SWITCHES)[1].section == ek.RegularPolygon(6, 4)
    slot = PlanJob(shape="Rectangle or slot", rod=3.0)  # its field is not in sight
    assert not slot.by_hand and slot.asked()["number"] == "the kit decides"


def test_a_pip_pass_stands_before_the_squaring_one():
    job = PlanJob(bore=1.2, pip_pass=True, max_Ra_um=2.0)
    made = job.stages(PROPOSED, SWITCHES)
    assert [s.kind for s in made] == [ROUGH, FINISH, PIP, SQUARE] and made[2].max_Ra_um == 2
    assert not PlanJob(bore=0, pip_pass=True).by_hand
    assert not PlanJob(bore=1.2, pip_pass=True, through=True).by_hand


def test_positions_set_by_hand_become_settings():
    hand = ({"peak_current_A": 0, "on_time_us": 1, "off_time_us": 2, "open_voltage_V": 3},)
    job = PlanJob(hand=hand, lift_burn_s=4, lift_up_s=1)
    rough, finish, _ = job.stages(PROPOSED, SWITCHES)
    set_ = rough.settings
    assert finish == PROPOSED[1] and job.by_hand
    for name, place in hand[0].items():
        assert getattr(set_, name) == SWITCHES[name].choices[place].value
    assert (set_.lift_burn_s, set_.lift_up_s) == (4, 1)


# --- remembering -----------------------------------------------------------------------------
ANSWERED = {
    "gate_day": TODAY, "level_over_spark": 50.0, "attended": True, "gas_leaves_part": True,
    "current_off_before_lowering": True, "earth_checked": True,
}  # fmt: skip


def remembered(job, machine=None):
    kept = json.loads(json.dumps(job.kept(switches(machine))))
    return PlanJob.from_kept(kept, switches(machine))


def test_a_job_comes_back_as_it_was():
    hand = ({"peak_current_A": 2, "on_time_us": 3}, None, {"peak_current_A": 0})
    job = PlanJob(size=4, rod=3.9, hand=hand, positions={"open_voltage_V": 1}, **ANSWERED)
    assert remembered(job) == job
    assert PlanJob.from_kept({"nonsense": 1, "size": 7.0}, SWITCHES).size == 7
    for demo in DEMOS.values():
        assert remembered(demo.job(SWITCHES)) == demo.job(SWITCHES)


def test_positions_are_kept_by_what_is_engraved():
    old = switches(OLD)
    kept = PlanJob(hand=({"peak_current_A": 3},)).kept(old)
    assert kept["hand"] == [{"peak_current_A": old["peak_current_A"].choices[3].label}]
    with pytest.raises(ek.Refusal, match="peak_current_A must be one of"):
        PlanJob.from_kept({"hand": [{"peak_current_A": "no such label"}]}, old)


def test_the_answers_of_another_day_are_dropped(day):
    job = PlanJob(size=4, **ANSWERED)
    assert remembered(job).gate().open()
    day(TOMORROW)
    back = remembered(job)
    assert back == PlanJob(size=4) and not back.gate().open()


# --- the demo jobs ---------------------------------------------------------------------------
def test_the_demo_jobs_say_that_they_are_invented():
    assert plan_demos.__doc__.splitlines()[0].startswith("Invented")
    assert len(DEMOS) == 3 and all(demo.job_.name.endswith("(invented)") for demo in DEMOS.values())


def test_the_trap_of_the_domed_roller():
    # Sag of a dome of radius 30 at 4.00 from its middle, less that at the rod's inner edge, 2.50.
    by_hand = (30 - sqrt(30**2 - 4**2)) - (30 - sqrt(30**2 - 2.5**2))
    demo = DEMOS["Locating holes in domed rollers"]
    assert f"{by_hand:.3f}" == "0.164" and f"{by_hand:.3f} mm too shallow" in demo.lesson
    feature = demo.job(SWITCHES).feature()
    sag = feature.sag_mm("hole centre") - feature.sag_mm("first touch", ek.Round(3.0))
    assert sag == pytest.approx(by_hand, abs=1e-6)


@pytest.mark.parametrize("name", DEMOS)
@pytest.mark.parametrize("machine", [None, OLD], ids=["any", "old"])
def test_each_demo_stands_on_the_controls_of_each_machine(inputs, name, machine):
    found = switches(machine)
    inputs.for_machine(machine, found)
    job = DEMOS[name].job(found)
    inputs.take(job)
    standing = replace(inputs.job, polarity=None, gate_day="")
    assert standing == job and not inputs.wrong
    factors = DEMOS[name].factors
    shop = ek.Shop.from_constants(job.setup(machine), spread=DEMOS[name].spread, **factors)
    assert all(shop.knows(quantity, job.setup(machine)) for quantity in factors)
    hand = [[found[n].values[i] for n, i in places.items()] for places in job.hand or ()]
    for dialled, wish in zip(hand, DEMOS[name].wishes, strict=True):
        assert dialled[0] == pytest.approx(wish["peak_current_A"], rel=0.35)


# --- a length as it is typed -----------------------------------------------------------------
def test_a_unit_typed_after_the_number_counts():
    heard, depth = [], Number("Depth", "Depth", 5.0, 0.001, 1000, "mm")
    depth.on_change(lambda: heard.append(depth.value))
    depth.type("0.1200 in")
    assert (depth.value, depth.wrong, depth._text.value) == (3.048, False, "3.048")
    assert heard == [3.048]  # once, although the field shows it anew
    depth.type("3,05")
    assert depth.wrong and depth.value == 3.048 and depth._text.value == "3,05"
    assert "Depth must be 0.001 to 1000 mm, got &#x27;3,05&#x27;: write 3.05" in depth.complaint
    depth.type("50 in")
    assert "got 1270 mm" in depth.complaint
    depth.type("")
    assert depth.wrong
    depth.type("2")
    assert (depth.value, depth.complaint) == (2, "")


def test_a_field_that_shows_inches_reads_fractions_and_shows_its_limits_without_complaint():
    size = Number("Size", "Size", 0.05, 0.05, 1000, "mm")
    size.show_as(0.05 / 25.4, "in", 0.05 / 25.4, 1000 / 25.4)
    assert (size.wrong, size.value * 25.4) == (False, pytest.approx(0.05, rel=1e-15))
    size.show_as(0.0005 / 25.4, "in", 0, 1)
    assert "e" not in size._text.value and not size.wrong
    size.type("3 1/2")
    assert size.wrong  # an inch and more is out of its limits now
    size.type("1/8")
    assert (size.value, size._text.value) == (0.125, "0.125")
    size.type("3.175 mm")
    assert size.value == pytest.approx(0.125, rel=1e-15)


def test_page_02_reads_them_too(tmp_path):
    page = WhichSettings(memory=None, folder=tmp_path)
    page.hole_controls.lengths["depth"].type("1/8 in")
    assert page.job.depth == 3.175 and page.message == ""


def test_a_number_without_length_keeps_its_own_rules():
    minutes = Number("It took", "minutes", 20.0, 0.05, 10_000, "minutes")
    minutes.type("3 in")
    assert minutes.wrong and minutes.value == 20
    minutes.type("1e2")
    assert minutes.value == 100


# --- the groups ------------------------------------------------------------------------------
ALWAYS = {"shape", "size", "size_plus", "size_minus", "depth", "depth_plus", "depth_minus",
          "corner_max", "face", "through", "already_cut_per_side", "part_kind"}  # fmt: skip
CURVED = (ALWAYS - {"through"}) | {"face_diameter", "offset"}


@pytest.mark.parametrize(
    "job, wanted",
    [
        (PlanJob(), ALWAYS),
        (PlanJob(through=True), ALWAYS - {"depth_plus", "depth_minus"}),
        (PlanJob(face="Ball or dome"), CURVED),
        (PlanJob(face="Wall of a bore", through=True), CURVED),
        (PlanJob(shape="Regular polygon", face="Roller or pin"), CURVED | {"sides", "turn"}),
        (PlanJob(shape="Rectangle or slot"), ALWAYS | {"second", "corner"}),
        (PlanJob(shape="Rectangle or slot", already_cut_per_side=0.1),
         ALWAYS | {"second", "corner", "already_cut_corner"}),
        (PlanJob(shape=KEYWAY, face="Ball or dome"),
         (ALWAYS - {"face"}) | {"second", "corner", "key_bore"}),
        (PlanJob(part_kind="block"), ALWAYS | {"part_pitch"}),
        (PlanJob(part_kind="tube"),
         ALWAYS | {"part_pitch", "part_diameter", "part_length", "part_bore"}),
    ],
)  # fmt: skip
def test_only_what_applies_to_the_hole_is_shown(inputs, job, wanted):
    inputs.take(job)
    assert visible(inputs.hole) == wanted


@pytest.mark.parametrize(
    "group, job, wanted, unwanted",
    [
        ("depth", PlanJob(), {"touch_place"}, {"depth_from", "feeler", "datum_above"}),
        ("depth", PlanJob(face="Ball or dome"), {"depth_from"}, {"feeler"}),
        ("depth", PlanJob(touch_kind="feeler"), {"feeler"}, {"datum_above"}),
        ("depth", PlanJob(touch_place="datum face"), {"datum_above"}, {"feeler"}),
        ("passes", PlanJob(), {"rod", "square_floor"}, {"pip_pass", "lift_up_s"}),
        ("passes", PlanJob(bore=1, lift_burn_s=4, lift_up_s=1), {"pip_pass", "lift_up_s"}, set()),
        ("passes", PlanJob(bore=1, through=True), set(), {"pip_pass", "square_floor"}),
        ("passes", PlanJob(shape="Rectangle or slot"), {"orbit"}, {"rod"}),
        ("batch", PlanJob(), {"parts", "holes"}, {"order", "relocate", "touch_again"}),
        ("batch", PlanJob(holes=2), {"touch_again"}, {"order", "relocate"}),
        ("batch", PlanJob(parts=2), {"touch_again", "order", "relocate"}, set()),
        ("gate", PlanJob(), {"float_stops"}, {"gas_leaves_electrode", "tank_area_cm2"}),
        ("gate", PlanJob(bore=1), {"gas_leaves_electrode"}, {"suction_returns"}),
        ("gate", PlanJob(attended=True, litres=80), {"tank_area_cm2"}, {"float_stops"}),
        ("gate", PlanJob(litres=80, suction_l_per_min=1), {"suction_returns"}, set()),
    ],
)
def test_only_what_applies_elsewhere_is_shown(inputs, group, job, wanted, unwanted):
    inputs.take(job)
    shown = visible(getattr(inputs, group))
    assert wanted <= shown and not unwanted & shown


GROUPS = ("hole", "depth", "passes", "batch", "gate")


@pytest.mark.parametrize("group", GROUPS)
def test_each_control_reaches_the_job_and_calls_back(inputs, group):
    heard = []
    inputs.on_change(lambda: heard.append(1))
    for name, control in getattr(inputs, group).controls.items():
        inputs.take(PlanJob(lift_burn_s=4.0, lift_up_s=1.0))
        before, count = getattr(inputs.job, name), len(heard)
        if isinstance(control, Number):
            low, high = control.limits
            control.type(f"{(before or 0) + min(1.5, (high - low) / 2, high - (before or 0)):g}")
        elif isinstance(before, bool):
            control.value = not before
        else:
            control.value = next(v for _, v in control._drop._options_full if v != before)
        assert getattr(inputs.job, name) != before, name
        assert len(heard) > count and not control.layout.display == "x", name


def test_every_field_of_a_job_has_its_control(inputs):
    standing = set().union(*(group.values for group in inputs._all))
    missing = {f.name for f in fields(PlanJob)} - standing
    assert missing == {"positions", "gap_front_um", "servo_voltage_V", "circuit"}


def test_the_words_follow_the_shape(inputs):
    labels = {name: inputs.hole.numbers[name] for name in ("size", "second", "depth")}
    inputs.take(PlanJob(shape=KEYWAY, through=True))
    assert [n.name for n in labels.values()] == ["Width", "Top over bore", "Thickness"]
    inputs.take(PlanJob(shape="Rectangle or slot"))
    assert [n.name for n in labels.values()] == ["Length", "Width", "Depth"]


def test_inches_and_back_leave_the_job_as_it_was(inputs):
    demo = DEMOS["Keyway corners in a gear bore"].job(SWITCHES)
    inputs.take(demo)
    before = inputs.job
    inputs.show_in(Display(inches=True))
    assert inputs.hole.numbers["size"].value == pytest.approx(5 / 25.4)
    assert inputs.passes.numbers["max_Ra_um"].value == pytest.approx(3.2 / 0.0254)  # µin
    assert (inputs.hole.numbers["turn"].unit, inputs.gate.numbers["litres"].unit) == ("°", "L")
    for name, value in vars(before).items():
        number = isinstance(value, float) and not isinstance(value, bool)
        same = pytest.approx(value, rel=1e-14) if number else value
        assert getattr(inputs.job, name) == same, name
    inputs.hole.numbers["depth"].type("3/4")
    assert inputs.job.depth == pytest.approx(19.05, rel=1e-15)
    inputs.take(demo)
    inputs.show_in(Display())
    assert inputs.hole.numbers["size"].unit == "mm"
    assert inputs.job.size == pytest.approx(5, rel=1e-15) and not inputs.wrong


def test_a_wrong_number_is_said_in_its_group_and_holds_the_job(inputs):
    inputs.hole.numbers["depth"].type("3,05")
    assert inputs.wrong and "write 3.05, with a point" in inputs.hole._complaints.value
    assert inputs.job.depth == 5
    inputs.hole.numbers["depth"].type("3.05")
    assert not inputs.wrong and inputs.hole._complaints.value == ""
    inputs.batch.numbers["parts"].type("<img src=x>")
    assert (
        "&lt;img" in inputs.batch._complaints.value and "<img" not in inputs.batch._complaints.value
    )


def test_a_wrong_number_that_goes_out_of_sight_holds_nothing_up(inputs):
    inputs.hole.picks["shape"].value = "Rectangle or slot"
    inputs.hole.numbers["corner"].type("abc")
    assert inputs.wrong
    inputs.hole.picks["shape"].value = "Round"
    assert not inputs.wrong and inputs.hole._complaints.value == ""
    inputs.hole.picks["shape"].value = "Rectangle or slot"
    assert inputs.hole.numbers["corner"]._text.value == "0"


def test_a_lift_needs_its_second_number_and_a_machine_that_lifts(inputs):
    inputs.passes.numbers["lift_burn_s"].type("4")
    assert (inputs.job.lift_burn_s, inputs.job.lift_up_s) == (4, 1)
    inputs.passes.numbers["lift_burn_s"].type("")
    assert (inputs.job.lift_burn_s, inputs.job.lift_up_s) == (None, None)
    inputs.passes.numbers["lift_burn_s"].type("4")
    inputs.for_machine(replace(OLD, lift=None), switches(OLD))
    assert inputs.job.lift_burn_s is None and "lift_burn_s" not in visible(inputs.passes)


def test_the_lift_keeps_to_the_times_of_the_machine():
    group = PassGroup(PlanJob(lift_burn_s=4, lift_up_s=1))
    group.for_machine(OLD)  # its timer burns 0.5 to 10 s
    group.numbers["lift_burn_s"].type("30")
    assert "Lift: burns must be 0.5 to 10 s" in group._complaints.value


def test_a_name_is_plain_text_of_one_line_s_length(inputs):
    inputs.hole.name.value = " <b>bold</b> " + "x" * 200
    assert inputs.job.name.startswith("<b>bold</b>") and len(inputs.job.name) == 60


# --- switches by hand ------------------------------------------------------------------------
def show(inputs, *amps):
    """Show a plan of passes with these currents, as the page does."""
    titles = [f"pass {i}" for i in range(len(amps))]
    inputs.hand.show(titles, [ek.Settings(a, 50, 50, 100) for a in amps])


def test_a_slider_moved_is_set_by_hand_and_can_be_given_back(inputs):
    currents = SWITCHES["peak_current_A"].values
    show(inputs, 6, 3)
    assert inputs.job.hand is None
    assert currents[inputs.hand.rows["peak_current_A"].value] == 6
    inputs.hand.which.index = 1
    inputs.hand.rows["peak_current_A"].step(1)
    first, second = inputs.job.hand
    assert first is None and currents[second["peak_current_A"]] == 4
    stages = inputs.job.stages(PROPOSED, SWITCHES)
    assert stages[0].settings is None and stages[1].settings.peak_current_A == 4
    inputs.hand.kit.click()
    assert inputs.job.hand is None


def test_another_machine_takes_the_positions_back(inputs):
    show(inputs, 6)
    inputs.hand.rows["peak_current_A"].step(1)
    inputs.for_machine(OLD, switches(OLD))
    assert inputs.job.hand is None
    choices = switches(OLD)["peak_current_A"].choices
    assert inputs.hand.rows["peak_current_A"].size == len(choices)


# --- before the first spark ------------------------------------------------------------------
def answer(inputs, level="50", attended=True):
    inputs.gate.numbers["level_over_spark"].type(level)
    inputs.gate.ticks["attended"].value = attended
    for name in ("gas_leaves_part", "current_off_before_lowering", "earth_checked"):
        inputs.gate.ticks[name].value = True


def shut(inputs):
    return inputs.job.gate().missing()


def test_nothing_is_answered_at_first(inputs):
    assert len(inputs.gate.missing) == 7 and shut(inputs) == inputs.gate.missing
    assert inputs.gate.missing[0] in inputs.gate._missing.value.replace("&#x27;", "'")
    assert "And 6 more before the card can be printed" in inputs.gate._missing.value


def test_every_answer_is_wanted(inputs):
    answer(inputs)
    assert not shut(inputs) and "the card can be printed" in inputs.gate._missing.value
    gate = inputs.job.gate()
    assert isinstance(gate, Gate) and (gate.day, gate.fluid) == (TODAY, "edm_oil")
    for name in ("gas_leaves_part", "current_off_before_lowering", "earth_checked"):
        inputs.gate.ticks[name].value = False
        assert len(shut(inputs)) == 1
        inputs.gate.ticks[name].value = True
    inputs.gate.numbers["level_over_spark"].type("39")
    assert "39 mm over the spark" in shut(inputs)[0]


def test_left_alone_it_needs_three_stops(inputs):
    answer(inputs, attended=False)
    assert len(shut(inputs)) == 3
    for name in ("float_stops", "thermostat_stops", "automatic_extinguisher"):
        inputs.gate.ticks[name].value = True
    assert not shut(inputs)


def lower_fluid(inputs):
    inputs.gate.numbers["level_over_spark"].type("45")


def leave_it_alone(inputs):
    inputs.gate.ticks["attended"].value = False


def other_fluid(inputs):
    inputs.setup.fluid.value = next(v for _, v in inputs.setup.fluid._drop._options_full
                                    if v != "edm_oil")  # fmt: skip


def other_job(inputs):
    inputs.hole.name.value = "another"


@pytest.mark.parametrize("change", [lower_fluid, leave_it_alone, other_fluid, other_job])
def test_it_is_asked_again_when_something_changes(inputs, change):
    answer(inputs)
    change(inputs)
    gate = inputs.job.gate()
    assert shut(inputs) and not gate.earth_checked and not gate.gas_leaves_part
    assert "Asked again" in inputs.gate._missing.value
    answer(inputs, level="45")
    assert not shut(inputs)


@pytest.mark.parametrize("complete", [True, False])
def test_it_is_asked_again_on_another_day_half_answered_too(inputs, day, complete):
    answer(inputs)
    if not complete:
        inputs.gate.ticks["earth_checked"].value = False
    day(TOMORROW)
    inputs.hole.numbers["depth"].type("4")  # any change on the page
    inputs.gate.ticks["earth_checked"].value = True
    gate = inputs.job.gate()
    assert gate.level_over_spark_mm is None and not gate.attended and not gate.gas_leaves_part
    answer(inputs)
    assert not shut(inputs) and inputs.job.gate().day == TOMORROW


def test_answers_of_yesterday_that_a_page_brings_are_taken_back(inputs, day):
    day(TOMORROW)
    inputs.take(PlanJob(**ANSWERED))
    assert len(shut(inputs)) == 7
    again = PlanInputs(PlanJob(**ANSWERED), SWITCHES)
    assert len(shut(again)) == 7


def test_the_order_of_answering_does_not_matter(inputs):
    for name in ("gas_leaves_part", "current_off_before_lowering", "earth_checked", "attended"):
        inputs.gate.ticks[name].value = True
    inputs.gate.numbers["level_over_spark"].type("50")
    assert not shut(inputs)


def test_a_change_that_does_not_matter_asks_nothing_again(inputs):
    answer(inputs, level="52.6")  # this number does not come back from inches to the last digit
    inputs.hole.numbers["depth"].type("4")
    inputs.show_in(Display(inches=True))
    inputs.hole.numbers["depth"].type("0.2")
    assert not shut(inputs)


def test_another_job_brings_its_own_answers(inputs):
    answer(inputs)
    inputs.take(DEMOS["Hex sockets in dowel pins"].job(SWITCHES))
    assert len(shut(inputs)) == 7 and "Asked again" not in inputs.gate._missing.value
    inputs.take(PlanJob(**ANSWERED))
    assert not shut(inputs)


def test_the_bath_is_handed_over_when_its_litres_are_given(inputs):
    assert inputs.job.gate().bath is None
    inputs.gate.numbers["litres"].type("80")
    inputs.gate.numbers["suction_l_per_min"].type("0.5")
    bath = inputs.job.gate().bath
    assert (bath.litres, bath.tank_area_cm2, bath.suction_l_per_min) == (80, 2000, 0.5)
    assert bath.returns is False


def test_groups_are_questions_and_share_their_pattern():
    kinds = Group.__subclasses__()
    assert len(kinds) == 5 and all(kind.QUESTION for kind in kinds)
    for kind in kinds:
        placed = [name for row in kind.ROWS for name in row]
        assert sorted(placed) == sorted({**kind.NUMBERS, **kind.PICKS}), kind
