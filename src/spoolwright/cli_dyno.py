"""The ``dyno`` commands. Like the rest of the command line they read options, call one function and print."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any

import typer

from spoolwright.errors import BadInput

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Dyno day: read logs as they come, reduce, correct, compare, diagnose, fit, plan.",
)

AsJson = Annotated[bool, typer.Option("--json", help="Print plain data.")]
LogFile = Annotated[Path, typer.Argument(help="The log as it came; it is never changed.", metavar="FILE")]
Build = Annotated[Path, typer.Argument(help="The folder that holds build.toml.", metavar="DIR")]
Pulls = Annotated[list[str], typer.Argument(help="Logs, or single pulls of them (evening.csv#2).", metavar="PULL...")]
Charts = Annotated[Path | None, typer.Option("--charts", help="Draw charts into this folder.", metavar="DIR")]
ChartFormat = Annotated[str, typer.Option("--chart-format", help="png, svg or pdf.")]
Author = Annotated[str | None, typer.Option("--author", help="Who; needed for an entry in the logbook.")]
Variant = Annotated[str | None, typer.Option("--variant", help="A variant of the build (a file in variants/).")]
Sets = Annotated[list[str] | None, typer.Option("--set", help="Change one value: path=value. May be repeated.")]
TurboOff = Annotated[bool, typer.Option("--turbo-off", help="Run the engine with its turbo taken off.")]
Step = Annotated[float, typer.Option("--step", help="Speed between two points.", metavar="RPM")]
AirWords = Annotated[
    list[str] | None,
    typer.Option("--air", help='Air of the day: "temperature=24 degC", "barometer=98.2 kPa", "humidity=48 %".'),
]
BoostControl = Annotated[
    str | None, typer.Option("--boost-control", help="How boost is held: none, gauge, absolute or compensated.")
]
Rig = Annotated[list[str] | None, typer.Option("--rig", help="Anything else of the rig, name=value; see the guide.")]
Inertia = Annotated[str | None, typer.Option("--inertia", help='Of the roller and all with it: "85 kg m2 ± 1 %".')]
Ratio = Annotated[str | None, typer.Option("--ratio", help="Turns of the engine for one of the roller.")]
RunDown = Annotated[
    str | None, typer.Option("--run-down", help='Where the roller coasts, clutch out: "after" a pull, or a segment.')
]
StandsAt = Annotated[str | None, typer.Option("--stands-at", help="Where a torque column holds: flywheel or wheel.")]
CorrectedBy = Annotated[
    str | None, typer.Option("--corrected-by", help='The code a torque column was corrected by, or "observed".')
]
Density = Annotated[str | None, typer.Option("--fuel-density", help='Turns volume flow into mass: "745 kg/m3".')]
Display = Annotated[
    str | None, typer.Option("--afr-stoichiometric", help="The air-fuel ratio a display counts as lambda 1.")
]
DelayOf = Annotated[list[str] | None, typer.Option("--delay", help='A channel\'s delay, stated: "afr=0.35 s".')]
NoKeep = Annotated[bool, typer.Option("--no-keep", help="Do not keep these words beside the log.")]


def _pairs(option: str, words: Sequence[str] | None, example: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for word in words or ():
        name, equals, value = word.partition("=")
        if not equals or not name.strip() or not value.strip():
            raise BadInput(f'{option} "{word}" is not name=value; write for example {option} "{example}"')
        found[name.strip().replace("-", "_")] = value.strip()
    return found


def _confirmed(pairs: list[str]) -> dict[str | int, str | None]:
    """``CHT=head_temp_1 [degF]`` and ``4=afr``; ``AN 3=`` says that nobody can tell."""
    confirmed: dict[str | int, str | None] = {}
    for pair in pairs:
        name, equals, role = pair.partition("=")
        if not equals or not name.strip():
            raise BadInput(f'--column "{pair}" is not NAME=ROLE; write for example --column "CHT=head_temp_1 [degF]"')
        key: str | int = int(name) if name.strip().isdigit() else name.strip()
        confirmed[key] = role.strip() or None
    return confirmed


def _made(text: str | None) -> Any:
    """Time of a pull, with its offset from UTC; this machine's where none is written."""
    from datetime import datetime

    if text is None:
        return None
    try:
        return datetime.fromisoformat(text).astimezone()
    except ValueError:
        raise BadInput(f'--made "{text}" is no time; write for example --made "2024-05-04T16:20"') from None


def _author(author: str | None, what: str) -> str:
    if not author or not author.strip():
        raise BadInput(f'{what} is entered in the logbook and needs its author: add --author "A. Maker"')
    return author


