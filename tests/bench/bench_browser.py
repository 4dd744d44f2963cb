"""Start to first curves, and key press to redrawn plot, in headless Chromium; against interact."""

import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from browser_kit import HANDLE, Tab, browser, launched, page_file, trial_kit

MOVES = 36
# From the key press to the first animation frame with another picture; DOM time, not pixels.
WATCH = """() => {
  const look = () => [...document.querySelectorAll('.js-plotly-plot path')]
    .map(p => p.getAttribute('d') + p.getAttribute('transform')).join('|');
  window.waits = [];
  if (window.watching) return;
  window.watching = true;
  document.addEventListener('keydown', () => {
    const start = performance.now(), before = look();
    const frame = () => {
      const now = look(); // interact empties the place first: nothing drawn is no picture
      if (now && now !== before) return window.waits.push(performance.now() - start);
      if (performance.now() - start < 3000) requestAnimationFrame(frame);
    };
    requestAnimationFrame(frame);
  }, true);
}"""
# The same answers and the same two plots, drawn anew by interact at each move.
INTERACT = """\
import warnings
from ipywidgets import interact, IntSlider
from edmkit.panels.unseen import unseen
from edmkit.panels.which_settings import WhichSettings
from edmkit.plots.curves import curves_figure
warnings.simplefilter("ignore")
with unseen():
    page = WhichSettings(memory=None)
def draw(position):
    page.switch_controls.rows["on_time_us"].set_quietly(position)
    page.hole = page.job.hole(page.machine, page.switches)
    curves_figure(*page.pictures._curves()).show(renderer="plotly_mimetype")
interact(draw, position=IntSlider(4, 0, 9));
"""


def waits(tab, sliders, first=0):
    """Return the times from key press to another picture, over the sliders in turn [ms]."""
    tab.page.evaluate(WATCH)
    for move in range(MOVES):
        tab.page.locator(f"{HANDLE}:visible").nth(first + move % sliders).focus()
        tab.page.keyboard.press("ArrowRight" if move // sliders % 2 == 0 else "ArrowLeft")
        tab.page.wait_for_timeout(500)
    return sorted(tab.page.evaluate("window.waits"))


def shown(name, times):
    """Print the median and the 95 % of times."""
    p95 = times[int(0.95 * (len(times) - 1))]
    print(f"{name}: median {statistics.median(times):.0f} ms, p95 {p95:.0f} ms, {len(times)} seen")
    return statistics.median(times), p95


def main():
    """Print one line for each figure."""
    place = Path(tempfile.mkdtemp())
    with launched(place) as server, browser() as chromium:
        tab = Tab(chromium, server, "02_which_settings.ipynb")
        tab.wait_state("live")
        live = time.perf_counter() - server.started
        seconds = tab.wait_curves()
        print(f"run to first curves: {seconds:.1f} s (goal 4)")
        print(f"websocket: {tab.received / 1e6:.2f} MB (goal 1)")
        print(f"server start to live page: {live:.1f} s (goal 15)")
        ours = shown("key press to redrawn plot (goal p95 100)", waits(tab, 3))
        tab.close()
        tab = Tab(chromium, server, "04_why_does_it_arc.ipynb")
        tab.wait_state("live")
        tab.wait_curves()
        tab.page.get_by_text("Which knob first?").click()
        shown("page 04, map and knobs in sight (goal p95 100)", waits(tab, 3))
        tab.page.get_by_role("button", name="The pulses now").click()
        tab.page.wait_for_timeout(2000)
        shown("page 04, the pulses now (goal p95 100)", waits(tab, 3))
        tab.close()
        tab = Tab(chromium, server, "07_what_one_spark_does.ipynb")
        tab.wait_state("live")
        tab.wait_curves()
        shown("page 07, a frame of the film (goal p95 100)", waits(tab, 1, first=3))
        for picture in ("The crater", "Against on-time", "Both sides"):
            tab.page.get_by_role("button", name=picture).click()
            tab.page.wait_for_timeout(1500)
            shown(f"page 07, {picture.lower()} (goal p95 100)", waits(tab, 2))
        tab.close()
        tab = Tab(chromium, server, "08_how_smooth_will_it_be.ipynb")
        tab.wait_state("live")
        tab.wait_curves()
        shown("page 08, as many sparks of another spark", waits(tab, 2))
        tab.close()
    other = Path(tempfile.mkdtemp())
    kit = trial_kit(other / "kit", {"00_interact.ipynb": page_file(INTERACT)})
    # Ours switches off what draws plain figures in JupyterLab; here it is wanted.
    (kit / "config" / "labconfig" / "page_config.json").write_text("{}")
    with launched(other, kit) as server, browser() as chromium:
        tab = Tab(chromium, server, "00_interact.ipynb")
        tab.wait_state("live")
        tab.page.wait_for_timeout(3000)
        theirs = shown("the same with interact and a fresh figure", waits(tab, 1))
        tab.close()
    ratios = [slow / fast for slow, fast in zip(theirs, ours, strict=True)]
    print(f"interact / ours: {ratios[0]:.1f} of the medians, {ratios[1]:.1f} of p95 (goal 3)")


if __name__ == "__main__":
    main()
