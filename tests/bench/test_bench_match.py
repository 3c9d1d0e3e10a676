"""Match in the real browser: candidates are ranked and chosen, a match is cancelled, a map picture becomes a table."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow

WIDE, HIGH = 800, 600  # px of the picture
LINES = {  # rpm: flow kg/s, pressure ratio; invented, each line falls with flow
    "90000": ((0.030, 1.50), (0.050, 1.47), (0.070, 1.38), (0.085, 1.20)),
    "130000": ((0.050, 2.20), (0.075, 2.14), (0.100, 1.95), (0.115, 1.60)),
    "160000": ((0.070, 2.95), (0.095, 2.88), (0.120, 2.60), (0.135, 2.10)),
}
ISLAND = ((0.045, 1.45), (0.085, 2.60), (0.110, 2.30), (0.080, 1.40))


@pytest.fixture(scope="module")
def ranked(bench: Any, browser: Any) -> str:
    """The Match page of wren with its candidates ranked; gives its address."""
    address = f"{bench.address}/wren/match"
    page = browser.new_page()
    page.goto(address)
    page.locator("#ask-by").fill("3200 rpm")
    page.locator("#ask-by").press("Tab")
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector("table[aria-label=Candidates]", timeout=400_000)
    page.close()
    return address


def test_ranked__names_the_tightest_limit_and_draws_another_candidate(ranked: str, view: Any) -> None:
    page = view(ranked)
    rows = page.locator("table[aria-label=Candidates] tr:has(input)")
    assert rows.count() > 5
    assert "Tightest:" in page.locator("h1").inner_text()
    assert "3\u202f200 rpm" in page.locator("#candidates").inner_text()
    best = page.locator("#map h3").inner_text()
    assert "choke" in page.locator("#map figcaption").inner_text()
    page.locator("table[aria-label=Candidates] input").nth(1).check()
    page.wait_for_function("(name) => document.querySelector('#map h3').innerText !== name", arg=best)
    assert page.locator("table[aria-label=Springs] tr.sel").count() == 1
    assert page.locator("#spring .chart").count() == 2
    assert "=" in page.locator("#spring .eq").first.inner_text()  # the balance of forces, with its numbers


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")])
def test_look__nothing_serious_and_nothing_too_wide(ranked: str, view: Any, width: int, theme: str) -> None:
    page = view(ranked, width, theme)
    page.wait_for_selector("#map [data-drawn]")
    assert too_wide(page) == 0
    assert troubles(page) == []


def test_match__is_cancelled(ranked: str, view: Any) -> None:
    page = view(ranked)
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector(".progress")
    page.keyboard.press("Escape")
    page.locator(".bad", has_text="cancelled").wait_for()
    assert page.locator("[data-key=r]").is_visible()


def test_picture__becomes_a_table_and_is_drawn_over(bench: Any, view: Any) -> None:
    from PIL import Image

    picture = io.BytesIO()
    Image.new("RGB", (WIDE, HIGH), (250, 250, 250)).save(picture, "PNG")
    page = view(f"{bench.address}/wren/match")
    chosen = page.locator("input[type=file]")
    chosen.set_input_files({"name": "map.png", "mimeType": "image/png", "buffer": b"noise" * 1000})
    page.locator(".bad", has_text="is no picture that can be read").wait_for()
    chosen.set_input_files({"name": "map.png", "mimeType": "image/png", "buffer": picture.getvalue()})
    drawn = page.locator(".picker .sheet-of")
    drawn.wait_for()
    _write(page, "flow 2", "0.15")
    _write(page, "ratio 2", "3.5")
    for n, (x, y) in enumerate(((100, 500), (700, 500), (100, 500), (100, 100)), start=1):
        _click(drawn, x, y)
        page.wait_for_function("(n) => document.querySelectorAll('.picker .axis').length === n", arg=n)
    count = 0
    for speed, points in LINES.items():
        _write(page, "line", speed)
        for flow, ratio in points:
            if speed == "90000":  # the first by clicks, the others by their numbers
                _click(drawn, 100 + 600 * flow / 0.15, 500 - 400 * (ratio - 1.0) / 2.5)
            else:
                _write(page, "number", f"{flow} {ratio}")
            count += 1
            page.wait_for_function("(n) => document.querySelectorAll('.picker g.line').length === n", arg=count)
    page.locator("input[name=step][value=island]").check()
    for n, (flow, ratio) in enumerate(ISLAND, start=1):
        _write(page, "number", f"{flow} {ratio}")
        page.wait_for_function("(n) => document.querySelectorAll('.picker g.island').length === n", arg=n)
    page.locator("button", has_text="Save and draw it over the picture").click()
    page.locator(".steps [role=status]", has_text="Saved as tables/clicked.csv").wait_for()
    assert page.locator(".picker polyline.redrawn").count() == len(LINES)
    with (bench.folder / "wren" / "tables" / "clicked.csv").open(encoding="utf-8") as file:
        table = list(csv.DictReader(line for line in file if not line.startswith("#")))
    assert len(table) == count
    for row, (flow, ratio) in zip(table, (one for points in LINES.values() for one in points), strict=True):
        assert float(row["flow [kg/s]"]) == pytest.approx(flow, abs=0.15 / 600 * 2)  # two pixels of the picture
        assert float(row["pressure_ratio"]) == pytest.approx(ratio, abs=2.5 / 400 * 2)
        assert float(row["efficiency"]) == pytest.approx(0.70)


def _write(page: Any, name: str, text: str) -> None:
    field = page.locator(f".steps [data-name='{name}']")
    field.fill(text)
    field.press("Tab")


def _click(drawn: Any, x: float, y: float) -> None:
    size = drawn.bounding_box()
    drawn.click(position={"x": x * size["width"] / WIDE, "y": y * size["height"] / HIGH})
