"""How a page starts by itself, and when it does not: the launcher and Chromium on trial pages."""

import contextlib
import os
import signal
import time

import psutil
import pytest
from browser_kit import (
    CURVE,
    HANDLE,
    TRIAL_CODE,
    WAIT,
    Tab,
    browser,
    launched,
    need_chromium,
    page_file,
)
from browser_kit import trial_kit as make_kit
from playwright.sync_api import TimeoutError, expect

SHIPPED = {
    "00_quick.ipynb": page_file("print('the page ran')"),
    "01_plot.ipynb": page_file(TRIAL_CODE),
    "02_broken.ipynb": page_file("1 / 0"),
}
OWN = {
    "edited.ipynb": page_file("print('the page was edited')"),
    "foreign.ipynb": page_file("print('the page ran')", mark=None),
}


def set_traps(home):
    """Put things into a user's home that must not be run or read; each would leave 'trapped'."""
    trap = f"open({str(home / 'trapped')!r}, 'a').write(__file__)\n"
    kernel = home / ".local/share/jupyter/kernels/python3/kernel.json"
    startup = home / ".ipython/profile_default/startup/start.py"
    settings = home / ".jupyter/jupyter_server_config.py"
    stray = [home / "edmkit" / name for name in ("plotly.py", "ipywidgets.py", "jupyterlab.py")]
    for path in (kernel, startup, settings, *stray):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(trap)
    kernel.write_text('{"argv": ["false"], "display_name": "Another Python", "language": "python"}')
    for name, text in OWN.items():
        (home / "edmkit" / name).write_text(text)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Return the launcher on trial pages, in a home full of traps."""
    need_chromium()
    place = tmp_path_factory.mktemp("start")
    set_traps(place / "home")
    with launched(place, make_kit(place / "kit", SHIPPED)) as running:
        yield running


@pytest.fixture(scope="module")
def chromium(server):
    """Return a headless Chromium."""
    with browser() as running:
        yield running


@pytest.fixture
def open_page(server, chromium):
    """Return a function that opens a page in a tab, closed after the test."""
    tabs = []

    def opened(name):
        tabs.append(Tab(chromium, server, name))
        return tabs[-1]

    yield opened
    for tab in tabs:
        tab.close()  # once more does no harm


def kernel_process(server, page):
    """Return the process that runs a page's Python."""
    name = server.kernel(page)
    children = psutil.Process(server.process.pid).children(recursive=True)
    return next(p for p in children if name in " ".join(p.cmdline()))


def wait_saved(server, page, seconds=20):
    """Return what a page's cells left in the file, once the page has saved it."""
    end = time.monotonic() + seconds
    while not (cells := [c for c in server.saved(page) if c[0]]) and time.monotonic() < end:
        time.sleep(0.1)
    return cells


def wait_runs(tab, number, timeout=WAIT):
    """Wait until the page has been run so often and is live."""
    runs = "performance.getEntriesByName('edmkit-run').length"
    tab.page.wait_for_function(f"{runs} >= {number}", timeout=timeout)
    tab.wait_state("live")
    assert tab.page.evaluate(runs) == number


def test_shipped_page_runs_once_and_shows_no_code(server, open_page):
    tab = open_page("00_quick.ipynb")
    tab.wait_state("live")
    expect(tab.page.get_by_text("the page ran", exact=True)).to_be_visible()
    assert [count for count, _ in wait_saved(server, tab.name)] == [1]
    for hidden in (".cm-content", ".jp-RenderedMarkdown h2", ".jp-NotebookPanel-toolbar"):
        expect(tab.page.locator(hidden).first).to_be_hidden()
    for side in (".jp-SideBar.lm-TabBar", "#jp-main-statusbar"):
        expect(tab.page.locator(f"{side}:visible")).to_have_count(0)
    assert (tab.errors, tab.outside) == ([], [])


def test_code_can_be_shown_and_hidden(open_page):
    tab = open_page("00_quick.ipynb")
    tab.wait_state("live")
    tab.page.get_by_role("button", name="Show the code").click()
    expect(tab.page.locator(".jp-CodeCell .cm-content")).to_be_visible()
    expect(tab.page.locator(".jp-NotebookPanel-toolbar")).to_be_visible()
    tab.page.get_by_role("button", name="Hide the code").click()
    expect(tab.page.locator(".jp-CodeCell .cm-content")).to_be_hidden()


def test_plot_is_live_fetched_by_http_and_moves_with_a_key(open_page):
    tab = open_page("01_plot.ipynb")
    run_to_curves = tab.wait_curves()
    tab.wait_state("live")
    # The goals: first curves under 4 s on two idle cores, under 1 MB through the kernel.
    # The time is loose here, since other tests run beside this one; the benchmark is strict.
    assert run_to_curves < 20
    assert 1e3 < tab.received < 1e6
    before = tab.page.locator(CURVE).first.get_attribute("d")
    tab.page.locator(HANDLE).first.focus()
    tab.page.keyboard.press("ArrowRight")
    expect(tab.page.get_by_text("factor 6", exact=True)).to_be_visible()
    expect(tab.page.locator(CURVE).first).not_to_have_attribute("d", before)
    expect(tab.page.locator(".modebar-btn")).to_have_count(0)  # one of them sends plots outside
    assert (tab.errors, tab.outside) == ([], [])


