"""What the files and ``--set`` say, path by path, before it is judged.

A claim is the raw value of one field with the place it stands at. The sheet, then a variant, then
settings lay their claims over each other: a later one takes the place of an earlier one, an element
(``chamber = {3 = "52.9 cc"}``) only that element's. The word "none" takes an optional part away.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from spoolwright.errors import BadInput
from spoolwright.sheet import scan
from spoolwright.sheet.faults import Fault, closest, shown
from spoolwright.sheet.fields import Field, Section, walk
from spoolwright.sheet.scan import Place
from spoolwright.sheet.sections import SHEET

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}")
_STEP = re.compile(r"([A-Za-z][A-Za-z0-9_-]*)((?:\[\d{1,4}\])*)")
NONE = "none"
SHEET_FILE = "build.toml"


@dataclass(frozen=True)
class Source:
    """A file (with its text) or "--set"; lines are looked up when somebody asks."""

    file: str
    text: str = ""

    @cached_property
    def _lines(self) -> Mapping[Place, int]:
        return scan.lines(self.text) if self.text else {}

    def line(self, place: Place) -> int:
        """The line of ``place`` or of the nearest table around it; 0 where there is none."""
        while place:
            if place in self._lines:
                return self._lines[place]
            place = place[:-1]
        return 0


@dataclass(frozen=True, slots=True)
class Claim:
    """The raw value of one field or element, and where it stands."""

    raw: Any
    source: Source
    place: Place

    @property
    def file(self) -> str:
        """The file it stands in."""
        return self.source.file

    @property
    def line(self) -> int:
        """The line it stands on; 0 where there is none."""
        return self.source.line(self.place)


@dataclass
class Claims:
    """Claims by path; ``sections`` holds every table named so far with its place, in order."""

    by_path: dict[str, Claim] = field(default_factory=dict)
    elements: dict[str, dict[tuple[int, ...], Claim]] = field(default_factory=dict)
    sections: dict[str, Claim] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def forget(self, path: str) -> None:
        """Forget what was said of one field."""
        self.by_path.pop(path, None)
        self.elements.pop(path, None)

    def drop(self, path: str) -> None:
        """Forget a section and everything below it."""
        below = path + "."
        stores: tuple[dict[str, Any], ...] = (self.by_path, self.elements, self.sections)
        for store in stores:
            for key in [k for k in store if k == path or k.startswith(below)]:
                del store[key]


def lay(claims: Claims, raw: Mapping[str, Any], source: Source) -> None:
    """Lay what ``raw`` says over ``claims``."""
    _section(claims, raw, SHEET, "", (), source)


def _section(claims: Claims, raw: Mapping[str, Any], section: Section, path: str, place: Place, source: Source) -> None:
    for key, value in raw.items():
        here, spot = (f"{path}.{key}" if path else key), (*place, key)
        part = _part(section, key)
        if isinstance(part, str):
            claims.faults.append(Fault(source.file, source.line(spot), here[:200], part))
        elif isinstance(part, Field):
            _field(claims, part, here, Claim(value, source, spot))
        elif isinstance(value, dict):
            claims.sections.setdefault(here, Claim(None, source, spot))
            _section(claims, value, part, here, spot, source)
        elif value == NONE and not part.must:
            claims.drop(here)
        else:
            way = f"write [{here}] and its fields below it"
            if isinstance(value, list):
                way = f"give each piece a name and write [{here}.{part.name_example or 'name'}]"
            claims.faults.append(
                Fault(source.file, source.line(spot), here, f"{shown(value)} stands where a section belongs; {way}")
            )


def _part(section: Section, key: str) -> Field | Section | str:
    """The part of that name, or what is wrong with the name."""
    if section.named:
        if not _NAME.fullmatch(key):
            return "a piece's name is made of letters, digits, - and _, begins with a letter and has at most 40"
        return Section(section.meaning, section.parts)
    part = section.parts.get(key)
    return part if part is not None else _unknown(section, key)


def _unknown(section: Section, key: str) -> str:
    hint = closest(key, section.parts)
    if not hint:
        elsewhere = [path for path, _ in walk(SHEET) if path.rpartition(".")[2] == key]
        hint = f" (it belongs {_home(elsewhere[0])})" if elsewhere else ""
    known = ", ".join(section.parts) if len(section.parts) <= 12 else ""
    return f"not a name known here{hint}" + (f"; known are {known}" if known and not hint else "")


def _home(path: str) -> str:
    section = path.rpartition(".")[0]
    return f"to {section}" if section else "at the top of the sheet"


def _field(claims: Claims, spec: Field, path: str, claim: Claim) -> None:
    raw = claim.raw
    if isinstance(raw, str) and raw.strip() == NONE and NONE not in spec.choices and spec.kind != "text":
        claims.forget(path)
    elif isinstance(raw, dict) and spec.per:
        _elements(claims, spec, path, claim, ())
    else:
        claims.forget(path)
        claims.by_path[path] = claim


def _elements(claims: Claims, spec: Field, path: str, table: Claim, index: tuple[int, ...]) -> None:
    """Lay a table by cylinder (or valve) number: ``others`` stands for all the rest."""
    if "others" in table.raw and not index:
        claims.forget(path)
        claims.by_path[path] = Claim(table.raw["others"], table.source, (*table.place, "others"))
    for key, value in table.raw.items():
        claim = Claim(value, table.source, (*table.place, key))
        if key == "others" and not index:
            continue
        if not key.isascii() or not key.isdigit() or not 1 <= int(key[:6]) <= 9999:
            form = f"{{ others = {_sample(spec)}, 3 = {_sample(spec)} }}"
            message = f"{shown(key)} is not a number; write for example {form}"
            claims.faults.append(Fault(claim.file, claim.line, path, message))
        elif isinstance(value, dict) and not index and spec.per == "valve":
            _elements(claims, spec, path, claim, (int(key),))
        else:
            mine = claims.elements.setdefault(path, {})
            number = (*index, int(key))
            for deeper in [k for k in mine if k[: len(number)] == number]:
                del mine[deeper]
            mine[number] = claim


def _sample(spec: Field) -> str:
    return spec.example if spec.example.startswith("[") else f'"{spec.example}"'


def setting(text: str) -> dict[str, Any]:
    """The raw tree of one ``path=value`` setting. Raises BadInput."""
    path, equals, value = text.partition("=")
    path, value = path.strip(), value.strip()
    if not equals or not path or not value:
        raise BadInput(f'{shown(text)} is not a setting; write path=value, for example cylinders.bore="86.5 mm"')
    tree: Any = _literal(value)
    for step in reversed(path_steps(path)):
        tree = {step: tree}
    return tree  # type: ignore[no-any-return]


def path_steps(path: str) -> list[str]:
    """Keys and numbers of a path: "cylinders.chamber[3]" is cylinders, chamber, 3. Raises BadInput."""
    steps: list[str] = []
    for step in path.split("."):
        match = _STEP.fullmatch(step)
        if match is None:
            raise BadInput(f"{shown(path)} is not a path; write for example cylinders.chamber[3]")
        steps += [match[1], *re.findall(r"\d+", match[2])]
    if len(steps) > 10:
        raise BadInput(f"{shown(path)} is not a path of the sheet; it has too many parts")
    return steps


def _literal(value: str) -> Any:
    if value.startswith(("[", "{", '"', "'")) or value in ("true", "false"):
        try:
            return tomllib.loads(f"value = {value}")["value"]
        except (tomllib.TOMLDecodeError, ValueError, RecursionError):
            return value
    return value
