"""The compile decorator for numerical kernels; with ``linking`` the only importer of Numba.

Numba's own disk cache looks only at the file that holds the compiled function: after an edit of a
callee in another file it silently returns the old answer. So the cache folder is named by a digest
of all kernel sources, of what they import, and of the Numba version; any edit there starts a fresh
folder, and folders that nobody used for a month are removed.

Environment: ``SPOOLWRIGHT_CACHE=off`` compiles anew in every process; ``SPOOLWRIGHT_CACHE=DIR``
puts the cache under DIR.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba
from numba import config as _numba_settings

from spoolwright.linking import Kernel

_config: Any = _numba_settings

KERNEL_FOLDERS = ("gas", "flow", "cylinder", "boost", "engine")
UNUSED_DAYS = 30.0
_IMPORTED = re.compile(r"^from (spoolwright[\w.]*) import", re.MULTILINE)

_F = TypeVar("_F", bound=Callable[..., Any])


def kernel_sources(root: Path) -> list[Path]:
    """The files below ``root`` that hold kernels, and all that these import: what compiled code depends on."""
    texts = {
        file: file.read_text(encoding="utf-8") for folder in KERNEL_FOLDERS for file in (root / folder).rglob("*.py")
    }
    waiting = [file for file, text in texts.items() if "\n@kernel\n" in text]
    found = {root / "kernel.py", root / "linking.py"}
    while waiting:
        file = waiting.pop()
        if file in found or not file.exists():
            continue
        found.add(file)
        text = texts.get(file) or file.read_text(encoding="utf-8")
        modules = (name.removeprefix("spoolwright.").replace(".", "/") for name in _IMPORTED.findall(text))
        waiting += [(root / name).with_suffix(".py") for name in modules]
    return sorted(found)


def source_digest(root: Path) -> str:
    """Digest of every source that compiled code below ``root`` rests on, and of the Numba version (16 hex digits)."""
    digest = hashlib.sha256(numba.__version__.encode())
    for file in kernel_sources(root):
        digest.update(file.relative_to(root).as_posix().encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()[:16]


def cache_root() -> Path:
    """The folder that holds one sub-folder of compiled code per digest."""
    chosen = os.environ.get("SPOOLWRIGHT_CACHE", "")
    if chosen and chosen != "off":
        return Path(chosen)
    from platformdirs import user_cache_dir

    return Path(user_cache_dir("spoolwright", appauthor=False)) / "kernels"


def _prepare() -> bool:
    if os.environ.get("SPOOLWRIGHT_CACHE") == "off":
        return False
    root = cache_root()
    folder = root / source_digest(Path(__file__).parent)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        os.utime(folder)
        _drop_unused(root, keep=folder)
    except OSError:  # read-only home: still right, only slower
        return False
    _config.CACHE_DIR = str(folder)
    return True


def _drop_unused(root: Path, keep: Path) -> None:
    oldest = time.time() - UNUSED_DAYS * 86400.0
    for folder in root.iterdir():
        if folder.is_dir() and folder != keep and folder.stat().st_mtime < oldest:
            shutil.rmtree(folder, ignore_errors=True)


CACHED = _prepare()


def kernel(function: _F) -> _F:
    """Compile ``function`` in nopython mode, without the interpreter lock, cached by digest.

    NumPy division rules (no checks that stop vectorising) and strict IEEE arithmetic: no fastmath,
    under which ``isnan`` stops working.
    """
    if _config.DISABLE_JIT:
        return function
    options = {"nopython": True, "nogil": True, "error_model": "numpy", "fastmath": False, "boundscheck": None}
    options["no_cfunc_wrapper"] = True  # nobody calls kernels from C; saves compile time
    made: Any = Kernel(function, targetoptions=options)
    # A cached function remembers its module by name; a script's changes with how it is run, so scripts go uncached.
    if CACHED and function.__module__.startswith("spoolwright."):
        made.enable_caching()
    return made  # type: ignore[no-any-return]


def is_compiled_before(name: str) -> bool:
    """Whether the kernel of this name already lies compiled in the cache, for the present sources."""
    return CACHED and any(Path(_config.CACHE_DIR).rglob(f"*.{name}-*.nbc"))
