"""Sums: flow, jets, bowl, needle and seat."""
