"""The content of a book as data: chapters of blocks. Renderers set it and compute nothing.

Text is plain text everywhere; no renderer reads markup in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

Mark = Literal["", "a", "c"]  # measured or chosen, assumed, computed
Verdict = Literal["stop", "watch", "not measured", "sound", ""]


@dataclass(frozen=True, slots=True)
class Cell:
    """One value or word of a table, with where it comes from."""

    text: str
    mark: Mark = ""
    strong: bool = False
    verdict: Verdict = ""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``lead`` is set strong before it."""

    text: str
    lead: str = ""
    kind: Literal["text", "small", "caution"] = "text"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head. ``align``: one letter a column, l, r or c.

    ``widths``: a share of the room left for each column, 0 for as wide as its words; empty: the first takes the rest.
    """

    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    align: str
    widths: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Facts:
    """Names on the left, values on the right."""

    rows: tuple[tuple[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class Listing:
    """Items one below the other; ``numbered`` with numbers, ``ticked`` with a box to tick with a pen."""

    items: tuple[str, ...]
    kind: Literal["plain", "numbered", "ticked"] = "plain"


@dataclass(frozen=True, slots=True)
class Working:
    """A formula with its numbers, line by line."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing as SVG text, drawn ``width`` by ``height`` millimetres; ``sentence`` says in words what it shows."""

    name: str
    title: str
    svg: str
    width: float
    height: float
    sentence: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Signatures:
    """Room to sign with a pen: what is signed, and who signed already."""

    places: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Part:
    """Blocks under a heading of their own; ``boxed`` are set in a frame, ``together`` never broken over pages."""

    title: str
    blocks: tuple[Block, ...]
    aside: str = ""
    boxed: bool = False
    together: bool = False


@dataclass(frozen=True, slots=True)
class Beside:
    """Two stacks of blocks side by side."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]


Block = Paragraph | Table | Facts | Listing | Working | Figure | Signatures | Part | Beside


@dataclass(frozen=True, slots=True)
class Chapter:
    """A chapter; it begins on a sheet of its own where ``new_sheet``."""

    title: str
    blocks: tuple[Block, ...]
    aside: str = ""
    new_sheet: bool = True


@dataclass(frozen=True, slots=True)
class Book:
    """Everything a renderer needs. ``particulars`` stand in the title block, label and value."""

    build: str
    variant: str
    date: str
    digest: str
    version: str
    paper: Literal["a4", "letter"]
    note: str
    chapters: tuple[Chapter, ...]
    particulars: tuple[tuple[str, str], ...] = field(default=())


def words(blocks: Sequence[Block]) -> list[str]:
    """Every text of these blocks, in order; for searching and for tests."""
    found: list[str] = []
    for one in blocks:
        match one:
            case Paragraph():
                found += [one.lead, one.text]
            case Table():
                found += [*one.head, *(cell.text for row in one.rows for cell in row)]
            case Facts():
                found += [text for name, cell in one.rows for text in (name, cell.text)]
            case Listing():
                found += one.items
            case Working():
                found += [one.title, *one.lines]
            case Figure():
                found += [one.title, one.sentence, one.caption]
            case Signatures():
                found += [text for place in one.places for text in place]
            case Part():
                found += [one.title, one.aside, *words(one.blocks)]
            case Beside():
                found += [*words(one.left), *words(one.right)]
    return [text for text in found if text]
