"""What the terminal shows of a match's finalists: their full runs, judged again, and how far the quick rank was off."""

from __future__ import annotations

import numpy as np
from rich.console import Console
from rich.table import Table
from rich.text import Text

from spoolwright.boost.rows import G_DIAPHRAGM
from spoolwright.engine.pull import Point
from spoolwright.match.finalists import COMPARED, Finalist
from spoolwright.match.job import Match
from spoolwright.match.rank import Ranked
from spoolwright.terminal import SHAPES, STYLES

HEADS = (
    "speed\nrpm",
    "boost\nkPa",
    "torque\nN m",
    "power\nkW",
    "surge left\n%",
    "choke left\n%",
    "drive over\nboost",
    "shaft\nrpm",
    "gate\nopen %",
)


def print_finalists(out: Console, match: Match) -> None:
    """Every finalist's run, its judgement and the algebra's distance; nothing where none was run."""
    if not match.finalists:
        return
    out.print(Text("\nRun in full (boost before carburettor or throttle, as wanted)", style="underline"))
    for one in match.finalists:
        _one(out, match, one)


def _one(out: Console, match: Match, one: Finalist) -> None:
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    for head in HEADS:
        table.add_column(head, justify="right")
    for point, charge in zip(one.pull.points, one.charge, strict=True):
        table.add_row(*_row(match, point, float(charge)))
    title = Text(f"\n{one.ranked.candidate.name}", style="bold")
    gate = match.turbo.gate
    if gate is not None and one.preload is not None:
        label = one.preload / float(gate[G_DIAPHRAGM]) / 1e3
        title.append(f", gate spring of {one.preload:.0f} N (label {label:.0f} kPa)", style="not bold")
    out.print(title)
    out.print(table)
    if one.judged is None:
        out.print("  No point settled; the ranking alone stands.")
        return
    told = _verdict("In full", one.judged)
    if one.judged.verdict != one.ranked.verdict or one.judged.tightest.name != one.ranked.tightest.name:
        told.append_text(_verdict(". The quick rank said", one.ranked))
    out.print(told)
    for gate_open in (True, False):
        if one.most_apart("air", gate_open) is not None:
            out.print(_off(one, gate_open), markup=False)


def _row(match: Match, point: Point, charge: float) -> list[str]:
    c = point.columns
    if not np.isfinite(charge):
        return [f"{c['speed_rpm']:.0f}", *(["-"] * (len(HEADS) - 1))]
    outside = match.demand.model.site.p
    return [
        f"{c['speed_rpm']:.0f}",
        f"{(charge - outside) / 1e3:.0f}",
        _shown(c["torque_Nm"], 0),
        _shown(c["power_kW"], 1),
        _shown(c["surge_margin"], 0, 100.0),
        _shown(c["choke_margin"], 0, 100.0),
        _shown(c["drive_pressure_ratio"], 2),
        _shown(c["turbo_speed_rpm"], 0),
        _shown(c["wastegate_opening"], 0, 100.0),
    ]


def _shown(value: float | None, digits: int, factor: float = 1.0) -> str:
    return "-" if value is None else f"{value * factor:.{digits}f}"


def _verdict(before: str, ranked: Ranked) -> Text:
    told = Text(f"{before} ")
    told.append(f"{SHAPES[ranked.verdict]} {ranked.verdict}: ", style=STYLES[ranked.verdict])
    return told.append(ranked.tightest.sentence)


def _off(one: Finalist, gate_open: bool) -> str:
    """The algebra's greatest differences, with the gate open or shut."""
    parts = []
    for name in COMPARED:
        at = one.most_apart(name, gate_open)
        if at is not None:
            parts.append(f"{name} {100.0 * at.values[name]:+.1f} % ({at.rpm:.0f} rpm)")
    return f"  The quick rank is off, gate {'open' if gate_open else 'shut'}, at most by: {', '.join(parts)}."
