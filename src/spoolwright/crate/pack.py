"""Pack a build into a crate: every file hashed as it goes in, the archive there whole or not at all."""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import tempfile
import zipfile
from dataclasses import dataclass
from pathlib import Path

from spoolwright import __version__
from spoolwright.crate import manifest as lists
from spoolwright.crate.manifest import MANIFEST, Held, Manifest
from spoolwright.errors import BadInput
from spoolwright.sheet import load
from spoolwright.sheet.saving import sync_folder

_CHUNK = 1 << 20
_SETTLED = ("build.toml", "variants/", "tables/")  # what the checks rest on


@dataclass(frozen=True, slots=True)
class Packed:
    """A packed crate: the file, what stands in it, and names left out (hidden files, leavings of a killed save)."""

    file: Path
    manifest: Manifest
    left_out: tuple[str, ...]


def usual_name(folder: Path) -> Path:
    """Where a crate goes when no file is named: beside the build."""
    whole = folder.resolve()
    return whole.parent / f"{whole.name}.crate.zip"


def pack(folder: Path, out: Path | None = None) -> Packed:
    """Pack the build in ``folder`` into ``out``.

    Raises BadInput where a crate is there already, a file cannot go in, or the build changed meanwhile; SheetFaults
    where the sheet has faults.
    """
    target = out or usual_name(folder)
    sheet = load(folder)
    names, left_out = _names(folder, target)
    if target.exists():
        raise BadInput(f"{target}: a file is there already; name another with --out, or remove it")
    if not target.parent.is_dir():
        raise BadInput(f"{target}: there is no folder {target.parent}; make it first")
    checks = lists.checks(folder)
    try:
        handle, beside = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".new", dir=target.parent)
    except OSError as trouble:
        raise BadInput(f"{target}: it cannot be written there ({trouble.strerror})") from None
    try:
        with os.fdopen(handle, "wb") as file:
            held = _write(folder, names, file, sheet.name, checks)
            file.flush()
            os.fsync(file.fileno())
        _unchanged(folder, held.files)
        os.chmod(beside, 0o644)
        _place(beside, target)
    except FileExistsError:
        raise BadInput(f"{target}: a file is there already; name another with --out, or remove it") from None
    except OSError as trouble:
        raise BadInput(f"{target}: it cannot be written ({trouble.strerror or type(trouble).__name__})") from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(beside)
    sync_folder(target.parent)
    return Packed(target, held, tuple(left_out))


def _place(beside: str, target: Path) -> None:
    """Give the finished archive its name, never over a file that came meanwhile where the system can promise that."""
    try:
        os.link(beside, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        os.rename(beside, target)


def _names(folder: Path, target: Path) -> tuple[list[str], list[str]]:
    """Files that go in, and names left out; links and what is no file are refused."""
    names: list[str] = []
    left_out: list[str] = []
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        if any(part.startswith(".") for part in name.split("/")) or name == MANIFEST:
            left_out.append(name)
            continue
        mode = path.lstat().st_mode
        if stat.S_ISLNK(mode):
            raise BadInput(f"{name}: a link does not go into a crate; put the file itself there, or remove it")
        if stat.S_ISDIR(mode) or path.resolve() == target.resolve():
            continue
        fault = "it is no file" if not stat.S_ISREG(mode) else lists.fault_of_name(name)
        if not fault and path.stat().st_size > lists.LARGEST_FILE:
            fault = f"it is larger than {lists.LARGEST_FILE} bytes"
        if fault:
            raise BadInput(f"{name}: it does not go into a crate ({fault}); rename or remove it")
        names.append(name)
    if len(names) > lists.MOST_FILES:
        raise BadInput(f"{folder}: {len(names)} files are too many for a crate (at most {lists.MOST_FILES})")
    alike: dict[str, str] = {}
    for name in names:
        if name.lower() in alike:
            raise BadInput(f"{name} and {alike[name.lower()]}: on some systems these are one name; rename one")
        alike[name.lower()] = name
    return names, left_out


def _write(folder: Path, names: list[str], file: object, build: str, checks: dict[str, dict[str, object]]) -> Manifest:
    held: dict[str, Held] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as archive:  # type: ignore[call-overload]
        for name in names:
            held[name] = _add(archive, folder / name, name)
        if sum(one.size for one in held.values()) > lists.LARGEST_CRATE:
            raise BadInput(f"{folder}: its files are more than {lists.LARGEST_CRATE} bytes together")
        manifest = Manifest(build, __version__, held, checks)
        archive.writestr(_info(MANIFEST), manifest.bytes())
    return manifest


def _info(name: str, method: int = zipfile.ZIP_DEFLATED) -> zipfile.ZipInfo:
    """An entry that says nothing of place and time: the same build gives the same crate."""
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.compress_type = method
    info.external_attr = (stat.S_IFREG | 0o644) << 16
    info.create_system = 3
    return info


def _add(archive: zipfile.ZipFile, path: Path, name: str) -> Held:
    method = zipfile.ZIP_STORED if _packs_too_well(path) else zipfile.ZIP_DEFLATED
    digest, size = hashlib.sha256(), 0
    with path.open("rb") as source, archive.open(_info(name, method), "w", force_zip64=True) as into:
        while chunk := source.read(_CHUNK):
            digest.update(chunk)
            size += len(chunk)
            into.write(chunk)
    return Held(size, digest.hexdigest())


def _packs_too_well(path: Path) -> bool:
    """Whether the file would look like a bomb when packed: such a file is stored as it is."""
    if path.stat().st_size <= lists.SMALL:
        return False
    import zlib

    packer, whole, packed = zlib.compressobj(6), 0, 0
    with path.open("rb") as source:
        while chunk := source.read(_CHUNK):
            whole += len(chunk)
            packed += len(packer.compress(chunk))
    return whole > 0.5 * lists.MOST_PACKED * max(packed + len(packer.flush()), 1)


def _unchanged(folder: Path, files: object) -> None:
    """What the checks rest on must be what was packed."""
    assert isinstance(files, dict)
    for name, held in files.items():
        if name.startswith(_SETTLED) and hashlib.sha256((folder / name).read_bytes()).hexdigest() != held.sha256:
            raise BadInput(f"{name}: it changed while the crate was packed; pack again")
