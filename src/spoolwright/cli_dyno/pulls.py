"""``dyno correct``, ``dyno compare`` and ``dyno diagnose``: what pulls tell."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from spoolwright.cli_dyno.options import (
    AsJson,
    ChartFormat,
    Charts,
    Pulls,
    Sets,
    Step,
    TurboOff,
    Variant,
    check_step,
    draw,
)
from spoolwright.errors import BadInput


def correct(
    pulls: Pulls,
    by: Annotated[
        list[str] | None,
        typer.Option("--by", help='Code: "sae j1349", "iso 1585", "din 70020", "jis d 1001", "std"; else all.'),
    ] = None,
    pressure_part: Annotated[
        str, typer.Option("--pressure-part", help='"by boost control", applied or left-out: your choice.')
    ] = "by boost control",
    charts: Charts = None,
    chart_format: ChartFormat = "png",
    step: Step = 250.0,
    working: Annotated[bool, typer.Option("--working", help="Show formula, numbers and source.")] = False,
    as_json: AsJson = False,
) -> None:
    """Observed first, then by the codes asked for, each with its day, its window and what speaks against it.

    Air and rig are those kept beside the log by ``dyno reduce``. Nothing is applied unseen to a boosted engine.

    Example: spoolwright dyno correct evening.csv#1 --by "sae j1349" --by std
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain
    from spoolwright.dyno.correct import correct_each, find_code
    from spoolwright.dyno.naming import pulls_named

    codes = [find_code(code) for code in by or ()]
    part = pressure_part.replace("-", " ").strip()
    check_step(step)
    found = [(one, correct_each(one, codes, part)) for one in pulls_named(pulls)]
    written: list[Path] = []
    if charts is not None:
        from dataclasses import replace

        from spoolwright.charts import of_dyno

        made = [
            replace(of_dyno.correction(p, rows), name=f"dyno-correction-{k}") for k, (p, rows) in enumerate(found, 1)
        ]
        written = draw(made, charts, chart_format)
    if as_json:
        print_json(
            {"pulls": [plain.corrected(p, rows, step) for p, rows in found], "written": [str(p) for p in written]}
        )
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_corrected(found, working, written)


def compare(
    pulls: Pulls,
    after: Annotated[
        list[str] | None, typer.Option("--after", help="Pulls after the change; may be repeated.", metavar="PULL")
    ] = None,
    on: Annotated[
        Path | None, typer.Option("--on", help="Lay each pull on this build's prediction.", metavar="DIR")
    ] = None,
    what: Annotated[str, typer.Option("--what", help="torque or power.")] = "torque",
    by: Annotated[
        str | None, typer.Option("--by", help="Correct each pull by this code first (pulls of different days).")
    ] = None,
    confidence: Annotated[float, typer.Option("--confidence", help="In per cent.")] = 95.0,
    step: Step = 250.0,
    variant: Variant = None,
    sets: Sets = None,
    turbo_off: TurboOff = False,
    charts: Charts = None,
    chart_format: ChartFormat = "png",
    as_json: AsJson = False,
) -> None:
    """Like pulls and their spread; --after: what a change did against that spread; --on: measured on predicted.

    Example: spoolwright dyno compare base.csv --after jets.csv --charts charts
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain
    from spoolwright.dyno.naming import pulls_named

    if what not in ("torque", "power"):
        raise BadInput(f'--what "{what}" is neither torque nor power')
    check_step(step)
    before = pulls_named(pulls)
    if on is not None:
        if after or by is not None:
            raise BadInput("--on lays measured on predicted; --after and --by belong to a comparison of pulls")
        results = _overlays(before, on, variant, sets, turbo_off, max(step, 250.0))
        made = _overlay_charts(results) if charts is not None else []
    else:
        results = [_compared(before, pulls_named(after) if after else [], what, by, confidence / 100.0, step)]
        made = _comparison_charts(results[0]) if charts is not None else []
    written = draw(made, charts, chart_format) if charts is not None else []
    if as_json:
        key = "overlays" if on is not None else "comparison"
        data = [plain.plain(r) for r in results] if on is not None else plain.comparison(results[0])
        print_json({key: data, "written": [str(p) for p in written]})
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_comparison(results, written)


def _compared(before: list[Any], after: list[Any], what: Any, by: str | None, confidence: float, step: float) -> Any:
    from spoolwright.dyno import compare as job
    from spoolwright.dyno.correct import correct as by_code
    from spoolwright.dyno.correct import find_code

    factors = None
    name = "observed"
    if by is not None:
        name = f"corrected by {find_code(by)}"
        rows = [by_code(p, by) for p in (*before, *after)]
        without = next((row for row in rows if row.factor is None), None)
        if without is not None:
            raise BadInput(f"{without.pull}: {without.questions[0]}")
        factors = [row.factor for row in rows if row.factor is not None]
    if not after:
        return job.repeats(before, what, confidence, step, factors)
    pair = None if factors is None else (factors[: len(before)], factors[len(before) :])
    return job.compare(before, after, what, confidence, step, pair, name)


def _overlays(
    pulls: list[Any], folder: Path, variant: str | None, sets: list[str] | None, turbo_off: bool, step: float
) -> list[Any]:
    from spoolwright.dyno.engine_model import EngineModel
    from spoolwright.dyno.overlay import overlay
    from spoolwright.terminal_pull import cancel_on_interrupt

    with cancel_on_interrupt() as asked:
        model = EngineModel(folder, variant, tuple(sets or ()), turbo_off, cancelled=asked.is_set)
        return [overlay(p, model, step) for p in pulls]


def _comparison_charts(result: Any) -> list[Any]:
    from spoolwright.charts import of_dyno
    from spoolwright.dyno.compare import Repeats

    return [of_dyno.repeats(result) if isinstance(result, Repeats) else of_dyno.change(result)]


def _overlay_charts(results: list[Any]) -> list[Any]:
    from dataclasses import replace

    from spoolwright.charts import of_dyno

    return [replace(of_dyno.overlay(r), name=f"dyno-measured-predicted-{k}") for k, r in enumerate(results, start=1)]


def diagnose(
    pulls: Pulls,
    build: Annotated[
        Path | None, typer.Option("--build", help="Hold against this build's own limits.", metavar="DIR")
    ] = None,
    variant: Variant = None,
    as_json: AsJson = False,
) -> None:
    """What the channels point at: ranked causes with evidence, what speaks against them, and the next check.

    Example: spoolwright dyno diagnose evening.csv --build mine
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain
    from spoolwright.dyno.diagnose import diagnose as job
    from spoolwright.dyno.limits import limits_of
    from spoolwright.dyno.naming import pulls_named
    from spoolwright.sheet import load

    limits = limits_of(load(build, variant)) if build is not None else ()
    found = job(pulls_named(pulls, torque_wanted=False), limits)
    if as_json:
        print_json(plain.plain(found))
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_diagnosis(found, build is not None)
