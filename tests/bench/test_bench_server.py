"""The real server: one a folder, two pages on one value, killed without loss, faults mended in place, files refused."""

from __future__ import annotations

import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

import pytest
from served import START, ready, started, stopped

from spoolwright.sheet import template

pytestmark = pytest.mark.slow


def _predict(bench: Any) -> str:
    return f"{bench.address}/plover/predict"


def test_second_server__says_where_the_first_is(bench: Any) -> None:
    command = [sys.executable, "-c", START, "bench", str(bench.folder), "--port", "0", "--no-browser"]
    done = subprocess.run(command, cwd=bench.folder, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 2
    assert f"open on this folder already at {bench.address}/" in done.stderr
    assert "Traceback" not in done.stderr


def test_two_tabs__one_value_the_second_is_told_and_nothing_is_lost(bench: Any, view: Any) -> None:
    first, second = view(_predict(bench)), view(_predict(bench))
    fields = [page.locator('.dcol [data-path="exhaust.primaries.length"]') for page in (first, second)]
    for field in fields:
        field.wait_for()
    fields[1].fill("700 mm")  # begun before the first tab's edit is known here
    fields[0].fill("660 mm")
    fields[0].press("Enter")
    second.locator("#content").wait_for()
    text = bench.folder / "plover" / "build.toml"
    first.wait_for_function("document.querySelector('.sheetbox').innerText.includes('saved')")
    fields[1].press("Enter")
    told = second.locator(".dcol .say", has_text="Changed elsewhere: it now says 660 mm")
    told.wait_for()
    assert 'length = "660 mm"' in text.read_text(encoding="utf-8")
    assert fields[1].input_value() == "700 mm"
    told.locator("button", has_text="Take mine").click()
    second.wait_for_selector(".dcol .say", state="detached")
    assert 'length = "700 mm"' in text.read_text(encoding="utf-8")
    first.wait_for_function(
        "document.querySelector('.dcol [data-path=\"exhaust.primaries.length\"]').value === '700 mm'"
    )
    for _ in range(2):
        first.locator("h1").click()
        first.keyboard.press("Control+z")
    first.wait_for_function(
        "document.querySelector('.dcol [data-path=\"exhaust.primaries.length\"]').value === '650 mm'"
    )


def test_killed_server__loses_nothing_that_was_taken(tmp_path: Path, view: Any) -> None:
    template.new(tmp_path / "mine", like="plover")
    one = ready(started(tmp_path / "mine"))
    page = view(f"{one.address}/mine/predict")
    field = page.locator('.dcol [data-path="cylinders.stroke"], .dcol [data-path="cylinders.bore"]').first
    field.fill("86.2 mm")
    field.press("Enter")
    page.wait_for_function("document.querySelector('.sheetbox').innerText.includes('saved')")
    view.kills(one)
    one.process.kill()
    stopped(one)
    page.close()
    assert '"86.2 mm"' in (tmp_path / "mine" / "build.toml").read_text(encoding="utf-8")
    again = ready(started(tmp_path / "mine"))  # the lock ended with its process
    stopped(again)


def test_sheet_with_faults__is_mended_on_the_page(tmp_path: Path, view: Any) -> None:
    build = template.new(tmp_path / "mine", like="plover")
    sheet = build / "build.toml"
    sheet.write_text(
        sheet.read_text(encoding="utf-8").replace('stroke = "86.0 mm"', 'stroke = "long"'), encoding="utf-8"
    )
    one = ready(started(build))
    try:
        page = view(f"{one.address}/mine/predict")
        page.locator(".bad", has_text="cylinders.stroke").wait_for()
        field = page.locator('[data-path="cylinders.stroke"]')
        assert field.input_value() == "long"
        field.fill("86 mm")
        field.press("Enter")
        page.wait_for_selector(".st")
        page.close()
    finally:
        stopped(one)


def test_network__asks_for_its_token_and_warns(tmp_path: Path) -> None:
    template.new(tmp_path / "mine", like="plover")
    one = ready(started(tmp_path / "mine", "--host", "127.0.0.1"))
    assert "token=" in one.address
    plain = one.address.partition("/?")[0]
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(plain + "/", timeout=30)
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    with opener.open(one.address, timeout=30) as answer:
        assert b"spoolwright" in answer.read()
    one.process.terminate()
    rest = one.process.stdout.read() if one.process.stdout else ""
    stopped(one)
    assert "without encryption" in rest
    assert "\u2588" in rest or "\u2580" in rest  # the code for a phone's camera


def test_an_unknown_build__is_told(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/nowhere/predict")
    assert 'There is no build "nowhere"' in page.locator(".bad").inner_text()


@pytest.mark.parametrize("path", ["..%2f..%2fetc/predict", "../../etc/passwd", "look/..%2f..%2fserve.py"])
def test_paths_that_lead_out__lead_nowhere(bench: Any, path: str) -> None:
    with pytest.raises(urllib.error.HTTPError, match="404"):
        urllib.request.urlopen(f"{bench.address}/{path}", timeout=30)


def test_builds__are_listed_at_the_root(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/")
    assert page.locator("main a").all_inner_texts() == ["plover", "wren"]
