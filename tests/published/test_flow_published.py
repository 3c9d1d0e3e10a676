"""Ducts, nozzles and ends against published gas dynamics.

Values, tolerances and sources: data/flow_rows.csv. Closed forms are held to the row's tolerance. What a
marched grid gives carries, besides, the error of the grid; each such test says how large it may be and
shows that it shrinks with the cells.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from fluids.fittings import contraction_sharp, diffuser_sharp
from fluids.friction import friction_factor
from gas_rows import by_id, check
from ht.conv_internal import turbulent_Gnielinski

from spoolwright.flow.build import CLOSED, End, Join, Node, build_network, fill_duct
from spoolwright.flow.joins import contraction_coefficient, contraction_loss
from spoolwright.flow.mesh import END_CORRECTION, Duct
from spoolwright.flow.network import march
from spoolwright.flow.nozzle import critical_ratio, nozzle_flux
from spoolwright.flow.rows import AMBIENT, E_HDOT, E_MDOT, PRE, RHO, TEM, VEL, W_D_INVERSE, W_HEAT
from spoolwright.flow.walls import colebrook, wall_polynomials
from spoolwright.gas.duct import DuctGas

sys.path.insert(0, str(Path(__file__).parents[1] / "flow"))
sys.path.insert(0, str(Path(__file__).parents[2] / "examples" / "scripts"))
import quarter_wave_pipe
import riemann
import shock_tube

ROWS = by_id("flow_rows")
R, G = 287.0, 1.4
AIR = DuctGas(np.full(3, R), np.full(3, R / (G - 1.0)), np.zeros(3), np.zeros(3))
CP = R * G / (G - 1.0)


def value(row):
    return float(ROWS[row]["value"])


def plain_duct(length, d, cells, **more):
    return Duct("d", length, d, cell_size=length / cells, heat_factor=0.0, friction_factor=0.0, **more)


def advance(net, t_end, probes=(), rows=0):
    record = np.zeros((rows, 2 + len(probes)))
    _, steps = march(net, 0.8, t_end, 10_000_000, np.array(probes, dtype=np.int64), record)
    return record[:steps]


def state(net, span):
    cells = slice(span.first, span.first + span.cells)
    return net.W[:, cells], net.aux[TEM, cells]


# ---- nozzle, orifice, valve


@pytest.mark.parametrize(("row", "gamma"), [("F01", 1.4), ("F02", 1.3)])
def test_critical_ratio(row, gamma):
    check(ROWS[row], critical_ratio(gamma))


def flow_function(gamma, p):
    cp = R * gamma / (gamma - 1.0)
    return nozzle_flux(1e5, 300.0, R, cp, p * 1e5) * np.sqrt(R * 300.0) / 1e5


@pytest.mark.parametrize(("row", "gamma"), [("F03a", 1.4), ("F03b", 1.33), ("F03c", 1.3)])
def test_flow_function__choked(row, gamma):
    check(ROWS[row], flow_function(gamma, 0.3))


@pytest.mark.parametrize(("row", "p"), [("F04a", 0.95), ("F04b", 0.9), ("F04c", 0.8), ("F04d", 0.7), ("F04e", 0.6)])
def test_flow_function__subsonic(row, p):
    check(ROWS[row], flow_function(1.4, p))


def test_choked_air_flow():
    check(ROWS["F05"], 5e-4 * nozzle_flux(2e5, 300.0, R, CP, 0.5e5))


# ---- shocks


def driven_shock(Ms, cells=800, driven=0.7):
    """Shock tube whose driver pressure sends a shock of Mach Ms into gas at 1e5 Pa, 300 K.

    Returns state ahead of the contact (p2, T2, u2) and the pressure at the closed end after reflection.
    Driver pressure: shock-tube equation (any gas dynamics text), both sides air at 300 K.
    """
    p1, c1 = 1e5, np.sqrt(G * R * 300.0)
    y = 1.0 + 2.0 * G / (G + 1.0) * (Ms**2 - 1.0)
    p4 = y * (1.0 - (G - 1.0) * (y - 1.0) / np.sqrt(2.0 * G * (2.0 * G + (G + 1.0) * (y - 1.0)))) ** (
        -2.0 * G / (G - 1.0)
    )
    duct = plain_duct(1.0, 0.05, cells)
    net, (span,) = build_network(AIR, [(duct, End(CLOSED), End(CLOSED))], [])
    x = (np.arange(cells) + 0.5) / cells
    fill_duct(net, span, np.where(x < 1.0 - driven, p4 * p1, p1), 300.0)
    arrival = driven / (Ms * c1)
    t = 0.8 * arrival
    advance(net, t)
    w, T = state(net, span)
    contact = 1.0 - driven + w[VEL, int((1.0 - driven + 0.1) * cells)] * t
    front = 1.0 - driven + Ms * c1 * t
    plateau = (x > contact + 0.35 * (front - contact)) & (x < contact + 0.85 * (front - contact))
    p2, T2, u2 = (float(np.median(q[plateau])) for q in (w[PRE], T, w[VEL]))
    advance(net, 0.35 * arrival)
    w, _ = state(net, span)
    return p2 / p1, T2 / 300.0, u2, float(w[PRE, -5] / p1)


def test_normal_shock__mach_2():
    p21, T21, u2, _ = driven_shock(2.0)
    grid = 1e-3  # plateau behind a captured shock on 800 cells
    rho21 = p21 / T21
    speed = rho21 * u2 / (rho21 - 1.0)  # mass across the shock
    M2 = (speed - u2) / np.sqrt(G * R * 300.0 * T21)
    assert p21 == pytest.approx(value("F10"), rel=grid)
    assert pytest.approx(value("F11"), rel=grid) == T21
    assert pytest.approx(value("F12"), rel=grid) == M2
    total = p21 * ((1.0 + 0.2 * M2**2) / (1.0 + 0.2 * 4.0)) ** 3.5
    assert total == pytest.approx(value("F13"), rel=grid)


def test_shock_reflection__closed_end():
    p21, _, _, p51 = driven_shock(1.5)
    assert p21 == pytest.approx(value("F34"), rel=1e-3)
    assert p51 == pytest.approx(value("F35"), rel=2e-3)


# ---- Sod tube: the exact solution of the tests, and the solver


def test_exact_riemann_solution__sod():
    left, right = (1.0, 0.0, 1.0), (0.125, 0.0, 0.1)
    p, u = riemann.star(left, right, 1.4)
    check(ROWS["F30"], p)
    check(ROWS["F31"], u)
    rho = riemann.exact(left, right, 1.4, np.array([u - 1e-6, u + 1e-6]))[0]
    check(ROWS["F32"], rho[0])
    check(ROWS["F33"], rho[1])


def test_sod__plateaus_of_the_example_script():
    x, solution = shock_tube.shock_tube(400)
    found = shock_tube.plateaus(x, solution)
    for name, row in {
        "p*": "F30",
        "u*": "F31",
        "rho left of contact": "F32",
        "rho right of contact": "F33",
    }.items():
        assert found[name] == pytest.approx(value(row), rel=5e-4)  # ripple behind captured waves on 400 cells


# ---- finite waves at ends


def finite_wave(closed, cells=400):
    """Flat-topped simple wave p/p0 = 1.3 meets an end; p/p0 there (closed) or of the reflected wave (open)."""
    p0, T0 = 1e5, 343.0**2 / (G * R)
    duct = plain_duct(4.0, 0.05, cells)
    ends = (End(CLOSED), End(CLOSED) if closed else End(0))
    net, (span,) = build_network(AIR, [(duct, *ends)], [Node("air", AMBIENT, p0, T0)])
    x = (np.arange(cells) + 0.5) * span.dx
    bump = 0.5 * (np.tanh((x - 1.2) / 0.15) - np.tanh((x - 3.0) / 0.15))
    X = 1.0 + (1.3 ** (1.0 / 7.0) - 1.0) * bump
    u = 5.0 * 343.0 * (X - 1.0)
    fill_duct(net, span, p0 * X**7, T0 * X**2, u)
    record = advance(net, 5.0 / 343.0, [span.first + cells - 1, span.first + cells // 2], 5000)
    return record[:, 2:] / p0, float(u.max())


def test_finite_wave__closed_end():
    pressure, u = finite_wave(closed=True)
    assert u == pytest.approx(value("F38"), rel=1e-4)  # sampled at cell centres
    assert pressure[:, 0].max() == pytest.approx(value("F36"), rel=1e-3)


def test_finite_wave__open_end():
    pressure, _ = finite_wave(closed=False)
    assert pressure[:, 1].min() == pytest.approx(value("F37"), rel=1e-3)


# ---- friction pipe (Fanno)


def fanno(M):
    return (1.0 - M * M) / (G * M * M) + (G + 1.0) / (2.0 * G) * np.log((G + 1.0) * M * M / (2.0 + (G - 1.0) * M * M))


def fanno_p(M):
    return np.sqrt((G + 1.0) / (2.0 + (G - 1.0) * M * M)) / M


@pytest.mark.parametrize(("row", "M"), [("F21", 0.1), ("F22", 0.5), ("F26", 0.64)])
def test_fanno__formula_of_this_file(row, M):
    check(ROWS[row], fanno(M))


def fanno_pipe(length, d, f, p_total, T_total, p_exit, cells, passes):
    """Steady Mach numbers, velocities at the two ends (extrapolated to the faces)."""
    duct = Duct(
        "pipe",
        length,
        d,
        cell_size=length / cells,
        heat_factor=0.0,
        friction_factor=4.0 * f,
        p=p_exit,
        T=T_total,
    )
    nodes = [Node("in", AMBIENT, p_total, T_total), Node("out", AMBIENT, p_exit, T_total)]
    net, (span,) = build_network(AIR, [(duct, End(0), End(1))], nodes)
    # by whole steps: a last short step would show another flux than the steady ones
    march(net, 0.8, 1e9, int(passes * cells), np.zeros(0, dtype=np.int64), np.zeros((0, 2)))
    w, T = state(net, span)
    M = w[VEL] / np.sqrt(G * R * T)
    at_ends = (1.5 * M[0] - 0.5 * M[1], 1.5 * M[-1] - 0.5 * M[-2])
    return at_ends, 1.5 * w[VEL, -1] - 0.5 * w[VEL, -2], net.ends[:, E_MDOT]


def test_fanno_pipe__from_mach_0_1_to_0_5():
    """Pipe of row F23: with the pressures of Fanno flow at its ends the ends run at Mach 0.1 and 0.5."""
    p1 = 1e5
    total = p1 * (1.0 + 0.2 * 0.01) ** 3.5
    p2 = p1 * fanno_p(0.5) / fanno_p(0.1)
    assert fanno_p(0.5) == pytest.approx(value("F24"), rel=float(ROWS["F24"]["rel_tol"]))
    errors = []
    for cells in (100, 200, 400):
        (M1, M2), _, mdot = fanno_pipe(value("F23"), 0.02, 0.004, total, 300.0, p2, cells, 60)
        assert -mdot[0] == pytest.approx(mdot[1], rel=1e-6)
        errors.append(M1 - 0.1)
    assert abs(errors[2]) < 1.2e-3 * 0.1
    assert pytest.approx(0.5, rel=1e-2) == M2  # extrapolated over the steep last half cell
    # friction is split from the flow: first order in f dx / D (0.16 here, 0.01 in an engine's ducts)
    assert errors[0] / errors[1] == pytest.approx(2.0, abs=0.1)
    assert abs(2.0 * errors[2] - errors[1]) < 1e-4 * 0.1  # extrapolated to fine cells


def test_fanno_pipe__velocity_after_drop_from_13_to_10_bar():
    """Row F27: 543 K, 235 m/s, 150 mm, f 0.005; length from the Fanno relation between the two Mach numbers."""
    M1 = 235.0 / np.sqrt(G * R * 543.0)
    total = 13e5 * (1.0 + 0.2 * M1**2) ** 3.5
    T_total = 543.0 * (1.0 + 0.2 * M1**2)
    M = np.linspace(M1, 0.9, 200_001)
    M2 = M[np.argmin(np.abs(fanno_p(M) / fanno_p(M1) - 10.0 / 13.0))]
    length = (fanno(M1) - fanno(M2)) * 0.15 / (4.0 * 0.005)
    _, u2, _ = fanno_pipe(length, 0.15, 0.005, total, T_total, 10e5, 200, 60)
    check(ROWS["F27"], u2)


# ---- steps, entrances, friction factor


def loss_of_step(d1, d2, ratio=1.002, cells=20):
    """Total pressure loss of a step in slow steady flow, over the dynamic pressure in the smaller duct."""
    ducts = [
        (plain_duct(0.3, d1, cells), End(0), End(CLOSED)),
        (plain_duct(0.3, d2, cells), End(CLOSED), End(1)),
    ]
    nodes = [Node("in", AMBIENT, ratio * 1e5, 300.0), Node("out", AMBIENT, 1e5, 300.0)]
    net, spans = build_network(AIR, ducts, nodes, [Join((0, "stop"), (1, "start"))])
    for span in spans:
        fill_duct(net, span, 1e5, 300.0)
    advance(net, 4.0)
    heads, dynamic = [], []
    for span in spans:
        w, T = state(net, span)
        M2 = w[VEL] ** 2 / (G * R * T)
        heads.append(np.median(w[PRE] * (1.0 + 0.2 * M2) ** 3.5))
        dynamic.append(np.median(0.5 * w[RHO] * w[VEL] ** 2))
    return (heads[0] - heads[1]) / max(dynamic)


@pytest.mark.parametrize(("row", "d1", "d2"), [("F44", 0.025, 0.05), ("F45", 0.03, 0.04)])
def test_sudden_enlargement__borda_carnot(row, d1, d2):
    """At Mach 0.06 compressibility moves the coefficient by some M^2 = 0.4 %."""
    assert diffuser_sharp(d1, d2) == pytest.approx(value(row), rel=1e-5)
    assert loss_of_step(d1, d2) == pytest.approx(value(row), rel=1e-2)


def test_sudden_contraction__marched_and_closed_form():
    K = contraction_sharp(Di1=0.05, Di2=0.03, method="Rennels")
    assert contraction_loss(0.6) == pytest.approx(K, rel=1e-9)
    assert loss_of_step(0.05, 0.03) == pytest.approx(K, rel=1.5e-2)
    assert (1.0 / contraction_coefficient(0.6) - 1.0) ** 2 == pytest.approx(K, rel=1e-12)


def test_sharp_entrance__limit_of_the_contraction():
    assert round(contraction_loss(0.0), 2) == value("F46")  # printed to two digits


def test_friction_factor__smooth_pipe_and_library():
    check(ROWS["F48"], float(colebrook(1e5, 0.0)))
    for Re in (4e3, 3e4, 1e6):
        for rough in (0.0, 1e-4, 1e-2):
            assert float(colebrook(Re, rough)) == pytest.approx(friction_factor(Re, rough, Method="Clamond"), rel=1e-6)


@pytest.mark.parametrize("roughness", [0.0, 1e-5, 1e-3, 1e-2, 5e-2])
def test_wall_polynomials__follow_colebrook_and_gnielinski(roughness):
    Re = np.geomspace(4e3, 3e6, 400)
    factor, nusselt = (sum(c * Re ** (-0.25 * k) for k, c in enumerate(p)) for p in wall_polynomials(roughness))
    np.testing.assert_allclose(factor, colebrook(Re, roughness), rtol=5e-3)
    library = [turbulent_Gnielinski(Re=x, Pr=0.70, fd=f) for x, f in zip(Re, colebrook(Re, roughness), strict=True)]
    np.testing.assert_allclose(nusselt * Re, library, rtol=5e-3)


# ---- wall heat


def heated_pipe(p_in, T_wall, cells=80, heat_only=0.0):
    """Steady pipe, 40 mm by 0.8 m; ``heat_only`` = Nusselt factor with the friction taken away."""
    duct = Duct("pipe", 0.8, 0.04, 0.8 / cells, T_wall, p=1e5)
    nodes = [Node("in", AMBIENT, p_in, 300.0), Node("out", AMBIENT, 1e5, 300.0)]
    net, (span,) = build_network(AIR, [(duct, End(0), End(1))], nodes)
    if heat_only:
        net.wall[W_D_INVERSE] = 0.0
        net.wall[W_HEAT] = heat_only
    march(net, 0.8, 1e9, 200 * cells, np.zeros(0, dtype=np.int64), np.zeros((0, 2)))
    net.q_wall[:] = 0.0
    t, _ = march(net, 0.8, 1e9, 1, np.zeros(0, dtype=np.int64), np.zeros((0, 2)))
    return net, span, float(net.q_wall.sum() * span.dx / t)


def test_heated_pipe__gnielinski_of_the_library():
    """Exit temperature of a pipe at constant wall temperature, Nusselt number from the ht library."""
    net, span, heat = heated_pipe(1.01e5, 500.0)
    w, T = state(net, span)
    mdot = net.ends[1, E_MDOT]
    mean = float(T.mean())
    mu = 1.458e-6 * mean**1.5 / (mean + 110.4)
    Re = 4.0 * mdot / (np.pi * 0.04 * mu)
    Nu = turbulent_Gnielinski(Re=Re, Pr=0.70, fd=float(colebrook(Re, 0.0)))
    h = Nu * mu * CP / 0.70 / 0.04
    T_out = 500.0 - 200.0 * np.exp(-h * np.pi * 0.04 * 0.8 / (mdot * CP))
    rise = T[-1] + w[VEL, -1] ** 2 / (2.0 * CP) - 300.0
    assert rise == pytest.approx(T_out - 300.0, rel=1e-2)  # properties at the mean instead of along the pipe
    assert heat == pytest.approx(net.ends[:, E_HDOT].sum(), rel=1e-5)  # first law, steady


def test_heated_pipe__rayleigh_line():
    """Much heat, no friction: Rayleigh flow (any gas dynamics text); heat is split, so first order in cells."""
    errors = []
    for cells in (40, 80, 160):
        net, span, _ = heated_pipe(1.2e5, 900.0, cells, heat_only=4.0)
        w, T = state(net, span)
        M = w[VEL] / np.sqrt(G * R * T)
        assert T[-1] > 1.5 * T[0]
        ratio = (1.0 + G * M[0] ** 2) / (1.0 + G * M[-1] ** 2)
        errors.append([w[PRE, -1] / w[PRE, 0] / ratio - 1.0, T[-1] / T[0] / (M[-1] / M[0] * ratio) ** 2 - 1.0])
    error = np.abs(errors)
    assert (error[2] < 3e-3).all()
    np.testing.assert_allclose(error[:-1] / error[1:], 2.0, atol=0.3)


# ---- resonance


def test_end_corrections():
    assert END_CORRECTION["plain"] == value("F53")
    assert END_CORRECTION["flanged"] == value("F54")


def test_quarter_wave__of_the_example_script_with_end_correction():
    """25 cells, mouth correction included: a / 4 (L + 0.6133 r) within 0.1 %."""
    known = quarter_wave_pipe.known_frequency(0.5, 0.04, float(np.sqrt(G * R * 300.0)))
    f, loss = quarter_wave_pipe.fitted(*quarter_wave_pipe.ring(), known)
    assert f == pytest.approx(known, rel=1e-3)
    assert 0.0 < loss < 2e-3


@pytest.mark.parametrize(
    ("f", "length", "T", "gamma"),
    [
        (264.0, value("F50") / 100.0, 350.0**2 / (1.4 * R), 1.4),  # row F50: 264 Hz at 350 m/s
        (value("F55"), 0.60, 723.15, 1.34),  # row F55: 450 C gas, 0.60 m effective
    ],
)
def test_quarter_wave__published_pipes(f, length, T, gamma):
    found, _ = quarter_wave_pipe.fitted(*quarter_wave_pipe.ring(length, 0.03, T=T, gamma=gamma, mouth="none"), 1.02 * f)
    assert found == pytest.approx(f, rel=1e-3)
