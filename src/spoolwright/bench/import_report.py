"""How a log was read: every repair with the raw lines it stands in, the columns to confirm, how it was measured."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from html import escape
from typing import Any

from nicegui.element import Element

from spoolwright.bench.elements import Line, box, button, html, panel, scroll
from spoolwright.bench.logs import Seen
from spoolwright.bench.shell import pick
from spoolwright.bench.words import number
from spoolwright.dyno.log import Column, Repair
from spoolwright.dyno.readers.quantities import NUMBERED, ROLES
from spoolwright.dyno.readers.report import raw_lines
from spoolwright.dyno.rig import BOOST_CONTROL, SOURCES, STANDS_AT

FIRST = 12  # repairs before the rest is folded
CYLINDERS = 8
RIG = {
    "torque_from": ("torque from", ("", *SOURCES)),
    "stands_at": ("torque stands at", STANDS_AT),
    "corrected_by": ("corrected already by", ()),
    "torque_spread": ("torque may be off by", ()),
    "inertia": ("inertia of the roller", ()),
    "ratio": ("engine over roller speed", ()),
    "run_down": ("run-down", ()),
}
AIR = {
    "temperature": ("air at the intake", ()),
    "barometer": ("barometer, station", ()),
    "humidity": ("humidity", ()),
    "boost_control": ("boost is held", BOOST_CONTROL),
}
Confirmed = Mapping[int, Mapping[str, str | None]]


class ImportReport:
    """The panel; ``confirm`` is given columns by place, ``state`` words of rig and air."""

    def __init__(
        self, confirm: Callable[[Confirmed], Any], state: Callable[[dict[str, str], dict[str, str]], Any]
    ) -> None:
        self.confirm, self.state = confirm, state
        self.seen: Seen | None = None
        made, self.side = panel("Import report")
        with made:
            self.body = box("div", "bd")
        self.raw: Element | None = None

    def show(self, seen: Seen | None) -> None:
        """Show how this log was read."""
        self.seen = seen
        self.body.clear()
        if seen is None:
            self.side.content = ""
            with self.body:
                html("Read a log, or choose a kept one: every repair is listed here.", "p", "note")
            return
        repairs = len(seen.log.repairs)
        self.side.content = (
            f"{escape(seen.log.file.name)}, {repairs} repair{'s' if repairs != 1 else ''}, raw file unchanged"
        )
        with self.body:
            self._repairs(seen)
            self._columns(seen)
            self._measured(seen)

    def _repairs(self, seen: Seen) -> None:
        log = seen.log
        first = next((one.line for one in log.repairs if one.line), 1)
        self.raw = html("", "div", "raw").props('tabindex=0 role=region aria-label="Lines of the file"')
        self._raw(first)
        if not log.repairs:
            html("Nothing had to be repaired.", "p", "note").style("margin-top:8px")
        with scroll("Repairs"), box("table", "t", aria_label="Repairs"):
            html('<th class="w">found</th><th class="w">done</th><th>where</th>', "tr")
            for one in log.repairs[:FIRST]:
                self._repair(one)
        if len(log.repairs) > FIRST:
            rest = box("div")
            rest.set_visibility(False)
            more = button(
                f"{len(log.repairs) - FIRST} more",
                lambda: (rest.set_visibility(True), more.set_visibility(False)),
                "link note",
            )
            with rest, scroll("More repairs"), box("table", "t", aria_label="More repairs"):
                for one in log.repairs[FIRST : FIRST + 200]:
                    self._repair(one)
        said = [flag.sentence for flag in log.flags] + log.observations
        if said:
            html("".join(f"<li>{escape(one)}</li>" for one in said), "ul", "note said-list")

    def _repair(self, one: Repair) -> None:
        with box("tr"):
            column = f' <span class="u">{escape(one.column)}</span>' if one.column else ""
            html(f'{escape(one.what)}{column}<span class="u why">{escape(one.why)}</span>', "td", "w")
            html(f"<code>{escape(one.before[:60])}</code> → <code>{escape(one.after[:60])}</code>", "td", "w")
            with box("td"):
                last = f" to {number(one.last_line)}" if one.last_line and one.last_line != one.line else ""
                if one.line is None:
                    html("all" if one.count < 2 else f"{number(one.count)} cells", "span")
                else:
                    at = one.line
                    button(f"line {number(at)}{last}", lambda: self._raw(at), "link")

    def _raw(self, line: int) -> None:
        if self.seen is None or self.raw is None:
            return
        rows = raw_lines(self.seen.data, self.seen.log, line)
        self.raw.content = "".join(  # type: ignore[attr-defined]
            f'<div{" class=hit" if n == line else ""}><span class="u">{n}</span> {escape(text[:240])}</div>'
            for n, text in rows
        )

    def _columns(self, seen: Seen) -> None:
        columns = seen.log.columns
        asked = sum(not one.confirmed for one in columns)
        title = f"Columns: {asked} not yet confirmed" if asked else "Columns, all confirmed"
        with box("details", "part", **({"open": "open"} if asked else {})):
            html(escape(title), "summary")
            given: dict[int, dict[str, str | None]] = {
                one.index: {"role": one.role, "unit": _unit(one)} for one in columns
            }
            with scroll("Columns"), box("table", "t", aria_label="Columns of the log"):
                html(
                    '<th class="w">in the file</th><th class="w">is</th><th class="w">in</th><th class="w">why</th>',
                    "tr",
                )
                for one in columns:
                    self._column(one, given[one.index])
            with box("div", "btns").style("margin-top:8px"):
                button("Agree, remember for this logger", lambda: self.confirm(_agreed(columns, given)), "btn s pri")

    def _column(self, one: Column, given: dict[str, str | None]) -> None:
        def role(value: str) -> None:
            given["role"] = value or None

        def unit(value: str) -> None:
            given["unit"] = value.strip() or None

        with box("tr"):
            html(f"<b>{escape(one.name)}</b>", "td", "w")
            with box("td", "w"):
                roles = {name: name.replace("_", " ") or "nothing we use" for name in _roles()}
                pick(f"what {one.name} is", roles, one.role or "", role, "pick q")
            with box("td", "w"):
                _text(f"unit of {one.name}", _unit(one) or "", unit, "70px")
            asked = f'<b class="ask">{escape(one.question)}</b> ' if one.question else ""
            html(f"{asked}{escape(one.reason)}", "td", "w u")

    def _measured(self, seen: Seen) -> None:
        rig: dict[str, str] = {}
        air: dict[str, str] = {}
        with box("details", "part", **({} if seen.done is not None else {"open": "open"})):
            html("How it was measured, and the air of the day", "summary")
            if seen.trouble:
                html(escape(seen.trouble), "p", "warn")
            with box("div", "twocol"):
                for words, known, rows in ((rig, seen.rig, RIG), (air, seen.air, AIR)):
                    with box("div"):
                        for name, (label, choices) in rows.items():
                            _row(label, name, choices, known.get(name, ""), words)
            with box("div", "btns").style("margin-top:8px"):
                button("Take it so", lambda: self.state(rig, air), "btn s pri")
            self.trouble = html("", "p", "bad")
            self.trouble.set_visibility(False)

    def refuse(self, said: str) -> None:
        """What is wrong with a column confirmed or a word said; what was typed stays."""
        self.trouble.content = escape(said)
        self.trouble.set_visibility(True)


def _row(label: str, name: str, choices: tuple[str, ...], value: str, words: dict[str, str]) -> None:
    def put(text: str) -> None:
        words[name] = text

    with box("div", "say-row"):
        html(escape(label), "span")
        if choices:
            pick(label, {one: one or "by its channels" for one in choices}, value, put, "pick q")
        else:
            _text(label, value, put, "130px")


def _roles() -> list[str]:
    plain = [name for name in ROLES if name not in NUMBERED]
    return [
        "",
        *sorted([*plain, *(f"{name}_{n}" for name in NUMBERED for n in range(1, CYLINDERS + 1))], key=_by_number),
    ]


def _by_number(name: str) -> tuple[str, int]:
    found = re.fullmatch(r"(.+)_(\d+)", name)
    return (found[1], int(found[2])) if found else (name, 0)


def _unit(column: Column) -> str | None:
    unit = column.guessed_unit or column.unit_in_file
    return unit if unit and unit != "1" else None


def _agreed(columns: list[Column], given: dict[int, dict[str, str | None]]) -> Confirmed:
    return {one.index: given[one.index] for one in columns}


def _text(label: str, value: str, changed: Callable[[str], None], width: str) -> None:
    Line(value, changed, "small", at_once=True, aria_label=label, maxlength="80").style(f"width:{width}")