def test_plain_keys_belong_to_the_page_while_its_code_is_hidden(open_page):
    tab = open_page("01_plot.ipynb")
    tab.wait_state("live")
    cells = tab.page.locator(".jp-Cell")
    handle = tab.page.locator(HANDLE).first
    handle.focus()
    for key in ("x", "d", "d", "ArrowDown"):  # JupyterLab: cut, delete, next cell
        tab.page.keyboard.press(key)
    expect(handle).to_be_focused()
    expect(cells).to_have_count(2)


_SHAPE = "document.querySelector('.js-plotly-plot')?.data?.[0].y[10]"


def test_reload_brings_the_running_page_back(server, open_page):
    tab = open_page("01_plot.ipynb")
    tab.wait_state("live")
    tab.page.locator(HANDLE).first.focus()
    tab.page.keyboard.press("ArrowRight")
    expect(tab.page.get_by_text("factor 6", exact=True)).to_be_visible()
    tab.page.wait_for_function(f"{_SHAPE} == 6 * 10 ** 2")
    wait_saved(server, tab.name)
    tab.page.reload()
    tab.wait_state("live")
    expect(tab.page.get_by_text("factor 6", exact=True)).to_be_visible(timeout=20_000)
    tab.page.wait_for_function(f"{_SHAPE} == 6 * 10 ** 2")  # the plot as it is, not as it began
    assert tab.page.evaluate("performance.getEntriesByName('edmkit-run').length") == 0


def test_page_saved_on_an_earlier_day_runs_anew(server, open_page):
    for _ in range(2):
        tab = open_page("01_plot.ipynb")
        tab.wait_curves()
        wait_runs(tab, 1)
        wait_saved(server, tab.name)
        expect(tab.page.locator(".js-plotly-plot:visible")).to_have_count(1)
        expect(tab.page.get_by_text("factor 5", exact=True)).to_be_visible()
        expect(tab.page.get_by_text("Error displaying widget")).to_have_count(0)
        tab.close()


def test_edited_page_waits_for_the_button(open_page):
    tab = open_page("edited.ipynb")
    tab.wait_state("edited")
    expect(tab.line).to_contain_text("was changed, so it did not start by itself")
    output = tab.page.get_by_text("the page was edited", exact=True)
    expect(output).to_have_count(0)
    tab.page.get_by_role("button", name="Start this page").click()
    tab.wait_state("live")
    expect(output).to_be_visible()


def test_foreign_notebook_is_untouched(open_page):
    tab = open_page("foreign.ipynb")  # its code equals a shipped page's
    tab.page.locator(".jp-Notebook-ExecutionIndicator[data-status=idle]").wait_for()
    time.sleep(2)  # time enough to start something
    expect(tab.line).to_have_count(0)
    expect(tab.page.locator(".jp-OutputArea-output")).to_have_count(0)
    expect(tab.page.locator(".jp-CodeCell .jp-Cell-inputWrapper")).to_be_visible()
    expect(tab.page.locator(".jp-RenderedMarkdown h2")).to_be_visible()


def test_error_is_shown_with_a_button(open_page):
    tab = open_page("02_broken.ipynb")
    tab.wait_state("error")
    expect(tab.page.get_by_role("button", name="Start again")).to_be_visible()
    expect(tab.page.get_by_text("ZeroDivisionError").first).to_be_visible()


def test_restart_runs_again(server, open_page):
    tab = open_page("00_quick.ipynb")
    tab.wait_state("live")
    menu = tab.page.locator(".lm-Menu-itemLabel")
    tab.page.get_by_role("menuitem", name="Kernel").click()
    menu.get_by_text("Restart Kernel…", exact=True).click()
    tab.page.locator(".jp-Dialog button.jp-mod-accept").click()
    wait_runs(tab, 2)


def test_restart_from_elsewhere_runs_again(server, open_page):
    tab = open_page("00_quick.ipynb")
    tab.wait_state("live")
    # The page hears of it by one message, which the server can lose while it connects to the new
    # Python; nothing else tells. So a restart that was not heard is made again, and seldom is.
    for _ in range(3):
        before = tab.page.evaluate("performance.getEntriesByName('edmkit-run').length")
        server.ask(f"/api/kernels/{server.kernel(tab.name)}/restart", "POST")
        with contextlib.suppress(TimeoutError):
            wait_runs(tab, before + 1, timeout=15_000)
            return
    pytest.fail("Three restarts from elsewhere, and none was heard.")


@pytest.mark.skipif(os.name == "nt", reason="Windows has no kill signal.")
def test_second_crash_makes_the_page_wait(server, open_page):
    tab = open_page("00_quick.ipynb")
    tab.wait_state("live")
    kernel_process(server, tab.name).send_signal(signal.SIGKILL)
    expect(tab.line).to_have_attribute("data-state", "restarting", timeout=20_000)
    tab.wait_state("live")
    kernel_process(server, tab.name).send_signal(signal.SIGKILL)
    expect(tab.line).to_have_attribute("data-state", "restarting", timeout=20_000)
    tab.wait_state("crashed")
    expect(tab.line).to_contain_text("Python stopped twice")


def test_nothing_of_the_users_own_is_run_or_changed(server, open_page):
    open_page("01_plot.ipynb").wait_state("live")
    assert not (server.home / "trapped").exists()
    # The user's own JupyterLab keeps its things in these two folders.
    for own in (".jupyter", ".local/share/jupyter"):
        files = [p.name for p in (server.home / own).rglob("*") if p.is_file()]
        assert files in (["jupyter_server_config.py"], ["kernel.json"])
