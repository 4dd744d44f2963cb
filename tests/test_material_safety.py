"""What a work material's chips, dust and sludge can do: the right words with the right metal."""

import re
from dataclasses import replace

import pytest

import edmkit as ek
from edmkit.cautions import contents
from edmkit.data import read_rows
from edmkit.planning.facts import SOURCES
from edmkit.planning.material_safety import material_cautions

WORKS = {key: ek.work_material(key) for key in ek.work_materials()}
# Symbol in a standard designation -> its metal; steels' designations name what counts in them.
SYMBOLS = {"Cr": "chromium", "Ni": "nickel", "Be": "beryllium", "Zn": "zinc", "Pb": "lead",
           "Ti": "titanium", "Al": "aluminium", "Co": "cobalt"}  # fmt: skip
# Alloyed in small parts that the sheets do not turn on: aluminium in titanium, titanium in 718.
MINOR = {"Ti64": {"aluminium"}, "alloy718": {"titanium"}, "1045": set()}


def own(family, name="My metal", key="own-mine", contains=None):
    """Return an own work material; ``contains`` is set as an attribute where it is given."""
    made = replace(WORKS["52100"], key=key, name=name, family=family)
    if contains is not None:
        object.__setattr__(made, "contains", contains)
    return made


def said(work):
    """Return all sentences about a work as one text."""
    return " ".join(fact.text for fact in material_cautions(work))


# --- contents ---
@pytest.mark.parametrize("key", WORKS)
def test_the_metals_are_those_of_the_standard_designation(key):
    # symbols in designations by EN 10027-1 and EN 1412, as materials.csv writes them
    designation = WORKS[key].designation.split(" / ")
    chemical = " ".join(part for part in designation if not re.match(r"(CW|EN-GJL|Cu-ETP)", part))
    found = {SYMBOLS[s] for s in re.findall(r"[A-Z][a-z]", chemical) if s in SYMBOLS}
    metals = set(contents(WORKS[key]))
    assert found - MINOR.get(key, set()) <= metals
    if found and key != "M2":
        assert metals <= found


def test_carbide_names_its_cobalt_and_high_speed_steel_its_chromium():
    # their designations are codes: ISO K classes hold cobalt, HS6-5-2 about 4 % chromium (memory)
    assert contents(WORKS["WC-6Co"]) == contents(WORKS["WC-10Co"]) == ("cobalt",)
    assert contents(WORKS["M2"]) == ("chromium",)
    assert contents(WORKS["1045"]) == contents(WORKS["GJL250"]) == contents(WORKS["copper"]) == ()


@pytest.mark.parametrize(
    "work, metals",
    [
        (own("magnesium alloy"), ("magnesium",)),
        (own("other", name="Magnesium AZ91"), ("magnesium",)),
        (own("other", contains=("Cobalt", "Nickel")), ("cobalt", "nickel")),
        (own("other", contains=()), ()),
        (own("bronze"), ("zinc",)),
        (own("cold-work tool steel", contains=("beryllium",)), ("beryllium", "chromium")),
        (own("other", contains=("tungsten",)), ()),
    ],
)
def test_an_own_material_tells_by_family_name_and_contents(work, metals):
    assert contents(work) == metals


def test_the_short_caution_at_every_setting_takes_own_materials_too():
    setup = ek.Setup(
        own("cold-work tool steel", key="52100", contains=("cobalt",)),
        ek.electrode_material("copper"), ek.dielectric("edm_oil"), "electrode positive", 50.0,
    )  # fmt: skip
    burn = ek.predict(setup, ek.Settings(3, 50, 25))
    assert burn.flags["toxic_work"]
    assert any("sludge contain cobalt" in sentence for sentence in burn.warnings)
    plain = ek.predict(replace(setup, work=WORKS["52100"]), ek.Settings(3, 50, 25))
    assert not plain.flags["toxic_work"]


