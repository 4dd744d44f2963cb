"""Machine files: what they say, what is filled in, what is refused."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import edmkit as ek
from edmkit.machine import Position, Switch
from edmkit.settings import FLUSHING_KINDS
from edmkit.switches import HOW_KNOWN_SPREAD, LADDER, fill_in

DEMO = Path(__file__).parents[1] / "data_demo"
OLD, SMALL = DEMO / "old_manual_sinker.toml", DEMO / "small_low_current_sinker.toml"

# The smallest machine file there can be; each test changes what it is about.
SMALLEST = """
name = "Test machine (invented)"
on_time_counts = "from breakdown"
plate_current = "spark"
polarity_switch = true
[peak_current_A]
positions = [{ label = "1", value = 3.0, how_known = "plate" }]
[on_time_us]
positions = [{ label = "1", value = 50.0, how_known = "plate" }]
[off_time_us]
positions = [{ label = "1", value = 25.0, how_known = "plate" }]
[open_voltage_V]
positions = [{ label = "1", value = 100.0, how_known = "plate" }]
[resolution]
dial_mm = 0.01
stop_mm = 0.01
"""


@pytest.fixture
def read(tmp_path):
    """Read the smallest file with pieces of its text replaced: read((old, new), ...)."""

    def reader(*swaps, text=SMALLEST):
        for old, new in swaps:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        path = tmp_path / "machine.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return ek.read_machine(path)

    return reader


def positions(*values, how_known="plate"):
    """Write a list of positions 1, 2, 3 ...; None is one that nobody knows."""
    return ", ".join(
        f'{{ label = "{i}", how_known = "unknown" }}'
        if value is None
        else f'{{ label = "{i}", value = {value}, how_known = "{how_known}" }}'
        for i, value in enumerate(values, 1)
    )


ON_TIME = '{ label = "1", value = 50.0, how_known = "plate" }'
OFF_TIME = '{ label = "1", value = 25.0, how_known = "plate" }'
CURRENT = '{ label = "1", value = 3.0, how_known = "plate" }'


# --- both demo machines


@pytest.mark.parametrize("path", [OLD, SMALL])
def test_demo_machines_say_that_they_are_invented(path):
    assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]
    assert "invented" in ek.read_machine(path).name


def test_old_demo_machine():
    machine = ek.read_machine(OLD)
    assert machine.path == OLD
    assert (machine.on_time_counts, machine.plate_current) == ("from breakdown", "short circuit")
    assert machine.grid_shape == (8, 10, 8, 2)
    assert machine.lift.burn_s == (0.5, 10.0)
    assert (machine.servo.lowest, machine.servo.highest) == (0, 10)
    assert machine.resolution.dial_mm == 0.01
    assert machine.current_rise_A_per_us == 10.0  # the file does not say
    assert machine.flushing.kinds == FLUSHING_KINDS
    assert [p.filled for p in machine.on_time_us.positions].count(True) == 5


def test_small_demo_machine():
    machine = ek.read_machine(SMALL)
    assert (machine.on_time_counts, machine.plate_current) == ("in a fixed period", "spark")
    # toggles 0.5, 1, 2, 2 A, by hand: 15 sums, of which four come twice
    assert machine.peak_current_A.values == pytest.approx(
        [0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5, 5.5]
    )
    assert machine.grid_shape == (11, 8, 6)  # one voltage: no axis for it
    assert machine.servo is None and machine.current_rise_A_per_us == 20.0


# --- filled-in values


@pytest.mark.parametrize(
    ("given_values", "expected"),
    [
        ([4, None, 9], [4, 6, 9]),  # by hand: the geometric mean of 4 and 9
        ([None, 10, 20, None, None], [5, 10, 20, 40, 80]),  # the factor of the known step goes on
        ([2, 4, 40, None], [2, 4, 40, 400]),  # the last step
        ([None, 10, 100, 200], [1, 10, 100, 200]),  # the first step
        ([None, 8, None, None, 64, None], [4, 8, 16, 32, 64, 128]),
        ([100, None, 1, None], [100, 10, 1, 0.1]),  # a switch may run downwards
        ([None, 10, None, None], [2, 10, np.sqrt(5000), 500]),  # one known: the ends are 2, 500
        ([7], [7]),
        ([None], [np.sqrt(2 * 500)]),
    ],
)
def test_fill_in_by_hand(given_values, expected):
    values = np.array([np.nan if v is None else v for v in given_values])
    assert fill_in(values, 2.0, 500.0) == pytest.approx(expected)


def test_nothing_known_of_the_times(read):
    machine = read((ON_TIME, positions(None)), (OFF_TIME, positions(None)))
    for switch in (machine.on_time_us, machine.off_time_us):
        (only,) = switch.positions
        assert only.filled and only.value == pytest.approx(31.62, rel=1e-3)  # sqrt(2 x 500)


def test_nothing_known_of_the_current(read):
    machine = read((CURRENT, positions(None, None, None)))
    assert machine.peak_current_A.values == pytest.approx([1, np.sqrt(20), 20])
    assert all(p.filled and p.spread == 0.70 for p in machine.peak_current_A.positions)


@given(st.lists(st.none() | st.floats(1, 1000), min_size=1, max_size=12))
def test_fill_in_keeps_what_is_known_and_loses_nothing(some):
    values = np.array([np.nan if v is None else v for v in some])
    filled = fill_in(values, 2.0, 500.0)
    known = ~np.isnan(values)
    assert filled.shape == values.shape and (filled > 0).all()
    assert np.array_equal(filled[known], values[known])


@given(st.floats(1, 100), st.floats(1.05, 3), st.lists(st.booleans(), min_size=2, max_size=12))
def test_fill_in_finds_an_even_ladder_again(first, factor, known):
    ladder = first * factor ** np.arange(len(known))
    known[0] = known[-1] = True
    values = np.where(known, ladder, np.nan)
    assert fill_in(values, 2.0, 500.0) == pytest.approx(ladder)


def test_a_filled_value_beyond_reason_is_refused(read):
    with pytest.raises(ek.Refusal, match=r"on_time_us.positions\[3\].value .* filled in"):
        read((ON_TIME, positions(1.0, 1000.0, None)))


# --- spreads


def test_spread_of_each_way_of_knowing(read):
    known = ", ".join(
        f'{{ label = "{how}", value = {2.0**i}, how_known = "{how}" }}'
        for i, how in enumerate(HOW_KNOWN_SPREAD)
    )
    machine = read((ON_TIME, known))
    # the kit's own assumptions, as the notebook tells them
    assert machine.spread("on_time_us", [1, 2, 4, 8]) == pytest.approx([0.03, 0.10, 0.35, 0.70])
    assert machine.how_known("on_time_us", [1, 2, 4, 8]).tolist() == [False, False, True, True]
    assert not machine.on_time_us.position("unknown").filled  # it has a value, if a poor one


def test_own_spread_overrides(read):
    machine = read((ON_TIME, ON_TIME.replace(" }", ", spread = 0.2 }")))
    assert machine.spread("on_time_us", 50) == 0.2


def test_spread_of_a_sum_by_hand():
    # 3 A +- 10 % and 4 A +- 10 %: errors 0.3 and 0.4 A make 0.5 A, of 7 A
    positions = (Position("a", 3.0, "plate", 0.1), Position("b", 4.0, "guessed", 0.1))
    both = Switch("peak_current_A", positions, adds=True).position("a + b")
    assert both.value == 7 and both.spread == pytest.approx(0.5 / 7)
    assert both.how_known == "guessed"  # the worse of the two


@given(
    st.lists(st.floats(0.5, 20), min_size=2, max_size=5),
    st.lists(st.floats(0.02, 0.7), min_size=5, max_size=5),
)
def test_a_sum_is_known_no_worse_than_its_worst_part(values, spreads):
    parts = [
        Position(str(i), v, "plate", s)
        for i, (v, s) in enumerate(zip(values, spreads, strict=False))
    ]
    whole = Switch("peak_current_A", tuple(parts), adds=True).position([p.label for p in parts])
    assert whole.spread <= max(p.spread for p in parts) * (1 + 1e-12)


def test_spread_keeps_shape(read):
    machine = ek.read_machine(OLD)
    grid = machine.grid()
    for name in LADDER:
        values = getattr(grid, name)
        assert machine.spread(name, values).shape == values.shape
        assert machine.how_known(name, values).shape == values.shape
    assert np.ndim(machine.spread("peak_current_A", 1.5)) == 0


def test_two_positions_of_one_value_count_as_the_less_known(read):
    twice = '{ label = "a", value = 5, how_known = "guessed" }, ' + (
        '{ label = "b", value = 5, how_known = "measured" }'
    )
    machine = read((ON_TIME, twice))
    assert machine.spread("on_time_us", 5.0) == 0.35
    assert machine.how_known("on_time_us", 5.0)


@pytest.mark.parametrize("bad", [2.2, np.nan, -1.5, 0, np.inf, 1.5001, 1.4999])
def test_a_value_the_switch_has_not_got(bad):
    with pytest.raises(ek.Refusal, match=r"positions of Old manual.*1 \(1.5 A\), 2 \(2.5 A\)"):
        ek.read_machine(OLD).spread("peak_current_A", [1.5, bad])


def test_values_as_text_and_unknown_switch():
    machine = ek.read_machine(OLD)
    with pytest.raises(ek.Refusal, match="must be numbers"):
        machine.how_known("peak_current_A", "1.5")
    with pytest.raises(ek.Refusal, match="did you mean 'on_time_us'"):
        machine.spread("on_time", 50)


# --- switches


@given(st.lists(st.integers(1, 40), min_size=1, max_size=6))
def test_every_sum_of_switches_that_add(values):
    parts = tuple(Position(str(i), v / 2, "plate", 0.1) for i, v in enumerate(values))
    switch = Switch("peak_current_A", parts, adds=True)
    sums = {
        sum(group) / 2 for size in range(1, len(values) + 1) for group in combinations(values, size)
    }
    assert switch.values.tolist() == sorted(sums)
    for choice in switch.choices:
        assert switch.position(choice.label) == choice
        assert switch.nearest(choice.value * 1.0001) == choice


def test_the_simplest_of_equal_sums_is_kept():
    parts = tuple(Position(x, v, "plate", 0.1) for x, v in [("a", 0.1), ("b", 0.7), ("c", 0.8)])
    labels = [choice.label for choice in Switch("peak_current_A", parts, adds=True).choices]
    # not a + b: c is 0.8 A too, and 0.1 + 0.7 falls a rounding error below it
    assert labels == ["a", "b", "c", "a + c", "b + c", "a + b + c"]


def test_labels_of_several_switches():
    current = ek.read_machine(SMALL).peak_current_A
    assert current.position("d + a") == current.position(["a", "d"])
    assert current.position("d+a").value == 2.5
    assert current.position("a + d").label == "a + d"


@pytest.mark.parametrize("bad", ["a + a", "a + x", "", [], ["a", 1], 1, None, [["a"]]])
def test_labels_that_switches_have_not_got(bad):
    with pytest.raises(ek.Refusal, match=r"a \(0.5 A\), b \(1 A\).*several"):
        ek.read_machine(SMALL).peak_current_A.position(bad)


def test_only_one_position_where_switches_do_not_add():
    with pytest.raises(ek.Refusal, match=r"1 \(1.5 A\)"):
        ek.read_machine(OLD).peak_current_A.position(["1", "2"])


def test_nearest_counts_by_ratio():
    switch = ek.read_machine(OLD).peak_current_A  # 4 and 6 A: the middle by ratio is 4.90 A
    assert switch.nearest(4.85).value == 4.0
    assert switch.nearest(4.95).value == 6.0
    with pytest.raises(ek.Refusal, match="peak_current_A must be"):
        switch.nearest(0)


def test_values_cannot_be_changed():
    with pytest.raises(ValueError, match="read-only"):
        ek.read_machine(OLD).on_time_us.values[0] = 1


# --- settings and grid


def test_settings_by_what_is_engraved():
    machine = ek.read_machine(OLD)
    settings = machine.settings("3", "4", "4", "low", gap_front_um=40.0)
    assert settings == ek.Settings(4.0, 12.0, 25.0, open_voltage_V=100.0, gap_front_um=40.0)
    assert ek.read_machine(SMALL).settings("a + b", "3", "2").open_voltage_V == 110.0


def test_settings_refused():
    machine = ek.read_machine(OLD)
    with pytest.raises(ek.Refusal, match=r"on_time_us must be one of 1 \(2.31 µs\).*got '11'"):
        machine.settings("3", "11", "4", "low")
    with pytest.raises(ek.Refusal, match=r"open_voltage_V .*low \(100 V\), high"):
        machine.settings("3", "4", "4")  # two voltages: neither is guessed


@pytest.mark.parametrize("path", [OLD, SMALL])
def test_grid_is_every_setting(path):
    machine = ek.read_machine(path)
    grid = machine.grid()
    counts = [len(getattr(machine, name).values) for name in LADDER]
    assert grid.shape == machine.grid_shape
    assert np.prod(grid.shape) == np.prod(counts)
    assert np.shape(grid.on_time_us) == (1, counts[1], 1, 1)[: len(grid.shape)]
    corner = np.broadcast_arrays(*(getattr(grid, name) for name in LADDER))
    assert [c.flat[-1] for c in corner] == [getattr(machine, name).values[-1] for name in LADDER]


# --- files that cannot be used


def test_the_smallest_file_is_read(read):
    machine = read()
    assert machine.grid_shape == (1, 1, 1)
    assert machine.lift is None and machine.driving_voltage_V is None


def test_all_faults_are_told_at_once(read):
    with pytest.raises(ek.Refusal) as caught:
        read(
            ('"from breakdown"', '"from brekdown"'),
            ("polarity_switch = true", "amp_meter_max_A = 20"),
            ("value = 3.0", 'value = "3,0"'),
            (ON_TIME, positions(0.00005, 50.0)),
            ("stop_mm = 0.01", 'stop_mm = "fine"'),
            (f"[off_time_us]\npositions = [{OFF_TIME}]", ""),
        )  # fmt: skip
    title, *faults = str(caught.value).split("\n- ")
    assert "machine.toml has 7 faults" in title
    told = "\n".join(faults)
    for words in (
        "did you mean 'from breakdown'?",
        "amp_meter_max_A is not a key that belongs here: did you mean 'ammeter_max_A'?",
        "polarity_switch must be true or false, without quotes, got nothing.",
        "peak_current_A.positions[1].value must be 0.05 to 500 A, got '3,0': write 3.0",
        "on_time_us.positions[1].value must be 0.1 to 10000 µs, got 5e-05 µs: "
        "in microseconds that is 50 (position '1')",
        "off_time_us must be a table with a list of positions, got nothing",
        "resolution.stop_mm must be 0.0001 to 1 mm, got 'fine'",
    ):
        assert words in told


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (ON_TIME, positions(5, 6).replace('"2"', '"1"'), r"positions\[2\].label must differ"),
        (ON_TIME, "", "must be a list of positions"),
        (ON_TIME, "50.0", r"on_time_us.positions\[1\] must be a position: .*got 50.0"),
        (ON_TIME, '{ label = "1", how_known = "plate" }', r'value .*nothing: write how_known = "u'),
        (ON_TIME, positions("nan"), "0.1 to 10000 µs, got nan"),
        (ON_TIME, positions("[5, 6]"), "must be one number"),
        (ON_TIME, positions('"50"'), "without quotes"),
        (ON_TIME, positions("true"), "0.1 to 10000 µs"),
        (ON_TIME, positions(-5), "got -5"),
        (ON_TIME, positions(5, how_known="metered"), "did you mean 'measured'"),
        (ON_TIME, ON_TIME.replace('"1"', "1"), 'label must be text in quotes, such as "1", got 1'),
        (ON_TIME, ON_TIME.replace('"1"', '" "'), "label must be text"),
        (ON_TIME, ON_TIME.replace(" }", ", spread = 0 }"), r"spread must be 0.001 to 2"),
        (ON_TIME, ON_TIME.replace("value", "valeu"), "valeu is not a key .* did you mean 'value'"),
        ("stop_mm = 0.01", "", "resolution.stop_mm .* got nothing"),
        ("stop_mm = 0.01", "stop_mm = 0.01\n[lift]\nburn_s = [5, 1]\nup_s = 3", "swap them"),
        ("stop_mm = 0.01", "stop_mm = 0.01\n[lift]\nburn_s = [1, 5]\nup_s = 3", r"up_s must be \["),
        ("stop_mm = 0.01", "stop_mm = 0.01\n[servo]\nlowest = 9\nhighest = 0", "swap them"),
        ("stop_mm = 0.01", "stop_mm = 0.01\n[flushing]\nkinds = ['sucktion']", "mean 'suction'"),
        ("stop_mm = 0.01", "stop_mm = 0.01\n[flushing]\nkinds = 'suction'", "a list of words"),
        ("plate_current", "driving_voltage_V = 110\nplate_current", "at most the lowest open"),
    ],
)
def test_one_fault(read, old, new, words):
    with pytest.raises(ek.Refusal, match=f"has [12] faults?:(?s:.*){words}"):
        read((old, new))


def test_switches_that_add_have_limits(read):
    adding = 'positions = [{ label = "1", value = 3.0'
    with pytest.raises(ek.Refusal, match=r"without a \+"):
        read((adding, 'switches = "add"\n' + adding.replace('"1"', '"1+"')))
    nine = SMALLEST.replace(CURRENT, positions(*range(1, 10)))
    with pytest.raises(ek.Refusal, match="at most 8 labels"):
        read(("[peak_current_A]", '[peak_current_A]\nswitches = "add"'), text=nine)


def test_broken_toml_names_the_line_and_the_comma(read):
    with pytest.raises(ek.Refusal, match=r"line 7.*value = 3,0.*with a point"):
        read(("value = 3.0", "value = 3,0"))
    with pytest.raises(ek.Refusal, match="valid TOML"):
        read(text='name = "open')


def test_other_files(read, tmp_path):
    with pytest.raises(ek.Refusal, match="cannot be read: No such file"):
        ek.read_machine(tmp_path / "absent.toml")
    with pytest.raises(ek.Refusal, match="folder"):
        ek.read_machine(tmp_path)
    with pytest.raises(ek.Refusal, match="save it as UTF-8"):
        read(text=SMALLEST.encode("utf-16"))
    assert read(text=b"\xef\xbb\xbf" + SMALLEST.encode()).name.startswith("Test")
