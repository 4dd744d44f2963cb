"""The user's own materials: made or refused, doubted, kept, found everywhere."""

import dataclasses
import json
import os
import stat
import subprocess
import sys
import timeit

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import edmkit as ek
from edmkit import own_folder, plausibility, substances
from edmkit.materials import reference_elements
from edmkit.own_folder import complaints, remove_material
from edmkit.own_material import LIMITS, families, key_of
from edmkit.plausibility import doubts

SHIPPED = list(substances.shipped_materials().values())
ELEMENTS = reference_elements()
# An invented cold-work steel.
STEEL = {
    "name": "Invented steel 7",
    "family": "cold-work tool steel",
    "density_kg_m3": 7750,
    "cp_mean_to_melt_J_kgK": 680,
    "k_high_W_mK": 26,
    "melt_used_C": 1400,
    "T_boil_C": 2860,
    "latent_fusion_kJ_kg": 250,
    "source": "invented for this test",
}
ROOM = {"k_room_W_mK": 25, "resistivity_uohm_cm": 50, "T_solidus_C": 1340, "T_liquidus_C": 1460}


def made(**changed):
    """Return the invented steel, some of it changed."""
    fields = {**STEEL, **changed}
    return ek.make_material(fields.pop("name"), fields.pop("family"), **fields)


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Give a user's folder of its own; return where its materials lie."""
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    return tmp_path / "home" / "materials"


# --- making ---
def test_numbers_arrive_in_SI_by_hand():
    steel = made(**ROOM, temper_limit_C=200, ranges={"density_kg_m3": (7700, 7800)})
    assert (steel.density, steel.heat_capacity, steel.conductivity) == (7750, 680, 26)
    assert steel.melting_point == pytest.approx(1673.15)
    assert steel.boiling_point == pytest.approx(3133.15)
    assert steel.temper_limit == pytest.approx(473.15)
    assert steel.fusion_heat == 250e3
    assert steel.properties["resistivity"].value == pytest.approx(5e-7)
    assert steel.roles == ("work",) and steel.is_steel and steel.hardness == ""
    density, heat = steel.properties["density"], steel.properties["heat_capacity"]
    assert (density.low, density.high, density.source) == (7700, 7800, "invented for this test")
    assert (heat.low, heat.high) == pytest.approx((612, 748))
    assert heat.source == "invented for this test; range assumed"


def test_every_value_has_a_range_and_a_source():
    for value in made(**ROOM).properties.values():
        assert value.low < value.value < value.high and value.source


def test_the_assumed_heat_at_20_C_covers_the_kits_own_metals():
    heat = made().properties["heat_capacity_room"]
    for m in SHIPPED:
        if "work" in m.roles:
            share = m.properties["heat_capacity_room"].value / m.heat_capacity
            assert heat.low / 680 <= share <= heat.high / 680, m.key


def test_families_are_those_of_the_shipped_works():
    assert set(families()) == {m.family for m in SHIPPED if "work" in m.roles}
    assert len(set(families())) == len(families()) and "graphite" not in families()


