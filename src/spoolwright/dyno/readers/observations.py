"""What the log itself shows at first sight, in words: the hottest head, fuel pressure over boost at start and end."""

from __future__ import annotations

import re

from spoolwright.dyno.log import Log


def observe(log: Log) -> list[str]:
    """Sentences about the readings; none about causes (those are for the diagnosis)."""
    out = []
    suspect = set(log.suspect_cells)
    heads: list[tuple[float, str]] = []
    for column in log.columns:
        if (
            column.role
            and re.fullmatch(r"head_temp_\d+", column.role)
            and column.converted
            and column.role not in suspect
        ):
            top = log.table[column.field].max()
            if isinstance(top, float):
                heads.append((top, column.role))
    if len(heads) > 1:
        heads.sort(reverse=True)
        number = heads[0][1].rsplit("_", 1)[1]
        out.append(
            f"head {number} is the hottest: {heads[0][0]:.0f} degC, {heads[0][0] - heads[1][0]:.0f} K above the next"
        )
    fuel, boost = log.column("fuel_pressure"), log.column("boost_gauge")
    numeric = fuel and boost and all(log.table[c.field].dtype.is_numeric() for c in (fuel, boost))
    if numeric and fuel and boost and fuel.converted and boost.converted:
        for segment in log.segments:
            rows = log.table.slice(segment.first_row, segment.rows).select(fuel.field, boost.field).drop_nulls()
            if rows.height < 10:
                continue
            over = (rows[fuel.field] - rows[boost.field].clip(0.0, None)).to_list()
            n = max(3, rows.height // 10)
            start, end = sorted(over[:n])[n // 2], sorted(over[-n:])[n // 2]
            if start - end > max(0.1 * abs(start), 3.0):
                out.append(
                    f"segment {segment.index}: fuel pressure over boost falls from {start:.1f} kPa "
                    f"to {end:.1f} kPa at the end"
                )
    return out
