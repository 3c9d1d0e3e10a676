"""What the terminal shows of a pull: progress while it runs, then table, findings, what it rests on. Views only."""

from __future__ import annotations

import signal
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import Event, current_thread, main_thread
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar
from rich.table import Table
from rich.text import Text

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.columns import COLUMNS, Column
from spoolwright.engine.pull import Point, Pull
from spoolwright.findings import changed
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.terminal import console, print_findings

# The columns a pull is read by; all of them with --all. Heads are kept short to fit 100 characters.
SHORT = {
    "speed_rpm": "speed",
    "torque_Nm": "torque",
    "power_kW": "power",
    "boost_kPa": "boost",
    "volumetric_efficiency": "filling",
    "air_flow_kg_s": "air",
    "lambda": "lambda",
    "spark_deg_btdc": "spark",
    "mfb50_deg": "half burned",
    "peak_pressure_MPa": "peak pressure",
    "knock_integral": "knock integral",
    "turbo_speed_rpm": "turbo speed",
    "primary_temperature_K": "exhaust gas",
    "cycles": "cycles",
}
SPEEDS_A_BLOCK = 8  # of the table of all columns


@contextmanager
def cancel_on_interrupt() -> Iterator[Event]:
    """An event that the first Ctrl-C sets; a second one interrupts at once."""
    asked = Event()

    def ask(number: int, frame: Any) -> None:
        if asked.is_set():
            raise KeyboardInterrupt
        asked.set()
        Console(stderr=True).print("Cancelling after the cycles under way; Ctrl-C again stops at once.")

    if current_thread() is not main_thread():
        yield asked
        return
    before = signal.signal(signal.SIGINT, ask)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, before)


class Progress:
    """A bar on standard error: ``ready`` before the run, ``done`` with each point."""

    def __init__(self, count: int, compiled: bool) -> None:
        self._out = Console(stderr=True, highlight=False)
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        self.bar = Bar(*columns, console=self._out, transient=True, disable=not self._out.is_terminal)
        self._task = self.bar.add_task("speeds", total=count)
        self._compiled = compiled

    def ready(self) -> None:
        """Say what the wait is for where the kernels are not compiled yet."""
        if not self._compiled:
            self._out.print("compiling the solver, first run only (about a quarter of a minute) ...")

    def done(self, point: Point) -> None:
        """Count one point."""
        self.bar.update(self._task, advance=1, description=f"{point.columns['speed_rpm']:.0f} rpm done")


def print_pull(
    pull: Pull,
    sheet: Sheet,
    findings: Sequence[Finding],
    *,
    every: bool,
    working: bool,
    cancelled: bool,
    written: Sequence[Path] = (),
) -> None:
    """Name, table, findings, troubles and what was assumed."""
    out = console()
    variant = f", variant {pull.variant}" if pull.variant else ""
    set_to = f", with {'; '.join(sheet.sets)}" if sheet.sets else ""
    out.print(Text(f"{pull.build}{variant}{set_to}", style="bold"))
    where = pull.model.site
    out.print(
        f"Observed in air of {where.p / 1e3:.1f} kPa, {where.T - ZERO_CELSIUS:.0f} °C, "
        f"{100 * where.humidity:.0f} % humidity; {pull.model.fuel.name}.",
        markup=False,
    )
    if cancelled:
        out.print(Text(f"Cancelled: {len(pull.points)} of {len(pull.asked)} speeds done.", style="bold"))
    if not pull.points:
        return
    if every:
        _print_all(out, pull)
    else:
        out.print(_short_table(pull.points))
        if not all(point.columns["converged"] for point in pull.points):
            out.print("  * did not settle: these numbers are no results", markup=False)
    out.print()
    print_findings(findings, working)
    _print_assumed(out, pull, sheet, working)
    for folder in dict.fromkeys(file.parent for file in written):
        names = ", ".join(file.name for file in written if file.parent == folder)
        out.print(f"\nWritten in {folder}: {names}", markup=False)


