"""Whatever is dropped on a page and is not what it takes is refused in one sentence, and nothing is written."""

from __future__ import annotations

import hashlib
import io
import json
import os
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

pytestmark = pytest.mark.slow

MB = 1_000_000
PLACES = {  # page: where its files go, how such a file is called, what is said to noise of 50 MB
    "measure": ("#note .upload", "jpg", "at most 20 MB are taken"),
    "match": (".upload", "png", "at most 20 MB are taken"),
    "dyno-day": (".ans .upload", "csv", "at most 20 MB are taken"),
    "hand-over": (".upload", "zip", "this is no crate"),
}
SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>document.title = "taken over"</script></svg>'


@pytest.fixture(scope="module")
def noise(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """50 MB of noise."""
    file = tmp_path_factory.mktemp("noise") / "noise"
    file.write_bytes(os.urandom(50 * MB))
    return file


@pytest.fixture(scope="module")
def vast() -> bytes:
    """A small file that holds a picture of 20 000 pixels a side."""
    from PIL import Image

    out = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, "PNG")
    assert len(out.getvalue()) < MB
    return out.getvalue()


def _files(folder: Path) -> dict[str, str]:
    return {
        str(file.relative_to(folder)): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in sorted(folder.rglob("*"))
        if file.is_file()
    }


def _sent(url: str, data: bytes, name: str) -> tuple[int, str]:
    """Status and sentence of a file sent without a page."""
    headers = {"X-File-Name": quote(name, safe=""), "Content-Type": "application/octet-stream"}
    try:
        with urllib.request.urlopen(urllib.request.Request(url, data, headers), timeout=90) as answer:
            return answer.status, json.loads(answer.read())["said"]
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code, json.loads(refused.read())["said"]


def _one_sentence(said: str) -> None:
    assert "\n" not in said.strip()
    assert "Traceback" not in said
    assert "/tmp" not in said
    assert len(said) < 260


@pytest.mark.parametrize("key", list(PLACES))
def test_what_a_page_does_not_take__is_refused(
    key: str, bench: Any, view: Any, noise: Path, vast: bytes, tmp_path: Path
) -> None:
    place, ending, said_to_noise = PLACES[key]
    before = _files(bench.folder)
    page = view(f"{bench.address}/wren/{key}")
    upload = page.locator(place)
    upload.wait_for()
    chosen, told = upload.locator("input[type=file]"), upload.locator(".bad")

    def refused(about: str) -> None:
        told.filter(has_text=about).wait_for()
        _one_sentence(told.inner_text())

    large = tmp_path / f"noise.{ending}"
    large.symlink_to(noise)
    chosen.set_input_files(large)
    refused(said_to_noise)
    chosen.set_input_files({"name": f"script.{ending}", "mimeType": "image/svg+xml", "buffer": SVG})
    refused(f"script.{ending}")
    assert page.title() != "taken over"
    chosen.set_input_files({"name": f"vast.{ending}", "mimeType": "image/png", "buffer": vast})
    refused(f"vast.{ending}")

    # Past the page's own checks, straight to the address it sends to.
    url = bench.address + upload.get_attribute("data-url")
    status, said = _sent(url, b"a,b\n1,2\n", f"../../build.{ending}")
    assert status == 400
    assert "no plain file name" in said
    status, said = _sent(url, noise.read_bytes(), f"noise.{ending}")
    _one_sentence(said)
    if "at most" in said_to_noise:
        assert status == 413
        assert "larger than 20 MB" in said
    else:
        assert said_to_noise in said
    assert _files(bench.folder) == before


def test_page_that_is_closed__takes_nothing_more(bench: Any, view: Any) -> None:
    page = view(f"{bench.address}/plover/dyno-day")
    assert page.locator(".upload").count() == 1
    status, said = _sent(f"{bench.address}/bench-upload/guessed", b"a,b\n1,2\n", "a.csv")
    assert status == 404
    assert "no longer open" in said
