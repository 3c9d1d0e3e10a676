"""Area of a spherical flame cut by head, piston and liner, and the wall area it has wetted.

The flame is the set of points within one radius of the nearest plug (Annand 1970 and many after him:
spherical front, plug on the wall). For a disc chamber with one plug, or two mirrored ones, the front
is an integral over height of closed circular arcs; any other chamber is cut into upright columns, each
exact in height. Both give one table per chamber over

    piston height: h = V / (pi b^3), V the gas volume and b the bore radius, spaced evenly in ln h;
    enclosed gas:  q = (V_f / V)^(1/3), V_f the volume inside the front, spaced evenly,

so that the loop over the cycle needs no inversion. All lengths here are in bore radii, areas in their
square. Axes of a table: h = piston height, q = enclosed gas, c = area (flame, head, piston, liner).
A real front is wrinkled, displaced by the flow and quenched at the wall: none of that is here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from spoolwright.errors import BadInput
from spoolwright.kernel import kernel

Array = NDArray[np.float64]

FLAME, HEAD, PISTON, LINER = 0, 1, 2, 3
N_AREAS = 4

N_HEIGHTS, N_ENCLOSED = 52, 257
LOWEST, HIGHEST = 0.05, 5.0  # bore radii; ratio 20 at stroke/bore 0.6 stays inside
HEIGHTS = np.exp(np.linspace(np.log(LOWEST), np.log(HIGHEST), N_HEIGHTS))
NEAR_PLUG = 0.06  # bore radii, about three columns
_LOG_LOWEST = float(np.log(LOWEST))
_PER_LOG = (N_HEIGHTS - 1) / float(np.log(HIGHEST / LOWEST))


@kernel
def _arc_in_bore(rho: float, e: float, mirrored: bool) -> float:
    """Angle of the circle of radius rho about a plug at distance e that lies in the bore [rad].

    ``mirrored``: only the half of the bore that is nearer to this plug than to its twin.
    """
    if rho <= 1e-12:
        return 2.0 * np.pi
    outside = 0.0 if rho < 1.0 else np.pi  # half-angle of the circle that is out of the bore
    if e > 1e-9:
        outside = np.arccos(min(max((1.0 - e * e - rho * rho) / (2.0 * e * rho), -1.0), 1.0))
    inside = np.pi
    if mirrored:
        inside = np.arccos(min(max(-e / rho, -1.0), 1.0))
    return 2.0 * max(inside - outside, 0.0)


@kernel
def _arc_of_bore(rho: float, e: float, mirrored: bool) -> float:
    """Angle of the bore's own circle that lies within rho of the plug [rad]."""
    half = np.pi if rho >= 1.0 else 0.0
    if e > 1e-9:
        half = np.arccos(min(max((1.0 + e * e - rho * rho) / (2.0 * e), -1.0), 1.0))
    if mirrored:
        half = min(half, 0.5 * np.pi)
    return 2.0 * half


@kernel
def _front_of_disc(r: float, h: float, e: float, mirrored: bool, n: int) -> tuple[float, float]:
    """Flame area and wetted liner area at radius r, one plug's part; midpoint rule over the height.

    The sphere's area element is r dz times the arc, so no square root is singular.
    """
    bottom = min(h, r)
    top = np.sqrt(max(r * r - (1.0 + e) ** 2, 0.0))  # above this the front has passed the whole bore
    step = max(bottom - top, 0.0) / n
    area, liner = 0.0, _arc_of_bore(3.0, e, mirrored) * min(top, bottom)
    for i in range(n):
        z = top + step * (i + 0.5)
        rho = np.sqrt(max(r * r - z * z, 0.0))
        area += _arc_in_bore(rho, e, mirrored) * step
        liner += _arc_of_bore(rho, e, mirrored) * step
    return area * r, liner


