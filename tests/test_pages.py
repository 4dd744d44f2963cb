"""The page files as they are shipped, the launcher's copying, and what the package carries."""

import hashlib
import json
import re
import shutil
import socket
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from edmkit.__main__ import _find_page, _port, copy_pages, main
from edmkit.jupyter import HASHES, page_hash, page_hashes, shipped

TOP = Path(__file__).parent.parent
PAGES = sorted(shipped("notebooks").glob("*.ipynb"))


def read(path):
    """Return a page file as a dictionary."""
    return json.loads(path.read_text(encoding="utf-8"))


def text(cell):
    """Return the source of a cell."""
    return "".join(cell["source"])


# What a page file must be


def test_hash_list_is_current():
    assert json.loads(HASHES.read_text()) == page_hashes(shipped("notebooks")), (
        "A page changed: run python -m edmkit.jupyter"
    )


def test_page_hash_is_sha256_of_the_code_cells():
    cells = [("code", "a\r\nb"), ("markdown", "words"), ("code", ["c\n", "d"])]
    page = {"cells": [{"cell_type": kind, "source": source} for kind, source in cells]}
    assert page_hash(page) == hashlib.sha256(b"a\nb\0c\nd").hexdigest()


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_page_is_stripped_marked_and_folded(page):
    notebook = read(page)
    meta = notebook["metadata"]
    assert "widgets" not in meta
    assert meta["edmkit"]["page"] == page.name[:2]
    assert meta["kernelspec"]["name"] == "python3"
    for cell in notebook["cells"]:
        if cell["cell_type"] == "code":
            assert cell["metadata"]["jupyter"]["source_hidden"] is True
            assert not cell["outputs"] or "NBVAL_CHECK_OUTPUT" in text(cell)


@pytest.mark.parametrize("page", PAGES, ids=lambda p: p.name)
def test_page_says_how_to_start_in_a_plain_jupyterlab(page):
    said = [c for c in read(page)["cells"] if c["metadata"].get("edmkit") == "plain lab"]
    assert len(said) == 1
    assert text(said[0]).startswith("#")  # a large line
    assert "Run All Cells" in text(said[0])


# What the launcher does with the user's folder


def test_first_copy_brings_everything_and_says_so(tmp_path):
    said = "\n".join(copy_pages(tmp_path / "mine"))
    for page in PAGES:
        assert (tmp_path / "mine" / page.name).read_bytes() == page.read_bytes()
        assert page.name in said
    for machine in shipped("data_demo").glob("*.toml"):
        assert (tmp_path / "mine" / "data_demo" / machine.name).is_file()
    assert str(tmp_path / "mine") in said


def test_second_copy_is_silent_though_the_page_was_run(tmp_path):
    copy_pages(tmp_path)
    mine = tmp_path / PAGES[0].name
    page = read(mine)
    code = next(c for c in page["cells"] if c["cell_type"] == "code")
    code["execution_count"], code["outputs"] = 1, [{"output_type": "stream", "text": "run"}]
    mine.write_text(json.dumps(page))
    kept = mine.read_bytes()
    assert copy_pages(tmp_path) == [f"Your pages are in {tmp_path}"]
    assert mine.read_bytes() == kept


@pytest.mark.parametrize("content", ["", "not a page", "[]", '{"cells": [{}]}', '{"cells": 1}'])
def test_never_over_the_users_own(tmp_path, content):
    mine = tmp_path / PAGES[0].name
    mine.write_text(content)
    said = "\n".join(copy_pages(tmp_path))
    assert mine.read_text() == content
    assert "Kept as you left it" in said
    assert mine.name in said.split("Kept as you left it")[1]
    assert "edmkit --new-pages" in said


def test_new_pages_keeps_every_old_one_under_another_name(tmp_path):
    mine = tmp_path / PAGES[0].name
    for words in ("first", "second"):
        mine.write_text(words)
        said = "\n".join(copy_pages(tmp_path, new_pages=True))
        assert mine.read_bytes() == PAGES[0].read_bytes()
        assert "- mine" in said
    aside = sorted(p.read_text() for p in tmp_path.glob(f"{mine.stem} - mine *.ipynb"))
    assert aside == ["first", "second"]


@pytest.mark.parametrize("wanted", ["00", "0", "00_start", "00_start_here", "00_start_here.ipynb"])
def test_page_by_number_or_name(tmp_path, wanted):
    copy_pages(tmp_path)
    assert _find_page(tmp_path, wanted) == "00_start_here.ipynb"


def test_unknown_page_is_refused_with_the_names(tmp_path):
    copy_pages(tmp_path)
    with pytest.raises(SystemExit, match=r"no page '77'.*00_start_here\.ipynb"):
        _find_page(tmp_path, "77")


def test_folder_that_is_a_file_is_refused_in_words(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(SystemExit, match=r"cannot be used.*choose another --folder"):
        main(["--copy-only", "--folder", str(tmp_path / "file")])


def test_taken_port_is_refused_in_words():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        number = taken.getsockname()[1]
        with pytest.raises(SystemExit, match=f"Port {number} cannot be used"):
            _port(number)
        assert _port() not in (0, number)


def test_help_names_every_option():
    said = subprocess.run(
        [sys.executable, "-m", "edmkit", "--help"], capture_output=True, text=True, check=True
    ).stdout
    for word in ("page", "--folder", "--port", "--no-browser", "--copy-only", "--new-pages"):
        assert word in said
    assert "never written over" in said


# What a person installs


@pytest.fixture(scope="module")
def wheel_names(tmp_path_factory):
    """Return the names of all files of a wheel built from a copy of the source."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("wheel")
    unwanted = shutil.ignore_patterns("__pycache__", ".*")
    for folder in ("edmkit", "notebooks", "data_demo"):
        shutil.copytree(TOP / folder, source / folder, ignore=unwanted)
    for file in ("pyproject.toml", "README.md"):
        shutil.copy(TOP / file, source)
    build = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation"]
    subprocess.run([*build, "--no-index", "-q", "-w", out, source], check=True)
    return set(zipfile.ZipFile(next(out.glob("*.whl"))).namelist())


def test_wheel_carries_all_that_the_source_has(wheel_names):
    kinds = {".py", ".js", ".json", ".csv", ".ipynb", ".toml"}
    for folder in ("edmkit", "notebooks", "data_demo"):
        inside = [p for p in (TOP / folder).rglob("*") if p.suffix in kinds]
        names = [p.relative_to(TOP).as_posix() for p in inside if "/." not in p.as_posix()]
        wanted = {name if folder == "edmkit" else f"edmkit/{name}" for name in names}
        assert wanted
        assert not wanted - wheel_names


def test_build_machine_runs_the_readme_command():
    commands = [line for line in (TOP / ".ci" / "run").read_text().splitlines() if "pytest" in line]
    assert commands
    for line in commands:
        assert line.strip() in (TOP / "README.md").read_text()


def test_constraints_pin_every_dependency():
    project = tomllib.loads((TOP / "pyproject.toml").read_text())["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["test"]
    lines = (TOP / "tests" / "constraints.txt").read_text().lower().splitlines()
    pinned = {line.split("==")[0] for line in lines if "==" in line}
    assert not {re.split(r"[^\w-]", w)[0].lower() for w in wanted} - pinned
