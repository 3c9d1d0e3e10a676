"""A random clean table in a random dialect: what is read is what was written, or the report says why not."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from spoolwright.dyno.readers.reading import read_bytes


@dataclass(frozen=True)
class Kind:
    """A channel: role, names it may go by, units (wanted = slope * (written + offset), by hand), span of a pull."""

    role: str
    names: tuple[str, ...]
    units: tuple[tuple[str, int, float, float], ...]  # text, places, slope, offset
    low: float
    high: float


F, PSI = (5.0 / 9.0, -32.0), 6.894757293
KINDS = (
    Kind("throttle", ("TPS", "Throttle", "Drosselklappe", "Papillon"), (("%", 1, 1.0, 0.0),), 12.0, 99.0),
    Kind("boost_gauge", ("Boost", "Ladedruck", "Pression turbo"),
         (("kPa", 1, 1.0, 0.0), ("bar", 3, 100.0, 0.0), ("psi", 2, PSI, 0.0), ("mbar", 0, 0.1, 0.0)), -3.0, 95.0),
    Kind("lambda", ("Lambda", "Lambda 1"), (("-", 3, 1.0, 0.0), ("", 3, 1.0, 0.0)), 0.78, 1.02),
    Kind("oil_temp", ("Oil Temp", "Öltemp", "Température huile"),
         (("°C", 1, 1.0, 0.0), ("C", 0, 1.0, 0.0), ("°F", 1, *F)), 85.0, 118.0),
    Kind("oil_pressure", ("Oil Press", "Öldruck", "Pressione olio"),
         (("bar", 2, 100.0, 0.0), ("psi", 1, PSI, 0.0), ("kPa", 0, 1.0, 0.0)), 240.0, 430.0),
    Kind("head_temp_2", ("CHT 2", "Kopf 2", "Head 2"), (("°C", 1, 1.0, 0.0), ("°F", 0, *F)), 150.0, 205.0),
    Kind("exhaust_temp_1", ("EGT 1", "Abgas 1"), (("°C", 0, 1.0, 0.0), ("°F", 0, *F)), 610.0, 880.0),
    Kind("fuel_pressure", ("Fuel Pressure", "Benzindruck"), (("kPa", 1, 1.0, 0.0), ("psi", 2, PSI, 0.0)), 280.0, 390.0),
    Kind("torque", ("Torque", "Drehmoment", "Couple"),
         (("Nm", 1, 1.0, 0.0), ("lb-ft", 2, 1.3558179483, 0.0)), 110.0, 260.0),
    Kind("spark_advance", ("Ign Advance", "Zündwinkel"), (("deg", 1, 1.0, 0.0), ("°", 1, 1.0, 0.0)), 9.0, 31.0),
    Kind("battery_voltage", ("Battery", "Batterie"), (("V", 2, 1.0, 0.0),), 13.1, 14.2),
)  # fmt: skip
CLOCKS = (("Time", "s", 2, 1.0), ("Zeit", "s", 3, 1.0), ("Elapsed", "ms", 0, 1e-3), ("Temps", "s", 2, 1.0))
SPEEDS = (("RPM", "rpm", 0, 1.0), ("Drehzahl", "1/min", 0, 1.0), ("Régime moteur", "tr/min", 0, 1.0))
NO_VALUE = ("", "NaN", "n/a", "---", "OFF", "#N/A", "-9999")
PREAMBLES = (
    (),
    ("Run 7 of the day",),
    ("Operator: A. Maker", "Date: 2031-03-14", ""),
    ("# bench log", "# Baro: 987 mbar"),
    ("", "Session;third", ""),
)


@dataclass(frozen=True)
class Written:
    """A file, and per column (role, cells as values in the wanted unit, None where no value was written, tolerance)."""

    data: bytes
    columns: list[tuple[str, list[float | None], float]]
    first_line: int


@st.composite
def written(draw: st.DrawFn) -> Written:
    rows = draw(st.integers(12, 40))
    step = draw(st.sampled_from((0.05, 0.1, 0.25)))
    start = draw(st.sampled_from((0.0, 0.0, 118.5, 512.4)))
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=6, unique_by=lambda k: k.role))
    delimiter = draw(st.sampled_from((",", ";", "\t", "|")))
    decimal = draw(st.sampled_from((".", ".", ",")))
    quoted = draw(st.booleans()) or (decimal == "," and delimiter == ",")
    thousands = draw(st.sampled_from(("", "", "'", "." if decimal == "," else ",")))
    if thousands == delimiter and not quoted:
        thousands = ""
    rng = random.Random(draw(st.integers(0, 10**6)))

    def shown(value: float, places: int) -> str:
        text = f"{value:.{places}f}"
        head, _, tail = text.partition(".")
        if thousands and len(head.lstrip("-")) > 3:
            head = f"{int(head):,}".replace(",", thousands)
        return head + (decimal + tail if tail else "")

    names, units, cells, truth = [], [], [], []
    clock, speed = draw(st.sampled_from(CLOCKS)), draw(st.sampled_from(SPEEDS))
    for role, (name, unit, places, slope), values in (
        ("time", clock, [start + step * i for i in range(rows)]),
        ("engine_speed", speed, [2500.0 + 3800.0 * i / rows + rng.randint(-4, 4) for i in range(rows)]),
    ):
        raw = [round(v / slope, places) for v in values]
        names.append(name)
        units.append(unit)
        cells.append([shown(v, places) for v in raw])
        truth.append((role, [v * slope for v in raw], 1e-6))
    for kind in kinds:
        unit, places, slope, offset = draw(st.sampled_from(kind.units))
        names.append(draw(st.sampled_from(kind.names)))
        units.append(unit)
        column, values = [], []
        for i in range(rows):
            wanted = kind.low + (kind.high - kind.low) * (0.1 + 0.8 * i / rows + 0.05 * rng.random())
            raw = round(wanted / slope - offset, places)
            if rng.random() < 0.03:
                column.append(rng.choice(NO_VALUE))
                values.append(None)
            else:
                column.append(shown(raw, places))
                values.append(slope * (raw + offset))
        cells.append(column)
        truth.append((kind.role, values, 1e-6 * max(abs(kind.high), 1.0)))
    order = draw(st.permutations(range(len(names))))
    if draw(st.booleans()):  # mostly the clock stands first
        order = [0, *(i for i in order if i)]
    names, units, cells, truth = ([x[i] for i in order] for x in (names, units, cells, truth))
    place = draw(st.sampled_from(("row", "brackets", "round brackets", "row above")))
    if place in ("brackets", "round brackets"):
        a, b = "[]" if place == "brackets" else "()"
        head = [[f"{n} {a}{u}{b}" if u else n for n, u in zip(names, units, strict=True)]]
    else:
        head = [names, units] if place == "row" else [units, names]
    trailing = delimiter if draw(st.booleans()) and not quoted else ""

    def line(texts: list[str]) -> str:
        return delimiter.join(f'"{t}"' if quoted else t for t in texts) + trailing

    preamble = draw(st.sampled_from(PREAMBLES))
    lines = [*preamble, *(line(h) for h in head), *(line(list(r)) for r in zip(*cells, strict=True))]
    end = draw(st.sampled_from(("\n", "\r\n", "\r")))
    encoding = draw(st.sampled_from(("utf-8", "utf-8-sig", "utf-16", "cp1252")))
    text = end.join(lines) + (end if draw(st.booleans()) else "")
    return Written(text.encode(encoding), truth, len(preamble) + len(head) + 1)


def holds(made: Written) -> None:
    """Every written value is in the table; every cell without one is empty there and has its line in the report."""
    log = read_bytes(made.data, "pull.csv")
    assert [c.role for c in log.columns] == [role for role, _, _ in made.columns]
    rows = len(made.columns[0][1])
    assert log.rows == rows, log.dropped
    assert len(log.segments) == 1
    said = {(r.column, n) for r in log.repairs if r.line for n in range(r.line, (r.last_line or r.line) + 1)}
    for column, (role, values, tol) in zip(log.columns, made.columns, strict=True):
        got = log.table[column.field].to_list()
        for row, (have, want) in enumerate(zip(got, values, strict=True)):
            if have is None:
                assert (column.name, made.first_line + row) in said, (role, row, want)
                continue
            assert want is not None, (role, row, have)
            assert math.isclose(have, want, rel_tol=1e-7, abs_tol=tol), (role, row, have, want, column.unit_in_file)
        lost = sum(g is None for g in got) - sum(v is None for v in values)
        assert lost <= 1, (role, lost)  # a file that stops inside its last number may lose that one


@settings(max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(written())
def test_what_is_read__is_what_was_written(made: Written) -> None:
    holds(made)


@pytest.mark.slow
@settings(max_examples=1500, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(written())
def test_what_is_read__is_what_was_written_in_thousands(made: Written) -> None:
    holds(made)
