"""Make the pictures of the guide from the demo build: pages of the bench in Debian's Chromium, a page of its book.

Run: python docs/pictures/make.py [NAME ...]   with no name, all of them. A run and a match are computed first.
"""

from __future__ import annotations

import io
import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1] / "tests" / "bench"))

from PIL import Image  # noqa: E402
from served import chromium, ready, started, stopped  # noqa: E402

from spoolwright.sheet import demo_folder  # noqa: E402

WIDE, PHONE = (1440, 1000), (390, 844)
LONG = 1_800_000  # ms, for a run with a cold cache


def predict(page: Any) -> None:
    """Run the usual speeds, then stand in the middle of them."""
    if not page.locator(".runbox .v.sound").count():
        page.locator("[data-key=r]:visible").click()
        page.wait_for_selector(".runbox .v.sound", timeout=LONG)
    page.wait_for_selector("[data-drawn]")
    page.locator("input.speed").focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.evaluate("document.activeElement.blur()")


def match(page: Any) -> None:
    """Rank the candidates."""
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector("table[aria-label=Candidates]", timeout=LONG)
    page.wait_for_selector("#map [data-drawn]")


def dyno_day(page: Any) -> None:
    """The kept pulls on the prediction."""
    page.wait_for_selector("tr input[type=checkbox]")
    page.wait_for_selector("[data-drawn]")


def measure(page: Any) -> None:
    """The table as it stands; on a phone one value."""
    page.wait_for_selector("[data-path]:visible")


PAGES: dict[str, tuple[str, tuple[int, int], str, Callable[[Any], None]]] = {
    "predict": ("predict", WIDE, "light", predict),
    "predict-dark": ("predict", WIDE, "dark", predict),
    "predict-phone": ("predict", PHONE, "light", predict),
    "measure-phone": ("measure", PHONE, "light", measure),
    "match": ("match", WIDE, "light", match),
    "dyno-day": ("dyno-day", WIDE, "light", dyno_day),
}
BOOK_PAGE, PPI = 1, 110.0


def _copied(folder: Path) -> Path:
    return Path(shutil.copytree(demo_folder("wren"), folder / "wren"))


def _pages(build: Path, wanted: list[str]) -> None:
    from playwright.sync_api import sync_playwright

    one = ready(started(build))
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
            for name in wanted:
                key, (width, height), theme, prepare = PAGES[name]
                context = browser.new_context(
                    viewport={"width": width, "height": height},
                    color_scheme=theme,
                    device_scale_factor=2 if width < 600 else 1,
                )
                page = context.new_page()
                page.set_default_timeout(120_000)
                page.goto(f"{one.address}/wren/{key}")
                prepare(page)
                page.mouse.move(0, 0)
                page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
                _keep(name, page.screenshot())
                context.close()
            browser.close()
    finally:
        stopped(one)


def _book(build: Path) -> None:
    """One page of the book, as it prints."""
    from spoolwright.book import make, to_pdf

    book = make.book(build, make.Options(run=False))  # with the run that the pages kept
    _keep("book", to_pdf.pictures(book, PPI)[BOOK_PAGE - 1])


def _keep(name: str, data: bytes) -> None:
    with Image.open(io.BytesIO(data)) as picture:
        picture.convert("RGB").save(HERE / f"{name}.png", optimize=True)
    print(f"{name}.png: {(HERE / f'{name}.png').stat().st_size / 1e3:.0f} kB", flush=True)


def main() -> None:
    """Make what is named, or all."""
    known = [*PAGES, "book"]
    wanted = sys.argv[1:] or known
    unknown = [name for name in wanted if name not in known]
    if unknown:
        sys.exit(f"there is no picture {', '.join(unknown)}; there are {', '.join(known)}")
    with tempfile.TemporaryDirectory() as name:
        build = _copied(Path(name))
        _pages(build, [one for one in wanted if one in PAGES])
        if "book" in wanted:
            _book(build)


if __name__ == "__main__":
    main()
