"""Every shipped page in headless Chromium, through the real launcher, offline."""

import pytest
from browser_kit import HANDLE, WAIT, Tab, browser, launched, need_chromium
from playwright.sync_api import expect

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


# words and choices only; every other page has sliders
WITHOUT_SLIDERS = {
    "00_start_here.ipynb",
    "01_what_do_my_dials_mean.ipynb",
    "05_what_did_the_burn_teach.ipynb",
    "90_how_far_to_trust_it.ipynb",
}


def move(tab, handle):
    """Move one slider by key; return whether the drawing changed, not only a word."""
    before = tab.picture()
    handle.focus()
    at_end = handle.get_attribute("aria-valuenow") == handle.get_attribute("aria-valuemax")
    tab.page.keyboard.press("ArrowLeft" if at_end else "ArrowRight")
    tab.wait_picture(before)
    tab.page.wait_for_timeout(500)
    return tab.picture().split("#")[:2] != before.split("#")[:2]


def choose(tab, select):
    """Take another word in a list by key and the first again; the page must follow both times."""
    select.focus()
    for key in ("ArrowDown", "ArrowUp"):
        before = tab.picture()
        tab.page.keyboard.press(key)
        tab.wait_picture(before)


def test_launcher_says_where_the_pages_are(server):
    said = "".join(server.said)
    assert str(server.folder) in said
    assert all(page in said for page in PAGES)
    assert "/doc/tree/00_" in said


@pytest.fixture
def open_page(server, chromium):
    """Return a function that opens a page, lets it come to rest, and looks for trouble at last."""
    tabs = []

    def opened(name):
        tabs.append(Tab(chromium, server, name))
        tabs[-1].wait_state("live")
        return tabs[-1]

    yield opened
    for tab in tabs:
        runs = tab.page.evaluate("performance.getEntriesByName('edmkit-run').length")
        stderr = tab.page.locator("[data-mime-type='application/vnd.jupyter.stderr']").count()
        tab.close()
        assert (runs, stderr, tab.errors, tab.outside) == (1, 0, [], [])


@pytest.mark.parametrize("page", [p for p in PAGES if p not in WITHOUT_SLIDERS])
def test_page_draws_and_answers_to_keys(open_page, page):
    tab = open_page(page)
    tab.wait_curves()
    tab.page.wait_for_timeout(2000)  # whatever JupyterLab still asks for
    assert tab.received < 1e6  # the goal; the plot code alone would be 5 MB
    handles = tab.page.locator(f"{HANDLE}:visible")
    assert handles.count() >= 3
    assert sum(move(tab, handles.nth(n)) for n in range(min(handles.count(), 6))) >= 3


@pytest.mark.parametrize("page", [p for p in PAGES if p in WITHOUT_SLIDERS])
def test_page_of_words_answers_to_keys(open_page, page):
    tab = open_page(page)
    lists = tab.page.locator("select:visible")
    assert lists.count() >= 1
    for n in range(lists.count()):
        choose(tab, lists.nth(n))


def test_start_page_opens_the_others(open_page):
    tab = open_page("00_start_here.ipynb")
    with tab.page.context.expect_page() as opened:
        tab.page.locator("a[href='02_which_settings.ipynb']").click()
    line = opened.value.locator(".edmkit-line")
    expect(line).to_have_attribute("data-state", "live", timeout=WAIT)
