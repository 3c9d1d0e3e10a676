"""A field of the sheet: the text as typed, judged on leaving, saved on disk, its doubt or refusal beside it."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Literal

from nicegui.element import Element

from spoolwright.bench.desk import Desk
from spoolwright.sheet import field, typed

Look = Literal["dim", "cell", "line", "big"]
_HERE = Path(__file__).parent / "look"


class Field(Element, component=_HERE / "field.js"):
    """One value of the sheet. ``look``: dim on the drawing, cell in a table, line in a list, big on a phone."""

    def __init__(self, desk: Desk, path: str, label: str, look: Look = "dim", placeholder: str = "") -> None:
        super().__init__()
        spec = field(path)
        self.desk, self.path, self.spec = desk, path, spec
        self.props["path"] = path
        self.props["label"] = label
        self.props["look"] = look
        self.props["placeholder"] = placeholder or ("measure" if spec.need != "must" else "give it")
        self.props["choices"] = ["true", "false"] if spec.kind == "flag" else list(spec.choices)
        self.props["keypad"] = spec.numeric
        self.props["changed"] = False
        self._show()
        self._settle()
        self.on("take", lambda event: self._take(event.args, keep=False))
        self.on("keep", lambda event: self._take(event.args, keep=True))
        self.on("mine", lambda event: self._take(event.args | {"seen": self.props["text"]}, keep=False))
        self.on("restore", lambda: self._settle(), args=[])
        desk.on_change(self._show)

    def _handle_delete(self) -> None:
        self.desk.forget(self._show)
        super()._handle_delete()

    def _show(self) -> None:
        """Show what stands in the sheet now."""
        sheet = self.desk.sheet
        if sheet is None:
            text = typed.text_in(self.desk.loaded.texts, self.path)
            origin, second, hint = "given", "", self.spec.meaning
        else:
            text = typed.text_at(sheet, self.path)
            given = bool(text) and not sheet.is_assumed(self.path)
            origin = "given" if given else "assumed" if text else "empty"
            second = typed.converted(sheet, self.path)
            hint = f"{self.spec.meaning}; {sheet.where(self.path)}" if text else self.spec.meaning
        run = self.desk.run
        then = typed.text_at(run.asked, self.path) if run is not None else text
        now = {"text": text, "origin": origin, "second": second, "hint": hint, "changed": then != text}
        if any(self.props.get(name) != value for name, value in now.items()):
            for name, value in now.items():
                self.props[name] = value
            self.update()

    def _settle(self, state: str = "", said: str = "", offers: tuple[str, ...] = ()) -> None:
        self.props["state"], self.props["said"], self.props["offers"] = state, said, list(offers)
        self.update()

    def _take(self, told: dict[str, Any], keep: bool) -> None:
        text, seen = str(told.get("text") or "")[:2000], str(told.get("seen") or "")[:2000]
        outcome = self.desk.store.edit(self.desk.variant, self.path, text, seen, keep)
        if outcome.kind in ("taken", "same"):
            self._settle()
            if outcome.kind == "taken":
                self.desk.say(f"{self.props['label']} {text or 'taken away'}: saved.")
        else:
            self._settle(outcome.kind, outcome.said, outcome.offers)
        self._show()
