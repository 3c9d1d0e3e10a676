"""Cycles of an engine as they follow each other in time: for transients, and for what a steady point hides."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import ceil, pi

import numpy as np

from spoolwright.engine.boosting import release
from spoolwright.engine.layout import empty_tally
from spoolwright.engine.loop import CLOSED_SPAN, run_cycle
from spoolwright.engine.parts import H_RATE, K_BACK, TIME, Engine, Tally
from spoolwright.engine.run import NO_PROBES, NO_TRACE, own_copy, stop_if_failed
from spoolwright.flow.network import COURANT

SURGE_TIME = 0.4  # s; surge of such a charge volume (20 to 70 Hz) shows itself within a few of its periods
FEWEST, MOST = 8, 20  # cycles


def march(engine: Engine, speed: Callable[[], float]) -> Iterator[tuple[Tally, float]]:
    """March the engine on, cycle by cycle; each cycle's sums and its duration [s].

    speed : gives the crank speed [rad/s] of the cycle to come. The sums are the same arrays every time.
    Raises NoConvergence where a kernel fails.
    """
    count = len(engine.phase)
    tally, behind, opened = empty_tally(engine), np.zeros(count), np.zeros(count, dtype=np.int64)
    n = 0
    while True:
        n += 1
        omega = speed()
        status, k, _ = run_cycle(engine, omega, COURANT, CLOSED_SPAN, tally, behind, opened, NO_PROBES, NO_TRACE)
        stop_if_failed(status, k, n, omega)
        yield tally, float(tally.numbers[TIME])


def reverse_flow(engine: Engine, omega: float) -> list[float]:
    """Share of the time each compressor's gas runs backwards when its inertia is counted, at held shaft speed.

    The steady limiter hides surge; here the flow is a momentum state over the stated passage and is free to swing. The
    last half of the cycles counts. ``engine`` stays as it is.
    """
    trial = own_copy(engine)
    release(trial.machines, 1.0)
    trial.machines.shaft[:, H_RATE] = 0.0
    cycles = min(max(ceil(SURGE_TIME * omega / (4.0 * pi)), FEWEST), MOST)
    back, time = np.zeros(len(trial.machines.shaft)), 0.0
    for n, (tally, lasted) in zip(range(cycles), march(trial, lambda: omega), strict=False):
        if n >= cycles // 2:
            back += tally.compressor[:, K_BACK]
            time += lasted
    shares: list[float] = (back / time).tolist()
    return shares
