"""Start the bench: one server on one folder, loopback unless a host is asked for, all assets from here."""

from __future__ import annotations

import secrets
import socket
import sys
from collections.abc import Callable
from html import escape
from pathlib import Path

from nicegui import app, ui
from starlette.requests import Request

from spoolwright.bench import lock, marks, picking, root, shell, upload
from spoolwright.bench.desk import Desk, Page, opened
from spoolwright.bench.elements import box, html
from spoolwright.bench.guard import LOOPBACK, Guard
from spoolwright.bench.pages import PAGES
from spoolwright.errors import BadInput

LOOK = Path(__file__).parent / "look"
LARGEST_MESSAGE = 4_000_000  # bytes a browser may send at once over the socket
_RECONNECT = 120.0  # s a page is kept while its browser is silent: compiling the solver can hold everything up
_BUILD_TIME = 30.0  # s a page may take to be made before the browser is told


def serve(folder: Path, host: str | None, port: int, show: bool, say: Callable[[str], None]) -> None:
    """Serve the builds in ``folder`` until interrupted. Raises BadInput for a folder or address that cannot be used."""
    real = root.opened(folder)
    listen = host or "127.0.0.1"
    chosen = _free_port(listen, port)
    token = None if host is None else secrets.token_urlsafe(16)
    address = f"http://{_shown_host(listen)}:{chosen}/" + (f"?token={token}" if token else "")
    with lock.held(real, address.partition("?")[0]):
        _pages(real)
        hosts = LOOPBACK if host is None else LOOPBACK | {_shown_host(listen), listen, socket.gethostname()}
        app.add_middleware(Guard, hosts=hosts, token=token)
        _greet(real, address, token, say)
        ui.run(
            host=listen,
            port=chosen,
            title="spoolwright",
            favicon=LOOK / "mark.svg",
            show=show,
            reload=False,
            tailwind=False,
            language="en-US",
            show_welcome_message=False,
            uvicorn_logging_level="error",
            binding_refresh_interval=None,
            reconnect_timeout=_RECONNECT,
            ws_max_size=LARGEST_MESSAGE,
        )


def _greet(real: Path, address: str, token: str | None, say: Callable[[str], None]) -> None:
    say(f"The bench on {real} is at {address}")
    if token is not None:
        say(
            "It listens to the network, without encryption: whoever has this address can read and change the build. "
            "Use it on a network you trust, and stop it (Ctrl-C) when you are done."
        )
        import segno

        segno.make(address, error="m").terminal(out=sys.stdout, compact=True, border=2)
    say("Ctrl-C stops it; every confirmed entry is on disk already.")


def _shown_host(listen: str) -> str:
    """The name others reach this machine by when it listens on all its addresses."""
    if listen not in ("0.0.0.0", "::", ""):
        return listen
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))  # documentation address (RFC 5737): nothing is sent
            return str(probe.getsockname()[0])
    except OSError:
        return socket.gethostname()


def _free_port(listen: str, port: int) -> int:
    """``port``, or any free one for 0. Raises BadInput where it cannot be listened on."""
    family = socket.AF_INET6 if ":" in listen else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((listen, port))
        except (OSError, OverflowError) as trouble:
            reason = getattr(trouble, "strerror", None) or trouble
            raise BadInput(f"{listen}:{port} cannot be listened on ({reason}); choose another --port") from None
        return int(probe.getsockname()[1])


def _pages(real: Path) -> None:
    app.add_static_files("/look", LOOK)
    upload.add_route()
    picking.add_route()
    stamp = max(int(path.stat().st_mtime) for path in LOOK.iterdir())
    ui.add_head_html(
        f'<script src="/look/bench.js?{stamp}"></script><link rel="stylesheet" href="/look/bench.css?{stamp}">',
        shared=True,
    )
    ui.add_body_html(marks.SYMBOLS, shared=True)
    for page in PAGES:
        _route(real, page)
    ui.page("/", title="spoolwright", response_timeout=_BUILD_TIME)(lambda: _all_builds(real))


def _route(real: Path, page: Page) -> None:
    async def show(build: str, request: Request) -> None:
        folders = root.builds(real)
        if build not in folders:
            _not_there(build)
            return
        query = request.query_params
        desk = Desk(opened(build, folders[build]), ui.context.client, page.key)
        known = desk.store.variants()
        desk.variant = query.get("variant") if query.get("variant") in known else None
        desk.against = query.get("against") if query.get("against") in (*known, "sheet") else None
        ui.page_title(f"{page.title}, {build}")
        desk.store.listeners.append(desk.refresh)
        desk.client.on_disconnect(lambda: desk.store.forget(desk.refresh))
        ui.timer(2.0, lambda: desk.store.tell() if desk.store.look() else None)
        answer = shell.frame(desk, page, PAGES)
        with answer.content:
            if desk.sheet is None:
                shell.faults(desk)
                return
            made = page.make(desk, answer)
            if made is not None:
                await made

    ui.page(f"/{{build}}/{page.key}", response_timeout=_BUILD_TIME)(show)


def _all_builds(real: Path) -> None:
    found = root.builds(real)
    if len(found) == 1:
        ui.navigate.to(f"/{next(iter(found))}/{PAGES[0].key}")
    with box("div", "wrap"):
        with box("header", "tb").style("display:block"):
            html(f'<div class="mark">{marks.MARK}<span>spoolwright</span></div>')
        html('<div class="ans"><h1>Which build?</h1></div>')
        with box("main", "pn"):
            rows = "".join(
                f'<tr><td><a class="link" href="/{escape(name)}/{PAGES[0].key}">{escape(name)}</a></td></tr>'
                for name in found
            )
            html(f'<div class="bd"><table class="t">{rows}</table></div>')


def _not_there(build: str) -> None:
    with box("main", "wrap"):
        html(
            f'<p class="bad">There is no build "{escape(build[:60])}" in the opened folder. '
            '<a href="/">All builds</a></p>'
        )
