"""Wiebe burn curve, and how its duration and delay move away from a measured operating point.

For builds whose burn was measured; the entrainment flame of ``flame`` needs no such point. Wiebe's
function with a = ln 1000, so that 99.9 % is burned at the end of the stated duration.
The scaling is a product of one factor per influence, as Csallner (thesis, TU Munich 1981) and, with
other polynomials, Witt (thesis, TU Graz 1999) proposed it. That *form* is theirs; every exponent and
coefficient below is from memory and was not confirmed in a source. Meant for gasoline, lambda 0.7 to
1.2 and moderate steps away from the reference; a factor that turns negative is a sign to measure anew.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.kernel import kernel

A_COMPLETE = 6.907755278982137  # ln 1000


class BurnPoint(NamedTuple):
    """What the duration and the delay of a burn depend on."""

    omega: float  # rad/s, crank speed
    p_60: float  # Pa, motored pressure 60 degrees before firing top dead centre
    T_60: float  # K, motored temperature there
    lam: float  # -, relative air-fuel ratio
    residual: float  # -, residual mass fraction


class Wiebe(NamedTuple):
    """A burn curve in crank angle."""

    delay: float  # deg, spark to start of burning
    duration: float  # deg, start to 99.9 % burned
    shape: float  # -, Wiebe's m


@kernel
def burned_fraction(y: float, a: float, m: float) -> float:
    """Burned mass fraction 1 - exp(-a y^(m+1)) at the fraction ``y`` of the duration; 0 before 0."""
    x = np.maximum(y, 0.0)
    return -np.expm1(-a * x ** (m + 1.0))


@kernel
def burn_rate(y: float, a: float, m: float) -> float:
    """Derivative of ``burned_fraction`` with y [-]."""
    x = np.maximum(y, 0.0)
    return a * (m + 1.0) * x**m * np.exp(-a * x ** (m + 1.0))


@kernel
def _mixture_factor(lam: float) -> float:
    return 2.2 * lam * lam - 3.74 * lam + 2.54


@kernel
def _residual_factor(residual: float) -> float:
    return 0.912 + 0.88 * residual


@kernel
def _speed_factor(omega: float) -> float:
    return 1.0 / (1.0 + 400.0 / (omega * 30.0 / np.pi))


@kernel
def scaled_burn(measured: Wiebe, reference: BurnPoint, point: BurnPoint) -> Wiebe:
    """The burn ``measured`` at ``reference``, moved to ``point``.

    measured : Wiebe; reference, point : BurnPoint
    Returns a Wiebe with the same shape. Delay goes with p^-0.47 and 2.16 T_r/T - 1.16, duration with
    p^-0.28 and 1.33 T_r/T - 0.33; both with 1/(1 + 400/n), mixture and residual. All from memory.
    """
    p = point.p_60 / reference.p_60
    T = reference.T_60 / point.T_60
    common = _speed_factor(point.omega) / _speed_factor(reference.omega)
    common *= _mixture_factor(point.lam) / _mixture_factor(reference.lam)
    common *= _residual_factor(point.residual) / _residual_factor(reference.residual)
    delay = measured.delay * common * p**-0.47 * (2.16 * T - 1.16)
    duration = measured.duration * common * p**-0.28 * (1.33 * T - 0.33)
    return Wiebe(delay, duration, measured.shape)