@app.command("read")
def read(
    file: LogFile,
    out: Annotated[Path | None, typer.Option("--out", help="Write the cleaned table (.csv or .parquet).")] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            "--column", help="Confirm a column: NAME=ROLE [unit]; remembered beside the log. May be repeated."
        ),
    ] = None,
    into: Annotated[
        Path | None, typer.Option("--into", help="Keep the log as it came in this build's pulls folder.", metavar="DIR")
    ] = None,
    made: Annotated[str | None, typer.Option("--made", help="With --into: when it was made, 2024-05-04T16:20.")] = None,
    author: Author = None,
    as_json: AsJson = False,
) -> None:
    """Read a log in whatever dialect it is, and list every repair.

    Columns are recognised by name, unit and range; what is guessed is shown and can be confirmed. Nothing is dropped,
    filled, re-ordered or scaled without a line in the report.

    Example: spoolwright dyno read pulls/evening.csv --out clean.csv
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import read_log
    from spoolwright.dyno.readers import report

    when = _made(made)
    if into is not None:
        author = _author(author, "a log that is kept")
    log = read_log(file, confirmed=_confirmed(column) if column else None)
    if out is not None:
        report.write_clean(log, out)
    kept = None
    if into is not None:
        from spoolwright.dyno.settings import keep

        kept = keep(log, into, author or "", when)
    if as_json:
        print_json({**report.as_json(log), "kept": str(kept) if kept else None})
        return
    for line in report.lines_for_people(log):
        typer.echo(line)
    if out is not None:
        typer.echo(f"The cleaned table is in {out}.")
    if kept is not None:
        typer.echo(f"The log is kept as it came in {kept}.")


def _rig_words(**given: Any) -> dict[str, Any]:
    more = _pairs("--rig", given.pop("rig"), "bandwidth=0.8 Hz")
    delays = _pairs("--delay", given.pop("delay"), "afr=0.35 s")
    words = {name: value for name, value in given.items() if value is not None} | more
    return words | ({"delays": delays} if delays else {})


def _reduced(file: Path, rig: dict[str, Any], air: list[str] | None, boost_control: str | None, keep: bool) -> Any:
    from spoolwright.dyno import read_log
    from spoolwright.dyno.reduce import with_words

    words = _pairs("--air", air, "temperature=24 degC")
    if boost_control is not None:
        words["boost_control"] = boost_control
    return with_words(read_log(file), rig, words, keep)


@app.command("reduce")
def reduce(
    file: LogFile,
    inertia: Inertia = None,
    ratio: Ratio = None,
    run_down: RunDown = None,
    stands_at: StandsAt = None,
    corrected_by: CorrectedBy = None,
    fuel_density: Density = None,
    afr_stoichiometric: Display = None,
    delay: DelayOf = None,
    rig: Rig = None,
    air: AirWords = None,
    boost_control: BoostControl = None,
    step: Step = 250.0,
    charts: Charts = None,
    chart_format: ChartFormat = "png",
    no_keep: NoKeep = False,
    as_json: AsJson = False,
) -> None:
    """Cut out the pulls, put late channels in step, give torque over speed with its band. Observed, never corrected.

    What is stated of rig and air is kept in the small .toml beside the log and used by the other commands.

    Example: spoolwright dyno reduce evening.csv --inertia "85 kg m2 ± 1 %" --run-down after --air "temperature=24 degC"
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain

    words = _rig_words(
        inertia=inertia, ratio=ratio, run_down=run_down, stands_at=stands_at, corrected_by=corrected_by,
        fuel_density=fuel_density, afr_stoichiometric=afr_stoichiometric, delay=delay, rig=rig,
    )  # fmt: skip
    done = _reduced(file, words, air, boost_control, not no_keep)
    _check_step(step)
    written: list[Path] = []
    if charts is not None:
        from spoolwright.charts import of_dyno

        written = _draw([of_dyno.pulls(done.pulls)], charts, chart_format)
    if as_json:
        print_json({**plain.reduction(done, step), "written": [str(p) for p in written]})
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_reduction(done, step, written)


def _check_step(step: float) -> None:
    if not 10.0 <= step <= 2000.0:
        raise BadInput(f"--step {step:g} is outside 10 to 2000 rpm")


def _draw(made: Sequence[Any], folder: Path, kind: str) -> list[Path]:
    from spoolwright.charts.paper import FORMATS, draw_all

    if kind not in FORMATS:
        raise BadInput(f'--chart-format "{kind}" is not one of {", ".join(FORMATS)}')
    if folder.exists() and not folder.is_dir():
        raise BadInput(f"--charts {folder}: a file stands there; name a folder")
    return draw_all(made, folder, kind)


@app.command("correct")
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
    _check_step(step)
    found = [(one, correct_each(one, codes, part)) for one in pulls_named(pulls)]
    written: list[Path] = []
    if charts is not None:
        from dataclasses import replace

        from spoolwright.charts import of_dyno

        made = [
            replace(of_dyno.correction(p, rows), name=f"dyno-correction-{k}") for k, (p, rows) in enumerate(found, 1)
        ]
        written = _draw(made, charts, chart_format)
    if as_json:
        print_json(
            {"pulls": [plain.corrected(p, rows, step) for p, rows in found], "written": [str(p) for p in written]}
        )
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_corrected(found, working, written)


