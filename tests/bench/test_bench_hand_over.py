"""Hand over in the real browser: gaps, leafing, signing into the logbook, book files, the crate; wide, narrow, dark."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from looked import too_wide, troubles

pytestmark = pytest.mark.slow


@pytest.fixture
def address(bench: Any) -> str:
    return f"{bench.address}/wren/hand-over"


def test_gaps_and_book__stand_there_and_leaf(address: str, view: Any) -> None:
    page = view(address)
    page.wait_for_selector(".leaf img")
    assert "gap" in page.locator("h1").inner_text()
    kinds = page.locator(".gap .tag").all_inner_texts()
    assert kinds.index("never measured") < kinds.index("never signed")
    assert page.locator(".leaf img").get_attribute("alt").startswith("Page 1 of ")
    first = page.locator(".leaf img").get_attribute("src")
    page.keyboard.press("n")
    page.wait_for_selector('.leaf img[alt^="Page 2 of"]')
    assert page.locator(".leaf img").get_attribute("src") != first
    assert too_wide(page) == 0


def test_signature__needs_a_name_and_goes_into_the_logbook(address: str, view: Any, bench: Any) -> None:
    book = bench.folder / "wren" / "logbook.jsonl"
    before = book.read_bytes()
    page = view(address)
    page.wait_for_selector(".leaf img")
    page.get_by_role("button", name="Sign: received").click()
    page.wait_for_selector(".bad:visible >> text=Write your name first")
    assert book.read_bytes() == before
    page.locator("#signer").fill("M. Sedge")
    page.get_by_role("button", name="Sign: received").click()
    page.wait_for_selector(".signrow >> text=M. Sedge")
    entry = json.loads(book.read_text(encoding="utf-8").splitlines()[-1])
    assert (entry["kind"], entry["author"], entry["details"]["what"]) == ("sign-off", "M. Sedge", "received")
    page.wait_for_function("!document.querySelector('h1').innerText.includes('received')")


def test_book__comes_as_pdf_and_as_one_page(address: str, view: Any, tmp_path: Path) -> None:
    from pypdf import PdfReader

    page = view(address)
    page.wait_for_selector(".leaf img")
    with page.expect_download() as came:
        page.keyboard.press("p")
    came.value.save_as(tmp_path / "book.pdf")
    sheets = len(PdfReader(tmp_path / "book.pdf").pages)
    assert page.locator(".leaf img").get_attribute("alt") == f"Page 1 of {sheets} of the book"
    with page.expect_download() as came:
        page.get_by_role("button", name="Download the book as one HTML file").click()
    came.value.save_as(tmp_path / "book.html")
    assert "wren" in (tmp_path / "book.html").read_text(encoding="utf-8")


def test_crate__packs_and_is_seen_whole_or_not(address: str, view: Any, tmp_path: Path) -> None:
    page = view(address)
    page.wait_for_selector(".leaf img")
    with page.expect_download() as came:
        page.get_by_role("button", name="Pack and download").click()
    whole = tmp_path / "wren.crate.zip"
    came.value.save_as(whole)
    crate = page.locator("section", has_text="Crate as a file").last.locator("input[type=file]")
    crate.set_input_files(whole)
    page.wait_for_selector(".info >> text=Whole and unchanged")
    spoiled = io.BytesIO()
    with zipfile.ZipFile(whole) as there, zipfile.ZipFile(spoiled, "w", zipfile.ZIP_DEFLATED) as other:
        for one in there.infolist():
            data = there.read(one)
            other.writestr(one, data.replace(b"86.01 mm", b"86.11 mm") if one.filename.endswith("build.toml") else data)
    crate.set_input_files({"name": "wren.zip", "mimeType": "application/zip", "buffer": spoiled.getvalue()})
    page.wait_for_selector(".bad >> text=Not as it was packed")
    assert "build.toml" in page.locator(".bad li").inner_text()
    crate.set_input_files({"name": "noise.zip", "mimeType": "application/zip", "buffer": b"\x07noise" * 999})
    page.wait_for_selector(".upload .bad")


@pytest.mark.parametrize(("width", "theme"), [(1440, "light"), (1440, "dark"), (390, "light"), (390, "dark")])
def test_look__nothing_serious_and_nothing_too_wide(address: str, view: Any, width: int, theme: str) -> None:
    page = view(address, width, theme)
    page.wait_for_selector(".leaf img")
    assert too_wide(page) == 0
    assert troubles(page) == []