@pytest.mark.parametrize(
    "changed, told",
    [
        ({"density_kg_m3": 7.75}, r"density_kg_m3 must be 1500 .* got 7\.75 kg/m³: 7\.8 g/cm³ is"),
        (
            {"cp_mean_to_melt_J_kgK": 0.68},
            r"cp_mean_to_melt_J_kgK must .* 0\.68 kJ/\(kg K\) is 680",
        ),
        ({"k_high_W_mK": 0}, "k_high_W_mK must be 3 to 430"),
        ({"k_high_W_mK": float("nan")}, "k_high_W_mK must be .* got nan"),
        ({"melt_used_C": "1400"}, "melt_used_C must be .* without quotes"),
        ({"melt_used_C": [1400, 1500]}, "melt_used_C must be one number"),
        ({"melt_used_C": np.array([1400.0, 1500.0])}, "melt_used_C must be one number"),
        ({"T_boil_C": True}, "T_boil_C must be"),
        ({"T_boil_C": 1400}, "T_boil_C must be well above melt_used_C, got 1400 °C and 1400 °C"),
        ({"latent_fusion_kJ_kg": 250e3}, "latent_fusion_kJ_kg must be .* iron's is 247"),
        ({"resistivity_uohm_cm": 5e-7}, "resistivity_uohm_cm must be"),
        ({"temper_limit_C": 2000}, "temper_limit_C must be 80 to 900"),
        ({"melt_used_C": 650}, "melt_used_C must be 1100 .*choose another family"),
        ({"density_kg_m3": 1500, "cp_mean_to_melt_J_kgK": 100}, "check both"),
        ({"family": "carbon stel"}, "family must be .* did you mean 'carbon steel'"),
        ({"family": "graphite"}, "family must be one of"),
        ({"source": "  "}, "source must be 1 to 400"),
        ({"source": None}, "source must be"),
        ({"name": ""}, "name must be 1 to 60"),
        ({"name": "!!!"}, "name must hold a letter or a digit"),
        ({"name": "x" * 10_000}, "name must be .* got 10002 characters|name must be .* 10000 char"),
        ({"name": "<b>steel"}, "name must be .* without < and >"),
        ({"name": "steel\x00"}, "name must be"),
        ({"name": "steel \ud800"}, "name must be"),
        ({"name": "aisi h13"}, "name must be a new one, got 'aisi h13': .*Hot-work steel H13"),
        ({"name": "100 cr 6"}, "name must be a new one"),
        ({"name": "Copper"}, "name must be a new one"),
        ({"ranges": {"density_kg_m3": (7800, 7900)}}, "density_kg_m3 must hold its value 7750"),
        ({"ranges": {"density_kg_m3": (7900, 7700)}}, "density_kg_m3 must hold its value"),
        ({"ranges": {"density_kg_m3": (7700, float("inf"))}}, "density_kg_m3 must be .* got inf"),
        ({"ranges": {"density_kg_m3": 7700}}, r"must be \(lowest, highest\)"),
        ({"ranges": {"T_solidus_C": (1, 2)}}, "ranges must be one of"),
        ({"toxic_elements": ("",)}, "toxic_elements must be"),
    ],
)
def test_what_is_impossible_is_refused(changed, told):
    with pytest.raises(ek.Refusal, match=told):
        made(**changed)


def test_every_limit_is_kept_and_lets_the_kits_own_metals_pass():
    for heading, (low, high, *_) in LIMITS.items():
        for wrong in (low * 0.999, high * 1.001):
            with pytest.raises(ek.Refusal, match=heading):
                made(**{heading: wrong})
        name, factor, offset = substances.SI[heading]
        for m in SHIPPED:
            if "work" in m.roles and name in m.properties:
                assert low <= (m.properties[name].value - offset) / factor <= high, m.key


# --- do they fit each other ---
def test_no_shipped_material_is_doubted_but_the_composites():
    doubted = {m.key: doubts(m) for m in SHIPPED if doubts(m)}
    # copper and silver boil before the tungsten they are bound to melts
    assert set(doubted) == {"CuW", "AgW"}
    assert all(len(d) == 1 and "then it boils" in d[0] for d in doubted.values())


def test_the_windows_are_not_wider_than_the_shipped_metals_need():
    def near(window, found):
        return window[0] > 0.6 * min(found) and window[1] < 1.7 * max(found)

    works = [m for m in SHIPPED if "work" in m.roles]
    ratio = [
        m.properties["conductivity_room"].value
        * m.properties["resistivity"].value
        / (2.44e-8 * 293.15)
        for m in works
        if m.family != "cast iron"
    ]
    assert near(plausibility.CONDUCTION, ratio)
    assert near(plausibility.VOLUME_HEAT, [m.density * m.heat_capacity for m in works])
    steels = [m for m in works if m.is_steel]
    assert near(plausibility.STEEL_DENSITY, [m.density for m in steels])
    assert near(plausibility.STEEL_MELTING, [m.fusion_heat / m.melting_point for m in steels])


