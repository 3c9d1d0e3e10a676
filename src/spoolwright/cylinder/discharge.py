"""Discharge of a port with its valves, from a flow bench at any test depression.

Coefficients are on the curtain area pi D L over lift/diameter, in the port's own direction and against it.
The steady coefficient is used in pulsating flow, the usual assumption.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spoolwright.constants import CP_AIR, R_AIR
from spoolwright.cylinder.lift import MOST_LIFT_PER_DIAMETER
from spoolwright.errors import BadInput
from spoolwright.flow.nozzle import nozzle_flux

Array = NDArray[np.float64]


class Discharge(NamedTuple):
    """Coefficient of discharge on the curtain area over lift/diameter; constant below the first point."""

    lift_per_diameter: Array
    forward: Array
    reverse: Array


class Bench(NamedTuple):
    """One direction of a flow-bench sheet."""

    lift: ArrayLike  # m
    flow: ArrayLike  # m3/s, all valves of the port together, at the upstream state
    depression: float  # Pa, test pressure difference


def _coefficients(name: str, bench: Bench, diameter: float, count: int, p: float, T: float) -> tuple[Array, Array]:
    lift, flow = np.asarray(bench.lift, float), np.asarray(bench.flow, float)
    if lift.ndim != 1 or lift.shape != flow.shape or lift.size < 3:
        raise BadInput(f"{name}: the bench table has {lift.size} lifts and {flow.size} flows; give at least 3 pairs.")
    if not (np.all(np.isfinite(lift)) and np.all(np.isfinite(flow))):
        raise BadInput(f"{name}: the bench table has an empty field; fill or remove that line.")
    if not np.all(np.diff(lift) > 0.0):
        raise BadInput(f"{name}: lifts of the bench table must rise from line to line; sort them.")
    if lift[0] == 0.0:
        lift, flow = lift[1:], flow[1:]
    if lift[0] < 0.0 or np.any(flow <= 0.0):
        raise BadInput(f"{name}: lift and flow of the bench table must be positive (a line at zero lift is left out).")
    if lift[-1] > MOST_LIFT_PER_DIAMETER * diameter:
        raise BadInput(
            f"{name}: the bench table goes to {1e3 * lift[-1]:g} mm for a valve of {1e3 * diameter:g} mm; "
            "check the unit of lift."
        )
    if not 100.0 <= bench.depression <= 0.4 * p:
        raise BadInput(
            f"{name}: a test depression of {bench.depression:g} Pa is outside 100 Pa to {0.4 * p:.0f} Pa; "
            "check its unit."
        )
    ideal = nozzle_flux(p, T, R_AIR, CP_AIR, p - bench.depression)
    mass_flow = p / (R_AIR * T) * flow
    cd = mass_flow / (ideal * np.pi * diameter * lift * count)
    if cd.max() > 1.05 or cd.max() < 0.05:
        k = int(np.argmax(cd))
        raise BadInput(
            f"{name}: {flow[k]:.4g} m3/s at {1e3 * lift[k]:g} mm lift would be {cd[k]:.3g} times the flow of an ideal "
            "opening; at most 1 is possible and at least 0.05 usual, check the units of flow, lift and depression."
        )
    return lift / diameter, cd


def discharge_from_bench(
    name: str,
    diameter: float,
    forward: Bench,
    reverse: Bench | None = None,
    count: int = 1,
    p: float = 101325.0,
    T: float = 293.15,
) -> Discharge:
    """Coefficients from a flow bench at any test depression.

    diameter : float [m], valve head; count : number of equal valves that were open together;
    p, T : float [Pa, K], upstream of the valve during the test. Without ``reverse`` the forward
    coefficients serve both ways.

    Raises
    ------
    BadInput : a table that is not one, or figures that must be in another unit.
    """
    x, cd = _coefficients(f"{name} forward", forward, diameter, count, p, T)
    if reverse is None:
        return Discharge(x, cd, cd.copy())
    x_back, cd_back = _coefficients(f"{name} reverse", reverse, diameter, count, p, T)
    if x_back[-1] < x[-1] - 1e-9:
        raise BadInput(f"{name}: the reverse bench table ends below the forward one; measure both to the same lift.")
    return Discharge(x, cd, np.interp(x, x_back, cd_back))


def assumed_discharge(kind: str) -> Discharge:
    """Coefficients for a valve never put on a bench: ``intake`` or ``exhaust``, plain street ports.

    Textbook size at small lift, 0.65 on the curtain (from memory); above a fifth of the diameter the port limits:
    an unworked production intake port passes about 65 cfm at 28 inH2O for each square inch of valve head, a worked
    one 75, an exhaust 80 (common practice of flow benches, no source). To be listed as assumed, worth 10 % of
    flow either way.
    """
    x = np.array([0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.60])
    if kind == "intake":
        cd = np.array([0.65, 0.65, 0.60, 0.52, 0.45, 0.385, 0.29, 0.195])
        return Discharge(x, cd, 0.93 * cd)
    if kind == "exhaust":
        cd = np.array([0.66, 0.64, 0.60, 0.55, 0.50, 0.45, 0.36, 0.24])
        return Discharge(x, cd, 0.93 * cd)
    raise BadInput(f"discharge: kind {kind!r} is unknown; write intake or exhaust.")
