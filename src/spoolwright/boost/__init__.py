"""Compressor, turbine, wastegate, charge cooler and blow-off valve: kernels, and the fits that fill their arrays.

Plain arrays, no sheet. ``rows`` names every column.
"""