def test_lorenz_number_of_theory_and_of_pure_metals():
    # pi²/3 (k_B/e)², Sommerfeld; CODATA 2018 k_B and e
    theory = np.pi**2 / 3 * (1.380649e-23 / 1.602176634e-19) ** 2
    assert plausibility.LORENZ == pytest.approx(theory, rel=0.002)
    metals = {s: e for s, e in ELEMENTS.items() if s != "C" and "resistivity" in e}
    assert len(metals) >= 8
    low, high = plausibility.CONDUCTION
    for symbol, e in metals.items():
        ratio = e["conductivity_room"] * e["resistivity"] / (theory * 293.15)
        assert low <= ratio <= high, symbol


def test_dulong_and_petit_for_iron_and_copper():
    # 3R = 24.9 J/(mol K); molar masses 55.845 and 63.546 g/mol, IUPAC; 7.09 and 7.11 cm³/mol
    for symbol, gram in (("Fe", 55.845), ("Cu", 63.546)):
        element = ELEMENTS[symbol]
        assert element["heat_capacity_room"] * gram / 1e3 == pytest.approx(24.9, rel=0.03)
        volume_heat = 24.9 / (gram / 1e3 / element["density"])
        assert plausibility.VOLUME_HEAT[0] < volume_heat < plausibility.VOLUME_HEAT[1]


def test_richards_rule_for_iron():
    # NIST-JANAF: iron takes 13.81 kJ/mol at 1809 K; 55.845 g/mol: 7.6 J/(mol K)
    low, high = plausibility.STEEL_MELTING
    assert low < 13.81e3 / 55.845e-3 / 1809 < high


@pytest.mark.parametrize(
    "changed, told",
    [
        ({"k_room_W_mK": 60}, "resistivity 50 µΩ cm do not belong to one metal"),
        ({"k_room_W_mK": 10}, "do not belong to one metal"),
        ({"resistivity_uohm_cm": 5}, "do not belong to one metal"),
        ({"cp_mean_to_melt_J_kgK": 900}, "does not fit the density"),
        ({"cp_mean_to_melt_J_kgK": 200}, "does not fit the density"),
        ({"T_solidus_C": 1450}, "begins to melt"),
        ({"T_liquidus_C": 1390}, "begins to melt"),
        ({"density_kg_m3": 8400}, "is not a steel's"),
        ({"density_kg_m3": 7100}, "is not a steel's"),
        ({"latent_fusion_kJ_kg": 171}, "Heat of melting 171 kJ/kg is not a steel's"),
    ],
)
def test_what_does_not_fit_is_said_in_one_sentence(changed, told):
    assert doubts(made(**ROOM)) == ()
    said = doubts(made(**ROOM | changed))
    assert len(said) == 1 and told in said[0] and said[0].endswith(".")


def test_the_doubt_names_what_would_fit():
    # 50 µΩ cm: 2.44e-8 * 293.15 / 5e-7 = 14.3 W/(m K); times 0.85 and 2.8 by hand
    assert "12.2 to 40.1 W/(m K)" in doubts(made(**ROOM | {"k_room_W_mK": 60}))[0]


def test_what_is_not_given_is_not_doubted():
    assert doubts(made()) == () == doubts(made(k_room_W_mK=400))


def test_cast_iron_may_conduct_more():
    iron = {"family": "cast iron", "density_kg_m3": 7200, "melt_used_C": 1180, "k_room_W_mK": 50}
    assert doubts(made(**iron, resistivity_uohm_cm=70, latent_fusion_kJ_kg=240)) == ()


# --- keeping ---
def test_kept_and_read_back_equal(folder):
    steel = made(
        **ROOM,
        temper_limit_C=200,
        hardness="60 HRC",
        ranges={"density_kg_m3": (7700, 7800)},
        toxic_elements=("cobalt", "nickel"),
    )
    path = ek.save_material(steel)
    assert path == folder / "own-invented-steel-7.toml"
    read = ek.own_materials()
    assert read == {"own-invented-steel-7": steel}
    back = read[steel.key]
    for name in ("designation", "family", "roles", "hardness", "contains", "doubt", "values"):
        assert getattr(back, name) == getattr(steel, name)
    assert [p.name for p in folder.iterdir()] == [path.name]


