"""Sums: restrictor, drain, bearing."""
