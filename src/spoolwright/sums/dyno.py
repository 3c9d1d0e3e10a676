"""Sums: atmospheric corrections, inertia torque, power."""
