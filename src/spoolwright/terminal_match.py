"""What the terminal shows of a match: the answer, the ranking, springs, gate, carburettor. Views only."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite, pi
from typing import Any

import numpy as np
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeElapsedColumn
from rich.progress import Progress as Bar
from rich.table import Table
from rich.text import Text

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.match.job import Match
from spoolwright.match.rank import Ranked
from spoolwright.match.report import demand_rows
from spoolwright.terminal import SHAPES, STYLES, console
from spoolwright.terminal_finalists import print_finalists

PSI = 6894.757293168361  # Pa
CFM = 4.719474432e-4  # m3/s
SPEEDS_OF_SPRINGS = 4


class Progress:
    """A bar on standard error over the engine's runs."""

    def __init__(self, compiled: bool) -> None:
        self._out = Console(stderr=True, highlight=False)
        columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
        self.bar = Bar(*columns, console=self._out, transient=True, disable=not self._out.is_terminal)
        self._task = self.bar.add_task("engine runs", total=None)
        self._compiled = compiled

    def ready(self) -> None:
        """Say what the wait is for where the kernels are not compiled yet."""
        if not self._compiled:
            self._out.print("compiling the solver, first run only (a minute or so) ...")

    def run(self, done: int, count: int) -> None:
        """Count one engine run."""
        self.bar.update(self._task, completed=done, total=count)


def print_match(match: Match, top: int) -> None:
    """The answer first, then what it rests on."""
    out = console()
    variant = f", variant {match.sheet.variant}" if match.sheet.variant else ""
    out.print(Text(f"{match.sheet.name}{variant}: which turbocharger?", style="bold"))
    _answer(out, match)
    _ranking(out, match, top)
    _demand(out, match)
    _springs(out, match)
    _gate(out, match)
    _carburettor(out, match)
    print_finalists(out, match)
    _rests_on(out, match)


def _boost(pascal: float) -> str:
    return f"{pascal / 1e3:.0f} kPa ({pascal / PSI:.1f} psi)"


def _answer(out: Console, match: Match) -> None:
    best, wish = match.best, match.wish
    if best.threshold is None:
        told = f"No candidate holds {_boost(wish.boost)}; nearest is {best.candidate.name}: {best.tightest.sentence}."
        out.print(Text(told, style="bold red"))
        return
    values = {m.name: m for m in best.margins}
    names = {"build": "The build's own turbo", "file": best.candidate.name, "scaled": "A turbo scaled to"}
    name = names[best.candidate.origin] + (f" {best.candidate.name}" if best.candidate.origin == "scaled" else "")
    out.print(
        f"{name} holds {_boost(wish.boost)} from {best.threshold:.0f} rpm, stays {100 * values['surge'].value:.0f} % "
        f"from surge and {100 * values['choke'].value:.0f} % from choke, with a drive pressure of {best.drive:.2f} "
        f"times the boost. Tightest: {best.tightest.sentence}.",
        markup=False,
    )


def _ranking(out: Console, match: Match, top: int) -> None:
    shown = list(match.ranked[:top])
    shown += [r for r in match.ranked if r.candidate.origin != "scaled" and r not in shown]
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column("\n\nplace", justify="right")
    table.add_column("\n\ncandidate", no_wrap=True)
    for head in ("surge\nleft\n%", "choke\nleft\n%", "mean\nefficiency\n%", "holds\nfrom\nrpm", "drive\nover\nboost"):
        table.add_column(head, justify="right")
    table.add_column("shaft\nspeed\nrpm", justify="right")
    table.add_column("\n\ntightest limit")
    for ranked in shown:
        table.add_row(*_row(match, ranked))
    out.print(Text(f"\nCandidates, best first: {len(match.ranked)} tried", style="underline"))
    out.print(table)


def _row(match: Match, ranked: Ranked) -> list[Any]:
    values = {m.name: m.value for m in ranked.margins}

    def share(name: str) -> str:
        value = values.get(name, float("nan"))
        return f"{100 * value:.0f}" if isfinite(value) else "-"

    omega = ranked.line[:, 10]
    speed = float(np.nanmax(omega)) * 30.0 / pi if np.isfinite(omega).any() else float("nan")
    mark = Text(f"{SHAPES[ranked.verdict]} {ranked.verdict}: ", style=STYLES[ranked.verdict])
    mark.append(ranked.tightest.sentence, style="default")
    return [
        str(match.ranked.index(ranked) + 1),
        ranked.candidate.name,
        share("surge"),
        share("choke"),
        f"{100 * ranked.efficiency:.0f}" if ranked.efficiency else "-",
        "-" if ranked.threshold is None else f"{ranked.threshold:.0f}",
        f"{ranked.drive:.2f}" if isfinite(ranked.drive) else "-",
        f"{speed:.0f}" if isfinite(speed) else "-",
        mark,
    ]


