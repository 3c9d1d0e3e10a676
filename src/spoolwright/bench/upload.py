"""One file from the user: bounded in size while it arrives, its name checked, judged by whoever asked for it."""

from __future__ import annotations

import asyncio
import re
import secrets
from collections.abc import Awaitable, Callable
from inspect import isawaitable
from pathlib import Path
from urllib.parse import unquote

from nicegui import app
from nicegui.element import Element
from starlette.requests import Request
from starlette.responses import JSONResponse

from spoolwright.errors import SpoolwrightError

_HERE = Path(__file__).parent / "look"
_NAME = re.compile(r"[^/\\\x00-\x1f]{1,150}")
_ROUTE = "/bench-upload/{key}"
MB = 1_000_000
FAR_TOO_MUCH = 10  # times what is taken: here the sender is cut off

Take = Callable[[str, bytes], Awaitable[str | None] | str | None]


class Upload(Element, component=_HERE / "upload.js"):
    """A button and drop place for one file of at most ``most`` bytes.

    ``take`` gets its name and bytes, in the page; what it returns, or the sentence of what it raises, stands beside it.
    """

    waiting: dict[str, Upload] = {}  # noqa: RUF012  by key, as long as their page is open

    def __init__(
        self, label: str, take: Take, accept: str = "", most: int = 20 * MB, hint: str = "", primary: bool = False
    ) -> None:
        super().__init__()
        self.take, self.most, self.key = take, most, secrets.token_urlsafe(12)
        self.waiting[self.key] = self
        for name, value in {"label": label, "accept": accept, "most": most, "hint": hint, "primary": primary}.items():
            self.props[name] = value
        self.props["url"] = _ROUTE.format(key=self.key)

    def _handle_delete(self) -> None:
        self.waiting.pop(self.key, None)
        super()._handle_delete()


def add_route() -> None:
    """The one address files are sent to."""
    app.add_api_route(_ROUTE, _receive, methods=["POST"], include_in_schema=False)


async def _receive(key: str, request: Request) -> JSONResponse:
    upload = Upload.waiting.get(key)
    if upload is None:
        return JSONResponse({"said": "This page is no longer open; load it again."}, 404)
    name = unquote(request.headers.get("x-file-name", ""))
    if not _NAME.fullmatch(name) or name.startswith("."):
        return JSONResponse({"said": f'"{name[:60]}" is no plain file name; rename the file.'}, 400)
    data, came = bytearray(), 0
    async for chunk in request.stream():
        came += len(chunk)
        if came <= upload.most:
            data += chunk
        elif came > FAR_TOO_MUCH * upload.most:
            break
    if came > upload.most:  # read to its end but not kept: a browser cut off while it sends shows no answer
        return JSONResponse({"said": f"{name} is larger than {upload.most / MB:.0f} MB; it was not taken."}, 413)
    if not data:
        return JSONResponse({"said": f"{name} is empty."}, 400)
    try:
        with upload.client:
            answer = upload.take(name, bytes(data))
            told = await answer if isawaitable(answer) else answer
    except SpoolwrightError as trouble:
        # The file came whole and was judged: that is an answer, not a failed request, which the browser would report.
        return JSONResponse({"said": str(trouble)})
    await asyncio.sleep(0)
    return JSONResponse({"said": told or ""})
