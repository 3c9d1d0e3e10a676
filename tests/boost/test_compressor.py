"""Compressor kernels: limits, slopes, round trip, energy, similarity, monotony."""

from __future__ import annotations

import numpy as np
import pytest
from machines import CP, DIAMETER, P1, T1, R, compressor, sound, speed

from spoolwright.boost.compressor import (
    compressor_flow,
    compressor_head,
    flow_coefficient,
    head_coefficient,
    is_on_surge_side,
    line_at,
    wheel_at,
    work_coefficient,
)
from spoolwright.boost.compressor_roots import (
    FOUND,
    TOO_HIGH,
    TOO_LOW,
    choke_flow,
    compressor_speed,
    surge_flow,
    surge_point,
)
from spoolwright.boost.rows import K_LIMITER, K_SHUT_OFF

SIZES, LINES = compressor()
MACH = np.linspace(0.05, 1.65, 33)


def head(phi: float, M: float) -> float:
    return head_coefficient(SIZES, line_at(SIZES, LINES, M), phi)[0]


def test_head__named_points_of_a_line() -> None:
    for M in MACH:
        line = line_at(SIZES, LINES, M)
        assert head(line.phi_peak, M) == pytest.approx(line.psi_peak, rel=1e-12)
        assert head(line.phi_choke, M) == pytest.approx(0.0, abs=1e-12)
        assert head(0.0, M) == pytest.approx(SIZES[K_SHUT_OFF] * line.psi_peak, rel=1e-12)


def test_head__falls_from_peak_to_far_beyond_choke() -> None:
    for M in MACH:
        line = line_at(SIZES, LINES, M)
        phi = np.linspace(line.phi_peak, 4.0 * line.phi_choke, 900)
        psi = np.array([head(p, M) for p in phi])
        assert np.all(np.diff(psi) < 0.0)


def test_head__slope_is_the_difference_quotient_everywhere() -> None:
    """Reverse flow, surge side, falling branch, beyond choke, and across every joint."""
    step = 1e-7
    for M in MACH[::4]:
        line = line_at(SIZES, LINES, M)
        joints = (0.0, line.phi_peak, line.phi_choke)
        for phi in np.r_[np.linspace(-line.phi_peak, 2.0 * line.phi_choke, 211), joints]:
            _, slope = head_coefficient(SIZES, line, phi)
            quotient = (head(phi + step, M) - head(phi - step, M)) / (2.0 * step)
            assert quotient == pytest.approx(slope, abs=2e-4 * (1.0 + abs(slope)))


def test_line__one_slope_over_mach_number() -> None:
    """No kink where rows of the table meet."""
    step = 1e-6
    for M in np.linspace(0.3, 1.3, 41):
        for field in range(5):
            before = (line_at(SIZES, LINES, M)[field] - line_at(SIZES, LINES, M - step)[field]) / step
            behind = (line_at(SIZES, LINES, M + step)[field] - line_at(SIZES, LINES, M)[field]) / step
            assert before == pytest.approx(behind, abs=1e-3)


def test_inverse__round_trip_on_the_falling_branch_and_beyond() -> None:
    for M in MACH:
        line = line_at(SIZES, LINES, M)
        for phi in np.linspace(line.phi_peak * 1.02, 3.0 * line.phi_choke, 57):
            psi = head(phi, M)
            assert flow_coefficient(SIZES, line, psi) == pytest.approx(phi, rel=1e-9)


def test_inverse__limiter_shuts_the_flow_a_little_above_the_peak() -> None:
    line = line_at(SIZES, LINES, 1.0)
    share = np.linspace(1.0, 1.0 + 1.5 * SIZES[K_LIMITER], 31)
    phi = np.array([flow_coefficient(SIZES, line, s * line.psi_peak) for s in share])
    assert phi[0] == pytest.approx(line.phi_peak)
    assert np.all(np.diff(phi) <= 0.0)
    assert phi[-1] == 0.0


def test_flow_and_head__say_the_same() -> None:
    for M in (0.3, 0.8, 1.3):
        omega = speed(M)
        for share in (0.5, 0.8, 1.0, 1.2):
            mdot = share * choke_flow(SIZES, LINES, omega, P1, T1, R, CP)
            p2, dh0, _ = compressor_head(SIZES, LINES, omega, mdot, P1, T1, R, CP)
            back, dh0_back, surging = compressor_flow(SIZES, LINES, omega, P1, T1, R, CP, p2)
            assert back == pytest.approx(mdot, rel=1e-9)
            assert dh0_back == pytest.approx(dh0, rel=1e-9)
            assert surging == float(is_on_surge_side(SIZES, LINES, omega, mdot, P1, T1, R, CP)) == 0.0


def test_head__slope_in_pressure_and_flow() -> None:
    omega = speed(1.1)
    top = choke_flow(SIZES, LINES, omega, P1, T1, R, CP)
    for mdot in np.linspace(-0.1, 1.5, 33) * top:
        slope = compressor_head(SIZES, LINES, omega, mdot, P1, T1, R, CP)[2]
        step = 1e-6 * top
        above = compressor_head(SIZES, LINES, omega, mdot + step, P1, T1, R, CP)[0]
        below = compressor_head(SIZES, LINES, omega, mdot - step, P1, T1, R, CP)[0]
        assert (above - below) / (2.0 * step) == pytest.approx(slope, rel=1e-3, abs=1e-4 * P1 / top)


