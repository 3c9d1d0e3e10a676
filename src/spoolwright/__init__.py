"""Spoolwright: plan, predict, tune and hand over a turbocharged spark-ignition engine."""

__version__ = "0.1.0"
