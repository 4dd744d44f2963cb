"""The launcher and a headless Chromium, for tests and benchmarks of the pages."""

import contextlib
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import expect, sync_playwright

from edmkit.jupyter import FOLDER, page_hashes

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
FLAGS = """--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run
 --disable-background-networking --disable-component-update --disable-sync
 --disable-dev-shm-usage""".split()
WAIT = 60_000  # ms; a page is live in about 10 s on an idle machine, others may be at work
CURVE = ".js-plotly-plot path.js-line"
HANDLE = ".noUi-handle"

# The real launcher, told to take pages and extension from the folder named first.
_OTHER_KIT = """import sys, pathlib, edmkit.jupyter as j
j.FOLDER = pathlib.Path(sys.argv.pop(1))
from edmkit.__main__ import main
main()"""

PICTURE = """() => {
    const look = (all, what) => [...document.querySelectorAll(all)].map(what).join('|');
    const words = o => [...o.querySelectorAll('.widget-html, .jp-RenderedText')]
        .map(w => w.innerText).join('|');
    return [look('.js-plotly-plot path', p => p.getAttribute('d')),
            look('.js-plotly-plot .point', p => p.getAttribute('transform')),
            look('.jp-OutputArea-output', words)].join('#'); }"""

TRIAL_CODE = """\
import ipywidgets as w
from edmkit.panels.live import LiveFigure
def shape(a): return [a * x * x for x in range(200)]
plot = LiveFigure(data=[{"y": shape(1)}, {"y": shape(2)}])
slider = w.IntSlider(5, 1, 20)
answer = w.HTML("factor 5")
def move(change):
    answer.value = f"factor {change.new}"
    with plot.batch_update(): plot.data[0].y = shape(change.new)
slider.observe(move, "value")
w.VBox([slider, answer, plot])
"""


def need_chromium():
    """Skip where there is no Chromium; fail on the build machine, which must have one."""
    if CHROMIUM:
        return
    if os.environ.get("CI") == "true":
        pytest.fail("Chromium is missing: .ci/run should have installed it.")
    pytest.skip("Chromium is not installed, so no page was opened in a browser.")


def page_file(code, mark="trial"):
    """Return a notebook of one code cell; without a mark it is nobody's page."""
    plain = {
        "cell_type": "markdown",
        "id": "how",
        "metadata": {"edmkit": "plain lab"},
        "source": "## To start this page: menu Run, then Run All Cells",
    }
    cell = {
        "cell_type": "code",
        "id": "all",
        "metadata": {"jupyter": {"source_hidden": True}},
        "execution_count": None,
        "outputs": [],
        "source": code,
    }
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    metadata = {"kernelspec": kernel} | ({"edmkit": {"page": mark}} if mark else {})
    page = {"cells": [plain, cell], "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(page)


def trial_kit(folder, pages):
    """Return the extension folder of a kit that ships the given pages (name: text)."""
    notebooks = folder / "notebooks"
    notebooks.mkdir(parents=True)
    (folder / "data_demo").mkdir()
    for name, text in pages.items():
        (notebooks / name).write_text(text, encoding="utf-8")
    shutil.copytree(FOLDER, folder / "jupyter")
    hashes = folder / "jupyter" / "labextensions" / "edmkit-page" / "static" / "hashes.json"
    hashes.write_text(json.dumps(page_hashes(notebooks)))
    return folder / "jupyter"


@dataclass
class Server:
    """A running launcher and what it said."""

    process: subprocess.Popen
    folder: Path
    home: Path
    base: str = ""
    token: str = ""
    said: list = field(default_factory=list)
    started: float = 0.0

    def address(self, page):
        """Return the address of a page of the user's folder."""
        return f"{self.base}/doc/tree/{page}?token={self.token}"

    def ask(self, path, method="GET"):
        """Return the server's answer to one request of its programming interface."""
        headers = {"Authorization": f"token {self.token}"}
        request = urllib.request.Request(self.base + path, headers=headers, method=method)
        with urllib.request.urlopen(request, timeout=20) as answer:
            return json.loads(answer.read() or "null")

    def kernel(self, page):
        """Return the id of the kernel of a page."""
        return next(s["kernel"]["id"] for s in self.ask("/api/sessions") if s["path"] == page)

    def saved(self, page):
        """Return the execution counts and outputs in the user's copy of a page."""
        cells = json.loads((self.folder / page).read_text(encoding="utf-8"))["cells"]
        return [(c["execution_count"], c["outputs"]) for c in cells if c["cell_type"] == "code"]


@contextlib.contextmanager
def launched(place, kit=None):
    """Start ``edmkit`` with a home of its own; yield the Server; stop it with one Ctrl-C.

    Parameters
    ----------
    place : Path
        Its folder ``home`` is the home, made if missing; the pages go to ``home/edmkit`` [-].
    kit : Path, optional
        Extension folder made by `trial_kit`; the shipped pages if left out [-].
    """
    home = place / "home"
    home.mkdir(exist_ok=True)
    env = {k: v for k, v in os.environ.items() if not k.startswith(("JUPYTER", "XDG_", "IPYTHON"))}
    env |= {"HOME": str(home), "USERPROFILE": str(home), "PYTHONUNBUFFERED": "1"}
    start = ["-c", _OTHER_KIT, str(kit)] if kit else ["-m", "edmkit"]
    log = (place / "stderr").open("w")
    before = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *start, "--no-browser"],
        env=env,
        stdout=subprocess.PIPE,
        stderr=log,
        text=True,
        cwd=home,
        preexec_fn=None if os.name == "nt" else _hears_ctrl_c,
    )
    server = Server(process, home / "edmkit", home, started=before)
    try:
        for line in process.stdout:
            server.said.append(line)
            if found := re.search(r"(http://127\.0\.0\.1:\d+)/\S*token=(\w+)", line):
                server.base, server.token = found.groups()
                break
        assert server.base, f"The launcher said {server.said}, {(place / 'stderr').read_text()}"
        _wait_for(lambda: server.ask("/api/status"), place / "stderr")
        yield server
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        finally:
            process.stdout.close()
            log.close()


