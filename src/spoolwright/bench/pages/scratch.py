"""Scratch pad: every sum of the trade as a form, filled from the build, with its working, kept where it is worth it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from nicegui.element import Element

from spoolwright.bench import finding as finding_rows
from spoolwright.bench.desk import Desk, Page
from spoolwright.bench.elements import Line, box, button, html, panel, scroll
from spoolwright.bench.shell import Answer as AnswerLine
from spoolwright.bench.shell import pick
from spoolwright.bench.words import told
from spoolwright.errors import BadInput
from spoolwright.sheet import logbook
from spoolwright.sums import evaluate
from spoolwright.sums.evaluate import Answer
from spoolwright.sums.fill import fill
from spoolwright.sums.registry import TOPICS, Input, Sum, all_sums
from spoolwright.sums.working import written

QUESTION = "What do these numbers give? Any sum of the trade, with its working."
FIRST = "compression_ratio"
LONG = 60  # letters of a filled value that still fit a line


class Scratch:
    """The page. ``typed`` holds what the user wrote for the sum that is open; the rest comes from the build."""

    def __init__(self, desk: Desk, answer: AnswerLine) -> None:
        self.desk, self.answer = desk, answer
        self.sums = all_sums()
        self.which = self.sums[FIRST]
        self.typed: dict[str, str] = {}
        self.from_build = True
        self.cylinder = 1
        self.filled: dict[str, Any] = {}
        self.done: Answer | None = None
        self.author = ""
        self.notes: dict[str, Any] = {}
        self.state = ""
        with box("div", "cols").style("grid-template-columns:minmax(0,300fr) minmax(0,500fr) minmax(0,560fr)"):
            with box("div"):
                self._list_panel()
            with box("div"):
                self.form_panel = box("div")
            with box("div"):
                made, _ = panel("Result", classes="spine")
                made.props["id"] = "result"
                with made:
                    self.result = box("div", "bd")
                made, _ = panel("About this sum")
                with made:
                    self.about = html("", "div", "bd")

    # ------------------------------------------------------------------ which sum
    def _list_panel(self) -> None:
        made, _ = panel("Sums", f"{len(self.sums)} of them")
        with made:
            with box("div", "bd"):
                hint = "ring gap, dwell, jet"
                Line("", self._find, at_once=True, type="search", placeholder=hint, aria_label="Find a sum")
            with box("div", "sums", tabindex="0", role="region", aria_label="Sums"):
                self.no_sum = html("No sum speaks of this.", "p", "note").style("padding:0 14px 10px")
                self.topics = {topic: self._topic(topic) for topic in TOPICS}
        self._find("")

    def _topic(self, topic: str) -> tuple[Element, list[tuple[str, Element]]]:
        """The head of a topic, and its sums each with the words it is found by."""
        head = html(f"<b>{escape(_title(topic))}</b> {escape(TOPICS[topic])}", "p", "note topic")
        return head, [
            (_searched(one), button(one.title, lambda one=one: self.open(one), "sum"))  # type: ignore[misc]
            for one in self.sums.values()
            if one.topic == topic
        ]

    def _find(self, wanted: str) -> None:
        """Show the sums with these words. The others are hidden, not taken away: a click already on its way counts."""
        words, any_found = wanted.lower().split(), False
        for head, ones in self.topics.values():
            found = [all(word in searched for word in words) for searched, _ in ones]
            for (_, made), shown in zip(ones, found, strict=True):
                made.set_visibility(shown)
            head.set_visibility(any(found))
            any_found = any_found or any(found)
        self.no_sum.set_visibility(not any_found)

    def open(self, which: Sum) -> None:
        """Another sum on the pad."""
        self.which, self.typed = which, {}
        self._form()
        self.compute()

    # ------------------------------------------------------------------ its inputs
    def _form(self) -> None:
        self._fill()
        self.form_panel.clear()
        self.notes = {}
        with self.form_panel:
            made, _ = panel(self.which.title)
            with made, box("div", "bd"):
                self._filling()
                for key, spec in self.which.inputs.items():
                    self._input(key, spec)
        self.about.content = _about(self.which)

    def _filling(self) -> None:
        sheet = self.desk.sheet
        if sheet is None:
            return
        with box("div", "btns note").style("margin-bottom:8px"):
            sources = {"build": f"from {sheet.name}", "": "nothing filled in"}
            pick("Fill the inputs", sources, "build" if self.from_build else "", self._source, "pick q")
            if sheet.cylinder_count > 1 and self.from_build:
                cylinders = {str(n): f"cylinder {n}" for n in range(1, sheet.cylinder_count + 1)}
                pick("Cylinder", cylinders, str(self.cylinder), self._of_cylinder, "pick q")

    def _source(self, value: str) -> None:
        self.from_build = bool(value)
        self._form()
        self.compute()

    def _of_cylinder(self, value: str) -> None:
        self.cylinder = int(value)
        self._form()
        self.compute()

    def _fill(self) -> None:
        """What the build holds for this sum, where it may fill it."""
        self.filled, self.places = {}, {}
        sheet = self.desk.sheet
        if sheet is None or not self.from_build:
            return
        for key in self.which.inputs:  # one at a time: what cannot be filled leaves the others filled
            others = dict.fromkeys(one for one in self.which.inputs if one != key)
            try:
                values, places = fill(self.which, sheet, {**others, **self._valve()}, self.cylinder)
            except BadInput:
                continue
            if key in values:
                self.filled[key], self.places[key] = values[key], places[key]

    def _valve(self) -> dict[str, str]:
        return {"valve": self.typed["valve"]} if "valve" in self.typed else {}

    def _input(self, key: str, spec: Input) -> None:
        text = self.typed.get(key, _as_text(self.filled.get(key)))
        with box("div", "row-in"):
            html(f'<label for="in-{key}">{escape(_title(key.replace("_", " ")))}</label>', "div", "nm").props[
                "title"
            ] = spec.meaning
            if spec.kind == "choice":
                options = ({"": "choose"} if not (spec.default or text) else {}) | {
                    one: one.replace("_", " ") for one in spec.choices
                }
                with box("div"):
                    pick(spec.meaning, options, text or spec.default or "", lambda value: self._take(key, value))
            else:
                hint = spec.default or _hint(spec)
                Line(text, lambda value: self._take(key, value), id=f"in-{key}", data_input=key, placeholder=hint)
            self.notes[key] = html("", "div", "note")
            html(escape(_meant(spec)), "div", "mean")

    def _take(self, key: str, text: str) -> None:
        self.typed[key] = text.strip()[:4000]
        if key == "valve":
            self._fill()
        self.compute()

    # ------------------------------------------------------------------ its result
    def compute(self) -> None:
        """Do the sum with what stands there, and say what is missing or wrong beside it."""
        given = {key: value for key, value in {**self.filled, **self.typed}.items() if value != ""}
        places = {key: place for key, place in self.places.items() if key in given and key not in self.typed}
        self.done, faults = None, []
        try:
            self.done = evaluate.evaluate(self.which.name, given, places)
        except BadInput as trouble:
            faults = str(trouble).splitlines()
        beside = {key: [one for one in faults if _speaks_of(one, key)] for key in self.which.inputs}
        for key, made in self.notes.items():
            wrong = "".join(f'<span class="c-stop">{escape(one)}</span>' for one in beside[key])
            made.content = wrong or escape(told(places.get(key, "")))
        rest = [one for one in faults if not any(one in ones for ones in beside.values())]
        missing = [key for key in self.which.inputs if any(" is missing: " in one for one in beside[key])]
        self._show(rest, missing)

    def _show(self, faults: Sequence[str], missing: Sequence[str]) -> None:
        self.result.clear()
        with self.result:
            for one in faults:
                html(escape(one), "p", "bad")
            if self.done is None:
                needed = ", ".join(key.replace("_", " ") for key in missing)
                html(f"Still needed: {escape(needed)}." if needed else "No result with these inputs.", "p", "note")
                self.answer.say(f"**{self.which.title}**: " + (f"still needed: {needed}." if needed else "no result."))
                return
            with scroll("Results"):
                html(_results(self.done))
            for question in self.done.questions:
                html(escape(told(question)), "p", "warn")
            if self.which.caution:
                html(escape(told(self.which.caution)), "p", "warn")
            if self.done.assumed:
                html(f"Taken where nothing was given: {escape(told(', '.join(self.done.assumed)))}.", "p", "note")
            html(finding_rows.working(self.done.working), "div", "wk").style("margin:8px 0 10px 0")
            self._keeping()
        named = self.done.results
        first = self.which.name if self.which.name in named else next(iter(named))
        self.answer.say(f"{self.which.title}: {first.replace('_', ' ')} **{told(self.done.shown(first))}**.")

    def _keeping(self) -> None:
        with box("div", "btns"):
            made = Line(self.author, self._by, id="by-whom", placeholder="by whom", aria_label="By whom")
            made.style("width:130px;font-size:13px")
            button("Keep in the logbook", self.keep, "btn s")
        self.said = html("", "p", "note")
        self.said.props["role"] = "status"

    def _by(self, name: str) -> None:
        self.author = name.strip()[:100]

    def keep(self) -> None:
        """An entry with inputs, results and the sum's name."""
        if self.done is None:
            return
        results = {name: self.done.shown(name) for name in self.done.results}
        inputs = {key: written(value) for key, value in self.done.inputs.items() if value is not None}
        text = f"{self.which.title}: " + ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in results.items())
        try:
            logbook.append(
                self.desk.folder, "note", text, self.author, sum=self.which.name, inputs=inputs, results=results
            )
        except BadInput as trouble:
            self.said.content = f'<span class="c-stop">{escape(str(trouble))}.</span>'
            return
        self.said.content = "Kept in the logbook."
        self.desk.store.tell()

    def show(self) -> None:
        """The build was changed: fill and compute again; what was typed stays."""
        now = self.desk.sheet.digest if self.desk.sheet is not None else ""
        if now == self.state:
            return
        first, self.state = not self.state, now
        before = self.filled
        self._fill()
        if first or self.filled != before:  # else the form stays: somebody may be typing in it
            self._form()
        self.compute()


