"""Sums: fan, shroud, fins, cooling air."""
