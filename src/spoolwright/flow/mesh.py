"""From duct dimensions to arrays of cells.

Plain NumPy, not compiled. A duct is a body of revolution given by diameters along its length, straight
between them; cell volumes are those of the cone frustums. Every open end is lengthened by its end
correction: 0.6133 r for a plain pipe end (Levine & Schwinger, Phys. Rev. 73 (1948) 383), 0.8217 r in a
wide flange (acoustics textbooks; both figures from memory).

Axes: i = cell, f = face (rows.py).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import pi
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from spoolwright.errors import BadInput
from spoolwright.flow.rows import (
    G_A_INVERSE,
    G_AREA,
    G_DA,
    G_RDX,
    G_WIDENING,
    N_GEOMETRY,
    N_POWERS,
    N_WALL,
    W_D,
    W_D_INVERSE,
    W_F0,
    W_HEAT,
    W_LOSS,
    W_N0,
    W_T,
    W_VISCOUS,
)
from spoolwright.flow.walls import wall_polynomials

END_CORRECTION = {"none": 0.0, "plain": 0.6133, "flanged": 0.8217}  # in radii
MIN_CELLS = 3
LONGEST, WIDEST = 200.0, 2.0  # m
ROUGHEST = 0.1  # roughness over diameter

Mouth = Literal["none", "plain", "flanged"]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Duct:
    """One duct, from start to stop.

    diameters : pairs (x [m] from start, d [m]), x rising from 0 to ``length``; or one number for a pipe
    cell_size : wanted cell length [m]; at least three cells are made
    T_wall [K]; roughness [m]; heat_factor: Nusselt number over its steady-flow value (0 = insulated)
    loss : sum of the loss coefficients of bends and the like [-], spread over the length
    friction_factor : constant Darcy factor instead of Colebrook's [-]
    start_mouth, stop_mouth : "plain" or "flanged" adds the end correction to the modelled length
    p, T, u, yf, yb : first state of the gas [Pa, K, m/s, -, -]
    """

    name: str
    length: float
    diameters: float | tuple[tuple[float, float], ...]
    cell_size: float = 0.02
    T_wall: float = 300.0
    roughness: float = 0.0
    heat_factor: float = 1.0
    loss: float = 0.0
    friction_factor: float | None = None
    start_mouth: Mouth = "none"
    stop_mouth: Mouth = "none"
    p: float = 101325.0
    T: float = 300.0
    u: float = 0.0
    yf: float = 0.0
    yb: float = 0.0


class DuctMesh(NamedTuple):
    """Geometry of all ducts end to end; ghost cells have 1/dx = 0 and no walls."""

    A_face: Floats  # (N + 1,) m2
    geometry: Floats  # (N_GEOMETRY, N), rows.py
    wall: Floats  # (N_WALL, N), rows.py


class Span(NamedTuple):
    """Where one duct lies in the arrays: inner cells first .. first + cells - 1."""

    name: str
    first: int
    cells: int
    dx: float
    length: float  # modelled length, end corrections included


def _check(duct: Duct) -> None:
    def refuse(what: str, found: object, allowed: str, mend: str) -> None:
        raise BadInput(f'duct "{duct.name}": {what} is {found}; allowed is {allowed}; {mend}')

    if not 0.0 < duct.length <= LONGEST:
        refuse(
            "length",
            f"{duct.length:g} m",
            f"more than 0 up to {LONGEST:g} m",
            "give the length along the axis",
        )
    if not duct.cell_size > 0.0:
        refuse("cell_size", f"{duct.cell_size:g} m", "more than 0 m", "20 mm suits engine ducts")
    if not duct.T_wall > 0.0 or not duct.T > 0.0 or not duct.p > 0.0:
        refuse("T_wall, T or p", (duct.T_wall, duct.T, duct.p), "more than 0 K and 0 Pa", "give absolute values")
    for name in ("roughness", "heat_factor", "loss"):
        value = getattr(duct, name)
        if not 0.0 <= value < 1e6:
            refuse(name, f"{value:g}", "0 or more", "leave it out for a smooth straight pipe")
    if duct.friction_factor is not None and not 0.0 <= duct.friction_factor < 1.0:
        refuse("friction_factor", f"{duct.friction_factor:g}", "0 to 1 (Darcy)", "leave it out to compute it")
    if not (duct.yf >= 0.0 and duct.yb >= 0.0 and duct.yf + duct.yb <= 1.0 + 1e-12):
        refuse("fuel and burned share", (duct.yf, duct.yb), "0 to 1 together", "give mass fractions")
    for mouth in (duct.start_mouth, duct.stop_mouth):
        if mouth not in END_CORRECTION:
            refuse("mouth", f'"{mouth}"', '"none", "plain" or "flanged"', "choose one of these")


def _profile(duct: Duct) -> tuple[Floats, Floats, float]:
    """Stations x, diameters d and modelled length, end corrections added as straight pieces."""
    given = duct.diameters
    table = ((0.0, given), (duct.length, given)) if isinstance(given, int | float) else given
    x = np.array([row[0] for row in table], dtype=np.float64)
    d = np.array([row[1] for row in table], dtype=np.float64)
    rising = len(x) >= 2 and bool(np.all(np.diff(x) > 0.0))
    if not rising or abs(x[0]) > 1e-12 or abs(x[-1] - duct.length) > 1e-9 * duct.length:
        raise BadInput(
            f'duct "{duct.name}": the diameter table runs over x = {x.tolist()} m; '
            f"it must rise from 0 to the length {duct.length:g} m; give one diameter for each station in order"
        )
    if not (np.all(d > 0.0) and np.all(d <= WIDEST)):
        raise BadInput(
            f'duct "{duct.name}": a diameter is {d[~((d > 0.0) & (d <= WIDEST))][0]:g} m; '
            f"allowed is more than 0 up to {WIDEST:g} m; write the inner diameter"
        )
    if duct.roughness > ROUGHEST * d.min():
        raise BadInput(
            f'duct "{duct.name}": roughness is {duct.roughness:g} m; allowed is up to a tenth of the diameter '
            f"({ROUGHEST * d.min():g} m); a cast wall has about 0.0003 m"
        )
    before = END_CORRECTION[duct.start_mouth] * 0.5 * d[0]
    after = END_CORRECTION[duct.stop_mouth] * 0.5 * d[-1]
    x = np.concatenate([[0.0], x + before, [before + duct.length + after]])
    d = np.concatenate([d[:1], d, d[-1:]])
    keep = np.concatenate([[True], np.diff(x) > 0.0])
    return x[keep], d[keep], float(x[-1])


def _cell_count(duct: Duct, length: float) -> int:
    return max(MIN_CELLS, round(length / duct.cell_size))


def end_diameters(duct: Duct) -> tuple[float, float]:
    """Diameters [m] at a duct's start and stop."""
    given = duct.diameters
    return (given, given) if isinstance(given, int | float) else (given[0][1], given[-1][1])


