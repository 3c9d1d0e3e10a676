"""Cylinder: slider-crank, two-zone combustion, flame, wall heat, knock and friction."""
