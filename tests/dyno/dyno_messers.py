"""One clean table of an invented pull, and ways to write it down as loggers do."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

ROWS = 60


def truth() -> dict[str, list[float]]:
    """The pull in wanted units, rounded so that every way of writing can hold it."""
    t = [round(0.1 * i, 1) for i in range(ROWS)]
    rpm = [float(round(2600 + 50 * i + 7 * math.sin(1.7 * i))) for i in range(ROWS)]
    boost = [round(85.0 / (1 + math.exp(-(i - 22) / 4.0)), 1) for i in range(ROWS)]
    lam = [round(0.97 - 0.17 / (1 + math.exp(-(i - 22) / 4.0)) + 0.004 * math.sin(2.3 * i), 3) for i in range(ROWS)]
    oil = [round(92.0 + 0.04 * i, 1) for i in range(ROWS)]
    heads = {f"head_temp_{k}": [round(148.0 + 4 * k + 0.45 * i, 1) for i in range(ROWS)] for k in (1, 2)}
    return {"time": t, "engine_speed": rpm, "boost_gauge": boost, "lambda": lam, "oil_temp": oil, **heads}


NAMES = ("Time", "RPM", "Boost", "Lambda", "Oil Temp", "CHT 1", "CHT 2")
UNITS = ("s", "rpm", "kPa", "-", "C", "C", "C")
DIGITS = (1, 0, 1, 3, 1, 1, 1)


@dataclass(frozen=True)
class Style:
    """How the table is written; every field is one trouble."""

    delimiter: str = ","
    decimal: str = "."
    thousands: str = ""
    end: str = "\n"
    names: tuple[str, ...] = NAMES
    units: tuple[str, ...] = UNITS
    unit_row: str = "below"  # below, above, brackets, none
    quote: bool = False
    preamble: str = ""
    footer: str = ""
    trailing: bool = False
    encoding: str = "utf-8"
    last_end: bool = True


def number(value: float, digits: int, style: Style) -> str:
    text = f"{value:.{digits}f}"
    whole, point, rest = text.partition(".")
    sign, whole = ("-", whole[1:]) if whole.startswith("-") else ("", whole)
    if style.thousands and len(whole) > 3:
        whole = whole[:-3] + style.thousands + whole[-3:]
    return sign + whole + (style.decimal + rest if point else "")


def cells(style: Style, table: dict[str, list[float]] | None = None) -> list[list[str]]:
    columns = list((table or truth()).values())
    return [
        [number(column[i], d, style) for column, d in zip(columns, DIGITS, strict=True)] for i in range(len(columns[0]))
    ]


def header(style: Style) -> list[list[str]]:
    if style.unit_row == "brackets":
        return [[f"{n} [{u}]" if u != "-" else n for n, u in zip(style.names, style.units, strict=True)]]
    rows = [list(style.names)]
    if style.unit_row == "below":
        rows.append(list(style.units))
    if style.unit_row == "above":
        rows.insert(0, list(style.units))
    return rows


def line(row: list[str], style: Style) -> str:
    shown = [f'"{c}"' if style.quote or style.delimiter in c else c for c in row]
    return style.delimiter.join(shown) + (style.delimiter if style.trailing else "")


def write(style: Style, rows: list[list[str]] | None = None) -> str:
    body = header(style) + (cells(style) if rows is None else rows)
    text = style.end.join(line(r, style) for r in body) + (style.end if style.last_end else "")
    return style.preamble.replace("\n", style.end) + text + style.footer.replace("\n", style.end)


def style(**changes: object) -> Style:
    return replace(Style(), **changes)
