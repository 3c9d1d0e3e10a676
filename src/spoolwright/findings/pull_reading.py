"""What the findings of a pull read: points that settled, the highest of a column, where something holds, workings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from spoolwright.engine.pull import Point, Pull
from spoolwright.findings.judging import Item, Question, judge
from spoolwright.findings.model import Finding

CYLINDER_MODEL = "two-zone cylinder on equilibrium tables, entrainment flame, Woschni's wall heat"
DUCT_MODEL = "one-dimensional gas dynamics from air inlet to tail, coupled to the cylinders"
BOOST_MODEL = (
    "compressor and turbine maps in each step of the cycle, gate by force balance, shaft balanced over the cycle"
)


def settled(pull: Pull) -> list[Point]:
    """The points whose numbers count."""
    return [point for point in pull.points if point.columns["converged"]]


def rpm_of(point: Point) -> float:
    return float(point.columns["speed_rpm"])


def known(pull: Pull, column: str) -> list[Point]:
    """The settled points that have a value in a column."""
    return [point for point in settled(pull) if point.columns[column] is not None]


def highest(pull: Pull, column: str) -> Point | None:
    """The settled point with the highest value in a column; None where none has one."""
    return max(known(pull, column), key=lambda point: point.columns[column], default=None)


def least(pull: Pull, column: str) -> Point | None:
    """The settled point with the lowest value in a column; None where none has one."""
    return min(known(pull, column), key=lambda point: point.columns[column], default=None)


def spans(pull: Pull, holds: Callable[[Point], bool]) -> str:
    """Where in the pull something holds: "at 2000 rpm", "from 2000 to 3500 rpm and at 5000 rpm"."""
    runs: list[list[float]] = []
    before = False
    for point in settled(pull):
        now = holds(point)
        if now and before:
            runs[-1].append(rpm_of(point))
        elif now:
            runs.append([rpm_of(point)])
        before = now
    told = [f"from {run[0]:.0f} to {run[-1]:.0f} rpm" if len(run) > 1 else f"at {run[0]:.0f} rpm" for run in runs]
    return " and ".join([", ".join(told[:-1]), told[-1]]) if len(told) > 1 else "".join(told)


def run_working(title: str, point: Point, model: str, page: str, *columns: str) -> str:
    """A working: the model and the run's numbers at one point."""
    lines = [title, f"model: {model}", f"at {rpm_of(point):.0f} rpm:"]
    lines += [f"  {name} = {point.columns[name]:.6g}" for name in columns if point.columns[name] is not None]
    return "\n".join([*lines, f"Source: theory, {page}"])


def judged(question: Question, value: float, where: str, working: str) -> Iterator[Finding]:
    for one in judge(question, [Item("", value, where=where)]):
        yield replace(one, working=working)
