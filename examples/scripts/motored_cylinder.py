"""A motored cylinder that breathes ambient air through its valves, without pipes.

Problem: bore = stroke = 86 mm, rod 143 mm, ratio 9, air at 1 bar and 300 K on both sides, no heat to the walls.
Intake open from 340 to 600 and exhaust from 120 to 380 degrees after firing top dead centre, 9 mm lift, one
33 mm and one 29 mm valve. What are the peak pressure and the work of a settled cycle?

Known answer, from a network of Cantera reactors with the same valve law (tests/published/
test_cylinder_reactors.py runs it): 20.262 bar and -206.2 mbar at 2000 rev/min, 17.971 bar and -964.2 mbar
at 6000 rev/min. Here: within 0.2 % of the pressure and 2 mbar of the work.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from spoolwright.cylinder import rows as r
from spoolwright.cylinder.build import Burn, build_cylinders, disc_chamber
from spoolwright.cylinder.burning_velocity import burning_velocity
from spoolwright.cylinder.changes import close_valves, open_valves, set_one_zone, start_tally
from spoolwright.cylinder.discharge import Discharge
from spoolwright.cylinder.lift import lift_from_events
from spoolwright.cylinder.outlet import outlet_state
from spoolwright.cylinder.rows import Cylinders
from spoolwright.cylinder.steps import advance_closed, advance_open
from spoolwright.cylinder.valves import ValveAreas, area_at, effective_areas
from spoolwright.flow.nozzle import nozzle_flux
from spoolwright.gas.air import DRY_AIR
from spoolwright.gas.fuels import grade
from spoolwright.gas.ignition import ignition_table
from spoolwright.gas.model import gas_model
from spoolwright.gas.unburned import charge, charge_h_cp
from spoolwright.kernel import kernel

BORE, STROKE, ROD, RATIO = 0.086, 0.086, 0.143, 9.0
P_AMBIENT, T_AMBIENT = 1e5, 300.0
INTAKE, EXHAUST = (340.0, 600.0, 0.033), (120.0, 380.0, 0.029)  # opens, closes [deg], diameter [m]
LIFT = 0.009
KNOWN = {2000.0: (20.262e5, -206.2e2), 6000.0: (17.971e5, -964.2e2)}  # rev/min: peak pressure, imep [Pa]


# The example's own valves, on the curtain area over lift/diameter; the known answers hold for these.
LIFTS = np.array([0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.60])
CD_INTAKE = np.array([0.64, 0.63, 0.61, 0.58, 0.53, 0.47, 0.37, 0.25])
CD_EXHAUST = np.array([0.66, 0.64, 0.60, 0.55, 0.50, 0.45, 0.36, 0.24])
DISCHARGE = {
    "intake": Discharge(LIFTS, CD_INTAKE, 0.93 * CD_INTAKE),
    "exhaust": Discharge(LIFTS, CD_EXHAUST, 0.93 * CD_EXHAUST),
}


class Answer(NamedTuple):
    """What one settled cycle gave."""

    p_max: float  # Pa
    imep: float  # Pa, net, all 720 degrees
    mass: float  # kg trapped


@kernel
def through_valve(p, T, R, cp, h, p_out, T_out, R_out, cp_out, h_out, area_in, area_out):
    """Mass [kg/s] and enthalpy [J/s] into the cylinder (p, T, R, cp, h) from surroundings of constant state."""
    if p_out >= p:
        mdot = area_in * nozzle_flux(p_out, T_out, R_out, cp_out, p)
        return mdot, mdot * h_out
    mdot = -area_out * nozzle_flux(p, T, R, cp, p_out)
    return mdot, mdot * h


@kernel
def breathe(c, k, intake_in, intake_out, exhaust_in, exhaust_out, p_a, T_a, R_a, cp_a, h_a, omega, step, n, trace):
    """Carry cylinder k over n steps of ``step`` degrees; trace[i] = theta, V, p after each. Status.

    Valve flow is taken from the cylinder's state at mid-step, so that the coupling is second order.
    """
    s = c.state[k]
    dt = step * np.pi / 180.0 / omega
    for i in range(n):
        middle = s[r.THETA] + 0.5 * step
        a_in, a_out = area_at(intake_in, middle), area_at(exhaust_out, middle)
        is_open = a_in > 0.0 or a_out > 0.0
        if is_open and s[r.VALVES_OPEN] == 0.0:
            status = open_valves(c, k)
        elif not is_open and s[r.VALVES_OPEN] == 1.0:
            status = close_valves(c, k)
        if is_open:
            p, T, R, cp, h, _, _ = outlet_state(c, k, 0.5 * dt)
            m1, h1 = through_valve(p, T, R, cp, h, p_a, T_a, R_a, cp_a, h_a, a_in, area_at(intake_out, middle))
            m2, h2 = through_valve(p, T, R, cp, h, p_a, T_a, R_a, cp_a, h_a, area_at(exhaust_in, middle), a_out)
            status = advance_open(c, k, step, omega, (m1 + m2) * dt, 0.0, 0.0, (h1 + h2) * dt)
        else:
            status = advance_closed(c, k, step, omega)
        if status != r.OK:
            return status
        if i < trace.shape[0]:
            trace[i, 0], trace[i, 1], trace[i, 2] = s[r.THETA], s[r.VOLUME], s[r.P]
    return r.OK


def valves() -> tuple[ValveAreas, ValveAreas]:
    """Effective areas of intake and exhaust."""
    ports = []
    for name, (opens, closes, diameter) in (("intake", INTAKE), ("exhaust", EXHAUST)):
        lift = lift_from_events(name, opens, closes, LIFT, diameter)
        ports.append(effective_areas(name, lift, DISCHARGE[name], diameter))
    return ports[0], ports[1]


def cylinder() -> Cylinders:
    """One cylinder without flame and wall heat."""
    gas = gas_model(grade("isooctane"), DRY_AIR, 1.0)
    chamber = disc_chamber(BORE, STROKE, ROD, RATIO)
    burn = Burn(model="none", heat_multiplier=0.0)
    return build_cylinders([chamber], [burn], gas, burning_velocity({"isooctane": 1.0}), ignition_table(100.0))


def settled_cycle(speed_rpm: float, step: float = 1.0, cycles: int = 8) -> Answer:
    """Peak pressure, net imep and trapped mass of the last of ``cycles`` cycles."""
    c = cylinder()
    air = charge(c.species, 1.0, 0.0, 0.0)
    h_a, cp_a = charge_h_cp(air, T_AMBIENT)
    intake, exhaust = valves()
    set_one_zone(c, 0, -360.0, P_AMBIENT, T_AMBIENT, 1.0, 0.0, 0.0, 1.0)
    omega, n = speed_rpm * np.pi / 30.0, round(720.0 / step)
    surroundings = (P_AMBIENT, T_AMBIENT, air.R, cp_a, h_a)
    for _ in range(cycles):
        start_tally(c, 0)
        status = breathe(
            c, 0, intake.forward, intake.reverse, exhaust.reverse, exhaust.forward, *surroundings, omega, step, n,
            np.zeros((0, 3)),
        )  # fmt: skip
        assert status == r.OK
    swept = 0.25 * np.pi * BORE**2 * STROKE
    return Answer(float(c.state[0, r.P_MAX]), float(c.state[0, r.WORK]) / swept, float(c.state[0, r.MASS_CLOSED]))


if __name__ == "__main__":
    for rpm in (2000.0, 6000.0):
        answer = settled_cycle(rpm)
        print(
            f"{rpm:.0f} rev/min: peak {1e-5 * answer.p_max:.3f} bar, imep {1e-2 * answer.imep:.1f} mbar, "
            f"trapped {1e6 * answer.mass:.1f} mg"
        )
