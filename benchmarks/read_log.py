"""How long reading a clean log takes against a bare Polars read of the same file, and how much memory.

Run: python benchmarks/read_log.py [ROWS] [COLUMNS]. Writes an invented log into a temporary folder. Prints the ratio
and the peak memory of a process that does nothing but the reading; exits with 1 where the ratio is above 3 or the peak
above 4 GB.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

LIMIT_RATIO, LIMIT_GB = 3.0, 4.0


def write_log(path: Path, rows: int, columns: int) -> None:
    """An invented log at 100 samples a second: time, speed, boost, lambda, heads, exhausts, unnamed channels."""
    import numpy as np
    import polars as pl

    rng = np.random.default_rng(1)
    t = np.arange(rows) / 100.0
    wave = 0.5 - 0.5 * np.cos(t / 20.0)
    data = {
        "Time [s]": t,
        "RPM": np.round(2500 + 4000 * wave + rng.normal(0, 5, rows)),
        "Boost [kPa]": np.round(85 * wave + rng.normal(0, 0.3, rows), 2),
        "Lambda": np.round(0.97 - 0.17 * wave + rng.normal(0, 0.004, rows), 3),
    }
    for k in range(columns - len(data)):
        name = f"CHT {k + 1} [C]" if k < 4 else f"EGT {k - 3} [C]" if k < 8 else f"AN {k - 7} [V]"
        level = 150 if k < 4 else 750 if k < 8 else 2.5
        data[name] = np.round(level * (1 + 0.2 * wave) + rng.normal(0, 0.5, rows), 2)
    pl.DataFrame(data).write_csv(path)


def bare(path: Path) -> float:
    import polars as pl

    start = time.perf_counter()
    pl.read_csv(path)
    return time.perf_counter() - start


def ours(path: Path) -> float:
    from spoolwright.dyno import read_log

    start = time.perf_counter()
    log = read_log(path)
    seconds = time.perf_counter() - start
    assert log.dialect.fast, "the clean log was not taken for clean"
    return seconds


def main() -> int:
    if len(sys.argv) > 2 and sys.argv[1] == "--memory":
        ours(Path(sys.argv[2]))
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6)
        return 0
    rows, columns = (int(a) for a in (sys.argv[1:3] or ("1000000", "40")))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "long.csv"
        write_log(path, rows, columns)
        bare(path), ours(path)  # first runs pay for imports and the file cache
        pairs = [(bare(path), ours(path)) for _ in range(5)]
        ratios = sorted(b / a for a, b in pairs)
        command = [sys.executable, __file__, "--memory", str(path)]
        child = subprocess.run(command, capture_output=True, text=True, check=True)
        peak = float(child.stdout)
        size = path.stat().st_size / 1e6
    print(f"{rows} rows, {columns} columns, {size:.0f} MB")
    bare_s, ours_s = min(a for a, _ in pairs), min(b for _, b in pairs)
    print(f"bare read {bare_s:.2f} s, whole reading {ours_s:.2f} s, ratio {ratios[2]:.2f}")
    print(f"peak memory {peak:.2f} GB")
    return int(ratios[2] > LIMIT_RATIO or peak > LIMIT_GB)


if __name__ == "__main__":
    sys.exit(main())
