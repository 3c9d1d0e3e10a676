"""Reading a build: sheet, variant, settings; all faults at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from spoolwright.errors import BadInput
from spoolwright.sheet import claims, files, rules, scan, upgrade
from spoolwright.sheet.claims import SHEET_FILE
from spoolwright.sheet.faults import Fault, SheetFaults, closest
from spoolwright.sheet.model import Sheet
from spoolwright.sheet.reading import Reader
from spoolwright.sheet.sections import SCHEMA_VERSION

_ENOUGH = 200  # faults shown at most


def load(
    folder: str | Path, variant: str | None = None, sets: Iterable[str] = (), over: Iterable[tuple[str, str]] = ()
) -> Sheet:
    """The build in ``folder``, with a variant, further texts (name, text) and ``path=value`` settings laid over it.

    Raises SheetFaults with every fault at once; BadInput where the folder or a file cannot be read.
    """
    root = Path(folder)
    if root.is_file() and root.name == SHEET_FILE:
        root = root.parent
    if not root.is_dir():
        raise BadInput(f"{root}: there is no such folder; a build is a folder that holds {SHEET_FILE}")
    text = files.decode(files.read_bytes(root / SHEET_FILE, SHEET_FILE), SHEET_FILE)
    overlays = [] if variant is None else [_variant(root, variant)]
    return read_texts(root, text, [*overlays, *over], tuple(sets), variant)


def read_texts(
    folder: Path,
    text: str,
    overlays: Iterable[tuple[str, str]] = (),
    sets: tuple[str, ...] = (),
    variant: str | None = None,
) -> Sheet:
    """The sheet in ``text`` with ``overlays`` (name, text) and ``sets`` over it; tables are read from ``folder``."""
    laid = claims.Claims()
    version = _lay(laid, SHEET_FILE, text, None)
    for name, overlay in overlays:
        _lay(laid, name, overlay, version)
    for one in sets:
        try:
            claims.lay(laid, claims.setting(one), claims.Source("--set"))
        except BadInput as trouble:
            laid.faults.append(Fault("--set", 0, "", str(trouble)))
    return _sheet(laid, folder, variant, sets, version)


def _sheet(laid: claims.Claims, folder: Path, variant: str | None, sets: tuple[str, ...], version: int) -> Sheet:
    reader = Reader(laid, folder)
    reader.read()
    if reader.faults:
        raise SheetFaults(reader.faults[:_ENOUGH], unchecked=True)
    old = version if version != SCHEMA_VERSION else None
    sheet = Sheet(folder, variant, reader.entries, reader.sections, sets, old)
    found = [_placed(laid, path, message) for path, message in rules.troubles(sheet)]
    if found:
        raise SheetFaults(found)
    return sheet


def _placed(laid: claims.Claims, path: str, message: str) -> Fault:
    """The fault at the line of its field, else of the section it belongs to."""
    at = path
    while at:
        claim = laid.by_path.get(at) or laid.sections.get(at)
        if claim is None and at in laid.elements:
            claim = next(iter(laid.elements[at].values()), None)
        if claim is not None:
            return Fault(claim.file, claim.line, path, message)
        at = at.rpartition(".")[0]
    return Fault(SHEET_FILE, 0, path, message)


def _variant(root: Path, variant: str) -> tuple[str, str]:
    known = sorted(p.stem for p in (root / "variants").glob("*.toml"))
    if variant not in known:
        has = ", ".join(known) or "none"
        raise BadInput(f'variant "{variant[:60]}" is not there{closest(variant, known)}; {root.name} has {has}')
    name = f"variants/{variant}.toml"
    return name, files.decode(files.read_bytes(root / name, name), name)


def _lay(laid: claims.Claims, name: str, text: str, base_version: int | None) -> int:
    """Lay one file; gives the version of its layout."""
    raw = _parse(name, text)
    schema = raw.get("schema")
    if schema is None and base_version is not None:
        version = base_version
    else:
        try:
            version = upgrade.version_of(schema)
        except BadInput as trouble:
            line = scan.lines(text).get(("schema",), 1)
            path, _, message = str(trouble).partition(": ")
            raise SheetFaults([Fault(name, line, path, message)], unchecked=True) from None
    if version != SCHEMA_VERSION:
        text = upgrade.upgraded(text, version)
        raw = _parse(name, text)
    claims.lay(laid, raw, claims.Source(name, text))
    return version


def _parse(name: str, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise SheetFaults([Fault(name, 0, "", "lists stand in lists too deeply to be a sheet")]) from None
    except ValueError as trouble:
        raise SheetFaults([_not_toml(name, text, str(trouble))]) from None


# What the TOML reader says, in words a builder knows.
_PLAINER = {
    "cannot overwrite a value": "this name stands here for the second time",
    "invalid statement": "a line is a [section], name = value, or a remark after #",
    "invalid value": 'a quantity is text in quotes, for example "86.0 mm"',
    "expected newline or end of document after a statement": 'a quantity is text in quotes, for example "86.0 mm"',
    "expected '=' after a key": 'write name = "value"',
}


def _not_toml(name: str, text: str, words: str) -> Fault:
    place = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)", words)
    line = int(place[1]) if place and place[1] else (text.count("\n") + 1 if place else 0)
    said = (words[: place.start()] if place else words).rstrip(".")[:200]
    said = said[:1].lower() + said[1:]
    plainer = next((plain for known, plain in _PLAINER.items() if said.startswith(known)), "")
    column = f" at column {place[2]}" if place and place[2] else ""
    hint = f"; {plainer}" if plainer else ""
    return Fault(name, line, "", f"this line is not TOML{column} ({said}){hint}")