def volume_between(duct: Duct, begin: float, end: float) -> float:
    """Volume [m3] of the duct from ``begin`` to ``end`` [m], end corrections left out."""
    _check(duct)
    x, d, _ = _profile(replace(duct, start_mouth="none", stop_mouth="none"))
    return float(_frustum_volumes(x, d, np.array([begin, end]))[0])


def cut_back(duct: Duct, before: float, after: float) -> Duct:
    """The duct without its first ``before`` and last ``after`` metres; its loss coefficient is kept whole."""
    _check(duct)
    left = duct.length - before - after
    given = duct.diameters
    if not isinstance(given, int | float):
        x, d = (np.array(column, dtype=np.float64) for column in zip(*given, strict=True))
        inside = (x > before + 1e-9) & (x < before + left - 1e-9)
        at = np.concatenate([[before], x[inside], [before + left]])
        given = tuple(zip((at - before).tolist(), np.interp(at, x, d).tolist(), strict=True))
    return replace(duct, length=left, diameters=given)


def _frustum_volumes(x: Floats, d: Floats, faces: Floats) -> Floats:
    """Exact volume between neighbouring ``faces`` of the body of straight-sided pieces (x, d)."""
    cuts = np.unique(np.concatenate([x, faces]))
    at = np.interp(cuts, x, d)
    pieces = pi / 12.0 * (at[:-1] ** 2 + at[:-1] * at[1:] + at[1:] ** 2) * np.diff(cuts)
    total = np.concatenate([[0.0], np.cumsum(pieces)])
    return np.diff(np.interp(faces, cuts, total))


