"""What the terminal shows of dyno day: pulls, corrections, comparisons, diagnosis, fit, plan. Views only."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from textwrap import wrap
from typing import TYPE_CHECKING, Any

import numpy as np
from rich.table import Table
from rich.text import Text

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.dyno.measured import RPM
from spoolwright.terminal import console

if TYPE_CHECKING:
    from rich.console import Console

    from spoolwright.dyno.causes import Diagnosis, Suspicion
    from spoolwright.dyno.correct import Corrected
    from spoolwright.dyno.fit import Fit
    from spoolwright.dyno.measured import Measured, Reduction
    from spoolwright.dyno.plan import Plan

WIDTH = 100


def _table(*heads: str) -> Table:
    table = Table(box=None, padding=(0, 1, 0, 2))
    for n, head in enumerate(heads):
        table.add_column(head, justify="left" if n == 0 else "right", no_wrap=True)
    return table


def _n(value: float | None, digits: int = 1) -> str:
    return "" if value is None or not np.isfinite(value) else f"{value:.{digits}f}"


def _tell(out: Console, sentences: Iterable[str], mark: str = "-") -> None:
    for one in sentences:
        out.print(Text(f"  {mark} {one}"))


def _written(out: Console, written: Sequence[Path]) -> None:
    if written:
        out.print(f"Written: {', '.join(str(p) for p in written)}", markup=False)


def print_reduction(done: Reduction, step: float, written: Sequence[Path]) -> None:
    """Pulls with torque over speed, observed; delays, notes, where the air came from."""
    out = console()
    for pull in done.pulls:
        print_pull(out, pull, step)
    if done.losses is not None:
        low, high = done.losses.w_low / RPM, done.losses.w_high / RPM
        out.print(f"Run-down measured from {high:.0f} to {low:.0f} rpm of the roller.")
    _tell(out, done.notes)
    missing = done.air.missing()
    if missing:
        out.print(Text(f"For a correction still unknown: {', '.join(missing)} of the air (--air)."))
    out.print("Observed figures; no correction is in them.")
    _written(out, written)


def print_pull(out: Console, pull: Measured, step: float) -> None:
    """One pull as a table over speed."""
    out.print(Text(f"{pull.name}, lines {pull.lines[0]} to {pull.lines[1]}: {pull.method}", style="bold"))
    speeds = pull.speeds(step)
    heads = ["speed, rpm"]
    columns = []
    for name, values in (("wheel", pull.wheel), ("flywheel", pull.flywheel), ("torque", pull.unplaced)):
        if values is not None:
            heads.append(f"{name}, N m")
            columns.append(pull.over(values, speeds))
    heads += ["±, N m", "power, kW"]
    columns += [pull.over(pull.band, speeds), pull.over(pull.power, speeds) / 1e3]
    table = _table(*heads)
    for i, rpm in enumerate(speeds):
        table.add_row(f"{rpm:.0f}", *(_n(float(c[i])) for c in columns))
    out.print(table)
    watts, at = pull.peak_power()
    torque, where = pull.peak_torque()
    place = {"flywheel": "at the flywheel", "wheel": "at the wheels"}.get(pull.place, "place not stated")
    out.print(
        f"  {watts / 1e3:.1f} kW at {at / RPM:.0f} rpm, {torque:.1f} N m at {where / RPM:.0f} rpm, {place}; "
        f"bandwidth {pull.bandwidth:g} Hz"
    )
    for delay in pull.delays:
        state = f"{delay.delay:.2f} s late, put back" if delay.removed else "not moved"
        out.print(Text(f"  {delay.role}: {state} ({delay.why})"))
    _tell(out, pull.notes)


def print_corrected(
    found: Sequence[tuple[Measured, Sequence[Corrected]]], working: bool, written: Sequence[Path]
) -> None:
    """Observed first, then each code with its day and window."""
    out = console()
    noted = False
    asked: dict[str, str] = {}
    for pull, rows in found:
        watts, at = pull.peak_power()
        torque, _ = pull.peak_torque()
        out.print(
            Text(f"{pull.name}: observed {watts / 1e3:.1f} kW at {at / RPM:.0f} rpm, {torque:.1f} N m", style="bold")
        )
        held = any(row.boost_control not in ("none", "not stated") for row in rows)
        heads = ("code", "factor", "kW", "N m", "reference day", "window")
        table = _table(*heads, *(("T alone",) if held else ()))
        for row in rows:
            wet = "dry" if row.dry else "wet"
            day = f"{row.reference_pressure / 1e3:.1f} kPa {wet}, {row.reference_temperature - ZERO_CELSIUS:.1f} degC"
            window = "none stated" if row.window[1] > 5.0 else ("holds" if row.within else "OUTSIDE")
            without = (f"{row.temperature_part:.4f}",) if held else ()
            if row.factor is None:
                table.add_row(row.code, "none applied", "", "", day, window, *without)
            else:
                f = row.factor
                figures = (f"{f:.4f}", f"{f * watts / 1e3:.1f}", f"{f * torque:.1f}")
                table.add_row(row.code, *figures, day, window, *without)
            for question in row.questions:  # the same with other numbers is said once, by the first
                asked.setdefault(re.sub(r"[\d.]+", "", question), f"{pull.name}, {row.code}: {question}")
        out.print(table)
        noted = noted or held
        if working:
            for row in rows:
                out.print(Text(f"{row.code}\n{row.working}\nSource: {row.source}"))
    if noted:
        out.print("  T alone: the code's temperature part without its pressure part.")
    _tell(out, asked.values(), "?")
    _written(out, written)


def print_comparison(results: Sequence[Any], written: Sequence[Path]) -> None:
    """Repeats, a change, or overlays."""
    from spoolwright.dyno.compare import Change, Repeats

    out = console()
    for result in results:
        if isinstance(result, Repeats):
            _repeats(out, result)
        elif isinstance(result, Change):
            _change(out, result)
        else:
            _overlay(out, result)
    _written(out, written)


def _scaled(what: str) -> tuple[str, float]:
    return ("N m", 1.0) if what == "torque" else ("kW", 1e-3)


def _repeats(out: Console, r: Any) -> None:
    unit, k = _scaled(r.what)
    out.print(Text(f"{', '.join(r.pulls)}: {r.what}, {r.place}", style="bold"))
    table = _table("speed, rpm", f"mean, {unit}", "±", "spread, %", "counts from")
    for i, rpm in enumerate(r.speeds_rpm):
        table.add_row(
            f"{rpm:.0f}", _n(k * r.mean[i]), _n(k * r.band[i]), _n(100 * r.spread[i]), _n(k * r.smallest_change[i])
        )
    out.print(table)
    _tell(out, r.sentences)


def _change(out: Console, c: Any) -> None:
    unit, k = _scaled(c.what)
    out.print(Text(f"before: {', '.join(c.before)}; after: {', '.join(c.after)}; {c.what}, {c.place}", style="bold"))
    table = _table("speed, rpm", f"before, {unit}", "after", "difference", "±", "counts")
    for i, rpm in enumerate(c.speeds_rpm):
        table.add_row(
            f"{rpm:.0f}", _n(k * c.mean_before[i]), _n(k * c.mean_after[i]), f"{k * c.difference[i]:+.1f}",
            _n(k * c.band[i]), "yes" if c.counts[i] else "no",
        )  # fmt: skip
    out.print(table)
    out.print(Text(f"  {c.factor}"))
    _tell(out, c.sentences)


def _overlay(out: Console, o: Any) -> None:
    out.print(Text(f"{o.pull} on the prediction", style="bold"))
    table = _table("speed, rpm", "measured, N m", "±", "predicted", "difference, %")
    for i, rpm in enumerate(o.speeds_rpm):
        off = 100 * (o.measured[i] / o.predicted[i] - 1.0)
        table.add_row(
            f"{rpm:.0f}",
            _n(o.measured[i]),
            _n(o.band[i]),
            _n(o.predicted[i]),
            f"{off:+.1f}" if np.isfinite(off) else "",
        )
    out.print(table)
    _tell(out, o.sentences)
    if o.sets:
        out.print(Text(f"  run with {', '.join(o.sets)}"))


def print_diagnosis(found: Diagnosis, limits: bool) -> None:
    """Suspicions worst first, then sensors, then what was not looked at."""
    out = console()
    if not found.suspicions:
        out.print("Nothing in these channels points at a fault. That is no clean bill: see what was not looked at.")
    for rank, (one, pulls) in enumerate(found.by_name(), start=1):
        _suspicion(out, rank, one, pulls)
    for one in found.sensors:
        out.print(Text(f"○ {one.pull}: {one.seen}", style="cyan"))
        out.print(Text(f"    {', or '.join(one.causes)}; {one.check}"))
    if found.not_looked_at:
        out.print("Not looked at:")
        _tell(out, found.not_looked_at)
    if not limits:
        out.print("The build's own limits were not held against it; add --build DIR.")


def _suspicion(out: Console, rank: int, one: Suspicion, pulls: Sequence[str]) -> None:
    """One suspicion where it is strongest; the other pulls that show it are named."""
    head = f"{'■' if one.stop else '▲'} {rank}. {one.name}, {one.pull}: {one.seen}"
    out.print(Text(head, style="bold red" if one.stop else "yellow"))
    others = sorted(set(pulls) - {one.pull})
    if others:
        out.print(Text(f"    also in: {', '.join(others)}"))
    for e in one.evidence:
        value = "" if e.value is None or e.time is None else f": {e.value:.4g} {e.unit}".rstrip()
        when = "" if e.time is None else f"{e.time:.2f} s, {e.speed_rpm:.0f} rpm, "
        out.print(Text(f"    seen: {when}{e.words}{value}"))
    out.print(Text(f"    causes, first first: {'; '.join(one.causes)}"))
    for words in one.against:
        out.print(Text(f"    against: {words}"))
    out.print(Text(f"    next: {one.check}"))
    if one.caution:
        out.print(Text(f"    caution: {one.caution}"))


def print_fit(got: Fit, stored: Sequence[str], written: Sequence[Path]) -> None:
    """Factors with bands, correlations, hold-out."""
    out = console()
    table = _table("factor", "value", "±", "prior", "told by the data")
    for f in got.factors:
        told = "no, stays at its prior" if f.held else f"{100 * f.learned:.0f} %"
        table.add_row(
            f"{f.name} ({f.meaning})", f"{f.value:.3f}", "" if f.held else f"{f.band:.3f}",
            f"{f.prior:g} ± {2 * f.prior_spread:g}", told,
        )  # fmt: skip
    out.print(table)
    out.print("All fitted factors lie within their ± together with 95 %, if the model and the stated noise are right.")
    names = got.parameters
    pairs = [
        f"{names[i]} and {names[j]} {got.correlations[i, j]:+.2f}"
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(got.correlations[i, j]) >= 0.5
    ]
    if pairs:
        out.print(Text(f"Correlations from a half on: {'; '.join(pairs)}"))
    _tell(out, got.sentences)
    if stored:
        out.print(f"Stored in the sheet's [calibration] with date and data hash {got.data[:16]}.", markup=False)
        out.print("Off again: --set calibration.use=false")
    _written(out, written)


def plan_lines(made: Plan) -> list[str]:
    """The session as text to print: stop list first, then the steps with boxes to tick."""
    variant = f", variant {made.variant}" if made.variant else ""
    out = [f"Dyno session: {made.build}{variant}", "", "STOP LIST (on the wall, read aloud before the first pull)"]
    heads = [f"{stop.what} {stop.limit}".rstrip() for stop in made.stops]
    width = max(len(head) for head in heads)
    for head, stop in zip(heads, made.stops, strict=True):
        out += _hung(f"  [ ] {head:<{width}}  ", stop.act, width + 8)
    for words in made.missing:
        out.append(f"  (!) {words}: no limit in the sheet; write one before the first pull")
    out += ["", *(line for words in made.cautions for line in _hung("  ! ", words)), ""]
    out += _hung("Channels to log: ", ", ".join(made.channels))
    part = ""
    names = {"before": "BEFORE", "run-in": "RUN-IN", "pulls": "PULLS", "after": "AFTER"}
    for step in made.steps:
        if step.part != part:
            part = step.part
            out += ["", names[part]]
        box = "[x]" if step.signed else "[ ]"
        out.append(f"{box} {step.number}. {step.title}" + (f"   (signed: {step.signed})" if step.signed else ""))
        for words in step.do:
            out += _hung("       ", words)
        if step.write_down:
            out += _hung("       write down: ", ", ".join(step.write_down))
        if step.go_on:
            out += _hung("       go on when: ", step.go_on)
    return out


def _hung(head: str, text: str, most: int = 30) -> list[str]:
    """``text`` behind ``head``, further lines hung below its first letter, at most ``most`` in."""
    indent = min(len(head), most)
    lines = wrap(text, max(WIDTH - len(head), 24), break_on_hyphens=False) or [""]
    return [
        head + lines[0],
        *(" " * indent + line for line in wrap(" ".join(lines[1:]), WIDTH - indent, break_on_hyphens=False)),
    ]
