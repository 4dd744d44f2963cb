"""The text of a machine file: what is read back from it is the machine; files are never lost."""

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import edmkit as ek
from edmkit.checks import Refusal
from edmkit.machine import (
    FlushingMeans,
    Lift,
    Machine,
    Resolution,
    Servo,
    machine_from_text,
)
from edmkit.machine_text import file_stem, machine_text, machines_folder, save_machine
from edmkit.panels.machines import machine_files
from edmkit.settings import FLUSHING_KINDS, LIMITS
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER, Position, Switch, fill_in

DEMO = Path(__file__).parents[1] / "data_demo"
OLD = DEMO / "old_manual_sinker.toml"
SMALL = DEMO / "small_low_current_sinker.toml"


def told(machine):
    """Return what the standard library's TOML reader finds in a machine's text."""
    return tomllib.loads(machine_text(machine))


# --- there and back ---------------------------------------------------------------------------
@pytest.mark.parametrize("path", [OLD, SMALL])
def test_a_demo_machine_comes_back(path):
    machine = ek.read_machine(path)
    assert machine_from_text(machine_text(machine), "text") == replace(machine, path=None)


@pytest.mark.parametrize("path", [OLD, SMALL])
def test_the_text_says_what_the_hand_written_file_says(path):
    """tomllib (Python's standard library, TOML 1.0) reads both; 'one at a time' is the usual."""
    hand = tomllib.loads(path.read_text(encoding="utf-8"))
    for name in LADDER:
        if hand[name].get("switches") == "one at a time":
            del hand[name]["switches"]
    assert told(ek.read_machine(path)) == hand


words = st.text(min_size=1, max_size=12).filter(str.strip)


def numbers(low, high):
    return st.floats(low, high, allow_nan=False)


@st.composite
def switch_of(draw, name):
    """Return a switch as a file can say it: labels differ, unknown values are filled in."""
    adds = name == "peak_current_A" and draw(st.booleans())
    names = words.filter(lambda w: "+" not in w) if adds else words
    labels = draw(st.lists(names, min_size=1, max_size=6, unique=True))
    low, high, _ = LIMITS[name]
    inside = numbers(max(low, high / 60), high / 6)  # so that what is filled in stays inside
    values = [draw(st.none() | inside) for _ in labels]
    whole = fill_in([float("nan") if v is None else v for v in values], *LADDER[name])
    made = []
    for label, value, filled in zip(labels, values, whole, strict=True):
        known = "unknown" if value is None else draw(st.sampled_from(sorted(HOW_KNOWN_SPREAD)))
        spread = draw(st.just(HOW_KNOWN_SPREAD[known]) | numbers(0.001, 2))
        made.append(Position(label, float(filled), known, spread, value is None))
    return Switch(name, tuple(made), adds)


spans = st.tuples(numbers(0.1, 5), numbers(5.1, 100))
machines = st.builds(
    Machine,
    name=words,
    **{name: switch_of(name) for name in LADDER},
    on_time_counts=st.sampled_from(("from breakdown", "in a fixed period")),
    plate_current=st.sampled_from(("short circuit", "spark")),
    polarity_switch=st.booleans(),
    resolution=st.builds(Resolution, numbers(1e-4, 1), numbers(1e-4, 1)),
    note=st.just("") | words,
    current_rise_A_per_us=numbers(0.01, 10_000),
    current_caution_A_per_cm2=st.none() | numbers(0.1, 100),
    ammeter_max_A=st.none() | numbers(0.1, 1000),
    voltmeter_max_V=st.none() | numbers(10, 1000),
    lift=st.none() | st.builds(Lift, spans, spans),
    servo=st.none() | st.builds(Servo, numbers(-9, 0), numbers(1, 9)),
    flushing=st.builds(
        FlushingMeans,
        st.lists(st.sampled_from(FLUSHING_KINDS), min_size=1, unique=True).map(tuple),
        st.none() | numbers(1, 100),
        st.none() | numbers(1, 1000),
    ),
)


def inside(machine):
    """Return whether every value, filled in ones too, is one that a file may say."""
    return all(LIMITS[n][0] <= p.value <= LIMITS[n][1]
               for n in LADDER for p in getattr(machine, n).positions)  # fmt: skip


@given(machines.filter(inside))
def test_every_machine_comes_back(machine):
    assert machine_from_text(machine_text(machine), "text") == machine


def test_a_driving_voltage_comes_back():
    machine = replace(ek.read_machine(OLD), path=None, driving_voltage_V=82.5)
    assert machine_from_text(machine_text(machine), "text") == machine