@kernel
def _circle_growth(r0: float, r1: float, e: float, mirrored: bool, n: int) -> float:
    """Bore area between the circles r0 and r1 about the plug; none beyond the far side of the bore."""
    r0, r1 = min(r0, 1.0 + e), min(r1, 1.0 + e)
    total = 0.0
    for i in range(n):
        rho = r0 + (r1 - r0) * (i + 0.5) / n
        total += _arc_in_bore(rho, e, mirrored) * rho
    return total * (r1 - r0) / n


@kernel
def _curves_of_disc(h: float, e: float, mirrored: bool, r: Array, curves: Array) -> None:
    """Fill curves[i, c] at the radii r[i]; r[0] = 0."""
    plugs = 2.0 if mirrored else 1.0
    for i in range(1, r.size):
        area, liner = _front_of_disc(r[i], h, e, mirrored, 64)
        curves[i, FLAME] = plugs * area
        curves[i, LINER] = plugs * liner
        curves[i, HEAD] = curves[i - 1, HEAD] + plugs * _circle_growth(r[i - 1], r[i], e, mirrored, 8)
        curves[i, PISTON] = curves[i - 1, PISTON]
        if r[i] > h:
            a = np.sqrt(max(r[i - 1] ** 2 - h * h, 0.0))
            curves[i, PISTON] += plugs * _circle_growth(a, np.sqrt(r[i] ** 2 - h * h), e, mirrored, 32)


@kernel
def _curves_of_columns(
    gap: float, columns: Array, rim: Array, plugs: Array, r: Array, curves: Array, volume: Array
) -> None:
    """As ``_curves_of_disc`` for upright columns; fills volume[i] too, flame area from its slope. Both come as zeros.

    columns[k] = x, y, roof height, bore area, roof area; rim[k] = x, y, arc length; plugs[k] = x, y, z
    """
    for i in range(1, r.size):
        for k in range(columns.shape[0]):
            x, y, roof = columns[k, 0], columns[k, 1], columns[k, 2]
            # union of the plugs' spheres along the column: their spans overlap or not, two at most
            low_a, high_a, low_b, high_b = 1.0, 0.0, 1.0, 0.0
            at_roof, at_piston = False, False
            for j in range(plugs.shape[0]):
                d2 = (x - plugs[j, 0]) ** 2 + (y - plugs[j, 1]) ** 2
                if d2 >= r[i] * r[i]:
                    continue
                s = np.sqrt(r[i] * r[i] - d2)
                low, high = max(plugs[j, 2] - s, -gap), min(plugs[j, 2] + s, roof)
                at_roof |= plugs[j, 2] + s >= roof >= plugs[j, 2] - s
                at_piston |= plugs[j, 2] - s <= -gap
                if j == 0:
                    low_a, high_a = low, high
                else:
                    low_b, high_b = low, high
            length = max(high_a - low_a, 0.0) + max(high_b - low_b, 0.0)
            if high_a > low_a and high_b > low_b:
                length -= max(min(high_a, high_b) - max(low_a, low_b), 0.0)
            volume[i] += columns[k, 3] * length
            if at_roof:
                curves[i, HEAD] += columns[k, 4]
            if at_piston:
                curves[i, PISTON] += columns[k, 3]
        for k in range(rim.shape[0]):
            deepest = 0.0
            for j in range(plugs.shape[0]):
                d2 = (rim[k, 0] - plugs[j, 0]) ** 2 + (rim[k, 1] - plugs[j, 1]) ** 2
                if d2 < r[i] * r[i]:
                    s = np.sqrt(r[i] * r[i] - d2)
                    # the plug lies at or above the deck, so the wetted part hangs from z = 0
                    deepest = max(deepest, min(s - plugs[j, 2], gap))
            curves[i, LINER] += rim[k, 2] * deepest
    for i in range(1, r.size - 1):
        curves[i, FLAME] = (volume[i + 1] - volume[i - 1]) / (r[i + 1] - r[i - 1])


