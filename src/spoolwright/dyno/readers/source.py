"""The file itself: is it there, is it text, is it small enough. One sentence where it is not."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from spoolwright.errors import BadLog

LARGEST: Final = 2**30  # bytes; a 40-column log at 100 samples a second fills this in about 8 hours

_ARCHIVES: Final = (
    (b"PK\x03\x04", "a zip archive (or a spreadsheet saved as .xlsx or .ods)"),
    (b"PK\x05\x06", "an empty zip archive"),
    (b"PK\x07\x08", "a zip archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ\x00", "an xz archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"\x28\xb5\x2f\xfd", "a zstd archive"),
    (b"Rar!\x1a\x07", "a rar archive"),
    (b"\x04\x22\x4d\x18", "an lz4 archive"),
)
_OTHERS: Final = (
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old spreadsheet or office document"),
    (b"%PDF-", "a PDF"),
    (b"\x89PNG\r\n\x1a\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x7fELF", "a program"),
    (b"SQLite format 3\x00", "a database"),
    (b"PAR1", "a Parquet table"),
    (b"ARROW1", "an Arrow table"),
    (b"\x89HDF\r\n", "an HDF5 file"),
)
_MARKUP: Final = (
    (re.compile(rb"<[!?a-zA-Z].*</", re.DOTALL), "a page or document of tags (HTML or XML)"),
    (re.compile(rb'[\[{]\s*[\[{"].*[:,]', re.DOTALL), "a JSON document"),
)
_TEXT_CONTROLS: Final = frozenset(b"\t\n\r\x00\x0b\x0c\x1a")
_CONTROLS: Final = bytes(c for c in range(32) if c not in _TEXT_CONTROLS) + b"\x7f"


@dataclass(slots=True)
class Source:
    """A file that may be a log: where it is, its bytes, their SHA-256 (filled by :func:`digest`)."""

    path: Path
    data: bytes
    sha256: str = ""


def load(path: Path) -> Source:
    """Read ``path`` whole; raises BadLog for what cannot be a log. Archives are never opened, so never expanded."""
    try:
        if path.is_dir():
            raise BadLog(f"{path}: this is a folder; name one log file in it")
        if path.exists() and not path.is_file():
            raise BadLog(f"{path}: this is a device or a pipe, not a file; save the log to a file first")
        size = path.stat().st_size
        if size > LARGEST:
            raise BadLog(
                f"{path}: {size / 1e9:.1f} GB is more than a log can have here (at most {LARGEST / 1e9:.1f} GB); "
                "cut it into single runs"
            )
        with path.open("rb") as stream:
            data = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise BadLog(f"{path}: there is no such file; check the name") from None
    except (OSError, ValueError) as fault:
        reason = getattr(fault, "strerror", None) or str(fault)
        raise BadLog(f"{path}: cannot be opened ({reason}); check the name and the rights") from None
    if len(data) > LARGEST:
        raise BadLog(f"{path}: grew past {LARGEST / 1e9:.1f} GB while it was read; cut it into single runs")
    check_text(path, data)
    return Source(path, data)


def digest(data: bytes) -> str:
    """SHA-256 of the bytes as they came, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def check_text(path: Path, data: bytes) -> None:
    """Raise BadLog where ``data`` is empty, packed or binary."""
    nothing = b" \t\r\n\x00\xef\xbb\xbf\xff\xfe\x1a"
    if not data[:65536].strip(nothing) and not data.strip(nothing):
        raise BadLog(f"{path}: the file is empty; export the log again")
    for mark, what in _ARCHIVES:
        if data.startswith(mark):
            raise BadLog(f"{path}: this is {what}; unpack it or export it as text (CSV) and name that file")
    for mark, what in _OTHERS:
        if data.startswith(mark):
            raise BadLog(f"{path}: this is {what}, not a text table; export the log as text (CSV)")
    begins = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n")
    for form, what in _MARKUP:
        if form.match(begins):
            raise BadLog(f"{path}: this is {what}, not a table of lines; export the log as text (CSV)")
    for start in {0, len(data) // 2, max(0, len(data) - 65536)}:
        piece = data[start : start + 65536]
        if two_byte_order(piece) or data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            continue
        # Zero bytes alone are padding (loggers reserve room ahead); other control characters are no text.
        text = piece.replace(b"\x00", b"")
        odd = len(text) - len(text.translate(None, _CONTROLS))
        if odd > 0.02 * len(text):
            raise BadLog(f"{path}: this is not text (binary data); export the log as text (CSV)")


def two_byte_order(piece: bytes) -> str:
    """'le' or 'be' where every second byte is zero, as in two-byte text without a mark; else ''."""
    pairs = len(piece) // 2
    if pairs < 4:
        return ""
    even, odd = piece[0 : 2 * pairs : 2].count(0), piece[1 : 2 * pairs : 2].count(0)
    if odd > 0.6 * pairs and even < 0.1 * pairs:
        return "le"
    if even > 0.6 * pairs and odd < 0.1 * pairs:
        return "be"
    return ""
