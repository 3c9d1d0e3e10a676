"""What lies over a page when asked for: the search for any value of the sheet, and the keys."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import Line, box, html
from spoolwright.bench.field import Field
from spoolwright.bench.words import number

FOUND = 12  # values shown at most


def search(desk: Desk) -> None:
    """Find any value of the sheet and edit it right there."""
    over = box("div", "over", id="find", hidden="", role="dialog", aria_modal="true", aria_label="Find a value")
    with over, box("div", "pn"):
        with box("header"):
            html("Find any value of the sheet", "h2")
            html('<button type="button" class="btn s q" data-close>Close <kbd>Esc</kbd></button>', "span", "r")
        with box("div", "bd"):
            found = _Found(desk)
            Line("", found.find, at_once=True, type="search", aria_label="Part of a name or a value")
            found.build()


class _Found:
    """The values found. A field that is found again stays: somebody may be in it already."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.fields: dict[str, Field] = {}

    def build(self) -> None:
        """Where they stand."""
        self.body = box("div")
        self.count = html("", "p", "note").style("margin-top:8px")

    def find(self, text: str) -> None:
        """Show the values with these words in their names or meanings."""
        hits = _hits(self.desk, text)
        wanted = [one for path in hits[:FOUND] for one in _places(self.desk, path)]
        for path in [one for one in self.fields if one not in wanted]:
            self.fields.pop(path).delete()
        for place, path in enumerate(wanted):
            if path not in self.fields:
                with self.body:
                    self.fields[path] = Field(self.desk, path, path, "line")
            self.fields[path].move(target_index=place)
        tail = f"; the first {FOUND} are shown" if len(hits) > FOUND else ""
        self.count.content = f"{number(len(hits))} found{tail}." if text.strip() else ""


def _hits(desk: Desk, text: str) -> list[str]:
    """Paths of the sheet that hold every word, names before meanings, short before long."""
    parts = text.lower().split()
    sheet = desk.sheet
    if not parts or sheet is None:
        return []
    hits = []
    for path, entry in sheet.entries.items():
        words = f"{path} {entry.field.meaning}".lower().replace("_", " ") + " " + path.lower()
        if all(part in words for part in parts):
            hits.append(path)
    return sorted(hits, key=lambda path: (not all(part in path.replace("_", " ") for part in parts), len(path)))


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
