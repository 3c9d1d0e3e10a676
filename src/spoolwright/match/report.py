"""A match as plain data: names carry the unit, as in the columns of a pull."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite, pi
from typing import Any

import numpy as np

from spoolwright import __version__
from spoolwright.boost import operating_line as o
from spoolwright.boost.rows import G_DIAPHRAGM
from spoolwright.match.finalists import Finalist
from spoolwright.match.job import Match
from spoolwright.match.rank import Ranked
from spoolwright.match.spring import SpringLine

POINTS_OF = 5  # candidates whose lines are written out

# Name in the data, column of the line, factor.
LINE = (
    ("charge_temperature_K", o.L_T2, 1.0),
    ("air_flow_kg_s", o.L_AIR, 1.0),
    ("compressor_flow_kg_s", o.L_FLOW, 1.0),
    ("compressor_efficiency", o.L_EFFICIENCY, 1.0),
    ("compressor_outlet_temperature_K", o.L_T_OUT, 1.0),
    ("turbo_speed_rpm", o.L_OMEGA, 30.0 / pi),
    ("surge_margin", o.L_SURGE, 1.0),
    ("choke_margin", o.L_CHOKE, 1.0),
    ("turbine_inlet_pressure_kPa", o.L_P3, 1e-3),
    ("turbine_inlet_temperature_K", o.L_T3, 1.0),
    ("wastegate_flow_share", o.L_BYPASS, 1.0),
)


def report(match: Match, top: int) -> dict[str, Any]:
    """The whole match; the lines of the first few candidates."""
    where, wish = match.demand.model.site, match.wish
    own = [r for r in match.ranked if r.candidate.origin != "scaled"]
    shown = match.ranked[:top] + [r for r in own if r not in match.ranked[:top]]
    return {
        "build": match.sheet.name,
        "variant": match.sheet.variant,
        "set": list(match.sheet.sets),
        "digest": match.sheet.digest,
        "program_version": __version__,
        "site": {"pressure_kPa": where.p / 1e3, "temperature_K": where.T, "humidity": where.humidity},
        "wish": {
            "boost_kPa": wish.boost / 1e3,
            "boost_from": match.boost_from,
            "held_by_rpm": wish.by_rpm[0],
            "bounds": {
                name: {"hard": bounds[0], "wished": bounds[1]}
                for name, bounds in asdict(wish).items()
                if name not in ("boost", "by_rpm")
            },
        },
        "demand": demand_rows(match),
        "engine_runs": match.demand.runs,
        "boosted_points": match.demand.pulses,
        "candidates_tried": len(match.ranked),
        "candidates": [candidate(match, r, k + 1 <= POINTS_OF) for k, r in enumerate(shown)],
        "springs": [_spring(line) for line in match.springs],
        "spring_trouble": match.spring_trouble,
        "gate": _gate(match),
        "carburettor": _carburettor(match),
        "finalists": [_finalist(match, one) for one in match.finalists],
    }


def demand_rows(match: Match) -> list[dict[str, float]]:
    """The engine's air and the pressure ratio it asks for at the wanted boost, over speed, by the best candidate."""
    line, rpm = match.best.line, match.demand.rpm
    inlet = line[:, o.L_P1]
    corrected = line[:, o.L_FLOW] * np.sqrt(line[:, o.L_T1] / match.turbo.reference.T)
    corrected = corrected / (inlet / match.turbo.reference.p)
    rows = []
    for k, n in enumerate(rpm):
        rows.append(
            {
                "speed_rpm": float(n),
                "boost_kPa": float(line[k, o.L_P2] - match.demand.model.site.p) / 1e3,
                "boost_held": bool(line[k, o.L_REACHED]),
                "air_flow_kg_s": float(line[k, o.L_AIR]),
                "corrected_flow_kg_s": float(corrected[k]),
                "pressure_ratio": float(line[k, o.L_P_OUT] / inlet[k]),
                "torque_Nm": float(match.best.torque[k]),
                "power_kW": float(match.best.torque[k] * n * pi / 30.0 / 1e3),
            }
        )
    return rows


