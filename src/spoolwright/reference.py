"""The reference pages, made from the registries: sums, sheet, commands, findings, columns.

Run as ``python -m spoolwright.reference docs/reference``; a test compares the pages with the program.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from spoolwright.sums.registry import TOPICS, Input, Sum, all_sums

_HEAD = "<!-- Made by `make docs` from the program itself; edit the registries, not this page. -->\n"


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _input_line(name: str, spec: Input) -> str:
    if spec.kind == "choice":
        plausible = ", ".join(spec.choices)
    elif spec.kind == "curve":
        plausible = f"pairs of {spec.curve[0].replace('_', ' ')} and {spec.curve[1].replace('_', ' ')}"
    else:
        plausible = f"{spec.low} to {spec.high}" if spec.low else "any"
    missing = "must be given" if spec.default is None else (spec.default or "may be left out")
    meaning = spec.meaning + (", several values" if spec.many else "")
    sheet = f"`{spec.sheet}`" if spec.sheet else ""
    return f"| `{name}` | {_cell(meaning)} | {spec.kind.replace('_', ' ')} | {_cell(plausible)} | {missing} | {sheet} |"


def _sum_section(one: Sum) -> str:
    lines = [f"### {one.name}", "", one.title + ".", ""]
    lines += ["| input | meaning | kind | plausible | if not given | from a build |", "|---|---|---|---|---|---|"]
    lines += [_input_line(name, spec) for name, spec in one.inputs.items()]
    lines += ["", "| gives | meaning | unit |", "|---|---|---|"]
    lines += [f"| `{name}` | {_cell(o.meaning)} | {o.unit} |" for name, o in one.outputs.items()]
    lines += ["", "```text", *one.formula, "```", "", f"Source: {one.source}"]
    if one.validity:
        lines += ["", f"Valid: {one.validity}"]
    if one.slips:
        lines += ["", "Usual slips: " + "; ".join(one.slips) + "."]
    if one.caution:
        lines += ["", f"**Caution:** {one.caution}"]
    if one.example:
        lines += ["", f"    spoolwright sum {one.name} {one.example}"]
    return "\n".join(lines) + "\n"


def sums_page() -> str:
    """Every sum by topic."""
    sums = all_sums()
    parts = [_HEAD, "# The sums\n", "Each is done by `spoolwright sum NAME`; `--from DIR` fills it from a build.\n"]
    for topic, about in TOPICS.items():
        mine = [s for s in sums.values() if s.topic == topic]
        if mine:
            parts.append(f"## {topic}\n\n{about}\n")
            parts += [_sum_section(s) for s in mine]
    return "\n".join(parts)


def commands_page() -> str:
    """Every command with its help."""
    import click
    from typer.main import get_command

    from spoolwright.cli import app

    command = get_command(app)
    parts = [_HEAD, "# The commands\n"]
    context = click.Context(command, info_name="spoolwright")  # type: ignore[arg-type]
    for name in command.list_commands(context):  # type: ignore[attr-defined]
        parts += _command(command.get_command(context, name), f"spoolwright {name}")  # type: ignore[attr-defined]
    parts.append("Exit status: 0 done, 1 a `stop` finding with `--strict`, 2 bad input, 3 did not converge.\n")
    return "\n".join(parts)


def _command(command, path: str) -> list[str]:  # type: ignore[no-untyped-def]
    lines = [f"## {path}\n", (command.help or "").strip() + "\n"]
    if hasattr(command, "commands"):
        for name, inner in command.commands.items():
            lines += _command(inner, f"{path} {name}")
        return lines
    lines += ["| option | meaning |", "|---|---|"]
    for option in command.params:
        names = (
            ", ".join(option.opts) if option.param_type_name == "option" else (option.metavar or option.name).upper()
        )
        lines.append(f"| `{names}` | {_cell(getattr(option, 'help', '') or '')} |")
    return [*lines, ""]


def sheet_page() -> str:
    """Every field of the build sheet."""
    from spoolwright.sheet import reference

    return _HEAD + "\n" + reference.page()


def findings_page() -> str:
    """Every judgement of ``check`` and ``pull``, with what it is held against."""
    from spoolwright.findings import pull
    from spoolwright.findings.check import JUDGES

    parts = [
        _HEAD,
        "# The findings\n",
        "What `spoolwright check` judges from the sheet alone. Each finding carries the working of the sums behind it "
        "(`--working`).\n",
        "- `stop`: past a limit you set yourself (`[limits]`, bands beside a measurement), or past what nature allows.",
        "- `watch`: past a habit of the trade, close to a limit, or past it within what the measuring may be off.",
        "- `not measured`: a value is missing that the judgement needs.",
        "- `sound`: none of these.\n",
        'A habit of the trade ("common practice, no source") never gives a `stop`.\n',
        "| subject | what is judged, against what |",
        "|---|---|",
    ]
    parts += _judged(JUDGES)
    parts += [
        "\n## After a pull\n",
        "What `spoolwright pull` judges from a run, besides. "
        "Points that did not settle are told and left out of the rest.\n",
        "| subject | what is judged, against what |",
        "|---|---|",
        *_judged(pull.JUDGES),
    ]
    return "\n".join(parts) + "\n"


def _judged(judges: Mapping[str, Callable[..., object]]) -> list[str]:
    return [
        f"| {subject} | {_cell((one.__doc__ or '').split(chr(10))[0].strip())} |" for subject, one in judges.items()
    ]


def columns_page() -> str:
    """Every column of a pull."""
    from spoolwright.engine.columns import COLUMNS

    parts = [
        _HEAD,
        "# The columns of a pull\n",
        "The same names in the table, CSV, Parquet and JSON. Boost columns stay empty (null) without a turbocharger; "
        "a column is empty too where it has no meaning at that point.\n",
        "| column | unit | meaning |",
        "|---|---|---|",
    ]
    for column in COLUMNS.values():
        unit = "" if column.unit == "1" else (column.unit or "yes or no")
        boost = " (boost)" if column.part == "boost" else ""
        parts.append(f"| `{column.name}` | {unit} | {_cell(column.meaning)}{boost} |")
    return "\n".join(parts) + "\n"


PAGES: Mapping[str, Callable[[], str]] = {
    "sums.md": sums_page,
    "commands.md": commands_page,
    "sheet.md": sheet_page,
    "findings.md": findings_page,
    "columns.md": columns_page,
}


def write(folder: Path) -> None:
    """Write all pages below ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in PAGES.items():
        (folder / name).write_text(make(), encoding="utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
