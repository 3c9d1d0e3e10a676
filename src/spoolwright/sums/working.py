"""Showing a sum: results with their bands, inputs as written, the formula with the user's numbers."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from spoolwright import units
from spoolwright.sums.bands import Band
from spoolwright.sums.registry import Output, Sum
from spoolwright.units import Quantity


def with_band(value: Any, band: Band, out: Output, digits: int = 4) -> str:
    """``value`` in the output's unit with what it may be off by."""
    text = _shown(value, out.kind, out.unit, digits)
    if max(band) <= 0.0 or not isinstance(value, float):
        return text
    slope = units.to_si(1.0, out.kind, out.unit) - units.to_si(0.0, out.kind, out.unit)
    low, high = (units.significant(abs(b / slope), 2) for b in band)
    return f"{text} ± {low}" if low == high else f"{text} +{high}/-{low}"


def _shown(value: Any, kind: str, unit: str, digits: int = 4) -> str:
    if value is None:
        return "none"
    if kind == "money" and isinstance(value, tuple):
        # Cents for sums, four digits for what a small unit costs.
        return f"{value[0]:.2f} {value[1]}" if abs(value[0]) >= 1.0 or value[0] == 0.0 else f"{value[0]:.4g} {value[1]}"
    if isinstance(value, (list, tuple)):
        return ", ".join(_shown(v, kind, unit, digits) for v in value)
    return units.show(value, kind, unit, digits)


def written(value: Any) -> str:
    """An input as the user wrote it."""
    if isinstance(value, tuple):
        return "; ".join(str(v) if isinstance(v, (Quantity, str)) else f"{v[0].text}: {v[1].text}" for v in value)
    return "not given" if value is None else str(value)


_LONG = 8  # points of a curve that are shown in full


def _brief(value: Any) -> str:
    """:func:`written`, with a long curve cut to its ends."""
    if isinstance(value, tuple) and len(value) > _LONG and not isinstance(value[0], (Quantity, str)):
        return f"{len(value)} points from {written(value[:1])} to {written(value[-1:])}"
    return written(value)


def show_working(which: Sum, read: Mapping[str, Any], results: Mapping[str, Any], filled: Mapping[str, str]) -> str:
    """The formula of a sum with the user's numbers and the results in it, a line each."""
    texts = {key: _brief(value) for key, value in read.items()}
    shown = {key: _shown(value, which.outputs[key].kind, which.outputs[key].unit) for key, value in results.items()}
    names = {
        **{
            k: t
            for k, t in texts.items()
            if ";" not in t and not t.startswith("not given") and " points from " not in t
        },
        **shown,
    }
    lines = ["with " + ", ".join(f"{k} = {t}" + (f" ({filled[k]})" if k in filled else "") for k, t in texts.items())]
    for line in which.formula:
        left, equals, right = line.partition("=")
        lines.append(line)
        if equals:
            numbers = re.sub(r"[A-Za-z_][A-Za-z_0-9]*", lambda m: f"({names[m[0]]})" if m[0] in names else m[0], right)
            target = left.strip()
            if numbers != right:
                lines.append(f"  ={numbers}")
            if target in shown:
                lines.append(f"  = {shown[target]}")
    listed = {line.partition("=")[0].strip() for line in which.formula}
    lines += [f"{key} = {text}" for key, text in shown.items() if key not in listed]
    return "\n".join(lines)
