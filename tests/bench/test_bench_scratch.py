"""The scratch pad in the real browser: find a sum, fill it from the build, change an input, keep it; wrong input."""

from __future__ import annotations

import json
from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow


def test_sum__is_filled_from_the_build_changed_and_kept(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/wren/scratch")
    page.locator("h1", has_text="compression ratio 7.472:1").wait_for()
    bore = page.locator("#in-bore")
    assert bore.input_value() == "86.01 mm"
    assert "wren, build.toml:" in page.locator(".row-in", has=page.locator("#in-bore")).inner_text()
    bore.fill("3.5 in")
    bore.press("Tab")
    # By hand: 428.30 cc swept; 52.1 + 4 + 0.5 cc and 0.92 mm over the bore, 5.711 cc: 1 + 428.30/62.311.
    page.locator("h1", has_text="compression ratio 7.874:1").wait_for()
    bore.fill("3.5 kg")
    bore.press("Tab")
    page.locator(".row-in .c-stop", has_text="kg").wait_for()
    assert bore.input_value() == "3.5 kg"
    bore.fill("3.5 in")
    bore.press("Tab")
    page.locator("#by-whom").fill("R. Alder")
    page.locator("#by-whom").press("Tab")
    page.locator("button", has_text="Keep in the logbook").click()
    page.locator("#result [role=status]", has_text="Kept in the logbook").wait_for()
    entry = json.loads((bench.folder / "wren" / "logbook.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert entry["details"]["sum"] == "compression_ratio"
    assert entry["details"]["inputs"]["bore"] == "3.5 in"
    assert too_wide(page) == 0


def test_click__on_a_sum_right_after_typing_counts(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/plover/scratch")
    page.get_by_role("button", name="Mean piston speed", exact=True).wait_for()
    assert page.get_by_role("button", name="Compression ratio from measured parts").is_visible()
    page.evaluate(
        """() => {
            const search = document.querySelector("[aria-label='Find a sum']");
            search.value = "mean piston";
            search.dispatchEvent(new Event("input", { bubbles: true }));
            [...document.querySelectorAll(".sums .sum")].find((one) => one.innerText === "Mean piston speed").click();
        }"""
    )
    page.locator("h1", has_text="Mean piston speed").wait_for()
    page.get_by_role("button", name="Compression ratio from measured parts").wait_for(state="hidden")


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")])
def test_sum__is_found_by_words_and_says_what_it_needs(bench: Any, view: Any, width: int, theme: str) -> None:
    page = view(f"{bench.address}/plover/scratch", width, theme)
    page.locator("[aria-label='Find a sum']").fill("mean piston speed")
    page.get_by_role("button", name="Mean piston speed", exact=True).click()
    page.locator("h1", has_text="Mean piston speed").wait_for()
    page.locator("[aria-label='Fill the inputs']").select_option("")
    page.locator("h1", has_text="still needed").wait_for()
    page.locator("#in-stroke").fill("100 mm")
    page.locator("#in-stroke").press("Tab")
    page.locator("#in-speed").fill("6000 rpm")
    page.locator("#in-speed").press("Tab")
    page.locator("h1", has_text="20 m/s").wait_for()  # 2 x 0.1 m x 100 1/s
    assert troubles(page) == []
    assert too_wide(page) == 0
