"""Gas in the crevices of one cylinder: top land above the first ring, plug thread, gasket edge.

Model (Gatowski et al., SAE 840359, 1984; Heywood, Internal Combustion Engine Fundamentals, section 8.6): one volume
at the cylinder's pressure and at the walls' temperature. While pressure rises gas flows in and gives its heat to the
walls; it comes back as pressure falls. What flows in is unburned or burned gas by the share of the liner that the
flame has reached. What comes back unburned burns in the burned gas it meets, and after the valves have opened as long
as that is hotter than ``HOT_ENOUGH``; below ``TOO_COLD`` it stays unburned and goes out with the exhaust as fuel.

Each step begins with the move towards the mass at the pressure that the step will end at, as the last step's rate
tells: second order, or the burn would depend on where the steps fall and cycles would not repeat. The move is
linearly implicit in the pressure that it takes away itself, or a large crevice would swing. Mass, species and energy
are booked both ways, so they close to round-off. With a valve open, where steps are short, changes below
``WORTH_MOVING`` of what it holds wait for the next.

Left out: gas that passes the rings (blow-by) or waits between them, resistance of the gap, oil.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.rates import enflamed, liner_area
from spoolwright.cylinder.zones import mixture
from spoolwright.gas.burned import BurnedSlice, burned
from spoolwright.gas.unburned import AIR, BURNED, FUEL, Charge, ChargeSpecies, charge_u_cv
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

# K, bulk gas above which all, and below which none, of what leaves a crevice still burns; 1400 K between them from
# memory (Heywood section 11.4.3), the ramp a choice, so that nothing jumps from cycle to cycle
HOT_ENOUGH, TOO_COLD = 1450.0, 1350.0
WORTH_MOVING = 2e-3  # share of the crevice's gas, 2e-5 of the cylinder's
GAMMA = 1.3  # of the gas in the cylinder, good enough for the damping of a step
MOST_OF_A_ZONE = 0.5  # share of a zone that one step may press into the crevice


@kernel
def crevice_temperature(d: Array) -> float:
    """Temperature [K] of the gas in the crevice: the mean of piston and liner."""
    return 0.5 * (d[r.T_PISTON] + d[r.T_LINER])


@kernel
def held_energy(species: ChargeSpecies, s: Array, T: float) -> float:
    """Internal energy [J] of the crevice's gas at T."""
    row = 0 if T <= 1000.0 else 1
    energy = 0.0
    for i in range(3):
        m = s[r.CREVICE_AIR] if i == AIR else (s[r.CREVICE_FUEL] if i == FUEL else s[r.CREVICE_BURNED])
        c = species.c[i, row]
        h = c[5] + T * (c[0] + T * (c[1] / 2.0 + T * (c[2] / 3.0 + T * (c[3] / 4.0 + T * (c[4] / 5.0)))))
        energy += m * (h - species.R[i] * T)
    return energy


@kernel
def fill_crevice(s: Array, d: Array, species: ChargeSpecies) -> None:
    """Fill the crevice with the one zone's mixture at the cylinder's pressure: a start, not a step."""
    T = crevice_temperature(d)
    y_a, y_f, y_b = s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL]
    R = y_a * species.R[AIR] + y_f * species.R[FUEL] + y_b * species.R[BURNED]
    mass = s[r.P] * d[r.CREVICE] / (R * T)
    s[r.CREVICE_AIR], s[r.CREVICE_FUEL], s[r.CREVICE_BURNED] = mass * y_a, mass * y_f, mass * y_b
    s[r.CREVICE_ENERGY] = held_energy(species, s, T)


@kernel
def mix_crevice(s: Array, d: Array, species: ChargeSpecies) -> None:
    """Give the crevice and the one zone the same composition: masses stay, species and energy are kept in sum.

    Done once a cycle, when the valves shut: the burned gas left in the crevice is by then a tenth of what it
    will hold, and the closed part can take its unburned gas as one mixture.
    """
    held = s[r.CREVICE_AIR] + s[r.CREVICE_FUEL] + s[r.CREVICE_BURNED]
    if held <= 0.0:
        return
    total = s[r.MASS] + held
    y_a = (s[r.MASS] * s[r.Y_AIR] + s[r.CREVICE_AIR]) / total
    y_f = (s[r.MASS] * s[r.Y_FUEL] + s[r.CREVICE_FUEL]) / total
    s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL] = y_a, y_f, 1.0 - y_a - y_f
    s[r.CREVICE_AIR], s[r.CREVICE_FUEL], s[r.CREVICE_BURNED] = held * y_a, held * y_f, held * s[r.Y_RESIDUAL]
    energy = held_energy(species, s, crevice_temperature(d))
    s[r.ENERGY] += s[r.CREVICE_ENERGY] - energy
    s[r.CREVICE_ENERGY] = energy


@kernel
def _burned_at_gap(s: Array, d: Array, gas: Charge, flame: Array) -> float:
    """Share of the liner that the flame has reached [-]."""
    m_u = s[r.MASS] - s[r.BURNED_MASS]
    if m_u <= 0.0:
        return 1.0
    V = s[r.VOLUME]
    rho_u = s[r.P] / (gas.R * s[r.T_UNBURNED])
    behind = max(s[r.ENTRAINED_MASS] - s[r.BURNED_MASS], 0.0)
    _, _, _, liner, V_f = enflamed(d, flame, V, max(V - m_u / rho_u, 0.0), behind, rho_u)
    whole = liner_area(d, V)
    return min(liner / whole, 1.0) if whole > 0.0 else V_f / V


