"""Made-up runs on an inertia roller with known torque, losses, delay and noise."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np

RPM = math.pi / 30.0
INERTIA, RATIO = 40.0, 4.0
LOSS = (6.0, 0.08, 0.0008)  # N m at the roller: a + b w + c w^2


def curve(rpm: np.ndarray) -> np.ndarray:
    """A plain torque curve [N m] at the flywheel."""
    x = np.asarray(rpm) / 1000.0
    return 60.0 + 28.0 * x - 3.4 * x**2


def loss(w: np.ndarray) -> np.ndarray:
    """Loss torque [N m] at the roller."""
    return LOSS[0] + LOSS[1] * w + LOSS[2] * w * w


def run(
    torque: Callable[[np.ndarray], np.ndarray] = curve,
    low: float = 2000.0,
    high: float = 6500.0,
    noise: float = 0.02,
    step: float = 0.05,
    seed: int = 0,
    coast: bool = True,
    losses: bool = True,
    idle: float = 2.0,
    most: float = 250.0,
    inertia: float = INERTIA,
) -> dict[str, np.ndarray]:
    """time [s], roller and engine speed [rpm], throttle [%]; ``noise`` [rad/s] on the roller's speed.

    Idle at ``low``, full load up to ``high``, then clutch out (engine back to idle) and the roller coasts.
    """
    rng = np.random.default_rng(seed)
    fine = step / 20.0
    w = low * RPM / RATIO
    t, roller, engine, throttle = [], [], [], []
    now, phase, until = 0.0, "idle", idle
    k = 0
    while True:
        if k % 20 == 0:
            t.append(now)
            roller.append(w)
            engine.append(w * RATIO if phase != "coast" else 900.0 * RPM)
            throttle.append(100.0 if phase == "pull" else 12.0)
        if phase == "idle" and now >= until:
            phase = "pull"
        if phase == "pull":
            drag = loss(w) if losses else 0.0
            w += fine * (float(torque(np.array(w * RATIO / RPM))) * RATIO - drag) / inertia
            if w * RATIO >= high * RPM:
                phase = "coast"
                if not coast:
                    break
        elif phase == "coast":
            w -= fine * loss(w) / inertia
            if w * RATIO < 1.05 * low * RPM or now > most:
                break
        now += fine
        k += 1
    w_roller = np.array(roller) + rng.normal(0.0, noise, len(roller))
    return {
        "time": np.array(t),
        "roller": w_roller / RPM,
        "engine": np.array(engine) / RPM + rng.normal(0.0, noise * 10.0, len(engine)),
        "throttle": np.array(throttle),
    }


def write(path: Path, columns: dict[str, np.ndarray]) -> Path:
    """A plain CSV of these columns; names carry their units."""
    names = list(columns)
    rows = zip(*(columns[n] for n in names), strict=True)
    lines = [",".join(names), *(",".join(f"{v:.6g}" for v in row) for row in rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def log_of(path: Path, made: dict[str, np.ndarray], **more: np.ndarray) -> Path:
    """``made`` as a log of time, both speeds and throttle, and further columns as named."""
    columns = {
        "Time [s]": made["time"],
        "Roller speed [rpm]": made["roller"],
        "Engine speed [rpm]": made["engine"],
        "Throttle [%]": made["throttle"],
        **more,
    }
    return write(path, columns)
