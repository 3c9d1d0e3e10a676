"""``dyno fit`` and ``dyno plan``: pulls back into the model, and the next session."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from spoolwright.cli_dyno.options import (
    AsJson,
    Author,
    Build,
    ChartFormat,
    Charts,
    Pulls,
    Sets,
    Step,
    TurboOff,
    Variant,
    check_step,
    draw,
    named_author,
)
from spoolwright.errors import BadInput


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
        author = named_author(author, "a fit that is stored")
    factors = job.factors_named(factor or ())
    check_step(step)
    with cancel_on_interrupt() as asked:
        model = EngineModel(
            build, variant, tuple(sets or ()), turbo_off, cancelled=asked.is_set,
            progress=lambda runs: typer.echo(f"  {runs} points run", err=True),
        )  # fmt: skip
        inertia = model.sheet().maybe("strength.flywheel_inertia")
        observed = [job.observe(p, build, step, engine_inertia=inertia) for p in pulls_named(pulls)]
        kept_back = [job.observe(p, build, step, engine_inertia=inertia) for p in pulls_named(hold_out or ())]
        got = job.calibrate(observed, model, factors, kept_back, said=lambda text: typer.echo(text, err=True))
    changed = job.store(build, got, author or "") if store else ()
    written: list[Path] = []
    if charts is not None:
        from spoolwright.charts import of_dyno

        written = draw(of_dyno.fit(got), charts, chart_format)
    if as_json:
        print_json({**plain.plain(got), "stored": list(changed), "written": [str(p) for p in written]})
    else:
        from spoolwright import terminal_dyno

        terminal_dyno.print_fit(got, changed, written)


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
        enter(build, made, sign_off, named_author(author, "a sign-off"), note)
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
