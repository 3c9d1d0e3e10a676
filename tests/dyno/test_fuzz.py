"""Mutated logs end in a report or in BadLog, never in another exception; the report accounts for lines and cells."""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest
from dyno_accounts import unexplained_cells, unexplained_lines

from spoolwright.dyno.readers.reading import read_bytes
from spoolwright.dyno.readers.report import as_json
from spoolwright.errors import BadLog

LOGS = Path(__file__).parent / "logs"
SEEDS = [p.read_bytes() for p in sorted(LOGS.glob("c*.csv"))]
PIECES = [
    b",",
    b";",
    b"\t",
    b"|",
    b'"',
    b"'",
    b"\n",
    b"\r",
    b"\r\n",
    b"\x00",
    b"\xff",
    b"\xfe\xff",
    b"\xef\xbb\xbf",
    b"-",
    b".",
    b":",
    b"  ",
    b"nan",
    b"inf",
    b"1e999",
    b"-9999",
    b"9" * 400,
    b"Time,RPM\n",
    b"# x",
    b"// y",
    b"(",
    b")",
    b"=",
    b"\x1a",
    b"\xb0C",
    b"1_0",
    b"0x1F",
    "٣".encode(),
    b"31.12.2031",
    b"00:00:00",
    b"1e400",
    b"\\",
    b"x1000 rpm",
    b"counts",
    b"%",
    b"\x85",
    "\u2028".encode(),
]


def mutate(rng: random.Random) -> bytes:
    data = bytearray(rng.choice(SEEDS))
    for _ in range(rng.choice((1, 1, 2, 3, 8, 30))):
        kind, at = rng.randrange(9), rng.randrange(len(data) + 1)
        if kind == 0 and data:
            data[at % len(data)] = rng.randrange(256)
        elif kind == 1:
            data[at:at] = rng.choice(PIECES)
        elif kind == 2:
            del data[at : at + rng.randrange(1, 60)]
        elif kind == 3:
            other = rng.choice(SEEDS)
            start = rng.randrange(len(other))
            data[at:at] = other[start : start + rng.randrange(1, 300)]
        elif kind == 4:
            data[at:at] = data[at : at + rng.randrange(1, 200)]
        elif kind == 5:
            del data[at:]
        elif kind == 6:
            a, b = rng.choice(PIECES), rng.choice(PIECES)
            data = bytearray(bytes(data).replace(a, b, rng.randrange(1, 200)))
        elif kind == 7:
            lines = bytes(data).split(b"\n")
            rng.shuffle(lines) if rng.random() < 0.3 else lines.reverse() if rng.random() < 0.3 else lines.sort()
            data = bytearray(b"\n".join(lines))
        else:
            lines = bytes(data).split(b"\n")
            del lines[: rng.randrange(len(lines))]
            data = bytearray(b"\n".join(lines))
        if not data:
            break
    return bytes(data)


def run(count: int, seed: int) -> tuple[int, int]:
    rng = random.Random(seed)
    reports = refused = 0
    for i in range(count):
        data = mutate(rng)
        try:
            log = read_bytes(data, "mutant.csv")
        except BadLog as fault:
            refused += 1
            if "\n" in str(fault):
                raise AssertionError(f"mutation {i} of seed {seed}: more than one line: {fault}") from fault
            continue
        except Exception as fault:
            raise AssertionError(f"mutation {i} of seed {seed}: {fault!r}") from fault
        reports += 1
        if i % 20 == 0:
            as_json(log)
        assert log.rows == log.table.height
        assert log.rows == sum(s.rows for s in log.segments)
        lost = [*unexplained_lines(data, log), *unexplained_cells(data, log)]
        assert not lost, f"mutation {i} of seed {seed}: {lost[:3]}"
    return reports, refused


def test_some_mutations():
    reports, _ = run(300, 1)
    assert reports > 150


@pytest.mark.slow
def test_twenty_thousand_mutations():
    start = time.perf_counter()
    reports, refused = run(20_000, 2)
    print(f"{reports} reports, {refused} refused, {time.perf_counter() - start:.0f} s")
    assert reports > 12_000
