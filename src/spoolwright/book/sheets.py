"""The sheets of a book after the first: gaps, measures, settings, curves, limits, findings, log, service, cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from spoolwright.book import handover, record
from spoolwright.book.build import Build
from spoolwright.book.content import (
    Beside,
    Block,
    Cell,
    Chapter,
    Facts,
    Listing,
    Mark,
    Paragraph,
    Part,
    Table,
    Working,
)
from spoolwright.book.figures import figure
from spoolwright.book.in_units import printed
from spoolwright.book.limits import do_not, stop_list
from spoolwright.book.sheet_one import by_cylinder
from spoolwright.book.values import sections
from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.columns import COLUMNS
from spoolwright.findings.model import ORDER, Finding
from spoolwright.sheet.logbook import Entry
from spoolwright.sums.evaluate import Answer

MOST_COLUMNS = 8  # cylinders side by side on the sheet of measures


def gaps(build: Build) -> Chapter:
    """What the record lacks, and everything that was assumed."""
    found = build.gaps
    rows = tuple((Cell(one.kind), Cell(build.say(one.what), strong=True), Cell(build.say(one.fill))) for one in found)
    blocks: list[Block] = []
    if rows:
        blocks.append(Table(("gap", "what", "what fills it"), rows, "lll", (0, 2, 3)))
    else:
        blocks.append(Paragraph("Nothing is missing that this book asks for."))
    faults = [f"{fault}" for fault in build.logbook.faults]
    if faults:
        blocks.append(Part("Lines of the logbook that could not be read", (Listing(tuple(faults)),)))
    blocks.append(Part("Assumed", _assumed(build), aside="the sheet does not say it; the program took it"))
    return Chapter("Gaps and assumptions", tuple(blocks), "the receiver knows these")


def _assumed(build: Build) -> tuple[Block, ...]:
    alike: dict[tuple[str, str, str], list[str]] = {}
    texts = {path: entry.quantities[0].text for path, entry in build.sheet.entries.items() if entry.quantities}
    for one in build.sheet.assumed:
        place, _, name = one.path.rpartition(".")
        text = texts.get(one.path, one.text)
        alike.setdefault((name.replace("_", " "), text, one.reason), []).append(
            place.replace("_", " ").replace(".", ", ")
        )
    if not alike:
        return (Paragraph("Nothing: every value was given."),)
    rows = tuple(
        (
            Cell(name),
            Cell(build.say(text), "a"),
            Cell(places[0] if len(places) == 1 else f"{places[0]} and {len(places) - 1} more"),
            Cell(build.say(reason)),
        )
        for (name, text, reason), places in alike.items()
    )
    return (Table(("value", "taken as", "where", "why it may be"), rows, "llll", (2, 0, 3, 4)),)


# ----------------------------------------------------------------------------- measures
def measures(build: Build) -> Chapter:
    """Every measure with its spread, tool and day; clearances with their bands."""
    sheet, book = build.sheet, build.logbook
    blocks: list[Block] = []
    table = by_cylinder(build, MOST_COLUMNS)
    if table is not None:
        blocks.append(Part("By cylinder", (table,), aside="c computed from the others"))
    each = record.measures(sheet, book)
    alone = [one for one in each if (one.alike and sheet.cylinder_count > 1) or table is None]
    if alone:
        rows = tuple((one.name, Cell(build.say(", ".join(q.text for q in one.quantities)))) for one in alone)
        blocks.append(Part("One value for all cylinders", (Facts(rows),), aside="measured once, or chosen"))
    tight = record.clearances(sheet, book)
    if tight:
        head = ("clearance", "measured", "allowed", "verdict")
        cells = tuple(_clearance(build, one) for one in tight)
        blocks.append(Part("Clearances and end play", (Table(head, cells, "lllr", (2, 3, 2, 0)),)))
    blocks.append(Part("With what, when, by whom", (_tools(build, [*each, *tight]),), aside="from the logbook"))
    return Chapter("As-built measures", tuple(blocks), new_sheet=False)


def _clearance(build: Build, one: record.Measure) -> tuple[Cell, ...]:
    assert one.low is not None
    assert one.high is not None
    values = [q.value for q in one.quantities]
    inside = one.low.value <= min(values) and max(values) <= one.high.value
    told = f"{', '.join(one.number(i) for i in range(len(one.quantities)))} {one.unit}".strip()
    return (
        Cell(one.name),
        Cell(build.say(told)),
        Cell(build.say(f"{one.low.text} to {one.high.text}")),
        Cell("sound" if inside else "stop", verdict="sound" if inside else "stop"),
    )


def _tools(build: Build, each: Sequence[record.Measure]) -> Table:
    rows = tuple(
        (Cell(one.name), Cell(one.tool or "not written down"), Cell(one.day or "no day"), Cell(one.author or "nobody"))
        for one in each
    )
    return Table(("measure", "tool", "day", "by"), rows, "llll", (2, 3, 0, 0))


# ----------------------------------------------------------------------------- settings, curves
def settings(build: Build) -> Chapter:
    """The whole sheet, and what was changed on the way to it."""
    blocks: list[Block] = []
    changes = record.entries(build.logbook, "change")
    if changes:
        rows = tuple(_change(build, one) for one in changes)
        table = Table(("day", "what", "from", "to", "why", "by"), rows, "llllll", (0, 2, 0, 0, 3, 0))
        blocks.append(Part("Choices and changes", (table,), aside="from the logbook, as written"))
    if build.sheet.has("use"):
        use = build.sheet.text("use").replace("_", " ")
        blocks.append(Paragraph(f"Built for {use}.", lead="Use."))
    blocks += sections(build.sheet)
    return Chapter("Settings and choices", tuple(blocks), "the whole sheet; a assumed", new_sheet=False)


def _change(build: Build, one: Entry) -> tuple[Cell, ...]:
    def said(name: str) -> str:
        return str(one.details.get(name, "")).strip()

    what = record.spoken(said("what")) if "." in said("what") else said("what")
    return (
        Cell(one.time[:10]),
        Cell(what or one.text),
        Cell(build.say(said("from"))),
        Cell(build.say(said("to"))),
        Cell(said("why") or (one.text if what else "")),
        Cell(one.author),
    )


# Columns of the table under the curves: (column, heading, unit, places).
POINTS = (
    ("speed_rpm", "speed"),
    ("torque_Nm", "torque"),
    ("power_kW", "power"),
    ("boost_kPa", "boost"),
    ("volumetric_efficiency", "filling"),
    ("air_flow_kg_s", "air"),
    ("lambda", "lambda"),
    ("spark_deg_btdc", "spark"),
    ("peak_pressure_MPa", "peak pressure"),
    ("knock_integral", "knock integral"),
    ("primary_temperature_K", "exhaust gas"),
    ("turbo_speed_rpm", "turbo"),
)
_UNITS = {"K": "degC", "1": "", "deg": "deg"}


def curves(build: Build, short: bool = False) -> Chapter:
    """Predicted curves with measured ones over them, and the points as a table; ``short`` for a lower page."""
    blocks: list[Block] = []
    if build.run_note:
        blocks.append(Paragraph(build.say(build.run_note)))
    if not build.pulls:
        blocks.append(Paragraph("No pull is kept with this build: nothing here was measured.", kind="small"))
    drawn = [figure(one, 84.0, 38.0 if short else 42.5) for one in build.charts]
    if drawn:
        cells = [Part(f.title, (f, Paragraph(build.say(f.sentence), kind="small")), together=True) for f in drawn]
        blocks += [Beside((cells[at],), tuple(cells[at + 1 : at + 2])) for at in range(0, len(cells), 2)]
    if build.run is not None:
        blocks.append(Part("Points", (_points(build),), aside="predicted, observed in the air of the site"))
    if build.pulls:
        rows = tuple((Cell(name), Cell(build.say(told))) for name, told in build.pulls)
        blocks.append(Part("Measured pulls", (Table(("file", "what it shows"), rows, "ll", (0, 1)),)))
    return Chapter("Curves", tuple(blocks), "line predicted, points measured")


def _points(build: Build) -> Table:
    assert build.run is not None
    points = build.run.points
    names = [(name, told) for name, told in POINTS if any(p.get(name) is not None for p in points)]
    heads = tuple(_column_head(build, name, told) for name, told in names)
    rows = tuple(tuple(_column_cell(build, name, point) for name, _ in names) for point in points)
    return Table(heads, rows, "r" * len(names), (1,) * len(names))


def _column_unit(name: str) -> str:
    unit = COLUMNS[name].unit
    return _UNITS.get(unit, unit)


def _column_head(build: Build, name: str, told: str) -> str:
    _, _, unit = build.say(f"1 {_column_unit(name)}").replace("\u00a0", " ").replace("1°", "1 °").partition(" ")
    unit = "deg" if unit == "°" else unit
    return f"{told}, {unit}" if unit else told


def _column_cell(build: Build, name: str, point: dict[str, Any]) -> Cell:
    value = point.get(name)
    if value is None or not point["converged"]:
        if name == "speed_rpm" and value is not None:
            return Cell(f"{value:.0f}")
        return Cell("not settled" if name == "torque_Nm" and not point["converged"] else "–")
    column = COLUMNS[name]
    number = value - ZERO_CELSIUS if column.unit == "K" else value
    text = build.say(f"{number:.{column.digits}f} {_column_unit(name)}".strip())
    return Cell(text.replace("\u00a0", " ").split(" ")[0].rstrip("°"))


# ----------------------------------------------------------------------------- limits, findings
BAD = ("stop", "watch")


def limits(build: Build) -> Chapter:
    """Stop list, the builder's limits, and what must not be done."""
    sheet = build.sheet
    stops = tuple((one.what, Cell(build.say(one.when), strong=not one.missing)) for one in stop_list(sheet))
    own = tuple(
        (path.partition(".")[2].replace("_", " "), Cell(build.say(entry.quantities[0].text)))
        for path, entry in sheet.entries.items()
        if path.startswith("limits.") and entry.quantities
    )
    never = tuple(build.say(text) for text in do_not(sheet))
    cautions = tuple(dict.fromkeys(build.say(f.caution) for f in build.findings if f.caution and f.verdict in BAD))
    mind = (Part("Mind", (Listing(cautions),), aside="cautions of what is not sound"),) if cautions else ()
    left: tuple[Block, ...] = (Part("Stop at once", (Facts(stops),), boxed=True, together=True),)
    right: tuple[Block, ...] = (Part("The builder's limits", (Facts(own),), aside="as given"),)
    return Chapter(
        "Limits",
        (Beside(left, right), Part("Do not", (Listing(never, "numbered"),), boxed=True), *mind),
        "print this sheet and hang it where the engine runs",
    )


