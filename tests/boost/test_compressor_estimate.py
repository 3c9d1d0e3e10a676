"""Estimated compressor: physical bounds and trends. No measured map stands behind it, so accuracy is not tested."""

from __future__ import annotations

import numpy as np
import pytest

from spoolwright.boost.compressor import compressor_head
from spoolwright.boost.compressor_estimate import (
    MACH,
    best_efficiency,
    choke_coefficient,
    estimate_compressor,
    isentropic,
)
from spoolwright.boost.compressor_fit import line_head, work_basis
from spoolwright.boost.compressor_roots import choke_flow
from spoolwright.boost.compressor_table import tabulate
from spoolwright.constants import CP_AIR, GAMMA_AIR, R_AIR


@pytest.mark.parametrize(("inlet", "outlet"), [(0.030, 0.041), (0.038, 0.051), (0.050, 0.066), (0.061, 0.082)])
def test_estimate__within_what_wheels_do(inlet: float, outlet: float) -> None:
    lines = estimate_compressor(inlet, outlet)
    for k, M in enumerate(MACH):
        phi = np.linspace(lines.phi_peak[k], 0.98 * lines.phi_choke[k], 60)
        psi = line_head(phi, lines.phi_choke[k], lines.phi_peak[k], lines.psi_peak[k], lines.power[k])[0]
        eta = psi / (work_basis(phi / lines.phi_choke[k]) @ lines.work[k])
        assert 0.60 < eta.max() < 0.82
        # Reached where the correlation puts it: an isentropic value below the polytropic one.
        assert eta.max() < best_efficiency(0.65 * lines.phi_choke[k], M, outlet)
        assert 0.4 < lines.psi_peak[k] < 0.7


def test_estimate__choke_is_that_of_the_wheel_at_high_speed() -> None:
    """The throat passes no more than sonic flow of the rotating frame."""
    M = np.array([1.2, 1.6])
    flow = M * choke_coefficient(0.038, 0.051, M)  # over rho01 a01 D^2
    annulus = np.pi / 4.0 * 0.91 * (0.038 / 0.051) ** 2
    radius = 0.038 / 0.051 * np.sqrt(0.5 * 1.09)
    frame = (2.0 + (GAMMA_AIR - 1.0) * (M * radius) ** 2) / (GAMMA_AIR + 1.0)
    assert np.all(flow < 0.53 * annulus * frame**3.0)
    assert flow[1] > flow[0]


def test_estimate__larger_inlet_flows_more_at_the_same_speed() -> None:
    flows = []
    for inlet in (0.034, 0.038, 0.042):
        machine = tabulate(estimate_compressor(inlet, 0.051), 0.051, 19000.0, 2e-3)
        flows.append(choke_flow(*machine, 15000.0, 1e5, 298.0, R_AIR, CP_AIR))
    assert flows[0] < flows[1] < flows[2]


def test_estimate__speed_lines_do_not_cross() -> None:
    machine = tabulate(estimate_compressor(0.038, 0.051), 0.051, 19000.0, 2e-3)
    for mdot in np.linspace(0.01, 0.14, 14):
        p2 = [compressor_head(*machine, w, mdot, 1e5, 298.0, R_AIR, CP_AIR)[0] for w in np.linspace(3e3, 2e4, 60)]
        assert np.all(np.diff(p2) > 0.0)


def test_isentropic__below_polytropic_and_equal_at_low_speed() -> None:
    assert isentropic(0.8, 1e-3, 0.7) == pytest.approx(0.8, abs=1e-6)
    # Closed form: pressure ratio by the polytropic exponent, then its ideal rise over the true one.
    hotter = 0.4 * 1.44 * 0.7
    ratio = (1.0 + hotter) ** (0.8 * 3.5)
    assert isentropic(0.8, 1.2, 0.7) == pytest.approx((ratio ** (1.0 / 3.5) - 1.0) / hotter)


def test_best_efficiency__small_wheels_and_high_speed_lose() -> None:
    assert best_efficiency(0.08, 0.7, 0.25) == pytest.approx(0.86)
    assert best_efficiency(0.08, 0.7, 0.05) < best_efficiency(0.08, 0.7, 0.08) < 0.86
    assert best_efficiency(0.08, 1.4, 0.25) < 0.86
    assert best_efficiency(0.03, 0.7, 0.25) < 0.86
