"""First paint and slider of the Predict page, as ratios to an empty page of the same toolkit, in Debian's Chromium.

Both pages are served by this machine and opened turn about in one browser with a warm cache, so what a busy machine
adds falls on both. Needs the test dependencies (Playwright) and Chromium. Run: python benchmarks/bench.py
"""

from __future__ import annotations

import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT / "tests" / "bench"))

from served import chromium, ready, started, stopped  # noqa: E402

from spoolwright.sheet import template  # noqa: E402

ROUNDS = 7
SPEEDS = "2000:6000:500"
EMPTY = """
from nicegui import ui
@ui.page("/")
def page():
    ui.label("empty").classes("ready")
ui.run(host="127.0.0.1", port={port}, show=False, reload=False, tailwind=False, show_welcome_message=False)
"""
# Milliseconds from each move of the slider until the gas path is drawn for the new speed.
SLIDE = """async () => {
  const slider = document.querySelector("input.speed"), out = [];
  const figure = document.querySelector("svg.strip").parentElement;
  for (let n = 1; n <= Number(slider.max) * 2; n++) {
    const began = performance.now();
    slider.value = n % (Number(slider.max) + 1);
    const drawn = new Promise((told) => {
      const watch = new MutationObserver(() => {
        watch.disconnect();
        requestAnimationFrame(() => told(performance.now() - began));
      });
      watch.observe(figure, { childList: true, subtree: true });
    });
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    out.push(await drawn);
  }
  return out;
}"""


def main() -> None:
    """Print seconds and ratios."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        folder = Path(name)
        browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        one = ready(started(template.new(folder / "wren", like="wren")))
        try:
            with _empty(folder) as plain:
                context = browser.new_context(viewport={"width": 1440, "height": 900})
                context.set_default_timeout(120_000)
                address = f"{one.address}/wren/predict"
                _compute(context, address)
                _measure(context, plain, address)
        finally:
            stopped(one)
            browser.close()


@contextmanager
def _empty(folder: Path) -> Iterator[str]:
    """The address of a page with one word on it."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    script = folder / "empty.py"
    script.write_text(EMPTY.format(port=port), encoding="utf-8")
    process = subprocess.Popen([sys.executable, str(script)], cwd=folder, stdout=subprocess.DEVNULL)
    for _ in range(600):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        time.sleep(0.1)
    try:
        yield f"http://127.0.0.1:{port}/"
    finally:
        process.terminate()
        process.wait(timeout=60)


def _compute(context: Any, address: str) -> None:
    """A pull of the build, for the page to show."""
    page = context.new_page()
    page.goto(address)
    page.locator("#speeds").fill(SPEEDS)
    page.locator("#speeds").press("Tab")
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector(".runbox .v.sound", timeout=1_200_000)
    page.close()


def _paint(context: Any, address: str, there: str) -> tuple[float, float]:
    """Seconds to the first paint the browser tells, and until what the page is about is there."""
    page = context.new_page()
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_selector(there, state="attached")
    until = time.perf_counter() - began
    page.wait_for_function("performance.getEntriesByName('first-contentful-paint').length")
    first = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    page.close()
    return first / 1e3, until


def _measure(context: Any, plain: str, address: str) -> None:
    empty: list[tuple[float, float]] = []
    full: list[tuple[float, float]] = []
    for _ in range(ROUNDS + 1):
        empty.append(_paint(context, plain, ".ready"))
        full.append(_paint(context, address, "svg.strip"))
    page = context.new_page()
    page.goto(address)
    page.wait_for_selector("[data-drawn]")
    slides = page.evaluate(SLIDE)
    for name, k in (("first paint", 0), ("content there", 1)):
        a, b = (statistics.median(one[k] for one in each[1:]) for each in (empty, full))  # the first fills the cache
        print(f"{name}: empty page {a:.2f} s, Predict with a run {b:.2f} s, ratio {b / a:.1f}")
    middle, base = statistics.median(slides), 1e3 * statistics.median(one[0] for one in empty[1:])
    print(
        f"slider: drawn after {middle:.0f} ms (worst {max(slides):.0f}), {middle / base:.2f} of an empty page's paint"
    )


if __name__ == "__main__":
    main()
