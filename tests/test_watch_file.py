"""The running burn's file: what was kept is there after a kill, what was torn is said."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

import edmkit as ek
from edmkit.flushing.watch_file import FILE, LAST, WatchFile

WRITER = Path(__file__).with_name("watch_writer.py")


@pytest.fixture
def file(tmp_path):
    """Return a running burn with three readings."""
    made = WatchFile(tmp_path)
    made.begin({"hole": "round", "depth_mm": 4.0})
    for number in range(3):
        made.add({"minutes": 0.1 * number, "dial_mm": 1 / 3 + number})
    return made


def test_nothing_runs_at_first(tmp_path):
    file = WatchFile(tmp_path / "not there yet")
    assert not file.running and file.records == () and file.complaint == ""


def test_the_own_folder_is_where_it_lies(tmp_path, monkeypatch):
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "own"))
    WatchFile().begin({"a": 1})
    assert (tmp_path / "own" / FILE).exists() and WatchFile().start == {"a": 1}


def test_what_was_kept_comes_back_to_the_last_bit(file, tmp_path):
    again = WatchFile(tmp_path)
    assert again.start == {"hole": "round", "depth_mm": 4.0}
    assert again.records == file.records
    assert again.records[1] == {"minutes": 0.1, "dial_mm": 1 / 3 + 1} and not again.complaint


def test_two_pages_see_and_write_the_same_burn(file, tmp_path):
    other = WatchFile(tmp_path)
    other.add({"minutes": 9})
    file.add({"minutes": 10})
    other.look()
    assert [r["minutes"] for r in other.records[-2:]] == [9, 10] and len(file.records) == 5


@pytest.mark.parametrize("cut", range(1, 45))
def test_a_torn_last_line_is_left_out_and_said_and_the_next_is_kept(file, tmp_path, cut):
    whole = file.path.read_bytes()
    file.path.write_bytes(whole[:-cut])
    again = WatchFile(tmp_path)
    kept = 3 if cut == 1 else 2  # only the line's end was lost
    assert len(again.records) == kept and again.records == file.records[:kept]
    assert ("1 reading was cut short" in again.complaint) == (kept == 2)
    again.add({"minutes": 5})
    assert WatchFile(tmp_path).records == (*file.records[:kept], {"minutes": 5})


def test_a_changed_line_is_left_out_and_said(file, tmp_path):
    file.path.write_bytes(file.path.read_bytes().replace(b'"minutes":0.1', b'"minutes":0.7'))
    again = WatchFile(tmp_path)
    assert [r["minutes"] for r in again.records] == [0.0, 0.2]
    assert again.complaint.startswith("1 reading was") and str(file.path) in again.complaint


@pytest.mark.parametrize(
    "junk", [b"", b"\0" * 300, b"hello\n", b"\xff\xfe\n", b"00000000 \n", b"\n"]
)
def test_a_file_that_is_not_one_is_set_aside_and_said(tmp_path, junk):
    (tmp_path / FILE).write_bytes(junk)
    file = WatchFile(tmp_path)
    assert not file.running and "set aside as" in file.complaint
    assert [p.read_bytes() for p in tmp_path.glob("*.broken")] == [junk]
    file.look()
    assert "set aside as" in file.complaint  # said until the next burn begins
    file.begin({"a": 1})
    assert file.running and file.complaint == ""


def test_a_readable_line_that_is_no_beginning_is_set_aside(file, tmp_path):
    lines = file.path.read_bytes().split(b"\n")
    file.path.write_bytes(b"\n".join(lines[1:]))
    assert not WatchFile(tmp_path).running


def test_a_burn_that_another_page_began_is_not_overwritten(tmp_path):
    mine, other = WatchFile(tmp_path), WatchFile(tmp_path)
    other.begin({"a": 1})
    with pytest.raises(ek.Refusal, match="a burn is running already"):
        mine.begin({"a": 2})
    assert WatchFile(tmp_path).start == {"a": 1}


def test_one_burn_at_a_time(file, tmp_path):
    with pytest.raises(ek.Refusal, match="a burn is running already"):
        WatchFile(tmp_path).begin({"a": 1})
    assert WatchFile(tmp_path).start["hole"] == "round"


def test_finish_keeps_the_readings_of_the_last_burn(file, tmp_path):
    kept = file.path.read_bytes()
    file.finish()
    assert not file.running and not WatchFile(tmp_path).running
    assert (tmp_path / LAST).read_bytes() == kept
    file.finish()  # nothing left to end
    with pytest.raises(ek.Refusal, match="no burn is running"):
        file.add({"minutes": 1})
    file.begin({"a": 2})
    file.finish()
    assert b'"a":2' in (tmp_path / LAST).read_bytes()


def test_a_line_is_plain_json_behind_its_check_sum(file):
    lines = [line for line in file.path.read_text(encoding="utf-8").split("\n") if line]
    assert json.loads(lines[1].split(" ", 1)[1]) == file.records[0] and len(lines) == 4


def test_every_reading_goes_through_to_the_disk(file, monkeypatch):
    synced = []
    monkeypatch.setattr(os, "fsync", synced.append)
    file.add({"minutes": 1})
    assert len(synced) == 1


def test_a_full_or_forbidden_disk_is_said_and_nothing_is_lost(file, monkeypatch):
    def full(_):
        raise OSError(28, "No space left on device")

    before = file.records
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ek.Refusal, match=r"could not be kept in .*No space left.*make room"):
        file.add({"minutes": 9})
    monkeypatch.undo()
    file.look()
    assert file.records[:3] == before


def test_a_folder_that_cannot_be_is_said(tmp_path):
    (tmp_path / "a file").write_text("")
    file = WatchFile(tmp_path / "a file")
    with pytest.raises(ek.Refusal, match="could not be kept"):
        file.begin({"a": 1})


def test_a_folder_in_its_place_is_said(tmp_path):
    (tmp_path / FILE).mkdir()
    file = WatchFile(tmp_path)
    assert not file.running and "could not be read" in file.complaint


@pytest.mark.parametrize("seed", range(3))
def test_a_writer_that_is_killed_loses_nothing_it_was_told_is_kept(tmp_path, seed):
    writer = subprocess.Popen(
        [sys.executable, str(WRITER), str(tmp_path)], stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(Path(ek.__file__).parents[1])},
    )  # fmt: skip
    with writer:
        told = [int(writer.stdout.readline()) for _ in range(random.Random(seed).randint(1, 40))]
        writer.kill()
        told += [int(line) for line in writer.stdout.read().split("\n")[:-1]]
    file = WatchFile(tmp_path)
    found = [record["minutes"] for record in file.records]
    assert file.start == {"name": "begun by the writer"}
    assert found[: len(told)] == told == list(range(len(told))) and len(found) <= len(told) + 1
    file.add({"minutes": -1})
    assert WatchFile(tmp_path).records[-1] == {"minutes": -1}
