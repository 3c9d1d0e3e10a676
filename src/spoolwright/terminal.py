"""What the terminal shows: sums, answers, findings as Rich tables. Views only; nothing is computed here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.console import Console, Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from spoolwright.findings.model import ORDER, Finding, by_urgency
from spoolwright.sheet import Sheet
from spoolwright.sheet.model import Assumed
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
    out = console()
    out.print(Text(answer.sum.title, style="bold"))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 2))
    for name, o in answer.sum.outputs.items():
        if name not in answer.results:
            continue
        table.add_row(name, Text(answer.shown(name), style="bold"), answer.also(name), Text(o.meaning, style="dim"))
    out.print(table)
    for question in answer.questions:
        out.print(Text(f"? {question}", style="yellow"))
    if answer.assumed:
        out.print("Taken where nothing was given: " + ", ".join(answer.assumed), markup=False)
    out.print("\nWorking")
    out.print(Padding(Text(answer.working), (0, 0, 0, 2)))
    _notes(out, answer.sum)


def print_check(sheet: Sheet, findings: Sequence[Finding], working: bool = False) -> None:
    """The build's name, its findings worst first, what was assumed, and the count."""
    out = console()
    variant = f", variant {sheet.variant}" if sheet.variant else ""
    set_to = f", with {'; '.join(sheet.sets)}" if sheet.sets else ""
    out.print(Text(f"{sheet.name}{variant}{set_to}", style="bold"))
    print_findings(findings, working)
    if sheet.assumed:
        _print_assumed(out, sheet.assumed)
    counts = {verdict: sum(1 for f in findings if f.verdict == verdict) for verdict in ORDER}
    line = ", ".join(f"{SHAPES[verdict]} {n} {verdict}" for verdict, n in counts.items())
    out.print(Text(f"\n{line}. Judged from the sheet alone, without a run.", style="bold"))
    if findings and not working:
        chosen = f" --variant {sheet.variant}" if sheet.variant else ""
        out.print(f"The numbers behind them: spoolwright check {sheet.folder}{chosen} --working", markup=False)


def _print_assumed(out: Console, assumed: Sequence[Assumed]) -> None:
    """Values taken because none was given; those alike in name, value and reason share a line."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in assumed:
        place, _, name = one.path.rpartition(".")
        alike.setdefault((name.replace("_", " "), one.text, one.reason), []).append(place)
    out.print(Text("\nAssumed, because the sheet does not say it", style="underline"))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(max_width=24)
    table.add_column(no_wrap=True)
    table.add_column()
    for (name, text, reason), places in alike.items():
        where = places[0] if len(places) == 1 else f"{places[0]} and {len(places) - 1} more"
        table.add_row(name, text, Text.assemble(where, (f": {reason}", "dim")))
    out.print(table)


def print_findings(findings: Sequence[Finding], working: bool = False) -> None:
    """Findings, worst first; a caution that several share stands once."""
    out = console()
    table = Table(box=None, padding=(0, 2, 0, 0))
    table.add_column("verdict", no_wrap=True)
    table.add_column("subject", max_width=30)
    table.add_column("finding")
    told: set[str] = set()
    ordered = by_urgency(list(findings))
    for one in ordered:
        brief = one.verdict == "sound" and not working
        said = [Text(one.sentence.split(". ")[0].rstrip(".") + "." if brief else one.sentence)]
        for word, text, style in (("Change first", one.change_first, ""), ("Caution", one.caution, "bold")):
            if text and text not in told:
                told.add(text)
                said.append(Text(f"{word}: {text}", style=style))
        verdict = Text(f"{SHAPES[one.verdict]} {one.verdict}", style=STYLES[one.verdict])
        table.add_row(verdict, one.subject, Group(*said))
    out.print(table)
    if working:
        _print_workings(out, ordered)


def _print_workings(out: Console, findings: Sequence[Finding]) -> None:
    shown: dict[str, str] = {}
    for one in findings:
        if not one.working and not one.resting_on:
            continue
        out.print(Text(f"\n{one.subject}", style="bold"))
        if one.limit_shown:
            out.print(f"  limit {one.limit_shown}: {one.resting_on}", markup=False)
        for part in one.working.split("\n\n") if one.working else []:
            if part in shown:
                out.print(f"  {part.splitlines()[0]}: as under {shown[part]}", markup=False)
            else:
                shown[part] = one.subject
                out.print(Padding(Text(part), (0, 0, 0, 2)))
