"""Fit of a measured compressor map: four numbers a speed line for the head, a smooth curve for the work.

Each line on its own: phi_c, phi_s, psi_s, n of psi = psi_s (1 - x^n); the residual weighs the flat part by
pressure and the steep part by flow, so that neither end rules. The work lambda = psi/eta is a cubic over phi/phi_c
with its second differences held small; below the measured flows it runs on straight with the recirculation's work
added, beyond them it is level. Between the lines: PCHIP over tip Mach number (``compressor_table``).

Corrected flow and speed mean: what the map would show with inlet air at the reference state. So the dimensionless
numbers follow from the reference state alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.optimize import least_squares

from spoolwright.boost.compressor_table import Lines
from spoolwright.boost.rows import WORK_KNOTS, WORK_STEP, Floats
from spoolwright.constants import CP_AIR, GAMMA_AIR, R_AIR

LEAST_POINTS = 4  # on one line: as many as it has numbers
PRESSURE_WEIGHT = FLOW_WEIGHT = 0.02  # share of head and of flow that count as one error
PEAK_AT, PEAK_BAND = 0.95, 0.25  # where the peak is looked for, over the first point's flow, and how loosely
STRAIGHTNESS = 0.02  # weight of the work's second differences against its relative errors
RECIRCULATION = (
    0.30  # work added at zero flow by recirculation, falling to none at the surge line; usual size, from memory
)
_RAIL = 1e-9


class MapLine(NamedTuple):
    """One measured line at the reference state: speed [rad/s]; flow [kg/s] rising, pressure ratio, efficiency [-]."""

    speed: float
    flow: Floats
    pressure_ratio: Floats
    efficiency: Floats


class Reference(NamedTuple):
    """Air the map is corrected to: T [K], p [Pa]."""

    T: float
    p: float


class FitError(NamedTuple):
    """Distance of the table's points from the fit, as shares.

    Along pressure ratio (of the power for the work) or along flow, whichever is nearer: rms and greatest, and by line.
    """

    head_rms: float
    head_most: float
    work_rms: float
    work_most: float
    head_by_line: Floats
    work_by_line: Floats


class CompressorFit(NamedTuple):
    lines: Lines
    error: FitError


class _Points(NamedTuple):
    M: float
    phi: Floats
    psi: Floats
    work: Floats


def dimensionless(line: MapLine, diameter: float, reference: Reference) -> _Points:
    """M, phi, psi and lambda of a measured line for a wheel of this diameter [m]."""
    U = 0.5 * line.speed * diameter
    k = 1.0 - 1.0 / GAMMA_AIR
    psi = CP_AIR * reference.T * (np.asarray(line.pressure_ratio) ** k - 1.0) / U**2
    phi = np.asarray(line.flow) / (reference.p / (R_AIR * reference.T) * diameter**2 * U)
    return _Points(U / np.sqrt(GAMMA_AIR * R_AIR * reference.T), phi, psi, psi / np.asarray(line.efficiency))


def fit_compressor(lines: list[MapLine], diameter: float, reference: Reference) -> CompressorFit:
    """Speed lines of a wheel from its map, lines by rising speed, at least LEAST_POINTS points on each."""
    points = [dimensionless(line, diameter, reference) for line in lines]
    head = np.array([_fit_head(p.phi, p.psi) for p in points])
    work = np.array([_fit_work(p.phi / h[0], p.work) for p, h in zip(points, head, strict=True)])
    first = np.array([p.phi[0] for p in points])
    fitted = Lines(np.array([p.M for p in points]), head[:, 0], head[:, 1], head[:, 2], head[:, 3], first, work)
    return CompressorFit(fitted, _error(points, fitted, reference))


def line_head(phi: Floats, phi_choke: float, phi_peak: float, psi_peak: float, power: float) -> tuple[Floats, Floats]:
    """psi of a line and its slope, level left of the peak."""
    x = np.maximum((phi - phi_peak) / (phi_choke - phi_peak), _RAIL)
    return psi_peak * (1.0 - x**power), -psi_peak * power * x ** (power - 1.0) / (phi_choke - phi_peak)


def _fit_head(phi: Floats, psi: Floats) -> Floats:
    """phi_choke, phi_peak, psi_peak, power of one line."""

    def residual(v: Floats) -> Floats:
        fitted, slope = line_head(phi, *v)
        miss = (fitted - psi) / np.hypot(PRESSURE_WEIGHT * v[2], FLOW_WEIGHT * slope * phi)
        return np.r_[miss, (v[1] / phi[0] - PEAK_AT) / PEAK_BAND]

    top = float(psi.max())
    low = [phi[-1] * 1.0005, 0.6 * phi[0], 0.8 * top, 1.2]
    high = [phi[-1] * 1.6, min(1.3 * phi[0], 0.8 * phi[-1]), 1.25 * top, 14.0]
    best = None
    for power in (2.5, 6.0):
        start = np.clip([phi[-1] * 1.03, 0.95 * phi[0], top, power], np.array(low) * 1.001, np.array(high) * 0.999)
        found = least_squares(residual, start, bounds=(low, high), x_scale=start, loss="soft_l1")
        if best is None or found.cost < best.cost:
            best = found
    assert best is not None
    return np.asarray(best.x)


def work_basis(z: Floats) -> Floats:
    """Weights (points, WORK_KNOTS) of the knots at z = phi/phi_choke: the kernel's cubic, linear in the knots."""
    rows = np.zeros((len(z), WORK_KNOTS))
    for r, s in enumerate(np.clip(np.asarray(z) / WORK_STEP, 0.0, WORK_KNOTS - 1.0)):
        j = min(int(s), WORK_KNOTS - 2)
        t = s - j
        rows[r, j] += 1.0 - t * t * (3.0 - 2.0 * t)
        rows[r, j + 1] += t * t * (3.0 - 2.0 * t)
        from_left, from_right = t * (1.0 - t) ** 2, -t * t * (1.0 - t)
        if j > 0:
            rows[r, j + 1] += 0.5 * from_left
            rows[r, j - 1] -= 0.5 * from_left
        if j + 2 < WORK_KNOTS:
            rows[r, j + 2] += 0.5 * from_right
            rows[r, j] -= 0.5 * from_right
    return rows


