"""Sums: landed cost, freight weight."""
