"""Bad input in every field of every page: the text stays as typed, the fault stands beside it, nothing is written."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.slow

FIELDS = ".fld input[inputmode=decimal]"
# Every field at once, as one who types and goes on: the text put in, and the field left.
SPOIL = """(fields) => {
  for (const field of document.querySelectorAll(fields)) {
    field.dispatchEvent(new Event("focus"));
    field.value = "3 furlongs?";
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("blur"));
  }
  return document.querySelectorAll(fields).length;
}"""
REFUSED = """(fields) => [...document.querySelectorAll(fields)].every((field) => {
  const said = document.getElementById(field.getAttribute("aria-describedby"));
  return field.getAttribute("aria-invalid") === "true" && field.value === "3 furlongs?" && said.innerText.length > 10;
})"""


@pytest.mark.parametrize(("key", "width", "least"), [("predict", 1440, 20), ("measure", 1440, 30), ("measure", 390, 1)])
def test_field_of_the_sheet__keeps_its_text_with_the_fault_beside(
    bench: Any, view: Any, key: str, width: int, least: int
) -> None:
    sheet = bench.folder / "wren" / "build.toml"
    before = sheet.read_bytes()
    page = view(f"{bench.address}/wren/{key}", width)
    page.locator(f"{FIELDS}:visible").first.wait_for()
    assert page.evaluate(SPOIL, FIELDS) >= least
    page.wait_for_function(REFUSED, arg=FIELDS)
    assert sheet.read_bytes() == before


def _typed(page: Any, field: str, text: str) -> Any:
    made = page.locator(field)
    made.fill(text)
    made.press("Tab")
    return made


def test_speeds_of_a_run__are_refused(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/plover/predict")
    field = _typed(page, "#speeds", "fast")
    page.locator("[data-key=r]:visible").click()
    page.locator(".bad", has_text="fast").wait_for()
    assert field.input_value() == "fast"
    assert page.locator("[data-key=r]").is_visible()  # nothing runs


@pytest.mark.parametrize("field", ["#ask-boost", "#ask-by"])
def test_wish_of_a_match__is_refused(bench: Any, view: Any, field: str) -> None:
    page = view(f"{bench.address}/wren/match")
    made = _typed(page, field, "plenty")
    page.locator("[data-key=r]:visible").click()
    page.locator(".bad", has_text="plenty").wait_for()
    assert made.input_value() == "plenty"
    assert page.locator("[data-key=r]").is_visible()


def test_way_of_measuring__is_refused(bench: Any, view: Any) -> None:
    words = bench.folder / "wren" / "pulls"
    before = {file.name: file.read_bytes() for file in words.glob("*.toml")}
    page = view(f"{bench.address}/wren/dyno-day")
    page.locator("summary", has_text="How it was measured").click()
    for label in ("inertia of the roller", "barometer, station"):
        field = page.get_by_label(label)
        text = field.input_value()
        field.fill("heavy")
        page.get_by_role("button", name="Take it so").click()
        page.locator("details.part .bad", has_text="heavy").wait_for()
        assert field.input_value() == "heavy"
        field.fill(text)
    assert {file.name: file.read_bytes() for file in words.glob("*.toml")} == before


def test_input_of_a_sum__is_refused(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/plover/scratch")
    page.locator(".row-in input").first.wait_for()
    keys = page.locator(".row-in input:not([data-input=title])").evaluate_all("(all) => all.map((one) => one.id)")
    assert len(keys) > 5
    for key in keys:
        field = _typed(page, f"#{key}", "3 furlongs?")
        page.locator(".row-in", has=page.locator(f"#{key}")).locator(".c-stop").first.wait_for()
        assert field.input_value() == "3 furlongs?"
