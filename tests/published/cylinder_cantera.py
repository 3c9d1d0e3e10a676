"""Independent scripts on Cantera: reactors, the two-zone cycle. They share no gas data with the program."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

import cantera as ct
import numpy as np
from numpy.typing import NDArray

PRODUCTS = ("N2", "O2", "Ar", "CO2", "H2O", "CO", "H2", "OH", "H", "O", "NO", "N")
ISOOCTANE = "C8H18,isooctane"
AIR = {"N2": 0.78084, "O2": 0.209476, "Ar": 0.009365, "CO2": 0.000319}
OWN_GAS: dict[str, bool] = {"clone": False} if ct.__version__ >= "3.2" else {}
T_FROZEN = 1700.0  # K, burned gas keeps its composition below this


def solution(names: tuple[str, ...]) -> Any:
    """Ideal gas of the named species of the data file nasa_gas.yaml."""
    data = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    return ct.Solution(thermo="ideal-gas", species=[data[n] for n in names])


def crank_volume(theta: float, bore: float, stroke: float, rod: float, ratio: float) -> float:
    """Slider-crank volume [m3], written anew."""
    a, t = 0.5 * stroke, np.radians(theta)
    area = 0.25 * np.pi * bore**2
    travel = a + rod - a * np.cos(t) - np.sqrt(rod**2 - (a * np.sin(t)) ** 2)
    return float(area * (stroke / (ratio - 1.0) + travel))


def piston_speed(theta: float, bore: float, stroke: float, rod: float, omega: float) -> float:
    """Downward piston velocity [m/s]."""
    a, t = 0.5 * stroke, np.radians(theta)
    return float(omega * (a * np.sin(t) + a * a * np.sin(t) * np.cos(t) / np.sqrt(rod**2 - (a * np.sin(t)) ** 2)))


class Motored(NamedTuple):
    """theta [deg], V [m3], p [Pa] of the last cycle, heat into the walls of a closed run [J]."""

    theta: NDArray[np.float64]
    V: NDArray[np.float64]
    p: NDArray[np.float64]
    heat: float


class Engine(NamedTuple):
    """Bore, stroke, rod [m], ratio [-], crank speed [rad/s]."""

    bore: float
    stroke: float
    rod: float
    ratio: float
    omega: float


def nozzle(p0: float, T0: float, R: float, gamma: float, p: float) -> float:
    """Ideal nozzle flux [kg/(s m2)]."""
    x = max(p / p0, (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0)))
    bracket = x ** (2.0 / gamma) - x ** ((gamma + 1.0) / gamma)
    return float(p0 / np.sqrt(R * T0) * np.sqrt(max(2.0 * gamma / (gamma - 1.0) * bracket, 0.0)))


def motored(
    e: Engine,
    start: tuple[float, float, float],
    end: float,
    wall: Callable[[float, float, float], float] | None = None,
    areas: tuple[Callable[[float], float], ...] = (),
    ambient: tuple[float, float] = (1e5, 300.0),
    step: float = 1.0,
    rtol: float = 1e-8,
) -> Motored:
    """Air in a reactor whose wall is the piston.

    start : theta [deg], p [Pa], T [K]; end : theta [deg]
    wall(V, p, T) : heat into the walls [W]
    areas : effective area over theta [m2] of intake in, intake out, exhaust in, exhaust out, to air at ``ambient``
    """
    gas = solution(("N2", "O2", "Ar", "CO2"))
    gas.TPX = start[2], start[1], AIR
    reactor = ct.IdealGasReactor(gas, **OWN_GAS)
    reactor.volume = crank_volume(start[0], *e[:4])
    rest = solution(("N2", "O2", "Ar", "CO2"))
    rest.TPX = ambient[1], ambient[0], AIR
    outside = ct.Reservoir(rest, **OWN_GAS)
    area = 0.25 * np.pi * e.bore**2
    per_degree = np.pi / 180.0 / e.omega

    def theta_at(t: float) -> float:
        return start[0] + t / per_degree

    def heat_flux(_: float) -> float:
        return wall(reactor.volume, reactor.phase.P, reactor.phase.T) if wall else 0.0

    ct.Wall(reactor, outside, A=area, velocity=lambda t: piston_speed(theta_at(t), e.bore, e.stroke, e.rod, e.omega))
    if wall:
        ct.Wall(reactor, outside, A=1.0, Q=heat_flux)
    p_a, T_a = ambient
    R_a = ct.gas_constant / rest.mean_molecular_weight
    gamma_a = rest.cp / rest.cv

    def inward(function: Callable[[float], float]) -> Callable[[float], float]:
        def mdot(t: float) -> float:
            p = reactor.phase.P
            return function(theta_at(t)) * nozzle(p_a, T_a, R_a, gamma_a, p) if p_a > p else 0.0

        return mdot

    def outward(function: Callable[[float], float]) -> Callable[[float], float]:
        def mdot(t: float) -> float:
            phase = reactor.phase
            R = ct.gas_constant / phase.mean_molecular_weight
            p = phase.P
            return function(theta_at(t)) * nozzle(p, phase.T, R, phase.cp / phase.cv, p_a) if p > p_a else 0.0

        return mdot

    if areas:
        for j in (0, 2):
            ct.MassFlowController(outside, reactor, mdot=inward(areas[j]))
            ct.MassFlowController(reactor, outside, mdot=outward(areas[j + 1]))
    net = ct.ReactorNet([reactor])
    net.rtol, net.atol, net.max_time_step = rtol, 1e-15, per_degree
    n = round((end - start[0]) / step)
    out = np.zeros((n + 1, 3))
    heat = 0.0
    q_before = heat_flux(0.0)
    out[0] = start[0], reactor.volume, start[1]
    for i in range(1, n + 1):
        net.advance(i * step * per_degree)
        q = heat_flux(0.0)
        heat += 0.5 * (q + q_before) * step * per_degree
        q_before = q
        out[i] = start[0] + i * step, reactor.volume, reactor.phase.P
    last = out[-min(n, round(720.0 / step)) - 1 :]
    return Motored(last[:, 0], last[:, 1], last[:, 2], heat)


class Burned(NamedTuple):
    """Two-zone run: p [Pa], T_u, T_b [K] at the script's angles, work [J]."""

    p: NDArray[np.float64]
    T_u: NDArray[np.float64]
    T_b: NDArray[np.float64]
    work: float


