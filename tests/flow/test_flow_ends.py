"""Duct ends, joins, nodes and links: conservation, limits, order of parts, bad input."""

from __future__ import annotations

import numpy as np
import pytest
from flow_cases import AIR_14, MIXED, bare, build_network, centres, contents, inner, run

from spoolwright.errors import BadInput
from spoolwright.flow.build import CLOSED, End, Join, Link, Node, fill_duct
from spoolwright.flow.mesh import END_CORRECTION, Duct, lay_out
from spoolwright.flow.nozzle import critical_ratio, end_state, nozzle_flux, orifice_flux
from spoolwright.flow.rows import (
    AMBIENT,
    E_MDOT,
    G_AREA,
    G_RDX,
    JUNCTION,
    L_MDOT,
    N_H,
    N_P,
    N_T,
    PRE,
    RHO,
    VEL,
    VOLUME,
    YB,
    YF,
)
from spoolwright.kernel import kernel


@kernel
def solve_many(states, out):
    for i in range(states.shape[0]):
        s = states[i]
        a = end_state(s[0], s[1], s[2], s[3], s[4], s[5], s[6], s[7], s[8], s[9], s[10])
        out[i, 0], out[i, 1], out[i, 2], out[i, 3], out[i, 4] = a


def random_end_states(n, seed=1):
    """v, rho, p, gamma, p_node, T_node, R, cp, ratio_out, ratio_in, guess; drawn wide."""
    rng = np.random.default_rng(seed)
    gamma = rng.uniform(1.2, 1.42, n)
    p = 1e5 * np.exp(rng.uniform(-1.6, 3.0, n))
    T = rng.uniform(200.0, 2000.0, n)
    c = np.sqrt(gamma * 287.0 * T)
    v = c * rng.uniform(-1.2, 1.4, n)
    p_node = 1e5 * np.exp(rng.uniform(-1.6, 4.5, n))
    T_node = rng.uniform(200.0, 3000.0, n)
    cp = 287.0 * rng.uniform(3.3, 6.0, n)
    kind = rng.integers(0, 3, n)
    ratio = np.where(kind == 0, 0.0, np.where(kind == 1, 1.0, rng.uniform(0.0, 1.0, n)))
    guess = p * np.exp(rng.uniform(-0.7, 0.7, n))
    return np.stack([v, p / (287.0 * T), p, gamma, p_node, T_node, np.full(n, 287.0), cp, ratio, ratio, guess], axis=1)


def test_end_state__200_000_random_states():
    states = random_end_states(200_000)
    out = np.zeros((len(states), 5))
    solve_many(states, out)
    flux, p, v, rho, _ = out.T
    assert np.isfinite(out).all()
    assert (p > 0.0).all()
    assert (rho > 0.0).all()
    np.testing.assert_allclose(flux, rho * v, rtol=1e-12, atol=1e-9)
    # the face never passes the node's sound speed on inflow, and an end that is shut passes nothing
    gamma_n = states[:, 7] / (states[:, 7] - 287.0)
    c_node = np.sqrt(gamma_n * 287.0 * states[:, 5])
    assert (-v <= 1.001 * c_node).all()
    assert (flux[states[:, 8] == 0.0] == 0.0).all()


def test_end_state__nothing_flows_up_the_total_pressure():
    states = random_end_states(50_000, seed=2)
    states[:, 0] = 0.0  # a gas at rest in the duct: total pressure = pressure
    out = np.zeros((len(states), 5))
    solve_many(states, out)
    up = states[:, 2] - states[:, 4]
    assert (out[:, 0] * up >= 0.0).all()


def test_end_state__satisfies_its_own_equations():
    """Outflow: face flux equals ratio times nozzle flux of the face's stagnation state."""
    states = random_end_states(20_000, seed=3)
    out = np.zeros((len(states), 5))
    solve_many(states, out)
    checked = 0
    for s, (flux, p, v, rho, _) in zip(states[:3000], out[:3000], strict=True):
        gamma, ratio = s[3], s[8]
        if not (0.0 < ratio < 0.999) or flux <= 0.0:
            continue
        R, cp = 287.0, 287.0 * gamma / (gamma - 1.0)
        T = p / (rho * R)
        T0 = T + 0.5 * v * v / cp
        p0 = p * (T0 / T) ** (gamma / (gamma - 1.0))
        expected = ratio * nozzle_flux(p0, T0, R, cp, s[4])
        if v < np.sqrt(gamma * R * T) * 0.999:
            assert flux == pytest.approx(expected, rel=2e-5, abs=1e-3)
            checked += 1
    assert checked > 300