def _fit_work(z: Floats, work: Floats) -> Floats:
    """lambda at the knots of one line."""
    at = np.arange(WORK_KNOTS) * WORK_STEP
    weight = STRAIGHTNESS / float(np.mean(work)) * np.sqrt(len(z))
    straight = np.diff(np.eye(WORK_KNOTS), n=2, axis=0)[at[2:] < z[-1] + WORK_STEP] * weight
    level = np.diff(np.eye(WORK_KNOTS), axis=0)[at[1:] >= z[-1] + WORK_STEP]
    smooth = np.r_[straight, level]
    basis, scale = work_basis(z), work
    for _ in range(3):  # the steep end is weighed by flow: its slope comes from the round before
        sides = np.r_[work / scale, np.zeros(len(smooth))]
        knots = np.linalg.lstsq(np.r_[basis / scale[:, None], smooth], sides, rcond=None)[0]
        scale = np.hypot(work, work_slope(z, knots) * z)
    lost = np.clip(1.0 - at / z[0], 0.0, None)
    return np.maximum(knots, 0.2 * float(work.min())) + RECIRCULATION * lost**2


def work_slope(z: Floats, knots: Floats) -> Floats:
    """d lambda / dz of a line's work, by difference."""
    step = 1e-4
    return np.asarray((work_basis(z + step) - work_basis(z - step)) @ knots / (2.0 * step))


def _error(points: list[_Points], lines: Lines, reference: Reference) -> FitError:
    head, work = [], []
    for k, p in enumerate(points):
        psi, slope = line_head(p.phi, lines.phi_choke[k], lines.phi_peak[k], lines.psi_peak[k], lines.power[k])
        # In pressure ratio, as the user reads it; the step 1 + psi U^2/cp T is (gamma - 1) M^2 psi.
        scale, power = (GAMMA_AIR - 1.0) * p.M**2, GAMMA_AIR / (GAMMA_AIR - 1.0)
        ratio = (1.0 + scale * np.maximum(psi, -0.9 / scale)) ** power
        table = (1.0 + scale * p.psi) ** power
        along_flow = ratio * power * scale * slope / (1.0 + scale * psi) * p.phi
        head.append((ratio - table) / np.hypot(table, along_flow))
        z = p.phi / lines.phi_choke[k]
        missed = work_basis(z) @ lines.work[k] - p.work
        work.append(missed / np.hypot(p.work, work_slope(z, lines.work[k]) * z))
    all_head, all_work = np.concatenate(head), np.concatenate(work)
    return FitError(
        _rms(all_head),
        float(np.abs(all_head).max()),
        _rms(all_work),
        float(np.abs(all_work).max()),
        np.array([_rms(e) for e in head]),
        np.array([_rms(e) for e in work]),
    )


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))
