"""Look into a crate and open it: what is damaged, missing or added is told file by file, and nothing is written."""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import stat
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from spoolwright.crate import manifest as lists
from spoolwright.crate.manifest import MANIFEST, Held, Manifest
from spoolwright.errors import BadInput
from spoolwright.sheet.saving import sync_folder

_CHUNK = 1 << 20
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)


@dataclass(frozen=True, slots=True)
class Trouble:
    """What is wrong with one file of a crate."""

    file: str
    what: str

    def __str__(self) -> str:
        return f"{self.file}: {self.what}"


@dataclass(frozen=True, slots=True)
class Seen:
    """A crate looked into: its list, and every trouble (none: it is whole and unchanged)."""

    manifest: Manifest
    troubles: tuple[Trouble, ...]


@dataclass(frozen=True, slots=True)
class Opened:
    """An opened crate: where, its list, and where the checks say something else than when it was packed."""

    folder: Path
    manifest: Manifest
    differences: tuple[str, ...]


def look(file: Path) -> Seen:
    """Read the whole crate and compare every file with its list; nothing is written.

    Raises BadInput for what is no crate, or could do harm: paths out of the folder, links, names twice, bombs.
    """
    with _archive(file) as (archive, manifest, entries):
        troubles = [Trouble(name, "it is missing") for name in manifest.files if name not in entries]
        troubles += [
            Trouble(name, "it is not on the list of the crate") for name in entries if name not in manifest.files
        ]
        for name, held in manifest.files.items():
            if name in entries:
                fault = _compare(archive, entries[name], held, lambda _: None)
                troubles += [Trouble(name, fault)] if fault else []
    return Seen(manifest, tuple(sorted(troubles, key=lambda one: one.file)))


def unpack(file: Path, folder: Path) -> Opened:
    """Open the crate into ``folder``, which must not be there yet (or be empty).

    Raises BadInput with every trouble, a line each, where the crate is not whole and unchanged.
    """
    target = folder.absolute()
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise BadInput(f"{folder}: something is there already; a crate opens into a new folder")
    if not target.parent.is_dir():
        raise BadInput(f"{folder}: there is no folder {folder.parent}; make it first")
    seen = look(file)
    if seen.troubles:
        count = f"{len(seen.troubles)} of its files are" if len(seen.troubles) > 1 else "one of its files is"
        lines = [f"{file}: this crate is not as it was packed; {count} not in order, and nothing was opened"]
        raise BadInput("\n".join([*lines, *map(str, seen.troubles)]))
    try:
        beside = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=".opening", dir=target.parent))
    except OSError as trouble:
        raise BadInput(f"{folder}: it cannot be opened there ({trouble.strerror})") from None
    try:
        _extract(file, beside, seen.manifest)
        os.chmod(beside, 0o755)
        if target.exists():
            target.rmdir()
        os.rename(beside, target)
        sync_folder(target.parent)
    except OSError as trouble:
        raise BadInput(f"{folder}: it cannot be written ({trouble.strerror or type(trouble).__name__})") from None
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return Opened(folder, seen.manifest, _checked_again(folder, seen.manifest))


def _checked_again(folder: Path, manifest: Manifest) -> tuple[str, ...]:
    try:
        now = lists.checks(folder)
    except BadInput as trouble:
        return (f"the sheet cannot be read by this program: {str(trouble).splitlines()[0]}",)
    return tuple(lists.differences(manifest.checks, now, manifest.version))


def _extract(file: Path, into: Path, manifest: Manifest) -> None:
    with _archive(file) as (archive, again, entries):
        if again != manifest:
            raise BadInput(f"{file}: the crate changed while it was opened; open it again")
        for name, held in manifest.files.items():
            path = into / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb") as out:
                fault = _compare(archive, entries[name], held, out.write)
                out.flush()
                os.fsync(out.fileno())
            if fault:
                raise BadInput(f"{name}: {fault}; the crate changed while it was opened")