def findings(build: Build) -> Chapter:
    """Every judgement, worst first."""
    counts = [f"{sum(f.verdict == v for f in build.findings)} {v}" for v in ORDER]
    rows = tuple(_finding(build, one, n) for n, one in enumerate(build.findings, 1))
    table = Table(("", "verdict", "subject", "finding"), rows, "rlll", (0, 0, 2, 5))
    return Chapter("Findings", (Paragraph(f"{', '.join(counts)}."), table), "the numbers open under Workings")


def _finding(build: Build, one: Finding, number: int) -> tuple[Cell, ...]:
    told = [one.sentence if one.sentence.endswith(".") else f"{one.sentence}."]
    if one.change_first and one.verdict != "sound":
        told.append(f"Change first: {one.change_first}")
    return (
        Cell(str(number)),
        Cell(one.verdict, verdict=one.verdict),
        Cell(one.subject, strong=one.verdict in ("stop", "watch")),
        Cell(build.say(" ".join(told))),
    )


def workings(build: Build) -> Chapter:
    """The working of each finding once; one that serves several names the first."""
    seen: dict[str, int] = {}
    blocks: list[Working] = []
    for number, one in enumerate(build.findings, 1):
        for part in one.working.split("\n\n") if one.working else []:
            lines = part.splitlines()
            if part in seen:
                blocks.append(Working(f"{number}  {lines[0]}", (f"as under {seen[part]}",)))
                continue
            seen[part] = number
            blocks.append(Working(f"{number}  {lines[0]}", tuple(build.say(line) for line in lines[1:])))
    told: tuple[Block, ...] = tuple(_side_by_side(blocks)) or (Paragraph("No finding has a working."),)
    return Chapter("Workings", told, "numbers are those of the findings", new_sheet=False)


