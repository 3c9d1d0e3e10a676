"""What the terminal shows of a load step: the time, the way there, what to mind. Views only."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Console
from rich.progress import Progress as Bar
from rich.progress import TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

from spoolwright.engine.spool import Moment, Spool, cautions
from spoolwright.sheet import Sheet
from spoolwright.terminal import console

ROWS = 16


class Progress:
    """A line on standard error that follows the boost."""

    def __init__(self, compiled: bool) -> None:
        self._out = Console(stderr=True, highlight=False)
        columns = (TextColumn("{task.description}"), TimeElapsedColumn())
        self.bar = Bar(*columns, console=self._out, transient=True, disable=not self._out.is_terminal)
        self._task = self.bar.add_task("steady points", total=None)
        self._compiled = compiled

    def ready(self) -> None:
        """Say what the wait is for where the kernels are not compiled yet."""
        if not self._compiled:
            self._out.print("compiling the solver, first run only (a minute or so) ...")

    def moment(self, moment: Moment) -> None:
        """Show how far it is."""
        self.bar.update(self._task, description=f"{moment.time_s:.2f} s, boost {moment.boost_kPa:.0f} kPa")


def print_spool(made: Spool, sheet: Sheet) -> None:
    """The time first, then the way there."""
    out = console()
    variant = f", variant {made.variant}" if made.variant else ""
    out.print(Text(f"{made.build}{variant}", style="bold"))
    held = "held" if made.inertia is None else f"free to rise against {made.inertia:g} kg m2"
    out.print(
        f"Throttle from {100 * made.opening:.3g} % to open at {made.speed_rpm:.0f} rpm, speed {held}.", markup=False
    )
    if made.trouble:
        out.print(Text(f"{made.trouble[:1].upper()}{made.trouble[1:]}.", style="bold"))
    if made.time_to_90_s is not None:
        out.print(
            Text(f"90 % of {made.target_boost_kPa:.0f} kPa after {made.time_to_90_s:.2f} s.", style="bold"),
            f"Before the step the manifold stood at {made.start_boost_kPa:.0f} kPa to outside air.",
        )
    if made.moments:
        out.print(_table(made.moments))
    for sentence in cautions(made, sheet):
        out.print(f"Mind: {sentence}", markup=False)
    if made.moments:
        out.print(
            "The throttle opens at once; a foot takes 0.05 to 0.1 s more (common practice, no source). "
            "Mixture and spark follow without delay.",
            markup=False,
        )


def _table(moments: Sequence[Moment]) -> Table:
    table = Table("time s", "engine rpm", "boost kPa", "turbo rpm", "torque N m", "gate open %", box=None)
    for column in table.columns:
        column.justify = "right"
    step = max(1, -(-len(moments) // ROWS))
    for moment in [*moments[:-1:step], moments[-1]]:
        gate = "-" if moment.wastegate_opening is None else f"{100 * moment.wastegate_opening:.0f}"
        table.add_row(
            f"{moment.time_s:.2f}",
            f"{moment.speed_rpm:.0f}",
            f"{moment.boost_kPa:.0f}",
            f"{moment.turbo_speed_rpm:.0f}",
            f"{moment.torque_Nm:.0f}",
            gate,
        )
    return table
