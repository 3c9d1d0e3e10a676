"""The real server on copies of the demo builds, and the real browser: shared by the tests of a file."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import Any

import pytest
from served import Bench, chromium, ready, started, stopped

from spoolwright.sheet import demo_folder


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

    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        yield made
        made.close()


class Views:
    """Opens pages: ``view(address, width=1440, theme="light")``. What a page does wrong is collected in ``wrong``."""

    def __init__(self, browser: Any) -> None:
        self.browser = browser
        self.contexts: list[Any] = []
        self.wrong: list[str] = []
        self.killed: set[str] = set()

    def __call__(self, address: str, width: int = 1440, theme: str = "light") -> Any:
        size = {"width": width, "height": 844 if width < 600 else 900}
        context = self.browser.new_context(viewport=size, color_scheme=theme, accept_downloads=True)
        self.contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(90_000)
        page.on("console", self._console)
        page.on("pageerror", lambda trouble: self.wrong.append(str(trouble)))
        own = _server(address)
        page.on("request", lambda request: self._request(request.url, own))
        page.goto(address)
        return page

    def kills(self, bench: Bench) -> None:
        """The test kills this server now: that the browser then misses it is no fault of the page."""
        self.killed.add(_server(bench.address))

    def _console(self, message: Any) -> None:
        about = f"{message.text} {message.location.get('url', '')}"
        if message.type == "error" and not any(server in about for server in self.killed):
            self.wrong.append(about)

    def _request(self, url: str, own: str) -> None:
        if url.partition("://")[0] in ("http", "https", "ws", "wss") and _server(url) != own:
            self.wrong.append(f"calls {url}")


@pytest.fixture
def view(browser: Any) -> Iterator[Views]:
    """Open a page. Errors of its console, and calls to anywhere but the server, fail the test when it ends."""
    views = Views(browser)
    yield views
    for context in views.contexts:
        context.close()
    assert not views.wrong, views.wrong


def _server(address: str) -> str:
    return address.partition("://")[2].split("/")[0]
