"""How soon the program answers: start of ``--help`` against a bare Typer program, reading and checking a build.

Run it:  python benchmarks/start.py [--times 15]
Both programs are started turn about from one process, so that a busy machine slows both; the ratio of each pair
counts. Starting anything at all (an interpreter that does nothing) stands beside them.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

BARE = """
import typer
app = typer.Typer(rich_markup_mode=None, add_completion=False)

@app.command()
def one(name: str) -> None:
    "One command."

@app.command()
def two(name: str) -> None:
    "Another."

app()
"""


def started(*command: str) -> float:
    """Seconds from start to end of a command."""
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begin


def warm(job: Callable[[], object], times: int) -> tuple[float, float]:
    """Median and least seconds of a job in this process, after one call that warms it."""
    job()
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        job()
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken), min(taken)


def starts(times: int) -> tuple[list[float], list[float], list[float]]:
    """Seconds of an empty interpreter, the bare program and ours, turn about."""
    with tempfile.TemporaryDirectory() as folder:
        bare = Path(folder) / "bare.py"
        bare.write_text(BARE)
        program = str(Path(sys.executable).with_name("spoolwright"))
        commands = ((sys.executable, "-c", ""), (sys.executable, str(bare), "--help"), (program, "--help"))
        for command in commands:
            started(*command)
        rounds = [[started(*command) for command in commands] for _ in range(times)]
    empty, plain, ours = zip(*rounds, strict=True)
    return list(empty), list(plain), list(ours)


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--times", type=int, default=15)
    times = asked.parse_args().times
    empty, plain, ours = starts(times)
    ratio = statistics.median(o / p for o, p in zip(ours, plain, strict=True))
    for name, taken in (("empty interpreter", empty), ("bare Typer --help", plain), ("spoolwright --help", ours)):
        print(f"{name:22s} {statistics.median(taken) * 1e3:7.0f} ms")
    print(f"{'ratio to bare Typer':22s} {ratio:7.2f}    (goal: at most 2.5)")

    from spoolwright.findings.check import check
    from spoolwright.sheet import load
    from spoolwright.sheet.demo import demo_folder

    wren = demo_folder("wren")
    sheet = load(wren)
    median, least = warm(lambda: load(wren), times)
    print(f"{'reading wren, warm':22s} {median * 1e3:7.0f} ms, least {least * 1e3:.0f} ms    (goal: 60 ms)")
    median, least = warm(lambda: check(sheet), times)
    print(f"{'judging wren, warm':22s} {median * 1e3:7.0f} ms, least {least * 1e3:.0f} ms")


if __name__ == "__main__":
    main()
