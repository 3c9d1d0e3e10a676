"""The real server on copies of the demo builds, and the real browser: shared by the tests of a file."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from spoolwright.sheet import demo_folder

_START = "from spoolwright.cli import main; main()"
_ADDRESS = re.compile(r"is at (http://\S+)")
Views = Callable[..., Any]


@dataclass
class Bench:
    """A server that is up: its folder of builds, its address without the last slash, its process."""

    folder: Path
    address: str
    process: subprocess.Popen[str]


def started(folder: Path, *options: str) -> Bench:
    """Start ``spoolwright bench`` on a folder and wait until it tells its address."""
    command = [sys.executable, "-c", _START, "bench", str(folder), "--port", "0", "--no-browser", *options]
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTEST", "NICEGUI"))}
    process = subprocess.Popen(
        command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=environment
    )
    assert process.stdout is not None
    told = ""
    for line in process.stdout:
        told += line
        found = _ADDRESS.search(line)
        if found:
            return Bench(folder, found[1].rstrip("/"), process)
    raise AssertionError(f"the bench did not start: {told}")


def ready(bench: Bench) -> Bench:
    """Wait until it answers."""
    import time
    import urllib.request

    for _ in range(300):
        try:
            urllib.request.urlopen(bench.address.partition("?")[0], timeout=20).close()
        except OSError as trouble:
            if getattr(trouble, "code", None) is not None:  # it answers, if only to refuse
                return bench
            time.sleep(0.1)
        else:
            return bench
    raise AssertionError("the bench does not answer")


def stopped(bench: Bench) -> None:
    """End the server."""
    bench.process.terminate()
    bench.process.wait(timeout=30)
    if bench.process.stdout is not None:
        bench.process.stdout.close()


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A server on copies of wren and plover."""
    folder = tmp_path_factory.mktemp("builds")
    for name in ("wren", "plover"):
        shutil.copytree(demo_folder(name), folder / name)
    one = ready(started(folder))
    yield one
    stopped(one)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Debian's Chromium without a window; a machine without it fails, it does not skip."""
    from playwright.sync_api import sync_playwright

    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    assert path, "the browser tests need Chromium (on Debian: apt-get install chromium)"
    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield made
        made.close()


@pytest.fixture
def view(browser: Any) -> Iterator[Views]:
    """Open a page: ``view(address, width=1440, theme="light")``. Errors of its console, and calls to anywhere but the
    server, fail the test when it ends."""
    contexts: list[Any] = []
    wrong: list[str] = []

    def opened(address: str, width: int = 1440, theme: str = "light") -> Any:
        size = {"width": width, "height": 844 if width < 600 else 900}
        context = browser.new_context(viewport=size, color_scheme=theme, accept_downloads=True)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(90_000)
        page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
        page.on("pageerror", lambda trouble: wrong.append(str(trouble)))
        own = address.split("/")[2]
        page.on("request", lambda request: wrong.append(f"calls {request.url}") if _foreign(request.url, own) else None)
        page.goto(address)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not wrong, wrong


def _foreign(address: str, own: str) -> bool:
    scheme, _, rest = address.partition("://")
    return scheme in ("http", "https", "ws", "wss") and rest.split("/")[0] != own