def test_orifice_flux__continuous_and_exact_above_the_linear_piece():
    args = (2e5, 320.0, 287.0, 1004.5)
    assert orifice_flux(*args, 2e5) == 0.0
    assert orifice_flux(*args, 2e5 * 0.9989) == nozzle_flux(*args, 2e5 * 0.9989)
    below, above = orifice_flux(*args, 2e5 * (1 - 0.99999e-3)), orifice_flux(*args, 2e5 * (1 - 1.00001e-3))
    assert below == pytest.approx(above, rel=1e-4)
    assert critical_ratio(1.4) < 0.6


def network_of_everything(order=(0, 1, 2, 3, 4)):
    """Five ducts, a junction with axes, a plenum, a step, a throttle and a link: closed to the outside.

    ``order`` permutes the ducts; nothing else changes.
    """
    named = [
        (bare("a", 0.5, 0.04, 25), End(CLOSED), End(0, axis=(1.0, 0.0, 0.0))),
        (bare("b", 0.4, ((0.0, 0.03), (0.4, 0.045)), 20), End(0, axis=(-1.0, 0.0, 0.0)), End(CLOSED)),
        (bare("c", 0.3, 0.06, 15), End(CLOSED), End(1, 0.6, 0.7)),
        (bare("d", 0.3, 0.025, 15), End(0, axis=(0.0, -1.0, 0.0)), End(CLOSED)),
        (bare("e", 0.3, 0.05, 15), End(CLOSED), End(2)),
    ]
    where = {old: new for new, old in enumerate(order)}
    ducts = [named[i] for i in order]
    nodes = [
        Node("junction", JUNCTION, 1e5, 300.0),
        Node("plenum", VOLUME, 1.4e5, 350.0, yf=0.05, volume=1e-3),
        Node("crankcase", VOLUME, 0.9e5, 320.0, yb=0.3, volume=2e-3),
    ]
    joins = [
        Join((where[1], "stop"), (where[2], "start")),
        Join((where[3], "stop"), (where[4], "start"), throat_ab=3e-4, throat_ba=2e-4),
    ]
    net, spans = build_network(MIXED, ducts, nodes, joins, [Link(1, 2, 5e-5)])
    for old, (p, T, yf, yb) in enumerate(
        [
            (2.5e5, 300.0, 0.06, 0.0),
            (1e5, 900.0, 0.0, 1.0),
            (1e5, 400.0, 0.0, 0.5),
            (0.8e5, 300.0, 0.0, 0.0),
            (1.2e5, 310.0, 0.02, 0.0),
        ]
    ):
        fill_duct(net, spans[where[old]], p, T, 0.0, yf, yb)
    return net, [spans[where[i]] for i in range(5)]


def test_closed_network__mass_energy_and_species_close():
    net, spans = network_of_everything()
    start = contents(net)
    for _ in range(5):
        run(net, steps=1000)
        np.testing.assert_allclose(contents(net), start, rtol=1e-12)
        for span in spans:
            y = net.W[YF : YB + 1, inner(span)]
            assert y.min() >= -1e-14
            assert y.max() <= 1.0 + 1e-14


def test_network__order_of_ducts_does_not_matter():
    first, spans = network_of_everything()
    other, moved = network_of_everything((3, 0, 4, 2, 1))
    assert run(first, 4e-3)[1] == run(other, 4e-3)[1]
    for a, b in zip(spans, moved, strict=True):
        np.testing.assert_allclose(first.W[PRE, inner(a)], other.W[PRE, inner(b)], rtol=1e-11)
        np.testing.assert_allclose(first.W[RHO, inner(a)], other.W[RHO, inner(b)], rtol=1e-11)
    np.testing.assert_allclose(first.nodes[:, [N_P, N_T]], other.nodes[:, [N_P, N_T]], rtol=1e-11)


def test_network__at_rest_stays_at_rest():
    net, spans = network_of_everything()
    for span, T in zip(spans, (300.0, 900.0, 400.0, 300.0, 500.0), strict=True):
        fill_duct(net, span, 1e5, T)
    from spoolwright.flow.build import set_node

    for k in range(3):
        set_node(net, k, 1e5, 350.0 + 50.0 * k)
    run(net, steps=3000)
    for span in spans:
        assert np.abs(net.W[VEL, inner(span)]).max() < 1e-9


def specific_entropy(gas, p, T, yf, yb):
    """s of the mixture up to a constant of its composition: (a + R) ln T + b T - R ln p."""
    R, a, b = ((1 - yf - yb) * x[0] + yf * x[1] + yb * x[2] for x in (gas.R, gas.a, gas.b))
    return (a + R) * np.log(T) + b * T - R * np.log(p)


