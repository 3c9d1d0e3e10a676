"""The reference page of the sheet, made from the one description of its fields."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.sheet.fields import PLAIN, Field, Section
from spoolwright.sheet.sections import SHEET

_INTRO = """# The sheet

A build is a folder; `build.toml` in it is the sheet. Sections follow the gas and then the heat. A quantity is text
with its unit, in any unit of its kind; it may carry a spread (`"52.1 cc ± 0.3"`) and, where named, a condition
behind `@`.

- *must*: has to be given. *may*: can be left out, and nothing is taken in its place. *assumed*: when left out, the
  value shown is taken and listed as assumed, with the reason.
- **safety**: never assumed; findings and stop lists rest on it.
- *plausible*: outside it a value is questioned. What cannot be (as a rule ten times beyond) is a fault.
- *by cylinder*: one value for all, a list with one for each, or a table by number
  `{ others = "52.0 cc", 3 = "52.4 cc" }`. *by valve*: likewise, and a list by valve may stand inside. *list*: several
  values. Numbers begin at 1, in paths too: `cylinders.chamber[3]`, `valves.intake.lash[2][1]`.
- Sections with *named pieces* hold them under your own names, `[intake.ducts.inlet_hose]`, in the order of the gas.
- A variant (`variants/hill.toml`) holds only what differs. In it, and in `--set path=value`, the word `"none"` takes
  an optional field or section away.
"""


def page() -> str:
    """The whole page."""
    parts = [_INTRO, _kinds(), _section("", SHEET, top=True)]
    parts += [_section(path, part) for path, part in _sections(SHEET, "")]
    return "\n".join(parts)


def _sections(section: Section, path: str) -> Iterator[tuple[str, Section]]:
    for name, part in section.parts.items():
        if isinstance(part, Section):
            here = f"{path}.{name}" if path else name
            yield here, part
            yield from _sections(part, f"{here}.<name>" if part.named else here)


def _section(path: str, section: Section, top: bool = False) -> str:
    fields = {name: part for name, part in section.parts.items() if isinstance(part, Field)}
    shown_path = f"{path}.<name>" if section.named else path
    title = "## At the top" if top else f"{'#' * min(4, 2 + path.count('.'))} [{shown_path}]"
    need = (
        ""
        if top
        else (
            " It must be there."
            if section.must
            else " It may be left out."
            if not section.always
            else " What is not given in it is assumed."
        )
    )
    named = f" Named pieces, for example `[{path}.{section.name_example}]`." if section.named else ""
    lines = [title, "", f"{section.meaning[:1].upper()}{section.meaning[1:]}.{need}{named}", ""]
    if fields:
        lines += ["| field | meaning | kind | need | plausible | example |", "|---|---|---|---|---|---|"]
        lines += [_row(name, spec) for name, spec in fields.items()]
        lines.append("")
        lines += [line for name, spec in fields.items() if spec.kind == "table" for line in _columns(name, spec)]
    return "\n".join(lines)


def _row(name: str, spec: Field) -> str:
    kind = spec.kind.replace("_", " ")
    if spec.kind == "choice":
        kind = " / ".join(f"`{word}`" for word in spec.choices)
    if spec.condition:
        kind += f" @ {spec.condition.replace('_', ' ')}"
    if spec.per:
        kind += ", list" if spec.per == "list" else f", by {spec.per}"
    need = f"assumed {spec.assumed}: {spec.reason}" if spec.need == "assumed" else spec.need
    if spec.safety:
        need += ", **safety**"
    bare = spec.kind in ("flag", "cylinders", "groups", "count") or spec.example.startswith("[")
    example = spec.example if bare else f'"{spec.example}"'
    cells = (f"`{name}`", spec.meaning, kind, need, spec.plausible.replace("..", " .. "), f"`{example}`")
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _columns(name: str, spec: Field) -> Iterator[str]:
    yield f"Columns of `{name}`:"
    yield ""
    for title, column in spec.columns.items():
        unit = units.KINDS[column.kind].usual
        head = title if unit == "1" else f"{title} [{unit}]"
        if column.condition:
            head = f"{title} [{units.KINDS[column.kind].us} @ 28 inH2O]"
        yield f"- `{head}`: {column.meaning}" + ("" if column.must else " (may be left out)")
    yield ""


def _kinds() -> str:
    lines = ["## Kinds and units", "", "| kind | units offered first (others of the kind are read too) |", "|---|---|"]
    lines += [
        f"| {k.name.replace('_', ' ')} | {', '.join(k.units)} |" for k in units.KINDS.values() if k.units != ("1",)
    ]
    lines += [f"| {name} | {about} |" for name, about in PLAIN.items()]
    return "\n".join([*lines, ""])
