"""Particulars above the table: "key: value" lines are kept as written, the ones that matter are understood."""

from __future__ import annotations

import re
from typing import Any

from spoolwright.dyno.readers.cells import Signs, column_signs, parse
from spoolwright.dyno.readers.clock import day_first
from spoolwright.dyno.readers.names import Evidence, name_role, plain, split_unit
from spoolwright.dyno.readers.quantities import conversion, read_unit

_PAIR = re.compile(r"^[\s/#*%;!\"'-]*([^=:;,\t|]{1,60}?)\s*(?:[=:;,\t|]|\s{2,})[\s:=;,\t|\"]*(.*?)[\s;,\t|\"]*$")


def read_particulars(preamble: list[tuple[int, str]]) -> tuple[list[tuple[int, str, str]], dict[str, Any]]:
    """All particulars as (line, key, value), and those understood: date, barometer_kPa, air_temp_degC, humidity_%."""
    found, meta = [], {}
    for line, text in preamble:
        match = _PAIR.match(text)
        key, value = (match[1].strip(), match[2].strip()) if match else ("", text.strip())
        found.append((line, key, value))
        if key and value:
            entry = _understand(key, value)
            if entry is not None and entry[0] not in meta:
                meta[entry[0]] = entry[1]
    return found, meta


def _understand(key: str, value: str) -> tuple[str, Any] | None:
    words = set(plain(key).split())
    if words & {"date", "datum", "fecha", "data", "dato"}:
        return "date", _iso(value)
    bare, unit_text = split_unit(key)
    parsed = _number(value)
    if parsed is None:
        return None
    number, unit_behind = parsed
    unit = read_unit(unit_text or unit_behind)
    if words & {"humidity", "feuchte", "luftfeuchte", "humidite", "umidita", "humedad", "rh"}:
        return "humidity_%", number
    role, _ = name_role(bare, unit, Evidence(key, unit_text, True, number, number, number))
    if role == "barometer" or (
        role is None and words & {"pressure", "druck"} and unit and unit.dimension == "pressure"
    ):
        if unit is None:
            unit = read_unit(
                "mbar" if 700 < number < 1100 else "kPa" if 70 < number < 110 else "inHg" if 20 < number < 33 else ""
            )
        if unit is None or unit.dimension != "pressure":
            return None
        slope, offset = conversion(unit.registry, "pressure")
        return "barometer_kPa", round(slope * (number + offset), 6)
    if role in ("air_temp", "intake_temp"):
        if unit is None:
            unit = read_unit("C" if number < 50 else "F")
        if unit is None or unit.dimension != "temperature":
            return None
        slope, offset = conversion(unit.registry, "temperature")
        return "air_temp_degC", round(slope * (number + offset), 6)
    return None


def _number(value: str) -> tuple[float, str] | None:
    text = value.strip()
    signs = column_signs([text]) or Signs(".", None, False)
    if not signs.decimal:
        signs = Signs(".", signs.thousands, False)
    head = re.match(r"[-+]?[\d.,]+", text)
    if head is None:
        return None
    parsed = parse(head[0], signs)
    rest = re.match(r"\s*([^\s;,\t|]*)", text[head.end() :])
    return (parsed.value, rest[1] if rest else "") if parsed.value == parsed.value else None


def _iso(value: str) -> str:
    from datetime import date

    from spoolwright.dyno.readers.clock import dated

    head = re.match(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}", value.strip())
    if head is None:
        return value
    found = dated(head[0], day_first([head[0]]) or "." in head[0])
    return date.fromordinal(found[0]).isoformat() if found else value
