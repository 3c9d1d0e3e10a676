"""Predict in the real browser: a run, the slider, an edit that makes it stale, undo, findings; wide, narrow, dark."""

from __future__ import annotations

from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow

SETTLED = ".runbox .v.sound"


@pytest.fixture(scope="module")
def run_once(bench: Any, browser: Any) -> str:
    """The Predict page of plover with a run done; gives its address."""
    address = f"{bench.address}/plover/predict"
    page = browser.new_page()
    page.goto(address)
    page.locator("#speeds").fill("2000:5000:1000")
    page.locator("#speeds").press("Tab")
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector(SETTLED, timeout=240_000)
    page.close()
    return address


def test_run__answers_with_torque_power_and_what_gives_up(run_once: str, view: Any) -> None:
    page = view(run_once)
    page.wait_for_selector("[data-drawn]")
    answer = page.locator("h1").inner_text()
    assert "N\u00a0m" in answer
    assert "kW" in answer
    assert page.locator(".st").count() == len(page.locator(".dcol").all())
    assert "4 of 4 speeds" in page.locator(".runbox").inner_text()
    assert page.locator(".chart").count() >= 6
    assert too_wide(page) == 0


def test_slider__moves_the_path_and_the_line_in_the_charts(run_once: str, view: Any) -> None:
    page = view(run_once)
    page.wait_for_selector("[data-drawn]")
    before = page.locator("svg.strip").get_attribute("aria-label")
    page.locator("body").press("ArrowRight")
    page.wait_for_function(
        "(label) => document.querySelector('svg.strip').getAttribute('aria-label') !== label", arg=before
    )
    speed = page.locator("input.speed").get_attribute("aria-valuetext")
    assert speed.replace("\u202f", "") in page.locator("svg.strip").get_attribute("aria-label") + " rpm"
    lines = page.locator(".chart .now").evaluate_all("(all) => all.map((one) => one.style.display)")
    assert set(lines) == {"block"}


def test_edit__goes_to_disk_makes_the_run_stale_and_is_undone(run_once: str, view: Any, bench: Any) -> None:
    sheet = bench.folder / "plover" / "build.toml"
    before = sheet.read_text(encoding="utf-8")
    page = view(run_once)
    field = page.locator('.dcol [data-path="exhaust.primaries.diameter"]')
    field.fill("1.6 in")
    field.press("Enter")
    page.wait_for_selector(".runbox .v.watch")
    assert 'diameter = "1.6 in"' in sheet.read_text(encoding="utf-8")
    assert "exhaust.primaries.diameter 38 mm; the sheet now says 1.6 in" in page.locator(".warn").first.inner_text()
    assert field.input_value() == "1.6 in"
    page.locator("h1").click()
    page.keyboard.press("Control+z")
    page.wait_for_selector(SETTLED)
    assert sheet.read_text(encoding="utf-8") == before
    assert field.input_value() == "38 mm"


def test_text_begun__stays_while_the_page_is_drawn_anew(run_once: str, view: Any, bench: Any) -> None:
    sheet = bench.folder / "plover" / "build.toml"
    before = sheet.read_text(encoding="utf-8")
    page = view(run_once)
    page.wait_for_selector("[data-drawn]")
    page.locator("#speeds").click()
    page.keyboard.type("2500:3")
    sheet.write_text(before.replace('"650 mm"', '"655 mm"'), encoding="utf-8")  # by another program
    page.wait_for_selector(".runbox .v.watch")
    page.keyboard.type("000:500")
    assert page.locator("#speeds").input_value() == "2500:3000:500"
    sheet.write_text(before, encoding="utf-8")
    page.wait_for_selector(SETTLED)


def test_bad_text__stays_and_is_told_beside_it(run_once: str, view: Any, bench: Any) -> None:
    sheet = bench.folder / "plover" / "build.toml"
    before = sheet.read_text(encoding="utf-8")
    page = view(run_once)
    field = page.locator('.dcol [data-path="exhaust.primaries.diameter"]')
    for text, said in (("wide", "does not begin with a number"), ("3.8 kg", "kg"), ("38 m", "outside")):
        field.fill(text)
        field.press("Enter")
        beside = page.locator(".dcol .say", has_text=said)
        beside.wait_for()
        assert field.input_value() == text
        assert field.get_attribute("aria-invalid") == "true"
    field.press("Escape")
    assert field.input_value() == "38 mm"
    assert sheet.read_text(encoding="utf-8") == before


def test_finding__opens_into_its_working(run_once: str, view: Any) -> None:
    page = view(run_once)
    page.wait_for_selector(".fd")
    row = page.locator(".fd").first
    row.locator("button").first.click()
    row.locator(".wk").wait_for()
    assert row.locator("button").first.get_attribute("aria-expanded") == "true"


def test_keyboard_only__run_findings_search_and_slider(run_once: str, view: Any) -> None:
    page = view(run_once)
    page.wait_for_selector("[data-drawn]")
    page.keyboard.press("j")
    page.keyboard.press("Enter")
    page.wait_for_selector(".fd.open .wk")
    page.keyboard.press("j")
    page.keyboard.press("k")
    page.keyboard.press("Enter")
    page.wait_for_selector(".fd.open", state="detached")
    page.keyboard.press("/")
    page.keyboard.type("rod length")
    found = page.locator('#find [data-path="cylinders.rod_length"]')
    found.wait_for()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.dataset.path") == "cylinders.rod_length"
    for _ in range(6):  # the focus stays inside what lies over the page
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.closest('#find') !== null")
    page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    page.wait_for_selector("#find", state="hidden")
    page.keyboard.press("?")
    page.wait_for_selector("#keys", state="visible")
    page.keyboard.press("Escape")
    page.wait_for_selector("#keys", state="hidden")


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")])
def test_look__nothing_serious_and_nothing_too_wide(run_once: str, view: Any, width: int, theme: str) -> None:
    page = view(run_once, width, theme)
    page.wait_for_selector("[data-drawn]")
    assert page.evaluate("document.documentElement.dataset.theme") == theme
    assert too_wide(page) == 0
    page.locator(".fd button").first.click()
    page.wait_for_selector(".wk:visible")
    assert troubles(page) == []


def test_phone__a_station_opens_to_its_values(run_once: str, view: Any) -> None:
    page = view(run_once, 390)
    row = page.locator(".dn", has_text="Primaries")
    row.locator("button").first.click()
    field = row.locator('[data-path="exhaust.primaries.length"]')
    field.wait_for()
    box = field.bounding_box()
    assert box["height"] >= 48
    assert not page.locator(".path-scroll").is_visible()


def test_cancel__keeps_what_is_done(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/plover/predict")
    page.locator("#speeds").fill("2000:5000:50")
    page.locator("#speeds").press("Tab")
    page.locator("[data-key=r]:visible").click()
    page.wait_for_function("/^running[^0-9]*[1-9]/.test(document.querySelector('.runbox .row').innerText)")
    page.keyboard.press("Escape")
    page.wait_for_selector(SETTLED)
    done, wanted = page.locator(".runbox .u").inner_text().split(" speeds")[0].split(" of ")
    assert 0 < int(done) < int(wanted)
