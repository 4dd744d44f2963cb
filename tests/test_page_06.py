"""Page 06: two materials at the same positions, what carries over, the first trials, own metals."""

import random
import re
import warnings
from html import unescape

import numpy as np
import pytest

import edmkit as ek
from edmkit.own_folder import own_materials
from edmkit.panels import own_material_form
from edmkit.panels.a_new_material import ANewMaterial
from edmkit.panels.memory import Memory
from edmkit.panels.which_settings import WhichSettings
from edmkit.trials.book import TrialBook


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """Each test has a user's folder of its own."""
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def page():
    """Return the page as it stands before anything is recorded."""
    return ANewMaterial(memory=None, folder="notebooks")


def text(widget):
    """Return what a person reads of an HTML widget."""
    return unescape(re.sub("<[^>]+>", " ", widget.value))


# --- the answers ---
def test_both_materials_are_predicted_at_the_same_positions(page):
    assert page.message == ""
    known, new = page.known_hole.burn, page.hole.burn
    assert (known.setup.work.key, new.setup.work.key) == ("52100", "D2")
    assert known.settings == new.settings
    alone = ek.predict(new.setup, new.settings)
    assert f"{alone.roughness_Ra_um.likely:.3g} µm" in re.sub(" +", " ", text(page._answers))
    rows = {row.quantity: row for row in page.rows}
    assert rows["removal_rate"].ratio.spread < rows["removal_rate"].new.spread


def test_a_slider_moves_the_picture_in_place(page):
    figure, before = page.beside, np.array(page.beside.data[1].y)
    for name in ("peak_current_A", "on_time_us"):
        page.switch_controls.rows[name].step(2)
    assert page.beside is figure and not np.array_equal(before, page.beside.data[1].y)
    assert list(page.beside.layout.xaxis.ticktext) == ["minutes", "roughness", "wear", "side gap"]


def test_the_polarity_is_the_usual_one_of_each(page):
    page.new_pick.value = "Ti64"
    assert page.hole.burn.setup.polarity == "electrode negative"
    assert page.known_hole.burn.setup.polarity == "electrode positive"
    assert "electrode negative in Titanium" in text(page._setup_line)
    assert "no figure: burn a trial" in text(page._answers)
    assert list(page.beside.data[1].x)[2] > 2.5  # no mark above 'wear'


def test_the_page_says_how_they_differ_and_where_a_rule_fails(page):
    for word in ("melting point", "heat conductivity", "heat to melt", "diffusivity", "erosion"):
        assert word in text(page._properties)
    assert "four metals" not in text(page._properties)
    page.new_pick.value = "Ti64"
    assert "shops report it slow (from memory" in text(page._properties)
    page.new_pick.value = "6061"  # aluminium: Izwan et al. (2016)
    assert "four metals" in text(page._properties) and "miss it too" in text(page._properties)


@pytest.mark.parametrize(
    "metal, words",
    [("Ti64", "class D powder"), ("WC-6Co", "Cobalt"), ("BeCu", "lung"), ("brass", "Zinc")],
)  # safety data in general, from memory
def test_what_the_metal_can_do_is_said(page, metal, words):
    page.new_pick.value = metal
    assert words in text(page._cautions) and "safety data sheets" in text(page._cautions)


def test_electrodes_are_advised_with_their_source(page):
    assert "electrode positive" in text(page._electrodes)
    assert "from memory" in text(page._electrodes) and "The others" in text(page._electrodes)


def test_inches_change_the_units_and_not_the_hole(page):
    before = page.hole.volume_mm3
    page.units.value = True
    assert page.sizes["size"].unit == "in" and page.sizes["size"].value == pytest.approx(3 / 25.4)
    assert "µin" in text(page._answers) and "thou" in text(page._answers)
    assert page.hole.volume_mm3 == pytest.approx(before)


