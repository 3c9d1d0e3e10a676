"""Findings of the sheet itself: likely slips, unusual values, one measure for several cylinders, limits not set."""

from __future__ import annotations

from collections.abc import Iterator

from spoolwright import units
from spoolwright.findings.model import Finding
from spoolwright.sheet import Sheet
from spoolwright.sheet.model import Entry
from spoolwright.sums.doubts import odd_ones

# Measures that differ from cylinder to cylinder in any real engine.
ONE_FOR_ALL = ("cylinders.chamber", "cylinders.dish", "cylinders.deck", "cylinders.bore")
LIMITS = (
    "max_oil_temperature",
    "min_oil_pressure",
    "max_charge_temperature",
    "max_cylinder_pressure",
    "max_piston_speed",
    "max_ratio",
    "min_squish",
    "min_intake_to_piston",
    "min_exhaust_to_piston",
    "leanest_mixture",
    "joint_safety",
)


def decimal_points(sheet: Sheet) -> Iterator[Finding]:
    """A value ten or a hundred times its fellows in a row of like measurements."""
    for path, entry in sheet.entries.items():
        if entry.field.numeric and len(entry.quantities) >= 3 and not entry.one:
            for asked in odd_ones(path, entry.quantities):
                yield Finding(
                    "likely slip",
                    "watch",
                    f"{asked}",
                    path,
                    resting_on=f"the other values beside it, {sheet.where(path)}",
                    change_first="Measure it again, or move the point.",
                )


def unusual(sheet: Sheet) -> Iterator[Finding]:
    """A value outside what is plausible for its field, with the likely slip."""
    for path, entry in sheet.entries.items():
        if entry.field.numeric and entry.field.plausible_si and not entry.assumed:
            yield from _unusual(sheet, path, entry)


def _unusual(sheet: Sheet, path: str, entry: Entry) -> Iterator[Finding]:
    assert entry.field.plausible_si is not None
    low, high = entry.field.plausible_si
    told = set()
    for one, value in zip(entry.quantities, entry.si, strict=True):
        if low <= value <= high or one.text in told or entry.field.event:
            continue
        told.add(one.text)
        slips = units.likely_slips(one, low, high)
        reason = f" {slips[0][:1].upper()}{slips[0][1:]}." if slips else " Check the value and its unit."
        below = value < low
        side = "below" if below else "above"
        bound = entry.field.plausible.split("..")[0 if below else 1]
        yield Finding(
            "unusual value",
            "watch",
            f"{path} is {one.text}, {side} the usual {bound} of {entry.field.meaning}.{reason}",
            path,
            entry.field.kind,
            value,
            one.text,
            low if below else high,
            bound,
            resting_on="the range usual for this field",
            change_first=f"Look at {sheet.where(path)} again.",
        )


def one_for_all(sheet: Sheet) -> Iterator[Finding]:
    """One value written where each cylinder has its own."""
    if sheet.cylinder_count == 1:
        return
    single = [path for path in ONE_FOR_ALL if sheet.has(path) and sheet.entries[path].one]
    if single:
        names = ", ".join(path.rpartition(".")[2] for path in single)
        yield Finding(
            "measured once",
            "not measured",
            f"One value stands for all {sheet.cylinder_count} cylinders: {names}. The cylinder with "
            "the highest ratio decides, and it may be one of those not measured.",
            single[0],
            change_first="Measure each cylinder and write the values as a list.",
        )


def limits_open(sheet: Sheet) -> Iterator[Finding]:
    """Limits of the builder that are not set; what hangs on them cannot be held against anything."""
    open_ones = [name for name in LIMITS if not sheet.has(f"limits.{name}")]
    if sheet.has("cooling.fan") and not sheet.has("limits.fan_safety"):
        open_ones.append("fan_safety")
    if open_ones:
        yield Finding(
            "limits not set",
            "not measured",
            f"Not given in [limits]: {', '.join(open_ones)}.",
            f"limits.{open_ones[0]}",
            change_first="Set your own; a habit of the trade stands in where there is one.",
        )


JUDGES = {
    "likely slip": decimal_points,
    "unusual value": unusual,
    "measured once": one_for_all,
    "limits not set": limits_open,
}