@given(
    st.floats(1600, 20000),
    st.floats(3, 430),
    st.floats(1100, 2500),
    st.floats(-0.3, 0.0),
    st.floats(0.0, 0.3),
)
def test_any_numbers_come_back_equal(density, conductivity, melt, less, more):
    fields = {"density_kg_m3": density, "k_high_W_mK": conductivity, "melt_used_C": melt}
    heat = {"cp_mean_to_melt_J_kgK": 3e6 / density}
    ends = {"melt_used_C": (melt * (1 + less), melt * (1 + more))}
    ranges = {} if less == more else {"ranges": ends}
    steel = made(**fields, **heat, T_boil_C=3000, **ranges)
    ek.save_material(steel)
    assert ek.own_materials()[steel.key] == steel


HOSTILE = [
    "q\"uo'te",
    "back\\slash\\u0041",
    "../../../etc/passwd",
    "C:\\aux",
    "con",
    "line\nbreak\r\n[table]\nname = 3",
    "Grünstahl Ω µ",
    "鋼 1",
    "{x} $x$ %s = # comment",
    "ﷺ" * 60,
]


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_and_sources_are_safe(folder, tmp_path, name):
    steel = made(name=name, source=name, hardness="x" + name[:20])
    path = ek.save_material(steel)
    assert path.parent == folder and ek.own_materials() == {steel.key: steel}
    assert set(steel.key) <= set("abcdefghijklmnopqrstuvwxyz0123456789-") and len(path.name) < 100
    assert [p.name for p in tmp_path.iterdir()] == ["home"]
    assert ek.work_material(name) == steel == ek.work_material(steel.key)
    remove_material(steel.key)
    assert list(folder.iterdir()) == []


@given(st.text(max_size=80))
@example("\x85")
def test_any_text_is_a_name_or_refused(name):
    try:
        steel = made(name=name, source=name)
    except ek.Refusal:
        return
    ek.save_material(steel)
    assert ek.own_materials()[steel.key] == steel
    remove_material(steel.key)


def test_keys_of_different_names_differ():
    assert key_of("Steel 7, ESR") == "own-steel-7-esr"
    assert key_of("鋼 1") != key_of("鉄 1")
    assert key_of("x" * 60) != key_of("x" * 60 + "y") and len(key_of("ﷺ" * 60)) < 80


def test_saving_again_replaces_and_near_names_are_refused():
    ek.save_material(made())
    ek.save_material(made(density_kg_m3=7800))
    assert [m.density for m in ek.own_materials().values()] == [7800]
    ek.save_material(made(name="INVENTED steel-7"))  # the same name, spelt otherwise
    assert [m.name for m in ek.own_materials().values()] == ["INVENTED steel-7"]
    with pytest.raises(ek.Refusal, match="must differ more from 'INVENTED steel-7'"):
        ek.save_material(made(name="InventedSteel7"))


def test_only_an_own_material_can_be_saved():
    for other in (ek.work_material("H13"), dataclasses.replace(made(), family="no such family")):
        with pytest.raises(ek.Refusal):
            ek.save_material(other)
    assert ek.own_materials() == {}


def test_a_full_or_closed_disk_is_refused_and_leaves_nothing(folder, monkeypatch):
    ek.save_material(made())

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(ek.Refusal, match="No space left on device") as told:
        ek.save_material(made(density_kg_m3=7800))
    assert str(folder) in str(told.value)
    assert [p.name for p in folder.iterdir()] == ["own-invented-steel-7.toml"]
    assert [m.density for m in ek.own_materials().values()] == [7750]


def test_a_file_in_the_folders_place_is_said(folder):
    folder.parent.mkdir(parents=True)
    folder.write_text("I am a file", encoding="utf-8")
    with pytest.raises(ek.Refusal, match="was not saved in"):
        ek.save_material(made())
    assert ek.own_materials() == {} and "cannot be read" in complaints()[0]
    assert ek.work_material("H13").key == "H13"