@app.command("compare")
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
    _check_step(step)
    before = pulls_named(pulls)
    if on is not None:
        if after or by is not None:
            raise BadInput("--on lays measured on predicted; --after and --by belong to a comparison of pulls")
        results = _overlays(before, on, variant, sets, turbo_off, max(step, 250.0))
        made = _overlay_charts(results) if charts is not None else []
    else:
        results = [_compared(before, pulls_named(after) if after else [], what, by, confidence / 100.0, step)]
        made = _comparison_charts(results[0]) if charts is not None else []
    written = _draw(made, charts, chart_format) if charts is not None else []
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


@app.command("diagnose")
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


@app.command("fit")
def fit(
    build: Build,
    pulls: Pulls,
    hold_out: Annotated[
        list[str] | None, typer.Option("--hold-out", help="A pull that is predicted, not fitted to.", metavar="PULL")
    ] = None,
    factor: Annotated[
        list[str] | None, typer.Option("--factor", help="Fit only this factor; may be repeated. Else all.")
    ] = None,
    store: Annotated[bool, typer.Option("--store", help="Keep the factors in the build's sheet.")] = False,
    author: Author = None,
    variant: Variant = None,
    sets: Sets = None,
    turbo_off: TurboOff = False,
    step: Step = 500.0,
    charts: Charts = None,
    chart_format: ChartFormat = "png",
    as_json: AsJson = False,
) -> None:
    """Fit a few physical factors of the model to pulls; what the data cannot tell stays at its prior and says so.

    The engine is run a few dozen times at each pull's own air and settings; that takes a minute or more.

    Example: spoolwright dyno fit mine pulls/a.csv pulls/b.csv --hold-out pulls/c.csv --store --author "A. Maker"
    """
    from spoolwright.cli import print_json
    from spoolwright.dyno import calibrate as job
    from spoolwright.dyno import plain
    from spoolwright.dyno.engine_model import EngineModel
    from spoolwright.dyno.naming import pulls_named
    from spoolwright.terminal_pull import cancel_on_interrupt

    if store:
        author = _author(author, "a fit that is stored")
    factors = job.factors_named(factor or ())
    _check_step(step)
    with cancel_on_interrupt() as asked:
        model = EngineModel(build, variant, tuple(sets or ()), turbo_off, cancelled=asked.is_set)
        inertia = model.sheet().maybe("strength.flywheel_inertia")
        observed = [job.observe(p, build, step, engine_inertia=inertia) for p in pulls_named(pulls)]
        kept_back = [job.observe(p, build, step, engine_inertia=inertia) for p in pulls_named(hold_out or ())]
        got = job.calibrate(observed, model, factors, kept_back, said=lambda text: typer.echo(text, err=True))
    changed = job.store(build, got, author or "") if store else ()
    written: list[Path] = []
    if charts is not None:
        from spoolwright.charts import of_dyno

        written = _draw(of_dyno.fit(got), charts, chart_format)
    if as_json:
        print_json({**plain.plain(got), "stored": list(changed), "written": [str(p) for p in written]})
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_fit(got, changed, written)


@app.command("plan")
def plan(
    build: Build,
    change: Annotated[
        list[str] | None, typer.Option("--change", help="One change to try; may be repeated, in the order wanted.")
    ] = None,
    repeats: Annotated[int, typer.Option("--repeats", help="Like pulls before and after each change.")] = 3,
    sign_off: Annotated[int | None, typer.Option("--sign-off", help="Enter this step as done.", metavar="STEP")] = None,
    note: Annotated[str, typer.Option("--note", help="With --sign-off: words for the logbook.")] = "",
    author: Author = None,
    variant: Variant = None,
    out: Annotated[Path | None, typer.Option("--out", help="Write it as text to print.", metavar="FILE")] = None,
    as_json: AsJson = False,
) -> None:
    """A dyno session: run-in steps, pulls in order with one change each, and the stop list with the build's own limits.

    Example: spoolwright dyno plan mine --change "main jet 1.55 to 1.60 mm" --out session.txt
    """
    from spoolwright import terminal_dyno
    from spoolwright.cli import print_json
    from spoolwright.dyno import plain
    from spoolwright.dyno.plan import plan as job
    from spoolwright.dyno.plan import sign_off as enter
    from spoolwright.sheet import load

    sheet = load(build, variant)
    made = job(sheet, change or (), repeats, build)
    if sign_off is not None:
        enter(build, made, sign_off, _author(author, "a sign-off"), note)
        made = job(sheet, change or (), repeats, build)
    if out is not None:
        try:
            out.write_text("\n".join(terminal_dyno.plan_lines(made)) + "\n", encoding="utf-8")
        except OSError as fault:
            raise BadInput(f"--out {out}: cannot be written ({fault.strerror or fault})") from None
    if as_json:
        print_json(plain.plain(made))
        return
    for line in terminal_dyno.plan_lines(made):
        typer.echo(line)
    if out is not None:
        typer.echo(f"The plan is in {out}.")