def steady_pair(join, p_in, p_out, d1=0.03, d2=0.05, cells=15):
    """Ambient, duct, join, duct, ambient; marched to steady flow. Returns (net, spans)."""
    ducts = [
        (bare("up", 0.3, d1, cells), End(0), End(CLOSED)),
        (bare("down", 0.3, d2, cells), End(CLOSED), End(1)),
    ]
    nodes = [Node("in", AMBIENT, p_in, 300.0), Node("out", AMBIENT, p_out, 300.0)]
    net, spans = build_network(AIR_14, ducts, nodes, [join])
    run(net, 1.0)  # without friction the start-up wave dies only at the open ends
    return net, spans


@pytest.mark.parametrize("p_in", [1.02e5, 1.2e5, 1.8e5, 4e5])
@pytest.mark.parametrize("diameters", [(0.03, 0.05), (0.05, 0.03)])
@pytest.mark.parametrize("throat", [None, 2e-4])
def test_join__steady_flow_conserves_and_entropy_never_falls(p_in, diameters, throat):
    join = Join((0, "stop"), (1, "start"), throat, throat)
    net, spans = steady_pair(join, p_in, 1e5, *diameters)
    mdot = net.ends[:, E_MDOT] * [-1, 1, -1, 1]
    assert mdot[0] > 0.0
    np.testing.assert_allclose(mdot, mdot[0], rtol=2e-3)
    T0, s = [], []
    for span in spans:
        w, T = net.W[:, inner(span)], net.aux[0, inner(span)]
        T0.append(np.median(T + w[VEL] ** 2 / (2.0 * 1004.5)))
        s.append(np.median(specific_entropy(AIR_14, w[PRE], T, w[YF], w[YB])))
    assert T0[1] == pytest.approx(T0[0], rel=1e-3)
    assert s[1] > s[0] - 0.05  # J/(kg K), against some 10 to 300 of the losses


def test_cone__steady_flow_near_isentropic():
    """60 to 30 mm cone between reservoirs: mass flow of the isentropic nozzle, exit pressure ambient."""
    cone = bare("cone", 0.4, ((0.0, 0.06), (0.4, 0.03)), 20)
    nodes = [Node("in", AMBIENT, 1.2e5, 300.0), Node("out", AMBIENT, 1e5, 300.0)]
    net, _ = build_network(AIR_14, [(cone, End(0), End(1))], nodes)
    run(net, 0.2)
    expected = nozzle_flux(1.2e5, 300.0, 287.0, 1004.5, 1e5) * np.pi / 4.0 * 0.03**2
    np.testing.assert_allclose(net.ends[:, E_MDOT], [-expected, expected], rtol=2e-3)


def junction_pulse(axes, amplitude=1e-3, momentum=True):
    """Pulse through duct 0 into a junction with ducts 1 and 2: (incident, reflected, transmitted 1, 2)."""
    cells, length, d = 75, 1.5, 0.04
    zero = (0.0, 0.0, 0.0)
    ends = [axes[i] if momentum else zero for i in range(3)]
    ducts = [
        (bare("in", length, d, cells), End(CLOSED), End(0, axis=ends[0])),
        (bare("one", length, d, cells), End(0, axis=ends[1]), End(CLOSED)),
        (bare("two", length, d, cells), End(0, axis=ends[2]), End(CLOSED)),
    ]
    net, spans = build_network(AIR_14, ducts, [Node("y", JUNCTION, 1e5, 300.0)])
    x = centres(spans[0])
    c0 = np.sqrt(1.4 * 287.0 * 300.0)
    p = 1e5 * (1.0 + amplitude * np.exp(-(((x - 0.8) / 0.1) ** 2)))
    T = 300.0 * (p / 1e5) ** (0.4 / 1.4)
    fill_duct(net, spans[0], p, T, 5.0 * (np.sqrt(1.4 * 287.0 * T) - c0))
    fill_duct(net, spans[1], 1e5, 300.0)
    fill_duct(net, spans[2], 1e5, 300.0)
    from spoolwright.flow.network import march

    record = np.zeros((2000, 5))
    probes = np.array([spans[0].first + 60, spans[1].first + 15, spans[2].first + 15])
    _, n = march(net, 0.8, 1.75 / c0, 2000, probes, record)
    q = record[:n, 2:] / 1e5 - 1.0
    return q[:, 0].max(), q[:, 0].min(), q[:, 1].max(), q[:, 2].max()


Y = ((1.0, 0.0, 0.0), (-0.5, 0.866, 0.0), (-0.5, -0.866, 0.0))


