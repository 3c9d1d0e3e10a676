"""What faults of compressor and turbine maps share: place, wording, efficiencies in percent or fraction."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from spoolwright import units
from spoolwright.sheet.faults import Fault, SheetFaults
from spoolwright.sheet.tables import Table

BEST_EFFICIENCY = 0.88  # no turbocharger wheel is better
LEAST_BEST = 0.20  # a map whose best point is worse is misread
LEAST = 0.02  # an efficiency below is one in the wrong unit


def fault(table: Table, row: int | None, column: str, message: str) -> Fault:
    """A fault in a row (from 0) of a table, or in the whole of it."""
    return Fault(table.file, 0 if row is None else table.row_lines[row], column, message)


def refuse(faults: Iterable[Fault]) -> None:
    """Raise all faults at once, if there are any."""
    found = list(faults)
    if found:
        raise SheetFaults(found)


def rpm(speed: float) -> str:
    """A shaft speed as text."""
    return units.show(speed, "rotational_speed", "rpm", 6)


def first_row(table: Table, speed: float) -> int:
    """Row (from 0) at which the line of this speed begins."""
    return table.columns["speed"].index(speed)


def efficiency_faults(table: Table) -> list[Fault]:
    """The first that is wrong with the efficiencies: their unit, percent mixed with fraction, the impossible."""
    values = np.array(table.columns["efficiency"])
    high, low = int(np.argmax(values)), int(np.argmin(values))
    best, least = float(values[high]), float(values[low])
    mixed = "percent and fraction are mixed"
    if best > 1.5 and least <= 1.0:
        text = f"{best:g} stands among fractions such as {least:g}; {mixed}, write 72 under [%] or 0.72 without a unit"
    elif best > 1.5:
        text = f'{best:g} is percent without its unit; head the column "efficiency [%]"'
    elif best <= LEAST:
        text = f'{100 * best:g} % is the best under a percent head; fractions have no unit, head it "efficiency"'
    elif least <= LEAST:
        text = f"{100 * least:.3g} % stands beside {100 * best:.3g} %; {mixed}, or that point has none: leave it out"
        return [fault(table, low, "efficiency", text)]
    elif best > BEST_EFFICIENCY:
        most = f"at most {100 * BEST_EFFICIENCY:.0f} %"
        text = f"{100 * best:.3g} % is better than any machine of this size ({most}); check the column"
    elif best < LEAST_BEST:
        text = (
            f"{100 * best:.3g} % is the best of the table; below {100 * LEAST_BEST:.0f} % it is misread, check its unit"
        )
    else:
        return []
    return [fault(table, high, "efficiency", text)]
