"""One server a folder: a lock file that says who holds it, and that ends with its process."""

from __future__ import annotations

import contextlib
import json
import os
from collections.abc import Iterator
from pathlib import Path

from spoolwright.errors import BadInput

LOCK_FILE = ".spoolwright-bench"


@contextlib.contextmanager
def held(root: Path, address: str) -> Iterator[None]:
    """Hold the folder for this server. Raises BadInput, with the other's address, where one runs already."""
    path = root / LOCK_FILE
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as trouble:
        raise BadInput(f"{root}: the bench cannot write here ({trouble.strerror}); open a folder of your own") from None
    try:
        if not _lock(handle):
            raise BadInput(
                f"{root}: a bench is open on this folder already{_other(handle)}; use that one, or stop it first"
            )
        os.ftruncate(handle, 0)
        os.write(handle, json.dumps({"pid": os.getpid(), "address": address}).encode())
        yield
        with contextlib.suppress(OSError):
            path.unlink()
    finally:
        os.close(handle)


def _lock(handle: int) -> bool:
    """Take the lock; False where another process has it."""
    try:
        import fcntl
    except ImportError:  # Windows
        return _lock_windows(handle)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _lock_windows(handle: int) -> bool:
    import msvcrt

    try:
        os.lseek(handle, 4096, os.SEEK_SET)  # a byte beyond the text, so that others can read who holds it
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    except OSError:
        return False
    finally:
        os.lseek(handle, 0, os.SEEK_SET)
    return True


def _other(handle: int) -> str:
    os.lseek(handle, 0, os.SEEK_SET)
    try:
        told = json.loads(os.read(handle, 2000).decode())
        return f" at {told['address']} (process {int(told['pid'])})"
    except (ValueError, KeyError, TypeError, OSError):
        return ""
