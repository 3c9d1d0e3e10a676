"""Changes of one cylinder that take no time: filling, valves shut, spark, valves open, zones merged.

Each carries energy, mass and volume over unchanged. Temperature may move by a fraction of a kelvin when
the residual changes from the table to its frozen polynomial.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.crevice import fill_crevice, mix_crevice
from spoolwright.cylinder.rates import mean_piston_speed
from spoolwright.cylinder.records import clear_records, note_peak
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.views import burned_cut, mean_temperature, unburned_charge, volume_at
from spoolwright.cylinder.zones import charge_entropy, mixture, solve_charge, solve_mixture, solve_two_zones
from spoolwright.gas.burned import BurnedSlice, cut_into
from spoolwright.gas.unburned import AIR, BURNED, FUEL, Charge
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

T_FLAME_RISE = 2000.0  # K, first guess of burned over unburned temperature


@kernel
def _bound(phi: float, afr: float) -> tuple[float, float]:
    """Air and fuel bound in unit mass of burned gas of equivalence ratio phi."""
    return afr / (afr + phi), phi / (afr + phi)


@kernel
def start_tally(c: Cylinders, k: int) -> None:
    """Zero the work and wall heat counted for cylinder k."""
    c.state[k, r.WORK] = 0.0
    c.state[k, r.Q_HEAD] = 0.0
    c.state[k, r.Q_PISTON] = 0.0
    c.state[k, r.Q_LINER] = 0.0


@kernel
def set_one_zone(
    c: Cylinders, k: int, theta: float, p: float, T: float, y_air: float, y_fuel: float, y_burned: float, phi: float
) -> int:
    """Fill cylinder k with one mixture at p, T: a start, not a step. Valves count as open. Status.

    theta : float [deg]; phi : float [-], equivalence ratio of the burned gas in it
    """
    s = c.state[k]
    for i in range(r.N_STATE):
        s[i] = 0.0
    status = cut_into(c.table, phi, c.slices[k])
    if status != 0:
        return r.NO_SOLUTION
    s[r.MODE], s[r.VALVES_OPEN] = r.ONE_ZONE, 1.0
    s[r.THETA], s[r.VOLUME] = theta, volume_at(c.design[k], theta)
    s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL] = y_air, y_fuel, y_burned
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED], s[r.PHI] = p, T, T, phi
    u, R, _, _, _, _ = mixture(c.species, burned_cut(c, k), y_air, y_fuel, y_burned, np.log(p), T)
    s[r.MASS] = p * s[r.VOLUME] / (R * T)
    s[r.ENERGY] = s[r.MASS] * u
    fill_crevice(s, c.design[k], c.species)
    start_tally(c, k)
    clear_records(s)
    return r.OK


@kernel
def merge_zones(c: Cylinders, k: int) -> int:
    """Mix all gas into one zone at constant energy and volume. Status."""
    s = c.state[k]
    x = s[r.BURNED_MASS] / s[r.MASS]
    T = mean_temperature(s)
    s[r.Y_AIR] *= 1.0 - x
    s[r.Y_FUEL] *= 1.0 - x
    s[r.Y_RESIDUAL] = 1.0 - s[r.Y_AIR] - s[r.Y_FUEL]
    s[r.BURNED_MASS] = s[r.ENTRAINED_MASS] = 0.0
    s[r.MODE] = r.ONE_ZONE
    p, T, status = solve_mixture(
        c.species, burned_cut(c, k), s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL],
        s[r.MASS], s[r.VOLUME], s[r.ENERGY], 0.0, s[r.P], T,
    )  # fmt: skip
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T, T
    return status


@kernel
def close_valves(c: Cylinders, k: int) -> int:
    """Both valves are shut: freeze the mixture, cut the table to it, clear the closed part's records. Status.

    A mixture outside the burned table (no fuel, or far too lean or rich) is kept and will not burn.
    Leftover two zones are merged first.
    """
    s, d = c.state[k], c.design[k]
    if s[r.MODE] == r.BURNING:
        status = merge_zones(c, k)
        if status != r.OK:
            return status
    s[r.VALVES_OPEN] = 0.0
    mix_crevice(s, d, c.species)
    y_a, y_f, y_r = s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL]
    for i in range(2):
        for j in range(7):
            c.charge_c[k, i, j] = (
                y_a * c.species.c[AIR, i, j] + y_f * c.species.c[FUEL, i, j] + y_r * c.species.c[BURNED, i, j]
            )
    R = y_a * c.species.R[AIR] + y_f * c.species.R[FUEL] + y_r * c.species.R[BURNED]
    c.charge_R[k] = R
    afr = d[r.AIR_FUEL_STOICHIOMETRIC]
    bound_air, bound_fuel = _bound(s[r.PHI], afr)
    s[r.PHI_FRESH] = afr * y_f / max(y_a, 1e-12)
    s[r.X_RESIDUAL] = y_r * c.species.R[BURNED] / R
    phi = afr * (y_f + y_r * bound_fuel) / max(y_a + y_r * bound_air, 1e-12)
    if y_f > 1e-9 and cut_into(c.table, phi, c.slices[k]) == 0:
        s[r.PHI] = phi
    else:
        s[r.PHI_FRESH] = 0.0  # cannot burn
    gas = unburned_charge(c, k)
    p, T, status = solve_charge(gas, s[r.MASS], s[r.VOLUME], s[r.ENERGY], 0.0, s[r.T_UNBURNED])
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T, T
    s[r.P_CLOSED], s[r.T_CLOSED], s[r.V_CLOSED] = p, T, s[r.VOLUME]
    s[r.THETA_CLOSED], s[r.MASS_CLOSED] = s[r.THETA], s[r.MASS]
    s[r.E_CLOSED] = s[r.ENERGY] + s[r.CREVICE_ENERGY]
    s[r.S_CORE], s[r.T_CORE] = charge_entropy(gas, T, p), T
    s[r.BURNED_MASS] = s[r.ENTRAINED_MASS] = 0.0
    s[r.MODE] = r.UNBURNED
    clear_records(s)
    return status


@kernel
def ignite(s: Array, d: Array, gas: Charge, cut: BurnedSlice, omega: float) -> int:
    """Put the seed (all of it for INSTANT) into a burned zone at constant energy and volume. Status."""
    s[r.RHO_SPARK] = s[r.MASS] / s[r.VOLUME]
    s[r.U_SPARK] = d[r.C_U] * mean_piston_speed(d, omega)
    height = s[r.VOLUME] / (0.25 * np.pi * d[r.BORE] ** 2)
    s[r.LENGTH_SPARK] = d[r.LENGTH_SHARE] * height
    s[r.THETA_SPARK] = s[r.THETA]
    s[r.S_UNBURNED] = charge_entropy(gas, s[r.T_UNBURNED], s[r.P])
    share = 1.0 if d[r.BURN_MODEL] == r.INSTANT else d[r.SEED_SHARE]
    s[r.BURNED_MASS] = s[r.ENTRAINED_MASS] = share * s[r.MASS]
    p = s[r.P] * (1.0 + 2.5 * share)
    T_b = s[r.T_UNBURNED] + T_FLAME_RISE
    p, T_u, T_b, status = solve_two_zones(
        gas, cut, (1.0 - share) * s[r.MASS], share * s[r.MASS], s[r.S_UNBURNED],
        s[r.VOLUME], s[r.ENERGY], 0.0, p, s[r.T_UNBURNED], T_b, 1e-9,
    )  # fmt: skip
    s[r.P], s[r.T_UNBURNED], s[r.T_BURNED] = p, T_u, T_b
    s[r.MODE] = r.BURNING
    note_peak(s, p, 0.0, s[r.THETA])
    return status


@kernel
def open_valves(c: Cylinders, k: int) -> int:
    """A valve begins to open: without a flame the gas becomes one zone; a flame goes on burning. Status."""
    s = c.state[k]
    s[r.VALVES_OPEN] = 1.0
    if s[r.MODE] == r.UNBURNED or (s[r.MODE] == r.BURNING and s[r.BURNED_MASS] >= s[r.MASS]):
        return merge_zones(c, k)
    return r.OK