@pytest.mark.parametrize("key", WORKS)
def test_beryllium_and_cobalt_alone_are_said_at_every_setting(key):
    # safety data, from memory
    setup = ek.Setup(WORKS[key], ek.electrode_material("graphite"), ek.dielectric("edm_oil"),
                     "electrode positive", 50.0)  # fmt: skip
    flagged = ek.predict(setup, ek.Settings(10, 50, 25)).flags["toxic_work"]
    assert bool(flagged) is (key in ("BeCu", "WC-6Co", "WC-10Co"))


# --- material_cautions ---
@pytest.mark.parametrize("key", WORKS)
def test_every_work_has_sentences_with_their_standing_and_defers_in_the_last(key):
    found = material_cautions(WORKS[key])
    assert len(found) >= 2 and len(set(found)) == len(found)
    for fact in found:
        assert fact.source in SOURCES
        assert fact.text[0].isupper() and fact.text.endswith(".") and len(fact.text) < 160
    assert "safety data sheets" in found[-1].text and "local codes" in found[-1].text
    assert "hazardous waste" in found[-2].text
    assert not any("not written down" in fact.text for fact in found)


# Words that must be there, and words that would be wrong; safety data, from memory.
WORDS = {
    "Ti64": (("burn", "water", "class D", "dry sand", "wet", "small amounts", "safety sheet"),
             ("cobalt", "nickel", "hydrogen")),
    "BeCu": (("Beryllium", "chronic lung disease", "extraction"), ("class D", "fever")),
    "WC-6Co": (("Cobalt", "gloves"), ("Nickel", "class D")),
    "WC-10Co": (("Cobalt", "gloves"), ("Nickel", "class D")),
    "alloy718": (("Nickel", "Chromium", "gloves"), ("Cobalt", "class D")),
    "304": (("Nickel", "Chromium", "gloves"), ("Cobalt", "class D")),
    "17-4PH": (("Nickel", "Chromium"), ("Cobalt",)),
    "D2": (("Chromium", "gloves"), ("Nickel", "Cobalt")),
    "52100": (("Chromium",), ("Nickel", "Cobalt")),
    "M2": (("Chromium",), ("Cobalt",)),
    "1045": ((), ("Chromium", "Nickel", "Cobalt", "class D")),
    "brass": (("Zinc", "fever", "lead"), ("Beryllium", "class D")),
    "copper": ((), ("Zinc", "Beryllium", "lead")),
    "6061": (("hydrogen", "water", "dust burns"), ("class D", "Zinc")),
    "GJL250": (("graphite",), ("Chromium",)),
}  # fmt: skip


@pytest.mark.parametrize("key", WORDS)
def test_the_words_that_must_be_there_and_those_that_must_not(key):
    text = said(WORKS[key])
    assert [word for word in WORDS[key][0] if word not in text] == []
    assert [word for word in WORDS[key][1] if word in text] == []


@pytest.mark.parametrize("key", WORKS)
def test_nothing_is_claimed_of_hexavalent_chromium_and_nothing_is_called_safe(key):
    assert not re.search(r"hexavalent|harmless|is safe|no danger", said(WORKS[key]))


def test_worst_first():
    # fire before lung, lung before skin, skin before waste
    work = own("titanium alloy", contains=("chromium", "cobalt", "beryllium"))
    order = [said(work).index(w) for w in ("burn", "Beryllium", "Cobalt", "Chromium", "Sludge and")]
    assert order == sorted(order)


def test_magnesium_burns_like_titanium():
    for work in (own("magnesium alloy"), own("other", contains=("magnesium",))):
        assert "Magnesium chips" in said(work) and "class D" in said(work)


def test_an_own_material_that_does_not_say_what_it_holds_is_told_so():
    assert "not written down" in said(own("other"))
    assert "not written down" in said(own("other", contains=()))
    assert "not written down" not in said(own("other", contains=("nickel",)))
    assert material_cautions(own("nothing known"))


def test_no_work_of_the_kit_is_left_out_here():
    keys = {r["key"] for r in read_rows("materials.csv") if "work" in r["role"].split(";")}
    assert set(WORDS) | {"O1", "H13", "P20", "4140"} == keys