@kernel
def _resample(volume: Array, curves: Array, table: Array) -> None:
    """Put curves over the radius onto the even grid of (V_f / V)^(1/3); table[q, c]."""
    n, last = table.shape[0], volume.size - 1
    i = 0
    for q in range(n):
        v = (q / (n - 1.0)) ** 3 * volume[last]
        while i < last - 1 and volume[i + 1] < v:
            i += 1
        w = min((v - volume[i]) / max(volume[i + 1] - volume[i], 1e-300), 1.0)
        if i == 0:  # a small part of a sphere: areas go with V^(2/3), and curves[0] is 0
            w = (v / volume[1]) ** (2.0 / 3.0)
        for c in range(N_AREAS):
            table[q, c] = curves[i, c] + w * (curves[i + 1, c] - curves[i, c])
    for c in range(N_AREAS):  # the totals, even where the last corner's front is too small to count
        table[n - 1, c] = curves[last, c]
    table[n - 1, FLAME] = 0.0


@kernel
def _disc_table(e: float, mirrored: bool, heights: Array, n_radii: int, table: Array, volume_error: Array) -> None:
    curves = np.zeros((n_radii + 1, N_AREAS))
    volume = np.zeros(n_radii + 1)
    r = np.zeros(n_radii + 1)
    for ih in range(heights.size):
        h = heights[ih]
        far = max((1.0 - e) ** 2, 1.0 + e * e) if mirrored else (1.0 + e) ** 2
        for i in range(n_radii + 1):
            r[i] = np.sqrt(far + h * h) * i / n_radii
        _curves_of_disc(h, e, mirrored, r, curves)
        for i in range(1, r.size):
            volume[i] = volume[i - 1] + 0.5 * (curves[i, FLAME] + curves[i - 1, FLAME]) * (r[i] - r[i - 1])
        volume_error[ih] = volume[r.size - 1] / (np.pi * h) - 1.0
        _resample(volume, curves, table[ih])


def disc_flame_table(plug_offset: float, twin: bool = False) -> np.ndarray:
    """Table (N_HEIGHTS, N_ENCLOSED, 4) for a disc chamber, plug on the flat head.

    plug_offset : float [bore radii], 0 to 1, distance of the plug from the bore axis
    twin : a second plug at the mirrored place

    Raises
    ------
    BadInput : the plug lies outside the bore.
    """
    if not 0.0 <= plug_offset < 1.0:
        raise BadInput(
            f"plug_offset: {plug_offset:g} bore radii from the bore axis; it must lie in 0 to 1, inside the bore."
        )
    table = np.zeros((N_HEIGHTS, N_ENCLOSED, N_AREAS))
    _disc_table(float(plug_offset), twin, HEIGHTS, 640, table, np.zeros(N_HEIGHTS))
    return table


def chamber_columns(roof: np.ndarray, n_rings: int = 72, n_spokes: int = 144) -> np.ndarray:
    """Cut a chamber into columns of equal bore area: x, y, roof height, bore area, roof area.

    roof : array (n, n) [bore radii], height of the head's roof above the deck on an even grid over
        the square from -1 to 1 in x (first axis) and y
    """
    from scipy.interpolate import RegularGridInterpolator

    axis = np.linspace(-1.0, 1.0, roof.shape[0])
    slope_x, slope_y = np.gradient(roof, axis, axis)
    ring = np.sqrt((np.arange(n_rings) + 0.5) / n_rings)
    spoke = (np.arange(n_spokes) + 0.5) * 2.0 * np.pi / n_spokes
    at = np.stack([np.outer(ring, np.cos(spoke)).ravel(), np.outer(ring, np.sin(spoke)).ravel()], axis=-1)
    height, gx, gy = (RegularGridInterpolator((axis, axis), g)(at) for g in (roof, slope_x, slope_y))
    area = np.full(len(at), np.pi / len(at))
    return np.column_stack([at, height, area, area * np.sqrt(1.0 + gx**2 + gy**2)])


