"""Sums: pipes, Mach number, temperatures."""
