"""Every shipped page in headless Chromium, through the real launcher, offline."""

import json
import re

import pytest
from browser_kit import HANDLE, Tab, browser, launched, need_chromium

from edmkit.jupyter import shipped

PAGES = sorted(p.name for p in shipped("notebooks").glob("*.ipynb"))


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Return the launcher with an empty home, as on the first day."""
    need_chromium()
    with launched(tmp_path_factory.mktemp("pages")) as running:
        yield running


@pytest.fixture(scope="module")
def chromium(server):
    """Return a headless Chromium."""
    with browser() as running:
        yield running


def code_of(page):
    """Return the code of a shipped page."""
    cells = json.loads((shipped("notebooks") / page).read_text(encoding="utf-8"))["cells"]
    return "\n".join("".join(c["source"]) for c in cells if c["cell_type"] == "code")


def move(tab, handle):
    """Move one slider by key and wait until something besides its own readout changes."""
    before = tab.picture()
    handle.focus()
    at_end = handle.get_attribute("aria-valuenow") == handle.get_attribute("aria-valuemax")
    tab.page.keyboard.press("ArrowLeft" if at_end else "ArrowRight")
    tab.wait_picture(before)


def test_launcher_says_where_the_pages_are(server):
    said = "".join(server.said)
    assert str(server.folder) in said
    assert all(page in said for page in PAGES)
    assert "/doc/tree/00_" in said


@pytest.mark.parametrize("page", PAGES)
def test_page_runs_draws_and_answers_to_keys(server, chromium, page):
    tab = Tab(chromium, server, page)
    try:
        tab.wait_state("live")
        if re.search(r"edmkit\.panels|LiveFigure|Panel\(", code_of(page)):
            tab.wait_curves()
            assert tab.received < 2e6  # the plot code alone would be 5 MB
            handles = tab.page.locator(f"{HANDLE}:visible")
            for n in range(min(handles.count(), 6)):
                move(tab, handles.nth(n))
        assert tab.page.evaluate("performance.getEntriesByName('edmkit-run').length") == 1
        assert tab.page.locator("[data-mime-type='application/vnd.jupyter.stderr']").count() == 0
        assert (tab.errors, tab.outside) == ([], [])
    finally:
        tab.close()