@pytest.mark.parametrize("name", ['a "b" \\ c', "two\nlines\r\tand a tab", "Köln µs 火花 \x7f\x01"])
def test_any_text_is_written_so_that_it_is_read(name):
    assert told(replace(ek.read_machine(OLD), name=name))["name"] == name


# --- as a person reads it ---------------------------------------------------------------------
def test_unknown_positions_have_no_value_and_usual_spreads_are_left_out():
    positions = told(ek.read_machine(OLD))["on_time_us"]["positions"]
    assert positions[0] == {"label": "1", "how_known": "unknown"}
    assert positions[1] == {"label": "2", "value": 4.0, "how_known": "plate"}


def test_an_unusual_spread_is_written():
    machine = ek.read_machine(SMALL)
    first, *rest = machine.open_voltage_V.positions
    switch = Switch("open_voltage_V", (replace(first, spread=0.012), *rest))
    found = told(replace(machine, open_voltage_V=switch))["open_voltage_V"]["positions"][0]
    assert found["spread"] == 0.012


def test_what_is_not_known_is_not_written():
    found = told(ek.read_machine(OLD))
    assert not {"driving_voltage_V", "current_rise_A_per_us"} & set(found)


# --- the file ---------------------------------------------------------------------------------
@pytest.fixture
def machine():
    return ek.read_machine(SMALL)


def test_a_saved_machine_is_read_again_and_offered_first(machine, tmp_path, monkeypatch):
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path))
    path = save_machine(machine)
    assert path == machines_folder() / "small_low_current_sinker_invented.toml"
    assert replace(ek.read_machine(path), path=None) == replace(machine, path=None)
    assert machine_files(DEMO)[0] == ("small low current sinker invented", str(path))


def test_older_files_of_the_same_machine_stay_and_are_not_offered(machine, tmp_path, monkeypatch):
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path))
    texts = []
    for note in ("first", "second", "third"):
        path = save_machine(replace(machine, note=note))
        texts.append(path.read_text(encoding="utf-8"))
    old = [path.with_suffix(f".{i}.old").read_text(encoding="utf-8") for i in (1, 2)]
    assert [*old, path.read_text(encoding="utf-8")] == texts
    assert sum(str(tmp_path) in p for _, p in machine_files(DEMO)) == 1
    assert len(list(path.parent.iterdir())) == 3


def test_saving_the_same_again_keeps_no_copy(machine, tmp_path):
    save_machine(machine, tmp_path)
    save_machine(machine, tmp_path)
    assert len(list(tmp_path.iterdir())) == 1


def test_another_machines_file_is_never_written_over(machine, tmp_path):
    path = save_machine(replace(machine, name="Sinker A"), tmp_path)
    before = path.read_bytes()
    with pytest.raises(Refusal, match="name must differ more from 'Sinker A'"):
        save_machine(replace(machine, name="sinker-a"), tmp_path)
    assert path.read_bytes() == before


def test_a_file_that_cannot_be_read_is_never_written_over(machine, tmp_path):
    path = tmp_path / f"{file_stem(machine.name)}.toml"
    path.write_text("name = ")
    with pytest.raises(Refusal, match="mend it or move it away"):
        save_machine(machine, tmp_path)
    assert path.read_text() == "name = "


def test_a_machine_that_no_file_can_say_is_refused(machine, tmp_path):
    volts = Switch("open_voltage_V", (Position("fixed", 500.0, "measured", 0.03),))
    with pytest.raises(Refusal, match=r"open_voltage_V.positions\[1\].value must be 30 to 400 V"):
        save_machine(replace(machine, open_voltage_V=volts), tmp_path)
    filled = Switch("open_voltage_V", (Position("fixed", 100.0, "unknown", 0.7, True),))
    with pytest.raises(Refusal, match="not filled in from their neighbours"):
        save_machine(replace(machine, open_voltage_V=filled), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_refuses_is_said(machine, tmp_path):
    (tmp_path / "taken").write_text("")
    with pytest.raises(Refusal, match="was not saved in"):
        save_machine(machine, tmp_path / "taken")


@pytest.mark.parametrize(
    ("name", "stem"),
    [("Old sinker No. 2", "old_sinker_no_2"), ("../../etc/x", "etc_x"), ("///", "machine"),
     ("Funken Ä", "funken_ä"), ("a" * 200, "a" * 60)],
)  # fmt: skip
def test_a_files_name_is_safe(name, stem):
    assert file_stem(name) == stem
