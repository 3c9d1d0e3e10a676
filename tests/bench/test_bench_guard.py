"""Who may talk to the bench: names, origins, the token; one server a folder; which folders are builds."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from spoolwright.bench import lock, root
from spoolwright.bench.guard import LOOPBACK, Guard
from spoolwright.errors import BadInput
from spoolwright.sheet import template


async def _hello(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": b"hello"})


def _asked(path: str = "/", token: str | None = None, kind: str = "http", **headers: str) -> tuple[int, dict[str, str]]:
    """Status and headers of one request to a guarded app; a refused socket counts as its close code."""
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request", "body": b""}

    place, _, query = path.partition("?")
    told = {"host": "localhost:8137"} | {name.lower(): value for name, value in headers.items()}
    raw = [(name.encode(), value.encode()) for name, value in told.items()]
    scope = {"type": kind, "path": place, "query_string": query.encode(), "headers": raw}
    with ThreadPoolExecutor(1) as apart:  # the browser of other tests keeps a loop in this thread
        apart.submit(asyncio.run, Guard(_hello, LOOPBACK, token)(scope, receive, send)).result()
    first = sent[0]
    if first["type"] == "websocket.close":
        return first["code"], {}
    return first["status"], {name.decode(): value.decode() for name, value in first["headers"]}


def test_without_a_token__this_machine_only_by_its_own_names() -> None:
    assert _asked()[0] == 200
    assert _asked(host="127.0.0.1:8137")[0] == 200
    assert _asked(host="[::1]:8137")[0] == 200
    assert _asked(host="evil.example")[0] == 421
    assert _asked(host="")[0] == 421
    assert _asked(origin="http://evil.example")[0] == 421
    assert _asked(origin="null")[0] == 421
    assert _asked(origin="http://localhost:8137")[0] == 200
    assert _asked(kind="websocket", origin="http://evil.example")[0] == 1008


def test_with_a_token__nothing_without_it_and_a_cookie_after_it() -> None:
    assert _asked(token="right")[0] == 403
    assert _asked("/?token=wrong", token="right")[0] == 403
    assert _asked(token="right", kind="websocket")[0] == 1008
    status, headers = _asked("/wren/predict?token=right&variant=hill", token="right")
    assert (status, headers["location"]) == (303, "/wren/predict?variant=hill")
    assert "HttpOnly" in headers["set-cookie"]
    cookie = headers["set-cookie"].partition(";")[0]
    assert _asked(token="right", cookie=cookie)[0] == 200
    assert _asked(token="right", cookie="bench_token=wrong")[0] == 403


@pytest.mark.parametrize("path", ["//evil.example/x", "/\\evil.example", "///evil.example"])
def test_the_welcome__never_leads_to_another_site(path: str) -> None:
    _, headers = _asked(f"{path}?token=right", token="right")
    assert headers["location"].startswith("/")
    assert not headers["location"].startswith(("//", "/\\"))


def test_answers__forbid_foreign_scripts_and_frames() -> None:
    policy = _asked()[1]["content-security-policy"]
    assert "default-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy


def test_a_second_server_on_the_folder__is_told_where_the_first_is(tmp_path: Path) -> None:
    code = (
        "import sys\nfrom pathlib import Path\nfrom spoolwright.bench import lock\n"
        f"with lock.held(Path({str(tmp_path)!r}), 'http://127.0.0.1:9/'):\n"
        "    print('held', flush=True)\n    sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as first:
        assert first.stdout is not None
        assert first.stdout.readline() == "held\n"
        with (
            pytest.raises(BadInput, match=r"open on this folder already at http://127.0.0.1:9/"),
            lock.held(tmp_path, "x"),
        ):
            pass
        first.kill()
    with lock.held(tmp_path, "x"):  # a killed server leaves no lock behind
        pass


def test_builds__are_the_folder_itself_or_those_right_below_it(tmp_path: Path) -> None:
    template.new(tmp_path / "one", like="plover")
    template.new(tmp_path / "two", like="plover")
    (tmp_path / "empty").mkdir()
    outside = tmp_path / "one" / "inner"
    template.new(outside, like="plover")
    assert list(root.builds(tmp_path)) == ["one", "two"]
    assert list(root.builds(tmp_path / "one")) == ["one"]
    (tmp_path / "rootonly").mkdir()
    (tmp_path / "rootonly" / "link").symlink_to(tmp_path / "two")
    assert root.builds(tmp_path / "rootonly") == {}
    with pytest.raises(BadInput, match=r"spoolwright new"):
        root.opened(tmp_path / "empty")
    with pytest.raises(BadInput, match="no such folder"):
        root.opened(tmp_path / "nowhere")
