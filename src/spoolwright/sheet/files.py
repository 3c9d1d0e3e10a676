"""Reading text files of a build: every trouble is one sentence."""

from __future__ import annotations

from pathlib import Path

from spoolwright.errors import BadInput

LARGEST = 4_000_000  # bytes; a sheet has some ten thousand


def read_bytes(path: Path, name: str, largest: int = LARGEST) -> bytes:
    """The file's bytes; BadInput where it is missing, a directory, too large or cannot be read."""
    try:
        if path.is_dir():
            raise BadInput(f"{name}: this is a folder, not a file; a build is a folder that holds build.toml")
        size = path.stat().st_size
        if size > largest:
            raise BadInput(
                f"{name}: {size} bytes are too many for such a file (at most {largest}); is it another file?"
            )
        return path.read_bytes()
    except FileNotFoundError:
        raise BadInput(f"{name}: there is no such file in {path.parent}") from None
    except (OSError, ValueError) as trouble:
        reason = trouble.strerror if isinstance(trouble, OSError) and trouble.strerror else "its name cannot be used"
        raise BadInput(f"{name}: it cannot be read ({reason})") from None


def decode(data: bytes, name: str) -> str:
    """UTF-8 text, a byte-order mark dropped; BadInput with the line where it is something else."""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        line = data[: trouble.start].count(b"\n") + 1
        raise BadInput(f"{name}:{line}  this is not UTF-8 text; save it as UTF-8 in your editor") from None


def inside(folder: Path, name: str) -> Path | None:
    """The path of ``name`` below ``folder``; None where it would lead out of it."""
    if not name or "\0" in name or "\\" in name or name.startswith(("/", "~")) or ":" in name:
        return None
    path = folder / name
    try:
        root = folder.resolve()
        return path if path.resolve().is_relative_to(root) else None
    except (OSError, RuntimeError, ValueError):
        return None
