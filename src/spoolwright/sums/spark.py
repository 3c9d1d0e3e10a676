"""Sums: timing, retard, dwell, coil, plug voltage."""
