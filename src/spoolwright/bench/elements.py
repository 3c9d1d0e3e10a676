"""The few building blocks every page is made of: a tag with classes, HTML of our own making, panels, buttons."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

from nicegui import ui
from nicegui.element import Element

from spoolwright.bench.words import rich

LONGEST = 4000  # letters taken of one line


def box(tag: str = "div", classes: str = "", **attributes: str) -> Element:
    """An element of this tag; use it with ``with``. Attribute names get "-" for "_"."""
    made = ui.element(tag)
    if classes:
        made.classes(classes)
    for name, value in attributes.items():
        made.props[name.strip("_").replace("_", "-")] = value
    return made


def html(content: str, tag: str = "div", classes: str = "") -> ui.html:
    """HTML of our own making; whatever a user wrote is escaped by whoever makes it."""
    made = ui.html(content, sanitize=False, tag=tag)
    if classes:
        made.classes(classes)
    return made


def words(text: str, tag: str = "p", classes: str = "") -> ui.html:
    """Plain text in which ``**`` makes bold."""
    return html(rich(text), tag, classes)


def button(
    text: str,
    do: Callable[[], Any],
    classes: str = "btn",
    key: str = "",
    shown_key: str = "",
    label: str = "",
) -> Element:
    """A button; ``key`` is the letter (or name) that presses it from the keyboard, ``shown_key`` what is drawn."""
    made = ui.element("button").classes(classes)
    made.props["type"] = "button"
    if key:
        made.props["data-key"] = key
    if label:
        made.props["aria-label"] = label
    with made:
        html(escape(text) + (f" <kbd>{escape(shown_key)}</kbd>" if shown_key else ""), "span")
    made.on("click", lambda _: do(), args=[])
    return made


def panel(title: str, right: str = "", classes: str = "", level: str = "h2") -> tuple[Element, ui.html]:
    """A panel with its head: the panel, to be filled with ``with``, and the head's right side (HTML)."""
    made = box("section", f"pn {classes}".strip(), aria_label=title)
    with made, box("header"):
        html(escape(title), level)
        side = html(right, "span", "r")
    return made, side


def scroll(label: str) -> Element:
    """A box that scrolls sideways, reachable by the keyboard."""
    return box("div", "scroll", tabindex="0", role="region", aria_label=label)


class Line(Element, component=Path(__file__).parent / "look" / "line.js"):
    """A line to type in; ``typed`` gets the text when it is left or confirmed, or with ``at_once`` at every letter.

    A plain input would be set back to the server's text whenever anything on the page is drawn anew.
    """

    def __init__(
        self,
        value: str,
        typed: Callable[[str], None],
        classes: str = "search",
        at_once: bool = False,
        **attributes: str,
    ) -> None:
        super().__init__()
        self.classes(classes)
        self.props["value"] = value
        for name, said in attributes.items():
            self.props[name.replace("_", "-")] = said
        self.on(
            "input" if at_once else "change",
            lambda event: typed(str(event.args)[:LONGEST]),
            js_handler="(e) => emit(e.target.value)",
        )
