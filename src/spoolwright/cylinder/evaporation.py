"""Fuel that evaporates on its way in: how much it cools the charge, and where.

A share of the fuel evaporates before the cylinder and cools the gas there; the rest enters as liquid and
evaporates in the cylinder by closing. Liquid is carried as vapour without its latent heat: its volume
(a thousandth of the gas) and wall films are neglected. The shares are inputs; nothing here predicts them.
"""

from __future__ import annotations

from spoolwright.kernel import kernel


@kernel
def liquid_deficit(dm_fuel: float, evaporated_share: float, latent_heat: float) -> float:
    """Enthalpy [J] that fuel entering partly liquid lacks against vapour; subtract it from what enters.

    dm_fuel : float [kg]; evaporated_share : float 0..1, before the valve; latent_heat : float [J/kg]
    """
    return (1.0 - evaporated_share) * latent_heat * dm_fuel


@kernel
def charge_cooling(fuel_fraction: float, evaporated_share: float, latent_heat: float, cp: float) -> float:
    """Temperature drop [K] of a charge with mass fraction ``fuel_fraction`` of fuel, at constant pressure.

    cp : float [J/(kg K)], of the whole charge once evaporated. Adiabatic: a hot port adds heat of its own.
    """
    return fuel_fraction * evaporated_share * latent_heat / cp
