"""Measure in the real browser: a slip is asked back, an edit judged at once and undone; the phone; notes, pictures."""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow


def test_table__asks_a_slip_back_takes_the_offer_and_judges_at_once(bench: Any, view: Any) -> None:
    sheet = bench.folder / "wren" / "build.toml"
    before = sheet.read_text(encoding="utf-8")
    page = view(f"{bench.address}/wren/measure")
    page.wait_for_selector(".measures [data-path]")
    assert "Ratio 7.44 to 7.51, cylinder 2 highest" in page.locator("h1").inner_text()
    assert page.locator(".ratios > div").count() == 4
    field = page.locator('.measures [data-path="cylinders.deck[3]"]')
    field.fill("9.4 mm")
    field.press("Enter")
    page.locator(".measures .say.doubted", has_text="10 times its neighbours").wait_for()
    assert sheet.read_text(encoding="utf-8") == before
    page.locator(".measures .say button", has_text="Use 0.94 mm").click()
    page.wait_for_selector(".measures .say", state="detached")
    gap = page.locator('.measures [data-path="strength.rings.top.gap[2]"]')
    row = page.locator(".measures tr", has=page.locator('[data-path="strength.rings.top.gap[2]"]'))
    gap.fill("12 thou")
    gap.press("Enter")
    row.locator(".v.stop").wait_for()
    assert 'gap = ["0.40 mm", "12 thou"' in sheet.read_text(encoding="utf-8")
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    row.locator(".v.sound").wait_for()
    assert gap.input_value() == "0.42 mm"
    assert too_wide(page) == 0


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_phone__one_cylinder_one_value_with_its_ratio(bench: Any, view: Any, theme: str) -> None:
    page = view(f"{bench.address}/wren/measure", 390, theme)
    page.locator(".tabs .tab", has_text="3").click()
    page.locator(".one h2", has_text="Bore, cylinder 3").wait_for()
    page.locator(".steps-bar .next").click()
    page.locator(".one h2", has_text="Dish, cylinder 3").wait_for()
    field = page.locator(".one [data-path]")
    assert field.get_attribute("data-path") == "cylinders.dish[3]"
    assert field.bounding_box()["height"] >= 48
    assert "Ratio, cylinder 3" in page.locator(".ratio-line").inner_text()
    assert not page.locator(".measures").is_visible()
    assert too_wide(page) == 0
    assert troubles(page) == []


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_look__nothing_serious_wide(bench: Any, view: Any, theme: str) -> None:
    page = view(f"{bench.address}/wren/measure", 1440, theme)
    page.wait_for_selector(".measures [data-path]")
    assert troubles(page) == []


def test_note__goes_to_the_logbook_with_its_photograph(bench: Any, view: Any) -> None:
    from PIL import Image

    picture = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 120, 110)).save(picture, "JPEG")
    page = view(f"{bench.address}/wren/measure")
    page.wait_for_selector("#note-text")
    chosen = page.locator("#note input[type=file]")
    chosen.set_input_files({"name": "gauge.svg", "mimeType": "image/svg+xml", "buffer": b"<svg><script/></svg>"})
    page.locator("#note", has_text="is no picture that can be read").wait_for()
    chosen.set_input_files({"name": "gauge.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()})
    page.locator("#note", has_text="photos/").first.wait_for()
    page.locator("#note-text").fill("Decks again, three times each")
    page.locator("#note-tool").fill("depth gauge")
    page.locator("#note button", has_text="Keep in the logbook").click()
    page.locator("#note [role=status]", has_text="needs its words and its author").wait_for()
    page.locator("#note-author").fill("R. Alder")
    page.locator("#note button", has_text="Keep in the logbook").click()
    page.locator("#note [role=status]", has_text="Kept in the logbook").wait_for()
    folder = bench.folder / "wren"
    entry = json.loads((folder / "logbook.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert entry["text"] == "Decks again, three times each"
    assert entry["details"]["path"] == "cylinders.bore"
    with Image.open(folder / entry["details"]["photos"][0]) as kept:
        assert kept.size == (60, 40)
