"""Bytes to text: byte-order marks, two-byte text with and without one, UTF-8, one-byte accents, zero bytes.

One-byte text carries no sign of its code page. The pages that logs come in are tried and the one whose accented
characters make sense (letters inside words, the degree sign before C or F) is taken; Windows-1252 wins a tie.
"""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass, field
from typing import Final

from spoolwright.dyno.log import Repair
from spoolwright.dyno.readers.scripts import japanese_words
from spoolwright.dyno.readers.source import two_byte_order

_PAGES: Final = ("cp1252", "mac_roman", "cp850", "cp1250", "cp1251")
_LIKELY: Final = frozenset("äöüÄÖÜßéèêëÉÈàâáÀÂùûúçÇôóòîïíñÑìåÅøØæõãąćęłńśźżČčřžŠš°µ²³·λΩ±’")
_UNIT_SIGN: Final = re.compile(r"°\s?[CFK]\b|[µ]s\b|m[²³]|m/s²")


@dataclass(slots=True)
class Text:
    """The file as text, how it was coded, and what had to be mended."""

    text: str
    encoding: str
    byte_order_mark: bool
    is_utf8: bool
    repairs: list[Repair] = field(default_factory=list)


def decode(data: bytes) -> Text:
    """Text of ``data``; undecodable bytes become U+FFFD with a line in the repairs, zero bytes are taken out."""
    for mark, codec, name in (
        (codecs.BOM_UTF8, "utf-8", "utf-8"),
        (codecs.BOM_UTF32_LE, "utf-32-le", "utf-32-le"),
        (codecs.BOM_UTF32_BE, "utf-32-be", "utf-32-be"),
        (codecs.BOM_UTF16_LE, "utf-16-le", "utf-16-le"),
        (codecs.BOM_UTF16_BE, "utf-16-be", "utf-16-be"),
    ):
        if data.startswith(mark):
            body = data[len(mark) :]
            if codec != "utf-8":
                return _finish(body, codec, name, mark=True)
            return _utf8_or_page(body, mark=True)
    order = two_byte_order(data[:65536])
    if order:
        return _finish(data, f"utf-16-{order}", f"utf-16-{order}", mark=False)
    return _utf8_or_page(data, mark=False)


def _utf8_or_page(data: bytes, mark: bool) -> Text:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        pass
    else:
        return _mend(Text(text, "utf-8", mark, True))
    lenient = data.decode("utf-8", errors="replace")
    good = sum(1 for c in lenient if c > "\x7f" and c != "\ufffd")
    if mark or good > lenient.count("\ufffd"):
        return _finish(data, "utf-8", "utf-8", mark)
    return _finish(data, _code_page(data), "", mark)


def _finish(data: bytes, codec: str, name: str, mark: bool) -> Text:
    return _mend(Text(data.decode(codec, errors="replace"), name or codec, mark, codec == "utf-8"))


def _code_page(data: bytes) -> str:
    """The page that makes most sense of the lines with high bytes; a two-byte one only by words known to be used."""
    sample = b"\n".join([line for line in data[:65536].splitlines() if max(line, default=0) > 127][:50])
    for page in ("cp932", "euc_jp"):
        if japanese_words(sample.decode(page, errors="replace")) >= 3:
            return page
    runs = re.findall(rb"[\xc0-\xff]{4,}", sample)
    if sum(map(len, runs)) > 0.5 * sum(b > 127 for b in sample):
        return "cp1251"
    best, best_score = "cp1252", -1e9
    for page in _PAGES[:-1]:
        text = sample.decode(page, errors="replace")
        score = sum(1.0 if c in _LIKELY else -1.0 for c in text if c > "\x7f") + 3.0 * len(_UNIT_SIGN.findall(text))
        if score > best_score:
            best, best_score = page, score
    return best


def _mend(text: Text) -> Text:
    body = text.text
    if "\x00" in body:
        line, count = body.count("\n", 0, body.index("\x00")) + 1, body.count("\x00")
        body = body.replace("\x00", "")
        text.repairs.append(
            Repair(line, None, "zero bytes taken out", "\\0", "", "a text table holds no zero bytes", count=count)
        )
    if "\ufeff" in body:
        count = body.count("\ufeff")
        body = body.replace("\ufeff", "")
        text.repairs.append(
            Repair(1, None, "stray byte-order mark taken out", "U+FEFF", "", "it is no part of a name", count=count)
        )
    if "\ufffd" in body:
        line, count = body.count("\n", 0, body.index("\ufffd")) + 1, body.count("\ufffd")
        why = f"these bytes are not {text.encoding}"
        text.repairs.append(Repair(line, None, "undecodable bytes", "?", "U+FFFD", why, count=count))
    if "\x1a" in body:
        line, count = body.count("\n", 0, body.index("\x1a")) + 1, body.count("\x1a")
        body = body.replace("\x1a", "")
        why = "an old end-of-file mark is no data"
        text.repairs.append(Repair(line, None, "end-of-file mark taken out", "0x1A", "", why, count=count))
    text.text = body
    return text


def split_lines(text: str) -> tuple[list[str], str]:
    """Lines of ``text`` and the kind of their ends: LF, CRLF, CR, mixed. A bare CR ends a line too."""
    carriage = text.count("\r")
    pairs = text.count("\r\n") if carriage else 0
    feeds = text.count("\n")
    kinds = [name for name, n in (("CRLF", pairs), ("LF", feeds - pairs), ("CR", carriage - pairs)) if n]
    if carriage:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if lines and not lines[-1]:
        lines.pop()
    return lines, kinds[0] if len(kinds) == 1 else ("mixed" if kinds else "none")
