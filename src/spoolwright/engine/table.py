"""A pull and a trace as tables: one row a speed or a step, units in the columns' names."""

from __future__ import annotations

from typing import TYPE_CHECKING

from spoolwright.engine.columns import COLUMNS
from spoolwright.engine.pull import Pull
from spoolwright.engine.trace import Trace

if TYPE_CHECKING:
    import polars


def table(pull: Pull) -> polars.DataFrame:
    """The pull as a Polars table: float64 columns, ``cycles`` whole, ``converged`` true or false, null where none."""
    import polars

    kinds = {"cycles": polars.Int64, "converged": polars.Boolean}
    schema = {name: kinds.get(name, polars.Float64) for name in COLUMNS}
    rows = [[point.columns[name] for name in COLUMNS] for point in pull.points]
    return polars.DataFrame(rows, schema=schema, orient="row")


def trace_table(trace: Trace) -> polars.DataFrame:
    """A traced cycle, one row a step: engine angle, each cylinder's own angle and state, valve flows, ducts; SI."""
    import polars

    columns = {"angle_deg": trace.theta}
    for k in range(len(trace.phase)):
        own = (trace.theta - trace.phase[k] + 360.0) % 720.0 - 360.0
        columns[f"cylinder_{k + 1}_angle_deg"] = own
        columns[f"cylinder_{k + 1}_pressure_Pa"] = trace.p[k]
        columns[f"cylinder_{k + 1}_temperature_K"] = trace.T[k]
        columns[f"cylinder_{k + 1}_volume_m3"] = trace.V[k]
        columns[f"cylinder_{k + 1}_intake_flow_kg_s"] = trace.valve_flow(k, intake=True)
        columns[f"cylinder_{k + 1}_exhaust_flow_kg_s"] = trace.valve_flow(k, intake=False)
    for probe in trace.probes:
        columns[f"{probe.duct} pressure_Pa"] = probe.p
        columns[f"{probe.duct} velocity_m_s"] = probe.u
    return polars.DataFrame(columns)