def print_against(this: Pull, sheet: Sheet, other: Pull, other_sheet: Sheet) -> None:
    """Two runs side by side: what differs between their sheets, then both and their difference at each speed."""
    out = console()
    names = [pull.variant or "sheet" for pull in (other, this)]
    out.print(Text(f"\nHeld against {names[0]}", style="bold"))
    values = changed.values(other_sheet, sheet)
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
    for head in ("changed", *names):
        table.add_column(head)
    for one in values:
        table.add_row(one.path, one.before or "-", one.after or "-")
    out.print(table if values else "Nothing differs that a result depends on.")
    out.print()
    out.print(_side_by_side(changed.side_by_side(other, this), names))


def _side_by_side(rows: list[tuple[float, dict[str, changed.Pair]]], names: list[str]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column("speed\n\nrpm", justify="right")
    for name in rows[0][1] if rows else ():
        unit = _unit(COLUMNS[name])
        for what in (*names, "change"):
            table.add_column(f"{SHORT[name]}\n{what}\n{unit}", justify="right", min_width=4)
    for speed, pairs in rows:
        cells = [shown(COLUMNS["speed_rpm"], speed)]
        for name, pair in pairs.items():
            column = COLUMNS[name]
            cells += [shown(column, pair.before), shown(column, pair.after)]
            cells.append("-" if pair.difference is None else f"{pair.difference:+.{column.digits}f}")
        table.add_row(*cells)
    return table


def shown(column: Column, value: Any) -> str:
    """A value of a column as the table writes it: temperatures in °C, "-" where there is none."""
    if value is None:
        return "-"
    if column.unit == "":
        return "yes" if value else "no"
    if column.unit == "K":
        value -= ZERO_CELSIUS
    return f"{value:.0e}" if column.digits > 5 else f"{value:.{column.digits}f}"


def _unit(column: Column) -> str:
    if column.name.endswith("_btdc"):
        return "deg BTDC"
    return {"1": "", "K": "°C"}.get(column.unit, column.unit)


def _short_table(points: Sequence[Point]) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    names = [name for name in SHORT if any(point.columns[name] is not None for point in points)]
    for name in names:
        words = SHORT[name].split()
        head = "\n".join(["", *words] if len(words) == 1 else words)
        table.add_column(f"{head}\n{_unit(COLUMNS[name])}", justify="right", min_width=4)
    for point in points:
        cells = [shown(COLUMNS[name], point.columns[name]) for name in names]
        if not point.columns["converged"]:
            cells[0] = f"* {cells[0]}"
        table.add_row(*cells, style=None if point.columns["converged"] else "dim")
    return table


def _print_all(out: Console, pull: Pull) -> None:
    """Every column of the registry that has a value, a line each; speeds side by side."""
    names = [n for n in COLUMNS if any(point.columns[n] is not None for point in pull.points)]
    for first in range(0, len(pull.points), SPEEDS_A_BLOCK):
        block = pull.points[first : first + SPEEDS_A_BLOCK]
        table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, show_header=False)
        table.add_column(max_width=28)
        table.add_column()
        for _ in block:
            table.add_column(justify="right", no_wrap=True)
        for name in names:
            column = COLUMNS[name]
            cells = [shown(column, point.columns[name]) for point in block]
            table.add_row(column.title, _unit(column), *cells, style="bold" if name == "speed_rpm" else None)
        out.print(table)
        out.print()


def _print_assumed(out: Console, pull: Pull, sheet: Sheet, full: bool) -> None:
    """What the run took beyond the sheet's own defaults, and how many those are; all with ``full``."""
    own = {(one.path, one.text, one.reason) for one in sheet.assumed}
    taken = [row for row in pull.assumed if full or row not in own]
    count = len(pull.assumed)
    if not count:
        return
    out.print(Text(f"\nAssumed: {count} values the sheet does not give", style="underline"))
    table = Table(box=None, show_header=False, padding=(0, 2, 0, 0))
    table.add_column(no_wrap=True)
    table.add_column(no_wrap=True)
    table.add_column(style="dim")
    for path, text, reason in taken:
        table.add_row(path, text, reason)
    out.print(table)
    if len(taken) < count:
        out.print(f"  and {count - len(taken)} usual ones; --working lists them all", markup=False)
