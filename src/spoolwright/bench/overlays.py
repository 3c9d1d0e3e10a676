"""What lies over a page when asked for: the search for any value of the sheet, and the keys."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from nicegui.element import Element

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import box, html
from spoolwright.bench.field import Field
from spoolwright.bench.words import number
from spoolwright.errors import BadInput

FOUND = 12  # values shown at most


def search(desk: Desk) -> None:
    """Find any value of the sheet and edit it right there."""
    over = box("div", "over", id="find", hidden="", role="dialog", aria_modal="true", aria_label="Find a value")
    with over, box("div", "pn"):
        with box("header"):
            html("Find any value of the sheet", "h2")
            html('<button type="button" class="btn s q" data-close>Close <kbd>Esc</kbd></button>', "span", "r")
        with box("div", "bd"):
            search = box("input", "search", type="search", aria_label="Part of a name or a value", autocomplete="off")
            found = box("div")
    search.on(
        "input",
        lambda event: _find(desk, found, str(event.args)),
        js_handler="(e) => emit(e.target.value)",
        throttle=0.15,
    )


def _find(desk: Desk, found: Element, text: str) -> None:
    found.clear()
    parts = text.lower().split()
    sheet = desk.sheet
    if not parts or sheet is None:
        return
    hits = []
    for path, entry in sheet.entries.items():
        words = f"{path} {entry.field.meaning}".lower().replace("_", " ") + " " + path.lower()
        if all(part in words for part in parts):
            hits.append(path)
    hits.sort(key=lambda path: (not all(part in path.replace("_", " ") for part in parts), len(path)))
    with found:
        for path in hits[:FOUND]:
            for one in _places(desk, path):
                try:
                    Field(desk, one, one, "line")
                except BadInput:
                    continue
        count = len(hits)
        tail = f"; the first {FOUND} are shown" if count > FOUND else ""
        html(f"{number(count)} found{tail}.", "p", "note").style("margin-top:8px")


def _places(desk: Desk, path: str) -> list[str]:
    """The path, or one for each cylinder where they differ."""
    sheet = desk.sheet
    entry = None if sheet is None else sheet.entries[path]
    if entry is None or entry.one or len(entry.shape) != 1:
        return [path]
    return [f"{path}[{n}]" for n in range(1, entry.shape[0] + 1)]


def keys(theme_pick: Callable[[], None]) -> None:
    """The keys, undo and the look; on a phone the only place for these."""
    rows = (
        ("/", "find any value"),
        ("Alt 1 to Alt 6", "phases"),
        ("← →", "engine speed by one step, with Shift by five"),
        ("j k", "next and previous finding, Enter opens it"),
        ("r", "run"),
        ("Esc", "cancel or close; in a field: put back what stood there"),
        ("Ctrl Z", "undo; Ctrl Shift Z again"),
        ("Enter", "in a field: take the value"),
        ("Alt Enter", "in a field: take the value offered"),
    )
    listed = "".join(f"<dt><kbd>{escape(key)}</kbd></dt><dd>{escape(said)}</dd>" for key, said in rows)
    over = box("div", "over", id="keys", hidden="", role="dialog", aria_modal="true", aria_label="Keys and look")
    with over, box("div", "pn"):
        with box("header"):
            html("Keys and look", "h2")
            html('<button type="button" class="btn s q" data-close>Close <kbd>Esc</kbd></button>', "span", "r")
        with box("div", "bd"):
            html(f'<dl class="keys">{listed}</dl>')
            html(
                '<p class="btns" style="margin-top:12px">'
                '<button type="button" class="btn s" data-press="undo">Undo</button>'
                '<button type="button" class="btn s" data-press="redo">Redo</button>'
                '<label><input type="checkbox" checked onchange="bench.setLetters(this.checked)"> single letters act'
                "</label>"
                "</p>"
            )
            with box("div").style("margin-top:12px"):
                theme_pick()
