"""A commented sheet to start a build from."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from spoolwright.errors import BadInput
from spoolwright.sheet.claims import SHEET_FILE
from spoolwright.sheet.demo import demo_folder
from spoolwright.sheet.fields import Field, Section
from spoolwright.sheet.saving import replace_file
from spoolwright.sheet.sections import SHEET

_HEAD = """# A build sheet. A line that begins with "#: " is a field left out: take the mark away and write your value.
# What stands without the mark must be given; the values are examples, put your own in their place.
"""


def text(name: str = "my build") -> str:
    """The commented sheet: what must be given as examples to overwrite, everything else as remarks."""
    lines = [_HEAD]
    lines += _fields("", SHEET, live=True)
    for part_name, part in SHEET.parts.items():
        if isinstance(part, Section):
            lines += _section(part_name, part, live=part.must)
    return "\n".join(lines).replace('name = "wren"', f'name = "{_safe(name)}"') + "\n"


def _safe(name: str) -> str:
    return "".join(c for c in name if c.isprintable() and c not in '"\\')[:80] or "my build"


def _section(path: str, section: Section, live: bool) -> Iterator[str]:
    here = f"{path}.{section.name_example}" if section.named else path
    yield ""
    yield f"# {section.meaning[:1].upper()}{section.meaning[1:]}."
    yield f"{'' if live else '#: '}[{here}]"
    yield from _fields(here, section, live)
    for name, part in section.parts.items():
        if isinstance(part, Section):
            yield from _section(f"{here}.{name}", part, live and part.must)


def _fields(path: str, section: Section, live: bool) -> Iterator[str]:
    for name, spec in section.parts.items():
        if isinstance(spec, Field):
            yield f"# {_about(spec)}"
            yield f"{'' if live and spec.need == 'must' else '#: '}{name} = {_value(spec)}"


def _about(spec: Field) -> str:
    words = spec.meaning
    if spec.choices:
        words += f" ({', '.join(spec.choices)})"
    if spec.plausible:
        words += f"; {spec.plausible}"
    if spec.per in ("cylinder", "valve"):
        words += f"; one for all, or by {spec.per}"
    if spec.need == "assumed":
        words += f"; assumed {spec.assumed} when left out"
    return words + ("; safety" if spec.safety else "")


def _value(spec: Field) -> str:
    if spec.example.startswith("[") or spec.kind == "flag":
        return spec.example
    if spec.kind == "count":
        return spec.example
    return f'"{spec.example}"'


def new(folder: str | Path, like: str | None = None) -> Path:
    """Start a build in ``folder``: the commented sheet, or a copy of a demo build.

    Raises BadInput where a build is there already.
    """
    root = Path(folder)
    if (root / SHEET_FILE).exists():
        raise BadInput(f"{root}: a build is there already; choose another folder")
    try:
        if like is not None:
            shutil.copytree(demo_folder(like), root, dirs_exist_ok=True)
        else:
            for name in ("variants", "tables", "pulls", "photos"):
                (root / name).mkdir(parents=True, exist_ok=True)
            replace_file(root / SHEET_FILE, text(root.resolve().name).encode(), expected=None)
    except OSError as trouble:
        why = trouble.strerror or type(trouble).__name__
        raise BadInput(f"{root}: the build cannot be written there ({why})") from None
    return root
