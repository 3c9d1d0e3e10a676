"""From parameters of a few speed lines to the table the compressor kernels read.

Monotone cubic (PCHIP) over tip Mach number, once; the kernels then read rows at equal steps with their slopes.
Below the slowest line every coefficient runs as a + b M^2 (at low Mach number all become constants), within 15 % of its
last value. Above the fastest it soon levels out; for choke the corrected flow M phi does (a choked inlet passes no
more).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.interpolate import PchipInterpolator

from spoolwright.boost.rows import (
    K_AREA_OVER_LENGTH,
    K_CHOKED,
    K_DIAMETER,
    K_LIMITER,
    K_M_HIGH,
    K_M_LOW,
    K_M_STEP,
    K_REVERSE,
    K_SHUT_OFF,
    K_SPEED_LIMIT,
    LINE_PHI_CHOKE,
    LINE_PHI_PEAK,
    LINE_PHI_SURGE,
    LINE_POWER,
    LINE_PSI_PEAK,
    LINE_ROWS,
    LINE_WORK,
    N_COMPRESSOR,
    N_LINE,
    N_LINE_COLUMNS,
    WORK_KNOTS,
    Floats,
)
from spoolwright.constants import GAMMA_AIR

SHUT_OFF = 0.8  # head at zero flow over the peak's: a usual figure, from memory
REVERSE = 1.0  # rise of head in reverse flow, in peaks at one peak flow backwards; usual size, from memory
LIMITER = 0.03  # head over the peak's at which the limiter shuts the flow; numerical, not physical

RUN_OUT = 0.15  # of the fastest line's M: there every coefficient is level
MOST_BELOW, MOST_ABOVE = 0.15, 0.08  # most a coefficient moves outside the measured lines, as a share

# A wheel at rest passes half its greatest corrected flow when the pressure falls to half: published survey of 305
# automotive maps, choking at standstill. It sets the quadratic loss beyond choke.
STANDSTILL_RATIO = 0.5
STANDSTILL_SHARE = 0.5


class Lines(NamedTuple):
    """Speed lines by rising tip Mach number: one value a line, work (lines, WORK_KNOTS)."""

    M: Floats
    phi_choke: Floats
    phi_peak: Floats
    psi_peak: Floats
    power: Floats
    phi_surge: Floats
    work: Floats


class Compressor(NamedTuple):
    """The two arrays the kernels read."""

    sizes: Floats
    lines: Floats


def choked_loss(lines: Lines) -> float:
    """Quadratic loss beyond choke [-] that meets the survey's figures for the wheel at rest."""
    fastest = float(np.max(lines.M * lines.phi_choke))  # greatest flow over rho01 a01 D^2
    head = (1.0 - STANDSTILL_RATIO ** (1.0 - 1.0 / GAMMA_AIR)) / (GAMMA_AIR - 1.0)  # ideal, over a01^2
    span = float(lines.phi_choke[0] - lines.phi_peak[0])
    return head / float(lines.psi_peak[0]) * (span / (STANDSTILL_SHARE * fastest)) ** 2


def tabulate(
    lines: Lines, diameter: float, speed_limit: float, area_over_length: float, M_most: float = 0.0
) -> Compressor:
    """Arrays of a compressor from its speed lines.

    diameter [m] of the wheel at the outlet; speed_limit [rad/s]; area_over_length [m] of the gas passage;
    M_most : tip Mach number the table must reach; a fifth above the fastest line when that is more.
    """
    M = np.asarray(lines.M, float)
    top = max(1.2 * M[-1], M_most)
    grid = np.linspace(0.0, top, LINE_ROWS)
    step = grid[1]
    table = np.zeros((LINE_ROWS, N_LINE_COLUMNS))
    columns = {
        LINE_PHI_CHOKE: lines.phi_choke,
        LINE_PHI_PEAK: lines.phi_peak,
        LINE_PSI_PEAK: lines.psi_peak,
        LINE_POWER: lines.power,
        LINE_PHI_SURGE: lines.phi_surge,
    } | {LINE_WORK + k: lines.work[:, k] for k in range(WORK_KNOTS)}
    for column, values in columns.items():
        table[:, column] = _extended(M, np.asarray(values, float), grid)
    beyond = grid > M[-1]  # choked: what levels out there is the corrected flow, in proportion to M phi
    table[beyond, LINE_PHI_CHOKE] = _extended(M, M * lines.phi_choke, grid)[beyond] / grid[beyond]
    # Above the fastest line the falling choke may not come down to the peak: the peak follows it.
    table[:, LINE_PHI_PEAK] = np.minimum(table[:, LINE_PHI_PEAK], 0.9 * table[:, LINE_PHI_CHOKE])
    for column in range(N_LINE):
        table[:, column + N_LINE] = level_ended_slopes(table[:, column])
    sizes = np.zeros(N_COMPRESSOR)
    sizes[K_DIAMETER] = diameter
    sizes[K_M_STEP] = step
    sizes[K_SHUT_OFF], sizes[K_REVERSE], sizes[K_LIMITER] = SHUT_OFF, REVERSE, LIMITER
    sizes[K_CHOKED] = choked_loss(lines)
    sizes[K_AREA_OVER_LENGTH] = area_over_length
    sizes[K_SPEED_LIMIT] = speed_limit
    sizes[K_M_LOW], sizes[K_M_HIGH] = M[0], M[-1]
    return Compressor(sizes, table)


def _extended(M: Floats, values: Floats, grid: Floats) -> Floats:
    """Monotone cubic through the lines; outside them it levels out from the slope it has at the end."""
    curve = PchipInterpolator(M, values)
    out = np.asarray(curve(np.clip(grid, M[0], M[-1])))
    # Below: a + b M^2 with the slope at the slowest line. Above: a parabola that is level after RUN_OUT M.
    first, last = (float(curve.derivative()(m)) for m in (M[0], M[-1]))
    drop = _within(0.5 * first * M[0], MOST_BELOW * abs(values[0]))
    below = grid < M[0]
    out[below] -= drop * (1.0 - (grid[below] / M[0]) ** 2)
    rise = _within(0.5 * last * RUN_OUT * M[-1], MOST_ABOVE * abs(values[-1]))
    t = np.clip((grid - M[-1]) / (RUN_OUT * M[-1]), 0.0, 1.0)
    return np.asarray(out + rise * t * (2.0 - t))


def _within(value: float, most: float) -> float:
    return min(max(value, -most), most)


def level_ended_slopes(values: Floats) -> Floats:
    """Slopes, times the step, of a cubic through equally spaced values: monotone where they are, level at the end."""
    at = np.arange(len(values), dtype=float)
    slopes = PchipInterpolator(at, values).derivative()(at)
    slopes[-1] = 0.0
    return np.asarray(slopes)
