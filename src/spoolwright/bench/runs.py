"""Runs of an opened build: one at a time, in a thread of its own, with progress, cancel and the last results kept."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Any, Literal, cast

from spoolwright import predict
from spoolwright.errors import BadInput, SpoolwrightError
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet, load

if TYPE_CHECKING:
    from spoolwright.engine.pull import Point, Pull

State = Literal["running", "done", "cancelled", "failed"]


@dataclass
class Run:
    """One pull, under way or done: the sheet it rests on, points as they arrive, then pull and findings."""

    variant: str | None
    asked: Sheet  # as it stood
    sheet: Sheet  # as it was run: the same, or with its turbo taken off
    speeds: list[float]
    turbo_off: bool
    began: datetime
    state: State = "running"
    compiling: bool = False
    points: list[Point] = field(default_factory=list)
    pull: Pull | None = None
    findings: list[Finding] = field(default_factory=list)
    said: str = ""
    seconds: float = 0.0

    @property
    def so_far(self) -> Pull:
        """The points that are done as a pull."""
        if self.pull is not None:
            return self.pull
        from spoolwright.engine.pull import Pull

        points = sorted(self.points, key=lambda one: one.columns["speed_rpm"])
        name, variant, digest = self.sheet.name, self.sheet.variant, self.sheet.digest
        return Pull(name, variant, digest, points, (), cast(Any, None), tuple(self.speeds))


@dataclass
class Runs:
    """The run under way, and for each variant the last run and the one before."""

    folder: Path
    tell: Callable[[], None]
    under_way: Run | None = None
    last: dict[str | None, Run] = field(default_factory=dict)
    before: dict[str | None, Run] = field(default_factory=dict)
    failed: Run | None = None
    _cancel: Event = field(default_factory=Event)

    def start(self, variant: str | None, speeds: str | None, turbo_off: bool) -> Run:
        """Start a pull. Raises BadInput for a sheet or speeds that cannot be run, or while one runs."""
        if self.under_way is not None:
            raise BadInput("A run is under way; cancel it first.")
        sheet = predict.runnable(self.folder, variant, (), turbo_off)
        wanted = predict.speeds_of(sheet, speeds or None)
        asked = load(self.folder, variant) if turbo_off else sheet
        run = Run(variant, asked, sheet, wanted, turbo_off, datetime.now())
        self.under_way = run
        self._cancel.clear()
        loop = asyncio.get_running_loop()
        self._task = asyncio.create_task(self._go(run, loop))
        return run

    def cancel(self) -> None:
        """Ask the run under way to end; what is done is kept."""
        self._cancel.set()

    def _keep(self, run: Run, pull: Pull) -> str:
        """Keep a whole pull with the build, for the book and dyno day; in a sentence why it is not."""
        from spoolwright.book.run import keep_fuller

        try:
            keep_fuller(self.folder, run.sheet, predict.report(pull, run.sheet, run.findings, False))
        except BadInput as trouble:
            return f"The run is not kept with the build. {trouble}"
        return ""

    async def _go(self, run: Run, loop: asyncio.AbstractEventLoop) -> None:
        def told() -> None:
            loop.call_soon_threadsafe(self.tell)

        def arrived(point: Point) -> None:
            run.points.append(point)
            run.compiling = False
            told()

        def work() -> None:
            from spoolwright.engine.compiling import is_compiled

            def ready() -> None:
                run.compiling = not is_compiled()
                told()

            done = predict.run(run.sheet, run.speeds, None, ready, arrived, self._cancel.is_set)
            run.pull = done.pull
            run.findings = predict.judge(done.pull, run.sheet) if done.pull.points else []
            run.state = "cancelled" if done.cancelled else "done"
            if run.state == "done" and not run.turbo_off:
                run.said = self._keep(run, done.pull)

        try:
            await asyncio.to_thread(work)
        except SpoolwrightError as trouble:
            run.state, run.said = "failed", str(trouble)
        finally:
            self.under_way = None
        run.seconds = (datetime.now() - run.began).total_seconds()
        if run.pull is not None and run.pull.points:
            if run.variant in self.last:
                self.before[run.variant] = self.last[run.variant]
            self.last[run.variant] = run
        elif run.state != "failed":
            run.said = "Cancelled before the first speed was done."
        self.failed = run if run.state == "failed" else None
        self.tell()
