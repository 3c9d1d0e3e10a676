"""Heat transfer coefficient between gas and walls: three published correlations by integer code.

Woschni (SAE 670931, 1967), Hohenberg (SAE 790825, 1979), Annand (Proc. IMechE 177, 1963). All were
fitted to particular engines with a mean gas temperature p V / (m R); they serve here with that mean for
the coefficient and with each zone's own temperature for the flux. Expect 20 to 30 % doubt; the
multiplier is there to be calibrated. Open combustion chambers, no radiation from soot; Annand's
gas-radiation term is left out (its constant differs between sources by a factor of ten).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.kernel import kernel

Array = NDArray[np.float64]

WOSCHNI, HOHENBERG, ANNAND = 0, 1, 2
HEAT_MODELS = {"woschni": WOSCHNI, "hohenberg": HOHENBERG, "annand": ANNAND}

# With Woschni's own constants this lands in-cylinder heat at 15 to 20 % of the fuel energy at low speed and
# 10 % at high speed, in line with published energy balances; fitted for this program, to be calibrated.
DEFAULT_HEAT_MULTIPLIER = 1.3

C1_CLOSED = 2.28  # Woschni's velocity per mean piston speed, valves shut (SAE 670931)
C1_OPEN = 6.18  # the same during gas exchange (SAE 670931)
C2_COMBUSTION = 3.24e-3  # m/(s K), combustion and expansion; from memory
MOTORED_EXPONENT = 1.33  # polytrope of the motored pressure in Woschni's second term; common practice


@kernel
def woschni_velocity(
    c1: float,
    mean_piston_speed: float,
    c2: float,
    swept_volume: float,
    t_ref: float,
    p_ref: float,
    v_ref: float,
    p: float,
    p_motored: float,
) -> float:
    """Characteristic gas velocity [m/s]: c1 Sp + c2 Vd T_r / (p_r V_r) (p - p_motored).

    c1 : float [-]; c2 : float [m/(s K)]; reference state r at inlet valve closing; pressures [Pa].
    The second term never counts negative: before the spark p and p_motored agree only within a few per cent.
    """
    rise = max(p - p_motored, 0.0)
    return c1 * mean_piston_speed + c2 * swept_volume * t_ref / (p_ref * v_ref) * rise


@kernel
def woschni(bore: float, p: float, t: float, velocity: float) -> float:
    """Woschni's coefficient [W/(m2 K)]: 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8 with p in kPa.

    bore : float [m]; p : float [Pa]; t : float [K]; velocity : float [m/s]
    The exponent of T is that of the engine textbooks; the paper's own -0.53 goes with another constant.
    """
    return 3.26 * np.exp(-0.2 * np.log(bore) + 0.8 * np.log(1e-3 * p * velocity) - 0.55 * np.log(t))


@kernel
def hohenberg(volume: float, p: float, t: float, mean_piston_speed: float) -> float:
    """Hohenberg's coefficient [W/(m2 K)]: 130 V^-0.06 p^0.8 T^-0.4 (Sp + 1.4)^0.8 with p in bar.

    volume : float [m3]; p : float [Pa]; t : float [K]; mean_piston_speed : float [m/s]
    Fitted to Diesel engines; the constants are from memory.
    """
    return 130.0 * np.exp(-0.06 * np.log(volume) + 0.8 * np.log(1e-5 * p * (mean_piston_speed + 1.4)) - 0.4 * np.log(t))


@kernel
def annand(bore: float, rho: float, t: float, mean_piston_speed: float, a: float, cp: float) -> float:
    """Annand's convective coefficient [W/(m2 K)]: a k/B Re^0.7, Re = rho Sp B / mu.

    rho : float [kg/m3]; t : float [K]; a : float [-], 0.35 to 0.8; cp : float [J/(kg K)]
    mu = 3.3e-7 T^0.7 (kg, m, s) and k = cp mu / 0.7 as in engine textbooks; from memory.
    """
    mu = 3.3e-7 * np.exp(0.7 * np.log(t))
    reynolds = rho * mean_piston_speed * bore / mu
    return a * cp * mu / 0.7 / bore * np.exp(0.7 * np.log(reynolds))


ANNAND_A = 0.5
ANNAND_CP = 1250.0  # J/(kg K), burned gas near 1800 K


@kernel
def coefficient(
    model: int,
    multiplier: float,
    bore: float,
    volume: float,
    p: float,
    t: float,
    rho: float,
    mean_piston_speed: float,
    velocity: float,
) -> float:
    """Coefficient of the chosen model times ``multiplier`` [W/(m2 K)]; ``velocity`` is Woschni's."""
    if model == HOHENBERG:
        return multiplier * hohenberg(volume, p, t, mean_piston_speed)
    if model == ANNAND:
        return multiplier * annand(bore, rho, t, mean_piston_speed, ANNAND_A, ANNAND_CP)
    return multiplier * woschni(bore, p, t, velocity)