def fresh_and_residual(phi: float, residual: float) -> dict[str, float]:
    """Mass fractions of iso-octane, air and residual frozen at 5 bar and 1700 K."""
    names = (*PRODUCTS, ISOOCTANE)
    gas = solution(names)
    gas.set_equivalence_ratio(phi, ISOOCTANE, AIR)
    fresh = gas.Y
    burned = solution(PRODUCTS)
    burned.TPX = 3000.0, 5e5, _elements(gas)
    burned.equilibrate("TP", rtol=1e-10, max_steps=20000)
    burned.TP = T_FROZEN, 5e5
    burned.equilibrate("TP", rtol=1e-10, max_steps=20000)
    share = dict(zip(burned.species_names, burned.Y, strict=True))
    return {n: (1.0 - residual) * y + residual * share.get(n, 0.0) for n, y in zip(names, fresh, strict=True)}


def _elements(gas: Any) -> dict[str, float]:
    """A mixture of the products with the elements of ``gas``."""
    z = {e: gas.elemental_mole_fraction(e) for e in gas.element_names}
    return {"CO": z["C"], "O": z["O"] - z["C"], "H2": 0.5 * z["H"], "N2": 0.5 * z["N"], "Ar": z["Ar"]}


def two_zone(
    mass: float,
    Y: dict[str, float],
    p: float,
    T: float,
    V: NDArray[np.float64],
    m_b: NDArray[np.float64],
    heat: NDArray[np.float64],
    heat_unburned: NDArray[np.float64],
) -> Burned:
    """March two zones over given volumes, burned masses and cumulative heat [J], all of the same length.

    Unburned: frozen; s_u falls by the heat it loses. Burned: equilibrium at u and v. The common
    pressure closes volume, the piston work is a trapezoid. Unburned and burned properties all Cantera's.
    """
    u = solution((*PRODUCTS, ISOOCTANE))
    u.TPY = T, p, Y
    b = solution(PRODUCTS)
    b.TPX = 2500.0, p, _elements(u)
    b.equilibrate("TP", rtol=1e-10, max_steps=20000)
    E, s_u = mass * u.int_energy_mass, u.entropy_mass
    out = np.zeros((len(V), 3))
    out[0] = p, T, T
    work = 0.0
    for i in range(1, len(V)):
        m_u = mass - m_b[i]
        if 0.0 < m_b[i - 1] < mass:
            s_u -= (heat_unburned[i] - heat_unburned[i - 1]) / (0.5 * (m_u + mass - m_b[i - 1]) * out[i - 1, 1])
        half = 0.5 * (V[i] - V[i - 1])
        left = E - p * half - (heat[i] - heat[i - 1])
        if m_b[i] > 0.0:
            excess = partial(_excess_volume, u, b, m_u, m_b[i], s_u, left, half, V[i])
        else:
            excess = partial(_excess_pressure, u, mass, left, half, V[i])
        guess = p * p / out[max(i - 2, 0), 0]  # the ratio of the last step again
        new = _secant(excess, guess, guess * (1.0 + 1e-4))
        if m_b[i] <= 0.0:
            s_u = u.entropy_mass
        E = left - new * half
        work += (p + new) * half
        p = new
        out[i] = p, u.T, b.T if m_b[i] > 0.0 else u.T
    return Burned(out[:, 0], out[:, 1], out[:, 2], work)


def _excess_pressure(u: Any, mass: float, left: float, half: float, V: float, p: float) -> float:
    """Pressure of one frozen zone with the energy that is left over p, less 1."""
    u.UV = (left - p * half) / mass, V / mass
    return float(u.P / p - 1.0)


def _excess_volume(
    u: Any, b: Any, m_u: float, m_b: float, s_u: float, left: float, half: float, V: float, p: float
) -> float:
    """Volume of both zones at p over the cylinder's, less 1; the burned zone takes the enthalpy that is left."""
    enthalpy, volume = left - p * half + p * V, 0.0
    if m_u > 1e-12:
        u.SP = s_u, p
        enthalpy -= m_u * u.enthalpy_mass
        volume += m_u / u.density
    if m_b > 0.0:
        b.HP = enthalpy / m_b, p
        if b.T > T_FROZEN:
            b.equilibrate("HP", rtol=1e-9, max_steps=20000)
        volume += m_b / b.density
    return float(volume / V - 1.0)


def _secant(f: Callable[[float], float], a: float, b: float) -> float:
    fa, fb = f(a), f(b)
    for _ in range(40):
        if fb == fa or abs(b - a) < 1e-7 * b:  # what is left is far smaller
            break
        a, b, fa = b, b - fb * (b - a) / (fb - fa), fb
        fb = f(b)
    return b
