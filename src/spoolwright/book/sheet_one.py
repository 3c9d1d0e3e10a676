"""The first sheet of a book: the engine as built and as set, on one page, to be set up again from it."""

from __future__ import annotations

from spoolwright.book import record
from spoolwright.book.build import Build
from spoolwright.book.content import (
    Beside,
    Block,
    Cell,
    Chapter,
    Facts,
    Figure,
    Listing,
    Paragraph,
    Part,
    Signatures,
    Table,
)
from spoolwright.book.drawing import gas_path, numbers
from spoolwright.book.figures import figure
from spoolwright.book.limits import do_not, stop_list
from spoolwright.book.values import value
from spoolwright.charts.gas_path import stations
from spoolwright.errors import BadInput
from spoolwright.findings.blueprint import ratios
from spoolwright.sheet import Sheet
from spoolwright.units import significant

MOST_CYLINDERS = 6  # side by side on the first sheet
SHORT_SETTINGS = 15  # on a lower page
# What one sets with tools in hand: (name, path).
SETTINGS = (
    ("fuel", "fuel.grade"),
    ("mixture aimed at", "fuel.mixture"),
    ("spark", "spark.advance"),
    ("taken out for boost", "spark.boost_retard"),
    ("from", "spark.retard_from"),
    ("plug gap", "spark.plug.gap"),
    ("gate spring, rate", "wastegate.spring_rate"),
    ("gate spring, free", "wastegate.spring_free_length"),
    ("gate spring, fitted", "wastegate.spring_installed_length"),
    ("main jet", "carburettor.main_jet"),
    ("needle seat", "carburettor.needle_seat"),
    ("injector flow", "injection.rated_flow"),
    ("fuel pressure over reference", "fuel.supply.base_pressure"),
    ("lash, intake", "valves.intake.lash"),
    ("lash, exhaust", "valves.exhaust.lash"),
    ("head nuts, cold", "strength.studs.torque"),
    ("oil", "oil.grade"),
    ("oil, filling", "oil.capacity"),
    ("rod bolts, stretch", "strength.rod_bolts.stretch"),
    ("rod bolts, torque", "strength.rod_bolts.torque"),
    ("fan pulley", "cooling.fan.fan_pulley"),
    ("air bleed", "carburettor.air_bleed"),
)


def as_built(build: Build, short: bool = False) -> Chapter:
    """Gas path, measures by cylinder, settings, stop list, curve, what is open, room to sign.

    ``short`` leaves out what also stands on later sheets, so that it fits a lower page.
    """
    sheet = build.sheet
    opening: list[Block] = [Paragraph(sheet.text("note"))] if sheet.has("note") else []
    opening.append(Paragraph(_opening(sheet), kind="small"))
    drawn: list[Block] = [gas_path(sheet, build.findings), *_balloons(build)]
    opening.append(Part("Gas path", tuple(drawn), aside="diameters of pipes drawn to one scale, lengths not"))
    left = [_block_and_heads(build), _stops(build, short), _open(build)]
    right = [Part("Settings", (_settings(sheet, short),), aside="as they stand on the sheet"), *_curve(build, short)]
    return Chapter("As built and as set", (*opening, Beside(tuple(left), tuple(right)), _signed(build)))


def _opening(sheet: Sheet) -> str:
    invented = " Demo build: all data are invented." if sheet.flag("invented", False) else ""
    return (
        f"From this book alone the engine can be set up again. Figures are measured or chosen, unless marked "
        f"a (assumed) or c (computed).{invented}"
    )


def _balloons(build: Build) -> list[Block]:
    """The findings that hang over the drawing, by number."""
    told = sorted({n for one in stations(build.sheet) for n in numbers(one, build.findings)[:3]})
    if not told:
        return []
    named = (f"{n} {build.findings[n - 1].subject} ({build.findings[n - 1].verdict})" for n in told)
    return [Paragraph(build.say("; ".join(named)) + ".", lead="Balloons:", kind="small")]


