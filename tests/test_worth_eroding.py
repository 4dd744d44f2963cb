"""Whether it is a job for the eroder, and the cautions: cases by hand, sources, refusals."""

import csv
import dataclasses
from itertools import product
from pathlib import Path

import pytest

from edmkit.checks import Refusal
from edmkit.data import __file__ as data_room
from edmkit.planning import facts, safety, worth_eroding
from edmkit.planning.worth_eroding import FEATURES, SURFACES, WORKS

ALL = list(product(WORKS, FEATURES, SURFACES))
ADVICE = {answers: worth_eroding.worth_eroding(*answers) for answers in ALL}


def words(some):
    """Return the text of some facts as one."""
    return " ".join(fact.text for fact in some)


def standard(name):
    """Return the rows of one of the kit's tables by their first column."""
    lines = (Path(data_room).parent / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return {row["item"]: row for row in rows}


# The trade's answers, written by hand before the code was run; common practice, no source.
@pytest.mark.parametrize(
    "work, feature, surface, verdict, instead, afterwards",
    [
        # a hexagon socket in a hardened dowel pin
        ("hardened steel", "corners or deep", "nothing special", "Yes", "relief hole", "Wash"),
        # a locating hole of 3 mm in a roller end
        ("hardened steel", "round hole", "nothing special", "Perhaps", "carbide drill", "Wash"),
        ("hardened steel", "round hole", "seals or slides", "Perhaps", "Jig grinding", "lap"),
        # a keyway or a square hole through a plate
        ("hardened steel", "right through", "nothing special", "Perhaps", "Wire", "Wash"),
        # a slot in a punch
        ("hardened steel", "corners or deep", "loaded again and again", "Yes", "", "temper again"),
        ("soft steel", "round hole", "nothing special", "No", "harden afterwards", ""),
        ("soft steel", "corners or deep", "seals or slides", "Perhaps", "mill", "before the part"),
        ("cemented carbide", "corners or deep", "seals or slides", "Yes", "diamond", "diamond"),
        ("cemented carbide", "right through", "nothing special", "Perhaps", "Wire", "Wash"),
        # a ceramic nozzle
        ("no conductor", "corners or deep", "nothing special", "No", "ultrasound", ""),
    ],
)
def test_cases_by_hand(work, feature, surface, verdict, instead, afterwards):
    advice = ADVICE[work, feature, surface]
    assert advice.verdict.split()[0].strip(":,") == verdict
    assert instead in words(advice.instead)
    assert afterwards in words(advice.afterwards)
    assert bool(afterwards) == bool(advice.afterwards)


@pytest.mark.parametrize("answers", ALL)
def test_every_combination_is_answered_in_full(answers):
    advice = ADVICE[answers]
    assert advice.verdict.startswith(("Yes", "Perhaps", "No"))
    assert advice.verdict.count(".") == 1 and advice.verdict.endswith(".")
    assert advice.reasons and advice.instead
    assert bool(advice.afterwards) != advice.verdict.startswith("No")


@pytest.mark.parametrize("answers", ALL)
def test_what_must_follow_fits_the_work(answers):
    work, _, surface = answers
    text = words(ADVICE[answers].afterwards)
    hard = work == "hardened steel" and surface == "loaded again and again"
    assert ("temper again" in text) == hard  # soft steel and carbide have no temper to restore
    if work == "no conductor":
        assert ADVICE[answers].verdict.startswith("No")
    if surface == "loaded again and again" and text:
        assert "white layer" in words(ADVICE[answers].reasons)


# Trade pages S30, S31, S32, as the kit's own table of the recast layer holds them
def test_figures_are_those_of_the_published_table():
    recast = standard("standard_recast.csv")
    for item, figures in (
        ("white layer thickness, all energies", worth_eroding.LAYER_UM),
        ("recast to remove by stoning after finish burn", worth_eroding.STONE_OFF_UM),
        ("temper after EDM: below last temper by", (worth_eroding.TEMPER_BELOW_K,) * 2),
    ):
        assert (float(recast[item]["low"]), float(recast[item]["high"])) == figures
    assert worth_eroding.TEMPER_BELOW_K == round(50 * 5 / 9)  # 50 F in kelvin


def test_carbide_polarity_is_that_of_the_kit():
    from edmkit import electrode_material, usual_polarity, work_material

    usual = usual_polarity(work_material("WC-6Co"), electrode_material("copper")).polarity
    assert usual in words(ADVICE["cemented carbide", "round hole", "nothing special"].reasons)


# Sources
SAID = {fact for a in ADVICE.values() for part in dataclasses.astuple(a)[1:] for fact in part}
SAID = {facts.Fact(*pair) for pair in SAID} if SAID else set()
CAUTIONS = [fact for group in safety.SAFETY for fact in group.items]


@pytest.mark.parametrize("fact", [*sorted(SAID, key=str), *CAUTIONS], ids=lambda f: f.text[:40])
def test_every_fact_has_a_source_word_and_ends(fact):
    assert fact.source in facts.SOURCES
    assert fact.text.endswith(".")


# Safety
@pytest.mark.parametrize(
    "title, must_say",
    [
        ("Before you press start", ("30 to 50 mm", "float", "Gas can escape", "clamped")),
        ("Fire", ("70 °C", "CO₂", "Never water", "petrol", "naked flame")),
        ("Shock", ("Never touch the electrode", "Capacitors", "earthed", "implant", "licensed")),
        ("Fumes and skin", ("Extraction", "hydrogen", "acetylene", "carbon monoxide", "soot",
                            "Gloves", "hazardous waste", "Beryllium", "cobalt")),
        ("Never leave it alone", ("level", "temperature", "fire protection", "stop it")),
    ],
)  # fmt: skip
def test_the_usual_cautions_are_all_said(title, must_say):
    group = {g.title: words(g.items) for g in safety.SAFETY}[title]
    assert [word for word in must_say if word not in group] == []


def test_the_manual_comes_first():
    for word in ("manual", "local codes", "licensed practice"):
        assert word in safety.FIRST


def test_old_fluids_lie_below_the_least_flash_point():
    # trade page B30: kerosene 54-58, white spirit 60 °C; a fire ordinance asks for 70 °C
    assert safety.OLD_FLUIDS_FLASH_C == (54, 60)
    assert max(safety.OLD_FLUIDS_FLASH_C) < safety.LEAST_FLASH_C == 70


# Refusals
@pytest.mark.parametrize(
    "answers, match",
    [
        (("hard steel", "round hole", "nothing special"), "work must be .*did you mean 'hardened"),
        (("Soft steel", "round hole", "nothing special"), "work must be .*did you mean 'soft"),
        (("soft steel", "hole", "nothing special"), "feature must be one of"),
        (("soft steel", "round hole", None), "surface must be one of .*got None"),
        ((62, "round hole", "nothing special"), "work must be one of .*got 62"),
    ],
)
def test_other_words_are_refused(answers, match):
    with pytest.raises(Refusal, match=match):
        worth_eroding.worth_eroding(*answers)


def test_advice_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        ADVICE[ALL[0]].verdict = "Yes"
