"""Tables of own materials: built behind the page's back, cancelled without a trace."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose

import edmkit as ek
from edmkit import own_tables, tables
from edmkit.own_folder import remove_material, table_path
from edmkit.own_tables import ROWS, start_build
from edmkit.physics import crater

POSIX = pytest.mark.skipif(os.name == "nt", reason="process groups and /dev/shm are POSIX's")
H13 = ek.work_material("H13")


def made(name="Twin of H13"):
    """Return an own material with the numbers of a shipped steel, under another name."""
    return ek.make_material(
        name,
        H13.family,
        density_kg_m3=H13.density,
        cp_mean_to_melt_J_kgK=H13.heat_capacity,
        k_high_W_mK=H13.conductivity,
        melt_used_C=H13.melting_point - 273.15,
        T_boil_C=H13.boiling_point - 273.15,
        latent_fusion_kJ_kg=H13.fusion_heat / 1e3,
        temper_limit_C=H13.temper_limit - 273.15,
        source="the kit's own H13",
    )


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """Give a user's folder and a folder for drafts of its own; return where materials lie."""
    monkeypatch.setenv("EDMKIT_HOME", str(tmp_path / "home"))
    (tmp_path / "temp").mkdir()
    monkeypatch.setenv("TMPDIR", str(tmp_path / "temp"))
    monkeypatch.setenv("PYTHONPATH", str(Path(ek.__file__).parents[1]))
    tables.table.cache_clear()
    yield tmp_path / "home" / "materials"
    for build in own_tables._RUNNING.values():
        build.cancel()
    own_tables._RUNNING.clear()
    tables.table.cache_clear()


@pytest.fixture
def saved():
    """Return an own material that is saved."""
    material = made()
    ek.save_material(material)
    return material


def traces(tmp_path):
    """Return every file under the test's folders, the package's data and the shared memory."""
    places = (tmp_path, Path(tables.FOLDER), Path("/dev/shm"))
    return {path for place in places if place.is_dir() for path in place.rglob("*")}


def until(true, seconds=20):
    """Wait until something is true; fail if it does not come."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)


def group_of(pid):
    """Return the living processes of a group, by Linux's /proc."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, group = stat.read_text().rsplit(")", 1)[1].split()[:3]
        except OSError:
            continue
        if int(group) == pid and state != "Z":
            found.append(int(stat.parent.name))
    return found


# --- what a table is ---
def test_a_twin_has_the_shipped_steels_rows(saved, folder, monkeypatch):
    # two rows solved here, the others counted only: the shipped table is the outside figure
    real, picked = tables.solved, {3: None, 11: None}
    _, fouriers = tables._nodes(tables.numbers(saved))

    def some(known, fourier, fluxes):
        number = int(np.argmin(abs(fouriers - fourier)))
        return real(known, fourier, fluxes) if number in picked else np.ones((len(fluxes), 7))

    monkeypatch.setattr(tables, "solved", some)
    heard = []
    tables.build(saved, report=lambda done, of: heard.append((done, of)))
    assert heard == [(n, 18) for n in range(1, 19)] and ROWS == 18
    own, shipped = tables.table(saved), tables.table(H13)
    assert_allclose(own.fourier_numbers, shipped.fourier_numbers, rtol=1e-5)
    assert_allclose(own.values[:, [3, 11]], shipped.values[:, [3, 11]], rtol=1e-4)
    assert sorted(p.name for p in folder.iterdir()) == [
        "craters_own-twin-of-h13.csv",
        "own-twin-of-h13.toml",
    ]


def put_in_place(material):
    """Give an own material the table of its twin: only the name in the first line differs."""
    table_path(material.key).write_bytes(tables.path_of(H13).read_bytes())


def test_with_a_table_a_burn_is_predicted_as_for_its_twin(saved):
    put_in_place(saved)
    pair = ek.electrode_material("copper"), ek.dielectric("edm_oil"), "electrode positive", 7.0
    burns = [ek.predict(ek.Setup(m, *pair), ek.Settings(3, 50, 25)) for m in (saved, H13)]
    rates = [burn.removal_rate_mm3_per_min.likely for burn in burns]
    assert rates[0] == pytest.approx(rates[1], rel=1e-6)


def test_without_a_table_the_page_is_named_and_a_new_one_is_seen_at_once(saved):
    with pytest.raises(ek.Refusal, match=r"no table of craters for Twin .* on the page 'A new mat"):
        tables.table(saved)
    put_in_place(saved)
    assert tables.table(saved).values.shape == (24, 18, 7)
    changed = ek.make_material(
        "Twin of H13", H13.family, density_kg_m3=7000, cp_mean_to_melt_J_kgK=680, k_high_W_mK=28,
        melt_used_C=1400, T_boil_C=2860, latent_fusion_kJ_kg=250, source="invented",
    )  # fmt: skip
    ek.save_material(changed)
    with pytest.raises(ek.Refusal, match=r"built for other numbers .* on the page 'A new mat"):
        tables.table(changed)


def test_an_empty_table_is_refused(saved):
    table_path(saved.key).write_text("", encoding="utf-8")
    with pytest.raises(ek.Refusal, match="build it anew"):
        tables.table(saved)


