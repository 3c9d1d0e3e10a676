"""Speed lines of a compressor nobody measured, from the two diameters of its wheel. Always to be marked as estimated.

    choke       wheel throat at Mach 1 in the rotating frame (Dixon and Hall, Fluid Mechanics and Thermodynamics of
                Turbomachinery, centrifugal compressors): m = A rho01 a01 [(2 + (g-1) M1^2) / (g+1)]^((g+1)/(2(g-1)))
    low speed   head vanishes where the inducer has no incidence left: phi_0 in proportion to its area and radius
    work        lambda = slip - phi_2 tan(backsweep) + windage, slip factor 1 - 0.63 pi/Z (Stanitz, 1952)
    efficiency  best polytropic value over flow coefficient and tip Mach number after Casey and Robinson:
                0.86 (1 - 27 d^2 - 5000 d^4), d = 0.08 - phi below, 0.86 (1 - 10 d^2) above, less 0.05 P + 3 P^2 with
                P = phi (M - 0.8) above M = 0.8; constants seen second hand in public code; then a loss for small wheels
    lines       the form of ``compressor``; surge share, steepness and the proportions of the wheel: usual figures

The paper of Casey and Robinson (J. Turbomachinery 135, 2013) claims 2 % for maps calibrated to one family; this
estimate has no such calibration and its accuracy is NOT checked. From memory, without a source: hub and throat share,
backsweep, outlet width, surge share, steepness, the exponent of size. Expect 10 % in flow, 5 points in efficiency,
more at surge.
"""

from __future__ import annotations

from math import pi, radians, tan

import numpy as np

from spoolwright.boost.compressor_table import Lines
from spoolwright.boost.rows import WORK_KNOTS, WORK_STEP, Floats
from spoolwright.constants import GAMMA_AIR

MACH = np.array([0.3, 0.5, 0.7, 0.9, 1.05, 1.2, 1.35, 1.5])  # lines of an estimated map
HUB_SHARE = 0.30  # hub over inducer diameter
THROAT_SHARE = 0.53  # throat over inducer annulus: blade angle and thickness
ZERO_INCIDENCE = 0.68  # axial over blade speed at the mean inducer radius, where the head vanishes at low speed
BLADES = 12
BACKSWEEP = radians(30.0)
OUTLET_WIDTH = 0.07  # of the wheel's outlet, over its diameter
WINDAGE = 0.03  # work of disc friction and recirculation, over U^2
REACTION = 0.6  # share of the work that raises the static temperature in the wheel
SIZE_OF_CORRELATION = 0.25  # m, wheels of the efficiency correlation
SIZE_EXPONENT = 0.4  # of the losses with falling size: 0.73 at 50 mm, 0.78 at 80 mm are common practice
SURGE_LOW, SURGE_RISE = 0.15, 0.26  # surge over choke flow at M = 0, and its rise per M
STEEPNESS, STEEPENING = 2.2, 0.9  # exponent of the line at M = 0, and its rise per M^2
BEST_SHARE = 0.65  # flow of best efficiency over choke flow, for the correlation


def estimate_compressor(wheel_inlet: float, wheel_outlet: float) -> Lines:
    """Speed lines of a wheel by its inlet and outlet diameter [m]."""
    choke = choke_coefficient(wheel_inlet, wheel_outlet, MACH)
    surge = (SURGE_LOW + SURGE_RISE * MACH) * choke
    power = STEEPNESS + STEEPENING * MACH**2
    z = np.arange(WORK_KNOTS) * WORK_STEP
    work = np.array([_work(z * c, M) for c, M in zip(choke, MACH, strict=True)])
    peak = np.empty(len(MACH))
    for k, M in enumerate(MACH):
        phi = np.linspace(surge[k], choke[k], 200)
        shape = (1.0 - ((phi - surge[k]) / (choke[k] - surge[k])) ** power[k]) / _work(phi, M)
        best = best_efficiency(BEST_SHARE * choke[k], M, wheel_outlet)
        peak[k] = isentropic(best, M, float(_work(phi[np.argmax(shape)], M))) / shape.max()
    lost = np.clip(1.0 - z / (surge / choke)[:, None], 0.0, None)
    return Lines(MACH, choke, surge, peak, power, surge, work + 0.3 * lost**2)


def choke_coefficient(wheel_inlet: float, wheel_outlet: float, M: Floats) -> Floats:
    """Flow coefficient [-] at which the head vanishes: incidence at low, choking at high tip Mach number."""
    annulus = pi / 4.0 * (1.0 - HUB_SHARE**2) * (wheel_inlet / wheel_outlet) ** 2  # over D^2
    radius = wheel_inlet / wheel_outlet * np.sqrt(0.5 * (1.0 + HUB_SHARE**2))  # mean square, over the outlet's
    low = ZERO_INCIDENCE * annulus * radius
    g = GAMMA_AIR
    frame = (2.0 + (g - 1.0) * (M * radius) ** 2) / (g + 1.0)
    high = THROAT_SHARE * annulus * frame ** ((g + 1.0) / (2.0 * (g - 1.0))) / M
    return np.asarray((low**-4.0 + high**-4.0) ** -0.25)


def _work(phi: Floats, M: float) -> Floats:
    """lambda: slip, backsweep with the density behind the wheel, windage."""
    slip = 1.0 - 0.63 * pi / BLADES
    warmer = 1.0 + (GAMMA_AIR - 1.0) * M**2 * 0.75 * REACTION
    density = warmer ** (0.88 * GAMMA_AIR / (GAMMA_AIR - 1.0) - 1.0)  # wheel at 88 % polytropic
    outlet = phi / (pi * OUTLET_WIDTH) / density  # radial over blade speed
    return np.asarray(slip + WINDAGE - outlet * tan(BACKSWEEP))


def best_efficiency(phi: float, M: float, diameter: float) -> float:
    """Best polytropic efficiency [-] of a stage at flow coefficient phi and tip Mach number M, wheel diameter [m]."""
    d = 0.08 - phi
    eta = 0.86 * (1.0 - 27.0 * d**2 - 5000.0 * d**4) if d > 0.0 else 0.86 * (1.0 - 10.0 * d**2)
    if M > 0.8:
        fast = phi * (M - 0.8)
        eta -= 0.05 * fast + 3.0 * fast**2
    return 1.0 - (1.0 - eta) * max(SIZE_OF_CORRELATION / diameter, 1.0) ** SIZE_EXPONENT


def isentropic(polytropic: float, M: float, work: float) -> float:
    """Isentropic efficiency of a stage of that polytropic one, at work lambda and tip Mach number M."""
    hotter = (GAMMA_AIR - 1.0) * M**2 * work
    return ((1.0 + hotter) ** polytropic - 1.0) / hotter
