"""A measurement's note for the logbook: with what, how warm, by whom, in words, and a photograph."""

from __future__ import annotations

from html import escape
from typing import Any

from spoolwright.bench.desk import Desk
from spoolwright.bench.elements import Line, box, button, html, panel
from spoolwright.bench.shell import pick
from spoolwright.bench.upload import MB, Upload
from spoolwright.errors import BadInput
from spoolwright.sheet import logbook, photos

FIELDS = (
    ("text", "What was done", "Bores at three heights, two ways"),
    ("tool", "With what", "bore gauge"),
    ("temperature", "How warm", "21 degC"),
    ("author", "By whom", "your name"),
)


class NoteTaken:
    """The panel; what was typed stays until it is kept."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.typed = {name: "" for name, _, _ in FIELDS}
        self.path = ""
        self.photos: list[str] = []
        made, _ = panel("Note how it was measured", "into the logbook")
        made.props["id"] = "note"
        with made, box("div", "bd"):
            with box("div", "form"):
                with box("div", "ask"):
                    html("Which measure", "span", "l")
                    self.which = box("div")
                for name, label, hint in FIELDS:
                    self._line(name, label, hint)
            self.kept = html("", "p", "note")
            with box("div", "btns").style("margin-top:10px"):
                button("Keep in the logbook", self.keep, "btn pri")
                Upload(
                    "Add a photograph",
                    self._photo,
                    accept="image/png,image/jpeg,image/webp",
                    most=20 * MB,
                    hint="PNG, JPEG, WebP to 20 MB",
                )
            self.said = html("", "p", "note")
            self.said.props["role"] = "status"

    def _line(self, name: str, label: str, hint: str) -> None:
        with box("div", "ask"):
            html(f'<label for="note-{name}">{escape(label)}</label>', "span", "l")
            Line("", lambda text: self._typed(name, text), id=f"note-{name}", placeholder=hint)

    def _typed(self, name: str, text: str) -> None:
        self.typed[name] = text.strip()[:400]

    def offer(self, names: dict[str, str]) -> None:
        """The measures one can speak of, by path."""
        self.which.clear()
        options = {path: f"{name[:1].upper()}{name[1:]}" for path, name in names.items()}
        self.path = self.path if self.path in options else next(iter(options), "")
        with self.which:
            pick("Which measure", options, self.path, self._chosen)

    def _chosen(self, path: str) -> None:
        self.path = path

    def _photo(self, name: str, data: bytes) -> str:
        place = photos.keep(self.desk.folder, name, data)
        self.photos.append(place)
        self.kept.content = f"Photographs for this note: {escape(', '.join(self.photos))}"
        return f"{name} is kept as {place}; it goes with the next note."

    def keep(self) -> None:
        """Add the entry, or say what is missing."""
        details: dict[str, Any] = {name: self.typed[name] for name in ("tool", "temperature") if self.typed[name]}
        if self.photos:
            details["photos"] = list(self.photos)
        try:
            logbook.append(
                self.desk.folder,
                "measurement",
                self.typed["text"],
                self.typed["author"],
                path=self.path,
                **details,
            )
        except BadInput as trouble:
            self.said.content = f'<span class="c-stop">{escape(str(trouble))}.</span>'
            return
        self.photos = []
        self.kept.content = ""
        self.said.content = "Kept in the logbook."
        self.desk.store.tell()