def test_removing_the_material_removes_its_table(saved, folder):
    put_in_place(saved)
    remove_material(saved.key)
    assert list(folder.iterdir()) == []


def test_the_command_for_shipped_tables_leaves_own_ones_alone(saved, monkeypatch):
    built = []
    monkeypatch.setattr(tables, "build", lambda metal, run, report: built.append(metal.key))
    tables.main([])
    assert built == []


def test_a_full_disk_leaves_no_draft(saved, folder, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tables, "solved", lambda known, fo, fluxes: np.ones((len(fluxes), 7)))
    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="No space"):
        tables.build(saved)
    assert [p.name for p in folder.iterdir()] == ["own-twin-of-h13.toml"]


# --- in the background ---
def test_only_a_saved_material_is_built(saved):
    for other in (made("Another"), H13):
        with pytest.raises(ek.Refusal, match="must be saved before its table is built"):
            start_build(other)


@POSIX
def test_a_cancelled_build_leaves_nothing(saved, tmp_path):
    before = traces(tmp_path)
    build = start_build(saved)
    with pytest.raises(ek.Refusal, match="is being built: wait for it, or cancel it first"):
        start_build(saved)
    until(lambda: build.done >= 1)
    pid = build._process.pid
    assert len(group_of(pid)) >= 2 and not build.finished
    told = time.monotonic()
    build.cancel()
    assert time.monotonic() - told < 3  # told, and not killed after waiting
    assert build.finished and build.cancelled and build.error == ""
    until(lambda: not group_of(pid), 3)
    assert traces(tmp_path) == before
    assert not tables.is_built(saved)
    again = start_build(saved)  # allowed now
    again.cancel()  # before it has begun
    until(lambda: not group_of(again._process.pid), 3)
    assert traces(tmp_path) == before
    again.cancel()


@POSIX
def test_a_killed_build_is_told_and_leaves_no_process(saved, tmp_path):
    before = traces(tmp_path)
    build = start_build(saved)
    pid = build._process.pid
    until(lambda: len(group_of(pid)) >= 4)  # itself, its tracker, two workers
    os.kill(pid, signal.SIGKILL)
    build.wait(5)
    assert not build.cancelled
    said = "The table for Twin of H13 was not built: the building process ended with code -9."
    assert build.error == said
    until(lambda: not group_of(pid), 5)
    assert traces(tmp_path) == before


@POSIX
def test_when_the_page_is_gone_the_build_ends(saved, tmp_path):
    before = traces(tmp_path)
    code = (
        "import edmkit as ek, os, time; from edmkit.own_tables import start_build; "
        "b = start_build(ek.work_material('Twin of H13')); print(b._process.pid, flush=True); "
        "time.sleep(60)"
    )
    page = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    pid = int(page.stdout.readline())
    until(lambda: len(group_of(pid)) >= 2)
    page.kill()
    page.communicate()
    until(lambda: not group_of(pid), 25)  # when it wants to tell of its next row
    assert traces(tmp_path) == before


def test_a_draft_that_was_left_is_swept_at_the_next_start(saved, folder):
    left = folder / "craters_own-twin-of-h13.12345.part"
    other = folder / "craters_own-twin-of-h13-esr.12345.part"
    for draft in (left, other):
        draft.write_text("half", encoding="utf-8")
    assert list(ek.own_materials()) == [saved.key]
    start_build(saved).cancel()
    assert other.exists() and not left.exists()


@pytest.mark.parametrize("early", [True, False])
def test_a_material_that_is_removed_meanwhile_gets_no_table(saved, folder, early):
    build = start_build(saved)
    if early:
        remove_material(saved.key)
    until(lambda: build.finished if early else build.done >= 1)
    if not early:
        remove_material(saved.key)
    build.wait(30)
    assert "not built: the material was changed or removed meanwhile." in build.error
    assert list(folder.iterdir()) == []


def test_what_the_solver_refuses_is_the_error(saved, monkeypatch, capsys):
    def refuses(*_):
        raise ek.Refusal("latent must be 0 to 10, got 26.")

    monkeypatch.setattr(own_tables, "build", refuses)
    assert own_tables.main([saved.key]) == 1
    assert "latent must be 0 to 10" in capsys.readouterr().out


def test_progress_is_told_row_by_row(saved, monkeypatch, capsys):
    def builds(material, run, report):
        for done in range(1, 19):
            report(done, 18)

    monkeypatch.setattr(own_tables, "build", builds)
    assert own_tables.main([saved.key]) == 0
    assert capsys.readouterr().out.split() == [str(n) for n in range(1, 19)]


def test_an_own_brass_boils_early_too():
    # zinc leaves far below copper's boiling point; the limit is the family's
    brass = ek.work_material("brass")
    figures = {
        "density_kg_m3": 8500, "cp_mean_to_melt_J_kgK": 440, "k_high_W_mK": 120,
        "melt_used_C": 890, "T_boil_C": 2300, "latent_fusion_kJ_kg": 170,
    }  # fmt: skip
    own = ek.make_material("Clock brass", "brass", source="invented", **figures)
    rise = own.melting_point - crater.START
    shipped_rise = brass.melting_point - crater.START
    boils = tables.numbers(own)["boiling"] * rise
    assert abs(boils / (tables.numbers(brass)["boiling"] * shipped_rise) - 1) < 1e-3
