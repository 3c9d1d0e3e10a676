"""Exact slider-crank with pin offset: piston travel, its derivatives, cylinder volume.

Closed geometry, no series. Crank angle ``theta`` is in degrees from firing top dead centre, where top
dead centre is the piston's own highest point (with an offset that is not the crank's upright).
``offset`` is the distance of the pin line from the crank axis, positive towards the major thrust side (the
wall the piston leans on during expansion, away from which the crank pin moves after top dead centre).
``crank_radius`` is half the stated stroke; with an offset the piston travels a little further than
the stroke (``piston_stroke``). All functions take a float or an array for ``theta``.
"""

from __future__ import annotations

import numpy as np

from spoolwright.errors import BadInput
from spoolwright.kernel import kernel

DEGREE = np.pi / 180.0


def check_crank(crank_radius: float, rod_length: float, offset: float) -> None:
    """Refuse a crank that cannot turn.

    crank_radius, rod_length, offset : float [m]

    Raises
    ------
    BadInput : a length is not positive, or the rod is too short for crank and offset.
    """
    if not crank_radius > 0.0:
        raise BadInput(
            f"stroke: {2e3 * crank_radius:g} mm is not a stroke; write half the piston travel as a length above 0."
        )
    if not rod_length > crank_radius + abs(offset):
        raise BadInput(
            f"rod_length: {1e3 * rod_length:g} mm is too short for a stroke of {2e3 * crank_radius:g} mm and a pin "
            f"offset of {1e3 * offset:g} mm; it must be longer than half the stroke plus the offset, "
            "measured between the eye centres."
        )


@kernel
def crank_angle_at_top(crank_radius: float, rod_length: float, offset: float) -> float:
    """Angle of the crank from its upright when the piston is at its top [rad]; 0 without offset."""
    return -np.arcsin(offset / (rod_length + crank_radius))


@kernel
def piston_stroke(crank_radius: float, rod_length: float, offset: float) -> float:
    """Distance between the piston's two end positions [m]; twice the crank radius without offset."""
    top = np.sqrt((rod_length + crank_radius) ** 2 - offset**2)
    return top - np.sqrt((rod_length - crank_radius) ** 2 - offset**2)


@kernel
def piston_travel(theta: float, crank_radius: float, rod_length: float, offset: float) -> float:
    """Distance of the piston below its top position [m].

    theta : float or array [deg]; crank_radius, rod_length, offset : float [m]
    """
    a = theta * DEGREE + crank_angle_at_top(crank_radius, rod_length, offset)
    top = np.sqrt((rod_length + crank_radius) ** 2 - offset**2)
    side = crank_radius * np.sin(a) + offset  # of the crank pin from the pin line
    return top - crank_radius * np.cos(a) - np.sqrt(rod_length**2 - side**2)


@kernel
def piston_travel_rate(theta: float, crank_radius: float, rod_length: float, offset: float) -> float:
    """First derivative of travel with crank angle [m/rad], positive downwards."""
    a = theta * DEGREE + crank_angle_at_top(crank_radius, rod_length, offset)
    side = crank_radius * np.sin(a) + offset
    return crank_radius * (np.sin(a) + np.cos(a) * side / np.sqrt(rod_length**2 - side**2))


@kernel
def piston_travel_curvature(theta: float, crank_radius: float, rod_length: float, offset: float) -> float:
    """Second derivative of travel with crank angle [m/rad2], positive downwards."""
    a = theta * DEGREE + crank_angle_at_top(crank_radius, rod_length, offset)
    side = crank_radius * np.sin(a) + offset
    upright = np.sqrt(rod_length**2 - side**2)
    swing = crank_radius * np.cos(a)
    return swing - crank_radius * np.sin(a) * side / upright + swing**2 * rod_length**2 / upright**3


@kernel
def piston_velocity(theta: float, crank_radius: float, rod_length: float, offset: float, omega: float) -> float:
    """Piston velocity [m/s], positive downwards; ``omega`` [rad/s] is the crank's speed."""
    return omega * piston_travel_rate(theta, crank_radius, rod_length, offset)


@kernel
def piston_acceleration(theta: float, crank_radius: float, rod_length: float, offset: float, omega: float) -> float:
    """Piston acceleration [m/s2] at steady speed ``omega`` [rad/s], positive downwards."""
    return omega * omega * piston_travel_curvature(theta, crank_radius, rod_length, offset)


@kernel
def cylinder_volume(
    theta: float, bore: float, crank_radius: float, rod_length: float, offset: float, clearance_volume: float
) -> float:
    """Gas volume [m3]; ``clearance_volume`` [m3] is what remains at top dead centre."""
    area = 0.25 * np.pi * bore * bore
    return clearance_volume + area * piston_travel(theta, crank_radius, rod_length, offset)


@kernel
def volume_rate(theta: float, bore: float, crank_radius: float, rod_length: float, offset: float) -> float:
    """Derivative of the gas volume with crank angle [m3/rad]."""
    return 0.25 * np.pi * bore * bore * piston_travel_rate(theta, crank_radius, rod_length, offset)
