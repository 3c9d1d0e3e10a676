"""The real server as a process of its own, and where Debian's Chromium is: for tests, pictures and the benchmark."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

START = "from spoolwright.cli import main; main()"
_ADDRESS = re.compile(r"is at (http://\S+)")


@dataclass
class Bench:
    """A server that is up: its folder of builds, its address without the last slash, its process."""

    folder: Path
    address: str
    process: subprocess.Popen[str]


def started(folder: Path, *options: str) -> Bench:
    """Start ``spoolwright bench`` on a folder and wait until it tells its address."""
    command = [sys.executable, "-c", START, "bench", str(folder), "--port", "0", "--no-browser", *options]
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
    bench.process.wait(timeout=60)
    if bench.process.stdout is not None:
        bench.process.stdout.close()


def chromium() -> str:
    """Debian's Chromium; where it lacks, that is a failure."""
    path = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    assert path, "this needs Chromium (on Debian: apt-get install chromium)"
    return path
