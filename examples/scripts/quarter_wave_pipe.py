"""The note of an exhaust-like pipe, closed at one end and open at the other.

Known answer: f = a / (4 (L + 0.6133 r)): quarter of a wave in the pipe and the end correction of an
unflanged pipe (Levine & Schwinger, Phys. Rev. 73 (1948) 383; figure from memory).

A small standing wave is set up, rings down, and the frequency is fitted to the pressure at the closed end.

Run it:  python examples/scripts/quarter_wave_pipe.py [--length 0.5] [--diameter 0.04] [--draw]
"""

from __future__ import annotations

import argparse

import numpy as np
from scipy.optimize import curve_fit

from spoolwright.flow.build import CLOSED, End, Node, build_network, fill_duct
from spoolwright.flow.mesh import END_CORRECTION, Duct
from spoolwright.flow.network import march
from spoolwright.flow.rows import AMBIENT
from spoolwright.gas.duct import DuctGas

P = 1e5
R = 287.0


def known_frequency(length: float, diameter: float, sound_speed: float, mouth: str = "plain") -> float:
    """a / 4 (L + end correction) [Hz]."""
    return sound_speed / (4.0 * (length + END_CORRECTION[mouth] * 0.5 * diameter))


def ring(
    length: float = 0.5,
    diameter: float = 0.04,
    T: float = 300.0,
    gamma: float = 1.4,
    cells: int = 25,
    mouth: str = "plain",
    amplitude: float = 1e-3,
) -> tuple[np.ndarray, np.ndarray]:
    """Time [s] and relative pressure at the closed end over twelve periods."""
    gas = DuctGas(np.full(3, R), np.full(3, R / (gamma - 1.0)), np.zeros(3), np.zeros(3))
    modelled = length + END_CORRECTION[mouth] * 0.5 * diameter
    pipe = Duct(
        "pipe",
        length,
        diameter,
        cell_size=modelled / cells,
        stop_mouth=mouth,  # type: ignore[arg-type]
        heat_factor=0.0,
        friction_factor=0.0,
    )
    net, (span,) = build_network(gas, [(pipe, End(CLOSED), End(0))], [Node("air", AMBIENT, P, T)])
    x = (np.arange(span.cells) + 0.5) * span.dx
    p = P * (1.0 + amplitude * np.cos(0.5 * np.pi * x / span.length))
    fill_duct(net, span, p, T * (p / P) ** ((gamma - 1.0) / gamma))
    period = 4.0 * span.length / np.sqrt(gamma * R * T)
    record = np.zeros((100 * cells, 3))
    _, steps = march(net, 0.8, 12.0 * period, len(record), np.array([span.first]), record)
    return record[:steps, 0], record[:steps, 2] / P - 1.0


def fitted(time: np.ndarray, pressure: np.ndarray, guess: float) -> tuple[float, float]:
    """Frequency [Hz] and loss of amplitude per period [-] of the ring-down."""

    def decay(t, size, rate, f, phase, level):
        return size * np.exp(-rate * t) * np.cos(2.0 * np.pi * f * t + phase) + level

    start = [pressure[0], 0.01 * guess, guess, 0.0, 0.0]
    (_, rate, f, _, _), _ = curve_fit(decay, time, pressure, start, maxfev=20_000)
    return float(f), float(1.0 - np.exp(-rate / f))


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--length", type=float, default=0.5, help="m")
    options.add_argument("--diameter", type=float, default=0.04, help="m")
    options.add_argument("--draw", action="store_true", help="show the ring-down")
    chosen = options.parse_args()
    known = known_frequency(chosen.length, chosen.diameter, float(np.sqrt(1.4 * R * 300.0)))
    time, pressure = ring(chosen.length, chosen.diameter)
    f, loss = fitted(time, pressure, known)
    print(f"frequency {f:.3f} Hz, known {known:.3f} Hz ({100 * (f / known - 1):+.4f} %)")
    print(f"loss of amplitude per period {100 * loss:.3f} %")
    if chosen.draw:
        import matplotlib.pyplot as plt

        plt.plot(1e3 * time, pressure)
        plt.xlabel("time [ms]")
        plt.ylabel("pressure at the closed end, relative")
        plt.show()


if __name__ == "__main__":
    main()
