"""A book as one HTML file: style and drawings inside, no script, nothing fetched from anywhere."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator, Sequence
from html import escape
from importlib.resources import files

from spoolwright.book.content import (
    Beside,
    Block,
    Book,
    Cell,
    Facts,
    Figure,
    Listing,
    Paragraph,
    Part,
    Signatures,
    Table,
    Working,
)

_SIDES = {"l": "", "r": ' class="r"', "c": ' class="m"'}
# A page that can load nothing and run nothing, whatever stands in it.
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def html(book: Book) -> str:
    """The whole page."""
    title = f"{book.build}, the build book"
    variant = "" if book.variant == "none" else f", variant {book.variant}"
    style = files("spoolwright.book").joinpath("book.css").read_text(encoding="utf-8")
    links = "".join(f'<li><a href="#c{n}">{_t(chapter.title)}</a></li>' for n, chapter in enumerate(book.chapters, 1))
    chapters = "\n".join(
        f'<section id="c{n}" aria-labelledby="h{n}"><div class="head"><h2 id="h{n}">{_t(chapter.title)}</h2>'
        f"{_aside(chapter.aside)}</div>\n{_blocks(chapter.blocks, 3)}</section>"
        for n, chapter in enumerate(book.chapters, 1)
    )
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n<title>{_t(title)}</title>\n'
        f"<style>\n{style}</style></head>\n<body><main>\n<header><h1>{_t(book.build)}{_t(variant)}: the build book</h1>"
        f"{_title_block(book)}<p class='small'>{_t(book.note)}</p></header>\n"
        f'<nav aria-label="Chapters"><ol>{links}</ol></nav>\n{chapters}\n</main></body></html>\n'
    )


def _t(text: str) -> str:
    clean = "".join(c if c.isprintable() or c in "\u00a0\u202f" else " " for c in text)
    return escape(clean, quote=True)


def _aside(text: str) -> str:
    return f'<span class="aside">{_t(text)}</span>' if text else ""


def _title_block(book: Book) -> str:
    rows = (
        ("build", book.build),
        ("variant", book.variant),
        ("date", book.date),
        ("inputs' hash", book.digest[:12]),
        ("spoolwright", book.version),
        *book.particulars,
    )
    return '<dl class="block">' + "".join(f"<div><dt>{_t(a)}</dt><dd>{_t(b)}</dd></div>" for a, b in rows) + "</dl>"


def _blocks(blocks: Sequence[Block], level: int) -> str:
    return "\n".join(_block(one, level) for one in blocks)


def _block(one: Block, level: int) -> str:
    match one:
        case Paragraph():
            kind = {"small": ' class="small"', "caution": ' class="caution"', "text": ""}[one.kind]
            lead = f"<strong>{_t(one.lead)}</strong> " if one.lead else ""
            return f"<p{kind}>{lead}{_t(one.text)}</p>"
        case Table():
            return _table(one)
        case Facts():
            rows = "".join(f"<tr><th scope='row'>{_t(a)}</th><td class='r'>{_cell(b)}</td></tr>" for a, b in one.rows)
            return f'<div class="scroll" tabindex="0" role="region" aria-label="values"><table>{rows}</table></div>'
        case Listing():
            tag = "ol" if one.kind == "numbered" else "ul"
            kind = ' class="tick"' if one.kind == "ticked" else ""
            return f"<{tag}{kind}>" + "".join(f"<li>{_t(item)}</li>" for item in one.items) + f"</{tag}>"
        case Working():
            lines = "".join(f"<div>{_t(line)}</div>" for line in one.lines)
            return f'<div class="working"><strong>{_t(one.title)}</strong>{lines}</div>'
        case Figure():
            return _figure(one)
        case Signatures():
            places = "".join(
                f'<div><span class="pen">{_t(signed)}</span><span class="aside">{_t(what)}</span></div>'
                for what, signed in one.places
            )
            return f'<div class="signed">{places}</div>'
        case Part():
            frame = ' class="boxed"' if one.boxed else ""
            head = f'<div class="head"><h{level}>{_t(one.title)}</h{level}>{_aside(one.aside)}</div>'
            return f"<div{frame}>{head}\n{_blocks(one.blocks, min(level + 1, 6))}</div>"
        case Beside():
            sides = (f"<div>{_blocks(side, level)}</div>" for side in (one.left, one.right))
            return f'<div class="beside">{"".join(sides)}</div>'


def _cell(cell: Cell) -> str:
    mark = f" <i>{cell.mark}</i>" if cell.mark else ""
    words = f"{_t(cell.text)}{mark}"
    if cell.verdict:
        kind = cell.verdict.replace(" ", "-")
        return f'<span class="sign {kind}" aria-hidden="true"></span><span class="v {kind}">{words}</span>'
    return f"<strong>{words}</strong>" if cell.strong else words


def _table(one: Table) -> str:
    sides = [_SIDES[letter] for letter in one.align]
    head = "".join(f"<th scope='col'{side}>{_t(words)}</th>" for words, side in zip(one.head, sides, strict=True))
    rows = "".join(f"<tr>{''.join(_row(row, sides))}</tr>" for row in one.rows)
    table = f"<table class='t'><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    return f'<div class="scroll" tabindex="0" role="region" aria-label="table">{table}</div>'


def _row(row: Sequence[Cell], sides: Sequence[str]) -> Iterator[str]:
    for cell, side in zip(row, sides, strict=True):
        yield f"<td{side}>{_cell(cell)}</td>"


def _figure(one: Figure) -> str:
    data = b64encode(one.svg.encode()).decode()
    caption = f"<figcaption>{_t(one.caption)}</figcaption>" if one.caption else ""
    # Wider than on paper: a screen has room.
    wide = f"max-width:{min(one.width * 1.35, 240):.0f}mm"
    picture = f'<img src="data:image/svg+xml;base64,{data}" alt="{_t(one.sentence)}">'
    kind = ' class="wide" tabindex="0"' if one.width > 120.0 else ""
    return f'<figure{kind} style="{wide}">{picture}{caption}</figure>'
