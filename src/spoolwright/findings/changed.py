"""What changed between two runs: the values of the sheet that differ, and what that gave at the same speeds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from spoolwright.constants import ZERO_CELSIUS
from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Pull
from spoolwright.findings.pull_reading import rpm_of, settled
from spoolwright.sheet import Sheet
from spoolwright.sheet.typed import text_at


@dataclass(frozen=True)
class ChangedValue:
    """A value of the sheet that differs: its path, and the text as typed on both sides (empty: none stood)."""

    path: str
    before: str
    after: str


@dataclass(frozen=True)
class ChangedResult:
    """A result at one speed [rpm] of both runs, in the column's unit (temperatures in °C)."""

    name: str
    speed_rpm: float
    unit: str
    digits: int
    before: float
    after: float

    @property
    def share(self) -> float | None:
        """The change over what was; None where nothing was, or for temperatures, whose zero means nothing."""
        if self.unit == "°C" or self.before == 0.0:
            return None
        return (self.after - self.before) / abs(self.before)


def values(before: Sheet, after: Sheet) -> list[ChangedValue]:
    """The values that differ in what they mean; the same length in another unit is no change."""
    paths = [*after.entries, *(path for path in before.entries if path not in after.entries)]
    found = []
    for path in paths:
        old, new = before.entries.get(path), after.entries.get(path)
        spec = new or old
        if spec is not None and spec.field.remark:
            continue
        same = (
            old is not None
            and new is not None
            and (old.si, old.content, old.quantities and [q.plus for q in old.quantities])
            == (
                new.si,
                new.content,
                new.quantities and [q.plus for q in new.quantities],
            )
        )
        if not same:
            found.append(ChangedValue(path, text_at(before, path), text_at(after, path)))
    return found


# Which columns are told, where: at the speed at which the later run has most of it, or of another column.
_TOLD = (
    ("torque_Nm", "torque_Nm"),
    ("power_kW", "power_kW"),
    ("boost_kPa", "power_kW"),
    ("drive_pressure_ratio", "power_kW"),
    ("turbo_speed_rpm", "turbo_speed_rpm"),
    ("volumetric_efficiency", "torque_Nm"),
    ("peak_pressure_MPa", "peak_pressure_MPa"),
    ("knock_integral", "knock_integral"),
    ("charge_temperature_K", "power_kW"),
    ("manifold_temperature_K", "power_kW"),
    ("primary_temperature_K", "primary_temperature_K"),
    ("fuel_flow_kg_s", "power_kW"),
)


SIDE_BY_SIDE = (
    "torque_Nm",
    "power_kW",
    "boost_kPa",
    "knock_integral",
)  # columns held against each other speed by speed


@dataclass(frozen=True)
class Pair:
    """One column at one speed in both runs, in its own unit; None where a run has no result there."""

    before: float | None
    after: float | None

    @property
    def difference(self) -> float | None:
        """After less before; None where one is missing."""
        return None if self.before is None or self.after is None else self.after - self.before


def side_by_side(before: Pull, after: Pull) -> list[tuple[float, dict[str, Pair]]]:
    """Each speed [rpm] of either run with the pairs of SIDE_BY_SIDE; columns that neither run has are left out."""
    old, new = ({rpm_of(point): point.columns for point in settled(pull)} for pull in (before, after))
    rows = []
    for speed in sorted({*map(rpm_of, before.points), *map(rpm_of, after.points)}):
        a, b = old.get(speed, {}), new.get(speed, {})
        rows.append((speed, {name: Pair(a.get(name), b.get(name)) for name in SIDE_BY_SIDE}))
    told = [name for name in SIDE_BY_SIDE if any(p[name].before or p[name].after for _, p in rows)]
    return [(speed, {name: pairs[name] for name in told}) for speed, pairs in rows]


def results(before: Pull, after: Pull) -> list[ChangedResult]:
    """The results that are told, each at one speed that settled in both runs; none where no speed did."""
    return list(_results(before, after))


def _results(before: Pull, after: Pull) -> Iterator[ChangedResult]:
    old = {rpm_of(point): point for point in settled(before)}
    both = [point for point in settled(after) if rpm_of(point) in old]
    if not both:
        return
    told = [*_TOLD, ("torque_Nm", "lowest speed")]
    for name, where in told:
        if name not in COLUMNS or where not in (*COLUMNS, "lowest speed"):
            continue
        known = [p for p in both if p.columns.get(name) is not None and old[rpm_of(p)].columns.get(name) is not None]
        if not known:
            continue
        if where == "lowest speed":
            point = min(known, key=rpm_of)
        else:
            point = max(known, key=lambda one: one.columns.get(where) or 0.0)
        column, speed = COLUMNS[name], rpm_of(point)
        shift = ZERO_CELSIUS if column.unit == "K" else 0.0
        unit = "°C" if column.unit == "K" else column.unit
        pair = (old[speed].columns[name] - shift, point.columns[name] - shift)
        yield ChangedResult(column.title, speed, unit, column.digits, *pair)