# --- files that are broken ---
BROKEN = {
    "empty": b"",
    "not TOML": b"density_kg_m3 = 7,8",
    "binary": b"\xff\xfe\x00\x01" * 100,
    "a key misspelt": b"denstiy_kg_m3 = 7800",
    "deep": b"name = " + b"[" * 50_000,
}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN)
def test_a_broken_file_is_reported_and_hides_no_other(folder, content):
    good = made()
    ek.save_material(good)
    broken = folder / "own-broken.toml"
    broken.write_bytes(content)
    assert ek.own_materials() == {good.key: good}
    (said,) = complaints()
    assert str(broken) in said and "fault" in said
    assert broken.read_bytes() == content
    assert ek.work_material("H13").key == "H13"
    with pytest.raises(ek.Refusal, match="cannot be read: mend it or delete it"):
        ek.save_material(made(name="broken"))


def test_a_file_by_hand_tells_all_its_faults(folder):
    path = ek.save_material(made())
    text = path.read_text(encoding="utf-8")
    text = text.replace("= 7750.0", "= [7750.0, 7800.0, 7900.0]").replace("= 26.0", '= "26"')
    path.write_text(text, encoding="utf-8")
    (said,) = complaints()
    assert "has 2 faults" in said and "must hold its value" in said and "without quotes" in said


def test_a_renamed_file_is_told_its_name(folder):
    path = ek.save_material(made())
    path.rename(folder / "my steel.toml")
    assert ek.own_materials() == {}
    assert "call it own-invented-steel-7.toml" in complaints()[0]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root reads all")
def test_an_unreadable_file_is_reported(folder):
    path = ek.save_material(made())
    path.chmod(0)
    assert ek.own_materials() == {} and len(complaints()) == 1
    path.chmod(stat.S_IRUSR)
    assert len(ek.own_materials()) == 1


def test_removing(folder):
    steel = made()
    ek.save_material(steel)
    own_folder.table_path(steel.key).write_text("x", encoding="utf-8")
    (folder / "craters_own-other.csv").write_text("x", encoding="utf-8")
    for key in ("own-other", "../x", "H13"):
        with pytest.raises(ek.Refusal, match="key must be one of"):
            remove_material(key)
    remove_material(steel.key)
    assert [p.name for p in folder.iterdir()] == ["craters_own-other.csv"]


# --- everywhere ---
def test_found_after_the_shipped_ones_at_once():
    shipped = ek.work_materials()
    steel = made()
    ek.save_material(steel)
    assert ek.work_materials() == (*shipped, steel.key)
    for typed in ("invented steel 7", "INVENTED-STEEL7", steel.key, "Invented steel 7"):
        assert ek.work_material(typed) == steel
    assert steel.key not in ek.electrode_materials()
    with pytest.raises(ek.Refusal, match="did you mean 'own-invented-steel-7'"):
        ek.work_material("inventet steel 7")
    remove_material(steel.key)
    assert ek.work_materials() == shipped


def test_accents_do_not_count_however_they_are_written():
    steel = made(name="Gr\u00fcnstahl 3")
    ek.save_material(steel)
    for typed in ("Gru\u0308nstahl 3", "GRUNSTAHL 3", "gr\u00fcn-stahl 3"):
        assert ek.work_material(typed) == steel


def test_what_another_process_saves_is_seen():
    assert ek.own_materials() == {}
    fields = {k: v for k, v in STEEL.items() if k not in ("name", "family")}
    code = (
        "import json, sys, edmkit as ek; ek.save_material(ek.make_material("
        "'Invented steel 7', 'cold-work tool steel', **json.loads(sys.argv[1])))"
    )
    for density in (7750, 7800):
        numbers = json.dumps(fields | {"density_kg_m3": density})
        subprocess.run([sys.executable, "-c", code, numbers], check=True)
        assert ek.work_material("Invented steel 7").density == density


def test_a_set_up_takes_it():
    steel = made(toxic_elements=("cobalt",))
    pair = ek.electrode_material("copper"), ek.dielectric("edm_oil")
    setup = ek.Setup(steel, *pair, "electrode positive", 7.0)
    assert setup.work.contains == ("cobalt",)
    assert ek.usual_polarity(steel, pair[0]).polarity == "electrode positive"


def test_finding_stays_in_microseconds():
    ek.save_material(made())
    for find in (ek.work_materials, lambda: ek.work_material("H13")):
        assert min(timeit.repeat(find, number=200, repeat=5)) / 200 < 200e-6
