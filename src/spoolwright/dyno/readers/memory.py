"""What the user confirmed about a log, kept in a small .toml beside it (``pull3.csv`` -> ``pull3.csv.toml``).

Its columns, and sections of the user's own words on the rig and the air of the day. The name keeps the log's own
ending, so that a log called ``build.csv`` never meets the sheet ``build.toml``. A log whose columns are named
exactly as in a confirmed one of the same folder is read in the same way. Remarks and other keys in the file stay.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from spoolwright.dyno.log import Log
from spoolwright.dyno.readers.quantities import ROLES, dimension_of, read_unit, wanted_unit
from spoolwright.errors import BadInput

Confirmed = dict[int, tuple[str | None, str | None]]
_MOST_NEIGHBOURS = 200


def memory_path(log: Path) -> Path:
    """The .toml beside ``log``."""
    return log.with_name(log.name + ".toml")


def recall(path: Path, names: Sequence[str]) -> tuple[Confirmed, str]:
    """What is confirmed for this log, or for one beside it with the same columns; and the file it came from."""
    own = memory_path(path)
    if own.is_file():
        return _read(own, names, strict=True), own.name
    try:
        neighbours = sorted(p for p in path.parent.glob("*.*.toml") if p.is_file())[:_MOST_NEIGHBOURS]
    except OSError:
        return {}, ""
    for file in neighbours:
        try:
            if file.stat().st_size < 200_000:
                found = _read(file, names, strict=False)
                if found:
                    return found, file.name
        except (BadInput, OSError):
            continue
    return {}, ""


def _parsed(file: Path) -> dict[str, Any]:
    import tomllib

    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as fault:
        raise BadInput(
            f"{file}: cannot be read as TOML ({fault}); mend it or delete it and confirm the columns again"
        ) from None


def _read(file: Path, names: Sequence[str], strict: bool) -> Confirmed:
    data = _parsed(file)
    entries = data.get("columns")
    if "log" not in data or not isinstance(entries, list) or not all(isinstance(e, dict) for e in entries):
        if strict:
            raise BadInput(f'{file}: needs "log" and a list of [[columns]]; delete it and confirm the columns again')
        return {}
    if [e.get("name") for e in entries] != list(names):
        if strict:
            raise BadInput(f"{file}: its columns are not those of the log; delete it and confirm the columns again")
        return {}
    found: Confirmed = {}
    for index, entry in enumerate(entries):
        if entry.get("confirmed") is True:
            role, unit = entry.get("role") or None, entry.get("unit") or None
            found[index] = check(str(file), names[index], role, unit)
    return found


def check(where: str, name: str, role: str | None, unit: str | None) -> tuple[str | None, str | None]:
    """Raise BadInput for a role or unit that does not exist or does not fit."""
    import re

    if role is not None and (not isinstance(role, str) or re.sub(r"_\d+$", "", role) not in ROLES):
        raise BadInput(
            f'{where}: "{role}" is no role for column "{name}"; use one of {", ".join(sorted(ROLES))} '
            "(heads and exhausts with _1, _2, ...)"
        )
    if unit is not None:
        read = read_unit(unit) if isinstance(unit, str) else None
        if read is None:
            raise BadInput(
                f'{where}: "{unit}" is no unit known here for column "{name}"; '
                f'write for example "{wanted_unit(role) if role else "kPa"}"'
            )
        if role is not None and read.dimension not in (
            dimension_of(role),
            "counts",
            "text",
            "volume_flow",
            "road_speed",
            "voltage",
            "ratio",
        ):
            raise BadInput(
                f'{where}: "{unit}" is no unit of {role} (column "{name}"); write for example "{wanted_unit(role)}"'
            )
    return role, unit


def settle(confirmed: Mapping[Any, Any], names: Sequence[str]) -> Confirmed:
    """The user's words ({"CHT": "head_temp_1 [degF]"} or {2: {"role": ..., "unit": ...}}) as places and meanings."""
    found: Confirmed = {}
    for key, value in confirmed.items():
        if isinstance(key, int):
            if not 0 <= key < len(names):
                raise BadInput(f"there is no column {key}; the log has columns 0 to {len(names) - 1}")
            index = key
        else:
            places = [i for i, n in enumerate(names) if n == key]
            if not places:
                raise BadInput(f'there is no column "{key}"; the log has {", ".join(repr(n) for n in names)}')
            if len(places) > 1:
                raise BadInput(f'"{key}" stands over columns {", ".join(map(str, places))}; say which by its number')
            index = places[0]
        if isinstance(value, str):
            role, _, unit = value.partition("[")
            entry = {"role": role.strip() or None, "unit": unit.strip(" ]") or None}
        elif isinstance(value, Mapping):
            entry = {"role": value.get("role"), "unit": value.get("unit")}
        elif value is None:
            entry = {"role": None, "unit": None}
        else:
            raise BadInput(f'column "{names[index]}": write for example "head_temp_1 [degF]"')
        found[index] = check("confirmed", names[index], entry["role"], entry["unit"])
    return found


def sections(path: Path, *names: str) -> dict[str, dict[str, Any]]:
    """The user's words kept beside the log ``path`` under these section names; {} for one that is not there."""
    file = memory_path(path)
    if not file.is_file():
        return {name: {} for name in names}
    data = _parsed(file)
    found = {name: data.get(name, {}) for name in names}
    for name, section in found.items():
        if not isinstance(section, dict):
            raise BadInput(f"{file}: [{name}] is not a section; write lines of name = value below [{name}]")
    return found


def hash_kept(path: Path) -> str:
    """SHA-256 of the log when its .toml was last written; "" where there is none."""
    file = memory_path(path)
    return str(_parsed(file).get("sha256", "")) if file.is_file() else ""


def remember(log: Log, words: Mapping[str, Mapping[str, Any]] | None = None) -> Path:
    """Write what is known of the columns beside the log, and ``words`` by section (None removes one); atomic."""
    import tomlkit

    target = memory_path(log.file)
    document = tomlkit.document()
    if target.is_file():
        _parsed(target)  # a broken file is refused, never overwritten
        document = tomlkit.parse(target.read_text(encoding="utf-8"))
    else:
        document.add(
            tomlkit.comment("Which column of the log is what. A column with confirmed = true is not guessed again.")
        )
    document["log"] = log.file.name
    document["sha256"] = log.sha256
    for name, section in (words or {}).items():
        table = document.get(name) or tomlkit.table()
        for key, value in section.items():
            if value is None:
                table.pop(key, None)
            else:
                table[key] = value
        document[name] = table
    document.pop("columns", None)
    document["columns"] = _columns(log)
    _replace(target, tomlkit.dumps(document))
    return target


def _columns(log: Log) -> Any:
    import tomlkit

    columns = tomlkit.aot()
    for column in log.columns:
        table = tomlkit.table()
        table["index"], table["name"], table["role"] = column.index, column.name, column.role or ""
        table["unit"] = column.guessed_unit or column.unit_in_file
        table["confirmed"], table["why"] = column.confirmed, column.reason
        columns.append(table)
    return columns


def _replace(target: Path, text: str) -> None:
    """Write aside, force to disk, rename."""
    aside = ""
    try:
        handle, aside = tempfile.mkstemp(dir=target.parent, prefix=target.name, suffix=".new")
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(aside, target)
    except OSError as fault:
        if aside:
            Path(aside).unlink(missing_ok=True)
        raise BadInput(f"{target}: cannot be written ({fault.strerror or fault}); check the folder's rights") from None