def test_a_wrong_number_is_said_beside_it_and_the_answers_wait(page):
    page.sizes["depth"].type("1,5")
    assert "write 1.5" in page.sizes["depth"].complaint
    assert "put right" in text(page._message) and "edm-waiting" in page._reply._dom_classes
    page.sizes["depth"].type("1.5")
    assert page.message == "" and "edm-waiting" not in page._reply._dom_classes


# --- the first trials ---
def test_three_to_five_trials_stand_in_order_with_minutes_and_a_button(page):
    assert 3 <= len(page._trial_rows.children) <= 5
    line, button = page._trial_rows.children[0].children
    assert "1. current" in text(line) and "min" in text(line) and "Gentle" in text(line)
    button.click()
    labels = re.search(r"current (\S+), on (\S+), off (\S+)", text(line)).groups()
    machine = page.machine
    for name, label in zip(("peak_current_A", "on_time_us", "off_time_us"), labels, strict=True):
        value = getattr(machine, name).position(label.split()[0]).value
        assert getattr(page.hole.burn.settings, name) == pytest.approx(value)


def test_too_few_minutes_are_said_and_the_rest_goes_on(page):
    page.most.type("0.6")
    assert "max_minutes must be at least" in text(page._trial_message)
    assert page._trial_rows.children == () and page.message == ""


def test_a_burn_in_the_new_metal_closes_the_band(tmp_path):
    book = TrialBook(tmp_path / "book.sqlite")
    page = ANewMaterial(Memory(tmp_path), "notebooks", book)
    assert "nothing carries over yet" in text(page._carried)
    before = page.known()
    page.record.selected_index = 0
    form = page.record.content
    form.fields["minutes"].first.type("20")
    form.save.click()
    assert len(book.trials()) == 1 and book.trials()[0].work == "D2"
    assert page.known() < 0.5 * before
    factors = list(page.closing.data[0].y)
    assert len(factors) == 2 and factors[1] < factors[0]
    assert "1 burn of this machine" in text(page._carried)
    again = ANewMaterial(Memory(tmp_path), "notebooks", book)
    assert again.known() == page.known()


def test_burns_in_the_known_metal_carry_over(tmp_path):
    book = TrialBook(tmp_path / "book.sqlite")
    page = ANewMaterial(Memory(tmp_path), "notebooks", book)
    page.new_pick.value = "52100"
    page.record.selected_index = 0
    page.record.content.fields["minutes"].first.type("60")
    page.record.content.save.click()
    page.new_pick.value = "D2"
    rate = {row.quantity: row for row in page.rows}["removal_rate"]
    assert rate.known.spread < rate.new.spread < rate.before.spread
    assert len(page.closing.data[0].y) == 1  # none in D2 yet
    assert "its own only a burn in it tells" in text(page._carried)


def test_the_machine_and_the_metals_are_remembered(tmp_path):
    page = ANewMaterial(Memory(tmp_path), "notebooks", None)
    page.new_pick.value = "WC-6Co"
    page.machine_pick.value = page.files[-1][1]
    again = ANewMaterial(Memory(tmp_path), "notebooks", None)
    assert again.new_pick.value == "WC-6Co" and again.path == page.files[-1][1]


# --- a metal of one's own ---
class Fake:
    """A build that a test moves on."""

    def __init__(self, material):
        self.material, self.done, self.finished = material, 0, False
        self.error, self.cancelled = "", False

    def cancel(self):
        self.finished = self.cancelled = True


@pytest.fixture
def form(page, monkeypatch):
    """Return the form, filled in from D2 and named, whose builds are fakes."""
    monkeypatch.setattr(own_material_form, "start_build", Fake)
    page.form.selected_index = 0
    made = page.form.content
    made.like.value = "D2"
    made.fill.click()
    made.texts["name"].value = "Old drill steel"
    return made


