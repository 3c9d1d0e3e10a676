"""Dyno day in the real browser: a kept log on the prediction, a dropped one read, confirmed and kept; bad files."""

from __future__ import annotations

import hashlib
import json
import re
from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow

# Two pulls of a made engine: decimal commas, a unit in brackets, a remark between the rows.
SPEEDS = [2000 + 40 * n for n in range(100)]


def _log() -> str:
    rows = ["Time [s];RPM;Throttle [%];Torque [N m];Brenn 1"]
    t = 0.0
    for pull in (0, 1):
        for n in range(40):
            rows.append(f"{t:.2f};{1900 + n % 5};12,0;20,0;600")
            t += 0.1
        if pull:
            rows.append("# second pull")
        for n, speed in enumerate(SPEEDS):
            rows.append(f"{t:.2f};{speed};99,0;{120 - 0.1 * n:.1f};{600 + n}".replace(".", ","))
            t += 0.1
    return "\n".join(row.replace(".", ",") for row in rows) + "\n"


@pytest.fixture
def address(bench: Any) -> str:
    return f"{bench.address}/wren/dyno-day"


@pytest.fixture(scope="module")
def run_kept(bench: Any, browser: Any) -> None:
    """A run of wren, kept with it; its limit of exhaust temperature is one that its pulls pass."""
    sheet = bench.folder / "wren" / "build.toml"
    text = re.sub(r'(max_exhaust_temperature = )".*?"', r'\1"812 degC"', sheet.read_text(encoding="utf-8"))
    assert "812 degC" in text
    sheet.write_text(text, encoding="utf-8")
    page = browser.new_page()
    page.goto(f"{bench.address}/wren/predict")
    page.locator("#speeds").fill("2000:6000:1000")
    page.locator("#speeds").press("Tab")
    page.locator("[data-key=r]:visible").click()
    page.wait_for_selector(".runbox .v.sound", timeout=240_000)
    page.close()
    assert list((bench.folder / "wren" / "results").glob("pull-sheet-*.json"))


def _read(page: Any) -> Any:
    """The page, once it shows the last log that is kept."""
    page.wait_for_function("!/^(|No log yet.*)$/.test(document.querySelector('h1').innerText)")
    page.wait_for_selector("tr input[type=checkbox]")
    return page


def _drop(page: Any, name: str, data: bytes) -> None:
    page.locator(".ans input[type=file]").set_input_files({"name": name, "mimeType": "text/csv", "buffer": data})


def test_kept_log__stands_on_the_prediction_with_stop_list_and_plan(run_kept: None, address: str, view: Any) -> None:
    page = _read(view(address))
    answer = page.locator("h1").inner_text()
    assert "3 pulls" in answer
    assert "than predicted from" in answer
    charts = page.locator(".chart h3").all_inner_texts()
    assert charts == ["Torque and power", "Observed less predicted", "Corrected torque and power"]
    assert page.locator(".pn.apart .figures").count() == 1
    assert page.locator(".pn.apart").get_by_text("ISO 1585").count() >= 1
    stops = page.locator(".pn.red").inner_text()
    assert "812\u00a0°C" in stops
    assert page.locator("#plan .step.next").is_visible()
    assert "exhaust temperature past its limit" in page.locator(".cause").first.inner_text()
    page.locator("tr input[type=checkbox]").nth(1).click()
    page.wait_for_function("document.querySelector('h1').innerText.includes('2 pulls')")
    assert page.locator("tr.struck").count() == 1


def test_dropped_log__is_shown_confirmed_measured_and_kept(address: str, view: Any, bench: Any) -> None:
    pulls = bench.folder / "wren" / "pulls"
    data = _log().encode()
    page = _read(view(address))
    _drop(page, "evening.csv", data)
    page.wait_for_selector("text=evening.csv, not kept yet", state="attached")
    assert not (pulls / "evening.csv").exists()
    page.wait_for_selector(".raw .hit")
    page.get_by_label("what Brenn 1 is").select_option("exhaust_temp_1")
    page.get_by_label("unit of Brenn 1").fill("degC")
    page.get_by_role("button", name="Agree, remember for this logger").click()
    page.wait_for_selector("summary >> text=Columns, all confirmed")
    if not page.get_by_label("torque stands at").is_visible():
        page.locator("summary", has_text="How it was measured").click()
    page.get_by_label("torque stands at").select_option("flywheel")
    page.get_by_label("corrected already by").fill("observed")
    page.get_by_role("button", name="Take it so").click()
    page.wait_for_function("document.querySelector('h1').innerText.includes('2 pulls')")
    page.get_by_role("button", name="Keep with the build").click()
    page.wait_for_selector(".bad:visible >> text=Write your name")
    assert not (pulls / "evening.csv").exists()
    page.locator("#keeper").fill("R. Alder")
    page.get_by_role("button", name="Keep with the build").click()
    page.wait_for_selector("text=2 logs kept")
    assert (pulls / "evening.csv").read_bytes() == data
    beside = (pulls / "evening.csv.toml").read_text(encoding="utf-8")
    assert 'role = "exhaust_temp_1"' in beside
    assert 'stands_at = "flywheel"' in beside
    entry = json.loads((pulls.parent / "logbook.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert entry["kind"] == "pull"
    assert entry["details"]["sha256"] == hashlib.sha256(data).hexdigest()


def test_plan__a_step_is_signed_into_the_logbook(address: str, view: Any, bench: Any) -> None:
    page = _read(view(address))
    first = page.locator(".step.next summary").inner_text()
    page.get_by_role("button", name="Sign it off").click()
    page.wait_for_selector("#plan .bad:visible >> text=Write your name")
    page.locator("#keeper").fill("R. Alder")
    page.get_by_role("button", name="Sign it off").click()
    page.wait_for_function("(before) => document.querySelector('.step.next summary').innerText !== before", arg=first)
    entry = json.loads((bench.folder / "wren" / "logbook.jsonl").read_text(encoding="utf-8").splitlines()[-1])
    assert entry["details"]["step"] in first


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("noise.csv", bytes(range(256)) * 4000, "not text"),
        ("drawing.csv", b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>', "drawing.csv"),
        ("build.toml", b"a = 1\n", "a log is a text table"),
        ("nothing.csv", b" ", "empty"),
    ],
)
def test_bad_file__is_refused_in_one_sentence(
    address: str, view: Any, bench: Any, name: str, data: bytes, said: str
) -> None:
    before = sorted(f.name for f in (bench.folder / "wren" / "pulls").iterdir())
    page = _read(view(address))
    _drop(page, name, data)
    told = page.locator(".upload .bad")
    told.wait_for()
    assert said in told.inner_text()
    assert "Traceback" not in told.inner_text()
    assert "/tmp" not in told.inner_text()
    assert sorted(f.name for f in (bench.folder / "wren" / "pulls").iterdir()) == before


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")])
def test_look__nothing_serious_and_nothing_too_wide(
    run_kept: None, address: str, view: Any, width: int, theme: str
) -> None:
    page = _read(view(address, width, theme))
    page.wait_for_selector("[data-drawn]")
    page.locator("summary", has_text="Columns").first.click()
    assert too_wide(page) == 0
    assert troubles(page) == []
