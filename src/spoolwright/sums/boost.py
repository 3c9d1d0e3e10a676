"""Sums: compressor, turbine, charge cooler, wastegate."""
