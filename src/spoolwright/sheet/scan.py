"""Line numbers of a TOML text: which line holds which key.

The TOML reader gives values without places. This scanner walks a text that the reader has accepted
and notes the line of every header, key and list element; it judges nothing.
"""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Mapping
from contextlib import suppress

Place = tuple[str | int, ...]  # keys, and list positions counted from 1

_GAP = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BLANK = re.compile(r"[ \t]*")
_BARE = re.compile(r"[\w-]+")
_VALUE = re.compile(r"[^,\]}#\n]*")
_TEXT = re.compile(
    r'"""(?:[^\\"]|\\.|"{1,2}(?!"))*"{3,5}' r"|'''(?:[^']|'{1,2}(?!'))*'{3,5}" r'|"(?:[^"\\\n]|\\.)*"' r"|'[^'\n]*'",
    re.DOTALL,
)


class _Lost(Exception):
    """The scanner met something it does not follow."""


def lines(text: str) -> Mapping[Place, int]:
    """Line (from 1) of every table, key and list element of a valid TOML ``text``."""
    scanner = _Scanner(text.replace("\r\n", "\n") + "\n")
    # A text the reader accepts but this scanner does not follow: fewer lines are known.
    with suppress(_Lost, IndexError, RecursionError):
        scanner.document()
    ends = [m.start() for m in re.finditer("\n", scanner.text)]
    return {place: bisect_right(ends, at - 1) + 1 for place, at in scanner.found.items()}


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.found: dict[Place, int] = {}
        self._counts: dict[Place, int] = {}

    def document(self) -> None:
        table: Place = ()
        while self._pass(_GAP) < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _pass(self, pattern: re.Pattern[str]) -> int:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _Lost
        self.at = match.end()
        return self.at

    def _header(self) -> Place:
        start = self.at
        many = self.text.startswith("[[", start)
        self.at += 2 if many else 1
        place: Place = self._key()
        self.at += 2 if many else 1
        if many:
            self._counts[place] = self._counts.get(place, 0) + 1
            self.found.setdefault(place, start)
            place = (*place, self._counts[place])
        self.found[place] = start
        return place

    def _key(self) -> tuple[str, ...]:
        """A key, dotted or not; stops at what follows its last part and blanks."""
        parts = []
        while True:
            start = self._pass(_BLANK)
            quote = self.text[start]
            if quote in "\"'":
                body = self.text[start : self._pass(_TEXT)]
                parts.append(body[1:-1] if quote == "'" or "\\" not in body else _unescaped(body))
            else:
                parts.append(self.text[start : self._pass(_BARE)])
            if self.text[self._pass(_BLANK)] != ".":
                return tuple(parts)
            self.at += 1

    def _pair(self, table: Place) -> None:
        start = self.at
        key = self._key()
        for depth in range(1, len(key) + 1):
            self.found.setdefault((*table, *key[:depth]), start)
        self.at += 1  # the equals sign
        self._value((*table, *key))

    def _value(self, place: Place) -> None:
        self._pass(_GAP)
        here = self.text[self.at]
        if here in "\"'":
            self._pass(_TEXT)
        elif here == "[":
            self._list(place)
        elif here == "{":
            self._inline(place)
        else:
            self._pass(_VALUE)

    def _list(self, place: Place) -> None:
        self.at += 1
        number = 0
        while self.text[self._pass(_GAP)] != "]":
            if self.text[self.at] == ",":
                self.at += 1
                continue
            number += 1
            self.found[(*place, number)] = self.at
            self._value((*place, number))
        self.at += 1

    def _inline(self, place: Place) -> None:
        self.at += 1
        while self.text[self._pass(_GAP)] != "}":
            if self.text[self.at] == ",":
                self.at += 1
            else:
                self._pair(place)
        self.at += 1


def _unescaped(body: str) -> str:
    try:
        return str(json.loads(body))
    except ValueError:
        return body[1:-1]
