"""What the terminal shows: sums, answers, findings as Rich tables. Views only; nothing is computed here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console, Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spoolwright.findings.model import Finding, by_urgency
from spoolwright.sums.evaluate import Answer
from spoolwright.sums.registry import Input, Sum

# A verdict is told by a word and a shape; colour only repeats it.
SHAPES = {"stop": "■", "watch": "▲", "not measured": "○", "sound": "●"}
STYLES = {"stop": "bold red", "watch": "yellow", "not measured": "cyan", "sound": "green"}


def console() -> Console:
    """A console on standard output; as wide as the terminal, 110 columns when piped."""
    plain = Console(highlight=False)
    return plain if plain.is_terminal else Console(highlight=False, width=110)


def print_sums(sums: Mapping[str, Sum], topics: Mapping[str, str]) -> None:
    """All sums by topic."""
    out = console()
    for topic, about in topics.items():
        rows = [s for s in sums.values() if s.topic == topic]
        if not rows:
            continue
        table = Table(box=None, show_header=False, padding=(0, 2, 0, 2))
        table.add_column(style="bold", no_wrap=True)
        table.add_column()
        for one in rows:
            table.add_row(one.name, one.title)
        out.print(Text(f"{topic}: {about}", style="underline"))
        out.print(table)
    out.print("\nOne sum: spoolwright sum NAME --explain    From a build: spoolwright sum NAME --from DIR")


def _input_row(name: str, spec: Input) -> tuple[str, str, str, str]:
    if spec.kind == "choice":
        allowed = ", ".join(spec.choices)
    elif spec.kind == "curve":
        allowed = f"pairs {spec.curve[0].replace('_', ' ')}: {spec.curve[1].replace('_', ' ')}"
    else:
        allowed = f"{spec.low} to {spec.high}" if spec.low or spec.high else spec.kind.replace("_", " ")
    need = "must be given" if spec.default is None else ("may be left out" if spec.default == "" else spec.default)
    return f"--{name}", spec.meaning + (" (several values)" if spec.many else ""), allowed, need


def print_explanation(which: Sum) -> None:
    """Inputs, outputs, formula, source of one sum."""
    out = console()
    out.print(Text(which.title, style="bold"))
    table = Table(box=None, padding=(0, 2, 0, 0))
    for heading in ("input", "meaning", "plausible", "if not given"):
        table.add_column(heading, no_wrap=heading == "input")
    for name, spec in which.inputs.items():
        table.add_row(*_input_row(name, spec))
    out.print(table)
    results = Table(box=None, padding=(0, 2, 0, 0))
    for heading in ("gives", "meaning", "shown in"):
        results.add_column(heading)
    for name, o in which.outputs.items():
        results.add_row(name, o.meaning, ", ".join(u for u in (o.unit, *o.also) if u not in ("1", ":1")))
    out.print(results)
    out.print(Text("\n".join(which.formula), style="italic"))
    _notes(out, which)
    if which.example:
        out.print(f"Example: spoolwright sum {which.name} {which.example}", markup=False)


def _notes(out: Console, which: Sum) -> None:
    out.print(f"Source: {which.source}", markup=False)
    if which.validity:
        out.print(f"Valid: {which.validity}", markup=False)
    if which.slips:
        out.print("Usual slips: " + "; ".join(which.slips), markup=False)
    if which.caution:
        out.print(Text(f"Caution: {which.caution}", style="bold"))


def print_answer(answer: Answer) -> None:
    """Results, questions and the working of one sum."""
    from spoolwright import units

    out = console()
    out.print(Text(answer.sum.title, style="bold"))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 2))
    for name, o in answer.sum.outputs.items():
        if name not in answer.results:
            continue
        value = answer.results[name]
        also = ", ".join(units.show(value, o.kind, u) for u in o.also) if isinstance(value, float) else ""
        table.add_row(name, Text(answer.shown(name), style="bold"), also, Text(o.meaning, style="dim"))
    out.print(table)
    for question in answer.questions:
        out.print(Text(f"? {question}", style="yellow"))
    if answer.assumed:
        out.print("Taken where nothing was given: " + ", ".join(answer.assumed), markup=False)
    out.print("\nWorking")
    out.print(Padding(Text(answer.working), (0, 0, 0, 2)))
    _notes(out, answer.sum)


def print_findings(findings: Sequence[Finding], working: bool = False) -> None:
    """Findings, worst first."""
    out = console()
    table = Table(box=None, padding=(0, 2, 1 if working else 0, 0))
    table.add_column("verdict", no_wrap=True)
    table.add_column("subject")
    table.add_column("finding")
    for one in by_urgency(list(findings)):
        said = [Text(one.sentence)]
        if one.change_first:
            said.append(Text(f"Change first: {one.change_first}"))
        if one.caution:
            said.append(Text(f"Caution: {one.caution}", style="bold"))
        if working and one.working:
            said.append(Text(one.working, style="dim"))
        verdict = Text(f"{SHAPES[one.verdict]} {one.verdict}", style=STYLES[one.verdict])
        table.add_row(verdict, one.subject, Group(*said))
    out.print(table)