def lay_out(ducts: list[Duct]) -> tuple[DuctMesh, list[Span]]:
    """Arrays for all ducts end to end, and where each duct lies.

    Raises BadInput naming the duct, what was found and what is allowed.
    """
    parts: list[dict[str, Floats]] = []
    spans: list[Span] = []
    start = 0
    for duct in ducts:
        _check(duct)
        x, d, length = _profile(duct)
        n = _cell_count(duct, length)
        parts.append(_cells(duct, x, d, length, n))
        spans.append(Span(duct.name, start + 1, n, length / n, length))
        start += n + 2
    if not ducts:
        parts.append(_no_cells())
    joined = {key: np.concatenate([part[key] for part in parts], axis=-1) for key in parts[0]}
    # Face f is the left face of cell f; the last face of a duct is the left face of its right ghost.
    A_face = np.concatenate([joined.pop("A_left"), joined["geometry"][G_AREA, -1:]])
    return DuctMesh(A_face=A_face, **{key: np.ascontiguousarray(value) for key, value in joined.items()}), spans


def _cells(duct: Duct, x: Floats, d: Floats, length: float, n: int) -> dict[str, Floats]:
    faces = np.linspace(0.0, length, n + 1)
    A_face = pi / 4.0 * np.interp(faces, x, d) ** 2
    A_cell = _frustum_volumes(x, d, faces) / (length / n)
    if np.all(d == d[0]):
        A_cell = np.full(n, A_face[0])  # a straight pipe, to the last digit
    D = np.sqrt(4.0 / pi * A_cell)

    def padded(inner: Floats, first: float, last: float) -> Floats:
        return np.concatenate([[first], inner, [last]])

    factor = duct.friction_factor
    fits = {float(Di): wall_polynomials(duct.roughness / float(Di), factor) for Di in np.unique(D)}
    wall = np.zeros((N_WALL, n + 2))
    wall[W_F0 : W_F0 + N_POWERS, 1:-1] = np.stack([fits[float(Di)][0] for Di in D], axis=1)
    wall[W_N0 : W_N0 + N_POWERS, 1:-1] = np.stack([fits[float(Di)][1] for Di in D], axis=1)
    wall[W_D] = padded(D, D[0], D[-1])
    wall[W_D_INVERSE, 1:-1] = 1.0 / D
    wall[W_VISCOUS, 1:-1] = 1.0 if duct.friction_factor is None else 0.0
    wall[W_LOSS, 1:-1] = duct.loss / length
    wall[W_HEAT, 1:-1] = duct.heat_factor
    wall[W_T] = duct.T_wall
    A_padded = padded(A_cell, A_face[0], A_face[-1])
    geometry = np.zeros((N_GEOMETRY, n + 2))
    geometry[G_AREA] = A_padded
    geometry[G_A_INVERSE] = 1.0 / A_padded
    geometry[G_DA, 1:-1] = np.diff(A_face)
    geometry[G_WIDENING, 1:-1] = np.diff(A_face) / A_cell
    geometry[G_RDX, 1:-1] = n / length
    left_faces = np.concatenate([A_face[:1], A_face])
    return {"A_left": left_faces, "geometry": geometry, "wall": wall}


def _no_cells() -> dict[str, Floats]:
    """Arrays of a network without ducts: one pair of ghost cells, so that every loop has something to skip."""
    geometry = np.zeros((N_GEOMETRY, 2))
    geometry[[G_AREA, G_A_INVERSE]] = 1.0
    wall = np.zeros((N_WALL, 2))
    wall[[W_D, W_T]] = 1.0
    return {"A_left": np.ones(2), "geometry": geometry, "wall": wall}