def candidate(match: Match, ranked: Ranked, with_points: bool) -> dict[str, Any]:
    """One candidate; its line where wanted."""
    one, outside = ranked.candidate, match.demand.model.site.p
    data: dict[str, Any] = {
        "name": one.name,
        "origin": one.origin,
        "estimated": one.estimated,
        "wheel_m": one.wheel,
        "turbine_area_m2": one.turbine_area,
        "verdict": ranked.verdict,
        "score": _number(ranked.score),
        "tightest": ranked.tightest.sentence,
        "threshold_rpm": ranked.threshold,
        "efficiency": _number(ranked.efficiency),
        "drive_pressure_ratio": _number(ranked.drive),
        "margins": _margins(ranked),
    }
    if with_points:
        data["points"] = [
            {"speed_rpm": float(n), "boost_kPa": _number((row[o.L_P2] - outside) / 1e3)}
            | {name: _number(row[column] * factor) for name, column, factor in LINE}
            for n, row in zip(ranked.rpm, ranked.line, strict=True)
        ]
    return data


def _spring(line: SpringLine) -> dict[str, Any]:
    return {
        "preload_N": line.preload,
        "label_kPa": line.label / 1e3,
        "made_for_wish": line.wanted,
        "gate_opens_rpm": line.held,
        "gate_at_stop_rpm": line.at_stop,
        "boost_rise_kPa": line.rise / 1e3,
        "points": [
            {"speed_rpm": float(n), "boost_kPa": float(boost) / 1e3, "lift_share": float(lift), "bypass": float(share)}
            for n, boost, lift, share in zip(line.rpm, line.boost, line.lift, line.bypass, strict=True)
        ],
    }


def _gate(match: Match) -> dict[str, Any] | None:
    need = match.gate
    if need is None:
        return None
    points = zip(need.rpm, need.needed, need.possible, strict=True)
    return {
        "port_needed_m": _number(need.port),
        "port_fitted_m": need.fitted,
        "points": [
            {"speed_rpm": float(n), "bypass_needed": float(a), "bypass_possible": float(p)} for n, a, p in points
        ],
    }


def _carburettor(match: Match) -> dict[str, Any] | None:
    need = match.carburettor
    if need is None:
        return None
    return {
        "speed_rpm": need.rpm,
        "volume_flow_m3_s": need.volume_flow,
        "density_kg_m3": need.density,
        "drop_kPa": need.drop / 1e3,
        "share_of_rating": need.share_of_rating,
        "rating_needed_m3_s": need.rating_needed,
        "rated_m3_s": need.rated,
        "verdict": need.verdict,
    }


def _finalist(match: Match, one: Finalist) -> dict[str, Any]:
    """A candidate run in full: its judgement by that run, and how far the algebra is off."""
    gate, judged, outside = match.turbo.gate, one.judged, match.demand.model.site.p
    return {
        "name": one.ranked.candidate.name,
        "preload_N": one.preload,
        "label_kPa": None if gate is None or one.preload is None else one.preload / float(gate[G_DIAPHRAGM]) / 1e3,
        "verdict": None if judged is None else judged.verdict,
        "tightest": None if judged is None else judged.tightest.sentence,
        "margins": [] if judged is None else _margins(judged),
        "algebra_over_full": [
            {"speed_rpm": at.rpm, "gate_open": at.gate_open, **{k.replace(" ", "_"): v for k, v in at.values.items()}}
            for at in one.apart
        ],
        "points": [
            {**p.columns, "charge_boost_kPa": _number((p2 - outside) / 1e3), "trouble": p.trouble}
            for p, p2 in zip(one.pull.points, one.charge, strict=True)
        ],
    }


def _margins(ranked: Ranked) -> list[dict[str, Any]]:
    return [
        {
            "name": m.name,
            "value": _number(m.value),
            "speed_rpm": _number(m.rpm),
            "score": _number(m.score),
            "sentence": m.sentence,
        }
        for m in ranked.margins
    ]


def _number(value: float | None) -> float | None:
    return float(value) if value is not None and isfinite(value) else None
