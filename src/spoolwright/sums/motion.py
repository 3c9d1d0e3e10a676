"""Sums: piston speed, acceleration, loads, torque and power."""