def chamber_flame_table(roof: np.ndarray, plugs: list[tuple[float, float]]) -> np.ndarray:
    """Table (N_HEIGHTS, N_ENCLOSED, 4) for a wedge or a measured chamber, one or two plugs on its roof.

    roof : array (n, n) [bore radii], n >= 5; see ``chamber_columns``. A dish in the piston is added to it.
    plugs : their places (x, y) [bore radii]

    Heights at which the piston would stand above the deck hold the table of a piston just below it.
    Raises BadInput for a roof below the deck, a wrong shape, no plug, more than two, or one outside the bore.
    """
    roof = np.asarray(roof, float)
    if roof.ndim != 2 or roof.shape[0] != roof.shape[1] or roof.shape[0] < 5:
        raise BadInput(f"chamber roof: the grid is {roof.shape}; give a square grid of at least 5 by 5 heights.")
    if not np.all(roof >= 0.0):
        raise BadInput(
            f"chamber roof: the lowest height is {roof.min():g} bore radii; heights count upwards from the deck."
        )
    if len(plugs) not in (1, 2):
        raise BadInput(f"plugs: found {len(plugs)}; one or two are allowed.")
    columns = chamber_columns(roof)
    for x, y in plugs:
        if x * x + y * y >= 1.0:
            raise BadInput(
                f"plugs: ({x:g}, {y:g}) bore radii lies outside the bore; both must lie inside the circle of radius 1."
            )
    nearest = [int(np.argmin((columns[:, 0] - x) ** 2 + (columns[:, 1] - y) ** 2)) for x, y in plugs]
    at = np.array([(x, y, columns[k, 2]) for (x, y), k in zip(plugs, nearest, strict=True)])
    spoke = (np.arange(360) + 0.5) * 2.0 * np.pi / 360
    rim = np.column_stack([np.cos(spoke), np.sin(spoke), np.full(360, 2.0 * np.pi / 360)])
    in_head = float(columns[:, 2] @ columns[:, 3]) / np.pi
    table = np.zeros((N_HEIGHTS, N_ENCLOSED, N_AREAS))
    for ih, h in enumerate(HEIGHTS):
        gap = max(h - in_head, 0.01)
        far = max(np.min([np.hypot(*(columns[:, :2] - p[:2]).T) ** 2 + (gap + p[2]) ** 2 for p in at], axis=0))
        r = np.linspace(0.0, np.sqrt(far) * 1.03, 97)
        curves, volume = np.zeros((r.size, N_AREAS)), np.zeros(r.size)
        _curves_of_columns(gap, columns, rim, at, r, curves, volume)
        near = (r < NEAR_PLUG) | (volume <= 0.0)  # too small for the columns to see: half a sphere on the roof
        near[1] = True
        volume[near] = len(at) * 2.0 / 3.0 * np.pi * r[near] ** 3
        curves[near] = len(at) * np.pi * np.outer(r[near] ** 2, (2.0, 1.0, 0.0, 0.0))
        _resample(volume, curves, table[ih])
    return table


@kernel
def flame_areas(table: Array, log_h: float, q: float) -> tuple[float, float, float, float]:
    """Flame, head, piston and liner area at ln h and q [bore radii squared], bilinear.

    table : array (N_HEIGHTS, N_ENCLOSED, 4); log_h : float, q : float 0 to 1
    Heights outside the table's take its end node: a gap of 0.05 radii is below any running clearance,
    5 radii above any stroke.
    """
    x = min(max((log_h - _LOG_LOWEST) * _PER_LOG, 0.0), N_HEIGHTS - 1.000001)
    y = min(max(q, 0.0), 1.0) * (N_ENCLOSED - 1)
    i, j = int(x), min(int(y), N_ENCLOSED - 2)
    x -= i
    y -= j
    w00, w01, w10, w11 = (1.0 - x) * (1.0 - y), (1.0 - x) * y, x * (1.0 - y), x * y
    a, b, c, d = table[i, j], table[i, j + 1], table[i + 1, j], table[i + 1, j + 1]
    return (
        w00 * a[0] + w01 * b[0] + w10 * c[0] + w11 * d[0],
        w00 * a[1] + w01 * b[1] + w10 * c[1] + w11 * d[1],
        w00 * a[2] + w01 * b[2] + w10 * c[2] + w11 * d[2],
        w00 * a[3] + w01 * b[3] + w10 * c[3] + w11 * d[3],
    )
