"""A book set by Typst into PDF, with the fonts Typst carries itself.

The template is fixed; the book goes in as data, so that no text of a build can become markup.
"""

from __future__ import annotations

import json
import re
from dataclasses import fields, is_dataclass
from importlib.resources import files
from typing import Any, Literal

from spoolwright.book.content import Book

_LONG = re.compile(r"\S{25,}")
_BREAK = "\u200b"


def pdf(book: Book) -> tuple[bytes, int]:
    """The PDF, and how many sheets it has. The same book gives the same bytes."""
    made = _compiled(book, "pdf", 144.0)
    assert isinstance(made, bytes)
    return made, len(re.findall(rb"/Type\s*/Page\b", made))


def pictures(book: Book, ppi: float = 110.0) -> list[bytes]:
    """Each sheet as a PNG picture, to leaf through on a screen."""
    made = _compiled(book, "png", ppi)
    return [made] if isinstance(made, bytes) else made


def _compiled(book: Book, form: Literal["pdf", "png"], ppi: float) -> bytes | list[bytes]:
    import typst

    template = files("spoolwright.book").joinpath("book.typ").read_bytes()
    data = json.dumps(plain(book), ensure_ascii=False)
    compiler = typst.Compiler(ignore_system_fonts=True)
    made = compiler.compile(template, format=form, ppi=ppi, sys_inputs={"book": data}, timestamp=0)
    assert made is not None
    return made


def plain(one: Any) -> Any:
    """Dataclasses as plain data; each block says what it ``is``."""
    if is_dataclass(one) and not isinstance(one, type):
        return {"is": type(one).__name__} | {f.name: plain(getattr(one, f.name)) for f in fields(one)}
    if isinstance(one, (list, tuple)):
        return [plain(item) for item in one]
    return _text(one) if isinstance(one, str) else one


def _text(text: str) -> str:
    """Text that can be set: no control characters, and places to break in words wider than a column."""
    if text.startswith("<svg"):
        return text
    clean = "".join(c if c.isprintable() or c in "\u00a0\u202f" else " " for c in text)
    return _LONG.sub(lambda word: _breakable(word[0]), clean)


def _breakable(word: str) -> str:
    told = re.sub(r"([/_.,;:=*()-])(?=\w)", rf"\1{_BREAK}", word)
    return re.sub(r"(\w{16})(?=\w)", rf"\1{_BREAK}", told)
