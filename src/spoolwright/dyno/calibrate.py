"""The job "fit": measured pulls, the build's engine, factors, and keeping them in the build with date and data hash."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any, Final

import numpy as np

from spoolwright.dyno.engine_model import conditions, share_mixtures
from spoolwright.dyno.fit import FACTORS, Factor, Fit, Observation, Predict, fit, surface
from spoolwright.dyno.measured import Measured
from spoolwright.errors import BadInput
from spoolwright.sheet import logbook
from spoolwright.sheet.faults import closest
from spoolwright.sheet.saving import open_document, save

STEP: Final = 500.0  # rpm
WIDTH: Final = 400.0  # rpm over which a channel is read
FLOW_NOISE, FLOW_SCALE = 0.01, 0.015  # of a fuel flow meter where nobody stated it; common practice, no source
MODEL_NOISE: Final = 0.005  # of torque: what the model's own curve wanders between speeds; judgement, no source
ROUNDS: Final = 3
NEAR: Final = 1.0  # prior spreads from the centre of a surface up to which it is trusted
AGREES: Final = 0.5  # standard deviations of the data by which surface and engine may differ at the answer


def observe(
    pull: Measured,
    folder: Path,
    step_rpm: float = STEP,
    extra: Sequence[str] = (),
    engine_inertia: float | None = None,
) -> Observation:
    """A measured pull as the fit wants it: steady torque at the flywheel, fuel flow, the conditions it ran in.

    ``engine_inertia`` [kg m2] at the crank: what speeds it up is added to the torque a sweep shows.
    Raises BadInput for wheel figures: the model knows the flywheel only.
    """
    if pull.flywheel is None:
        raise BadInput(
            f"{pull.name}: the model predicts the flywheel and this torque is "
            + ("at the wheels; name its run-down (--run-down)" if pull.place == "wheel" else "nobody said where")
            + (", or state --stands-at" if pull.place != "wheel" else "")
        )
    if pull.corrected_by not in ("observed",):
        raise BadInput(
            f"{pull.name}: only an observed torque can be fitted; this one is {pull.corrected_by}"
            + (" (corrected or not); state --corrected-by" if pull.corrected_by == "not stated" else "")
        )
    apart = pull.samples_apart * 30.0 / np.pi
    step = max(step_rpm, float(np.ceil(apart / 50.0) * 50.0))
    speeds = pull.speeds(step)
    steady = pull.flywheel + (engine_inertia or 0.0) * pull.acceleration
    torque, noise = pull.over(steady, speeds), pull.over(pull.noise, speeds)
    good = np.isfinite(torque)
    if good.sum() < 3:
        raise BadInput(f"{pull.name}: fewer than three speeds, {step:.0f} rpm apart, hold a flywheel torque")
    speeds, torque, noise = speeds[good], torque[good], noise[good]
    values = {"torque_Nm": torque}
    spread = {"torque_Nm": np.hypot(noise, MODEL_NOISE * torque)}
    scale = {"torque_Nm": pull.scale}
    if "fuel_flow" in pull.channels:
        flow = pull.mean_over("fuel_flow", speeds, min(step, WIDTH)) / 3600.0
        values["fuel_flow_kg_s"] = flow
        spread["fuel_flow_kg_s"] = np.abs(flow) * FLOW_NOISE
        scale["fuel_flow_kg_s"] = FLOW_SCALE
    return Observation(pull.name, speeds, values, spread, scale, pull.sha256, conditions(pull, speeds, folder, extra))


def calibrate(
    observations: Sequence[Observation],
    model: Predict,
    factors: Sequence[Factor] = FACTORS,
    hold_out: Sequence[Observation] = (),
    said: Callable[[str], None] = lambda _: None,
) -> Fit:
    """Fit with a model that costs time: on quadratic surfaces about the last answer, until the model itself agrees.

    Says what it does through ``said``. A last difference between surface and model is told in the fit's sentences.
    """
    alike = share_mixtures([*observations, *hold_out])
    observations, hold_out = alike[: len(observations)], alike[len(observations) :]
    settled = [_settled(o, model) for o in observations]
    notes = [note for _, note in settled if note]
    observations = [o for o, _ in settled]
    hold_out = [_settled(o, model)[0] for o in hold_out]
    centre = {f.name: f.prior for f in factors}
    gap = 0.0
    for round_ in range(1, ROUNDS + 1):
        said(f"round {round_}: the engine about " + ", ".join(f"{k} {v:.3f}" for k, v in centre.items()))
        quick = _surfaces(observations, hold_out, model, factors, centre)
        answer = fit(observations, quick, factors, hold_out)
        values = answer.values()
        gap = _gap(observations, quick, model, values)
        away = max(abs(values[f.name] - centre[f.name]) / f.spread for f in factors)
        if gap <= AGREES and away <= NEAR:
            break
        reach = {f.name: (f.low + 0.3 * f.spread, f.high - 0.3 * f.spread) for f in factors}
        centre = {n: float(np.clip(v, *reach[n])) for n, v in values.items()}
    if gap > AGREES:
        notes.append(
            f"the quick model used in the fit still differs from the engine by {gap:.1f} standard deviations somewhere"
        )
    stamp = datetime.now().astimezone().isoformat(timespec="seconds")
    return replace(answer, date=stamp, sentences=(*answer.sentences, *notes))


def _settled(o: Observation, model: Predict) -> tuple[Observation, str]:
    """Without the speeds at which the model itself gives nothing."""
    made = model({}, o)
    good = np.all([np.isfinite(made[c]) for c in o.values], axis=0)
    if good.all():
        return o, ""
    lost = ", ".join(f"{v:.0f}" for v in o.speeds_rpm[~good])
    values = {c: np.where(good, v, np.nan) for c, v in o.values.items()}
    return replace(o, values=values), f"{o.pull}: the engine did not settle at {lost} rpm; left out"


def _surfaces(
    observations: Sequence[Observation],
    hold_out: Sequence[Observation],
    model: Predict,
    factors: Sequence[Factor],
    centre: Mapping[str, float],
) -> Predict:
    made = {id(o): surface(model, o, factors, centre) for o in (*observations, *hold_out)}
    return lambda values, o: made[id(o)](values, o)


def _gap(observations: Sequence[Observation], quick: Predict, model: Predict, values: Mapping[str, float]) -> float:
    """Largest difference of surface and model at the answer, in standard deviations of the data."""
    most = 0.0
    for o in observations:
        a, b = quick(values, o), model(values, o)
        for c, v in o.values.items():
            good = np.isfinite(v) & np.isfinite(b[c])
            if good.any():
                most = max(most, float(np.max(np.abs(a[c] - b[c])[good] / o.spread[c][good])))
    return most


def store(folder: Path, answer: Fit, author: str) -> tuple[str, ...]:
    """Write the fitted factors into the build's sheet and the logbook; the paths changed.

    Held factors are taken out, so that none stays from an earlier fit. The sheet's comments stay.
    """
    document = open_document(folder)
    words: dict[str, Any] = {
        "calibration.use": True,
        "calibration.date": answer.date or datetime.now().astimezone().isoformat(timespec="seconds"),
        "calibration.pulls": ", ".join(answer.pulls),
        "calibration.data": answer.data[:16],
    }
    for f in answer.factors:
        words[f"calibration.{f.name}"] = None if f.held else f"{f.value:.4f} ± {f.band:.4f}"
    save(document, words)
    told = "; ".join(f.sentence for f in answer.factors)
    logbook.append(folder, "note", f"Fitted to {', '.join(answer.pulls)}: {told}", author, data=answer.data)
    return tuple(words)


def factors_named(names: Sequence[str]) -> tuple[Factor, ...]:
    """The factors of these names; all where none is named. Raises BadInput with the closest."""
    known = {f.name: f for f in FACTORS}
    for name in names:
        if name not in known:
            raise BadInput(f'"{name}" is no factor{closest(name, known)}; {", ".join(known)} are')
    return tuple(f for f in FACTORS if not names or f.name in names)
