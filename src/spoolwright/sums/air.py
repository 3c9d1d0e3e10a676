"""Sums: air, demand, density, pressures, reference states."""