@kernel
def _press_in(
    s: Array, d: Array, species: ChargeSpecies, gas: Charge, cut: BurnedSlice, flame: Array, dm: float
) -> float:
    """Move dm [kg] from the cylinder into the crevice; enthalpy [J] that goes with it."""
    log_p = np.log(s[r.P])
    if s[r.MODE] == r.BURNING:
        m_b = s[r.BURNED_MASS]
        m_u = s[r.MASS] - m_b if m_b < s[r.MASS] else 0.0
        dm_b = min(_burned_at_gap(s, d, gas, flame) * dm, MOST_OF_A_ZONE * m_b)
        dm_u = min(dm - dm_b, MOST_OF_A_ZONE * m_u)
        dm_b = dm - dm_u
        u_b, R_b, _, _, _, _ = burned(cut, log_p, s[r.T_BURNED])
        enthalpy = dm_b * (u_b + R_b * s[r.T_BURNED])
        if dm_u > 0.0:
            u, _ = charge_u_cv(gas, s[r.T_UNBURNED])
            enthalpy += dm_u * (u + gas.R * s[r.T_UNBURNED])
        s[r.BURNED_MASS] -= dm_b
        s[r.ENTRAINED_MASS] = min(max(s[r.ENTRAINED_MASS] - dm_b, s[r.BURNED_MASS]), s[r.MASS] - dm)
        if m_u == 0.0:
            s[r.BURNED_MASS] = s[r.ENTRAINED_MASS] = s[r.MASS] - dm  # stays all burned, to the last bit
    else:
        dm_u, dm_b = dm, 0.0
        T = s[r.T_UNBURNED]
        if s[r.MODE] == r.UNBURNED:
            u, _ = charge_u_cv(gas, T)
            enthalpy = dm * (u + gas.R * T)
        else:
            u, R, _, _, _, _ = mixture(species, cut, s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL], log_p, T)
            enthalpy = dm * (u + R * T)
    s[r.CREVICE_AIR] += dm_u * s[r.Y_AIR]
    s[r.CREVICE_FUEL] += dm_u * s[r.Y_FUEL]
    s[r.CREVICE_BURNED] += dm_u * s[r.Y_RESIDUAL] + dm_b
    s[r.MASS] -= dm
    return enthalpy


@kernel
def _let_out(s: Array, share: float) -> None:
    """Move a share of the crevice's gas back; it burns where the gas it meets is burned and hot."""
    air, fuel = share * s[r.CREVICE_AIR], share * s[r.CREVICE_FUEL]
    dm = air + fuel + share * s[r.CREVICE_BURNED]
    mass = s[r.MASS] + dm
    if s[r.MODE] == r.BURNING:
        all_burned = s[r.BURNED_MASS] >= s[r.MASS]
        s[r.BURNED_MASS] = mass if all_burned else s[r.BURNED_MASS] + dm
        s[r.ENTRAINED_MASS] = mass if all_burned else s[r.ENTRAINED_MASS] + dm
    elif s[r.MODE] == r.ONE_ZONE:
        cold = min(max((HOT_ENOUGH - s[r.T_UNBURNED]) / (HOT_ENOUGH - TOO_COLD), 0.0), 1.0)
        air, fuel = cold * air, cold * fuel
        y_a, y_f = (s[r.MASS] * s[r.Y_AIR] + air) / mass, (s[r.MASS] * s[r.Y_FUEL] + fuel) / mass
        s[r.Y_AIR], s[r.Y_FUEL], s[r.Y_RESIDUAL] = y_a, y_f, 1.0 - y_a - y_f
    for i in (r.CREVICE_AIR, r.CREVICE_FUEL, r.CREVICE_BURNED):
        s[i] *= 1.0 - share
    s[r.MASS] = mass


@kernel
def breathe(
    s: Array, d: Array, species: ChargeSpecies, gas: Charge, cut: BurnedSlice, flame: Array, dt: float
) -> float:
    """Bring the crevice to the cylinder's pressure in dt [s]; enthalpy [J] that the cylinder's gas receives.

    The masses and the crevice's state change here; the caller adds the enthalpy to the step it is about to do.
    """
    if d[r.CREVICE] <= 0.0:
        return 0.0
    T = crevice_temperature(d)
    air, fuel, burned_gas = s[r.CREVICE_AIR], s[r.CREVICE_FUEL], s[r.CREVICE_BURNED]
    pV = (air * species.R[AIR] + fuel * species.R[FUEL] + burned_gas * species.R[BURNED]) * T
    p_end = max(s[r.P] + s[r.P_RATE] * dt, 0.5 * s[r.P])
    share = p_end * d[r.CREVICE] / pV - 1.0
    if s[r.VALVES_OPEN] > 0.0 and abs(share) < WORTH_MOVING:
        return 0.0
    held = air + fuel + burned_gas
    # relative change of p per relative change of the crevice's mass: gamma m_crevice / m
    share /= 1.0 + GAMMA * held * max(1.0 + share, 1.0) / s[r.MASS]
    if share > 0.0:
        received = -_press_in(s, d, species, gas, cut, flame, share * held)
    else:
        received = (s[r.CREVICE_ENERGY] + pV) * -share
        _let_out(s, -share)
    energy = held_energy(species, s, T)
    heat = s[r.CREVICE_ENERGY] - energy - received
    s[r.CREVICE_ENERGY] = energy
    s[r.Q_PISTON] += 0.5 * heat
    s[r.Q_LINER] += 0.5 * heat
    if s[r.VALVES_OPEN] == 0.0:
        s[r.Q_CLOSED] += heat
    return received