def _title(name: str) -> str:
    return name[:1].upper() + name[1:]


def _searched(one: Sum) -> str:
    inputs = " ".join(f"{key} {spec.meaning}" for key, spec in one.inputs.items())
    return f"{one.name} {one.title} {one.topic} {inputs} {' '.join(one.outputs)}".replace("_", " ").lower()


def _speaks_of(fault: str, key: str) -> bool:
    return any(fault.startswith(f"{key}{end}") for end in (":", " is missing", " says", " takes", "["))


def _as_text(value: Any) -> str:
    """A value from the build as one would write it; a long list stays unwritten, and is taken all the same."""
    if value is None:
        return ""
    text = (
        value if isinstance(value, str) else "; ".join(one if isinstance(one, str) else ": ".join(one) for one in value)
    )
    return text if len(text) <= LONG else ""


def _hint(spec: Input) -> str:
    if spec.kind == "curve":
        return "pairs, as 10 psi: 54 gal/h; 20 psi: 43 gal/h"
    return f"such as {spec.low}" if spec.low else ""


def _meant(spec: Input) -> str:
    if spec.kind in ("choice", "text"):
        return spec.meaning
    among = f"; usual {spec.low} to {spec.high}" if spec.low and spec.high else ""
    many = "; several with ; between" if spec.many else ""
    left = "; may be left out" if spec.default == "" else ""
    return told(f"{spec.meaning}{among}{many}{left}")


def _results(done: Answer) -> str:
    rows = ""
    for name, out in done.sum.outputs.items():
        if name in done.results:
            also = done.also(name)
            beside = f'<span class="mean">{escape(told(also))}</span>' if also else ""
            meaning = "" if out.meaning == name.replace("_", " ") else escape(told(out.meaning))
            rows += (
                f'<tr><td class="w">{escape(_title(name.replace("_", " ")))}<span class="mean">{meaning}</span></td>'
                f"<td><b>{escape(told(done.shown(name)))}</b>{beside}</td></tr>"
            )
    return f'<table class="t" aria-label="Results">{rows}</table>'


def _about(which: Sum) -> str:
    parts = [f"<p>Source: {escape(which.source)}</p>"]
    if which.validity:
        parts.append(f"<p>Holds for: {escape(told(which.validity))}</p>")
    if which.slips:
        parts.append(f"<p>Usual slips: {escape(told('; '.join(which.slips)))}</p>")
    return "".join(parts)


def make(desk: Desk, answer: AnswerLine) -> None:
    """Build the page."""
    page = Scratch(desk, answer)
    page.show()
    desk.on_change(page.show)


PAGE = Page("scratch", "Scratch pad", QUESTION, make)
