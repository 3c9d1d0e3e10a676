"""Sums: gears, strip."""