def _compare(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, held: Held, write: Callable[[bytes], object]) -> str:
    """Read one file, hand its bytes on, and say where it differs from the list; empty where it does not."""
    digest, size = hashlib.sha256(), 0
    try:
        with archive.open(entry) as source:
            while chunk := source.read(_CHUNK):
                size += len(chunk)
                if size > held.size:
                    return f"it is larger than the {held.size} bytes on the list"
                digest.update(chunk)
                write(chunk)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError):
        return "it is damaged"
    if size != held.size:
        return f"it has {size} bytes, the list says {held.size}"
    return "" if digest.hexdigest() == held.sha256 else "it was changed (its hash is another)"


@contextlib.contextmanager
def _archive(file: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest, dict[str, zipfile.ZipInfo]]]:
    """The archive with its list and its entries by name, each found harmless."""
    try:
        archive = zipfile.ZipFile(file)
    except FileNotFoundError:
        raise BadInput(f"{file}: there is no such file") from None
    except IsADirectoryError:
        raise BadInput(f"{file}: this is a folder; name the crate's file") from None
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError):
        raise BadInput(f"{file}: this is no crate, or it was cut short") from None
    with archive:
        entries = _harmless(file, archive)
        listed = entries.pop(MANIFEST, None)
        if listed is None:
            raise BadInput(f"{file}: this is no crate: it has no {MANIFEST}")
        if listed.file_size > lists.LARGEST_MANIFEST:
            raise BadInput(f"{MANIFEST}: {listed.file_size} bytes are too many for the list of a crate")
        try:
            data = archive.read(listed)
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError):
            raise BadInput(f"{MANIFEST}: it is damaged; nothing can be told of the rest") from None
        manifest = lists.read(data)
        for name in manifest.files:
            fault = lists.fault_of_name(name)
            if fault:
                raise BadInput(f"{MANIFEST}: it names {name[:80]!r}, and {fault}; nothing was opened")
        yield archive, manifest, entries


def _harmless(file: Path, archive: zipfile.ZipFile) -> dict[str, zipfile.ZipInfo]:
    """Entries by name; BadInput where one could do harm."""
    found: dict[str, zipfile.ZipInfo] = {}
    alike: set[str] = set()
    infos = archive.infolist()
    if len(infos) > lists.MOST_FILES + 1:
        raise BadInput(f"{file}: {len(infos)} files are too many for a crate (at most {lists.MOST_FILES})")
    whole = 0
    for info in infos:
        name = info.orig_filename
        fault = lists.fault_of_name(name) or _fault_of_entry(info)
        key = _alike(name)
        if not fault and key in alike:
            fault = "it stands in it twice"
        if fault:
            raise BadInput(f"{file}: {name[:80]!r} is refused, {fault}; nothing was opened")
        alike.add(key)
        found[name] = info
        whole += info.file_size
    for name in found:
        if any(_alike(above.as_posix()) in alike for above in PurePosixPath(name).parents):
            raise BadInput(f"{file}: {name[:80]!r} is refused, a file has the name of its folder; nothing was opened")
    if whole > lists.LARGEST_CRATE:
        raise BadInput(
            f"{file}: opened it would fill {whole} bytes (at most {lists.LARGEST_CRATE}); nothing was opened"
        )
    return found


def _alike(name: str) -> str:
    """A name as systems see it that know no capitals or hold accents apart from their letters."""
    return unicodedata.normalize("NFC", name).casefold()


def _fault_of_entry(info: zipfile.ZipInfo) -> str:
    mode = info.external_attr >> 16
    if stat.S_ISLNK(mode):
        return "it is a link"
    if info.is_dir() or (stat.S_IFMT(mode) and not stat.S_ISREG(mode)):
        return "it is no file"
    if info.flag_bits & 0x1:
        return "it is encrypted"
    if info.compress_type not in _METHODS:
        return "it is packed in a way this program does not read"
    if info.file_size > lists.LARGEST_FILE:
        return f"it is larger than {lists.LARGEST_FILE} bytes"
    if info.file_size > lists.SMALL and info.file_size > lists.MOST_PACKED * max(info.compress_size, 1):
        return f"it would grow {info.file_size // max(info.compress_size, 1)} times when opened, as a bomb does"
    return ""
