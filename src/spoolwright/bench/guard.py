"""Who may talk to the bench: this machine only, or whoever brings the token when it listens to the network.

A page of another site that makes the browser call the bench is refused by its Host or Origin; with a token, every
request but the first carries it in a cookie.
"""

from __future__ import annotations

import hmac
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs, quote, urlencode, urlsplit

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

COOKIE = "bench_token"
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; font-src 'self'; connect-src 'self' ws: wss: data: blob:; object-src 'none'; "
    "frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
)
HEADERS = [
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"x-frame-options", b"DENY"),
]


class Guard:
    """ASGI middleware that lets through what ``hosts`` and ``token`` allow; no token: none is needed."""

    def __init__(self, app: App, hosts: Iterable[str], token: str | None) -> None:
        self.app, self.hosts, self.token = app, frozenset(hosts), token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it in one sentence."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        if not self._own_name(headers):
            await _refuse(scope, send, 421, "This address is not one the bench goes by.")
            return
        if self.token is not None and not self._has_token(headers):
            query = parse_qs(scope.get("query_string", b"").decode("latin-1"))
            given = query.pop("token", [""])[0]
            if scope["type"] == "http" and hmac.compare_digest(given.encode(), self.token.encode()):
                await _welcome(scope["path"], query, self.token, send)
            else:
                await _refuse(
                    scope, send, 403, "The bench asks for its token: open the address that was printed when it started."
                )
            return
        await self.app(scope, receive, _with_headers(send))

    def _own_name(self, headers: dict[str, str]) -> bool:
        """Whether Host, and Origin where there is one, name this bench."""
        host = headers.get("host", "")
        origin = headers.get("origin")
        if _name(host) not in self.hosts:
            return False
        return origin is None or urlsplit(origin).netloc == host

    def _has_token(self, headers: dict[str, str]) -> bool:
        try:
            kept = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
        except CookieError:
            return False
        return kept is not None and hmac.compare_digest(kept.value.encode(), (self.token or "").encode())


def _name(host: str) -> str:
    return (urlsplit(f"//{host}").hostname or "") if host else ""


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": [*message.get("headers", []), *HEADERS]}
        await send(message)

    return sending


async def _welcome(path: str, query: dict[str, list[str]], token: str, send: Send) -> None:
    """Keep the token in a cookie and open the same page without it in the address."""
    rest = urlencode(query, doseq=True)
    place = "/" + quote(path.lstrip("/\\")) + (f"?{rest}" if rest else "")
    cookie = f"{COOKIE}={token}; Path=/; HttpOnly; SameSite=Strict"
    headers = [(b"location", place.encode()), (b"set-cookie", cookie.encode()), *HEADERS]
    await send({"type": "http.response.start", "status": 303, "headers": headers})
    await send({"type": "http.response.body", "body": b""})


async def _refuse(scope: Scope, send: Send, status: int, sentence: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
        return
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": sentence.encode()})
