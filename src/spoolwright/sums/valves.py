"""Sums: valve-to-piston approach, spring and seat force."""