def _settings(sheet: Sheet, short: bool) -> Facts:
    found = [(name, value(sheet, path)) for name, path in SETTINGS]
    rows = [(name, cell) for name, cell in found if cell is not None]
    return Facts(tuple(rows[:SHORT_SETTINGS] if short else rows))


def by_cylinder(build: Build, most: int = MOST_CYLINDERS) -> Table | None:
    """Measures with a value for each cylinder, and the ratio; None where the engine has one cylinder or too many."""
    sheet = build.sheet
    n = sheet.cylinder_count
    if n > most:
        return None
    rows = []
    for one in record.measures(sheet, build.logbook):
        if not one.alike or n == 1:
            unit = f", {build.say('1 ' + one.unit)[2:]}" if one.unit and one.unit not in ("1", ":1") else ""
            cells = [Cell(build.say(one.number(i))) for i in range(len(one.quantities))]
            rows.append((Cell(f"{one.name}{unit}"), *cells, Cell(build.say(one.spread))))
    ratio = ratio_row(build.typed)
    if ratio:
        rows.append((Cell("compression ratio"), *ratio))
    if not rows:
        return None
    head = ("", *(str(i) for i in range(1, n + 1)), "spread")
    return Table(head, tuple(rows), "l" + "r" * n + "r")


def ratio_row(sheet: Sheet) -> list[Cell]:
    """The computed ratio of each cylinder with its band; empty where it cannot be computed."""
    try:
        answer = ratios(sheet)
    except BadInput:
        return []
    cells = [Cell(f"{value:.2f}", "c") for value in answer.results["compression_ratio"]]
    bands = answer.bands.get("compression_ratio")
    widest = max((max(b) for b in bands), default=0.0) if isinstance(bands, list) else 0.0
    return [*cells, Cell(f"± {significant(widest, 1)}" if widest else "")]


def _block_and_heads(build: Build) -> Part:
    table = by_cylinder(build)
    blocks: tuple[Block, ...] = (table,) if table is not None else (Paragraph("See the sheet of measures."),)
    return Part("Short block and heads", blocks, aside="by cylinder")


def _stops(build: Build, short: bool) -> Part:
    stops = stop_list(build.sheet)
    rows = tuple((one.what, Cell(build.say(one.when), strong=not one.missing)) for one in stops)
    first = [build.say(text) for text in do_not(build.sheet)][:3]
    if short:
        return Part("Stop at once", (Facts(rows),), boxed=True, together=True)
    inner = Part("Do not", (Listing(tuple(first), "numbered"),))
    return Part("Stop at once", (Facts(rows), inner), boxed=True, together=True)


def _open(build: Build) -> Part:
    found = build.gaps
    told = []
    for kind in ("never measured", "no record", "never signed"):
        names = [one.what for one in found if one.kind == kind]
        if names:
            told.append(f"{kind.capitalize()}: {'; '.join(names[:4])}{'; ...' if len(names) > 4 else ''}.")
    assumed = len(build.sheet.assumed)
    told.append(f"{assumed} values are assumed." if assumed else "No value is assumed.")
    return Part("Open at hand-over", (Paragraph(" ".join(told)),), aside="all of it under Gaps")


def _curve(build: Build, short: bool) -> list[Block]:
    made: list[Figure] = [
        figure(one, 84.0, 38.0 if short else 46.0) for one in build.charts if one.name == "torque-power"
    ]
    if not made:
        return [Part("Torque and power", (Paragraph(f"Not computed: {build.run_note}"),))]
    return [
        Part("Torque and power", (made[0], Paragraph(build.say(made[0].sentence), kind="small")), aside="predicted")
    ]


def _signed(build: Build) -> Part:
    signed = record.signatures(build.logbook)
    places = tuple(
        (f"{name} by, date", f"{entry.author}, {entry.time[:10]}" if entry else "") for name, entry in signed.items()
    )
    return Part("Signed", (Signatures(places),), together=True)
