"""The list inside a crate: every file with size and hash, and what the checks of the build said when it was packed."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from spoolwright import __version__
from spoolwright.errors import BadInput
from spoolwright.findings.check import check, report
from spoolwright.findings.model import ORDER
from spoolwright.sheet import SheetFaults, load

MANIFEST: Final = "crate.json"
SCHEMA: Final = "spoolwright crate 1"
MOST_FILES = 10_000
LARGEST_FILE = 2_000_000_000  # bytes
LARGEST_CRATE = 4_000_000_000
LARGEST_MANIFEST = 8_000_000
MOST_PACKED = 200  # times a file may be larger than what stands for it in the crate
SMALL = 1_000_000  # bytes; below it that does not matter
LONGEST_NAME = 200

_HASH = re.compile(r"[0-9a-f]{64}")
_DEVICES = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


@dataclass(frozen=True, slots=True)
class Held:
    """One file of a crate: its size in bytes and its SHA-256."""

    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a crate says of itself. ``checks``: by variant ("" the sheet) digest, verdicts, hash of the report."""

    build: str
    version: str
    files: Mapping[str, Held]
    checks: Mapping[str, Mapping[str, Any]]

    def bytes(self) -> bytes:
        """As it stands in the crate; the same manifest gives the same bytes."""
        data = {
            "schema": SCHEMA,
            "program_version": self.version,
            "build": self.build,
            "files": {n: {"size": h.size, "sha256": h.sha256} for n, h in sorted(self.files.items())},
            "checks": {name: dict(told) for name, told in sorted(self.checks.items())},
        }
        return (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode()

    @property
    def hash(self) -> str:
        """The crate's own hash: who is told it by another way knows that nothing was exchanged."""
        return hashlib.sha256(self.bytes()).hexdigest()


def fault_of_name(name: str) -> str:
    """Why a file of this name is not taken; empty where it is."""
    parts = name.split("/")
    if not name or name.startswith("/") or "\\" in name or re.match(r"[A-Za-z]:", name):
        return "it is no path inside a folder"
    if any(part in ("", ".", "..") for part in parts):
        return "it leads out of the folder"
    if any(ord(c) < 32 or ord(c) == 127 or c in '<>:"|?*' for c in name) or len(name.encode()) > LONGEST_NAME:
        return "such a name cannot be written on every system"
    if any(part.split(".")[0].lower() in _DEVICES or part[-1] in ". " for part in parts):
        return "such a name cannot be written on every system"
    return ""


def read(data: bytes) -> Manifest:
    """The manifest in ``data``. Raises BadInput where it is none or names what is never taken."""
    try:
        raw = json.loads(data.decode())
        schema = raw["schema"]
        if not str(schema).startswith("spoolwright crate "):
            raise BadInput(f"{MANIFEST}: this is no list of a crate")
        if schema != SCHEMA:
            raise BadInput(f'{MANIFEST}: "{schema}" was packed by a newer program; this one opens "{SCHEMA}"')
        files = {str(n): Held(int(h["size"]), str(h["sha256"])) for n, h in raw["files"].items()}
        manifest = Manifest(str(raw["build"]), str(raw["program_version"]), files, dict(raw["checks"]))
        sound = all(h.size >= 0 and _HASH.fullmatch(h.sha256) for h in files.values())
        sound = sound and all(isinstance(told, dict) for told in manifest.checks.values())
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise BadInput(f"{MANIFEST}: it cannot be read as the list of a crate; pack it again") from None
    if not sound:
        raise BadInput(f"{MANIFEST}: a size or a hash in it is none; pack it again")
    return manifest


def checks(folder: Path) -> dict[str, dict[str, Any]]:
    """What the checks of the build say, for the sheet and each variant. Raises SheetFaults for the sheet itself."""
    sheet = load(folder)
    found = {"": _checked(folder, None)}
    for variant in sheet.variants:
        try:
            found[variant] = _checked(folder, variant)
        except SheetFaults as trouble:
            found[variant] = {"faults": str(trouble).splitlines()}
    return found


def _checked(folder: Path, variant: str | None) -> dict[str, Any]:
    sheet = load(folder, variant)
    findings = check(sheet)
    told = json.dumps(report(sheet, findings), sort_keys=True, separators=(",", ":")).encode()
    verdicts = {verdict: sum(f.verdict == verdict for f in findings) for verdict in ORDER}
    return {"digest": sheet.digest, "verdicts": verdicts, "report_sha256": hashlib.sha256(told).hexdigest()}


def differences(then: Mapping[str, Mapping[str, Any]], now: Mapping[str, Mapping[str, Any]], version: str) -> list[str]:
    """Where the checks of an opened crate say something else than when it was packed; a sentence each."""
    told = []
    for name in sorted({*then, *now}):
        what = f"variant {name}" if name else "the sheet"
        if then.get(name) == now.get(name):
            continue
        why = "" if version == __version__ else f"; it was packed by version {version}, this is {__version__}"
        told.append(f"the checks of {what} say something else than when it was packed{why}")
    return told