def test_efficiency__between_zero_and_one_where_it_compresses() -> None:
    """Head over work: the second law where the pressure rises."""
    for M in MACH:
        line = line_at(SIZES, LINES, M)
        for phi in np.linspace(0.0, line.phi_choke, 40):
            eta = head(phi, M) / work_coefficient(SIZES, LINES, M, line, phi)
            assert 0.0 <= eta + 1e-12 < 1.0


def test_work__is_given_to_the_gas_in_every_direction() -> None:
    omega = speed(1.0)
    for mdot in (-0.05, 0.0, 0.05, 0.5):
        assert compressor_head(SIZES, LINES, omega, mdot, P1, T1, R, CP)[1] > 0.0


def test_work__one_slope_over_flow() -> None:
    line = line_at(SIZES, LINES, 0.9)
    step = 1e-7
    for phi in np.r_[0.0, np.linspace(-0.01, 1.4 * line.phi_choke, 101), 1.2 * line.phi_choke]:
        at = [work_coefficient(SIZES, LINES, 0.9, line, phi + k * step) for k in (-1, 0, 1)]
        assert (at[2] - at[1]) / step == pytest.approx((at[1] - at[0]) / step, abs=1e-3)


def test_pressure__rises_with_speed_at_every_flow() -> None:
    omega = np.linspace(2000.0, 19000.0, 120)
    for mdot in np.linspace(0.01, 0.14, 14):
        p2 = [compressor_head(SIZES, LINES, w, mdot, P1, T1, R, CP)[0] for w in omega]
        assert np.all(np.diff(p2) > 0.0)


def test_similarity__same_mach_and_flow_coefficient_give_the_same_ratio() -> None:
    """Another day: 250 K and 70 kPa against 300 K and 98 kPa, corrected speed and flow equal."""
    cold = 250.0
    for M, share in ((0.6, 0.6), (1.2, 0.8)):
        warm_flow = share * choke_flow(SIZES, LINES, speed(M), P1, T1, R, CP)
        cold_flow = warm_flow * (70e3 / P1) * np.sqrt(T1 / cold)
        warm = compressor_head(SIZES, LINES, speed(M), warm_flow, P1, T1, R, CP)[0] / P1
        thin = compressor_head(SIZES, LINES, speed(M, cold), cold_flow, 70e3, cold, R, CP)[0] / 70e3
        assert thin == pytest.approx(warm, rel=1e-12)


def test_wheel_at_rest__is_a_loss_and_lets_gas_through() -> None:
    mdot, dh0, surging = compressor_flow(SIZES, LINES, 0.0, P1, T1, R, CP, 0.9 * P1)
    assert mdot > 0.0
    assert dh0 < 1.0
    assert surging == 0.0
    assert compressor_flow(SIZES, LINES, 0.0, P1, T1, R, CP, 1.1 * P1)[0] == 0.0


def test_wheel_at_rest__passes_half_the_greatest_flow_at_half_the_pressure() -> None:
    """Survey of 305 automotive maps (public abstract): 0.5 and 0.5, each within 10 %."""
    resting = compressor_flow(SIZES, LINES, 0.0, P1, T1, R, CP, 0.5 * P1)[0]
    greatest = choke_flow(SIZES, LINES, speed(1.4), P1, T1, R, CP)
    assert resting / greatest == pytest.approx(0.5, rel=0.1)


def test_speed__found_from_flow_and_pressure() -> None:
    for M in (0.4, 0.9, 1.4):
        for share in (0.4, 0.7, 0.95, 1.1 if M < 1.0 else 0.98):  # choked at the fastest line: speed adds nothing
            mdot = share * choke_flow(SIZES, LINES, speed(M), P1, T1, R, CP)
            p2 = compressor_head(SIZES, LINES, speed(M), mdot, P1, T1, R, CP)[0]
            omega, status = compressor_speed(SIZES, LINES, mdot, P1, T1, R, CP, p2, 25000.0)
            assert status == FOUND
            assert omega == pytest.approx(speed(M), rel=1e-8)


def test_speed__bounds_are_told() -> None:
    assert compressor_speed(SIZES, LINES, 0.05, P1, T1, R, CP, 9.0 * P1, 12000.0) == (12000.0, TOO_HIGH)
    assert compressor_speed(SIZES, LINES, 0.0, P1, T1, R, CP, 0.9 * P1, 12000.0)[1] == TOO_LOW


def test_surge_flow__lies_on_the_surge_line() -> None:
    for M in (0.5, 1.0, 1.3):
        mdot, p2 = surge_point(SIZES, LINES, speed(M), P1, T1, R, CP)
        found, status = surge_flow(SIZES, LINES, P1, T1, R, CP, p2, 20000.0)
        assert status == FOUND
        assert found == pytest.approx(mdot, rel=1e-6)
        assert is_on_surge_side(SIZES, LINES, speed(M), 0.99 * mdot, P1, T1, R, CP)
        assert not is_on_surge_side(SIZES, LINES, speed(M), 1.05 * mdot, P1, T1, R, CP)


def test_wheel__scales() -> None:
    wheel = wheel_at(SIZES, 10000.0, P1, T1, R, CP)
    assert pytest.approx(0.5 * 10000.0 * DIAMETER) == wheel.U
    assert pytest.approx(wheel.U / sound()) == wheel.M
    assert wheel.flow == pytest.approx(P1 / (R * T1) * DIAMETER**2 * wheel.U)
