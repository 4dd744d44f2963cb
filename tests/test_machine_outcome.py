"""The end of page 01 without a browser: bands, doubts, machine file, sheet, drift."""

import json
import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from types import SimpleNamespace

import pytest
from measured_kit import some_dials

import edmkit as ek
from edmkit.dials.answer import dials_of
from edmkit.dials.practice import PRACTICE as MACHINE
from edmkit.dials.practice import blank_survey, read
from edmkit.dials.survey import SHORT, Plate, Reading
from edmkit.panels.machine_outcome import SHEET, MachineOutcome
from edmkit.panels.memory import Memory
from edmkit.panels.which_settings import WhichSettings


def text(widget):
    """Return what a widget shows, without its tags."""
    return unescape(re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", widget.value)))


@pytest.fixture
def home(tmp_path, monkeypatch):
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def page(tmp_path, home):
    folder = tmp_path / "pages"
    folder.mkdir()
    return SimpleNamespace(folder=folder, memory=Memory(home), practice=None)


@pytest.fixture
def outcome(page):
    return MachineOutcome(page)


# --- what is shown ----------------------------------------------------------------------------
def test_bands_before_and_after(outcome):
    outcome.show(some_dials(told={"plates": (Plate("on_time_us", "5", 50.0),)}))
    words = text(outcome.bands)
    assert "at current 2, on-time 5, off-time 4, open voltage 1:" in words
    for answer in ("round hole of 3 mm", "Time", "Roughness Ra", "Side gap", "Wear"):
        assert answer in words
    for before, now in re.findall(
        r"([\d.]+) times before, ([\d.]+) now", words.replace("\u202f", "")
    ):
        assert float(now) < float(before)
    assert len(re.findall("times before", words)) == 4


def test_doubts_are_shown_and_escaped(outcome):
    outcome.show(some_dials(kind="", faults=[("on_time_us", "2", "<i>worn</i>")]))
    assert "How the on-time counts is not known" in text(outcome.doubts)
    assert "<i>" not in outcome.doubts.value and "worn" in text(outcome.doubts)


def test_nothing_is_shown_before_there_is_anything(outcome):
    outcome.show(None)
    assert outcome.bands.value == outcome.doubts.value == outcome.drift.value == ""


def test_a_machine_that_cannot_be_is_said(outcome):
    outcome.show(some_dials(on_time_us=[2.0, 20_000.0]))
    assert "Check" not in text(outcome.bands) and "position '2'" in text(outcome.bands)
    outcome.write.click()
    assert "waits until the dials are known" in text(outcome.said)


def test_what_changed_since_the_last_time(outcome):
    def measured(factor, day):
        times = {**MACHINE.on_time_us, "4": factor * MACHINE.on_time_us["4"]}
        machine, survey = replace(MACHINE, on_time_us=times), blank_survey(MACHINE)
        for on in survey.on_time_us:
            for off in survey.off_time_us:
                amps = read(machine, SHORT, ("8",), on, off)
                told = Reading(SHORT, amps, ("8",), on, off, "fixed", day=day)
                survey = survey.with_reading(told) if amps > 0.6 else survey
        return dials_of(survey)

    outcome.show(measured(1.4, "2026-11-20"), measured(1.0, "2026-05-03"))
    assert "On-time 4 is 40 % longer than on" in text(outcome.drift) and "3 May 2026" in text(
        outcome.drift
    )


# --- the machine file -------------------------------------------------------------------------
def test_the_machine_file_is_written_and_page_02_opens_with_it(outcome, page, home):
    outcome.show(some_dials())
    outcome.write.click()
    assert outcome.path == home / "machines" / "bench_sinker_invented.toml"
    assert str(outcome.path) in text(outcome.said)
    opened = WhichSettings(Memory(home), page.folder, None)
    assert opened.machine == ek.read_machine(outcome.path)
    assert opened.machine.on_time_us.position("5").value == 52.0
    assert opened._trouble == "" and opened.message == ""


def test_the_last_job_goes_over_to_the_nearest_positions(outcome, page, home):
    before = WhichSettings(Memory(home), page.folder, None)
    before.hole_controls.lengths["size"].type("4.2")
    wish = before.switches["on_time_us"].values[before.switch_controls.rows["on_time_us"].value]
    outcome.show(some_dials())
    outcome.write.click()
    after = WhichSettings(Memory(home), page.folder, None)
    assert after.job.size == 4.2 and after._trouble == ""
    value = after.switches["on_time_us"].values[after.switch_controls.rows["on_time_us"].value]
    others = after.switches["on_time_us"].values
    assert abs(value / wish - 1) <= min(abs(others / wish - 1)) + 1e-9


def test_a_job_that_cannot_be_read_does_not_stop_the_file(outcome, page, home):
    page.memory.keep(machine="gone.toml", job={"positions": {"peak_current_A": "99"}}, inches=True)
    outcome.show(some_dials())
    outcome.write.click()
    kept = json.loads((home / "last_job.json").read_text(encoding="utf-8"))
    assert kept == {"machine": str(outcome.path), "inches": True}


def test_a_page_without_memory_writes_all_the_same(page, home):
    page.memory = None
    outcome = MachineOutcome(page)
    outcome.show(some_dials())
    outcome.write.click()
    assert outcome.path.exists() and not (home / "last_job.json").exists()


def test_a_disk_that_refuses_is_said(outcome, home):
    home.mkdir()
    (home / "machines").write_text("")
    outcome.show(some_dials())
    outcome.write.click()
    assert "was not saved" in text(outcome.said) and outcome.path is None


# --- the sheet --------------------------------------------------------------------------------
@pytest.mark.parametrize(("paper", "size"), [("A4", "size: A4"), ("Letter", "size: letter")])
def test_the_sheet_lies_beside_the_page(outcome, page, paper, size):
    outcome.show(some_dials())
    outcome.paper.value = paper
    outcome.make.click()
    sheet = (page.folder / SHEET).read_text(encoding="utf-8")
    assert "Bench sinker (invented)" in sheet and size in sheet
    assert str(page.folder / SHEET) in text(outcome.hung)
    assert f"files/{SHEET}" in outcome.hung.value


def test_the_sheet_waits_for_the_dials_and_says_where_it_cannot_go(outcome, page):
    outcome.make.click()
    assert "waits until the dials are known" in text(outcome.hung)
    outcome.show(some_dials())
    page.folder = Path(page.folder / "nowhere")
    outcome.make.click()
    assert "was not written" in text(outcome.hung)


def test_what_was_said_of_files_is_old_when_the_dials_change(outcome):
    outcome.show(some_dials())
    outcome.write.click()
    outcome.make.click()
    outcome.show(some_dials(kind="in a fixed period"))
    assert outcome.said.value == outcome.hung.value == "" and outcome.path is None
