"""The compressor map for a picture: speed lines, efficiency, surge and choke line at the map's reference state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spoolwright.boost.compressor import compressor_head
from spoolwright.boost.compressor_fit import FitError
from spoolwright.boost.compressor_roots import choke_flow, surge_point
from spoolwright.boost.rows import K_M_HIGH, K_M_LOW, Floats
from spoolwright.constants import CP_AIR, GAMMA_AIR, R_AIR
from spoolwright.engine.turbo import Turbo, turbo
from spoolwright.sheet import Sheet

POINTS = 41  # along a line
CHOKE_SHARE = 0.97  # of choke flow: the line drawn as choke
SPEED_STEP = 10_000.0  # rpm, lines of an estimated map


@dataclass(frozen=True)
class SpeedLine:
    """One line from surge to choke: corrected speed [rpm]; corrected flow [kg/s], pressure ratio, efficiency [-]."""

    speed_rpm: float
    flow: Floats
    pressure_ratio: Floats
    efficiency: Floats


@dataclass(frozen=True)
class CompressorMapPicture:
    """Everything at the reference state ``T`` [K], ``p`` [Pa].

    lines : the map's own speeds (round speeds where it is estimated); fine : many lines for islands of efficiency
    surge, choke : (n, 2) corrected flow [kg/s] and pressure ratio
    measured : (n, 4) the table's points: speed [rpm], flow [kg/s], pressure ratio, efficiency; None where estimated
    top_speed_rpm : limit of the wheel as corrected speed
    """

    T: float
    p: float
    lines: tuple[SpeedLine, ...]
    fine: tuple[SpeedLine, ...]
    surge: Floats
    choke: Floats
    measured: Floats | None
    top_speed_rpm: float
    estimated: bool
    error: FitError | None


def map_of(sheet: Sheet) -> CompressorMapPicture | None:
    """Picture of the sheet's compressor map; None without a turbocharger."""
    machines = turbo(sheet)
    return None if machines is None else picture(sheet, machines)


def picture(sheet: Sheet, machines: Turbo) -> CompressorMapPicture:
    """Picture of the compressor map of machines already made from the sheet."""
    sizes = machines.compressor.sizes
    to_speed = 2.0 * np.sqrt(GAMMA_AIR * R_AIR * machines.reference.T) / sizes[0]
    low, high = sizes[K_M_LOW] * to_speed, sizes[K_M_HIGH] * to_speed
    measured = _measured(sheet) if machines.compressor_fit is not None else None
    if measured is None:
        top = min(high, machines.speed_limit) * 30.0 / np.pi
        rpm = np.arange(np.ceil(low * 30.0 / np.pi / SPEED_STEP), top / SPEED_STEP) * SPEED_STEP
    else:
        rpm = np.unique(measured[:, 0])
    speeds = np.linspace(low, high, 60)
    surge = np.array([_surge(machines, w) for w in speeds])
    fine = tuple(_line(machines, w) for w in speeds)
    return CompressorMapPicture(
        T=machines.reference.T,
        p=machines.reference.p,
        lines=tuple(_line(machines, w * np.pi / 30.0) for w in rpm),
        fine=fine,
        surge=surge,
        choke=np.array([(line.flow[-1], line.pressure_ratio[-1]) for line in fine]),
        measured=measured,
        top_speed_rpm=machines.speed_limit * 30.0 / np.pi,
        estimated=machines.compressor_fit is None,
        error=None if machines.compressor_fit is None else machines.compressor_fit.error,
    )


def _measured(sheet: Sheet) -> Floats:
    columns = sheet.table("charge.compressor.map").columns
    named = [np.array(columns[name]) for name in ("speed", "flow", "pressure_ratio", "efficiency")]
    named[0] = named[0] * 30.0 / np.pi
    return np.column_stack(named)


def _surge(machines: Turbo, omega: float) -> tuple[float, float]:
    sizes, lines = machines.compressor
    p, T = machines.reference.p, machines.reference.T
    flow, p2 = surge_point(sizes, lines, omega, p, T, R_AIR, CP_AIR)
    return flow, p2 / p


def _line(machines: Turbo, omega: float) -> SpeedLine:
    sizes, lines = machines.compressor
    p, T = machines.reference.p, machines.reference.T
    last = CHOKE_SHARE * choke_flow(sizes, lines, omega, p, T, R_AIR, CP_AIR)
    flow = np.linspace(_surge(machines, omega)[0], last, POINTS)
    ratio, eta = np.empty(POINTS), np.empty(POINTS)
    for k, m in enumerate(flow):
        p2, dh0, _ = compressor_head(sizes, lines, omega, m, p, T, R_AIR, CP_AIR)
        ratio[k] = p2 / p
        eta[k] = CP_AIR * T * (ratio[k] ** (1.0 - 1.0 / GAMMA_AIR) - 1.0) / dh0
    return SpeedLine(float(omega * 30.0 / np.pi), flow, ratio, eta)