_LINE, _STRETCH = 70, 100  # letters in a line of a working, lines in one stretch of two columns


def _side_by_side(blocks: Sequence[Working]) -> Iterator[Beside]:
    """Workings in stretches of two columns of about one height, read down the left and then the right."""
    stretch: list[tuple[float, Working]] = []
    for one in blocks:
        lines = 1.8 + sum(1 + len(line) // _LINE for line in one.lines)
        if stretch and sum(n for n, _ in stretch) + lines > _STRETCH:
            yield _halves(stretch)
            stretch = []
        stretch.append((lines, one))
    if stretch:
        yield _halves(stretch)


def _halves(stretch: Sequence[tuple[float, Working]]) -> Beside:
    def apart(at: int) -> float:
        return abs(sum(n for n, _ in stretch[:at]) - sum(n for n, _ in stretch[at:]))

    at = min(range(1, len(stretch) + 1), key=apart)
    return Beside(tuple(one for _, one in stretch[:at]), tuple(one for _, one in stretch[at:]))


# ----------------------------------------------------------------------------- log, service
def log(build: Build) -> Chapter:
    """Run-in, pulls, measurements, notes, sign-offs, as they were written."""
    blocks: list[Block] = []
    for title, kinds, none in (
        ("Run-in", ("run-in step",), "No run-in step is written down."),
        ("Pulls", ("pull",), "No pull is written down."),
        ("Signed", ("sign-off",), "Nothing is signed."),
        ("Measurements and notes", ("measurement", "note"), "Nothing is written down."),
    ):
        entries = record.entries(build.logbook, *kinds)
        if entries:
            rows = tuple((Cell(e.time[:10]), Cell(_words(e)), Cell(e.author)) for e in entries)
            blocks.append(Part(title, (Table(("day", "entry", "by"), rows, "lll", (0, 1, 0)),)))
        else:
            blocks.append(Part(title, (Paragraph(none),)))
    aside = "from the logbook, as written, in the units written"
    return Chapter("Run-in and log", tuple(blocks), aside, new_sheet=False)


def _words(entry: Entry) -> str:
    left_out = ("path", "sha256", "rows")
    # Written down in the builder's own units; only set as units are set.
    more = [f"{name.replace('_', ' ')} {value}" for name, value in entry.details.items() if name not in left_out]
    return printed(f"{entry.text} ({'; '.join(more)})" if more else entry.text)


def service(build: Build) -> Chapter:
    """First service and spares."""
    sheet = build.sheet
    tasks = tuple(
        (Cell(one.after), Cell(build.say(one.work), "a" if one.usual else ""), Cell(""))
        for one in handover.service(sheet)
    )
    first = Part(
        "First service",
        (
            Table(("after", "work", "done, day"), tasks, "lll", (2, 5, 2)),
            *_usual(any(t.usual for t in handover.service(sheet))),
        ),
    )
    items = handover.spares(sheet)
    rows = tuple(
        (Cell(str(one.count)), Cell(build.say(one.what), _usual_mark(one.usual)), Cell(build.say(one.why)))
        for one in items
    )
    spares = Part(
        "Spares", (Table(("no.", "part", "why"), rows, "rll", (0, 1, 1)), *_usual(any(i.usual for i in items)))
    )
    return Chapter("Service and spares", (first, spares), new_sheet=False)


def _usual_mark(usual: bool) -> Mark:
    return "a" if usual else ""


def _usual(any_usual: bool) -> tuple[Block, ...]:
    if not any_usual:
        return ()
    words = f"Marked a: not on the sheet, taken from what is fitted ({handover.PRACTICE})."
    return (Paragraph(words, kind="small"),)


# ----------------------------------------------------------------------------- packing, cost
def packing(build: Build) -> Chapter:
    """Packing list to tick, crate, and the cost at the door."""
    sheet = build.sheet
    items = tuple(build.say(f"{one.count}  {one.what}") for one in handover.packing(sheet))
    receiver = sheet.maybe_text("handover.receiver")
    packed: tuple[Block, ...] = (
        Part("Packing list", (Listing(items, "ticked"),), aside="tick as it goes in", together=True),
    )
    right = [*_crate(build), Paragraph(handover.LIFT, kind="caution")]
    blocks: list[Block] = [Paragraph(f"{receiver}.", lead="For")] if receiver else []
    blocks.append(Beside(packed, tuple(right)))
    blocks.append(_cost(build))
    return Chapter("Packing and cost", tuple(blocks), new_sheet=False)


_CRATE = ("outside_length", "outside_width", "outside_height", "volume", "gross_weight")


def _crate(build: Build) -> list[Block]:
    answer, trouble = handover.tried(build.typed, "crate")
    if answer is None:
        told = trouble or "Size and weight of the engine are not given (handover.length, width, height, mass)."
        return [Part("Crate", (Paragraph(build.say(told)),))]
    rows = [(name.replace("_", " "), Cell(build.say(answer.shown(name)), "c")) for name in _CRATE]
    weight, _ = handover.tried(build.typed, "freight_weight")
    if weight is not None:
        rows.append(("chargeable weight", Cell(build.say(weight.shown("chargeable_weight")), "c")))
    blocks: list[Block] = [Facts(tuple(rows))]
    if answer.assumed:
        blocks.append(Paragraph(build.say(f"Taken: {_taken(answer)}."), kind="small"))
    return [Part("Crate", tuple(blocks), aside="computed")]


def _taken(answer: Answer) -> str:
    return ", ".join(one.replace("_", " ") for one in answer.assumed)


_COST = (
    ("goods", "goods_paid"),
    ("freight", "freight_paid"),
    ("insurance", "insurance_amount"),
    ("customs value", "customs_value"),
    ("duty", "duty"),
    ("base of the tax", "tax_base_amount"),
    ("tax", "tax"),
    ("fees", "fees_total"),
)


def _cost(build: Build) -> Part:
    answer, trouble = handover.tried(build.typed, "cost")
    if answer is None:
        return Part("Landed cost", (Paragraph(trouble or "No price is given (handover.goods)."),))
    rows = [(name, Cell(answer.shown(key), "c")) for name, key in _COST]
    rows.append(("at the door", Cell(answer.shown("landed_cost"), "c", strong=True)))
    told = [f"{q[:1].upper()}{q[1:]}" for q in answer.questions]
    blocks: list[Block] = [Facts(tuple(rows))]
    if answer.assumed:
        blocks.append(Paragraph(f"Taken: {_taken(answer)}.", kind="small"))
    blocks += [Paragraph(one, lead="To settle:", kind="small") for one in told]
    return Part("Landed cost", tuple(blocks), aside="rates and bases are the builder's to look up", together=True)


# ----------------------------------------------------------------------------- sources
def sources(build: Build) -> Chapter:
    """Cautions, where formulas and limits come from, and what this book was made from."""
    cautions = tuple(dict.fromkeys(build.say(f.caution) for f in build.findings if f.caution))
    told: dict[str, None] = {}
    for one in build.findings:
        for line in one.working.splitlines():
            if line.startswith("Source: "):
                told[line.removeprefix("Source: ")] = None
    made = [
        ("inputs' hash", build.sheet.digest),
        *((f"sha-256 of {name}", value) for name, value in build.files.items()),
    ]
    rows = tuple((Cell(name), Cell(value)) for name, value in made)
    blocks: list[Block] = []
    if cautions:
        blocks.append(Part("Cautions", (Listing(cautions),), boxed=True))
    named = [build.say(source) for source in told]
    half = (len(named) + 1) // 2
    blocks.append(Part("Sources", (Beside((Listing(tuple(named[:half])),), (Listing(tuple(named[half:])),)),)))
    blocks.append(
        Part("Made from", (Table(("what", "value"), rows, "ll", (1, 2.4)),), aside="the same inputs give the same book")
    )
    return Chapter("Cautions and sources", tuple(blocks), new_sheet=False)