def test_junction__acoustics_of_three_equal_pipes():
    """Plane-wave acoustics: transmitted 2/3, reflected -1/3; the node's finite volume rounds the pulse a little."""
    incident, reflected, one, two = junction_pulse(Y)
    assert one == pytest.approx(two, rel=1e-9)
    assert one / incident == pytest.approx(2.0 / 3.0, abs=0.03)
    assert reflected / incident == pytest.approx(-1.0 / 3.0, abs=0.03)


def test_junction__straight_run_keeps_more_of_a_strong_pulse_than_the_branch():
    tee = ((1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
    _, _, straight, branch = junction_pulse(tee, 0.5)
    _, _, plain, _ = junction_pulse(tee, 0.5, momentum=False)
    assert straight > plain > 0.0
    assert straight > 1.02 * branch


def test_volume__fills_to_the_known_temperature():
    """Charging an empty vessel from the atmosphere adiabatically: T = gamma T0 (first law, textbook)."""
    nodes = [Node("air", AMBIENT, 1e5, 300.0), Node("vessel", VOLUME, 50.0, 300.0, volume=1e-3)]
    net, _ = build_network(AIR_14, [], nodes, links=[Link(0, 1, 1e-5)])
    run_links(net, 2.0)
    assert net.nodes[1, N_P] == pytest.approx(1e5, rel=1e-3)
    assert net.nodes[1, N_T] == pytest.approx(1.4 * 300.0, rel=1e-3)


def run_links(net, t_end):
    from spoolwright.flow.network import exchange, stable_step
    from spoolwright.flow.nodes import advance_volumes

    t = 0.0
    while t < t_end:
        dt = min(stable_step(*net, 0.8), 1e-3)
        exchange(*net, dt)
        advance_volumes(net.kind, net.nodes, net.mix, dt)
        t += dt


def test_link__flow_is_the_orifice_law():
    nodes = [Node("a", AMBIENT, 1.5e5, 300.0), Node("b", AMBIENT, 1e5, 400.0)]
    net, _ = build_network(AIR_14, [], nodes, links=[Link(0, 1, 2e-5)])
    run_links(net, 1e-3)
    assert net.links[0, L_MDOT] == pytest.approx(2e-5 * nozzle_flux(1.5e5, 300.0, 287.0, 1004.5, 1e5), rel=1e-14)
    assert net.nodes[0, N_H] == pytest.approx(1004.5 * 300.0)


def test_mesh__volume_is_that_of_the_frustums_and_mouths_lengthen():
    table = ((0.0, 0.03), (0.11, 0.05), (0.3, 0.04))
    duct = Duct("horn", 0.3, table, cell_size=0.02, stop_mouth="flanged")
    mesh, (span,) = lay_out([duct])
    volume = (mesh.geometry[G_AREA, inner(span)] / mesh.geometry[G_RDX, inner(span)]).sum()
    extra = END_CORRECTION["flanged"] * 0.02
    expected = (
        np.pi
        / 12.0
        * (0.11 * (0.03**2 + 0.03 * 0.05 + 0.05**2) + 0.19 * (0.05**2 + 0.05 * 0.04 + 0.04**2) + extra * 3 * 0.04**2)
    )
    assert volume == pytest.approx(expected, rel=1e-13)
    assert span.length == pytest.approx(0.3 + extra)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"length": -0.2}, "length is -0.2 m"),
        ({"diameters": 0.0}, "a diameter is 0 m"),
        ({"diameters": ((0.0, 0.03), (0.2, 0.04))}, "must rise from 0 to the length"),
        ({"diameters": ((0.0, 0.03), (0.3, 0.03), (0.2, 0.04), (0.5, 0.04))}, "must rise"),
        ({"roughness": 0.02}, "roughness is 0.02 m"),
        ({"T_wall": -3.0}, "more than 0 K"),
        ({"yb": 0.7, "yf": 0.6}, "mass fractions"),
        ({"length": float("nan")}, "length is nan m"),
    ],
)
def test_mesh__bad_duct_is_one_sentence(change, words):
    good = {"name": "runner", "length": 0.5, "diameters": 0.04}
    with pytest.raises(BadInput, match="runner") as caught:
        lay_out([Duct(**(good | change))])
    assert words in str(caught.value)


def test_build__unknown_node_and_double_join():
    duct = bare("a", 0.5, 0.04, 5)
    with pytest.raises(BadInput, match="there are nodes 0 to 0"):
        build_network(AIR_14, [(duct, End(3), End())], [Node("x", AMBIENT)])
    with pytest.raises(BadInput, match="joined twice"):
        build_network(AIR_14, [(duct, End(0), End())], [Node("x", AMBIENT)], [Join((0, "start"), (0, "stop"))])