def _hears_ctrl_c():
    """Undo what a shell does to the jobs it runs in the background: they do not hear Ctrl-C."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def _wait_for(question, log, seconds=60):
    end = time.monotonic() + seconds
    while True:
        try:
            return question()
        except OSError:
            if time.monotonic() > end:
                raise AssertionError(f"No server: {log.read_text()}") from None
            time.sleep(0.1)


@contextlib.contextmanager
def browser():
    """Yield a headless Chromium."""
    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


class Tab:
    """One opened page, and everything it asked for, complained of or received."""

    def __init__(self, chromium, server, name, width=1500, height=900):
        self.errors, self.outside, self.received = [], [], 0
        self.name, self.server = name, server
        context = chromium.new_context(viewport={"width": width, "height": height})
        context.set_default_timeout(WAIT)
        self.page = context.new_page()
        self.page.on("request", self._request)
        self.page.on("websocket", lambda s: s.on("framereceived", self._frame))
        self.page.on("pageerror", lambda e: self.errors.append(str(e)))
        self.page.on("console", self._console)
        self.opened = time.perf_counter()
        self.page.goto(server.address(name))

    def _request(self, request):
        if not request.url.startswith((self.server.base, "data:", "blob:")):
            self.outside.append(request.url)

    def _frame(self, data):
        self.received += len(data)

    def _console(self, message):
        # A page saved on an earlier day holds widgets that are gone; it runs anew at once.
        if message.type == "error" and "widget model not found" not in message.text:
            self.errors.append(message.text)

    @property
    def line(self):
        """Return the kit's line above the page."""
        return self.page.locator(".edmkit-line")

    def wait_state(self, state):
        """Wait until the page has come to rest: live, edited, error, crashed or detached."""
        rest = re.compile("live|edited|error|crashed|detached")
        expect(self.line).to_have_attribute("data-state", rest, timeout=WAIT)
        expect(self.line).to_have_attribute("data-state", state)

    def wait_curves(self):
        """Wait for the first curve; return the seconds since the page began to run."""
        self.page.locator(CURVE).first.wait_for(state="attached")
        return self.page.evaluate(
            "(performance.now() - performance.getEntriesByName('edmkit-run').at(-1).startTime)/1e3"
        )

    def picture(self):
        """Return a text that changes when a curve, a point or a word changes, sliders left out."""
        return self.page.evaluate(PICTURE)

    def wait_picture(self, before):
        """Wait until the picture is another than before."""
        self.page.wait_for_function(f"before => ({PICTURE})() !== before", arg=before)

    def close(self):
        """Close the page and stop its Python."""
        self.page.context.close()
        for session in self.server.ask("/api/sessions"):
            if session["path"] == self.name:
                self.server.ask(f"/api/sessions/{session['id']}", "DELETE")
