"""The second law at every loss: gas goes from the higher to the lower total pressure, and its entropy never falls.

Random states, no engine. Constant heat capacity (gamma 1.4), so that total pressure and entropy are closed forms.
"""

from __future__ import annotations

import numpy as np
import pytest
from flow_cases import AIR_14, bare, build_network, inner, run
from test_flow_ends import random_end_states, solve_many

from spoolwright.flow.build import End, Join, Link, Node, fill_duct
from spoolwright.flow.network import exchange, stable_step
from spoolwright.flow.rows import (
    AMBIENT,
    CLOSED,
    E_MDOT,
    E_P,
    E_RHO,
    E_U,
    J_MDOT,
    JUNCTION,
    L_MDOT,
    N_P,
    PRE,
    RHO,
    VEL,
    VOLUME,
)

R, GAMMA = 287.0, 1.4


def total_pressure(p, rho, u):
    return p * (1.0 + 0.2 * u * u * rho / (GAMMA * p)) ** 3.5


def entropy(p, rho):
    """J/(kg K), up to a constant."""
    return R / (GAMMA - 1.0) * np.log(p / rho**GAMMA)


def random_pair(rng, throat):
    """Two pipes of different bores and states joined through a step or a throttle, after one step."""
    d1, d2 = rng.uniform(0.02, 0.06, 2)
    area = np.pi / 4.0 * min(d1, d2) ** 2
    opening = None if throat == "step" else area * rng.uniform(0.02, 0.95)
    ducts = [(bare("a", 0.2, d1, 5), End(CLOSED), End(CLOSED)), (bare("b", 0.2, d2, 5), End(CLOSED), End(CLOSED))]
    join = Join((0, "stop"), (1, "start"), opening, opening)
    net, spans = build_network(AIR_14, ducts, [Node("far", AMBIENT)], [join])
    for span in spans:
        T = rng.uniform(250.0, 1200.0)
        fill_duct(net, span, 1e5 * np.exp(rng.uniform(-0.7, 1.5)), T, np.sqrt(GAMMA * R * T) * rng.uniform(-0.6, 0.6))
    dt = stable_step(*net, 0.8)
    exchange(*net, dt)
    return net


@pytest.mark.parametrize("throat", ["step", "throttle"])
def test_join__total_pressure_falls_and_entropy_rises(throat):
    """The gas that leaves on the far side has no more total pressure and no less entropy than where it came from."""
    rng = np.random.default_rng(3)
    passed = 0
    for _ in range(400):
        net = random_pair(rng, throat)
        up, down = (1, 2) if net.joins[0, J_MDOT] > 0.0 else (2, 1)  # ends: 1 stop of a, 2 start of b
        if net.joins[0, J_MDOT] == 0.0:
            continue
        p, rho, u = (net.ends[[up, down], row] for row in (E_P, E_RHO, E_U))
        sound = np.sqrt(GAMMA * p / rho)
        if (np.abs(u) > 0.999 * sound).any():
            continue  # a choked face closes mass and energy, not the momentum balance of the loss
        p0, s = total_pressure(p, rho, u), entropy(p, rho)
        T0 = p / (rho * R) + 0.5 * u * u / (3.5 * R)
        assert T0[1] == pytest.approx(T0[0], rel=1e-6)
        assert p0[1] <= p0[0] * (1.0 + 1e-7)
        assert s[1] >= s[0] - 1e-4
        passed += 1
    assert passed > 250


def test_end__inflow_never_gains_total_pressure_and_outflow_never_climbs():
    """Between a duct that streams either way and a node behind any opening."""
    states = random_end_states(50_000, seed=4)
    states[:, 7] = 3.5 * R
    states[:, 3] = GAMMA
    out = np.zeros((len(states), 5))
    solve_many(states, out)
    flux, p, v, rho, _ = out.T
    p_node, T_node = states[:, 4], states[:, 5]
    p0 = total_pressure(p, rho, v)
    inward = flux < 0.0
    assert (p0[inward] <= p_node[inward] * (1.0 + 1e-7)).all()
    s_node = entropy(p_node, p_node / (R * T_node))
    assert (entropy(p, rho)[inward] >= s_node[inward] - 1e-3).all()
    outward = flux > 0.0
    assert (p0[outward] >= p_node[outward] * (1.0 - 1e-7)).all()
    assert inward.sum() > 5000
    assert outward.sum() > 5000


def test_link__runs_down_the_pressure():
    rng = np.random.default_rng(5)
    for _ in range(200):
        nodes = [
            Node(n, VOLUME, 1e5 * np.exp(rng.uniform(-1.0, 2.0)), rng.uniform(250, 900), volume=1e-3) for n in "ab"
        ]
        net, _ = build_network(AIR_14, [], nodes, links=[Link(0, 1, 1e-4)])
        stable_step(*net, 0.8)
        exchange(*net, 1e-6)
        assert net.links[0, L_MDOT] * (net.nodes[0, N_P] - net.nodes[1, N_P]) > 0.0


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_junction__entropy_of_what_leaves_is_no_less_than_of_what_enters(seed):
    """Three pipes at random angles between three reservoirs, at rest in the mean: steady flow into and out of a
    junction. Entropy flow out of it, over all faces, is not negative, and no power is gained: the flow-weighted
    total pressure over density falls."""
    rng = np.random.default_rng(seed)
    ducts, nodes = [], [Node("y", JUNCTION, 1e5, 300.0)]
    for k in range(3):
        axis = rng.normal(size=3)
        axis /= np.linalg.norm(axis)
        nodes.append(Node(f"outside {k}", AMBIENT, 1e5 * (1.0 + (0.0, 0.12, 0.3)[k] * rng.uniform(0.3, 1.0)), 300.0))
        ducts.append((bare(f"{k}", 0.3, rng.uniform(0.02, 0.05), 10), End(1 + k), End(0, axis=tuple(axis))))
    net, spans = build_network(AIR_14, ducts, nodes)
    run(net, 0.6)
    mdot = net.ends[1::2, E_MDOT]  # into the junction
    assert abs(mdot.sum()) < 2e-3 * np.abs(mdot).sum()
    assert np.abs(mdot).max() > 0.01
    s, head = [], []
    for span in spans:
        rho, u, p = (np.median(net.W[row, inner(span)]) for row in (RHO, VEL, PRE))
        s.append(entropy(p, rho))
        p0 = total_pressure(p, rho, u)
        head.append(p0 * (p0 / total_pressure(1e5, 1e5 / (R * 300.0), 0.0)) ** (-1.0 / 3.5))
    s0 = float(np.mean(s))
    assert float(mdot @ (np.array(s) - s0)) < 1e-3 * np.abs(mdot).sum()
    assert float(mdot @ np.array(head)) > 0.0
