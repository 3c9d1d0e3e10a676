"""The charts of dyno day: measured pulls with bands, corrections, changes, measured on predicted, fitted factors."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import cycle
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from spoolwright.charts.describe import Chart, Line, Numbers, Ribbon, Series, axis, paired_axes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from spoolwright.dyno.against import Against
    from spoolwright.dyno.compare import Change, Repeats
    from spoolwright.dyno.correct import Corrected
    from spoolwright.dyno.fit import Fit
    from spoolwright.dyno.measured import Measured
    from spoolwright.dyno.overlay import Overlay

RPM = np.pi / 30.0
PATTERNS: tuple[Line, ...] = ("solid", "dashed", "dotted", "chain")
MOST_LINES = 8  # pulls on one chart; more cannot be told apart


def _numbers(values: NDArray[np.float64]) -> Numbers:
    return tuple(float(v) if isfinite(v) else None for v in values)


def _known(*lines: Numbers) -> list[float]:
    return [v for line in lines for v in line if v is not None]


def _speeds(values: NDArray[np.float64]) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


def pulls(measured: Sequence[Measured], step_rpm: float = 50.0) -> Chart:
    """Observed torque of these pulls with the band of each, power of a single one beside it."""
    shown = [p for p in measured if p.has_torque][:MOST_LINES]
    file, names = _short([p.name for p in shown])
    series, ribbons = [], []
    for p, name, line in zip(shown, names, cycle(PATTERNS)):
        speeds = p.speeds(step_rpm)
        torque, band = p.over(p.torque, speeds), p.over(p.band, speeds)
        series.append(Series(name, _speeds(speeds), _numbers(torque), "torque", line))
        ribbons.append(Ribbon("band", _speeds(speeds), _numbers(torque - band), _numbers(torque + band), "torque"))
    x = axis("engine speed", "rpm", [v for s in series for v in s.x])
    # Several pulls are held against each other, which a scale from zero would hide.
    lines = _known(*(s.y for s in series), *(r.high for r in ribbons), *(r.low for r in ribbons))
    left = axis("torque", "N m", lines, zero=len(shown) == 1)
    right = None
    if len(shown) == 1:
        p, speeds = shown[0], shown[0].speeds(step_rpm)
        power = Series("power", _speeds(speeds), _numbers(p.over(p.power, speeds) / 1e3), "power", "dashed", "right")
        left, right = paired_axes(left, axis("power", "kW", _known(power.y), zero=True))
        series.append(power)
        watts, at = p.peak_power()
        words = f"Most power {watts / 1e3:.1f} kW at {at / RPM:.0f} rpm, observed, {_place(p.place)}."
    else:
        words = f"{len(shown)} pulls{f' of {file}' if file else ''}, observed, {_place(shown[0].place)}."
    note = "Shaded: two standard deviations." + (
        f" {len(measured) - len(shown)} more pulls are not drawn." if len(measured) > len(shown) else ""
    )
    return Chart(
        "dyno-pulls", "Measured torque", words, x, left, tuple(series), right, ribbons=tuple(ribbons), note=note
    )


def _short(names: Sequence[str]) -> tuple[str, list[str]]:
    """The file that all these pulls come from ("" where they do not) and their names beside it ("pull 2")."""
    files = {name.rpartition("#")[0] for name in names}
    if len(files) != 1:
        return "", list(names)
    return files.pop(), [f"pull {name.rpartition('#')[2]}" for name in names]


def _place(place: str) -> str:
    return {"flywheel": "at the flywheel", "wheel": "at the wheels"}.get(place, "place not stated")


def correction(observed: Measured, rows: Sequence[Corrected], step_rpm: float = 50.0) -> Chart:
    """Observed power and what each code makes of it."""
    speeds = observed.speeds(step_rpm)
    series = [Series("observed", _speeds(speeds), _numbers(observed.over(observed.power, speeds) / 1e3), "power")]
    for row, line in zip(rows, cycle(("dashed", "dotted", "chain"))):
        if row.power is not None:
            y = _numbers(observed.over(row.power, speeds) / 1e3)
            series.append(Series(row.code, _speeds(speeds), y, "second", line))  # type: ignore[arg-type]
    said = [f"{row.code} {row.factor:.3f}" for row in rows if row.factor is not None]
    words = f"Observed, {_place(observed.place)}" + (
        f"; factors {', '.join(said)}." if said else "; nothing applied unseen."
    )
    outside = [row.code for row in rows if not row.within]
    return Chart(
        "dyno-correction",
        "Observed and corrected power",
        words,
        axis("engine speed", "rpm", list(series[0].x)),
        axis("power", "kW", _known(*(s.y for s in series)), zero=True),
        tuple(series),
        note=f"Outside its window: {', '.join(outside)}." if outside else "",
    )


def repeats(result: Repeats) -> Chart:
    """Like pulls, their mean and the band in which one more would lie."""
    unit, scale = ("N m", 1.0) if result.what == "torque" else ("kW", 1e-3)
    x = _speeds(result.speeds_rpm)
    mean = Series("mean", x, _numbers(scale * result.mean), result.what)
    file, names = _short(result.pulls[:MOST_LINES])
    each = [
        Series(name, x, _numbers(scale * row), "second", line)
        for name, row, line in zip(names, result.values, cycle(PATTERNS[1:]))
    ]
    deviation = 2.0 * result.deviation
    ribbon = Ribbon(
        "spread",
        x,
        _numbers(scale * (result.mean - deviation)),
        _numbers(scale * (result.mean + deviation)),
        result.what,
    )
    return Chart(
        "dyno-repeats",
        "Like pulls and their spread",
        f"{result.sentences[0][:1].upper()}{result.sentences[0][1:]}{f', {file}' if file else ''}.",
        axis("engine speed", "rpm", list(x)),
        axis(result.what, unit, _known(mean.y, ribbon.low, ribbon.high, *(s.y for s in each))),
        (mean, *each),
        ribbons=(ribbon,),
        note="Shaded: two standard deviations of one pull.",
    )


def change(result: Change) -> Chart:
    """After less before with its band; where the band leaves zero the change counts."""
    unit, scale = ("N m", 1.0) if result.what == "torque" else ("kW", 1e-3)
    x = _speeds(result.speeds_rpm)
    line = Series("after less before", x, _numbers(scale * result.difference), result.what, dots=True)
    zero = Series("no difference", x, (0.0,) * len(x), "second", "dotted")
    low, high = scale * (result.difference - result.band), scale * (result.difference + result.band)
    ribbon = Ribbon("band", x, _numbers(low), _numbers(high), result.what)
    return Chart(
        "dyno-change",
        "What the change did",
        f"{result.sentences[0][:1].upper()}{result.sentences[0][1:]}.",
        axis("engine speed", "rpm", list(x)),
        axis(f"change of {result.what}", unit, _known(line.y, ribbon.low, ribbon.high, zero.y)),
        (line, zero),
        ribbons=(ribbon,),
        note=f"Shaded: sure to {100 * result.confidence:.0f} % at each speed. {result.factor}.",
    )


def overlay(result: Overlay) -> Chart:
    """Measured torque with its band on the predicted one."""
    x = _speeds(result.speeds_rpm)
    how = "fitted factors" if result.calibrated else "the model as it comes"
    measured = Series("measured", x, _numbers(result.measured), "torque", dots=True)
    predicted = Series("predicted", x, _numbers(result.predicted), "second", "dashed", dots=True)
    ribbon = Ribbon(
        "band", x, _numbers(result.measured - result.band), _numbers(result.measured + result.band), "torque"
    )
    return Chart(
        "dyno-measured-predicted",
        "Measured on predicted",
        f"{result.sentences[0][:1].upper()}{result.sentences[0][1:]}.",
        axis("engine speed", "rpm", list(x)),
        axis("torque", "N m", _known(measured.y, predicted.y, ribbon.high), zero=True),
        (measured, predicted),
        ribbons=(ribbon,),
        note=f"Measured: {_place(result.place)}. Predicted with {how}.",
    )


def fit(result: Fit) -> list[Chart]:
    """Each column of each pull: measured, the model before and after the fit with its band."""
    made = []
    units = {"torque_Nm": ("torque", "N m", 1.0), "fuel_flow_kg_s": ("fuel flow", "kg/h", 3600.0)}
    for one in result.laid:
        title, unit, scale = units.get(one.column, (one.column, "", 1.0))
        x = _speeds(one.speeds_rpm)
        quantity = "torque" if one.column == "torque_Nm" else "air"
        measured = Series("measured", x, _numbers(scale * one.measured), quantity, dots=True)  # type: ignore[arg-type]
        after = Series("model, fitted", x, _numbers(scale * one.after), "mixture", "dashed")
        before = Series("model as it comes", x, _numbers(scale * one.before), "second", "dotted")
        ribbon = Ribbon(
            "band", x, _numbers(scale * (one.after - one.band)), _numbers(scale * (one.after + one.band)), "mixture"
        )
        how = "held out, predicted" if one.held_out else "fitted"
        words = f"{one.pull}, {how}: within {100 * one.miss():.1f} %; before the fit {100 * one.miss(False):.1f} %."
        name = f"dyno-fit-{one.pull}-{one.column}".replace("#", "-").replace("/", "-").replace(".", "-")
        made.append(
            Chart(
                name,
                f"{title[:1].upper()}{title[1:]}, measured and fitted",
                words,
                axis("engine speed", "rpm", list(x)),
                axis(title, unit, _known(measured.y, after.y, before.y, ribbon.low, ribbon.high)),
                (measured, after, before),
                ribbons=(ribbon,),
            )
        )
    return made


def observed(measured: Sequence[Measured], result: Against | None, step_rpm: float = 250.0) -> Chart:
    """Observed torque and power of each pull as points; the prediction as lines with the repeat band about the mean."""
    x: list[float] = []
    torque: list[float | None] = []
    power: list[float | None] = []
    shown = result.level if result is not None else tuple(p for p in measured if p.has_torque)
    for one in shown[:MOST_LINES]:
        speeds = one.speeds(step_rpm)
        x += [float(v) for v in speeds]
        torque += _numbers(one.over(one.torque, speeds))
        power += _numbers(one.over(one.power, speeds) / 1e3)
    series: list[Series] = []
    ribbons: tuple[Ribbon, ...] = ()
    if result is not None:
        at = _speeds(result.speeds_rpm)
        watts = result.predicted * result.speeds_rpm * RPM / 1e3
        series = [
            Series("torque, predicted", at, _numbers(result.predicted), "torque"),
            Series("power, predicted", at, _numbers(watts), "power", side="right"),
        ]
        low, high = result.measured - result.band, result.measured + result.band
        ribbons = (Ribbon("repeat band", at, _numbers(low), _numbers(high), "torque"),)
    known_x, known_y = tuple(x), tuple(torque)
    series += [
        Series("observed" if result else "torque", known_x, known_y, "torque", "points"),
        Series("observed" if result else "power", known_x, tuple(power), "power", "points", "right"),
    ]
    left, right = paired_axes(
        axis("torque", "N m", [v for s in series if s.side == "left" for v in s.y if v is not None], zero=True),
        axis("power", "kW", [v for s in series if s.side == "right" for v in s.y if v is not None], zero=True),
    )
    told = "Points: observed, every pull." + (" Lines: predicted. Shaded: repeat band of the mean." if result else "")
    place = _place(measured[0].place) if measured else ""
    return Chart(
        "dyno-observed",
        "Torque and power",
        told,
        axis("engine speed", "rpm", [v for s in series for v in s.x]),
        left,
        tuple(series),
        right,
        ribbons=ribbons,
        note=f"Observed, {place}.",
    )


def difference(result: Against) -> Chart:
    """Observed less predicted in per cent of the prediction, with the band in which no difference is shown."""
    x = _speeds(result.speeds_rpm)
    line = Series("observed", x, _numbers(100 * result.share), "second", "points")
    zero = Series("predicted", x, (0.0,) * len(x), "second", "dotted")
    band = 100 * result.share_band
    ribbon = Ribbon("repeat band", x, _numbers(-band), _numbers(band), "second")
    return Chart(
        "dyno-difference",
        "Observed less predicted",
        f"{result.sentences[0][:1].upper()}{result.sentences[0][1:]}. Shaded: within it no difference is shown.",
        axis("engine speed", "rpm", list(x)),
        axis("of predicted torque", "%", _known(line.y, ribbon.low, ribbon.high)),
        (line, zero),
        ribbons=(ribbon,),
    )


def corrected(pull: Measured, row: Corrected, step_rpm: float = 250.0) -> Chart:
    """One pull by one code, alone: corrected figures never share axes with observed or predicted ones."""
    assert row.torque is not None
    assert row.power is not None
    speeds = pull.speeds(step_rpm)
    x = _speeds(speeds)
    torque = Series("torque", x, _numbers(pull.over(row.torque, speeds)), "torque", "points")
    power = Series("power", x, _numbers(pull.over(row.power, speeds) / 1e3), "power", "points", "right")
    left, right = paired_axes(
        axis("torque", "N m", _known(torque.y), zero=True), axis("power", "kW", _known(power.y), zero=True)
    )
    return Chart(
        "dyno-corrected",
        "Corrected torque and power",
        f"{pull.name} by {row.code}, for other days only.",
        axis("engine speed", "rpm", list(x)),
        left,
        (torque, power),
        right,
    )
