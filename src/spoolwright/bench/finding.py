"""Rows of findings: balloon, subject, verdict, sentence, margin; opened, the working and what to change first."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from html import escape

from nicegui.element import Element

from spoolwright.bench import marks
from spoolwright.bench.elements import box, button, html
from spoolwright.bench.words import told
from spoolwright.findings.model import Finding

_GIVEN = re.compile(r", (?=[a-z][a-z0-9_]* = )")
FIRST = 9  # rows before the rest of the sound ones are folded away


def rows(findings: Sequence[Finding], opened: Callable[[Finding | None], None] | None = None) -> list[Element]:
    """A row for each finding in the order given; ``opened`` is told which one is open."""
    shown = list(zip(marks.letters(len(findings)), findings, strict=True))
    first = [pair for n, pair in enumerate(shown) if pair[1].verdict != "sound" or n < FIRST]
    rest = shown[len(first) :]
    made = [_row(letter, finding, opened) for letter, finding in first]
    if rest:
        hidden = box("div")
        hidden.set_visibility(False)
        with hidden:
            made += [_row(letter, finding, opened) for letter, finding in rest]
        more = button(f"{len(rest)} more, all sound", lambda: _unfold(hidden, more), "link note")
        more.style("padding:10px 14px;display:block")
    return made


def _unfold(hidden: Element, more: Element) -> None:
    hidden.set_visibility(True)
    more.set_visibility(False)


def _row(letter: str, finding: Finding, opened: Callable[[Finding | None], None] | None) -> Element:
    made = box("article", "fd")
    with made:
        head = box("button", "", type="button", aria_expanded="false")
        with head:
            html(summary(letter, finding), "span").style("display:contents")
        body = box("div", "wk")
        body.set_visibility(False)
    state = {"open": False, "filled": False}

    def turn() -> None:
        state["open"] = not state["open"]
        if not state["filled"]:
            state["filled"] = True
            with body:
                html(unfolded(finding))
        body.set_visibility(state["open"])
        head.props["aria-expanded"] = "true" if state["open"] else "false"
        head.update()
        made.classes(add="open" if state["open"] else "", remove="" if state["open"] else "open")
        if opened is not None:
            opened(finding if state["open"] else None)

    head.on("click", lambda _: turn(), args=[])
    return made


def summary(letter: str, finding: Finding) -> str:
    """The closed row."""
    subject = finding.subject[:1].upper() + finding.subject[1:]
    value = marks.margin_text(finding) or escape(told(finding.shown))
    return (
        f"{marks.balloon(letter, finding.verdict)}"
        f'<span><strong class="sj">{escape(subject)} {marks.tag(finding.verdict)}</strong>'
        f'<span class="said">{escape(told(finding.sentence))}</span></span>'
        f'<span class="mg"><b>{value}</b>{marks.gauge(finding)}</span>'
    )


def unfolded(finding: Finding) -> str:
    """Working, limit, what to change first, caution."""
    parts = [working(finding.working)] if finding.working else []
    if finding.change_first:
        parts.append(f"<p><b>Change first:</b> {escape(told(finding.change_first))}</p>")
    if finding.limit_shown or finding.resting_on:
        parts.append(f'<p class="note">Limit {escape(told(finding.limit_shown))}: {escape(finding.resting_on)}.</p>')
    if finding.where:
        parts.append(f'<p class="note">In the sheet: {escape(finding.where)}</p>')
    if finding.caution:
        parts.append(f'<p class="warn">{escape(finding.caution)}</p>')
    return "".join(parts) or '<p class="note">Nothing more stands behind it.</p>'


def working(text: str) -> str:
    """A working as HTML: formulas, the inputs as a table with where each comes from, the source."""
    return "".join(_block(block.splitlines()) for block in text.split("\n\n"))


def _block(lines: Sequence[str]) -> str:
    out = []
    for n, line in enumerate(lines):
        if n == 0 and "=" not in line:
            out.append(f"<p><b>{escape(line)}</b></p>")
        elif line.startswith("with ") and line.count(" = ") > 1:
            out.append(_inputs(line[5:]))
        elif line.startswith("Source:"):
            out.append(f'<p class="note">{escape(line)}</p>')
        elif "=" in line:
            last = n + 1 == len(lines) or not lines[n + 1].startswith("  =")
            result = " res" if line.startswith("  =") and last else ""
            out.append(f'<div class="eq{result}">{escape(line)}</div>')
        elif line.strip():
            out.append(f'<p class="note">{escape(line)}</p>')
    return "".join(out)


def _inputs(line: str) -> str:
    rows = ""
    for one in _GIVEN.split(line):
        name, _, rest = one.partition(" = ")
        value, _, place = rest.partition(" (")
        if value == "not given":
            continue
        rows += (
            f"<tr><td>{escape(name.replace('_', ' '))}</td><td>{escape(value)}</td>"
            f'<td class="w">{escape(place.removesuffix(")"))}</td></tr>'
        )
    return f'<table class="t"><tr><th>input</th><th>value</th><th class="w">from</th></tr>{rows}</table>'