def _demand(out: Console, match: Match) -> None:
    rows = demand_rows(match)
    rows = [rows[k] for k in np.unique(np.linspace(0, len(rows) - 1, 9).astype(int))]
    reference = match.turbo.reference
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    for head in (
        "speed\nrpm",
        "boost\nkPa",
        "air\nkg/s",
        "corrected\nkg/s",
        "pressure\nratio",
        "torque\nN m",
        "power\nkW",
    ):
        table.add_column(head, justify="right")
    for row in rows:
        table.add_row(
            f"{row['speed_rpm']:.0f}",
            f"{row['boost_kPa']:.0f}",
            f"{row['air_flow_kg_s']:.4f}",
            f"{row['corrected_flow_kg_s']:.4f}",
            f"{row['pressure_ratio']:.2f}",
            f"{row['torque_Nm']:.0f}",
            f"{row['power_kW']:.1f}",
        )
    at = f"corrected to {reference.T:.0f} K, {reference.p / 1e3:.1f} kPa"
    out.print(Text(f"\nWhat the engine asks, with the first of them ({at})", style="underline"))
    out.print(table)


def _springs(out: Console, match: Match) -> None:
    out.print(Text("\nWhich gate spring?", style="underline"))
    if match.spring_trouble:
        out.print(f"{match.spring_trouble[:1].upper()}{match.spring_trouble[1:]}.", markup=False)
    if not match.springs:
        return
    speeds = _few(match.springs[0].rpm[match.springs[0].rpm >= (match.best.threshold or 0.0)])
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column("seat force\nN", justify="right")
    table.add_column("its label\nkPa", justify="right")
    for n in speeds:
        table.add_column(f"boost at\n{n:.0f} rpm", justify="right")
    table.add_column("\nnote")
    for line in match.springs:
        note = "holds what is wanted in mid range" if line.wanted else ""
        if match.turbo.gate is not None and abs(line.preload - float(match.turbo.gate[2])) < 1e-9:
            note = "; ".join(filter(None, ["the build's", note]))
        if line.at_stop is not None:
            note = "; ".join(filter(None, [note, f"gate at its stop from {line.at_stop:.0f} rpm: boost creeps"]))
        cells = [f"{float(np.interp(n, line.rpm, line.boost)) / 1e3:.0f}" for n in speeds]
        style = "bold" if line.wanted else None
        table.add_row(f"{line.preload:.0f}", f"{line.label / 1e3:.0f}", *cells, note, style=style)
    out.print(table)
    out.print(
        "  The label leaves out the exhaust on the valve and the spring's rate; the table counts both.", markup=False
    )


def _few(rpm: Sequence[float] | Any) -> list[float]:
    index = np.unique(np.linspace(0, len(rpm) - 1, SPEEDS_OF_SPRINGS).astype(int))
    return [float(rpm[k]) for k in index]


def _gate(out: Console, match: Match) -> None:
    need = match.gate
    if need is None:
        return
    k = int(np.argmin(need.possible - need.needed))
    told = (
        f"Gate: {100 * need.needed[k]:.0f} % of the gas must pass the turbine at {need.rpm[k]:.0f} rpm, the open gate "
        f"could pass {100 * need.possible[k]:.0f} %. "
    )
    if not isfinite(need.port):
        told += "No port is large enough behind the gate's branch pipe; widen the pipe."
    elif need.port > need.fitted:
        told += (
            f"A port of {1e3 * need.port:.0f} mm would keep a quarter in hand; {1e3 * need.fitted:.0f} mm is fitted."
        )
    else:
        told += (
            f"{1e3 * need.port:.0f} mm of port would do with a quarter in hand; {1e3 * need.fitted:.0f} mm is fitted."
        )
    out.print(told, markup=False)


def _carburettor(out: Console, match: Match) -> None:
    need = match.carburettor
    if need is None:
        return
    mark = Text(f"\n{SHAPES[need.verdict]} {need.verdict}: ", style=STYLES[need.verdict])
    mark.append(
        f"each carburettor passes {need.volume_flow / CFM:.0f} cfm of its own air ({need.density:.2f} kg/m3) at "
        f"{need.rpm:.0f} rpm, {100 * need.share_of_rating:.0f} % of its rating, and costs {need.drop / 1e3:.1f} kPa; a "
        f"rating of {need.rating_needed / CFM:.0f} cfm would give just the rated drop.",
        style="default",
    )
    out.print(mark)


def _rests_on(out: Console, match: Match) -> None:
    where, wish = match.demand.model.site, match.wish
    out.print(
        f"\nWanted: {_boost(wish.boost)} above outside air ({match.boost_from}), held by {wish.by_rpm[0]:.0f} rpm. "
        f"Air: {where.p / 1e3:.1f} kPa, {where.T - ZERO_CELSIUS:.0f} °C. {match.demand.runs} engine runs; machines by "
        f"algebra of cycle means, set right by {match.demand.pulses} points run in full with the build's own turbo.",
        markup=False,
    )
    if any(r.candidate.origin == "scaled" for r in match.ranked):
        out.print(
            "Scaled candidates are generic: the build's own machines at another size, so estimated; no such part need "
            "exist.",
            markup=False,
        )
