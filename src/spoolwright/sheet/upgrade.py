"""Older sheets brought to the present layout, one small step a version.

A step works on the text and leaves every line where it is, so that comments stay and faults name the
line the builder knows. Newer sheets than this program are refused.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from spoolwright.errors import BadInput
from spoolwright.sheet import scan
from spoolwright.sheet.sections import SCHEMA_NAME, SCHEMA_VERSION

# Keys that changed their name with each version: {section: {old: new}}.
RENAMED: Final[Mapping[int, Mapping[str, Mapping[str, str]]]] = {
    1: {"cylinders": {"conrod_length": "rod_length"}, "site": {"elevation": "altitude"}},
}
_SCHEMA = re.compile(rf"{SCHEMA_NAME} (\d{{1,6}})")


def version_of(schema: object) -> int:
    """The version named by a sheet's ``schema``. Raises BadInput where it is none, or newer than this program."""
    match = _SCHEMA.fullmatch(schema) if isinstance(schema, str) else None
    if match is None:
        raise BadInput(
            f'schema: the sheet does not begin with its layout; write schema = "{SCHEMA_NAME} {SCHEMA_VERSION}"'
        )
    version = int(match[1])
    if version > SCHEMA_VERSION:
        raise BadInput(
            f"schema: the sheet is of version {version}, this program reads up to {SCHEMA_VERSION}; use a newer program"
        )
    if version < 1:
        raise BadInput(f"schema: there was no version {version}; versions are 1 to {SCHEMA_VERSION}")
    return version


def upgraded(text: str, version: int) -> str:
    """``text`` of a sheet (or variant) of ``version`` in the present layout; lines keep their numbers."""
    for step in range(version, SCHEMA_VERSION):
        text = _rename(text, RENAMED[step])
        text = re.sub(
            rf'(?m)^(\s*schema\s*=\s*["\']){SCHEMA_NAME} {step}\b', rf"\g<1>{SCHEMA_NAME} {step + 1}", text, count=1
        )
    return text


def _rename(text: str, renamed: Mapping[str, Mapping[str, str]]) -> str:
    rows = text.split("\n")
    for place, line in scan.lines(text).items():
        section, name = ".".join(str(p) for p in place[:-1]), str(place[-1])
        new = renamed.get(section, {}).get(name)
        if new is not None:
            rows[line - 1] = re.sub(rf"(?<![\w-]){re.escape(name)}(?=[\"']?\s*=)", new, rows[line - 1], count=1)
    return "\n".join(rows)


def upgrade_folder(folder: Path) -> list[str]:
    """Write every sheet and variant in ``folder`` in the present layout; gives the names of the files changed."""
    from spoolwright.sheet import files
    from spoolwright.sheet.saving import replace_file

    changed = []
    version = None
    for path in [folder / "build.toml", *sorted((folder / "variants").glob("*.toml"))]:
        name = path.relative_to(folder).as_posix()
        data = files.read_bytes(path, name)
        text = files.decode(data, name)
        try:
            schema = tomllib.loads(text).get("schema")
        except ValueError as trouble:
            raise BadInput(f"{name}: this is not TOML ({trouble})") from None
        if version is None or schema is not None:
            version = version_of(schema)
        newer = upgraded(text, version)
        if newer != text:
            replace_file(path, newer.encode(), expected=data)
            changed.append(name)
    return changed
