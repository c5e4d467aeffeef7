"""How long the pages take in a browser on this machine: drawn cold and warm, a slider moved, a number chosen anew.

`PYTHONPATH=. python tests/page_study.py` makes the table of it. Nothing here is a test, and no test asserts a time. All
times are taken by the clock of the browser's page, up to the frame after which the change is on the screen.
"""

import os
import statistics
import sys
from collections.abc import Sequence
from pathlib import Path
from shutil import copy
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from tours import Served, served

from dashboard.pages import line, options

DEMO = Path(__file__).parents[1] / "scenarios" / "hollin_weir.yaml"
WHOLE_CURVE_MS = 6000
ASK = "?plant=hollin_weir&runs=10"
MOVED = ("stations.slitter.speed", "stations.slitter.per_ring", "stations.mill.rolls.change_after")
DRAWN = """() => { const seen = new MutationObserver(() => {
  if (window.drawnAt || !document.querySelector('#hours svg')) { return; }
  window.drawnAt = -1;
  requestAnimationFrame(() => requestAnimationFrame(() => { window.drawnAt = performance.now(); }));
}); seen.observe(document, {childList: true, subtree: true}); }"""
CLOCK = """() => {
  const said = document.querySelector('#buy-at');
  window.took = [];
  let began = 0;
  document.addEventListener('keydown', () => { began = performance.now(); }, true);
  new MutationObserver(() => {
    if (!began || !said.innerText.includes('against today')) { return; }
    const since = began;
    began = 0;
    requestAnimationFrame(() => requestAnimationFrame(() => window.took.push(performance.now() - since)));
  }).observe(said, {childList: true, subtree: true, characterData: true});
}"""


def told(text: str) -> None:
    """Write a line."""
    sys.stdout.write(text + "\n")


def row(what: str, times_ms: Sequence[float]) -> None:
    """Tell the median of some times, and the quickest and the slowest."""
    low, high = min(times_ms), max(times_ms)
    told(f"{what}: {statistics.median(times_ms):.0f} ms ({low:.0f} to {high:.0f}, {len(times_ms)} times)")


def opened(browser: Browser) -> BrowserContext:
    """Return a window with an empty cache that notes when the Line page is drawn."""
    context = browser.new_context(viewport={"width": 1280, "height": 800})
    context.add_init_script(f"({DRAWN})()")
    return context


def drawn_ms(page: Page, address: str) -> float:
    """Return how long after its opening the page with a kept answer is drawn [ms]."""
    page.goto(address)
    page.wait_for_function("() => window.drawnAt > 0", timeout=60_000)
    return float(page.evaluate("() => window.drawnAt"))


def pages(browser: Browser, shop: Served, times: int) -> None:
    """Tell how long the Line page takes with an empty cache, and then again with what was kept."""
    address = f"{shop.address}/{ASK}"
    first = browser.new_page()
    first.goto(address)
    first.wait_for_selector(".answer[data-kind=whole]", timeout=120_000)
    first.close()
    cold, warm = [], []
    for _ in range(times):
        context = opened(browser)
        page = context.new_page()
        cold.append(drawn_ms(page, address))
        warm.append(drawn_ms(page, address))
        context.close()
    row("page drawn, cold on loopback", cold)
    row("page drawn, warm", warm)


def slider(browser: Browser, shop: Served, moves: int) -> None:
    """Tell how long the first answer takes of a number just chosen, and of the slider moved once the curve is there."""
    page = browser.new_page()
    page.goto(f"{shop.address}/options{ASK}&options=short+runs")
    page.wait_for_selector(".answer[data-kind=whole]", timeout=300_000)
    page.evaluate(CLOCK)
    chosen = []
    for path in MOVED:
        page.fill("#buy-number", path)
        page.press("#buy-number", "Enter")
        page.wait_for_function("() => window.took.length === 1", timeout=60_000)
        chosen.append(float(page.evaluate("() => window.took.splice(0)[0]")))
        page.wait_for_timeout(WHOLE_CURVE_MS)
    row("a number chosen: first answer of it on the screen", chosen)
    page.evaluate("() => window.took.splice(0)")
    page.focus("#buy-slider")
    for move in range(moves):
        page.keyboard.press("ArrowLeft" if move // 4 % 2 else "ArrowRight")
        page.wait_for_timeout(120)
    row("a slider moved: first answer on the screen", page.evaluate("() => window.took"))


def main(chromium: str) -> None:
    """Tell all of it."""
    with TemporaryDirectory() as kept, TemporaryDirectory() as plants, sync_playwright() as play:
        copy(DEMO, plants)
        shop = served(Path(plants), Path(kept), (line, options))
        browser = play.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-dev-shm-usage"])
        told(f"{os.cpu_count()} processors, on average {os.getloadavg()[0]:.1f} tasks wanting one")
        pages(browser, shop, 7)
        slider(browser, shop, 40)
        browser.close()
        shop.close()


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "/usr/bin/chromium")