def test_an_own_metal_is_filled_in_saved_solved_and_offered_everywhere(page, form, home):
    assert form.fields["density_kg_m3"][0].value == pytest.approx(
        ek.work_material("D2").density, rel=1e-9
    )
    form.save.click()
    (mine,) = own_materials().values()
    assert mine.name == "Old drill steel" and mine.is_steel
    assert str(home) in text(form.said) and form.cancel.layout.display is None
    form.build.done = 7
    assert form.look() is False and "7 of 18" in text(form.progress)
    form.build.finished = True
    assert form.look() is True and "is ready" in text(form.progress)
    assert page.new_pick.value == mine.key
    assert mine.key in [v for _, v in page.known_pick._drop.options]
    other = WhichSettings(memory=None, folder="notebooks")
    assert mine.key in [v for _, v in other.setup_controls.work._drop.options]
    # no table was solved by the fake: a sentence, never a traceback
    assert "no table of craters" in page.message
    form.remove.click()
    assert own_materials() == {} and page.new_pick.value == "D2" and page.message == ""


def test_solving_that_is_stopped_or_fails_is_said(page, form):
    form.save.click()
    form.cancel.click()
    assert form.look() and "Stopped" in text(form.progress) and page.new_pick.value == "D2"
    assert own_materials() == {} and form.texts["name"].value == "Old drill steel"
    form.save.click()
    form.build.error, form.build.finished = "The disk is full.", True
    assert form.look() and "The disk is full" in text(form.progress)
    assert own_materials() == {}


def test_a_metal_that_was_there_before_outlives_a_stopped_solving(form):
    for _ in range(2):
        form.save.click()
        form.build.finished = True
        form.look()
    form.save.click()
    form.cancel.click()
    form.look()
    assert len(own_materials()) == 1 and "kept unsolved" in text(form.progress)


@pytest.mark.parametrize(
    "spoil, words",
    [
        (lambda f: setattr(f.texts["name"], "value", ""), "name"),
        (lambda f: setattr(f.texts["name"], "value", "D2"), "new one"),
        (lambda f: setattr(f.texts["source"], "value", " "), "source"),
        (lambda f: f.fields["density_kg_m3"][0].type(""), "Density must be given"),
        (lambda f: f.fields["density_kg_m3"][1].type(""), "lowest and highest"),
        (lambda f: f.fields["density_kg_m3"][0].type("7.75"), "put right"),
        (lambda f: f.fields["T_boil_C"][0].type("1300"), "T_boil_C"),
    ],
)
def test_what_cannot_be_a_metal_is_refused_in_a_sentence(form, spoil, words):
    spoil(form)
    form.save.click()
    assert words in text(form.said) and own_materials() == {}


def test_numbers_that_do_not_fit_are_doubted_and_kept(form):
    form.fields["density_kg_m3"][1].type("5000")
    form.fields["density_kg_m3"][0].type("6000")
    form.save.click()
    assert "is not a steel's" in text(form.said) and len(own_materials()) == 1


def test_a_hostile_name_is_refused_or_shown_as_text(form):
    form.texts["name"].value = "<img src=x onerror=alert(1)>"
    form.save.click()
    assert "<img" not in form.said.value and own_materials() == {}


# --- whatever is pressed ---
def test_random_moves_never_end_in_an_exception(page):
    draw = random.Random(6)
    rows = page.switch_controls.rows
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ek.RangeWarning)
        for _ in range(150):
            move = draw.randrange(6)
            if move == 0:
                pick = draw.choice([page.known_pick, page.new_pick, page.electrode,
                                    page.machine_pick])  # fmt: skip
                pick.value = draw.choice([v for _, v in pick._drop.options])
            elif move == 1:
                draw.choice(list(rows.values())).step(draw.choice((-3, -1, 1, 3)))
            elif move == 2:
                entry = draw.choice([*page.sizes.values(), page.most])
                entry.type(draw.choice(["0.3", "1", "5", "40", "x", "", "1e9", "-1"]))
            elif move == 3 and page._trial_rows.children:
                draw.choice(page._trial_rows.children).children[1].click()
            elif move == 4:
                page.units.value = draw.random() < 0.5
            else:
                page.switch_controls.lift_burn.step(draw.choice((-1, 1)))
