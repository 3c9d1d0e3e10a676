"""Sums: discs, rings, joints, bearings."""
